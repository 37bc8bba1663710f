"""A forecast saved to a file: read without network, the service known from the document itself."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from email.utils import parsedate_to_datetime
from pathlib import Path
from typing import Any

from curing.errors import FileError, Place, Problem
from curing.model.quantities import clip
from curing.model.weather import Weather
from curing.sources.forecasts import met_norway, nws, open_meteo
from curing.sources.forecasts.document import MOST_BYTES, Spot, part, read_document, unusable

READERS: Mapping[str, Callable[..., Weather]] = {
    met_norway.NAME: met_norway.read,
    nws.NAME: nws.read,
    open_meteo.NAME: open_meteo.read,
}


def read_forecast(path: Path, *, spot: Spot | None = None, fetched: datetime | None = None) -> Weather:
    """Read a saved forecast.

    Parameters
    ----------
    path
        The answer of a service as it came, or in a wrapper ``{"status_code": ..., "headers": ..., "data": ...}``.
    spot
        Place it must be for; None: not asked.
    fetched
        When it came; None: the ``Date`` of its wrapper, if it has one.

    Raises
    ------
    FileError, WeatherError
        It can't be read, or used: all that is wrong with it.
    """
    return parse_any(forecast_bytes(path), name=str(path), spot=spot, fetched=fetched)


def parse_any(body: bytes, *, name: str, spot: Spot | None = None, fetched: datetime | None = None) -> Weather:
    """Return an answer of any known service as hourly weather; see :func:`read_forecast`."""
    data = read_document(body, name)
    inner = data.get("data")
    if "status_code" in data and isinstance(inner, dict):
        if data["status_code"] not in (200, 203):
            raise unusable(name, f"it is the answer {clip(str(data['status_code']))} of a service, not a forecast")
        fetched = fetched or _date(part(data, "headers", "Date"))
        data = inner
    return READERS[service_of(data, name)](data, name=name, spot=spot, fetched=fetched)


def service_of(data: dict[str, Any], name: str) -> str:
    """Return which service a document is of.

    Raises
    ------
    WeatherError
        Of none that is known, or it is no forecast; says what to save.
    """
    properties = data.get("properties")
    if part(properties, "timeseries") is not None:
        return met_norway.NAME
    if isinstance(part(properties, "temperature", "values"), list):
        return nws.NAME
    if part(data, "hourly") is not None or data.get("error"):
        return open_meteo.NAME
    if part(properties, "forecastGridData") is not None:
        raise unusable(name, "this only names where the forecast is; save the address in its forecastGridData")
    if part(properties, "periods") is not None:
        raise unusable(name, "this is the forecast in words, without amounts of rain; save the address "
                       "https://api.weather.gov/gridpoints/..., which forecastGridData names")  # fmt: skip
    if isinstance(data.get("title"), str):
        raise unusable(name, f'it is a refusal, not a forecast: "{clip(data["title"], 200)}"')
    raise unusable(name, "it is no forecast of a known service (MET Norway, US National Weather Service, Open-Meteo)")


def forecast_bytes(path: Path) -> bytes:
    """Return what is in a saved forecast, to be kept as it is; FileError where it can't be read or is too long."""
    place = Place(str(path))
    try:
        if not path.is_file():
            raise FileError(Problem(place, "there is no such file; name a saved forecast"))
        with open(path, "rb") as source:
            body = source.read(MOST_BYTES + 1)
    except (OSError, ValueError) as error:
        why = (getattr(error, "strerror", None) or "not a name a file can have").lower()
        raise FileError(Problem(place, f"the forecast can't be read: {why}; check name and permissions")) from None
    if len(body) > MOST_BYTES:
        raise FileError(Problem(place, f"larger than {MOST_BYTES / 1e6:g} MB; no forecast is; name the right file"))
    return body


def _date(value: Any) -> datetime | None:
    try:
        return parsedate_to_datetime(value).astimezone(UTC) if isinstance(value, str) else None
    except (ValueError, TypeError, IndexError, OverflowError):
        return None
