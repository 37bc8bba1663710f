"""From a job to the work on every face: coats in order, each with its numbers and holds.

Nothing is dated here. Identity is settled here: what a face, a person or a hold
is called for ever (its root), so that a renamed wall keeps its events.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any
from uuid import UUID, uuid5

from curing.model.job import Face, HoldMet, Job, Wall
from curing.model.plan import Care, CoatDates, Cure, Plan
from curing.model.system import Coat, HoldPoint, RuleBook, Scope, System


@dataclass(frozen=True, slots=True)
class HoldWork:
    """A hold point before a coat, and what the job file says of it."""

    id: str
    """``wall.point``, ``face.point`` or ``job.point``, by the point's scope."""
    point: HoldPoint
    entry: HoldMet | None
    lapse: int | None
    """Days for which a pass counts; None: for good."""
    again: bool = False
    """It was met once and is to be met again."""


@dataclass(frozen=True, slots=True)
class CoatWork:
    """One coat of one face with the values that hold there."""

    id: str
    """``face.coat``"""
    coat: Coat
    index: int
    thickness: float | None
    """[mm]"""
    labour: float
    """[person-hours] for the whole face."""
    edge: float
    """People whose wet edge of a day the face takes: area ÷ rule ``wet_edge``; 0 where there is none."""
    least_wait: int
    """[d] after laying the coat before."""
    wait_rule: str
    """The rule that gives ``least_wait``."""
    greatest_wait: int | None
    """[d]"""
    dry_days: int
    """[d] without water between the last visit and this coat."""
    warn_age: int
    """[d]"""
    twice_to: int
    once_to: int
    hours: float
    """[h] of the cure; 0: none asked."""
    look: tuple[int, int, int] | None
    """First and last [min after closing], and how long [min]."""
    cloth_to: int
    cloth_sun: float
    visit_minutes: int
    visit_water: float
    """[L]"""
    holds: tuple[HoldWork, ...]
    done: datetime | None
    """Local to the site."""
    more_days: int = 0
    """[d] That the tending goes on after its last day, because hours of the cure did not count."""
    more_cold: int = 0
    """[h] Too cold to count, as told with ``more_days``."""
    more_dry: int = 0
    """[h] Dried out, in the same way."""
    cure: Cure | None = None
    """How far its cure is, once it is laid."""

    def times(self, day: int) -> int:
        """Return how often the coat is visited on that day; the laying day is day 0.

        Twice a day to ``twice_to``, then once to ``once_to`` and on while the cure is not full.
        """
        if day < 1 or day > self.last_day:
            return 0
        return 2 if day <= self.twice_to else 1

    @property
    def last_day(self) -> int:
        """Last day with a visit; 0 where there is none."""
        planned = max(self.twice_to, self.once_to)
        return planned + self.more_days if planned else 0

    @property
    def visits(self) -> int:
        """Number of visits the rules ask for.

        Worked example: twice a day for 14 days, then once to day 28, makes 42.
        """
        return sum(self.times(day) for day in range(1, self.last_day + 1))


@dataclass(frozen=True, slots=True)
class FaceWork:
    """One face with its coats in order."""

    id: str
    root: str
    order: int
    wall: Wall
    face: Face
    site: str
    system: System
    book: RuleBook
    coats: tuple[CoatWork, ...]
    azimuth: float | None
    reachable: bool
    """Misted from the ground."""

    @property
    def outside(self) -> bool:
        """Tell whether weather and season concern it."""
        return self.face.side == "out"


@dataclass(frozen=True, slots=True)
class Identity:
    """Who and what things are for ever: roots of faces and people, and the UIDs made of them."""

    job: str
    faces: Mapping[str, str]
    people: Mapping[str, str]

    def uid(self, *parts: str) -> str:
        """Return the UID of a task: a name-based UUID of the job's uid and the parts (RFC 9562 version 5).

        Examples
        --------
        >>> one = Identity("8c1a9d0e-4b1f-4c39-9a55-1f0f1cf0a001", {}, {})
        >>> one.uid("3-out", "finish") == one.uid("3-out", "finish") != one.uid("3-out", "base")
        True
        """
        return str(uuid5(UUID(self.job), "/".join(parts)))

    def wall_root(self, face: str) -> str:
        """Return what the wall of a face is called for ever: the root of the face without its side."""
        return self.faces[face].rpartition("-")[0]


def identify(job: Job, parent: Plan | None) -> Identity:
    """Settle the roots: what the parent plan remembers, else ``was:``, else the id itself.

    A new wall or person under the old id of another that goes on gets a root of its own.
    """
    walls = _roots(
        [(wall.id, wall.was) for wall in job.file.walls],
        {face.wall: face.root.rpartition("-")[0] for face in parent.faces} if parent else {},
    )
    people = _roots(
        [(person.id, person.was) for person in job.file.people],
        {person.id: person.root for person in parent.people} if parent else {},
    )
    faces = {face_id: f"{walls[wall.id]}-{face.side.value}" for face_id, wall, face in job.faces()}
    return Identity(job.file.uid, faces, people)


def _roots(ids: list[tuple[str, str | None]], known: Mapping[str, str]) -> dict[str, str]:
    """Return id → root; ids that were renamed take the root they had, before new ones take theirs."""
    roots: dict[str, str] = {}
    for new, was in ids:
        if was is not None:
            roots[new] = known.get(new) or known.get(was) or was
    for new, was in ids:
        if was is None and new in known and known[new] not in roots.values():
            roots[new] = known[new]
    for new, _ in ids:
        if new not in roots:
            root = new
            while root in roots.values():
                root += "~"
            roots[new] = root
    return {new: roots[new] for new, _ in ids}


def expand(job: Job, identity: Identity, parent: Plan | None = None) -> tuple[FaceWork, ...]:
    """Return the work on every face that has not ended, in walking order.

    A coat that is done keeps the tending it had in the parent plan, whatever became of its coat
    system since; a value that the job file itself gives for this face holds all the same.
    """
    works = []
    told = {(face.root, coat.coat): coat for face in parent.faces for coat in face.coats} if parent else {}
    for order, (face_id, wall, face) in enumerate(job.faces()):
        system = job.systems[face.system]
        book = RuleBook(system, job.rule_values.get(face_id, {}))
        reach = book.value("visit.ground_reach", 3.0)
        coats: list[CoatWork] = []
        for index, coat in enumerate(system.coats):
            work = _coat(job, face_id, wall, face, book, coat, index, coats)
            before = told.get((identity.faces[face_id], coat.id))
            if work.done is not None and before is not None:
                work = _as_laid(work, before, job.rule_values.get(face_id, {}))
            coats.append(work)
        works.append(
            FaceWork(
                id=face_id,
                root=identity.faces[face_id],
                order=order,
                wall=wall,
                face=face,
                site=job.site_of(wall).id,
                system=system,
                book=book,
                coats=tuple(coats),
                azimuth=face.facing,
                reachable=face.height <= reach,
            )
        )
    return tuple(works)


def _as_laid(work: CoatWork, told: CoatDates, own: Mapping[str, float]) -> CoatWork:
    """Return a done coat with the tending of the plan in which it was laid."""
    kept: dict[str, Any] = {
        name: getattr(told, name) for name in ("twice_to", "once_to", "hours") if f"{work.coat.id}.{name}" not in own
    }
    cure = told.cure
    if cure is None or told.laid is None or work.done is None or abs((told.laid.date() - work.done.date()).days) > 1:
        return replace(work, **kept)
    longer: dict[str, Any] = {"more_days": cure.more_days, "more_cold": cure.cold_told, "more_dry": cure.dry_told}
    return replace(work, cure=cure, **longer, **kept)


def _coat(
    job: Job,
    face_id: str,
    wall: Wall,
    face: Face,
    book: RuleBook,
    coat: Coat,
    index: int,
    before: list[CoatWork],
) -> CoatWork:
    def days(name: str) -> int:
        return math.ceil(book.value(f"{coat.id}.{name}") - 1e-9)

    wait, rule = _least_wait(book, coat.id, before)
    greatest = f"{coat.id}.greatest_wait"
    look = None
    if book.has(f"{coat.id}.look_from"):
        look = (
            round(book.value(f"{coat.id}.look_from") * 60),
            round(book.value(f"{coat.id}.look_to") * 60),
            round(book.value(f"{coat.id}.look_minutes", 10)),
        )
    minutes, water = visit_size(book, face.area, coat.care)
    return CoatWork(
        id=f"{face_id}.{coat.id}",
        coat=coat,
        index=index,
        thickness=book.value(f"{coat.id}.thickness") if book.has(f"{coat.id}.thickness") else None,
        labour=book.value(f"{coat.id}.labour") * face.area,
        edge=face.area / edge if (edge := book.value(f"{coat.id}.wet_edge")) else 0.0,
        least_wait=wait,
        wait_rule=rule,
        greatest_wait=days("greatest_wait") if book.has(greatest) else None,
        dry_days=days("dry_days"),
        warn_age=_warn_age(book, coat.id, before),
        twice_to=days("twice_to"),
        once_to=days("once_to"),
        hours=book.value(f"{coat.id}.hours"),
        look=look,
        cloth_to=days("cloth_to") if face.cloth else 0,
        cloth_sun=book.value(f"{coat.id}.cloth_sun", 2.0),
        visit_minutes=minutes,
        visit_water=water,
        holds=tuple(_hold(job, face_id, wall, face, book, point) for point in coat.holds),
        done=face.done.get(coat.id),
    )


def _least_wait(book: RuleBook, coat: str, before: list[CoatWork]) -> tuple[int, str]:
    """Greater of the days and the days for each millimetre of the coat before.

    Worked example: 10 days, and 13 mm at 1 d/mm, make 13 days.
    """
    if not before:
        return 0, f"{coat}.least_wait"
    plain = math.ceil(book.value(f"{coat}.least_wait") - 1e-9)
    per_mm = math.ceil(book.value(f"{coat}.least_wait_per_mm") * (before[-1].thickness or 0.0) - 1e-9)
    if per_mm > plain:
        return per_mm, f"{coat}.least_wait_per_mm"
    return max(plain, 1), f"{coat}.least_wait"


def _warn_age(book: RuleBook, coat: str, before: list[CoatWork]) -> int:
    """Greater of the days and the days for each millimetre of all plaster coats together.

    Worked example: 28 days, and 2 days a mm on 28 mm of hydraulic lime, make 56 days.
    """
    total = sum(one.thickness or 0.0 for one in before)
    per_mm = book.value(f"{coat}.warn_age_per_mm") * total
    return math.ceil(max(book.value(f"{coat}.warn_age"), per_mm) - 1e-9)


def visit_size(book: RuleBook, area: float, care: Care) -> tuple[int, float]:
    """Return minutes and litres of one visit to a face of ``area`` [m²].

    Worked example: 5 min a face and 10 m² at 3 m²/min, rounded up, make 9 minutes; 0.3 L/m² makes 3 L.
    """
    setup = book.value("visit.setup", 5.0)
    if care is not Care.MIST:
        return math.ceil(setup - 1e-9), 0.0
    minutes = math.ceil(setup + area / book.value("visit.rate", 3.0) - 1e-9)
    return minutes, round(area * book.value("visit.water", 0.3), 1)


def _hold(job: Job, face_id: str, wall: Wall, face: Face, book: RuleBook, point_id: str) -> HoldWork:
    point = book.system.hold(point_id)
    where = {Scope.JOB: "job", Scope.WALL: wall.id, Scope.FACE: face_id}[point.scope]
    entry = face.holds.get(point_id) or wall.holds.get(point_id) or job.file.holds.get(point_id)
    lapse = math.ceil(book.value(point.lapses)) if point.lapses else None
    hold = f"{where}.{point_id}"
    return HoldWork(hold, point, entry, lapse, hold in job.read_once)


def system_digest(work: FaceWork) -> str:
    """Return a digest of the rules that hold on this face, to see a changed coat system."""
    text = repr((work.system.id, [coat.id for coat in work.system.coats], work.book.items()))
    return hashlib.sha256(text.encode()).hexdigest()


def is_ended(work: FaceWork, day: date) -> bool:
    """Tell whether nothing more is planned on this face on that day."""
    return work.face.ended is not None and day >= work.face.ended
