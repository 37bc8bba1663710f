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
    "weather.moment": "{day} {time}",
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
    # What the weather makes of a visit.
    "weather.advice.extra.demand": "One visit more: the air takes {value} from it {span}, two mists give less.",
    "weather.advice.shade.demand": "Cloth up first, and a visit more: the air takes {value} from it {span}.",
    "weather.advice.midday.gap": "Look at midday: the air takes {value} from it {span}, between two visits.",
    "weather.advice.midday.moved": "Look before noon: tonight is too cold for a late mist.",
    "weather.advice.look.little": "Look and feel first: the air takes only {value} from it {span}. Dark: leave it.",
    "weather.advice.frost.night": "No mist this evening: down to {value} {span}. Mist at 10 to 12 instead.",
    "weather.advice.frost.clear_night": (
        "No mist this evening: clear and down to {value} {span}, a wet face freezes. Mist at 10 to 12 instead."
    ),
    "weather.advice.cold.cold": "No water below {limit}: {value} {span}. Cover it; the cure rests.",
    "weather.advice.look": "Look first: it may still be dark.",
    # Covers, each with its up and its down.
    "weather.cover.frost": "Frost {span}: {value}, could be {could}. Cover it by {up}, air gap. Off from {down}.",
    "weather.cover.sheet": "Rain on it {span}, {value}. Sheets up by {up}, air gap. Down from {down}.",
    "weather.cover.cloth": "Sun on it {span}. Wet cloth up by {up}. Down from {down}.",
    "weather.cover.cloth.demand": (
        "Sun on it {span}, the air takes {value} that day. Wet cloth up by {up}. Down from {down}."
    ),
    "weather.cover.frost.bare": "Frost {span}: {value}, could be {could}.",
    "weather.cover.sheet.bare": "Rain on it {span}, {value}.",
    "weather.cover.cloth.bare": "Sun on it {span}.",
    "weather.cover.cloth.demand.bare": "Sun on it {span}, the air takes {value} that day.",
    "weather.cover.wind": "Take it down by {before}: {wind} and more later.",
    "weather.barred.tower": "Hang nothing on a mobile tower: wind takes it over. A fixed scaffold, or leave it bare.",
    "weather.barred.wind": "Wind of {wind} and more would take a cover down again: leave it bare, and tell the lead.",
}
