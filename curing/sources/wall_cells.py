"""Cells of a wall schedule as a job file writes them: measures with units, sides, directions, days, yes and no."""

from __future__ import annotations

import re
from collections.abc import Collection
from fractions import Fraction

from curing.model.job import Face, Panel
from curing.model.kinds import COMPASS
from curing.model.quantities import clip, parse
from curing.sources.answer_checks import field_fault
from curing.sources.table_numbers import Decimals
from curing.sources.wall_columns import UNITS

BLANK = frozenset({"", "-", "–", "—", "n/a", "na", "nil", "."})
"""Cells that say nothing."""

_SIDES = {
    "out": ("out", "o", "outside", "outer", "external", "exterior", "ext", "outdoors"),
    "in": ("in", "i", "inside", "inner", "internal", "interior", "int", "indoors"),
    "both": ("both", "both sides", "two", "2", "out in", "in out", "out and in", "in and out", "inside and outside",
             "outside and inside", "i o", "o i", "int ext", "ext int", "b"),
}  # fmt: skip
_SIDE = {name: side for side, names in _SIDES.items() for name in names}
_YES = frozenset({"yes", "y", "true", "x", "✓", "✔", "1", "on", "done", "ok"})
_NO = frozenset({"no", "n", "false", "0", "off", "none", "not yet"})

_POINTS = {"north": "N", "east": "E", "south": "S", "west": "W"}
_UNIT_OF = {name: unit for unit, names in UNITS.items() for name in names}
_TRAILING = re.compile(r"(.*[0-9]) ?([^0-9]+)")
_BARE = re.compile(r"[0-9]+(?:\.[0-9]+)?|\.[0-9]+|[0-9]+[ -][0-9]+/[0-9]+|[0-9]+/[0-9]+")
_TIMES = re.compile(r"\s*[x×*]\s*", re.I)
_METRIC = ("mm", "cm", "m")


class NoUnitError(ValueError):
    """A number without a unit in a column whose header has none: told once a column."""


def blank(cell: str) -> bool:
    """Tell whether a cell says nothing."""
    return cell.casefold() in BLANK


def measure(cell: str, unit: str, decimals: Decimals) -> str:
    """Return a measure with a decimal point and its unit: its own, or else that of its column.

    Raises
    ------
    NoUnitError
        Neither has a unit.
    ValueError
        A number that may be decimal or thousands.

    Examples
    --------
    >>> measure("10,8", "m2", Decimals(comma=True)), measure("410 sf", "m2", Decimals())
    ('10.8 m2', '410 ft2')
    >>> measure("12'-6", "", Decimals())
    "12' 6"
    """
    text = decimals.plain(re.sub(r"(?<=['’′a-z]) ?- ?(?=[0-9])", " ", cell))
    if _BARE.fullmatch(text):
        if not unit:
            raise NoUnitError
        return f"{text}{'' if unit == '°' else ' '}{unit}"
    parts = _TRAILING.fullmatch(text)
    known = _UNIT_OF.get(parts[2].strip(" .").casefold().replace("²", "2"), "") if parts else ""
    if not parts or not known or parts[2].strip() in ("'", '"'):
        return text
    return f"{parts[1].strip()}{'' if known == '°' else ' '}{known}"


def direction(cell: str, decimals: Decimals) -> str:
    """Return a direction: ``N`` to ``NNW``, or degrees from north.

    Examples
    --------
    >>> direction("North-east", Decimals()), direction("nnw", Decimals()), direction("84", Decimals())
    ('NE', 'NNW', '84°')
    """
    letters = re.sub(r"north|east|south|west", lambda m: _POINTS[m[0]], cell.casefold())
    letters = re.sub(r"(facing|elevation|side|[\s./-])", "", letters).upper()
    return letters if letters in COMPASS else measure(cell, "°", decimals)


def side_of(cell: str) -> str:
    """Return ``out``, ``in`` or ``both``; nothing for another word.

    Examples
    --------
    >>> side_of("Ext."), side_of("In & out"), side_of("top")
    ('out', 'both', '')
    """
    return _SIDE.get(" ".join(re.sub(r"[^a-z0-9]+", " ", cell.casefold().replace("&", " and ")).split()), "")


def yes_or_no(cell: str) -> bool | None:
    """Return what a cell answers; None for another word."""
    word = cell.casefold().strip(" .")
    return True if word in _YES else False if word in _NO else None


def product(width: str, height: str) -> str:
    """Return the area of two lengths, each with its unit, in the family of units of the width.

    Rounded to 0.01 m2 or 0.1 ft2.

    Examples
    --------
    >>> product("4.0 m", "2.7 m"), product("12 ft 6 in", "9 ft")
    ('10.8 m2', '112.5 ft2')
    """
    lengths = [Fraction(parse(text, "length_m", high=1000)).limit_denominator(10**7) for text in (width, height)]
    area = lengths[0] * lengths[1]
    if any(width.casefold().endswith(unit) for unit in _METRIC):
        return f"{float(round(area, 2)):g} m2"
    return f"{float(round(area / Fraction('0.3048') ** 2, 1)):g} ft2"


def two_lengths(cell: str, unit: str, decimals: Decimals) -> tuple[str, str]:
    """Return width and height of ``4.0 x 2.7 m``; ValueError where there are not two.

    Examples
    --------
    >>> two_lengths("4.0 x 2.7 m", "", Decimals())
    ('4.0 m', '2.7 m')
    """
    parts = _TIMES.split(cell)
    if len(parts) != 2 or not all(parts):
        raise ValueError(f'"{clip(cell)}" is not width x height; write it as "4.0 m x 2.7 m"')
    second = measure(parts[1], unit, decimals)
    found = _TRAILING.fullmatch(second)
    return measure(parts[0], unit or (found[2].strip() if found else ""), decimals), second


def fault_of(field: str, value: str) -> str:
    """Return what the job file's reader would say of a value, or nothing."""
    model = Panel if field in ("thickness", "filled") else Face
    return field_fault(model, field, value)


def unknown_system(name: str, side: str, systems: Collection[str], for_side: Collection[str]) -> str:
    """Return what is wrong with a coat system on a side, or nothing."""
    if name not in systems:
        return f'unknown coat system "{clip(name)}"; write one of {", ".join(sorted(systems))}'
    if name not in for_side:
        where = "outside" if side == "out" else "inside"
        return f'coat system "{name}" is not for {where} faces; write one of {", ".join(sorted(for_side))}'
    return ""
