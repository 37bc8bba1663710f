"""What is ordinary at a face: the median of that face and month in the site's own measured years.

Only whole days count. A year of the station is none of this year: nothing here says what will be.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from curing.model.job import Face, Site
from curing.model.weather import HOUR, VARIABLES, Series, Weather
from curing.physics.psychrometrics import deficit
from curing.planning.weather_site import site_weather

LEAST_DAYS = 20
"""A month of fewer whole days has no ordinary day (common practice, no source)."""
DAY = 24


@dataclass(frozen=True, slots=True)
class Ordinary:
    """Medians of the days of a month.

    Parameters
    ----------
    takes
        What the air takes from the face kept wet [L/m2 a day].
    sun
        On the face, whole day [Wh/m2].
    wind
        Mean at 10 m [m/s].
    deficit
        Mean of the vapour pressure that the air lacks [Pa].
    years
        Years in which the month has whole days.
    """

    takes: float
    sun: float
    wind: float
    deficit: float
    years: int


def ordinary(
    site: Site, faces: Mapping[str, Face], years: Weather, months: Iterable[int]
) -> dict[tuple[str, int], Ordinary]:
    """Return (face id, month) → what is ordinary; a month with too few whole days is left out.

    Parameters
    ----------
    site, faces
        As for :func:`curing.planning.weather_site.site_weather`.
    years
        Measured hours of the site's own station; days are those of the sun, local solar time to the hour.
    months
        1 to 12; only their hours are worked out.
    """
    wanted = sorted(set(months))
    shift = round(site.longitude / 15.0)
    found: dict[tuple[str, int], list[NDArray[np.float64]]] = {}
    seen: dict[int, set[int]] = {month: set() for month in wanted}
    for part, year, month in _months(years, wanted, shift):
        lack = deficit(part.temperature, part.humidity)
        for face, hours in site_weather(site, faces, part).items():
            days = [_days(one) for one in (hours.demand, hours.sun, part.wind / DAY, lack / DAY)]
            table = np.stack(days)
            table = table[:, ~np.isnan(table[0])]
            if table.size:
                found.setdefault((face, month), []).append(table)
                seen[month].add(year)
    out = {}
    for (face, month), tables in found.items():
        whole = np.concatenate(tables, axis=1)
        if whole.shape[1] >= LEAST_DAYS:
            takes, sun, wind, lacks = (float(np.nanmedian(row)) if not np.isnan(row).all() else np.nan for row in whole)
            out[face, month] = Ordinary(takes, sun, wind, lacks, len(seen[month]))
    return out


def _days(values: Series) -> Series:
    """Sums of whole days; a day with a gap is none."""
    return np.asarray(values.reshape(-1, DAY).sum(axis=1))


def _months(years: Weather, months: Iterable[int], shift: int) -> Iterable[tuple[Weather, int, int]]:
    """Yield the parts of the years that are the wanted months: the hours, the year, the month."""
    first = years.start + timedelta(hours=shift)
    last = years.end + timedelta(hours=shift)
    for year in range(first.year, last.year + 1):
        for month in months:
            begin = datetime(year, month, 1, tzinfo=UTC)
            after = datetime(year + month // 12, month % 12 + 1, 1, tzinfo=UTC)
            low = max((begin - first) // HOUR, 0)
            low += -(first.hour + low) % DAY
            high = min((after - first) // HOUR, len(years))
            high -= (high - low) % DAY
            if high - low >= DAY:
                cut = {name: getattr(years, name)[low:high].copy() for name in VARIABLES}
                yield replace(years, start=years.start + low * HOUR, **cut), year, month
