"""Odd jobs under odd weather: a plan comes of each, its own check faults nothing, and planned twice is planned once.

Jobs and weather are invented.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from typing import Any

import numpy as np
import pytest
from court import WORDS, at, coat, day, face, job_file, read, three_walls, wall
from jobs import write

from curing.model.plan import Plan
from curing.model.weather import HOUR, VARIABLES, Weather, of
from curing.planning.weather_past import BACK, hours_past, known
from curing.publish import plan_json
from curing.publish.calendar import feeds
from curing.publish.words import Words
from curing.workflow.planning import next_plan
from curing.workflow.weather_plan import CURE_BACK, PlanWeather

NOW = at(5, 10, "12:00")
DAY = timedelta(days=1)
Edit = Callable[[dict[str, Any]], object]


def yard() -> dict[str, Any]:
    """Return a panel that is ready, a finish of Thursday and a base of last week."""
    return job_file(
        wall("1", face("W", start="2027-05-12"), dry="2027-05-05"),
        wall("2", face("S", done={"base": "2027-04-19", "finish": "2027-05-06"}), dry="2027-04-15"),
        wall("3", face("N", done={"base": "2027-05-05"}), dry="2027-04-30"),
    )


def each_face(**lines: Any) -> Edit:
    return lambda data: [one["faces"][0].update(lines) for one in data["walls"]]


def two_sites(data: dict[str, Any]) -> None:
    """Put the first wall of a list onto another clock."""
    far = {"latitude": 39.7, "longitude": -105.0, "time_zone": "America/Denver"}
    data["sites"].insert(0, {"id": "far", "name": "Far yard", **far})
    for one, site in zip(data["walls"], ("far", "court", "court"), strict=True):
        one["site"] = site


def south(data: dict[str, Any]) -> None:
    data["sites"][0].update(latitude=-41.3, longitude=174.8, time_zone="Pacific/Auckland")


def inside_alone(data: dict[str, Any]) -> None:
    data["walls"] = [
        {
            "id": "9",
            "name": "wall 9",
            "faces": [{"side": "in", "area": "10 m2", "height": "2.4 m", "system": "clay-inside"}],
        }
    ]
    points = ("boxes-pipes", "gaps-packed", "mesh-beads", "sockets", "sample-clay")
    data["holds"] = dict.fromkeys(points, "2027-02-01")


JOBS: dict[str, Edit] = {
    "as it is": lambda data: None,
    "in feet": lambda data: data.update(units="us"),
    "on a tower": each_face(scaffold="mobile tower"),
    "on a scaffold, without cloth": each_face(scaffold="north scaffold", cloth=False, exposure="exposed"),
    "ended soon": each_face(ended="2027-05-13"),
    "renamed": lambda data: data["walls"][0].update(id="10", was="1"),
    "two clocks": two_sites,
    "south of the equator": south,
    "inside alone": inside_alone,
}


def run(made: Any, hours: int = 9 * 24, **put: float) -> Weather:
    """Return a forecast from the hour in which it was made."""
    kind = {"temperature": 15.0, "humidity": 75.0, "wind": 3.0, "direction": 270.0, "rain": 0.0, "radiation": 0.0,
            "cloud": 1.0, **put}  # fmt: skip
    series = {name: np.full(hours, kind[name]) for name in VARIABLES}
    return replace(of(series, made.replace(minute=0), hours, "file"), issued=made, fetched=made)


def under(now: Any, *runs: Weather, site: str = "court") -> PlanWeather:
    """Return what is known by those runs, the newest first, at one site."""
    past = hours_past(runs, now)
    told = [one for r in runs if (one := known(past, r, now, back=BACK)) is not None]
    whole = known(past, runs[0], now, back=CURE_BACK)
    assert whole is not None
    return PlanWeather({site: tuple(one.weather for one in told[:2])}, {site: whole})


_TOLD: dict[str, Plan] = {}


def told_before(data: dict[str, Any], now: Any, words: Words) -> Plan:
    """Return the plan of that moment, made once for each job."""
    key = f"{now} {write(data)}"
    if key not in _TOLD:
        _TOLD[key] = next_plan(read(data, now), None, now, words)[0]
    return _TOLD[key]


def planned(data: dict[str, Any], weather: PlanWeather, now: Any = NOW) -> Any:
    """Plan a job that people were told of the day before; judge the plan, write it, and plan it again."""
    words = Words(data.get("units", "metric"))
    told = told_before(data, now - DAY, words)
    job = read(data, now)
    plan, _ = next_plan(job, told, now, words, weather=weather)
    assert [one.values for one in plan.warnings if one.key == "check"] == []
    written = plan_json.dump(plan, words)
    again = plan_json.load(written)
    assert plan_json.dump(again, words) == written
    assert feeds(plan, words, now)
    twice, news = next_plan(job, again, now, words, weather=weather)
    assert not news
    assert twice.events == plan.events
    return plan


WET = {"rain": 3.0, "wind": 8.0}
HOT = {"temperature": 34.0, "humidity": 15.0, "cloud": 0.0, "radiation": 600.0}
FROST = {"temperature": -3.0, "cloud": 0.0}


@pytest.mark.parametrize("edit", JOBS.values(), ids=JOBS)
def test_an_odd_job_in_rain_after_heat(edit: Edit) -> None:
    data = yard()
    edit(data)
    planned(data, under(NOW, run(NOW - HOUR, **WET), run(NOW - 8 * HOUR, **HOT)))


@pytest.mark.parametrize("edit", [JOBS["two clocks"], JOBS["on a tower"]], ids=["two clocks", "tower"])
def test_an_odd_job_in_frost(edit: Edit) -> None:
    data = yard()
    edit(data)
    planned(data, under(NOW, run(NOW - HOUR, **FROST), run(NOW - 8 * HOUR, **FROST)))


def nothing_known(made: Any) -> Weather:
    return run(made, **dict.fromkeys(VARIABLES, np.nan))


SKIES: dict[str, tuple[Weather, ...]] = {
    "one hour": (run(NOW, 1, **WET),),
    "no figure": (nothing_known(NOW - HOUR), nothing_known(NOW - 8 * HOUR)),
    "nine days old": (run(NOW - 9 * DAY, **FROST),),
    "made later than now": (run(NOW + 3 * HOUR, **FROST),),
    "two of one moment": (run(NOW - HOUR, **WET), run(NOW - HOUR, **HOT)),
    "nobody says when": (replace(run(NOW, **HOT), issued=None, fetched=None),),
    "no cloud and no wind": (run(NOW, **{**FROST, "cloud": np.nan, "direction": np.nan, "wind": np.nan}),),
}


@pytest.mark.parametrize("runs", SKIES.values(), ids=SKIES)
def test_odd_weather(runs: tuple[Weather, ...]) -> None:
    planned(yard(), under(NOW, *runs))


@pytest.mark.parametrize("month", [3, 10])
def test_the_day_on_which_clocks_change(month: int) -> None:
    """28 March and 31 October 2027, both Sundays."""
    sunday = at(month, 28 if month == 3 else 31, "01:30")
    data = job_file(
        wall("2", face("S", done={"base": f"2027-0{month - 1}-08" if month == 3 else "2027-10-08"}), dry="2027-02-01"),
        wall("3", face("W", done={"base": "2027-02-20"}), dry="2027-02-10"),
    )
    planned(data, under(sunday, run(sunday - HOUR, **FROST), run(sunday - 8 * HOUR, **FROST)), sunday)


def test_a_coat_that_nobody_confirmed_keeps_its_words_when_its_panel_reading_lapses_meanwhile() -> None:
    """Read dry on 30 April, 7 days: the day that is proposed lies behind that, the day it was told for did not."""
    data = three_walls()
    told, _ = next_plan(read(data, at(4, 30, "12:00")), None, at(4, 30, "12:00"), WORDS)
    now = at(5, 6, "12:00")
    plan, _ = next_plan(read(data, now), told, now, WORDS)
    base = coat(plan, "1-out.base")
    assert base.reason.key == "unconfirmed"
    assert day(base) > day(coat(told, "1-out.base"))
    twice, news = next_plan(read(data, now), plan, now, WORDS)
    assert not news
    assert coat(twice, "1-out.base").reason == base.reason
