"""Rain on walls, by hand and by what must hold."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from curing.physics.driving_rain import KEPT, ORDINARY, rain_on_face, terrain_factor

AZIMUTH = st.floats(0.0, 360.0)
WIND, RAIN = st.floats(0.0, 30.0), st.floats(0.0, 50.0)


# The formula of ISO 15927-3:2009 by hand; no worked example of the standard was found in open text.
def test_hours_worked_out_by_hand():
    assert rain_on_face(5.0, 2.0, 180.0, 180.0, share=1.0) == pytest.approx(2.0575, abs=1e-4)
    assert rain_on_face(5.0, 2.0, 225.0, 180.0, share=1.0) == pytest.approx(1.4549, abs=1e-4)
    assert rain_on_face(10.0, 1.0, 0.0, 0.0, share=1.0) == pytest.approx(2.2222, abs=1e-4)


def test_four_hours_of_weather_on_three_walls():
    wind, rain, direction = [5.0, 8.0, 3.0, 6.0], [2.0, 4.0, 0.5, 1.0], [225.0, 200.0, 290.0, 90.0]
    for azimuth, known in ((180.0, 7.1832), (270.0, 3.8781), (0.0, 0.1231)):
        assert rain_on_face(wind, rain, direction, azimuth, share=1.0).sum() == pytest.approx(known, abs=1e-4)


def test_terrain():
    # ISO 15927-3 by its own formula: category III up to 8 m, II at 10 m.
    assert terrain_factor(8.0, 3) == terrain_factor(2.0, 3) == pytest.approx(0.7224, abs=1e-4)
    assert terrain_factor(10.0, 2) == pytest.approx(1.007, abs=1e-3)
    with pytest.raises(ValueError, match="categories are 1"):
        terrain_factor(10.0, 5)


def test_the_worst_of_three_directions():
    for off, known in ((0.0, 1.0), (30.0, np.cos(np.radians(15.0))), (100.0, np.cos(np.radians(55.0))), (150.0, 0.0)):
        for side in (-1.0, 1.0):
            worst = rain_on_face(9.0, 1.0, 180.0 + side * off, 180.0, share=0.5, worst=True)
            assert worst == pytest.approx(0.5 * known * 2.0, abs=1e-9)


@given(WIND, RAIN, AZIMUTH, AZIMUTH)
def test_never_negative_none_in_the_lee_and_the_worst_is_no_less(wind, rain, direction, azimuth):
    on_face, worst = (rain_on_face(wind, rain, direction, azimuth, worst=w) for w in (False, True))
    assert 0.0 <= on_face <= worst + 1e-12
    off = abs((direction - azimuth + 180.0) % 360.0 - 180.0)
    if off >= 90.0:
        assert on_face == 0.0
    if off >= 135.0:
        assert worst == 0.0


@given(WIND, RAIN, AZIMUTH, AZIMUTH, AZIMUTH)
def test_wall_and_wind_turned_together(wind, rain, direction, azimuth, turn):
    expected = rain_on_face(wind, rain, direction, azimuth)
    assert rain_on_face(wind, rain, direction + turn, azimuth + turn) == pytest.approx(float(expected), abs=1e-9)


def test_a_direction_that_is_not_told_is_the_mean_of_all():
    turn = rain_on_face(6.0, 2.0, np.arange(0.0, 360.0, 0.1), 77.0).mean()
    assert rain_on_face(6.0, 2.0, np.nan, 77.0) == pytest.approx(turn, rel=1e-4)
    assert np.isnan(rain_on_face(np.nan, 2.0, 10.0, 77.0))
    assert np.isnan(rain_on_face(6.0, np.nan, 10.0, 77.0))


def test_the_shares_that_are_assumed():
    assert (ORDINARY, KEPT) == (0.30, 0.7)
