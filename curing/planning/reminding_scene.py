"""Everything a reminder can depend on, and the ways to read it that all kinds of reminders share."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo
from functools import cached_property
from typing import Any

from curing.model.evidence import Evidence
from curing.model.job import Face, Job, Person, Role
from curing.model.plan import Booking, Care, Change, HoldState, Kind, Notice, Plan, Slot, State, Visit
from curing.model.record import RecordEntry, RecordKind
from curing.model.reminders import Kind as Told
from curing.model.reminders import Occasion
from curing.planning.reminding_quiet import Manner, goes_out
from curing.planning.roots import Roots
from curing.planning.said_of_rounds import TENDER_DAYS, Asked, asked
from curing.planning.turns import holder, holding
from curing.planning.worktime import Worktime, instant, local, zone_of

DAY = timedelta(days=1)
ANSWERS = frozenset(
    (RecordKind.INSPECTION, RecordKind.READING, RecordKind.TEST, RecordKind.COVER_UP, RecordKind.COVER_DOWN)
)
"""Kinds of entries that answer a task."""


@dataclass(frozen=True)
class Scene:
    """Everything a reminder can depend on.

    Parameters
    ----------
    job
        As its file says it.
    entries
        The record after corrections.
    moved
        Revisions of the last days, the newest first: number, when it was saved, what it changed.
    weather_read
        When the weather was read last; None: no weather is used.
    evening
        Local minute of the summary, and of what tomorrow brings.
    morning
        Local minute from which matters of a whole day are told.
    """

    job: Job
    roots: Roots
    plan: Plan
    evidence: Evidence
    entries: Sequence[RecordEntry]
    moved: Sequence[tuple[int, datetime, Sequence[Change]]] = ()
    warnings: Sequence[Notice] = ()
    questions: Sequence[Notice] = ()
    weather_read: datetime | None = None
    evening: int = 18 * 60 + 30
    morning: int = 7 * 60


@dataclass(frozen=True)
class View:
    """A scene, looked at for what falls due after one instant and until another."""

    scene: Scene
    after: datetime
    to: datetime

    # -- people ---------------------------------------------------------------------------

    @cached_property
    def people(self) -> Mapping[str, Person]:
        """Root → person, in the job file's order, of those who may be told anything: who only reads is not."""
        roots = self.scene.roots.people
        works = {Role.MISTS, Role.LEAD, Role.ARCHITECT}
        return {
            roots.get(one.id, one.id): one
            for one in self.scene.job.file.people
            if Role.CLIENT not in one.roles or works & set(one.roles)
        }

    def having(self, role: Role) -> list[str]:
        """Return the roots of who has a role, in the job file's order."""
        return [root for root, one in self.people.items() if role in one.roles]

    @cached_property
    def leads(self) -> list[str]:
        """Roots of who leads."""
        return self.having(Role.LEAD)

    @cached_property
    def deciders(self) -> list[str]:
        """Roots of who is asked to decide: who leads; the architects where nobody does."""
        return self.leads or self.having(Role.ARCHITECT)

    @cached_property
    def _called(self) -> Mapping[str, str]:
        return {**self.scene.roots.people, **{one.id: one.root for one in self.scene.plan.people}}

    def root(self, person: str) -> str:
        """Return the root of a person of the plan."""
        return self._called.get(person, person)

    def having_it(self, booking: Booking) -> list[str]:
        """Return the roots of who has a booking and still is of the job."""
        return [root for one in booking.who if (root := self.root(one)) in self.people]

    def holder(self, walk: Booking) -> str:
        """Return the root of who has a walk now, or nothing: by the plan, and by what was said since.

        The planner had its say on what it knew while the walk was not over, and may have shared it out.
        """
        who = self.root(walk.who[0]) if walk.who else ""
        if walk.slot is None or not (turns := self.scene.evidence.turns.get((day_of(walk), walk.slot))):
            return who
        since = [one for one in holding(turns) if one.cause.at > self.scene.plan.as_of or one.cause.at >= walk.end]
        now = self.root(holder(self.scene.roots.person_now(who), since))
        return now if now in self.people else who

    def gave_away(self, day: date, slot: Slot) -> set[str]:
        """Return the roots of who passed on the walks of a part of a day."""
        return {self.root(one.instead) for one in self.scene.evidence.turns.get((day, slot), ()) if one.instead}

    def next_walk(self, faces: Iterable[str], after: datetime) -> datetime | None:
        """Return when the next walk to any of some faces begins, after an instant; None: none is booked."""
        ahead = (next((at for at in self._walked.get(face, ()) if at > after), None) for face in faces)
        return min((at for at in ahead if at is not None), default=None)

    @cached_property
    def _walked(self) -> Mapping[str, list[datetime]]:
        """Face → starts of the walks to it, in order."""
        found: dict[str, list[datetime]] = {}
        for one in sorted(self.scene.plan.rounds, key=lambda one: one.start):
            if one.state is not State.OFF:
                for face in dict.fromkeys(one.faces):
                    found.setdefault(face, []).append(one.start)
        return found

    @cached_property
    def worktime(self) -> Worktime:
        """Hours and days of the people of the job file."""
        return Worktime(self.scene.job)

    # -- days -----------------------------------------------------------------------------

    @cached_property
    def zone(self) -> tzinfo:
        """Zone of the first site, by which matters of a day are told."""
        return zone_of(self.scene.job.file.sites[0].time_zone)

    @cached_property
    def zone_name(self) -> str:
        """Name of that zone."""
        return self.scene.job.file.sites[0].time_zone

    def days(self, before: int = 2, behind: int = 1) -> Iterator[date]:
        """Yield the local days of the span, with some before and behind it."""
        day, last = local(self.zone, self.after)[0] - before * DAY, local(self.zone, self.to)[0] + behind * DAY
        while day <= last:
            yield day
            day += DAY

    def at(self, day: date, minute: int) -> datetime:
        """Return the instant of a local minute at the first site."""
        return instant(self.zone, day, minute)

    # -- plan and record ------------------------------------------------------------------

    @cached_property
    def laid(self) -> Mapping[str, datetime]:
        """Coat → when it was closed, for those that are done."""
        evidence = self.scene.evidence
        plan = {
            one.id: one.end
            for one in self.scene.plan.bookings
            if one.kind is Kind.COAT and one.state is State.DONE and one.id not in evidence.undone
        }
        return {**plan, **{coat: one.at for coat, one in evidence.done.items()}}

    @cached_property
    def off(self) -> frozenset[str]:
        """Coats that will not be laid on their day: somebody said so, or a hold was shut since the plan was made."""
        evidence, found = self.scene.evidence, set()
        for one in self.scene.plan.bookings if evidence.could_not else ():
            failed = evidence.could_not.get(one.id)
            if failed is not None and failed.day == day_of(one):
                begun = evidence.started.get(one.id)
                if begun is None or begun.at <= failed.cause.at:
                    found.add(one.id)
        for hold in self.scene.plan.holds if evidence.holds else ():
            fact = evidence.holds.get(hold.id)
            if fact is not None and fact.met is None:
                refused = fact.refused is not None and hold.state is not HoldState.REFUSED
                if refused or hold.state is HoldState.MET:
                    found.update(hold.before)
        return frozenset(found - self.laid.keys())

    @cached_property
    def faces(self) -> Mapping[str, Face]:
        """Face id → face of the job file."""
        return {face_id: face for face_id, _, face in self.scene.job.faces()}

    @cached_property
    def coats(self) -> Mapping[str, Booking]:
        """Coat id → booking."""
        return {one.id: one for one in self.scene.plan.bookings if one.kind is Kind.COAT}

    @cached_property
    def added(self) -> Mapping[str, datetime]:
        """Id → when the revision was saved that brought it into the plan last, of the last days."""
        found: dict[str, datetime] = {}
        for _, saved, changes in self.scene.moved:
            for one in changes:
                if one.old is None and one.new is not None and saved > found.get(one.id, saved - DAY):
                    found[one.id] = saved
        return found

    def near(self, bookings: Iterable[Booking], before: timedelta, behind: timedelta) -> list[Booking]:
        """Return what begins in the span, or so long before and behind it."""
        first, last = self.after - before, self.to + behind
        return [one for one in bookings if first <= one.start <= last]

    def open_visits(self, walk: Booking) -> list[Visit]:
        """Return the visits of a walk that are to be made: certain, without an answer, of no coat that is off.

        A coat that nobody said to be laid may well be; its walks stand as they were told.
        """
        if walk.state is not State.FIRM:
            return []
        due = {one.visit.id for one in self.asked_of(walk)} | {one.id for one in walk.visits if one.dry}
        return [
            one
            for one in walk.visits
            if not one.conditional
            and one.id not in self.scene.evidence.visits
            and (one.id in due if coat_of(one) in self.laid else coat_of(one) not in self.off)
        ]

    def asked_of(self, walk: Booking) -> list[Asked]:
        """Return the visits of a walk that were due, of coats that are laid, each with its answer."""
        if walk.id not in self._asked:
            faces = {one.face for one in walk.visits}
            laid = {coat: at for face in faces for coat, at in self._laid_on.get(face, ())}
            self._asked[walk.id] = list(asked([walk], self.scene.evidence, laid, walk.end)) if laid else []
        return self._asked[walk.id]

    @cached_property
    def _asked(self) -> dict[str, list[Asked]]:
        return {}

    @cached_property
    def _laid_on(self) -> Mapping[str, list[tuple[str, datetime]]]:
        found: dict[str, list[tuple[str, datetime]]] = {}
        for coat, at in self.laid.items():
            found.setdefault(coat.rpartition(".")[0], []).append((coat, at))
        return found

    def entries_of(self, face: str) -> Sequence[RecordEntry]:
        """Return the entries about a face (looks, readings, tests, covers), in time order."""
        return self._entries.get(face, ())

    @cached_property
    def _entries(self) -> Mapping[str, list[RecordEntry]]:
        found: dict[str, list[RecordEntry]] = {}
        for one in self.scene.entries:
            if one.face is not None and one.kind in ANSWERS:
                now = self.scene.roots.face_now(one.face)
                if now is not None:
                    found.setdefault(now, []).append(one)
        return found

    def in_order(self, faces: Iterable[str]) -> tuple[str, ...]:
        """Return faces once each, in walking order."""
        return tuple(sorted(set(faces), key=lambda face: (self._order.get(face, len(self._order)), face)))

    @cached_property
    def _order(self) -> Mapping[str, int]:
        return {one.id: one.order for one in self.scene.plan.faces}

    def lasting(self, id_: str) -> str:
        """Return the id of a face, coat, hold or wall by the roots of its wall.

        ``north-out.base`` of a wall that was once called 3 is ``3-out.base``.
        """
        head, dot, tail = id_.partition(".")
        roots = self.scene.roots
        if head in roots.walls:
            return f"{roots.walls[head]}{dot}{tail}"
        try:
            return f"{roots.face_root(head)}{dot}{tail}"
        except (KeyError, ValueError):
            return id_

    # -- occasions ------------------------------------------------------------------------

    def occasion(
        self,
        kind: Told,
        key: str,
        person: str,
        meant: datetime,
        until: datetime,
        *,
        manner: Manner = Manner.WAITS,
        zone: str = "",
        **more: Any,
    ) -> Iterator[Occasion]:
        """Yield the occasion on which a person is told something, unless it would come too late to be of use.

        Parameters
        ----------
        person
            Root; who is not of the job is told nothing.
        meant
            When it is to go out if the person's quiet hours allow.
        zone
            By whose clock it is told; empty: the first site's.
        """
        who, zone = self.people.get(person), zone or self.zone_name
        if who is None:
            return
        due = goes_out(who, zone_of(zone), meant, until, manner)
        if due is not None:
            rings = manner is Manner.RINGS
            values = {"zone": zone, **more.pop("values", {})}
            said = stamp(zone_of(zone), meant)
            yield Occasion(key, kind, person, due, until, said, values=values, rings_in_quiet=rings, **more)


def day_of(booking: Booking) -> date:
    """Return the local day of a booking."""
    return local(zone_of(booking.zone), booking.start)[0]


def over_of(booking: Booking) -> datetime:
    """Return the end of the window in which a booking still does its work."""
    return max(booking.end, booking.until or booking.end)


def end_of_day(zone: tzinfo, day: date) -> datetime:
    """Return the midnight that ends a local day."""
    return instant(zone, day + DAY, 0)


def coat_of(visit: Visit) -> str:
    """Return the coat that a visit is about."""
    return f"{visit.face}.{visit.coat}"


def is_tender(visit: Visit) -> bool:
    """Tell whether a coat would be hurt soon without this visit: it is misted, and young."""
    return visit.care is Care.MIST and visit.day <= TENDER_DAYS and not visit.dry


def clock(zone: tzinfo, at: datetime) -> str:
    """Return the local time, ``06:30``."""
    _, minute = local(zone, at)
    return f"{minute // 60:02d}:{minute % 60:02d}"


def stamp(zone: tzinfo, at: datetime) -> str:
    """Return local day and time, ``2027-05-25 06:30``."""
    return f"{local(zone, at)[0].isoformat()} {clock(zone, at)}"
