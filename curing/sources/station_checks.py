"""What a station's years can be judged by: the sun, a leap day, and how warm this earth is."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime

import numpy as np

from curing.model.weather import Series
from curing.physics.solar import direction
from curing.sources.forecasts.document import Spot

H = 3600
DARK = float(np.sin(np.radians(-1.0)))
"""Sine of the sun's height under which it is night: its whole disc is under the horizon, and its refraction (0.57°,
NOAA) with it."""
BRIGHT = 20.0
"""[W/m2] More is no night."""
FEW_BRIGHT = 0.002
MANY_BRIGHT = 0.02
"""Share of the night hours that are bright: from the first on another zone is looked for (an hour's shift makes 0.5 %
at 52° N, counted on measured years; the right zone none), from the second on it can't be lamps or a lagging sensor."""
TROPIC = 23.5
"""[°] Nearer to the equator winter and summer are no matter of months."""
MUCH_WARMER = 2.0
"""[K] So much warmer in what should be winter is no odd year (assumption)."""
MONTH_OF_HOURS = 700
WARMEST_YEAR = 36.0
"""[°C] Mean of no place on earth is higher: Dallol, Ethiopia, 34.4 to 34.6 °C; from memory, unverified."""
WARMEST_MONTH = 43.0
"""[°C] Mean of no 30 days on earth is higher: Death Valley, July 2024, 42.5 °C; from memory, unverified."""
THIRTY_DAYS = 30 * 24
WINDIEST_YEAR = 12.0
"""[m/s] Mean of few inhabited places is higher; from memory, unverified."""


def wrong_zone(radiation: Series, first: int, spot: Spot) -> str:
    """Return what is wrong with the zone of measured radiation, by the sun at its place; nothing where it fits.

    Parameters
    ----------
    radiation
        [W/m2] By hours.
    first
        Start of the first hour [h since 1970].
    spot
        The place.
    """
    told = np.isfinite(radiation)
    if not told.any():
        return ""
    hours = first + np.arange(len(radiation), dtype=np.float64)
    heights = np.stack([_height((hours + part) * H, spot) for part in (0.0, 0.25, 0.5, 0.75, 1.0)])
    night = heights.max(axis=0) < DARK
    bright, nights = int((told & night & (radiation > BRIGHT)).sum()), int((told & night).sum())
    if bright <= max(6, FEW_BRIGHT * nights):
        return ""
    up = np.clip(heights, 0.0, None).mean(axis=0)
    shift, winter, summer = (_shift(radiation, up, months, hours) for months in _seasons(spot))
    text = f"radiation of more than {BRIGHT:g} W/m2 at night in {bright:,} hours"
    if winter is not None and summer is not None and abs(winter - summer) == 1:
        return f"{text}: the times follow summer time; save the table in UTC, or all the year in the winter's zone"
    if shift:
        way = f"{abs(shift)} h {'later' if shift > 0 else 'earlier'}"
        return f"{text}: the times fit the sun of this place if they are {way}; check zone and marks (start or end)"
    if bright <= MANY_BRIGHT * nights:
        return ""
    return f"{text}: the times fit no zone of this place; check latitude and longitude, and the column"


def wrong_half(temperature: Series, first: int, spot: Spot) -> str:
    """Return that a station is warm when its place has winter: it lies on the other half of the globe, or nothing.

    Parameters
    ----------
    temperature
        [°C] By hours.
    first
        Start of the first hour [h since 1970].
    spot
        The place; between the tropics nothing is told.
    """
    if abs(spot.latitude) < TROPIC:
        return ""
    hours = first + np.arange(len(temperature), dtype=np.int64)
    month = (hours * H).astype("datetime64[s]").astype("datetime64[M]").astype(int) % 12 + 1
    means = []
    for months in ((12, 1, 2), (6, 7, 8)):
        told = temperature[np.isin(month, months) & np.isfinite(temperature)]
        if told.size < MONTH_OF_HOURS:
            return ""
        means.append(float(told.mean()))
    january, july = means
    warmer = january - july if spot.latitude > 0 else july - january
    if warmer < MUCH_WARMER:
        return ""
    half, other = ("north", "south") if spot.latitude > 0 else ("south", "north")
    return (
        f"temperature: {january:.1f} °C from December to February and {july:.1f} °C from June to August, as {other} of "
        f"the equator, but latitude {spot.latitude:g} lies {half} of it; check its sign, and the station"
    )


def _height(seconds: Series, spot: Spot) -> Series:
    _, _, up = direction(seconds, spot.latitude, spot.longitude)
    return up


def _seasons(spot: Spot) -> tuple[tuple[int, ...], tuple[int, ...], tuple[int, ...]]:
    north, south = (1, 2, 12), (6, 7)
    return tuple(range(1, 13)), *((north, south) if spot.latitude >= 0 else (south, north))


def _shift(radiation: Series, up: Series, months: tuple[int, ...], hours: Series) -> int | None:
    """Return by how many hours the times must be put later to fit the sun best; None for too few days."""
    month = (hours * H).astype("datetime64[s]").astype("datetime64[M]").astype(int) % 12 + 1
    use = np.isfinite(radiation) & np.isin(month, months)
    if int(use.sum()) < 10 * 24:
        return None
    light = np.where(use, radiation, 0.0)
    fits = {}
    for shift in range(-14, 15):
        sun = np.roll(up, -shift)  # the sun of the hour that is meant
        fits[shift] = float((light * sun).sum() / np.sqrt((np.where(use, sun, 0.0) ** 2).sum() or 1.0))
    return max(fits, key=lambda shift: (fits[shift], -abs(shift)))


def leap_days(whole: dict[str, Series], hours: np.ndarray, first: int, count: int) -> list[str]:
    """Fill each 29 February where no year has one: its first half from the 28th, its second from 1 March.

    Changes the series; returns what is to be told. A leap day that is lacking while another year has it stays
    a gap.
    """
    present = np.zeros(count, dtype=bool)
    present[hours - first] = True
    start = datetime.fromtimestamp(first * H, UTC).year
    end = datetime.fromtimestamp((first + count) * H, UTC).year
    days = []
    for year in range(start, end + 1):
        if year % 4 or (year % 100 == 0 and year % 400):
            continue
        at = int(datetime(year, 2, 29, tzinfo=UTC).timestamp()) // H - first
        if 24 <= at <= count - 48:
            days.append((year, at))
    if not days or any(present[at + 2 : at + 22].any() for _, at in days):
        return []
    filled = []
    for year, at in days:
        # The hours that lack may begin or end an hour or more off, where the table is in another zone than UTC.
        low, high = at, at + 24
        while low > at - 14 and not present[low - 1]:
            low -= 1
        while low < high and present[low]:
            low += 1
        while high < at + 38 and not present[high]:
            high += 1
        while high > low and present[high - 1]:
            high -= 1
        if high - low != 24:
            continue
        for values in whole.values():
            values[low : low + 12] = values[low - 24 : low - 12]
            values[low + 12 : high] = values[high + 12 : high + 24]
        filled.append(str(year))
    if not filled:
        return []
    return [
        f"29 February stands in no year: in {', '.join(filled)} it was filled from 28 February (to noon) and 1 March."
    ]


def odd_means(whole: Mapping[str, Series]) -> tuple[list[str], list[str]]:
    """Return what can't be, by the mean of all hours, and what is only odd."""
    faults, odd = [], []

    def mean(name: str) -> float:
        values = whole.get(name, np.array([]))
        return float(np.nanmean(values)) if np.isfinite(values).any() else float("nan")

    warm, month = mean("temperature"), _warmest_month(whole["temperature"])
    if len(whole["temperature"]) >= 8000 and warm > WARMEST_YEAR:
        faults.append(
            f"temperature: its mean is {warm:.1f} °C, and no place on earth has more than {WARMEST_YEAR:g}; in °F it "
            f"would be {(warm - 32) / 1.8:.1f} °C; give the right unit"
        )
    elif month > WARMEST_MONTH:
        faults.append(
            f"temperature: 30 days have a mean of {month:.1f} °C, and no place on earth had more than "
            f"{WARMEST_MONTH:g}; in °F it would be {(month - 32) / 1.8:.1f} °C; give the right unit"
        )
    damp = whole.get("humidity", np.array([]))
    if np.isfinite(damp).sum() > 24 and np.nanmax(damp) <= 1.0:
        faults.append('humidity: none is more than 1 %; it is a share: give its unit as "1"')
    if mean("wind") > WINDIEST_YEAR:
        odd.append(f"Wind blows at {mean('wind'):.1f} m/s in the mean: check that its unit is not km/h.")
    return faults, odd


def _warmest_month(temperature: Series) -> float:
    """Return the highest mean of 30 days in a row of which most hours are told [°C]; -inf where there are none."""
    days = temperature[: temperature.size // THIRTY_DAYS * THIRTY_DAYS].reshape(-1, THIRTY_DAYS)
    told = np.isfinite(days).sum(axis=1)
    days = days[told > THIRTY_DAYS // 2]
    return float(np.nanmean(days, axis=1).max()) if days.size else -np.inf
