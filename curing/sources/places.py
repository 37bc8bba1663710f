"""Countries and time zones as a person names them, and the ones near a position.

Names and positions are those of the package ``tzdata``, the one source of time zones here.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from difflib import get_close_matches
from functools import lru_cache
from importlib.resources import files

import holidays as public

from curing.model.quantities import clip
from curing.sources.holiday_calendar import unknown_country, unknown_region

_OTHER_NAMES = {"uk": "GB", "great britain": "GB", "england": "GB", "scotland": "GB", "wales": "GB", "usa": "US",
                "america": "US", "holland": "NL", "the netherlands": "NL", "czechia": "CZ"}  # fmt: skip


@dataclass(frozen=True, slots=True)
class ZonePlace:
    """A time zone, the countries where it holds, and where its city lies [°]."""

    name: str
    countries: tuple[str, ...]
    latitude: float
    longitude: float


@lru_cache(maxsize=1)
def zone_names() -> tuple[str, ...]:
    """Return the names of all time zones."""
    return tuple(files("tzdata").joinpath("zones").read_text(encoding="utf-8").split())


@lru_cache(maxsize=1)
def zone_places() -> tuple[ZonePlace, ...]:
    """Return the time zones with their places, one a country and zone."""
    text = files("tzdata").joinpath("zoneinfo", "zone.tab").read_text(encoding="utf-8")
    rows = (line.split("\t") for line in text.splitlines() if line and not line.startswith("#"))
    return tuple(ZonePlace(row[2], tuple(row[0].split(",")), *_position(row[1])) for row in rows)


@lru_cache(maxsize=1)
def country_names() -> dict[str, str]:
    """Return the English short names of countries by their two letters."""
    text = files("tzdata").joinpath("zoneinfo", "iso3166.tab").read_text(encoding="utf-8")
    return dict(line.split("\t")[:2] for line in text.splitlines() if line and not line.startswith("#"))


def _position(text: str) -> tuple[float, float]:
    parts = re.findall(r"[+-][0-9]+", text)
    return _degrees(parts[0], 2), _degrees(parts[1], 3)


def _degrees(text: str, digits: int) -> float:
    sign, rest = (-1 if text[0] == "-" else 1), text[1:]
    minutes, seconds = rest[digits : digits + 2], rest[digits + 2 :] or "0"
    return sign * (int(rest[:digits]) + int(minutes) / 60 + int(seconds) / 3600)


def nearest_zone(latitude: float, longitude: float, country: str = "") -> ZonePlace:
    """Return the time zone whose city is nearest, of those of a country where one is given.

    Parameters
    ----------
    latitude, longitude
        [° north], [° east].

    Examples
    --------
    >>> nearest_zone(52.1, 5.2).name, nearest_zone(44.5, -72.6, "US").name
    ('Europe/Amsterdam', 'America/New_York')
    """
    known = zone_places()
    return min(
        [one for one in known if country in one.countries] or known,
        key=lambda one: _apart(latitude, longitude, one.latitude, one.longitude),
    )


def _apart(latitude: float, longitude: float, other: float, east: float) -> float:
    """Return the angle between two places, by its cosine: smaller is nearer."""
    a, b = math.radians(latitude), math.radians(other)
    return -(math.sin(a) * math.sin(b) + math.cos(a) * math.cos(b) * math.cos(math.radians(longitude - east)))


def read_zone(text: str) -> str:
    """Return a time zone from its name, or a city's where only one has it.

    Raises
    ------
    ValueError
        There is none of that name; it says which are near.

    Examples
    --------
    >>> read_zone("europe/amsterdam"), read_zone("new york")
    ('Europe/Amsterdam', 'America/New_York')
    >>> read_zone("Amsterdm")
    Traceback (most recent call last):
    ...
    ValueError: there is no time zone "Amsterdm"; did you mean "Europe/Amsterdam"?
    """
    names = {name.casefold(): name for name in zone_names()}
    asked = text.strip().casefold().replace(" ", "_")
    if asked in names:
        return names[asked]
    cities: dict[str, list[str]] = {}
    for name in zone_names():
        cities.setdefault(name.rpartition("/")[2].casefold(), []).append(name)
    found = [name for name in cities.get(asked, []) if "/" in name]
    if len(found) == 1:
        return found[0]
    near = found or [names[one] for one in get_close_matches(asked, names, n=3, cutoff=0.75)]
    near = near or [name for city in get_close_matches(asked, cities, n=3, cutoff=0.75) for name in cities[city]]
    listed = " or ".join(f'"{name}"' for name in near[:3])
    hint = f"did you mean {listed}?" if near else 'write one such as "Europe/Amsterdam"'
    raise ValueError(f'there is no time zone "{clip(text)}"; {hint}')


def read_country(text: str) -> str:
    """Return a country with known public holidays, from its two letters or its English name.

    Raises
    ------
    ValueError
        None is known under that name.

    Examples
    --------
    >>> read_country("nl"), read_country("Netherlands"), read_country("UK")
    ('NL', 'NL', 'GB')
    """
    asked = text.strip()
    by_name = {name.casefold(): code for code, name in country_names().items()} | _OTHER_NAMES
    code = by_name.get(asked.casefold(), asked.upper())
    if len(code) != 2:
        near = get_close_matches(asked.casefold(), by_name, n=1)
        hint = f'did you mean {by_name[near[0]]} ("{near[0]}")?' if near else 'write its two letters, such as "NL"'
        raise ValueError(f'no country is called "{clip(asked)}"; {hint}')
    if fault := unknown_country(code):
        raise ValueError(fault.replace(', or list own days under "days"', ""))
    return code


def regions(country: str) -> tuple[str, ...]:
    """Return the regions of a country with holidays of their own; none is an empty tuple."""
    return tuple(public.list_supported_countries(include_aliases=False).get(country, ()))


def read_region(country: str, text: str) -> str:
    """Return a region of a country from its code or its name.

    Raises
    ------
    ValueError
        The country has none of that name.

    Examples
    --------
    >>> read_region("US", "Vermont"), read_region("us".upper(), "vt")
    ('VT', 'VT')
    """
    asked = text.strip()
    names = {code.casefold(): code for code in regions(country)}
    aliases = getattr(getattr(public, country, None), "subdivisions_aliases", {})
    names |= {name.casefold(): code for name, code in aliases.items()}
    code = names.get(asked.casefold(), asked)
    if fault := unknown_region(country, code):
        raise ValueError(fault)
    return code
