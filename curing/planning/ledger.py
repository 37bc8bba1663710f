"""The record in memory, sorted by wall, so that one entry is judged by what concerns it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import date, datetime

from curing.model.job import Job
from curing.model.record import RecordEntry, RecordKind
from curing.planning.admission import Desk
from curing.planning.roots import Roots

ATTENDED = (RecordKind.MISTED, RecordKind.DAMP, RecordKind.RAIN_ON_IT, RecordKind.COULD_NOT)
"""Kinds of what is said of visits: most of any record."""


def _visit(entry: RecordEntry) -> str:
    return ".".join(str(entry.data.get(name, "")) for name in ("coat", "day", "slot"))


class Ledger:
    """What is recorded of a job so far; grows by what is admitted.

    Parameters
    ----------
    job
        The job as its file says it.
    roots
        What things are called for ever and today.
    entries
        Everything recorded.
    booked
        Coat id → the day it is booked for, in the newest plan.
    """

    def __init__(
        self, job: Job, roots: Roots, entries: Iterable[RecordEntry], booked: Mapping[str, date] | None = None
    ) -> None:
        self.job, self.roots, self.booked = job, roots, booked or {}
        self.entries: list[RecordEntry] = []
        self._jobs: dict[tuple[str, ...], Job] = {}
        self._desks: dict[tuple[str, ...], tuple[int, Desk]] = {}
        """Walls → how many entries there were when a desk was last made for them, and the desk."""
        self.last = 0
        """Number of the last entry."""
        self._keys: dict[str, RecordEntry] = {}
        self._lines: dict[str, list[RecordEntry]] = defaultdict(list)
        self._walls: dict[str, list[RecordEntry]] = defaultdict(list)
        self._work: dict[str, list[RecordEntry]] = defaultdict(list)
        """Wall → its entries that are not about visits: what decides whether a visit may be answered at all."""
        self._visits: dict[tuple[str, str], list[RecordEntry]] = defaultdict(list)
        """Face and visit → what was said of it."""
        self._work_desks: dict[str, tuple[int, Desk]] = {}
        self._wide: list[RecordEntry] = []
        """Of the whole job, and corrections, which may concern any wall."""
        for entry in entries:
            self.add(entry)

    def add(self, entry: RecordEntry) -> None:
        """Take in an entry that stands in the record; one with a known key is there already."""
        if entry.key in self._keys:
            return
        self._keys[entry.key] = entry
        self._lines[entry.key.partition("/")[0]].append(entry)
        self.entries.append(entry)
        self.last = max(self.last, entry.seq)
        wall = entry.wall
        if wall is None or entry.kind is RecordKind.CORRECTION:
            self._wide.append(entry)
        else:
            self._walls[wall].append(entry)
            if entry.kind in ATTENDED:
                self._visits[entry.face or "", _visit(entry)].append(entry)
            else:
                self._work[wall].append(entry)

    def copy(self) -> Ledger:
        """Return a ledger of its own with the same entries."""
        return Ledger(self.job, self.roots, self.entries, self.booked)

    def knows(self, key: str) -> bool:
        """Tell whether an entry with that key is there."""
        return key in self._keys

    def entry(self, key: str) -> RecordEntry | None:
        """Return the entry with a key as it stands in the record."""
        return self._keys.get(key)

    def under(self, key: str) -> list[RecordEntry]:
        """Return the entries of the line that was sent with a key: ``KEY``, or ``KEY/1.3`` to ``KEY/3.3``."""
        return list(self._lines.get(key, ()))

    def desk(self, now: datetime, walls: Iterable[str] | None = None) -> Desk:
        """Return the desk at which entries about some walls (roots) are judged; None: about any."""
        if walls is None:
            return Desk(self.job, self.roots, self.entries, now, self.booked)
        named = tuple(dict.fromkeys(walls))
        near = [entry for wall in named for entry in self._walls.get(wall, ())]
        made = Desk(self.job, self.roots, [*self._wide, *near], now, self.booked, self._with_walls(named))
        count, before = self._desks.get(named, (-1, made))
        if count == len(self.entries):  # the same entries come to the same, whatever the hour
            made.__dict__.update({n: before.__dict__[n] for n in ("evidence", "standing") if n in before.__dict__})
        self._desks[named] = (len(self.entries), made)
        return made

    def work_desk(self, now: datetime, wall: str) -> Desk:
        """Return the desk of a wall (root) without its visits, however many were ticked: it is quick for ever."""
        near = self._work.get(wall, [])
        made = Desk(self.job, self.roots, [*self._wide, *near], now, self.booked, self._with_walls((wall,)))
        count, before = self._work_desks.get(wall, (-1, made))
        if count == len(made.entries):
            made.__dict__.update({n: before.__dict__[n] for n in ("evidence", "standing") if n in before.__dict__})
        self._work_desks[wall] = (len(made.entries), made)
        return made

    def visit_desk(self, now: datetime, face: str, coat: str, day: str, slot: str) -> Desk:
        """Return the desk at which one visit of a face (root) is seen, with all that was said of it."""
        wall = face.rpartition("-")[0]
        said = self._visits.get((face, f"{coat}.{day}.{slot}"), [])
        near = [*self._work.get(wall, []), *said]
        return Desk(self.job, self.roots, [*self._wide, *near], now, self.booked, self._with_walls((wall,)))

    def _with_walls(self, walls: tuple[str, ...]) -> Job:
        """Return the job with some of its walls only: what is said of others has no say about these."""
        if walls not in self._jobs:
            file = self.job.file
            some = tuple(wall for wall in file.walls if self.roots.walls[wall.id] in walls)
            self._jobs[walls] = self.job.model_copy(update={"file": file.model_copy(update={"walls": some})})
        return self._jobs[walls]

    def faults(self, entry: RecordEntry, now: datetime) -> list[str]:
        """Return why an entry may not go into the record now; nothing if it may."""
        wall = entry.wall
        if entry.kind in ATTENDED and wall is not None:
            return self.work_desk(now, wall).faults(entry)
        alone = entry.kind is not RecordKind.CORRECTION and wall is not None
        return self.desk(now, [wall] if alone and wall is not None else None).faults(entry)
