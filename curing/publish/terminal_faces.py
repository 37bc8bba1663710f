"""Where each face stands, one row a face in walking order: now, next, from when, held by what."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from curing.model.plan import LIVE, Booking, CoatDates, FacePlan, HoldState, Plan, Reason, State
from curing.publish.event_title import plain
from curing.publish.terminal_layout import WIDTH, fit, table, width
from curing.publish.terminal_names import Names, local_day
from curing.publish.words import CATALOGUE

WEAK = ("first", "start", "after")
"""Reasons that say less than why the days after the earliest could not be used."""

READ_AGAIN = ("reading", "rain", "set", "meter")
"""Why a hold was shut that is opened on new readings."""

LEAST = (14, 16, 11, 15, 15)
"""Least cells of the columns wall, now, next, from, held by; a date is never cut."""


@dataclass(frozen=True, slots=True)
class Row:
    """One face: cells as text, and whether its date is conditional."""

    face: FacePlan
    now: str
    next: str
    when: str
    held: str
    conditional: bool
    booking: Booking | None
    """The coat that comes next, None when all are laid."""


class Faces:
    """Tells where the faces of a plan stand at an instant.

    Parameters
    ----------
    plan
        The plan.
    names
        How things are called, and the present instant.
    done
        Coats that were closed since the plan was saved.
    """

    def __init__(self, plan: Plan, names: Names, done: Collection[str] = ()) -> None:
        self._done = done
        self._plan, self._names, self._say = plan, names, names.words.say
        self._holds = {hold.id: hold for hold in plan.holds}

    def rows(self) -> Iterator[Row]:
        """Yield the rows in walking order."""
        for face in sorted(self._plan.faces, key=lambda one: one.order):
            yield self.row(face)

    def row(self, face: FacePlan) -> Row:
        """Return the row of one face."""
        laid = [coat for coat in face.coats if coat.laid is not None]
        open_ = [coat for coat in face.coats if coat.laid is None and coat.booking not in self._done]
        ahead = [booking for coat in open_ if (booking := self._booked(coat))]
        booking = ahead[0] if ahead else None
        now = self._now(face, laid, booking)
        if booking is None:
            nothing = self._say("terminal.nothing")
            return Row(face, now, nothing, nothing, self._tended(face, laid), False, None)
        conditional = booking.state is State.CONDITIONAL
        when = self._names.day(local_day(booking)) if booking.state in LIVE else self._say("terminal.no_day")
        if conditional:
            when = self._say("terminal.about", day=when)
        return Row(face, now, self._names.task(booking), when, self.held(booking), conditional, booking)

    def _booked(self, coat: CoatDates) -> Booking | None:
        return self._names.bookings.get(coat.booking)

    def _now(self, face: FacePlan, laid: Sequence[CoatDates], ahead: Booking | None) -> str:
        if not laid:
            return self._before(face, ahead)
        last, today = laid[-1], self._names.today(face.site)
        day, coat = (today - last.day).days, self._names.coat(last)
        if last.last_visit is not None and today <= last.last_visit:
            return self._say("terminal.now.day_of", coat=coat, day=day, last=(last.last_visit - last.day).days)
        whole = [c for c in laid if c.full is not None and c.full <= self._names.now and c.last_visit]
        if whole and whole[-1].last_visit and (ahead is None or whole[-1] is last):
            return self._names.words.count("terminal.now.done", (whole[-1].last_visit - whole[-1].day).days)
        if ahead is None:
            return self._say("terminal.now.finished")
        if ahead.ready is not None and today < ahead.ready:
            return self._say("terminal.now.day_of", coat=coat, day=day, last=(ahead.ready - last.day).days)
        return self._say("terminal.now.day", coat=coat, day=day)

    def _before(self, face: FacePlan, ahead: Booking | None) -> str:
        """Return where a face stands that has no coat yet."""
        if ahead is None:
            return self._say("terminal.now.ended")
        shut = [hold for name in ahead.holds if (hold := self._holds.get(name))]
        if not shut:
            return self._say("terminal.now.ready")
        if any(hold.state is HoldState.REFUSED for hold in shut):
            return self._say("terminal.now.refused")
        if all(hold.met or hold.shut in READ_AGAIN for hold in shut):
            return self._say("terminal.now.again")
        if face.panel is not None and self._names.today(face.site) < face.panel.ready:
            return self._say("terminal.now.drying")
        return self._names.words.count("terminal.now.open", len(shut))

    def _tended(self, face: FacePlan, laid: Sequence[CoatDates]) -> str:
        """Return until when a finished face is still looked after."""
        last = max((coat.last_visit for coat in laid if coat.last_visit), default=None)
        if last is None or last < self._names.today(face.site):
            return ""
        return self._say("terminal.held.tended_to", day=self._names.day(last))

    def held(self, booking: Booking) -> str:
        """Return in a few words what holds a coat: the hold point, else what bound its day."""
        points = [hold.point for name in booking.holds if (hold := self._holds.get(name))]
        if points and booking.state is not State.OFF:
            return self._names.words.count("terminal.held.point", len(points), point=points[0])
        if booking.reason.key in WEAK and booking.reason.skipped:
            return self._most(booking.reason)
        return self._bound(booking.reason)

    def _bound(self, reason: Reason) -> str:
        key = f"terminal.held.{reason.key}"
        values = {name: self._value(value) for name, value in reason.values.items()}
        if "before" in values and reason.bound in self._names.bookings:
            values["before"] = self._names.coat_of(reason.bound)
        number = reason.values.get("days")
        try:
            if f"{key}.one" in CATALOGUE and isinstance(number, int):
                return self._names.words.count(key, number, **values)
            return self._say(key, **values)
        except KeyError:  # a plan of a version with other reasons
            return plain(reason.rule)

    def _value(self, value: object) -> object:
        if not isinstance(value, str):
            return value
        try:
            return self._names.day(date.fromisoformat(value))
        except ValueError:
            return self._names.named(value)

    def _most(self, reason: Reason) -> str:
        """Return why most of the days after the earliest could not be used."""
        most = max(reason.skipped, key=lambda one: one.days)
        key = f"terminal.skipped.{most.cause}"
        return self._say(key) if key in CATALOGUE else most.cause


def face_table(rows: Iterable[Row], names: Names) -> list[str]:
    """Return the table of all faces, with a line for each site where there are several."""
    say = names.words.say
    rows = list(rows)
    longest = max((width(names.face(row.face.id)) for row in rows), default=0)
    cells = [tuple(say(f"terminal.head.{name}") for name in ("wall", "now", "next", "from", "held"))]
    for row in rows:
        face = names.face(row.face.id)
        wall = face + " " * (longest - width(face) + 1) + names.wall(row.face)
        cells.append((wall, row.now, row.next, row.when, row.held))
    lines = table(cells, LEAST)
    if len({row.face.site for row in rows}) < 2:
        return lines
    return [lines[0], *_by_site(rows, lines[1:], names)]


def _by_site(rows: Sequence[Row], lines: Sequence[str], names: Names) -> Iterator[str]:
    sites = {site.id: plain(site.name) for site in names.plan.sites}
    before = None
    for row, line in zip(rows, lines, strict=True):
        if row.face.site != before:
            yield fit(names.words.say("terminal.site", site=sites.get(row.face.site, row.face.site)), WIDTH)
        before = row.face.site
        yield line
