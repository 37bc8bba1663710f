"""``curing record``: look at what was recorded and decided; nothing is changed."""

from __future__ import annotations

import os
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from curing.errors import UsageError
from curing.model.job import Job, Side
from curing.model.plan import Plan
from curing.model.quantities import clip
from curing.model.record import RecordEntry
from curing.planning.effective import Standing, effective
from curing.planning.expand import Identity, identify
from curing.planning.roots import Roots, roots_of
from curing.publish.record_parts import JobRecord
from curing.publish.record_text import Called
from curing.store import default_folder, open_state
from curing.workflow.called import called_of
from curing.workflow.opening import DATABASE_VARIABLE, Said, latest_plan, read, read_said

MOST_NAMED = 8
"""Faces named where one is not there."""


@dataclass(frozen=True)
class Seen:
    """A job with everything recorded and decided, and the plan people were told."""

    job: Job
    now: datetime
    told: Plan | None
    said: Said
    identity: Identity
    roots: Roots
    standing: Standing
    called: Called


def see_record(job_file: Path, *, state: Path | None = None, as_of: str | None = None) -> Seen:
    """Read a job and its record.

    Raises
    ------
    FileError, StateError, UsageError
        The job file has faults, nothing is saved, or an entry can't be read.
    """
    job, now = read(job_file, as_of)
    url = os.environ.get(DATABASE_VARIABLE) or None
    folder = state or default_folder(job_file)
    with open_state(folder, job.file.uid, create=False, read_only=True, database_url=url) as store:
        told, recorded = latest_plan(store), read_said(store)
    return seen_of(job, now, told, recorded)


def seen_of(job: Job, now: datetime, told: Plan | None, recorded: Said) -> Seen:
    """Return a job that is open already, as :func:`see_record` gives it."""
    identity = identify(job, told)
    roots = roots_of(job, identity)
    called = called_of(job, roots, recorded.record)
    return Seen(job, now, told, recorded, identity, roots, effective(recorded.record), called)


def job_record(seen: Seen) -> JobRecord:
    """Return everything recorded and decided about a job, in the order in which it happened."""
    return JobRecord(
        job=seen.job.file.name,
        uid=seen.job.file.uid,
        now=seen.now,
        entries=in_order(seen.said.record),
        decisions=tuple(sorted(seen.said.decisions, key=lambda one: (one.at, one.seq))),
        corrected_by={entry.key: by for entry, by in seen.standing.corrected},
        called=seen.called,
    )


def in_order(entries: Iterable[RecordEntry]) -> tuple[RecordEntry, ...]:
    """Return entries by the time at which things happened, then by number."""
    return tuple(sorted(entries, key=lambda one: (one.at, one.seq)))


def find_face(seen: Seen, face: str) -> str:
    """Return the id of a side of a wall as a person names it.

    Raises
    ------
    UsageError
        No such side, or nothing was ever to be said of it; the message names what is there.
    """
    name = face.strip().replace(" ", "-").replace(".", "-")
    wall, _, side = name.rpartition("-")
    walls = [one.id for one in seen.job.file.walls]
    coated = [face_id for face_id, _, _ in seen.job.faces()]
    sides = [one.value for one in Side]
    if side in sides and wall in walls:
        root = seen.roots.face_root(name)
        if name in coated or any(one.face == root for one in seen.said.record):
            return name
        there = [one for one in coated if one.rpartition("-")[0] == wall]
        raise UsageError(f'face "{name}": that side has no coats, and nothing is recorded of it; ask for {_or(there)}')
    if name in walls:
        raise UsageError(f'face "{name}": a wall has two sides; ask for "{name}-out" or "{name}-in"')
    now = seen.roots.face_now(name) if side in sides else None
    if now is not None:
        raise UsageError(f'face "{name}": is called "{now}" now; ask for that')
    more = f" and {len(coated) - MOST_NAMED} more" if len(coated) > MOST_NAMED else ""
    raise UsageError(f'face "{clip(face)}": not of this job; its faces are {", ".join(coated[:MOST_NAMED])}{more}')


def _or(names: Sequence[str]) -> str:
    return " or ".join(f'"{one}"' for one in names)
