"""What holds of any weather: drawn hours against the rules of open coats."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from weather_by_hand import HOURS, LAID, NOW, SITE, START, at, face, limits

from curing.model.weather import VARIABLES, of
from curing.planning.weather_site import site_weather
from curing.planning.weather_weighing import Shelter
from curing.planning.weather_windows import Answer, best_window, judge_by

COATS = ("base", "finish", "paint-1")
SPAN = (at(0), at(8))


def drawn(seed, *, sun=True, turned=0.0):
    """Weather that no one would order; the same seed gives the same."""
    by = np.random.default_rng(seed)
    clear = sun and seed % 2 == 0
    swing = 4.0 * np.sin(2 * np.pi * (np.arange(HOURS) - 9) / 24)
    series = {
        "temperature": by.uniform(5, 18) + swing + np.cumsum(by.normal(0, 0.3, HOURS)),
        "humidity": by.uniform(40, by.uniform(80, 100), HOURS),
        "wind": by.uniform(0, 12, HOURS),
        "direction": (by.uniform(0, 360, HOURS) + turned) % 360,
        "rain": np.where(by.random(HOURS) < by.uniform(0, 0.1) ** 1.5, by.gamma(1.0, 1.0, HOURS), 0.0),
        "radiation": by.uniform(0, 600, HOURS) if clear else np.zeros(HOURS),
        "cloud": by.uniform(0, 1, HOURS) if clear else np.ones(HOURS),
    }
    return replace(of({name: series[name] for name in VARIABLES}, START, HOURS, "file"), issued=NOW)


def seen(weather, facing=270.0, **how):
    return site_weather(SITE, {"1-out": face(facing, **how)}, weather)["1-out"]


@given(seed=st.integers(0, 10**6), coat=st.sampled_from(COATS), turn=st.sampled_from([90.0, 180.0, 270.0]))
def test_turning_wall_and_wind_turns_the_result(seed, coat, turn):
    here = judge_by(limits(coat), SPAN, seen(drawn(seed, sun=False), 45.0), NOW)
    there = judge_by(limits(coat), SPAN, seen(drawn(seed, sun=False, turned=turn), 45.0 + turn), NOW)
    assert here.answer is there.answer
    assert [one.what for one in here.stops] == [one.what for one in there.stops]
    for one, other in zip(here.stops, there.stops, strict=True):
        assert one.value == pytest.approx(other.value, abs=1e-6)
        assert (one.start, one.end) == (other.start, other.end)


@given(seed=st.integers(0, 10**6), other=st.integers(0, 10**6), coat=st.sampled_from(COATS))
def test_weather_after_what_a_coat_asks_about_changes_nothing(seed, other, coat):
    asks, first, second = limits(coat), seen(drawn(seed)), seen(drawn(other))
    end = LAID + max(8 + (asks.after or 0), asks.sure, asks.frost_to, 24, 8 + asks.shaded)
    changed = {}
    for name in ("temperature", "humidity", "wind", "rain", "direct", "demand"):
        series = getattr(first, name).copy()
        series[end:] = getattr(second, name)[end:]
        changed[name] = series
    here, there = judge_by(asks, SPAN, first, NOW), judge_by(asks, SPAN, replace(first, **changed), NOW)
    assert (here.answer, here.stops, here.missing) == (there.answer, there.stops, there.missing)


@given(seed=st.integers(0, 10**6), coat=st.sampled_from(COATS), shelter=st.sampled_from(list(Shelter)))
def test_a_shelter_never_stops_and_what_it_keeps_off_is_told(seed, coat, shelter):
    bare = judge_by(limits(coat), SPAN, seen(drawn(seed)), NOW)
    under = judge_by(limits(coat), SPAN, seen(drawn(seed)), NOW, shelters=[shelter])
    assert set(under.stops) <= set(bare.stops)
    assert set(bare.stops) - set(under.stops) <= set(under.kept_off)


@given(seed=st.integers(0, 10**6), coat=st.sampled_from(COATS), gone=st.sets(st.integers(-50, 200), max_size=60))
def test_what_is_not_known_never_stops_and_never_releases(seed, coat, gone):
    whole = seen(drawn(seed))
    names = ("temperature", "humidity", "rain", "direct", "demand")
    at_hours = [hour + LAID for hour in gone if 0 <= hour + LAID < HOURS]
    holed = {name: getattr(whole, name).copy() for name in names}
    for series in holed.values():
        series[at_hours] = np.nan
    full, part = judge_by(limits(coat), SPAN, whole, NOW), judge_by(limits(coat), SPAN, replace(whole, **holed), NOW)
    assert {one.what for one in part.stops} <= {one.what for one in full.stops}
    if part.missing:
        assert part.answer is not Answer.YES


@given(seed=st.integers(0, 10**6), coat=st.sampled_from(COATS))
def test_old_weather_stops_as_new_does_and_never_releases(seed, coat):
    new = seen(drawn(seed))
    late = NOW + timedelta(hours=30)
    old = judge_by(limits(coat), (at(40), at(48)), new, late)
    fresh = judge_by(limits(coat), (at(40), at(48)), new, NOW)
    assert old.stops == fresh.stops
    assert old.answer is not Answer.YES
    assert best_window(limits(coat), (at(24), at(60)), new, late) is None


@given(seed=st.integers(0, 10**6), coat=st.sampled_from(COATS))
def test_the_best_window_holds_what_it_says(seed, coat):
    asks, outlook = limits(coat), seen(drawn(seed), gutter=bool(seed % 2))
    found = best_window(asks, (at(0), at(24)), outlook, NOW)
    free = []
    for hour in range(21):
        verdict = judge_by(asks, (at(hour), at(hour + 4)), outlook, NOW)
        assert (verdict.until is not None and verdict.until >= at(hour + 4)) == (verdict.answer is Answer.YES)
        if verdict.answer is Answer.YES:
            assert verdict.until is not None
            longest = judge_by(asks, (at(hour), verdict.until), outlook, NOW)
            assert longest.answer is Answer.YES
            free.append(hour)
    if found is None:
        assert free == []
    else:
        first, last = ((one - at(0)) // timedelta(hours=1) for one in (found.first, found.last))
        assert set(range(first, last + 1)) <= set(free)
        assert first - 1 not in free
        assert last + 1 not in free


@given(seed=st.integers(0, 10**6), coat=st.sampled_from(COATS), more=st.floats(0.0, 2.0))
def test_more_margin_or_wetter_walls_never_release(seed, coat, more):
    outlook = seen(drawn(seed), gutter=True)
    wider = limits(coat, weather__margin_first=1.7 + more, weather__margin_last=3.3 + more)
    strict, plain = judge_by(wider, SPAN, outlook, NOW), judge_by(limits(coat), SPAN, outlook, NOW)
    assert {one.what for one in plain.stops} <= {one.what for one in strict.stops}
    open_roof = judge_by(limits(coat), SPAN, replace(outlook, rain=drawn(seed).rain), NOW)
    assert {one.what for one in plain.stops if "rain" in one.what} <= {one.what for one in open_roof.stops}
