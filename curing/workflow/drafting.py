"""From a job and its parent plan to the next plan, in one line of passes. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime

from curing.model.job import Job
from curing.model.plan import Booking, HoldState, PersonPlan, Plan, SitePlan
from curing.planning.changes import changes
from curing.planning.dispatch import Dispatcher, Watch
from curing.planning.expand import CoatWork, FaceWork, expand, identify
from curing.planning.least_change import past
from curing.planning.notices import questions, warnings
from curing.planning.readiness import Laid, hold_state
from curing.planning.summary import by_start, face_plan, holds, materials, merged, scaffolds
from curing.planning.tasks import Tasks, present
from curing.planning.windows import SiteSun
from curing.planning.worktime import Worktime


def draft(
    job: Job,
    parent: Plan | None,
    as_of: datetime,
    versions: Mapping[str, str],
    *,
    today_too: bool = False,
    watch: Watch | None = None,
) -> Plan:
    """Return the plan of a job at an instant: same input, same plan.

    Parameters
    ----------
    job
        The job with its coat systems.
    parent
        The plan people were told, disturbed least; None starts afresh.
    as_of
        The present instant, aware.
    versions
        Of curing, tzdata and holidays: they are inputs too.
    today_too
        Whether what stands today and tomorrow may move.
    watch
        Told how far planning has come.

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
    works = expand(job, identity, parent)
    suns = {site.id: SiteSun(site) for site in job.file.sites}
    now = present(worktime, job, as_of)
    today = {site: day for site, (day, _) in now.items()}

    def unmet(work: FaceWork, coat: CoatWork, day: date) -> str:
        shut = (HoldState.UNMET, HoldState.REFUSED)
        done = [Laid(one, one.done.date(), True, False) for one in work.coats[: coat.index] if one.done]
        return next((h.id for h in coat.holds if hold_state(h, coat, day, day, done) in shut), "")

    before = past(parent, job, works, identity, worktime, as_of, unmet, today_too=today_too)
    run = Dispatcher(job, works, identity, worktime, suns, before, as_of, has_parent=parent is not None)
    made = run.run(watch)
    coats = {booking.id: booking for booking in made.coats}
    laid = {face: standing.laid for face, standing in run.faces.items()}

    tasks = Tasks(job, worktime, identity, before, made.boards, suns, today, laid, now)
    small = [*tasks.readings(works, coats), *tasks.covers(works)]
    again = {one.id for one in (*made.looks, *small)}
    history = [one for one in before.history if one.id not in again and _still_true(one, laid)]
    bookings = by_start([*made.coats, *made.looks, *small, *(b for b in history if not b.visits)])
    rounds = by_start([*made.rounds, *(b for b in history if b.visits)])
    faces = tuple(face_plan(job, work, laid[work.id], coats, today[work.site], run.gate) for work in works)
    first = min(today.values())
    return Plan(
        job=job.file.uid,
        name=job.file.name,
        units=job.file.units,
        revision=1 if parent is None else parent.revision + 1,
        parent=None if parent is None else parent.revision,
        as_of=as_of,
        inputs=dict(job.digests),
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
        holds=merged(hold for work in works for hold in holds(work, laid[work.id], coats, today[work.site], identity)),
        scaffolds=scaffolds(works, laid),
        materials=materials(works),
        warnings=warnings(job, works, laid, faces, (*bookings, *rounds), suns, first),
        questions=questions(works, before, today, has_parent=parent is not None),
        changes=changes(parent, (*bookings, *rounds), works, before, made.broke, as_of),
    )


def _still_true(booking: Booking, laid: Mapping[str, list[Laid]]) -> bool:
    """Tell whether something of the past still belongs to coats that were done."""
    done = {one.coat.id for coats in laid.values() for one in coats if one.done}
    if booking.visits:
        return any(f"{one.face}.{one.coat}" in done for one in booking.visits)
    return True
