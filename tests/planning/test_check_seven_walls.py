"""A plan of seven walls, written by hand by somebody else: the check agrees with it, and only with it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import pytest

from curing.model.job import Job
from curing.model.plan import Booking, HoldState, Plan, State
from curing.planning.check import check
from curing.sources.jobfile import read_job

SPIKES = Path(__file__).parent.parent / "spikes"


def plan_by_hand() -> Plan:
    spec = spec_from_file_location("seven_walls_by_hand", SPIKES / "seven_walls.py")
    assert spec is not None
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    plan: Plan = module.plan()
    return plan


@pytest.fixture(scope="module")
def seven_walls() -> tuple[Job, Plan]:
    job = read_job(SPIKES / "seven_walls.yaml", years=range(2026, 2028), today=date(2026, 6, 9))
    return job, plan_by_hand()


def changed(plan: Plan, id_: str, **new: object) -> Plan:
    def edit(bookings: tuple[Booking, ...]) -> tuple[Booking, ...]:
        found = (replace(b, **new) if b.id == id_ else b for b in bookings)
        return tuple(sorted(found, key=lambda b: (b.start, b.id)))

    assert any(b.id == id_ for b in plan.everything())
    return replace(plan, bookings=edit(plan.bookings), rounds=edit(plan.rounds))


def test_the_plan_by_hand_is_sound(seven_walls: tuple[Job, Plan]):
    assert check(*seven_walls) == []


def test_who_leaves_a_coat_for_a_walk_must_be_cut_out_of_it(seven_walls: tuple[Job, Plan]):
    job, plan = seven_walls
    faults = check(job, changed(plan, "4-out.paint-2", absent=()))
    assert [(f.rule, f.where) for f in faults] == [("plan.two_places", "2026-06-16.late.tom")]


def test_the_base_behind_an_unread_panel_stays_conditional(seven_walls: tuple[Job, Plan]):
    job, plan = seven_walls
    rounds = tuple(replace(w, visits=tuple(replace(v, conditional=False) for v in w.visits)) for w in plan.rounds)
    firm = changed(replace(plan, rounds=rounds), "5-out.base", state=State.FIRM, holds=())
    assert [(f.rule, f.where) for f in check(job, firm)] == [("plan.hold_unmet", "5-out.base")]
    met = (replace(h, state=HoldState.MET, met=date(2026, 6, 9)) if h.id == "5.panel-dry" else h for h in plan.holds)
    assert [f.rule for f in check(job, replace(plan, holds=tuple(met)))] == ["plan.hold_invented"]


def test_the_crew_is_away_on_wednesday(seven_walls: tuple[Job, Plan]):
    job, plan = seven_walls
    paint = next(b for b in plan.bookings if b.id == "4-out.paint-2")
    wednesday = {"start": paint.start - timedelta(6), "end": paint.end - timedelta(6), "absent": ()}
    rules = {f.rule for f in check(job, changed(plan, "4-out.paint-2", **wednesday))}
    assert rules == {"plan.nobody", "plan.coat_order", "plan.dates"}


def test_nobody_names_ana_for_the_sunday_she_is_away(seven_walls: tuple[Job, Plan]):
    job, plan = seven_walls
    faults = check(job, changed(plan, "2026-06-14.early.nobody", who=("ana",)))
    assert [(f.rule, f.where) for f in faults] == [("plan.hours", "2026-06-14.early.nobody")]
