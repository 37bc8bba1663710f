"""A job that stays open: its file, plan, record and links, looked at anew when something changed.

One object serves many readers and one writer at a time. What a reader gets is a :class:`Sight`, which never changes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from types import TracebackType
from typing import Self

from curing.errors import CuringError, Problem, RecordError
from curing.model.decisions import Decision
from curing.model.evidence import NOTHING_SAID, Tick
from curing.model.job import Job
from curing.model.links import Link, digest, token
from curing.model.plan import Change, Notice
from curing.model.record import RecordEntry
from curing.planning.decision_rules import Bench, faults
from curing.publish import plan_json
from curing.sources.log_line import Line
from curing.store import Appended, Heads, default_folder
from curing.workflow.called import called_of
from curing.workflow.one_writer import OneWriter
from curing.workflow.opening import Said, facts, latest_plan, read, read_said
from curing.workflow.recording import Logged, Recorder, entries_of, opened
from curing.workflow.sight import Sight

MOST_REMEMBERED = 400
"""Revisions whose changes are kept in memory."""


class OpenJob:
    """A job file with its state, open until closed. Calls may come from several threads.

    Parameters
    ----------
    job_file
        The job file.
    state
        State folder; None: beside the job file.

    Raises
    ------
    FileError, StateError
        The job file has faults, or the state can't be used.
    """

    def __init__(self, job_file: Path, state: Path | None = None) -> None:
        self.job_file, self.state = job_file, state or default_folder(job_file)
        self._lock = OneWriter()
        job, _ = read(job_file, None)
        self.store = opened(job_file, job, state)
        try:
            self._recorder = Recorder(self.store, job)
            self._key = self.store.link_key()
            self._noticed: tuple[tuple[Notice, ...], tuple[Notice, ...]] | None = None
            self._trouble: dict[str, tuple[Problem, ...]] = {}
            self._stamp = self._looks()
            self.rereads = 0
            """How often the job file was read again."""
            self._links: dict[str, Link] = {}
            self.links_changed = 0
            """Goes up whenever links were given, renewed or revoked."""
            self._read_links()
            self._fetched: dict[str, datetime] = {}
            self._changes: dict[int, tuple[datetime, tuple[Change, ...]]] = {}
            self._sight = self._seen(self.store.heads())
        except BaseException:
            self.store.close()
            raise

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Keep what is still to be kept, and close the state."""
        self.keep_fetched()
        self.store.close()

    # -- looking --------------------------------------------------------------------------

    @property
    def job(self) -> Job:
        """The job as its file last said it without a fault."""
        return self._recorder.job

    @property
    def last_sight(self) -> Sight:
        """The job as it stood at the last look; never waits."""
        return self._sight

    def sight(self) -> Sight:
        """Return the job as it stands now, with what other processes added."""
        heads = self.store.heads()
        last = self._sight
        if heads == last.heads:  # nothing is new: nobody who only reads waits for one who writes
            return last
        with self._lock:
            heads = self.store.heads()
            if heads != self._sight.heads:
                self._sight = self._seen(heads)
            return self._sight

    def _seen(self, heads: Heads) -> Sight:
        recorder = self._recorder
        old = getattr(self, "_sight", None)
        known = old is None or old.heads.revision == heads.revision  # the recorder has just read it
        plan = recorder.plan if known else latest_plan(self.store)
        recorder.take_in()
        recorder.follow(recorder.job, plan)
        said = read_said(self.store) if old is None else self._said_since(old, heads)
        # what was read, which may be more than there was a moment ago: else the same would be taken in twice
        heads = Heads(
            plan.revision if plan is not None else 0,
            recorder.ledger.last,
            said.decisions[-1].seq if said.decisions else 0,
        )
        try:
            _, evidence = facts(recorder.job, plan, said, digested=False)
            self._trouble.pop("record", None)
        except CuringError as error:
            evidence = old.evidence if old is not None else NOTHING_SAID
            self._trouble["record"] = error.problems
        warnings, questions = self._noticed or ((plan.warnings, plan.questions) if plan is not None else ((), ()))
        return Sight(
            job=recorder.job,
            roots=recorder.roots,
            plan=plan,
            evidence=evidence,
            said=said,
            called=called_of(recorder.job, recorder.roots, said.record),
            heads=heads,
            warnings=warnings,
            questions=questions,
            trouble=tuple(dict.fromkeys(problem for listed in self._trouble.values() for problem in listed)),
            numbers={entry.key: entry.seq for entry in said.record},
        )

    def _said_since(self, old: Sight, heads: Heads) -> Said:
        record: Sequence[RecordEntry] = tuple(self._recorder.ledger.entries)
        decisions = old.said.decisions
        if heads.decision != old.heads.decision:
            decisions = [*decisions, *self.store.decisions(old.heads.decision)]
        return Said(record, decisions)

    # -- the job file ---------------------------------------------------------------------

    def _looks(self) -> tuple[object, ...]:
        """Return what tells a changed file from the one that was read: the job file's and its own systems'."""
        files = [self.job_file, *sorted(self.job_file.parent.glob("systems/*.yaml"))]
        found: list[object] = []
        for file in files:
            try:
                about = file.stat()
            except OSError:
                found.append((str(file), None))
                continue
            found.append((str(file), about.st_mtime_ns, about.st_size, about.st_ino))
        return tuple(found)

    def reread(self) -> bool:
        """Read the job file again if it was written since; return whether it was.

        A file with faults changes nothing but that every page says so: the last valid one stays.
        """
        stamp = self._looks()
        if stamp == self._stamp:
            return False
        with self._lock:
            if stamp == self._stamp:  # another thread was quicker
                return False
            self._stamp = stamp
            self.rereads += 1
            try:
                job, _ = read(self.job_file, None)
                if job.file.uid != self._recorder.job.file.uid:
                    raise RecordError(
                        f'{self.job_file}: uid: is "{job.file.uid}" now, but this state is of '
                        f'"{self._recorder.job.file.uid}"; put the old uid back'
                    )
            except CuringError as error:
                self._trouble["file"] = error.problems
            else:
                self._trouble.pop("file", None)
                self._recorder.follow(job, self._recorder.plan)
            self._sight = self._seen(self.store.heads())
        return True

    def planned(self, warnings: tuple[Notice, ...], questions: tuple[Notice, ...]) -> None:
        """Take in what planning the job just now had to say besides the plan."""
        with self._lock:
            self._noticed = (warnings, questions)
            self._trouble.pop("plan", None)
            self._sight = self._seen(self.store.heads())

    def not_planned(self, problems: tuple[Problem, ...]) -> None:
        """Take in why the job could not be planned; the last plan stays."""
        with self._lock:
            if "file" not in self._trouble:  # the file's own problems say it better
                self._trouble["plan"] = problems
            self._sight = self._seen(self.store.heads())

    # -- writing --------------------------------------------------------------------------

    def log(self, line: Line, by: str, at: datetime, key: str, now: datetime, note: str = "") -> Logged:
        """Append what a line of the log says; as :func:`curing.workflow.recording.log`."""
        with self._lock:
            self._recorder.take_in()
            return self._recorder.log(line, by, at.isoformat(), note, key, now)

    def entries_of(
        self, lines: Sequence[Line], by: str, at: datetime, key: str, now: datetime, note: str = ""
    ) -> list[list[RecordEntry]]:
        """Return the entries that lines of the log would make, line by line; nothing is kept yet.

        ``by`` is the id of the person today. Sent again with the same key, they are the same entries.
        """
        with self._lock:
            self._recorder.take_in()
            made = []
            for number, line in enumerate(lines):
                own = f"{key}-{number}"
                listed = self._recorder.read(line, by, at.isoformat(), note, own, now)
                made.append(entries_of(self._recorder, listed, by, now))
            return made

    def faults(self, entry: RecordEntry, now: datetime) -> list[str]:
        """Return why an entry may not go into the record now; nothing where it may, or stands there."""
        with self._lock:
            ledger = self._recorder.ledger
            return [] if ledger.knows(entry.key) else ledger.faults(entry, now)

    def changes_since(self, since: datetime) -> list[tuple[int, datetime, tuple[Change, ...]]]:
        """Return the revisions saved since an instant, the newest first: number, instant, what moved.

        The first plan of a job moved nothing, and is left out.
        """
        with self._lock:
            number = self.store.heads().revision
            found = []
            while number > 1:
                if number not in self._changes:
                    saved = self.store.revision(number)
                    self._changes[number] = plan_json.load_changes(saved.plan, f"revision {number}")
                as_of, changes = self._changes[number]
                if as_of < since:
                    break
                found.append((number, as_of, changes))
                number -= 1
            for old in sorted(self._changes)[:-MOST_REMEMBERED]:
                del self._changes[old]
            return found

    def enter(self, entry: RecordEntry, now: datetime) -> Appended:
        """Admit and append one entry; as :meth:`curing.workflow.recording.Recorder.enter`."""
        with self._lock:
            return self._recorder.enter(entry, now)

    def tell(self, made: Sequence[RecordEntry], now: datetime) -> Logged:
        """Admit and append entries one after another, all or, where one may not go in, none."""
        with self._lock:
            self._recorder.take_in()
            return self._recorder.tell(made, now)

    def knows(self, key: str) -> RecordEntry | None:
        """Return the entry that stands under a key, or None."""
        with self._lock:
            self._recorder.take_in()
            return self._recorder.ledger.entry(key)

    def said_of(self, visit: str, now: datetime) -> Tick | None:
        """Return what was said of a visit, by its id of today; None: nothing that holds."""
        with self._lock:
            self._recorder.take_in()
            face, _, rest = visit.partition(".")
            coat, _, rest = rest.partition(".")
            day, _, slot = rest.partition(".")
            if face.rpartition("-")[0] not in self._recorder.roots.walls:
                return None
            root = self._recorder.roots.face_root(face)
            desk = self._recorder.ledger.visit_desk(now, root, coat, day, slot)
            return desk.evidence.visits.get(visit)

    def writing(self) -> OneWriter:
        """Return the lock under which one look and the writing that follows from it stay together."""
        return self._lock

    def decide(self, decision: Decision) -> Appended:
        """Judge and keep a decision.

        Raises
        ------
        RecordError
            It may not be taken; says why.
        """
        with self._lock:
            sight = self.sight()
            known = {one.key for one in sight.said.decisions}
            bench = Bench(sight.job, sight.roots, sight.plan, decision.at)
            against = [] if decision.key in known else faults(decision, bench)
            if against:
                raise RecordError(Problem(None, text) for text in against)
            return self.store.append_decision(decision)

    # -- links ----------------------------------------------------------------------------

    def _read_links(self) -> None:
        found = {link.hash: link for link in self.store.links()}
        old, self._links = self._links, found
        if {name: one.revoked for name, one in found.items()} != {n: one.revoked for n, one in old.items()}:
            self.links_changed += 1  # after them: a feed made in between counts as old

    def token(self, person: str, generation: int) -> str:
        """Return the secret part of a person's link; ``person`` is a root."""
        return token(self._key, self.job.file.uid, person, generation)

    def links(self) -> dict[str, Link]:
        """Return root of a person → the newest link, which may be revoked."""
        newest: dict[str, Link] = {}
        for link in sorted(self._links.values(), key=lambda one: one.generation):
            newest[link.person] = replace(link, fetched=self._fetched.get(link.hash, link.fetched))
        return newest

    def link(self, secret: str) -> Link | None:
        """Return the link that a token opens, or opened until it was revoked; None for no token of this job."""
        return self._links.get(digest(secret))

    def give_link(self, person: str, now: datetime) -> str:
        """Return the token of a person's link, which is made where there is none that opens anything."""
        with self._lock:
            newest = self.links().get(person)
            if newest is not None and newest.revoked is None and self._holds(newest):
                return self.token(person, newest.generation)
            return self.renew_link(person, now)

    def _holds(self, link: Link) -> bool:
        """Tell whether the key still makes this link: a key file that was lost makes others."""
        return digest(self.token(link.person, link.generation)) == link.hash

    def renew_link(self, person: str, now: datetime) -> str:
        """Return the token of a new link of a person; the ones before open nothing any more."""
        with self._lock:
            self._read_links()  # another process may have given one
            newest = self.links().get(person)
            generation = newest.generation + 1 if newest is not None else 1
            secret = self.token(person, generation)
            self.store.add_link(Link(person, generation, digest(secret), now))
            self._read_links()
            return secret

    def revoke_link(self, person: str, now: datetime) -> None:
        """Let no link of a person open anything any more."""
        with self._lock:
            self.store.revoke_links(person, now)
            self._read_links()

    def read_links(self) -> None:
        """Take in links that another process gave or revoked."""
        with self._lock:
            self._read_links()

    def note_fetched(self, link: Link, now: datetime) -> None:
        """Note that a calendar program fetched the feed by a link; kept with the next :meth:`keep_fetched`."""
        self._fetched[link.hash] = now

    def keep_fetched(self) -> None:
        """Keep when feeds were fetched."""
        due = {name: at for name, at in self._fetched.items() if name in self._links}
        due = {name: at for name, at in due.items() if self._links[name].fetched != at}
        if due:
            self.store.note_fetched(due)
            self._read_links()
