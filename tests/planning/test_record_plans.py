"""How a plan follows what is said and decided: days counted by hand, one plan after another.

Worked examples by the default rules at 52.1 N 5.2 E on the clock of Amsterdam, with the holidays of the
Netherlands in 2027: 6 May Ascension, 16 and 17 May Pentecost. Laying day is day 0; the finish waits 13 days
for a base of 13 mm; visits begin on day 1.
"""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta
from typing import Any

import pytest
from court import at, changes_of_work, coat, day, each_day, face, visits, wall
from court_record import Court, caused_by, change_of, probe, recorded_job
from court_steps import MAY, PANEL, dry_base, laid, one_wall, opened, stands, tick

from curing.model.plan import HoldState, Kind, Plan, State

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
    # What was read wet is not read again for a week: 8 May is a Saturday.
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
