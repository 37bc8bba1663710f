"""Dates worked out on paper with the default rules, so that everybody counts days alike.

The expected values are arithmetic by hand; beside each stands the rule and the rule's source.
All at 52.1 N 5.2 E, on the clock of Amsterdam, with the holidays of the Netherlands in 2027:
27 April King's Day, 6 May Ascension, 16 and 17 May Pentecost. The crew works Monday to Friday.

Counting: the laying day is day 0, day k is k calendar days later; a wait of n days is over at
the start of day n; visits begin on day 1. Misting knows no weekend or holiday; coats do.
"""

from __future__ import annotations

from collections import Counter
from datetime import UTC, date, datetime
from typing import Any

import pytest
from court import (
    AMSTERDAM,
    DAY,
    WORDS,
    about,
    at,
    changes_of_work,
    coat,
    dates,
    day,
    each_day,
    face,
    job_file,
    planned,
    visits,
    wall,
)  # fmt: skip
from jobs import read

from curing.errors import FileError
from curing.model.plan import HoldState, Kind, Plan, Slot, State
from curing.planning.check import check
from curing.workflow.planning import next_plan

# --------------------------------------------------- A. one face, nothing in the way


@pytest.fixture(scope="module")
def nothing_in_the_way() -> Plan:
    data = job_file(wall("1", face(start="2027-05-03"), dry="2027-04-28"))
    return planned(data, at(4, 30, "12:00"))


@pytest.mark.parametrize(
    ("task", "on"),
    [
        # Worked example A, arithmetic by hand.
        pytest.param("base", date(2027, 5, 3), id="base: the first working day (job.start)"),
        # finish.least_wait 10 d (guide to wetting plaster on straw bale) and finish.least_wait_per_mm
        # 1 d/mm of 13 mm (trade lexicon, standing time): 13 days, Sun 16 May, then Pentecost Monday.
        pytest.param("finish", date(2027, 5, 18), id="finish: 13 days, a Sunday, a holiday"),
        # paint-1.dry_days 7 d (common practice, no source): last mist 15 June, 16-22 June stay dry.
        pytest.param("paint-1", date(2027, 6, 23), id="paint: seven dry days after the last mist"),
        # paint-2.least_wait 1 d (common practice, no source).
        pytest.param("paint-2", date(2027, 6, 24), id="second paint: 24 h later"),
    ],
)
def test_a_days_of_the_coats(nothing_in_the_way: Plan, task: str, on: date):
    booking = coat(nothing_in_the_way, f"1-out.{task}")
    assert (day(booking), booking.state) == (on, State.FIRM)


def test_a_the_finish_could_come_on_sunday_16_may_by_its_rules(nothing_in_the_way: Plan):
    # Worked example A: the greater of 10 days and 13 mm x 1 d/mm; then a Sunday and Pentecost Monday.
    finish = coat(nothing_in_the_way, "1-out.finish")
    assert finish.ready == date(2027, 5, 16)
    assert finish.reason.rule == "finish.least_wait_per_mm"
    assert Counter({one.cause: one.days for one in finish.reason.skipped}) == {"weekend": 1, "holiday": 1}


def test_a_the_base_is_misted_six_times_also_on_ascension_day(nothing_in_the_way: Plan):
    # Worked example A; base.twice_to 3 d (public-works specification, clause 10.10).
    expected = each_day(date(2027, 5, 4), date(2027, 5, 6), 2)
    assert visits(nothing_in_the_way, "1-out", "base") == expected
    assert dates(nothing_in_the_way, "1-out", "base").visits == expected.total() == 6


def test_a_the_finish_is_misted_42_times(nothing_in_the_way: Plan):
    # Worked example A; finish.twice_to 14 d and finish.once_to 28 d (common practice, no source).
    twice = each_day(date(2027, 5, 19), date(2027, 6, 1), 2)
    once = each_day(date(2027, 6, 2), date(2027, 6, 15), 1)
    assert (twice.total(), once.total()) == (28, 14)
    assert visits(nothing_in_the_way, "1-out", "finish") == twice + once
    told = dates(nothing_in_the_way, "1-out", "finish")
    assert (told.first_visit, told.last_visit, told.visits) == (date(2027, 5, 19), date(2027, 6, 15), 42)
    counted = {(day(w) - date(2027, 5, 18)).days - v.day for w in nothing_in_the_way.rounds for v in w.visits[:1]}
    assert counted == {0, -15}  # from the laying day of the finish; that of the base is 15 days earlier


def test_a_twice_a_day_means_once_early_and_once_late(nothing_in_the_way: Plan):
    # Worked example A ("early and late").
    walks = {(day(walk), walk.slot) for walk in nothing_in_the_way.rounds}
    expected = each_day(date(2027, 5, 4), date(2027, 5, 6), 2) + each_day(date(2027, 5, 19), date(2027, 6, 1), 2)
    assert {one for one in walks if one[0] in expected} == {(d, s) for d in expected for s in (Slot.EARLY, Slot.LATE)}


def test_a_a_visit_takes_nine_minutes_and_three_litres(nothing_in_the_way: Plan):
    # Worked example A; visit.setup 5 min and 10 m2 at visit.rate 3 m2/min: 8.3, rounded up; visit.water
    # 0.3 L/m2 (all three from memory, unverified); 42 visits of 3 L make 126 L.
    sizes = {(one.minutes, one.water) for walk in nothing_in_the_way.rounds for one in walk.visits}
    assert sizes == {(9, 3.0)}
    assert dates(nothing_in_the_way, "1-out", "finish").water == 126.0


def test_a_the_hours_are_full_on_tuesday_15_june_at_15():
    # Worked example A; finish.hours 672 h (common practice, no source) after closing at 15:00 on 18 May.
    done = {"base": "2027-05-03 15:00", "finish": "2027-05-18 15:00"}
    held = {"base-dry": "2027-05-17"}
    data = job_file(wall("1", face(done=done, holds=held), dry="2027-04-28"))
    plan = planned(data, at(5, 19))
    assert dates(plan, "1-out", "finish").full == at(6, 15, "15:00")
    assert day(coat(plan, "1-out.paint-1")) == date(2027, 6, 23)


def test_a_paint_before_13_july_is_warned_about_and_not_stopped(nothing_in_the_way: Plan):
    # Worked example A; paint-1.warn_age 56 d after 18 May (guide to painting newly lime-plastered walls).
    (warned,) = [one for one in nothing_in_the_way.warnings if one.rule == "paint-1.warn_age"]
    assert (warned.values["from_day"], warned.values["age"]) == ("2027-07-13", 36)
    assert coat(nothing_in_the_way, "1-out.paint-1").state is State.FIRM


# --------------------------------------------------- B. a hold that nobody records


@pytest.fixture(scope="module")
def unrecorded() -> list[Plan]:
    """Return the plans as they follow one another: nobody reads the panel until Wed 12 May."""
    data = job_file(wall("1", face(start="2027-05-03")))
    plans = [planned(data, at(3, 1))]
    plans.append(planned(data, at(5, 4), plans[-1]))
    plans.append(planned(data, at(5, 11), plans[-1]))
    plans.append(planned(read_on_12_may(data), at(5, 12, "12:00"), plans[-1]))
    return plans


def read_on_12_may(data: dict[str, Any]) -> dict[str, Any]:
    return {**data, "walls": [{**data["walls"][0], "holds": {"panel-dry": "2027-05-12"}}]}


SLIDES = [
    # Worked example B, arithmetic by hand; a hold still unmet on the day of the work slides its chain
    # to the first fit day at least 7 days on; hold panel-dry (IRC Appendix AR 104.1.1, from memory).
    (0, date(2027, 5, 3), date(2027, 5, 18), State.CONDITIONAL),
    (1, date(2027, 5, 10), date(2027, 5, 24), State.CONDITIONAL),  # 23 May is a Sunday
    (2, date(2027, 5, 18), date(2027, 5, 31), State.CONDITIONAL),  # 17 May is a holiday
    (3, date(2027, 5, 14), date(2027, 5, 27), State.FIRM),  # not tomorrow: nobody is surprised
]


@pytest.mark.parametrize(("step", "base", "finish", "state"), SLIDES)
def test_b_the_chain_slides_until_the_panel_is_read(
    unrecorded: list[Plan], step: int, base: date, finish: date, state: State
):
    plan = unrecorded[step]
    booked = [coat(plan, f"1-out.{task}") for task in ("base", "finish")]
    assert [day(one) for one in booked] == [base, finish]
    assert {one.state for one in booked} == {state}


@pytest.mark.parametrize("step", [0, 1, 2])
def test_b_all_behind_the_hold_is_conditional_and_names_it(unrecorded: list[Plan], step: int):
    plan = unrecorded[step]
    assert {one.state for one in plan.bookings if one.kind in (Kind.COAT, Kind.LOOK, Kind.COVER)} == {State.CONDITIONAL}
    assert {walk.state for walk in plan.rounds} == {State.CONDITIONAL}
    assert {one.conditional for walk in plan.rounds for one in walk.visits} == {True}
    assert coat(plan, "1-out.base").holds == ("1.panel-dry",)
    assert {hold.id: hold.state for hold in plan.holds}["1.panel-dry"] is HoldState.UNMET


@pytest.mark.parametrize("step", [1, 2, 3])
def test_b_each_slide_is_one_change(unrecorded: list[Plan], step: int):
    plan = unrecorded[step]
    (change,) = changes_of_work(plan)
    assert change.id == "1-out.base"
    assert change.old is not None
    assert change.new is not None
    assert change.old.start == coat(unrecorded[step - 1], "1-out.base").start
    assert change.new.start == coat(plan, "1-out.base").start
    assert {"1-out.finish", "1-out.paint-1", "1-out.paint-2"} <= set(change.drags)
    assert [one.id for one in plan.changes if "1-out" in one.faces] == ["1-out.base"]


@pytest.mark.parametrize("step", [1, 2])
def test_b_a_slide_says_that_it_is_one_and_behind_which_hold(unrecorded: list[Plan], step: int):
    (change,) = changes_of_work(unrecorded[step])
    assert (change.reason.rule, change.reason.bound) == ("plan.slide", "1.panel-dry")


@pytest.mark.parametrize("step", [1, 2])
def test_b_nobody_is_sent_to_mist_a_base_that_the_hold_kept_from_being_laid(unrecorded: list[Plan], step: int):
    laid = SLIDES[step][1]
    assert min(visits(unrecorded[step], "1-out", "base")) == laid + DAY


@pytest.mark.parametrize("step", [1, 2, 3])
def test_b_every_plan_after_the_first_is_sound_too(unrecorded: list[Plan], step: int):
    now = unrecorded[step].as_of
    data = job_file(wall("1", face(start="2027-05-03")))
    assert check(read(read_on_12_may(data) if step == 3 else data, now), unrecorded[step]) == []


def test_b_the_reading_is_the_reason_for_coming_forward(unrecorded: list[Plan]):
    (change,) = changes_of_work(unrecorded[3])
    assert (change.reason.bound, change.reason.key) == ("1.panel-dry", "hold_met")
    assert {hold.id: hold.met for hold in unrecorded[3].holds}["1.panel-dry"] == date(2027, 5, 12)


def test_b_a_slide_is_seven_days_and_not_to_the_next_monday():
    # A hold still unmet on Tue 4 May slides its chain to the first fit day at least 7 days on: Tue 11 May.
    data = job_file(wall("1", face(start="2027-05-04")))
    first = planned(data, at(3, 1))
    assert day(coat(first, "1-out.base")) == date(2027, 5, 4)
    assert day(coat(planned(data, at(5, 5), first), "1-out.base")) == date(2027, 5, 11)


# --------------------------------------------------- C. clock change


@pytest.fixture(scope="module")
def october() -> Plan:
    done = {"base": "2027-10-04 15:00", "finish": "2027-10-18 15:00"}
    data = job_file(wall("1", face(done=done, holds={"base-dry": "2027-10-17"})), near={"mon-sun": "07:30-18:00"})
    for person in data["people"][1:]:
        person["roles"] = ["lead"]
    return planned(data, at(10, 18, "20:00"))


def test_c_visits_go_on_twice_a_day_to_1_november(october: Plan):
    # Worked example C; finish.twice_to 14 d (common practice, no source).
    counted = visits(october, "1-out", "finish")
    twice = [d for d, number in counted.items() if number == 2]
    assert (min(twice), max(twice), len(twice)) == (date(2027, 10, 19), date(2027, 11, 1), 14)


@pytest.mark.parametrize(
    ("on", "utc"), [pytest.param(date(2027, 10, 30), 5, id="summer"), pytest.param(date(2027, 10, 31), 6, id="winter")]
)
def test_c_the_early_round_stays_at_half_past_seven(october: Plan, on: date, utc: int):
    # Worked example C: 07:30 is 05:30 UTC on Sat 30 Oct and 06:30 UTC on Sun 31 Oct (EU Directive 2000/84/EC).
    (early,) = [walk for walk in october.rounds if day(walk) == on and walk.slot is Slot.EARLY]
    assert early.start == datetime(2027, 10, on.day, utc, 30, tzinfo=UTC)
    assert early.start.astimezone(AMSTERDAM).strftime("%H:%M") == "07:30"


# --------------------------------------------------- D. rounds


@pytest.fixture(scope="module")
def four_sides() -> Plan:
    """Return the plan on whose Monday 7 June the east finish is on day 5, the other three on day 20."""
    sides = [("n", "N", 20), ("e", "E", 5), ("s", "S", 20), ("w", "W", 20)]
    walls = []
    for name, facing, old in sides:
        laid = date(2027, 6, 7) - old * DAY
        done = {"base": f"{laid - 14 * DAY} 15:00", "finish": f"{laid} 15:00"}
        walls.append(wall(name, face(facing, done=done, holds={"base-dry": str(laid)})))
    return planned(job_file(*walls), at(6, 6, "21:30"))


def test_d_five_visits_on_two_walks_in_walking_order(four_sides: Plan):
    # Worked example D: early E, S, W (of E, S, W, N), late N, E (of N, E, S, W); faces visited once a day
    # join: E and N late, S and W early (common practice, no source).
    monday = [walk for walk in four_sides.rounds if day(walk) == date(2027, 6, 7)]
    walked = {walk.slot: [one.face[0] for one in walk.visits] for walk in monday}
    assert walked == {Slot.EARLY: ["e", "s", "w"], Slot.LATE: ["n", "e"]}
    assert len(monday) == 2
    assert sum(len(faces) for faces in walked.values()) == 5


def test_d_once_all_are_visited_once_a_day_two_walks_become_one(four_sides: Plan):
    # A face that is visited once a day never opens a walk. East is on day 15 on 17 June (others on 30): alone.
    counted = visits(four_sides, "e-out", "finish")
    assert counted[date(2027, 6, 16)] == 2
    assert counted[date(2027, 6, 17)] == 1
    assert len([walk for walk in four_sides.rounds if day(walk) == date(2027, 6, 17)]) == 1


# --------------------------------------------------- E. back from the season line


def with_season(**season: Any) -> Plan:
    thick = wall("1", face(start="2027-05-03"), panel={"thickness": "300 mm"})
    return planned(job_file(thick, season={"finish_by": "2027-09-22", **season}), at(4, 30))


@pytest.mark.parametrize(
    ("drying", "fill_by", "late"),
    [
        # Worked example E: 300 mm = 11.81 in at 7 days an inch make 82.7, 83 days (panel.drying, rule of
        # thumb, no source); x1.8 (panel.likely_late, one observed panel) make 149.
        pytest.param(1.0, date(2027, 6, 18), date(2027, 4, 13), id="factor 1: 83 and 149 days"),
        # With 0.71, July of a damp lowland, in every month: 116.5, 117 days; x1.8: 209.7, 210 days.
        pytest.param(0.71, date(2027, 5, 15), date(2027, 2, 11), id="factor 0.71: 117 and 210 days"),
    ],
)
def test_e_the_last_day_to_fill_the_panel(drying: float, fill_by: date, late: date):
    months = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
    season = about(with_season(drying=dict.fromkeys(months, drying)), "1-out").season
    assert season is not None
    assert (season.line, season.base_by) == (date(2027, 9, 22), date(2027, 9, 9))  # 13 days before, a Thursday
    assert (season.fill_by, season.fill_by_late) == (fill_by, late)


def test_e_without_factors_1_is_used_and_said():
    plan = with_season()
    season = about(plan, "1-out").season
    assert season is not None
    assert (season.fill_by, season.factors) == (date(2027, 6, 18), False)
    assert (season.finish, season.spare) == (date(2027, 5, 18), 127)  # worked example A; to 22 September
    assert "panel.drying" in {one.rule for one in plan.warnings}


# --------------------------------------------------- F. too big for a day


def of_areas(*areas: str) -> dict[str, Any]:
    walls = (
        wall(str(k), face(area=area, start="2027-05-03"), dry="2027-04-29") for k, area in enumerate(areas, start=1)
    )
    return job_file(*walls)


def test_f_a_face_of_20_m2_is_refused_for_a_crew_of_two():
    # Worked example F: base.wet_edge 8 m2 a person and day (common practice, no source), two people: 16 m2.
    with pytest.raises(FileError) as error:
        read(of_areas("20 m2"), at(4, 30))
    (problem,) = error.value.problems
    assert "split it at a natural break" in problem.text
    assert "20 m2" in problem.text
    assert "16 m2" in problem.text
    assert "base.wet_edge" in problem.text


@pytest.mark.parametrize(
    ("areas", "days"),
    [
        # Worked example F: 10 + 10 exceed 16 m2; 8 + 8 do not.
        pytest.param(("10 m2", "10 m2"), {date(2027, 5, 3), date(2027, 5, 4)}, id="10 and 10 on two days"),
        pytest.param(("8 m2", "8 m2"), {date(2027, 5, 3)}, id="8 and 8 share a day"),
    ],
)
def test_f_what_a_crew_of_two_lays_in_a_day(areas: tuple[str, ...], days: set[date]):
    plan = planned(of_areas(*areas), at(4, 30))
    assert {day(one) for one in plan.bookings if one.task == "base"} == days


def test_f_16_4_m2_do_not_share_a_day_though_the_hours_would_last():
    # Worked example F: 16 m2 are what two people keep wet-edged in a day; 17 hours would last for 16.4 m2.
    job = read(of_areas("8.2 m2", "8.2 m2"), at(4, 30))
    plan, _ = next_plan(job, None, at(4, 30), WORDS)
    assert {day(one) for one in plan.bookings if one.task == "base"} == {date(2027, 5, 3), date(2027, 5, 4)}


# --------------------------------------------------- H. mid-way start


@pytest.fixture(scope="module")
def midway() -> tuple[dict[str, Any], Plan]:
    done = {"base": "2027-04-12 15:00", "finish": "2027-04-28 15:00"}
    data = job_file(wall("1", face(done=done, holds={"base-dry": "2027-04-27"})))
    return data, planned(data, at(5, 7))


def test_h_what_is_done_stays_and_nobody_lays_it_again(midway: tuple[dict[str, Any], Plan]):
    # Worked example H; done work never moves.
    plan = midway[1]
    coats = {one.task: one for one in plan.bookings if one.kind is Kind.COAT}
    assert {task: one.state for task, one in coats.items()} == {
        "base": State.DONE,
        "finish": State.DONE,
        "paint-1": State.FIRM,
        "paint-2": State.FIRM,
    }
    assert (coats["base"].end, coats["finish"].end) == (at(4, 12, "15:00"), at(4, 28, "15:00"))


def test_h_todays_two_then_five_days_of_two_and_fourteen_of_one_remain(midway: tuple[dict[str, Any], Plan]):
    # Worked example H: Fri 7 May is day 9; days 10-14 twice, days 15-28 (to 26 May) once.
    remaining = visits(midway[1], "1-out", "finish")
    today = Counter({date(2027, 5, 7): 2})
    twice = each_day(date(2027, 5, 8), date(2027, 5, 12), 2)
    once = each_day(date(2027, 5, 13), date(2027, 5, 26), 1)
    assert (twice.total(), once.total()) == (10, 14)
    assert remaining == today + twice + once
    assert visits(midway[1], "1-out", "base") == Counter()


def test_h_paint_follows_the_last_mist_as_if_it_had_been_planned(midway: tuple[dict[str, Any], Plan]):
    # Last mist 26 May, seven dry days to 2 June: Thu 3 June and Fri 4 June.
    plan = midway[1]
    assert [day(coat(plan, f"1-out.{task}")) for task in ("paint-1", "paint-2")] == [date(2027, 6, 3), date(2027, 6, 4)]


def test_h_the_eight_days_past_are_asked_about_once(midway: tuple[dict[str, Any], Plan]):
    # Worked example H: 29 April to 6 May, 8 days, are past and unconfirmed.
    data, plan = midway
    (asked,) = [one for one in plan.questions if "1-out" in one.faces]
    assert (asked.values["days"], asked.values["first"], asked.values["last"]) == (8, "2027-04-29", "2027-05-06")
    later = planned(data, at(5, 8), plan)
    assert [one for one in later.questions if one.key == asked.key] == []
