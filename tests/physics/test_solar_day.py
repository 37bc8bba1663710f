"""Sunrise, noon and sunset, against almanac figures and a second opinion."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, timezone

import astral
import astral.sun
import numpy as np
import pandas as pd
import pvlib
import pytest

from curing.physics.solar import position
from curing.physics.sun_on_face import solar_noon, sun_times


def unix(*when, offset=0.0):
    return datetime(*when, tzinfo=timezone(timedelta(hours=offset))).timestamp()


def year_of_days(year, offset=0.0):
    return unix(year, 1, 1, offset=offset) + 86400.0 * np.arange(365)


def test_noon_rise_and_set_of_the_solar_position_report():
    # NREL/TP-560-34302, Table A5.1; re-read in a public text copy of the report. Its day is that of
    # universal time, so its sunset, 00:20:19 UT on the 17th, is that of the 16th in Colorado.
    latitude, longitude = 39.742476, -105.1786
    starts = [unix(2003, 10, 16, offset=-7), unix(2003, 10, 17, offset=-7)]
    rise, fall = sun_times(starts, latitude, longitude)
    assert solar_noon(starts, longitude)[1] == pytest.approx(unix(2003, 10, 17, 18, 46, 5), abs=5)
    assert rise[1] == pytest.approx(unix(2003, 10, 17, 13, 12, 43), abs=10)
    assert fall[0] == pytest.approx(unix(2003, 10, 17, 0, 20, 19), abs=10)


@pytest.mark.parametrize(
    ("day", "latitude", "rise", "fall"),
    [
        ((1994, 1, 2), 35.0, (7, 8, 12.8), (16, 59, 55.9)),
        ((1996, 7, 5), -35.0, (7, 8, 15.4), (17, 1, 4.5)),
        ((2004, 12, 4), -35.0, (4, 38, 57.1), (19, 2, 2.5)),
    ],
)
def test_rise_and_set_at_greenwich(day, latitude, rise, fall):
    # NREL/TP-560-34302, Table A2.1, column SPA; re-read in a public text copy of the report.
    start = unix(*day)
    got = np.array(sun_times([start], latitude, 0.0))[:, 0] - start
    assert got == pytest.approx([h * 3600 + m * 60 + s for h, m, s in (rise, fall)], abs=15)


@pytest.mark.parametrize(
    ("latitude", "longitude", "offset"),
    [
        (52.1, 5.18, 1),
        (-33.9, 18.4, 2),
        (60.2, 24.9, 2),
        (0.3, 32.6, 3),
        (39.7, -105.2, -7),
        (-54.8, -68.3, -3),
    ],
)
def test_a_year_of_rises_and_sets_against_a_second_opinion(latitude, longitude, offset):
    rise, fall = sun_times(year_of_days(2027, offset), latitude, longitude)
    observer = astral.Observer(latitude, longitude, 0.0)
    zone = timezone(timedelta(hours=offset))
    for i in range(0, 365, 7):
        day = date(2027, 1, 1) + timedelta(days=i)
        assert rise[i] == pytest.approx(astral.sun.sunrise(observer, day, tzinfo=zone).timestamp(), abs=120)
        assert fall[i] == pytest.approx(astral.sun.sunset(observer, day, tzinfo=zone).timestamp(), abs=120)


@pytest.mark.parametrize(("latitude", "longitude"), [(52.1, 5.18), (-44.0, 170.5), (0.0, -78.0), (-1.0, 179.9)])
def test_noon_lies_between_a_rise_and_a_set_of_its_own_day(latitude, longitude):
    starts = year_of_days(2027, round(longitude / 15.0))
    noon = solar_noon(starts, longitude)
    rise, fall = sun_times(starts, latitude, longitude)
    assert (np.abs(noon - starts - 43200.0) < 3600.0).all()
    assert (np.abs((rise + fall) / 2.0 - noon) < 120.0).all()
    zenith, azimuth = position(noon, latitude, longitude)
    eastward = np.sin(np.radians(azimuth)) * np.sin(np.radians(zenith))
    assert (np.abs(eastward) < 1e-3).all()  # in the meridian


def test_day_and_night_are_equal_at_the_equinox_everywhere():
    for latitude in (-60.0, -30.0, 0.0, 30.0, 60.0):
        # 20 March 2027, 20:25 UTC: equinox in the course of this day.
        rise, fall = sun_times([unix(2027, 3, 20)], latitude, 0.0, altitude=0.0)
        assert fall - rise == pytest.approx(43200.0, abs=240.0)
        assert position(rise, latitude, 0.0)[1] == pytest.approx(90.0, abs=0.6)
        assert position(fall, latitude, 0.0)[1] == pytest.approx(270.0, abs=0.6)


def test_refraction_and_the_rim_of_the_sun_lengthen_the_day():
    starts = year_of_days(2027)
    rise, fall = sun_times(starts, 52.0, 5.0)
    geometric_rise, geometric_fall = sun_times(starts, 52.0, 5.0, altitude=0.0)
    # 0.833 deg at 15 deg an hour, the slanter the path the longer: 5 to 9 minutes at 52 N.
    assert ((geometric_rise - rise > 300.0) & (geometric_rise - rise < 540.0)).all()
    assert ((fall - geometric_fall > 300.0) & (fall - geometric_fall < 540.0)).all()


def test_midnight_sun_and_polar_night_have_no_times():
    starts = [unix(2027, 6, 21), unix(2027, 12, 21), unix(2027, 3, 21)]
    for latitude, sees in ((70.0, [False, False, True]), (-70.0, [False, False, True])):
        rise, fall = sun_times(starts, latitude, 20.0)
        assert np.isfinite(rise).tolist() == sees
        assert np.isfinite(fall).tolist() == sees
    for pole in (90.0, -90.0):
        assert np.isnan(sun_times(starts[:2], pole, 20.0)).all()


@pytest.mark.parametrize("latitude", [66.0, 68.0, -71.0])
def test_the_first_and_last_days_of_midnight_sun_and_polar_night(latitude):
    starts = year_of_days(2027)
    noon = solar_noon(starts, 0.0)
    after = np.arange(30.0, 43200.0, 60.0)
    for times, half in zip(sun_times(starts, latitude, 0.0), (-after, after), strict=True):
        up = position(noon[:, None] + half, latitude, 0.0)[0] < 90.833
        passes = up.any(axis=1) & ~up.all(axis=1)
        assert 0 < passes.sum() < 365
        assert np.array_equal(np.isfinite(times), passes)


def test_a_sunset_after_midnight_belongs_to_the_noon_before():
    # Fairbanks keeps a clock nearly two hours ahead of its sun in summer.
    start = unix(2027, 6, 21, offset=-8)
    rise, fall = sun_times([start], 64.84, -147.72)
    assert start < rise[0] < start + 4 * 3600
    assert start + 86400.0 < fall[0] < start + 86400.0 + 3600.0
    zenith = pvlib.solarposition.spa_python(pd.to_datetime([rise[0], fall[0]], unit="s", utc=True), 64.84, -147.72)[
        "zenith"
    ]
    assert zenith.to_numpy() == pytest.approx([90.833, 90.833], abs=0.02)


def test_days_may_leave_gaps_and_stand_in_any_order():
    starts = year_of_days(2027, 1)
    chosen = [200, 3, 100]
    whole = np.array(sun_times(starts, 52.1, 5.18))
    assert np.array_equal(np.array(sun_times(starts[chosen], 52.1, 5.18)), whole[:, chosen])
    assert sun_times([], 52.1, 5.18)[0].shape == (0,)


def test_a_clock_far_from_the_sun_gets_its_own_day():
    # Western China keeps Beijing time: noon near 15:00.
    start = datetime(2027, 6, 21, tzinfo=timezone(timedelta(hours=8))).astimezone(UTC).timestamp()
    rise, fall = sun_times([start], 39.5, 76.0)
    assert 7.0 < (rise[0] - start) / 3600.0 < 8.0
    assert 22.0 < (fall[0] - start) / 3600.0 < 23.0
