"""An answer of a weather service as plain data, with the parts that every service has.

Stricter than JSON is read elsewhere: no key twice, no NaN, no other encoding than UTF-8 (RFC 8259, sections 4, 6
and 8.1), so that nothing is dropped in silence.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from typing import Any, NoReturn, Protocol

from curing.errors import Place, Problem, WeatherError
from curing.model.quantities import clip

MOST_BYTES = 5_000_000
"""A forecast has under 1 MB."""
FAR_KM = 100.0
"""A forecast for a place further away than this is for another place [km]; from memory, unverified: the widest grid
of a world model has about 50 km."""
NEAR_KM = 30.0
"""Further away than this it is told [km]."""
EARTH_KM = 6371.0
EARLIEST, LATEST = datetime(1900, 1, 1, tzinfo=UTC), datetime(2200, 1, 1, tzinfo=UTC)
"""Instants outside are none of a forecast; between them no sum of hours overflows."""


class Spot(Protocol):
    """A place on earth; a site of a job is one."""

    @property
    def latitude(self) -> float:
        """[° north]"""

    @property
    def longitude(self) -> float:
        """[° east]"""

    @property
    def altitude(self) -> float:
        """[m above the sea]"""


def unusable(name: str, text: str) -> WeatherError:
    """Return that an answer can't be used."""
    return WeatherError(Problem(Place(name), text))


def read_document(body: bytes, name: str) -> dict[str, Any]:
    """Return a JSON object.

    Parameters
    ----------
    body
        As it came.
    name
        Of the file or address, for messages.

    Raises
    ------
    WeatherError
        It is no JSON object, it is cut off, a key stands twice, or it is too deep.

    Examples
    --------
    >>> read_document(b'{"hourly": {}}', "kept.json")
    {'hourly': {}}
    >>> read_document(b'{"hourly": {"time": [1', "kept.json")
    Traceback (most recent call last):
    ...
    curing.errors.WeatherError: kept.json:1:23: the JSON ends in the middle, or is broken here; fetch it again
    """
    try:
        text = body.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise unusable(name, f"byte {error.start} is not UTF-8, so this is no JSON; fetch it again") from None
    if not text.strip():
        raise unusable(name, "there is nothing in it; fetch it again")
    if text.lstrip().startswith("<"):
        raise unusable(name, "this is a web page or XML, not JSON; check the address, or save the JSON answer")

    def once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        found = dict(pairs)
        if len(found) < len(pairs):
            keys = [key for key, _ in pairs]
            twice = next(key for key in keys if keys.count(key) > 1)
            raise unusable(name, f'"{clip(twice)}" stands twice in one object, so it is not known which counts; '
                           "fetch it again")  # fmt: skip
        return found

    def no_number(word: str) -> NoReturn:
        raise unusable(name, f"{word} stands for a number, which JSON does not have; fetch it again")

    try:
        data = json.loads(text, object_pairs_hook=once, parse_constant=no_number)
    except json.JSONDecodeError as error:
        place = Place(name, error.lineno, error.colno)
        raise WeatherError(Problem(place, "the JSON ends in the middle, or is broken here; fetch it again")) from None
    except RecursionError:
        raise unusable(name, "it is nested too deep for a forecast; fetch it again") from None
    except ValueError:
        raise unusable(name, "it has a number of thousands of digits; fetch it again") from None
    if not isinstance(data, dict):
        raise unusable(name, "it is no JSON object, as answers of weather services are; check the address")
    return data


def part(data: Any, *steps: str) -> Any:
    """Return what stands at some keys, one inside the other; None where there is nothing.

    Examples
    --------
    >>> part({"properties": {"meta": 1}}, "properties", "meta"), part({}, "properties", "meta")
    (1, None)
    """
    for step in steps:
        data = data.get(step) if isinstance(data, dict) else None
    return data


def number(value: Any) -> float | None:
    """Return a number of JSON; None for null and for anything that is none.

    Examples
    --------
    >>> number(3), number("3"), number(True), number(10**400)
    (3.0, None, None, None)
    """
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    try:
        found = float(value)
    except OverflowError:
        return None
    return found if math.isfinite(found) else None


def instant(value: Any) -> datetime | None:
    """Return an instant with its offset from UTC, such as ``2027-05-03T06:00:00Z``; None for anything else.

    Examples
    --------
    >>> instant("2027-05-03T06:00:00+02:00").isoformat(), instant("2027-05-03T06:00")
    ('2027-05-03T04:00:00+00:00', None)
    """
    if not isinstance(value, str) or not re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9:.]+(Z|[+-][0-9:]+)", value):
        return None
    try:
        found = datetime.fromisoformat(value).astimezone(UTC)
    except (ValueError, OverflowError):
        return None
    return found if EARLIEST <= found <= LATEST else None


def interval(value: Any) -> tuple[datetime, datetime] | None:
    """Return start and end of ``START/DURATION`` (ISO 8601); None for anything else.

    Examples
    --------
    >>> found = interval("2022-02-03T21:00:00+00:00/P1DT6H")
    >>> (found[1] - found[0]).total_seconds() / 3600
    30.0
    """
    first, _, last = value.partition("/") if isinstance(value, str) else ("", "", "")
    start = instant(first)
    if start is None:
        return None
    if end := instant(last):
        return (start, end) if end > start else None
    found = re.fullmatch(r"P(?:([0-9]{1,4})D)?(?:T(?:([0-9]{1,5})H)?(?:([0-9]{1,6})M)?)?", last)
    length = timedelta(days=int(found[1] or 0), hours=int(found[2] or 0), minutes=int(found[3] or 0)) if found else None
    return (start, start + length) if length and length <= LATEST - start else None


def away_km(latitude: float, longitude: float, other: Spot) -> float:
    """Return the distance [km] between two places, by the haversine formula on a sphere."""
    a, b = math.radians(latitude), math.radians(other.latitude)
    across = math.sin(math.radians(other.longitude - longitude) / 2) ** 2
    half = math.sin((b - a) / 2) ** 2 + math.cos(a) * math.cos(b) * across
    return 2 * EARTH_KM * math.asin(math.sqrt(min(max(half, 0.0), 1.0)))


def check_place(name: str, latitude: float | None, longitude: float | None, spot: Spot | None) -> Iterable[str]:
    """Return a note if a forecast is for a place some way off.

    Raises
    ------
    WeatherError
        It is for another place; says so where the two numbers stand for one another.
    """
    if spot is None or latitude is None or longitude is None:
        return ()
    if not (abs(latitude) <= 90 and abs(longitude) <= 360):
        raise unusable(name, f"it is for latitude {latitude:.4g} and longitude {longitude:.4g}, which is no place")
    away = away_km(latitude, longitude, spot)
    here, there = f"{spot.latitude:g}, {spot.longitude:g}", f"{latitude:.4g}, {longitude:.4g}"
    if away > FAR_KM:
        swapped = abs(spot.latitude) <= 90 and away_km(longitude, latitude, spot) <= FAR_KM
        why = "latitude and longitude stand for one another: change them over in the job file" if swapped else (
            "check latitude and longitude in the job file, or take the forecast for the site")  # fmt: skip
        raise unusable(name, f"this is a forecast for {there}, {away:,.0f} km from the site at {here}; {why}")
    return (f"The forecast is for {there}, {away:.0f} km from the site.",) if away > NEAR_KM else ()
