"""Cures and whole faces as recorded years would have had them, many at once.

Visits by a stated pattern: 7 and 18 h by the clock there to day 14, then 7 h alone; 13 h as well where the 24 hours
from that morning's visit ask for the extra; none in the first 12 hours, none at 2 °C or colder. The coat is closed
at 15 h. The record is known to its end (perfect foresight), and no rain wets: that is on the safe side.

Found, not told with the figures, and such that they come out: a missed visit is drawn by chance, each on its own
(one in three in turn costs far less), the extra ones too; an hour counts whole or not at all; a whole face's P50 is
that of the days since its start, and its next coat comes on the day after the hours are full.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from tests.benchmarks import weather_rules as rules
from tests.benchmarks.station import Hours

Array = NDArray[np.float64]
Numbers = NDArray[np.int64]
Flags = NDArray[np.bool_]

CLOSED, MORNING, NOON, EVENING = 15, 7, 13, 18
TWICE_TO = 14
"""Last day with two visits."""
HOURS, WARM, LIMIT = 672.0, 5.0, 2.5
"""Hours of the cure [h], least temperature [°C], what the air may take from a damp coat [kg/m2]."""
EXTRA = 2.5
"""[kg/m2] in 24 hours that asks for the extra visit."""
TOO_COLD = 2.0
"""No visit at it [°C]."""
FIRST = 12
"""No visit so long after closing [h]."""
LONGEST = 24 * 200
"""Followed no further [h]."""
BASE_DAYS = 13
"""Of 24 hours at 5 °C or warmer between base and finish: 13 mm at a day a millimetre."""
REST = 2
"""Whole days from the end of the cure to paint."""
NEVER = 10**6


@dataclass(frozen=True)
class Pattern:
    """Which visits took place: the share that was missed, drawn by chance, and whether extras are advised at all."""

    missed: float = 0.0
    extras: bool = True
    whole: bool = False
    """Whether an hour in which the coat dries out does not count at all; else for the part before."""


class Record:
    """Recorded hours as the rules of a cure ask them."""

    def __init__(self, hours: Hours) -> None:
        self.hours = hours
        local = hours.local
        self.clock, self.day = local % 24, local // 24
        air = np.nan_to_num(hours.temperature, nan=-99.0)
        self.fit, self.warm = air > TOO_COLD, air >= WARM

    def closings(self) -> Numbers:
        """Return the hour at 15 h of each local day."""
        return np.flatnonzero(self.clock == CLOSED).astype(np.int64)

    @property
    def month(self) -> Numbers:
        """Month of each hour."""
        return np.asarray(rules.months_of(self.day))


def cures(record: Record, demand: Array, closed: Numbers, pattern: Pattern) -> Array:
    """Return how many hours after each closing the cure of a face is full; NaN where the record ends first."""
    demand = np.nan_to_num(demand)
    asks = rules.total(demand, 0, 24) >= EXTRA
    hot = np.concatenate([np.zeros(NOON - MORNING, dtype=bool), asks[: MORNING - NOON]])
    drawn = np.random.default_rng(6).random((closed.size, 400))
    sums, left = np.zeros(closed.size), np.full(closed.size, HOURS)
    planned = np.zeros(closed.size, dtype=np.int64)
    took = np.full(closed.size, np.nan)
    running, began = np.arange(closed.size), record.day[closed]
    for step in range(LONGEST):
        running = running[closed[running] + step < demand.size]
        if not running.size:
            break
        at = closed[running] + step
        clock, age = record.clock[at], record.day[at] - began[running]
        due = (clock == MORNING) | ((clock == EVENING) & (age <= TWICE_TO))
        due |= (clock == NOON) & hot[at] & (age >= 1) & pattern.extras
        due &= record.fit[at] & (step >= FIRST)
        visited = due & (drawn[running, planned[running] % drawn.shape[1]] >= pattern.missed)
        planned[running] += due
        now, takes = np.where(visited, 0.0, sums[running]), demand[at]
        with np.errstate(divide="ignore", invalid="ignore"):
            damp = np.where(takes > 0.0, np.clip((LIMIT - now) / takes, 0.0, 1.0), now < LIMIT)
        damp = np.floor(damp) if pattern.whole else damp
        sums[running] = now + takes
        counted = np.where(record.warm[at], damp, 0.0)
        full = counted >= left[running] - 1e-9
        took[running[full]] = step + left[running[full]]
        left[running] -= counted
        running = running[~full]
    return took


def visits(record: Record, closed: int, last: int) -> Numbers:
    """Return the hours of all planned visits of a coat, without extras, to before the hour ``last``."""
    at = np.arange(closed + FIRST, last)
    due = record.clock[at] == MORNING
    due |= (record.clock[at] == EVENING) & (record.day[at] - record.day[closed] <= TWICE_TO)
    return np.asarray(at[due & record.fit[at]])


class Faces:
    """Whole faces from the day the panel is ready to the second coat of paint: N, E, S, W; days of the record."""

    def __init__(self, hours: Hours) -> None:
        self.record, self.hours = Record(hours), hours
        self.climate = hours.climate()
        self.first = int(self.record.day[0])
        self.count = int(self.record.day[-1]) - self.first + 1

    @cached_property
    def windows(self) -> tuple[Flags, Flags, Flags]:
        """Whether base, finish and paint may be begun on each day, face by face.

        The finish takes the worst rain of the wind as told and 45° to either side.
        """
        t = np.nan_to_num(self.hours.temperature, nan=99.0)
        rain, worst = self.climate.rain[:4], self.climate.worst_rain[:4]
        base = rules.warm_and_rising(t, 5.0) & rules.dry(rain, 24) & rules.no_frost(t, 3)
        finish = rules.warm_and_rising(t, 8.0) & rules.dry(worst, 24) & rules.no_frost(t, 7)
        paint = rules.throughout((t >= 8.0) & (t <= 30.0) & (self.hours.humidity <= 85.0)) & rules.no_frost(t, 1)
        paint = paint & rules.dry_before(rain, 48) & rules.dry(rain, 48)
        return self._days(base, 7), self._days(finish, 7), self._days(paint, 8)

    def _days(self, good: Flags, first: int) -> Flags:
        starts = (self.record.clock >= first) & (self.record.clock <= 18 - rules.HOURS)
        return np.array([np.bincount(self.record.day - self.first, g & starts, self.count) > 0 for g in good])

    @cached_property
    def closings(self) -> Numbers:
        """Hour at 15 h of each day."""
        found = np.zeros(self.count, dtype=np.int64)
        at = self.record.closings()
        found[self.record.day[at] - self.first] = at
        return found

    @cached_property
    def cured(self) -> Array:
        """Days from a finish of each day to the first whole one after its cure, with all visits; face x day."""
        hours = [cures(self.record, self.climate.demand[k], self.closings, Pattern()) for k in range(4)]
        return np.ceil((CLOSED + np.array(hours)) / 24.0)

    def through(self, face: int, starts: Numbers) -> tuple[Numbers, Numbers]:
        """Return the days of finish and second coat of paint; ``NEVER`` where the record ends first."""
        base_days, finish_days, paint_days = (one[face] for one in self.windows)
        warm = np.concatenate([[0], np.cumsum(self.record.warm)])
        base = _next(base_days, starts)
        due = warm[self.closings[np.minimum(base, self.count - 1)]] + 24 * BASE_DAYS
        at = np.searchsorted(warm, due)
        day = np.append(self.record.day - self.first + 1, NEVER)
        finish = _next(finish_days, np.where(base < NEVER, day[np.minimum(at, day.size - 1)], NEVER))
        cure = self.cured[face][np.minimum(finish, self.count - 1)]
        free = np.where((finish < NEVER) & np.isfinite(cure), finish + np.nan_to_num(cure) + REST, NEVER)
        return finish, _next(paint_days, _next(paint_days, free.astype(np.int64)) + 1)


def _next(good: Flags, since: Numbers) -> Numbers:
    """Return the first good day that is not before each of these."""
    days = np.append(np.flatnonzero(good), NEVER)
    return days[np.minimum(np.searchsorted(days, since), days.size - 1)]
