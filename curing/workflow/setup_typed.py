"""What was typed into a form of the job, made ready for the readers of its fields."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from curing.model.quantities import Units

UNITS: Mapping[str, tuple[str, str]] = {
    "area": ("m2", "ft2"),
    "height": ("m", "ft"),
    "altitude": ("m", "ft"),
    "thickness": ("mm", "in"),
    "least": ("%", "%"),
    "most": ("%", "%"),
    "longest_round": ("min", "min"),
    "facing": ("°", "°"),
}
"""Field → the unit that a number alone stands in, for a reader of metric and of US units."""

_ALONE = re.compile(r"[+-]?(?:[0-9]+(?:[.,][0-9]{1,2})?|[.,][0-9]+|(?:[0-9]+[ -])?[0-9]+/[0-9]+|[0-9]+\.[0-9]+)")


def unit_of(name: str, units: Units) -> str:
    """Return the unit of a number typed alone, or nothing where a field has none."""
    return UNITS[name][units == "us"] if name in UNITS else ""


def with_unit(name: str, text: str, units: Units) -> str:
    """Return what was typed into a field, a number alone with the unit that the page says it counts in.

    A comma with one or two figures after it is taken for a point; with three it may stand for thousands.

    Examples
    --------
    >>> with_unit("area", "13,6", "metric"), with_unit("thickness", "7 1/2", "us"), with_unit("height", "7 ft", "us")
    ('13.6 m2', '7 1/2 in', '7 ft')
    >>> with_unit("area", "1,000", "metric"), with_unit("name", "4", "metric")
    ('1,000', '4')
    """
    unit = unit_of(name, units)
    if not unit or not _ALONE.fullmatch(text):
        return text
    return f"{text.replace(',', '.')}{'' if unit == '°' else ' '}{unit}"


def chosen(picked: Sequence[str], before: str) -> str:
    """Return ticked boxes as they would be typed, in the order in which they stood; the same ones are the same text.

    Examples
    --------
    >>> chosen(["lead", "mists"], "mists, lead"), chosen(["wil", "tijn", "noor"], "noor, saar, wil")
    ('mists, lead', 'noor, wil, tijn')
    """
    old = [one.strip() for one in before.split(",") if one.strip()]
    kept = [one for one in old if one in picked]
    return ", ".join([*kept, *(one for one in dict.fromkeys(picked) if one not in old)])
