"""The sky over a job's faces, as the last two forecast runs tell it: what becomes of work that people were told.

The planner asks it two things: whether a coat may stay on the day people were told, and whether a coat nobody was
told of yet may be put onto a day. Without a sky a plan is what it always was.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta, tzinfo

import numpy as np

from curing.model import cure
from curing.model.job import Job, Site
from curing.model.plan import Booking, Reason, State, Value
from curing.model.weather import HOUR, Weather
from curing.model.weather_stops import Stop
from curing.planning.expand import CoatWork, FaceWork
from curing.planning.readiness import Floor
from curing.planning.weather_past import Known
from curing.planning.weather_protect import rolls
from curing.planning.weather_rulings import AHEAD, SOON, Ruling, ruling
from curing.planning.weather_site import FaceHours, faces_of, site_weather
from curing.planning.weather_weighing import Shelter
from curing.planning.weather_windows import Answer, Verdict, judge
from curing.planning.worktime import zone_of

DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Foreseen:
    """What becomes of work on its day, and what stands against it."""

    ruling: Ruling
    stops: tuple[Stop, ...] = ()


STANDS = Foreseen(Ruling.STANDS)


@dataclass(frozen=True, eq=False)
class Sky:
    """The last two runs at every face.

    Parameters
    ----------
    newest, before
        Face id → its hours, past ones joined; a face that is missing is judged by nobody.
    now
        The present instant.
    past
        Face id → its hours past, for its cure; rain only as measured at the site.
    """

    newest: Mapping[str, FaceHours]
    before: Mapping[str, FaceHours]
    now: datetime
    past: Mapping[str, cure.FaceHours] = field(default_factory=dict)

    def told(self, work: FaceWork, coat: CoatWork, start: datetime, end: datetime) -> Foreseen:
        """Return what becomes of a coat that people were told for then."""
        lead = start - self.now
        if lead > AHEAD:
            return STANDS
        newest = self._judged(self.newest, work, coat, start, end)
        if newest is None or newest.answer is not Answer.NO:
            return STANDS
        before = self._judged(self.before, work, coat, start, end)
        found = ruling(lead, newest.answer, before.answer if before is not None else None)
        return Foreseen(found, newest.stops) if found is not Ruling.STANDS else STANDS

    def refuses(
        self, work: FaceWork, coat: CoatWork, start: datetime, end: datetime, *, alone: bool = False
    ) -> tuple[Stop, ...]:
        """Return what keeps a coat that nobody was told of from being put there; nothing where it may.

        Within three days the newest run is enough: nobody is sent where it says no. Up to seven days both must, but
        for a day that is proposed (``alone``): none is that the newest run is against.
        """
        lead = start - self.now
        if lead > AHEAD:
            return ()
        newest = self._judged(self.newest, work, coat, start, end)
        if newest is None or newest.answer is not Answer.NO:
            return ()
        if lead > SOON and not alone:
            before = self._judged(self.before, work, coat, start, end)
            if before is None or before.answer is not Answer.NO:
                return ()
        return newest.stops

    def sheltered(self, work: FaceWork, coat: CoatWork, start: datetime, end: datetime) -> Verdict | None:
        """Return the newest run's verdict with all that can be hung before the face; None: nobody knows.

        Sheets hang from a scaffold that is named and does not roll.
        """
        hours = self.newest.get(work.id)
        if hours is None:
            return None
        sheets = work.face.scaffold is not None and not rolls(work.face.scaffold)
        hung = [*([Shelter.CLOTH] if work.face.cloth else []), *([Shelter.SHEET] if sheets else [])]
        return judge(work, coat, (start, end), hours, self.now, shelters=hung)

    def _judged(
        self, run: Mapping[str, FaceHours], work: FaceWork, coat: CoatWork, start: datetime, end: datetime
    ) -> Verdict | None:
        hours = run.get(work.id)
        if hours is None:
            return None
        hung = work.face.cloth  # where the sun would be on it while it is fresh, cloth goes up first
        return judge(work, coat, (start, end), hours, self.now, shelters=(Shelter.CLOTH,) if hung else ())


def sky_over(
    job: Job, runs: Mapping[str, Sequence[Weather]], now: datetime, past: Mapping[str, Known] | None = None
) -> Sky | None:
    """Return the sky over a job; None where no weather is known.

    Parameters
    ----------
    runs
        Site id → the last runs, the newest first, each with the hours past before it; one is enough.
    past
        Site id → all its hours past, and which of them were measured; None: no cure is counted in hours.
    """
    newest: dict[str, FaceHours] = {}
    before: dict[str, FaceHours] = {}
    for site in job.file.sites:
        told = runs.get(site.id, ())
        for run, hours in zip(told[:2], (newest, before), strict=False):
            hours.update(site_weather(site, faces_of(job, site), run))
    gone = {
        face: hours
        for site in job.file.sites
        if past is not None and site.id in past
        for face, hours in _gone(job, site, past[site.id], now).items()
    }
    return Sky(newest, before, now, gone) if newest or gone else None


def _gone(job: Job, site: Site, told: Known, now: datetime) -> dict[str, cure.FaceHours]:
    """Return the hours past of each face as its cure counts them: to now, with rain as a gauge at the site had it."""
    over = max(min((now - told.weather.start) // HOUR, len(told.weather)), 0)
    measured = told.measured[:over]
    found = {}
    for face, hours in site_weather(site, faces_of(job, site), told.weather).items():
        rain = np.where(measured, hours.rain_told[:over], np.nan) if measured.any() else None
        found[face] = cure.FaceHours(hours.start, hours.temperature[:over], hours.demand[:over], rain)
    return found


def off_its_day(
    sky: Sky | None, work: FaceWork, coat: CoatWork, booking: Booking, day: date, today: date
) -> Floor | None:
    """Return the floor of a coat that a forecast takes off its day, or that one took off before; else None.

    What is off stays off until somebody decides: a better forecast proposes, it does not put back. Today and
    tomorrow nothing is brought onto the plan, so the proposal is the day after at the earliest.
    """
    earliest = today + 2 * DAY
    if booking.state is State.OFF:
        stays = booking.floor is not None and day >= earliest
        first = booking.floor if stays and booking.floor is not None else max(day, earliest)
        told = booking.reason if booking.reason.key.startswith("off_") else None  # a wait may bind its day by now
        return Floor(first, "weather", booking.floor_was or day, stop=told)
    if sky is None:
        return None
    seen = sky.told(work, coat, booking.start, booking.end)
    if seen.ruling is not Ruling.OFF:
        return None
    stop = seen.stops[0]
    reason = Reason(stop.rule, f"off_{stop.what}", said(stop, zone_of(booking.zone)), coat.id)
    return Floor(max(day + DAY, earliest), "weather", day, stop=reason)


def said(stop: Stop, zone: tzinfo) -> dict[str, Value]:
    """Return what the sentence about a stop needs, as plain values.

    Examples
    --------
    ``{"value": 14.0, "limit": 0.1, "could": None, "from": "2027-06-09", "from_at": "05:00", "to": …, "to_at": …}``
    """
    first, last = stop.start.astimezone(zone), stop.end.astimezone(zone)
    return {
        "value": round(stop.value, 1),
        "limit": stop.limit,
        "could": round(stop.could, 1) if stop.could is not None else stop.value,
        "from": first.date().isoformat(),
        "from_at": f"{first:%H:%M}",
        "to": last.date().isoformat(),
        "to_at": f"{last:%H:%M}",
    }
