"""Each rule of an open coat against hours of weather, for many starts of laying at once.

Whatever hour laying is begun at, a rule looks at a fixed stretch round it. What is known of the stretch may
break the rule; what is not known never does, but where more than three hours are missing the rule is not kept
either.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from curing.model.weather import Series
from curing.planning.weather_limits import DAY, LAST_DAY, RISING, Limits, What
from curing.planning.weather_site import FaceHours

GAP = 3
"""Most hours that may be missing in what a rule looks at [h] (common practice, no source)."""
HORIZON = int(LAST_DAY)
"""So far ahead a forecast is judged by [h]; beyond it lies advice by season (common practice, no source)."""
ROUNDING = 1e-6
"""An hour of exactly 0.1 mm is rain, whatever the rounding of sums."""

Flags = NDArray[np.bool_]
Starts = NDArray[np.int64]


class Shelter(StrEnum):
    """What stands before a face while a coat is laid on it and after."""

    SHEET = "sheet"
    CLOTH = "cloth"


KEPT_OFF: dict[What, Shelter] = {
    What.RAIN: Shelter.SHEET,
    What.DEMAND: Shelter.CLOTH,
    What.SUN: Shelter.CLOTH,
}
"""What a shelter keeps off."""


@dataclass(frozen=True, slots=True, eq=False)
class Weighed:
    """One rule against the weather, for each start.

    Parameters
    ----------
    what
        What the rule is about.
    limit
        Its limit.
    first
        The stretch begins so many hours after the start; negative: before it.
    seen
        Values of the stretch, (starts, hours); NaN: not known.
    hours
        Which of its hours speak against laying, alike.
    value
        What is held against the limit, for each start: a sum, the least or the greatest; of frost by its
        margin, as told of the hour that may be the coldest.
    broken
        Whether it breaks the rule.
    summed
        Whether the value is a sum, which grows hour by hour.
    tail
        So many hours of the stretch lie after closing; None: it is the same however long laying takes.
    """

    what: What
    limit: float
    first: int
    seen: Series
    hours: Flags
    value: Series
    broken: Flags
    summed: bool = False
    tail: int | None = None

    @property
    def gaps(self) -> NDArray[np.int64]:
        """How many hours are not known, for each start."""
        return np.asarray(np.isnan(self.seen).sum(axis=1))

    @property
    def unknown(self) -> Flags:
        """Whether too much is missing to say that the rule is kept, and what is known does not break it."""
        return (self.gaps > GAP) & ~self.broken


def weigh(limits: Limits, hours: FaceHours, starts: Starts, length: int, told: Starts) -> Iterator[Weighed]:
    """Yield each rule of a coat against the weather.

    Parameters
    ----------
    limits
        Of the coat.
    hours
        Of the face.
    starts
        Hours at which laying may begin, as numbers in ``hours``; they may lie outside.
    length
        How long laying takes [h], at least 1.
    told
        Hour at which the weather was told, for each start.
    """

    def of(values: Series, first: int, last: int) -> Series:
        return stretch(values, starts, first, last)

    air = of(hours.temperature, 0, length)
    if limits.least is not None:
        yield _lowest(What.COLD, limits.least, air, tail=0)
    if limits.most is not None:
        yield _highest(What.HOT, limits.most, air, tail=0)
    if limits.least is not None and limits.spare is not None:
        yield _falling(of(hours.temperature, 0, RISING + 1), limits.least + limits.spare)
    if limits.humid is not None:
        yield _highest(What.HUMID, limits.humid, of(hours.humidity, 0, length), tail=0)
    if limits.before:
        yield _sum(What.RAIN_BEFORE, limits.dry, of(hours.rain, -limits.before, 0), -limits.before)
    if limits.after is not None:
        yield _sum(What.RAIN, limits.dry, of(hours.rain, 0, length + limits.after), tail=limits.after)
    if limits.sure:
        cold, ahead = of(hours.temperature, 0, limits.sure), _ahead(starts - told, 0, limits.sure)
        yield _frost(What.FROST_SURE, limits.frost, cold, ahead, 0, limits.margin.ahead(ahead))
    if limits.frost_to > limits.sure:
        cold = of(hours.temperature, limits.sure, limits.frost_to)
        ahead = _ahead(starts - told, limits.sure, limits.frost_to)
        yield _frost(What.FROST, limits.frost, cold, ahead, limits.sure, np.zeros_like(ahead))
    if limits.demand is not None:
        yield _sum(What.DEMAND, limits.demand, of(hours.demand, 0, DAY))
    if limits.sun is not None:
        yield _highest(What.SUN, limits.sun, of(hours.direct, 0, length + limits.shaded), tail=limits.shaded)


def stretch(values: Series, starts: Starts, first: int, last: int) -> Series:
    """Return hours ``first`` to before ``last`` after each start; NaN outside what there is.

    Examples
    --------
    >>> stretch(np.array([1.0, 2.0, 3.0]), np.array([0, 2]), -1, 2).tolist()
    [[nan, 1.0, 2.0], [2.0, 3.0, nan]]
    """
    at = starts[:, None] + np.arange(first, last)
    inside = (at >= 0) & (at < values.size)
    if not values.size:
        return np.full(at.shape, np.nan)
    return np.where(inside, values[np.clip(at, 0, values.size - 1)], np.nan)


def _ahead(lead: Starts, first: int, last: int) -> Series:
    return np.asarray(lead[:, None] + np.arange(first, last), dtype=np.float64)


def _extreme(seen: Series, which: Callable[..., Series], nothing: float) -> Series:
    """Least or greatest of the known hours, NaN where none is known."""
    found = which(np.where(np.isnan(seen), nothing, seen), axis=1, initial=nothing)
    return np.where(np.isinf(found), np.nan, found)


def _lowest(what: What, limit: float, seen: Series, *, tail: int | None) -> Weighed:
    under = seen < limit
    return Weighed(what, limit, 0, seen, under, _extreme(seen, np.min, np.inf), _any(under), tail=tail)


def _highest(what: What, limit: float, seen: Series, *, tail: int | None) -> Weighed:
    over = seen > limit
    return Weighed(what, limit, 0, seen, over, _extreme(seen, np.max, -np.inf), _any(over), tail=tail)


def _sum(what: What, limit: float, seen: Series, first: int = 0, *, tail: int | None = None) -> Weighed:
    """Weigh a sum: it stops at its limit, and the hours that add to it speak against laying."""
    total = np.nansum(seen, axis=1)
    hours = np.nan_to_num(seen) > ROUNDING
    return Weighed(what, limit, first, seen, hours, total, total >= limit - ROUNDING, summed=True, tail=tail)


def _falling(seen: Series, enough: float) -> Weighed:
    """Weigh air at the start against air two hours on."""
    now, later = seen[:, 0], seen[:, RISING]
    broken = (later < now) & (now < enough)
    hours = np.repeat(broken[:, None], seen.shape[1], axis=1)
    return Weighed(What.FALLING, enough, 0, seen, hours, later, broken)


def _frost(what: What, limit: float, cold: Series, ahead: Series, first: int, margin: Series) -> Weighed:
    """Weigh frost, as far ahead as a forecast is judged by: later hours are neither asked nor missed."""
    seen = np.where(ahead < HORIZON, cold, np.inf)
    worst = np.argmin(np.where(np.isnan(seen), np.inf, seen - margin), axis=1)
    value = np.take_along_axis(seen, worst[:, None], axis=1)[:, 0]
    frosty = seen - margin < limit
    return Weighed(what, limit, first, seen, frosty, value, _any(frosty))


def _any(hours: Flags) -> Flags:
    return np.asarray(hours.any(axis=1))
