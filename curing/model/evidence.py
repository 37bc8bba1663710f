"""What record and decisions come to: facts about coats, holds, visits and turns, each with its cause."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum

from curing.model.plan import Slot
from curing.model.record import RecordKind


@dataclass(frozen=True, slots=True)
class Cause:
    """The entry or decision from which a fact follows."""

    key: str
    what: str
    """Kind of the entry or decision."""
    at: datetime
    """Aware, UTC."""
    by: str
    """Id of the person today; the root of who is no longer in the job file."""
    name: str = ""
    """Name of the person today."""
    day: date | None = None
    """Local day, where it was said about."""
    clock: str = ""
    """Local time, ``14:50``."""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Closed:
    """A coat that is done."""

    at: datetime
    began: datetime | None
    cause: Cause


class Shut(StrEnum):
    """Why a hold that was met is so no longer."""

    READING = "reading"
    TEST = "test"
    RAIN = "rain"
    SET = "set"
    METER = "meter"
    """A meter by which it was read was found false."""
    WITHDRAWN = "withdrawn"
    """What it rested on was corrected."""


@dataclass(frozen=True, slots=True)
class HoldFact:
    """Where a hold stands by the record: met on ``day``, refused on ``day``, or shut again."""

    cause: Cause
    met: date | None = None
    """Day of the oldest reading that counts, for a hold that lapses; else of the entry."""
    refused: date | None = None
    shut: Shut | None = None


@dataclass(frozen=True, slots=True)
class HoldNews:
    """What entries just recorded did to a hold.

    Parameters
    ----------
    coats
        Coats that are not laid and wait behind it.
    shut
        Why it is shut now, and was not before.
    passes
        Whether all that it asks for passes, and nobody has opened it.
    missing
        Places, as (side, ``low``, ``middle``, ``top`` or ``mid``), where a reading that counts is lacking.
    wet
        Places that read too wet.
    tests
        Tests that have not passed.
    meter
        The meter that was read, if its readings do not count; empty: they do.
    """

    hold: str
    coats: tuple[str, ...]
    shut: Shut | None = None
    passes: bool = False
    missing: tuple[tuple[str, str], ...] = ()
    wet: tuple[tuple[str, str], ...] = ()
    tests: tuple[str, ...] = ()
    meter: str = ""


@dataclass(frozen=True, slots=True)
class Tick:
    """What was said of a visit."""

    kind: RecordKind
    at: datetime
    cause: Cause
    why: str = ""

    @property
    def tended(self) -> bool:
        """Whether the coat got, or needed no, water."""
        return self.kind is not RecordKind.COULD_NOT


@dataclass(frozen=True, slots=True)
class Failed:
    """A coat that could not be laid on its day."""

    day: date
    why: str
    cause: Cause


@dataclass(frozen=True, slots=True)
class Turn:
    """Who takes a walk, by decision or because it was passed on."""

    person: str
    """Id today."""
    name: str
    instead: str
    """Who gave it away; empty: by decision, whoever had it."""
    cause: Cause


@dataclass(frozen=True, slots=True)
class Decided:
    """A coat that keeps its day against a rule, or goes to a day, by decision."""

    kind: str
    """``keep`` or ``move``."""
    day: date
    why: str
    cause: Cause


@dataclass(frozen=True)
class Evidence:
    """All facts, under the ids of today. Coats are ``face.coat``, holds and visits as in the plan.

    Parameters
    ----------
    turns
        (day, slot) → turns of that walk, the last said last.
    checked
        Face → instants at which it was inspected after something went wrong, and found sound.
    undone
        Coat → the correction that took back that it is done.
    taken_back
        Hold → the last correction of an entry that opened or shut it, or on which it rested.
    unheld
        Coat that is done → its hold points that were shut when it was closed.
    waiting
        Hold whose readings or tests all pass, and which nobody has opened → the last day on which they do.
    odd
        What was said although a rule is against it: (key of a sentence, its values, face).
    """

    done: Mapping[str, Closed] = field(default_factory=dict)
    started: Mapping[str, Cause] = field(default_factory=dict)
    holds: Mapping[str, HoldFact] = field(default_factory=dict)
    visits: Mapping[str, Tick] = field(default_factory=dict)
    could_not: Mapping[str, Failed] = field(default_factory=dict)
    turns: Mapping[tuple[date, Slot], tuple[Turn, ...]] = field(default_factory=dict)
    decided: Mapping[str, Decided] = field(default_factory=dict)
    checked: Mapping[str, tuple[datetime, ...]] = field(default_factory=dict)
    undone: Mapping[str, Cause] = field(default_factory=dict)
    taken_back: Mapping[str, Cause] = field(default_factory=dict)
    unheld: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    waiting: Mapping[str, date] = field(default_factory=dict)
    odd: tuple[tuple[str, Mapping[str, str], str], ...] = ()
    digests: Mapping[str, str] = field(default_factory=dict)
    """``record`` and ``decisions`` → digest of what was said, whatever the order it came in."""


NOTHING_SAID = Evidence()
