"""Deciding: who takes rounds, which coat keeps its day, which one moves."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any
from uuid import uuid4

from curing.errors import Problem, RecordError, UsageError
from curing.model.decisions import Decision, DecisionKind
from curing.model.job import Job
from curing.model.plan import LIVE, Kind, Plan
from curing.model.quantities import clip
from curing.planning.decision_rules import Bench, faults
from curing.planning.expand import identify
from curing.planning.roots import Roots, roots_of
from curing.planning.worktime import local, zone_of
from curing.sources.decision_line import DecisionLine
from curing.sources.said_text import checked_key, said_reason
from curing.store import default_folder, open_state
from curing.workflow.opening import DATABASE_VARIABLE, latest_plan, read


@dataclass(frozen=True)
class Taken:
    """A decision that was taken, and whether it stood there before."""

    job: Job
    roots: Roots
    decision: Decision
    already: bool
    notes: tuple[str, ...] = ()


def decide(
    job_file: Path,
    kind: DecisionKind,
    about: str,
    *,
    by: str,
    days: tuple[date, date] | None = None,
    slot: str | None = None,
    why: str = "",
    key: str | None = None,
    state: Path | None = None,
    as_of: str | None = None,
) -> Taken:
    """Take a decision and keep it.

    Parameters
    ----------
    about
        A person who takes rounds, or a face (its next coat) or a coat of one (``3-out.finish``).
    days
        First and last day of the rounds; or the day for a coat, twice.
    slot
        ``early``, ``midday`` or ``late``; None: every round.
    why
        Reason, kept with it.

    Raises
    ------
    UsageError, FileError, RecordError, StateError
        All that speaks against it; nothing is kept then.
    """
    line = DecisionLine(kind, about, days, slot, why)
    key = checked_key(key)
    if not by.strip():
        raise RecordError(f"{kind}: who decides is not said; add --by PERSON, the lead or the architect")
    job, now = read(job_file, as_of)
    url = os.environ.get(DATABASE_VARIABLE) or None
    with open_state(state or default_folder(job_file), job.file.uid, database_url=url) as store:
        plan = latest_plan(store)
        roots = roots_of(job, identify(job, plan))
        bench = Bench(job, roots, plan, now)
        decision = taken(line, bench, by=by, key=key or uuid4().hex)
        known = {one.key for one in store.decisions()} if key else set()
        against = [] if decision.key in known else faults(decision, bench)
        if against:
            raise RecordError(Problem(None, text) for text in against)
        found = store.append_decision(decision)
        return Taken(job, roots, replace(decision, seq=found.seq), found.already, tuple(store.warnings))


def taken(line: DecisionLine, bench: Bench, *, by: str, key: str) -> Decision:
    """Return the decision of a line, taken at the instant of the bench, before it is judged.

    Raises
    ------
    UsageError, RecordError
        What it is about is not of the job or not booked.
    """
    people = bench.roots.people
    data: Mapping[str, Any]
    if line.kind is DecisionKind.ASSIGN:
        assert line.days is not None
        first, last = line.days
        data = {"to": people.get(line.about, line.about), "first": first.isoformat(), "last": last.isoformat()}
        data = {**data, **({"slot": line.slot} if line.slot else {})}
    else:
        data = _coat(bench.job, bench.roots, bench.plan, line.about, line.days)
    data = {**data, **({"why": said_reason(line.why, f"{line.kind}: reason")} if line.why.strip() else {})}
    return Decision(key, bench.now, people.get(by, by), line.kind, data)


def _coat(job: Job, roots: Roots, plan: Plan | None, about: str, days: tuple[date, date] | None) -> Mapping[str, Any]:
    """Return the face, coat and day that a decision is about; a face alone means its next coat."""
    face, _, coat = about.partition(".")
    known = [face_id for face_id, _, _ in job.faces()]
    if face not in known:
        raise UsageError(
            f'"{clip(about)}": no face of this job; name a face, or a coat of one, such as {known[0]}.base'
        )
    booked = [one for one in (plan.bookings if plan else ()) if one.kind is Kind.COAT and one.faces == (face,)]
    if not coat:
        coat = next((one.task for one in booked if one.state in LIVE), "")
        if not coat:
            raise RecordError(f"{face}: no coat of it is booked; plan first")
    booking = next((one for one in booked if one.task == coat), None)
    if days is not None:
        day = days[0]
    elif booking is not None:
        day = local(zone_of(booking.zone), booking.start)[0]
    else:
        names = ", ".join(one.task for one in booked) or "none: plan first"
        raise RecordError(f'{face}: no coat "{clip(coat)}" of it is booked; booked are {names}')
    return {"face": roots.face_root(face), "coat": coat, "day": day.isoformat()}
