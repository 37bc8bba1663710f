"""From what a service told, value by value, to hours.

A value told for an instant stands for the hour that begins with it. Between instants up to six hours apart the
hours are drawn as a straight line; what was told for a longer span is shared out evenly. A null stays a gap.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, datetime
from itertools import pairwise
from typing import Any

import numpy as np

from curing.errors import Place, Problem, WeatherError
from curing.model.quantities import clip
from curing.model.weather import VARIABLES, Series, Weather, of
from curing.physics.psychrometrics import vapour_pressure
from curing.sources.forecasts.document import number, unusable
from curing.sources.forecasts.units import Change, change, known
from curing.sources.weather_ranges import LIMITS, within

H = 3600.0
MOST_HOURS = 24 * 120
"""Longest forecast that is taken [h]; with past days the services give 108 days at most (their documentation)."""
LONGEST_STEP = 6 * H
"""Between instants further apart there is a gap [s]."""
MOST_TOLD = 20


class Told:
    """What a service told, gathered before it is laid out in hours.

    Parameters
    ----------
    name
        Of the document, for messages.
    """

    def __init__(self, name: str) -> None:
        self.name = name
        self.notes: list[str] = []
        self._problems: dict[str, None] = {}
        self._instants: dict[str, list[tuple[float, float]]] = defaultdict(list)
        self._holding: dict[str, list[tuple[float, float, float]]] = defaultdict(list)
        self._sums: dict[str, list[tuple[float, float, float]]] = defaultdict(list)
        self._means: dict[str, list[tuple[float, float, float]]] = defaultdict(list)

    def fault(self, text: str) -> None:
        """Remember what is wrong; all of it is told together."""
        self._problems[text] = None

    def unit(self, variable: str, named: str, unit: Any) -> Change | None:
        """Return how values of a unit become ours; a unit that is not known is a fault."""
        found = change(variable, unit)
        if found is None:
            said = f'"{clip(unit)}"' if isinstance(unit, str) else "none"
            self.fault(f"{named}: its unit is {said}; known are {known(variable)}; nothing of it is guessed")
        return found

    def instant(self, variable: str, at: datetime, value: Any, by: Change) -> None:
        """Take the value of an instant."""
        self._instants[variable].append((at.timestamp(), self._value(variable, at, value, by)))

    def holding(self, variable: str, start: datetime, end: datetime, value: Any, by: Change) -> None:
        """Take a value that holds from start to end."""
        self._holding[variable].append((start.timestamp(), end.timestamp(), self._value(variable, start, value, by)))

    def sum(self, variable: str, start: datetime, end: datetime, value: Any, by: Change) -> None:
        """Take the sum of what came down from start to end."""
        self._sums[variable].append((start.timestamp(), end.timestamp(), self._value(variable, start, value, by)))

    def mean(self, variable: str, start: datetime, end: datetime, value: Any, by: Change) -> None:
        """Take the mean from start to end."""
        self._means[variable].append((start.timestamp(), end.timestamp(), self._value(variable, start, value, by)))

    def _value(self, variable: str, at: datetime, value: Any, by: Change) -> float:
        if value is None:
            return np.nan
        plain = number(value)
        if plain is None:
            shown = f'"{clip(value)}"' if isinstance(value, str) else clip(str(value))
            self.fault(f"{variable} of {at:%Y-%m-%d %H:%M} UTC: {shown} is no number")
            return np.nan
        return plain * by.factor + by.offset

    def weather(
        self,
        source: str,
        attribution: str,
        *,
        issued: datetime | None,
        fetched: datetime | None,
        notes: Iterable[str] = (),
    ) -> Weather:
        """Return it as hourly weather.

        Raises
        ------
        WeatherError
            All that is wrong with it; it has no temperature at all, or spans more than 120 days.
        """
        if self._problems:
            texts = list(self._problems)
            more = [f"and {len(texts) - MOST_TOLD} more"] if len(texts) > MOST_TOLD else []
            raise WeatherError(Problem(Place(self.name), text) for text in texts[:MOST_TOLD] + more)
        first, hours = self._span()
        series: dict[str, Series] = {}
        with np.errstate(all="ignore"):  # numbers beyond all sense are left out by their range
            for variable in {**self._instants, **self._holding, **self._sums, **self._means}:
                series[variable] = self._laid_out(variable, first, hours)
        found, said, faults = within(series, lambda hour: f"{_at(first + hour * H)}")
        if faults:
            raise WeatherError(Problem(Place(self.name), text) for text in faults)
        if not np.isfinite(found.get("temperature", np.array([]))).any():
            raise unusable(self.name, "it has no temperature for this place; the service may not cover it")
        estimated = _humidity(found)
        self._tell_gaps(found, first)
        start = datetime.fromtimestamp(first, UTC)
        weather = of({name: found[name] for name in VARIABLES if name in found}, start, hours, source)
        return replace(
            weather,
            attribution=attribution,
            issued=issued,
            fetched=fetched,
            estimated=frozenset(estimated),
            notes=(*notes, *self.notes, *said),
        )

    def _span(self) -> tuple[float, int]:
        """Return the first hour [s] and how many there are."""
        spans = [row for told in (self._holding, self._sums, self._means) for rows in told.values() for row in rows]
        moments = [at for rows in self._instants.values() for at, _ in rows]
        starts = moments + [start for start, _, _ in spans]
        ends = [at // H * H + H for at in moments] + [-(-end // H) * H for _, end, _ in spans]
        if not starts:
            raise unusable(self.name, "it has no hours; the service may not cover this place")
        first = min(starts) // H * H
        last = max(ends)
        hours = int((last - first) // H)
        if hours > MOST_HOURS:
            what = f"it goes from {_at(first)} to {_at(last)}; a forecast has at most {MOST_HOURS // 24} days"
            raise unusable(self.name, f"{what}; give measured years by --station")
        return first, hours

    def _laid_out(self, variable: str, first: float, hours: int) -> Series:
        if variable in self._instants:
            return np.round(self._from_instants(variable, first, hours), 4)
        if variable in self._holding:
            return np.round(self._from_holding(variable, first, hours), 4)
        rows = self._without_doubles(variable, (self._sums if variable in self._sums else self._means)[variable])
        return np.round(self._shared(variable, rows, first, hours, mean=variable in self._means), 4)

    def _from_instants(self, variable: str, first: float, hours: int) -> Series:
        rows = self._instants[variable]
        if any(later[0] < sooner[0] for sooner, later in pairwise(rows)):
            self._note("The times stood in disorder; they were sorted.")
        at, values = _sorted_once(rows)
        if len(at) < len(rows):
            self._note_doubles(variable, int(np.isnan(values).sum() - sum(np.isnan(value) for _, value in rows)) > 0)
        grid = first + H * np.arange(hours)
        _, low, high = LIMITS[variable]
        sane = np.where((values >= low) & (values <= high), values, np.nan)
        found = np.interp(grid, at, _turned(sane) if variable == "direction" else sane)
        behind = np.clip(np.searchsorted(at, grid, side="right") - 1, 0, len(at) - 1)
        ahead = np.clip(behind + 1, 0, len(at) - 1)
        exact = at[behind] == grid
        bridged = ~exact & (at[ahead] > grid) & (at[behind] < grid) & (at[ahead] - at[behind] <= LONGEST_STEP)
        found = np.where(exact, values[behind], np.where(bridged, found, np.nan))
        drawn = bridged & np.isfinite(found)
        if drawn.any():
            self._note(
                f"From {_at(grid[drawn][0])} on some hours are not told: they are drawn as straight lines between "
                "those that are (up to 6 hours apart), and are less sure."
            )
        return np.where(exact, found, np.mod(found, 360.0)) if variable == "direction" else found

    def _from_holding(self, variable: str, first: float, hours: int) -> Series:
        found, filled = np.full(hours, np.nan), np.zeros(hours, dtype=bool)
        clash = np.zeros(hours, dtype=bool)
        for start, end, value in self._without_doubles(variable, self._holding[variable]):
            these = slice(int(-(-(start - first) // H)), int(-(-(end - first) // H)))
            clash[these] |= filled[these] & (found[these] != value)
            found[these], filled[these] = value, True
        return self._unclear(variable, found, clash, first)

    def _shared(self, variable: str, rows: list[tuple[float, float, float]], first: float, hours: int,
                *, mean: bool) -> Series:  # fmt: skip
        """Return spans as hours: a sum shared evenly over its time, a mean by the time it covers."""
        found, covered = np.zeros(hours), np.zeros(hours)
        shared = False
        for start, end, value in rows:
            low, high = int((start - first) // H), int(-(-(end - first) // H))
            edges = first + H * np.arange(low, high + 1)
            overlap = (np.minimum(edges[1:], end) - np.maximum(edges[:-1], start)) / H
            found[low:high] += value * (overlap if mean else overlap * H / (end - start))
            covered[low:high] += overlap
            shared = shared or (end - start > H and bool(value > 0))
        if shared:
            self._note(f"{variable.capitalize()} told for several hours at once is shared out evenly over them.")
        found[covered < 0.999] = np.nan
        return self._unclear(variable, found, covered > 1.001, first)

    def _without_doubles(
        self, variable: str, rows: list[tuple[float, float, float]]
    ) -> list[tuple[float, float, float]]:
        once = list({(start, end, repr(value)): (start, end, value) for start, end, value in rows}.values())
        if len(once) < len(rows):
            self._note_doubles(variable, False)
        if any(later[0] < sooner[0] for sooner, later in pairwise(once)):
            self._note("The times stood in disorder; they were sorted.")
        return sorted(once, key=lambda row: row[:2])

    def _unclear(self, variable: str, found: Series, clash: Any, first: float) -> Series:
        if clash.any():
            when = _at(first + H * int(np.argmax(clash)))
            count = _hours(int(clash.sum()))
            self._note(
                f"{variable.capitalize()} is told twice for {count}, from {when}, and not alike: neither is taken."
            )
            found[clash] = np.nan
        return found

    def _note_doubles(self, variable: str, differ: bool) -> None:
        self._note(
            f"Some times stand twice for {variable} with different values: neither is taken."
            if differ
            else "Some times stand twice, alike: they are taken once."
        )

    def _note(self, text: str) -> None:
        if text not in self.notes:
            self.notes.append(text)

    def _tell_gaps(self, found: dict[str, Series], first: float) -> None:
        none = [name for name in VARIABLES if not np.isfinite(found.get(name, np.array([]))).any()]
        if none:
            self._note(f"Not told: {', '.join(none)}.")
        air = np.isfinite(found["temperature"])
        inside = np.flatnonzero(air)
        holes = int((~air[inside[0] : inside[-1] + 1]).sum())
        if holes:
            at = inside[0] + int(np.argmin(air[inside[0] :]))
            self._note(f"Temperature is not told for {_hours(holes)} in between, the first at {_at(first + at * H)}.")


def _humidity(found: dict[str, Series]) -> set[str]:
    """Work the humidity out from the dew point where none at all is told."""
    dew = found.pop("dew_point", None)
    if dew is None or np.isfinite(found.get("humidity", np.array([]))).any():
        return set()
    found["humidity"] = humidity_at(found["temperature"], dew)
    return {"humidity"} if np.isfinite(found["humidity"]).any() else set()


def humidity_at(temperature: Series, dew_point: Series) -> Series:
    """Return the relative humidity [%] over water of air at a temperature [°C] with a dew point [°C].

    Examples
    --------
    >>> humidity_at(np.array([20.0]), np.array([9.3])).round().tolist()
    [50.0]
    """
    share: Series = np.clip(100.0 * vapour_pressure(dew_point) / vapour_pressure(temperature), 0.0, 100.0)
    return np.round(share, 4)


def _sorted_once(rows: list[tuple[float, float]]) -> tuple[Series, Series]:
    """Return times and values, sorted, each time once: NaN where it stood twice and not alike."""
    by_time: dict[float, float] = {}
    for at, value in rows:
        by_time[at] = value if by_time.get(at, value) == value or (np.isnan(value) and at not in by_time) else np.nan
    order = sorted(by_time)
    return np.array(order), np.array([by_time[at] for at in order])


def _turned(values: Series) -> Series:
    """Return directions such that neighbours lie at most half a turn apart, so that lines go the short way."""
    known = np.isfinite(values)
    turned = values.copy()
    turned[known] = np.unwrap(values[known], period=360.0)
    return turned


def _hours(count: int) -> str:
    return f"{count} hour" if count == 1 else f"{count} hours"


def _at(seconds: float) -> str:
    return f"{datetime.fromtimestamp(seconds, UTC):%Y-%m-%d %H:%M} UTC"
