"""Where the faces of a plan stand, and the sites, people and scaffolds it names. Part of :mod:`curing.model.plan`."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime


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
