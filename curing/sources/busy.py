"""Hours that other jobs' plans have already given to people of this job.

Only the contract of a written plan is used: its version, its job, and who is
booked from when to when. A booking that is done or taken off its day takes no
time, nor does the part of a coat in which somebody is away on a round: the
round stands in the plan with its own hours.
"""

from __future__ import annotations

import json
import stat
from collections.abc import Iterable, Iterator, Set
from dataclasses import dataclass
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path
from typing import Any

from curing.errors import FileError, Place, Problem
from curing.model.job import BusySpan
from curing.model.plan import PLAN_FORMAT, State
from curing.model.quantities import clip

MOST_BYTES = 64_000_000
"""About four times the plan of 1,000 faces."""

_TAKES_NO_TIME = {State.OFF.value, State.DONE.value}


@dataclass(frozen=True)
class BusyPlan:
    """What another job's plan says of people: its job's uid and name, its digest, their hours."""

    job: str
    name: str
    digest: str
    spans: tuple[BusySpan, ...]


def read_busy_plan(path: Path, people: Set[str]) -> BusyPlan:
    """Read the hours that a ``plan.json`` has given to some people.

    Parameters
    ----------
    path
        Another job's written plan.
    people
        Ids of the people whose hours are wanted.

    Raises
    ------
    FileError
        The file is missing, unreadable, too large, no plan, or from a newer version.
    """
    raw = _bytes(path)
    plan = _plan(raw, path)
    name = plan["name"] if isinstance(plan.get("name"), str) else path.name
    spans: set[BusySpan] = set()
    for group in ("bookings", "rounds"):
        spans.update(_spans(plan, group, people, name, path))
    in_order = sorted(spans, key=lambda span: (span.start, span.end, span.person))
    return BusyPlan(str(plan["job"]), name, sha256(raw).hexdigest(), tuple(in_order))


def _fault(path: Path, text: str) -> FileError:
    return FileError(Problem(Place(str(path)), text))


def _bytes(path: Path) -> bytes:
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            raise _fault(path, "this is not an ordinary file; name the plan.json of the other job")
        with path.open("rb") as source:
            raw = source.read(MOST_BYTES + 1)
    except FileNotFoundError:
        what = "there is no such file; plan the other job first, or correct the path (it counts from this job file)"
        raise _fault(path, what) from None
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or "not a name a file can have"
        raise _fault(path, f"the file can't be read: {why.lower()}; check its name and its permissions") from None
    if len(raw) > MOST_BYTES:
        raise _fault(path, f"the file has more than {MOST_BYTES / 1e6:g} MB; no plan is as large; correct the path")
    return raw


def _plan(raw: bytes, path: Path) -> dict[str, Any]:
    no_plan = _fault(path, 'this is no written plan; name the plan.json that "curing plan --out" wrote')
    try:
        plan = json.loads(raw)
    except (ValueError, RecursionError):
        raise no_plan from None
    if not isinstance(plan, dict) or not isinstance(plan.get("job"), str):
        raise no_plan
    version = plan.get("format")
    if not isinstance(version, int) or isinstance(version, bool) or version < 1:
        raise no_plan
    if version > PLAN_FORMAT:
        newer = f"this plan has format {version}; at most {PLAN_FORMAT} can be read; install a newer curing"
        raise _fault(path, newer)
    return plan


def _spans(plan: dict[str, Any], group: str, people: Set[str], name: str, path: Path) -> Iterator[BusySpan]:
    bookings = plan.get(group, [])
    if not isinstance(bookings, list):
        raise _fault(path, f'"{group}" of this plan is no list; write the plan again')
    for number, booking in enumerate(bookings, 1):
        try:
            if booking["state"] in _TAKES_NO_TIME:
                continue
            whole = _seconds(booking["start"]), _seconds(booking["end"])
            away = [(a["person"], _seconds(a["start"]), _seconds(a["end"])) for a in booking.get("absent", ())]
            who = [person for person in booking["who"] if person in people]
        except (KeyError, TypeError, ValueError, AttributeError, OverflowError):
            at = f'number {number} of "{group}"'
            raise _fault(path, f"{at}: who, start, end or state can't be read; write the plan again") from None
        for person in who:
            holes = [(start, end) for absent, start, end in away if absent == person]
            for start, end in _less(whole, holes):
                yield BusySpan(person=person, start=start, end=end, job=name)


def _seconds(instant: Any) -> int:
    """Return ``{"utc": "2027-05-03T05:00:00Z", ...}`` in Unix seconds."""
    text = instant["utc"] if isinstance(instant, dict) else instant
    if not text.endswith("Z"):
        raise ValueError(clip(text))
    return int(datetime.fromisoformat(text).astimezone(UTC).timestamp())


def _less(whole: tuple[int, int], holes: Iterable[tuple[int, int]]) -> Iterator[tuple[int, int]]:
    """Yield what is left of a span without the holes."""
    at, end = whole
    for start, stop in sorted(holes):
        if at < min(start, end):
            yield at, min(start, end)
        at = max(at, stop)
    if at < end:
        yield at, end
