"""Invented answers of weather services, in the shape of real ones; where real recorded ones are, if they are here."""

from __future__ import annotations

import json
import os
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, NamedTuple

import pytest

START = datetime(2027, 5, 3, 6, tzinfo=UTC)
HOUR = timedelta(hours=1)


class Spot(NamedTuple):
    latitude: float
    longitude: float
    altitude: float = 0.0


COURT = Spot(52.1, 5.2)


def recorded(name: str) -> Path:
    """Return a recorded file, or skip: they are no part of the project."""
    folder = Path(os.environ.get("CURING_RECORDED_WEATHER") or Path(__file__).parents[3] / "shared" / "weather")
    if not (folder / name).is_file():
        pytest.skip(f"recorded weather is not here ({name}); name its folder by CURING_RECORDED_WEATHER")
    return folder / name


def z(at: datetime) -> str:
    return f"{at:%Y-%m-%dT%H:%M:%SZ}"


def body(data: Any) -> bytes:
    return json.dumps(data).encode()


def met_step(at: datetime, temperature: Any, *, rain1: Any = None, rain6: Any = None, **more: Any) -> dict[str, Any]:
    details = {"air_temperature": temperature, "relative_humidity": 70.0, "wind_speed": 3.0,
               "wind_from_direction": 350.0, "cloud_area_fraction": 50.0, **more}  # fmt: skip
    data: dict[str, Any] = {"instant": {"details": details}}
    if rain1 is not None:
        data["next_1_hours"] = {"details": {"precipitation_amount": rain1}}
    if rain6 is not None:
        data["next_6_hours"] = {"details": {"precipitation_amount": rain6}}
    return {"time": z(at), "data": data}


def met(steps: Sequence[dict[str, Any]], **units: str) -> dict[str, Any]:
    """Return an invented answer of MET Norway for the court."""
    known = {"air_temperature": "celsius", "relative_humidity": "%", "wind_speed": "m/s",
             "wind_from_direction": "degrees", "cloud_area_fraction": "%", "precipitation_amount": "mm",
             "dew_point_temperature": "celsius"}  # fmt: skip
    return {
        "type": "Feature",
        "geometry": {"type": "Point", "coordinates": [5.2, 52.1, 3]},
        "properties": {"meta": {"updated_at": z(START), "units": known | units}, "timeseries": list(steps)},
    }


def met_hours(temperatures: Sequence[Any] = (10.0, 11.0, 12.0, 13.0)) -> dict[str, Any]:
    return met([met_step(START + n * HOUR, value, rain1=0.1) for n, value in enumerate(temperatures)])


def layer(unit: str, *rows: tuple[int, int, Any]) -> dict[str, Any]:
    """Return a layer of (hours after the start, hours it holds, value)."""
    values = [{"validTime": f"{START + at * HOUR:%Y-%m-%dT%H:%M:%S+00:00}/PT{long}H", "value": value}
              for at, long, value in rows]  # fmt: skip
    return {"uom": unit, "values": values}


def nws(**layers: dict[str, Any]) -> dict[str, Any]:
    """Return an invented grid of the US service."""
    known = {
        "temperature": layer("wmoUnit:degC", (0, 2, 10.0), (2, 4, 12.0)),
        "relativeHumidity": layer("wmoUnit:percent", (0, 6, 60)),
        "windSpeed": layer("wmoUnit:km_h-1", (0, 6, 18.0)),
        "windDirection": layer("wmoUnit:degree_(angle)", (0, 6, 200)),
        "skyCover": layer("wmoUnit:percent", (0, 6, 25)),
        "quantitativePrecipitation": layer("wmoUnit:mm", (0, 3, 0.9)),
    }
    outline = [[[-85.0, 30.0], [-85.0, 30.02], [-84.98, 30.02], [-84.98, 30.0], [-85.0, 30.0]]]
    return {
        "geometry": {"type": "Polygon", "coordinates": outline},
        "properties": {"updateTime": z(START), "validTimes": f"{z(START)}/PT6H", **known, **layers},
    }


def open_meteo(times: Sequence[Any], units: dict[str, str] | None = None, **hourly: Sequence[Any]) -> dict[str, Any]:
    """Return an invented answer of Open-Meteo for the court, in UTC."""
    count = len(times)
    known = {"time": "unixtime", "temperature_2m": "°C", "relative_humidity_2m": "%", "wind_speed_10m": "m/s",
             "wind_direction_10m": "°", "cloud_cover": "%", "precipitation": "mm",
             "shortwave_radiation": "W/m²"}  # fmt: skip
    values = {"temperature_2m": [10.0] * count, "relative_humidity_2m": [70] * count, "wind_speed_10m": [3.0] * count,
              "wind_direction_10m": [180] * count, "cloud_cover": [50] * count, "precipitation": [0.0] * count,
              "shortwave_radiation": [100.0] * count}  # fmt: skip
    return {
        "latitude": 52.1, "longitude": 5.2, "utc_offset_seconds": 0, "timezone": "GMT",
        "hourly_units": known | (units or {}), "hourly": {"time": list(times), **values, **hourly},
    }  # fmt: skip


def unix(count: int, step: timedelta = HOUR) -> list[int]:
    return [int((START + n * step).timestamp()) for n in range(count)]
