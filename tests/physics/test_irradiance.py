"""Sun on upright faces, against textbook figures and a second opinion."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pandas as pd
import pvlib
import pyet
import pytest
from hypothesis import given
from hypothesis import strategies as st

from curing.physics.irradiance import SplitSun, SunPath, beam_outside, diffuse_share, split, sun_on_face, sun_path
from curing.physics.shading import Eaves, sky_view

YEAR = datetime(2027, 1, 1, tzinfo=UTC).timestamp()
PLACES = [(-60.0, -70.0), (-35.0, 149.1), (0.0, 30.0), (40.0, -105.0), (52.1, 5.18), (65.0, 25.5)]


def day(*when, hours=24):
    return datetime(*when, tzinfo=UTC).timestamp(), hours


def faces(path, parts, *azimuths, **how):
    return [sun_on_face(path, parts, azimuth, **how) for azimuth in azimuths]


def test_a_south_wall_worked_out_by_hand():
    # Zenith 60, sun in the south: direct 800, global 500, diffuse 100, ground 0.2. Isotropic sky 792.82, by hand
    # (692.82 + 50 + 50); with the ring round the sun 864.9, as pvlib has it for 1367 W/m2 outside the air.
    sun = np.full((6, 1), 0.5), np.full((6, 1), -np.sqrt(0.75))
    parts = SplitSun(np.array([500.0]), np.array([800.0]), np.array([100.0]))
    one = np.array([0.5])

    def path(outside):
        still = np.zeros((6, 1))
        return SunPath(one, one, np.array([outside]), np.array([0]), still, sun[1], sun[0])

    assert sun_on_face(path(1367.0), parts, 180.0) == pytest.approx([864.9], abs=0.1)
    assert sun_on_face(path(1e12), parts, 180.0) == pytest.approx([792.82], abs=0.01)
    assert sun_on_face(path(1e12), parts, 0.0) == pytest.approx([100.0])


def test_the_diffuse_share_and_its_second_opinion():
    k = np.linspace(0.0, 1.2, 241)
    # One degree of zenith angle, so that global radiation over that outside is k.
    outside = pvlib.irradiance.get_extra_radiation(1)
    second = pvlib.irradiance.erbs(k * outside, np.zeros(k.size), np.ones(k.size, dtype=int))
    share = np.divide(second["dhi"], k * outside, out=np.ones_like(k), where=k > 0)
    assert diffuse_share(k[1:200]) == pytest.approx(share[1:200], abs=2e-3)


def test_the_parts_make_up_the_whole_and_a_beam_has_a_limit():
    path = sun_path(YEAR, 8760, 52.1, 5.18)
    up, outside = path.up[path.lit], path.outside[path.lit]
    parts = split(0.8 * path.clear, path)
    high = up > 0.05
    assert parts.beam[high] * up[high] + parts.diffuse[high] == pytest.approx(parts.level[high], rel=1e-9)
    assert (parts.beam[high] > 10.0).all()
    zenith = np.degrees(np.arccos(up[high]))
    when = pd.to_datetime(YEAR + 3600.0 * path.lit[high], unit="s", utc=True)
    second = pvlib.irradiance.erbs(parts.level[high], zenith, when)
    assert parts.diffuse[high] == pytest.approx(np.asarray(second["dhi"]), abs=5.0)
    # More sun told than can be: the beam stops at 0.85 of that outside the air.
    most = split(2.0 * path.clear + 300.0, path)
    assert (most.beam <= 0.85 * outside + 1e-9).all()
    assert most.beam[up > 0.3] == pytest.approx(0.85 * outside[up > 0.3])
    # A sun on the horizon: all is diffuse, none is lost.
    low = up < 0.01
    assert low.any()
    assert (parts.beam[low] == 0.0).all()
    assert np.array_equal(parts.diffuse[low], parts.level[low])


def test_the_sun_outside_the_air():
    days = YEAR + 86400.0 * (np.arange(365) + 0.5)
    second = pvlib.irradiance.get_extra_radiation(pd.to_datetime(days, unit="s"), solar_constant=1361.0)
    assert beam_outside(days) == pytest.approx(np.asarray(second), rel=4e-3)


# FAO Irrigation and Drainage Paper 56, example 19 (N'Diaye, 16.217 N, 16.25 W, 1 October, 14-15 h of a meridian
# 15 W): 3.543 MJ/m2 outside the air on the level in the hour, with 1367 W/m2. Its declination is a rough sine,
# a degree too far south in October: 1.3 % here.
def test_an_hour_outside_the_air_of_the_irrigation_paper():
    path = sun_path(*day(2027, 10, 1, 15, hours=1), 16 + 13 / 60, -16.25)
    assert (path.up * path.outside)[0] * 3600e-6 == pytest.approx(3.543 * 1361.0 / 1366.7, rel=0.015)


@pytest.mark.parametrize("latitude", [-60.0, -35.0, 0.0, 52.1, 65.0])
def test_a_second_opinion_on_a_year_outside_the_air(latitude):
    path = sun_path(YEAR, 8760, latitude, 0.0)
    days = (path.up * path.outside).reshape(365, 24).sum(axis=1) * 3600e-6
    index = pd.date_range("2027-01-01", periods=365)
    second = pyet.extraterrestrial_r(index, np.radians(latitude)).to_numpy() * 1361.0 / 1366.7
    # The rough declination of the irrigation paper again: up to a degree, so up to 1.2 MJ/m2 of a day; and its
    # two half-years are equal, where the northern summer is a week longer.
    assert days == pytest.approx(second, abs=1.2)
    assert days.sum() == pytest.approx(second.sum(), rel=0.02)


@pytest.mark.parametrize(("latitude", "longitude"), PLACES)
def test_a_second_opinion_on_a_year_of_sun_on_eight_faces(latitude, longitude):
    hours, azimuths = 8760, np.arange(0.0, 360.0, 45.0)
    path = sun_path(YEAR, hours, latitude, longitude)
    share = 0.35 + 0.65 * np.random.default_rng(1).random(hours // 24).repeat(24)
    parts = split(share * path.clear, path)
    whole = {name: np.zeros(hours) for name in ("level", "beam", "diffuse")}
    for name, series in whole.items():
        series[path.lit] = getattr(parts, name)
    steps = pd.to_datetime(YEAR + 300.0 + 600.0 * np.arange(6 * hours), unit="s", utc=True)
    sun = pvlib.solarposition.get_solarposition(steps, latitude, longitude, method="nrel_numpy")
    zenith, around = sun["zenith"].to_numpy(), sun["azimuth"].to_numpy()
    up = zenith < 90.0
    assert path.up == pytest.approx(np.where(up, np.cos(np.radians(zenith)), 0.0).reshape(-1, 6).mean(axis=1), abs=2e-3)
    got = faces(path, parts, *azimuths)
    for azimuth, mine in zip(azimuths, got, strict=True):
        second = pvlib.irradiance.get_total_irradiance(
            90.0,
            azimuth,
            zenith,
            around,
            whole["beam"].repeat(6),
            whole["level"].repeat(6),
            whole["diffuse"].repeat(6),
            dni_extra=path.outside.repeat(6),
            albedo=0.2,
            model="haydavies",
        )["poa_global"]
        theirs = np.where(up, second, 0.0).reshape(-1, 6).mean(axis=1)
        high = path.up > 0.2
        assert np.abs(mine - theirs)[high].max() < 12.0
        # A low sun runs along the ring's own division; both cap it, and each in its way.
        assert mine.sum() == pytest.approx(np.nan_to_num(theirs).sum(), rel=0.015)


def test_one_sun_at_mid_hour_would_be_wrong_at_sunrise_of_a_face():
    # The hour in which the sun comes round onto a west wall: half of it is lit.
    path = sun_path(*day(2027, 6, 23), 52.0, 0.0)
    west = sun_on_face(path, split(0.9 * path.clear, path), 270.0)
    noon = int(np.argmax(path.up))
    assert west[noon - 1] < west[noon] < west[noon + 1]


def test_south_of_the_equator_the_north_face_is_the_sunny_one():
    for latitude, sunny, shady in ((52.0, 180.0, 0.0), (-44.0, 0.0, 180.0)):
        path = sun_path(YEAR, 8760, latitude, 0.0)
        bright, dark = faces(path, split(0.8 * path.clear, path), sunny, shady)
        assert bright.sum() > 2.5 * dark.sum()


@given(st.floats(0.0, 360.0), st.floats(-65.0, 65.0))
def test_sun_on_a_face_is_never_negative_and_least_behind(azimuth, latitude):
    path = sun_path(*day(2027, 4, 3, hours=48), latitude, 10.0)
    parts = split(0.7 * path.clear, path)
    front, back = faces(path, parts, azimuth, azimuth + 180.0)
    assert (front >= 0.0).all()
    # Sky and ground reach both alike; the sun only one of them at a time (or both within an hour).
    base = np.zeros(48)
    base[path.lit] = 0.5 * parts.diffuse * (1.0 - parts.beam / path.outside[path.lit]) + 0.1 * parts.level
    assert (np.minimum(front, back) <= base + 0.51 * (front + back) + 1e-6).all()
    assert (front >= base - 1e-9).all()


def test_gaps_stay_gaps_and_the_night_is_dark():
    path = sun_path(*day(2027, 6, 23), 52.0, 0.0)
    radiation = 0.8 * path.clear
    radiation[12] = np.nan
    got = sun_on_face(path, split(radiation, path), 180.0)
    assert np.isnan(got).nonzero()[0].tolist() == [12]
    assert (got[[0, 1, 2, 22, 23]] == 0.0).all()


def test_polar_night_and_midnight_sun():
    assert sun_path(*day(2027, 12, 21), 70.0, 0.0).up.max() == 0.0
    assert sun_path(*day(2027, 6, 21), 70.0, 0.0).up.min() > 0.0
    assert sun_path(*day(2027, 6, 21, hours=0), 52.0, 0.0).up.size == 0


# --- what stands before a face -------------------------------------------------------


def test_the_view_of_the_sky_under_an_even_skyline_and_under_eaves():
    h = np.radians(30.0)
    # A wall whose skyline is at h all round: 1/2 - (h + sin h cos h)/pi.
    assert sky_view(10.0, ((0.0, 30.0),)) == pytest.approx(0.5 - (h + np.sin(h) * np.cos(h)) / np.pi, abs=1e-4)
    # Long eaves seen at 45 degrees: half of the sine of it (a strip between level and the edge).
    assert sky_view(0.0, eaves=Eaves(1.0, 1.0)) == pytest.approx(0.5 * np.sin(np.pi / 4.0), abs=1e-4)
    assert sky_view(0.0, eaves=Eaves(1e-6, 1.0)) == pytest.approx(0.5, abs=1e-3)


def test_a_hill_takes_the_winter_sun_and_eaves_the_summer_sun():
    hill = ((90.0, 0.0), (120.0, 20.0), (240.0, 20.0), (270.0, 0.0))
    over = Eaves(depth=0.6, height=0.4)  # its edge is seen 34 degrees up
    for month, lost_to_hill, lost_to_eaves in ((12, True, False), (6, False, True)):
        path = sun_path(*day(2027, month, 21), 52.0, 0.0)
        parts = split(0.9 * path.clear, path)
        (bare,) = faces(path, parts, 180.0)
        (behind,) = faces(path, parts, 180.0, horizon=hill)
        (under,) = faces(path, parts, 180.0, eaves=over)
        noon = 12
        assert (behind[noon] < 0.4 * bare[noon]) == lost_to_hill
        assert (under[noon] < 0.6 * bare[noon]) == lost_to_eaves
        assert (behind <= bare + 1e-9).all()
        assert (under <= bare + 1e-9).all()


def test_eaves_of_no_depth_are_refused():
    with pytest.raises(ValueError, match="above 0"):
        Eaves(0.0, 1.0)
