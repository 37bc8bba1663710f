"""Open-Meteo: the whole world, with radiation; free for non-commercial use alone, firms pay for a key.

Temperature, humidity, wind and cloud of a time are of that instant; rain is the sum and radiation the mean of the
hour BEFORE it. It is asked for times in UTC and for metres a second.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from typing import Any
from urllib.parse import quote
from zoneinfo import ZoneInfo

from curing.model.quantities import clip
from curing.model.weather import Weather
from curing.sources.forecasts.document import Spot, check_place, number, part, read_document, unusable
from curing.sources.forecasts.hourly import Told
from curing.sources.forecasts.service import Request, degrees
from curing.sources.weather_settings import WeatherSettings, read_key

NAME = "open-meteo"
BASE_URL = "https://api.open-meteo.com"
CUSTOMERS_URL = "https://customer-api.open-meteo.com"
ATTRIBUTION = "Weather data by Open-Meteo.com (CC BY 4.0)"
DAYS = 10
"""Asked for [days]; more than 7 are shown as climate alone."""

INSTANTS = {
    "temperature_2m": "temperature",
    "relative_humidity_2m": "humidity",
    "wind_speed_10m": "wind",
    "wind_direction_10m": "direction",
    "cloud_cover": "cloud",
    "dew_point_2m": "dew_point",
}
BEFORE = {"precipitation": "rain", "shortwave_radiation": "radiation"}
ABSENT = ("undefined", "")
"""Units of a variable that the model does not have."""
_LONGEST_STEP = timedelta(hours=6)


def request(spot: Spot, settings: WeatherSettings) -> Request:
    """Return what to ask for a place; a key stands in the address.

    Raises
    ------
    FileError
        The file of the key can't be read.

    Examples
    --------
    >>> from collections import namedtuple
    >>> place = namedtuple("Place", "latitude longitude altitude")(52.1, 5.2, 0)
    >>> url = request(place, WeatherSettings(service="open-meteo", contact="office@example.org")).url
    >>> url.partition("&hourly=")[0]
    'https://api.open-meteo.com/v1/forecast?latitude=52.1&longitude=5.2'
    """
    base = settings.base_url or (CUSTOMERS_URL if settings.key_file else BASE_URL)
    wanted = ",".join([*INSTANTS, *BEFORE])
    how = "timezone=GMT&timeformat=unixtime&wind_speed_unit=ms&past_days=1"
    where = f"latitude={degrees(spot.latitude)}&longitude={degrees(spot.longitude)}"
    height = f"&elevation={round(spot.altitude)}" if spot.altitude else ""
    key = f"&apikey={quote(read_key(settings.key_file), safe='')}" if settings.key_file else ""
    return Request(f"{base}/v1/forecast?{where}&hourly={wanted}&{how}&forecast_days={DAYS}{height}{key}")


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
    if data.get("error"):
        raise unusable(
            name, f'the service says: "{clip(str(data.get("reason", "nothing more")), 200)}"; check the place'
        )
    hourly, units = part(data, "hourly"), part(data, "hourly_units")
    if not isinstance(hourly, dict) or not isinstance(part(hourly, "time"), list):
        raise unusable(name, "it has no hourly.time, as a forecast of Open-Meteo has; fetch it again")
    notes = list(check_place(name, number(data.get("latitude")), number(data.get("longitude")), spot))
    told = Told(name)
    times = _times(data, part(units, "time"), hourly["time"], told, notes)
    lengths = _lengths(times)
    for key, variable in {**INSTANTS, **BEFORE}.items():
        values, unit = hourly.get(key), part(units, key)
        if values is None or unit in ABSENT:
            continue
        by = told.unit(variable, key, unit)
        if not isinstance(values, list) or len(values) != len(times):
            count = len(values) if isinstance(values, list) else 0
            told.fault(f"{key}: {count} values stand for {len(times)} times; fetch it again")
            continue
        for at, length, value in zip(times, lengths, values, strict=True):
            if at is None or by is None:
                continue
            if key in INSTANTS:
                told.instant(variable, at, value, by)
            elif length is not None:
                (told.sum if variable == "rain" else told.mean)(variable, at - length, at, value, by)
    return told.weather(NAME, ATTRIBUTION, issued=None, fetched=fetched, notes=notes)


def _lengths(times: list[datetime | None]) -> list[timedelta | None]:
    """Return how long the span before each time is: the shorter of the steps before and after it.

    So an hour's value behind a lacking row stays an hour's. The last one, behind a longer step, may be
    either, and is left out.
    """
    known = sorted({at for at in times if at is not None})
    steps = [later - sooner for sooner, later in pairwise(known)]
    found: dict[datetime, timedelta] = {}
    for place, at in enumerate(known):
        near = steps[max(place - 1, 0) : place + 1] or [timedelta(hours=1)]
        unclear = place > 1 and place == len(steps) and steps[-1] > steps[-2]
        if min(near) <= _LONGEST_STEP and not unclear:
            found[at] = min(near)
    return [None if at is None else found.get(at) for at in times]


def _times(data: dict[str, Any], unit: Any, raw: list[Any], told: Told, notes: list[str]) -> list[datetime | None]:
    """Return the times in UTC; one that can't be read is told and left out."""
    if unit == "unixtime":
        return [_read_time(told, at, value, _from_unix) for at, value in enumerate(raw)]
    if unit not in ("iso8601", None):
        told.fault(f'hourly.time: its unit is "{clip(str(unit))}"; known are unixtime and iso8601')
        return [None] * len(raw)
    local = [_read_time(told, at, value, _from_iso) for at, value in enumerate(raw)]
    offset = number(data.get("utc_offset_seconds"))
    zone = _zone(data.get("timezone"))
    if offset is None or abs(offset) > 18 * 3600:
        told.fault("the times are local, and utc_offset_seconds is not told or is none; ask with timezone=GMT")
        return [None] * len(raw)
    known = [at for at in local if at is not None]
    changes = zone is not None and len({at.replace(tzinfo=zone).utcoffset() for at in known}) > 1
    if changes and zone is not None and not _even(known):
        notes.append("The clock changes within the forecast: its times were read as local time before and after.")
        return _by_clock(local, zone)
    if changes:
        notes.append("The clock changes within the forecast; its times go on evenly, so one offset was taken for all.")
    return [None if at is None else at.replace(tzinfo=UTC) - timedelta(seconds=offset) for at in local]


def _read_time(told: Told, at: int, value: Any, reader: Callable[[Any], datetime]) -> datetime | None:
    try:
        return reader(value)
    except (ValueError, TypeError, OverflowError, OSError):
        told.fault(f"hourly.time, item {at + 1}: {clip(repr(value))} is no time; fetch it again")
        return None


def _from_unix(value: Any) -> datetime:
    plain = number(value)
    if plain is None or not -4e9 < plain < 8e9:
        raise ValueError
    return datetime.fromtimestamp(plain, UTC)


def _from_iso(value: Any) -> datetime:
    found = datetime.fromisoformat(value)
    if found.tzinfo is not None or not 1900 <= found.year <= 2200:
        raise ValueError
    return found


def _zone(name: Any) -> ZoneInfo | None:
    try:
        return ZoneInfo(name) if isinstance(name, str) else None
    except (KeyError, ValueError, OSError, ImportError):  # for a name that is none zoneinfo raises any of them
        return None


def _even(times: list[datetime]) -> bool:
    """Return whether the times go on without a step too long or twice the same."""
    return len({later - sooner for sooner, later in pairwise(times)}) <= 1


def _by_clock(local: list[datetime | None], zone: ZoneInfo) -> list[datetime | None]:
    """Return times of a clock in UTC; one that stands twice is the later hour the second time."""
    seen: Counter[datetime] = Counter()
    found: list[datetime | None] = []
    for at in local:
        if at is not None:
            found.append(at.replace(tzinfo=zone, fold=1 if seen[at] else 0).astimezone(UTC))
            seen[at] += 1
        else:
            found.append(None)
    return found
