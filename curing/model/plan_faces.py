"""Where the faces of a plan stand, and the sites, people and scaffolds it names. Part of :mod:`curing.model.plan`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from types import MappingProxyType

LATER: Mapping[str, bool] = MappingProxyType({"later": True})
"""Marks a field of a later version: a written plan leaves it out while it has its default, and an old one lacks it."""


@dataclass(frozen=True, slots=True)
class Lost:
    """A stretch of a cure that did not count."""

    start: datetime
    end: datetime
    why: str
    """``cold``, ``dry`` or ``unknown``."""


@dataclass(frozen=True, slots=True)
class Cure:
    """How far the cure of a coat was, in hours that count, when it was last looked at.

    These figures grow by the hour; what they change in a plan are the days of tending alone.
    """

    counted: float
    """[h]"""
    cold: float
    """[h] known to be too cold."""
    dry: float
    """[h] known to be dried out."""
    unknown: float
    """[h] of which nobody knows: taken to have counted, and never added to the tending."""
    until: datetime
    """How far it was counted; where the cure is over, to its end."""
    more_days: int = 0
    """[d] That the tending goes on, because hours did not count."""
    cold_told: int = 0
    """[h] Too cold, as told with ``more_days``: it stays while those do."""
    dry_told: int = 0
    """[h] Dried out, in the same way."""
    rests: datetime | None = None
    """Since when the cure rests in the cold."""
    inspect: datetime | None = None
    """Start of a frost hour after which nobody has found the face sound."""
    full: datetime | None = None
    """When the hours asked for were full, those not known with them."""
    expected: datetime | None = None
    """When they are, as it goes now (about the median): for people to look at alone."""
    lost: tuple[Lost, ...] = ()
    """The newest stretches that did not count, in order."""


@dataclass(frozen=True, slots=True)
class CoatDates:
    """Where one coat of a face stands."""

    coat: str
    name: str
    booking: str
    laid: datetime | None
    """Instant of closing, when done."""
    day: date
    first_visit: date | None
    last_visit: date | None
    visits: int
    """Number of visits that the rules ask for."""
    full: datetime | None
    """Instant at which the hours of the cure are full if every hour counts."""
    water: float
    """[L] for all visits."""
    twice_to: int = 0
    """Last day with two visits, as the rules were when the coat was laid [d]."""
    once_to: int = 0
    """Last day with one visit [d]."""
    hours: float = 0.0
    """[h] that make the cure."""
    cure: Cure | None = field(default=None, metadata={"later": True})
    """How far it is; None: nothing is known of its hours. Not written where it is None."""


@dataclass(frozen=True, slots=True)
class Season:
    """Worked back from the season line for one face."""

    line: date
    finish: date
    """Planned date of the coat that must be begun by the line."""
    base_by: date
    fill_by: date
    fill_by_late: date
    """The same with the likely-late drying time."""
    spare: int
    """Days from the planned finish to the line; negative: too late for this season."""
    factors: bool
    """False where the job file gives no drying factors: 1 was used."""
    years: int = field(default=0, metadata=LATER)
    """Seasons of the site's own station that the line is drawn from; 0: the job file gives it as a date."""
    earliest: date | None = field(default=None, metadata=LATER)
    """Spread of such a line (P5, and P95 below): another draw of the years could put it there."""
    latest: date | None = field(default=None, metadata=LATER)


@dataclass(frozen=True, slots=True)
class Panel:
    """Estimate of a panel's drying; the meter decides."""

    filled: date
    ready: date
    likely_late: date


@dataclass(frozen=True, slots=True)
class FacePlan:
    """One face: how it is called, and its coats in order."""

    id: str
    root: str
    """First id this face ever had: identity outlives renaming."""
    wall: str
    wall_name: str
    side: str
    site: str
    order: int
    """Place in walking order, from 0."""
    azimuth: float | None
    area: float
    system: str
    system_digest: str
    coats: tuple[CoatDates, ...]
    season: Season | None = None
    panel: Panel | None = None


@dataclass(frozen=True, slots=True)
class SitePlan:
    """A site as the feeds need it."""

    id: str
    name: str
    zone: str
    latitude: float
    longitude: float


@dataclass(frozen=True, slots=True)
class PersonPlan:
    """A person as the feeds need it; ``root`` is the first id this person ever had."""

    id: str
    root: str
    name: str
    roles: tuple[str, ...]
    crew: str = ""


@dataclass(frozen=True, slots=True)
class Scaffold:
    """When a named scaffold is needed: first coat to last misting of its faces (both inclusive)."""

    name: str
    first: date
    last: date
    faces: tuple[str, ...]
