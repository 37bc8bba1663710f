"""``python -m tests.benchmarks.plan_weather``: planning 50 faces with weather, beside the same plan without.

The job, its record and its weather are invented: coats closed as booked, every visit of some weeks ticked,
60 days of hours past, two successive forecasts of ten days with rain, sun and cool nights. The known answer: the
independent check finds nothing, and a plan made again under the same sky brings no news.
"""

from __future__ import annotations

import argparse
import itertools
import json
import os
import platform
import shutil
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np

from curing.model.plan import Kind, Plan, State
from curing.model.weather import HOUR, VARIABLES, of
from curing.planning.check import check
from curing.planning.weather_past import hours_past
from curing.planning.weather_sky import sky_over
from curing.sources.forecasts.saved import parse_any
from curing.store import open_state
from curing.workflow.opening import Said, facts
from curing.workflow.planning import next_plan
from curing.workflow.weather_kept import keep, site_key
from curing.workflow.weather_plan import PlanWeather, plan_weather
from tests.benchmarks.cases import WORDS
from tests.benchmarks.measuring import HEAD, Answer, Result, measured
from tests.benchmarks.recorded import Site, commanded, recorded

FACES, SAID = 50, 1_000
"""Entries: each coat and visit of 38 days, and some weighings."""
BUDGET = 3.0
PAST, AHEAD = timedelta(days=60), timedelta(days=10)
NAMES = {
    "temperature": "temperature_2m",
    "humidity": "relative_humidity_2m",
    "wind": "wind_speed_10m",
    "direction": "wind_direction_10m",
    "cloud": "cloud_cover",
    "rain": "precipitation",
    "radiation": "shortwave_radiation",
}
UNITS = {
    "time": "unixtime", "temperature_2m": "°C", "relative_humidity_2m": "%", "wind_speed_10m": "m/s",
    "wind_direction_10m": "°", "cloud_cover": "%", "precipitation": "mm", "shortwave_radiation": "W/m²",
}  # fmt: skip


def invented(count: int, seed: int) -> dict[str, np.ndarray[Any, np.dtype[np.float64]]]:
    """Hours of a changeable early summer, in the units of the service."""
    rng, clock = np.random.default_rng(seed), np.arange(count)
    day = np.clip(np.sin((clock % 24 - 6.0) / 12.0 * np.pi), 0.0, 1.0)
    return {
        "temperature": 11.0 + 7.0 * day + np.cumsum(rng.normal(0.0, 0.1, count)),
        "humidity": np.clip(85.0 - 30.0 * day + rng.normal(0.0, 5.0, count), 20.0, 100.0),
        "wind": rng.uniform(1.0, 7.0, count),
        "direction": rng.uniform(0.0, 360.0, count),
        "rain": np.where(rng.random(count) < 0.06, rng.uniform(0.1, 3.0, count), 0.0),
        "radiation": 700.0 * day * rng.uniform(0.3, 1.0, count),
        "cloud": rng.uniform(0.0, 100.0, count),
    }


def body(start: datetime, count: int, seed: int, latitude: float, longitude: float) -> bytes:
    """Return an invented answer of a service; radiation and rain are of the hour before."""
    values = invented(count, seed)
    times = [int((start + n * HOUR).timestamp()) for n in range(count)]
    hourly = {NAMES[name]: np.round(series, 2).tolist() for name, series in values.items()}
    return json.dumps(
        {
            "latitude": latitude,
            "longitude": longitude,
            "utc_offset_seconds": 0,
            "hourly_units": UNITS,
            "hourly": {"time": times, **hourly},
        }
    ).encode()


def under_weather(site: Site) -> PlanWeather:
    """Keep two runs and 60 days of hours past in the state of a job; return what it is planned under."""
    now, spot = site.now, site.job.file.sites[0]
    hour = now.replace(minute=0, second=0, microsecond=0)
    with open_state(site.state, site.job.file.uid) as store:
        long = PAST // HOUR
        past = invented(long, 1)
        told = of(
            {**{name: past[name] for name in VARIABLES}, "cloud": past["cloud"] / 100.0}, hour - PAST, long, "file"
        )
        for day in range(0, long, 24):  # as runs of each morning leave them
            part = {name: getattr(told, name)[day : day + 24] for name in VARIABLES}
            at = told.start + day * HOUR
            store.keep_hours(site_key(spot), hours_past([replace(of(part, at, 24, "open-meteo"), issued=at)], now))
        for run, age in ((1, 7), (2, 1)):
            at, count = hour - age * HOUR, (AHEAD // HOUR)
            answer = body(at, count, 10 + run, spot.latitude, spot.longitude)
            weather = parse_any(answer, name="run", spot=spot, fetched=at)
            keep(store, spot, weather, answer, at)
        return plan_weather(store, site.job, now)


def timed(folder: Path, runs: int) -> Iterator[Result]:
    """Time planning with and without weather."""
    site = recorded(folder, FACES, SAID)
    bare_state = folder / "bare.state"
    shutil.copytree(site.state, bare_state)
    weather, said = under_weather(site), Said(site.entries)
    job, _ = facts(site.job, site.first, said)

    def sound(told: tuple[Plan, bool]) -> Answer:
        plan = told[0]
        faults = check(job, plan)
        off = sum(one.state is State.OFF for one in plan.bookings if one.kind is Kind.COAT)
        return f"{len(faults)} faults, {off} coats off, {'news' if told[1] else 'no news'}", not faults

    yield measured(
        f"{FACES} faces, plan in memory, no weather",
        lambda: next_plan(site.job, site.first, site.now, WORDS, said),
        sound,
        runs=runs,
    )
    yield measured(
        f"{FACES} faces, plan in memory, weather",
        lambda: next_plan(site.job, site.first, site.now, WORDS, said, weather=weather),
        sound,
        runs=runs,
        budget=BUDGET,
    )
    plan, _ = next_plan(site.job, site.first, site.now, WORDS, said, weather=weather)

    def quiet(told: tuple[Plan, bool]) -> Answer:
        return "news" if told[1] else "no news", not told[1]

    yield measured(
        "  again under the same sky",
        lambda: next_plan(site.job, plan, site.now, WORDS, said, weather=weather),
        quiet,
        runs=runs,
    )
    yield measured(
        "  the sky over its faces alone",
        lambda: sky_over(site.job, weather.runs, site.now, weather.past),
        lambda sky: (f"{len(sky.newest)} faces, {len(sky.past)} past", len(sky.newest) == FACES),
        runs=runs,
    )
    for name, state, budget in (("no weather", bare_state, None), ("weather", site.state, BUDGET)):
        yield measured(
            f"curing plan, {FACES} faces, {name}",
            _plans(site, state, folder),
            lambda done: (f"exit {done.returncode}" + done.stderr[-200:], done.returncode == 0),
            runs=runs,
            budget=budget,
        )


def _plans(site: Site, state: Path, folder: Path) -> Any:
    turn = itertools.count()

    def run() -> Any:
        number = next(turn)
        copy, out = (folder / f"{state.name}-{name}-{number}" for name in ("state", "out"))
        shutil.copytree(state, copy)
        return commanded("plan", str(site.file), "--out", str(out), "--state", str(copy), "--as-of", site.as_of)

    return run


def main() -> int:
    """Print times; end non-zero where an answer is wrong."""
    words = argparse.ArgumentParser(prog="python -m tests.benchmarks.plan_weather", description=__doc__)
    words.add_argument("--runs", type=int, default=5, help="of each (default: %(default)s)")
    given = words.parse_args()
    print(f"Python {platform.python_version()}, load {os.getloadavg()[0]:.1f}; {FACES} faces, {SAID} entries\n{HEAD}")
    right = True
    with tempfile.TemporaryDirectory() as folder:
        for result in timed(Path(folder), given.runs):
            print(result.line(), flush=True)
            right = right and result.right
    return 0 if right else 1


if __name__ == "__main__":
    sys.exit(main())
