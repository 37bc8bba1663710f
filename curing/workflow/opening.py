"""Opening a job: its file, the present instant, and what its state keeps. Light: it imports no planner."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

from curing import clock
from curing.errors import FileError, Place, Problem, StateError, UsageError
from curing.model.decisions import Decision
from curing.model.evidence import Evidence
from curing.model.job import Job
from curing.model.plan import Plan
from curing.model.quantities import clip
from curing.model.record import RecordEntry
from curing.model.record_data import Correction, said
from curing.model.times import FIRST_YEAR, LAST_YEAR
from curing.planning.effective import effective
from curing.planning.evidence import digests, gather
from curing.planning.expand import identify
from curing.planning.missing import missing_coats, missing_done, missing_recorded
from curing.planning.recorded_job import with_record
from curing.planning.roots import roots_of
from curing.planning.worktime import zone_of
from curing.publish import plan_json
from curing.sources.jobfile import read_job
from curing.store import MissingState, Store, open_state

DATABASE_VARIABLE = "CURING_DATABASE_URL"

YEARS_BACK, YEARS_AHEAD = 2, 12
"""Holidays are worked out for so many years round the present one."""

EASTERNMOST = timedelta(hours=14)
"""Offset of the zone whose date is the latest."""


def read(job_file: Path, as_of: str | None) -> tuple[Job, datetime]:
    """Return the job and the present instant, which is read in the time zone of its first site."""
    rough = clock.now() if as_of is None else _rough(as_of)
    years = range(rough.year - YEARS_BACK, rough.year + YEARS_AHEAD + 1)
    # The job's zone is not known before it is read: by the clock, today is the latest date anywhere on earth.
    today = rough.date() if rough.tzinfo is None else (rough.astimezone(UTC) + EASTERNMOST).date()
    job = read_job(job_file, years=years, today=today)
    return job, instant(as_of, job.file.sites[0].time_zone)


def instant(as_of: str | None, zone: str, option: str = "--as-of") -> datetime:
    """Return the present instant as a person writes it in a zone, or the clock's; UsageError for another form."""
    if as_of is None:
        return clock.now()
    rough = _rough(as_of, option)
    try:
        there = (rough if rough.tzinfo is not None else rough.replace(tzinfo=zone_of(zone))).astimezone(UTC)
    except (OverflowError, ValueError):
        raise _not_a_time(as_of, option) from None
    if not FIRST_YEAR <= there.year <= LAST_YEAR:
        raise _not_a_time(as_of, option)
    return there


def _rough(text: str, option: str = "--as-of") -> datetime:
    try:
        rough = datetime.fromisoformat(text.strip())
    except ValueError:
        rough = None
    if rough is None or not FIRST_YEAR <= rough.year <= LAST_YEAR:
        raise _not_a_time(text, option)
    return rough


def _not_a_time(text: str, option: str) -> UsageError:
    return UsageError(
        f'{option}: "{clip(text)}" is not a time of {FIRST_YEAR} to {LAST_YEAR}; '
        'write "2027-05-03", "2027-05-03 06:40" or with a zone "2027-05-03T06:40+02:00"'
    )


def open_job_state(folder: Path, job: Job, *, trial: bool) -> Store | None:
    """Open the state; a trial needs none and makes none."""
    url = os.environ.get(DATABASE_VARIABLE) or None
    if not trial:
        return open_state(folder, job.file.uid, database_url=url)
    try:
        return open_state(folder, job.file.uid, create=False, read_only=True, database_url=url)
    except MissingState:
        return None


def latest_plan(store: Store | None) -> Plan | None:
    """Return the newest revision of a state, or None."""
    saved = store.latest() if store is not None else None
    return plan_json.load(saved.plan, f"revision {saved.number}") if saved is not None else None


@dataclass(frozen=True)
class Said:
    """Everything recorded and decided, as it came in."""

    record: Sequence[RecordEntry] = ()
    decisions: Sequence[Decision] = ()


NOTHING = Said()


def read_said(store: Store | None) -> Said:
    """Return the record and the decisions of a state.

    Raises
    ------
    StateError
        An entry is in no form that this curing knows; names it.
    """
    if store is None:
        return NOTHING
    record = store.records()
    for entry in record:
        try:
            data = said(entry)
            if isinstance(data, Correction) and data.instead is not None:
                new = data.instead
                said(RecordEntry(entry.key, new.at, entry.received, entry.by, new.kind, new.face, dict(new.data)))
        except ValueError as error:
            text = f"entry {entry.seq}: {error}; every entry is read or none; install the newer curing that wrote it"
            raise StateError(Problem(Place(str(store.database)), f"record: {text}")) from None
    decisions = store.decisions()
    for decision in decisions:
        if fault := decision.fault():
            text = f"number {decision.seq}: {fault}; every decision is read or none; put back a backup"
            raise StateError(Problem(Place(str(store.database)), f"decision: {text}"))
    return Said(record, decisions)


def facts(job: Job, parent: Plan | None, said: Said, *, digested: bool = True) -> tuple[Job, Evidence]:
    """Return the job as file and record say it together, and what the record comes to.

    Parameters
    ----------
    digested
        Whether the evidence has the digests of record and decisions, which a plan needs and a page does not.

    Raises
    ------
    FileError
        A face or wall with done or recorded work is not in the job file any more.
    """
    identity = identify(job, parent)
    lost = missing_done(parent, identity) or missing_recorded(said.record, identity)
    lost = lost or missing_coats(parent, effective(said.record).entries, job, identity)
    if lost:
        raise FileError(Problem(None, text) for text in lost)
    evidence = gather(job, roots_of(job, identity), said.record, said.decisions)
    if digested:
        evidence = replace(evidence, digests=digests(said.record, said.decisions))
    return with_record(job, evidence), evidence
