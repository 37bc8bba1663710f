"""Quantities as people write them, read and shown; kept as one number in one unit.

A job file says ``13 mm``, ``1/2 in`` or ``7 ft 6 in``; the program keeps a
float in the unit its kind is named after (:mod:`curing.model.kinds`). A number
without a unit is refused, because 13 may be millimetres or inches. Messages
hold only ``what; the limit; what to do``: whoever reads the file adds where
and which thing.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Annotated, Any, Literal

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, core_schema

from curing.model.kinds import COMPASS, KINDS, Kind, KindName

Units = Literal["metric", "us"]

_RATIOS = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_SAME = str.maketrans(
    {"²": "2", "³": "3", "−": "-", "″": '"', "”": '"', "′": "'", "’": "'", "º": "°", "⁄": "/"}
    | {sign: f" {ratio}" for sign, ratio in _RATIOS.items()}
)
_NUMBER = r"[0-9]+[ -][0-9]+/[0-9]+|[0-9]+/[0-9]+|[0-9]+(?:\.[0-9]+)?|\.[0-9]+"
_BARE = re.compile(rf"[+-]? ?(?:{_NUMBER})")
_PART = re.compile(rf" ?({_NUMBER}) ?([^0-9\s.,+-]\S*)")
_PART_OF_SUM = re.compile(rf" ?({_NUMBER}) ?([^0-9\s.,+-]+)")
_LONGEST = 60  # characters: no quantity needs more, and it keeps messages and fractions short


def parse(
    text: object,
    kind: KindName,
    *,
    low: float | None = None,
    high: float | None = None,
    zero: bool | None = None,
) -> float:
    """Return a quantity as a number in the unit of its kind, an int where only whole ones are allowed.

    Parameters
    ----------
    text
        What stands in the file: ``13 mm``, ``1 1/2 in``, ``7 ft 6 in``, ``SW``.
    kind
        One of :data:`curing.model.kinds.KINDS`; its name tells the unit of the result.
    low, high
        Least and greatest value allowed, in that unit; the kind's own if None.
    zero
        Whether 0 is allowed; the kind's own if None.

    Raises
    ------
    ValueError
        No unit, another unit, not a number, or outside the limits.

    Examples
    --------
    >>> parse("1 1/2 in", "length_mm"), parse("7 ft 6 in", "length_m"), parse("46.4 °F", "temperature_c")
    (38.1, 2.286, 8.0)
    >>> parse(13, "length_mm")
    Traceback (most recent call last):
    ...
    ValueError: 13 has no unit; write "13 mm" or "1/2 in"
    """
    spec = KINDS[kind]
    if not isinstance(text, str):
        raise ValueError(_not_text(text, spec))
    shown, plain = f'"{clip(text)}"', _plain(text)
    if kind == "angle_deg" and plain.upper() in COMPASS:
        return COMPASS.index(plain.upper()) * 22.5
    if len(text) > _LONGEST or not plain:
        raise ValueError(f"{shown} is not {spec.label}; write {_ways(spec)}")
    if _BARE.fullmatch(plain):
        raise ValueError(_no_unit(plain, spec))
    if re.match(r"[+-]?[0-9]*,[0-9]", plain):
        raise ValueError(f"{shown} has a comma; write {_without_comma(plain)}")
    sign = -1 if plain.startswith("-") else 1
    exact = sign * _sum_of_parts(plain.lstrip("+-").lstrip(), spec, shown)
    if kind == "temperature_c" and plain.lower().endswith("f"):
        exact -= Fraction(160, 9)
    if spec.whole and exact.denominator != 1:
        raise ValueError(f"{shown} is not a whole number of {spec.unit}; write {_ways(spec)}")
    low, high = spec.low if low is None else low, spec.high if high is None else high
    _within(float(exact), spec, shown, low, high, spec.zero if zero is None else zero)
    if spec.whole:
        return int(exact)
    return float(exact) % 360 if kind == "angle_deg" else float(exact)


def clip(text: str, most: int = 40) -> str:
    r"""Return text fit to stand in a message: short, without line breaks or control characters.

    Examples
    --------
    >>> clip("two\nlines")
    'two\\nlines'
    """
    safe = "".join(c if c.isprintable() else ascii(c)[1:-1] for c in text[: most + 1])
    return safe if len(safe) <= most else safe[: most - 1] + "…"


def _plain(text: str) -> str:
    """Return the text with one spelling for fractions, signs and units of area, in single spaces."""
    text = " ".join(text[: _LONGEST + 1].translate(_SAME).split())
    text = re.sub(r"\b(?:sq\.?|square) ?(?:ft|feet|foot)\b\.?", "ft2", text, flags=re.I)
    text = re.sub(r"\b(?:sq\.?|square) ?(?:m|metres?|meters?)\b", "m2", text, flags=re.I)
    text = re.sub(r" ?/ ?(100)? ?(?=[a-z])", r"/\1", text, flags=re.I)
    return re.sub(r"° (?=[CF]$)", "°", text, flags=re.I)


def _ways(spec: Kind) -> str:
    return " or ".join(f'"{example}"' for example in spec.examples)


def _no_unit(number: str, spec: Kind) -> str:
    space = "" if spec.unit == "°" else " "
    return f'{number} has no unit; write "{number}{space}{spec.unit}" or "{spec.examples[1]}"'


def _without_comma(plain: str) -> str:
    """Return what 2,4 or 1,000 may have been meant to be."""
    ways = [plain.replace(",", ".")] if plain.count(",") == 1 and "." not in plain else []
    if re.match(r"[+-]?[0-9]{1,3}(,[0-9]{3})+(?![0-9])", plain):
        ways.append(plain.replace(",", ""))
    return " or ".join(f'"{clip(way)}"' for way in ways) or "a point for decimals and nothing for thousands"


def _not_text(value: object, spec: Kind) -> str:
    if isinstance(value, int | float) and not isinstance(value, bool) and abs(value) < 1e15:
        return _no_unit(f"{value:.10g}", spec)
    word = {bool: str(value).lower(), list: "a list", dict: "a mapping", type(None): "nothing"}
    return f"{word.get(type(value), 'this number')} is not {spec.label}; write {_ways(spec)}"


def _sum_of_parts(plain: str, spec: Kind, shown: str) -> Fraction:
    """Return ``7 ft 6 in`` in the unit of its kind."""
    total, last, at = Fraction(0), None, 0
    while at < len(plain):
        match = (_PART_OF_SUM if spec.compound else _PART).match(plain, at)
        if not match or (at and not spec.compound):
            raise ValueError(f"{shown} is not {spec.label}; write {_ways(spec)}")
        number, unit, at = match[1], match[2], match.end()
        factor = spec.factors.get(unit.lower())
        if factor is None:
            known = ", ".join(dict.fromkeys(names.split()[0] for names in spec.units))
            raise ValueError(f'"{clip(unit)}" is not a unit for {spec.label} ({known}); write {_ways(spec)}')
        if last is not None and factor >= last:
            raise ValueError(f"{shown} has its units in the wrong order; write {_ways(spec)}")
        total, last = total + _number(number, shown) * factor, factor
    return total


def _number(text: str, shown: str) -> Fraction:
    whole, _, rest = text.replace("-", " ").partition(" ")
    try:
        return Fraction(whole) + Fraction(rest or 0)
    except ZeroDivisionError:
        raise ValueError(f"{shown} divides by 0; write the number again") from None


def _within(value: float, spec: Kind, shown: str, low: float, high: float, zero: bool) -> None:
    if value == 0 and low <= 0 <= high and not zero:
        raise ValueError(f'{shown} is nothing; write more than 0, for instance "{spec.examples[0]}"')
    if low <= value <= high:
        return
    if not shown.lower().endswith(f'{spec.unit.lower()}"'):
        shown += f" ({value:.6g} {spec.unit})"
    if value > high:
        limit = f"more than {high:g} {spec.unit}, the most allowed"
    else:
        limit = "less than 0" if low == 0 else f"less than {low:g} {spec.unit}, the least allowed"
    raise ValueError(f"{shown} is {limit}; check number and unit")


def show(value: float, kind: KindName, units: Units = "metric", *, limits: Iterable[float] = ()) -> str:
    """Return a quantity for a reader, in metric or US units.

    Rounding never crosses 0 or one of ``limits`` (in the unit of the kind): a
    value above a limit is given as many digits as it takes to look above it.
    :func:`parse` reads every text that comes out.

    Raises
    ------
    ValueError
        The value is not a finite number, or beyond any size.

    Examples
    --------
    >>> show(13, "length_mm"), show(13, "length_mm", "us"), show(2.286, "length_m", "us")
    ('13 mm', '1/2 in', '7 ft 6 in')
    >>> show(20.4, "percent"), show(19.98, "percent"), show(19.98, "percent", limits=[20])
    ('20.4 %', '20 %', '19.98 %')
    """
    if not abs(value) < 1e12:
        raise ValueError(f"{value} can't be shown as {KINDS[kind].label}")
    sides = [(limit, side) for limit in (0.0, *limits) if (side := _side(value, limit))]
    roundings = list(_roundings(value, kind, units))
    fit = (text for near, text in roundings if all(_side(near, limit) == side for limit, side in sides))
    return next(fit, roundings[-1][1])


def _side(value: float, limit: float) -> int:
    """Return 1 above, -1 below, 0 at the limit (as far as floats can tell)."""
    if math.isclose(value, limit, rel_tol=1e-9, abs_tol=1e-9):
        return 0
    return 1 if value > limit else -1


def _roundings(value: float, kind: KindName, units: Units) -> Iterator[tuple[float, str]]:
    """Yield a value rounded ever finer, with its text."""
    spec = KINDS[kind]
    unit, decimals = spec.metric if units == "metric" else spec.us
    factor = float(spec.factors[unit.lower().replace(" ", "")])
    if unit == "in":
        for parts in (16, 32, 64):
            count = round(value / factor * parts)
            yield count / parts * factor, _feet_and_inches(count, parts, feet=False)
    if unit == "ft" and kind == "length_m" and abs(value) < 100 * factor:
        for parts in (1, 16):
            count = round(value / factor * 12 * parts)
            yield count / parts / 12 * factor, _feet_and_inches(count, parts, feet=True)
    if kind == "duration_min" and value >= 120:
        hours, minutes = divmod(round(value), 60)
        yield round(value), f"{hours} h {minutes} min" if minutes else f"{hours} h"
    zero_at = 32 if kind == "temperature_c" and unit == "°F" else 0
    for digits in range(decimals, 10):
        number = f"{value / factor + zero_at:.{digits}f}"
        number = number.rstrip("0").rstrip(".") if "." in number else number
        number = "0" if number == "-0" else number
        yield (float(number) - zero_at) * factor, f"{number}{'' if unit == '°' else ' '}{unit}"


def _feet_and_inches(count: int, parts: int, *, feet: bool) -> str:
    """Return a count of parts of an inch as ``7 ft 6 in`` or ``1 1/2 in``."""
    inches, rest = divmod(abs(count), parts)
    foot, inches = divmod(inches, 12) if feet else (0, inches)
    ratio = str(Fraction(rest, parts)) if rest else ""
    number = " ".join([str(inches)] * bool(inches) + [ratio] * bool(ratio))
    words = [f"{foot} ft"] * bool(foot) + [f"{number} in"] * bool(number)
    return ("-" if count < 0 else "") + (" ".join(words) or ("0 ft" if feet else "0 in"))


@dataclass(frozen=True)
class Quantity:
    """Mark of a pydantic field that is written with its unit in a file.

    ``Annotated[float, Quantity("length_mm", high=50)]`` reads the text and
    keeps the float; its JSON Schema asks for text and shows examples.
    """

    kind: KindName
    low: float | None = None
    high: float | None = None
    zero: bool | None = None

    def read(self, text: Any) -> float:
        """Return :func:`parse` of the text within these limits."""
        return parse(text, self.kind, low=self.low, high=self.high, zero=self.zero)

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_before_validator_function(self.read, handler(source))

    def __get_pydantic_json_schema__(self, _: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        spec = KINDS[self.kind]
        low = spec.low if self.low is None else self.low
        high = spec.high if self.high is None else self.high
        text = f"{spec.label} with its unit, from {low:g} to {high:g} {spec.unit}"
        return {"type": "string", "description": text, "examples": list(spec.examples)}


LengthMM = Annotated[float, Quantity("length_mm")]
HeightM = Annotated[float, Quantity("length_m", high=100)]
AltitudeM = Annotated[float, Quantity("length_m", low=-430, zero=True)]
AreaM2 = Annotated[float, Quantity("area_m2")]
DensityKgM3 = Annotated[float, Quantity("density_kg_m3")]
DurationMin = Annotated[float, Quantity("duration_min")]
Days = Annotated[int, Quantity("days")]
Percent = Annotated[float, Quantity("percent")]
AngleDeg = Annotated[float, Quantity("angle_deg")]
