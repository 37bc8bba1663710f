"""What a :class:`curing.store.store.Store` does with its outbox; each call is one transaction."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager
from datetime import datetime
from pathlib import Path

from sqlalchemy import Connection

from curing.model.reminders import Kind, Outbox, Row
from curing.store import outbox
from curing.store.heads import Heads
from curing.store.outbox import Begun, Fresh, Step


class OutboxCalls:
    """The part of a store that keeps reminders."""

    database: Path
    _reading: Callable[[], AbstractContextManager[Connection]]
    _writing: Callable[[], AbstractContextManager[Connection]]

    def open_rows(self, since: datetime) -> tuple[datetime | None, list[Row]]:
        """Return the last look, and all rows that wait or fell due since an instant."""
        with self._reading() as connection:
            return outbox.looked(connection, self.database), outbox.open_rows(connection, self.database, since)

    def keep_rows(
        self, steps: Sequence[Step], fresh: Sequence[Fresh], now: datetime, *, owner: str = "", look: bool = False
    ) -> int:
        """Change and add rows and, with ``look``, note that it was looked now; return how many changes held.

        A row that is there already under its key, person and channel is not added. A change holds only where the
        row stands as it was seen and nobody else has claimed it.
        """
        with self._writing() as connection:
            return outbox.keep(connection, steps, fresh, now, owner=owner, look=look)

    def claim_rows(self, owner: str, channel: str, now: datetime, but: Sequence[int] = ()) -> list[Row]:
        """Claim the rows that go out next as one message on a channel, for 60 s; none: nothing is due.

        Parameters
        ----------
        owner
            Who claims; another one for each sender.
        but
            Numbers of rows that are left alone.
        """
        with self._writing() as connection:
            return outbox.claim(connection, self.database, owner, channel, now, but)

    def begin_rows(
        self,
        rows: Sequence[Row],
        owner: str,
        now: datetime,
        *,
        seen: Heads | None,
        most: tuple[int, frozenset[Kind]] | None = None,
    ) -> tuple[Begun, list[Row]]:
        """Begin a try of claimed rows, before the network is touched; see :func:`curing.store.outbox.begin`."""
        with self._writing() as connection:
            return outbox.begin(connection, rows, owner, now, seen=seen, most=most)

    def release_rows(self, rows: Sequence[Row], owner: str) -> None:
        """Give claimed rows back, but those whose try was begun since they were seen."""
        with self._writing() as connection:
            outbox.release(connection, rows, owner)

    def rows_since(self, since: datetime) -> list[Row]:
        """Return all rows that fell due since an instant, by due."""
        with self._reading() as connection:
            return outbox.rows_since(connection, self.database, since)

    def channels_of(self, rows: Sequence[Row]) -> dict[tuple[str, str], set[str]]:
        """Return (key, person) → the channels that have a row of it, for some rows."""
        with self._reading() as connection:
            return outbox.channels_of(connection, rows)

    def outbox_figures(self, now: datetime) -> Outbox:
        """Return how the outbox stands."""
        with self._reading() as connection:
            return outbox.figures(connection, self.database, now)

    def add_trial(self, person: str, now: datetime) -> str:
        """Ask that each channel of a person (root) be tried out; return the key of the rows."""
        with self._writing() as connection:
            return outbox.add_trial(connection, person, now)

    def forget_rows(self, before: datetime) -> int:
        """Take out closed rows that fell due before an instant; return how many."""
        with self._writing() as connection:
            return outbox.forget(connection, before)

    def forget_rows_of(self, person: str) -> int:
        """Take out all rows of a person (root); return how many."""
        with self._writing() as connection:
            return outbox.forget_person(connection, person)
