"""Where the season line of a job is from: dates of the job file, or years of a site's own station."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class NoLine:
    """A site whose station gives no season line.

    Parameters
    ----------
    site
        Its name.
    why
        ``few``: fewer complete seasons than a line needs; ``always``: every start of the year is safe enough;
        ``never``: none is.
    years
        Complete seasons that its tables have.
    """

    site: str
    why: str
    years: int


@dataclass(frozen=True, slots=True)
class SeasonSource:
    """What the season line of a job rests on.

    Parameters
    ----------
    site
        Name of the site whose station gives the line; empty: none does, and the job file's dates hold.
    years
        Seasons that its line is drawn from.
    line
        The line of the present season.
    earliest, latest
        Its spread (P5 and P95 of samples of the years).
    was
        The job file's own line, where it has one; it is not used if ``site`` gives another.
    none
        Sites with a station that gives no line.
    """

    site: str = ""
    years: int = 0
    line: date | None = None
    earliest: date | None = None
    latest: date | None = None
    was: date | None = None
    none: tuple[NoLine, ...] = ()
