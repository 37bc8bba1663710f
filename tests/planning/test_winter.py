"""A base coat without its finish over the winter: covered at the line, uncovered and made fit in spring.

North face of 10 m2, a crew of two, season line Wed 22 Sep 2027, work again from Thu 27 April 2028. A base laid on
Fri 10 Sep waits 13 days: Thu 23 Sep is a day too late for the finish. It is misted until Thu 16 Sep at the latest.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from court import DAY, WORDS, at, coat, day, face, job_file, wall
from jobs import read

from curing.model.job import Job, SeasonLine
from curing.model.plan import Booking, Kind, Plan, State
from curing.planning.check import check
from curing.planning.season import winter_between
from curing.publish.event_text import EventTexts
from curing.publish.event_title import Titles
from curing.workflow.planning import next_plan

SEASON = {"finish_by": "2027-09-22", "resumes": "2028-04-27"}
UP, DOWN, FIT = (f"1-out.base.{one}" for one in ("winter-2027-up", "winter-2027-down", "after-winter"))


def resting(
    laid: str = "2027-09-10 15:00", season: dict[str, str] = SEASON, dry: str = "2027-09-06", **more: Any
) -> dict[str, Any]:
    """Return a job whose base is laid and whose finish the line puts into spring."""
    one = face(done={"base": laid}, **more)
    return job_file(wall("1", one, dry=dry), season=season)


def plan_of(data: dict[str, Any], now: datetime, parent: Plan | None = None) -> tuple[Job, Plan, bool]:
    job = read(data, now)
    plan, news = next_plan(job, parent, now, WORDS)
    return job, plan, news


def small(plan: Plan) -> dict[str, Booking]:
    return {one.id: one for one in plan.bookings if "winter" in one.id}


def test_the_base_is_covered_in_the_week_before_the_line_and_made_fit_before_the_finish() -> None:
    job, plan, _ = plan_of(resting(), at(9, 13))
    tasks, finish = small(plan), coat(plan, "1-out.finish")
    assert set(tasks) == {UP, DOWN, FIT}
    assert day(finish) >= date(2028, 4, 27)
    assert date(2027, 9, 16) <= day(tasks[UP]) <= date(2027, 9, 22)
    last_mist = max(day(one) for one in plan.rounds if any(v.coat == "base" for v in one.visits))
    assert day(tasks[UP]) > last_mist
    assert tasks[DOWN].end <= tasks[FIT].start < tasks[FIT].end <= finish.start
    assert (day(finish) - day(tasks[FIT])).days <= 5
    assert [tasks[one].kind for one in (UP, DOWN, FIT)] == [Kind.COVER, Kind.COVER, Kind.TEST]
    assert all(one.who and one.state is State.FIRM for one in tasks.values())
    # Judged dry, hard and keyed after it was keyed anew, not before.
    assert tasks[FIT].start < next(one.start for one in plan.bookings if one.id == "1-out.base-dry")
    assert check(job, plan) == []


def test_what_is_done_stands_in_the_event() -> None:
    _, plan, _ = plan_of(resting(), at(9, 13))
    texts, tasks = EventTexts(plan, WORDS), small(plan)
    up, fit = texts.body(tasks[UP]), texts.body(tasks[FIT])
    for said in ("off the face", "open at the top and at the foot", "clear of the ground", "fixed scaffold", "km/h"):
        assert said in up
    assert "never on a mobile tower" in up
    for said in ("Read the panel", "Sound it", "Key it anew", "brush all dust off"):
        assert said in fit
    titles = [Titles(plan, WORDS).title(tasks[one]) for one in (UP, DOWN, FIT)]
    assert titles == ["WINTER 1 out up · wall 1", "WINTER 1 out down · wall 1", "1 out BASE after winter · wall 1"]
    # The wind at which it comes down is a rule of the coat system.
    assert tasks[UP].limits == {"weather.wind_most": 8.0}


def test_nothing_of_it_in_a_season_that_is_not_over() -> None:
    _, plan, _ = plan_of(resting("2027-08-02 15:00", dry="2027-07-30"), at(8, 9))
    assert day(coat(plan, "1-out.finish")) < date(2027, 9, 22)
    assert small(plan) == {}


def test_where_the_file_does_not_say_when_work_resumes_nothing_rests() -> None:
    _, plan, _ = plan_of(resting(season={"finish_by": "2027-09-22"}), at(9, 13))
    assert small(plan) == {}


def test_a_base_that_waits_for_spring_itself_needs_no_cover() -> None:
    data = job_file(wall("1", face(start="2027-09-13"), dry="2027-09-02"), season=SEASON)
    _, plan, _ = plan_of(data, at(9, 3))
    assert day(coat(plan, "1-out.base")) >= date(2028, 4, 27)
    assert small(plan) == {}


def test_inside_nothing_rests() -> None:
    inside = {"side": "in", "area": "6 m2", "height": "2.5 m", "system": "clay-inside", "done": {"base": "2027-09-10"}}
    data = job_file(wall("1", inside, dry="2027-09-06"), season=SEASON)
    outside = wall("2", face(done={"base": "2027-09-10 15:00"}), dry="2027-09-06")
    data["walls"].append(outside)
    data["holds"] = {**data["holds"], "sample-clay": "2027-02-01"}
    # The crew is away all winter, so that both finishes come in spring.
    data["people"] = [
        one if one["id"] == "near" else {**one, "away": ["2027-09-14..2028-05-03"]} for one in data["people"]
    ]
    _, plan, _ = plan_of(data, at(9, 13))
    assert {one for task in small(plan).values() for one in task.faces} == {"2-out"}


def test_it_is_covered_as_soon_as_its_tending_is_over_where_the_line_has_passed() -> None:
    _, plan, _ = plan_of(resting("2027-09-29 15:00"), at(9, 30))
    up = small(plan)[UP]
    last_mist = max((day(one) for one in plan.rounds if any(v.coat == "base" for v in one.visits)), default=None)
    assert last_mist is None or day(up) == last_mist + DAY or up.start.astimezone(UTC).weekday() == 0
    assert date(2027, 9, 30) < day(up) < date(2027, 10, 20)


def test_planned_again_and_again_over_the_winter_each_stands_once_and_where_it_was_told() -> None:
    data, told, seen = resting(), None, dict[str, set[date]]()
    now, finish_told = at(9, 13), None
    for week in (0, 1, 2, 5, 12, 20, 28, 31, 32, 33):
        job, plan, _ = plan_of(data, now + week * 7 * DAY, told)
        again, news = next_plan(job, plan, now + week * 7 * DAY, WORDS)
        assert not news
        assert again.bookings == plan.bookings
        told = plan
        ids = [one.id for one in plan.bookings if "winter" in one.id]
        assert sorted(ids) == sorted({UP, DOWN, FIT}), week
        finish = coat(plan, "1-out.finish")
        finish_told = finish_told or day(finish)
        if now + week * 7 * DAY < datetime(2028, 4, 10, tzinfo=UTC):
            for one in small(plan).values():
                seen.setdefault(one.id, set()).add(day(one))
            assert check(job, plan) == []
    assert {name: len(days) for name, days in seen.items()} == {UP: 1, DOWN: 1, FIT: 1}
    # The finish was not laid on its day and slid: what was made fit three days before stays so.
    assert day(coat(told, "1-out.finish")) > finish_told
    assert {day(small(told)[FIT])} == seen[FIT]


def test_first_planned_in_deep_winter_it_is_covered_at_once() -> None:
    _, plan, _ = plan_of(resting(), datetime(2027, 12, 1, 5, 0, tzinfo=UTC))
    assert day(small(plan)[UP]) == date(2027, 12, 2)


def test_first_planned_in_spring_it_is_made_fit_all_the_same() -> None:
    _, plan, _ = plan_of(resting(), datetime(2028, 4, 24, 5, 0, tzinfo=UTC))
    tasks = small(plan)
    assert set(tasks) == {FIT}
    assert tasks[FIT].end <= coat(plan, "1-out.finish").start


def test_where_nobody_is_free_it_is_shown_with_nobody_named() -> None:
    data = resting()
    data["people"] = [
        {**one, "away": ["2027-09-14..2028-04-20"]} if one["id"] != "near" else one for one in data["people"]
    ]
    _, plan, _ = plan_of(data, at(9, 13))
    assert small(plan)[UP].who == ()


def test_south_of_the_equator_the_winter_lies_in_the_middle_of_the_year() -> None:
    data = resting("2027-03-09 15:00", season={"finish_by": "2027-03-20", "resumes": "2027-10-20"})
    data["sites"][0] |= {"latitude": -41.3, "longitude": 174.8, "time_zone": "Pacific/Auckland"}
    data["holidays"] = {"country": "NZ"}
    data["walls"][0]["holds"] = {"panel-dry": "2027-03-05"}
    _, plan, _ = plan_of(data, datetime(2027, 3, 11, tzinfo=UTC))
    up = small(plan)[UP]
    assert date(2027, 3, 14) <= day(up) <= date(2027, 3, 20)
    assert day(small(plan)[FIT]) > date(2027, 10, 10)


@pytest.mark.parametrize(
    ("first", "last", "found"),
    [
        (date(2027, 9, 10), date(2028, 4, 27), (date(2027, 9, 22), date(2028, 4, 27))),
        (date(2027, 9, 10), date(2028, 4, 26), None),
        (date(2028, 4, 27), date(2028, 5, 30), None),
        (date(2029, 9, 10), date(2030, 6, 1), (date(2029, 9, 22), date(2030, 4, 27))),
        (date(2026, 9, 10), date(2027, 6, 1), (date(2026, 9, 22), date(2027, 4, 27))),
    ],
)
def test_the_winter_between_two_days(first: date, last: date, found: tuple[date, date] | None) -> None:
    # The line of a season that is over is the same day of an earlier year, whichever year the file names.
    for years in (0, 1):
        line = {"finish_by": f"{2027 + years}-09-22", "resumes": f"{2028 + years}-04-27"}
        assert winter_between(SeasonLine.model_validate(line), first, last) == found


def test_a_changed_line_moves_only_what_it_touches() -> None:
    _, told, _ = plan_of(resting(), at(9, 13))
    later = {"finish_by": "2027-09-22", "resumes": "2028-05-08"}
    _, plan, news = plan_of(resting(season=later), at(9, 14), told)
    assert news
    assert small(plan)[UP].start == small(told)[UP].start
    assert day(small(plan)[FIT]) >= date(2028, 5, 8) - timedelta(days=5)


def test_a_base_of_the_last_weeks_before_work_resumes_has_no_winter_before_it() -> None:
    """Laid Mon 12 April, work resumes Tue 27 April, the finish only after four weeks: it is keyed anew, no more."""
    away = {"country": "NL", "days": ["2027-04-24..2027-05-21"]}
    one = wall("1", face(done={"base": "2027-04-12 15:00"}), dry="2027-04-09")
    job, plan, _ = plan_of(job_file(one, season=SEASON, holidays=away), at(4, 20))
    assert (day(coat(plan, "1-out.finish")) - date(2027, 4, 12)).days > 28
    assert small(plan) == {}
    assert check(job, plan) == []
