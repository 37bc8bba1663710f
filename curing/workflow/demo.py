"""An invented job to try out: a month of Alder Court, lived up to a Tuesday morning before the early round."""

from __future__ import annotations

import importlib.resources
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

from curing import clock
from curing.errors import OutputError, UsageError
from curing.model.quantities import clip
from curing.planning.worktime import zone_of
from curing.sources.reminder_settings import Reminders
from curing.workflow.exporting import write_file
from curing.workflow.opening import instant
from curing.workflow.planning import plan_job
from curing.workflow.written_log import log_file

FOLDER = "curing-demo"
MESSAGES = "messages.txt"
"""Where the demo's reminders go."""
ZONE = "Europe/Amsterdam"
"""Time zone of Alder Court."""
JOB, LOG = "alder-court-april.yaml", "alder-court-may.log"
BEGINS = datetime(2027, 5, 25, 4, 48, tzinfo=UTC)
"""06:48 in the local time of Alder Court, on the first day of the demo."""
MORNINGS = (
    "2027-04-30 06:00",
    "2027-05-06 06:00",
    "2027-05-07 06:00",
    "2027-05-08 06:00",
    "2027-05-15 06:00",
    "2027-05-19 06:00",
    "2027-05-24 06:00",
    "2027-05-25 06:00",
)
"""Moments at which the month was planned."""
_BEGAN = "began"


def demo_job(
    folder: Path, tell: Callable[[int, int], None] | None = None, at: str | None = None
) -> tuple[Path, timedelta]:
    """Return the job file of the demo in a folder, made there the first time, and how far its clock is ahead.

    Parameters
    ----------
    folder
        Where it lies; what was ticked there before is still there.
    tell
        Told how many of how many mornings are done.
    at
        Local time to which its clock is put on: ``2027-05-25 10:31``; None: it just goes on.

    Raises
    ------
    OutputError
        The folder can't be made, or holds something else.
    UsageError
        The time is none, or the demo's clock is past it.
    """
    job, began = folder / "alder-court.yaml", folder / _BEGAN
    if job.exists() and began.exists():
        return job, _put_on(began, at)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(f"{folder}: can't be made ({error.strerror}); go to a folder of your own") from None
    if any(folder.iterdir()):
        raise OutputError(
            f"{folder}: holds something that is no demo, or half of one; take the folder away, then try again"
        )
    examples = importlib.resources.files("curing.examples")
    written = examples.joinpath(JOB).read_text(encoding="utf-8")
    lines = [line for line in examples.joinpath(LOG).read_text(encoding="utf-8").splitlines() if line[:4] == "2027"]
    write_file(job, written.encode())
    part = folder / "part.log"
    for number, (before, morning) in enumerate(zip(("", *MORNINGS), MORNINGS, strict=False), start=1):
        happened = [line for line in lines if before <= line[:16] < morning]
        if happened:
            part.write_text("\n".join(happened) + "\n", encoding="utf-8")
            log_file(job, part, as_of=morning)
        plan_job(job, as_of=morning)
        if tell is not None:
            tell(number, len(MORNINGS))
    part.unlink(missing_ok=True)
    write_file(began, clock.now().isoformat().encode())  # last: without it, the demo was not made whole
    return job, _put_on(began, at)


def demo_reminders(folder: Path) -> Reminders:
    """Return the reminders of the demo: all of them go into one file of its folder."""
    return Reminders.model_validate({"channels": {"file": {"kind": "file", "path": str(folder.absolute() / MESSAGES)}}})


def _put_on(began: Path, at: str | None) -> timedelta:
    """Return how far the clock is ahead, after it was put on to a local time."""
    ahead, now = _ahead(began), clock.now()
    if at is None:
        return ahead
    wanted = instant(at, ZONE, "--at")
    if wanted < now + ahead:
        shown = (now + ahead).astimezone(zone_of(ZONE))
        raise UsageError(
            f'--at "{clip(at)}": the demo\'s clock is at {shown:%Y-%m-%d %H:%M} already, and a record is not lived '
            f"backwards; give a later time, or take the folder {began.parent} away"
        )
    write_file(began, (now - (wanted - BEGINS)).isoformat().encode())
    return wanted - now


def _ahead(began: Path) -> timedelta:
    try:
        return BEGINS - datetime.fromisoformat(began.read_text(encoding="utf-8").strip())
    except ValueError:
        raise OutputError(f"{began}: is no time; take the folder of the demo away, then try again") from None
