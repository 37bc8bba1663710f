"""What the curing record of a face is made of: facts in order, without a word of text yet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum

from curing.model.decisions import Decision
from curing.model.plan import Slot
from curing.model.record import RecordEntry
from curing.model.record_data import Probe, Weighing
from curing.publish.record_text import Called

LATE = timedelta(hours=1)
"""An entry that came in so long after it happened is marked (common practice, no source)."""


def late(entry: RecordEntry) -> bool:
    """Tell whether an entry came in long after what it tells of."""
    return entry.received - entry.at > LATE


class Turned(StrEnum):
    """What happened to a hold point."""

    MET = "met"
    REFUSED = "refused"
    LAPSED = "lapsed"
    READING = "reading"
    TEST = "test"
    RAIN = "rain"
    SET = "set"
    METER = "meter"
    WITHDRAWN = "withdrawn"


@dataclass(frozen=True)
class HoldStep:
    """One turn of a hold point.

    Parameters
    ----------
    day
        Local day.
    by
        Name of the person; empty where nobody is named.
    entry
        Number of the entry; 0 where the job file says it, or time alone did it.
    rests
        Numbers of the readings or tests that it rests on.
    worst
        Wettest of these readings [%, wet basis].
    counts_to
        Last day on which a pass counts; None: for good.
    """

    what: Turned
    day: date
    by: str = ""
    entry: int = 0
    rests: tuple[int, ...] = ()
    worst: float | None = None
    counts_to: date | None = None
    note: str = ""


@dataclass(frozen=True)
class HoldStory:
    """A hold point before a coat, from first to last.

    Parameters
    ----------
    coat
        Id of the coat that waits behind it.
    laid_shut
        Day on which the coat was laid although it was not recorded as met; None where it was not.
    """

    point: str
    text: str
    coat: str
    steps: tuple[HoldStep, ...]
    laid_shut: date | None = None


class Said(StrEnum):
    """What became of a visit."""

    MISTED = "misted"
    AIRED = "aired"
    DAMP = "damp"
    RAIN = "rain"
    COULD_NOT = "could-not"
    MISSED = "missed"
    UNSAID = "unsaid"


@dataclass(frozen=True)
class VisitCell:
    """One visit whose time has come.

    Parameters
    ----------
    number
        Days since the coat was laid.
    at
        When it was answered; None without a word.
    received
        When the answer came in, where that was long after.
    """

    number: int
    day: date
    slot: Slot
    said: Said
    at: datetime | None = None
    entry: int = 0
    by: str = ""
    why: str = ""
    received: datetime | None = None


@dataclass(frozen=True)
class Tending:
    """The visits of a coat.

    Parameters
    ----------
    by_rule
        How many visits the rules ask for.
    asked
        Visits that were in somebody's calendar and whose time has come, in time order.
    extra
        What was said of visits that nobody's calendar had, or said again of one that had its answer.
    ahead, ahead_to
        How many visits are still to come, and to which day.
    unasked
        Days, counted from laying, whose visits by rule were in nobody's calendar.
    """

    by_rule: int
    asked: tuple[VisitCell, ...]
    extra: tuple[VisitCell, ...]
    ahead: int = 0
    ahead_to: date | None = None
    unasked: tuple[int, ...] = ()


@dataclass(frozen=True)
class CoatStory:
    """One coat.

    Parameters
    ----------
    thickness
        By the rules [mm]; None where they give none.
    laid, began
        Instants of closing and beginning; ``clock`` tells whether the hour was said.
    entry, began_entry
        Numbers of their entries; 0: the job file says it, or nobody.
    received
        When the entry of its closing came in, where that was long after.
    wait
        Days since the coat below was laid.
    least, greatest
        What the rules ask of that wait [d].
    booked
        Day it is booked for, while it is not laid.
    """

    id: str
    name: str
    thickness: float | None
    laid: datetime | None = None
    clock: bool = True
    began: datetime | None = None
    by: str = ""
    entry: int = 0
    began_entry: int = 0
    received: datetime | None = None
    note: str = ""
    batches: tuple[RecordEntry, ...] = ()
    below: str = ""
    wait: int | None = None
    least: int = 0
    greatest: int | None = None
    booked: date | None = None
    conditional: bool = False
    failed: tuple[RecordEntry, ...] = ()
    decisions: tuple[Decision, ...] = ()
    tending: Tending | None = None


class Mark(StrEnum):
    """What a reading counts for."""

    PASSES = "passes"
    WET = "wet"
    SHALLOW = "shallow"
    UNCHECKED = "unchecked"


@dataclass(frozen=True)
class ReadingLine:
    """One reading, of the side ``out`` or ``in``."""

    entry: RecordEntry
    side: str
    probe: Probe
    mark: Mark


@dataclass(frozen=True)
class WeighLine:
    """One weighing, and what it changed since the one before of the same thing [kg/d]."""

    entry: RecordEntry
    weighing: Weighing
    change: float | None


@dataclass(frozen=True)
class FaceRecord:
    """All that was recorded of a face.

    Parameters
    ----------
    job, wall_name, system_name
        Free names.
    facing
        [° clockwise from north]; None inside.
    area, height
        [m2], [m]; None for a side that has no coats.
    thickness
        Of the panel [mm].
    depth
        At which a reading counts [mm].
    limit
        Wettest reading that passes [%, wet basis]; None where no hold asks for readings.
    entries
        Every entry about the face, in time order.
    others
        Entries that no table tells.
    corrected
        (entry, the correction that names it).
    shut
        (id, text, state) of holds that keep the next coat from being laid: ``unmet``, ``refused``, ``later``.
    sound
        Instants at which an inspection found it sound.
    unsound
        Inspection that found something, with nothing sound after it.
    """

    job: str
    face: str
    wall: str
    side: str
    wall_name: str
    zone: str
    now: datetime
    facing: float | None
    area: float | None
    height: float | None
    system: str
    system_name: str
    thickness: float | None
    filled: date | None
    coats: tuple[CoatStory, ...]
    holds: tuple[HoldStory, ...]
    limit: float | None
    depth: float
    readings: tuple[ReadingLine, ...]
    meter_checks: tuple[RecordEntry, ...]
    weighings: tuple[WeighLine, ...]
    entries: tuple[RecordEntry, ...]
    others: tuple[RecordEntry, ...]
    corrected: tuple[tuple[RecordEntry, RecordEntry], ...]
    shut: tuple[tuple[str, str, str], ...]
    sound: tuple[datetime, ...]
    unsound: RecordEntry | None
    called: Called


@dataclass(frozen=True)
class JobRecord:
    """Everything recorded and decided about a job.

    Parameters
    ----------
    corrected_by
        Key of an entry → the correction that names it.
    """

    job: str
    uid: str
    now: datetime
    entries: tuple[RecordEntry, ...]
    decisions: tuple[Decision, ...]
    corrected_by: Mapping[str, RecordEntry]
    called: Called
