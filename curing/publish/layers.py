"""The layers of a wall as they are drawn: straw, then each coat with a pattern of its own, laid, next or later.

Patterns tell the layers apart in black and white as well: straw strokes are the panel, dots an undercoat, fine
lines the finish, solid is paint.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from enum import StrEnum

from curing.model.plan import Booking, CoatDates, FacePlan, Plan
from curing.publish.event_title import plain

INK, SOFT, WHITE, HAIRLINE = "#1F1A14", "#544B3F", "#FFFFFF", "#B9AC93"
STRAW, CLAY, STONE, VIOLET, WATER, FROST = "#8A6410", "#7A3516", "#6F6859", "#5A2440", "#0B4A6F", "#2A2F7A"
PANEL_PALE, BASE_PALE, FINISH_PALE = "#EAD9A8", "#DDBFA4", "#E6E1D3"


class Fill(StrEnum):
    """Pattern of a layer."""

    DOTS = "dots"
    LINES = "lines"
    SOLID = "solid"


class Standing(StrEnum):
    """How far a coat is."""

    LAID = "laid"
    NEXT = "next"
    LATER = "later"


@dataclass(frozen=True, slots=True)
class Layer:
    """One coat of a face, as it is drawn."""

    coat: str
    """Id of the coat in its system."""
    name: str
    fill: Fill
    standing: Standing


def fills(face: FacePlan, bookings: Mapping[str, Booking]) -> dict[str, Fill]:
    """Return the pattern of each coat of a face, in the order of laying.

    A coat that is not laid in a thickness is paint: solid. Of the others, the last of the system is the finish:
    lines; what lies under it are undercoats: dots. So any system of the user's own has its patterns.

    Parameters
    ----------
    face
        The face with its coats.
    bookings
        The plan's bookings by id. A coat without one counts as paint if nobody looks after it.
    """
    paints = {coat.coat for coat in face.coats if _is_paint(coat, bookings.get(coat.booking))}
    plaster = [coat.coat for coat in face.coats if coat.coat not in paints]
    under = set(plaster[:-1])
    return {
        coat.coat: Fill.SOLID if coat.coat in paints else Fill.DOTS if coat.coat in under else Fill.LINES
        for coat in face.coats
    }


def _is_paint(coat: CoatDates, booking: Booking | None) -> bool:
    return coat.visits == 0 and (booking is None or booking.thickness is None)


def layers_of(face: FacePlan, bookings: Mapping[str, Booking], done: Collection[str] = ()) -> tuple[Layer, ...]:
    """Return the coats of a face from the panel outwards, each laid, next, or later.

    Parameters
    ----------
    face, bookings
        See :func:`fills`.
    done
        Ids of bookings of coats that were closed since the plan was saved.
    """
    pattern, found, next_ = fills(face, bookings), [], True
    for coat in face.coats:
        laid = coat.laid is not None or coat.booking in done
        standing = Standing.LAID if laid else Standing.NEXT if next_ else Standing.LATER
        next_ = next_ and laid
        found.append(Layer(coat.coat, plain(coat.name), pattern[coat.coat], standing))
    return tuple(found)


def layers(plan: Plan, done: Collection[str] = ()) -> dict[str, tuple[Layer, ...]]:
    """Return face id -> its layers, for all faces of a plan."""
    bookings = {booking.id: booking for booking in plan.bookings}
    return {face.id: layers_of(face, bookings, done) for face in plan.faces}


def patterns() -> str:
    """Return the patterns that every edge, cut and chart of a page fills its layers with: once, before the first."""
    straw = (
        f'<rect class="pale" width="24" height="28" fill="{PANEL_PALE}"/>'
        '<path class="stroke" d="M2 3L9 6M13 2L20 9M4 12L11 9M15 16L22 12M2 19L8 25M11 18L17 21M17 27L22 22" '
        f'fill="none" stroke="{STRAW}" stroke-width="2"/>'
    )
    places = ((2.5, 2.5), (6.5, 6.5))
    dots = f'<rect class="pale" width="8" height="8" fill="{BASE_PALE}"/>' + "".join(
        f'<circle class="spot" cx="{x}" cy="{y}" r="1.4" fill="{CLAY}"/>' for x, y in places
    )
    lines = (
        '<rect class="pale" width="8" height="4" fill="#FFFFFF"/>'
        f'<path class="stroke" d="M0 2H8" stroke="{STONE}" stroke-width="1.2"/>'
    )
    rain = f'<path class="stroke" d="M6 1L3 6M12 7L9 12" stroke="{WATER}" stroke-width="1.8"/>'
    frost = (
        f'<path class="stroke" d="M3 11L5 2L7 11M11 11L12.5 5L14 11" fill="none" stroke="{FROST}" stroke-width="1" '
        'stroke-opacity=".45"/>'
    )
    made = (
        ("straw", 24, 28, straw),
        (Fill.DOTS, 8, 8, dots),
        (Fill.LINES, 8, 4, lines),
        ("rain", 12, 12, rain),
        ("frost", 16, 14, frost),
    )
    inside = "".join(
        f'<pattern id="cut-{name}" width="{wide}" height="{high}" patternUnits="userSpaceOnUse">{drawn}</pattern>'
        for name, wide, high, drawn in made
    )
    return (
        f'<svg class="patterns" width="0" height="0" aria-hidden="true" focusable="false"><defs>{inside}</defs></svg>'
    )


def paper(fill: Fill | None) -> str:
    """Return the value of ``fill=`` for a layer; None is the panel. A plain colour stands by for want of patterns."""
    if fill is None:
        return f"url(#cut-straw) {PANEL_PALE}"
    if fill is Fill.DOTS:
        return f"url(#cut-dots) {BASE_PALE}"
    return f"url(#cut-lines) {FINISH_PALE}" if fill is Fill.LINES else VIOLET


def pale(fill: Fill | None) -> str:
    """Return the plain colour of a layer that is cured and still there."""
    if fill is None:
        return PANEL_PALE
    return {Fill.DOTS: BASE_PALE, Fill.LINES: FINISH_PALE, Fill.SOLID: VIOLET}[fill]
