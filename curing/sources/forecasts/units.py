"""Units in which weather is told, and what they are in ours (``model.weather.VARIABLES``).

Factors are exact by definition of the units (mile, knot, inch, Fahrenheit: NIST SP 811, appendix B).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import NamedTuple


class Change(NamedTuple):
    """Ours = theirs x ``factor`` + ``offset``."""

    factor: float = 1.0
    offset: float = 0.0


_TEMPERATURE = {
    "°c": Change(),
    "°f": Change(5 / 9, -160 / 9),
    "k": Change(1.0, -273.15),
}
_HOURS_ENERGY = 1 / 3600  # what an hour's energy [J/m2] is as a mean [W/m2]

UNITS: Mapping[str, Mapping[str, Change]] = {
    "temperature": _TEMPERATURE,
    "dew_point": _TEMPERATURE,
    "humidity": {"%": Change(), "1": Change(100.0)},
    "wind": {
        "m/s": Change(),
        "km/h": Change(1 / 3.6),
        "mph": Change(0.44704),
        "kn": Change(1852 / 3600),
    },
    "direction": {"°": Change()},
    "rain": {"mm": Change(), "cm": Change(10.0), "in": Change(25.4)},
    "radiation": {
        "w/m2": Change(),
        "wh/m2": Change(),
        "kwh/m2": Change(1000.0),
        "j/m2": Change(_HOURS_ENERGY),
        "kj/m2": Change(1e3 * _HOURS_ENERGY),
        "mj/m2": Change(1e6 * _HOURS_ENERGY),
        "j/cm2": Change(1e4 * _HOURS_ENERGY),
    },
    "cloud": {"1": Change(), "%": Change(0.01), "okta": Change(0.125)},
}
"""Variable → unit → change. An energy is that of one hour."""

_SAME = {
    "celsius": "°c", "degc": "°c", "c": "°c", "degreescelsius": "°c", "ºc": "°c",
    "fahrenheit": "°f", "degf": "°f", "f": "°f", "ºf": "°f",
    "kelvin": "k",
    "percent": "%", "fraction": "1", "share": "1",
    "m_s-1": "m/s", "ms-1": "m/s", "ms": "m/s",
    "km_h-1": "km/h", "kmh-1": "km/h", "kmh": "km/h", "kph": "km/h",
    "mp/h": "mph", "mi_h-1": "mph", "kt": "kn", "kts": "kn", "knots": "kn", "knot": "kn",
    "degrees": "°", "degree": "°", "deg": "°", "degree_(angle)": "°", "º": "°",
    "l/m2": "mm", "kg/m2": "mm", "kg_m-2": "mm", "inch": "in", "inches": "in",
    "w_m-2": "w/m2", "wm-2": "w/m2",
    "oktas": "okta", "okta(s)": "okta",
}  # fmt: skip


def change(variable: str, unit: object) -> Change | None:
    """Return how values in a unit become ours; None for a unit that is not known.

    Examples
    --------
    >>> change("wind", "wmoUnit:km_h-1").factor * 36, change("radiation", "W/m²"), change("rain", "°C")
    (10.0, Change(factor=1.0, offset=0.0), None)
    """
    if not isinstance(unit, str) or len(unit) > 40:
        return None
    plain = re.sub(r"^(wmounit|nwsunit|unit|uc):", "", unit.strip().lower().replace("²", "2").replace(" ", ""))
    plain = plain.replace("⁻1", "-1")
    return UNITS[variable].get(_SAME.get(plain, plain))


def known(variable: str) -> str:
    """Return the units of a variable, for a message.

    Examples
    --------
    >>> known("temperature")
    '°C, °F, K'
    """
    nice = {"°c": "°C", "°f": "°F", "k": "K", "w/m2": "W/m2", "wh/m2": "Wh/m2", "kwh/m2": "kWh/m2",
            "j/m2": "J/m2", "kj/m2": "kJ/m2", "mj/m2": "MJ/m2", "j/cm2": "J/cm2"}  # fmt: skip
    return ", ".join(nice.get(unit, unit) for unit in UNITS[variable])
