"""Logging: a line becomes entries, each admitted and appended in one transaction of its own."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path
from uuid import uuid4

from curing.errors import Problem, RecordError
from curing.model.decisions import Decision
from curing.model.evidence import HoldNews
from curing.model.job import Job
from curing.model.plan import Kind, Plan
from curing.model.quantities import clip
from curing.model.record import RecordEntry, RecordKind
from curing.planning.admission import Desk
from curing.planning.expand import identify
from curing.planning.hold_news import hold_news
from curing.planning.ledger import Ledger
from curing.planning.roots import Roots, roots_of
from curing.planning.worktime import local, zone_of
from curing.sources.log_line import Line, read_line
from curing.sources.said_text import checked_key
from curing.store import Appended, Store, default_folder, open_state
from curing.workflow.log_entries import Reader
from curing.workflow.log_lookup import Said
from curing.workflow.opening import DATABASE_VARIABLE, latest_plan, read, read_said


@dataclass(frozen=True)
class Logged:
    """What a line of the log came to."""

    job: Job
    roots: Roots
    entries: tuple[RecordEntry, ...]
    """With their numbers."""
    already: tuple[bool, ...]
    """Whether each stood there before."""
    notes: tuple[str, ...] = ()
    decisions: tuple[Decision, ...] = ()
    """Of a written log."""
    decided_already: tuple[bool, ...] = ()
    record: tuple[RecordEntry, ...] = ()
    """The whole record, with these entries."""
    holds: tuple[HoldNews, ...] = ()
    """What these entries did to holds; of a written log nothing."""


def log(
    job_file: Path,
    what: str,
    words: Sequence[str],
    *,
    by: str,
    at: str | None = None,
    note: str = "",
    key: str | None = None,
    state: Path | None = None,
    as_of: str | None = None,
) -> Logged:
    """Append what a line says to the record of a job.

    Parameters
    ----------
    what, words
        The line, as :func:`curing.sources.log_line.read_line` takes it.
    by
        Id of the person who says it.
    at
        When it was, local: ``14:50`` or ``2027-05-03 14:50``; None: now.
    note
        A remark to keep with it.
    key
        The caller's own key: the same line sent twice with it counts once. None: a new one.
    state, as_of
        As for planning.

    Raises
    ------
    UsageError, FileError, RecordError, StateError
        All that is wrong; nothing is appended then, unless another process was faster with one of
        several entries: those before it stand.
    """
    line = read_line(what, words)
    if not by.strip():
        raise RecordError(f"{what}: who says so is not said; add --by PERSON, an id of the job file")
    key = checked_key(key)
    job, now = read(job_file, as_of)
    with opened(job_file, job, state) as store:
        return Recorder(store, job).log(line, by, at, note, key, now)


TELLING = (
    RecordKind.READING,
    RecordKind.TEST,
    RecordKind.RAIN_ON_IT,
    RecordKind.FINISHED,
    RecordKind.HOLD_MET,
    RecordKind.CORRECTION,
)
"""Kinds of entries that may shut a hold, or make what it asks for pass."""


def opened(job_file: Path, job: Job, state: Path | None) -> Store:
    """Open the state that keeps the record of a job."""
    url = os.environ.get(DATABASE_VARIABLE) or None
    return open_state(state or default_folder(job_file), job.file.uid, database_url=url)


OF_A_ROUND = ("misted", "damp", "rain", "could-not")
"""What may be said of a whole round, without naming its faces."""


class Recorder:
    """Enters into the record of one open state; what others append meanwhile is taken in.

    Parameters
    ----------
    store
        The open state.
    job
        The job as its file says it.
    """

    def __init__(self, store: Store, job: Job) -> None:
        self.store, self.job = store, job
        self.plan = latest_plan(store)
        self.roots = roots_of(job, identify(job, self.plan))
        self.ledger = Ledger(job, self.roots, read_said(store).record, booked_days(self.plan))

    def follow(self, job: Job, plan: Plan | None) -> None:
        """Go on with a job file that was edited, or a plan that was made, since."""
        roots = roots_of(job, identify(job, plan))
        if job is not self.job or roots != self.roots:
            self.ledger = Ledger(job, roots, self.ledger.entries)
        self.job, self.plan, self.roots = job, plan, roots
        self.ledger.booked = booked_days(plan)

    def take_in(self) -> None:
        """Take in what other processes appended meanwhile."""
        for entry in self.store.records(self.ledger.last):
            self.ledger.add(entry)

    def log(self, line: Line, by: str, at: str | None, note: str, key: str | None, now: datetime) -> Logged:
        """Append what a line says; as :func:`log`, of a state that stays open."""
        listed = self.read(line, by, at, note, key, now)
        return self.tell(entries_of(self, listed, by, now), now)

    def tell(self, made: Sequence[RecordEntry], now: datetime) -> Logged:
        """Append entries, and tell what they did to holds; of what stood there before, nothing."""
        ledger = self.ledger
        if not any(one.kind in TELLING for one in made) or any(ledger.knows(one.key) for one in made):
            return self.enter_all(made)
        walls = [one.wall if one.kind is not RecordKind.CORRECTION else None for one in made]
        near = None if None in walls else [wall for wall in walls if wall is not None]
        before = ledger.desk(now, near).evidence  # worked out now: the ledger grows
        logged = self.enter_all(made)
        return replace(logged, holds=hold_news(before, ledger.desk(now, near), logged.entries))

    def read(
        self, line: Line, by: str, at: str | None, note: str, key: str | None, now: datetime
    ) -> list[tuple[str, Said]]:
        """Return what a line says, each with its key.

        A line sent again is read as it was the first time: by its own time, and without what it said then.
        A whole round that was ticked is not read again at all, since by now another round may be meant.
        """
        sent = self.ledger.under(key) if key is not None else []
        if not sent:
            desk = self.ledger.desk(now, self._walls(line))
            return _keyed(Reader(desk, self.plan, by, at, note).read(line), key)
        if line.what in OF_A_ROUND and _whole(sent) and not any("-" in name for name in line.names):
            return [(one.key, Said(line.kind, one.at, one.face, dict(one.data))) for one in sent]
        keys = {one.key for one in sent}
        others = [one for one in self.ledger.entries if one.key not in keys]
        desk = Desk(self.job, self.roots, others, now, self.ledger.booked)
        listed = Reader(desk, self.plan, by, at or sent[0].at.isoformat(), note).read(line)
        if (len(listed) > 1 or len(sent) > 1) and not sent[0].key.endswith(f".{len(listed)}"):
            raise RecordError(
                f'--key "{clip(str(key))}": stands for another line, of which entries '
                f"{', '.join(str(one.seq) for one in sent)} are kept; give this one a key of its own"
            )
        return _keyed(listed, key)

    def _walls(self, line: Line) -> list[str] | None:
        """Return the walls that a line names, or None where only all of the record can tell."""
        if line.what == "correct" or not line.names:
            return None
        ids = {name.partition(".")[0] for name in line.names} | {name.rpartition("-")[0] for name in line.names}
        return [root for wall, root in self.roots.walls.items() if wall in ids] or None

    def enter(self, entry: RecordEntry, now: datetime) -> Appended:
        """Admit and append one entry, in one transaction.

        Raises
        ------
        RecordError
            It may not go in; says why, and what to do.
        StateError
            The state can't be written.
        """
        if not self.ledger.knows(entry.key):
            _refuse(self.ledger.faults(entry, now))
        return self._append(entry, now)

    def _append(self, entry: RecordEntry, now: datetime) -> Appended:
        def admit(since: Callable[[int], list[RecordEntry]]) -> None:
            newer = since(self.ledger.last)
            for other in newer:
                self.ledger.add(other)
            if newer:
                _refuse(self.ledger.faults(entry, now))

        found = self.store.append_record(entry, admit=admit)
        if found.already:
            self.take_in()  # another process was first with it, and perhaps with others before
        else:
            self.ledger.add(replace(entry, seq=found.seq))
        return found

    def enter_all(self, made: Sequence[RecordEntry], *, admitted: bool = False) -> Logged:
        """Append entries one by one, after all of them were admitted."""
        problems: list[str] = []
        if not admitted:
            trial = self.ledger.copy()
            for entry in made:
                if not trial.knows(entry.key):
                    problems += trial.faults(entry, entry.received)
                    trial.add(entry)
        _refuse(dict.fromkeys(problems))
        found = [self._append(entry, entry.received) for entry in made]
        entries = tuple(self.ledger.entry(entry.key) or entry for entry in made)
        already = tuple(one.already for one in found)
        notes, record = tuple(self.store.warnings), tuple(self.ledger.entries)
        return Logged(self.job, self.roots, entries, already, notes, record=record)


def _refuse(texts: Iterable[str]) -> None:
    listed = list(texts)
    if listed:
        raise RecordError(Problem(None, text) for text in listed)


def entries_of(recorder: Recorder, listed: Sequence[tuple[str, Said]], by: str, now: datetime) -> list[RecordEntry]:
    """Return the entries of what a line says, not yet admitted."""
    person = recorder.roots.people.get(by, by)
    return [RecordEntry(key, one.at, now, person, one.kind, one.face, one.data) for key, one in listed]


def _keyed(listed: Sequence[Said], key: str | None) -> list[tuple[str, Said]]:
    """Give each entry its key: the caller's, numbered where a line makes several."""
    if key is None:
        return [(uuid4().hex, one) for one in listed]
    if len(listed) == 1:
        return [(key, listed[0])]
    return [(f"{key}/{number}.{len(listed)}", one) for number, one in enumerate(listed, start=1)]


def _whole(sent: Sequence[RecordEntry]) -> bool:
    """Tell whether all entries of a line are there: their keys say how many they are."""
    _, slash, number = sent[0].key.rpartition("/")
    return not slash or number.partition(".")[2] == str(len(sent))


def booked_days(plan: Plan | None) -> dict[str, date]:
    """Return coat → local day for which it is booked in a plan."""
    if plan is None:
        return {}
    return {one.id: local(zone_of(one.zone), one.start)[0] for one in plan.bookings if one.kind is Kind.COAT}
