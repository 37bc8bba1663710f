"""Says what the weather makes of a visit: a few words beside it, or a whole sentence with its figures."""

from __future__ import annotations

from collections.abc import Iterable
from zoneinfo import ZoneInfo

from curing.model.plan import Care, Visit, VisitWeather
from curing.publish.weather_reasons import WeatherReasons
from curing.publish.words import Words


def short(words: Words, one: Visit) -> str:
    """Return a few words on what the weather makes of a visit, or nothing.

    Examples
    --------
    ``no water tonight: frost; look only`` · ``one more at midday: dry air takes 4.1 L/m²``
    """
    return "" if one.weather is None else words.say(f"visit.short.{_key(one.weather)}", **_figures(words, one.weather))


def whole(words: Words, one: Visit, zone: str) -> str:
    """Return the same as a sentence with the hours looked at and the limit, or nothing."""
    if one.weather is None:
        return ""
    span = WeatherReasons(words, ZoneInfo(zone)).span(one.weather.start, one.weather.end)
    return words.say(f"visit.whole.{_key(one.weather)}", span=span, **_figures(words, one.weather))


def shorts(words: Words, visits: Iterable[Visit]) -> list[str]:
    """Return what is said of the visits of a walk, each once, what holds water back first."""
    listed = sorted((one for one in visits if one.weather is not None), key=lambda one: not one.dry)
    return list(dict.fromkeys(short(words, one) for one in listed))


def no_water(words: Words, one: Visit) -> str:
    """Return why a visit has no water, in two or three words: ``frost tonight``; nothing where it has some."""
    if one.weather is None or not one.dry:
        return ""
    return words.say(f"visit.dry.{one.weather.advice}", **_figures(words, one.weather))


def care_of(one: Visit) -> Care:
    """Return what is done on a visit: without water it is looked at."""
    return Care.LOOK if one.dry else one.care


def _key(given: VisitWeather) -> str:
    return f"{given.advice}.look" if given.look and given.advice == "midday" else given.advice.value


def _figures(words: Words, given: VisitWeather) -> dict[str, str]:
    digits = 1 if round(given.value, 1) != round(given.limit, 1) else 2
    return {
        "value": words.figure(round(given.value, digits) + 0.0, given.kind),
        "limit": words.figure(given.limit, given.kind),
    }
