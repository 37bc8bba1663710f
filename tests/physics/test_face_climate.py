"""What faces go through, as callers see it."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from curing.physics.face_climate import Aspect, face_climate
from curing.physics.shading import Eaves

START = datetime(2027, 6, 21, tzinfo=UTC).timestamp()
SIDES = (Aspect(0.0), Aspect(90.0), Aspect(180.0), Aspect(270.0))


def weather(hours=72, seed=1, **changed):
    """Invented hours of a summer."""
    rng = np.random.default_rng(seed)
    clock = np.arange(hours)
    sun = 700.0 * np.maximum(np.sin((clock % 24 - 4.0) / 16.0 * np.pi), 0.0)
    told = {
        "temperature": 16.0 + 6.0 * np.sin((clock % 24 - 9.0) / 12.0 * np.pi),
        "humidity": rng.uniform(35.0, 95.0, hours),
        "wind": rng.uniform(0.0, 9.0, hours),
        "direction": rng.choice(np.arange(0.0, 360.0, 10.0), hours),
        "rain": np.where(rng.random(hours) < 0.2, rng.uniform(0.0, 4.0, hours), 0.0),
        "radiation": np.where((clock % 24 > 3) & (clock % 24 < 20), sun, 0.0),
        "cloud": rng.random(hours),
    }
    return told | changed


def faces(told, *aspects, latitude=52.1, longitude=5.18):
    return face_climate(START, **told, latitude=latitude, longitude=longitude, aspects=aspects or SIDES)


@given(st.sampled_from([90.0, 180.0, 270.0]), st.integers(0, 50))
def test_face_and_wind_turned_together_turn_the_result_where_no_sun_shines(turn, seed):
    told = weather(seed=seed, radiation=np.zeros(72))
    here = faces(told, *(Aspect(a) for a in (10.0, 80.0, 200.0)))
    turned = told | {"direction": (told["direction"] + turn) % 360.0}
    there = faces(turned, *(Aspect((a + turn) % 360.0) for a in (10.0, 80.0, 200.0)))
    for name in ("demand", "rain", "worst_rain", "surface"):
        assert getattr(there, name) == pytest.approx(getattr(here, name), abs=1e-9)


def test_saturated_air_under_a_covered_night_sky_takes_nothing():
    told = weather(humidity=np.full(72, 100.0), radiation=np.zeros(72), cloud=np.ones(72))
    assert (faces(told, *SIDES, Aspect(None)).demand <= 1e-9).all()


@given(
    st.floats(-20.0, 40.0),
    st.floats(0.0, 25.0),
    st.floats(0.0, 359.0),
    st.floats(0.0, 5.0),
    st.floats(0.1, 0.9),
    st.floats(0.1, 1.0),
)
def test_saturated_air_takes_nothing_whatever_air_wind_and_rain_do(air, wind, direction, rain, albedo, exposure):
    steady = {"temperature": air, "wind": wind, "direction": direction, "rain": rain}
    told = weather(**{name: np.full(72, value) for name, value in steady.items()}, humidity=np.full(72, 100.0),
                   radiation=np.zeros(72), cloud=np.ones(72))  # fmt: skip
    stands = [Aspect(a, wind=exposure, albedo=albedo) for a in (0.0, 90.0, 180.0, 270.0)]
    assert (faces(told, *stands, Aspect(None)).demand <= 1e-9).all()
    drier = faces(told | {"humidity": np.full(72, 60.0)}, *stands).demand  # it is the air that keeps the water in
    assert (drier > 0.0).all()


def test_nothing_is_negative_and_the_lee_is_dry():
    got = faces(weather())
    for series in (got.sun, got.demand, got.rain, got.worst_rain):
        assert (series >= 0.0).all()
    assert (got.worst_rain >= got.rain - 1e-12).all()
    lee = np.cos(np.radians(weather()["direction"][None] - np.array([[0.0], [90.0], [180.0], [270.0]]))) < -1e-6
    assert (got.rain[lee] == 0.0).all()


def test_an_inside_face_has_no_weather_but_the_air():
    got = faces(weather(), Aspect(None))
    assert (got.sun == 0.0).all()
    assert (got.rain == 0.0).all()
    assert (got.demand > 0.0).any()
    assert got.demand.max() < faces(weather()).demand.max()


def test_shelter_colour_cloth_and_eaves():
    told = weather()
    plain, exposed, white, cloth, eaves = (
        faces(told, aspect).demand.sum()
        for aspect in (
            Aspect(180.0),
            Aspect(180.0, wind=1.0),
            Aspect(180.0, albedo=0.8),
            Aspect(180.0, sun=0.35, wind=0.35),
            Aspect(180.0, eaves=Eaves(0.8, 0.8)),
        )
    )
    assert exposed > plain > white
    assert eaves < plain
    assert cloth < 0.6 * plain


def test_many_faces_of_one_aspect_are_alike():
    got = faces(weather(), Aspect(180.0), Aspect(540.0), Aspect(90.0), Aspect(180.0))
    for name in ("sun", "demand", "rain"):
        series = getattr(got, name)
        assert np.array_equal(series[0], series[1])
        assert np.array_equal(series[0], series[3])
        assert not np.array_equal(series[0], series[2])


@pytest.mark.parametrize(
    ("gap", "lost"),
    [
        ("temperature", {"demand", "surface"}),
        ("humidity", {"demand", "surface"}),
        ("wind", {"demand", "surface", "rain", "worst_rain"}),
        ("rain", {"rain", "worst_rain"}),
        ("direction", set()),
        ("radiation", set()),
        ("cloud", set()),
    ],
)
def test_a_gap_takes_what_needs_it_and_that_hour_only(gap, lost):
    told = weather()
    told[gap] = told[gap].copy()
    told[gap][30] = np.nan
    got = faces(told)
    for name in ("sun", "demand", "rain", "worst_rain", "surface"):
        missing = np.isnan(getattr(got, name))
        assert missing[:, 30].all() == (name in lost)
        assert missing.sum() == (4 if name in lost else 0)
    assert got.radiation_estimated.nonzero()[0].tolist() == ([30] if gap == "radiation" else [])
    assert got.cloud_estimated.nonzero()[0].tolist() == ([30] if gap == "cloud" else [])


def test_without_radiation_and_cloud_the_day_is_unknown_and_inside_is_not():
    nothing = np.full(72, np.nan)
    got = faces(weather(radiation=nothing, cloud=nothing), Aspect(180.0), Aspect(None))
    assert np.isnan(got.demand[0]).all()
    assert np.isnan(got.sun[0][12])
    assert got.sun[0][0] == 0.0  # the sun is down, whoever tells
    assert np.isfinite(got.demand[1]).all()
    assert not got.radiation_estimated.any()
    assert not got.cloud_estimated.any()


def test_what_is_estimated_is_said():
    nothing = np.full(72, np.nan)
    by_cloud = faces(weather(radiation=nothing))
    assert by_cloud.radiation_estimated[12]
    assert not by_cloud.radiation_estimated[0]
    assert (by_cloud.sun[:, 12] > 0.0).all()
    by_sun = faces(weather(cloud=nothing))
    assert by_sun.cloud_estimated.all()
    assert np.unique(by_sun.cloud[:24]).size == 1


def test_the_same_hours_give_the_same_whatever_stands_round_them():
    told = weather(hours=6000)
    whole = faces(told)
    part = face_climate(
        START + 1000 * 3600.0,
        **{name: series[1000:1200] for name, series in told.items()},
        latitude=52.1,
        longitude=5.18,
        aspects=SIDES,
    )
    assert part.demand == pytest.approx(whole.demand[:, 1000:1200], abs=1e-4)
    assert part.rain == pytest.approx(whole.rain[:, 1000:1200])


def test_nothing_told_is_changed_and_nothing_may_be_unequal():
    told = {name: series.copy() for name, series in weather().items()}
    for series in told.values():
        series.setflags(write=False)
    faces(told)
    with pytest.raises(ValueError, match="lengths differ"):
        faces(told | {"rain": np.zeros(71)})
    with pytest.raises(ValueError, match="latitude lies within"):
        faces(told, latitude=95.0)
    assert faces(weather(hours=0)).demand.shape == (4, 0)


def test_south_of_the_equator_the_north_face_asks_more():
    july = weather(hours=240)
    north, south = faces(july, Aspect(0.0), Aspect(180.0), latitude=-40.0, longitude=-5.0).demand.sum(axis=1)
    assert north > 1.1 * south
