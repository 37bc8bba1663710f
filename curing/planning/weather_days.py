"""The weather of the next days at each face and site, day by day, beside what is ordinary there."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from curing.model.weather import HOUR, Series, Weather
from curing.model.weather_days import Driver, FaceDay, FaceSeries, RainSpan, SiteDay
from curing.physics.psychrometrics import deficit
from curing.planning.weather_limits import Margin
from curing.planning.weather_ordinary import Ordinary
from curing.planning.weather_site import FaceHours
from curing.planning.worktime import instant

DAYS = 3
"""Days that are told: further ahead no task moves by itself."""
IN_SUN = 60.0
"""[W/m2] Direct sun on a face, mean of the hour, from which it stands in the sun (assumption; half the 120 W/m2
square to the beam by which sunshine is counted, WMO-No. 8, part I, chapter 8)."""
WET = 0.05
"""[L/m2] Less rain on a face in an hour than this is none; what services tell ends at 0.1 mm (assumption)."""
OVER = 1.1
"""What is over its ordinary by less than a tenth is no reason (assumption)."""
MOST_GAP = 3
"""Hours of a day that may be unknown (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Span:
    """The hours of a local day that are told: numbers of a series, half-open."""

    day: date
    first: int
    last: int
    whole: bool


def spans(weather: Weather | FaceHours, zone: ZoneInfo, now: datetime, days: int = DAYS) -> Iterator[Span]:
    """Yield today and the days after it; of today only what is to come, where what is over is not known."""
    today = now.astimezone(zone).date()
    for number in range(days):
        day = today + timedelta(days=number)
        first = weather.index(instant(zone, day, 0))
        last = -((weather.start - instant(zone, day + timedelta(days=1), 0)) // HOUR)
        here = weather.temperature[max(first, 0) : max(min(last, len(weather)), 0)]
        hour = weather.index(now)
        over = weather.temperature[max(first, 0) : max(hour, 0)]
        if number == 0 and (first < 0 or len(over) < hour - first or np.isnan(over).sum() > MOST_GAP):
            yield Span(day, max(hour, 0), last, whole=False)
        else:
            yield Span(day, first, last, whole=len(here) == last - first)


def face_days(
    hours: FaceHours, zone: ZoneInfo, now: datetime, usual: Mapping[tuple[str, int], Ordinary]
) -> tuple[FaceDay, ...]:
    """Return the next days of a face.

    Parameters
    ----------
    hours
        What the face goes through.
    zone
        Of its site.
    now
        The present instant.
    usual
        (face, month) → what is ordinary, from :func:`curing.planning.weather_ordinary.ordinary`; may be empty.
    """
    return tuple(_face_day(hours, one, usual.get((hours.face, one.day.month))) for one in spans(hours, zone, now))


def _face_day(hours: FaceHours, span: Span, usual: Ordinary | None) -> FaceDay:
    takes = _sum(hours.part(hours.demand, span.first, span.last))
    direct = hours.part(hours.direct, span.first, span.last)
    sun = _sum(np.where(np.isnan(direct), np.nan, np.where(direct >= IN_SUN, 1.0, 0.0)))
    told = hours.part(hours.rain_told, span.first, span.last)
    compared = usual if span.whole and takes is not None else None
    return FaceDay(
        day=span.day,
        start=hours.at(span.first),
        end=hours.at(span.last),
        whole=span.whole,
        sun=sun,
        takes=takes,
        ordinary=compared.takes if compared is not None else None,
        why=tuple(_drivers(hours, span, compared)) if compared is not None and (takes or 0) > compared.takes else (),
        rain=_rain(hours, span, told) if hours.outside else None,
        rain_unknown=hours.outside and int(np.isnan(told).sum()) > MOST_GAP,
    )


def _sum(values: Series) -> float | None:
    """Sum of a day, its few gaps taken as the mean of the rest; None with more gaps than that."""
    gaps = int(np.isnan(values).sum())
    if gaps > MOST_GAP or gaps == len(values):
        return None
    return float(np.nanmean(values) * len(values)) if gaps else float(values.sum())


def _drivers(hours: FaceHours, span: Span, usual: Ordinary) -> Iterator[Driver]:
    """Yield what is well over its own ordinary, the furthest over first."""
    lack = deficit(hours.temperature, hours.humidity)
    pairs = (
        (Driver.SUN, _mean(hours.part(hours.sun, span.first, span.last)) * 24.0, usual.sun),
        (Driver.WIND, _mean(hours.part(hours.wind, span.first, span.last)), usual.wind),
        (Driver.DRY, _mean(hours.part(lack, span.first, span.last)), usual.deficit),
    )
    over = [(value / mid, driver) for driver, value, mid in pairs if mid > 0 and value > OVER * mid]
    yield from (driver for _, driver in sorted(over, key=lambda one: -one[0]))


def _mean(values: Series) -> float:
    return float(np.nanmean(values)) if not np.isnan(values).all() else np.nan


def _rain(hours: FaceHours, span: Span, told: Series) -> RainSpan | None:
    could = hours.part(hours.rain, span.first, span.last)
    wet = np.flatnonzero(np.nan_to_num(told) >= WET)
    if not wet.size:
        wet = np.flatnonzero(np.nan_to_num(could) >= WET)
        if not wet.size:
            return None
    start, end = hours.at(span.first + int(wet[0])), hours.at(span.first + int(wet[-1]) + 1)
    amount, most = float(np.nansum(told)), float(np.nansum(could))
    return RainSpan(start, end, amount, max(most, amount))


def site_days(
    weather: Weather, told: datetime | None, zone: ZoneInfo, now: datetime, margin: Margin, frost: float
) -> tuple[SiteDay, ...]:
    """Return the next days of a site.

    Parameters
    ----------
    weather
        Its hours.
    told
        When the forecast was made: how far ahead an hour lies.
    margin, frost
        How far a forecast of the lowest temperature may be off, and what is frost [°C].
    """
    off = margins(weather, told, now, margin)
    found = []
    for span in spans(weather, zone, now):
        low, high = max(span.first, 0), max(min(span.last, len(weather)), 0)
        air = weather.temperature[low:high]
        if air.size == 0 or np.isnan(air).all():
            found.append(SiteDay(span.day, frost=frost))
            continue
        at = int(np.nanargmin(air))
        could = air - off[low:high]
        rain, wind = weather.rain[low:high], weather.wind[low:high]
        found.append(
            SiteDay(
                day=span.day,
                coldest=float(air[at]),
                at=weather.start + (low + at) * HOUR,
                could=float(np.nanmin(could)),
                frost=frost,
                warmest=float(np.nanmax(air)),
                rain=None if np.isnan(rain).sum() > MOST_GAP else float(np.nansum(rain)),
                wind=None if np.isnan(wind).all() else float(np.nanmax(wind)),
            )
        )
    return tuple(found)


def margins(weather: Weather | FaceHours, told: datetime | None, now: datetime, margin: Margin) -> NDArray[np.float64]:
    """Return by how much each hour's temperature may be off [K]; none for hours that are over."""
    ahead = np.arange(len(weather), dtype=np.float64) - weather.index(told or now)
    off = margin.ahead(ahead)
    off[: max(weather.index(now), 0)] = 0.0
    return off


def face_series(hours: FaceHours, told: datetime | None, now: datetime, margin: Margin, length: int = 72) -> FaceSeries:
    """Return the hours of a face from this one on, for a chart."""
    first = hours.index(now)
    last = first + length
    off = margins(hours, told, now, margin)

    def part(values: Series) -> Series:
        return hours.part(values, first, last)

    return FaceSeries(
        hours.at(first),
        part(hours.direct),
        part(hours.demand),
        part(hours.rain_told),
        part(hours.temperature),
        part(off),
    )
