"""Text in a terminal: columns that stand under each other, lines that never pass the edge.

Widths are counted in cells: a sign of East Asian script takes two, an accent that joins
the sign before it takes none.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Sequence

WIDTH = 80
"""Cells of a line; nothing that is printed is wider."""

JOINERS = "\u200b\u200c\u200d\u2060"
"""Signs that are never seen."""

GAP = 2
"""Cells between two columns."""


def width(text: str) -> int:
    """Return the cells that text takes.

    Examples
    --------
    >>> width("north"), width("北"), width("e" + chr(0x301))
    (5, 2, 1)
    """
    return len(text) if text.isascii() else sum(map(_cells, text))


def _cells(sign: str) -> int:
    if unicodedata.category(sign) in ("Mn", "Me") or sign in JOINERS:
        return 0
    return 2 if unicodedata.east_asian_width(sign) in "WF" else 1


def fit(text: str, most: int) -> str:
    """Return text of at most so many cells, ended with … where some is missing.

    Examples
    --------
    >>> fit("road side, bay 3", 10), fit("short", 10)
    ('road side…', 'short')
    """
    if width(text) <= most:
        return text
    kept = list(_begin(text, most - 1))
    while kept and kept[-1] == "\u200d":  # a joiner with nothing after it would join the mark
        kept.pop()
    return "".join(kept).rstrip(" ,") + "…" if most > 0 else ""


def _begin(text: str, most: int) -> Iterable[str]:
    room = most
    for sign in text:
        room -= _cells(sign)
        if room < 0:
            return
        yield sign


def pad(text: str, cells: int) -> str:
    """Return text filled with spaces to so many cells."""
    return text + " " * max(0, cells - width(text))


def wrap(text: str, first: str = "", rest: str | None = None, most: int = WIDTH, *, whole: bool = False) -> list[str]:
    """Return text broken into lines at spaces.

    Parameters
    ----------
    first, rest
        What the first line and the others begin with; ``rest`` is as many spaces as ``first`` where None.
    most
        Cells of a line.
    whole
        Whether a word that is wider than a line stays whole, such as a path to be copied.

    Examples
    --------
    >>> wrap("13 days after the base coat", "why ", most=20)
    ['why 13 days after', '    the base coat']
    """
    rest = " " * width(first) if rest is None else rest
    lines: list[str] = []
    line, begun = first, False
    for word in text.split():
        if begun and width(line) + 1 + width(word) <= most:
            line += f" {word}"
            continue
        if begun:
            lines.append(line)
            line = rest
        while not whole and width(line) + width(word) > most and most - width(line) > 0:
            part = "".join(_begin(word, most - width(line)))
            if not part:
                break
            lines.append(line + part)
            line, word = rest, word[len(part) :]
        line += word
        begun = True
    return [one.rstrip() for one in [*lines, line]]


def table(
    rows: Iterable[Sequence[str]], least: Sequence[int], *, indent: int = 0, most: int = WIDTH, last: bool = False
) -> list[str]:
    """Return rows as lines whose columns stand under each other.

    Columns are as wide as what stands in them; where that is too much, the widest gives way,
    none below its ``least`` cells, and what does not fit is cut with ….

    Parameters
    ----------
    rows
        Cells; all rows have as many as ``least``.
    least
        Least cells of each column.
    indent
        Spaces before each line.
    last
        Whether the last column is broken into lines instead of cut.

    Examples
    --------
    >>> table([("road side", "base", "12 Jun"), ("yard", "finish", "3 May")], (4, 4, 5), most=22)
    ['road…   base    12 Jun', 'yard    finish  3 May']
    """
    rows = [tuple(row) for row in rows]
    if not rows:
        return []
    widths = [max(width(row[k]) for row in rows) for k in range(len(least))]
    room = most - indent - GAP * (len(least) - 1)
    while sum(widths) > room:
        spare = [(wide - low, k) for k, (wide, low) in enumerate(zip(widths, least, strict=True)) if wide > low]
        if not spare:
            break
        widths[max(spare, key=lambda one: (last and one[1] == len(least) - 1, *one))[1]] -= 1
    lines: list[str] = []
    for row in rows:
        head = " " * indent
        for cell, wide in zip(row[:-1], widths[:-1], strict=True):
            head += pad(fit(cell, wide), wide + GAP)
        if last:
            lines += wrap(row[-1], head, most=most)
        else:
            lines.append((head + fit(row[-1], widths[-1])).rstrip())
    return lines
