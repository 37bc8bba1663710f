"""A small plan of the building: its walls numbered in walking order, on the sides they face, as SVG.

A job has no coordinates. What it has is the walking order and the compass bearing of each outside face; that gives
the side a wall stands on and which way round people walk, and no more: lengths are not to scale. The side of the
first wall is at the top, as who arrives there sees it, and the arrow says where north is.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from curing.model.plan import FacePlan, Plan
from curing.publish.drawing import drawn, rect, text
from curing.publish.event_title import plain
from curing.publish.layers import CLAY, INK, WHITE
from curing.publish.words import Words

WIDTH = 360
"""[px] of the drawing; more only where a side has many walls."""

OCHRE, SAND = "#F6D98B", "#EFE6D2"
_SQUARE, _GAP = 28.0, 10.0
_LEFT, _TOP = 56.0, 34.0
_ACROSS, _DOWN = 220.0, 84.0
_TOPSIDE, _RIGHT, _BOTTOM, _LEFTSIDE = range(4)


class Spot(StrEnum):
    """What a wall is marked with."""

    DUE = "due"
    NEXT = "next"
    DONE = "done"
    HELD = "held"


@dataclass(frozen=True, slots=True)
class _Box:
    """The building on the drawing [px]."""

    left: float
    top: float
    across: float
    down: float

    @property
    def right(self) -> float:
        return self.left + self.across

    @property
    def bottom(self) -> float:
        return self.top + self.down


def building_plan(
    plan: Plan, words: Words, *, site: str = "", spots: Mapping[str, Spot] | None = None, sunlit: Collection[str] = ()
) -> str | None:
    """Return the plan of a site's building, or None where it can't be drawn: inside only, or a bearing is missing.

    Parameters
    ----------
    plan, words
        The plan and the catalogue.
    site
        Id of the site; the first one where empty.
    spots
        Id of a wall -> its mark; walls that are not named are to do.
    sunlit
        Ids of faces that the sun is on: their sides get a sunny edge.
    """
    site = site or plan.sites[0].id
    faces = sorted((f for f in plan.faces if f.site == site and f.side == "out"), key=lambda face: face.order)
    bearings = [face.azimuth for face in faces if face.azimuth is not None]
    if not faces or len(bearings) < len(faces):
        return None
    sides, up = _sides(faces, bearings)
    clockwise = _clockwise([sides[face.id] for face in faces])
    walls: list[list[FacePlan]] = [[face for face in faces if sides[face.id] == k] for k in range(4)]
    step = max(_SQUARE, *(_wide(face) for face in faces)) + _GAP
    across = max(_ACROSS, step * (1 + max(len(walls[_TOPSIDE]), len(walls[_BOTTOM]))))
    down = max(_DOWN, (_SQUARE + _GAP) * max(len(walls[_RIGHT]), len(walls[_LEFTSIDE])) + 2 * _SQUARE)
    box = _Box(_LEFT, _TOP, across, down)
    parts = [rect("outline", box.left, box.top, across, down, fill=SAND, edge=5)]
    name = plain(next(one.name for one in plan.sites if one.id == site))
    if len(name) * 8.5 < across - 4 * _SQUARE:
        parts.append(text(box.left + across / 2, box.top + down / 2 + 5, name, size=15, anchor="middle"))
    lit = sorted({sides[one] for one in sunlit if one in sides})
    parts += [_sun(side, box, words, named=side == lit[0]) for side in lit]
    for side, there in enumerate(walls):
        forward = clockwise if side in (_TOPSIDE, _RIGHT) else not clockwise
        for k, face in enumerate(there if forward else there[::-1], start=1):
            x, y = _place(side, k / (len(there) + 1), box)
            parts.append(_wall(face, x, y, side, (spots or {}).get(face.wall, Spot.DUE)))
    parts.append(_north(box.right + 60, box.top + 16, up, words))
    wide = max(WIDTH, box.right + 84)
    return drawn("building" if wide == WIDTH else "building long", wide, box.bottom + 40, _said(walls, words), parts)


def _sides(faces: Sequence[FacePlan], bearings: Sequence[float]) -> tuple[dict[str, int], float]:
    """Return face id -> side, clockwise from the first wall's at the top, and the bearing [deg] that is up."""
    turn = sum(cmath.exp(4j * math.radians(one)) for one in bearings)
    corner = math.degrees(cmath.phase(turn)) / 4 if abs(turn) > 1e-6 else bearings[0]
    quarter = [round((one - corner) / 90) for one in bearings]
    sides = {face.id: (one - quarter[0]) % 4 for face, one in zip(faces, quarter, strict=True)}
    return sides, (corner + 90 * quarter[0]) % 360


def _clockwise(walked: Sequence[int]) -> bool:
    """Tell which way round people walk: by the first time they turn a corner."""
    for before, after in pairwise(walked):
        if (after - before) % 4 in (1, 3):
            return (after - before) % 4 == 1
    return True


def _place(side: int, part: float, box: _Box) -> tuple[float, float]:
    """Return the middle of a wall's square at a part of its side, from the left or from the top."""
    x, y = box.left + part * box.across, box.top + part * box.down
    return {_TOPSIDE: (x, box.top), _BOTTOM: (x, box.bottom), _LEFTSIDE: (box.left, y), _RIGHT: (box.right, y)}[side]


def _wide(face: FacePlan) -> float:
    return max(_SQUARE, 9.5 * len(plain(face.wall)) + 10)


def _wall(face: FacePlan, x: float, y: float, side: int, spot: Spot) -> str:
    more = 6.0 if spot is Spot.NEXT else 0.0
    wide, high = _wide(face) + more, _SQUARE + more
    ground = {Spot.NEXT: CLAY, Spot.DONE: INK}.get(spot, WHITE)
    ink = WHITE if spot in (Spot.NEXT, Spot.DONE) else INK
    left, top = x - wide / 2, y - high / 2
    square = rect(f"spot-{spot}", left, top, wide, high, fill=ground, edge=4 if more else 2.5)
    size = 19 if more else 17
    number = text(x, y + 0.36 * size, face.wall, size=size, anchor="middle", ink=ink, bold=True)
    return square + number + _mark(spot, x, y, side, wide)


def _mark(spot: Spot, x: float, y: float, side: int, wide: float) -> str:
    """Return the tick or the gate, inwards of the square."""
    inward = {_TOPSIDE: (0.0, 1.0), _BOTTOM: (0.0, -1.0), _LEFTSIDE: (1.0, 0.0), _RIGHT: (-1.0, 0.0)}[side]
    x += inward[0] * (wide / 2 + 13)
    y += inward[1] * (_SQUARE / 2 + 10)
    if spot is Spot.DONE:
        return f'<path d="M{x - 7:g} {y:g}l5 5l9 -11" fill="none" stroke="{INK}" stroke-width="3.5"/>'
    if spot is Spot.HELD:
        return (
            f'<path d="M{x - 9:g} {y - 7:g}v14M{x + 9:g} {y - 7:g}v14M{x - 9:g} {y - 3:g}h18M{x - 9:g} {y + 3:g}h18" '
            f'fill="none" stroke="{INK}" stroke-width="2.6"/>'
        )
    return ""


def _sun(side: int, box: _Box, words: Words, *, named: bool) -> str:
    """Return the sunny edge of a side, with its word once."""
    far, thick = _SQUARE / 2 + 7, 9.0
    x, y, wide, high = {
        _TOPSIDE: (box.left, box.top - far - thick, box.across, thick),
        _BOTTOM: (box.left, box.bottom + far, box.across, thick),
        _LEFTSIDE: (box.left - far - thick, box.top, thick, box.down),
        _RIGHT: (box.right + far, box.top, thick, box.down),
    }[side]
    level = side in (_TOPSIDE, _BOTTOM)
    at = (x + wide + 22, y + 9) if level else (x + thick / 2, y + high + 17)
    word = text(*at, words.say("chart.plan.sun"), size=15, anchor="middle", bold=True) if named else ""
    return rect("sunny", x, y, wide, high, fill=OCHRE, edge=2) + word


def _north(x: float, y: float, up: float, words: Words) -> str:
    """Return the arrow to the north, when ``up`` [deg] is the bearing of the upper edge."""
    turn = math.radians(-up)
    reach = 22
    tip_x, tip_y = x + reach * math.sin(turn), y - reach * math.cos(turn)
    return (
        f'<g transform="translate({x:g} {y:g}) rotate({-up % 360:.1f})"><path d="M0 13V-12M-5.5 -6L0 -12.5L5.5 -6" '
        f'fill="none" stroke="{INK}" stroke-width="2.6"/></g>'
        f"{text(tip_x, tip_y + 5, words.say('chart.plan.north'), size=15, anchor='middle', bold=True)}"
    )


def _said(walls: Sequence[Sequence[FacePlan]], words: Words) -> str:
    """Return the plan as sentences: which walls face where."""
    said = [words.say("chart.plan.said")]
    for there in walls:
        if there and there[0].azimuth is not None:
            bearing = words.say(f"chart.plan.faces.{round(there[0].azimuth / 45) % 8}")
            numbers = ", ".join(plain(face.wall) for face in there)
            said.append(words.say("chart.plan.side", bearing=bearing, walls=numbers))
    return " ".join(said)
