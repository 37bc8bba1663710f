"""What people were told stays, but for what the news touches.

Three faces of 10 m2, a crew of two that lays 16 m2 a day at most: bases on Mon 3, Tue 4 and Wed
5 May 2027, finishes on Tue 18, Wed 19 and Thu 20 May (13 days later, after Pentecost Monday).
"""

from __future__ import annotations

import copy
import itertools
import json
from collections import Counter
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import icalendar
import pytest
from court import (
    AMSTERDAM,
    CREW,
    DAY,
    WORDS,
    about,
    at,
    changes_of_work,
    coat,
    day,
    face,
    job_file,
    planned,
    visits,
    wall,
)  # fmt: skip
from jobs import read

from curing.errors import CuringError
from curing.model.job import BusySpan, Job
from curing.model.plan import Booking, HoldState, Kind, Plan, Slot, State
from curing.planning.check import check
from curing.publish import plan_json
from curing.publish.calendar import feeds
from curing.workflow.planning import next_plan

FRIDAY = at(4, 30, "12:00")
"""The last working day before the first coat."""

BASES = {"1-out.base": date(2027, 5, 3), "2-out.base": date(2027, 5, 4), "3-out.base": date(2027, 5, 5)}


def three_walls() -> dict[str, Any]:
    walls = [
        wall(str(k), face(facing, start=f"2027-05-0{k + 2}"), dry="2027-04-30")
        for k, facing in ((1, "N"), (2, "E"), (3, "W"))
    ]
    return job_file(*walls)


@pytest.fixture(scope="module")
def told() -> Plan:
    """Return what people were told on Friday 30 April."""
    plan = planned(three_walls(), FRIDAY)
    assert {one.id: day(one) for one in plan.bookings if one.task == "base"} == BASES
    return plan


def edit(*changes: Any, data: dict[str, Any] | None = None) -> dict[str, Any]:
    """Return the file of three walls after changes, each a function of it."""
    new = copy.deepcopy(data or three_walls())
    for change in changes:
        change(new)
    return new


def of_wall(number: int, **lines: Any) -> Any:
    return lambda data: data["walls"][number - 1].update(lines)


def of_face(number: int, **lines: Any) -> Any:
    return lambda data: data["walls"][number - 1]["faces"][0].update(lines)


def of_person(name: str, **lines: Any) -> Any:
    return lambda data: next(p for p in data["people"] if p["id"] == name).update(lines)


def days_of_coats(plan: Plan) -> dict[str, date]:
    return {one.id: day(one) for one in plan.bookings if one.kind is Kind.COAT}


def moved(old: Plan, new: Plan) -> set[str]:
    """Return the coats that stand at another time in the new plan, or are gone."""
    after = {one.id: (one.start, one.end) for one in new.bookings}
    return {
        one.id
        for one in old.bookings
        if one.kind is Kind.COAT and one.state is not State.DONE and after.get(one.id) != (one.start, one.end)
    }


def events(plan: Plan, now: datetime, name: str = "site") -> dict[str, bytes]:
    """Return the bytes of each event of a feed, by UID."""
    body = feeds(plan, WORDS, now)[name]
    blocks = (b"BEGIN:VEVENT" + part.split(b"END:VEVENT")[0] for part in body.split(b"BEGIN:VEVENT")[1:])
    return {str(icalendar.Event.from_ical(block + b"END:VEVENT\r\n")["uid"]): block for block in blocks}


# ------------------------------------------------------------------- nothing new


def test_the_same_job_at_the_same_instant_is_no_news(told: Plan):
    plan, news = next_plan(read(three_walls(), FRIDAY), told, FRIDAY, WORDS)
    assert not news
    assert plan == told


@pytest.mark.parametrize("later", [at(4, 30, "12:01"), at(5, 1, "09:00"), at(5, 2, "23:59"), at(5, 3, "06:00")])
def test_time_alone_is_no_news(told: Plan, later: datetime):
    plan, news = next_plan(read(three_walls(), later), told, later, WORDS)
    assert not news
    assert (plan.events, plan.gone, plan.revision) == (told.events, told.gone, told.revision)
    assert (plan.bookings, plan.rounds, plan.changes) == (told.bookings, told.rounds, told.changes)


@pytest.mark.parametrize("number", range(1, 8))
def test_a_week_of_misting_is_no_news(number: int):
    done = {"base": "2027-05-03 15:00", "finish": "2027-05-18 15:00"}
    data = job_file(wall("1", face(done=done, holds={"base-dry": "2027-05-17"})))
    first = planned(data, at(5, 19))
    later = at(5, 19 + number, "20:00")
    plan, news = next_plan(read(data, later), first, later, WORDS)
    assert not news
    assert plan.events == first.events


def test_a_day_later_phones_get_the_same_bytes(told: Plan):
    later = FRIDAY + DAY
    plan, _ = next_plan(read(three_walls(), later), told, later, WORDS)
    assert events(plan, FRIDAY) == events(told, FRIDAY)


# ------------------------------------------------------------------- a hold is met


@pytest.fixture(scope="module")
def one_unread() -> tuple[dict[str, Any], Plan]:
    """Return three walls of which nobody has read the second, and the plan of Wed 28 April."""
    data = edit(of_wall(1, holds={"panel-dry": "2027-04-28"}), of_wall(3, holds={"panel-dry": "2027-04-28"}))
    del data["walls"][1]["holds"]
    return data, planned(data, at(4, 28))


@pytest.fixture(scope="module")
def then_read(one_unread: tuple[dict[str, Any], Plan]) -> Plan:
    data, before = one_unread
    return planned(edit(of_wall(2, holds={"panel-dry": "2027-04-29"}), data=data), at(4, 29), before)


def test_a_hold_recorded_as_met_makes_its_coats_firm_on_their_days(
    one_unread: tuple[dict[str, Any], Plan], then_read: Plan
):
    before = one_unread[1]
    chain = [one for one in before.bookings if one.kind is Kind.COAT and one.faces == ("2-out",)]
    assert {one.state for one in chain} == {State.CONDITIONAL}
    assert {coat(then_read, one.id).state for one in chain} == {State.FIRM}
    assert moved(before, then_read) == set()


def test_only_the_events_behind_that_hold_rise(one_unread: tuple[dict[str, Any], Plan], then_read: Plan):
    before = one_unread[1]
    touched = {
        one.uid
        for one in before.everything()
        if one.state is State.CONDITIONAL or any(visit.conditional for visit in one.visits)
    }
    reading = {one.uid for one in before.bookings if one.id == "2.panel-dry"}
    risen = {uid for uid, mark in then_read.events.items() if mark.sequence > before.events[uid].sequence}
    assert risen == touched - reading
    assert set(before.events) - set(then_read.events) == reading == set(then_read.gone)


def test_every_other_event_keeps_its_bytes(one_unread: tuple[dict[str, Any], Plan], then_read: Plan):
    old, new = events(one_unread[1], at(4, 29)), events(then_read, at(4, 29))
    same = {uid for uid in new if old.get(uid) == new[uid]}
    risen = {uid for uid, mark in then_read.events.items() if mark.sequence > one_unread[1].events[uid].sequence}
    assert same == set(new) - risen
    assert len(same) > 10
    assert len(risen & set(new)) > 10


def test_a_hold_refused_this_morning_makes_todays_coat_conditional(told: Plan):
    monday = at(5, 3)
    data = edit(of_wall(1, holds={"panel-dry": {"refused": "2027-05-03", "by": "ida"}}))
    plan = planned(data, monday, told)
    assert coat(plan, "1-out.base").state is State.CONDITIONAL
    assert {hold.state for hold in plan.holds if hold.id == "1.panel-dry"} == {HoldState.REFUSED}
    assert check(read(data, monday), plan) == []


def test_a_test_recorded_before_its_coat_is_laid_opens_nothing():
    # A date never opens a hold; a base that is not laid can't have been found dry.
    data = job_file(wall("1", face(start="2027-05-03", holds={"base-dry": "2027-04-28"}), dry="2027-04-30"))
    job = read(data, FRIDAY)
    plan, _ = next_plan(job, None, FRIDAY, WORDS)
    assert {hold.state for hold in plan.holds if hold.point == "base-dry"} == {HoldState.LATER}
    assert check(job, plan) == []


def test_a_finish_of_clay_waits_for_the_end_of_airing_and_its_test_may_come_until_then():
    # Clay inside: 12 mm at a day each millimetre are over on 1 May, the airing of 14 days on 4 May.
    inside = {"side": "in", "area": "6 m2", "height": "2.5 m", "system": "clay-inside"}
    data = job_file(wall("1", {**inside, "done": {"base": "2027-04-19 15:00"}}), holds={"sample-clay": "2027-02-01"})
    for now in (at(4, 20), at(4, 30), at(5, 1), at(5, 2), at(5, 3), at(5, 4)):
        job = read(data, now)
        plan, _ = next_plan(job, None, now, WORDS)
        assert check(job, plan) == [], now


@pytest.mark.parametrize("clock", ["06:00", "12:00", "16:00", "21:30"])
def test_nothing_but_rounds_is_put_into_the_past(clock: str):
    # Monday: an unread panel, a base to lay, a base to test, all of them now.
    data = edit(
        lambda d: d["walls"].append(wall("4", face(done={"base": "2027-04-12 15:00"}))),
        lambda d: d["walls"][0].pop("holds"),
        lambda d: d["walls"][0]["faces"][0].pop("start"),
    )
    now = at(5, 3, clock)
    plan, _ = next_plan(read(data, now), None, now, WORDS)
    past = [one.id for one in plan.bookings if one.state is not State.DONE and one.start < now]
    assert past == []


# ------------------------------------------------------------------- today and tomorrow

TODAY_OR_TOMORROW = [
    pytest.param(of_face(1, start="2027-05-10"), {"1-out.base"}, id="today's coat is to begin later"),
    pytest.param(of_face(2, start="2027-05-10"), {"2-out.base"}, id="tomorrow's coat is to begin later"),
    pytest.param(
        lambda data: data["holidays"].update(days=["2027-05-03..2027-05-04"]),
        {"1-out.base", "2-out.base"},
        id="both days are free now",
    ),
    pytest.param(of_person("bo", away=["2027-05-03..2027-05-04"]), {"1-out.base", "2-out.base"}, id="one is away"),
    pytest.param(of_face(1, after=["3-out.base"]), {"1-out.base"}, id="today's coat is to wait for another face"),
]


@pytest.mark.parametrize(("change", "coats"), TODAY_OR_TOMORROW)
def test_today_and_tomorrow_stay_when_the_file_is_edited(told: Plan, change: Any, coats: set[str]):
    monday = at(5, 3)
    plan, _ = next_plan(read(edit(change), monday), told, monday, WORDS)
    assert {one: days_of_coats(plan)[one] for one in coats} == {one: BASES[one] for one in coats}
    for one in coats:
        assert (coat(plan, one).start, coat(plan, one).end) == (coat(told, one).start, coat(told, one).end)


@pytest.mark.parametrize(("change", "coats"), TODAY_OR_TOMORROW)
def test_today_and_tomorrow_move_only_when_asked_and_where_they_must(told: Plan, change: Any, coats: set[str]):
    monday = at(5, 3)
    job = read(edit(change), monday)
    plan, _ = next_plan(job, told, monday, WORDS, today_too=True)
    bases = days_of_coats(plan)
    assert {one for one in ("1-out.base", "2-out.base") if bases[one] != BASES[one]} == coats
    assert min(bases[one] for one in coats) > date(2027, 5, 4)
    assert check(job, plan) == []


def test_without_need_nothing_moves_though_it_may(told: Plan):
    monday = at(5, 3)
    plan, news = next_plan(read(three_walls(), monday), told, monday, WORDS, today_too=True)
    assert (news, moved(told, plan)) == (False, set())


@pytest.mark.parametrize("today_too", [False, True])
def test_nothing_new_comes_onto_today_or_tomorrow(told: Plan, today_too: bool):
    # The small face would fit beside the bases of both days: 10 + 4 m2 of 16.
    monday = at(5, 3)
    new = wall("4", face(area="4 m2"), dry="2027-05-03")
    plan, _ = next_plan(
        read(edit(lambda data: data["walls"].append(new)), monday), told, monday, WORDS, today_too=today_too
    )
    assert coat(plan, "4-out.base").start >= at(5, 5, "00:00")
    known = {one.uid for one in told.everything()}
    soon = {one.id for one in plan.everything() if one.start < at(5, 5, "00:00") and one.uid not in known}
    assert soon == set()


def test_a_coat_let_go_comes_forward_but_not_onto_tomorrow(told: Plan):
    data = edit(of_face(3, start="2027-05-12", area="4 m2"), of_wall(3, holds={"panel-dry": "2027-05-02"}))
    sunday = at(5, 2)
    late = planned(data, sunday, told)
    assert day(coat(late, "3-out.base")) == date(2027, 5, 12)
    monday = at(5, 3)
    freed = edit(of_face(3, start="2027-05-01"), data=data)
    plan, _ = next_plan(read(freed, monday), late, monday, WORDS)
    assert day(coat(plan, "3-out.base")) == date(2027, 5, 5)


def test_rounds_of_today_and_tomorrow_stay_with_whoever_was_told():
    done = {"base": "2027-05-03 15:00", "finish": "2027-05-18 15:00"}
    data = job_file(wall("1", face(done=done, holds={"base-dry": "2027-05-17"})))
    near_only(data)
    first = planned(data, at(5, 20))
    gone = edit(of_person("near", hours={"mon-fri": "12:00-20:00"}), data=data)
    plan, _ = next_plan(read(gone, at(5, 20)), first, at(5, 20), WORDS)

    def early(which: Plan) -> dict[date, tuple[datetime, tuple[str, ...]]]:
        return {day(one): (one.start, one.who) for one in which.rounds if one.slot is Slot.EARLY}

    told, now = early(first), early(plan)
    assert {d: now[d] for d in (date(2027, 5, 20), date(2027, 5, 21))} == {
        d: told[d] for d in (date(2027, 5, 20), date(2027, 5, 21))
    }
    assert {now[d][1] for d in now if d > date(2027, 5, 21)} == {()}


def test_the_last_coat_of_a_job_stays_though_nothing_else_is_left():
    # Finish on 28 April, last mist on 26 May, seven dry days: paint on Thu 3 and Fri 4 June.
    done = {"base": "2027-04-12 15:00", "finish": "2027-04-28 15:00"}
    data = job_file(wall("1", face(done=done, holds={"base-dry": "2027-04-27"})))
    first = planned(data, at(5, 29))
    assert [day(coat(first, f"1-out.paint-{k}")) for k in (1, 2)] == [date(2027, 6, 3), date(2027, 6, 4)]
    tomorrow = planned(data, at(6, 2), first)
    assert moved(first, tomorrow) == set()
    done |= {"paint-1": "2027-06-03 09:00"}
    last = planned(data, at(6, 3, "12:00"), tomorrow)
    assert day(coat(last, "1-out.paint-2")) == date(2027, 6, 4)


def test_a_coat_that_was_laid_later_than_planned_moves_the_next_one_even_tomorrow():
    # What is recorded moves today and tomorrow too: base on Thu 6 May makes the finish Wed 19 May at the
    # earliest (13 days), though people were told Tue 18 May.
    data = job_file(wall("1", face(done={"base": "2027-05-05 15:00"})))
    first = planned(data, at(5, 14))
    assert day(coat(first, "1-out.finish")) == date(2027, 5, 18)
    data = edit(of_face(1, done={"base": "2027-05-06 15:00"}), data=data)
    plan, _ = next_plan(read(data, at(5, 17)), first, at(5, 17), WORDS)
    assert day(coat(plan, "1-out.finish")) >= date(2027, 5, 19)
    assert check(read(data, at(5, 17)), plan) == []


def near_only(data: dict[str, Any]) -> None:
    """Let nobody but the one near by mist."""
    for person in data["people"]:
        if person["id"] != "near":
            person["roles"] = ["lead"]


# ------------------------------------------------------------------- what is done


def test_what_is_done_never_moves(told: Plan):
    data = edit(of_face(1, done={"base": "2027-05-03 14:20"}))
    tuesday = planned(data, at(5, 4, "18:00"), told)
    laid = coat(tuesday, "1-out.base")
    assert (laid.state, laid.end) == (State.DONE, at(5, 3, "14:20"))
    data = edit(
        of_face(1, start="2027-08-01", area="4 m2"),
        of_wall(1, holds={"panel-dry": {"refused": "2027-05-04"}}),
        of_person("ida", away=["2027-05-01..2027-05-09"]),
        lambda d: d["holidays"].update(days=["2027-05-03"]),
        data=data,
    )
    for now in (at(5, 4, "19:00"), at(6, 20), at(12, 1)):
        later = next_plan(read(data, now), tuesday, now, WORDS)[0]
        assert (coat(later, "1-out.base").start, coat(later, "1-out.base").end) == (laid.start, laid.end)
        assert (coat(later, "1-out.base").state, coat(later, "1-out.base").who) == (State.DONE, laid.who)


def test_a_coat_that_nobody_confirmed_is_asked_about_and_dated_from_now(told: Plan):
    # Monday's base was neither written down nor is any hold unmet; no answer never means yes.
    tuesday = at(5, 4)
    plan, news = next_plan(read(three_walls(), tuesday), told, tuesday, WORDS)
    assert news
    base = coat(plan, "1-out.base")
    assert base.state is not State.DONE
    assert day(base) >= date(2027, 5, 6)
    assert [one.values["coat"] for one in plan.questions] == ["1-out.base"]
    (change,) = [one for one in changes_of_work(plan) if one.id == "1-out.base"]
    assert change.reason.rule == "plan.unconfirmed"


def test_a_plan_with_a_coat_that_nobody_confirmed_is_sound(told: Plan):
    tuesday = at(5, 4)
    job = read(three_walls(), tuesday)
    assert check(job, next_plan(job, told, tuesday, WORDS)[0]) == []


def test_an_unconfirmed_coat_that_is_written_down_late_gets_its_own_day_back(told: Plan):
    tuesday = next_plan(read(three_walls(), at(5, 4)), told, at(5, 4), WORDS)[0]
    data = edit(of_face(1, done={"base": "2027-05-03 13:00"}))
    plan, _ = next_plan(read(data, at(5, 4, "12:00")), tuesday, at(5, 4, "12:00"), WORDS)
    assert (day(coat(plan, "1-out.base")), coat(plan, "1-out.base").state) == (date(2027, 5, 3), State.DONE)
    assert day(coat(plan, "1-out.finish")) == day(coat(told, "1-out.finish")) == date(2027, 5, 18)
    assert check(read(data, at(5, 4, "12:00")), plan) == []
    today = visits(plan, "1-out", "base")
    assert today[date(2027, 5, 5)] == today[date(2027, 5, 6)] == 2


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


def test_a_face_that_ends_unconfirmed_is_misted_no_more(told: Plan):
    # Monday's base of face 1 was never written down; on Tuesday the face ends.
    data = edit(of_face(1, ended="2027-05-04"))
    del data["walls"][0]["faces"][0]["start"]
    tuesday = at(5, 4)
    job = read(data, tuesday)
    plan, _ = next_plan(job, told, tuesday, WORDS)
    assert [one for one in plan.everything() if "1-out" in one.faces and one.end > tuesday] == []
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


def test_a_face_that_comes_back_goes_on_counting(told: Plan):
    without = planned(edit(lambda d: d["walls"].pop(1)), FRIDAY, told)
    again = planned(three_walls(), FRIDAY + timedelta(minutes=5), without)
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


# ------------------------------------------------------------------- both halves of the globe


def on_the_globe(latitude: float, shift: int) -> dict[str, Any]:
    """Return four faces at a latitude, everything ``shift`` days later; mirrored south of the equator."""

    def later(text: str) -> str:
        return str(date.fromisoformat(text) + timedelta(shift))

    walls = []
    for k, facing in enumerate((10, 95, 170, 260, 200, 350)):
        azimuth = facing if latitude > 0 else (180 - facing) % 360
        start = later(f"2027-05-{3 + 7 * (k // 2):02d}")
        walls.append(wall(str(k), face(f"{azimuth}°", start=start, area="7 m2")))
    data = job_file(*walls, near={"mon-sun": "04:00-23:30"})
    near_only(data)
    data["sites"][0] |= {"latitude": latitude, "longitude": 0.0, "time_zone": "Etc/UTC"}
    data["holidays"] = {}
    data["holds"] = {point: later(met) for point, met in data["holds"].items()}
    return data


def test_the_south_walks_the_mirrored_way_half_a_year_later():
    # Mirrored at the equator and 26 weeks later the sun goes the same way, so that the same faces are
    # walked in the same order; N and S change places.
    shift = 182
    north = planned(on_the_globe(48.0, 0), datetime(2027, 4, 30, 12, tzinfo=UTC))
    south = planned(on_the_globe(-48.0, shift), datetime(2027, 4, 30, 12, tzinfo=UTC) + timedelta(shift))

    def walked(plan: Plan, back: int) -> dict[tuple[date, Slot | None], list[str]]:
        return {
            (one.start.date() - timedelta(back), one.slot): [visit.id[:8] for visit in one.visits]
            for one in plan.rounds
        }

    def laid(plan: Plan, back: int) -> dict[str, date]:
        return {one.id: one.start.date() - timedelta(back) for one in plan.bookings if one.kind is Kind.COAT}

    assert laid(north, 0) == laid(south, shift)
    assert walked(north, 0) == walked(south, shift)
    assert len({tuple(order) for order in walked(north, 0).values()}) > 8


# ------------------------------------------------------------------- other people's hours


def overlapping(one: Booking, start: datetime, end: datetime, person: str) -> bool:
    out = [gap for gap in one.absent if gap.person == person]
    if person not in one.who or one.state in (State.DONE, State.OFF):
        return False
    start, end = max(start, one.start), min(end, one.end)
    return start < end and not any(gap.start <= start and end <= gap.end for gap in out)


def test_hours_given_to_another_job_are_left_alone(told: Plan):
    span = (at(5, 4, "07:00"), at(5, 4, "15:30"))
    busy = BusySpan(person="bo", start=int(span[0].timestamp()), end=int(span[1].timestamp()), job="Mill Lane")
    job = read(three_walls(), FRIDAY).model_copy(update={"busy": (busy,)})
    plan, _ = next_plan(job, None, FRIDAY, WORDS)
    assert check(job, plan) == []
    assert [one.id for one in plan.everything() if overlapping(one, *span, "bo")] == []
    assert day(coat(plan, "2-out.base")) > date(2027, 5, 4)


def test_two_jobs_share_a_person_through_the_written_plan(tmp_path: Path, told: Plan):
    (tmp_path / "other.json").write_text(plan_json.text(plan_json.dump(told, WORDS)), encoding="utf-8")
    data = edit(lambda d: d.update(uid="0b8f0c52-6a3e-4c7e-9a53-0d6a3b1c2d10", busy=["other.json"]))
    job = read(data, FRIDAY, beside=tmp_path)
    plan, _ = next_plan(job, None, FRIDAY, WORDS)
    assert check(job, plan) == []
    for person in ("ida", "bo", "near"):
        taken = [one for one in told.everything() if person in one.who]
        for other in taken:
            gaps = [gap for gap in other.absent if gap.person == person]
            clash = [
                one.id
                for one in plan.everything()
                if overlapping(one, other.start, other.end, person)
                and not any(gap.start <= one.start and one.end <= gap.end for gap in gaps)
            ]
            assert clash == [], (person, other.id)


def two_yards() -> tuple[dict[str, Any], datetime]:
    """Return two faces to lay and one to mist at each of two yards, with one crew that mists as well."""
    place = {"longitude": 5.2, "time_zone": "Europe/Amsterdam"}
    sites = [{"id": name, "name": name, "latitude": 52.0 + k / 10, **place} for k, name in enumerate(("a", "b"))]
    done = {"base": "2027-04-12 15:00", "finish": "2027-04-28 15:00"}
    walls = []
    for k in range(6):
        site = "ab"[k % 2]
        lines = {"done": done, "holds": {"base-dry": "2027-04-27"}} if k < 2 else {"start": "2027-05-03"}
        walls.append(wall(str(k), face("NESW"[k % 4], area="4 m2", **lines), site=site))
    data = job_file(*walls, sites=sites)
    del data["people"][0]
    return data, FRIDAY


def test_half_a_day_is_spent_at_one_yard():
    data, now = two_yards()
    job = read(data, now)
    plan, _ = next_plan(job, None, now, WORDS)
    assert check(job, plan) == []
    where: dict[tuple[str, date, bool], set[str]] = {}
    for one in plan.everything():
        if one.state in (State.DONE, State.OFF):
            continue
        for person in one.who:
            gaps = sorted((gap.start, gap.end) for gap in one.absent if gap.person == person)
            edges = [one.start, *itertools.chain(*gaps), one.end]
            for start, end in zip(edges[::2], edges[1::2], strict=True):
                noon = start.astimezone(AMSTERDAM).replace(hour=12, minute=0)
                if start < min(end, noon):
                    where.setdefault((person, day(one), False), set()).add(one.site)
                if max(start, noon) < end:
                    where.setdefault((person, day(one), True), set()).add(one.site)
    assert {sites for sites in map(frozenset, where.values()) if len(sites) > 1} == set()
    assert {site for sites in where.values() for site in sites} == {"a", "b"}


@pytest.mark.parametrize(("waits_for", "task"), [("1-out", "base"), ("1-out.finish", "finish")])
def test_a_face_waits_for_the_one_before_it(waits_for: str, task: str):
    inside = {"side": "in", "area": "6 m2", "height": "2.5 m", "system": "clay-inside", "after": [waits_for]}
    data = job_file(
        wall("1", face(start="2027-05-10"), inside, dry="2027-04-30"),
        holds={**dict.fromkeys(job_file()["holds"], "2027-02-01"), "sample-clay": "2027-02-01"},
    )
    plan = planned(data, FRIDAY)
    assert coat(plan, "1-in.base").start >= coat(plan, f"1-out.{task}").end
    pushed = edit(of_face(1, start="2027-05-26"), data=data)
    again = planned(pushed, FRIDAY, plan)
    assert coat(again, "1-in.base").start >= coat(again, f"1-out.{task}").end > coat(plan, f"1-out.{task}").end


def test_who_comes_on_holidays_has_the_hours_of_holidays():
    # Thursday 6 May is Ascension; the base of Tue 4 May is on its second day.
    near = {"mon-fri": "07:00-20:00", "sat-sun": "08:00-20:00", "holiday": "10:00-17:00"}
    data = job_file(wall("1", face(start="2027-05-04"), dry="2027-04-30"), near=near)
    plan = planned(data, FRIDAY)
    holiday = [one for one in plan.rounds if day(one) == date(2027, 5, 6)]
    assert sorted(one.slot.value for one in holiday if one.slot) == ["early", "late"]
    for one in holiday:
        assert one.who == ("near",)
        assert at(5, 6, "10:00") <= one.start < one.end <= at(5, 6, "17:00")


def test_without_hours_for_holidays_those_of_sunday_hold():
    data = job_file(wall("1", face(start="2027-05-04"), dry="2027-04-30"), near={"sun": "09:00-11:00"})
    plan = planned(data, FRIDAY)
    named = [one for one in plan.rounds if day(one) == date(2027, 5, 6) and one.who]
    assert [one.who for one in named] == [("near",)]
    assert at(5, 6, "09:00") <= named[0].start < named[0].end <= at(5, 6, "11:00")


def test_rounds_that_nobody_takes_stand_with_nobody_and_head_the_warnings():
    data = job_file(wall("1", face(start="2027-05-03"), dry="2027-04-30"))
    del data["people"][0]
    plan = planned(data, FRIDAY)
    weekend = [one for one in plan.rounds if day(one).weekday() > 4 or day(one) == date(2027, 5, 6)]
    assert {one.who for one in weekend} == {()}
    assert Counter(visit.face for one in plan.rounds for visit in one.visits)["1-out"] == 6 + 42
    near = [one.values["day"] for one in plan.warnings if one.urgent and one.rule == "visit.walks"]
    assert near == ["2027-05-06"]
    assert plan.warnings[0].values["day"] == "2027-05-06"
    days = [one.values["day"] for one in plan.warnings if one.rule == "visit.walks"]
    assert days == sorted({day(one).isoformat() for one in plan.rounds if not one.who})


def test_nobody_on_the_ground_mists_above_their_reach():
    tall = face(start="2027-05-03", height="5.5 m", area="8 m2")
    plan = planned(job_file(wall("1", tall, dry="2027-04-30")), FRIDAY)
    assert {person for one in plan.rounds for person in one.who} <= {"ida", "bo"}
    assert {one.who for one in plan.rounds if day(one).weekday() > 4} == {()}


def test_a_round_is_no_longer_than_a_person_walks():
    done = {"base": "2027-05-03 15:00", "finish": "2027-05-18 15:00"}
    walls = [wall(str(k), face("NESW"[k % 4], done=done, holds={"base-dry": "2027-05-17"})) for k in range(6)]
    data = job_file(*walls)
    near_only(data)
    of_person("near", longest_round="30 min")(data)
    plan = planned(data, at(5, 19))
    lengths = {(one.end - one.start).total_seconds() / 60 for one in plan.rounds if one.who}
    assert max(lengths) <= 30
    counted = Counter(visit.face for one in plan.rounds for visit in one.visits)
    assert set(counted.values()) == {42}


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
    assert (season.spare < 0) is (resumes is None)
    urgent = {one.rule for one in plan.warnings if one.urgent}
    assert ("season.finish_by" in urgent) is (resumes is None)


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
