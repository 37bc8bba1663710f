"""Reminders: what somebody is told of the job's own accord, the rows they are kept in, and how they were answered.

An :class:`Occasion` is one thing that one person is to be told at one instant; its key is the same whenever it is
worked out, so that nobody is told twice. A :class:`Row` is an occasion on one channel, as the outbox keeps it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Protocol

from curing.model.plan import Value


class Kind(StrEnum):
    """What a reminder is about."""

    ROUND = "round"
    """A round of one's own is due."""
    TASK = "task"
    """A reading, test, look, or cover of one's own is due."""
    MISSED = "missed"
    """A round has no tick after its window: who had it, then the next who mists, then who leads."""
    UNSEEN = "unseen"
    """The look on the laying day has no answer."""
    EVE = "eve"
    """Tomorrow's tests, readings and covers."""
    CLOTH = "cloth"
    """Cloth to look after before days on which the crew is not there."""
    HOLD = "hold"
    """A hold waits for a reading, or for the word of who decides."""
    DECIDE = "decide"
    """Something waits for who decides; says what happens without a word."""
    CHANGED = "changed"
    """One's own work of today or tomorrow is not what it was."""
    NOBODY = "nobody"
    """Nobody is named for a round of the next days."""
    FROST = "frost"
    """Frost covers are to go up."""
    RAIN = "rain"
    """Sheets are to go up before rain."""
    HEAT = "heat"
    """Sun or dry air on a face: cloth, and more water."""
    WEATHER = "weather"
    """The weather was last read long ago."""
    SUMMARY = "summary"
    """The evening's summary, where something moved or is open."""
    TRIAL = "trial"
    """A channel is tried out."""
    AWAY = "away"
    """What was missed while the service was away, in one message."""


@dataclass(frozen=True, slots=True)
class Occasion:
    """One thing that one person is to be told.

    Parameters
    ----------
    key
        The same whenever it is worked out, of roots and days: ``round|2027-05-25|early|wil``. Unique with the person.
    person
        Root of who is told.
    due
        When it goes out, quiet hours counted in. Aware, UTC.
    until
        From then on it is of no more use. Aware, UTC; after ``due``.
    intent
        The local time that was meant, for people: ``2027-05-25 06:30``.
    about
        Ids of today of what it is about: bookings, visits, holds.
    faces
        Ids of today of the faces concerned, in walking order.
    values
        What its sentence needs; plain values only.
    step
        How far a missed round has climbed: 0 who had it, 1 the next who mists, and so on.
    rings_in_quiet
        Whether it goes out in the person's quiet hours.
    """

    key: str
    kind: Kind
    person: str
    due: datetime
    until: datetime
    intent: str
    about: tuple[str, ...] = ()
    faces: tuple[str, ...] = ()
    values: Mapping[str, Value] = field(default_factory=dict)
    step: int = 0
    rings_in_quiet: bool = False


class RowState(StrEnum):
    """How far a row has come."""

    WAITING = "waiting"
    SENT = "sent"
    """The channel took it."""
    DEAD = "dead"
    """Given up on this channel: refused for good, or tried as long as it was of use."""
    DROPPED = "dropped"
    """Not sent, because it was not needed any more: ticked, moved, taken off."""
    FOLDED = "folded"
    """Over before it could go out; told in one message with the others."""
    NOWHERE = "nowhere"
    """The person has no channel that is set up here."""


@dataclass(frozen=True, slots=True)
class Row:
    """An occasion on one channel, as the outbox keeps it.

    Parameters
    ----------
    next
        When it is tried the next time.
    tries
        How often it was begun.
    begun
        When the last try began; None: never.
    again
        How many tries began after one whose end nobody knows: so often it may have come twice.
    answer
        What the channel said last, or why it was dropped; one line without address or secret.
    text
        The short text as it went out.
    """

    id: int
    key: str
    kind: Kind
    person: str
    channel: str
    due: datetime
    until: datetime
    intent: str
    about: tuple[str, ...]
    faces: tuple[str, ...]
    values: Mapping[str, Value]
    step: int
    state: RowState
    made: datetime
    next: datetime
    tries: int = 0
    begun: datetime | None = None
    again: int = 0
    answer: str = ""
    answered: datetime | None = None
    """When the channel answered last, or the row was closed."""
    text: str = ""


class Outcome(StrEnum):
    """What a channel's answer means."""

    ACCEPTED = "accepted"
    LATER = "later"
    """Not now: try again."""
    NEVER = "never"
    """Not like this, however often."""
    UNKNOWN = "unknown"
    """It may have been taken: the line broke before the answer."""


@dataclass(frozen=True, slots=True)
class Answer:
    """A channel's answer to one message.

    Parameters
    ----------
    said
        What the other side said, on one line of at most 200 signs, without address, link or secret.
    after
        How long it asks to wait (Retry-After); None: it does not say.
    own_fault
        Whether the channel as it is set up is at fault (password, certificate, address of the gateway), and not
        this one person's address.
    """

    outcome: Outcome
    said: str
    after: timedelta | None = None
    own_fault: bool = False


@dataclass(frozen=True, slots=True)
class Message:
    """What goes out to one person on one channel.

    Parameters
    ----------
    key
        Stays the same when it is tried again: for Message-ID and Idempotency-Key. No spaces; letters, digits, hyphens.
    subject
        One line.
    short
        At most 110 signs, one line, without the link.
    text
        The whole, plain, with cautions and link.
    html
        The same as a small HTML document.
    link
        Address of the page that answers it, or empty.
    facts
        What a machine may want to know: kind, job, faces, due.
    """

    key: str
    kind: Kind
    subject: str
    short: str
    text: str
    html: str
    link: str = ""
    facts: Mapping[str, Value] = field(default_factory=dict)


class Channel(Protocol):
    """A way to reach somebody."""

    name: str
    """As the settings and the job file call it: ``email``."""

    def send(self, to: str, message: Message) -> Answer:
        """Send a message to an address; never raises, and answers within 30 s."""

    def fault(self, to: str) -> str:
        """Return why nothing can be sent to an address (``is no e-mail address; …``), or nothing."""


@dataclass(frozen=True, slots=True)
class Outbox:
    """How an outbox stands.

    Parameters
    ----------
    looked
        When somebody last looked for what falls due; None: never.
    waiting
        Rows that are due and not out.
    oldest
        Since when the oldest of them is due.
    dead
        Rows of the last 24 h that were given up, of people whom no other channel told the same.
    nowhere
        Rows of the last 24 h of people without any channel.
    """

    looked: datetime | None = None
    waiting: int = 0
    oldest: datetime | None = None
    dead: int = 0
    nowhere: int = 0
