"""The check finds nothing in a sound plan, and exactly the fault that was planted in any other."""

from __future__ import annotations

import ast
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from alder_court_by_hand import (
    COATS,
    HOLDS,
    SOUND,
    added,
    at,
    coat,
    found,
    job,
    look,
    marked,
    moved,
    shifted,
    with_coat,
    with_hold,
    with_round,
    with_visits,
)  # fmt: skip
from hypothesis import given, settings
from hypothesis import strategies as st

from curing.model.plan import Absence, Booking, Care, HoldState, Kind, Plan, Reason, Slot, State, Visit
from curing.planning import check as check_module
from curing.planning.check import Fault, check

EARLY = next(walk for walk in SOUND.rounds if walk.id == "2027-05-04.early.vera")
"""Vera's walk to 1-out, the morning after its base."""


def visit(face: str, coat_id: str, day: int) -> Visit:
    return Visit("new", face, coat_id, Care.MIST, day, 28, 1, 9, 3.0)


def walk(day: int, month: int, *visits: Visit, clock: str = "18:30", **new: Any) -> Booking:
    """Return one more walk of Vera's."""
    start = at(day, month, clock)
    end = start.replace(minute=50)
    given_ = {"id": "new", "uid": "new", "slot": Slot.MIDDAY, "visits": visits, "start": start, "end": end}
    return replace(EARLY, **{**given_, **new})


def without_coat(id_: str) -> Plan:
    return replace(SOUND, bookings=tuple(b for b in COATS if b.id != id_))


def told(face: str, coat_id: str, **new: Any) -> Plan:
    """Return the plan with the dates of a coat, as its face has them, changed."""
    faces = tuple(
        replace(f, coats=tuple(replace(c, **new) if (f.id, c.coat) == (face, coat_id) else c for c in f.coats))
        for f in SOUND.faces
    )
    return replace(SOUND, faces=faces)


def in_place(id_: str, **new: Any) -> Plan:
    """Return the plan with a booking changed but not listed anew."""
    return replace(SOUND, bookings=tuple(replace(b, **new) if b.id == id_ else b for b in COATS))


OTHER_VISITS: list[tuple[str, str, Plan]] = [
    ("a visit missing", "plan.visit_missing", with_visits("2027-05-06.late.vera", lambda v: v[1:])),
    ("a round missing", "plan.visit_missing", replace(SOUND, rounds=SOUND.rounds[:-1])),
    ("a round off", "plan.visit_missing", with_round(EARLY.id, state=State.OFF)),
    ("a visit twice", "plan.visit_twice", with_visits(EARLY.id, lambda v: (*v, replace(v[0], id="x")))),
    ("one id for two visits", "plan.visit_twice", with_visits(
        "2027-05-04.late.vera", lambda v: (replace(v[0], id=EARLY.visits[0].id),))),
    ("three visits a day", "plan.visit_unasked", added(walk(4, 5, visit("1-out", "base", 1)))),
    ("two where one is asked", "plan.visit_unasked", added(walk(2, 6, visit("1-out", "finish", 15)))),
    ("a day too long", "plan.visit_unasked", added(walk(7, 5, visit("1-out", "base", 4)))),
    ("a coat that asks for none", "plan.visit_unasked", added(walk(24, 6, visit("1-out", "paint-1", 1)))),
    ("a coat without a day", "plan.visit_unasked", added(walk(4, 5, visit("1-out", "floating", 1)))),
    ("before its coat", "plan.visit_unasked", added(walk(2, 5, visit("1-out", "base", -1)))),
    ("on the laying day", "plan.visit_laying_day", added(walk(3, 5, visit("1-out", "base", 0)))),
    ("past the next coat", "plan.visit_past_next", added(walk(18, 5, visit("1-out", "base", 15)))),
    ("the wrong day told", "plan.visit_day", with_visits(EARLY.id, lambda v: (replace(v[0], day=2),))),
    ("air where water is asked", "plan.visit_care", with_visits(EARLY.id, lambda v: (replace(v[0], care=Care.AIR),))),
    ("marked conditional", "plan.visit_mark", with_visits(EARLY.id, lambda v: (replace(v[0], conditional=True),))),
]  # fmt: skip

WAITS: list[tuple[str, str, Plan]] = [
    ("11 days after 13 mm", "finish.least_wait_per_mm", shifted("1-out.finish", -4)),
    ("six dry days", "paint-1.dry_days", moved("1-out.paint-1", at(22, 6, "08:00"), at(22, 6, "09:00"))),
    ("six dry days, done coat", "paint-1.dry_days", moved("7-out.paint-1", at(2, 6, "08:00"), at(2, 6, "09:00"))),
    ("two paints in a day", "paint-2.least_wait", moved("1-out.paint-2", at(23, 6, "09:00"), at(23, 6, "10:00"))),
    ("paints changed round", "plan.coat_order", moved("1-out.paint-2", at(23, 6, "07:00"), at(23, 6, "08:00"))),
    ("no coat under it", "plan.coat_order", with_coat("2-in.paint-1", state=State.OFF)),
    ("a coat forgotten", "plan.missing", without_coat("2-in.paint-2")),
    ("done work moved", "plan.done", told("7-out", "finish", laid=at(29, 4, "15:00"), day=date(2027, 4, 29))),
    ("done work an hour later", "plan.done", told("7-out", "finish", laid=at(28, 4, "16:00"))),
    ("done work forgotten", "plan.done", told("7-out", "base", laid=None)),
    ("nobody said it is done", "plan.done", told("1-out", "base", laid=at(30, 4, "15:00"), day=date(2027, 4, 30))),
    ("booked as done", "plan.done", with_coat("2-in.paint-2", state=State.DONE)),
    ("done work booked again", "plan.done", added(
        coat("7-out", "finish", at(5, 5, "08:00"), at(5, 5, "12:00"), "barn"))),
    ("face and booking differ", "plan.dates", told("1-out", "paint-2", day=date(2027, 6, 25))),
]  # fmt: skip

CREW: list[tuple[str, str, Plan]] = [
    ("a Saturday", "plan.weekend", moved("2-in.paint-2", at(26, 6, "08:00"), at(26, 6, "09:00"))),
    ("after hours", "plan.hours", moved("2-in.paint-2", at(25, 6, "15:00"), at(25, 6, "15:45"))),
    ("a minute after hours", "plan.hours", moved("2-in.paint-2", at(25, 6, "14:30"), at(25, 6, "15:31"))),
    ("before hours", "plan.hours", moved("2-in.paint-2", at(25, 6, "06:30"), at(25, 6, "07:30"))),
    ("who is nobody", "plan.nobody", with_coat("2-in.paint-2", who=())),
    ("another crew", "plan.crew", with_coat("1-out.base", crew="b")),
    ("a stranger", "plan.crew", with_coat("1-out.base", who=("ida", "bo", "tom"))),
    ("five minutes short", "base.labour", with_coat("1-out.base", end=at(3, 5, "12:55"))),
    ("one pair of hands short", "finish.labour", with_coat("1-out.finish", absent=(
        Absence("bo", at(18, 5, "08:00"), at(18, 5, "09:00")),))),
    ("left alone", "plan.unbroken", with_coat("1-out.base", end=at(3, 5, "13:10"), absent=tuple(
        Absence(who, at(3, 5, "10:00"), at(3, 5, "10:10")) for who in ("ida", "bo")))),
    ("coat and look at once", "plan.two_places", added(look("ida", at(3, 5, "12:50"), at(3, 5, "13:10")))),
    ("two coats at once", "plan.two_places", moved("2-in.paint-1", at(24, 6, "08:30"), at(24, 6, "09:30"))),
    ("round and reading at once", "plan.two_places", added(
        replace(look("vera", at(4, 5, "07:10"), at(4, 5, "07:30")), kind=Kind.READING))),
    ("two sites in a morning", "plan.two_sites", added(
        look("bo", at(4, 5, "07:00"), at(4, 5, "07:30"), "barn", "7-out"))),
    ("two sites past noon", "plan.two_sites", added(
        look("bo", at(3, 5, "14:00"), at(3, 5, "14:30"), "barn", "7-out"))),
]  # fmt: skip

FORM: list[tuple[str, str, Plan]] = [
    ("no rule", "plan.reason", with_round(EARLY.id, reason=Reason("", "earliest"))),
    ("no sentence", "plan.reason", with_round(EARLY.id, reason=Reason("plan.earliest", ""))),
    ("two faces in one coat", "plan.unknown", with_coat("2-in.paint-2", faces=("1-out", "2-in"))),
    ("one id twice", "plan.twice", added(look("bo", at(5, 5, "10:00"), at(5, 5, "10:10")), replace(
        look("bo", at(6, 5, "10:00"), at(6, 5, "10:10")), uid="other"))),
    ("one uid twice", "plan.twice", with_coat("1-out.base", uid="uid-2-in-base")),
    ("one hold twice", "plan.twice", replace(SOUND, holds=(*HOLDS, HOLDS[0]))),
    ("a coat booked twice", "plan.twice", added(replace(COATS[0], id="x", uid="x", state=State.OFF))),
    ("an unknown face", "plan.unknown", with_round(EARLY.id, faces=("9-out",))),
    ("an unknown person", "plan.unknown", with_coat("1-out.base", who=("ida", "max"))),
    ("an unknown site", "plan.unknown", with_coat("1-out.base", site="mill")),
    ("an unknown crew", "plan.unknown", with_coat("1-out.base", crew="z")),
    ("no crew", "plan.unknown", with_coat("1-out.base", crew="")),
    ("an unknown coat", "plan.unknown", in_place("1-out.base", task="floating")),
    ("no slot", "plan.unknown", with_round(EARLY.id, slot=None)),
    ("an unknown hold", "plan.unknown", with_coat("1-out.base", holds=("x",))),
    ("a hold of an unknown face", "plan.unknown", with_hold("1.panel-dry", faces=("1-out", "9-out"))),
    ("another site", "plan.site", with_coat("1-out.base", site="barn")),
    ("another zone", "plan.site", with_coat("1-out.base", zone="Europe/Paris")),
    ("no zone", "plan.instant", in_place("1-out.base", start=datetime(2027, 5, 3, 6, 0))),
    ("ends as it starts", "plan.instant", in_place("1-out.base", end=COATS[0].start)),
    ("of no use when it starts", "plan.instant", with_round(EARLY.id, until=at(4, 5, "06:59"))),
    ("an absence backwards", "plan.instant", with_coat("1-out.base", absent=(
        Absence("bo", at(3, 5, "09:00"), at(3, 5, "08:00")),))),
    ("made at no instant", "plan.instant", replace(SOUND, as_of=datetime(2027, 5, 1, 6, 0))),
    ("out of order", "plan.listed", replace(SOUND, bookings=(COATS[1], COATS[0], *COATS[2:]))),
    ("a round among coats", "plan.listed", replace(SOUND, rounds=(
        look("tom", at(30, 4, "12:00"), at(30, 4, "12:10")), *SOUND.rounds))),
]  # fmt: skip

HOLDS_AND_ROUNDS: list[tuple[str, str, Plan]] = [
    ("a hold made up", "plan.hold_invented", with_hold("1-out.base-dry", state=HoldState.MET, met=date(2027, 5, 1))),
    ("met on another day", "plan.hold_invented", with_hold("1.panel-dry", met=date(2027, 4, 29))),
    ("a hold forgotten", "plan.hold_missing", replace(SOUND, holds=HOLDS[1:])),
    ("conditional for nothing", "plan.no_hold", replace(marked("1-out.base"), bookings=with_coat(
        "1-out.base", state=State.CONDITIONAL).bookings)),
    ("too short for its visits", "plan.round_length", with_round(EARLY.id, end=at(4, 5, "07:08"))),
    ("no visits at all", "plan.round_length", added(walk(4, 5))),
    ("walked by two", "plan.slot", with_round(EARLY.id, who=("vera", "ida"))),
    ("twice in a slot", "plan.slot", added(
        walk(5, 5, replace(visit("1-out", "base", 2), care=Care.LOOK)),
        walk(5, 5, replace(visit("2-in", "base", 1), care=Care.LOOK, id="y"), clock="16:30", id="y", uid="y"))),
    ("nobody, at night", "plan.too_early", with_round(
        EARLY.id, who=(), start=at(4, 5, "03:30"), end=at(4, 5, "03:50"))),
    ("who does not mist", "plan.role", with_round(EARLY.id, who=("tom",))),
    ("longer than she walks", "plan.longest_round", with_round(EARLY.id, end=at(4, 5, "07:46"))),
]  # fmt: skip

PLANTED = [
    pytest.param(rule, plan, id=name) for name, rule, plan in (*WAITS, *CREW, *OTHER_VISITS, *HOLDS_AND_ROUNDS, *FORM)
]


@pytest.mark.parametrize(("rule", "plan"), PLANTED)
def test_exactly_the_planted_fault_is_found(rule: str, plan: Plan):
    assert found(plan) == {rule}


def test_the_check_knows_nothing_of_how_a_plan_is_made():
    folder = Path(check_module.__file__).parent
    for file in folder.glob("check*.py"):
        for node in ast.walk(ast.parse(file.read_text())):
            names = [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            names += [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            for name in (name for name in names if name.startswith("curing")):
                assert name.startswith(("curing.model", "curing.physics", "curing.planning.check")) or name in {
                    "curing.planning.worktime",
                    "curing.errors",
                }, f"{file.name} imports {name}"


# ------------------------------------------------------------------------------- as they are told


def test_every_fault_says_where_what_and_what_to_do():
    plan = moved("1-out.paint-1", at(22, 6, "08:00"), at(22, 6, "09:00"))
    text = "starts on 2027-06-22, the last visit with water is on 2027-06-15; 7 whole dry days between"
    fault = Fault("paint-1.dry_days", "1-out.paint-1", f"{text}, so not before 2027-06-23")
    assert check(job(), plan) == [fault]
    assert str(fault) == f"1-out.paint-1: {text}, so not before 2027-06-23 (rule paint-1.dry_days)"


def test_faults_are_told_together_sorted_and_once():
    plan = moved("2-in.paint-2", at(26, 6, "08:00"), at(26, 6, "08:30"), with_round(EARLY.id, who=("tom",)))
    faults = check(job(), plan)
    assert [(f.rule, f.where) for f in faults] == [
        ("paint-2.labour", "2-in.paint-2"),
        ("plan.role", EARLY.id),
        ("plan.weekend", "2-in.paint-2"),
    ]


# -------------------------------------------------------------------------------- invariants

JOB = job()


@settings(max_examples=40)
@given(st.sampled_from([(w.id, v.id) for w in SOUND.rounds for v in w.visits]))
def test_no_visit_can_be_dropped_unseen(which: tuple[str, str]):
    plan = with_visits(which[0], lambda visits: [v for v in visits if v.id != which[1]])
    assert "plan.visit_missing" in found(plan, JOB)


@settings(max_examples=40)
@given(st.sampled_from([b.id for b in COATS]), st.integers(1, 20))
def test_no_coat_can_come_earlier_unseen(id_: str, by: int):
    """All coats of the sound plan are as early as the rules let them be."""
    assert found(shifted(id_, -by), JOB)


NAMES = st.sampled_from(["1-out", "2-in", "7-out", "9-out", ""])
PEOPLE = st.sampled_from(["ida", "bo", "vera", "tom", "max"])
INSTANTS = st.datetimes(datetime(2027, 4, 1), datetime(2027, 7, 1), timezones=st.sampled_from([None, UTC]))
CHANGES = st.fixed_dictionaries(
    {},
    optional={
        "kind": st.sampled_from(Kind),
        "site": st.sampled_from(["yard", "barn", "mill"]),
        "faces": st.lists(NAMES, max_size=2).map(tuple),
        "task": st.sampled_from(["base", "finish", "paint-1", "floating"]),
        "who": st.lists(PEOPLE, max_size=3).map(tuple),
        "start": INSTANTS,
        "end": INSTANTS,
        "state": st.sampled_from(State),
        "crew": st.sampled_from(["a", "b", "z", ""]),
        "slot": st.sampled_from([*Slot, None]),
        "holds": st.sampled_from([(), ("1.panel-dry",), ("x",)]),
        "visits": st.sampled_from([(), EARLY.visits]),
        "pinned": st.booleans(),
    },
)


@settings(max_examples=40)
@given(st.lists(st.tuples(st.integers(0, len(COATS) - 1), CHANGES), max_size=4), CHANGES)
def test_any_plan_can_be_judged(changes: list[tuple[int, dict[str, Any]]], of_round: dict[str, Any]):
    bookings = list(COATS)
    for place, change in changes:
        bookings[place] = replace(bookings[place], **change)
    walks = (replace(SOUND.rounds[0], **of_round), *SOUND.rounds[1:])
    faults = check(JOB, replace(SOUND, bookings=tuple(bookings), rounds=walks))
    assert faults == sorted(set(faults))
