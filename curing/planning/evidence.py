"""From record and decisions to facts: coats done, holds met, visits ticked, turns given away.

The order in which entries came in has no say, only when things happened: any order gives the same facts.
"""

from __future__ import annotations

import hashlib
import json
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from curing.model.decisions import Decision
from curing.model.evidence import Cause, Closed, Decided, Evidence, Failed, Tick, Turn
from curing.model.job import Job, Wall
from curing.model.plan import Slot
from curing.model.record import RecordEntry, RecordKind
from curing.model.record_data import Attendance, Inspection, PassedOn, Work, said
from curing.planning.effective import Standing, effective
from curing.planning.hold_facts import HoldFacts, concerned
from curing.planning.roots import Roots
from curing.planning.worktime import local, zone_of

_TICKS = (RecordKind.MISTED, RecordKind.DAMP, RecordKind.RAIN_ON_IT, RecordKind.COULD_NOT)
MOST_DAYS = 400
"""[d] A turn is given away for no longer than this."""


def gather(job: Job, roots: Roots, entries: Iterable[RecordEntry], decisions: Iterable[Decision] = ()) -> Evidence:
    """Return the facts of a job.

    Parameters
    ----------
    job
        The job as its file says it, without the record.
    roots
        What things are called for ever and today: the record names them by their roots.
    entries, decisions
        In any order.
    """
    entries, decisions = list(entries), list(decisions)
    if not entries and not decisions:
        return Evidence()
    return _Gathering(job, roots, effective(entries)).evidence(entries, decisions)


@dataclass
class _Gathering:
    job: Job
    roots: Roots
    standing: Standing

    def __post_init__(self) -> None:
        self.walls: dict[str, Wall] = {wall.id: wall for wall in self.job.file.walls}
        self.zones = {wall.id: zone_of(self.job.site_of(wall).time_zone) for wall in self.job.file.walls}
        self.zone = zone_of(self.job.file.sites[0].time_zone)
        self.names = {person.id: person.name for person in self.job.file.people}

    def evidence(self, entries: list[RecordEntry], decisions: list[Decision]) -> Evidence:
        by_face: dict[str, list[RecordEntry]] = defaultdict(list)
        by_wall: dict[str, list[RecordEntry]] = defaultdict(list)
        of_job: list[RecordEntry] = []
        for entry in self.standing.entries:
            about = self._wall(entry)
            if entry.face is not None:
                now = self.roots.face_now(entry.face)
                if now is None:
                    continue
                by_face[now].append(entry)
            if about is not None:
                by_wall[about].append(entry)
            elif entry.face is None:
                of_job.append(entry)
        done: dict[str, Closed] = {}
        started: dict[str, Cause] = {}
        could_not: dict[str, Failed] = {}
        visits: dict[str, Tick] = {}
        checked: dict[str, tuple[datetime, ...]] = {}
        for face_id, wall, face in self.job.faces():
            system = self.job.systems[face.system]
            listed = by_face.get(face_id, [])
            self._coats(face_id, [coat.id for coat in system.coats], face.done, listed, done, started, could_not)
            for entry in listed:
                if entry.kind in _TICKS:
                    self._tick(face_id, wall, entry, visits)
            sound = [one.at for one in listed if one.kind is RecordKind.INSPECTION and _sound(one)]
            if sound:
                checked[face_id] = tuple(sound)
        facts = HoldFacts(self.job, self.roots, done, self.cause)
        walls = {wall: concerned(listed) for wall, listed in by_wall.items()}
        faces = {face: concerned(listed) for face, listed in by_face.items()}
        job_wide = concerned(of_job)
        holds, waiting = facts.all(walls, faces, job_wide, self.standing.corrected)
        return Evidence(
            done=done,
            started=started,
            holds=holds,
            visits=visits,
            could_not=could_not,
            turns=self._turns(decisions),
            decided=self._decided(decisions, done),
            checked=checked,
            undone=self._undone(done),
            taken_back=facts.taken_back(self.standing.corrected),
            unheld=facts.unheld(walls, faces, job_wide, self.standing.corrected),
            waiting=waiting,
        )

    def _undone(self, done: Mapping[str, Closed]) -> dict[str, Cause]:
        """Return the coats that are not done any more, each with the correction that says so."""
        found = {}
        for entry, by in self.standing.corrected:
            data = said(entry) if entry.kind is RecordKind.FINISHED and entry.face is not None else None
            face = self.roots.face_now(entry.face) if entry.face is not None else None
            if isinstance(data, Work) and face is not None and f"{face}.{data.task}" not in done:
                found[f"{face}.{data.task}"] = self.cause(by)
        return found

    def cause(self, entry: RecordEntry | Decision) -> Cause:
        """Return an entry or decision as the cause of a fact."""
        note = str(entry.data.get("note") or entry.data.get("why") or "")
        wall = self._wall(entry) if isinstance(entry, RecordEntry) else None
        day, minute = local(self.zones.get(wall or "", self.zone), entry.at)
        by, clock = self.roots.person_now(entry.by), f"{minute // 60:02d}:{minute % 60:02d}"
        return Cause(entry.key, str(entry.kind), entry.at, by, self.names.get(by, by), day, clock, note)

    def _wall(self, entry: RecordEntry) -> str | None:
        """Return the wall of today that an entry is about, or None."""
        if entry.face is not None:
            now = self.roots.face_now(entry.face)
            return now.rpartition("-")[0] if now is not None else None
        wall = entry.data.get("wall")
        return self.roots.walls_now.get(wall) if isinstance(wall, str) else None

    def _coats(
        self,
        face: str,
        coats: list[str],
        in_file: Mapping[str, datetime],
        listed: list[RecordEntry],
        done: dict[str, Closed],
        started: dict[str, Cause],
        could_not: dict[str, Failed],
    ) -> None:
        """Settle which coats of a face are done: in their order, each after the one below it."""
        wall = face.rpartition("-")[0]
        finished: dict[str, list[RecordEntry]] = defaultdict(list)
        begun: dict[str, list[RecordEntry]] = defaultdict(list)
        for entry in listed:
            data = said(entry)
            if isinstance(data, Work):
                {RecordKind.FINISHED: finished, RecordKind.STARTED: begun}[entry.kind][data.task].append(entry)
            elif entry.kind is RecordKind.COULD_NOT and isinstance(data, Attendance) and data.slot is None:
                day = data.day or local(self.zones[wall], entry.at)[0]
                could_not[f"{face}.{data.coat}"] = Failed(day, data.why, self.cause(entry))
        below: datetime | None = None
        gap = False
        for coat in coats:
            recorded = next((one for one in finished[coat] if below is None or one.at > below), None)
            if recorded is not None and not gap:
                start = next((one for one in reversed(begun[coat]) if one.at < recorded.at), None)
                done[f"{face}.{coat}"] = Closed(recorded.at, start.at if start else None, self.cause(recorded))
                below = recorded.at
            elif coat in in_file:
                below = in_file[coat].replace(tzinfo=self.zones[wall])
            else:
                # A coat that a later one in the file stands on was laid as well, though nobody said when.
                later = coats[coats.index(coat) + 1 :]
                gap = not any(one in in_file for one in later)
                if begun[coat]:
                    started[f"{face}.{coat}"] = self.cause(begun[coat][-1])

    def _tick(self, face: str, wall: Wall, entry: RecordEntry, visits: dict[str, Tick]) -> None:
        data = said(entry)
        if not isinstance(data, Attendance) or not data.coat or data.slot is None:
            return
        day = data.day or local(self.zones[wall.id], entry.at)[0]
        visit = f"{face}.{data.coat}.{day.isoformat()}.{data.slot}"
        tick = Tick(entry.kind, entry.at, self.cause(entry), data.why)
        before = visits.get(visit)
        # The first who tended it counts; where nobody could, the last word.
        if before is None or (not before.tended):
            visits[visit] = tick

    def _turns(self, decisions: list[Decision]) -> dict[tuple[date, Slot], tuple[Turn, ...]]:
        """Return who takes which walks, in the order in which it was said."""
        given: list[tuple[datetime, str, str | None, date, date, Turn]] = []
        for entry in self.standing.entries:
            if entry.kind is RecordKind.PASSED_ON:
                data = said(entry)
                assert isinstance(data, PassedOn)
                cause = self.cause(entry)
                turn = self._turn(data.to, cause.by, cause)
                given.append((entry.at, entry.key, data.slot, data.first, data.last, turn))
        for decision in decisions:
            if str(decision.kind) == "assign":
                one = decision.data
                turn = self._turn(one["to"], "", self.cause(decision))
                first, last = date.fromisoformat(one["first"]), date.fromisoformat(one["last"])
                given.append((decision.at, decision.key, one.get("slot"), first, last, turn))
        turns: dict[tuple[date, Slot], list[Turn]] = defaultdict(list)
        for _, _, slot, first, last, turn in sorted(given, key=lambda one: one[:2]):
            for k in range(min((last - first).days + 1, MOST_DAYS)):
                for part in Slot if slot is None else (Slot(slot),):
                    turns[first + timedelta(days=k), part].append(turn)
        return {key: tuple(listed) for key, listed in sorted(turns.items())}

    def _turn(self, to: str, instead: str, cause: Cause) -> Turn:
        now = self.roots.person_now(to)
        return Turn(now, self.names.get(now, now), instead, cause)

    def _decided(self, decisions: list[Decision], done: Mapping[str, Closed]) -> dict[str, Decided]:
        found: dict[str, Decided] = {}
        for decision in sorted(decisions, key=lambda one: (one.at, one.key)):
            if str(decision.kind) not in ("keep", "move"):
                continue
            face = self.roots.face_now(decision.data["face"])
            coat = f"{face}.{decision.data['coat']}"
            if face is None or coat in done:
                continue
            day = date.fromisoformat(decision.data["day"])
            found[coat] = Decided(str(decision.kind), day, str(decision.data.get("why", "")), self.cause(decision))
        return found


def _sound(entry: RecordEntry) -> bool:
    data = said(entry)
    return isinstance(data, Inspection) and data.sound


def digests(entries: Iterable[RecordEntry], decisions: Iterable[Decision]) -> dict[str, str]:
    """Return ``record`` and ``decisions`` → digest of what was said, for those of which there is any."""
    said_: dict[str, list[RecordEntry] | list[Decision]] = {"record": list(entries), "decisions": list(decisions)}
    return {name: digest(listed) for name, listed in said_.items() if listed}


def digest(listed: Iterable[RecordEntry] | Iterable[Decision]) -> str:
    """Return a digest of entries or decisions, the same in whatever order they came in."""
    rows = sorted(
        f"{one.key!r} {one.at} {one.by!r} {one.kind} {getattr(one, 'face', None)!r} {_plain(one.data)}"
        for one in listed
    )
    return hashlib.sha256("\n".join(rows).encode()).hexdigest()


def _plain(data: Mapping[str, Any]) -> str:
    return json.dumps(data, sort_keys=True, default=dict)
