"""The season of a site by its own years, ready to be written: by the terminal, as JSON."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class FrostPart:
    """First or last frost of a season, as days of the season that is on.

    Parameters
    ----------
    middle
        In half of the years; None where fewer have such a frost.
    tenth
        In one year of ten it comes before (first), or after (last); None from fewer than 20 years.
    utmost
        Earliest (first), or latest (last).
    years, without
        Of how many years it is known, and how many of them have none.
    """

    middle: date | None
    tenth: date | None
    utmost: date | None
    years: int
    without: int


@dataclass(frozen=True, slots=True)
class LinePart:
    """Starts of a coat with little risk of frost in its first days.

    Parameters
    ----------
    coat, days
        ``finish`` or ``base``, and the days it wants without frost.
    risk
        Share of years with frost in them, at most.
    first, last
        First start in spring, and last in autumn.
    earliest, latest
        Spread of the last (P5 and P95 of samples of the years).
    """

    coat: str
    days: int
    risk: float
    first: date
    last: date
    earliest: date
    latest: date


@dataclass(frozen=True, slots=True)
class FillPart:
    """Last day to fill a panel for this season.

    Parameters
    ----------
    thickness
        [mm]
    base_by
        Last day for its base coat, worked back from the season line.
    day
        With the drying of all years together.
    early, late
        Early enough in nine years of ten, and in one of ten.
    faces
        Ids of the faces outside whose panel is so thick.
    """

    thickness: float
    base_by: date
    day: date
    early: date | None
    late: date | None
    faces: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SeasonPart:
    """The season of a site by its own years.

    Parameters
    ----------
    years
        Complete seasons.
    first_year, last_year
        Of them.
    why_none
        ``few``, ``always`` or ``never``: why there is no season line; empty: there is one.
    least
        Seasons that a line needs.
    last_frost, first_frost
        In spring and in autumn.
    lines
        Of finish and base.
    fills
        By thickness.
    """

    years: int
    first_year: int | None
    last_year: int | None
    why_none: str
    least: int
    last_frost: FrostPart
    first_frost: FrostPart
    lines: tuple[LinePart, ...] = ()
    fills: tuple[FillPart, ...] = ()
