"""When the sun shines on a wall."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone

import numpy as np
import pandas as pd
import pvlib
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from curing.physics.solar import direction
from curing.physics.sun_on_face import direct_sun, direct_sun_hours, solar_noon, sun_times

FACES = {"N": 0.0, "NE": 45.0, "E": 90.0, "SE": 135.0, "S": 180.0, "SW": 225.0, "W": 270.0, "NW": 315.0}
DAYS = np.arange("2027-01-01", "2028-01-01", dtype="datetime64[D]")
STARTS = DAYS.astype("datetime64[s]").astype(np.float64)
MONTH = DAYS.astype("datetime64[M]").astype(int) % 12 + 1


def solar_hours(latitude, face, months):
    """Mean first and last solar hour of each interval, over the days of these months that have it."""
    noon = solar_noon(STARTS, 0.0)
    hours = (direct_sun(STARTS, latitude, 0.0, face) - noon[:, None, None]) / 3600.0 + 12.0
    chosen = hours[np.isin(MONTH, months)]
    present = [pair[np.isfinite(pair[:, 0])] for pair in (chosen[:, 0], chosen[:, 1])]
    return [pair.mean(axis=0) for pair in present if len(pair)]


# Solar time at 52 N, worked out apart from this code; means over the days of the months.
@pytest.mark.parametrize(
    ("months", "s_from", "ne_until", "se_until"),
    [((3, 9, 10), None, 9.3, 14.7), ((4, 8), 6.6, 9.8, 14.2), ((5, 6, 7), 7.2, 10.2, 13.8)],
)
def test_hours_of_direct_sun_at_52_north(months, s_from, ne_until, se_until):
    close = {"abs": 0.1}
    assert solar_hours(52.0, FACES["E"], months)[0][1] == pytest.approx(12.0, abs=0.01)
    assert solar_hours(52.0, FACES["W"], months)[0][0] == pytest.approx(12.0, abs=0.01)
    assert solar_hours(52.0, FACES["NE"], months)[0][1] == pytest.approx(ne_until, **close)
    assert solar_hours(52.0, FACES["SE"], months)[0][1] == pytest.approx(se_until, **close)
    assert solar_hours(52.0, FACES["SW"], months)[0][0] == pytest.approx(ne_until, **close)
    assert solar_hours(52.0, FACES["NW"], months)[0][0] == pytest.approx(se_until, **close)
    if s_from:
        assert solar_hours(52.0, FACES["S"], months)[0] == pytest.approx([s_from, 24.0 - s_from], **close)
        morning, evening = solar_hours(52.0, FACES["N"], months)
        assert morning[1] == pytest.approx(s_from, **close)
        assert evening[0] == pytest.approx(24.0 - s_from, **close)


def test_winter_half_south_face_all_day_and_north_face_never():
    south, north = direct_sun(STARTS, 52.0, 5.0, 180.0), direct_sun(STARTS, 52.0, 5.0, 0.0)
    winter = (MONTH <= 2) | (MONTH >= 10)
    daylight = np.stack(sun_times(STARTS, 52.0, 5.0, altitude=0.0), axis=-1)
    assert south[winter, 0] == pytest.approx(daylight[winter], abs=1.0)
    assert np.isnan(south[winter, 1]).all()
    assert np.isnan(north[winter]).all()
    assert (direct_sun_hours(north)[winter] == 0.0).all()


def test_south_of_the_equator_the_north_face_has_the_sun():
    # 44 S in its summer: the sun reaches the north face 0.4 h later than the south face at 52 N.
    assert solar_hours(-44.0, 0.0, (11, 12, 1))[0] == pytest.approx([7.6, 16.4], abs=0.1)
    year = [direct_sun_hours(direct_sun(STARTS, lat, 0.0, face)).mean() for lat, face in ((44, 180), (-44, 0))]
    assert year[0] == pytest.approx(year[1], abs=0.1)


@pytest.mark.parametrize(
    ("latitude", "longitude", "offset", "face"),
    [
        (52.1, 5.18, 2.0, 10.0),
        (-33.9, 151.2, 10.0, 200.0),
        (64.84, -147.72, -8.0, 0.0),  # sets after the clock's midnight
        (70.0, 25.8, 2.0, 340.0),  # midnight sun
        (12.0, -61.7, -4.0, 0.0),  # summer sun passes north of the zenith
        (5.3, 100.3, 8.0, 0.0),
        (0.3, 32.6, 3.0, 90.0),
    ],
)
def test_minute_by_minute_against_the_full_solar_position_algorithm(latitude, longitude, offset, face):
    first = datetime(2027, 1, 9, tzinfo=timezone(timedelta(hours=offset))).timestamp()
    starts = first + 86400.0 * np.arange(0, 360, 40)
    lit = direct_sun(starts, latitude, longitude, face)
    minutes = (starts[:, None] + np.arange(0.0, 86400.0, 120.0)).ravel()
    sun = pvlib.solarposition.spa_python(pd.to_datetime(minutes, unit="s", utc=True), latitude, longitude)
    cosine = pvlib.irradiance.aoi_projection(90.0, face, sun["zenith"], sun["azimuth"]).to_numpy()
    height = np.radians(sun["elevation"].to_numpy())
    # A day is that of its noon: the sun of the small hours may be the evening before.
    around = np.concatenate([lit, direct_sun(starts - 86400.0, latitude, longitude, face)], axis=1)
    around = np.concatenate([around, direct_sun(starts + 86400.0, latitude, longitude, face)], axis=1)
    at = minutes.reshape(len(starts), -1)[:, :, None]
    got = ((at > around[:, None, :, 0]) & (at < around[:, None, :, 1])).any(axis=-1).ravel()
    # 0.02 deg is what the two suns differ by.
    sure = (np.abs(cosine) > 4e-4) & (np.abs(height) > 4e-4)
    assert got.any()
    assert np.array_equal(got[sure], ((cosine > 0.0) & (height > 0.0))[sure])


@settings(max_examples=150, deadline=None)
@given(
    st.floats(1.08e9, 2.1e9),
    st.one_of(st.floats(-66.0, 66.0), st.floats(-90.0, 90.0), st.sampled_from([0.0, 90.0, -90.0, 23.44])),
    st.floats(-180.0, 180.0),
    st.one_of(st.floats(0.0, 360.0), st.sampled_from(sorted(FACES.values()))),
)
def test_intervals_hold_exactly_the_instants_with_sun_on_the_face(start, latitude, longitude, face):
    lit = direct_sun([start], latitude, longitude, face)
    assert lit.shape == (1, 2, 2)
    ends = lit[0][np.isfinite(lit[0]).all(axis=1)]
    assert (ends[:, 0] < ends[:, 1]).all()
    assert len(ends) < 2 or ends[0, 1] < ends[1, 0]
    assert not (np.isnan(lit[0, 0]).any() and np.isfinite(lit[0, 1]).any())  # first place filled first
    noon = solar_noon([start], longitude)
    at = noon - 43200.0 + np.arange(90.0, 86400.0, 180.0)
    east, north, up = direction(at, latitude, longitude)
    cosine = east * np.sin(np.radians(face)) + north * np.cos(np.radians(face))
    got = ((at[:, None] > ends[:, 0]) & (at[:, None] < ends[:, 1])).any(axis=1)
    tenth = np.radians(0.2)  # next to the very plane of the face or of the horizon minutes may differ
    sure = (np.abs(cosine) > tenth) & (np.abs(up) > tenth)
    assert np.array_equal(got[sure], ((cosine > 0.0) & (up > 0.0))[sure])


@given(st.floats(-60.0, 60.0), st.floats(0.0, 360.0))
def test_two_sides_of_a_wall_share_the_day(latitude, face):
    starts = STARTS[::30]
    rise, fall = sun_times(starts, latitude, 5.0, altitude=0.0)
    sides = [direct_sun(starts, latitude, 5.0, side) for side in (face, face + 180.0)]
    both = sum(direct_sun_hours(side) for side in sides)
    assert both * 3600.0 == pytest.approx(fall - rise, abs=60.0)


def test_direct_sun_lies_between_sunrise_and_sunset():
    rise, fall = sun_times(STARTS, 52.1, 5.18)
    for face in FACES.values():
        lit = direct_sun(STARTS, 52.1, 5.18, face)
        assert (np.nanmin(lit.reshape(-1, 4)[MONTH == 6], axis=1) > rise[MONTH == 6]).all()
        assert (np.nanmax(lit.reshape(-1, 4)[MONTH == 6], axis=1) < fall[MONTH == 6]).all()


def test_polar_day_and_night():
    june, december = datetime.fromisoformat("2027-06-21T00:00Z"), datetime.fromisoformat("2027-12-21T00:00Z")
    lit = direct_sun([june.timestamp(), december.timestamp()], 75.0, 20.0, 180.0)
    assert 9.0 < direct_sun_hours(lit)[0] < 12.5
    assert np.isnan(lit[1]).all()
    north = direct_sun([june.timestamp()], 75.0, 20.0, 0.0)
    assert direct_sun_hours(np.concatenate([lit[:1], north], axis=1)) == pytest.approx(24.0, abs=0.02)


def test_no_interval_is_a_mere_rounding():
    for latitude in (52.0, 67.0, 77.0, 85.0, 90.0):
        for face in (0.0, 90.0, 180.0, 270.0):
            lit = direct_sun(STARTS, latitude, 0.0, face)
            lasting = lit[..., 1] - lit[..., 0]
            assert lasting[np.isfinite(lasting)].min() >= 1.0


def test_no_days_give_no_rows():
    lit = direct_sun([], 52.1, 5.18, 0.0)
    assert lit.shape == (0, 2, 2)
    assert direct_sun_hours(lit).shape == (0,)
