"""The client's page: how far each wall is, what comes next, what not to touch; no names of people."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from curing.model.evidence import Evidence
from curing.model.plan import LIVE, Booking, CoatDates, FacePlan, Plan, State
from curing.publish.event_text import caution
from curing.publish.event_title import plain
from curing.publish.layers import Fill, Layer, layers
from curing.publish.record_text import percent_text
from curing.publish.terminal_names import Names, local_day
from curing.publish.terminal_said import called_off, stopped
from curing.publish.words import Words

SOON = 7
"""[d] A coat laid within so many days asks for room before the wall."""
FRESH = timedelta(days=1)
"""What is not kept damp is left alone for a day after it was laid (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Kept:
    """Visits of a coat whose time has come: how many were done, of how many."""

    times: int
    of: int
    aired: bool = False


@dataclass(frozen=True, slots=True)
class Read:
    """Wettest reading of a panel on the last day it was read [%, wet basis]."""

    day: date
    wet: float


@dataclass(frozen=True, slots=True)
class Facts:
    """What was recorded, for a client.

    Parameters
    ----------
    kept
        Coat → its visits.
    read
        Wall → last reading.
    limits
        Face → wettest reading that passes [%, wet basis].
    drying
        Faces whose panel is not recorded as dry enough.
    """

    kept: Mapping[str, Kept] = field(default_factory=dict)
    read: Mapping[str, Read] = field(default_factory=dict)
    limits: Mapping[str, float] = field(default_factory=dict)
    drying: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class ClientFace:
    """One face: how far it is, in plain sentences, and what comes next."""

    face: str
    number: str
    name: str
    states: tuple[str, ...]
    next: str
    guess: bool
    """Whether the date of what comes next is an estimate."""
    layers: tuple[Layer, ...]
    mark: str


@dataclass(frozen=True, slots=True)
class ClientPage:
    """The whole page."""

    count: str
    dates: tuple[str, ...]
    touch: tuple[str, ...]
    cautions: tuple[str, ...]
    faces: tuple[ClientFace, ...]


def client_page(plan: Plan, evidence: Evidence, facts: Facts, words: Words, now: datetime) -> ClientPage:
    """Return the client's page.

    Parameters
    ----------
    plan
        What people were told.
    evidence
        What was recorded, also since.
    facts
        What the record comes to for a client.
    now
        The present instant, aware.
    """
    return _Maker(plan, evidence, facts, words, now).page()


@dataclass(frozen=True, slots=True)
class _Where:
    """How far a face is: coats laid, the last one that is looked after, the next one."""

    laid: tuple[tuple[CoatDates, date | None], ...]
    tended: tuple[CoatDates, date] | None
    """Last coat laid that is kept damp or aired, and its last day."""
    ahead: tuple[CoatDates, ...]


class _Maker:
    def __init__(self, plan: Plan, evidence: Evidence, facts: Facts, words: Words, now: datetime) -> None:
        self.plan, self.evidence, self.facts, self.words = plan, evidence, facts, words
        today = Names(plan, words, now).today(plan.sites[0].id)
        off, stops = called_off(plan, evidence, words, today), stopped(plan, evidence, words, today)
        self.names = Names(plan, words, now, {}, off, stops)
        self.say = words.say
        self.layers = layers(plan, evidence.done.keys())
        self.lime = {face for one in plan.everything() if "lime" in one.cautions for face in one.faces}

    def page(self) -> ClientPage:
        faces = sorted(self.plan.faces, key=lambda one: one.order)
        where = {face.id: self._where(face) for face in faces}
        touch, soon = self._touch(faces, where)
        lime = any(face.id in self.lime for face in (*touch, *soon))
        said = []
        if touch:
            said.append(self.say("client.touch.faces", faces=self._listed(touch)))
        if soon:
            said.append(self.say("client.touch.soon", faces=self._listed(soon), days=SOON))
        return ClientPage(
            count=self._count(faces, where),
            dates=tuple(self._dates(faces, where)),
            touch=tuple(said or [self.say("client.touch.none")]),
            cautions=(caution(self.words, "lime"),) if lime else (),
            faces=tuple(self._face(face, where[face.id]) for face in faces),
        )

    def _listed(self, faces: list[FacePlan]) -> str:
        return self.names.faces(face.id for face in faces)

    def _where(self, face: FacePlan) -> _Where:
        laid: list[tuple[CoatDates, date | None]] = []
        tended, ahead = None, []
        zone = self.names.zone(face.site)
        for coat in face.coats:
            fact = self.evidence.done.get(coat.booking)
            at = fact.at if fact is not None else coat.laid
            if at is None or coat.booking in self.evidence.undone:
                ahead.append(coat)
                continue
            day = at.astimezone(zone).date()
            laid.append((coat, day))
            if coat.visits and coat.last_visit is not None:
                tended = coat, day + (coat.last_visit - coat.day)
        return _Where(tuple(laid), tended, tuple(ahead))

    # ------------------------------------------------------------------------------- the head

    def _count(self, faces: list[FacePlan], where: Mapping[str, _Where]) -> str:
        walls: dict[str, list[FacePlan]] = {}
        for face in faces:
            walls.setdefault(face.wall, []).append(face)
        done = sum(1 for listed in walls.values() if all(self._has_its_days(one, where[one.id]) for one in listed))
        drying = {face.wall for face in faces if face.id in self.facts.drying and not where[face.id].laid}
        said = self.words.count("client.count", len(walls), done=done)
        if not drying:
            return self.say("client.count.walls", walls=said)
        panels = self.words.count("client.count.drying", len(drying))
        return self.say("client.count.both", walls=said, panels=panels)

    def _has_its_days(self, face: FacePlan, where: _Where) -> bool:
        """Tell whether every coat that is looked after is laid, and its last day over."""
        left = any(coat.visits for coat in where.ahead)
        over = where.tended is None or where.tended[1] < self.names.today(face.site)
        return bool(where.laid) and not left and over

    def _dates(self, faces: list[FacePlan], where: Mapping[str, _Where]) -> Iterator[str]:
        ahead = [(face, coat) for face in faces for coat in where[face.id].ahead]
        fill = {(face.id, layer.coat): layer.fill for face in faces for layer in self.layers.get(face.id, ())}
        plaster = [coat.day for face, coat in ahead if fill.get((face.id, coat.coat)) is not Fill.SOLID]
        if plaster:
            yield self.say("client.dates.plaster", day=self.names.long_day(max(plaster)))
        ends = [max(coat.day, coat.last_visit or coat.day) for _, coat in ahead]
        ends += [one.tended[1] for one in where.values() if one.tended is not None]
        if not ahead:
            yield self.say("client.dates.none")
        today = self.names.today(self.plan.sites[0].id)
        if ends and max(ends) >= today:
            yield self.say("client.dates.end", day=self.names.long_day(max(ends)))
            yield self.say("client.dates.move")

    def _touch(self, faces: list[FacePlan], where: Mapping[str, _Where]) -> tuple[list[FacePlan], list[FacePlan]]:
        """Return the faces that are kept damp or fresh, and those that get a coat soon."""
        now, soon = [], []
        for face in faces:
            one, today = where[face.id], self.names.today(face.site)
            last = one.laid[-1][1] if one.laid else None
            kept = one.tended is not None and one.tended[1] >= today
            if kept or (last is not None and last >= today - FRESH):
                now.append(face)
            elif self._comes(one) is not None and (self._day(one) or today) <= today + timedelta(SOON):
                soon.append(face)
        return now, soon

    def _comes(self, where: _Where) -> Booking | None:
        """Return the booking of the next coat, where it has a day for certain."""
        booking = self.names.bookings.get(where.ahead[0].booking) if where.ahead else None
        if booking is None or booking.state is not State.FIRM or booking.id in self.names.off:
            return None
        return booking if booking.id not in self.names.stops else None

    def _day(self, where: _Where) -> date | None:
        booking = self._comes(where)
        return local_day(booking) if booking is not None else None

    # ------------------------------------------------------------------------------- a face

    def _face(self, face: FacePlan, where: _Where) -> ClientFace:
        states = tuple(self._states(face, where))
        next_, guess = self._next(where)
        mark = "tick" if self._has_its_days(face, where) else "panel" if not where.laid else "mist-once"
        return ClientFace(
            face=face.id,
            number=self.names.face(face.id),
            name=plain(face.wall_name),
            states=states,
            next=next_,
            guess=guess,
            layers=self.layers.get(face.id, ()),
            mark=mark,
        )

    def _states(self, face: FacePlan, where: _Where) -> Iterator[str]:
        if not where.laid:
            yield self._bare(face)
            return
        coat, day = where.laid[-1]
        said = self.names.long_day(day) if day is not None else ""
        yield self.say("client.laid", coat=self._name(coat), day=said)
        if where.tended is not None:
            tended, last = where.tended
            kept = self.facts.kept.get(tended.booking)
            care = "air" if kept is not None and kept.aired else "mist"
            over = last < self.names.today(face.site)
            if kept is not None and tended is coat:
                yield self.words.count(f"client.kept.{care}", kept.of, times=kept.times)
            if over and tended.last_visit is not None and not any(one.visits for one in where.ahead):
                yield self.words.count("client.days", (tended.last_visit - tended.day).days)
            elif not over:
                yield self.say(f"client.until.{care}", day=self.names.long_day(last))
        if not where.ahead:
            yield self.say("client.all")

    def _bare(self, face: FacePlan) -> str:
        limit = self.facts.limits.get(face.id)
        if face.id not in self.facts.drying:
            return self.say("client.dry")
        if limit is None:
            return self.say("client.drying")
        read, shown = self.facts.read.get(face.wall), self.words.figure(limit, "percent")
        if read is None:
            return self.say("client.drying.unread", limit=shown)
        reading, day = percent_text(read.wet, self.words, limit), self.names.long_day(read.day)
        return self.say("client.drying.read", reading=reading, day=day, limit=shown)

    def _name(self, coat: CoatDates) -> str:
        name = plain(coat.name)
        return name[:1].upper() + name[1:]

    def _next(self, where: _Where) -> tuple[str, bool]:
        if not where.ahead:
            return "", False
        coat = where.ahead[0]
        name = plain(coat.name)
        booking = self.names.bookings.get(coat.booking)
        if coat.booking in self.evidence.started:
            return self.say("client.begun", coat=self._name(coat)), False
        if booking is None or booking.state not in LIVE or booking.id in self.names.off:
            return self.say("client.next.no_day", coat=name), True
        day = self.names.long_day(local_day(booking))
        near = local_day(booking) <= self.names.today(booking.site) + timedelta(SOON)
        if near and self._comes(where) is not None:  # what is farther off moves with the weather
            return self.say("client.next", coat=name, day=day), False
        points = [plain(hold.text).rstrip(".") for hold in self.plan.holds if hold.id in booking.holds]
        if not points:
            return self.say("client.next.about_plain", coat=name, day=day), True
        return self.say("client.next.about", coat=name, day=day, points="; ".join(points) + "."), True
