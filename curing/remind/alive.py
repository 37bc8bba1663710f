"""Tells a second place that reminders go out, so that it can tell somebody when they don't.

That place expects to be asked for an address every few minutes, and speaks up when it was not (a dead man's switch:
common practice, no source). It is asked only while everything goes well.
"""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable, Iterable
from datetime import datetime, timedelta
from time import monotonic

from curing import clock
from curing.model.reminders import Outbox, Outcome
from curing.remind.channels import ask_alive

EVERY = 300.0
"""[s] between two asks."""
LATE = timedelta(minutes=15)
"""A reminder due so long and not out stops the asking: the pages say so after 5 min, but nobody at a second place
is called out for one that still finds its way by the next channel, which takes 10 min."""

_log = logging.getLogger("curing.remind")


def goes_well(figures: Iterable[Outbox], now: datetime) -> bool:
    """Tell whether nothing was given up lately and nothing is late.

    Examples
    --------
    >>> from datetime import UTC
    >>> now = datetime(2027, 5, 25, 6, 30, tzinfo=UTC)
    >>> goes_well([Outbox(waiting=1, oldest=now - timedelta(minutes=5))], now), goes_well([Outbox(dead=1)], now)
    (True, False)
    """
    return all(not one.dead and (one.oldest is None or now - one.oldest < LATE) for one in figures)


class Alive:
    """Asks for an address every five minutes while all goes well.

    Parameters
    ----------
    url
        The address; it may hold a secret, so it is never logged.
    figures
        Tells how the outboxes stand.
    every
        [s] between two asks.
    """

    def __init__(
        self,
        url: str,
        figures: Callable[[], Iterable[Outbox]],
        *,
        every: float = EVERY,
        now: Callable[[], datetime] = clock.now,
    ) -> None:
        self._url, self._figures, self._every, self._now = url, figures, every, now
        self._last: float | None = None
        self._asking = threading.Lock()

    def tell(self, well: bool) -> None:
        """Take in whether the last look went well; where all goes well and it is time, the address is asked for.

        Nobody waits for its answer.
        """
        now = monotonic()
        if not well or (self._last is not None and now - self._last < self._every):
            return
        if goes_well(self._figures(), self._now()) and self._asking.acquire(blocking=False):
            self._last = now
            threading.Thread(target=self._ask, name="reminders-alive", daemon=True).start()

    def _ask(self) -> None:
        try:
            answer = ask_alive(self._url)
            if answer.outcome is not Outcome.ACCEPTED:
                _log.warning("the second place can't be told", extra={"why": answer.said})
        finally:
            self._asking.release()
