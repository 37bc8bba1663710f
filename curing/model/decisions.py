"""What the lead or the architect decided about the plan; like the record it only grows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from enum import StrEnum
from typing import Any


class DecisionKind(StrEnum):
    """What was decided; the value is the form in which it is kept and exported.

    Examples
    --------
    >>> [str(kind) for kind in DecisionKind]
    ['assign', 'keep', 'move']
    """

    ASSIGN = "assign"
    """Who does it."""
    KEEP = "keep"
    """It stays on its day although a rule is against it; the reason is recorded."""
    MOVE = "move"
    """It goes to another day."""


@dataclass(frozen=True)
class Decision:
    """One decision.

    Parameters
    ----------
    key
        Made once by whoever enters it, so that the same decision sent twice
        counts once; never empty.
    at
        The instant it was taken, aware; kept in UTC.
    by
        Id of the person who decided; never empty.
    kind
        What was decided.
    data
        About which task, to whom or which day, and why, as JSON: text keys,
        and text, finite numbers, true, false, null, lists and mappings as values.
    seq
        Its place among the decisions, counted from 1; 0 until a store has
        taken it. Two decisions that differ only here are equal.

    Raises
    ------
    ValueError
        If key or person is empty, or the instant has no time zone.

    Examples
    --------
    >>> noon = datetime(2027, 5, 3, 10, 0, tzinfo=UTC)
    >>> Decision("d1", noon, "mira", DecisionKind.MOVE, {"task": "north-out-base", "to": "2027-05-10"}).by
    'mira'
    """

    key: str
    at: datetime
    by: str
    kind: DecisionKind
    data: Mapping[str, Any] = field(default_factory=dict, hash=False)
    seq: int = field(default=0, compare=False)

    def __post_init__(self) -> None:
        if not self.key or not self.by:
            raise ValueError(f"decision {self.key!r} by {self.by!r}: needs a key and a person")
        if self.at.utcoffset() is None:
            raise ValueError(f"decision {self.key!r}, at: {self.at} has no time zone; give UTC")
        object.__setattr__(self, "at", self.at.astimezone(UTC))

    def fault(self) -> str:
        """Return what is wrong with the form of its data, or nothing."""
        days = ("first", "last") if self.kind is DecisionKind.ASSIGN else ("day",)
        for name in ("to", *days) if self.kind is DecisionKind.ASSIGN else ("face", "coat", *days):
            value = self.data.get(name) if isinstance(self.data, Mapping) else None
            if not isinstance(value, str) or (name in days and not _is_day(value)):
                return f"{self.kind}: {name}: is not there, or not in its form"
        return ""


def _is_day(text: str) -> bool:
    try:
        date.fromisoformat(text)
    except ValueError:
        return False
    return True
