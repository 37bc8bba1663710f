"""What people were told stays: time alone, today and tomorrow, and what is done.

Three faces of 10 m2, a crew of two that lays 16 m2 a day at most: bases on Mon 3, Tue 4 and Wed
5 May 2027, finishes on Tue 18, Wed 19 and Thu 20 May (13 days later, after Pentecost Monday).
"""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

import pytest
from court import (
    BASES,
    DAY,
    FRIDAY,
    WORDS,
    at,
    changes_of_work,
    coat,
    day,
    days_of_coats,
    edit,
    events,
    face,
    first_plan,
    job_file,
    moved,
    near_only,
    of_face,
    of_person,
    of_wall,
    planned,
    three_walls,
    visits,
    wall,
)  # fmt: skip
from jobs import read

from curing.model.plan import HoldState, Kind, Plan, Slot, State
from curing.planning.check import check
from curing.workflow.planning import next_plan


@pytest.fixture(scope="module")
def told() -> Plan:
    """Return what people were told on Friday 30 April."""
    return first_plan()


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


def test_a_test_that_nobody_has_time_for_today_does_not_move_with_the_clock():
    # Last mist 21 April, seven dry days to 28 April: paint at 7 on Fri 30 April, and its test before that.
    done = {"base": "2027-03-10 15:00", "finish": "2027-03-24 15:00"}
    data = job_file(wall("1", face(done=done, holds={"base-dry": "2027-03-23"}, start="2027-03-01")))
    near_only(data)
    first = planned(data, at(4, 30, "06:00"))
    for clock in ("06:10", "06:59", "07:30", "12:00", "23:00"):
        later = at(4, 30, clock)
        plan, news = next_plan(read(data, later), first, later, WORDS)
        assert (news, plan.bookings) == (False, first.bookings), clock


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


def test_a_face_misted_once_a_day_is_not_misted_twice_because_another_joins():
    # N and S are on day 20, once a day, in one walk as nothing else is misted. On Monday 7 June it is
    # written down that the east finish was laid on Sunday: two walks from now on, N would join the late one.
    def of_side(name: str, facing: str, **done: str) -> dict[str, Any]:
        return wall(name, face(facing, done=done, holds={"base-dry": "2027-05-17"} if "finish" in done else {}))

    old = {"base": "2027-05-03 15:00", "finish": "2027-05-18 15:00"}
    data = job_file(of_side("n", "N", **old), of_side("s", "S", **old), of_side("e", "E", base="2027-05-20 15:00"))
    data["walls"][2]["faces"][0]["start"] = "2027-05-20"
    first = planned(data, at(6, 6))
    data["walls"][2] = of_side("e", "E", base="2027-05-20 15:00", finish="2027-06-06 15:00")
    now = at(6, 7)
    job = read(data, now)
    plan, _ = next_plan(job, first, now, WORDS)
    for name in ("n-out", "s-out"):
        counted = visits(plan, name, "finish")
        assert [counted[date(2027, 6, 7) + k * DAY] for k in range(9)] == [1] * 9, name
    assert visits(plan, "e-out", "finish")[date(2027, 6, 8)] == 2
    assert check(job, plan) == []


def test_a_round_that_stays_outside_hours_that_changed_is_no_fault():
    # Tomorrow, Tue 25 May, was made a holiday after people were told: hours from 9 on instead of 7.
    done = {"base": "2027-05-03 15:00", "finish": "2027-05-18 15:00"}
    near = {"mon-sun": "07:00-21:00", "holiday": "09:00-12:00"}
    data = job_file(wall("1", face(done=done, holds={"base-dry": "2027-05-17"})), near=near)
    near_only(data)
    first = planned(data, at(5, 24))
    data["holidays"]["days"] = ["2027-05-25"]
    job = read(data, at(5, 24))
    plan, _ = next_plan(job, first, at(5, 24), WORDS)
    tuesday = [[(one.start, one.who) for one in p.rounds if day(one) == date(2027, 5, 25)] for p in (first, plan)]
    assert tuesday[0] == tuesday[1]
    assert check(job, plan) == []


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
