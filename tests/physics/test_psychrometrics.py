"""Vapour in air, against published tables and second opinions."""

from __future__ import annotations

import numpy as np
import pandas as pd
import psychrolib
import pyet
import pytest
from hypothesis import given
from hypothesis import strategies as st

from curing.physics.emc import equilibrium_moisture
from curing.physics.psychrometrics import (
    deficit,
    dew_point,
    slope,
    vapour,
    vapour_pressure,
    vapour_pressure_over_ice,
    wet_bulb,
)

psychrolib.SetUnitSystem(psychrolib.SI)
AIR = st.floats(-30.0, 45.0)
HUMIDITY = st.floats(2.0, 100.0)


# ASHRAE Handbook of Fundamentals 2017, ch. 1, Table 3, as quoted in the tests of a public library.
@pytest.mark.parametrize(("celsius", "pascal"), [(-20.0, 103.24), (-5.0, 401.74)])
def test_over_ice(celsius, pascal):
    assert vapour_pressure_over_ice(celsius) == pytest.approx(pascal, rel=3e-4)


@pytest.mark.parametrize(("celsius", "pascal"), [(5.0, 872.6), (25.0, 3169.7), (50.0, 12351.3)])
def test_over_water(celsius, pascal):
    assert vapour_pressure(celsius) == pytest.approx(pascal, rel=2e-3)


# FAO Irrigation and Drainage Paper 56, Table 2.3 and examples 5, 6, 19. From memory, unverified, but for example 19.
def test_the_table_and_examples_of_the_irrigation_paper():
    table = [0.657, 1.228, 2.338, 3.168, 4.243, 7.376]
    assert vapour_pressure([1, 10, 20, 25, 30, 40]) / 1000.0 == pytest.approx(table, abs=6e-4)
    assert vapour(18.0, 82.0) / 1000.0 == pytest.approx(1.70, abs=0.01)  # example 5
    assert deficit(25.0, 54.0) / 1000.0 == pytest.approx(1.46, abs=0.01)
    assert slope(38.0) / 1000.0 == pytest.approx(0.358, abs=1e-3)  # example 19
    assert vapour_pressure(38.0) / 1000.0 == pytest.approx(6.625, abs=1e-3)
    assert vapour(38.0, 52.0) / 1000.0 == pytest.approx(3.445, abs=1e-3)


def test_wet_bulb_of_its_own_paper():
    assert wet_bulb(20.0, 50.0) == pytest.approx(13.7, abs=0.05)  # from memory, unverified


def test_a_wet_bulb_of_the_handbook():
    # ASHRAE 2017, ch. 1, example 1: 40 C, wet bulb 20 C; it prints 14 %, dew point 7 C.
    assert wet_bulb(40.0, 14.0) == pytest.approx(20.0, abs=0.6)
    assert dew_point(40.0, 14.0) == pytest.approx(7.0, abs=0.6)


@given(AIR, HUMIDITY)
def test_a_second_opinion_on_dew_point_and_deficit(celsius, humidity):
    # Above freezing, where the second opinion counts over water too.
    if celsius < 0.1:
        return
    pressure = psychrolib.GetVapPresFromRelHum(celsius, humidity / 100.0)
    assert vapour(celsius, humidity) == pytest.approx(pressure, rel=2e-3)
    dew = psychrolib.GetTDewPointFromRelHum(celsius, humidity / 100.0)
    if dew > 0.0:
        assert dew_point(celsius, humidity) == pytest.approx(dew, abs=0.05)


@given(st.floats(0.5, 45.0), st.floats(10.0, 99.0))
def test_a_second_opinion_on_the_wet_bulb(celsius, humidity):
    expected = psychrolib.GetTWetBulbFromRelHum(celsius, humidity / 100.0, 101325.0)
    if humidity < 20.0 and celsius < 10.0:
        return  # its paper excludes air that is cold and dry together
    assert wet_bulb(celsius, humidity) == pytest.approx(expected, abs=1.05)


@given(st.floats(-60.0, -0.1))
def test_a_second_opinion_over_ice(celsius):
    assert vapour_pressure_over_ice(celsius) == pytest.approx(psychrolib.GetSatVapPres(celsius), rel=1e-6)
    assert vapour_pressure_over_ice(celsius) < vapour_pressure(celsius)


def test_a_second_opinion_on_pressure_and_slope():
    celsius = pd.Series(np.linspace(-30.0, 50.0, 161))
    assert vapour_pressure(celsius) / 1000.0 == pytest.approx(pyet.calc_e0(celsius).to_numpy(), rel=1e-6)
    assert slope(celsius) / 1000.0 == pytest.approx(pyet.calc_vpc(celsius).to_numpy(), rel=2e-3)


@given(AIR, HUMIDITY)
def test_dew_point_and_air_hold_the_same_vapour(celsius, humidity):
    assert dew_point(celsius, humidity) <= celsius + 1e-9
    assert vapour_pressure(dew_point(celsius, humidity)) == pytest.approx(float(vapour(celsius, humidity)), rel=1e-9)


def test_what_is_not_known_stays_unknown():
    gap = np.array([np.nan, 20.0])
    for of in (vapour, deficit, dew_point, wet_bulb, equilibrium_moisture):
        assert np.isnan(of(gap, 50.0)).tolist() == [True, False]
        assert np.isnan(of(20.0, gap)).tolist() == [True, False]
    assert np.isfinite(dew_point(20.0, 0.0))


# Wood Handbook FPL-GTR-190, Table 4-2, RH 20, 30, 50, 65, 80, 90, 95 %.
@pytest.mark.parametrize(
    ("celsius", "moisture"),
    [
        (-1.1, [4.6, 6.3, 9.5, 12.4, 16.5, 21.0, 24.3]),
        (10.0, [4.6, 6.3, 9.5, 12.3, 16.4, 20.9, 24.3]),
        (21.1, [4.5, 6.2, 9.2, 12.0, 16.0, 20.5, 23.9]),
        (32.2, [4.3, 5.9, 8.9, 11.5, 15.4, 19.9, 23.3]),
    ],
)
def test_moisture_of_wood(celsius, moisture):
    assert equilibrium_moisture(celsius, [20, 30, 50, 65, 80, 90, 95]) == pytest.approx(moisture, abs=0.06)
