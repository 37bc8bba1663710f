"""How long a panel dries, and which days the season line leaves, worked back from it.

The estimate is 7 days an inch of the whole thickness, stretched by a factor for each
month (rule ``panel.drying``); nobody promises an end: the meter decides.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date, timedelta

from curing.model.job import SeasonLine
from curing.model.system import RuleBook
from curing.model.times import MONTHS as MONTHS

LONGEST = 3650
"""[d] Drying is not followed further."""

DAY = timedelta(days=1)


def drying_days(book: RuleBook, thickness: float, *, late: bool = False) -> float:
    """Return the days a panel of ``thickness`` [mm] dries in warm, dry air (factor 1), not rounded.

    Worked example: 300 mm at 7 days an inch make 82.7 days, likely late (180 %) 148.8 days.
    """
    days = thickness * book.value("panel.drying")
    return days * book.value("panel.likely_late", 100.0) / 100.0 if late else days


def dry_from(filled: date, days: float, factors: Mapping[str, float]) -> date:
    """Return the first day on which so many factor-1 days have passed since filling.

    Examples
    --------
    >>> dry_from(date(2027, 6, 18), 82.7, {})
    datetime.date(2027, 9, 9)
    """
    day, passed = filled, 0.0
    while passed < days - 1e-9 and (day - filled).days < LONGEST:
        passed += factors.get(MONTHS[day.month - 1], 1.0)
        day += DAY
    return day


def fill_by(base: date, days: float, factors: Mapping[str, float]) -> date:
    """Return the last day to fill a panel that must be dry on the day of its base coat.

    Examples
    --------
    >>> fill_by(date(2027, 9, 9), 82.7, {}), fill_by(date(2027, 9, 9), 148.8, {})
    (datetime.date(2027, 6, 18), datetime.date(2027, 4, 13))
    >>> july = dict.fromkeys(MONTHS, 0.71)
    >>> fill_by(date(2027, 9, 9), 82.7, july)
    datetime.date(2027, 5, 15)
    """
    day, passed = base, 0.0
    while passed < days - 1e-9 and (base - day).days < LONGEST:
        day -= DAY
        passed += factors.get(MONTHS[day.month - 1], 1.0)
    return day


def latest_before(day: date, works: Callable[[date], bool]) -> date:
    """Return the last working day that is not after ``day``; ``day`` itself if none in a year works."""
    for back in range(366):
        if works(day - back * DAY):
            return day - back * DAY
    return day


def _in_year(day: date, year: int) -> date:
    """Return the same day of another year; 29 February becomes 28."""
    if day.month == 2 and day.day == 29:
        day = day - DAY
    return day.replace(year=year)


def line_for(season: SeasonLine, day: date) -> date:
    """Return the season line that ends the season ``day`` lies in; the line comes back every year.

    Before ``finish_by`` of the file it is that date itself. After it, where the file
    says when work resumes, it is the line of the following year.
    """
    line = season.finish_by
    while season.resumes is not None and day >= _in_year(season.resumes, season.resumes.year + _gap(season, line)):
        line = _in_year(season.finish_by, line.year + 1)
    return line


def _gap(season: SeasonLine, line: date) -> int:
    return line.year - season.finish_by.year


def resumes_after(season: SeasonLine, line: date) -> date | None:
    """Return the first day of outside work after that year's line, or None where the file is silent."""
    if season.resumes is None:
        return None
    return _in_year(season.resumes, season.resumes.year + _gap(season, line))


def winter_between(season: SeasonLine, first: date, last: date) -> tuple[date, date] | None:
    """Return season line and resuming day of the last winter that ends between two days, or None.

    Parameters
    ----------
    season
        Line and resuming day come back every year.
    first, last
        A winter ends after ``first`` and not after ``last``.

    Examples
    --------
    >>> line = SeasonLine.model_validate({"finish_by": "2027-09-22", "resumes": "2028-04-27"})
    >>> winter_between(line, date(2027, 9, 10), date(2028, 5, 3))
    (datetime.date(2027, 9, 22), datetime.date(2028, 4, 27))
    >>> winter_between(line, date(2029, 9, 10), date(2030, 4, 26)) is None
    True
    """
    if season.resumes is None:
        return None
    for year in range(last.year, first.year - 1, -1):
        resumes = _in_year(season.resumes, year)
        if first < resumes <= last:
            return _in_year(season.finish_by, year - (season.resumes.year - season.finish_by.year)), resumes
    return None


def out_of_season(season: SeasonLine, day: date) -> date | None:
    """Return the day on which work resumes when ``day`` lies between a line and it, else None.

    Examples
    --------
    >>> line = SeasonLine.model_validate({"finish_by": "2027-09-22", "resumes": "2028-04-27"})
    >>> out_of_season(line, date(2027, 11, 3)), out_of_season(line, date(2027, 9, 22))
    (datetime.date(2028, 4, 27), None)
    """
    if season.resumes is None:
        return None
    line = line_for(season, day)
    resumes = resumes_after(season, line)
    return resumes if resumes is not None and line < day < resumes else None
