"""What stands on the page of a day: its parts, the things to do in them, what waits. Made by :mod:`.page_today`."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from curing.publish.layers import Layer


class Ask(StrEnum):
    """Which answers a thing takes."""

    VISIT = "visit"
    COAT = "coat"
    LOOK = "look"
    COVER_UP = "cover-up"
    COVER_DOWN = "cover-down"
    READING = "reading"
    TEST = "test"
    NOTHING = "nothing"


@dataclass(frozen=True, slots=True)
class Item:
    """One thing to do at one face.

    Parameters
    ----------
    id
        Of the visit or booking; the anchor on the page as well.
    state
        ``next``, ``todo``, ``missed``, ``done``, ``waits`` or ``off``.
    does
        What is done, one line; ``detail``: how, and of which coat.
    said
        What was answered, with time and name.
    undo
        Key of the entry that may be taken back by the reader, or nothing.
    first
        Which of the two states of a coat: whether it was begun.
    """

    id: str
    face: str
    number: str
    name: str
    wall: str
    ask: Ask
    state: str
    mark: str
    does: str
    detail: str
    when: str
    who: str
    yours: bool
    layers: tuple[Layer, ...]
    said: str = ""
    undo: str = ""
    sun: str = ""
    stop: str = ""
    unless: str = ""
    begun: bool = False
    notes: tuple[str, ...] = ()
    day: str = ""


@dataclass(frozen=True, slots=True)
class Part:
    """A part of the day: a round, or the work between rounds."""

    slot: str
    title: str
    span: str
    who: str
    items: tuple[Item, ...]
    now: bool
    """Whether it is the part that the hour is in."""
    open: tuple[str, ...] = ()
    """Visits without an answer, for "all done"."""
    kind: str = "work"
    yours: bool = False

    @property
    def left(self) -> int:
        """Number of things without an answer."""
        return sum(1 for one in self.items if one.state in ("todo", "next", "missed"))


@dataclass(frozen=True, slots=True)
class Waiting:
    """A face with nothing to do that day: what comes next, when, and why then."""

    number: str
    name: str
    wall: str
    face: str
    next: str
    when: str
    why: str
    conditional: bool
    layers: tuple[Layer, ...]


@dataclass(frozen=True, slots=True)
class Row:
    """One face across the day, for a desktop: what is done on the first round, between, and on the last."""

    number: str
    name: str
    wall: str
    layers: tuple[Layer, ...]
    cells: tuple[tuple[Item, ...], ...]
    waits: Waiting | None


@dataclass(frozen=True, slots=True)
class Day:
    """The page of one day."""

    day: date
    title: str
    parts: tuple[Part, ...]
    waiting: tuple[Waiting, ...]
    duties: tuple[tuple[str, str], ...]
    """Person → what he or she has that day, in order."""
    cautions: tuple[str, ...]
    rows: tuple[Row, ...] = ()
    """The same by face, in walking order."""
    ahead: tuple[tuple[str, str], ...] = ()
    """Next day with work: (what, who)."""
    ahead_day: str = ""
    done: int = 0
    of: int = 0
    before: str = ""
    after: str = ""
