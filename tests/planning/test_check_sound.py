"""Plans that look odd and are sound, beside the nearest ones that are not."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from alder_court_by_hand import (
    COATS,
    HOLDS,
    SOUND,
    added,
    at,
    coat,
    conditional,
    face_of,
    found,
    job,
    look,
    marked,
    moved,
    wall,
    with_coat,
    with_round,
)  # fmt: skip

from curing.model.plan import Absence, Care, HoldState, Plan, Slot, State
from curing.planning.check import check


def test_the_sound_plan_has_no_faults():
    assert check(job(), SOUND) == []
    assert sum(len(walk.visits) for walk in SOUND.rounds) == 2 * (6 + 42) + 12 * 2 + 14


def test_a_plan_behind_an_open_hold_is_sound_when_it_is_conditional():
    open_hold = job(lambda data: wall(data, "1").pop("holds"))
    holds = tuple(replace(h, state=HoldState.UNMET, met=None) if h.id == "1.panel-dry" else h for h in HOLDS)
    plan = conditional(replace(SOUND, holds=holds), "1-out", ("1.panel-dry",))
    assert check(open_hold, plan) == []
    # The face that waits for it may be conditional as well.
    assert check(open_hold, conditional(plan, "2-in", ())) == []


def test_coats_behind_a_test_that_cannot_be_taken_yet_may_be_conditional():
    plan = with_coat("2-in.finish", state=State.CONDITIONAL)
    assert found(replace(plan, rounds=marked("2-in.finish").rounds)) == set()


def test_what_is_pinned_may_break_working_days_and_hours():
    saturday = moved("2-in.paint-2", at(26, 6, "08:00"), at(26, 6, "09:00"))
    late = moved("2-in.paint-2", at(25, 6, "15:00"), at(25, 6, "16:00"))
    for plan, rule in ((saturday, "plan.weekend"), (late, "plan.hours")):
        assert found(plan) == {rule}
        assert found(with_coat("2-in.paint-2", plan, pinned=True)) == set()
    short = moved("2-in.paint-2", at(26, 6, "08:00"), at(26, 6, "08:10"))
    assert found(with_coat("2-in.paint-2", short, pinned=True)) == {"paint-2.labour"}


def test_who_is_out_on_a_round_is_missing_from_the_coat():
    """Ida walks Vera's round at 12:00; the coat takes ten minutes longer for the twenty she is gone."""
    walk = {"who": ("ida",), "start": at(18, 5, "12:00"), "end": at(18, 5, "12:20")}
    visits = (replace(SOUND.rounds[0].visits[0], id="x", care=Care.LOOK, day=20, face="7-out", coat="finish"),)
    plan = added(replace(SOUND.rounds[0], id="r", uid="r", slot=Slot.MIDDAY, visits=visits, **walk))
    # a look at 7-out is at the barn, the coat in the yard
    gone = Absence("ida", at(18, 5, "12:00"), at(18, 5, "12:20"))
    assert found(plan) == {"plan.two_places", "plan.two_sites"}
    away = with_coat("1-out.finish", plan, absent=(gone,))
    assert found(away) == {"finish.labour", "plan.two_sites"}
    assert found(with_coat("1-out.finish", away, end=at(18, 5, "13:10"))) == {"plan.two_sites"}


def test_water_of_a_midday_look_is_not_a_visit():
    visits = (replace(SOUND.rounds[0].visits[0], id="x", care=Care.LOOK, day=3),)
    walk = {"start": at(1, 5, "13:00"), "end": at(1, 5, "13:20"), "slot": Slot.MIDDAY}
    assert found(added(replace(SOUND.rounds[0], id="r", uid="r", visits=visits, **walk))) == set()


@pytest.mark.parametrize(
    ("clock", "slots", "rules"),
    [
        ("06:00", [], set()),
        ("11:59", [Slot.EARLY], {"plan.visit_missing"}),
        ("12:00", [Slot.EARLY], set()),  # the early walk is over
        ("12:00", [Slot.EARLY, Slot.LATE], {"plan.visit_missing"}),
        ("18:00", [Slot.EARLY, Slot.LATE], set()),
    ],
)
def test_visits_of_the_day_on_which_the_plan_is_made(clock: str, slots: list[Slot], rules: set[str]):
    walks = tuple(w for w in SOUND.rounds if w.start.date() != date(2027, 5, 1) or w.slot not in slots)
    assert found(replace(SOUND, as_of=at(1, 5, clock), rounds=walks)) == rules


def test_visits_before_the_plan_was_made_are_past():
    plan = replace(SOUND, as_of=at(2, 5, "06:00"))
    assert found(plan) == set()
    assert found(replace(plan, rounds=tuple(w for w in plan.rounds if w.start > plan.as_of))) == set()


def test_a_round_at_four_that_nobody_takes_is_not_at_night():
    walk_ = {"who": (), "start": at(4, 5, "04:00"), "end": at(4, 5, "04:20")}
    assert found(with_round("2027-05-04.early.vera", **walk_)) == set()


def test_hours_hold_to_their_last_minute_and_not_past_midnight():
    assert found(moved("2-in.paint-2", at(25, 6, "14:30"), at(25, 6, "15:30"))) == set()
    assert found(moved("2-in.paint-2", at(25, 6, "07:00"), at(25, 6, "08:00"))) == set()
    all_day = job(lambda data: [p.update(hours={"mon-sun": "04:00-24:00"}) for p in data["people"]])
    night = with_round("2027-05-04.late.vera", start=at(4, 5, "23:30"), end=at(4, 5, "23:50"))
    assert found(night, all_day) == set()
    over = with_round("2027-05-04.late.vera", start=at(4, 5, "23:50"), end=at(4, 5, "23:50") + timedelta(minutes=20))
    assert found(over, all_day) == {"plan.hours"}


def test_done_coats_may_stand_as_bookings_too():
    done = coat("7-out", "finish", at(28, 4, "10:00"), at(28, 4, "15:00"), "barn")
    assert found(added(replace(done, state=State.DONE))) == set()
    # A fact is a fact, even a Sunday alone with 6 m2.
    sunday = replace(done, start=at(25, 4, "10:00"), end=at(25, 4, "10:10"), state=State.DONE)
    assert found(added(sunday)) == {"plan.done"}


def test_a_coat_that_is_off_has_no_day():
    ends = with_coat("2-in.paint-2", state=State.OFF)
    assert found(ends) == set()
    assert found(with_coat("2-in.paint-1", state=State.OFF)) == {"plan.coat_order"}


def test_a_face_that_ended_asks_for_nothing():
    ended = job(lambda data: face_of(data, "7").update(ended="2027-05-13"))
    walks = tuple(w for w in SOUND.rounds if w.who != ("noor",) or w.start < at(13, 5, "00:00"))
    plan = replace(SOUND, rounds=walks, bookings=tuple(b for b in COATS if b.faces != ("7-out",)))
    assert found(plan, ended) == set()
    assert found(replace(plan, bookings=COATS), ended) == {"plan.ended"}
    assert found(replace(plan, rounds=SOUND.rounds), ended) == {"plan.visit_unasked"}
    assert found(plan) == {"plan.missing", "plan.visit_missing"}


@pytest.mark.parametrize(
    "plan",
    [
        pytest.param(added(look("bo", at(4, 5, "12:00"), at(4, 5, "12:30"), "barn", "7-out")), id="sites part at noon"),
        pytest.param(with_round("2027-05-04.early.vera", end=at(4, 5, "07:09")), id="as long as its visits"),
        pytest.param(with_round("2027-05-04.early.vera", end=at(4, 5, "07:45")), id="as long as she walks"),
        pytest.param(added(look("ida", at(3, 5, "13:00"), at(3, 5, "13:10"))), id="one thing after another"),
    ],
)
def test_just_so_is_sound(plan: Plan):
    assert found(plan) == set()


def test_a_face_all_off_asks_for_nothing():
    off = tuple(replace(b, state=State.OFF) if b.faces == ("2-in",) else b for b in COATS)
    walks = (replace(w, visits=tuple(v for v in w.visits if v.face != "2-in")) for w in SOUND.rounds)
    assert found(replace(SOUND, bookings=off, rounds=tuple(w for w in walks if w.visits))) == set()
