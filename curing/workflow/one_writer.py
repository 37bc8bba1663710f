"""One writes at a time, and nobody waits for that without end."""

from __future__ import annotations

import threading
from types import TracebackType

from curing.errors import StateError

PATIENCE = 6.0
"""[s] So long somebody waits for others who write before it is said that the state is busy."""


class OneWriter:
    """A lock for one who writes, which nobody waits for without end: a state that is locked holds up the first few."""

    def __init__(self) -> None:
        self._lock = threading.RLock()

    def __enter__(self) -> None:
        if not self._lock.acquire(timeout=PATIENCE):
            raise StateError(
                f"state: others have waited for it for more than {PATIENCE:g} s, nothing was changed; one writes at a "
                "time; wait until they have finished, then try again"
            )

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._lock.release()
