"""What the weather makes of a visit: figures at their limits, as counted for lime faces, and frost by the practice."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from weather_by_hand import NOW, SYSTEM, at, hours, put

from curing.model.system import RuleBook
from curing.planning.weather_looks import Advice, Cause, known_sum, look_first, more_water, no_water

BOOK = RuleBook(SYSTEM)
MORNING, EVENING, NEXT = at(0), at(11), at(24)


def taking(litres, first=0, last=24):
    """Hours in which the air takes so much in the 24 h from the morning's visit."""
    return put(hours(), "demand", {(first, last): litres / (last - first)})


@pytest.mark.parametrize(
    ("litres", "advice"), [(2.49, None), (2.5, Advice.EXTRA), (3.49, Advice.EXTRA), (3.5, Advice.SHADE)]
)
def test_a_visit_more_from_two_and_a_half_litres_and_shade_from_three_and_a_half(litres, advice):
    found = more_water(BOOK, taking(litres), MORNING, cloth=False)
    assert (found and found.advice) == advice
    if found is not None:
        assert found.value == pytest.approx(litres)
        assert (found.start, found.end) == (MORNING, NEXT)
        assert found.rule == ("visit.shade_from" if advice is Advice.SHADE else "visit.extra_from")


def test_behind_cloth_the_face_is_judged_as_covered():
    seen = put(taking(3.0), "demand_cloth", {(0, 24): 0.05})
    assert more_water(BOOK, seen, MORNING, cloth=True) is None


@pytest.mark.parametrize(
    ("litres", "times", "rained", "ticked", "look"),
    [
        (0.59, 2, 0.0, False, True),
        (0.60, 2, 0.0, False, False),
        (0.30, 1, 0.0, False, False),
        (0.29, 1, 0.0, False, True),
        (1.29, 2, 1.0, False, True),  # 0.7 of the rain stays
        (1.31, 2, 1.0, False, False),
        (0.80, 2, 0.0, True, True),  # a tick stands for a mist: 0.8 - 0.7 x 0.3
        (0.82, 2, 0.0, True, False),
        (5.00, 2, 8.0, True, True),
    ],
)
def test_look_first_where_little_leaves_the_face(litres, times, rained, ticked, look):
    found = look_first(BOOK, taking(litres), MORNING, NOW, times=times, rained=rained, ticked=ticked)
    assert (found is not None) == look
    if found is not None:
        assert (found.advice, found.cause) == (Advice.LOOK, Cause.LITTLE)


def test_rain_that_is_only_forecast_spares_nothing():
    pouring = put(taking(1.0), "rain", {(-12, 24): 5.0})
    assert look_first(BOOK, pouring, MORNING, NOW, times=2) is None


def test_old_or_missing_weather_spares_nothing_but_adds_visits():
    old = replace(taking(0.1), told=NOW - timedelta(hours=30))
    assert look_first(BOOK, old, MORNING, NOW, times=2) is None
    assert more_water(BOOK, replace(taking(3.0), told=None), MORNING, cloth=False) is not None
    assert look_first(BOOK, put(taking(0.1), "demand", {(3, 7): np.nan}), MORNING, NOW, times=2) is None
    assert look_first(BOOK, put(taking(0.1), "demand", {(3, 6): np.nan}), MORNING, NOW, times=2) is not None


@pytest.mark.parametrize(
    ("lowest", "cloud", "cause"),
    [
        (2.1, 1.0, None),
        (2.0, 1.0, Cause.NIGHT),
        (4.1, 0.0, None),
        (4.0, 0.0, Cause.CLEAR_NIGHT),
        (4.0, 0.49, Cause.CLEAR_NIGHT),
        (4.0, 0.5, None),
        (4.0, np.nan, Cause.CLEAR_NIGHT),
        (1.0, 0.0, Cause.NIGHT),
    ],
)
def test_no_mist_in_the_evening_before_a_night_that_freezes_a_wet_face(lowest, cloud, cause):
    seen = put(put(hours(), "temperature", {(19, 22): lowest}), "cloud", {(11, 24): cloud})
    found = no_water(BOOK, seen, EVENING, NEXT, late=True, noon=at(4))
    assert (found and found.cause) == cause
    if found is not None:
        assert (found.advice, found.value, found.start, found.end) == (Advice.FROST, lowest, at(19), at(22))
    assert no_water(BOOK, seen, MORNING, NEXT, late=False) is None


def test_the_night_ends_with_the_next_visit():
    cold = put(hours(), "temperature", {24: 1.0})
    assert no_water(BOOK, cold, EVENING, NEXT, late=True) is None


def test_a_mist_moved_to_noon_begins_with_a_look_where_little_leaves_the_face_till_then():
    cold = put(hours(), "temperature", {(19, 22): 1.0})
    for litres, look in ((0.29, True), (0.31, False)):
        seen = put(cold, "demand", {(4, 19): litres / 15})
        found = no_water(BOOK, seen, EVENING, NEXT, late=True, noon=at(4))
        assert found is not None
        assert found.look is look


@pytest.mark.parametrize(("air", "advice"), [(5.0, None), (4.9, Advice.COLD)])
def test_no_water_below_five_degrees(air, advice):
    found = no_water(BOOK, put(hours(), "temperature", {0: air}), MORNING, NEXT, late=False)
    assert (found and found.advice) == advice


def test_an_hour_that_is_begun_counts_by_its_share():
    seen = put(put(hours(), "demand", {(0, 24): 0.1}), "demand", {(0, 10): 0.25})
    half = timedelta(minutes=30)
    value, known = known_sum(seen, seen.demand, at(0) + half, at(10) + half)
    assert known
    assert value == pytest.approx(9.5 * 0.25 + 0.5 * 0.1)
