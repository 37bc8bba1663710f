"""Planning beside the pages: in a process of its own, one at a time, a little after the last change.

In a thread a plan kept ticks waiting for seconds, since both share one interpreter.
"""

from __future__ import annotations

import asyncio
import logging
import multiprocessing
import os
import signal
import threading
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import dataclass
from multiprocessing.process import BaseProcess
from pathlib import Path

from curing.errors import CuringError, Problem
from curing.model.plan import Notice
from curing.store import PlannedMeanwhile
from curing.workflow.planning import plan_job

QUIET = 0.7
"""[s] A plan begins so long after the last change, so that a whole round ticked makes one plan."""
LONGEST_WAIT = 5.0
TRIES = 3
"""A plan that another process outran is made again so often."""
PATIENCE = 2.0
"""[s] A plan that is being made when the server ends has so long to be saved."""
"""[s] But no longer after the first change."""

_log = logging.getLogger("curing.serve")


@dataclass(frozen=True)
class Outcome:
    """What planning came to: notices, or why it was not possible."""

    saved: bool = False
    revision: int = 0
    warnings: tuple[Notice, ...] = ()
    questions: tuple[Notice, ...] = ()
    problems: tuple[Problem, ...] = ()


def plan_once(job_file: Path, state: Path) -> Outcome:
    """Plan a job and keep the plan; runs in the planning process, or where a test calls it."""
    for left in reversed(range(TRIES)):
        try:
            made = plan_job(job_file, state=state)
        except PlannedMeanwhile as error:  # two servers, or a command: what follows the newer plan is made at once
            if not left:
                return Outcome(problems=error.problems)
        except CuringError as error:
            return Outcome(problems=error.problems)
        else:
            return Outcome(made.saved, made.plan.revision, made.plan.warnings, made.plan.questions)
    raise AssertionError


BEHIND = 10
"""By so much the planning process lets others go first (nice): ticks and pages before plans."""


def _end_with_parent() -> None:
    """Let the planning process end when the server does, however that ended, and never hold up a tick."""
    if hasattr(os, "nice"):
        os.nice(BEHIND)
    parent = multiprocessing.parent_process()

    def watch() -> None:
        if parent is not None:
            parent.join()
            os._exit(0)

    threading.Thread(target=watch, daemon=True).start()


@contextmanager
def _no_ctrl_c() -> Iterator[None]:
    """Let a process that is begun meanwhile never hear Ctrl-C, which goes to all: the server ends it when it is due."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


class PlanProcess:
    """One process that plans, kept warm, and made anew when it died."""

    def __init__(self) -> None:
        self._pool: ProcessPoolExecutor | None = None
        self._closed = False
        self._others: set[BaseProcess] = set()
        self._turn = asyncio.Lock()

    async def plan(self, job_file: Path, state: Path) -> Outcome:
        """Plan a job; one at a time."""
        async with self._turn:
            for last in (False, True):
                pool = self._pool or self._begun()
                try:
                    with _no_ctrl_c():
                        made = asyncio.get_running_loop().run_in_executor(pool, plan_once, job_file, state)
                    return await made
                except BrokenProcessPool:
                    self._pool = None
                    if self._closed:
                        return Outcome(problems=(Problem(None, "the server ends; the last plan stays"),))
                    _log.warning("the planning process ended; another is begun", extra={"job": job_file.name})
                    if last:
                        text = "planning ended twice without an answer; the last plan stays; is memory short?"
                        return Outcome(problems=(Problem(None, text),))
            raise AssertionError

    def _begun(self) -> ProcessPoolExecutor:
        context = multiprocessing.get_context("spawn")
        self._others = set(multiprocessing.active_children())
        self._pool = ProcessPoolExecutor(1, mp_context=context, initializer=_end_with_parent)
        return self._pool

    def close(self) -> None:
        """End the process, in the middle of a plan too: a plan is saved whole or not at all."""
        self._closed = True
        pool, self._pool = self._pool, None
        if pool is None:
            return
        ended = threading.Thread(target=pool.shutdown, kwargs={"wait": True, "cancel_futures": True})
        ended.start()
        ended.join(PATIENCE)
        if ended.is_alive():
            for process in set(multiprocessing.active_children()) - self._others:
                process.kill()
            ended.join()
