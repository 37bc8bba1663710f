"""Coats and the forecast: what is taken off its day, what stands, what is proposed. Weather here is invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import numpy as np
from court import WORDS, at, coat, day, face, job_file, read, wall

from curing.model.evidence import NOTHING_SAID, Cause, Decided
from curing.model.plan import Plan, State
from curing.model.weather import VARIABLES, Weather, of
from curing.planning.check import check
from curing.planning.weather_sky import sky_over
from curing.workflow.drafting import draft
from curing.workflow.planning import next_plan, versions
from curing.workflow.weather_plan import PlanWeather

KIND = {"temperature": 15.0, "humidity": 80.0, "wind": 2.0, "direction": 0.0, "rain": 0.0, "radiation": 0.0,
        "cloud": 1.0}  # fmt: skip
HOUR = timedelta(hours=1)


def weather(told: datetime, *rain: tuple[datetime, datetime, float], **more: float) -> Weather:
    """Kind weather from two days before it was told to ten days after, with rain [mm an hour] put over it."""
    start = told.replace(minute=0) - 48 * HOUR
    series = {name: np.full(24 * 12, {**KIND, **more}[name]) for name in VARIABLES}
    for first, last, mm in rain:
        series["rain"][(first - start) // HOUR : (last - start) // HOUR] = mm
    return replace(of(series, start, 24 * 12, "file"), issued=told)


def court(start: str = "2027-05-10") -> dict[str, Any]:
    """Two north walls whose panels are dry, so that days are full."""
    later = {"start": start}
    return job_file(wall("1", face("N", **later), dry="2027-05-05"), wall("2", face("N", **later), dry="2027-05-05"))


def after(data: dict[str, Any], now: datetime, parent: Plan | None, *runs: Weather) -> tuple[Plan, bool]:
    job = read(data, now)
    plan, news = next_plan(job, parent, now, WORDS, weather=PlanWeather({job.file.sites[0].id: runs}))
    assert check(job, plan) == [] or parent is not None
    return plan, news


def told() -> tuple[dict[str, Any], Plan, date]:
    data = court()
    first, _ = after(data, at(5, 5), None)
    return data, first, day(coat(first, "1-out.base"))


def test_kind_weather_changes_nothing() -> None:
    data, first, _ = told()
    now = at(5, 5, "07:00")
    plan, news = after(data, now, first, weather(now), weather(now - 6 * HOUR))
    assert not news
    assert plan.bookings == first.bookings


def test_rain_within_a_day_takes_a_coat_off_and_another_day_is_proposed() -> None:
    data, first, when = told()
    booked = coat(first, "1-out.base")
    now = booked.start - 12 * HOUR
    wet = (booked.end + 2 * HOUR, booked.end + 12 * HOUR, 3.0)
    plan, news = after(data, now, first, weather(now, wet, wind=6.0))
    found = coat(plan, "1-out.base")
    assert news
    assert (found.state, found.floor_was, found.floor_cause) == (State.OFF, when, "weather")
    assert day(found) > when
    assert "rain on it" in WORDS.reason(found.reason)
    again, more = after(data, now + HOUR, plan, weather(now + HOUR, wet, wind=6.0), weather(now, wet, wind=6.0))
    assert not more, "planned twice is planned once"
    assert again.bookings == plan.bookings
    fine, _ = after(data, now + HOUR, plan, weather(now + HOUR), weather(now, wet, wind=6.0))
    assert coat(fine, "1-out.base").state is State.OFF, "no answer never means yes, not even a better forecast"


def test_two_days_ahead_one_run_is_watched_and_two_take_it_off() -> None:
    data, first, _ = told()
    booked = coat(first, "1-out.base")
    now = booked.start - 48 * HOUR
    wet = (booked.start, booked.end + 12 * HOUR, 3.0)
    one, _ = after(data, now, first, weather(now, wet, wind=6.0), weather(now - 6 * HOUR))
    assert coat(one, "1-out.base").state is not State.OFF
    two, _ = after(data, now, first, weather(now, wet, wind=6.0), weather(now - 6 * HOUR, wet, wind=6.0))
    assert coat(two, "1-out.base").state is State.OFF


def test_a_new_coat_is_not_put_where_the_forecast_is_against_it() -> None:
    data, now = court("2027-05-05"), at(5, 5)
    wet = (datetime(2027, 5, 5, 0, tzinfo=UTC), datetime(2027, 5, 7, 20, tzinfo=UTC), 2.0)
    plan, _ = after(data, now, None, weather(now, wet, wind=6.0))
    assert day(coat(plan, "1-out.base")) > date(2027, 5, 7)
    assert any(one.cause == "weather" for one in coat(plan, "1-out.base").reason.skipped)


def test_what_is_off_is_asked_about_and_a_decision_puts_it_on_a_day() -> None:
    data, first, when = told()
    booked = coat(first, "1-out.base")
    now = booked.start - 12 * HOUR
    wet = (booked.end + 2 * HOUR, booked.end + 12 * HOUR, 3.0)
    plan, _ = after(data, now, first, weather(now, wet, wind=6.0))
    (asked,) = [one for one in plan.questions if one.key == "weather_off" and one.faces == ("1-out",)]
    assert asked.urgent
    assert asked.values["was"] == when.isoformat()
    # Tuesday has the other wall
    assert WORDS.notice(asked) == (
        "1 out base is off Mon 10 May: rain on it Mon 10 May 14:00 to Tue 11 May 00:00, 10.6 L/m2; "
        "Wed 12 May is proposed"
    )
    job = read(data, now)
    to = day(coat(plan, "1-out.base"))
    cause = Cause("k", "move", now, "ida", "Ida")
    evidence = replace(NOTHING_SAID, decided={"1-out.base": Decided("move", to, "drier", cause)})
    moved = draft(job, plan, now, versions(), evidence, sky=sky_over(job, {"court": (weather(now),)}, now))
    found = coat(moved, "1-out.base")
    assert (found.state, day(found)) == (State.FIRM, to)
    assert [one for one in moved.questions if one.key == "weather_off" and one.faces == ("1-out",)] == []


def test_the_walks_of_what_is_off_are_in_doubt_and_its_event_is_gone() -> None:
    data, first, _ = told()
    booked = coat(first, "1-out.base")
    now = booked.start - 12 * HOUR
    wet = (booked.end + 2 * HOUR, booked.end + 12 * HOUR, 3.0)
    plan, _ = after(data, now, first, weather(now, wet, wind=6.0))
    walks = [v for walk in plan.rounds for v in walk.visits if v.face == "1-out"]
    assert walks
    assert all(one.conditional for one in walks)
    assert booked.uid not in plan.events
    assert booked.uid in plan.gone


def test_a_day_decided_when_no_forecast_reached_it_is_taken_off_again_and_asked_about() -> None:
    data, first, when = told()
    booked = coat(first, "1-out.base")
    job, to = read(data, at(5, 5)), when + timedelta(2)
    cause = Cause("k", "move", at(5, 5), "ida", "Ida")  # 7 days and an hour ahead
    evidence = replace(NOTHING_SAID, decided={"1-out.base": Decided("move", to, "drier", cause)})
    moved = draft(job, first, at(5, 5), versions(), evidence)
    found = coat(moved, "1-out.base")
    assert (found.state, day(found)) == (State.FIRM, to)
    assert found.start - booked.start == timedelta(2)
    now = found.start - 12 * HOUR
    wet = (found.end + 2 * HOUR, found.end + 12 * HOUR, 3.0)
    sky = sky_over(job, {"court": (weather(now, wet, wind=6.0),)}, now)
    off = draft(job, moved, now, versions(), evidence, sky=sky)
    gone = coat(off, "1-out.base")
    assert (gone.state, gone.floor_was, gone.floor_cause) == (State.OFF, to, "weather")
    assert any(one.key == "weather_off" for one in off.questions)
    assert check(job, off) == []
    again = draft(job, off, now + HOUR, versions(), evidence, sky=sky)
    assert coat(again, "1-out.base") == gone, "the old decision does not put it back"
    cause = Cause("k2", "move", now + HOUR, "ida", "Ida")
    insists = replace(NOTHING_SAID, decided={"1-out.base": Decided("move", to, "under the eaves", cause)})
    back = draft(job, off, now + HOUR, versions(), insists, sky=sky)
    assert (coat(back, "1-out.base").state, day(coat(back, "1-out.base"))) == (State.FIRM, to)


def test_no_day_is_proposed_that_the_newest_run_is_against() -> None:
    data, first, _ = told()
    booked = coat(first, "1-out.base")
    now = booked.start - 12 * HOUR
    wet = (booked.end + 2 * HOUR, booked.end + timedelta(5), 3.0)
    short = (booked.end + 2 * HOUR, booked.end + 12 * HOUR, 3.0)
    runs = weather(now, wet, wind=6.0), weather(now - 6 * HOUR, short, wind=6.0)
    plan, _ = after(data, now, first, *runs)
    found = coat(plan, "1-out.base")
    assert found.state is State.OFF
    assert found.start > wet[1], "the run before had nothing against days from the fourth on"
    same, news = after(data, now + HOUR, plan, *runs)
    assert not news
    assert coat(same, "1-out.base") == found


def test_a_midday_walk_that_goes_with_its_coat_is_not_laid_to_the_forecast() -> None:
    data, first, _ = told()
    booked = coat(first, "1-out.base")
    now = booked.start - 26 * HOUR

    def frost(at_: datetime) -> Weather:
        run = weather(at_)
        night = (booked.start + 40 * HOUR - run.start) // HOUR
        run.temperature.setflags(write=True)
        run.temperature[night : night + 6] = -2.0
        return run

    plan, _ = after(data, now, first, frost(now), weather(now - 6 * HOUR))
    added = [walk.id for walk in plan.rounds if any(one.added and one.face == "1-out" for one in walk.visits)]
    assert added
    assert coat(plan, "1-out.base").state is State.FIRM
    off, _ = after(data, now + 12 * HOUR, plan, frost(now + 12 * HOUR), frost(now))
    assert coat(off, "1-out.base").state is State.OFF
    assert not any(walk.id in added for walk in off.rounds)
    told_of = [change for change in off.changes if change.id in added or change.reason.key == "weather_less"]
    assert told_of == []


def test_where_mornings_are_too_cold_a_coat_is_proposed_for_later_in_the_day() -> None:
    data, first, when = told()
    booked = coat(first, "1-out.base")
    now = booked.start - 12 * HOUR
    run = weather(now, (booked.end + 2 * HOUR, booked.end + 12 * HOUR, 3.0), wind=6.0)
    run.temperature.setflags(write=True)
    for hour in range(len(run)):
        if 3 <= (run.start + hour * HOUR).hour < 7:  # until 09:00 of the clock there
            run.temperature[hour] = 4.0
    plan, _ = after(data, now, first, run, run)
    found = coat(plan, "1-out.base")
    assert (found.state, day(found)) == (State.OFF, when + timedelta(1)), "the other wall is off that day"
    assert found.start == booked.start + timedelta(1) + 2 * HOUR
    again, news = after(data, now + HOUR, plan, run, run)
    assert not news
    assert coat(again, "1-out.base") == found
