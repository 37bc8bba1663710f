"""Invented weather for the rules of open coats: kind hours, with what a test wants put over them.

Nothing here is recorded. The first hour is Thursday 3 June 2027, 00:00 UTC, two days before laying.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np

from curing.model.job import Face, Side, Site
from curing.model.system import RuleBook, Work
from curing.model.weather import VARIABLES, Weather, of
from curing.planning.weather_limits import Limits, limits_in
from curing.planning.weather_site import FaceHours, site_weather
from curing.sources.systemfile import load_systems

START = datetime(2027, 6, 3, tzinfo=UTC)
HOURS = 24 * 12
LAID = 24 * 2 + 7
"""The hour at which laying begins: Saturday 5 June, 07:00 UTC."""
NOW = START + timedelta(hours=LAID - 12)
"""The evening before."""
SITE = Site(id="alder", name="Alder (invented)", latitude=52.1, longitude=5.2, time_zone="Europe/Amsterdam")
KIND: Mapping[str, float] = {
    "temperature": 15.0, "humidity": 80.0, "wind": 2.0, "direction": 90.0, "rain": 0.0, "radiation": 0.0, "cloud": 1.0,
}  # fmt: skip
"""An overcast mild week without a drop: nothing of it stops anything."""
SYSTEM = load_systems(["clay-lime"])[0]["clay-lime"]


Hour = int | tuple[int, int]
"""An hour after laying begins, or from one to before another."""


def _placed(where: Hour) -> slice:
    first, last = where if isinstance(where, tuple) else (where, where + 1)
    assert first + LAID >= 0
    return slice(first + LAID, last + LAID)


def at(hour: float) -> datetime:
    """Instant so many hours after laying begins."""
    return START + timedelta(hours=LAID + hour)


def weather(changes: Mapping[str, Mapping[Hour, float]] | None = None, hours: int = HOURS) -> Weather:
    """Return kind weather with values put over it, by hour after laying begins."""
    series = {name: np.full(hours, KIND[name]) for name in VARIABLES}
    for name, values in (changes or {}).items():
        for where, value in values.items():
            series[name][_placed(where)] = value
    return replace(of(series, START, hours, "file"), issued=NOW)


def face(facing: float | None = 270.0, **more: Any) -> Face:
    """Return an invented face; it looks west."""
    fields = {
        "side": Side.OUT,
        "area": 10.0,
        "height": 2.4,
        "system": "clay-lime",
        "rules": {},
        "holds": {},
        "done": {},
    }
    return Face.model_construct(**{**Face.model_construct().__dict__, **fields, "facing": facing, **more})


def hours(changes: Mapping[str, Mapping[Hour, float]] | None = None, *, on: Face | None = None) -> FaceHours:
    """Return what a face goes through in such weather."""
    return site_weather(SITE, {"1-out": on or face()}, weather(changes))["1-out"]


def put(seen: FaceHours, name: str, values: Mapping[Hour, float]) -> FaceHours:
    """Put values over one series of a face, by hour after laying begins."""
    series = getattr(seen, name).copy()
    for where, value in values.items():
        series[_placed(where)] = value
    return replace(seen, **{name: series})


def limits(coat: str, **own: float) -> Limits:
    """Return what a coat of the clay-lime system asks; own values by rule name, ``weather__frost`` for others."""
    values = {name.replace("__", ".") if "__" in name else f"{coat}.{name}": value for name, value in own.items()}
    work = Work.PAINT if coat.startswith("paint") else Work.PLASTER
    return limits_in(RuleBook(SYSTEM, values), coat, work)
