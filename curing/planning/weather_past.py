"""Weather as it is known at one moment: hours past as they were told best, hours to come as the newest run has them.

Each hour past comes from the run that told it with the least lead; what a station measured wins over any forecast.
A forecast run has no more to say of an hour that is over than that; it is never taken for measured.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from curing.model.past_hours import PastHour
from curing.model.weather import HOUR, VARIABLES, Series, Weather, of

BACK = timedelta(days=3)
"""So far back an answer about the next days looks: paint asks for 48 dry hours before it."""


@dataclass(frozen=True, slots=True, eq=False)
class Known:
    """Hours of a place, past and to come, without a break.

    Parameters
    ----------
    weather
        The hours; ``source``, ``issued`` and ``fetched`` are those of the newest run.
    lead
        [h] From when an hour was forecast to that hour; 0: told in it or afterwards; NaN: nobody told it.
    measured
        Which hours a station measured.
    """

    weather: Weather
    lead: Series
    measured: NDArray[np.bool_]


def made(run: Weather) -> datetime | None:
    """Return when a run was made; where it does not say, when it came here; else None."""
    return run.issued or run.fetched


def hours_past(runs: Iterable[Weather], until: datetime) -> list[PastHour]:
    """Return the hours that are over, each from the run that told it with the least lead.

    Parameters
    ----------
    runs
        Runs of one place, in any order; one that does not say when it was made tells no hour past.
    until
        Hours that end later are none of the past.

    Examples
    --------
    Two runs tell of 09:00: that of 08:00 counts.

    >>> day = datetime(2027, 5, 3, tzinfo=UTC)
    >>> def run(at, celsius):
    ...     one = of({"temperature": np.full(24, celsius)}, day, 24, "file")
    ...     return replace(one, issued=day + timedelta(hours=at))
    >>> told = {h.hour.hour: h for h in hours_past([run(8, 12.0), run(2, 9.0)], day + timedelta(hours=12))}
    >>> told[9].values, told[9].lead, told[4].values, len(told)
    ({'temperature': 12.0}, 1, {'temperature': 12.0}, 12)
    """
    best: dict[datetime, PastHour] = {}
    for run in sorted(runs, key=lambda one: made(one) or one.start, reverse=True):
        at = made(run)
        if at is None:
            continue
        for number in range(min(max((until - run.start) // HOUR, 0), len(run))):
            values = {name: v for name in VARIABLES if not np.isnan(v := float(getattr(run, name)[number]))}
            if "temperature" not in values:
                continue
            hour = run.start + number * HOUR
            lead = max((hour - at) // HOUR, 0)
            if hour not in best or lead < best[hour].lead:
                best[hour] = PastHour(hour, lead, run.source, values)
    return [best[hour] for hour in sorted(best)]


def known(
    past: Sequence[PastHour],
    run: Weather | None,
    now: datetime,
    *,
    station: Weather | None = None,
    back: timedelta = BACK,
) -> Known | None:
    """Return the weather as it is known now; None where nothing is.

    Parameters
    ----------
    past
        Hours past as they were kept.
    run
        The newest run; hours to come are its alone.
    now
        The present instant.
    station
        What a station measured; its hours win where they are over and not gaps.
    back
        How far back the hours begin.
    """
    if run is None and not past and station is None:
        return None
    hour = now.astimezone(UTC).replace(minute=0, second=0, microsecond=0)
    start = hour - (back // HOUR) * HOUR
    end = max(run.end if run is not None else hour, hour)
    count = (end - start) // HOUR
    series = {name: np.full(count, np.nan) for name in VARIABLES}
    lead, measured = np.full(count, np.nan), np.zeros(count, dtype=bool)
    for one in past:
        at = (one.hour - start) // HOUR
        if 0 <= at < count and one.hour + HOUR <= now:
            lead[at] = one.lead
            for name, value in one.values.items():
                if name in series:
                    series[name][at] = value
    if run is not None:
        _lay(run, series, lead, start, from_=(hour - start) // HOUR)
    if station is not None:
        _measured(station, series, lead, measured, start, until=(hour - start) // HOUR)
    for values in (*series.values(), lead):
        values.setflags(write=False)
    told = run or station
    source = told.source if told is not None else past[-1].source
    joined = of(series, start, count, source)
    if told is not None:
        notes = run.notes if run is not None else ()
        joined = replace(
            joined, attribution=_attribution(run, station if measured.any() else None), notes=notes,
            issued=run.issued if run is not None else None, fetched=run.fetched if run is not None else None,
            estimated=run.estimated if run is not None else frozenset(),
        )  # fmt: skip
    return Known(joined, lead, measured)


def _attribution(*told: Weather | None) -> str:
    return "; ".join(dict.fromkeys(one.attribution for one in told if one is not None and one.attribution))


def _lay(run: Weather, series: dict[str, Series], lead: Series, start: datetime, from_: int) -> None:
    """Lay a run over the hours from one on, and into hours before it of which nothing is known."""
    at = made(run)
    for number in range(len(run)):
        place = (run.start - start) // HOUR + number
        if not 0 <= place < len(lead) or np.isnan(run.temperature[number]):
            continue
        if place < from_ and not np.isnan(lead[place]):
            continue
        for name, values in series.items():
            values[place] = getattr(run, name)[number]
        hour = start + place * HOUR
        lead[place] = max((hour - at) // HOUR, 0) if at is not None else 0


def _measured(
    station: Weather,
    series: dict[str, Series],
    lead: Series,
    measured: NDArray[np.bool_],
    start: datetime,
    until: int,
) -> None:
    """Put measured values over forecast ones, hour by hour; what the station does not tell stays as it was told."""
    first = station.index(start)
    low, high = max(first, 0), min(first + until, len(station))
    if low >= high:
        return
    here = slice(low - first, high - first)
    for name, values in series.items():
        told = getattr(station, name)[low:high]
        values[here] = np.where(np.isnan(told), values[here], told)
    there = ~np.isnan(station.temperature[low:high])
    lead[here] = np.where(there, 0.0, lead[here])
    measured[here] |= there
