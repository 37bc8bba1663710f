"""Clear sky, cloud and the cold of the sky."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pvlib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from curing.physics.sky import (
    clear_radiation,
    cloud_from_radiation,
    emissivity,
    radiation_from_cloud,
    sky_temperature,
)

MIDNIGHT = 1_813_708_800.0  # 2027-06-23
CLEAR = 900.0 * np.maximum(np.sin(np.linspace(-np.pi / 2.0, 1.5 * np.pi, 24)), 0.0)


def test_a_clear_sky():
    # Haurwitz 1945 at zenith angles of 0, 30, 60, 80 degrees; the formula by hand.
    got = clear_radiation(np.cos(np.radians([0.0, 30.0, 60.0, 80.0])))
    assert got == pytest.approx([1035.1, 888.3, 487.9, 135.7], abs=0.06)


def test_a_second_opinion_on_the_clear_sky():
    zenith = np.linspace(0.0, 110.0, 221)
    expected = pvlib.clearsky.haurwitz(pd.Series(zenith))["ghi"].to_numpy()
    assert clear_radiation(np.cos(np.radians(zenith))) == pytest.approx(expected, abs=1e-6)


@given(st.floats(0.05, 1.0))
def test_cloud_and_radiation_are_each_other_turned_round(cover):
    radiation = radiation_from_cloud(CLEAR, cover)
    assert cloud_from_radiation(MIDNIGHT, radiation, CLEAR) == pytest.approx(np.full(24, cover), abs=1e-6)


def test_cloud_is_that_of_a_day_of_universal_time():
    two = np.tile(CLEAR, 2)
    sun = np.concatenate([0.25 * CLEAR, CLEAR])
    got = cloud_from_radiation(MIDNIGHT, sun, two)
    assert got[:24] == pytest.approx(np.ones(24))
    assert got[24:] == pytest.approx(np.zeros(24))
    shifted = cloud_from_radiation(MIDNIGHT + 6 * 3600.0, sun[6:], two[6:])
    assert np.array_equal(shifted, got[6:])


def test_hours_that_are_not_known_are_left_out_and_a_day_without_sun_is_not_judged():
    sun = 0.25 * CLEAR
    sun[10] = np.nan
    assert cloud_from_radiation(MIDNIGHT, sun, CLEAR) == pytest.approx(np.ones(24))
    assert np.isnan(cloud_from_radiation(MIDNIGHT, np.full(24, np.nan), CLEAR)).all()
    assert np.isnan(cloud_from_radiation(MIDNIGHT, 0.0 * CLEAR, 0.0 * CLEAR)).all()
    glimpse = np.where(np.arange(24) == 12, 40.0, 0.0)  # 40 Wh/m2: a polar winter's noon
    assert np.isnan(cloud_from_radiation(MIDNIGHT, glimpse, glimpse)).all()
    assert cloud_from_radiation(MIDNIGHT, 2.0 * glimpse, 2.0 * glimpse).max() == 0.0
    assert cloud_from_radiation(MIDNIGHT, [], []).size == 0


def test_a_sky_is_cold_when_clear_and_dry():
    # Berdahl and Martin 1984 at dew points 0, 10, 20: 0.711 + 0.56 t + 0.73 t2, t in hundreds; by hand.
    assert emissivity([0.0, 10.0, 20.0], 0.0) == pytest.approx([0.711, 0.7743, 0.8522], abs=1e-4)
    clear, half, full = sky_temperature(20.0, 10.0, [0.0, 0.5, 1.0])
    assert clear < half < full < 20.0
    assert 20.0 - clear == pytest.approx(18.2, abs=0.2)
    assert emissivity(36.0, 0.0) == 1.0  # the fit would have it glow more than black
    assert np.isnan(sky_temperature(np.nan, 10.0, 0.5))
    assert np.isnan(sky_temperature(20.0, 10.0, np.nan))
