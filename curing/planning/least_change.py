"""What the parent plan asks of the next: what stays, what may not move, what has slid.

Today and tomorrow never move to make a plan shorter; done work never moves; a coat
keeps its day while the rules allow it, and comes forward only where a rule that held
it has been loosened (a hold recorded as met, an earlier start).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from curing.model.plan import Booking, Kind, Plan, Slot, State
from curing.planning.expand import CoatWork, FaceWork, Identity
from curing.planning.readiness import SLIDE, Floor, Laid, ready
from curing.planning.worktime import Worktime, local, zone_of

DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Kept:
    """Where the parent plan has a coat that is not done."""

    booking: Booking
    day: date
    start: int
    """[min after local midnight]"""


@dataclass(frozen=True, slots=True)
class Past:
    """All that the parent plan asks of the next one."""

    kept: Mapping[str, Kept]
    """Coat id → its place in the parent."""
    pinned: frozenset[str]
    """Ids of coats that stand today or tomorrow and stay."""
    floors: Mapping[str, Floor]
    overdue: frozenset[str]
    """Ids of coats whose day is over without a word."""
    walkers: Mapping[tuple[date, Slot, str], str]
    rounds: tuple[Booking, ...]
    """Rounds of today and tomorrow, which stay."""
    tasks: Mapping[str, Booking]
    """Readings, tests, looks, covers from today on, by id."""
    history: tuple[Booking, ...]
    """Everything before today except coats."""
    coats: Mapping[str, Booking]
    """Coats of the parent, done or not, by id."""

    @property
    def unsaid(self) -> frozenset[str]:
        """Overdue coats that may well have been laid: no hold kept them; their walks go on until tomorrow."""
        return frozenset(coat for coat in self.overdue if self.floors[coat].cause == "unconfirmed")


EMPTY = Past({}, frozenset(), {}, frozenset(), {}, (), {}, (), {})


def past(
    parent: Plan | None,
    works: Iterable[FaceWork],
    identity: Identity,
    worktime: Worktime,
    as_of: datetime,
    unmet: Callable[[FaceWork, CoatWork, date], str],
    *,
    today_too: bool,
) -> Past:
    """Read the parent plan.

    Parameters
    ----------
    unmet
        (face, coat, day) → id of the first hold that is not met for that day, or "".
    today_too
        Whether what stands today and tomorrow may move.
    """
    if parent is None:
        return EMPTY
    faces = {face.id: face for face in works}
    renamed = _renamed(parent, identity)
    kept: dict[str, Kept] = {}
    walkers: dict[tuple[date, Slot, str], str] = {}
    history: list[Booking] = []
    rounds: list[Booking] = []
    tasks: dict[str, Booking] = {}
    coats: dict[str, Booking] = {}
    for booking in (_rename(one, *renamed) for one in parent.everything()):
        day, start = local(zone_of(booking.zone), booking.start)
        today, _ = local(zone_of(booking.zone), as_of)
        known = [face for face in booking.faces if face in faces]
        if booking.kind is Kind.COAT:
            coats[booking.id] = booking
            if known and booking.state is not State.DONE and _open(faces[known[0]], booking):
                kept[booking.id] = Kept(booking, day, start)
        elif day < today:
            history.append(booking)
        elif booking.kind is Kind.ROUND and booking.slot is not None:
            for one in booking.visits:
                if booking.who:
                    walkers[day, booking.slot, one.face] = booking.who[0]
            if day <= today + DAY and booking.who and booking.who[0] in identity.people:
                rounds.append(booking)
        elif known or not booking.faces:
            tasks[booking.id] = booking
    floors, overdue, pinned = _settle(kept, coats, faces, worktime, as_of, unmet, today_too=today_too)
    return Past(
        kept,
        frozenset(pinned),
        floors,
        frozenset(overdue),
        walkers,
        () if today_too else tuple(rounds),
        tasks,
        tuple(history),
        coats,
    )


def _open(work: FaceWork, booking: Booking) -> bool:
    return any(coat.id == booking.id and coat.done is None for coat in work.coats)


def _settle(
    kept: Mapping[str, Kept],
    coats: Mapping[str, Booking],
    faces: Mapping[str, FaceWork],
    worktime: Worktime,
    as_of: datetime,
    unmet: Callable[[FaceWork, CoatWork, date], str],
    *,
    today_too: bool,
) -> tuple[dict[str, Floor], set[str], set[str]]:
    floors: dict[str, Floor] = {}
    overdue: set[str] = set()
    pinned: set[str] = set()
    for work in faces.values():
        today, _ = local(worktime.zone(work.site), as_of)
        ended = work.face.ended
        chain_fixed = True
        for coat in work.coats:
            place = kept.get(coat.id)
            if coat.done is not None:
                continue
            if place is None:
                chain_fixed = False
                continue
            crew = place.booking.crew
            if place.day < today:
                if chain_fixed:
                    overdue.add(coat.id)
                    floors[coat.id] = _moved_on(work, coat, place, today, worktime, crew, unmet)
                chain_fixed = False
                continue
            hold = unmet(work, coat, place.day)
            held = place.booking.floor
            if held is not None and (place.booking.floor_cause != "hold" or hold):
                was = str(place.booking.reason.values.get("was", place.day.isoformat()))
                floors[coat.id] = Floor(held, place.booking.floor_cause, date.fromisoformat(was), hold)
            near = place.day <= today + DAY and not today_too and (ended is None or ended > place.day)
            chain_fixed = chain_fixed and not (coat.index == 0 and _waits_on_silence(work, kept, worktime, as_of))
            if near and chain_fixed and not _recorded_too_late(work, coat, place, coats, worktime):
                pinned.add(coat.id)
            chain_fixed = chain_fixed and near
    return floors, overdue, pinned


def _recorded_too_late(
    work: FaceWork, coat: CoatWork, place: Kept, coats: Mapping[str, Booking], worktime: Worktime
) -> bool:
    """Tell whether the coat before was recorded on a later day than people were told, so that waits are broken.

    What is recorded moves even today's work; an edited rule does not.
    """
    below = work.coats[coat.index - 1] if coat.index else None
    if below is None or below.done is None:
        return False
    told = coats.get(below.id)
    if told is not None and local(worktime.zone(work.site), told.start)[0] == below.done.date():
        return False
    waiting = ready(work, coat, [Laid(below, below.done.date(), True, False)], {}, {}, None)
    return waiting is not None and waiting.day > place.day


def _waits_on_silence(work: FaceWork, kept: Mapping[str, Kept], worktime: Worktime, as_of: datetime) -> bool:
    """Tell whether a face it waits for has a coat whose day is over without a word."""
    today, _ = local(worktime.zone(work.site), as_of)
    return any(
        place.day < today
        for ref in work.face.after
        for coat, place in kept.items()
        if coat == ref or ("." not in ref and coat.rpartition(".")[0] == ref)
    )


def _moved_on(
    work: FaceWork,
    coat: CoatWork,
    place: Kept,
    today: date,
    worktime: Worktime,
    crew: str,
    unmet: Callable[[FaceWork, CoatWork, date], str],
) -> Floor:
    """Return the floor of a coat whose day is over.

    Behind an unmet hold it slides to the first fit day at least 7 days on, again and again
    until that day is not over; where nobody said that it was laid, it is dated from now.
    """
    hold = unmet(work, coat, place.day)
    if not hold:
        return Floor(today + 2 * DAY, "unconfirmed", place.day)
    day = place.day
    while day < today:
        day += SLIDE * DAY
        for _ in range(366):
            if crew == "" or worktime.off(crew, day) is None:
                break
            day += DAY
    return Floor(day, "hold", place.day, hold)


def _renamed(parent: Plan, identity: Identity) -> tuple[dict[str, str], dict[str, str]]:
    """Return old id → new id of faces and people, found by their roots."""
    faces = {root: new for new, root in identity.faces.items()}
    people = {root: new for new, root in identity.people.items()}
    return (
        {face.id: faces.get(face.root, face.id) for face in parent.faces},
        {person.id: people.get(person.root, person.id) for person in parent.people},
    )


def _rename(booking: Booking, faces: Mapping[str, str], people: Mapping[str, str]) -> Booking:
    """Return the booking under today's ids; its UID stays."""
    if all(old == new for names in (faces, people) for old, new in names.items()):
        return booking
    visits = tuple(replace(one, face=faces.get(one.face, one.face), id=_swap(one.id, faces)) for one in booking.visits)
    return replace(
        booking,
        id=_round_id(booking, people) if booking.kind is Kind.ROUND else _swap(booking.id, faces),
        faces=tuple(faces.get(face, face) for face in booking.faces),
        who=tuple(people.get(person, person) for person in booking.who),
        absent=tuple(replace(one, person=people.get(one.person, one.person)) for one in booking.absent),
        visits=visits,
        holds=tuple(_swap(hold, faces) for hold in booking.holds),
    )


def _swap(task: str, faces: Mapping[str, str]) -> str:
    head, dot, rest = task.partition(".")
    if head in faces:
        return faces[head] + dot + rest
    walls = {old.rpartition("-")[0]: new.rpartition("-")[0] for old, new in faces.items()}
    return walls.get(head, head) + dot + rest


def _round_id(booking: Booking, people: Mapping[str, str]) -> str:
    head, dot, person = booking.id.rpartition(".")
    return head + dot + people.get(person, person)
