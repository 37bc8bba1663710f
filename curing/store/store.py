"""The state of one job: plans, record and decisions, as pure data in and out."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from sqlalchemy import Connection, Engine

from curing.model.decisions import Decision
from curing.model.links import Link
from curing.model.record import RecordEntry
from curing.store import links, plans, record
from curing.store.connecting import for_writing
from curing.store.faults import named_faults
from curing.store.heads import Heads, heads
from curing.store.outbox_calls import OutboxCalls
from curing.store.plans import RevisionHeader, SavedRevision
from curing.store.record import Appended
from curing.store.weather_calls import WeatherCalls

Admit = Callable[[Callable[[int], list[RecordEntry]]], None]
"""Takes a reader of the entries after a number; raises where the entry may not go in."""


class Store(OutboxCalls, WeatherCalls):
    """An open state; made by :func:`curing.store.open_state`.

    Every call is one transaction of its own: it is done whole or not at all,
    and what it returned has reached the disk. Calls may come from several
    threads. Any call raises StateError when the disk or the database refuses.

    Attributes
    ----------
    database
        The file that holds the state.
    job_uid
        Whose state it is.
    warnings
        What the user should know about the place it lies in.
    """

    def __init__(self, engine: Engine, database: Path, job_uid: str, warnings: tuple[str, ...]) -> None:
        self.database = database
        self.job_uid = job_uid
        self.warnings = warnings
        self._engine = engine
        self._writer = for_writing(engine)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close all connections; the last one to close folds the log into the database."""
        self._engine.dispose()

    @contextmanager
    def _reading(self) -> Iterator[Connection]:
        with named_faults(self.database), self._engine.begin() as connection:
            yield connection

    @contextmanager
    def _writing(self) -> Iterator[Connection]:
        with named_faults(self.database), self._writer.begin() as connection:
            yield connection

    def latest(self) -> SavedRevision | None:
        """Return the latest revision, or None before the first."""
        with self._reading() as connection:
            return plans.latest(connection, self.database)

    def revision(self, number: int) -> SavedRevision:
        """Return a revision by its number; StateError if there is none."""
        with self._reading() as connection:
            return plans.one(connection, self.database, number)

    def revisions(self) -> list[RevisionHeader]:
        """Return all revisions without their plans, first to latest."""
        with self._reading() as connection:
            return plans.headers(connection)

    def save_revision(self, plan: Mapping[str, Any], *, parent: int | None, as_of: datetime, saved_at: datetime) -> int:
        """Save a plan as the next revision.

        Parameters
        ----------
        plan
            The plan as JSON: text keys, and text, finite numbers, true, false,
            null, lists and mappings as values.
        parent
            Number of the latest revision the plan was made from; None for the first.
        as_of, saved_at
            Instants, aware.

        Returns
        -------
        number
            1, 2, 3 …

        Raises
        ------
        StateError
            If ``parent`` is not the latest: another process planned meanwhile.
        """
        packed = plans.pack(plan)
        with self._writing() as connection:
            return plans.save(
                connection, self.database, self.job_uid, packed, parent=parent, as_of=as_of, saved_at=saved_at
            )

    def append_record(self, entry: RecordEntry, *, admit: Admit | None = None) -> Appended:
        """Append an entry; the same key again counts once.

        Parameters
        ----------
        entry
            The entry.
        admit
            Called before it is appended, in the same transaction, with a
            function that reads the entries after a number, also what another
            process appended a moment ago; what it raises keeps the entry out.
            Not called where the key stands there already.

        Returns
        -------
        seq, already
            Its place in the record, and whether it stood there before.

        Raises
        ------
        StateError
            If the key stands for an entry that says something else.
        """
        with self._writing() as connection:
            if admit is not None and not record.knows(connection, entry.key):
                admit(lambda since: record.entries(connection, self.database, since))
            return record.append_entry(connection, self.database, entry)

    def records(self, since_seq: int = 0) -> list[RecordEntry]:
        """Return the entries after ``since_seq``, in the order they were appended."""
        with self._reading() as connection:
            return record.entries(connection, self.database, since_seq)

    def append_decision(self, decision: Decision) -> Appended:
        """Append a decision; as :meth:`append_record`."""
        with self._writing() as connection:
            return record.append_decision(connection, self.database, decision)

    def decisions(self, since_seq: int = 0) -> list[Decision]:
        """Return the decisions after ``since_seq``, in the order they were appended."""
        with self._reading() as connection:
            return record.decisions(connection, self.database, since_seq)

    def heads(self) -> Heads:
        """Return how far revisions, record and decisions have come: cheap, to see whether something is new."""
        with self._reading() as connection:
            return heads(connection)

    def links(self) -> list[Link]:
        """Return all links that people were given, by person and generation."""
        with self._reading() as connection:
            return links.links(connection)

    def add_link(self, link: Link) -> None:
        """Keep a link; the person's earlier ones are revoked."""
        with self._writing() as connection:
            links.add(connection, link)

    def revoke_links(self, person: str, at: datetime) -> None:
        """Let no link of a person (root) open anything from an instant on."""
        with self._writing() as connection:
            links.revoke(connection, person, at)

    def note_fetched(self, when: Mapping[str, datetime]) -> None:
        """Note when feeds were last fetched: hash of the link → instant."""
        with self._writing() as connection:
            links.fetched(connection, when)

    def link_key(self) -> bytes:
        """Return the key from which links are made; made at the first call, beside the database."""
        with named_faults(self.database):
            return links.key(self.database)
