"""MET Norway, Locationforecast 2.0: the whole world, free for firms too, no key.

Values of a time are of that instant; the rain beside it is that of the hours that follow. Hourly for about two
days, then every six hours. No radiation.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from curing.model.quantities import clip
from curing.model.weather import Weather
from curing.sources.forecasts.document import Spot, check_place, instant, number, part, read_document, unusable
from curing.sources.forecasts.hourly import Told
from curing.sources.forecasts.service import Request, degrees
from curing.sources.forecasts.units import Change
from curing.sources.weather_settings import WeatherSettings

NAME = "met-norway"
BASE_URL = "https://api.met.no/weatherapi/locationforecast/2.0"
ATTRIBUTION = "Data from MET Norway (CC BY 4.0)"

INSTANTS = {
    "air_temperature": "temperature",
    "relative_humidity": "humidity",
    "wind_speed": "wind",
    "wind_from_direction": "direction",
    "cloud_area_fraction": "cloud",
    "dew_point_temperature": "dew_point",
}
RAIN = "precipitation_amount"


def request(spot: Spot, settings: WeatherSettings) -> Request:
    """Return what to ask for a place.

    Examples
    --------
    >>> from collections import namedtuple
    >>> place = namedtuple("Place", "latitude longitude altitude")(52.10001, 5.2, 3.4)
    >>> request(place, WeatherSettings(contact="office@example.org")).url
    'https://api.met.no/weatherapi/locationforecast/2.0/complete?lat=52.1&lon=5.2&altitude=3'
    """
    where = f"lat={degrees(spot.latitude)}&lon={degrees(spot.longitude)}"
    height = f"&altitude={round(spot.altitude)}" if spot.altitude else ""
    return Request(f"{settings.base_url or BASE_URL}/complete?{where}{height}")


def parse(body: bytes, *, name: str = NAME, spot: Spot | None = None, fetched: datetime | None = None) -> Weather:
    """Return an answer as hourly weather.

    Raises
    ------
    WeatherError
        It is none, it is for another place, or it has units or values that are not known.
    """
    return read(read_document(body, name), name=name, spot=spot, fetched=fetched)


def read(data: dict[str, Any], *, name: str, spot: Spot | None = None, fetched: datetime | None = None) -> Weather:
    """Return a document as hourly weather; see :func:`parse`."""
    steps = part(data, "properties", "timeseries")
    if not isinstance(steps, list) or not steps:
        raise unusable(name, "it has no properties.timeseries, as a forecast of MET Norway has; fetch it again")
    at = part(data, "geometry", "coordinates")
    longitude, latitude = (number(one) for one in at[:2]) if isinstance(at, list) and len(at) >= 2 else (None, None)
    notes = check_place(name, latitude, longitude, spot)
    told = Told(name)
    units = part(data, "properties", "meta", "units")
    present = {key for step in steps for key in _details(step, "instant")}
    by = {key: told.unit(INSTANTS[key], key, part(units, key)) for key in INSTANTS if key in present}
    rainy = any(RAIN in _details(step, following) for step in steps for following in _HOURS)
    wet = told.unit("rain", RAIN, part(units, RAIN)) if rainy else None
    spans: list[tuple[datetime, int, Any]] = []
    for place, step in enumerate(steps):
        time = instant(part(step, "time"))
        if time is None:
            told.fault(
                f'step {place + 1}: its time is "{clip(str(part(step, "time")))}"; write it as 2027-05-03T06:00:00Z'
            )
            continue
        details = _details(step, "instant")
        for key, change in by.items():
            if change is not None:
                told.instant(INSTANTS[key], time, details.get(key), change)
        spans += [
            (time, hours, _details(step, key)[RAIN]) for key, hours in _HOURS.items() if RAIN in _details(step, key)
        ]
    if wet is not None:
        _rain(told, spans, wet)
    issued = instant(part(data, "properties", "meta", "updated_at"))
    return told.weather(NAME, ATTRIBUTION, issued=issued, fetched=fetched, notes=notes)


_HOURS = {"next_1_hours": 1, "next_6_hours": 6}


def _details(step: Any, which: str) -> dict[str, Any]:
    found = part(step, "data", which, "details")
    return found if isinstance(found, dict) else {}


def _rain(told: Told, spans: list[tuple[datetime, int, Any]], by: Change) -> None:
    """Take the rain of single hours; that of six only where no hour in it is told."""
    covered: set[datetime] = set()
    for length in (1, 6):
        for start, hours, value in spans:
            within = [start + timedelta(hours=one) for one in range(hours)]
            if hours == length and (length == 1 or covered.isdisjoint(within)):
                told.sum("rain", start, start + timedelta(hours=hours), value, by)
                covered.update(within)
