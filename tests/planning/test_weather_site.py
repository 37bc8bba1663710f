"""From the faces of a job to their hours: what exposure, gutter, cloth and side do."""

from __future__ import annotations

import numpy as np
import pytest
from weather_by_hand import HOURS, LAID, SITE, START, face, hours, weather

from curing.model.job import Side
from curing.physics.driving_rain import rain_on_face
from curing.planning.weather_site import aspect_of, site_weather

SHOWER = {"rain": {(0, 6): 2.0}, "wind": {(-LAID, 200): 5.0}, "direction": {(-LAID, 200): 180.0}}
LIT = {"radiation": {(0, 6): 700.0}, "cloud": {(-LAID, 200): 0.2}}


def test_rain_that_counts_is_the_worst_of_the_wind_as_told_and_45_degrees_to_either_side():
    for facing in (180.0, 225.0, 269.0, 300.0, 0.0):
        seen = hours(SHOWER, on=face(facing))
        told = rain_on_face(5.0, 2.0, [180.0], facing)[0]
        worst = max(rain_on_face(5.0, 2.0, [d], facing)[0] for d in (135.0, 180.0, 225.0))
        assert seen.rain_told[LAID] == pytest.approx(told)
        assert seen.rain[LAID] == pytest.approx(worst)
    lee = hours(SHOWER, on=face(269.0))
    assert lee.rain[LAID] > 20 * lee.rain_told[LAID]  # the lee is not dry by decree


def test_without_a_gutter_any_rain_counts():
    seen = hours(SHOWER, on=face(0.0, gutter=False))
    assert seen.rain[LAID] == 2.0
    assert seen.rain_told[LAID] == 0.0
    assert hours(SHOWER, on=face(0.0)).rain[LAID] == 0.0


def test_without_a_gutter_driven_rain_counts_where_it_is_more_than_the_gauge_tells():
    storm = {"rain": {0: 1.0}, "wind": {0: 20.0}, "direction": {0: 180.0}}
    # Published: 2/9 of wind and rain^(8/9), half of it on an exposed wall: 2.2 L/m2 of 1 mm.
    assert hours(storm, on=face(180.0, exposure="exposed", gutter=False)).rain[LAID] == pytest.approx(20 / 9)


def test_exposure_takes_wind_and_rain_as_measured_factors():
    calm, plain, open_ = (hours(SHOWER, on=face(180.0, exposure=e)) for e in ("sheltered", "normal", "exposed"))
    assert calm.rain[LAID] / plain.rain[LAID] == pytest.approx(1 / 3)
    assert open_.rain[LAID] / plain.rain[LAID] == pytest.approx(5 / 3)
    assert calm.demand[LAID] < plain.demand[LAID] < open_.demand[LAID]


def test_cloth_keeps_off_sun_and_wind():
    seen = hours(LIT, on=face(180.0))
    assert seen.demand_cloth[LAID + 4] < 0.7 * seen.demand[LAID + 4]
    bare = hours(LIT, on=face(180.0, cloth=False))
    assert np.array_equal(bare.demand_cloth, bare.demand)
    assert aspect_of(face(180.0), cloth=True).sun == 0.35


def test_direct_sun_is_a_part_of_all_and_none_on_a_shaded_side():
    south, north = hours(LIT, on=face(180.0)), hours(LIT, on=face(0.0))
    assert 200 < south.direct[LAID + 4] < south.sun[LAID + 4]
    assert north.direct[LAID + 4] == 0.0
    assert north.sun[LAID + 4] > 0.0


def test_an_inside_face_has_no_rain_and_no_sun():
    inside = face(None, side=Side.IN, gutter=False)
    seen = hours(SHOWER | LIT, on=inside)
    assert not seen.outside
    assert seen.rain.sum() == seen.direct.sum() == seen.sun.sum() == 0.0
    assert seen.demand.sum() > 0.0


def test_faces_that_stand_alike_share_their_series():
    found = site_weather(SITE, {"1-out": face(90.0), "2-out": face(90.0), "3-out": face(91.0)}, weather())
    assert list(found) == ["1-out", "2-out", "3-out"]
    assert found["1-out"].demand.base is found["2-out"].demand.base
    assert np.shares_memory(found["1-out"].demand, found["2-out"].demand)
    assert not np.shares_memory(found["1-out"].demand, found["3-out"].demand)


def test_hours_outside_what_there_is_are_not_known():
    seen = hours()
    assert np.isnan(seen.part(seen.temperature, -2, 1)).tolist() == [True, True, False]
    assert np.isnan(seen.part(seen.temperature, HOURS - 1, HOURS + 1)).tolist() == [False, True]
    assert seen.index(START) == 0
    assert seen.at(24).hour == 0


def test_what_was_worked_out_is_said():
    gone = weather({"radiation": {(-LAID, HOURS - LAID): np.nan}})
    assert site_weather(SITE, {"1-out": face()}, gone)["1-out"].estimated == {"radiation"}
    assert hours().estimated == frozenset()
