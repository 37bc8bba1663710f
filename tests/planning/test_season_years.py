"""The season from a site's own years: invented years whose frosts were laid by hand, and a real station's."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest

from curing.model.times import MONTHS
from curing.planning.season import out_of_season
from curing.planning.season_drying import DryingYears, LastFill, drying_years, last_fill, season_line
from curing.planning.season_years import SeasonYears, YearDay
from tests.benchmarks.station import SEVEN_YEARS, THIRTY_TWO_YEARS, recorded, there

RECORDED = pytest.mark.skipif(
    not there(SEVEN_YEARS, THIRTY_TWO_YEARS), reason="recorded weather is not there (CURING_RECORDED_WEATHER)"
)
FIRST = datetime(2000, 1, 1, tzinfo=UTC)


def hour_of(day):
    return (day - FIRST.date()).days * 24


def years_of(count, frosts=(), *, start=2000, warm=10.0):
    """So many calendar years of 10 °C, with one hour of -1 °C at 05 UTC on each of the days."""
    air = np.full(hour_of(date(start + count, 1, 1)), warm)
    for day in frosts:
        air[hour_of(day) + 5] = -1.0
    return air


def north(count=25):
    """Year k (0 first) has its last frost k days after 1 April, its first k days after 1 October."""
    days = [date(2000 + k, month, 1) + timedelta(days=k) for k in range(count) for month in (4, 10)]
    return years_of(count, days)


def south(count=25):
    """The same half a year on: last frost k days after 1 October, first k days after 1 April."""
    days = [date(2000 + k, 10, 1) + timedelta(days=k) for k in range(count)]
    days += [date(2001 + k, 4, 1) + timedelta(days=k) for k in range(count)]
    return years_of(count + 2, days)


def of(air, latitude=52.0, **more):
    return SeasonYears.of(FIRST, air, latitude=latitude, **more)


def test_first_and_last_frost():
    seasons = of(north())
    assert (seasons.years, seasons.left_out) == (tuple(range(2000, 2025)), ())
    first, last = seasons.first_frost, seasons.last_frost
    # The 13th of 25 is the median; P10 lies at 2.4, P90 at 21.6 days from the first.
    assert (first.median, first.p10, first.p90) == (YearDay(10, 13), YearDay(10, 3), YearDay(10, 23))
    assert (first.earliest, first.latest, first.years, first.without) == (YearDay(10, 1), YearDay(10, 25), 25, 0)
    assert (last.median, last.p10, last.p90) == (YearDay(4, 13), YearDay(4, 3), YearDay(4, 23))
    assert (last.earliest, last.latest) == (YearDay(4, 1), YearDay(4, 25))


def test_lines_leave_frost_to_one_year_in_five():
    # Five of 25 years have frost by 5 October: 28 days end with that day if they start on 8 September.
    # Five have frost on 21 April or later.
    line = of(north()).finish
    assert line is not None
    assert (line.first, line.last, line.years, line.always) == (YearDay(4, 21), YearDay(9, 8), 25, False)
    base = of(north()).base
    assert base is not None
    assert (base.first, base.last) == (YearDay(4, 21), YearDay(9, 22))


def test_the_spread_of_a_line_holds_it_and_never_changes():
    one, again = of(north()).finish, of(north()).finish
    assert one == again
    assert one is not None
    assert one.last_spread is not None
    assert one.first_spread is not None
    assert one.last_spread[0] <= YearDay(9, 8) <= one.last_spread[1]
    assert one.first_spread[0] <= YearDay(4, 21) <= one.first_spread[1]
    # The share of samples drawn wholly from 25 equal years that see so many early frosts: two days to four each way.
    assert YearDay(9, 4) <= one.last_spread[0] < one.last_spread[1] <= YearDay(9, 13)


def test_south_of_the_equator_the_season_runs_over_new_year():
    seasons = of(south(), latitude=-41.0)
    assert seasons.years == tuple(range(2001, 2027))
    first, last, line = seasons.first_frost, seasons.last_frost, seasons.finish
    assert (first.median, first.earliest, first.latest) == (YearDay(4, 13), YearDay(4, 1), YearDay(4, 25))
    assert (last.median, last.earliest, last.latest) == (YearDay(10, 13), YearDay(10, 1), YearDay(10, 25))
    assert (first.years, first.without) == (26, 1)
    # 26 seasons, 5 are at most 20 %: by 5 April, so 28 days before it; five of October on 21 or later.
    assert line is not None
    assert (line.first, line.last) == (YearDay(10, 21), YearDay(3, 9))
    assert seasons.risk(YearDay(12, 20), 28) == (0.0, 26)


def test_risk_of_one_start():
    seasons = of(north())
    assert seasons.risk(YearDay(9, 8), 28) == (0.2, 25)
    assert seasons.risk(YearDay(9, 9), 28) == (0.24, 25)
    # From 20 December the 28 days reach into the next year, which the last season has not.
    assert seasons.risk(YearDay(12, 20), 28) == (0.0, 24)


@pytest.mark.parametrize("count", [1, 19])
def test_fewer_than_twenty_years_tell_no_line_and_no_p90(count):
    seasons = of(north(count))
    assert seasons.finish is seasons.base is seasons.line(90) is None
    assert (seasons.first_frost.p10, seasons.first_frost.p90, seasons.last_frost.p90) == (None, None, None)
    assert seasons.first_frost.median is not None
    assert seasons.first_frost.years == count
    assert seasons.refusal.startswith(f"station years: {count} complete seasons; a season line needs 20")
    assert of(north(20)).refusal == ""
    assert of(north(20)).finish is not None


def test_a_place_without_frost_has_no_line_to_keep():
    seasons = of(years_of(21))
    assert (seasons.first_frost.median, seasons.first_frost.without) == (None, 21)
    line = seasons.finish
    assert line is not None
    assert (line.always, line.first, line.last, line.first_spread) == (True, None, None, None)


def test_where_frost_is_rare_percentiles_stop_at_the_years_that_have_it():
    days = [date(2000 + k, 11, 1) + timedelta(days=k) for k in range(13)]
    first = of(years_of(25, days)).first_frost
    assert (first.median, first.p90, first.without) == (YearDay(11, 13), None, 12)


def test_a_place_with_frost_in_every_month_has_no_start():
    days = [date(2000 + k, month, 15) for k in range(20) for month in range(1, 13)]
    line = of(years_of(20, days)).line(35)
    assert line is not None
    assert (line.first, line.last, line.always) == (None, None, False)


def test_what_is_not_known_is_not_frost_free():
    air = north()
    air[hour_of(date(2003, 10, 2)) : hour_of(date(2003, 10, 20))] = np.nan  # its first frost is of 4 October
    seasons = of(air)
    assert 2003 in seasons.years
    assert seasons.first_frost.years == 24
    assert seasons.last_frost.years == 25
    # 28 days from 4 September miss no hour of it, from 5 September one day, from 6 September two.
    assert [seasons.risk(YearDay(9, day), 28)[1] for day in (4, 5, 6, 8)] == [25, 25, 24, 24]
    assert seasons.risk(YearDay(9, 8), 28)[0] == pytest.approx(4 / 24)
    air[hour_of(date(2004, 1, 1)) : hour_of(date(2004, 3, 1))] = np.nan
    assert of(air).left_out == (2004,)


def test_a_leap_day_without_hours_costs_nothing():
    air = north()
    for year in range(2000, 2025, 4):
        air[hour_of(date(year, 2, 29)) : hour_of(date(year, 3, 1))] = np.nan
    assert (of(air).last_frost, of(air).finish) == (of(north()).last_frost, of(north()).finish)


def test_days_are_those_of_the_place():
    # 05 UTC on 13 October is the evening of 12 October ten hours to the west.
    assert of(north(), offset=-10).first_frost.median == YearDay(10, 12)
    assert of(north(), offset=10).first_frost.median == YearDay(10, 13)


def test_another_frost_limit():
    assert of(north(), frost=-1.0).first_frost.without == 25
    assert of(north(), frost=-0.9).first_frost.without == 0


def test_a_day_of_the_year_in_a_calendar():
    assert YearDay(9, 22).on_or_after(date(2027, 9, 22)) == date(2027, 9, 22)
    assert YearDay(9, 22).on_or_after(date(2027, 9, 23)) == date(2028, 9, 22)
    assert str(YearDay(4, 7)) == "04-07"


@pytest.mark.parametrize("shift", [-20, -1, 1, 13])
def test_later_frosts_move_all_days_alike(shift):
    days = [date(2000 + k, 10, 20) + timedelta(days=k % 7 + shift) for k in range(21)]
    line = of(years_of(21, days)).finish
    plain = of(years_of(21, [date(2000 + k, 10, 20) + timedelta(days=k % 7) for k in range(21)])).finish
    assert line is not None
    assert plain is not None
    ends = [one.last.on_or_after(date(2027, 1, 1)) for one in (plain, line)]
    assert (ends[1] - ends[0]).days == shift


@pytest.mark.parametrize(
    ("day", "finish_by", "resumes"),
    [
        (date(2027, 6, 1), date(2027, 9, 8), date(2028, 4, 21)),
        (date(2027, 11, 1), date(2027, 9, 8), date(2028, 4, 21)),
        (date(2028, 4, 20), date(2027, 9, 8), date(2028, 4, 21)),
        (date(2028, 4, 21), date(2028, 9, 8), date(2029, 4, 21)),
    ],
)
def test_the_line_stands_in_for_that_of_the_job_file(day, finish_by, resumes):
    line = season_line(of(north()), None, day)
    assert line is not None
    assert (line.finish_by, line.resumes) == (finish_by, resumes)
    assert out_of_season(line, day) == (resumes if finish_by < day else None)


def test_the_line_of_a_southern_season_and_none_where_there_is_none():
    line = season_line(of(south(), latitude=-41.0), steady(), date(2027, 12, 1))
    assert line is not None
    assert (line.finish_by, line.resumes) == (date(2028, 3, 9), date(2028, 10, 21))
    assert line.drying["jan"] == 1.0
    assert season_line(of(north(19)), None, date(2027, 6, 1)) is None
    assert season_line(of(years_of(21)), None, date(2027, 6, 1)) is None


# --- panels -----------------------------------------------------------------------------


def steady(years=21, air=20.0, humidity=60.0):
    hours = hour_of(date(2000 + years, 1, 1))
    return drying_years(FIRST, np.full(hours, air), np.full(hours, humidity))


def test_warm_dry_air_dries_at_factor_one():
    drying = steady()
    assert drying.years == 21
    assert [round(drying.factors[month], 2) for month in MONTHS] == [1.0] * 12
    # 300 mm at 7 days an inch, 83 days, to be dry on 9 September: filled by 18 June.
    fill = last_fill(date(2027, 9, 9), 82.6, drying)
    assert (fill.day, fill.early, fill.late, fill.years) == (date(2027, 6, 18),) * 3 + (21,)


def test_cold_damp_air_dries_slowly():
    assert steady(air=5.0, humidity=90.0).factors["jan"] < 0.3


def test_few_years_tell_the_middle_alone():
    drying = steady(years=3)
    assert (drying.low, drying.high) == ({}, {})
    fill = last_fill(date(2027, 9, 9), 82.6, drying)
    assert (fill.day, fill.early, fill.late, fill.years) == (date(2027, 6, 18), None, None, 3)


def test_the_spread_of_the_last_day_to_fill_is_that_of_the_years():
    # Year k of 21 would have taken 60 + k days: in nine of ten years 78 were enough, in one of ten 62.
    single = {2000 + k: dict.fromkeys(MONTHS, 60.0 / (60 + k)) for k in range(21)}
    drying = DryingYears(dict.fromkeys(MONTHS, 60.0 / 70.0), {}, {}, single)
    base = date(2027, 9, 9)
    days = [base - timedelta(days=k) for k in (70, 78, 62)]
    assert last_fill(base, 60.0, drying) == LastFill(*days, 21)


def test_a_month_that_no_year_tells_of_is_named():
    hours = hour_of(date(2000, 11, 3))  # two days do not tell November
    drying = drying_years(FIRST, np.full(hours, 20.0), np.full(hours, 60.0))
    with pytest.raises(ValueError, match=r"nothing of nov, dec; .*season\.drying"):
        last_fill(date(2027, 9, 9), 80.0, drying)


# --- a real station ----------------------------------------------------------------------


@pytest.fixture(scope="module")
def station():
    hours = recorded(THIRTY_TWO_YEARS, SEVEN_YEARS)
    return datetime.fromtimestamp(hours.start, UTC), hours


@RECORDED
def test_the_calibrated_season_comes_out(station):
    # De Bilt 1986-2024 (KNMI, CC BY 4.0), days in UTC; dates as they were calibrated.
    start, hours = station
    seasons = SeasonYears.of(start, hours.temperature, latitude=52.1)
    first, last, finish, base = seasons.first_frost, seasons.last_frost, seasons.finish, seasons.base
    assert (str(first.median), str(first.p10), str(first.earliest)) == ("11-09", "10-18", "10-13")
    assert (str(last.median), str(last.p90), str(last.latest)) == ("04-17", "04-28", "05-15")
    assert (str(finish.first), str(finish.last), finish.years) == ("04-27", "09-22", 39)
    assert [str(one) for one in finish.last_spread + finish.first_spread] == ["09-20", "10-03", "04-23", "04-29"]
    assert (str(base.first), str(base.last)) == ("04-24", "10-06")
    assert str(base.last_spread[0]) == "10-04"
    assert YearDay(10, 15) <= base.last_spread[1] <= YearDay(10, 19)  # calibrated 17 October: it stands on a step
    lines = [seasons.line(42), seasons.line(90), seasons.line(28, 0.1)]
    assert [str(one.last) for one in lines] == ["09-08", "07-22", "09-19"]
    colder = SeasonYears.of(start, hours.temperature, latitude=52.1, frost=-2.0).finish
    assert (str(colder.first), str(colder.last)) == ("04-15", "10-16")


@RECORDED
def test_the_calibrated_risk_comes_out_without_the_last_year(station):
    start, hours = station
    end = (date(2024, 1, 1) - date(1986, 1, 1)).days * 24 + 28 * 24
    seasons = SeasonYears.of(start, hours.temperature[:end], latitude=52.1)
    assert seasons.years == tuple(range(1986, 2024))
    days = [(3, 1), (4, 1), (4, 15), (5, 1), (6, 1), (9, 15), (10, 1), (10, 15), (11, 1)]
    assert [round(100 * seasons.risk(YearDay(*day), 28)[0]) for day in days] == [97, 79, 53, 8, 0, 0, 32, 55, 82]
    assert round(100 * seasons.risk(YearDay(8, 10), 90)[0]) == 47


@RECORDED
def test_the_calibrated_drying_comes_out(station):
    start, hours = station
    drying = drying_years(start, hours.temperature, hours.humidity)
    known = [0.23, 0.28, 0.38, 0.52, 0.63, 0.68, 0.71, 0.66, 0.49, 0.35, 0.25, 0.22]
    assert [drying.factors[month] for month in MONTHS] == pytest.approx(known, abs=0.0051)
    low = [0.18, 0.22, 0.30, 0.42, 0.51, 0.56, 0.55, 0.54, 0.38, 0.29, 0.20, 0.17]
    high = [0.27, 0.35, 0.45, 0.63, 0.75, 0.78, 0.87, 0.78, 0.59, 0.42, 0.30, 0.27]
    # Within one in the last digit.
    assert [round(drying.low[month], 2) for month in MONTHS] == pytest.approx(low, abs=0.0101)
    assert [round(drying.high[month], 2) for month in MONTHS] == pytest.approx(high, abs=0.0101)
    # 12 in from 1 May takes 18 weeks: 84 days of factor 1 end on about 4 September.
    fill = last_fill(date(2027, 9, 4), 84.0, drying)
    assert abs((fill.day - date(2027, 5, 1)).days) <= 4
    assert fill.early is not None
    assert fill.late is not None
    assert fill.early < fill.day < fill.late
    assert fill.years == 39
