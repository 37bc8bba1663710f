"""``curing plan``: read the job, plan it beside its parent, save the revision, write it out."""

from __future__ import annotations

import importlib.metadata
import os
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from curing import clock
from curing.errors import FileError, OutputError, PlanError, Problem, UsageError
from curing.model.job import Job
from curing.model.plan import Notice, Plan
from curing.model.quantities import clip
from curing.model.times import FIRST_YEAR, LAST_YEAR
from curing.planning.check import check
from curing.planning.dispatch import Watch
from curing.planning.expand import identify
from curing.planning.least_change import missing_done
from curing.planning.worktime import zone_of
from curing.publish import plan_json
from curing.publish.calendar import feeds, large_feeds
from curing.publish.event_text import cautions
from curing.publish.revisions import mark
from curing.publish.words import Words
from curing.sources.jobfile import read_job
from curing.store import MissingState, Store, default_folder, open_state
from curing.workflow.drafting import draft
from curing.workflow.exporting import write_out

DATABASE_VARIABLE = "CURING_DATABASE_URL"

YEARS_BACK, YEARS_AHEAD = 2, 12
"""Holidays are worked out for so many years round the present one."""

EASTERNMOST = timedelta(hours=14)
"""Offset of the zone whose date is the latest."""


@dataclass(frozen=True)
class Planned:
    """What planning gave: the plan as it stands, and whether a revision was saved."""

    job: Job
    plan: Plan
    saved: bool
    state: Path
    notes: tuple[str, ...] = ()
    """What the store has to say (a folder that is copied to other machines)."""
    news: bool = True
    """Whether the plan says anything new; a trial has news that is not saved."""
    parent: Plan | None = None
    """The plan before, as it was saved."""


def plan_job(
    job_file: Path,
    *,
    out: Path | None = None,
    state: Path | None = None,
    as_of: str | None = None,
    today_too: bool = False,
    trial: bool = False,
    afresh: bool = False,
    watch: Watch | None = None,
) -> Planned:
    """Plan a job and keep the plan.

    Parameters
    ----------
    job_file
        The job file.
    out
        Folder for plan.json and calendars; None writes none.
    state
        State folder; None: beside the job file.
    as_of
        The present instant as a person writes it; None: the clock.
    today_too
        Whether what stands today and tomorrow may move.
    trial
        Save and write nothing.
    afresh
        Do not look at the plan before, except so that phones follow.
    watch
        Told how far planning has come.

    Raises
    ------
    FileError, PlanError, StateError, OutputError, UsageError
        Each says what is wrong and what to do; the state before stays whole.
    """
    job, now = read(job_file, as_of)
    words = Words(job.file.units)
    folder = state or default_folder(job_file)
    store = _open(folder, job, trial=trial)
    try:
        parent = latest_plan(store)
        plan, news = next_plan(job, parent, now, words, today_too=today_too, afresh=afresh, watch=watch)
        saved = False
        if news and not trial and store is not None:
            written = plan_json.dump(plan, words)
            _readable(written)
            number = store.save_revision(
                written, parent=parent.revision if parent else None, as_of=now, saved_at=clock.now()
            )
            assert number == plan.revision
            saved = True
        notes = store.warnings if store is not None else ()
    finally:
        if store is not None:
            store.close()
    if out is not None and not trial:
        made = feeds(plan, words, now)
        plan = replace(plan, warnings=(*plan.warnings, *large_feeds(made)))
        _write(
            out, saved, plan.revision, plan_json.text(plan_json.dump(stored(plan, parent, saved=saved), words)), made
        )
    return Planned(job, plan, saved, folder, tuple(notes), news, parent)


def _readable(written: Mapping[str, Any]) -> None:
    """Refuse to save what could not be read again: a state must never lock itself."""
    try:
        plan_json.load(written)
    except FileError as error:
        raise PlanError(
            [Problem(None, "the plan made is not sound, so it is not saved; please report this"), *error.problems]
        ) from None


def _write(out: Path, saved: bool, revision: int, text: str, made: Mapping[str, bytes]) -> None:
    try:
        write_out(out, text, made)
    except OutputError as error:
        if not saved:
            raise
        kept = f"the plan is saved as revision {revision}: plan again with --out to write it"
        raise OutputError([*error.problems, Problem(None, kept)]) from None


def stored(plan: Plan, parent: Plan | None, *, saved: bool) -> Plan:
    """Return the plan as it is kept: the parent itself where nothing but the time changed."""
    return plan if saved or parent is None or plan.revision != parent.revision else parent


def read(job_file: Path, as_of: str | None) -> tuple[Job, datetime]:
    """Return the job and the present instant, which is read in the time zone of its first site."""
    rough = clock.now() if as_of is None else _rough(as_of)
    years = range(rough.year - YEARS_BACK, rough.year + YEARS_AHEAD + 1)
    # The job's zone is not known before it is read: by the clock, today is the latest date anywhere on earth.
    today = rough.date() if rough.tzinfo is None else (rough.astimezone(UTC) + EASTERNMOST).date()
    job = read_job(job_file, years=years, today=today)
    return job, instant(as_of, job.file.sites[0].time_zone)


def instant(as_of: str | None, zone: str) -> datetime:
    """Return the present instant as a person writes it in a zone, or the clock's; UsageError for another form."""
    if as_of is None:
        return clock.now()
    rough = _rough(as_of)
    try:
        there = (rough if rough.tzinfo is not None else rough.replace(tzinfo=zone_of(zone))).astimezone(UTC)
    except (OverflowError, ValueError):
        raise _not_a_time(as_of) from None
    if not FIRST_YEAR <= there.year <= LAST_YEAR:
        raise _not_a_time(as_of)
    return there


def _rough(text: str) -> datetime:
    try:
        rough = datetime.fromisoformat(text.strip())
    except ValueError:
        rough = None
    if rough is None or not FIRST_YEAR <= rough.year <= LAST_YEAR:
        raise _not_a_time(text)
    return rough


def _not_a_time(text: str) -> UsageError:
    return UsageError(
        f'--as-of: "{clip(text)}" is not a time of {FIRST_YEAR} to {LAST_YEAR}; '
        'write "2027-05-03", "2027-05-03 06:40" or with a zone "2027-05-03T06:40+02:00"'
    )


def _open(folder: Path, job: Job, *, trial: bool) -> Store | None:
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


def next_plan(
    job: Job,
    parent: Plan | None,
    now: datetime,
    words: Words,
    *,
    today_too: bool = False,
    afresh: bool = False,
    watch: Watch | None = None,
) -> tuple[Plan, bool]:
    """Return the plan after its parent, and whether it says anything new.

    Where nothing but the time changed, it is the parent with today's warnings and questions.
    Pure but for the versions of packages.
    """
    lost = missing_done(parent, identify(job, parent)) if parent is not None else ()
    if lost:
        raise FileError(Problem(None, text) for text in lost)
    seen = None if afresh else parent
    made = draft(job, seen, now, versions(), today_too=today_too, watch=watch)
    if parent is not None:
        made = replace(made, revision=parent.revision + 1, parent=parent.revision)
    keys = dict.fromkeys(key for booking in made.everything() for key in booking.cautions)
    made = replace(made, warnings=(*_faults(job, made), *made.warnings), cautions=cautions(words, keys))
    if parent is not None and _same(made, parent):
        return replace(parent, warnings=made.warnings, questions=made.questions), False
    return mark(made, parent, words), True


def _faults(job: Job, plan: Plan) -> tuple[Notice, ...]:
    """Let the independent check judge the plan; what it finds heads every list."""
    return tuple(
        Notice(fault.rule, "check", {"where": fault.where, "text": fault.text}, urgent=True)
        for fault in check(job, plan)
    )


def _same(new: Plan, old: Plan) -> bool:
    """Tell whether two plans differ in nothing but the time, and what time alone brings."""

    def bare(plan: Plan) -> Plan:
        return replace(
            plan,
            as_of=datetime.min.replace(tzinfo=UTC),
            revision=0,
            parent=None,
            changes=(),
            warnings=(),
            questions=(),
            events={},
            gone={},
        )

    return bare(new) == bare(old)


def versions() -> dict[str, str]:
    """Return the versions that are inputs of a plan."""
    return {name: importlib.metadata.version(name) for name in ("curing", "tzdata", "holidays")}
