"""Invented forecasts in the shape of MET Norway's answer: mild, grey and dry, with rain and frost put over it."""

from __future__ import annotations

import json
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

HOUR = timedelta(hours=1)
UNITS = {
    "air_temperature": "celsius",
    "relative_humidity": "%",
    "wind_speed": "m/s",
    "wind_from_direction": "degrees",
    "cloud_area_fraction": "%",
    "precipitation_amount": "mm",
}

Spell = tuple[datetime, datetime, float]
"""From, to, and rain [mm an hour] or air [°C]."""


def sky(
    made: datetime, *, rain: tuple[Spell, ...] = (), cold: tuple[Spell, ...] = (), air: float = 14.0, **more: float
) -> dict[str, Any]:
    """Return a forecast of nine days, made at a whole hour (UTC); wind comes from the north."""
    steps = []
    for at in (made + n * HOUR for n in range(9 * 24)):
        frost = next((value for first, last, value in cold if first <= at < last), air)
        details = {
            "air_temperature": frost,
            "relative_humidity": 80.0,
            "wind_speed": 6.0,
            "wind_from_direction": 0.0,
            "cloud_area_fraction": 100.0,
            **more,
        }
        wet = next((value for first, last, value in rain if first <= at < last), 0.0)
        hour = {"details": {"precipitation_amount": wet}}
        steps.append(
            {"time": f"{at:%Y-%m-%dT%H:%M:%SZ}", "data": {"instant": {"details": details}, "next_1_hours": hour}}
        )
    return {
        "type": "Feature",
        "geometry": {"type": "Point", "coordinates": [5.2, 52.1, 3]},
        "properties": {"meta": {"updated_at": f"{made:%Y-%m-%dT%H:%M:%SZ}", "units": UNITS}, "timeseries": steps},
    }


def write_sky(path: Path, made: datetime, **more: Any) -> Path:
    """Write such a forecast into a file."""
    path.write_text(json.dumps(sky(made, **more)), encoding="utf-8")
    return path
