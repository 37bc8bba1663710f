"""Other processes for the tests of the state: forked, so that they start in a moment."""

from __future__ import annotations

import multiprocessing
import os
from collections.abc import Callable
from multiprocessing.connection import Connection
from typing import Any

FORK = multiprocessing.get_context("fork")


def start(work: Callable[..., Any], *args: Any) -> tuple[multiprocessing.process.BaseProcess, Connection]:
    """Start ``work(pipe, *args)`` in another process; return it and our end of the pipe."""
    ours, theirs = FORK.Pipe()
    process = FORK.Process(target=work, args=(theirs, *args), daemon=True)
    process.start()
    theirs.close()
    return process, ours


def result_of(work: Callable[[], Any], *, as_nobody: bool = False) -> Any:
    """Run ``work`` in another process and return what it returned."""

    def run(pipe: Connection) -> None:
        try:
            if as_nobody and os.getuid() == 0:
                os.setgroups([])
                os.setgid(65534)
                os.setuid(65534)
            pipe.send(work())
        except BaseException as error:
            pipe.send(AssertionError(f"{type(error).__name__}: {error}"))

    process, pipe = start(run)
    answer = pipe.recv() if pipe.poll(30) else AssertionError("no answer in 30 s")
    process.join(10)
    if isinstance(answer, AssertionError):
        raise answer
    return answer
