"""Where the sun stands, against published examples and a second opinion."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pandas as pd
import pvlib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from curing.physics.solar import (
    cos_incidence,
    declination_and_equation_of_time,
    direction,
    position,
    position_from_hour_angle,
)

# NREL/TP-560-34302 (rev. 2008), A.5 and Table A5.1; re-read in a public text copy of the report.
GOLDEN = (39.742476, -105.1786)
GOLDEN_INSTANT = datetime(2003, 10, 17, 19, 30, 30, tzinfo=UTC).timestamp()

# Years 2004-2036 in unix seconds.
INSTANTS = st.floats(1.08e9, 2.1e9)
AZIMUTHS = st.floats(0.0, 360.0, exclude_max=True)


def degrees_apart(a, b):
    return np.abs((np.asarray(a) - np.asarray(b) + 180.0) % 360.0 - 180.0)


def test_worked_example_of_the_solar_position_report():
    zenith, azimuth = position([GOLDEN_INSTANT], *GOLDEN)
    # The report's 50.11162 includes 0.0163 of refraction (its Eq 42, 820 mbar, 11 C).
    assert zenith[0] == pytest.approx(50.11162 + 0.0163, abs=0.005)
    assert azimuth[0] == pytest.approx(194.34024, abs=0.005)
    # Roof of 30 deg, turned 10 deg east of south.
    incidence = np.degrees(np.arccos(cos_incidence(zenith, azimuth, 170.0, tilt=30.0)))
    assert incidence[0] == pytest.approx(25.18700, abs=0.02)


def test_declination_and_equation_of_time_of_the_solar_position_report():
    declination, equation = declination_and_equation_of_time(GOLDEN_INSTANT)
    assert np.degrees(declination) == pytest.approx(-9.31434, abs=0.005)
    assert equation / 60.0 == pytest.approx(14.641503, abs=0.05)


# Duffie & Beckman, Solar Engineering of Thermal Processes, examples 1.6.1 and 1.6.2. The book was not
# re-read: its figures are quoted alike in two independent public test suites.
def test_textbook_angle_of_incidence():
    # Madison, 43 N, 13 February (declination -14), 10:30 solar time; tilt 45, 15 west of south.
    zenith, azimuth = position_from_hour_angle(43.0, -14.0, -22.5)
    cosine = cos_incidence(zenith, azimuth, 195.0, tilt=45.0)
    assert cosine == pytest.approx(0.817, abs=0.001)
    assert np.degrees(np.arccos(cosine)) == pytest.approx(35.0, abs=0.2)


@pytest.mark.parametrize(
    ("declination", "solar_hour", "zenith", "from_south"),
    [(-14.0, 9.5, 66.5, -40.0), (23.1, 18.5, 79.6, 112.0)],
)
def test_textbook_zenith_and_azimuth(declination, solar_hour, zenith, from_south):
    got = position_from_hour_angle(43.0, declination, (solar_hour - 12.0) * 15.0)
    assert got[0] == pytest.approx(zenith, abs=0.06)
    assert got[1] == pytest.approx(180.0 + from_south, abs=0.1)


@pytest.mark.parametrize(
    ("latitude", "longitude"),
    [(-60, -70.0), (-35, 149.1), (-10, -75.0), (15, 100.5), (40, -105.0), (65, 25.5)],
)
def test_a_year_of_positions_against_the_full_solar_position_algorithm(latitude, longitude):
    times = pd.date_range("2027-01-01", "2028-01-01", freq="101min", tz="UTC")
    expected = pvlib.solarposition.spa_python(times, latitude, longitude)
    zenith, azimuth = position((times - pd.Timestamp(0, tz="UTC")).total_seconds(), latitude, longitude)
    up = expected["zenith"].to_numpy() < 90.0
    turned = degrees_apart(azimuth, expected["azimuth"])
    assert up.sum() > 2000
    assert np.abs(zenith - expected["zenith"])[up].max() < 0.03
    # Near the zenith a hair's breadth on the sky is degrees of azimuth: there, the breadth counts.
    assert turned[up & (zenith > 30.0)].max() < 0.03
    assert (turned * np.sin(np.radians(zenith)))[up].max() < 0.03


@given(st.floats(-90.0, 90.0), st.floats(-23.45, 23.45), st.floats(-180.0, 180.0), AZIMUTHS)
def test_south_of_the_equator_is_the_mirror_image(latitude, declination, hour_angle, face):
    zenith, azimuth = position_from_hour_angle(latitude, declination, hour_angle)
    mirrored_zenith, mirrored_azimuth = position_from_hour_angle(-latitude, -declination, hour_angle)
    assert mirrored_zenith == pytest.approx(zenith, abs=1e-9)
    assert cos_incidence(mirrored_zenith, mirrored_azimuth, 180.0 - face) == pytest.approx(
        cos_incidence(zenith, azimuth, face), abs=1e-9
    )


@given(st.floats(0.0, 180.0), AZIMUTHS, AZIMUTHS)
def test_walls_at_right_angles_and_back_to_back(zenith, azimuth, face):
    cosine = cos_incidence(zenith, azimuth, face)
    assert cos_incidence(zenith, azimuth + 90.0, face + 90.0) == pytest.approx(cosine, abs=1e-12)
    assert cos_incidence(zenith, azimuth, face + 180.0) == pytest.approx(-cosine, abs=1e-12)
    beside = cos_incidence(zenith, azimuth, face + 90.0)
    assert cosine**2 + beside**2 == pytest.approx(np.sin(np.radians(zenith)) ** 2, abs=1e-12)
    assert cos_incidence(zenith, azimuth, face, tilt=0.0) == pytest.approx(np.cos(np.radians(zenith)))


@given(INSTANTS, st.floats(-90.0, 90.0), st.floats(-180.0, 180.0), AZIMUTHS)
def test_angles_and_unit_vector_are_the_same_sun(instant, latitude, longitude, face):
    zenith, azimuth = position([instant], latitude, longitude)
    east, north, up = direction([instant], latitude, longitude)
    assert 0.0 <= zenith[0] <= 180.0
    assert 0.0 <= azimuth[0] < 360.0
    assert up[0] == pytest.approx(np.cos(np.radians(zenith[0])), abs=1e-9)
    on_face = east * np.sin(np.radians(face)) + north * np.cos(np.radians(face))
    assert on_face[0] == pytest.approx(cos_incidence(zenith, azimuth, face)[0], abs=1e-9)


@given(INSTANTS, st.floats(-66.0, 66.0), st.floats(-165.0, 165.0))
def test_fifteen_degrees_east_is_an_hour_earlier(instant, latitude, longitude):
    here = np.array(direction(instant, latitude, longitude))
    east = np.array(direction(instant - 3600.0, latitude, longitude + 15.0))
    assert np.degrees(np.abs(here - east)).max() < 0.03  # what the sun itself moves in an hour


def test_the_poles_see_the_sun_circle_level():
    day = datetime(2027, 6, 21, tzinfo=UTC).timestamp() + 3600.0 * np.arange(24)
    zenith, azimuth = position(day, 90.0, 0.0)
    assert np.ptp(zenith) < 0.02
    assert zenith.mean() == pytest.approx(90.0 - 23.44, abs=0.02)
    assert np.isfinite(azimuth).all()
    assert degrees_apart(np.diff(azimuth), 15.0).max() < 0.02
    assert position(day, -90.0, 0.0)[0].mean() == pytest.approx(90.0 + 23.44, abs=0.02)


def test_due_north_is_0_and_never_360():
    # A hair past noon in the south: the azimuth is a rounding short of a full turn.
    assert position_from_hour_angle(-40.0, 0.0, [-1e-15, 0.0, 1e-15])[1].tolist() == pytest.approx([0.0] * 3)


def test_shapes_are_kept():
    assert position(np.zeros((3, 4)), 52.0, 5.0)[0].shape == (3, 4)
    assert position([], 52.0, 5.0)[1].shape == (0,)
    assert position(np.array([0, 1], dtype=np.int64), 52.0, 5.0)[0].dtype == np.float64
