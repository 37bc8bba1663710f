"""How fast a panel dries through the year at a site, from its own years, and the last day to fill it.

An estimate: the meter decides, and no end is promised.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from curing.model.job import SeasonLine
from curing.model.times import MONTHS
from curing.model.weather import Series
from curing.physics.emc import inner_drying, season_factor
from curing.physics.wall_climate import inside_face
from curing.planning.season import fill_by
from curing.planning.season_years import LEAST_YEARS, SeasonYears

KNOWN = 0.8
"""Share of a month's hours that must be known for it to tell (assumption)."""


@dataclass(frozen=True)
class DryingYears:
    """Season factors of panel drying, by month.

    Parameters
    ----------
    factors
        Month (``jan`` ...) to speed over that in warm dry air, all years together; months that no year tells of lack.
    low, high
        The same, P10 and P90 of the single years; empty from fewer than 20.
    single
        Each year's own factors, for the years that have all twelve months.
    """

    factors: Mapping[str, float]
    low: Mapping[str, float]
    high: Mapping[str, float]
    single: Mapping[int, Mapping[str, float]]

    @property
    def years(self) -> int:
        """Whole years that tell."""
        return len(self.single)


@dataclass(frozen=True, slots=True)
class LastFill:
    """Last day to fill a panel that must be dry by a day.

    Parameters
    ----------
    day
        With the factors of all years together.
    early, late
        The day that would have been early enough in nine years of ten, and in one of ten; None from fewer than 20.
    years
        Whole years on which it rests.
    """

    day: date
    early: date | None
    late: date | None
    years: int


def drying_years(start: datetime, temperature: Series, humidity: Series, *, offset: int = 0) -> DryingYears:
    """Work the factors out from hourly air.

    Parameters
    ----------
    start
        Of the first hour; aware, UTC.
    temperature, humidity
        One value an hour [°C], [%]; NaN where not known.
    offset
        Standard time of the place ahead of UTC [h], for its months.
    """
    takes = 24.0 * np.maximum(inside_face(temperature, humidity)[0], 0.0)
    inner = inner_drying(temperature, humidity)
    hours = np.datetime64(start.replace(tzinfo=None), "h") + np.arange(len(temperature)) + offset
    month = hours.astype("datetime64[M]").astype(np.int64)
    known = np.isfinite(takes) & np.isfinite(inner)
    first = int(month[0]) if month.size else 0
    place = month - first
    count = np.bincount(place[known], minlength=int(place.max(initial=-1)) + 1)
    sums = [np.bincount(place[known], x[known], minlength=count.size) for x in (takes, inner)]
    lasts = np.array([_hours(first + k) for k in range(count.size)])
    told = count >= KNOWN * lasts
    number = (first + np.arange(count.size)) % 12
    factors = {
        MONTHS[k]: float(_factor(*(x[told & (number == k)].sum() / count[told & (number == k)].sum() for x in sums)))
        for k in range(12)
        if (told & (number == k)).any()
    }
    each = np.full(count.size, np.nan)
    each[told] = _factor(sums[0][told] / count[told], sums[1][told] / count[told])
    return DryingYears(factors, *_spread(each, number), _single(each, first))


def _factor(takes: NDArray[np.float64], inner: NDArray[np.float64]) -> NDArray[np.float64]:
    with np.errstate(divide="ignore"):
        return np.asarray(season_factor(takes, inner))


def _hours(month: int) -> float:
    """Hours of a month, counted from January 1970."""
    first, after = (np.datetime64(month + k, "M").astype("datetime64[h]") for k in (0, 1))
    return float((after - first).astype(int))


def _spread(each: NDArray[np.float64], number: NDArray[np.int64]) -> tuple[dict[str, float], dict[str, float]]:
    low, high = {}, {}
    for k in range(12):
        years = each[(number == k) & np.isfinite(each)]
        if years.size >= LEAST_YEARS:
            low[MONTHS[k]], high[MONTHS[k]] = (float(np.quantile(years, share)) for share in (0.1, 0.9))
    return low, high


def _single(each: NDArray[np.float64], first: int) -> dict[int, dict[str, float]]:
    found = {}
    for january in range(-first % 12, each.size - 11, 12):
        year = each[january : january + 12]
        if np.isfinite(year).all():
            found[1970 + (first + january) // 12] = dict(zip(MONTHS, map(float, year), strict=True))
    return found


def season_line(seasons: SeasonYears, drying: DryingYears | None, day: date) -> SeasonLine | None:
    """Return the season that a day lies in, or has just passed, in place of that of the job file.

    None where the years give no line: fewer than 20, or none is needed, or no start is safe.
    """
    line = seasons.finish
    if line is None or line.first is None or line.last is None:
        return None
    resumes = line.first.on_or_after(day + timedelta(days=1))
    finish_by = line.last.on_or_after(date(resumes.year - 1, resumes.month, resumes.day))
    factors = {month: round(one, 2) for month, one in drying.factors.items()} if drying else {}
    return SeasonLine.model_validate(
        {"finish_by": finish_by.isoformat(), "resumes": resumes.isoformat(), "drying": factors}
    )


def last_fill(base: date, days: float, drying: DryingYears) -> LastFill:
    """Return the last day to fill a panel for a base coat on ``base``.

    Parameters
    ----------
    base
        Last day to begin the base coat, worked back from the season line.
    days
        Drying in warm dry air [d]: :func:`curing.planning.season.drying_days`.
    drying
        Of the site; a year's factors stand for the year before as well, where drying goes back so far.

    Raises
    ------
    ValueError
        A month that no year tells of.
    """
    lack = [month for month in MONTHS if month not in drying.factors]
    if lack:
        raise ValueError(
            f"panel drying: the station tells nothing of {', '.join(lack)}; it needs every month of the year;"
            " give more years, or season.drying in the job file"
        )
    ends = sorted((fill_by(base, days, factors) - base).days for factors in drying.single.values())
    early, late = None, None
    if len(ends) >= LEAST_YEARS:
        low, high = (int(np.floor(np.quantile(ends, share))) for share in (0.1, 0.9))
        early, late = base + timedelta(days=low), base + timedelta(days=high)
    return LastFill(fill_by(base, days, drying.factors), early, late, drying.years)
