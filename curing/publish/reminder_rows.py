"""The reminders of a job as a page, a terminal and a program show them: rows, answers, what comes, who is reached."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from curing.model.reminders import Kind, Occasion, Outbox, Row, RowState
from curing.publish.event_title import plain
from curing.publish.words import Words


class Sending(StrEnum):
    """How sending stands."""

    OFF = "off"
    """Nobody is to be told, or nobody ever looked for what falls due."""
    WELL = "well"
    LATE = "late"
    DEAD = "dead"
    """Something was given up in the last 24 h, and nobody was told otherwise."""
    STOPPED = "stopped"
    """Nobody looks any more for what falls due."""


@dataclass(frozen=True, slots=True)
class Answered:
    """How far something was answered: so many of so many, the last when and by whom."""

    done: int
    of: int
    at: datetime | None = None
    by: str = ""

    @property
    def whole(self) -> bool:
        """Whether nothing is open."""
        return 0 < self.of <= self.done


@dataclass(frozen=True, slots=True)
class Told:
    """One row with what became of it.

    Parameters
    ----------
    person
        Id of today.
    name
        Of the person today.
    text
        As it went out, or as it would now.
    answered
        None: a reminder that nothing answers.
    instead
        The row on the person's next channel that tells the same.
    """

    row: Row
    person: str
    name: str
    text: str
    answered: Answered | None
    instead: Row | None = None

    @property
    def accepted(self) -> datetime | None:
        """When the channel took it."""
        return self.row.answered if self.row.state is RowState.SENT else None

    @property
    def lost(self) -> bool:
        """Whether it was given up, and the person was not told the same otherwise."""
        gone = self.row.state in (RowState.DEAD, RowState.NOWHERE) and self.row.kind is not Kind.TRIAL
        return gone and (self.instead is None or self.instead.state in (RowState.DEAD, RowState.NOWHERE))

    @property
    def open(self) -> bool:
        """Whether it waits to go out, or for an answer."""
        if self.row.state is RowState.WAITING:
            return True
        return self.row.state is RowState.SENT and self.answered is not None and not self.answered.whole


@dataclass(frozen=True, slots=True)
class Reach:
    """How somebody is reached: channels with their addresses, masked, in order of choice.

    Parameters
    ----------
    number
        Place among the people of the job file, from 1.
    """

    id: str
    root: str
    name: str
    ways: tuple[tuple[str, str], ...]
    number: int


@dataclass(frozen=True, slots=True)
class Coming:
    """A reminder that would go out.

    Parameters
    ----------
    channel
        The person's first one that is set up; empty: there is none.
    """

    occasion: Occasion
    name: str
    channel: str
    text: str


@dataclass(frozen=True)
class RemindersSeen:
    """The reminders of a job as they stand.

    Parameters
    ----------
    words
        Language and units of the reader.
    zone
        Time zone of the first site.
    told
        Rows, by due.
    coming
        What would go out, in order.
    reach
        Everybody who may be told anything, in the job file's order.
    """

    job: str
    words: Words
    zone: str
    now: datetime
    outbox: Outbox
    sending: Sending
    told: tuple[Told, ...]
    coming: tuple[Coming, ...]
    reach: tuple[Reach, ...]


def masked(address: str) -> str:
    """Return an address of which only the last three signs are seen.

    Examples
    --------
    >>> masked("mia@example.org"), masked("mia")
    ('…org', '…')
    """
    return f"…{plain(address)[-3:]}" if len(address) > 3 else "…"
