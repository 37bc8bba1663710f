"""May it be laid then: each rule of the clay-lime system at its limit, just under and just over it.

Limits are those of the trade: 5 °C and rising for a base and 8-30 °C for finish and paint (published), 24 and 48
dry hours (practice), 85 % (from memory), margins of 3 °F and 6 °F of forecasts of the night (published), 3.5 L/m2.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from weather_by_hand import LAID, NOW, START, at, face, hours, limits, put

from curing.planning.weather_limits import What
from curing.planning.weather_weighing import Shelter
from curing.planning.weather_windows import Answer, best_window, judge_by

DAY = (at(0), at(8))
COATS = ("base", "finish", "paint-1")


def judged(coat, seen, span=DAY, shelters=(), now=NOW):
    return judge_by(limits(coat), span, seen, now, shelters=shelters)


@pytest.mark.parametrize("coat", COATS)
def test_kind_weather_stops_nothing(coat):
    verdict = judged(coat, hours())
    assert (verdict.answer, verdict.stops, verdict.warnings, verdict.missing) == (Answer.YES, (), (), ())


# What is put over kind weather, hour by hour after laying begins at 0 and ends at 8; None: nothing stops.
RAIN = "rain"
CASES = [
    ("base", "temperature", {0: 5.0, 1: 8.0}, None),
    ("base", "temperature", {3: 4.9}, What.COLD),
    ("finish", "temperature", {3: 8.0}, None),
    ("finish", "temperature", {3: 7.9}, What.COLD),
    ("paint-1", "temperature", {3: 7.9}, What.COLD),
    ("paint-1", "temperature", {8: 7.9}, None),  # closed by then
    ("finish", "temperature", {4: 30.0}, None),
    ("finish", "temperature", {4: 30.1}, What.HOT),
    # falling: 8 °C and more is enough above the least of a base, 11 °C for a finish
    ("base", "temperature", {0: 8.0, 2: 7.0}, None),
    ("base", "temperature", {0: 7.9, 2: 7.0}, What.FALLING),
    ("base", "temperature", {0: 7.0, 2: 7.0}, None),
    ("finish", "temperature", {0: 10.9, 2: 10.8}, What.FALLING),
    ("finish", "temperature", {0: 11.0, 2: 10.8}, None),
    ("paint-1", "temperature", {0: 10.0, 2: 9.0}, None),
    ("paint-1", "humidity", {5: 85.0}, None),
    ("paint-1", "humidity", {5: 85.1}, What.HUMID),
    ("finish", "humidity", {5: 99.0}, None),
    # 24 h after closing at hour 8: hours 8 to 31
    ("base", RAIN, {31: 0.1}, What.RAIN),
    ("base", RAIN, {31: 0.099}, None),
    ("base", RAIN, {10: 0.05, 20: 0.05}, What.RAIN),
    ("base", RAIN, {32: 5.0}, None),
    ("base", RAIN, {-1: 5.0}, None),
    ("finish", RAIN, {31: 0.1}, What.RAIN),
    ("finish", RAIN, {32: 5.0}, None),
    ("paint-1", RAIN, {55: 0.1}, What.RAIN),
    ("paint-1", RAIN, {56: 5.0}, None),
    ("paint-1", RAIN, {-48: 0.1}, What.RAIN_BEFORE),
    ("paint-1", RAIN, {-49: 5.0}, None),
    ("paint-1", RAIN, {0: 5.0}, What.RAIN),
    # frost: told 12 h before laying, so that hours 0 to 12 have a margin of 1.7 K; hour 60 stands 72 h ahead:
    # 1.7 + 1.6 x 48/144 = 2.233 K
    ("base", "temperature", {60: 2.24}, None),
    ("base", "temperature", {60: 2.23}, What.FROST_SURE),
    ("base", "temperature", {12: 1.71}, None),
    ("base", "temperature", {12: 1.69}, What.FROST_SURE),
    ("base", "temperature", {71: 1.0}, What.FROST_SURE),
    ("base", "temperature", {72: -5.0}, None),
    ("finish", "temperature", {72: 0.0}, None),
    ("finish", "temperature", {72: -0.1}, What.FROST),
    ("finish", "temperature", {155: -0.1}, What.FROST),  # 167 h ahead
    ("finish", "temperature", {156: -5.0}, None),  # 168 h ahead: no forecast tells that
    ("paint-1", "temperature", {23: 1.0}, What.FROST_SURE),
    ("paint-1", "temperature", {24: -5.0}, None),
    ("finish", "demand", {(0, 24): 3.5 / 24}, What.DEMAND),
    ("finish", "demand", {(0, 24): 3.49 / 24}, None),
    ("base", "demand", {(0, 24): 9.0}, None),
    # sun: until 3 h after closing at 8
    ("base", "direct", {10: 30.0}, None),
    ("base", "direct", {10: 30.1}, What.SUN),
    ("base", "direct", {11: 500.0}, None),
    ("finish", "direct", {0: 500.0}, What.SUN),
]


@pytest.mark.parametrize(("coat", "series", "values", "what"), CASES)
def test_a_rule_stops_over_its_limit_and_not_at_it(coat, series, values, what):
    verdict = judged(coat, put(hours(), series, values))
    assert [stop.what for stop in verdict.stops] == ([] if what is None else [what])
    assert verdict.answer is (Answer.YES if what is None else Answer.NO)


def test_sun_warns_of_paint_and_never_stops_it():
    verdict = judged("paint-1", put(hours(), "direct", {3: 400.0}))
    assert (verdict.answer, verdict.stops) == (Answer.YES, ())
    assert [(one.what, one.value, one.rule) for one in verdict.warnings] == [(What.SUN, 400.0, "paint-1.sun_most")]


def test_a_stop_tells_figure_limit_and_hours():
    # Wednesday's rain of the brief: from 22 h to 31 h after laying begins, 1.6 L/m2 an hour.
    (rain,) = judged("finish", put(hours(), "rain", {(22, 31): 1.6})).stops
    assert (rain.rule, rain.kind, rain.limit) == ("finish.rain_after", "volume_l_per_m2", 0.1)
    assert rain.value == pytest.approx(14.4)
    assert (rain.start, rain.end) == (at(22), at(31))
    # Two frosts: the colder night is told of, with how cold it could be.
    cold = put(put(hours(), "temperature", {(20, 22): 1.0}), "temperature", {(44, 47): 0.5})
    (frost,) = judged("base", cold).stops
    assert (frost.value, frost.start, frost.end) == (0.5, at(44), at(47))
    assert frost.could == pytest.approx(0.5 - (1.7 + 1.6 * (46 + 12 - 24) / 144))


def test_hours_that_were_over_when_the_weather_was_told_have_no_margin():
    cold = put(hours(), "temperature", {10: 1.0})
    assert judged("base", cold).answer is Answer.NO
    assert judged("base", replace(cold, told=at(11)), now=at(11)).answer is Answer.YES


def test_under_a_sheet_rain_is_kept_off_and_the_plan_hears_of_it():
    seen = put(hours(), "rain", {12: 3.0})
    verdict = judged("finish", seen, shelters=[Shelter.SHEET])
    assert (verdict.answer, verdict.stops) == (Answer.YES, ())
    assert [one.what for one in verdict.kept_off] == [What.RAIN]
    assert judged("finish", seen, shelters=[Shelter.CLOTH]).answer is Answer.NO


def test_behind_cloth_sun_and_demand_are_kept_off():
    seen = put(put(hours(), "direct", {2: 600.0}), "demand", {(0, 24): 0.2})
    assert [one.what for one in judged("finish", seen).stops] == [What.DEMAND, What.SUN]
    verdict = judged("finish", seen, shelters=[Shelter.CLOTH])
    assert verdict.answer is Answer.YES
    assert [one.what for one in verdict.kept_off] == [What.DEMAND, What.SUN]


def test_a_wet_face_is_not_made_dry_by_a_sheet():
    assert judged("paint-1", put(hours(), "rain", {-3: 2.0}), shelters=[Shelter.SHEET]).answer is Answer.NO


# --- what is not known -----------------------------------------------------------------


def test_three_missing_hours_are_borne_and_four_are_not():
    assert judged("finish", put(hours(), "rain", {(12, 15): np.nan})).answer is Answer.YES
    verdict = judged("finish", put(hours(), "rain", {(12, 16): np.nan}))
    assert (verdict.answer, verdict.stops) == (Answer.UNKNOWN, ())
    (one,) = verdict.missing
    assert (one.rule, one.hours, one.start, one.end) == ("finish.rain_after", 4, at(12), at(16))


def test_what_is_known_stops_whatever_is_missing():
    verdict = judged("finish", put(hours(), "rain", {(12, 20): np.nan, 10: 2.0}))
    assert (verdict.answer, [one.what for one in verdict.stops]) == (Answer.NO, [What.RAIN])
    assert verdict.missing == ()


def test_missing_hours_of_a_rule_that_does_not_ask_for_them_are_nothing():
    assert judged("base", put(hours(), "humidity", {(-40, 100): np.nan})).answer is Answer.YES
    assert judged("base", put(hours(), "rain", {(33, 100): np.nan})).answer is Answer.YES


def test_a_forecast_that_ends_early_is_not_known():
    verdict = judged("finish", hours(), span=(at(24 * 5), at(24 * 5 + 8)))
    assert verdict.answer is Answer.YES  # frost is judged to 168 h ahead alone
    short = replace(
        hours(),
        **{
            n: getattr(hours(), n)[:90]
            for n in ("temperature", "humidity", "wind", "cloud", "rain", "direct", "demand")
        },
    )
    verdict = judged("finish", short)
    assert (verdict.answer, verdict.stops) == (Answer.UNKNOWN, ())
    assert {one.what for one in verdict.missing} >= {What.FROST_SURE, What.FROST}


def test_weather_older_than_a_day_releases_nothing_but_still_stops():
    for age, answer in ((24.0, Answer.YES), (24.1, Answer.UNKNOWN)):
        old = replace(hours(), told=NOW - timedelta(hours=age))
        verdict = judged("finish", old)
        assert (verdict.answer, verdict.old) == (answer, age > 24.0)
    wet = put(replace(hours(), told=NOW - timedelta(hours=90)), "rain", {9: 2.0})
    assert judged("finish", wet).answer is Answer.NO
    assert judged("finish", replace(hours(), told=None)).answer is Answer.UNKNOWN


def test_a_week_ahead_nothing_is_released():
    seen = replace(hours(), told=START)
    assert judged("base", seen, span=(START + timedelta(hours=167), START + timedelta(hours=171))).beyond is False
    verdict = judged("base", seen, span=(START + timedelta(hours=168), START + timedelta(hours=172)))
    assert (verdict.answer, verdict.beyond) == (Answer.UNKNOWN, True)


# --- until when -------------------------------------------------------------------------


def test_until_tells_by_when_it_must_be_closed():
    assert judged("finish", put(hours(), "rain", {30: 2.0})).until == at(6)  # 24 h before the rain
    assert judged("finish", put(hours(), "direct", {9: 400.0})).until == at(6)  # 3 h before the sun
    assert judged("finish", put(hours(), "temperature", {7: 6.0, 8: 6.0})).until == at(7)
    assert judged("finish", put(hours(), "rain", {27: 2.0})).until is None  # less than the least window
    assert judged("finish", put(hours(), "rain", {28: 2.0})).until == at(4)
    assert judged("finish", put(hours(), "temperature", {50: -3.0})).until is None


def test_begun_hours_count_whole():
    seen = put(hours(), "temperature", {8: 4.0})
    quarter = timedelta(minutes=15)
    assert judged("base", seen, span=(at(0) + quarter, at(8))).answer is Answer.YES
    assert judged("base", seen, span=(at(0) + quarter, at(8) + quarter)).answer is Answer.NO


def test_a_short_piece_of_work_is_judged_as_the_least_window():
    assert judged("base", put(hours(), "temperature", {3: 4.0}), span=(at(0), at(1))).answer is Answer.NO
    assert judged("base", put(hours(), "temperature", {4: 4.0}), span=(at(0), at(1))).answer is Answer.YES


# --- the best window of a day -----------------------------------------------------------


def window(coat, seen, first=0, last=11, **more):
    found = best_window(limits(coat), (at(first), at(last)), seen, NOW, **more)
    return None if found is None else tuple(int((t - at(0)).total_seconds() // 3600) for t in (found.first, found.last))


def test_a_window_of_four_hours_begins_at_any_hour_of_a_kind_day():
    assert window("base", hours()) == (0, 7)
    assert window("base", hours(), first=0, last=4) == (0, 0)
    assert window("base", hours(), first=0, last=3) is None


def test_cold_at_either_end_and_in_the_middle_cuts_the_window():
    assert window("base", put(hours(), "temperature", {(0, 2): 3.0})) == (2, 7)
    assert window("base", put(hours(), "temperature", {9: 3.0})) == (0, 5)
    assert window("base", put(hours(), "temperature", {4: 3.0})) == (5, 7)


def test_the_longer_of_two_runs_is_given():
    # Cold in hour 6: begin at 0, 1, 2, or from 7 to 7.
    assert window("base", put(hours(), "temperature", {6: 3.0})) == (0, 2)


def test_no_window_on_old_or_missing_weather():
    assert window("base", replace(hours(), told=NOW - timedelta(hours=30))) is None
    assert window("base", put(hours(), "temperature", {(0, 80): np.nan})) is None


def test_working_hours_that_begin_within_an_hour_begin_with_the_next():
    half = timedelta(minutes=30)
    found = best_window(limits("base"), (at(0) + half, at(11) - half), hours(), NOW)
    assert found is not None
    assert (found.first, found.last) == (at(1), at(6))


def test_sheets_open_a_window_in_the_rain():
    seen = put(hours(), "rain", {(0, 40): 1.0})
    assert window("finish", seen) is None
    assert window("finish", seen, shelters=[Shelter.SHEET]) == (0, 7)


# --- by compass ----------------------------------------------------------------------------


def test_an_east_face_is_laid_after_noon_and_a_west_face_before():
    sunny = {"radiation": {(n * 24 - 3, n * 24 + 11): 700.0 for n in range(-2, 9)}, "cloud": {(-LAID, 200): 0.2}}
    # Solar noon at the site lies near 11:40 UTC; laying begins at 07 UTC.
    east, west, north, south = (hours(sunny, on=face(azimuth)) for azimuth in (90.0, 270.0, 0.0, 180.0))
    assert window("base", west, first=-3, last=12)[0] == -3  # laid and set by solar noon
    assert window("base", east, first=-3, last=12)[0] >= 4
    assert window("base", north, first=-3, last=12) is not None
    assert window("base", south, first=-3, last=12) is None
    assert window("base", south, first=-3, last=12, shelters=[Shelter.CLOTH]) == (-3, 8)
