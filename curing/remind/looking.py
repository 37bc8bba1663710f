"""What a sender sees of a job at one look, and what it needs of others to see and tell it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

from curing.model.reminders import Message, Occasion
from curing.remind.ways import Ways
from curing.store import Heads, Store
from curing.workflow.sight import Sight


class Work(Protocol):
    """The part of :class:`curing.workflow.open_job.OpenJob` that is needed here."""

    store: Store

    def sight(self) -> Sight:
        """Return the job as it stands now."""

    def reread(self) -> bool:
        """Read the job file again if it was written since; return whether it was."""


class Finds(Protocol):
    """Works out what falls due in a span, after the first instant and until the second."""

    def __call__(self, sight: Sight, after: datetime, to: datetime) -> Sequence[Occasion] | None:
        """Return the occasions; None: it can't be told now, as before the first plan."""


class Composes(Protocol):
    """Makes the message that tells one person some occasions of one kind."""

    def __call__(
        self, sight: Sight, person: str, occasions: Sequence[Occasion], key: str, over: Sequence[Occasion]
    ) -> Message:
        """Return the message."""


@dataclass(frozen=True)
class Look:
    """What a look found."""

    at: datetime
    sight: Sight
    heads: Heads
    ways: Ways
    wanted: Mapping[tuple[str, str], Occasion]
