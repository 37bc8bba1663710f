"""What stands wherever weather is shown: who told it, and who may use it."""

from __future__ import annotations

from collections.abc import Mapping

WEATHER: Mapping[str, str] = {
    "weather.open_meteo_notice": (
        "Open-Meteo without a key is free for non-commercial use alone: a firm needs a paid plan (key_file under "
        "weather: in the settings), or another service (service: met-norway, or nws in the United States)."
    ),
    "weather.attribution": "{attribution}.",
}
