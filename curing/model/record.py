"""The record of a job: what happened on the walls, said by whom and when.

The record only grows. A wrong entry is not changed: a later one corrects it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from enum import StrEnum
from typing import Any


class RecordKind(StrEnum):
    """What an entry says; the value is the form in which it is kept and exported.

    Examples
    --------
    >>> RecordKind("rain-on-it").name
    'RAIN_ON_IT'
    """

    STARTED = "started"
    FINISHED = "finished"
    BATCH = "batch"
    MISTED = "misted"
    DAMP = "damp"
    RAIN_ON_IT = "rain-on-it"
    COULD_NOT = "could-not"
    READING = "reading"
    TEST = "test"
    HOLD_MET = "hold-met"
    HOLD_REFUSED = "hold-refused"
    COVER_UP = "cover-up"
    COVER_DOWN = "cover-down"
    INSPECTION = "inspection"
    PASSED_ON = "passed-on"
    NOTE = "note"
    CORRECTION = "correction"


@dataclass(frozen=True)
class RecordEntry:
    """One entry of the record.

    Parameters
    ----------
    key
        Made once by whoever enters it (drawn with the page, say), so that the
        same entry sent twice counts once; never empty.
    at
        The instant it happened, aware; kept in UTC.
    received
        The instant it reached the service, aware; kept in UTC. Hours after
        ``at`` when a phone was offline.
    by
        Id of the person who says so; never empty.
    kind
        What is said.
    face
        Id of the face (wall id and side); None when it is about the whole job.
    data
        What belongs to the kind (a reading's value and unit, a note's text),
        as JSON: text keys, and text, finite numbers, true, false, null, lists
        and mappings as values.
    seq
        Its place in the record, counted from 1; 0 until a store has taken it.
        Two entries that differ only here are equal.

    Raises
    ------
    ValueError
        If key or person is empty, or an instant has no time zone.

    Examples
    --------
    >>> seven = datetime(2027, 5, 3, 5, 0, tzinfo=UTC)
    >>> entry = RecordEntry("k1", seven, seven, "mira", RecordKind.MISTED, "north-out")
    >>> entry.kind
    <RecordKind.MISTED: 'misted'>
    """

    key: str
    at: datetime
    received: datetime
    by: str
    kind: RecordKind
    face: str | None = None
    data: Mapping[str, Any] = field(default_factory=dict, hash=False)
    seq: int = field(default=0, compare=False)

    @property
    def wall(self) -> str | None:
        """Root of the wall it is about, or None where it is about the whole job."""
        if self.face is not None:
            return self.face.rpartition("-")[0]
        wall = self.data.get("wall")
        return wall if isinstance(wall, str) and wall else None

    @property
    def order(self) -> tuple[datetime, datetime, str]:
        """Place in time: when it happened; at the same minute, when it was said; then its key."""
        return (self.at, self.received, self.key)

    def __post_init__(self) -> None:
        if not self.key or not self.by:
            raise ValueError(f"record entry {self.key!r} by {self.by!r}: needs a key and a person")
        for name in ("at", "received"):
            instant: datetime = getattr(self, name)
            if instant.utcoffset() is None:
                raise ValueError(f"record entry {self.key!r}, {name}: {instant} has no time zone; give UTC")
            object.__setattr__(self, name, instant.astimezone(UTC))
