"""The season of outside work from a site's own years: when frost comes and goes, and how late is too late.

A season year runs from mid-winter to mid-winter, so that each has one last frost and one first frost; south
of the equator it begins in July. A day is frosty if an hourly value of it lies below the frost limit; hourly
values miss the true minimum a little. A line is told with its spread: it is drawn from few years.

What is not known is left out where it matters, never taken as frost-free: a stretch without known frost
that misses more than a day's hours says nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from curing.model.weather import Series

LEAST_YEARS = 20
"""Fewer years tell no P10 or P90 and no line (assumption): one in ten is then less than two years."""
RISK = 0.2
"""Frost in so many of the years is taken, at most (assumption)."""
FINISH_DAYS, BASE_DAYS = 28, 14
"""[d] without frost that a finish and a base coat want (common practice, no source)."""
COMPLETE = 0.9
"""Share of a season year's hours that must be known (assumption)."""
DRAWS, SEED = 4000, 1
"""Samples of the years, drawn with replacement, for the spread of a line; always the same ones."""
_COMMON = np.arange(np.datetime64("2022-01-01"), np.datetime64("2024-01-01"))  # two years without 29 February

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, order=True)
class YearDay:
    """A day of every year; never 29 February."""

    month: int
    day: int

    def on_or_after(self, day: date) -> date:
        """Return the first such day that is not before ``day``.

        Examples
        --------
        >>> YearDay(4, 27).on_or_after(date(2027, 9, 22))
        datetime.date(2028, 4, 27)
        """
        this = date(day.year, self.month, self.day)
        return this if this >= day else date(day.year + 1, self.month, self.day)

    def __str__(self) -> str:
        return f"{self.month:02}-{self.day:02}"


@dataclass(frozen=True, slots=True)
class Bound:
    """The first or the last frost of a season.

    Parameters
    ----------
    median
        None where half of the years have none.
    p10, p90
        In one year of ten it comes before, or after. None from fewer than 20 years, or where
        so many years have no such frost that the day is not known.
    earliest, latest
        Of the years that have one.
    years
        Of which it is known.
    without
        Those of them without such a frost.
    """

    median: YearDay | None
    p10: YearDay | None
    p90: YearDay | None
    earliest: YearDay | None
    latest: YearDay | None
    years: int
    without: int


@dataclass(frozen=True, slots=True)
class Line:
    """First and last start of a season with little risk of frost in so many days.

    Parameters
    ----------
    days
        [d] from the start that must stay free of frost.
    risk
        Greatest share of years with frost in them.
    first, last
        None where no start of the year is safe enough, or where every one is.
    first_spread, last_spread
        P5 and P95 of the same day from samples of the years.
    always
        Every start of the year is safe enough.
    years
        On which it rests.
    """

    days: int
    risk: float
    first: YearDay | None
    last: YearDay | None
    first_spread: tuple[YearDay, YearDay] | None
    last_spread: tuple[YearDay, YearDay] | None
    always: bool
    years: int


@dataclass(frozen=True, eq=False)
class SeasonYears:
    """Hourly temperature of one place as season years.

    Parameters
    ----------
    years
        Season years that are complete enough, by the year of their midsummer.
    left_out
        Those of which too little is known.
    southern
        Whether July is mid-winter.
    """

    years: tuple[int, ...]
    left_out: tuple[int, ...]
    southern: bool
    _first: int
    """First local day, from 1970."""
    _frost: Flags
    _gaps: NDArray[np.int64]
    """[h] not known on each day."""

    @classmethod
    def of(
        cls, start: datetime, temperature: Series, *, latitude: float, offset: int = 0, frost: float = 0.0
    ) -> SeasonYears:
        """Sort hours into days and season years.

        Parameters
        ----------
        start
            Of the first hour; aware, UTC.
        temperature
            One value an hour [°C]; NaN where not known.
        latitude
            Of the place [deg], north positive.
        offset
            Standard time of the place ahead of UTC [h], for its days.
        frost
            A day with an hour below it is frosty [°C].
        """
        southern = latitude < 0.0
        hour = int(start.timestamp() // 3600) + offset
        lead = hour % 24
        whole = np.full(-(-(lead + len(temperature)) // 24) * 24, np.nan)
        whole[lead : lead + len(temperature)] = temperature
        days = whole.reshape(-1, 24)
        first, gaps = hour // 24, np.isnan(days).sum(axis=1)
        cold = (np.nan_to_num(days, nan=np.inf) < frost).any(axis=1)
        complete, left_out = [], []
        last_year = _date(first + len(days) - 1).year + 1
        for year in range(_date(first).year, last_year + 1):
            span = slice(*(max(_winter(year + k, southern) - first, 0) for k in (0, 1)))
            lasts = 24 * (_winter(year + 1, southern) - _winter(year, southern))
            known = 24 * len(gaps[span]) - int(gaps[span].sum())
            if known >= COMPLETE * lasts:
                complete.append(year)
            elif known:
                left_out.append(year)
        return cls(tuple(complete), tuple(left_out), southern, first, cold, gaps)

    @property
    def refusal(self) -> str:
        """Why there are no lines; empty: there are."""
        if len(self.years) >= LEAST_YEARS:
            return ""
        return (
            f"station years: {len(self.years)} complete seasons; a season line needs {LEAST_YEARS}, since a risk of"
            " one year in five is not seen in fewer; give more years, or season.finish_by in the job file"
        )

    @cached_property
    def first_frost(self) -> Bound:
        """First frost after midsummer."""
        return self._bound(after=True)

    @cached_property
    def last_frost(self) -> Bound:
        """Last frost before midsummer."""
        return self._bound(after=False)

    @cached_property
    def finish(self) -> Line | None:
        """Starts of a finish; None from fewer than 20 years."""
        return self.line(FINISH_DAYS)

    @cached_property
    def base(self) -> Line | None:
        """Starts of a base coat; None from fewer than 20 years."""
        return self.line(BASE_DAYS)

    def line(self, days: int, risk: float = RISK) -> Line | None:
        """Return first and last start round midsummer with at most that risk; None from fewer than 20 years."""
        if len(self.years) < LEAST_YEARS:
            return None
        hit, known = self._windows(days)
        low, high = map(int, _ends(_share(hit, known, np.ones((1, len(hit)))), risk)[0])
        always = (low, high) == (0, 364)
        picks = np.random.default_rng(SEED).integers(0, len(hit), (DRAWS, len(hit)))
        weights = np.array([np.bincount(pick, minlength=len(hit)) for pick in picks], dtype=np.float64)
        some = _ends(_share(hit, known, weights), risk)
        some = some[(some >= 0).all(axis=1)]
        found = low >= 0 and not always
        return Line(
            days,
            risk,
            self._day(low) if found else None,
            self._day(high) if found else None,
            self._spread(some[:, 0]) if found else None,
            self._spread(some[:, 1]) if found else None,
            always,
            int(known.sum(axis=0)[[low, high]].min()) if found else int(known.sum(axis=0).min()),
        )

    def risk(self, start: YearDay, days: int) -> tuple[float, int]:
        """Return the share of years with frost in so many days from a day of the year, and of how many years.

        Raises
        ------
        ValueError
            No year tells.
        """
        at = next(k for k in range(365) if self._day(k) == start)
        hit, known = self._windows(days)
        count = int(known[:, at].sum())
        if not count:
            raise ValueError(f"station years: none tells of {days} days from {start}; give more years")
        return float(hit[:, at].sum() / count), count

    @cached_property
    def _starts(self) -> NDArray[np.int64]:
        """Year x day of the season: its place in the record."""
        starts = [[self._real(year, k) for k in range(365)] for year in self.years]
        return np.array(starts, dtype=np.int64).reshape(-1, 365)

    def _windows(self, days: int) -> tuple[Array, Array]:
        """Year x day of the season: whether frost falls in so many days from it, and whether that is known."""
        frost = np.concatenate([[0], np.cumsum(self._frost)])
        gaps = np.concatenate([[0], np.cumsum(self._gaps)])
        starts = self._starts
        inside = (starts >= 0) & (starts + days < frost.size)
        low, high = (np.clip(starts + k, 0, frost.size - 1) for k in (0, days))
        hit = inside & (frost[high] > frost[low])
        known = inside & (hit | (gaps[high] - gaps[low] <= 24))
        return hit.astype(np.float64), known.astype(np.float64)

    def _bound(self, *, after: bool) -> Bound:
        found: list[float] = []
        for year in self.years:
            middle = _summer(year, self.southern) - self._first
            ends = [_winter(year + k, self.southern) - self._first for k in (0, 1)]
            if after:
                span = np.arange(middle, min(ends[1], self._frost.size))
            else:
                span = np.arange(middle - 1, max(ends[0], 0) - 1, -1)
            frosty = np.flatnonzero(self._frost[span])
            passed = span[: frosty[0]] if frosty.size else span
            if self._gaps[passed].sum() > 24:
                continue  # frost may have come before the first that is known
            none = np.inf if after else -np.inf
            found.append(self._number(int(span[frosty[0]])) if frosty.size else none)
        days = np.sort(np.array(found))
        real = days[np.isfinite(days)]
        enough = days.size >= LEAST_YEARS
        return Bound(
            self._quantile(days, 0.5),
            self._quantile(days, 0.1) if enough else None,
            self._quantile(days, 0.9) if enough else None,
            self._day(int(real[0])) if real.size else None,
            self._day(int(real[-1])) if real.size else None,
            int(days.size),
            int(days.size - real.size),
        )

    def _quantile(self, days: Array, share: float) -> YearDay | None:
        if not days.size:
            return None
        place = share * (days.size - 1)
        below, above = days[int(np.floor(place))], days[int(np.ceil(place))]
        if not (np.isfinite(below) and np.isfinite(above)):
            return None
        return self._day(round(float(below + (above - below) * (place % 1.0))))

    def _spread(self, days: NDArray[np.int64]) -> tuple[YearDay, YearDay] | None:
        if not days.size:
            return None
        low, high = (round(float(np.quantile(days, share))) for share in (0.05, 0.95))
        return self._day(low), self._day(high)

    def _day(self, number: int) -> YearDay:
        """Return the day of the year of a day of the season, counted from mid-winter."""
        day = _COMMON[number + (181 if self.southern else 0)].astype(object)
        return YearDay(day.month, day.day)

    def _real(self, year: int, number: int) -> int:
        """Return the place in the record of a day of a season."""
        day = self._day(number)
        which = year - 1 if self.southern and day.month >= 7 else year
        return _number(date(which, day.month, day.day)) - self._first

    def _number(self, place: int) -> int:
        """Return the day of the season of a place in the record; 29 February counts as 28."""
        day = _date(place + self._first)
        if (day.month, day.day) == (2, 29):
            day -= timedelta(days=1)
        number = int((np.datetime64(date(2022, day.month, day.day)) - _COMMON[0]).astype(int))
        return (number - 181) % 365 if self.southern else number


def _share(hit: Array, known: Array, weights: Array) -> Array:
    """Return the share of years with frost, weighting x day of the season; 1 where no year tells."""
    count = weights @ known
    return np.asarray(np.where(count > 0.0, (weights @ hit) / np.maximum(count, 1.0), 1.0))


def _ends(share: Array, risk: float) -> NDArray[np.int64]:
    """Return the first and last day round midsummer with at most that risk, row by row; -1, -1 where there is none."""
    days = np.arange(share.shape[1])
    unsafe = share > risk + 1e-12
    least = share == share.min(axis=1, keepdims=True)
    middle = np.where(least, np.abs(days - 190), 999).argmin(axis=1)
    low = np.where(unsafe & (days < middle[:, None]), days, -1).max(axis=1) + 1
    high = np.where(unsafe & (days > middle[:, None]), days, days.size).min(axis=1) - 1
    none = unsafe[np.arange(len(share)), middle]
    return np.where(none[:, None], -1, np.stack([low, high], axis=1)).astype(np.int64)


def _winter(year: int, southern: bool) -> int:
    """Return the first day of the season whose midsummer lies in that year, as days from 1970."""
    return _number(date(year - 1, 7, 1) if southern else date(year, 1, 1))


def _summer(year: int, southern: bool) -> int:
    return _number(date(year, 1, 1) if southern else date(year, 7, 1))


def _number(day: date) -> int:
    return (day - date(1970, 1, 1)).days


def _date(number: int) -> date:
    return date(1970, 1, 1) + timedelta(days=number)
