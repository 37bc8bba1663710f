"""Hours past by the least lead, days of a face beside ordinary ones. All weather here is invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from court import face, job_file, wall
from jobs import read

from curing.model.past_hours import PastHour
from curing.model.weather import VARIABLES, Weather, of
from curing.model.weather_days import Driver
from curing.planning.weather_days import face_days, site_days
from curing.planning.weather_limits import Margin
from curing.planning.weather_ordinary import ordinary
from curing.planning.weather_past import hours_past, known
from curing.planning.weather_site import faces_of, site_weather

DAY = datetime(2027, 5, 3, tzinfo=UTC)
HOUR = timedelta(hours=1)
ZONE = ZoneInfo("Europe/Amsterdam")
EVEN = {"temperature": 15.0, "humidity": 60.0, "wind": 4.0, "direction": 200.0, "rain": 0.0, "radiation": 120.0,
        "cloud": 0.5}  # fmt: skip


def weather(start: datetime, hours: int, made: datetime | None = None, **more: float) -> Weather:
    values = EVEN | more
    one = of({name: np.full(hours, values[name]) for name in VARIABLES}, start, hours, "met-norway")
    return replace(one, issued=made)


def test_each_hour_past_is_of_the_run_made_last_before_it() -> None:
    runs = [weather(DAY + n * HOUR, 48, DAY + n * HOUR, temperature=float(n)) for n in (0, 6, 12)]
    told = {one.hour: one for one in hours_past(runs, DAY + 20 * HOUR)}
    assert len(told) == 20
    for hour in range(20):
        run = max(n for n in (0, 6, 12) if n <= hour)
        assert (told[DAY + hour * HOUR].values["temperature"], told[DAY + hour * HOUR].lead) == (run, hour - run)


def test_what_was_told_afterwards_is_nearer_than_any_forecast() -> None:
    runs = [weather(DAY, 48, DAY + 12 * HOUR, temperature=12.0), weather(DAY, 48, DAY, temperature=3.0)]
    told = {one.hour: one for one in hours_past(runs, DAY + 20 * HOUR)}
    assert (told[DAY + 5 * HOUR].values["temperature"], told[DAY + 5 * HOUR].lead) == (12.0, 0)


def test_what_a_run_does_not_tell_is_left_to_the_others() -> None:
    gap = weather(DAY, 24, DAY + 5 * HOUR)
    air = gap.temperature.copy()
    air[10] = np.nan
    runs = [replace(gap, temperature=air), weather(DAY, 24, DAY, temperature=9.0)]
    told = {one.hour: one for one in hours_past(runs, DAY + 24 * HOUR)}
    assert (told[DAY + 10 * HOUR].values["temperature"], told[DAY + 10 * HOUR].lead) == (9.0, 10)
    assert told[DAY + 11 * HOUR].lead == 6


def test_a_later_run_changes_no_hour_that_is_over_and_older_runs_none_to_come() -> None:
    now = DAY + 30 * HOUR + timedelta(minutes=20)
    past = [PastHour(DAY + n * HOUR, 2, "met-norway", {"temperature": 8.0}) for n in range(28)]
    newest = weather(DAY + 20 * HOUR, 40, DAY + 29 * HOUR, temperature=20.0)
    found = known(past, newest, now)
    assert found is not None
    at = found.weather.index
    assert [found.weather.temperature[at(DAY + n * HOUR)] for n in (0, 27, 28, 29, 30, 59)] == [8, 8, 20, 20, 20, 20]
    assert found.weather.end == newest.end
    assert np.isnan(found.weather.temperature[at(DAY - HOUR)]), "a gap stays one"
    assert [found.lead[at(DAY + n * HOUR)] for n in (27, 28, 35)] == [2, 0, 6]


def test_what_a_station_measured_wins_and_never_tells_what_is_to_come() -> None:
    now = DAY + 30 * HOUR
    past = [PastHour(DAY + n * HOUR, 4, "met-norway", {"temperature": 8.0, "rain": 1.0}) for n in range(30)]
    station = weather(DAY + 10 * HOUR, 40, temperature=11.0)
    rain = np.full(40, np.nan)
    found = known(past, weather(DAY, 60, DAY, temperature=20.0), now, station=replace(station, rain=rain))
    assert found is not None
    at = found.weather.index
    assert [found.weather.temperature[at(DAY + n * HOUR)] for n in (9, 10, 29, 30)] == [8, 11, 11, 20]
    assert [bool(found.measured[at(DAY + n * HOUR)]) for n in (9, 10, 29, 30)] == [False, True, True, False]
    assert found.weather.rain[at(DAY + 15 * HOUR)] == 1.0, "what it does not tell stays as it was told"


def test_nothing_known_is_nothing() -> None:
    assert known((), None, DAY) is None


def test_the_ordinary_day_is_the_middle_one_of_that_month() -> None:
    """A May of 31 days whose wind rises day by day: the middle day is the 16th."""
    job = read(job_file(wall("1", face("W"))), DAY)
    site = job.file.sites[0]
    faces = faces_of(job, site)
    start = datetime(2020, 5, 1, tzinfo=UTC)
    wind = np.repeat(np.arange(1.0, 32.0), 24)
    years = replace(weather(start, 31 * 24, radiation=0.0, cloud=1.0), wind=wind)
    found = ordinary(site, faces, years, [4, 5])
    outside = next(one for one, face in faces.items() if face.facing is not None)
    middle = site_weather(site, faces, weather(start, 24, radiation=0.0, cloud=1.0, wind=16.0))[outside]
    assert found[outside, 5].takes == pytest.approx(float(middle.demand.sum()), rel=1e-6)
    assert (found[outside, 5].wind, found[outside, 5].years) == (16.0, 1)
    assert (outside, 4) not in found, "no whole day of April is there"


def test_a_windy_dry_day_says_wind_and_dry_air() -> None:
    job = read(job_file(wall("1", face("W"))), DAY)
    site = job.file.sites[0]
    faces = faces_of(job, site)
    usual = ordinary(site, faces, weather(datetime(2020, 5, 1, tzinfo=UTC), 31 * 24), [5])
    begin = DAY - timedelta(hours=2)  # midnight by the clock of the site
    today = weather(begin, 72, DAY, wind=9.0, humidity=40.0)
    face_id = next(one for one, face in faces.items() if face.facing is not None)
    days = face_days(site_weather(site, faces, today)[face_id], ZONE, DAY + 7 * HOUR, usual)
    assert [one.day for one in days] == [date(2027, 5, 3), date(2027, 5, 4), date(2027, 5, 5)]
    assert all(one.whole for one in days)
    assert set(days[0].why) == {Driver.WIND, Driver.DRY}
    assert days[0].takes is not None
    assert days[0].ordinary is not None
    assert days[0].takes > days[0].ordinary
    assert days[0].rain is None


def test_the_coldest_hour_has_its_margin_by_how_far_ahead_it_lies() -> None:
    """1.7 K on the first day to 3.3 K on the seventh: on the third morning 1.7 + 1.6 x (51 - 24)/144 = 2.0 K."""
    begin = DAY - timedelta(hours=2)
    air = np.full(72, 12.0)
    air[53] = 3.0  # 05:00 by the site's clock on the third day, 51 h after the run
    told = replace(weather(begin, 72, DAY), temperature=air)
    found = site_days(told, DAY, ZONE, DAY, Margin(1.7, 3.3), 0.0)
    assert (found[2].coldest, found[2].at) == (3.0, begin + 53 * HOUR)
    assert found[2].could == pytest.approx(3.0 - 2.0, abs=0.01)
