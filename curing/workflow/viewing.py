"""Looking at a job without changing it: its day, its changes, its faults, its coat systems."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any, Literal
from uuid import UUID

from curing.errors import CuringError, FileError, Place, Problem, StateError
from curing.model.evidence import NOTHING_SAID, Evidence
from curing.model.job import Job
from curing.model.plan import Plan
from curing.model.system import System
from curing.model.weather import Weather
from curing.planning.check import Fault, check
from curing.publish import plan_json
from curing.publish.words import Words
from curing.sources.jobfile import job_schema, system_schema
from curing.sources.systemfile import OWN_FOLDER, built_in_folder, find_systems, load_systems
from curing.sources.yaml_nodes import compose, read_text
from curing.store import MissingState, RevisionHeader, Store, default_folder, open_state
from curing.workflow.opening import DATABASE_VARIABLE, NOTHING, Said, facts, instant, latest_plan, read, read_said
from curing.workflow.planning import Planned, next_plan, stored
from curing.workflow.stations import FROM_WEATHER, in_season, read_stations, recent
from curing.workflow.weather_plan import CURE_BACK, PlanWeather, plan_weather


@dataclass(frozen=True)
class Viewed:
    """A plan as it stands, and what planning now would say of it."""

    plan: Plan
    """What people were told; a plan in memory where nothing is saved."""
    present: Plan
    """The same with today's warnings and questions."""
    now: datetime
    saved: bool
    edited: bool
    """The job file, a coat system or another job's plan has changed since."""
    recorded: bool
    """Something was recorded or decided since."""
    moves: int
    """How many things planning now would move."""
    trouble: CuringError | None
    """Why planning now is not possible."""
    evidence: Evidence = NOTHING_SAID
    """What was recorded and decided, also since the plan was saved."""


def view_job(job_file: Path, *, state: Path | None = None, as_of: str | None = None) -> Viewed:
    """Return the latest saved plan of a job, or one in memory where none is saved.

    What is saved can be looked at even while the job file has faults.

    Raises
    ------
    FileError, PlanError, StateError, UsageError
        Nothing is saved and the job can't be planned, or the state can't be read.
    """
    instant(as_of, "UTC")  # a wrong time is told before anything is read
    told, said = _saved(job_file, state)
    try:
        job, now = read(job_file, as_of)
        stations = read_stations(job, job_file.parent)
        job = in_season(job, stations, now)
        sky = _weather(job_file, state, job, now, stations)
        present, news = next_plan(job, told, now, Words(job.file.units), said, weather=sky)
        _, evidence = facts(job, told, said)
    except CuringError as error:
        if told is None:
            raise
        now = instant(as_of, told.sites[0].zone)
        return Viewed(told, told, now, True, True, False, 0, error)
    if told is None:
        return Viewed(present, present, now, False, False, False, 0, None, evidence)
    changed = told.inputs.items() ^ present.inputs.items()
    differ = {name for name, _ in changed if not name.startswith(FROM_WEATHER)}
    edited, recorded = bool(differ - FROM_STATE), bool(differ & FROM_STATE)
    return Viewed(told, present, now, True, edited, recorded, len(present.changes) if news else 0, None, evidence)


FROM_STATE = {"record", "decisions"}
"""Inputs of a plan that lie in the state."""


def _saved(job_file: Path, state: Path | None) -> tuple[Plan | None, Said]:
    try:
        with _open(job_file, state) as store:
            return latest_plan(store), read_said(store)
    except MissingState:
        return None, NOTHING


def _weather(
    job_file: Path, state: Path | None, job: Job, now: datetime, stations: Mapping[str, Weather]
) -> PlanWeather:
    """Return the weather that planning now would see."""
    here = recent(stations, now, CURE_BACK)
    try:
        with _open(job_file, state) as store:
            return plan_weather(store, job, now, here)
    except MissingState:
        return plan_weather(None, job, now, here)


def _open(job_file: Path, state: Path | None) -> Store:
    url = os.environ.get(DATABASE_VARIABLE) or None
    uid = job_uid(job_file)  # first: "." or "/" is no file and has no name to call a folder after
    return open_state(state or default_folder(job_file), uid, create=False, read_only=True, database_url=url)


def job_uid(job_file: Path) -> str:
    """Return the uid of a job file, whatever else is wrong with it.

    Raises
    ------
    FileError
        It can't be read, or has no uid.
    """
    document = compose(read_text(job_file), str(job_file))
    written = document.data.get("uid")
    try:
        return str(UUID(written))
    except (ValueError, TypeError, AttributeError):
        text = "uid: no uid tells this job from every other; plan it first, which tells all that is wrong"
        raise FileError(Problem(document.place(("uid",)) if written else Place(str(job_file)), text)) from None


@dataclass(frozen=True)
class Revisions:
    """A revision, its parent, and all revisions there are."""

    plan: Plan
    header: RevisionHeader
    headers: tuple[tuple[RevisionHeader, int], ...] = ()
    """All revisions with the number of their changes; only where asked for."""
    numbers: Mapping[str, str] = field(default_factory=dict)
    """Key of an entry or a decision → its number in the record, as ``curing record`` tells it."""


def view_changes(
    job_file: Path, *, state: Path | None = None, revision: int | None = None, every: bool = False
) -> Revisions:
    """Return a revision of a job with its changes; the newest where ``revision`` is None.

    Raises
    ------
    FileError, StateError
        Nothing is saved, or there is no such revision.
    """
    with _open(job_file, state) as store:
        saved = store.latest() if revision is None else store.revision(revision)
        if saved is None:
            raise StateError(f"{store.database}: state: no plan is saved here yet; plan first")
        plan = plan_json.load(saved.plan, f"revision {saved.number}")
        headers = store.revisions() if every else []
        numbers = {one.key: f"#{one.seq}" for one in store.records()}
        numbers |= {one.key: f"d{one.seq}" for one in store.decisions()}
        counted = tuple((one, len(store.revision(one.number).plan.get("changes", ()))) for one in headers)
    return Revisions(plan, saved, counted, numbers)


@dataclass(frozen=True)
class Judged:
    """A job without faults, and what the check says of its saved plan."""

    job: Job
    plan: Plan | None
    faults: tuple[Fault, ...]
    edited: bool


def judge_job(job_file: Path, *, state: Path | None = None, as_of: str | None = None) -> Judged:
    """Read a job with all it names, and let the check judge its saved plan, if there is one.

    Raises
    ------
    FileError
        All problems of the job file and its coat systems.
    StateError
        The state can't be read.
    """
    job, now = read(job_file, as_of)
    job = in_season(job, read_stations(job, job_file.parent), now)
    plan, said = _saved(job_file, state)
    if plan is None:
        return Judged(job, None, (), False)
    told, evidence = facts(job, plan, said)
    kept = [coat for coat, one in evidence.decided.items() if one.kind == "keep"]
    inputs = {**job.digests, **evidence.digests}
    changed = plan.inputs.items() ^ inputs.items()
    edited = any(not name.startswith(FROM_WEATHER) for name, _ in changed)
    return Judged(job, plan, tuple(check(told, plan, kept)), edited)


@dataclass(frozen=True)
class Systems:
    """Coat systems at hand, by id; ``own`` are not those that come with the program."""

    systems: dict[str, System]
    own: dict[str, Path]
    problems: tuple[Problem, ...]


def view_systems(folder: Path, system: str | None = None) -> Systems:
    """Return the coat systems that a job file in a folder could name, or one of them.

    Raises
    ------
    FileError
        The one asked for is not there, or has faults.
    """
    own_folder = folder / OWN_FOLDER
    at_hand = find_systems([own_folder])
    if system is not None:
        found, _ = load_systems([system], [own_folder])
        return Systems(found, {}, ())
    systems: dict[str, System] = {}
    problems: list[Problem] = []
    for name in sorted(at_hand):
        try:
            systems |= load_systems([name], [own_folder])[0]
        except FileError as error:
            problems += error.problems
    built_in = built_in_folder()
    own = {name: paths[0] for name, paths in at_hand.items() if paths[0].parent != built_in}
    return Systems(systems, own, tuple(problems))


def words_of(plan: Plan) -> Words:
    """Return the catalogue in the units of a plan's readers."""
    return Words("us" if plan.units == "us" else "metric")


def schema(of: Literal["job", "system", "plan"]) -> dict[str, Any]:
    """Return the JSON Schema of a job file, a coat system, or a written plan."""
    return {"job": job_schema, "system": system_schema, "plan": plan_json.plan_schema}[of]()


def written_plan(planned: Planned) -> str:
    """Return ``plan.json`` of what was planned, as ``--out`` writes it."""
    plan = stored(planned.plan, planned.parent, saved=planned.saved)
    return plan_json.text(plan_json.dump(plan, Words(planned.job.file.units)))
