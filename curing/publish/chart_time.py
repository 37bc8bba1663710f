"""Time along the charts, and the visits that they count."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from babel.dates import format_date

from curing.model.plan import LIVE, CoatDates, FacePlan, Plan, Slot, State
from curing.publish.drawing import line, text
from curing.publish.layers import HAIRLINE
from curing.publish.words import Words

LEAST_DAY = 5.0
"""[px] of a day, at least: two visits of a day are two strokes."""
BACK = timedelta(days=14)
"""How far a phone's chart looks back from today."""
SEASON_NEAR = timedelta(days=28)
"""A season line that lies so soon after the end of the work is shown."""
LABELS, PAGE = 232.0, 1248.0
"""[px] of the column of names, and of a whole chart, on a desktop."""
PHONE = 336.0
"""[px] of a chart on a phone; longer ones scroll in their box."""
LETTER = 8.2
"""[px] that a letter of a date takes at most, of 12 px bold type."""

_PLACES = {Slot.EARLY: 0.25, Slot.MIDDAY: 0.5, Slot.LATE: 0.75}


@dataclass(frozen=True, slots=True)
class Span:
    """The days that a chart shows and where they lie.

    Parameters
    ----------
    first, end
        First day, a Monday, and the day after the last, a Monday too.
    left
        Where the first day begins [px].
    day
        Width of a day [px].
    """

    first: date
    end: date
    left: float
    day: float

    @property
    def right(self) -> float:
        """Where the last day ends [px]."""
        return self.x(self.end)

    def x(self, day: date, part: float = 0.0) -> float:
        """Return where a part of a day lies, also outside of what is shown [px]."""
        return self.left + ((day - self.first).days + part) * self.day

    def within(self, day: date) -> bool:
        """Tell whether a day is shown."""
        return self.first <= day < self.end

    def weeks(self) -> Iterator[date]:
        """Yield the Mondays."""
        for k in range(0, (self.end - self.first).days, 7):
            yield self.first + timedelta(days=k)


def monday(day: date) -> date:
    """Return the Monday of a day's week."""
    return day - timedelta(days=day.weekday())


def span(plan: Plan, now: datetime, *, wide: bool) -> Span:
    """Return the days to show: from the first coat (on a phone two weeks back) to the end of the work."""
    today = local_today(plan, now)
    days = [day for face in plan.faces for coat in face.coats for day in (coat.day, coat.last_visit) if day]
    first = monday(min([*days, today] if wide else [today - BACK]))
    last = max([*days, today])
    lines = [face.season.line for face in plan.faces if face.season and face.season.line >= last]
    if lines and min(lines) - last <= SEASON_NEAR:
        last = min(lines) + timedelta(days=7)
    end = monday(last) + timedelta(days=7)
    room, left = (PAGE - LABELS, LABELS) if wide else (PHONE, 0.0)
    return Span(first, end, left, max(LEAST_DAY, room / (end - first).days))


def local_today(plan: Plan, now: datetime) -> date:
    """Return the day at the first site."""
    return now.astimezone(ZoneInfo(plan.sites[0].zone)).date()


@dataclass(frozen=True, slots=True)
class Seen:
    """One visit on a chart."""

    face: str
    coat: str
    day: date
    slot: Slot


def visits(plan: Plan) -> tuple[Seen, ...]:
    """Return the visits that the plan holds, and before its first day those that the rules asked for, by day.

    A plan holds the walks from its own day on. For the days before it only the coat's dates tell how often its face
    was to be looked after.
    """
    planned = [
        Seen(visit.face, visit.coat, walk.start.astimezone(ZoneInfo(walk.zone)).date(), walk.slot)
        for walk in plan.rounds
        if walk.slot is not None and walk.state in (*LIVE, State.DONE)
        for visit in walk.visits
    ]
    held = {(one.face, one.coat, one.day) for one in planned}
    start = local_today(plan, plan.as_of)
    asked = [
        Seen(face.id, coat.coat, day, slot)
        for face in plan.faces
        for coat in face.coats
        if coat.laid is not None
        for day, slot in _asked(coat)
        if day < start and (face.id, coat.coat, day) not in held
    ]
    return tuple(sorted((*asked, *planned), key=lambda one: (one.day, _PLACES[one.slot], one.face, one.coat)))


def _asked(coat: CoatDates) -> Iterator[tuple[date, Slot]]:
    """Yield the visits that the rules asked for after laying: two a day at first, then one."""
    for k in range(1, max(coat.twice_to, coat.once_to) + 1):
        day = coat.day + timedelta(days=k)
        yield day, Slot.EARLY
        if k <= coat.twice_to:
            yield day, Slot.LATE


def place(slot: Slot) -> float:
    """Return the part of the day at which a visit is drawn."""
    return _PLACES[slot]


def walking_order(plan: Plan) -> list[FacePlan]:
    """Return the faces as people walk them."""
    return sorted(plan.faces, key=lambda face: face.order)


def short(day: date, words: Words) -> str:
    """Return ``25 May``."""
    return format_date(day, "d MMM", locale=words.language)


def grid(over: Span, words: Words, top: float, bottom: float, *, wide: bool) -> list[str]:
    """Return the Mondays as thin lines from top to bottom, and their dates above, as many as there is room for."""
    size = 12.0
    label = LETTER * 6 + 6
    every = 1
    while every * 7 * over.day < label:
        every += 1
    parts = []
    for k, week in enumerate(over.weeks()):
        x = over.x(week)
        parts.append(line("week", x, top, x, bottom, ink=HAIRLINE, thick=1))
        if k % every == 0 and x + label - 6 <= over.right + 6:
            parts.append(text(x + (0 if wide else 2), top - 5, short(week, words), size=size, bold=True))
    return parts
