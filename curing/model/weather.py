"""Weather as hourly series of one place, whoever told it: measured, forecast, or a year of a station.

Hour i is ``[start + i h, start + (i + 1) h)``, in UTC. A gap is NaN and stays one: nothing is filled with zero.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

Series = NDArray[np.float64]
HOUR = timedelta(hours=1)

VARIABLES: Mapping[str, tuple[str, float, float]] = {
    "temperature": ("°C", -60.0, 60.0),
    "humidity": ("%", 0.0, 100.0),
    "wind": ("m/s", 0.0, 75.0),
    "direction": ("°", 0.0, 360.0),
    "rain": ("mm", 0.0, 200.0),
    "radiation": ("W/m2", 0.0, 1500.0),
    "cloud": ("1", 0.0, 1.0),
}
"""Variable → unit, least and greatest value that is taken for one of this earth (an hour's)."""


@dataclass(frozen=True, eq=False)
class Weather:
    """Hourly weather of one place.

    Parameters
    ----------
    start
        Start of the first hour: aware, UTC, on the hour.
    temperature
        [°C] of the air at 2 m.
    humidity
        [%] relative, over water.
    wind
        [m/s] at 10 m.
    direction
        [°] from which it blows, clockwise from north; NaN where it is variable or not known.
    rain
        [mm] in the hour (= L/m2 on the level).
    radiation
        [W/m2] global, on the level, mean of the hour.
    cloud
        Share of the sky, 0-1.
    source
        Who told it, in short: ``met-norway``, ``nws``, ``open-meteo``, ``station``, ``file``.
    attribution
        What must stand wherever it is shown.
    issued
        When the forecast was made; None: measured, or not said.
    fetched
        When it came here.
    estimated
        Variables that were worked out from others, not told.
    notes
        What was filled, shared out or left out, one sentence each.
    """

    start: datetime
    temperature: Series
    humidity: Series
    wind: Series
    direction: Series
    rain: Series
    radiation: Series
    cloud: Series
    source: str
    attribution: str = ""
    issued: datetime | None = None
    fetched: datetime | None = None
    estimated: frozenset[str] = frozenset()
    notes: tuple[str, ...] = field(default=())

    def __post_init__(self) -> None:
        """Refuse what is no hourly series: these are faults of the reader, not of a file."""
        if self.start.utcoffset() != timedelta(0) or self.start != self.start.replace(
            minute=0, second=0, microsecond=0
        ):
            raise ValueError(f"{self.start}: an hourly series starts on the hour, in UTC")
        lengths = {getattr(self, name).shape for name in VARIABLES}
        if len(lengths) != 1 or len(next(iter(lengths))) != 1:
            raise ValueError(f"series of unequal shape: {sorted(lengths)}")
        for name in VARIABLES:
            getattr(self, name).setflags(write=False)

    def __len__(self) -> int:
        """Return how many hours there are."""
        return len(self.temperature)

    @property
    def end(self) -> datetime:
        """End of the last hour, exclusive."""
        return self.start + len(self) * HOUR

    def index(self, at: datetime) -> int:
        """Return the number of the hour an instant lies in; it may lie outside.

            Examples
            --------
            >>> from datetime import UTC
        >>> day = datetime(2027, 5, 3, tzinfo=UTC)
            >>> blank(day, 24, "file").index(day + timedelta(hours=2, minutes=59))
            2
        """
        return (at - self.start) // HOUR


def blank(start: datetime, hours: int, source: str) -> Weather:
    """Return a series of nothing but gaps, to be filled.

    Examples
    --------
    >>> from datetime import UTC
    >>> len(blank(datetime(2027, 5, 3, tzinfo=UTC), 24, "file"))
    24
    """
    return of({}, start, hours, source)


def of(series: Mapping[str, Series], start: datetime, hours: int, source: str) -> Weather:
    """Return weather of the series that are known, by their names in ``VARIABLES``; the others are gaps."""
    gaps = np.full(hours, np.nan)
    known = [series.get(name, gaps) for name in VARIABLES]
    return Weather(start, known[0], known[1], known[2], known[3], known[4], known[5], known[6], source)
