"""When a weather service is asked next. The job is invented; the times are worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest
from court import WORDS, at, coat, face, job_file, read, wall

from curing.model.plan import Kind, Plan, State
from curing.planning.weather_asking import LEAST, SPREAD, next_asking
from curing.workflow.planning import next_plan

HOUR = timedelta(hours=1)
SIX = 6 * HOUR


@pytest.fixture(scope="module")
def plan() -> Plan:
    """One north wall whose base is laid on Monday 10 May 2027 from 07:00 (05:00 UTC); nothing before it that day."""
    data = job_file(wall("1", face("N", start="2027-05-10"), dry="2027-05-05"))
    made, _ = next_plan(read(data, at(5, 5)), None, at(5, 5), WORDS)
    assert coat(made, "1-out.base").start == datetime(2027, 5, 10, 5, 0, tzinfo=UTC)
    assert coat(made, "1-out.base").state is State.FIRM
    return made


def utc(day: int, hour: int, minute: int = 0) -> datetime:
    return datetime(2027, 5, day, hour, minute, tzinfo=UTC)


@pytest.mark.parametrize(
    ("asked", "after"),
    [
        (utc(7, 4), utc(7, 10)),  # three days ahead: as set
        (utc(8, 22), utc(9, 4)),
        (utc(8, 23, 30), utc(9, 5)),  # once when its last day begins
        (utc(9, 4, 30), utc(9, 5, 30)),  # and never twice within the hour
        (utc(9, 12), utc(9, 13)),  # then every hour
        (utc(10, 2, 45), utc(10, 3, 30)),  # 90 min before people are there
        (utc(10, 3, 10), utc(10, 4, 10)),  # which an answer of 20 min before is good enough for
        (utc(10, 3, 30), utc(10, 4, 30)),
        (utc(10, 4, 30), utc(10, 10, 30)),  # it has begun: who is there sees the sky
    ],
)
def test_it_is_asked_more_often_as_a_coat_comes_near(plan: Plan, asked: datetime, after: datetime) -> None:
    assert next_asking(plan, "court", asked, SIX) == after


def test_people_set_out_for_the_first_work_of_the_day_not_for_the_coat(plan: Plan) -> None:
    base = coat(plan, "1-out.base")
    task = replace(base, id="1-out.cloth", kind=Kind.COVER, start=utc(10, 4), end=utc(10, 4, 30))
    later = replace(plan, bookings=(*plan.bookings, task))
    assert next_asking(later, "court", utc(10, 2), SIX) == utc(10, 2, 30)
    others = replace(plan, bookings=(*plan.bookings, replace(task, who=("nobody-of-them",))))
    assert next_asking(others, "court", utc(10, 2), SIX) == utc(10, 3)


@pytest.mark.parametrize("state", [State.OFF, State.CONDITIONAL, State.DONE])
def test_only_a_firm_coat_asks_for_more(plan: Plan, state: State) -> None:
    bookings = tuple(replace(one, state=state) if one.id == "1-out.base" else one for one in plan.bookings)
    assert next_asking(replace(plan, bookings=bookings), "court", utc(9, 12), SIX) == utc(9, 18)


def test_an_inside_face_and_another_site_ask_for_nothing(plan: Plan) -> None:
    inside = replace(plan, faces=tuple(replace(one, side="in") for one in plan.faces))
    assert next_asking(inside, "court", utc(9, 12), SIX) == utc(9, 18)
    assert next_asking(plan, "elsewhere", utc(9, 12), SIX) == utc(9, 18)


def test_without_a_plan_it_is_asked_as_often_as_is_set() -> None:
    assert next_asking(None, "court", utc(9, 12), 3 * HOUR) == utc(9, 15)


def test_an_answer_is_let_expire_whatever_is_near(plan: Plan) -> None:
    assert next_asking(plan, "court", utc(9, 12), SIX, expires=utc(9, 14, 20)) == utc(9, 14, 20)
    assert next_asking(plan, "court", utc(9, 12), SIX, expires=utc(9, 12, 5)) == utc(9, 13)


def test_every_half_hour_is_the_most_and_set_intervals_hold_where_they_are_shorter(plan: Plan) -> None:
    assert next_asking(plan, "court", utc(9, 12), timedelta(minutes=40)) == utc(9, 12, 40)
    assert next_asking(plan, "court", utc(9, 12), timedelta(minutes=10)) == utc(9, 12) + LEAST


def test_not_all_ask_in_the_same_second_of_the_morning(plan: Plan) -> None:
    assert next_asking(plan, "court", utc(10, 2, 45), SIX, spread=SPREAD) == utc(10, 3, 20)
    assert next_asking(plan, "court", utc(8, 23, 30), SIX, spread=SPREAD) == utc(9, 5, 10)


def test_through_a_week_it_stays_polite_and_nobody_sets_out_on_an_old_answer(plan: Plan) -> None:
    asked = [utc(5, 4, 17)]
    while asked[-1] < utc(11, 4):
        asked.append(next_asking(plan, "court", asked[-1], SIX, spread=SPREAD / 3))
    gaps = [b - a for a, b in pairwise(asked)]
    assert min(gaps) >= LEAST
    assert max(gaps) <= SIX
    assert len(asked) <= 4 * 7 + 24 + 2
    last = max(one for one in asked if one <= utc(10, 3, 30))
    assert utc(10, 3, 30) - last <= LEAST + SPREAD
