"""What a fresh coat is covered from: up by when, down when, and the wind that takes it down."""

from __future__ import annotations

from datetime import timedelta

import pytest
from weather_by_hand import NOW, SYSTEM, at, hours, limits, put

from curing.model.system import RuleBook
from curing.planning.weather_protect import Barred, CoverKind, protect_by

BOOK = RuleBook(SYSTEM)
LAID = (at(0), at(8))
HANDS = [(at(24 * day), at(24 * day + 9)) for day in range(-2, 8)]
"""Somebody is there from 07 to 16 UTC."""


def covers(coat, seen, *, now=NOW, laid=LAID, **more):
    last = {"base": 3, "finish": 28}.get(coat, 0)
    return protect_by(limits(coat), BOOK, laid, seen, now, last_day=last, **{"hands": HANDS, **more})


def test_kind_weather_asks_for_no_cover():
    assert [covers(coat, hours()) for coat in ("base", "finish", "paint-1")] == [(), (), ()]


def test_rain_in_the_dry_time_asks_for_sheets_up_while_somebody_is_there():
    (one,) = covers("finish", put(hours(), "rain", {(22, 31): 1.6}))
    assert (one.kind, one.rule) == (CoverKind.SHEET, "finish.rain_after")
    assert one.value == pytest.approx(14.4)
    assert (one.start, one.end) == (at(22), at(31))
    assert (one.up_by, one.down_at) == (at(9), at(31))  # the working day before; at work when it ends
    assert (one.wind_most, one.windy, one.barred) == (8.0, (), None)


@pytest.mark.parametrize(("hour", "amount", "asked"), [(31, 0.1, 1), (31, 0.09, 0), (32, 5.0, 0), (-1, 5.0, 0)])
def test_sheets_only_for_rain_that_counts(hour, amount, asked):
    assert len(covers("base", put(hours(), "rain", {hour: amount}))) == asked


@pytest.mark.parametrize(
    ("lowest", "cloud", "rule"),
    [
        (2.1, 1.0, None),  # 20 h after it was told: margin 1.7 K
        (2.0, 1.0, "visit.frost_night"),
        (1.69, 1.0, "finish.frost_cover"),
        (4.0, 0.2, "visit.frost_clear"),
        (4.1, 0.2, None),
    ],
)
def test_frost_nights_ask_for_a_cover(lowest, cloud, rule):
    seen = put(put(hours(), "temperature", {(8, 11): lowest}), "cloud", {(8, 11): cloud})
    found = covers("finish", seen)
    assert [one.rule for one in found] == ([] if rule is None else [rule])
    for one in found:
        assert (one.kind, one.value, one.start, one.end) == (CoverKind.FROST, lowest, at(8), at(11))
        assert one.could == pytest.approx(lowest - 1.7)
        assert one.down_at == at(24)


def test_the_third_night_has_the_margin_of_the_third_day():
    # 71 h ahead: 1.7 + 1.6 x 47/144 = 2.22 K.
    assert [one.rule for one in covers("finish", put(hours(), "temperature", {59: 2.21}))] == ["finish.frost_cover"]
    assert covers("finish", put(hours(), "temperature", {59: 2.23})) == ()


def test_covers_are_asked_for_three_days_ahead_on_any_weather_and_to_the_last_day():
    cold = put(hours(), "temperature", {59: -3.0, 60: -3.0})  # 71 and 72 h from now
    (one,) = covers("finish", cold)
    assert one.end == at(60)
    later = at(24 * 5)
    week = put(hours(), "temperature", {24 * 5 + 20: -3.0})
    assert len(covers("finish", week, now=later)) == 1
    assert covers("paint-1", week, now=later) == ()  # bound long ago


def test_sun_on_a_fresh_coat_asks_for_cloth_and_cloth_that_stands_for_none():
    lit = put(hours(), "direct", {(9, 14): 300.0})
    (one,) = covers("finish", lit)
    assert (one.kind, one.rule, one.start, one.end) == (CoverKind.CLOTH, "finish.sun_most", at(9), at(11))
    assert covers("finish", lit, cloth=True) == ()
    assert covers("finish", put(hours(), "direct", {(9, 14): 200.0})) == ()  # grazing sun


def test_a_day_that_asks_for_too_much_asks_for_cloth_on_the_hours_of_sun():
    lit = put(hours(), "direct", {(27, 32): 300.0})
    assert covers("finish", put(lit, "demand", {(24, 48): 3.49 / 24})) == ()
    (one,) = covers("finish", put(lit, "demand", {(24, 48): 3.5 / 24}))
    assert (one.rule, one.start, one.end) == ("visit.shade_from", at(27), at(32))
    assert one.up_by == at(27)


def test_wind_takes_a_cover_down_and_what_would_come_down_before_it_helps_is_not_hung():
    cold = put(hours(), "temperature", {(20, 22): -2.0})
    (calm,) = covers("finish", put(cold, "wind", {21: 7.9}))
    assert (calm.windy, calm.wind_down, calm.barred) == ((), None, None)
    (gusty,) = covers("finish", put(cold, "wind", {15: 8.0}))
    assert gusty.windy == ((at(15), at(16)),)
    assert gusty.barred is Barred.WIND  # nobody is there between 16 and 07 to take it down and put it up again
    (later,) = covers("finish", put(cold, "wind", {21: 8.0}), hands=())
    assert (later.wind_down, later.barred, later.down_at) == (at(21), None, at(22))


@pytest.mark.parametrize(
    ("scaffold", "barred"),
    [
        ("road scaffold", None), ("", None), ("mobile tower", Barred.TOWER), ("Tower, yard", Barred.TOWER),
        ("rolling scaffold", Barred.TOWER), ("towering lane", None), ("clock-tower side scaffold", Barred.TOWER),
    ],
)  # fmt: skip
def test_nothing_is_hung_on_a_mobile_tower(scaffold, barred):
    (one,) = covers("finish", put(hours(), "rain", {20: 3.0}), scaffold=scaffold)
    assert one.barred is barred


def test_what_has_begun_is_covered_now():
    wet = put(hours(), "rain", {(8, 20): 1.0})
    (one,) = covers("finish", wet, now=at(10))
    assert one.up_by == at(10)
    assert covers("finish", wet, now=at(10) + timedelta(minutes=20))[0].up_by == at(10) + timedelta(minutes=20)


def test_where_nobody_comes_before_it_begins_it_is_up_when_it_begins():
    (one,) = covers("finish", put(hours(), "rain", {20: 3.0}), now=at(12))
    assert one.up_by == at(20)


def test_nobody_covers_a_face_while_it_is_being_laid():
    assert covers("finish", put(hours(), "temperature", {(0, 6): -1.0})) == ()
    (one,) = covers("finish", put(hours(), "temperature", {(0, 12): -1.0}))
    assert (one.start, one.end) == (at(8), at(12))  # from its closing on
