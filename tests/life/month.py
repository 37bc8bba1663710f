"""The month of examples/alder-court-may.log, replayed: planned on some mornings, what happened between them logged."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date, datetime
from functools import cache
from pathlib import Path
from unittest.mock import patch

from curing.model.decisions import Decision
from curing.model.evidence import Evidence
from curing.model.job import Job
from curing.model.plan import Booking, Plan
from curing.model.record import RecordEntry
from curing.store import default_folder, open_state
from curing.workflow.opening import facts, instant, latest_plan, read, read_said
from curing.workflow.planning import plan_job
from curing.workflow.recording import Logged
from curing.workflow.written_log import log_file

EXAMPLES = Path(__file__).parents[2] / "examples"
LOG = EXAMPLES / "alder-court-may.log"
FIRST, END = "2027-04-30 06:00", "2027-05-31 21:30"
MORNINGS = (
    FIRST,
    "2027-05-06 06:00",
    "2027-05-07 06:00",
    "2027-05-08 06:00",
    "2027-05-15 06:00",
    "2027-05-19 06:00",
    "2027-05-24 06:00",
    "2027-05-25 06:00",
    END,
)
"""Moments at which the month is planned."""


@cache
def _job(job_file: Path) -> Job:
    return read(job_file, END)[0]


@contextmanager
def _read_once() -> Iterator[None]:
    """Read the job file, which stands still all month, once and not at every step: half the time goes into that."""

    def kept(job_file: Path, as_of: str | None) -> tuple[Job, datetime]:
        job = _job(job_file)
        return job, instant(as_of, job.file.sites[0].time_zone)

    with patch("curing.workflow.planning.read", kept), patch("curing.workflow.written_log.read", kept):
        yield


@dataclass
class Month:
    """The job in a folder of its own, with every plan that was made of it."""

    folder: Path
    plans: dict[str, Plan] = field(default_factory=dict)

    @property
    def job(self) -> Path:
        return self.folder / "may.yaml"

    def begin(self) -> None:
        self.job.write_text((EXAMPLES / "alder-court-april.yaml").read_text())

    def plan(self, at: str) -> Plan:
        with _read_once():
            plan = plan_job(self.job, as_of=at, out=self.folder / "out" if at == END else None).plan
        self.plans[at] = plan
        return plan

    def replay(self, *, until: str = END) -> None:
        """Plan at every moment to the last one, and log in between what happened until then."""
        self.begin()
        lines = [line for line in LOG.read_text().splitlines() if line[:4] == "2027"]
        for before, at in zip(("", *MORNINGS), MORNINGS, strict=False):
            if at > until:
                break
            part = self.folder / "part.log"
            part.write_text("\n".join(line for line in lines if before <= line[:16] < at) + "\n")
            with _read_once():
                log_file(self.job, part, as_of=at)
            self.plan(at)

    def read_whole(self) -> Logged:
        with _read_once():
            return log_file(self.job, LOG, as_of=END)

    def read_head(self, lines: int) -> Logged:
        """Read the first lines of the log by themselves."""
        head = self.folder / "head.log"
        head.write_text("\n".join(LOG.read_text().splitlines()[:lines]) + "\n")
        with _read_once():
            return log_file(self.job, head, as_of=END)

    def known(self) -> tuple[list[RecordEntry], list[Decision], Evidence]:
        """Return the record, the decisions and the facts they come to."""
        with open_state(default_folder(self.job), _job(self.job).file.uid) as store:
            said = read_said(store)
            _, evidence = facts(_job(self.job), latest_plan(store), said)
        return list(said.record), list(said.decisions), evidence

    def written(self) -> bytes:
        return (self.folder / "out" / "plan.json").read_bytes()


def laying(plan: Plan) -> list[Booking]:
    """Return the coats of a plan."""
    coats = {one.booking for face in plan.faces for one in face.coats}
    return [one for one in plan.bookings if one.id in coats]


def by_hand(text: str) -> date:
    """Read ``18 May`` of 2027."""
    number, month = text.split()
    return date(2027, {"May": 5, "Jun": 6, "Jul": 7}[month], int(number))
