"""How a plan follows what is said and decided: days counted by hand, one plan after another.

Worked examples by the default rules at 52.1 N 5.2 E on the clock of Amsterdam, with the holidays of the
Netherlands in 2027: 6 May Ascension, 16 and 17 May Pentecost. Laying day is day 0; the finish waits 13 days
for a base of 13 mm; visits begin on day 1.
"""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from court import at, changes_of_work, coat, day, each_day, face, visits, wall
from court_record import Court, caused_by, change_of, probe, recorded_job

from curing.model.plan import HoldState, Kind, Plan, State

PANEL = {"thickness": "300 mm", "filled": "2026-05-01"}
MAY = {number: date(2027, 5, number) for number in range(1, 32)}
DAY = timedelta(days=1)


def one_wall(**lines: Any) -> Court:
    """Return worked example A before its panel is read."""
    return Court(recorded_job(wall("1", face(**{"start": "2027-05-03", **lines}), panel=PANEL)), at(4, 30, "06:00"))


def opened() -> Court:
    """Return worked example A, read and opened on Friday 30 April: base 3 May, finish 18 May, both firm."""
    court = one_wall()
    court.replan()
    court.now = at(4, 30, "14:00")
    court.check_meter()
    court.read_all("1")
    court.open_panel("1", key="opened")
    plan = court.replan()
    assert [(day(coat(plan, f"1-out.{name}")), coat(plan, f"1-out.{name}").state) for name in ("base", "finish")] == [
        (MAY[3], State.FIRM),
        (MAY[18], State.FIRM),
    ]
    return court


def laid() -> Court:
    """Return worked example A with its base recorded as closed on Monday 3 May."""
    court = opened()
    court.now = at(5, 3, "15:10")
    court.finish("1-out", "base", at(5, 3, "15:00"), key="base laid")
    return court


def dry_base(court: Court) -> None:
    court.say("test", "1-out", "bo", {"test": "hollows", "passed": True, "coat": "base"})
    court.say("hold-met", "1-out", "ida", {"hold": "base-dry"}, key="base dry")


def stands(plan: Plan, id_: str) -> tuple[date, State]:
    return day(coat(plan, id_)), coat(plan, id_).state


# --------------------------------------------------------------- B. a hold that nobody records


@pytest.fixture(scope="module")
def nobody_reads() -> list[Plan]:
    court = one_wall()
    plans = [court.replan(now) for now in (at(4, 30, "06:00"), at(5, 4), at(5, 11))]
    court.now = at(5, 12, "12:00")
    court.check_meter()
    court.read_all("1")
    court.open_panel("1", key="read and opened")
    plans.append(court.replan())
    return plans


@pytest.mark.parametrize(
    ("number", "base", "finish", "state"),
    [
        # Worked example B; 10 May is 7 days on; 17 May is Pentecost Monday; finish 13 days later,
        # 23 May is a Sunday; 14 May is the first working day after tomorrow of 12 May.
        (0, MAY[3], MAY[18], State.CONDITIONAL),
        (1, MAY[10], MAY[24], State.CONDITIONAL),
        (2, MAY[18], MAY[31], State.CONDITIONAL),
        (3, MAY[14], MAY[27], State.FIRM),
    ],
)
def test_b_slides_and_comes_forward(
    nobody_reads: list[Plan], number: int, base: date, finish: date, state: State
) -> None:
    plan = nobody_reads[number]
    assert (stands(plan, "1-out.base"), stands(plan, "1-out.finish")) == ((base, state), (finish, state))


def test_b_each_time_as_one_change(nobody_reads: list[Plan]) -> None:
    for plan, rule in zip(nobody_reads[1:], ("plan.slide", "plan.slide", "change.hold_met"), strict=True):
        (change,) = changes_of_work(plan)
        assert (change.id, change.reason.rule) == ("1-out.base", rule)
        assert "1-out.finish" in change.drags
        assert [one.id for one in plan.changes] == ["1-out.base"]


def test_b_the_reading_is_the_reason(nobody_reads: list[Plan]) -> None:
    change = change_of(nobody_reads[3], "1-out")
    assert caused_by(change) == "read and opened"
    assert (change.reason.values["by"], change.reason.values["clock"]) == ("Ida", "12:00")


def test_b_until_then_the_reading_is_asked_for(nobody_reads: list[Plan]) -> None:
    for plan in nobody_reads[:3]:
        (reading,) = [one for one in plan.bookings if one.kind is Kind.READING]
        assert reading.end <= coat(plan, "1-out.base").start
    assert [one for one in nobody_reads[3].bookings if one.kind is Kind.READING] == []


# --------------------------------------------------------------------- G. a missed visit, by entries


def tick(day_: date, slot: str, coat_: str = "base", **more: Any) -> dict[str, Any]:
    return {"coat": coat_, "day": day_.isoformat(), "slot": slot, **more}


def asked(plan: Plan) -> list[str]:
    return [one.key for one in (*plan.questions, *plan.warnings) if one.rule in ("visit.missed", "visit.unsaid")]


def test_g_ticked_late_with_the_true_time_it_is_done() -> None:
    court = laid()
    court.replan(at(5, 3, "15:10"))
    court.now = at(5, 5, "12:20")
    court.say("misted", "1-out", "near", tick(MAY[4], "early"), at=at(5, 4, "07:40"))
    court.say("misted", "1-out", "near", tick(MAY[4], "late"), at=at(5, 4, "18:00"))
    assert asked(court.replan()) == ["visits_unsaid"]
    court.say("misted", "1-out", "near", tick(MAY[5], "early"), at=at(5, 5, "08:05"))
    plan = court.replan()
    (early,) = [one for one in plan.rounds if day(one) == MAY[5] and one.slot == "early"]
    assert (early.state, asked(plan), plan.changes) == (State.DONE, [], ())


def test_g_never_answered_it_is_missed_twelve_hours_after_its_end() -> None:
    court = laid()
    plan = court.replan(at(5, 3, "15:10"))
    (early,) = [one for one in plan.rounds if day(one) == MAY[4] and one.slot == "early"]
    over = max(early.end, early.until or early.end)
    assert asked(court.replan(over + timedelta(hours=11, minutes=59))) == ["visits_unsaid"]
    missed = court.replan(over + timedelta(hours=12))
    assert asked(missed) == ["inspect"]
    court.say("inspection", "1-out", "ida", {"sound": True})
    assert "inspect" not in asked(court.replan())


# ----------------------------------------------------------------------- H. mid-way, by entries


@pytest.fixture(scope="module")
def midway() -> Court:
    """Return worked example H, with base and finish recorded on Friday 7 May instead of written down."""
    court = Court(recorded_job(wall("1", face(), panel=PANEL)), at(5, 7))
    court.finish("1-out", "base", at(4, 12, "15:00"))
    court.finish("1-out", "finish", at(4, 28, "15:00"))
    court.replan()
    return court


def test_h_nobody_lays_it_again(midway: Court) -> None:
    assert midway.plan is not None
    coats = {one.task: one for one in midway.plan.bookings if one.kind is Kind.COAT}
    assert [(name, coats[name].state) for name in ("base", "finish")] == [("base", State.DONE), ("finish", State.DONE)]
    assert (coats["base"].end, coats["finish"].end) == (at(4, 12, "15:00"), at(4, 28, "15:00"))


def test_h_todays_two_five_days_of_two_and_fourteen_of_one_remain(midway: Court) -> None:
    assert midway.plan is not None
    remaining = Counter({MAY[7]: 2}) + each_day(MAY[8], MAY[12], 2) + each_day(MAY[13], MAY[26], 1)
    assert visits(midway.plan, "1-out", "finish") == remaining


def test_h_the_eight_days_past_are_asked_about_once(midway: Court) -> None:
    assert midway.plan is not None
    (question,) = [one for one in midway.plan.questions if one.key == "were_they_misted"]
    assert (question.values["days"], question.values["last"]) == (8, "2027-05-06")
    later = Court(midway.data, at(5, 8), list(midway.record), [], midway.plan).replan()
    assert [one for one in later.questions if one.key == "were_they_misted"] == []


# ------------------------------------------------------------------ coats laid sooner or later


def test_a_base_laid_two_days_late_carries_its_chain() -> None:
    # Wed 5 May + 13 days = 18 May: a Tuesday; misted 6, 7, 8 May.
    court = opened()
    court.now = at(5, 5, "16:00")
    court.finish("1-out", "base", at(5, 5, "15:00"), key="late")
    plan = court.replan()
    assert stands(plan, "1-out.base") == (MAY[5], State.DONE)
    assert stands(plan, "1-out.finish") == (MAY[18], State.FIRM)
    assert visits(plan, "1-out", "base") == each_day(MAY[6], MAY[8], 2)
    assert caused_by(change_of(plan, "1-out")) == "late"


def test_a_base_laid_four_days_late_moves_its_finish() -> None:
    # Fri 7 May + 13 days = Thu 20 May.
    court = opened()
    court.now = at(5, 7, "16:00")
    court.finish("1-out", "base", at(5, 7, "15:00"), key="late")
    plan = court.replan()
    assert stands(plan, "1-out.finish") == (MAY[20], State.FIRM)
    (change,) = changes_of_work(plan)
    assert (caused_by(change), change.id) == ("late", "1-out.base")
    assert "1-out.finish" in change.drags


def test_a_base_laid_before_its_day_brings_its_finish_forward() -> None:
    # Fri 30 April + 13 days = Thu 13 May; Ascension was the 6th.
    court = opened()
    court.now = at(4, 30, "16:00")
    court.finish("1-out", "base", at(4, 30, "15:30"), key="early")
    plan = court.replan()
    assert stands(plan, "1-out.base") == (date(2027, 4, 30), State.DONE)
    assert stands(plan, "1-out.finish") == (MAY[13], State.FIRM)
    assert visits(plan, "1-out", "base") == each_day(MAY[1], MAY[3], 2)
    assert caused_by(change_of(plan, "1-out")) == "early"


def test_a_finish_laid_too_soon_stands_and_is_warned_about() -> None:
    court = laid()
    court.now = at(5, 12, "16:00")
    court.finish("1-out", "finish", at(5, 12, "15:00"))
    plan = court.replan()
    assert stands(plan, "1-out.finish") == (MAY[12], State.DONE)
    warned = {one.key: one.values for one in plan.warnings}
    assert (warned["laid_early"]["waited"], warned["laid_early"]["least"]) == (9, 13)
    assert warned["laid_unheld"]["holds"] == "base-dry"


def test_taken_back_it_is_to_be_laid_again_and_the_correction_is_named() -> None:
    court = laid()
    court.replan(at(5, 3, "16:00"))
    court.correct(court.record[-1], "bo", key="not laid")
    plan = court.replan()
    assert coat(plan, "1-out.base").state is State.FIRM
    assert caused_by(change_of(plan, "1-out")) == "not laid"


def test_corrected_to_another_day_it_stands_there() -> None:
    court = laid()
    court.replan(at(5, 5, "16:00"))
    new = {"kind": "finished", "at": at(5, 4, "15:00").isoformat(), "face": "1-out", "data": {"task": "base"}}
    court.correct(court.record[-1], "bo", new, key="tuesday")
    plan = court.replan()
    assert stands(plan, "1-out.base") == (MAY[4], State.DONE)
    assert caused_by(change_of(plan, "1-out")) == "tuesday"


# ----------------------------------------------------------------------------- holds shut again


def test_a_pass_lapses_before_the_base_is_laid() -> None:
    # Read on 30 April, it counts to 7 May. The base is moved to Mon 10 May: conditional, to be read again.
    court = opened()
    court.now = at(5, 2)
    court.decide("move", "ida", face="1-out", coat="base", day=MAY[10], why="sand is late")
    plan = court.replan()
    base = coat(plan, "1-out.base")
    assert (day(base), base.state, base.holds) == (MAY[10], State.CONDITIONAL, ("1.panel-dry",))
    (reading,) = [one for one in plan.bookings if one.kind is Kind.READING]
    assert MAY[5] <= day(reading) <= MAY[10]


@pytest.mark.parametrize(
    ("kind", "face_id", "data", "key"),
    [
        ("reading", "1-in", probe(24.5), "hold_shut_reading"),
        ("rain-on-it", "1-out", {}, "hold_shut_rain"),
        ("rain-on-it", "1-in", {}, "hold_shut_rain"),
        ("finished", None, {"task": "set", "wall": "1"}, "hold_shut_set"),
        ("hold-refused", None, {"hold": "panel-dry", "wall": "1"}, "hold_shut_refused"),
        ("test", None, {"meter": "probe", "read": 18.0, "dried": 12.0}, "hold_shut_meter"),
    ],
)
def test_what_shuts_a_panel_that_was_met(kind: str, face_id: str | None, data: dict[str, Any], key: str) -> None:
    court = opened()
    court.now = at(5, 1, "10:00")
    court.say(kind, face_id, "near", data, key="shuts")
    plan = court.replan()
    base = coat(plan, "1-out.base")
    assert (day(base), base.state, base.holds) == (MAY[3], State.CONDITIONAL, ("1.panel-dry",))
    assert coat(plan, "1-out.finish").state is State.CONDITIONAL
    change = change_of(plan, "1-out")
    assert (change.reason.key, caused_by(change)) == (key, "shuts")
    (hold,) = [one for one in plan.holds if one.id == "1.panel-dry"]
    assert hold.state in (HoldState.UNMET, HoldState.REFUSED)


def test_what_came_in_late_shuts_it_as_well() -> None:
    # Rain of 13:30 that Near enters on Saturday: the word was given at 14:00 on what was read before the rain.
    court = one_wall()
    court.replan()
    court.now = at(4, 30, "14:00")
    court.check_meter(at=at(4, 30, "09:00"))
    court.read_all("1", at=at(4, 30, "10:00"))
    court.open_panel("1")
    court.replan()
    court.now = at(5, 1, "10:00")
    court.say("rain-on-it", "1-out", "near", {}, at=at(4, 30, "13:30"), key="late rain")
    plan = court.replan()
    assert coat(plan, "1-out.base").state is State.CONDITIONAL
    assert caused_by(change_of(plan, "1-out")) == "late rain"


@pytest.mark.parametrize("by", ["bo", "ida"])
def test_a_reading_taken_back_shuts_what_rested_on_it(by: str) -> None:
    court = opened()
    court.later(hours=2)
    reading = next(one for one in court.record if one.kind == "reading")
    court.correct(reading, by, key="taken back")
    plan = court.replan()
    assert coat(plan, "1-out.base").state is State.CONDITIONAL
    assert caused_by(change_of(plan, "1-out")) == "taken back"


def test_the_word_taken_back_shuts_it() -> None:
    court = opened()
    court.later(hours=2)
    court.correct(court.record[-1], "ida", key="taken back")
    plan = court.replan()
    assert coat(plan, "1-out.base").state is State.CONDITIONAL
    assert caused_by(change_of(plan, "1-out")) == "taken back"


def test_the_meters_check_taken_back_shuts_it() -> None:
    court = opened()
    court.later(hours=2)
    court.correct(court.record[0], "bo", key="taken back")
    plan = court.replan()
    assert coat(plan, "1-out.base").state is State.CONDITIONAL
    assert caused_by(change_of(plan, "1-out")) == "taken back"


def test_who_takes_back_a_wet_reading_opens_nothing() -> None:
    court = opened()
    court.now = at(5, 1, "10:00")
    wet = court.say("reading", "1-in", "bo", probe(24.5))
    court.replan()
    court.correct(wet, "bo")
    assert coat(court.replan(), "1-out.base").state is State.CONDITIONAL
    court.open_panel("1")
    assert coat(court.replan(), "1-out.base").state is State.FIRM


def test_the_lead_who_takes_it_back_opens_it() -> None:
    court = opened()
    court.now = at(5, 1, "10:00")
    wet = court.say("reading", "1-in", "bo", probe(24.5))
    court.replan()
    court.correct(wet, "ida")
    assert coat(court.replan(), "1-out.base").state is State.FIRM


def test_a_coat_that_was_laid_under_an_open_hold_is_not_blamed_for_what_came_after() -> None:
    court = laid()
    court.replan(at(5, 3, "16:00"))
    court.now = at(5, 4, "10:00")
    court.say("reading", "1-in", "bo", probe(24.5))
    plan = court.replan()
    assert [one for one in plan.warnings if one.key == "laid_unheld"] == []


def test_a_coat_laid_behind_a_shut_hold_is_blamed_though_it_was_opened_later() -> None:
    court = one_wall()
    court.replan()
    court.now = at(5, 3, "15:10")
    court.finish("1-out", "base", at(5, 3, "15:00"))
    court.replan()
    court.now = at(5, 4, "10:00")
    court.check_meter()
    court.read_all("1", sides=("in",))
    court.open_panel("1")
    (warned,) = [one for one in court.replan().warnings if one.key == "laid_unheld"]
    assert warned.values["holds"] == "panel-dry"


def test_what_passes_is_asked_about_only_while_it_counts() -> None:
    court = one_wall()
    court.now = at(4, 30, "14:00")
    court.check_meter()
    court.read_all("1")
    assert [one.key for one in court.replan().questions] == ["hold_waiting"]
    assert [one.key for one in court.replan(at(5, 9)).questions if one.key == "hold_waiting"] == []


def test_a_failed_test_after_a_met_hold_shuts_it() -> None:
    court = laid()
    court.now = at(5, 17, "10:00")
    court.replan()
    dry_base(court)
    assert stands(court.replan(), "1-out.finish") == (MAY[18], State.FIRM)
    court.later(hours=1)
    court.say("test", "1-out", "bo", {"test": "hollows", "passed": False, "coat": "base"}, key="hollow")
    plan = court.replan()
    finish = coat(plan, "1-out.finish")
    assert (finish.state, finish.holds) == (State.CONDITIONAL, ("1-out.base-dry",))
    assert (change_of(plan, "1-out").reason.key, caused_by(change_of(plan, "1-out"))) == ("hold_shut_test", "hollow")


# ------------------------------------------------------------------------------------ could not


def test_could_not_is_dated_from_the_day_after_tomorrow() -> None:
    court = laid()
    court.now = at(5, 17, "10:00")
    court.replan()
    dry_base(court)
    court.replan()
    court.now = at(5, 18, "07:30")
    data = {"coat": "finish", "day": "2027-05-18", "why": "driving rain"}
    court.say("could-not", "1-out", "ida", data, key="rained")
    plan = court.replan()
    assert stands(plan, "1-out.finish") == (MAY[20], State.FIRM)
    change = change_of(plan, "1-out")
    assert (change.reason.rule, change.reason.values["why"], caused_by(change)) == (
        "plan.could_not",
        "driving rain",
        "rained",
    )
    again = court.replan(at(5, 19, "06:00"))
    assert (stands(again, "1-out.finish"), again.revision) == ((MAY[20], State.FIRM), plan.revision)


def test_could_not_for_another_day_than_it_is_booked_is_refused() -> None:
    court = laid()
    court.now = at(5, 17, "10:00")
    court.replan()
    data = {"coat": "finish", "day": "2027-05-19", "why": "driving rain"}
    assert "finish is booked for 2027-05-18, not 2027-05-19" in court.refusal("could-not", "1-out", "ida", data)


# ----------------------------------------------------------------------------------------- keep


def late_base() -> Court:
    """Return a base laid on Fri 7 May, four days late, whose finish may come from Thu 20 May on."""
    court = opened()
    court.now = at(5, 7, "16:00")
    return court


def test_a_kept_finish_stays_against_its_wait() -> None:
    court = late_base()
    court.decide("keep", "ida", key="kept", face="1-out", coat="finish", day=MAY[18], why="scaffold goes")
    court.finish("1-out", "base", at(5, 7, "15:00"))
    plan = court.replan()
    finish = coat(plan, "1-out.finish")
    assert (day(finish), finish.reason.rule) == (MAY[18], "plan.keep")
    assert finish.reason.values["entry"] == "kept"
    (warned,) = [one for one in plan.warnings if one.rule == "plan.keep"]
    assert (warned.values["by"], warned.values["why"]) == ("Ida", "scaffold goes")
    assert stands(court.replan(at(5, 8, "06:00")), "1-out.finish")[0] == MAY[18]


def test_a_kept_finish_is_never_firm_behind_a_shut_hold() -> None:
    court = late_base()
    court.decide("keep", "ida", face="1-out", coat="finish", day=MAY[18], why="scaffold goes")
    court.finish("1-out", "base", at(5, 7, "15:00"))
    court.replan()
    on_the_day = court.replan(at(5, 18, "06:00"))
    finish = coat(on_the_day, "1-out.finish")
    assert (day(finish), finish.state, finish.holds) == (MAY[18], State.CONDITIONAL, ("1-out.base-dry",))
    # Unmet on its day it slides by at least 7 days, to Tue 25 May: the base can be judged before that.
    assert stands(court.replan(at(5, 19, "06:00")), "1-out.finish") == (MAY[25], State.FIRM)
    assert stands(court.replan(at(5, 20, "06:00")), "1-out.finish") == (MAY[25], State.CONDITIONAL)


def test_no_decision_keeps_what_waits_for_a_hold() -> None:
    court = one_wall()
    court.replan()
    text = court.decision_refused("keep", "ida", face="1-out", coat="base", day=MAY[3], why="scaffold goes")
    assert "1-out.base: waits for 1.panel-dry, and no decision opens a hold" in text


def test_a_kept_base_whose_panel_is_shut_later_is_conditional_and_slides() -> None:
    court = opened()
    court.decide("keep", "ida", face="1-out", coat="base", day=MAY[3], why="scaffold goes")
    court.now = at(5, 2, "10:00")
    court.say("reading", "1-in", "bo", probe(24.5))
    assert stands(court.replan(), "1-out.base") == (MAY[3], State.CONDITIONAL)
    assert stands(court.replan(at(5, 4, "06:00")), "1-out.base") == (MAY[10], State.CONDITIONAL)


def test_a_kept_coat_does_not_outlive_its_face() -> None:
    court = opened()
    court.decide("keep", "ida", face="1-out", coat="base", day=MAY[3], why="scaffold goes")
    court.replan()
    court.data["walls"][0]["faces"][0] |= {"ended": "2027-05-02"}
    del court.data["walls"][0]["faces"][0]["start"]
    plan = court.replan(at(5, 1, "10:00"))
    assert [one.id for one in plan.bookings if one.kind is Kind.COAT] == []


# ----------------------------------------------------------------------------------------- move


def moved_to(court: Court, to: date, coat_: str = "finish") -> Plan:
    court.decide("move", "ida", key="moved", face="1-out", coat=coat_, day=to, why="crew is elsewhere")
    return court.replan()


def test_moved_later_it_stays_and_its_chain_follows() -> None:
    court = laid()
    court.replan(at(5, 5))
    plan = moved_to(court, MAY[24])
    assert stands(plan, "1-out.finish") == (MAY[24], State.FIRM)
    # 24 May + 28 days = 21 June, 22-28 June dry: Tue 29 June.
    assert stands(plan, "1-out.paint-1")[0] == date(2027, 6, 29)
    change = change_of(plan, "1-out")
    assert (change.reason.rule, caused_by(change)) == ("plan.move", "moved")
    assert stands(court.replan(at(5, 13)), "1-out.finish")[0] == MAY[24]
    assert court.plan is not None
    assert court.plan.revision == plan.revision


def test_moved_earlier_where_its_rules_let_it() -> None:
    court = laid()
    court.replan(at(5, 5))
    moved_to(court, MAY[28])
    court.later(hours=1)
    court.decide("move", "ida", key="back", face="1-out", coat="finish", day=MAY[20], why="crew is back")
    plan = court.replan()
    assert stands(plan, "1-out.finish") == (MAY[20], State.FIRM)
    assert caused_by(change_of(plan, "1-out")) == "back"


def test_moved_to_where_its_wait_is_not_over_is_refused() -> None:
    court = laid()
    court.replan(at(5, 5))
    text = court.decision_refused("move", "ida", face="1-out", coat="finish", day=MAY[14], why="crew is here")
    assert "2027-05-14 is too early, by its rules not before 2027-05-16" in text
    assert "a decision shortens no wait" in text


def test_moved_to_a_day_without_work_is_refused() -> None:
    court = laid()
    court.replan(at(5, 5))
    text = court.decision_refused("move", "ida", face="1-out", coat="finish", day=MAY[17], why="crew is here")
    assert "2027-05-17 is a day off; the next working day is 2027-05-18" in text


def test_a_coat_put_off_by_rain_is_not_moved_against_its_wait() -> None:
    court = laid()
    court.now = at(5, 17, "10:00")
    court.replan()
    dry_base(court)
    court.replan()
    court.now = at(5, 18, "07:30")
    data = {"coat": "finish", "day": "2027-05-18", "why": "driving rain"}
    court.say("could-not", "1-out", "ida", data)
    court.replan()
    plan = moved_to(court, MAY[19])
    assert stands(plan, "1-out.finish") == (MAY[19], State.FIRM)


def test_moved_onto_today_it_does_not_begin_in_the_past() -> None:
    court = laid()
    court.now = at(5, 17, "10:00")
    dry_base(court)
    court.replan()
    moved_to(court, MAY[24])
    court.now = at(5, 20, "09:40")
    plan = court.replan()
    court.decide("move", "ida", face="1-out", coat="finish", day=MAY[20], why="the crew is here")
    plan = court.replan()
    finish = coat(plan, "1-out.finish")
    assert finish.start >= court.now
    assert day(finish) >= MAY[20]


def test_moved_onto_tomorrow_before_anybody_is_told() -> None:
    court = laid()
    court.now = at(5, 17, "10:00")
    dry_base(court)
    court.replan()
    moved_to(court, MAY[24])
    court.now = at(5, 20, "12:00")
    court.replan()
    court.decide("move", "ida", key="on", face="1-out", coat="finish", day=MAY[21], why="the crew is here")
    plan = court.replan()
    assert stands(plan, "1-out.finish") == (MAY[21], State.FIRM)
    assert caused_by(change_of(plan, "1-out")) == "on"


def test_when_its_day_has_passed_a_move_says_nothing_more() -> None:
    # Nobody said that it was laid on 24 May: dated anew from the day after tomorrow, and asked about.
    court = laid()
    court.now = at(5, 17, "10:00")
    dry_base(court)
    court.replan()
    moved_to(court, MAY[24])
    plan = court.replan(at(5, 25, "06:00"))
    finish = coat(plan, "1-out.finish")
    assert (day(finish), finish.reason.rule) == (MAY[27], "plan.unconfirmed")
    assert [one.key for one in plan.questions if "1-out" in one.faces][:1] == ["was_it_laid"]


def test_done_work_is_moved_by_nobody() -> None:
    court = laid()
    court.replan(at(5, 5))
    text = court.decision_refused("move", "ida", face="1-out", coat="base", day=MAY[10], why="x")
    assert "done work never moves" in text


# --------------------------------------------------------------------------- turns of the rounds


def weekdays_only() -> Court:
    """Return a laid base whose Sunday rounds nobody has: Near mists Monday to Friday."""
    court = opened()
    court.data["people"][0]["hours"] = {"mon-fri": "07:00-20:00", "holiday": "07:00-20:00"}
    court.now = at(5, 6, "16:00")
    court.finish("1-out", "base", at(5, 6, "15:00"))
    court.replan()
    return court


def takers(plan: Plan, on: date) -> dict[str, tuple[str, ...]]:
    return {str(one.slot): one.who for one in plan.rounds if day(one) == on}


def test_a_sunday_that_nobody_has_is_given_to_somebody() -> None:
    court = weekdays_only()
    assert court.plan is not None
    assert takers(court.plan, MAY[9]) == {"early": (), "late": ()}
    assert "unnamed_round" in [one.key for one in court.plan.warnings]
    court.decide("assign", "ida", key="sunday", to="bo", first=MAY[9], last=MAY[9])
    plan = court.replan()
    assert takers(plan, MAY[9]) == {"early": ("bo",), "late": ("bo",)}
    changed = [one for one in plan.changes if one.kind is Kind.ROUND]
    assert {caused_by(one) for one in changed} == {"sunday"}
    assert all(day(one) != MAY[9] for one in plan.bookings if one.kind is Kind.COAT)


def test_only_the_round_that_was_given() -> None:
    court = weekdays_only()
    court.decide("assign", "ida", to="bo", first=MAY[9], last=MAY[9], slot="late")
    assert takers(court.replan(), MAY[9]) == {"early": (), "late": ("bo",)}


def test_who_passes_on_a_spell_takes_nothing_from_who_was_given_a_day_of_it() -> None:
    # Ida gave Sunday to Bo; Near passes Friday to Monday on to Ida: Sunday was not Near's.
    court = weekdays_only()
    court.decide("assign", "ida", to="bo", first=MAY[9], last=MAY[9])
    court.replan()
    court.later(minutes=1)
    court.say("passed-on", None, "near", {"to": "ida", "first": "2027-05-07", "last": "2027-05-10"})
    assert takers(court.replan(), MAY[9]) == {"early": ("bo",), "late": ("bo",)}


def test_a_spell_is_passed_on_and_no_day_more() -> None:
    court = laid()
    court.replan(at(5, 3, "16:00"))
    court.now = at(5, 17, "10:00")
    dry_base(court)
    court.now = at(5, 18, "15:10")
    court.finish("1-out", "finish", at(5, 18, "15:00"))
    before = court.replan()
    weekend = [MAY[22], MAY[23]]
    assert all(set(takers(before, on).values()) == {("near",)} for on in (MAY[21], *weekend, MAY[28]))
    court.say("passed-on", None, "near", {"to": "bo", "first": "2027-05-22", "last": "2027-05-23"}, key="spell")
    plan = court.replan()
    for on in each_day(MAY[19], MAY[28], 1):
        if on in weekend:
            assert set(takers(plan, on).values()) == {("bo",)}, on
        else:
            assert takers(plan, on) == takers(before, on), on
    turned = [one for one in plan.changes if one.kind is Kind.ROUND]
    assert {caused_by(one) for one in turned} == {"spell"}


def test_passed_back_before_its_day_it_is_theirs_again() -> None:
    court = laid()
    before = court.replan(at(5, 3, "16:00"))
    court.say("passed-on", None, "near", {"to": "bo", "first": "2027-05-05", "last": "2027-05-05"})
    court.replan()
    court.later(minutes=1)
    court.say("passed-on", None, "bo", {"to": "near", "first": "2027-05-05", "last": "2027-05-05"})
    assert takers(court.replan(), MAY[5]) == takers(before, MAY[5])


# --------------------------------------------------------------------------------- midday looks


def test_a_midday_look_is_ticked_like_any_visit() -> None:
    # A finish on the south without cloth is looked at about midday.
    court = Court(
        recorded_job(wall("1", face(facing="S", cloth=False, start="2027-05-03"), dry="2027-04-28")), at(4, 30, "06:00")
    )
    court.replan()
    court.now = at(5, 17, "10:00")
    court.finish("1-out", "base", at(5, 3, "15:00"))
    dry_base(court)
    court.now = at(5, 18, "15:10")
    court.finish("1-out", "finish", at(5, 18, "15:00"))
    plan = court.replan()
    (midday,) = [one for one in plan.rounds if day(one) == MAY[19] and one.slot == "midday"]
    court.now = at(5, 19, "14:00")
    court.say("damp", "1-out", "bo", tick(MAY[19], "midday", "finish"), at=at(5, 19, "13:00"))
    after = court.replan()
    (there,) = [one for one in after.rounds if one.uid == midday.uid]
    assert (there.state, after.changes) == (State.DONE, ())


# -------------------------------------------------------------------------------------- two sites


def test_times_are_local_to_each_site() -> None:
    """Monday 14:30 in Amsterdam is Tuesday 00:30 in Auckland: the day of its own site counts."""
    far = {"id": "far", "name": "Far Yard", "latitude": -36.8, "longitude": 174.8, "time_zone": "Pacific/Auckland"}
    data = recorded_job(
        wall("1", face(start="2027-05-03"), site="court", panel=PANEL),
        wall("2", face(start="2027-05-03"), site="far", panel=PANEL),
    )
    data["sites"].append(far)
    court = Court(data, at(5, 3, "15:30"))
    closed = at(5, 3, "14:30")
    for number in ("1", "2"):
        court.finish(f"{number}-out", "base", closed, key=f"base {number}")
    plan = court.replan()
    days = {face_.id: next(one.day for one in face_.coats if one.coat == "base") for face_ in plan.faces}
    assert days == {"1-out": MAY[3], "2-out": MAY[4]}
    assert coat(plan, "2-out.base").end == closed
    first = {
        number: min(
            walk.start.astimezone(ZoneInfo(walk.zone)).date()
            for walk in plan.rounds
            for one in walk.visits
            if one.face == f"{number}-out"
        )
        for number in ("1", "2")
    }
    assert first == {"1": MAY[4], "2": MAY[5]}
    causes = court.evidence().done
    assert (causes["1-out.base"].cause.clock, causes["2-out.base"].cause.clock) == ("14:30", "00:30")
    early = {"coat": "base", "day": "2027-05-04", "slot": "early"}
    assert "none is due on 2027-05-04" in court.refusal("misted", "2-out", "near", early)
