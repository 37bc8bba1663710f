"""A process that sends by real lines and is killed at a chosen step: by itself with kill -9, between two lines of code.

Lives are numbered; each has a clock two minutes after the one before, so that the claims of the dead are over.
"""

from __future__ import annotations

import os
import random
import signal
import threading
from collections.abc import Callable, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

from sending import DAY, MINUTE, NOON, SECOND, compose

from curing.model.reminders import Kind, Occasion
from curing.remind.channels import open_channels
from curing.remind.sender import Sender
from curing.sources.reminder_settings import Reminders
from curing.workflow.open_job import OpenJob
from curing.workflow.sight import Sight

POINTS = ("claim", "begin", "send", "mark")
KINDS = (Kind.ROUND, Kind.MISSED, Kind.UNSEEN)


def channels(folder: Path, smtp: int, http: int) -> dict[str, Any]:
    """Return e-mail and push by real lines on this machine."""
    mail = {"kind": "email", "host": "127.0.0.1", "port": smtp, "security": "none", "from": "walls@example.org"}
    push = {
        "kind": "http",
        "url": f"http://127.0.0.1:{http}/send",
        "json": {"to": "{to}", "text": "{text}", "key": "{key}"},
    }
    return dict(open_channels(Reminders.model_validate({"channels": {"email": mail, "push": push}})))


def falling(life: int, lives: int) -> list[Occasion]:
    """Return what is due in a life: what the lives before it had, and some more of its own."""
    found = []
    for n in range(min(life, lives) + 1):
        due = NOON + 2 * n * MINUTE
        for person in ("ida", "bo"):
            for kind in KINDS:
                key = f"k{n}-{kind}-{person}"
                found.append(Occasion(key, kind, person, due, due + DAY, "x", rings_in_quiet=True))
    return found


def live(
    file: Path,
    life: int,
    lives: int,
    ports: tuple[int, int],
    plan: tuple[str, bool, int] | None,
    now: datetime | None = None,
) -> None:
    """Send what is due until nothing is left, or until killed.

    Parameters
    ----------
    plan
        Step, whether before or after it, and at which time it comes; None: it is not killed.
    """
    job = OpenJob(file)
    due = falling(life, lives)
    at = now or NOON + 2 * life * MINUTE + SECOND

    def finds(sight: Sight, after: datetime, to: datetime) -> Sequence[Occasion]:
        return [one for one in due if after < one.due <= to]

    ways = channels(file.parent, *ports)
    sender = Sender(job, ways, compose, finds, now=lambda: at, threads=3)
    if plan is not None:
        _arm(sender, job, ways, plan)
    sender.wake()
    sender.settled(60)
    sender.stop()
    job.close()


def _arm(sender: Sender, job: OpenJob, ways: dict[str, Any], plan: tuple[str, bool, int]) -> None:
    point, before, number = plan
    lock, count = threading.Lock(), [0]

    def deadly(call: Callable[..., Any], counts: Callable[..., bool] = lambda *said: True) -> Callable[..., Any]:
        def called(*said: Any, **more: Any) -> Any:
            mine = 0
            if counts(*said):
                with lock:
                    count[0] += 1
                    mine = count[0]
            if mine == number and before:
                os.kill(os.getpid(), signal.SIGKILL)
            answer = call(*said, **more)
            if mine == number:
                os.kill(os.getpid(), signal.SIGKILL)
            return answer

        return called

    if point == "claim":
        job.store.claim_rows = deadly(job.store.claim_rows)  # type: ignore[method-assign]
    elif point == "begin":
        job.store.begin_rows = deadly(job.store.begin_rows)  # type: ignore[method-assign]
    elif point == "mark":
        job.store.keep_rows = deadly(job.store.keep_rows, lambda steps, *_: bool(steps))  # type: ignore[method-assign]
    else:
        for way in ways.values():
            way.send = deadly(way.send)


def chance(seed: int) -> tuple[str, bool, int]:
    """Return where to die."""
    draw = random.Random(seed)
    return draw.choice(POINTS), draw.random() < 0.5, draw.randint(1, 5)
