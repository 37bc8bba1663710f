"""What holds of any plan under any weather: planned twice is planned once, kind weather changes nothing, later weather
moves no earlier task, old weather only holds. Weather and jobs here are invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from functools import cache

import numpy as np
from court import AMSTERDAM, WORDS, at, coat, day, face, job_file, read, wall
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from curing.model.job import Job
from curing.model.plan import Kind, Plan, State
from curing.model.weather import VARIABLES, Weather, of
from curing.planning.expand import expand, identify
from curing.planning.weather_limits import limits_of
from curing.workflow.planning import next_plan
from curing.workflow.weather_plan import PlanWeather

HOUR = timedelta(hours=1)
LONG, BACK = 24 * 12, 48
NOW = at(5, 10, "12:00")
"""A Monday noon: one base is booked for the days to come, one finish is tended, one base dries."""
FEW = settings(max_examples=6, phases=[Phase.generate])
"""A plan takes a third of a second: few draws, and no search for a smaller one."""
SEEDS = st.integers(0, 10**6)


def job() -> Job:
    """Return a yard with a panel that is ready, a finish of Thursday and a base of last week."""
    walls = [
        wall("1", face("W", start="2027-05-12"), dry="2027-05-05"),
        wall("2", face("W", done={"base": "2027-04-19", "finish": "2027-05-06"}), dry="2027-04-15"),
        wall("3", face("N", done={"base": "2027-05-05"}), dry="2027-04-30"),
    ]
    return read(job_file(*walls), NOW)


JOB = job()


@cache
def parent() -> Plan:
    """Return what people were told on Sunday."""
    return next_plan(JOB, None, NOW - timedelta(days=1), WORDS)[0]


def run(told: datetime, **series: np.ndarray) -> Weather:
    """Return hours from two days before they were told to ten days after."""
    start = told.replace(minute=0) - BACK * HOUR
    return replace(of({name: series[name] for name in VARIABLES}, start, LONG, "file"), issued=told)


def anything(seed: int) -> dict[str, np.ndarray]:
    """Weather that no one would order: warm or cold, wet or dry, sunny or not."""
    by, hours = np.random.default_rng(seed), np.arange(LONG)
    sky = np.clip(np.sin(2 * np.pi * (hours % 24 - 6) / 24), 0.0, 1.0) * by.uniform(0.0, 1.0)
    return {
        "temperature": by.uniform(2, 22) + 5.0 * sky + np.cumsum(by.normal(0, 0.3, LONG)),
        "humidity": by.uniform(by.uniform(20, 70), by.uniform(75, 100), LONG),
        "wind": by.uniform(0, by.uniform(2, 12), LONG),
        "direction": by.uniform(0, 360, LONG),
        "rain": np.where(by.random(LONG) < by.uniform(0, 0.15) ** 1.5, by.gamma(1.0, 1.5, LONG), 0.0),
        "radiation": 800.0 * sky,
        "cloud": by.uniform(0, 1, LONG),
    }


def kind(air: float, damp: float, wind: float) -> dict[str, np.ndarray]:
    """An overcast dry mild time."""
    steady = {"temperature": air, "humidity": damp, "wind": wind, "direction": 0.0, "rain": 0.0, "radiation": 0.0,
              "cloud": 1.0}  # fmt: skip
    return {name: np.full(LONG, value) for name, value in steady.items()}


def after(told: Plan | None, now: datetime, *runs: Weather) -> tuple[Plan, bool]:
    return next_plan(JOB, told, now, WORDS, weather=PlanWeather({JOB.file.sites[0].id: runs}))


@FEW
@given(seed=SEEDS, before=SEEDS, fresh=st.booleans())
def test_planned_twice_is_planned_once(seed: int, before: int, fresh: bool) -> None:
    told = None if fresh else parent()
    runs = run(NOW - HOUR, **anything(seed)), run(NOW - 7 * HOUR, **anything(before))
    once, _ = after(told, NOW, *runs)
    twice, news = after(once, NOW, *runs)
    assert not news
    assert twice.events == once.events
    assert after(told, NOW, *runs)[0] == once


@FEW
@given(air=st.floats(13.0, 19.0), damp=st.floats(66.0, 72.0), wind=st.floats(1.5, 3.0), fresh=st.booleans())
def test_kind_weather_changes_nothing(air: float, damp: float, wind: float, fresh: bool) -> None:
    told = None if fresh else parent()
    runs = run(NOW - HOUR, **kind(air, damp, wind)), run(NOW - 7 * HOUR, **kind(air - 1.0, damp, wind))
    plan, _ = after(told, NOW, *runs)
    bare, _ = next_plan(JOB, told, NOW, WORDS)
    assert (plan.bookings, plan.rounds) == (bare.bookings, bare.rounds)
    assert plan.events == bare.events


@FEW
@given(seed=SEEDS, other=SEEDS, part=st.integers(24, 220))
def test_a_later_days_forecast_moves_no_earlier_task(seed: int, other: int, part: int) -> None:
    """Two forecasts alike to some hour: a coat is alike whose rules look no further, a visit that ends a day before."""
    first, second = anything(seed), anything(other)
    at_hour = BACK + part
    mixed = {name: np.concatenate([first[name][:at_hour], second[name][at_hour:]]) for name in VARIABLES}
    parted = NOW.replace(minute=0) - HOUR + part * HOUR
    one, _ = after(parent(), NOW, run(NOW - HOUR, **first), run(NOW - 7 * HOUR, **first))
    two, _ = after(parent(), NOW, run(NOW - HOUR, **mixed), run(NOW - 7 * HOUR, **first))
    reach = {
        c.id: timedelta(hours=max(limits.after or 0, limits.sure, limits.frost_to, 24, limits.shaded) + 8)
        for work in expand(JOB, identify(JOB, None))
        for c in work.coats
        for limits in [limits_of(work, c)]
    }
    was = {b.id: b for b in parent().bookings if b.kind is Kind.COAT}
    for id_, booking in was.items():
        if booking.end + reach[id_] <= parted and booking.state is not State.DONE:
            here, there = coat(one, id_), coat(two, id_)
            assert (here.state, here.start, here.end) == (there.state, there.start, there.end), id_

    def visits(plan: Plan) -> list[object]:
        return sorted(
            (walk.start.astimezone(AMSTERDAM).date(), walk.slot, visit.face, visit.coat)
            for walk in plan.rounds
            for visit in walk.visits
            if visit.face == "2-out" and walk.end + timedelta(hours=36) <= parted
        )

    assert visits(one) == visits(two)


# -- old weather --------------------------------------------------------------------------------


def rain_on_the_base(told: datetime) -> Weather:
    """A run so old, with rain from the west in the dry time of the base."""
    booked = coat(parent(), "1-out.base")
    series = kind(15.0, 70.0, 6.0) | {"direction": np.full(LONG, 270.0)}
    first = (booked.end + HOUR - (told.replace(minute=0) - BACK * HOUR)) // HOUR
    series["rain"][first : first + 10] = 3.0
    return run(told, **series)


def test_a_run_of_30_hours_ago_with_rain_on_the_coat_takes_it_off() -> None:
    booked = coat(parent(), "1-out.base")
    now = booked.start - 12 * HOUR
    plan, news = after(parent(), now, rain_on_the_base(now - 30 * HOUR))
    found = coat(plan, "1-out.base")
    assert news
    assert (found.state, found.floor_cause) == (State.OFF, "weather")
    assert day(found) > day(booked)


def test_a_fair_run_of_30_hours_ago_changes_nothing_and_puts_nothing_back() -> None:
    booked = coat(parent(), "1-out.base")
    now = booked.start - 12 * HOUR
    fair = run(now - 30 * HOUR, **kind(15.0, 99.0, 2.0))  # so damp that new weather would let a visit be spared
    plan, news = after(parent(), now, fair)
    bare, _ = next_plan(JOB, parent(), now, WORDS)
    assert (plan.bookings, plan.rounds) == (bare.bookings, bare.rounds)
    assert plan.events == bare.events
    off, _ = after(parent(), now, rain_on_the_base(now - HOUR))
    still, _ = after(off, now + HOUR, fair)
    assert coat(still, "1-out.base").state is State.OFF
    assert coat(still, "1-out.base").start == coat(off, "1-out.base").start, "not even another day is proposed"
    assert news is (bare.revision != parent().revision)
