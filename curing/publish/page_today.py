"""The day at the walls as a page: each thing to do at its wall, in walking order, with what may be answered."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta

from curing.model.evidence import Cause, Evidence
from curing.model.plan import LIVE, Booking, Care, Kind, Plan, Slot, State, Visit
from curing.publish.event_text import steps
from curing.publish.event_title import plain
from curing.publish.layers import layers
from curing.publish.page_day import Ask, Day, Item, Part, Row, Waiting
from curing.publish.page_duties import day_cautions, duties, next_day
from curing.publish.terminal_faces import Faces
from curing.publish.terminal_names import Names, local_day
from curing.publish.terminal_said import called_off, coat_behind, said_texts, stopped
from curing.publish.visit_weather import short, whole
from curing.publish.words import Words

LATE_FROM = timedelta(hours=12)
"""So long after its window a visit without a word is missed; before that it is asked about."""


SLOTS = {"early": 0, "work": 1, "midday": 2, "late": 3}


def day_page(
    plan: Plan,
    evidence: Evidence,
    words: Words,
    now: datetime,
    *,
    person: str,
    decides: bool,
    day: date | None = None,
) -> Day:
    """Return what stands on a day's page.

    Parameters
    ----------
    plan
        What people were told.
    evidence
        What was recorded and decided, also since.
    now
        The present instant, aware.
    person
        Id of the reader: what is his or hers is marked, and may be undone.
    decides
        Whether the reader may also take back what others said.
    day
        The local day of the first site; None: today.
    """
    zone_day = Names(plan, words, now).today(plan.sites[0].id)
    day = day or zone_day
    said = said_texts(evidence, words)
    names = Names(
        plan,
        words,
        now,
        said,
        called_off(plan, evidence, words, zone_day),
        stopped(plan, evidence, words, zone_day),
    )
    maker = _Maker(plan, evidence, names, now, zone_day, person, decides)
    parts = maker.parts(day)
    items = [item for part in parts for item in part.items]
    busy = {item.face for item in items}
    every = [one for one in plan.everything() if local_day(one) == day and one.state in LIVE]
    ahead_day, ahead = next_day(plan, day, names, evidence)
    waiting = tuple(maker.waiting(busy)) if day >= zone_day else ()
    return Day(
        day=day,
        title=_title(parts, words, day, today=day == zone_day),
        parts=tuple(parts),
        waiting=waiting,
        rows=tuple(_rows(plan, parts, waiting)),
        duties=tuple(duties(every, names)),
        cautions=tuple(day_cautions(plan, every, words)),
        ahead=ahead,
        ahead_day=ahead_day,
        done=sum(1 for one in items if one.state in ("done", "off")),
        of=len(items),
        before=(day - timedelta(1)).isoformat(),
        after=(day + timedelta(1)).isoformat(),
    )


COLUMNS = (("early",), ("work", "midday"), ("late",))
"""Parts of the day that stand in one column of the desktop's table."""


def _rows(plan: Plan, parts: Sequence[Part], waiting: Sequence[Waiting]) -> Iterator[Row]:
    held = {one.face: one for one in waiting}
    for face in sorted(plan.faces, key=lambda one: one.order):
        cells = tuple(
            tuple(item for part in parts if part.slot in column for item in part.items if item.face == face.id)
            for column in COLUMNS
        )
        found = [item for cell in cells for item in cell]
        waits = held.get(face.id)
        if found or waits is not None:
            head = found[0] if found else waits
            assert head is not None
            name, layers_ = plain(face.wall_name), head.layers
            number = waits.number if waits is not None else found[0].number
            yield Row(number, name, face.wall, layers_, cells, waits)


def _title(parts: Sequence[Part], words: Words, day: date, *, today: bool) -> str:
    part = next((one for one in parts if one.now), None)
    if today and part is not None:
        return words.say("page.today.title", day=words.day(day), part=part.title)
    return words.day(day)


class _Maker:
    """Makes the parts of a day."""

    def __init__(
        self, plan: Plan, evidence: Evidence, names: Names, now: datetime, today: date, person: str, decides: bool
    ) -> None:
        self.plan, self.evidence, self.names, self.now = plan, evidence, names, now
        self.today, self.person, self.decides = today, person, decides
        self.words, self.say = names.words, names.words.say
        self.order = {face.id: face.order for face in plan.faces}
        self.faces = {face.id: face for face in plan.faces}
        self.layers = layers(plan, evidence.done.keys())

    def parts(self, day: date) -> list[Part]:
        """Return the parts of a day in the order of the hours; the one of now, or the next, is marked."""
        groups: dict[str, list[Booking]] = {}
        for one in self.plan.everything():
            if local_day(one) == day and (one.state in (*LIVE, State.DONE)):
                groups.setdefault(one.slot.value if one.kind is Kind.ROUND and one.slot else "work", []).append(one)
        left = self._left_over(day) if day == self.today else []
        parts = [self._part(slot, found) for slot, found in groups.items()]
        parts = [part for part in parts if part.items]
        parts.sort(key=lambda part: SLOTS[part.slot])
        if left:
            parts.insert(0, Part("left", self.say("page.part.left"), "", "", tuple(left), False, kind="left"))
        if day == self.today:
            parts = self._with_now(parts)
        return parts

    def _with_now(self, parts: list[Part]) -> list[Part]:
        """Mark the part the hour is in: the first with something to do; in it, what is next at the walls."""
        at = next((n for n, part in enumerate(parts) if part.left and part.kind != "left"), None)
        at = next((n for n, part in enumerate(parts) if part.left), None) if at is None else at
        if at is None:
            return parts
        part = parts[at]
        ahead = [one for one in part.items if one.state in ("todo", "missed") and one.ask is not Ask.NOTHING]
        next_ = next((one for one in ahead if one.yours), ahead[0] if ahead else None)
        items = tuple(replace(one, state="next") if one is next_ else one for one in part.items)
        parts[at] = replace(part, now=True, items=items)
        return parts

    def _part(self, slot: str, found: Sequence[Booking]) -> Part:
        walks = [one for one in found if one.kind is Kind.ROUND]
        items = [item for one in found for item in self._items(one)]
        items.sort(key=lambda one: (self.order.get(one.face, 999), one.when, one.id))
        first, last = (min(b.start for b in found), max(b.end for b in found)) if found else (self.now, self.now)
        zone = found[0].zone
        span = self.say("page.span", start=self.words.clock(first, zone), end=self.words.clock(last, zone))
        open_ = tuple(
            one.id for one in items if one.ask is Ask.VISIT and one.state in ("todo", "missed") and not one.unless
        )
        who = ", ".join(dict.fromkeys(self.names.who(one.who) for one in walks))
        yours = any(self.person in one.who for one in found)
        kind = "round" if walks else "work"
        return Part(slot, self.say(f"page.part.{slot}"), span, who, tuple(items), False, open_, kind, yours)

    def _left_over(self, day: date) -> list[Item]:
        """Return yesterday's visits and looks without an answer, which may still be told."""
        found = []
        for one in self.plan.rounds:
            if local_day(one) != day - timedelta(1) or one.state not in (*LIVE, State.DONE):
                continue
            for item in self._items(one):
                if item.state in ("todo", "missed") and not item.unless:
                    found.append(replace(item, day=self.words.day(day - timedelta(1))))
        return sorted(found, key=lambda one: (self.order.get(one.face, 999), one.when, one.id))

    def _held_back(self, visit: Visit) -> Visit | None:
        """Return the visit of the same coat that is nearest now, if the weather wants no water on it then."""
        day = timedelta(1)
        near = (
            (abs(walk.start - self.now), one)
            for walk in self.plan.rounds
            if walk.state in (*LIVE, State.DONE) and abs(walk.start - self.now) < day
            for one in walk.visits
            if (one.face, one.coat) == (visit.face, visit.coat)
        )
        nearest = min(near, key=lambda one: one[0], default=None)
        return nearest[1] if nearest is not None and nearest[1].dry else None

    def _items(self, booking: Booking) -> Iterator[Item]:
        if booking.kind is Kind.ROUND:
            for visit in booking.visits:
                if f"{visit.face}.{visit.coat}" not in self.names.off:
                    yield self._visit(booking, visit)
        else:
            faces = booking.faces or ("",)
            yield self._work(booking, faces[0])

    def _base(self, booking: Booking, face: str) -> dict[str, object]:
        plan_face = self.faces.get(face)
        return {
            "face": face,
            "number": self.names.face(face) if face else "",
            "name": plain(plan_face.wall_name) if plan_face else "",
            "wall": plan_face.wall if plan_face else "",
            "when": self.names.span(booking),
            "who": self.names.who(booking.who),
            "yours": self.person in booking.who,
            "layers": self.layers.get(face, ()),
        }

    def _visit(self, booking: Booking, visit: Visit) -> Item:
        tick = self.evidence.visits.get(visit.id)
        laid = self._laid(visit)
        over = max(booking.end, booking.until or booking.end)
        state = "todo"
        if tick is not None:
            state = "done" if tick.tended else "off"
        elif self.now >= over and laid and not visit.dry:
            state = "missed"
        place = ""
        if visit.care is Care.MIST:
            place = "only" if visit.times_a_day < 2 else "second" if booking.slot is Slot.LATE else "first"
            place = "more" if booking.slot is Slot.MIDDAY else place
        key = f"page.visit.{visit.care}.{place}" if place else f"page.visit.{visit.care}"
        coat = self._coat_name(visit)
        of = "dry" if visit.dry else visit.care.value
        key = "page.visit.dry" if visit.dry else key
        detail = self.say(f"page.visit.of.{of}", coat=coat, day=visit.day, last=visit.last_day)
        if tick is None and visit.weather is not None:
            detail = f"{whole(self.words, visit, booking.zone)} {detail}"
        if state == "missed":
            key = "page.visit.missed"
            late = self.now >= over + LATE_FROM
            kept_dry = self._held_back(visit)
            key = "page.visit.missed.dry" if kept_dry is not None else key
            detail = self.say(
                f"page.visit.{'missed' if late else 'unsaid'}{'.dry' if kept_dry is not None else ''}.of",
                weather=short(self.words, kept_dry) if kept_dry is not None else "",
                coat=coat,
                day=visit.day,
                last=visit.last_day,
                span=self.names.span(booking),
                until=self.words.clock(over, booking.zone),
            )
        return Item(
            id=visit.id,
            ask=Ask.VISIT,
            state=state,
            mark=self._visit_mark(visit, state),
            does=self.say(key),
            detail=detail,
            said=self.names.said.get(visit.id, ""),
            undo=self._undo(tick.cause if tick is not None else None),
            sun=self._sun(visit) if tick is None else "",
            unless="" if laid else self.say("page.visit.if_laid", coat=coat),
            **self._base(booking, visit.face),  # type: ignore[arg-type]
        )

    def _visit_mark(self, visit: Visit, state: str) -> str:
        if state == "missed":
            return "missed"
        if visit.care is Care.AIR:
            return "air"
        if visit.care is Care.LOOK or visit.dry:
            return "look"
        return "mist-twice" if visit.times_a_day > 1 else "mist-once"

    def _laid(self, visit: Visit) -> bool:
        coat = f"{visit.face}.{visit.coat}"
        if coat in self.evidence.done:
            return True
        face = self.faces.get(visit.face)
        return face is not None and any(one.coat == visit.coat and one.laid is not None for one in face.coats)

    def _coat_name(self, visit: Visit) -> str:
        face = self.faces.get(visit.face)
        name = next((one.name for one in face.coats if one.coat == visit.coat), visit.coat) if face else visit.coat
        return plain(name[:1].upper() + name[1:])

    def _sun(self, visit: Visit) -> str:
        if not visit.sun_from:
            return self.say("page.visit.cloth") if visit.cloth else ""
        key = "page.visit.sun_cloth" if visit.cloth else "page.visit.sun"
        return self.say(key, start=plain(visit.sun_from), end=plain(visit.sun_to))

    def _undo(self, cause: Cause | None) -> str:
        """Return the key of an entry that the reader may take back, until midnight."""
        if cause is None or not (self.decides or cause.by == self.person):
            return ""
        return cause.key if cause.at.astimezone(self.names.zone(self.plan.sites[0].id)).date() >= self.today else ""

    def _work(self, booking: Booking, face: str) -> Item:
        done = booking.state is State.DONE or booking.id in self.evidence.done
        off, stop = self.names.off.get(coat_behind(booking), ""), self.names.stops.get(coat_behind(booking), "")
        state = "done" if done else "off" if off else "waits" if stop else "todo"
        points = [plain(one.text) for one in self.plan.holds if one.id in booking.holds]
        unless = ""
        if booking.state is State.CONDITIONAL and not done:
            unless = self.say("page.work.if_met", points="; ".join(points)) if points else self.say("page.work.if")
            state = "waits" if state == "todo" else state
        fact, begun = self.evidence.done.get(booking.id), self.evidence.started.get(booking.id)
        said = off if off else self.names.said.get(booking.id, "")
        cause = fact.cause if fact is not None else begun
        if off and (failed := self.evidence.could_not.get(booking.id)):
            cause = failed.cause
        base = self._base(booking, face)
        if booking.kind is Kind.READING or not face:
            base["number"] = self.names.titles.subject(booking)[0]
        return Item(
            id=booking.id,
            ask=_ask(booking, done=done),
            state=state,
            mark=self._work_mark(booking, face),
            does=self._does(booking),
            detail=self._detail(booking),
            said=said,
            undo=self._undo(cause),
            stop=stop,
            unless=unless,
            begun=begun is not None and not done,
            notes=steps(self.words, booking) if not done else (),
            **base,  # type: ignore[arg-type]
        )

    def _does(self, booking: Booking) -> str:
        task = self.names.task(booking)
        return task[:1].upper() + task[1:]

    def _detail(self, booking: Booking) -> str:
        said = [self.names.span(booking)]
        if booking.kind is Kind.COAT and booking.labour:
            said.append(self.words.count("page.work.people", len(booking.who)))
        if booking.kind is Kind.LOOK:
            said.append(self.say("page.work.look"))
        return " · ".join(said)

    def _work_mark(self, booking: Booking, face: str) -> str:
        if booking.kind is Kind.COVER:
            return "hessian"
        if booking.looks_over:
            return "look"
        if booking.kind is not Kind.COAT:
            return {Kind.READING: "reading", Kind.TEST: "tests", Kind.LOOK: "look"}.get(booking.kind, "look")
        fill = next((one.fill for one in self.layers.get(face, ()) if one.coat == booking.task), None)
        return {"dots": "base", "lines": "finish", "solid": "paint"}.get(fill.value if fill else "", "base")

    def waiting(self, busy: Iterable[str]) -> Iterator[Waiting]:
        """Yield the faces with nothing to do: what comes next at them, from when, and why then."""
        there = set(busy)
        for row in Faces(self.plan, self.names, self.evidence.done.keys()).rows():
            if row.booking is None or row.face.id in there:
                continue
            id_ = row.booking.id
            why = self.names.off.get(id_) or self.names.stops.get(id_) or self.names.why(row.booking)
            points = [plain(hold.point) for hold in self.plan.holds if hold.id in row.booking.holds]
            if points and id_ not in self.names.off and id_ not in self.names.stops:
                why = self.words.count("terminal.why_if", len(points), points=", ".join(points), why=why)
            yield Waiting(
                number=self.names.face(row.face.id),
                name=self.names.wall(row.face),
                wall=row.face.wall,
                face=row.face.id,
                next=row.next[:1].upper() + row.next[1:],
                when=self.say("terminal.no_day") if id_ in self.names.off else row.when,
                why=why,
                conditional=row.conditional,
                layers=self.layers.get(row.face.id, ()),
            )


def _ask(booking: Booking, *, done: bool) -> Ask:
    if done:
        return Ask.NOTHING
    if booking.kind is Kind.COVER:
        return Ask.COVER_UP if booking.task.endswith("up") else Ask.COVER_DOWN
    if booking.looks_over:
        return Ask.LOOK
    return {Kind.COAT: Ask.COAT, Kind.LOOK: Ask.LOOK, Kind.READING: Ask.READING, Kind.TEST: Ask.TEST}.get(
        booking.kind, Ask.NOTHING
    )
