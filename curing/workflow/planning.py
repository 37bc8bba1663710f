"""``curing plan``: read the job, plan it beside its parent, save the revision, write it out."""

from __future__ import annotations

import importlib.metadata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from curing import clock
from curing.errors import FileError, OutputError, PlanError, Problem
from curing.model.job import Job
from curing.model.plan import Notice, Plan
from curing.planning.check import check
from curing.planning.dispatch import Watch
from curing.planning.supplies import ahead_of_need
from curing.planning.weather_sky import sky_over
from curing.planning.worktime import local, zone_of
from curing.publish import plan_json
from curing.publish.calendar import feeds, large_feeds
from curing.publish.event_text import cautions
from curing.publish.revisions import mark
from curing.publish.words import Words
from curing.store import default_folder
from curing.workflow.drafting import draft
from curing.workflow.exporting import write_out
from curing.workflow.opening import NOTHING, Said, facts, latest_plan, open_job_state, read, read_said
from curing.workflow.stations import FROM_WEATHER, in_season, read_stations, recent
from curing.workflow.weather_plan import CURE_BACK, NO_WEATHER, PlanWeather, plan_weather


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
    stations = read_stations(job, job_file.parent)
    job = in_season(job, stations, now)
    words = Words(job.file.units)
    folder = state or default_folder(job_file)
    store = open_job_state(folder, job, trial=trial)
    try:
        parent, said = latest_plan(store), read_said(store)
        sky = plan_weather(store, job, now, recent(stations, now, CURE_BACK))
        plan, news = next_plan(
            job, parent, now, words, said, today_too=today_too, afresh=afresh, watch=watch, weather=sky
        )
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


def next_plan(
    job: Job,
    parent: Plan | None,
    now: datetime,
    words: Words,
    said: Said = NOTHING,
    *,
    today_too: bool = False,
    afresh: bool = False,
    watch: Watch | None = None,
    weather: PlanWeather = NO_WEATHER,
) -> tuple[Plan, bool]:
    """Return the plan after its parent, and whether it says anything new.

    Where nothing but the time changed, it is the parent with today's warnings and questions, and how far cures are.
    Pure but for the versions of packages.
    """
    job, evidence = facts(job, parent, said)
    seen = None if afresh else parent
    sky = sky_over(job, weather.runs, now, weather.past)
    made = draft(job, seen, now, versions(), evidence, today_too=today_too, watch=watch, sky=sky)
    made = replace(made, inputs={**made.inputs, **weather.digests})
    if parent is not None:
        made = replace(made, revision=parent.revision + 1, parent=parent.revision)
    keys = dict.fromkeys(key for booking in made.everything() for key in booking.cautions)
    faults = _faults(job, made, kept=[coat for coat, one in evidence.decided.items() if one.kind == "keep"])
    today = local(zone_of(made.sites[0].zone), now)[0]
    warned = (*faults, *made.warnings, *ahead_of_need(made, today))
    made = replace(made, warnings=warned, cautions=cautions(words, keys))
    if parent is not None and _same(made, parent):
        return replace(parent, warnings=made.warnings, questions=made.questions, faces=made.faces), False
    return mark(made, parent, words), True


def _faults(job: Job, plan: Plan, kept: Iterable[str]) -> tuple[Notice, ...]:
    """Let the independent check judge the plan; what it finds heads every list."""
    return tuple(
        Notice(fault.rule, "check", {"where": fault.where, "text": fault.text}, urgent=True)
        for fault in check(job, plan, kept)
    )


def _same(new: Plan, old: Plan) -> bool:
    """Tell whether two plans differ in nothing but the time, and what time alone brings.

    The hours of a cure grow as it is looked at; what they decide are the days of tending, which stand beside them.
    """

    def bare(plan: Plan) -> Plan:
        return replace(
            plan,
            as_of=datetime.min.replace(tzinfo=UTC),
            inputs={name: digest for name, digest in plan.inputs.items() if not name.startswith(FROM_WEATHER)},
            faces=tuple(
                replace(face, coats=tuple(replace(coat, cure=None) for coat in face.coats)) for face in plan.faces
            ),
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
