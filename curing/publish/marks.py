"""Marks that stand beside words on the pages: small line drawings, one ink, hidden from screen readers.

Each is drawn on a grid of 24 by 24 and takes the colour of the text it stands in. A mark never says anything
alone: the word beside it does, and the mark lets the eye find it.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

GRID = 24


def _line(path: str, width: float = 2, more: str = "") -> str:
    return f'<path d="{path}" fill="none" stroke="currentColor" stroke-width="{width:g}"{more}/>'


def _solid(path: str) -> str:
    return f'<path d="{path}" fill="currentColor"/>'


def _dots(*places: tuple[float, float], radius: float = 1.2) -> str:
    return "".join(f'<circle cx="{x:g}" cy="{y:g}" r="{radius:g}" fill="currentColor"/>' for x, y in places)


def _drop(x: float, top: float, width: float, height: float) -> str:
    """Return the path of a drop that hangs at (x, top)."""
    half = width / 2
    low = top + height - half
    return (
        f"M{x:g} {top:g}C{x - 0.15 * width:g} {top + 0.3 * height:g} {x - half:g} {low - 0.35 * height:g} "
        f"{x - half:g} {low:g}A{half:g} {half:g} 0 0 0 {x + half:g} {low:g}"
        f"C{x + half:g} {low - 0.35 * height:g} {x + 0.15 * width:g} {top + 0.3 * height:g} {x:g} {top:g}Z"
    )


_STRAW_BLOCK = _line("M3 3.5H12V20.5H3Z") + _line("M5 7.5L9.5 9M5.5 13L10 11M5 15.5L9.5 17.5", 1.6)
_ROD = _line("M2 4H22", 3)

MARKS: Mapping[str, str] = MappingProxyType(
    {
        # What a face is at.
        "panel": _STRAW_BLOCK + _line("M14.5 12H21.5M18 8L22 12L18 16"),
        "base": _solid("M3 3H9V21H3Z")
        + _line("M10 4H20V20H10Z")
        + _dots((13, 7.5), (17, 9.5), (13, 12), (17, 14), (13, 16.5)),
        "finish": _solid("M3 3H12V21H3Z")
        + _line("M13 4H21V20H13Z")
        + _line("M13 8H21M13 11H21M13 14H21M13 17H21", 1.4),
        "paint": _line("M4 4H12V20H4Z") + _solid("M15 3H20V21H15Z"),
        # What is done.
        "mist-once": _solid(_drop(12, 2.5, 13, 19)),
        "mist-twice": _solid(_drop(8, 2, 9.5, 14)) + _solid(_drop(17, 10, 8.5, 12)),
        "air": _line("M3 3H13V21H3Z") + _line("M13 3L21 6V23L13 21", 2) + _line("M8 3V21", 1.4),
        "look": _line("M1.5 12C6 4.5 18 4.5 22.5 12C18 19.5 6 19.5 1.5 12Z") + _dots((12, 12), radius=3.4),
        "sheet": _ROD + _line("M5 5V19.5L7.3 17.5L9.7 19.5L12 17.5L14.3 19.5L16.7 17.5L19 19.5V5"),
        "hessian": _ROD + _line("M5 5V20.5M9.7 5V20.5M14.3 5V20.5M19 5V20.5M5 9.5H19M5 14.5H19M5 19.7H19", 1.6),
        "reading": _line("M8 2.5H16V11H8Z", 2.4) + _line("M10 11V21.5M14 11V21.5") + _line("M1.5 15H7.5M16.5 15H22.5"),
        "tests": _solid(_drop(12, 1.5, 8.5, 12)) + _line("M2.5 17H21.5", 2.4) + _line("M6.5 21.5H17.5"),
        "sockets-off": _line("M12 2.5A9.5 9.5 0 1 0 12 21.5A9.5 9.5 0 1 0 12 2.5Z")
        + _dots((8.3, 12), (15.7, 12), radius=1.8)
        + _line("M5.5 18.5L18.5 5.5", 2.4),
        # What holds, what came of it.
        "hold": _line("M4.5 2.5V21.5M19.5 2.5V21.5", 3.4) + _line("M4.5 8H19.5M4.5 15.5H19.5", 2.6),
        "tick": _line("M3.5 13L9.5 19L20.5 5.5", 3.4),
        "missed": _line(_drop(12, 3.5, 12, 17.5)) + _line("M3 20.5L21 5", 2.6),
        "could-not": _line("M1.5 12H8.5M15.5 12H22.5", 2.6) + _line("M8.5 5.5V18.5M15.5 5.5V18.5", 2.6),
        "still-damp": _STRAW_BLOCK + _solid(_drop(18.5, 8, 7.5, 11)),
        "moved": _line("M4.5 3V21", 2.4, ' stroke-dasharray="3.2 2.6"')
        + _line("M8.5 12H20M15 6.5L20.7 12L15 17.5", 2.6),
        # Weather, and the phone.
        "rain": _line("M6 3L3.5 8M12 3L9.5 8M8.5 11.5L6 16.5M14.5 11.5L12 16.5M4 17.5L2.5 20.5", 2.2)
        + _line("M20 2V22", 3.2),
        "sun": _dots((8.5, 12), radius=3.6)
        + _line(
            "M8.5 3.5V6M8.5 18V20.5M0.8 12H2.8M14.2 12H16.2"
            "M3 6.5L4.6 8.1M14 6.5L12.4 8.1M3 17.5L4.6 15.9M14 17.5L12.4 15.9"
        )
        + _line("M21 2V22", 3.2),
        "frost": _line("M2 21H22", 3)
        + _solid("M4.5 20L6.5 10L8.5 20Z")
        + _solid("M9.5 20L12 2.5L14.5 20Z")
        + _solid("M15.5 20L17.5 8L19.5 20Z"),
        "no-signal": _line("M4 21V16M9 21V12M14 21V8M19 21V4", 3) + _line("M2 3L22 20", 2.6),
    }
)
"""Name -> drawing on the grid."""


def mark(name: str) -> str:
    """Return a mark as inline SVG, to stand beside a word.

    Parameters
    ----------
    name
        One of :data:`MARKS`.

    Raises
    ------
    KeyError
        There is no such mark.

    Examples
    --------
    >>> mark("hold")[:55]
    '<svg class="mark" viewBox="0 0 24 24" width="24" height'
    """
    return (
        f'<svg class="mark" viewBox="0 0 {GRID} {GRID}" width="{GRID}" height="{GRID}" aria-hidden="true" '
        f'focusable="false">{MARKS[name]}</svg>'
    )
