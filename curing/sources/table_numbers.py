"""Numbers of a table, with a decimal point or a decimal comma; what may be either is refused.

``10,8`` can only be a decimal comma, ``1,234.5`` only thousands. ``1,234`` may be either, and so
may ``1.234`` in a table whose other numbers have decimal commas: nobody guesses.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

_DIGITS = r"[0-9]+(?:[.,][0-9]+)*"
_FIRST_NUMBER = re.compile(rf"(?<![0-9A-Za-z/.,])({_DIGITS})(?![0-9/])")
_POINT = re.compile(r"[0-9]+\.[0-9]+")
_COMMA = re.compile(r"[0-9]+,[0-9]+")
_THREE = re.compile(r"[1-9][0-9]{0,2}[.,][0-9]{3}")


@dataclass(frozen=True, slots=True)
class Decimals:
    """How the numbers of one table are written, as far as one of them shows it."""

    comma: bool = False
    point: bool = False

    def plain(self, text: str) -> str:
        """Return a cell with its numbers written with a decimal point and nothing for thousands.

        Raises
        ------
        ValueError
            A number that may be a decimal or thousands.

        Examples
        --------
        >>> Decimals(comma=True).plain("10,8 m2"), Decimals().plain("1.234,5"), Decimals().plain("7 ft 6 in")
        ('10.8 m2', '1234.5', '7 ft 6 in')
        >>> Decimals().plain("1,234")
        Traceback (most recent call last):
        ...
        ValueError: "1,234" may be 1.234 or 1234; write it as one of them
        """
        return _FIRST_NUMBER.sub(lambda match: self._one(match[1]), text)

    def _one(self, number: str) -> str:
        marks = [sign for sign in number if not sign.isdigit()]
        if not marks:
            return number
        if len(set(marks)) > 1:
            return _mixed(number, marks)
        mark = marks[0]
        if len(marks) > 1:
            return _thousands(number, mark)
        if _THREE.fullmatch(number) and (mark != "." or self.comma):
            whole, part = number.split(mark)
            raise ValueError(f'"{number}" may be {whole}.{part} or {whole}{part}; write it as one of them')
        return number.replace(mark, ".")


def _mixed(number: str, marks: list[str]) -> str:
    """Return a number with thousands and decimals: the last mark stands before the decimals, once."""
    last = marks[-1]
    whole, _, part = number.rpartition(last)
    rest = set(marks[:-1])
    if last in rest or len(rest) != 1 or not re.fullmatch(rf"[0-9]{{1,3}}({re.escape(rest.pop())}[0-9]{{3}})+", whole):
        raise ValueError(f'"{number}" is no number; write it with one decimal point')
    return f"{re.sub('[^0-9]', '', whole)}.{part}"


def _thousands(number: str, mark: str) -> str:
    if not re.fullmatch(rf"[0-9]{{1,3}}({re.escape(mark)}[0-9]{{3}})+", number):
        raise ValueError(f'"{number}" is no number; write it with one decimal point')
    return number.replace(mark, "")


def decimals_of(cells: Iterable[str], *, expect_comma: bool = False) -> Decimals:
    """Return how the numbers of some cells are written; ``expect_comma`` decides where none shows it.

    Examples
    --------
    >>> decimals_of(["north gable", "10,8 m2", "1,234"])
    Decimals(comma=True, point=False)
    """
    comma = point = False
    for cell in cells:
        for match in _FIRST_NUMBER.finditer(cell):
            number = match[1]
            sure = not _THREE.fullmatch(number)
            comma = comma or bool(sure and _COMMA.fullmatch(number))
            point = point or bool(sure and _POINT.fullmatch(number))
    return Decimals(comma or (expect_comma and not point), point)
