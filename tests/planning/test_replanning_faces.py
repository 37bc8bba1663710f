"""Walls renamed, added, ended, shuffled, late for the season: only what the news touches moves.

Three faces of 10 m2, a crew of two that lays 16 m2 a day at most: bases on Mon 3, Tue 4 and Wed
5 May 2027, finishes on Tue 18, Wed 19 and Thu 20 May (13 days later, after Pentecost Monday).
"""

from __future__ import annotations

import itertools
import json
from datetime import date, datetime, timedelta
from typing import Any

import pytest
from court import (
    AMSTERDAM,
    CREW,
    DAY,
    FRIDAY,
    WORDS,
    about,
    at,
    changes_of_work,
    coat,
    day,
    days_of_coats,
    edit,
    face,
    first_plan,
    job_file,
    moved,
    of_face,
    of_person,
    of_wall,
    planned,
    three_walls,
    visits,
    wall,
)  # fmt: skip
from jobs import read

from curing.errors import CuringError
from curing.model.job import Job
from curing.model.plan import Kind, Plan, Slot, State
from curing.planning.check import check
from curing.publish import plan_json
from curing.workflow.planning import next_plan


@pytest.fixture(scope="module")
def told() -> Plan:
    """Return what people were told on Friday 30 April."""
    return first_plan()


# ------------------------------------------------------------------- names


def test_a_renamed_wall_keeps_every_uid(told: Plan):
    data = edit(of_wall(2, id="b", was="2"))
    plan = planned(data, FRIDAY, told)
    assert {one.uid for one in plan.everything()} == {one.uid for one in told.everything()}
    assert {hold.uid for hold in plan.holds} == {hold.uid for hold in told.holds}
    assert coat(plan, "b-out.base").uid == coat(told, "2-out.base").uid
    assert coat(plan, "b-out.base").start == coat(told, "2-out.base").start
    assert check(read(data, FRIDAY), plan) == []


def test_a_wall_renamed_twice_is_still_the_same_without_saying_so_for_ever(told: Plan):
    second = planned(edit(of_wall(2, id="b", was="2")), FRIDAY, told)
    third = planned(edit(of_wall(2, id="b")), FRIDAY + DAY, second)
    fourth = planned(edit(of_wall(2, id="c", was="b")), FRIDAY + DAY, third)
    assert {one.uid for one in fourth.everything()} == {one.uid for one in told.everything()}


def test_a_new_wall_under_the_old_name_of_another_is_not_that_wall(told: Plan):
    def change(data: dict[str, Any]) -> None:
        data["walls"][1] |= {"id": "b", "was": "2"}

    renamed = planned(edit(change), FRIDAY, told)

    def and_a_new_2(data: dict[str, Any]) -> None:
        data["walls"][1]["id"] = "b"
        data["walls"].append(wall("2", face(), dry="2027-04-30"))

    data = edit(and_a_new_2)
    plan = planned(data, FRIDAY, renamed)
    assert coat(plan, "b-out.base").uid == coat(told, "2-out.base").uid
    assert coat(plan, "2-out.base").uid != coat(told, "2-out.base").uid
    assert check(read(data, FRIDAY), plan) == []


def test_a_renamed_person_keeps_the_rounds(told: Plan):
    data = edit(of_person("near", id="vera", was="near"))
    plan = planned(data, FRIDAY, told)
    assert {one.uid for one in plan.rounds} == {one.uid for one in told.rounds}
    assert {one.who for one in told.rounds if one.who == ("near",)} == {("near",)}
    assert {(one.start, one.who == ("vera",)) for one in plan.rounds} == {
        (one.start, one.who == ("near",)) for one in told.rounds
    }


# ------------------------------------------------------------------- faces come and go


@pytest.mark.parametrize("now", [FRIDAY, at(5, 3)])
def test_a_face_that_ends_has_no_future(told: Plan, now: datetime):
    # The base of face 1 stands today, of 2 tomorrow: a face taken out of the work is not laid all the same.
    data = edit(*(of_face(k, ended=f"{now.astimezone(AMSTERDAM).date()}") for k in (1, 2)))
    for face_of in data["walls"][:2]:
        del face_of["faces"][0]["start"]
    job = read(data, now)
    plan, _ = next_plan(job, told, now, WORDS)
    gone = {"1-out", "2-out"}
    assert [one.id for one in plan.everything() if gone & set(one.faces) and one.end > now] == []
    assert {one.uid for one in told.everything() if set(one.faces) <= gone} <= set(plan.gone)
    assert {one: days_of_coats(plan)[one] for one in days_of_coats(plan)} == {
        one: when for one, when in days_of_coats(told).items() if one.startswith("3-out")
    }
    assert check(job, plan) == []


def test_a_face_that_ends_is_not_misted_from_that_day_on():
    # Nothing more is planned on a face from the day on which it ended.
    done = {"base": "2027-05-03 15:00", "finish": "2027-05-18 15:00"}
    data = job_file(wall("1", face(done=done, holds={"base-dry": "2027-05-17"}, ended="2027-05-24")))
    now = at(5, 20)
    job = read(data, now)
    plan, _ = next_plan(job, None, now, WORDS)
    assert sorted(visits(plan, "1-out", "finish")) == [date(2027, 5, 20) + k * DAY for k in range(4)]
    assert check(job, plan) == []


def test_a_face_is_not_laid_on_the_day_on_which_it_ends():
    # Both may begin on Mon 3 May, one fits (10 + 10 > 16 m2); the other ends on Tue 4 May.
    walls = [wall("1", face(start="2027-05-03")), wall("2", face(start="2027-05-03", ended="2027-05-04"))]
    data = job_file(*walls)
    job = read(data, FRIDAY)
    plan, _ = next_plan(job, None, FRIDAY, WORDS)
    assert {one for one in days_of_coats(plan) if one.startswith("2-out")} == set()
    assert check(job, plan) == []


@pytest.mark.parametrize("end", ["2027-05-04", "2027-05-05", "2027-05-07"])
def test_a_face_that_ends_unconfirmed_is_misted_no_more(told: Plan, end: str):
    # Monday's base of face 1 was never written down; the face ends today, tomorrow, or
    # after a holiday on which it can't be laid either.
    data = edit(of_face(1, ended=end))
    del data["walls"][0]["faces"][0]["start"]
    tuesday = at(5, 4)
    job = read(data, tuesday)
    plan, _ = next_plan(job, told, tuesday, WORDS)
    after = [one.id for one in plan.everything() if "1-out" in one.faces and str(day(one)) >= end]
    assert after == []
    assert check(job, plan) == []


def test_who_left_the_job_is_still_named_in_the_past():
    done = {"base": "2027-05-03 15:00", "finish": "2027-05-18 15:00"}
    data = job_file(wall("1", face(done=done, holds={"base-dry": "2027-05-17"})))
    first = planned(data, at(5, 19))
    left = edit(lambda d: d["people"].pop(0), data=data)
    now = at(5, 24)
    job = read(left, now)
    plan, _ = next_plan(job, first, now, WORDS)
    assert {one.who for one in plan.rounds if one.start >= now} <= {("ida",), ("bo",), ()}
    assert check(job, plan) == []
    assert plan_json.load(json.loads(plan_json.text(plan_json.dump(plan, WORDS)))) == plan


def test_a_face_taken_out_of_the_file_leaves_tombstones(told: Plan):
    data = edit(lambda d: d["walls"].pop(1))
    plan = planned(data, FRIDAY, told)
    alone = {one.uid for one in told.everything() if set(one.faces) == {"2-out"}}
    assert alone <= set(plan.gone)
    assert all("2-out" not in one.faces for one in plan.everything())
    assert moved(told, plan) == {one for one in days_of_coats(told) if one.startswith("2-out")}


@pytest.mark.parametrize("minutes", [0, 5])
def test_a_face_that_comes_back_goes_on_counting(told: Plan, minutes: int):
    without = planned(edit(lambda d: d["walls"].pop(1)), FRIDAY, told)
    again = planned(three_walls(), FRIDAY + timedelta(minutes=minutes), without)
    for one in told.everything():
        assert again.events[one.uid].sequence >= told.events[one.uid].sequence
        if one.uid in without.gone:
            assert again.events[one.uid].sequence > without.gone[one.uid].sequence
            assert again.events[one.uid].modified > told.events[one.uid].modified


def test_a_face_that_waits_for_one_that_has_ended_is_told_so():
    data = edit(of_face(1, ended="2027-04-30"), of_face(2, after=["1-out.finish"]))
    del data["walls"][0]["faces"][0]["start"]
    with pytest.raises(CuringError) as error:
        next_plan(read(data, FRIDAY), None, FRIDAY, WORDS)
    assert "1-out" in str(error.value)
    assert "ended" in str(error.value)


def test_a_wall_added_at_the_end_moves_nothing(told: Plan):
    data = edit(lambda d: d["walls"].append(wall("4", face("S"), dry="2027-04-30")))
    plan = planned(data, FRIDAY, told)
    assert moved(told, plan) == set()
    assert {one.task for one in plan.bookings if one.faces == ("4-out",) and one.kind is Kind.COAT} == {
        "base", "finish", "paint-1", "paint-2",
    }  # fmt: skip
    assert check(read(data, FRIDAY), plan) == []


# ------------------------------------------------------------------- disturb least


def test_who_is_away_moves_only_the_coats_that_need_them(told: Plan):
    # On Tue 4 May one of two is away: 10 m2 are more than 8. Wed 5 May is full (10 + 10 > 16), Thu 6 is a
    # holiday, so face 2 goes to Fri 7 May; 13 days on is Thu 20 May, full, so its finish goes to Fri 21 May.
    data = edit(of_person("ida", away=["2027-05-04"]))
    plan = planned(data, FRIDAY, told)
    assert {one.partition(".")[0] for one in moved(told, plan)} == {"2-out"}
    assert days_of_coats(plan)["2-out.base"] == date(2027, 5, 7)
    assert days_of_coats(plan)["2-out.finish"] == date(2027, 5, 21)
    assert check(read(data, FRIDAY), plan) == []


def test_a_coat_moved_by_others_says_what_bound_it(told: Plan):
    plan = planned(edit(of_person("ida", away=["2027-05-04"])), FRIDAY, told)
    (change,) = changes_of_work(plan)
    assert (change.id, change.old is not None, change.new is not None) == ("2-out.base", True, True)
    assert {"2-out.finish", "2-out.paint-1"} <= set(change.drags)
    assert change.reason.rule == "change.no_room"


def test_a_later_start_drags_its_own_chain_only(told: Plan):
    plan = planned(edit(of_face(1, start="2027-05-21"), of_wall(1, holds={})), FRIDAY, told)
    assert {one.partition(".")[0] for one in moved(told, plan)} == {"1-out"}


def test_a_walker_who_is_away_gives_up_those_days_only():
    data = job_file(wall("1", face(start="2027-05-03"), dry="2027-04-30"))
    first = planned(data, FRIDAY)
    away = edit(of_person("near", away=["2027-05-22..2027-05-23"]), data=data)
    plan = planned(away, FRIDAY, first)

    def walkers(which: Plan) -> dict[tuple[date, Slot | None], tuple[str, ...]]:
        return {(day(one), one.slot): one.who for one in which.rounds}

    old, new = walkers(first), walkers(plan)
    assert {key[0] for key in old if old[key] != new.get(key)} == {date(2027, 5, 22), date(2027, 5, 23)}


@pytest.mark.parametrize("order", list(itertools.permutations(range(3)))[1:])
def test_walls_shuffled_keep_the_days_that_people_were_told(told: Plan, order: tuple[int, ...]):
    data = edit(lambda d: d.update(walls=[d["walls"][k] for k in order]))
    plan = planned(data, FRIDAY, told)
    assert moved(told, plan) == set()


@pytest.mark.parametrize("order", [(3, 2, 1, 0), (1, 3, 0, 2), (2, 0, 3, 1)])
def test_walls_shuffled_get_the_same_days_where_the_crew_has_time(order: tuple[int, ...]):
    # Starts lie a week apart, one coat at a time. Walking order breaks ties only.
    starts = ["2027-05-03", "2027-05-10", "2027-05-18", "2027-05-25"]
    walls = [wall(str(k), face(side, start=start)) for k, (side, start) in enumerate(zip("NESW", starts, strict=True))]
    first = days_of_coats(planned(job_file(*walls), FRIDAY))
    shuffled = days_of_coats(planned(job_file(*(walls[k] for k in order)), FRIDAY))
    assert shuffled == first


# ------------------------------------------------------------------- the season


def late_face(**season: str) -> tuple[Job, Plan]:
    data = job_file(wall("1", face(start="2027-09-06")), season={"finish_by": "2027-09-22", **season})
    now = at(9, 3)
    job = read(data, now)
    return job, next_plan(job, None, now, WORDS)[0]


def test_paint_after_the_line_goes_on_and_is_not_a_fault():
    # The line binds the coat that must cure before frost; paint waits for weather, day by day. Base Mon 6
    # Sep, finish Mon 20 Sep (13 days: a Sunday), last mist 18 Oct, seven dry days: Tue 26 Oct.
    job, plan = late_face(resumes="2028-04-27")
    assert [day(coat(plan, f"1-out.{task}")) for task in ("base", "finish", "paint-1")] == [
        date(2027, 9, 6), date(2027, 9, 20), date(2027, 10, 26),
    ]  # fmt: skip
    assert check(job, plan) == []


@pytest.mark.parametrize("resumes", [None, "2028-04-27"])
def test_a_face_too_late_for_the_line_waits_if_the_file_says_until_when(resumes: str | None):
    # Base from Fri 10 Sep: 13 days are Thu 23 Sep, a day after the line.
    data = job_file(wall("1", face(start="2027-09-10")), season={"finish_by": "2027-09-22"})
    if resumes:
        data["season"]["resumes"] = resumes
    now = at(9, 3)
    job = read(data, now)
    plan, _ = next_plan(job, None, now, WORDS)
    base = day(coat(plan, "1-out.base"))
    assert base == (date(2027, 9, 10) if resumes is None else date(2028, 4, 28))  # 27 April is a Thursday
    season = about(plan, "1-out").season
    assert season is not None
    # Too late for the season in which it could first begin, and told so whether or not it is put off.
    assert season.spare < 0
    assert "season.finish_by" in {one.rule for one in plan.warnings if one.urgent}


# ------------------------------------------------------------------- written and read


def test_a_plan_read_back_is_as_good_a_parent(told: Plan):
    again = plan_json.load(json.loads(plan_json.text(plan_json.dump(told, WORDS))))
    assert again == told
    data = edit(of_person("ida", away=["2027-05-04"]))
    job = read(data, FRIDAY)
    one, two = (next_plan(job, parent, FRIDAY, WORDS)[0] for parent in (told, again))
    assert plan_json.text(plan_json.dump(one, WORDS)) == plan_json.text(plan_json.dump(two, WORDS))


def test_the_hours_of_the_crew_are_the_hours_of_the_crew():
    # The helper's own oracle: 07:00-15:30 on weekdays, 10 m2 by two at 1 h/m2 take five hours.
    assert CREW == {"mon-fri": "07:00-15:30"}
    base = coat(planned(three_walls(), FRIDAY), "1-out.base")
    assert (base.start, base.end) == (at(5, 3, "07:00"), at(5, 3, "12:00"))


def test_a_face_behind_another_face_behind_an_open_hold_does_not_ring():
    # 2-in may begin after 1-out, whose panel nobody has read: both are IF, and so is all that follows.
    inside = {"side": "in", "area": "6 m2", "height": "2.5 m", "system": "clay-inside", "after": ["1-out.base"]}
    walls = [wall("1", face(start="2027-05-03")), wall("2", inside, dry="2027-04-30")]
    data = job_file(*walls)
    data["holds"] = {**data["holds"], "sample-clay": "2027-02-01"}
    job = read(data, FRIDAY)
    plan, _ = next_plan(job, None, FRIDAY, WORDS)
    assert {coat(plan, f"{name}.base").state for name in ("1-out", "2-in")} == {State.CONDITIONAL}
    assert check(job, plan) == []
