"""What the parent plan asks of the next: what stays, what may not move, what has slid.

Today and tomorrow never move to make a plan shorter; done work never moves; a coat
keeps its day while the rules allow it, and comes forward only where a rule that held
it has been loosened (a hold recorded as met, an earlier start).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta

from curing.model.evidence import Decided, Evidence, Failed
from curing.model.job import Crew, Job
from curing.model.plan import Booking, Kind, Plan, Slot, State
from curing.planning.expand import CoatWork, FaceWork, Identity
from curing.planning.readiness import SLIDE, Floor, Laid, ready
from curing.planning.turns import holder, holding
from curing.planning.weather_rulings import saw_it
from curing.planning.weather_sky import Sky, off_its_day
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
    told: tuple[Booking, ...]
    """Everything of the parent, under the ids of today."""
    decided: Mapping[str, Decided] = field(default_factory=dict)
    """Coat id → the decision that holds it on its day, or brought it there."""

    @property
    def unsaid(self) -> frozenset[str]:
        """Coats dated anew because nobody said that they were laid; their walks, as told, go on until tomorrow."""
        return frozenset(coat for coat, floor in self.floors.items() if floor.cause == "unconfirmed")


EMPTY = Past({}, frozenset(), {}, frozenset(), {}, (), {}, (), {}, ())


def past(
    parent: Plan | None,
    job: Job,
    works: Iterable[FaceWork],
    identity: Identity,
    worktime: Worktime,
    as_of: datetime,
    unmet: Callable[[FaceWork, CoatWork, date], str],
    evidence: Evidence,
    *,
    today_too: bool,
    sky: Sky | None = None,
) -> Past:
    """Read the parent plan.

    Parameters
    ----------
    unmet
        (face, coat, day) → id of the first hold that is not met for that day, or "".
    evidence
        What was recorded and decided: coats that could not be laid, turns given away, days decided.
    today_too
        Whether what stands today and tomorrow may move.
    sky
        The last two forecasts; None: nothing is moved by weather.
    """
    if parent is None:
        return EMPTY
    faces = {face.id: face for face in works}
    names = _names(parent, job, identity)
    told = tuple(_rename(one, names) for one in parent.everything())
    kept: dict[str, Kept] = {}
    walkers: dict[tuple[date, Slot, str], str] = {}
    history: list[Booking] = []
    rounds: list[Booking] = []
    tasks: dict[str, Booking] = {}
    coats: dict[str, Booking] = {}
    for booking in told:
        if booking.site not in names.live_sites:
            continue
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
            same_clock = booking.zone == worktime.zone(booking.site).key
            there = same_clock and booking.who and booking.who[0] in identity.people
            if day <= today + DAY and there and not _given_away(booking, day, as_of, evidence):
                rounds.append(booking)
        elif known or not booking.faces:
            tasks[booking.id] = booking
    decided = _place_decided(kept, faces, worktime, as_of, evidence, since=parent.as_of)
    floors, overdue, pinned = _settle(
        job, kept, coats, faces, worktime, as_of, unmet, evidence, decided, today_too=today_too, sky=sky
    )
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
        told,
        decided,
    )


def _given_away(booking: Booking, day: date, as_of: datetime, evidence: Evidence) -> bool:
    """Tell whether a round that is not over is somebody else's by now."""
    if booking.slot is None or booking.end <= as_of or booking.state is State.DONE:
        return False
    who = booking.who[0]
    return holder(who, holding(evidence.turns.get((day, booking.slot), ()))) != who


def _place_decided(
    kept: dict[str, Kept],
    faces: Mapping[str, FaceWork],
    worktime: Worktime,
    as_of: datetime,
    evidence: Evidence,
    since: datetime,
) -> dict[str, Decided]:
    """Put coats onto the days decided for them, in ``kept``; return the decisions that still have a day to come.

    One is spent once a forecast took the coat off the very day, in the plan of ``since``: whoever insists says it anew.
    """
    found = {}
    for coat, decided in evidence.decided.items():
        place, work = kept.get(coat), faces.get(coat.rpartition(".")[0])
        if place is None or work is None or decided.day < local(worktime.zone(work.site), as_of)[0]:
            continue
        if place.booking.state is State.OFF and place.booking.floor_was == decided.day and decided.cause.at < since:
            continue
        if decided.kind == "move":
            kept[coat] = replace(place, day=decided.day)
        if kept[coat].day == decided.day:
            found[coat] = decided
    return found


def _open(work: FaceWork, booking: Booking) -> bool:
    return any(coat.id == booking.id and coat.done is None for coat in work.coats)


def _there(booking: Booking, crews: Mapping[str, Crew], worktime: Worktime) -> bool:
    """Tell whether the crew and people of a booking are still of the job, and its clock is still the site's."""
    crew = crews.get(booking.crew)
    same_clock = booking.zone == worktime.zone(booking.site).key
    return crew is not None and same_clock and all(person in crew.people for person in booking.who)


def _settle(
    job: Job,
    kept: Mapping[str, Kept],
    coats: Mapping[str, Booking],
    faces: Mapping[str, FaceWork],
    worktime: Worktime,
    as_of: datetime,
    unmet: Callable[[FaceWork, CoatWork, date], str],
    evidence: Evidence,
    decided: Mapping[str, Decided],
    *,
    today_too: bool,
    sky: Sky | None,
) -> tuple[dict[str, Floor], set[str], set[str]]:
    floors: dict[str, Floor] = {}
    overdue: set[str] = set()
    pinned: set[str] = set()
    crews = {crew.id: crew for crew in job.file.crews}
    for work in faces.values():
        today, _ = local(worktime.zone(work.site), as_of)
        ended = work.face.ended
        chain_fixed = solid = True
        for coat in work.coats:
            place = kept.get(coat.id)
            if coat.done is not None:
                continue
            if place is None:
                chain_fixed = solid = False
                continue
            failed = evidence.could_not.get(coat.id)
            if failed is not None and failed.day == place.day:
                floors[coat.id] = Floor(today + 2 * DAY, "could-not", place.day, why=failed.why, entry=failed.cause.key)
                chain_fixed = solid = False
                continue
            there = local(zone_of(place.booking.zone), place.booking.start)[0]
            arrived = there == place.day and place.booking.state is not State.OFF
            if coat.id in decided and (decided[coat.id].kind == "keep" or not arrived):
                goes_on = ended is None or ended > place.day
                if decided[coat.id].kind == "keep" and solid and goes_on and _there(place.booking, crews, worktime):
                    pinned.add(coat.id)
                else:
                    solid = False
                chain_fixed = chain_fixed and place.day <= today + DAY
                continue
            crew = place.booking.crew if place.booking.crew in crews else next(iter(crews))
            # Who decided saw the forecast: it takes a coat off no second time; see planning/weather_notices.py.
            seen = coat.id in decided and saw_it(decided[coat.id].cause.at, place.booking.start)
            off = None if seen else off_its_day(sky, work, coat, place.booking, place.day, today)
            if off is not None:
                floors[coat.id] = off
                chain_fixed = solid = False
                continue
            if place.day < today:
                if chain_fixed:
                    overdue.add(coat.id)
                    floors[coat.id] = _moved_on(work, coat, place, today, worktime, crew, unmet)
                chain_fixed = solid = False
                continue
            hold = unmet(work, coat, place.day)
            held = place.booking.floor
            if held is not None and (place.booking.floor_cause != "hold" or hold):
                floors[coat.id] = _same_floor(place.booking, place.day, held, hold, failed)
            near = place.day <= today + DAY and not today_too and (ended is None or ended > place.day)
            chain_fixed = chain_fixed and not (coat.index == 0 and _waits_on_silence(work, kept, worktime, as_of))
            if (
                near
                and chain_fixed
                and _there(place.booking, crews, worktime)
                and not _recorded_too_late(work, coat, place, coats, worktime)
            ):
                pinned.add(coat.id)
            else:
                solid = False
            chain_fixed = chain_fixed and near
    return floors, overdue, pinned


def _same_floor(booking: Booking, day: date, held: date, hold: str, failed: Failed | None) -> Floor:
    """Return the floor that a coat has already, with the day and the cause it had then."""
    if booking.floor_cause == "could-not" and failed is not None:
        return Floor(held, "could-not", failed.day, why=failed.why, entry=failed.cause.key)
    shut = hold if booking.floor_cause == "hold" else ""  # else the words would change with nothing said
    return Floor(held, booking.floor_cause, booking.floor_was or day, shut)


def _recorded_too_late(
    work: FaceWork, coat: CoatWork, place: Kept, coats: Mapping[str, Booking], worktime: Worktime
) -> bool:
    """Tell whether the coat before was recorded on a later day than people were told, or its cure goes on: waits break.

    What is recorded or measured moves even today's work; an edited rule does not.
    """
    below = work.coats[coat.index - 1] if coat.index else None
    if below is None or below.done is None:
        return False
    told = coats.get(below.id)
    as_told = told is not None and local(worktime.zone(work.site), told.start)[0] == below.done.date()
    if as_told and not below.more_days:
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


@dataclass(frozen=True, slots=True)
class _Names:
    """Old id → id of today."""

    faces: Mapping[str, str]
    people: Mapping[str, str]
    sites: Mapping[str, str]
    crews: Mapping[str, str]
    live_sites: frozenset[str]

    @property
    def none_changed(self) -> bool:
        """Tell whether everything is called as it was."""
        every = (self.faces, self.people, self.sites, self.crews)
        return all(old == new for names in every for old, new in names.items())


def _names(parent: Plan, job: Job, identity: Identity) -> _Names:
    """Return how things are called today: faces and people by their roots, sites and crews by ``was:``."""
    faces = {root: new for new, root in identity.faces.items()}
    people = {root: new for new, root in identity.people.items()}
    return _Names(
        {face.id: faces.get(face.root, face.id) for face in parent.faces},
        {person.id: people.get(person.root, person.id) for person in parent.people},
        {site.was: site.id for site in job.file.sites if site.was},
        {crew.was: crew.id for crew in job.file.crews if crew.was},
        frozenset(site.id for site in job.file.sites),
    )


def _rename(booking: Booking, names: _Names) -> Booking:
    """Return the booking under today's ids; its UID stays."""
    if names.none_changed:
        return booking
    faces, people = names.faces, names.people
    visits = tuple(replace(one, face=faces.get(one.face, one.face), id=_swap(one.id, faces)) for one in booking.visits)
    return replace(
        booking,
        id=_round_id(booking, people) if booking.kind is Kind.ROUND else _swap(booking.id, faces),
        site=names.sites.get(booking.site, booking.site),
        crew=names.crews.get(booking.crew, booking.crew),
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
