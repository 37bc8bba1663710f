"""Rules of weather as plain functions on hourly arrays, to count how often each says something.

They know the whole record (perfect foresight) and stand apart from what the planner does with a forecast.
Limits marked found were not told with the figures and are those with which the figures come out.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from tests.benchmarks.station import Hours

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
HOURS = 4
"""Length of a window for outside work [h]."""
DAMP = 0.1
"""Less rain on a face than this in a dry time is none [L/m2]."""
_DAMP = DAMP - 1e-6  # an hour of exactly 0.1 mm is rain, whatever the rounding of running sums
SHADE = 30.0
"""Less beam on a face than this is shade [W/m2]; found."""
HOTTEST = 30.0
"""No coat is laid in warmer air [°C]."""


def total(values: Array, first: int, last: int) -> Array:
    """Sum over the hours from i + first to before i + last, for each hour i; gaps count as nothing."""
    sums = np.concatenate([np.zeros((*values.shape[:-1], 1)), np.cumsum(np.nan_to_num(values), axis=-1)], axis=-1)
    hours = np.arange(values.shape[-1])
    low, high = (np.clip(hours + k, 0, hours.size) for k in (first, last))
    return np.asarray(sums[..., high] - sums[..., low])


def some(flags: Flags, first: int, last: int) -> Flags:
    """Whether a flag stands in any hour from i + first to before i + last."""
    return total(flags.astype(np.float64), first, last) > 0.5


def throughout(flags: Flags) -> Flags:
    """Whether a flag stands in each hour of a window that starts at each hour."""
    return ~some(~flags, 0, HOURS)


def warm_and_rising(temperature: Array, limit: float) -> Flags:
    """At least so warm and at most 30 °C throughout, and two hours on no cooler than now, or 3 K above the limit."""
    later = np.concatenate([temperature[2:], temperature[-2:]])
    rising = (later >= temperature) | (temperature >= limit + 3.0)
    return throughout((temperature >= limit) & (temperature <= HOTTEST)) & rising


def dry(rain: Array, after: int) -> Flags:
    """Next to no rain from a window's start to so many hours after its end."""
    return total(rain, 0, HOURS + after) < _DAMP


def dry_before(rain: Array, before: int) -> Flags:
    """Next to no rain in so many hours before a window."""
    return total(rain, -before, 0) < _DAMP


def no_frost(temperature: Array, days: int) -> Flags:
    """No hour below 0 °C in so many days from a window's start."""
    return ~some(temperature < 0.0, 0, 24 * days)


def share_of_days(hours: Hours, good: Flags, first: int, last: int, months: Sequence[int]) -> Array:
    """Percent of the days of each month with a good window inside these hours of the clock; (faces, months)."""
    local = hours.local
    day, which = np.unique(local // 24, return_inverse=True)
    month = months_of(day)
    at_work = (local % 24 >= first) & (local % 24 < last)
    known = np.bincount(which, at_work & np.isfinite(hours.temperature)) == last - first
    starts = at_work & (local % 24 <= last - HOURS)
    has = np.array([np.bincount(which, flags & starts) > 0 for flags in np.atleast_2d(good)])
    return np.array([[100.0 * row[known & (month == k)].mean() for k in months] for row in has])


def months_of(days: NDArray[np.int64]) -> NDArray[np.int64]:
    """Month, 1 to 12, of days from 1970."""
    return days.astype("datetime64[D]").astype("datetime64[M]").astype(np.int64) % 12 + 1


# --- frost, year by year ----------------------------------------------------------


def frost_days(hours: Hours, limit: float = 0.0) -> tuple[int, Flags]:
    """First UTC day of the record, and whether each day has an hour below the limit [°C]."""
    day = hours.day
    cold = np.nan_to_num(hours.temperature, nan=99.0) < limit
    return int(day[0]), np.bincount(day - day[0], cold) > 0


def day_number(year: int, month: int, day: int) -> int:
    """Days from 1970."""
    return int(np.datetime64(f"{year}-{month:02}-{day:02}").astype(np.int64))


def frost_bounds(first: int, frost: Flags, years: Sequence[int]) -> tuple[Array, Array]:
    """First frost after 1 July and last before, of each year, as days after 1 January 2023."""
    autumn, spring = [], []
    for year in years:
        start, middle, end = (day_number(*when) - first for when in ((year, 1, 1), (year, 7, 1), (year + 1, 1, 1)))
        autumn.append(np.flatnonzero(frost[middle:end])[0] + 181)
        spring.append(np.flatnonzero(frost[start:middle])[-1] - (middle - start) + 181)
    return np.array(autumn, dtype=np.float64), np.array(spring, dtype=np.float64)


def frost_risk(first: int, frost: Flags, years: Sequence[int], month: int, day: int, days: int) -> float:
    """Share of the years with frost in so many days from a day of the year."""
    starts = [day_number(year, month, day) - first for year in years]
    return float(np.mean([frost[at : at + days].any() for at in starts if at + days <= frost.size]))


def safe_season(first: int, frost: Flags, years: Sequence[int], days: int, risk: float) -> tuple[str, str]:
    """First and last start of the year, round midsummer, with at most that risk of frost in so many days."""
    calendar = np.arange(np.datetime64("2023-01-01"), np.datetime64("2024-01-01"))
    safe = []
    for date in calendar.astype(str):
        month, day = int(date[5:7]), int(date[8:])
        safe.append(frost_risk(first, frost, years, month, day, days) <= risk)
    low = high = 190
    while low and safe[low - 1]:
        low -= 1
    while high < 364 and safe[high + 1]:
        high += 1
    return str(calendar[low])[5:], str(calendar[high])[5:]
