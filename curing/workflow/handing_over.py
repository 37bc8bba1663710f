"""Rounds that change hands: given by decision, passed on, or taken over by somebody who signs for it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from curing.model.decisions import Decision, DecisionKind
from curing.model.evidence import Turn
from curing.model.people import Person, Reach, Role
from curing.model.plan import Slot
from curing.model.record import RecordEntry, RecordKind
from curing.model.record_data import Handover, PassedOn, said
from curing.planning.decision_rules import Bench
from curing.planning.effective import effective
from curing.planning.expand import expand, identify
from curing.planning.turns import takers
from curing.sources.decision_line import DecisionLine
from curing.workflow.deciding import taken
from curing.workflow.page_answers import Who
from curing.workflow.sight import Sight

GIVEN = "handover/"
"""Before the key of a handover: key of the decision that gives its rounds, so that they are given once."""


@dataclass(frozen=True, slots=True)
class Signed:
    """A handover that was signed and holds.

    Parameters
    ----------
    given
        Whether the rounds were given to the signer.
    """

    entry: RecordEntry
    data: Handover
    given: bool


@dataclass(frozen=True, slots=True)
class HighFace:
    """A face whose top is out of reach from the ground; ``height`` and ``limit`` [m]."""

    face: str
    height: float
    limit: float


def of_a_crew(sight: Sight, person: str) -> bool:
    """Tell whether a person (id today) lays coats with a crew."""
    return any(person in crew.people for crew in sight.job.file.crews)


def takes_over(sight: Sight, person: Person) -> bool:
    """Tell whether a person mists without being of a crew: who takes rounds over signs for it."""
    return Role.MISTS in person.roles and not of_a_crew(sight, person.id)


def reached(sight: Sight, person: Person) -> tuple[list[str], list[HighFace]]:
    """Return the faces a person mists, and those out of reach, as the planner shares them out.

    Only who is of a crew mists from a scaffold; everybody else from the ground.
    """
    climbs = person.reach is Reach.SCAFFOLD and of_a_crew(sight, person.id)
    near: list[str] = []
    high: list[HighFace] = []
    for work in expand(sight.job, identify(sight.job, sight.plan), sight.plan):
        if work.reachable or climbs:
            near.append(work.id)
        else:
            limit = work.book.value("visit.ground_reach", 3.0)
            high.append(HighFace(work.id, work.face.height, limit))
    return near, high


def high_faces(sight: Sight) -> frozenset[str]:
    """Return the faces that nobody mists from the ground."""
    works = expand(sight.job, identify(sight.job, sight.plan), sight.plan)
    return frozenset(work.id for work in works if not work.reachable)


def turns_now(sight: Sight) -> Mapping[tuple[date, Slot], tuple[Turn, ...]]:
    """Return (day, slot) → who takes that walk after all that was decided and passed on."""
    return {walk: takers(turns) for walk, turns in sight.evidence.turns.items()}


def give_rounds(
    sight: Sight, who: Who, to: str, first: date, last: date, slot: str | None = None, key: str | None = None
) -> Decision:
    """Return the decision that gives rounds to a person (id today); it is not judged yet.

    Parameters
    ----------
    slot
        ``early``, ``midday`` or ``late``; None: every round of those days.
    key
        Of the decision; None: that of the form.
    """
    line = DecisionLine(DecisionKind.ASSIGN, to, (first, last), slot)
    bench = Bench(sight.job, sight.roots, sight.plan, who.now)
    return taken(line, bench, by=who.root, key=key or who.key)


def give_signed(sight: Sight, who: Who, signed: Signed) -> Decision:
    """Return the decision that gives the rounds of a handover to who signed it; taken twice it counts once."""
    to = sight.roots.person_now(signed.entry.by)
    return give_rounds(sight, who, to, signed.data.first, signed.data.last, key=GIVEN + signed.entry.key)


def pass_on_entry(sight: Sight, who: Who, to: str, first: date, last: date, slot: str | None = None) -> RecordEntry:
    """Return the entry by which somebody passes his own rounds on to another (id today)."""
    data = PassedOn.model_validate({"to": sight.roots.people.get(to, to), "first": first, "last": last, "slot": slot})
    return RecordEntry(who.key, who.at, who.now, who.root, RecordKind.PASSED_ON, None, data.written())


def handover_entry(who: Who, data: Handover) -> RecordEntry:
    """Return the entry by which somebody signs to mist for some days."""
    return RecordEntry(who.key, who.at, who.now, who.root, RecordKind.NOTE, None, data.written())


def handovers(sight: Sight) -> list[Signed]:
    """Return the handovers that hold, the last signed first."""
    known = {one.key for one in sight.said.decisions}
    found = [
        Signed(entry, data, GIVEN + entry.key in known)
        for entry in effective(sight.said.record).entries
        if entry.kind is RecordKind.NOTE and isinstance(data := said(entry), Handover)
    ]
    return found[::-1]


def passed_on(sight: Sight, root: str, today: date) -> list[tuple[RecordEntry, PassedOn]]:
    """Return what a person passed on, or was passed on to that person, and is not over yet."""
    found = []
    for entry in effective(sight.said.record).entries:
        data = said(entry) if entry.kind is RecordKind.PASSED_ON else None
        if isinstance(data, PassedOn) and data.last >= today and root in (entry.by, data.to):
            found.append((entry, data))
    return found


def signed_by(sight: Sight, key: str) -> Signed | None:
    """Return the handover of a key, or None where none of it holds."""
    return next((one for one in handovers(sight) if one.entry.key == key), None)
