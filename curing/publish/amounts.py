"""Amounts of materials in the reader's units: kilograms or pounds, litres or US gallons, and what they are packed in.

Conversion factors are those of :mod:`curing.model.kinds` (NIST SP 811).
"""

from __future__ import annotations

from collections.abc import Mapping

from curing.model.kinds import FT2, FT3, GALLON, POUND
from curing.model.plan import Supply
from curing.publish.words import Words

CUBIC_YARD = float(27 * FT3)
"""[m³]"""

_US: Mapping[str, tuple[float, str]] = {
    "kg": (float(POUND), "lb"),
    "L": (float(GALLON), "gal"),
    "m2": (float(FT2), "ft2"),
}

WHOLE_FROM = 20
"""From so many on an estimate is shown without decimals."""


def converted(amount: float, unit: str, words: Words) -> tuple[float, str]:
    """Return an amount and its unit as the reader counts.

    Examples
    --------
    >>> converted(25.0, "kg", Words()), converted(45.359237, "kg", Words("us"))
    ((25.0, 'kg'), (100.0, 'lb'))
    """
    if words.units == "us" and unit in _US:
        factor, name = _US[unit]
        return round(amount / factor, 6), name
    return amount, unit


def said(amount: float, unit: str, words: Words) -> str:
    """Return an amount for a reader, rounded as an estimate is.

    Examples
    --------
    >>> said(1746.06, "kg", Words()), said(4.25, "kg", Words()), said(0.03, "kg", Words())
    ('1746 kg', '4.2 kg', '0.03 kg')
    """
    value, name = converted(amount, unit, words)
    if value >= WHOLE_FROM:
        return f"{value:.0f} {name}"
    return f"{round(value, 1):g} {name}" if value >= 1 else f"{value:.1g} {name}"


def size(amount: float, unit: str, words: Words) -> str:
    """Return what a pack holds: as it is printed on it, or that in pounds or gallons.

    Examples
    --------
    >>> size(25, "kg", Words()), size(12.5, "L", Words())
    ('25 kg', '12.5 L')
    """
    value, name = converted(amount, unit, words)
    return f"{value:.{3 if words.units == 'us' else 6}g} {name}"


def packs(supply: Supply, words: Words) -> str:
    """Return ``4 bags of 25 kg``, or how much room it takes where it comes loose, or nothing."""
    if supply.packs:
        kind = supply.pack_rule.partition(".")[2]
        held = size(supply.pack, supply.unit, words)
        return words.count(f"terminal.materials.pack.{kind}", supply.packs, size=held)
    if supply.loose and supply.unit == "kg":
        cubic = supply.loose / 1000
        yards = words.units == "us"
        room = f"{cubic / CUBIC_YARD:.2g} yd3" if yards else f"{cubic:.2g} m3"
        return words.say("terminal.materials.loose", size=room)
    return ""
