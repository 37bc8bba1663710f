"""From a job and its parent plan to the next plan, in one line of passes. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime

from curing.model.evidence import NOTHING_SAID, Evidence
from curing.model.job import Job
from curing.model.plan import Booking, HoldState, PersonPlan, Plan, SitePlan, State
from curing.planning.changes import changes
from curing.planning.cure_standing import with_cures
from curing.planning.dispatch import Dispatcher, Watch
from curing.planning.expand import CoatWork, FaceWork, expand, identify
from curing.planning.inspections import frost_questions, wanted
from curing.planning.least_change import past
from curing.planning.materials import materials
from curing.planning.notices import laid_against, questions, warnings
from curing.planning.readiness import Laid, hold_state
from curing.planning.said_of_rounds import ticked, visit_notices
from curing.planning.summary import by_start, face_plan, holds, merged, scaffolds
from curing.planning.supplies import supplies
from curing.planning.tasks import Tasks, present
from curing.planning.weather_notices import foreseen, taken_off
from curing.planning.weather_shelters import could_be_laid, with_shelters
from curing.planning.weather_sky import Sky
from curing.planning.weather_tasks import WeatherTasks
from curing.planning.windows import SiteSun
from curing.planning.winter import winter_tasks
from curing.planning.worktime import Worktime, local, zone_of


def draft(
    job: Job,
    parent: Plan | None,
    as_of: datetime,
    versions: Mapping[str, str],
    evidence: Evidence = NOTHING_SAID,
    *,
    today_too: bool = False,
    watch: Watch | None = None,
    sky: Sky | None = None,
) -> Plan:
    """Return the plan of a job at an instant: same input, same plan.

    Parameters
    ----------
    job
        The job with its coat systems, as file and record say it together.
    parent
        The plan people were told, disturbed least; None starts afresh.
    as_of
        The present instant, aware.
    versions
        Of curing, tzdata and holidays: they are inputs too.
    evidence
        What was recorded and decided.
    today_too
        Whether what stands today and tomorrow may move.
    watch
        Told how far planning has come.
    sky
        The last two forecasts at each face; None: nothing is moved by weather.

    Raises
    ------
    PlanError
        Some coat fits on no day; it names the coat and the rule that bind.

    Notes
    -----
    ``changes``, ``events`` and ``gone`` are filled by :func:`curing.workflow.planning.plan`.
    """
    worktime = Worktime(job)
    identity = identify(job, parent)
    works = with_cures(expand(job, identity, parent), worktime, sky, parent, evidence, as_of)
    suns = {site.id: SiteSun(site) for site in job.file.sites}
    now = present(worktime, job, as_of)
    today = {site: day for site, (day, _) in now.items()}

    def unmet(work: FaceWork, coat: CoatWork, day: date) -> str:
        shut = (HoldState.UNMET, HoldState.REFUSED)
        done = [Laid(one, one.done.date(), True, False) for one in work.coats[: coat.index] if one.done]
        return next((h.id for h in coat.holds if hold_state(h, coat, day, day, done) in shut), "")

    before = past(parent, job, works, identity, worktime, as_of, unmet, evidence, today_too=today_too, sky=sky)
    run = Dispatcher(
        job, works, identity, worktime, suns, before, as_of, evidence, has_parent=parent is not None, sky=sky
    )
    made = run.run(watch)
    coats = {booking.id: booking for booking in made.coats}
    laid = {face: standing.laid for face, standing in run.faces.items()}

    done = {one.id: one.end for one in made.coats if one.state is State.DONE}
    told = (one for one in before.history if one.visits and _still_true(one, laid))
    rounds = by_start(ticked(one, evidence) for one in (*made.rounds, *told))
    missed, asked_visits = visit_notices(rounds, evidence, done, as_of)
    asked_visits += frost_questions(works, worktime)
    known = sky.past.keys() if sky is not None else frozenset[str]()
    over = wanted(asked_visits, known, {one.id for one in before.told})

    tasks = Tasks(job, worktime, identity, before, made.boards, suns, today, laid, now)
    small = [*winter_tasks(tasks, works, coats), *tasks.readings(works, coats), *tasks.covers(works)]
    protection = WeatherTasks(tasks, sky, as_of).protection(works, coats, small)
    small += [*protection.bookings, *tasks.inspections(works, over)]
    again = {one.id for one in (*made.looks, *small)}
    history = [one for one in before.history if one.id not in again and _still_true(one, laid)]
    laying = with_shelters(made.coats, works, sky, before.kept, protection)
    bookings = by_start([*laying, *made.looks, *small, *(b for b in history if not b.visits)])
    faces = tuple(face_plan(job, work, laid[work.id], coats, today[work.site], run.gate) for work in works)
    first = min(today.values())
    noticed = warnings(job, works, laid, faces, (*bookings, *rounds), suns, first)
    watched, proposed = foreseen(sky, works, made.coats, before.decided, worktime)
    listed = (*noticed, *protection.warnings, *laid_against(works, evidence), *missed, *watched)
    listed += tuple(could_be_laid(sky, works, coats, as_of))
    return Plan(
        job=job.file.uid,
        name=job.file.name,
        units=job.file.units,
        revision=1 if parent is None else parent.revision + 1,
        parent=None if parent is None else parent.revision,
        as_of=as_of,
        inputs={**job.digests, **evidence.digests},
        versions=dict(versions),
        sites=tuple(SitePlan(s.id, s.name, s.time_zone, s.latitude, s.longitude) for s in job.file.sites),
        people=tuple(
            PersonPlan(
                person.id,
                identity.people[person.id],
                person.name,
                tuple(role.value for role in person.roles),
                crew.id if (crew := worktime.crew_of(person.id)) else "",
            )
            for person in job.file.people
        ),
        faces=faces,
        bookings=bookings,
        rounds=rounds,
        holds=merged(
            hold for work in works for hold in holds(work, laid[work.id], coats, today[work.site], identity, evidence)
        ),
        scaffolds=scaffolds(works, laid),
        materials=materials(works, laid, suns),
        supplies=supplies(works, laid, coats, suns, worktime, job.file.at_hand),
        warnings=tuple(sorted(listed, key=lambda one: not one.urgent)),
        questions=(
            *taken_off(made.coats),
            *proposed,
            *questions(works, before, today, evidence, has_parent=parent is not None),
            *asked_visits,
        ),
        changes=changes(parent, (*bookings, *rounds), works, before, made.broke, evidence, as_of, protection.why),
    )


def _still_true(booking: Booking, laid: Mapping[str, list[Laid]]) -> bool:
    """Tell whether something of the past still belongs to coats that were done by then."""
    if not booking.visits:
        return True
    day, _ = local(zone_of(booking.zone), booking.start)
    done = {one.coat.id for coats in laid.values() for one in coats if one.done and one.day < day}
    return any(f"{one.face}.{one.coat}" in done for one in booking.visits)
