"""The weather of a job as JSON: in SI units, instants in UTC, what is not known null."""

from __future__ import annotations

import json
from datetime import date, datetime, timedelta
from typing import Any

from curing.publish.weather_parts import FacePart, SitePart, TaskPart, WeatherPart

WEATHER_FORMAT = 1


def weather_json(view: WeatherPart) -> str:
    """Return a job's weather as JSON.

    Notes
    -----
    Units: °C, m/s at 10 m, mm (= L/m2 on the level), L/m2 on a face, hours of sun. ``age_min`` is how old the
    weather is; ``opens_holds`` is false, always.
    """
    data = {
        "curing_weather": WEATHER_FORMAT,
        "job": view.job,
        "now": _plain(view.now),
        "opens_holds": False,
        "sites": [_site(one, view.now) for one in view.sites],
    }
    return json.dumps(data, ensure_ascii=False, indent=2) + "\n"


def _site(site: SitePart, now: datetime) -> dict[str, Any]:
    age = site.age(now)
    return {
        "id": site.id,
        "name": site.name,
        "made": _plain(site.made),
        "age_min": int(age / timedelta(minutes=1)) if age is not None else None,
        "old": site.is_old(now),
        "source": site.source,
        "attribution": site.attribution,
        "non_commercial_alone": site.notice,
        "estimated": list(site.estimated),
        "asked": site.asked or None,
        "ask_again": _plain(site.again),
        "trouble": site.trouble or None,
        "tried": _plain(site.tried),
        "station_years": list(site.years) if site.years is not None else None,
        "season": _plain(site.season),
        "notes": list(site.notes),
        "station_notes": list(site.station_notes),
        "days": [_fields(one) for one in site.days],
        "faces": [_face(one) for one in site.faces],
    }


def _face(face: FacePart) -> dict[str, Any]:
    return {
        "face": face.face,
        "wall": face.wall,
        "facing": face.facing,
        "outside": face.outside,
        "days": [_fields(one) for one in face.days],
        "coats": [_task(one) for one in face.tasks],
    }


def _task(task: TaskPart) -> dict[str, Any]:
    return _fields(task)


def _fields(one: Any) -> dict[str, Any]:
    return {name: _plain(getattr(one, name)) for name in one.__slots__}


def _plain(value: Any) -> Any:
    if isinstance(value, datetime):
        return f"{value:%Y-%m-%dT%H:%MZ}"
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, float):
        return round(value, 3) if value == value else None
    if isinstance(value, tuple):
        return [_plain(one) for one in value]
    if hasattr(value, "__slots__") and not isinstance(value, str | int | type(None)):
        return _fields(value)
    return str(value) if isinstance(value, str) else value
