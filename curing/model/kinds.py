"""The kinds of quantity a file may hold: their units, limits and how they are shown.

Conversion factors are exact by definition [1]_. Limits only catch slips of the
pen (13 m for 13 mm); the rules of the trade stand in the coat systems.

References
----------
.. [1] NIST SP 811 (2008), Guide for the Use of the SI, appendix B.8
   (in = 25.4 mm, lb = 0.45359237 kg, US gal = 231 in3, mi = 1609.344 m).
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Literal

KindName = Literal[
    "length_mm", "length_m", "area_m2", "area_per_area", "temperature_c", "difference_k", "parts", "volume_l",
    "volume_l_per_m2", "volume_l_per_m3", "mass_kg",
    "mass_kg_per_m2", "density_kg_m3", "rate_m2_per_min", "output_m2_per_day", "labour_h_per_m2",
    "duration_min", "duration_h", "days", "days_per_mm", "percent", "speed_m_s", "angle_deg",
    "irradiance_w_m2",
]  # fmt: skip


@dataclass(frozen=True)
class Kind:
    """What one kind of quantity may look like.

    Parameters
    ----------
    label
        What it is, with its article, for messages.
    unit
        The unit kept in memory.
    units
        Spellings (lower case, apart by spaces) and how many of ``unit`` one of them is.
    examples
        A metric and another way to write one.
    low, high
        Least and greatest value, in ``unit``, both allowed, but 0 only if ``zero``.
    metric, us
        The unit and the decimals in which a value is shown to a reader.
    zero
        Whether 0 is allowed.
    compound
        Whether parts add up: ``7 ft 6 in``.
    whole
        Whether only whole numbers of ``unit`` are allowed.
    """

    label: str
    unit: str
    units: dict[str, Fraction]
    examples: tuple[str, str]
    low: float
    high: float
    metric: tuple[str, int]
    us: tuple[str, int]
    zero: bool = False
    compound: bool = False
    whole: bool = False

    @cached_property
    def factors(self) -> dict[str, Fraction]:
        """Return each spelling with its factor."""
        return {name: factor for names, factor in self.units.items() for name in names.split()}


ONE = Fraction(1)
IN, FT = Fraction("25.4"), Fraction("304.8")
FT2, FT3 = (FT / 1000) ** 2, (FT / 1000) ** 3
POUND, GALLON = Fraction("0.45359237"), Fraction("3.785411784")
HOURS_A_MINUTE = Fraction(1, 60)

_MM = {"mm": ONE, "cm": Fraction(10), "m": Fraction(1000), 'in inch inches "': IN, "ft foot feet '": FT}
_M = {names: factor / 1000 for names, factor in _MM.items()}
_H = {"min mins minute minutes": HOURS_A_MINUTE, "h hr hrs hour hours": ONE}
_MIN = {names: factor * 60 for names, factor in _H.items()}
_DAYS = {"d day days": ONE, "w wk week weeks": Fraction(7)}
_WATER = {"l/m2": ONE, "gal/ft2": GALLON / FT2, "gal/100ft2": GALLON / FT2 / 100}
_MIXED = {"l/m3": ONE, "gal/ft3": GALLON / FT3}
_PACE = {"m2/min": ONE, "ft2/min": FT2, "m2/h": HOURS_A_MINUTE, "ft2/h": FT2 / 60}
_LABOUR = {"h/m2": ONE, "min/m2": HOURS_A_MINUTE, "h/ft2": 1 / FT2, "h/100ft2": 1 / FT2 / 100}
_SPEED = {"m/s": ONE, "km/h kmh kph": Fraction(5, 18), "mph mi/h": Fraction("0.44704")}
_PER_MM = {"d/mm day/mm days/mm": ONE, "d/in day/in days/in": 1 / IN}
# A litre of water is taken as a kilogram: what the air takes is spoken of in both.
_AREAL = {"kg/m2 l/m2": ONE, "lb/ft2 psf": POUND / FT2}
_CELSIUS = {"°c c degc": ONE, "°f f degf": Fraction(5, 9)}

KINDS: dict[KindName, Kind] = {
    "length_mm": Kind(
        "a length", "mm", _MM, ("13 mm", "1/2 in"), 0, 5000, ("mm", 1), ("in", 3), compound=True
    ),
    "length_m": Kind("a length", "m", _M, ("2.4 m", "8 ft"), 0, 9000, ("m", 2), ("ft", 0), compound=True),
    "area_m2": Kind(
        "an area", "m2", {"m2": ONE, "ft2": FT2}, ("10 m2", "108 ft2"), 0, 10_000, ("m2", 1), ("ft2", 0)
    ),
    "area_per_area": Kind(
        "cloth for an area", "m2/m2", {"m2/m2 ft2/ft2": ONE}, ("1.3 m2/m2", "1.3 ft2/ft2"), 0, 10, ("m2/m2", 2),
        ("ft2/ft2", 2),
    ),
    "temperature_c": Kind(
        "a temperature", "°C", _CELSIUS, ("8 °C", "46 °F"), -60, 80, ("°C", 1), ("°F", 0), zero=True
    ),
    "difference_k": Kind(
        "a temperature difference", "K", {"k": ONE, **_CELSIUS}, ("3 K", "5.4 °F"), 0, 50, ("K", 1),
        ("°F", 1), zero=True,
    ),
    "parts": Kind(
        "a number of parts", "parts", {"parts part": ONE}, ("8 parts", "1.33 parts"), 0, 1000, ("parts", 2),
        ("parts", 2),
    ),
    "volume_l": Kind("a volume", "L", {"l": ONE, "gal": GALLON}, ("15 L", "5 gal"), 0, 100_000, ("L", 1), ("gal", 2)),
    "volume_l_per_m2": Kind(
        "water per area", "L/m2", _WATER, ("0.3 L/m2", "0.74 gal/100 ft2"), 0, 50, ("L/m2", 2),
        ("gal/100 ft2", 2),
    ),
    "volume_l_per_m3": Kind(
        "a volume in a cubic metre", "L/m3", _MIXED, ("230 L/m3", "1.7 gal/ft3"), 0, 2000, ("L/m3", 0),
        ("gal/ft3", 2),
    ),
    "mass_kg": Kind(
        "a mass", "kg", {"kg": ONE, "lb lbs": POUND}, ("25 kg", "55 lb"), 0, 100_000, ("kg", 1), ("lb", 0)
    ),
    "mass_kg_per_m2": Kind(
        "a mass per area", "kg/m2", _AREAL, ("2.5 kg/m2", "0.51 lb/ft2"), 0, 500, ("kg/m2", 1), ("lb/ft2", 2),
        zero=True,
    ),
    "density_kg_m3": Kind(
        "a density", "kg/m3", {"kg/m3": ONE, "lb/ft3 pcf": POUND / FT3}, ("640 kg/m3", "40 lb/ft3"), 1, 5000,
        ("kg/m3", 0), ("lb/ft3", 1),
    ),
    "rate_m2_per_min": Kind(
        "a rate of work", "m2/min", _PACE, ("3 m2/min", "32 ft2/min"), 0, 100, ("m2/min", 2), ("ft2/min", 1)
    ),
    "output_m2_per_day": Kind(
        "an area in a day", "m2/d", {"m2/d m2/day": ONE, "ft2/d ft2/day": FT2}, ("8 m2/d", "86 ft2/d"), 0,
        5000, ("m2/d", 1), ("ft2/d", 0),
    ),
    "labour_h_per_m2": Kind(
        "labour per area", "h/m2", _LABOUR, ("1 h/m2", "9.3 h/100 ft2"), 0, 100, ("h/m2", 2),
        ("h/100 ft2", 1),
    ),
    "duration_min": Kind(
        "a duration", "min", _MIN, ("75 min", "1 h 15 min"), 0, 10_080, ("min", 0), ("min", 0), compound=True
    ),
    "duration_h": Kind(
        "a duration", "h", {**_H, "d day days": Fraction(24)}, ("24 h", "1 h 30 min"), 0, 10_000, ("h", 1),
        ("h", 1), compound=True,
    ),
    "days": Kind(
        "a number of days", "d", _DAYS, ("13 d", "4 weeks"), 0, 3650, ("d", 0), ("d", 0), compound=True,
        whole=True,
    ),
    "days_per_mm": Kind(
        "days per thickness", "d/mm", _PER_MM, ("1 d/mm", "7 d/in"), 0, 100, ("d/mm", 2), ("d/in", 1)
    ),
    "percent": Kind(
        "a percentage", "%", {"% percent": ONE}, ("25 %", "20.4 %"), 0, 100, ("%", 1), ("%", 1), zero=True
    ),
    "speed_m_s": Kind(
        "a speed", "m/s", _SPEED, ("8 m/s", "18 mph"), 0, 100, ("km/h", 0), ("mph", 0), zero=True
    ),
    "angle_deg": Kind(
        "a direction", "°", {"° deg degrees": ONE}, ("275°", "SW"), 0, 360, ("°", 0), ("°", 0), zero=True
    ),
    "irradiance_w_m2": Kind(
        "the sun on a face", "W/m2", {"w/m2": ONE}, ("200 W/m2", "600 W/m2"), 0, 1500, ("W/m2", 0),
        ("W/m2", 0), zero=True,
    ),
}  # fmt: skip

COMPASS = ("N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW")
