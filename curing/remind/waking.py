"""Wakes the senders every few seconds; what is due, and what was sent, stands in the outbox alone.

APScheduler does nothing but wake: a memory store, one interval job that is never too late. It reckons by the clock
of the machine, so a clock that goes back would let it sleep for as long: a watch by the steady clock wakes it then.
"""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable, Sequence
from datetime import UTC
from time import monotonic
from types import TracebackType
from typing import Protocol, Self

from apscheduler.executors.pool import ThreadPoolExecutor
from apscheduler.jobstores.memory import MemoryJobStore
from apscheduler.schedulers.background import BackgroundScheduler

from curing.remind.sender import STOP
from curing.remind.telling import where

EVERY = 10.0
"""[s] between two looks."""

_log = logging.getLogger("curing.remind")


class Wakes(Protocol):
    """What is woken; see :class:`curing.remind.sender.Sender`."""

    def wake(self) -> bool:
        """Look and send; return whether all went well."""

    def stop(self, seconds: float = STOP) -> bool:
        """Finish what is under way."""


class Reminding:
    """Wakes senders from when it is entered until it is left.

    Parameters
    ----------
    senders
        One for each job; more may be added later.
    every
        [s] between two looks.
    after
        Told after each round whether all senders went well.

    Examples
    --------
    ``with Reminding([Sender(job, channels, scenes.compose, scenes.falls_due)]): serve()``
    """

    def __init__(
        self, senders: Sequence[Wakes] = (), *, every: float = EVERY, after: Callable[[bool], None] = lambda well: None
    ) -> None:
        self._senders, self._every, self._after = list(senders), every, after
        self._guard = threading.Lock()
        self._ended = threading.Event()
        self._turn = threading.Lock()
        self._woken = monotonic()
        self.last: bool | None = None
        """Whether the last round went well; None before the first."""
        self._scheduler = BackgroundScheduler(
            jobstores={"default": MemoryJobStore()},
            executors={"default": ThreadPoolExecutor(1)},
            timezone=UTC,
        )

    def add(self, sender: Wakes) -> None:
        """Wake one more sender from now on; from any thread."""
        with self._guard:
            self._senders.append(sender)

    def __enter__(self) -> Self:
        """Begin, with a first look at once."""
        self._job = self._scheduler.add_job(
            self._round,
            "interval",
            seconds=self._every,
            coalesce=True,
            max_instances=1,
            misfire_grace_time=None,
        )
        self._scheduler.add_job(self._round, misfire_grace_time=None)  # once, now
        self._scheduler.start()
        threading.Thread(target=self._watch, name="reminders-watch", daemon=True).start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Wake no more, and finish what is under way within 10 s."""
        self._ended.set()
        self._scheduler.shutdown(wait=False)
        until = monotonic() + STOP
        if self._turn.acquire(timeout=STOP):  # a look under way ends before its job is closed
            self._turn.release()
        with self._guard:
            senders = list(self._senders)
        for one in senders:
            one.stop(max(0.0, until - monotonic()))

    def _round(self) -> None:
        with self._turn:
            self._look_round()

    def _look_round(self) -> None:
        self._woken = monotonic()
        with self._guard:
            senders = list(self._senders)
        well = not self._ended.is_set()
        for one in senders:
            if self._ended.is_set():
                return
            try:
                well = one.wake() and well
            except Exception as error:
                _log.error("a sender broke", extra={"broke": where(error)})
                well = False
        self.last = well
        try:
            self._after(well)
        except Exception as error:
            _log.error("telling how reminders go broke", extra={"broke": where(error)})

    def _watch(self) -> None:
        """Wake the scheduler when it has not woken for long by the steady clock."""
        while not self._ended.wait(self._every):
            if monotonic() - self._woken > 3 * self._every:
                self._woken = monotonic()
                _log.warning("the clock of this machine was set; looking again")
                self._job.reschedule("interval", seconds=self._every)
