"""The weather of a job, ready to be written: by the terminal, as JSON, on a page."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from curing.model.weather_days import FaceDay, FaceSeries, SiteDay
from curing.model.weather_stops import Stop, Unknown
from curing.publish.season_parts import SeasonPart

OLD = timedelta(hours=24)
"""Older weather moves nothing, and every place that shows it says so first."""


@dataclass(frozen=True, slots=True)
class TaskPart:
    """An open coat of the next days, and whether the weather lets it be laid.

    Parameters
    ----------
    id
        ``3-out.finish``.
    task
        What it is called: ``finish 8 mm``.
    start, end
        When it is booked (UTC).
    answer
        ``yes``, ``no`` or ``not known``.
    until
        When it must be closed by, whatever the hours; None: not known, or not at all.
    held
        Whether a hold stands before it: the weather opens none.
    old
        The weather is too old to let anything be laid.
    cloth
        The answer holds only with wet cloth up before the sun is on the face.
    """

    id: str
    task: str
    start: datetime
    end: datetime
    answer: str
    until: datetime | None = None
    stops: tuple[Stop, ...] = ()
    warnings: tuple[Stop, ...] = ()
    kept_off: tuple[Stop, ...] = ()
    missing: tuple[Unknown, ...] = ()
    held: bool = False
    old: bool = False
    cloth: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class FacePart:
    """The next days of a face."""

    face: str
    number: str
    """``3 out``."""
    wall: str
    """Id of its wall."""
    name: str
    facing: float | None
    outside: bool
    days: tuple[FaceDay, ...]
    tasks: tuple[TaskPart, ...] = ()
    series: FaceSeries | None = None
    cure: tuple[str, ...] = ()
    """How far its cure is, by the plan, and why hours did not count."""


@dataclass(frozen=True, slots=True, eq=False)
class SitePart:
    """The next days of a site, and where they are from.

    Parameters
    ----------
    made
        When the newest run was made, or else came here; None: there is none.
    source, attribution, notice
        Who told it, what must stand wherever it is shown, who may use it.
    estimated
        Variables that were worked out from others.
    asked
        How asking ended, where it was asked just now: ``new``, ``same``, ``not_due``, ``failed``.
    trouble
        Why the last try brought nothing.
    years
        First and last year of the station; None: no years, and so nothing is ordinary.
    notes, station_notes
        What was done about the forecast, and about the station's table, where they had gaps or odd values.
    season
        What its years say of frost and the season line.
    """

    id: str
    name: str
    zone: str
    made: datetime | None
    source: str = ""
    attribution: str = ""
    notice: bool = False
    estimated: tuple[str, ...] = ()
    asked: str = ""
    again: datetime | None = None
    trouble: str = ""
    tried: datetime | None = None
    years: tuple[int, int] | None = None
    season: SeasonPart | None = None
    notes: tuple[str, ...] = ()
    station_notes: tuple[str, ...] = ()
    days: tuple[SiteDay, ...] = ()
    faces: tuple[FacePart, ...] = ()

    def age(self, now: datetime) -> timedelta | None:
        """Return how old the weather is; None where there is none."""
        return now - self.made if self.made is not None else None

    def is_old(self, now: datetime) -> bool:
        """Tell whether it is too old to move or to release anything."""
        age = self.age(now)
        return age is None or age > OLD


@dataclass(frozen=True, slots=True, eq=False)
class WeatherPart:
    """The weather of a job at one moment."""

    job: str
    now: datetime
    sites: tuple[SitePart, ...]
