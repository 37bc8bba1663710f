"""What stands wherever weather is shown: who told it, and who may use it."""

from __future__ import annotations

from collections.abc import Mapping

WEATHER: Mapping[str, str] = {
    "weather.open_meteo_notice": (
        "Open-Meteo without a key is free for non-commercial use alone: a firm needs a paid plan (key_file under "
        "weather: in the settings), or another service (service: met-norway, or nws in the United States)."
    ),
    # When, by the clock of the site.
    "weather.span.day": "{day} {start} to {end}",
    "weather.span.days": "{day} {start} to {other} {end}",
    "weather.days": "{first} to {last}",
    # Why a coat can't be laid then.
    "weather.stop.cold": "down to {value} {span}; not laid below {limit}",
    "weather.stop.hot": "up to {value} {span}; not laid above {limit}",
    "weather.stop.falling": "air falling to {value} {span}; laid on falling air only from {limit} up",
    "weather.stop.humid": "humidity up to {value} {span}; not above {limit}",
    "weather.stop.rain_before": "face wet: rain on it {span}, {value} on this face",
    "weather.stop.rain": "rain on it {span}, {value} on this face",
    "weather.stop.frost_sure": "frost {span}: {value}, could be {could}",
    "weather.stop.frost": "frost {span}: {value}",
    "weather.stop.demand": "dries too fast {span}: the air takes {value}, bare faces are left from {limit} on",
    "weather.stop.sun": "sun on it {span} while it is fresh; cloth first",
    # What a rule is about, where it is not known.
    "weather.about.cold": "air temperature",
    "weather.about.hot": "air temperature",
    "weather.about.falling": "air temperature",
    "weather.about.humid": "humidity",
    "weather.about.rain_before": "rain before",
    "weather.about.rain": "rain",
    "weather.about.frost_sure": "frost",
    "weather.about.frost": "frost",
    "weather.about.demand": "what the air takes",
    "weather.about.sun": "sun",
    "weather.missing.one": "not known: {what}, {number} hour missing {span}",
    "weather.missing.many": "not known: {what}, {number} hours missing {span}",
}
