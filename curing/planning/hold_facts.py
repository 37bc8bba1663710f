"""Which holds the record opens and shuts: by the word of who decides, on readings and tests that pass.

An entry that shuts a hold (a wet reading, a failed test, rain on a bare panel, setting it in the frame)
does so until somebody who decides opens it again. Taking such an entry back does not open it either,
unless who takes it back decides.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from datetime import date, datetime, timedelta

from curing.model.evidence import Cause, Closed, HoldFact, Shut
from curing.model.job import HoldMet, Job
from curing.model.people import DECIDERS
from curing.model.record import RecordEntry, RecordKind
from curing.model.record_data import Correction, MeterCheck, Probe, Verdict, said
from curing.model.system import RuleBook, Scope
from curing.planning.effective import effective
from curing.planning.hold_passes import NEVER as NEVER
from curing.planning.hold_passes import HoldPasses
from curing.planning.hold_passes import Point as Point
from curing.planning.meters import Meters, meters_of
from curing.planning.roots import Roots
from curing.planning.worktime import local

CONCERNED = (
    RecordKind.HOLD_MET,
    RecordKind.HOLD_REFUSED,
    RecordKind.READING,
    RecordKind.TEST,
    RecordKind.RAIN_ON_IT,
    RecordKind.FINISHED,
)
"""Kinds of entries that open or shut a hold."""


def concerned(entries: Iterable[RecordEntry]) -> list[RecordEntry]:
    """Return what may open or shut a hold: most entries are visits, or weighings."""
    return [entry for entry in entries if entry.kind in CONCERNED and "weight" not in entry.data]


class HoldFacts(HoldPasses):
    """Works out where each hold of a job stands by its record.

    Parameters
    ----------
    job
        The job as its file says it.
    done
        Coats that the record says are done.
    cause
        Makes a cause of an entry.
    """

    def __init__(
        self, job: Job, roots: Roots, done: Mapping[str, Closed], cause: Callable[[RecordEntry], Cause]
    ) -> None:
        super().__init__(job, done)
        self.roots, self.cause = roots, cause
        self._people = {person.id: person for person in job.file.people}

    def all(
        self,
        by_wall: Mapping[str, list[RecordEntry]],
        by_face: Mapping[str, list[RecordEntry]],
        of_job: list[RecordEntry],
        corrected: Iterable[tuple[RecordEntry, RecordEntry]],
    ) -> tuple[dict[str, HoldFact], dict[str, date]]:
        """Return hold id → fact, for each hold of which anything was said, and the holds that wait for a word.

        These with the last day on which what was read or tested passes.
        """
        pairs = [pair for pair in corrected if pair[0].kind in CONCERNED]
        meters = self._meters(by_wall, of_job)
        facts: dict[str, HoldFact] = {}
        waiting: dict[str, date] = {}
        for at in self.points():
            listed = self._listed(at, by_wall, by_face, of_job)
            if not listed:
                continue
            fact = self._fact(at, listed, [pair for pair in pairs if self._about(at, pair[0])], meters)
            if fact is not None:
                facts[at.id] = fact
            if at.point.task is not None and (fact is None or fact.met is None):
                last = max(one.at for one in listed)
                refused = fact is not None and fact.refused is not None and fact.cause.at >= last
                if not refused and self._passes(at, listed, last, meters):
                    waiting[at.id] = self._counts_to(at, listed, last, meters)
        return facts, waiting

    def taken_back(self, corrected: Iterable[tuple[RecordEntry, RecordEntry]]) -> dict[str, Cause]:
        """Return hold id → the last correction of an entry that concerns it."""
        pairs = sorted(
            (pair for pair in corrected if pair[0].kind in CONCERNED), key=lambda pair: (pair[1].at, pair[1].key)
        )
        return {
            at.id: self.cause(by)
            for at in (self.points() if pairs else ())
            for one, by in pairs
            if self._about(at, one) and one.data.get("hold", at.point.id) == at.point.id
        }

    def unheld(
        self,
        by_wall: Mapping[str, list[RecordEntry]],
        by_face: Mapping[str, list[RecordEntry]],
        of_job: list[RecordEntry],
        corrected: Iterable[tuple[RecordEntry, RecordEntry]],
    ) -> dict[str, tuple[str, ...]]:
        """Return the coats that the record says are done, with their holds that were shut when they were closed."""
        points = {at.id: at for at in self.points()} if self.done else {}
        pairs = [pair for pair in corrected if pair[0].kind in CONCERNED]
        meters = self._meters(by_wall, of_job)
        found = {}
        for face_id, wall, face in self.job.faces():
            system = self.job.systems[face.system]
            for coat in system.coats:
                closed = self.done.get(f"{face_id}.{coat.id}")
                if closed is None:
                    continue
                shut = []
                for name in coat.holds:
                    head = {Scope.JOB: "job", Scope.WALL: wall.id, Scope.FACE: face_id}[system.hold(name).scope]
                    at = points[f"{head}.{name}"]
                    listed = self._listed(at, by_wall, by_face, of_job)
                    about = [pair for pair in pairs if self._about(at, pair[0])]
                    if not self._open_at(at, closed.at, listed, about, meters):
                        shut.append(name)
                if shut:
                    found[f"{face_id}.{coat.id}"] = tuple(shut)
        return found

    def _open_at(
        self,
        at: Point,
        when: datetime,
        listed: list[RecordEntry],
        corrected: Collection[tuple[RecordEntry, RecordEntry]],
        meters: Meters,
    ) -> bool:
        """Tell whether a hold stood open at an instant."""
        zone = self._zone(at)
        day = local(zone, when)[0]
        fact = self._fact(at, listed, corrected, meters, until=when)
        entered = self.from_file(at)
        met = fact.met if fact is not None else entered.met if entered is not None else None
        if met is None or met > day or (at.point.lapses and met + timedelta(days=self.lapse(at)) < day):
            return False
        closed = self._closed(at) if at.point.judges else None
        return not at.point.judges or (closed is not None and met >= local(zone, closed)[0])

    def _meters(self, by_wall: Mapping[str, list[RecordEntry]], of_job: Iterable[RecordEntry]) -> Meters:
        return meters_of([*of_job, *(one for listed in by_wall.values() for one in listed)])

    def _listed(
        self,
        at: Point,
        by_wall: Mapping[str, list[RecordEntry]],
        by_face: Mapping[str, list[RecordEntry]],
        of_job: list[RecordEntry],
    ) -> list[RecordEntry]:
        """Return the entries about a hold, of those that :func:`concerned` left."""
        if at.point.scope is Scope.JOB or at.wall is None:
            return of_job
        if at.point.scope is Scope.WALL:
            return by_wall.get(at.wall.id, [])
        return by_face.get(at.face_id, [])

    def points(self) -> list[Point]:
        """Return every hold point of the job, where it stands, once."""
        found: dict[str, Point] = {}
        for face_id, wall, face in self.job.faces():
            system = self.job.systems[face.system]
            book = RuleBook(system, self.job.rule_values.get(face_id))
            for name in dict.fromkeys(name for coat in system.coats for name in coat.holds):
                point = system.hold(name)
                scope = point.scope
                head = {Scope.JOB: "job", Scope.WALL: wall.id, Scope.FACE: face_id}[scope]
                at = Point(
                    f"{head}.{name}",
                    point,
                    None if scope is Scope.JOB else wall,
                    face if scope is Scope.FACE else None,
                    book,
                )
                found.setdefault(at.id, at)
        return list(found.values())

    def decided_by(self, entry: RecordEntry) -> bool:
        """Tell whether an entry comes from who decided then: by what was kept with it, else by today's job file.

        An edit of roles takes nothing back; admission sees to it that nobody claims a right he has not.
        """
        kept = entry.data.get("right")
        if kept:
            return kept in {role.value for role in DECIDERS}
        person = self._people.get(self.roots.person_now(entry.by))
        return person is not None and any(role in person.roles for role in DECIDERS)

    def listed(self, at: Point, entries: Iterable[RecordEntry]) -> list[RecordEntry]:
        """Return the entries that hold and that concern a hold."""
        return [one for one in concerned(effective(entries).entries) if self._about(at, one)]

    def _fact(
        self,
        at: Point,
        listed: list[RecordEntry],
        corrected: Collection[tuple[RecordEntry, RecordEntry]],
        meters: Meters,
        until: datetime | None = None,
    ) -> HoldFact | None:
        fact: HoldFact | None = None
        entered = self.from_file(at)
        met = entered is not None and entered.met is not None
        since = (entered.met or entered.refused) if entered is not None else None
        back = {one.key: by for one, by in corrected if one.kind is RecordKind.HOLD_MET}
        # What was taken back counts as well where it shut the hold, unless who took it back decides.
        taken_back = [one for one, by in corrected if one.key in back or not self.decided_by(by)]
        everything = {one.key: one for one in [*listed, *taken_back, *self._false_checks(at, meters)]}
        word: datetime | None = None
        zone = self._zone(at)
        for entry in sorted(everything.values(), key=lambda one: one.order):
            day = local(zone, entry.at)[0]
            if (since is not None and day < since) or (until is not None and entry.at > until):
                continue
            data = said(entry)
            if isinstance(data, Verdict):
                if data.hold != at.point.id:
                    continue
                if entry.kind is RecordKind.HOLD_REFUSED:
                    # Who took back his own refusal did not open what it shut.
                    fact, met = HoldFact(self.cause(entry), refused=day), False
                elif entry.key in back:
                    if not met:
                        fact = HoldFact(self.cause(back[entry.key]), shut=Shut.WITHDRAWN)
                elif self.decided_by(entry) and self._passes(at, listed, entry.at, meters):
                    fact = HoldFact(self.cause(entry), met=self._counts_from(at, listed, entry.at, day, meters))
                    met, word = True, entry.at
                elif self.decided_by(entry):
                    undone = self._undone(at, listed, entry.at, corrected, meters)
                    fact, met = (undone, False) if undone is not None else (fact, met)
            elif isinstance(data, MeterCheck):
                if met and word is not None and self._rested_on(at, listed, word, entry, meters):
                    fact, met = HoldFact(self.cause(entry), shut=Shut.METER), False
            elif met and (why := self._shuts(at, entry, data)) is not None:
                fact, met = HoldFact(self.cause(entry), shut=why), False
        return fact

    def _false_checks(self, at: Point, meters: Meters) -> list[RecordEntry]:
        """Return the checks that found a meter false, where a hold rests on readings."""
        if at.point.task is None or at.point.task.kind != "reading":
            return []
        return meters.false(at.book.value("panel.meter_within", 2.0))

    def _rested_on(
        self, at: Point, listed: Iterable[RecordEntry], word: datetime, check: RecordEntry, meters: Meters
    ) -> bool:
        """Tell whether the readings behind a word pass no more, now that a meter was found false."""
        known = meters_of({one.key: one for one in [*meters.entries(), check]}.values())
        return not self.judgement(at, listed, word, known, check.at).passes

    def _undone(
        self,
        at: Point,
        listed: Iterable[RecordEntry],
        word: datetime,
        corrected: Iterable[tuple[RecordEntry, RecordEntry]],
        meters: Meters,
    ) -> HoldFact | None:
        """Return what undid a word that was good when it was said: the last entry to come in that speaks against it.

        It came in late, or took back what the word rested on.
        """
        task = at.point.task
        if task is None:
            return None
        before = [one for one in listed if one.at <= word]
        found = [(by, Shut.WITHDRAWN) for one, by in corrected if one.kind is not RecordKind.HOLD_MET]
        if task.kind == "reading" and at.wall is not None:
            wet = {read.key for read in self.judgement(at, before, word, meters).wet}
            read_by = {data.meter for one in before if isinstance(data := said(one), Probe)}
            found += [(one, Shut.READING) for one in before if one.key in wet]
            found += [(one, why) for one in before if (why := self._wets(at.wall, one)) is not None]
            found += [
                (one, Shut.METER)
                for one in self._false_checks(at, meters)
                if one.at <= word and one.data["meter"] in read_by
            ]
        else:
            found += [(one, Shut.TEST) for one in before if self._shuts(at, one, said(one)) is Shut.TEST]
        if not found:
            return None
        entry, why = max(found, key=lambda pair: (pair[0].received, pair[0].at, pair[0].key))
        return HoldFact(self.cause(entry), shut=why)

    def from_file(self, at: Point) -> HoldMet | None:
        """Return the line of the job file about a hold, the nearest of face, wall and job; None without one."""
        wall = at.wall.holds if at.wall is not None else {}
        face = at.face.holds if at.face is not None else {}
        return face.get(at.point.id) or wall.get(at.point.id) or self.job.file.holds.get(at.point.id)

    def _about(self, at: Point, entry: RecordEntry) -> bool:
        """Tell whether an entry that was taken back concerns this hold."""
        if entry.kind is RecordKind.CORRECTION or isinstance(said(entry), Correction):
            return False
        if isinstance(said(entry), MeterCheck):
            return at.point.task is not None and at.point.task.kind == "reading"
        wall = entry.data.get("wall") if entry.face is None else entry.face.rpartition("-")[0]
        if at.wall is None:
            return entry.face is None and not wall
        if self.roots.walls_now.get(str(wall)) != at.wall.id:
            return False
        return at.face is None or entry.face is None or entry.face.endswith(f"-{at.face.side.value}")
