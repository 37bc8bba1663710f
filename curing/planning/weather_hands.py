"""Who covers a coat, and when they could: the coats that lie open, the people there, their free time."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from curing.model.job import Role
from curing.model.plan import Booking, State
from curing.planning.expand import FaceWork
from curing.planning.readiness import Laid
from curing.planning.tasks import LATEST, Tasks
from curing.planning.weather_booked import DOWN_MINUTES, UP_MINUTES, Place
from curing.planning.weather_protect import AHEAD, Cover, CoverKind
from curing.planning.worktime import EARLIEST, GRID, MIDNIGHT, instant, local

MINUTE, HOUR, DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)
SUNSET = 60
"""[min] The hours of late walks end so long before sunset."""
TOO_LATE = 2 * HOUR
"""Nothing is put up against what is over so soon (assumption)."""
EVENING = 18 * 60
"""Where a cover that nobody can put up is shown, if it would be in the night [min]."""


@dataclass(frozen=True, slots=True)
class Need:
    """A coat that lies open, or soon will."""

    work: FaceWork
    laid: Laid
    start: datetime
    end: datetime
    """Laid from when to when."""
    until: datetime | None
    """When the next coat comes over it."""
    lies: bool
    """It is there already, or may be."""

    @property
    def id(self) -> str:
        """Return the id of the coat."""
        return self.laid.coat.id


def needs_of(tasks: Tasks, work: FaceWork, coats: Mapping[str, Booking], now: datetime) -> Iterator[Need]:
    """Yield the coats of a face that lie open, and those that are certain for the next three days."""
    if not work.outside:
        return
    laid = tasks.laid[work.id]
    for place, one in enumerate(laid):
        over = coats[laid[place + 1].coat.id] if place + 1 < len(laid) else None
        booking = coats[one.coat.id]
        until = over.start if over is not None and over.state in (State.FIRM, State.DONE) else None
        if one.done:
            if over is None or over.state is not State.DONE:
                yield Need(work, one, booking.start, booking.end, until, lies=True)
            continue
        floor = tasks.past.floors.get(one.coat.id)
        if floor is not None and floor.cause == "unconfirmed":  # it may well lie there since the day it was told
            since = (one.day - floor.was).days * DAY
            yield Need(work, one, booking.start - since, booking.end - since, None, lies=True)
        elif booking.state is State.FIRM and booking.start - now <= AHEAD * HOUR:
            yield Need(work, one, booking.start, booking.end, until, lies=False)


@dataclass(slots=True)
class Hands:
    """Finds who covers a coat, and when, in free time on the boards of the days.

    Parameters
    ----------
    tasks
        Has the boards, on which all other work stands.
    now
        Nothing is put before it.
    """

    tasks: Tasks
    now: datetime
    _there: dict[tuple[str, tuple[str, ...]], tuple[tuple[datetime, datetime], ...]] = field(default_factory=dict)

    def up(self, need: Need, cover: Cover, after: datetime) -> Place | None:
        """Return who puts it up when: as late as can be, against frost before dusk; at once where it has begun.

        ``after`` is when the cover before is off again; now, where there was none.
        """
        work, people = need.work, self.people(need.work)
        low = max(after, self.now if need.lies else need.end)
        if cover.up_by <= self.now:
            return self.tasks.within(people, work.site, self._windows(work, low, cover.end - TOO_LATE), UP_MINUTES)
        ways = [self._windows(work, low, cover.up_by)]
        if cover.kind is CoverKind.FROST:
            ways.insert(0, self._windows(work, low, cover.up_by, dusk=True))
        elif not need.lies:  # what falls on it while it is being laid is kept off from before
            ways.append(self._windows(work, after, min(need.start, cover.up_by)))
        found = (self.tasks.within(people, work.site, way[::-1], UP_MINUTES, last=True) for way in ways)
        return next((place for place in found if place is not None), None)

    def down(self, need: Need, cover: Cover, after: datetime) -> Place | None:
        """Return who takes it down when: as soon as can be, before the next coat; or as late as wind leaves it."""
        work, people = need.work, self.people(need.work)
        if cover.wind_down is not None:
            before = self._windows(work, after, cover.wind_down)[::-1]
            return self.tasks.within(people, work.site, before, DOWN_MINUTES, last=True)
        first = max(after, cover.down_at)
        latest = first + LATEST * DAY
        ends = [latest]
        if need.until is not None and first < need.until:
            ends.insert(0, min(need.until, latest))
        ways = (self._windows(work, first, end) for end in ends)
        found = (self._soonest(people, work.site, way, DOWN_MINUTES) for way in ways)
        return next((place for place in found if place is not None), None)

    def _soonest(
        self, people: list[str], site: str, windows: list[tuple[date, int, int]], minutes: int
    ) -> Place | None:
        """Return the first free time of anybody: under a cover nobody sees or mists the coat."""
        for day, low, high in windows:
            board = self.tasks.board(day)
            free = [(at, who) for who in people if (at := board.gap(who, site, minutes, (low, high))) is not None]
            if free:
                at, who = min(free, key=lambda one: one[0])
                return who, day, at
        return None

    def _windows(
        self, work: FaceWork, low: datetime, high: datetime, *, dusk: bool = False
    ) -> list[tuple[date, int, int]]:
        """Return a span of time day by day, in local minutes; with ``dusk`` only until the sun is down."""
        if low >= high:
            return []
        (first, begin), (last, end) = self._local(work, low), self._local(work, high)
        found = []
        day = first
        while day <= last:
            until = end if day == last else MIDNIGHT
            if dusk:
                until = min(until, self.tasks.suns[work.site].walks(day).late_end + SUNSET)
            found.append((day, begin if day == first else 0, until))
            day += DAY
        return [one for one in found[-LATEST - 1 :] if one[1] < one[2]]

    def shown(self, work: FaceWork, at: datetime, minutes: int, after: datetime | None = None) -> Place:
        """Return where a cover is shown for which nobody is there: before it is due, by day."""
        day, minute = self._local(work, at - minutes * MINUTE)
        minute = minute // GRID * GRID
        if minute < EARLIEST:
            day, minute = day - DAY, EVENING
        low_day, low = self._local(work, max(self.now, after or self.now))
        low = min(max(-(-low // GRID) * GRID, EARLIEST), MIDNIGHT - minutes - GRID)
        return ("", *max((day, minute), (low_day, low)))

    def people(self, work: FaceWork) -> list[str]:
        """Return who may put it up: the crew of the face, who leads, and who mists what is reached from the ground."""
        crews = (crew for crew in self.tasks.job.file.crews if work.face.crew in (None, crew.id))
        leads = [one.id for one in self.tasks.job.file.people if Role.LEAD in one.roles]
        mists = [one.id for one in self.tasks.job.file.people if Role.MISTS in one.roles and work.reachable]
        return list(dict.fromkeys([*(person for crew in crews for person in crew.people), *leads, *mists]))

    def there(self, work: FaceWork) -> tuple[tuple[datetime, datetime], ...]:
        """Return when any of them is there, from today on."""
        key = (work.site, tuple(self.people(work)))
        if key not in self._there:
            zone, today = self.tasks.worktime.zone(work.site), self.tasks.today[work.site]
            spans = sorted(
                (instant(zone, day, hours[0]), instant(zone, day, hours[1]))
                for day in (today + k * DAY for k in range(LATEST))
                for person in key[1]
                if (hours := self.tasks.worktime.hours(person, day)) is not None
            )
            self._there[key] = tuple(_joined(spans))
        return self._there[key]

    def _local(self, work: FaceWork, at: datetime) -> tuple[date, int]:
        return local(self.tasks.worktime.zone(work.site), at)


def _joined(spans: Iterable[tuple[datetime, datetime]]) -> list[tuple[datetime, datetime]]:
    found: list[tuple[datetime, datetime]] = []
    for start, end in spans:
        if found and start <= found[-1][1]:
            found[-1] = (found[-1][0], max(end, found[-1][1]))
        else:
            found.append((start, end))
    return found
