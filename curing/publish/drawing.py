"""Pieces of SVG that the drawings and charts are made of: presentation attributes only, all text escaped."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from html import escape

from curing.publish.event_title import plain
from curing.publish.layers import INK

GROUND = "#FCFAF4"


@dataclass(frozen=True, slots=True)
class Chart:
    """A chart with what stands beside it: a title, a sentence that says what it shows, and its data as a table."""

    title: str
    summary: str
    svg: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def num(value: float) -> str:
    """Return a coordinate with at most one decimal.

    Examples
    --------
    >>> num(12.04), num(3.25)
    ('12', '3.2')
    """
    return f"{value:.1f}".removesuffix(".0")


def text(
    x: float,
    y: float,
    said: str,
    *,
    size: float,
    anchor: str = "start",
    ink: str = INK,
    bold: bool = False,
    halo: bool = False,
) -> str:
    """Return a label; ``y`` is the line it stands on, ``halo`` keeps what lies under it away from the letters."""
    more = ' font-weight="700"' if bold else ""
    if halo:
        more += f' paint-order="stroke" stroke="{GROUND}" stroke-width="4" stroke-linejoin="round"'
    if anchor != "start":
        more += f' text-anchor="{anchor}"'
    return f'<text x="{num(x)}" y="{num(y)}" font-size="{num(size)}" fill="{ink}"{more}>{escape(plain(said))}</text>'


def rect(
    kind: str,
    x: float,
    y: float,
    wide: float,
    high: float,
    *,
    fill: str = "none",
    edge: float = 0,
    dashed: bool = False,
    ink: str = INK,
) -> str:
    """Return a rectangle of a class; ``edge`` is the width of its edge [px], 0 for none."""
    more = f' stroke="{ink}" stroke-width="{num(edge)}"' if edge else ""
    more += ' stroke-dasharray="5 3"' if dashed else ""
    return (
        f'<rect class="{kind}" x="{num(x)}" y="{num(y)}" width="{num(wide)}" height="{num(high)}" fill="{fill}"{more}/>'
    )


def line(
    kind: str,
    x1: float,
    y1: float,
    x2: float,
    y2: float,
    *,
    ink: str = INK,
    thick: float,
    dash: str = "",
    shift: float = 0.0,
) -> str:
    """Return a straight line of a class; ``dash`` as in ``stroke-dasharray``, ``shift`` moves the dashes along."""
    more = f' stroke-dasharray="{dash}"' if dash else ""
    more += f' stroke-dashoffset="{num(-shift)}"' if dash and shift else ""
    return (
        f'<line class="{kind}" x1="{num(x1)}" y1="{num(y1)}" x2="{num(x2)}" y2="{num(y2)}" stroke="{ink}" '
        f'stroke-width="{num(thick)}"{more}/>'
    )


def drawn(kind: str, wide: float, high: float, label: str, parts: Iterable[str]) -> str:
    """Return a whole drawing of a class that is told to who does not see it by ``label``."""
    return (
        f'<svg class="{kind}" viewBox="0 0 {num(wide)} {num(high)}" width="{num(wide)}" height="{num(high)}" '
        f'role="img" aria-label="{escape(plain(label))}">{"".join(parts)}</svg>'
    )


def clipped(said: str, signs: int) -> str:
    """Return a name cut to a number of signs.

    Examples
    --------
    >>> clipped("road side, bay 1", 10)
    'road side…'
    """
    return said if len(said) <= signs else said[: signs - 1].rstrip() + "…"
