"""The cut through a wall, as SVG.

Two drawings: an *edge*, a strip of any height that stands at the left of a wall's block, and the *cut* across the
whole wall that heads its page, with both sides and what was read in each. A dashed edge is the coat that comes next.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from curing.publish.drawing import drawn, text
from curing.publish.event_title import plain
from curing.publish.layers import INK, SOFT, Fill, Layer, Standing, paper
from curing.publish.words import Words


@dataclass(frozen=True, slots=True)
class Side:
    """One side of a wall in the cut: its coats from the panel outwards, and what stands in and under it."""

    layers: tuple[Layer, ...] = ()
    reading: str = ""
    """What was read last, with its unit (``24 %``), or nothing."""


WIDTHS: Mapping[Fill, float] = {Fill.DOTS: 11, Fill.LINES: 8, Fill.SOLID: 5}
"""[px] of a coat in an edge."""
PANEL_WIDTH = 19.0
"""[px] of the panel in an edge."""
EDGE = 46
"""[px] of a whole edge, whatever the number of coats."""


def edge(layers: Sequence[Layer]) -> str:
    """Return the strip at the left of a wall's block: as high as the block, :data:`EDGE` wide.

    Examples
    --------
    >>> next_ = Layer("base", "base coat", Fill.DOTS, Standing.NEXT)
    >>> edge([next_]).count("stroke-dasharray")
    1
    """
    shown = [layer for layer in layers if layer.standing is not Standing.LATER]
    wanted = sum(WIDTHS[layer.fill] for layer in shown)
    shrunk = min(1.0, (EDGE - PANEL_WIDTH - 2) / wanted) if wanted else 1.0
    parts = [_strip(0, PANEL_WIDTH, paper(None), "panel"), _rule(PANEL_WIDTH)]
    at = PANEL_WIDTH
    for layer in shown:
        wide = WIDTHS[layer.fill] * shrunk
        if layer.standing is Standing.LAID:
            parts.append(_strip(at, wide, paper(layer.fill), layer.fill))
        parts.append(_rule(at + wide, dashed=layer.standing is Standing.NEXT))
        at += wide
    return f'<svg class="edge" width="{EDGE}" height="100%" aria-hidden="true" focusable="false">{"".join(parts)}</svg>'


def _strip(x: float, wide: float, fill: str, kind: str) -> str:
    return f'<rect class="layer {kind}" x="{x:.1f}" y="0" width="{wide:.1f}" height="100%" fill="{fill}"/>'


def _rule(x: float, *, dashed: bool = False) -> str:
    more = ' stroke-dasharray="6 4"' if dashed else ""
    return f'<line x1="{x:.1f}" y1="0" x2="{x:.1f}" y2="100%" stroke="{INK}" stroke-width="2"{more}/>'


CUT_WIDTH, CUT_HEIGHT, CORE = 360, 106, 210
_CUT_WIDTHS: Mapping[Fill, float] = {Fill.DOTS: 24, Fill.LINES: 16, Fill.SOLID: 7}
_TOP, _DEEP = 4.0, 70.0


def cut(outside: Side | None, inside: Side | None, thickness: str, words: Words) -> str:
    """Return the cut across a wall: outside at the left, inside at the right, what was read in each.

    Parameters
    ----------
    outside, inside
        The sides; None where the job has no such face: it is drawn bare, without a coat to come.
    thickness
        Of the panel with its unit (``300 mm``), or nothing.
    words
        The catalogue.
    """
    left = (CUT_WIDTH - CORE) / 2
    right = left + CORE
    parts = [
        f'<rect class="layer panel" x="{left:g}" y="{_TOP:g}" width="{CORE}" height="{_DEEP:g}" fill="{paper(None)}" '
        f'stroke="{INK}" stroke-width="3"/>'
    ]
    parts += _coats(outside, left, -1)
    parts += _coats(inside, right, 1)
    parts += _reading(outside, left, 1) + _reading(inside, right, -1)
    say = words.say
    below = _TOP + _DEEP + 21
    parts += [
        text(left - 48, below, say("chart.cut.outside"), size=17),
        text(CUT_WIDTH / 2, below, thickness, size=17, anchor="middle", ink=SOFT) if thickness else "",
        text(right + 48, below, say("chart.cut.inside"), size=17, anchor="end"),
    ]
    return drawn("cut", CUT_WIDTH, CUT_HEIGHT, _said(outside, inside, words), parts)


def _coats(side: Side | None, at: float, way: int) -> Iterable[str]:
    shown = [layer for layer in (side.layers if side else ()) if layer.standing is not Standing.LATER]
    wanted = sum(_CUT_WIDTHS[layer.fill] for layer in shown)
    shrunk = min(1.0, ((CUT_WIDTH - CORE) / 2 - 4) / wanted) if wanted else 1.0
    for layer in shown:
        wide = _CUT_WIDTHS[layer.fill] * shrunk
        x = at if way > 0 else at - wide
        laid = layer.standing is Standing.LAID
        fill = paper(layer.fill) if laid else "none"
        more = "" if laid else ' stroke-dasharray="6 4"'
        yield (
            f'<rect class="layer {layer.fill}" x="{x:.1f}" y="{_TOP:g}" width="{wide:.1f}" height="{_DEEP:g}" '
            f'fill="{fill}" stroke="{INK}" stroke-width="2.5"{more}/>'
        )
        at += way * wide


def _reading(side: Side | None, at: float, way: int) -> list[str]:
    if side is None or not side.reading:
        return []
    said = plain(side.reading)
    wide, high = min(92.0, max(62.0, 12.0 * len(said) + 14)), 36.0
    size = max(11, min(20, int((wide - 10) / 0.62 / len(said))))
    middle = _TOP + _DEEP / 2
    x = at + 12 if way > 0 else at - 12 - wide
    return [
        f'<path d="M{at:g} {middle:g}H{at + way * 12:g}" stroke="{INK}" stroke-width="4"/>',
        f'<rect x="{x:g}" y="{middle - high / 2:g}" width="{wide:g}" height="{high:g}" fill="#FFFFFF" stroke="{INK}" '
        'stroke-width="2.5"/>',
        text(x + wide / 2, middle + 7, said, size=size, anchor="middle", bold=True),
    ]


def _said(outside: Side | None, inside: Side | None, words: Words) -> str:
    """Return both sides as sentences, for who does not see the drawing."""
    return " ".join(
        words.say(f"chart.cut.said.{name}", layers=_listed(side, words), reading=_read(side, words))
        for name, side in (("out", outside), ("in", inside))
        if side is not None
    )


def _listed(side: Side, words: Words) -> str:
    laid = [layer.name for layer in side.layers if layer.standing is Standing.LAID]
    ahead = [layer.name for layer in side.layers if layer.standing is Standing.NEXT]
    said = [words.say("chart.cut.laid", coats=", ".join(laid)) if laid else words.say("chart.cut.bare")]
    said += [words.say("chart.cut.next", coat=name) for name in ahead]
    return ", ".join(said)


def _read(side: Side, words: Words) -> str:
    return words.say("chart.cut.read", reading=plain(side.reading)) if side.reading else words.say("chart.cut.not_read")
