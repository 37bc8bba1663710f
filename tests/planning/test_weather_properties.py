"""What holds of any weather: drawn hours against the rules of open coats."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import court
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from weather_by_hand import HOURS, LAID, NOW, SITE, START, SYSTEM, at, face, limits

from curing.model.system import RuleBook
from curing.model.weather import VARIABLES, of
from curing.planning.expand import expand, identify
from curing.planning.weather_looks import look_first, more_water, no_water
from curing.planning.weather_protect import protect_by
from curing.planning.weather_site import site_weather
from curing.planning.weather_sky import Sky
from curing.planning.weather_weighing import Shelter
from curing.planning.weather_windows import Answer, best_window, judge_by

COATS = ("base", "finish", "paint-1")
SPAN = (at(0), at(8))
COURT = court.read(court.job_file(court.wall("1", court.face("W"))), NOW)
WORK = expand(COURT, identify(COURT, None))[0]


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


@given(seed=st.integers(0, 10**6), turn=st.sampled_from([90.0, 180.0, 270.0]), still=st.booleans())
def test_turning_wall_and_wind_turns_covers_and_visits(seed, turn, still):
    here = seen(drawn(seed, sun=False), 45.0)
    there = seen(drawn(seed, sun=False, turned=turn), 45.0 + turn)
    book, asks = RuleBook(SYSTEM, {}), limits("finish")
    now = at(-4) if still else NOW
    up, other = (protect_by(asks, book, SPAN, one, now, last_day=28) for one in (here, there))
    assert [(one.kind, one.start, one.end, one.up_by, one.down_at) for one in up] == [
        (one.kind, one.start, one.end, one.up_by, one.down_at) for one in other
    ]
    for day in range(0, 96, 24):
        one, two = (more_water(book, face, at(day), cloth=False) for face in (here, there))
        assert (one is None) == (two is None)
        one, two = (look_first(book, face, at(day), at(day), times=2) for face in (here, there))
        assert (one is None) == (two is None)


@given(seed=st.integers(0, 10**6), other=st.integers(0, 10**6), far=st.integers(0, 100))
def test_weather_after_a_visits_own_day_changes_no_visit_and_after_a_cover_no_cover(seed, other, far):
    first, second = seen(drawn(seed)), seen(drawn(other))
    end = LAID + far + 24
    names = ("temperature", "humidity", "wind", "rain", "rain_told", "sun", "direct", "demand", "demand_cloth", "cloud")
    mixed = {}
    for name in names:
        series = getattr(first, name).copy()
        series[end:] = getattr(second, name)[end:]
        mixed[name] = series
    later, book, asks = replace(first, **mixed), RuleBook(SYSTEM, {}), limits("finish")
    morning = at(far)
    for advise in (
        lambda face: more_water(book, face, morning, cloth=False),
        lambda face: look_first(book, face, morning, NOW, times=2, rained=1.0),
        lambda face: no_water(book, face, morning + timedelta(hours=11), morning + timedelta(hours=24), late=True),
    ):
        assert advise(first) == advise(later)
    # A cover whose hours are over before the forecasts part is the same; spells within six hours are one. What a day
    # takes is of 24 h, and rain counts by all that falls in the coat's dry time: later rain may ask for a sheet sooner.
    parted, day = first.at(end - 7), timedelta(hours=24)
    over = [
        [
            (one.kind, one.start, one.end, one.value)
            for one in protect_by(asks, book, SPAN, face, NOW, last_day=28)
            if one.kind != "sheet" and one.end + (day if one.unit == "volume_l_per_m2" else 0 * day) <= parted
        ]
        for face in (first, later)
    ]
    assert over[0] == over[1]


@given(seed=st.integers(0, 10**6), other=st.integers(0, 10**6), coat=st.sampled_from(COATS), lead=st.integers(0, 160))
def test_two_skies_that_part_after_a_coats_reach_rule_alike(seed, other, coat, lead):
    asks, first, second = limits(coat), seen(drawn(seed)), seen(drawn(other))
    reach = max(8 + (asks.after or 0), asks.sure, asks.frost_to, 24, 8 + asks.shaded)
    end = LAID + lead + reach
    changed = {}
    for name in ("temperature", "humidity", "wind", "rain", "direct", "demand"):
        series = getattr(first, name).copy()
        series[end:] = getattr(second, name)[end:]
        changed[name] = series
    later = replace(first, **changed)
    one = next(c for c in WORK.coats if c.id == f"1-out.{coat}")
    here, there = ({WORK.id: hours} for hours in (first, later))
    span = at(lead), at(lead + 8)
    assert Sky(here, here, NOW).told(WORK, one, *span) == Sky(there, there, NOW).told(WORK, one, *span)
    assert Sky(here, {}, NOW).refuses(WORK, one, *span) == Sky(there, {}, NOW).refuses(WORK, one, *span)


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
