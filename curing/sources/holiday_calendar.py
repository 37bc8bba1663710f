"""Public holidays and own days without coats, as one calendar of days and their names."""

from __future__ import annotations

import difflib
import sys
from collections.abc import Iterable, Iterator, Mapping
from datetime import date, timedelta
from importlib.util import find_spec, module_from_spec

import holidays as public
from holidays.registry import COUNTRIES

from curing.model.job import Holidays
from curing.model.quantities import clip

OWN_DAY = "own day"

# Codes that people write for the one of ISO 3166-1; the user-assigned and reserved ones are not in it.
_MEANT = {"UK": "GB", "EN": "GB", "EL": "GR", "HO": "NL", "SP": "ES"}


# The package of countries imports all 250 of them, 0.14 s of every command, to give one: so it stands here empty,
# and a country's own module is found by its path alone.
if (_all := find_spec("holidays.countries")) is not None:
    sys.modules.setdefault("holidays.countries", module_from_spec(_all))


def non_working(given: Holidays, years: Iterable[int]) -> Mapping[date, str]:
    """Return the days without coats in some years, by date, each with its English name.

    Public holidays of the country (and region) and own days, less those that
    the file says are worked. Weekends are not in it: they are the working
    week's affair, and a holiday on a Sunday stays a holiday.

    Parameters
    ----------
    given
        The job's ``holidays:``; without a country there are only own days.
    years
        Calendar years to list.

    Examples
    --------
    >>> days = non_working(Holidays(country="NL"), [2027])
    >>> days[date(2027, 4, 27)]
    "King's Day"
    """
    wanted = set(years)
    names = {day: OWN_DAY for span in given.days for day in _days(span, wanted) if day.year in wanted}
    if given.country:
        names |= _public(given.country, given.region, wanted)
    worked = set(given.worked)
    return {day: names[day] for day in sorted(names) if day not in worked}


def _days(span: tuple[date, date], years: set[int]) -> Iterator[date]:
    """Return the days of a span, from the first of some years to the last of them."""
    first, last = span
    if years:
        first, last = max(first, date(min(years), 1, 1)), min(last, date(max(years), 12, 31))
    return (first + timedelta(days=n) for n in range((last - first).days + 1))


def _public(country: str, region: str | None, years: set[int]) -> dict[date, str]:
    language = next((tongue for tongue in _tongues(country) if tongue.startswith("en")), None)
    found = public.country_holidays(country, subdiv=region, years=sorted(years), language=language)
    return {day: str(name) for day, name in found.items() if day.year in years}


def _tongues(country: str) -> tuple[str, ...]:
    """Return the languages the names of a country's holidays are known in; none given means English."""
    return tuple(public.country_holidays(country).supported_languages or ())


def unknown_country(code: str) -> str | None:
    """Return what is wrong with the code of a country, or None.

    Examples
    --------
    >>> unknown_country("UK")
    'no public holidays are known for "UK"; did you mean "GB"?'
    """
    if any(code == names[1] for names in COUNTRIES.values()):  # listing them all would import 250 modules, 0.14 s
        return None
    text = f'no public holidays are known for "{clip(code)}"'
    if code in _MEANT:
        return f'{text}; did you mean "{_MEANT[code]}"?'
    return f'{text}; write the two letters of ISO 3166-1, for instance "NL", or list own days under "days"'


def unknown_region(country: str, region: str) -> str | None:
    """Return what is wrong with the region of a known country, or None.

    Examples
    --------
    >>> unknown_region("AU", "NWS")
    '"NWS" is not a region of AU with holidays of its own; did you mean "NSW"?'
    """
    known = public.list_supported_countries(include_aliases=True).get(country, [])
    if region in known:
        return None
    text = f'"{clip(region)}" is not a region of {country} with holidays of its own'
    if not known:
        return f"{text}; it has none: take the region out"
    near = difflib.get_close_matches(region.upper(), known, n=1)
    if near:
        return f'{text}; did you mean "{near[0]}"?'
    return f"{text}; write one of: {', '.join(known)}"
