"""US National Weather Service, api.weather.gov: the United States and its waters, free, no key.

The grid's layers hold a value for an interval; rain is told for one to six hours at once, and ends a day sooner
than temperature. No radiation. The address of a place's grid is asked for once.
"""

from __future__ import annotations

import re
from datetime import datetime
from typing import Any

from curing.model.quantities import clip
from curing.model.weather import Weather
from curing.sources.forecasts.document import (
    Spot,
    check_place,
    instant,
    interval,
    number,
    part,
    read_document,
    unusable,
)
from curing.sources.forecasts.hourly import Told
from curing.sources.forecasts.service import Request, degrees
from curing.sources.weather_settings import WeatherSettings

NAME = "nws"
BASE_URL = "https://api.weather.gov"
ATTRIBUTION = "Data from the US National Weather Service (public domain)"

HOLDING = {
    "temperature": "temperature",
    "relativeHumidity": "humidity",
    "windSpeed": "wind",
    "windDirection": "direction",
    "skyCover": "cloud",
    "dewpoint": "dew_point",
}
RAIN = "quantitativePrecipitation"
_GRID = re.compile(r"/gridpoints/[A-Z]{3}/-?[0-9]{1,4},-?[0-9]{1,4}")


def request(spot: Spot, settings: WeatherSettings, *, grid: str = "") -> Request:
    """Return what to ask for a place: its grid's path, or, where that is known, the grid.

    Examples
    --------
    >>> from collections import namedtuple
    >>> place = namedtuple("Place", "latitude longitude altitude")(30.0, -85.0, 0)
    >>> settings = WeatherSettings(service="nws", contact="office@example.org")
    >>> request(place, settings).url, request(place, settings, grid="/gridpoints/TAE/58,65").url
    ('https://api.weather.gov/points/30,-85', 'https://api.weather.gov/gridpoints/TAE/58,65')
    """
    path = grid or f"/points/{degrees(spot.latitude)},{degrees(spot.longitude)}"
    return Request(f"{settings.base_url or BASE_URL}{path}", {"Accept": "application/geo+json"})


def grid_of(body: bytes, *, name: str = NAME) -> str:
    """Return the path of the grid that an answer about a place names; it stays at the host that was asked.

    Raises
    ------
    WeatherError
        It names none.
    """
    link = part(read_document(body, name), "properties", "forecastGridData")
    found = _GRID.search(link) if isinstance(link, str) and len(link) < 300 else None
    if found is None:
        raise unusable(name, "it names no grid for this place (forecastGridData); the service may not cover it")
    return found[0]


def parse(body: bytes, *, name: str = NAME, spot: Spot | None = None, fetched: datetime | None = None) -> Weather:
    """Return a grid as hourly weather.

    Raises
    ------
    WeatherError
        It is none, it is for another place, or it has units or values that are not known.
    """
    return read(read_document(body, name), name=name, spot=spot, fetched=fetched)


def read(data: dict[str, Any], *, name: str, spot: Spot | None = None, fetched: datetime | None = None) -> Weather:
    """Return a document as hourly weather; see :func:`parse`."""
    layers = part(data, "properties")
    if not isinstance(part(layers, "temperature", "values"), list):
        raise unusable(name, "it has no properties.temperature.values, as a grid of the US service has; fetch it again")
    notes = list(check_place(name, *_middle(part(data, "geometry", "coordinates")), spot))
    told = Told(name)
    ends: dict[str, datetime] = {}
    for layer, variable in {**HOLDING, RAIN: "rain"}.items():
        rows = part(layers, layer, "values")
        if not isinstance(rows, list) or not rows:
            continue
        by = told.unit(variable, layer, part(layers, layer, "uom"))
        if by is None:
            continue
        for row in rows:
            span = interval(part(row, "validTime"))
            if span is None:
                told.fault(
                    f'{layer}: "{clip(str(part(row, "validTime")))}" is no interval such as 2027-05-03T06:00:00Z/PT1H'
                )
                continue
            (told.sum if layer == RAIN else told.holding)(variable, *span, part(row, "value"), by)
            ends[layer] = max(span[1], ends.get(layer, span[1]))
    if RAIN in ends and "temperature" in ends and ends[RAIN] < ends["temperature"]:
        notes.append(
            f"Rain is told until {ends[RAIN]:%Y-%m-%d %H:%M} UTC, the air until {ends['temperature']:%Y-%m-%d %H:%M}."
        )
    issued = instant(part(layers, "updateTime"))
    return told.weather(NAME, ATTRIBUTION, issued=issued, fetched=fetched, notes=notes)


def _middle(rings: Any) -> tuple[float | None, float | None]:
    """Return latitude and longitude of the middle of a grid's outline."""
    try:
        corners = rings[0][:4]
        pairs = [
            (float(corner[1]), float(corner[0])) for corner in corners if all(number(one) is not None for one in corner)
        ]
    except (TypeError, IndexError, KeyError, ValueError):
        return None, None
    if len(pairs) < 4:
        return None, None
    return sum(lat for lat, _ in pairs) / 4, sum(lon for _, lon in pairs) / 4
