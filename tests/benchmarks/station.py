"""Recorded hours of a real station, where they are there: not part of the project.

Source: KNMI (CC BY 4.0), De Bilt, 52.10 N 5.18 E. Looked for in ``CURING_RECORDED_WEATHER``, else in
``../shared/weather`` beside the project.
"""

from __future__ import annotations

import csv
import gzip
import os
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from curing.physics.face_climate import Aspect, FaceClimate, face_climate

Array = NDArray[np.float64]
FOLDER = Path(os.environ.get("CURING_RECORDED_WEATHER") or Path(__file__).parents[3] / "shared" / "weather")
SEVEN_YEARS = "knmi_260_debilt_2018-2024_hourly.csv.gz"
THIRTY_TWO_YEARS = "knmi_260_debilt_1986-2017_hourly_norain.csv.gz"
LATITUDE, LONGITUDE = 52.10, 5.18
ZONE = ZoneInfo("Europe/Amsterdam")
SIDES = ("N", "E", "S", "W")
ASPECTS = (Aspect(0.0), Aspect(90.0), Aspect(180.0), Aspect(270.0), Aspect(None))
"""The four faces and an inside one."""


def there(*names: str) -> bool:
    """Return whether these files are there."""
    return all((FOLDER / name).is_file() for name in names or (SEVEN_YEARS,))


@dataclass(frozen=True, eq=False)
class Hours:
    """Hourly series on a calendar without holes; what is not told is NaN."""

    start: float
    temperature: Array
    humidity: Array
    wind: Array
    direction: Array
    rain: Array
    radiation: Array

    def __len__(self) -> int:
        return len(self.temperature)

    @property
    def day(self) -> NDArray[np.int64]:
        """UTC day of each hour, from 1970."""
        return ((self.start + 3600.0 * np.arange(len(self))) // 86400.0).astype(np.int64)

    @property
    def local(self) -> NDArray[np.int64]:
        """Hours of the local clock from 1970 at each hour's start: twice the same in autumn."""
        seconds = self.start + 3600.0 * np.arange(len(self))
        days, which = np.unique(seconds // 86400.0, return_inverse=True)
        # An offset a day, and hour by hour on the two days a year on which it changes.
        offset = np.array([_offset(d * 86400.0) for d in (*days, days[-1] + 1)])
        whole = offset[which].copy()
        for number in np.flatnonzero(np.diff(offset)):
            for hour in np.flatnonzero(which == number):
                whole[hour] = _offset(seconds[hour])
        return (seconds // 3600.0 + whole).astype(np.int64)

    def climate(self, aspects: tuple[Aspect, ...] = ASPECTS, cloud: float = np.nan) -> FaceClimate:
        """Return what the faces go through."""
        return face_climate(
            self.start,
            self.temperature,
            self.humidity,
            self.wind,
            self.direction,
            self.rain,
            self.radiation,
            np.full(len(self), cloud),
            latitude=LATITUDE,
            longitude=LONGITUDE,
            aspects=aspects,
        )


def _offset(seconds: float) -> int:
    moved = datetime.fromtimestamp(seconds, UTC).astimezone(ZONE).utcoffset()
    assert moved is not None
    return round(moved.total_seconds() / 3600.0)


@cache
def recorded(*names: str) -> Hours:
    """Read one or more files of one station, joined."""
    rows: list[dict[str, str]] = []
    for name in names or (SEVEN_YEARS,):
        with gzip.open(FOLDER / name, "rt", encoding="utf-8", newline="") as lines:
            rows += csv.DictReader(lines)
    # The files tell the end of each hour.
    hours = np.array([row["time_end_utc"][:13] for row in rows], dtype="datetime64[h]").astype(np.int64) - 1
    first = int(hours.min())
    series = []
    for column in ("temp_c", "rh_pct", "wind_ms", "wind_dir_deg", "precip_mm", "ghi_wm2"):
        whole = np.full(int(hours.max()) - first + 1, np.nan)
        whole[hours - first] = [float(row.get(column) or "nan") for row in rows]
        series.append(whole)
    return Hours(first * 3600.0, *series)
