"""What the weather comes to at a site and at a face, day by day: what pages and charts show of it."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum

from curing.model.weather import Series


class Driver(StrEnum):
    """What makes the air take more than on an ordinary day."""

    SUN = "sun"
    WIND = "wind"
    DRY = "dry"


@dataclass(frozen=True, slots=True)
class RainSpan:
    """Rain that meets a face.

    Parameters
    ----------
    start, end
        First and last of it (UTC), half-open; between them it may stop.
    amount
        By the wind as told [L/m2].
    could
        If the wind turns by 45° [L/m2].
    """

    start: datetime
    end: datetime
    amount: float
    could: float


@dataclass(frozen=True, slots=True)
class FaceDay:
    """A day of a face; None: too little is known.

    Parameters
    ----------
    day
        The local day.
    start, end
        The hours that are told of it (UTC), half-open.
    whole
        Whether they are the whole day.
    sun
        Hours with direct sun on the face.
    takes
        What the air would take from the face kept wet [L/m2].
    ordinary
        What it takes on an ordinary day of that month; None without years of a station.
    why
        What is over its own ordinary, where the air takes more than that.
    rain
        None: no rain on it, unless ``rain_unknown``.
    """

    day: date
    start: datetime
    end: datetime
    whole: bool
    sun: float | None
    takes: float | None
    ordinary: float | None = None
    why: tuple[Driver, ...] = ()
    rain: RainSpan | None = None
    rain_unknown: bool = False


@dataclass(frozen=True, slots=True)
class SiteDay:
    """A day of a site; None: too little is known.

    Parameters
    ----------
    day
        The local day.
    coldest, at
        Lowest air temperature told [°C], and when.
    could
        How cold it could be: lower by the margin of a forecast so far ahead [°C].
    frost
        Lowest temperature that is no frost [°C].
    warmest
        [°C]
    rain
        On the level [mm].
    wind
        Greatest hourly mean at 10 m [m/s].
    """

    day: date
    coldest: float | None = None
    at: datetime | None = None
    could: float | None = None
    frost: float = 0.0
    warmest: float | None = None
    rain: float | None = None
    wind: float | None = None


@dataclass(frozen=True, slots=True, eq=False)
class FaceSeries:
    """Hours of a face, for a chart; NaN where nothing is known.

    Parameters
    ----------
    start
        Of the first hour (UTC).
    sun
        Direct sun on the face [W/m2].
    takes
        What the air would take [L/m2 in the hour].
    rain
        By the wind as told [L/m2].
    temperature, margin
        Air [°C], and how far a forecast so far ahead may be off [K].
    """

    start: datetime
    sun: Series
    takes: Series
    rain: Series
    temperature: Series
    margin: Series = field(repr=False)

    def __len__(self) -> int:
        """Return how many hours there are."""
        return len(self.sun)
