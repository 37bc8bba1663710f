"""How the walls build up over the weeks: one row a face, its coats laid upon one another, as SVG with its table.

Time runs right, coats upward in the order of laying. A pattern says that this layer dries or is kept damp, plain
that it is cured and still there; a dashed edge is planned; one stroke above is one visit; a gate stands before a
step that is held, with what was measured; dotted is how late it could be.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from curing.model.plan import Booking, CoatDates, FacePlan, Kind, Plan, State
from curing.publish.chart_time import Seen, Span, grid, local_today, place, short, span, visits, walking_order
from curing.publish.drawing import GROUND, Chart, clipped, drawn, line, rect, text
from curing.publish.layers import FROST, SOFT, WATER, WHITE, Fill, fills, pale, paper
from curing.publish.terminal_names import Names
from curing.publish.words import Words

LETTER = 8.2
"""[px] that a letter of 12 px bold takes at most, about."""
LAYER, PAINT, PAINTING = 15.0, 3.0, 9.0
"""[px] of a layer of plaster, of paint, and of paint on the day it goes on."""
HEAD, STROKES, NAME, GAP = 44.0, 14.0, 20.0, 8.0
"""[px] above the first row, for the strokes of a row, for its name on a phone, and between rows."""
REPEAT = 330
"""[px] after which a row's name stands again on a phone, since the chart scrolls."""
NEEDLES = 32.0
"""[px] of frost drawn behind the season line; how long it lasts is not told."""


@dataclass(frozen=True, slots=True)
class _Coat:
    """A coat on the chart."""

    at: CoatDates
    fill: Fill
    laid: bool
    wet_to: date
    """First day on which it is drawn plain."""
    gate: Booking | None
    """Its booking, where that waits behind a hold."""


class _Rows:
    """Draws the rows of a plan over a span of days."""

    def __init__(self, names: Names, over: Span, wide: bool, done: Collection[str], measured: Mapping[str, str]):
        self.names, self.over, self.wide, self.measured = names, over, wide, measured
        self.bookings, self.done = names.bookings, done
        self.changes = {one.id: one for one in names.plan.changes if one.kind is Kind.COAT}
        self.labels: list[str] = []
        """Words, drawn last so that no line goes through them."""
        self.visits: dict[str, list[Seen]] = {}
        for one in visits(names.plan):
            self.visits.setdefault(one.face, []).append(one)

    def coats(self, face: FacePlan) -> list[_Coat]:
        pattern = fills(face, self.bookings)
        found = []
        for k, coat in enumerate(face.coats):
            following = face.coats[k + 1] if k + 1 < len(face.coats) else None
            covered = following is not None and pattern[following.coat] is not Fill.SOLID
            ends = [one + timedelta(days=1) for one in (coat.day, coat.last_visit) if one]
            wet_to = following.day if following and covered else max(ends)
            laid = coat.laid is not None or coat.booking in self.done
            booking = self.bookings.get(coat.booking)
            held = booking if booking and booking.state is State.CONDITIONAL and booking.holds and not laid else None
            found.append(_Coat(coat, pattern[coat.coat], laid, wet_to, held))
        return found

    def height(self, coats: Sequence[_Coat]) -> float:
        layers = LAYER + sum(PAINT if one.fill is Fill.SOLID else LAYER for one in coats)
        return layers + STROKES + PAINTING + GAP + (0 if self.wide else NAME)

    def row(self, face: FacePlan, coats: Sequence[_Coat], top: float) -> Iterator[str]:
        over, bottom = self.over, top + self.height(coats) - GAP
        yield from self._panel(coats, bottom)
        base = bottom - LAYER
        places: dict[str, float] = {}
        for one in coats:
            places[one.at.coat] = base
            yield from self._coat(one, base)
            base -= PAINT if one.fill is Fill.SOLID else LAYER
        for one in coats:
            yield from self._strokes(face, one, places[one.at.coat])
            yield from self._moved(one, places[one.at.coat])
            if one.gate is not None:
                yield from self._gate(one, one.gate, places[one.at.coat])
        yield from self._later(face, coats, top + 6 + (0 if self.wide else NAME))
        yield line("ground", over.left, bottom, over.right, bottom, thick=1.5)
        self._name(face, top, bottom)

    def _panel(self, coats: Sequence[_Coat], bottom: float) -> Iterator[str]:
        over = self.over
        covered = over.x(coats[0].at.day) if coats else over.right
        wet = min(max(covered, over.left), over.right)
        if wet > over.left:
            yield rect("layer panel", over.left, bottom - LAYER, wet - over.left, LAYER, fill=paper(None), edge=1.5)
        if wet < over.right:
            yield rect("layer cured", wet, bottom - LAYER, over.right - wet, LAYER, fill=pale(None), edge=1)

    def _coat(self, one: _Coat, base: float) -> Iterator[str]:
        over = self.over
        start, wet, end = max(over.x(one.at.day), over.left), over.x(one.wet_to), over.right
        if one.at.day >= over.end:
            return
        if one.fill is Fill.SOLID:
            yield from self._paint(one, start, base)
            return
        wet = min(max(wet, over.left), end)
        if wet > start:
            kind = f"layer {one.fill} {'laid' if one.laid else 'planned'}"
            fill = paper(one.fill)
            yield rect(kind, start, base - LAYER, wet - start, LAYER, fill=fill, edge=1.5, dashed=not one.laid)
            self._date(one, start, wet, base)
        if wet < end:
            yield rect("layer cured", wet, base - LAYER, end - wet, LAYER, fill=pale(one.fill), edge=1)

    def _paint(self, one: _Coat, start: float, base: float) -> Iterator[str]:
        """Yield paint: solid where it is on the wall, broken where it is planned; higher on its day."""
        ink, fill, wide = pale(Fill.SOLID), paper(Fill.SOLID) if one.laid else WHITE, max(self.over.day, 6.0)
        middle = base - PAINT / 2
        kind, dash = ("layer solid laid", "") if one.laid else ("layer solid planned", "9 3")
        yield line(kind, start, middle, self.over.right, middle, ink=ink, thick=PAINT, dash=dash, shift=-start)
        if self.over.within(one.at.day):
            yield rect("painting", start, base - PAINTING, wide, PAINTING, fill=fill, edge=2, ink=ink)

    def _date(self, one: _Coat, start: float, wet: float, base: float) -> None:
        said = short(one.at.day, self.names.words)
        room = LETTER * len(said) + 6
        if self.over.within(one.at.day) and room + 2 <= wet - start:
            self.labels.append(rect("plate", start + 1, base - LAYER + 1, room, LAYER - 2, fill=WHITE))
            self.labels.append(text(start + 4, base - 3.5, said, size=12, bold=True))

    def _strokes(self, face: FacePlan, one: _Coat, base: float) -> Iterator[str]:
        for seen in self.visits.get(face.id, ()):
            if seen.coat == one.at.coat and self.over.within(seen.day):
                x = self.over.x(seen.day, place(seen.slot))
                yield line("visit", x, base - LAYER - 2, x, base - LAYER - 10, ink=WATER, thick=1.5)

    def _gate(self, one: _Coat, booking: Booking, base: float) -> Iterator[str]:
        x = self.over.x(one.at.day)
        if not self.over.within(one.at.day):
            return
        left, top = max(x - 18, self.over.left + 1), base - LAYER + 1
        yield (
            f'<path class="gate" d="M{left:.1f} {top:.1f}v13M{left + 14:.1f} {top:.1f}v13M{left:.1f} {top + 4:.1f}h14'
            f'M{left:.1f} {top + 9:.1f}h14" fill="none" stroke="#1F1A14" stroke-width="2.4"/>'
        )
        said = next((self.measured[hold] for hold in booking.holds if hold in self.measured), "")
        if said and left - 6 - LETTER * len(said) > self.over.left:
            self.labels.append(text(left - 6, base - 3, said, size=12, bold=True, anchor="end", halo=True))

    def _later(self, face: FacePlan, coats: Sequence[_Coat], y: float) -> Iterator[str]:
        """Yield how late the first coat could be, where only an estimate says that the panel is dry by then."""
        first = coats[0] if coats else None
        if first is None or first.laid or first.gate is None or face.panel is None:
            return
        late, over = face.panel.likely_late, self.over
        if late <= first.at.day or not over.within(first.at.day):
            return
        start, end = over.x(first.at.day), min(over.x(late), over.right - 2)
        yield line("later", start, y, end, y, thick=2.4, dash="2 3")
        if over.within(late):
            yield line("latest", end, y - 5, end, y + 5, thick=2.4)
        said = self.names.words.say("chart.build_up.later", day=short(late, self.names.words))
        room = LETTER * len(said)
        at, anchor = (start - 6, "end") if start - 6 - room > over.left else (min(end + 6, over.right - room), "start")
        self.labels.append(text(at, y + 4, said, size=12, anchor=anchor, halo=True))

    def _moved(self, one: _Coat, base: float) -> Iterator[str]:
        """Yield where a coat stood before the plan moved it."""
        change = self.changes.get(one.at.booking)
        if change is None or change.old is None or one.laid:
            return
        was = change.old.start.astimezone(ZoneInfo(change.zone)).date()
        if was != one.at.day and self.over.within(was):
            yield rect("moved", self.over.x(was), base - LAYER, self.over.day, LAYER, edge=1.2, dashed=True)

    def _name(self, face: FacePlan, top: float, bottom: float) -> None:
        called, wall = self.names.face(face.id), self.names.wall(face)
        if self.wide:
            self.labels.append(text(4, bottom - 24, clipped(called, 20), size=17, bold=True))
            self.labels.append(text(4, bottom - 7, clipped(wall, 28), size=14, ink=SOFT))
            return
        said = self.names.words.say("chart.build_up.row", face=called, wall=wall)
        places = range(4, max(5, int(self.over.right) - 120), REPEAT)
        self.labels += [text(x, top + 15, clipped(said, 34), size=15, bold=True, halo=True) for x in places]


def build_up(
    plan: Plan,
    words: Words,
    now: datetime,
    *,
    wide: bool,
    done: Collection[str] = (),
    measured: Mapping[str, str] | None = None,
) -> Chart:
    """Return the chart of how the walls build up.

    Parameters
    ----------
    plan, words, now
        The plan, the catalogue, the present instant.
    wide
        For a desktop; else for a phone, where it begins two weeks back and scrolls in its own box.
    done
        Ids of bookings of coats that were closed since the plan was saved.
    measured
        Id of a hold -> what was measured last (``24 %``), written at its gate.
    """
    names = Names(plan, words, now)
    over = span(plan, now, wide=wide)
    rows = _Rows(names, over, wide, done, measured or {})
    faces = [(face, rows.coats(face)) for face in walking_order(plan)]
    bottom = HEAD + sum(rows.height(coats) for _, coats in faces)
    parts = [rect("ground", over.left, 0, over.right - over.left, bottom, fill=GROUND)]
    parts += grid(over, words, 18, bottom, wide=wide)
    top = HEAD
    for face, coats in faces:
        parts += rows.row(face, coats, top)
        top += rows.height(coats)
    parts += [*_season(plan, words, over, bottom), *_today(plan, words, over, now, bottom), *rows.labels]
    title = words.say("chart.build_up.title")
    summary = _summary(faces, names, words)
    head = tuple(words.say(f"chart.build_up.head.{one}") for one in ("face", "coat", "day", "state", "visits", "to"))
    svg = drawn("weeks", over.right + (0 if wide else 4), bottom + 2, f"{title}. {summary}", parts)
    return Chart(title, summary, svg, head, tuple(_table(faces, names, words)))


def _today(plan: Plan, words: Words, over: Span, now: datetime, bottom: float) -> list[str]:
    today = local_today(plan, now)
    if not over.within(today):
        return []
    x = over.x(today)
    said = words.say("chart.today", day=short(today, words))
    anchor = "start" if x + 90 < over.right else "end"
    return [
        line("today", x, 22, x, bottom, thick=3),
        text(x + (6 if anchor == "start" else -6), 36, said, size=13, bold=True, anchor=anchor, halo=True),
    ]


def _season(plan: Plan, words: Words, over: Span, bottom: float) -> list[str]:
    parts = []
    for day in sorted({face.season.line for face in plan.faces if face.season}):
        if not over.within(day):
            continue
        x = over.x(day, 1)
        frosty = min(NEEDLES, over.right - x)
        if frosty > 0:
            parts.append(rect("frost", x, 40, frosty, bottom - 40, fill="url(#cut-frost) none"))
        parts.append(line("season", x, 22, x, bottom, ink=FROST, thick=4, dash="9 5"))
        said = words.say("chart.season", day=short(day, words))
        parts.append(text(x - 6, 36, said, size=13, bold=True, ink=FROST, anchor="end", halo=True))
    return parts


def _summary(faces: Sequence[tuple[FacePlan, Sequence[_Coat]]], names: Names, words: Words) -> str:
    coats = [one for _, found in faces for one in found]
    if not coats:
        return words.say("chart.build_up.nothing")
    held = sum(1 for _, found in faces if any(one.gate for one in found))
    last = max(coats, key=lambda one: one.at.day)
    day = names.long_day(last.at.day)
    if all(one.laid for one in coats):
        return words.say("chart.build_up.all_laid", day=day)
    if not held:
        return words.say("chart.build_up.about", day=day)
    return words.count("chart.build_up.about_held", held, day=day)


def _table(faces: Sequence[tuple[FacePlan, Sequence[_Coat]]], names: Names, words: Words) -> Iterator[tuple[str, ...]]:
    for face, coats in faces:
        for one in coats:
            state = "laid" if one.laid else "held" if one.gate else "planned"
            yield (
                names.face(face.id),
                names.coat(one.at),
                names.long_day(one.at.day),
                words.say(f"chart.build_up.state.{state}"),
                str(one.at.visits) if one.at.visits else "",
                names.long_day(one.at.last_visit) if one.at.last_visit else "",
            )
