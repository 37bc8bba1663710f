"""1,000 reminders due at one instant: how late they go out, and how many: ``python -m tests.benchmarks.reminding``.

A message takes 50 ms, one in twenty 2 s. Beside the sender of curing, which keeps a row on disk for each, the same
sends run as date jobs of APScheduler with its memory store: once with its defaults, once never too late. Neither of
these keeps anything: who is killed loses all. The known answer is that 1,000 go out.
"""

from __future__ import annotations

import argparse
import json
import statistics
import tempfile
import threading
import time
from collections.abc import Callable, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from apscheduler.schedulers.background import BackgroundScheduler

from curing.model.reminders import Answer, Kind, Message, Occasion, Outcome
from curing.remind.sender import THREADS, Sender
from curing.remind.waking import Reminding
from curing.workflow.open_job import OpenJob
from curing.workflow.sight import Sight

MANY = 1000
QUICK, SLOW, ONE_IN = 0.05, 2.0, 20
KINDS = (Kind.ROUND, Kind.MISSED, Kind.UNSEEN, Kind.HOLD)
"""Four messages to each of 250 people."""
LEAD = 3.0
"""[s] from making ready until all is due."""
PATIENCE = 240.0

JOB = """\
curing: 1
uid: 5f0c9e1a-93d4-4d0c-8a55-3b1b7a0f2c11
name: Alder Court
holidays: { country: NL }
sites:
  - { id: court, name: Alder Court, latitude: 52.1, longitude: 5.2, time_zone: Europe/Amsterdam }
people:
  - { id: ida, name: Ida, roles: [lead, mists], hours: { mon-fri: 07:00-15:30 } }
%s
crews:
  - { id: render, name: Render, people: [ida] }
walls:
  - id: "3"
    name: north gable
    faces:
      - { side: out, facing: N, area: 8 m2, height: 2.7 m, system: clay-lime }
"""


class Line:
    """A channel of which every twentieth message is slow; keeps when each was begun."""

    name = "email"

    def __init__(self) -> None:
        self.begun: dict[str, float] = {}
        self.done = 0
        self._lock = threading.Lock()

    def send(self, to: str, message: Message) -> Answer:
        """Take a message."""
        self.take(int(message.short))
        return Answer(Outcome.ACCEPTED, "taken")

    def take(self, number: int) -> None:
        """Take a message by its number."""
        with self._lock:
            self.begun[str(number)] = time.time()  # noqa: TID251
        time.sleep(SLOW if number % ONE_IN == 0 else QUICK)
        with self._lock:
            self.done += 1

    def fault(self, to: str) -> str:
        """Find nothing wrong."""
        return ""


def _row(name: str, line: Line, due: float, whole: float) -> dict[str, Any]:
    late = sorted(at - due for at in line.begun.values()) or [0.0]
    return {
        "name": name,
        "sent": line.done,
        "right": line.done == MANY,
        "p50_s": round(statistics.median(late), 2),
        "p95_s": round(late[int(0.95 * (len(late) - 1))], 2),
        "max_s": round(late[-1], 2),
        "whole_s": round(whole - due, 2),
    }


def _wait(done: Callable[[], bool]) -> None:
    end = time.monotonic() + PATIENCE
    while not done() and time.monotonic() < end:
        time.sleep(0.05)


def curing(threads: int) -> dict[str, Any]:
    """Send by the outbox, on the disk of the folder for temporary files, looking every second."""
    line, due = Line(), datetime.now(UTC).replace(microsecond=0) + timedelta(seconds=LEAD)  # noqa: TID251
    people = "\n".join(
        f"  - {{ id: p{n}, name: P{n}, roles: [mists], hours: {{ mon-fri: 07:00-15:30 }}, tell: {{ email: p{n} }} }}"
        for n in range(MANY // len(KINDS))
    )
    listed = [
        Occasion(
            str(n),
            KINDS[n % len(KINDS)],
            f"p{n // len(KINDS)}",
            due,
            due + timedelta(hours=3),
            "x",
            rings_in_quiet=True,
        )
        for n in range(MANY)
    ]

    def finds(sight: Sight, after: datetime, to: datetime) -> Sequence[Occasion]:
        return [one for one in listed if after < one.due <= to]

    def compose(sight: Sight, person: str, said: Sequence[Occasion], key: str, over: Sequence[Occasion]) -> Message:
        return Message(key, said[0].kind, said[0].key, said[0].key, said[0].key, "")

    with tempfile.TemporaryDirectory() as place:
        file = Path(place) / "court.yaml"
        file.write_text(JOB % people)
        with OpenJob(file) as job:
            sender = Sender(job, {"email": line}, compose, finds, threads=threads)
            with Reminding([sender], every=1.0):
                _wait(lambda: line.done >= MANY)
                ended = time.time()  # noqa: TID251
                sender.settled(5)
            rows = job.store.rows_since(due - timedelta(days=1))
            kept = sum(str(row.state) == "sent" for row in rows)
    found = _row(f"curing, outbox on disk, {threads} threads", line, due.timestamp(), ended)
    return found | {"right": found["right"] and kept == MANY}


def by_date_jobs(name: str, **job_defaults: Any) -> dict[str, Any]:
    """Send by date jobs in memory, with the ten threads of the scheduler's defaults."""
    line = Line()
    scheduler = BackgroundScheduler(timezone=UTC, job_defaults=job_defaults)
    due = datetime.now(UTC).replace(microsecond=0) + timedelta(seconds=LEAD)  # noqa: TID251
    for n in range(MANY):
        scheduler.add_job(line.take, "date", run_date=due, args=(n,))
    scheduler.start()
    last = [0, time.monotonic()]

    def done() -> bool:
        if line.done != last[0] or not line.done:
            last[:] = [line.done, time.monotonic()]
        return line.done >= MANY or time.monotonic() - last[1] > SLOW + 3

    _wait(done)
    ended = time.time() - (0 if line.done >= MANY else SLOW + 3)  # noqa: TID251
    scheduler.shutdown(wait=False)
    return _row(name, line, due.timestamp(), ended)


def main() -> None:
    """Measure and print."""
    words = argparse.ArgumentParser()
    words.add_argument("--json", type=Path)
    told = words.parse_args()
    import logging

    logging.getLogger("apscheduler").setLevel(logging.CRITICAL)  # it warns of each job that it drops
    rows = [
        curing(THREADS),
        curing(10),
        by_date_jobs("date jobs, defaults, 10 threads"),
        by_date_jobs("date jobs, never too late, 10 threads", misfire_grace_time=None),
    ]
    print(f"{MANY} due at once; a message takes {QUICK * 1000:g} ms, one in {ONE_IN} takes {SLOW:g} s; lateness [s]")
    print(f"{'':<40}{'sent':>6}{'p50':>8}{'p95':>8}{'max':>8}{'whole':>8}")
    for row in rows:
        mark = "" if row["right"] else f"  of {MANY}"
        print(
            f"{row['name']:<40}{row['sent']:>6}{row['p50_s']:>8.2f}{row['p95_s']:>8.2f}{row['max_s']:>8.2f}"
            f"{row['whole_s']:>8.2f}{mark}"
        )
    if told.json:
        told.json.write_text(json.dumps(rows, indent=1))


if __name__ == "__main__":
    main()
