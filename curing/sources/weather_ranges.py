"""Values that weather on this earth does not take: left out one by one, and refused where they are many."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np

from curing.model.weather import VARIABLES, Series

DAMP_MOST = 105.0
"""[%] Sensors show a little over 100 in fog; up to here it is taken for 100 (common practice, no source)."""
DARK_LEAST = -20.0
"""[W/m2] A pyranometer shows a little below 0 at night (its thermal offset); down to here it is taken for 0."""
TRACE_LEAST = -0.1
"""[mm] Too little to be measured is written as a negative amount by some services; it is taken for 0."""
MOST_SHARE = {"forecast": 0.5, "station": 0.005}
"""Share of the values of a variable beyond which it is not spikes, but the unit, that is wrong."""

LIMITS: Mapping[str, tuple[str, float, float]] = {**VARIABLES, "dew_point": VARIABLES["temperature"]}
"""As ``VARIABLES``, with the dew point from which humidity may be worked out."""


def within(
    series: Mapping[str, Series], where: Callable[[int], str], *, most: float = MOST_SHARE["forecast"], spikes: int = 0
) -> tuple[dict[str, Series], list[str], list[str]]:
    """Return the series without impossible values, what was done about them, and what can't be mended.

    Parameters
    ----------
    series
        By variable.
    where
        Names the place of a value by its number.
    most
        Share of a variable's values that may be out of range.
    spikes
        How many may be, however few there are.

    Examples
    --------
    >>> found, notes, faults = within({"temperature": np.array([11.0, 99.9, 12.0])}, lambda row: f"row {row + 1}")
    >>> found["temperature"].tolist(), notes[0]
    ([11.0, nan, 12.0], 'Temperature: 1 value outside -60 to 60 °C is left out (99.9 °C, row 2).')
    """
    found: dict[str, Series] = {}
    notes, faults = [], []
    for name, values in series.items():
        unit, low, high = LIMITS[name]
        values = _nearly(name, values)
        told = np.isfinite(values)
        wrong = np.isinf(values) | (told & ((values < low) | (values > high)))
        count, first = int(wrong.sum()), int(np.argmax(wrong))
        if count:
            value = f"{values[first]:.5g} {unit}".removesuffix(" 1")
            limits = f"{low:g} to {high:g} {unit}".removesuffix(" 1")
            if count > max(most * int((told | wrong).sum()), spikes):
                whole = int((told | wrong).sum())
                text = f"{count:,} of {whole:,} values are outside {limits} (the first {value}, {where(first)})"
                faults.append(f"{name}: {text}; {_likely(name, values[told])}")
            else:
                are = "value outside {} is" if count == 1 else "values outside {} are"
                notes.append(
                    f"{name.capitalize().replace('_', ' ')}: {count:,} {are.format(limits)} left out "
                    f"({value}, {where(first)})."
                )
            values = np.where(wrong, np.nan, values)
        found[name] = values
    return found, notes, faults


def _nearly(name: str, values: Series) -> Series:
    """Return values with those that instruments show a little beyond the limit put onto it."""
    if name == "humidity":
        return np.where((values > 100.0) & (values <= DAMP_MOST), 100.0, values)
    if name == "radiation":
        return np.where((values < 0.0) & (values >= DARK_LEAST), 0.0, values)
    if name == "rain":
        return np.where((values < 0.0) & (values >= TRACE_LEAST), 0.0, values)
    return values


def _likely(name: str, values: Series) -> str:
    """Return which unit would fit values that are out of range, and what to do."""
    middle = float(np.median(values)) if len(values) else 0.0
    if name in ("temperature", "dew_point") and 200.0 < middle < 340.0:
        return "they look like kelvin; give unit K"
    if name in ("temperature", "dew_point") and middle > 0:
        low, high = ((float(q) - 32.0) / 1.8 for q in np.percentile(values, [1, 99]))
        return f"in °F they would be {low:.0f} to {high:.0f} °C; give the right unit"
    return "check its unit"
