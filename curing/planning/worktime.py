"""When people work: hours of a person, days of a crew, and local time against UTC.

Within a day everything is counted in minutes after local midnight. Clocks
change in the night, and no work starts before 04:00, so minutes of one day can
be added and compared; only :func:`instant` and :func:`local` know UTC. Zones
are read from the package ``tzdata`` alone, because the system's own zone data
may differ from it.
"""

from __future__ import annotations

from bisect import insort
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from enum import StrEnum
from functools import lru_cache
from importlib.resources import files
from zoneinfo import ZoneInfo

from curing.model.job import WEEKDAYS, Crew, Job, Person

EARLIEST = 4 * 60
"""No work before this minute of the day: clocks change earlier."""
NOON = 12 * 60
"""Where a day falls in two halves."""
GRID = 5
"""Blocks, walks and the times of neighbouring days fall on the five minutes [min]."""
MIDDAY = (11 * 60 + 30, 13 * 60 + 30)
"""Hours of the midday look."""
MIDNIGHT = 24 * 60
"""End of a day."""
SUNDAY_ROUND = 75
"""Longest round on a Sunday of who is not of a crew [min] (common practice, no source)."""

HourSpan = tuple[int, int]
"""Start and end [min after local midnight], half-open."""


class Cause(StrEnum):
    """Why a crew lays no coat on a day."""

    WEEKEND = "weekend"
    HOLIDAY = "holiday"
    NOBODY = "nobody"


@dataclass(frozen=True, slots=True)
class DayOff:
    """A day without coats: ``detail`` is the holiday's name, or the crew's id where nobody is there."""

    cause: Cause
    detail: str = ""


@lru_cache(maxsize=64)
def zone_of(name: str) -> ZoneInfo:
    """Return a zone of the tz database, from the package ``tzdata``.

    Raises
    ------
    ValueError
        There is no such zone.

    Examples
    --------
    >>> zone_of("Europe/Amsterdam").key
    'Europe/Amsterdam'
    """
    parts = name.split("/")
    if not all(part.replace("_", "").replace("-", "").replace("+", "").isalnum() for part in parts):
        raise ValueError(f'"{name}" is not a time zone; write one such as Europe/Amsterdam')
    try:
        with files("tzdata").joinpath("zoneinfo", *parts).open("rb") as data:
            return ZoneInfo.from_file(data, key=name)
    except OSError:
        raise ValueError(f'"{name}" is not a time zone; write one such as Europe/Amsterdam') from None


def instant(zone: tzinfo, day: date, minute: int) -> datetime:
    """Return the UTC instant of a minute of a local day; 1440 is the next midnight.

    Examples
    --------
    >>> amsterdam = zone_of("Europe/Amsterdam")
    >>> [instant(amsterdam, date(2027, 10, day), 7 * 60 + 30).hour for day in (30, 31)]
    [5, 6]
    """
    days, minute = divmod(minute, MIDNIGHT)
    local_time = time(minute // 60, minute % 60, tzinfo=zone)
    return datetime.combine(day + timedelta(days), local_time).astimezone(UTC)


def local(zone: tzinfo, at: datetime) -> tuple[date, int]:
    """Return local day and minute of an aware instant; a begun minute counts as its start.

    Examples
    --------
    >>> local(zone_of("Europe/Amsterdam"), datetime(2027, 5, 3, 5, 0, tzinfo=UTC))
    (datetime.date(2027, 5, 3), 420)
    """
    here = at.astimezone(zone)
    return here.date(), here.hour * 60 + here.minute


def hours_on(person: Person, day: date, *, holiday: bool) -> HourSpan | None:
    """Return a person's hours on a day, or None on a day off; being away is not looked at.

    A day of the person's own ``also`` has those hours; a public holiday has the hours of
    ``holiday``, else those of Sunday, else none.
    """
    if day.isoformat() in person.also:
        return person.also[day.isoformat()]
    if holiday:
        return person.hours_on("holiday") or person.hours_on("sun")
    return person.hours_on(WEEKDAYS[day.weekday()])


class Worktime:
    """Hours and days of a job's people and crews, worked out once each.

    Parameters
    ----------
    job
        The job; it must not change afterwards.

    Notes
    -----
    Ids that the job does not know raise KeyError: the reader of the job file
    has refused them already.
    """

    def __init__(self, job: Job) -> None:
        self._job = job
        self._people = {person.id: person for person in job.file.people}
        self._crews = {crew.id: crew for crew in job.file.crews}
        self._crew_of: dict[str, Crew] = {p: crew for crew in reversed(job.file.crews) for p in crew.people}
        self._zones = {site.id: zone_of(site.time_zone) for site in job.file.sites}
        self._hours: dict[tuple[str, date], HourSpan | None] = {}
        self._off: dict[tuple[str, date], DayOff | None] = {}
        self._taken: dict[str, dict[tuple[str, date], list[HourSpan]]] = {}

    def zone(self, site: str) -> ZoneInfo:
        """Return the time zone of a site."""
        return self._zones[site]

    def crew_of(self, person: str) -> Crew | None:
        """Return the first crew a person belongs to, if any."""
        return self._crew_of.get(person)

    def hours(self, person: str, day: date) -> HourSpan | None:
        """Return a person's hours on a local day [min after midnight], or None if not there."""
        key = (person, day)
        if key not in self._hours:
            who = self._people[person]
            away = any(first <= day <= last for first, last in who.away)
            self._hours[key] = None if away else hours_on(who, day, holiday=day in self._job.holidays)
        return self._hours[key]

    def present(self, crew: str, day: date) -> tuple[tuple[str, HourSpan], ...]:
        """Return who of a crew is there on a day, with their hours, in the crew's order."""
        walks = self._job.only_walks
        found = ((p, self.hours(p, day)) for p in self._crews[crew].people if (p, day) not in walks)
        return tuple((person, span) for person, span in found if span)

    def off(self, crew: str, day: date) -> DayOff | None:
        """Return None when a crew may lay coats on a day, or why it may not.

        A day outside the working week (the crew's own, else the job's) is a
        weekend even if it is a holiday as well.
        """
        key = (crew, day)
        if key not in self._off:
            self._off[key] = self._why_off(crew, day)
        return self._off[key]

    def _why_off(self, crew: str, day: date) -> DayOff | None:
        week = self._crews[crew].working_week
        week = self._job.file.working_week if week is None else week
        if WEEKDAYS[day.weekday()] not in week:
            return DayOff(Cause.WEEKEND)
        if day in self._job.holidays:
            return DayOff(Cause.HOLIDAY, self._job.holidays[day])
        return None if self.present(crew, day) else DayOff(Cause.NOBODY, crew)

    def longest_round(self, person: str, day: date) -> int | None:
        """Return the longest round of a person on a day [min]; None: as long as the hours last.

        The person's own limit holds; without one, who is not of a crew walks
        at most 75 min on a Sunday.
        """
        own = self._people[person].longest_round
        if own is not None:
            return int(own)
        sunday = day.weekday() == 6
        return SUNDAY_ROUND if sunday and person not in self._crew_of else None

    def taken(self, person: str, zone: ZoneInfo, day: date) -> tuple[HourSpan, ...]:
        """Return the spans of a local day [min after midnight] that other jobs' plans have taken, in order."""
        if zone.key not in self._taken:
            self._taken[zone.key] = self._by_day(zone)
        return tuple(self._taken[zone.key].get((person, day), ()))

    def _by_day(self, zone: ZoneInfo) -> dict[tuple[str, date], list[HourSpan]]:
        spans: dict[tuple[str, date], list[HourSpan]] = {}
        for busy in self._job.busy:
            for day, span in _each_day(zone, busy.start, busy.end):
                insort(spans.setdefault((busy.person, day), []), span)
        return spans


def _each_day(zone: ZoneInfo, start: int, end: int) -> Iterator[tuple[date, HourSpan]]:
    """Yield the local days that a span of Unix seconds touches, with its part of each, in whole minutes."""
    day, first = local(zone, datetime.fromtimestamp(start, UTC))
    last_day, last = local(zone, datetime.fromtimestamp(end + 59, UTC))
    while day <= last_day:
        span = (first, last if day == last_day else MIDNIGHT)
        if span[0] < span[1]:
            yield day, span
        day, first = day + timedelta(1), 0
