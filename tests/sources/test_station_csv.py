"""The history of a station: recorded years whole, invented tables for all that can be wrong with one."""

from __future__ import annotations

import gzip
import json
import math
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from forecast_documents import Spot, recorded
from hypothesis import given, settings
from hypothesis import strategies as st

from curing.errors import CuringError, FileError, UsageError
from curing.sources.station_csv import read_station
from curing.sources.station_map import StationMap, read_station_map

DE_BILT = Spot(52.10, 5.18)
HEADER = "time_end_utc,temp_c,rh_pct,ghi_wm2,wind_ms,precip_mm"
FIRST = datetime(2027, 1, 1, tzinfo=UTC)
PLAIN = {"curing_station": 1, "time": "time", "marks": "start", "zone": "UTC",
         "columns": {"temperature": {"column": "t", "unit": "°C"}}}  # fmt: skip


def at(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


def light(hour: datetime, spot: Spot = DE_BILT) -> float:
    """Return a cloudless hour's radiation, by a sun of its own (Cooper's declination, no equation of time)."""
    day = hour.timetuple().tm_yday
    tilt = math.radians(23.45) * math.sin(2 * math.pi * (284 + day) / 365)
    turn = math.radians(15 * (hour.hour + 0.5 - 12) + spot.longitude)
    lat = math.radians(spot.latitude)
    return max(0.0, 900 * (math.sin(lat) * math.sin(tilt) + math.cos(lat) * math.cos(tilt) * math.cos(turn)))


def year(*, days: int = 365, first: datetime = FIRST, shift: int = 0, warm: Callable[[float], float] = lambda t: t,
         skip: Callable[[datetime], bool] = lambda _: False) -> list[str]:  # fmt: skip
    """Return lines of an invented station whose times are put later by some hours."""
    lines = [HEADER]
    for n in range(days * 24):
        hour = first + timedelta(hours=n)
        air = warm(10 + 8 * math.sin(2 * math.pi * (n / 8760 - 0.25)) + 4 * math.sin(2 * math.pi * (n / 24 - 0.35)))
        if not skip(hour):
            label = hour + timedelta(hours=1 + shift)
            lines.append(f"{label:%Y-%m-%dT%H:%MZ},{air:.1f},80,{light(hour):.0f},3.0,0.1")
    return lines


def table(folder: Path, lines: list[str], name: str = "station.csv") -> Path:
    file = folder / name
    file.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return file


def told_of(folder: Path, text: str, **changes: object) -> list[str]:
    """Return the problems of a table, without its folder."""
    file = folder / "t.csv"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(FileError) as told:
        read_station([file], columns=StationMap.model_validate(PLAIN | changes))
    return [str(problem).removeprefix(f"{folder}/") for problem in told.value.problems]


# Recorded years.


def test_seven_recorded_years_with_rain() -> None:
    file = recorded("knmi_260_debilt_2018-2024_hourly.csv.gz")
    begun = time.perf_counter()
    found = read_station([file], spot=DE_BILT)
    assert time.perf_counter() - begun < 5  # 0.4 s on an idle core
    assert (found.start, found.end) == (at("2018-01-01 00:00"), at("2025-01-01 00:00"))
    assert found.attribution == "Source: KNMI (CC BY 4.0)"
    # The table's line "2018-06-21T11:00Z,15.2,4.7,49,769,7.0,310.0,0.0": the hour that ends at 11:00.
    place = found.index(at("2018-06-21 10:00"))
    row = [
        getattr(found, name)[place] for name in ("temperature", "humidity", "radiation", "wind", "direction", "rain")
    ]
    assert row == [15.2, 49, 769, 7, 310, 0]
    # Each year's sum of the last column, added up by another program (awk), less the two days that were filled.
    with gzip.open(file, "rt") as lines:
        told = sum(float(line.rsplit(",", 1)[1]) for line in list(lines)[1:])
    leap = [found.rain[found.index(at(f"{one}-02-29 00:00")) :][:24].sum() for one in (2020, 2024)]
    assert np.nansum(found.rain) - sum(leap) == pytest.approx(told, abs=0.01)
    assert any(note.startswith("29 February stands in no year: in 2020, 2024") for note in found.notes)
    # 29 February to noon is the 28th's, then 1 March's: 6.5 °C at the hour to 22:00 of the 28th stays where it was.
    assert found.temperature[found.index(at("2020-02-28 21:00"))] == 6.5
    assert (
        found.temperature[found.index(at("2020-02-29 12:00"))] == found.temperature[found.index(at("2020-03-01 12:00"))]
    )
    assert (
        found.temperature[found.index(at("2020-02-29 11:00"))] == found.temperature[found.index(at("2020-02-28 11:00"))]
    )
    assert np.isnan(found.direction).sum() >= 525
    assert np.isnan(found.cloud).all()


@pytest.mark.long
def test_thirty_nine_recorded_years_in_two_files() -> None:
    files = [
        recorded("knmi_260_debilt_2018-2024_hourly.csv.gz"),
        recorded("knmi_260_debilt_1986-2017_hourly_norain.csv.gz"),
    ]
    found = read_station(files, spot=DE_BILT)
    assert (found.start, found.end) == (at("1986-01-01 00:00"), at("2025-01-01 00:00"))
    assert np.isfinite(found.temperature).all()
    assert np.isnan(found.rain[: found.index(at("2018-01-01 00:00"))]).all()


# What is taken for granted, and told.


def test_gaps_stay_gaps_and_are_told(tmp_path: Path) -> None:
    lines = year(days=3, skip=lambda hour: hour.day == 2 and hour.hour in (3, 4))
    found = read_station([table(tmp_path, lines)])
    gap = found.index(at("2027-01-02 03:00"))
    assert np.isnan(found.temperature[gap : gap + 2]).all()
    assert np.isnan(found.temperature).sum() == 2
    assert "Temperature is not told for 2 hours; the longest gap has 2 h, from 2027-01-02 03:00 UTC." in found.notes
    assert "Not told: direction, cloud." in found.notes


def test_several_files_in_any_order_that_overlap_where_they_agree(tmp_path: Path) -> None:
    lines = year(days=4)
    late = table(tmp_path, [HEADER, *lines[40:]], "b.csv")
    soon = tmp_path / "a.csv.gz"
    soon.write_bytes(gzip.compress("\n".join(lines[:50]).encode()))
    found = read_station([late, soon])
    assert (found.start, len(found)) == (FIRST, 96)
    assert np.isfinite(found.temperature).all()
    assert any(note == "10 hours stand twice, alike: they were taken once." for note in found.notes)


def test_disorder_is_sorted_and_told(tmp_path: Path) -> None:
    lines = year(days=1)
    whole = read_station([table(tmp_path, lines)])
    found = read_station([table(tmp_path, [*lines[:5], *lines[9:], *lines[5:9]])])
    assert np.array_equal(found.temperature, whole.temperature)
    assert any("rows stand in disorder, first in line 22" in note for note in found.notes)


def test_29_february_in_some_year_only_stays_a_gap_in_the_other(tmp_path: Path) -> None:
    first = datetime(2024, 2, 27, tzinfo=UTC)
    lacking = year(days=4, first=first, skip=lambda hour: (hour.month, hour.day) == (2, 29))
    found = read_station([table(tmp_path, lacking)])
    assert np.isfinite(found.temperature).all()
    other = year(days=4, first=datetime(2028, 2, 27, tzinfo=UTC))[1:]
    found = read_station([table(tmp_path, [*lacking, *other])])
    day = found.index(at("2024-02-29 00:00"))
    assert np.isnan(found.temperature[day : day + 24]).all()


def test_a_column_map_with_units_zone_and_decimal_commas(tmp_path: Path) -> None:
    file = tmp_path / "t.csv"
    file.write_text("date;t [F];wind\n03.05.2027 07:00;50,0;36\n03.05.2027 08:00;;18\n", encoding="utf-8")
    written = tmp_path / "map.yaml"
    written.write_text(
        "curing_station: 1\ntime: date\nform: '%d.%m.%Y %H:%M'\nmarks: end\nzone: '+01:00'\ncolumns:\n"
        '  temperature: { column: "t [F]", unit: "°F" }\n  wind: { column: wind, unit: km/h }\nattribution: Ours\n'
    )
    found = read_station([file], columns=read_station_map(written))
    assert found.start == at("2027-05-03 05:00")
    assert found.temperature[0] == pytest.approx(10.0)
    assert np.isnan(found.temperature[1])
    assert found.wind.tolist() == [10, 5]
    assert found.attribution == "Ours"
    assert "t.csv: numbers under t [F] have decimal commas." in found.notes


def test_the_day_and_the_hour_in_two_columns(tmp_path: Path) -> None:
    """Hours 1-24 of the end: 24 is the last of the day."""
    file = tmp_path / "t.csv"
    file.write_text("YYYYMMDD,HH,T\n20270503,   23,100\n20270503,   24,90\n20270504,    1,80\n")
    air = {"temperature": {"column": "T", "unit": "°F"}}
    columns = StationMap.model_validate(PLAIN | {"time": "YYYYMMDD", "hour": "HH", "marks": "end", "columns": air})
    found = read_station([file], columns=columns)
    assert (found.start, len(found)) == (at("2027-05-03 22:00"), 3)


def test_24_o_clock_is_midnight(tmp_path: Path) -> None:
    file = tmp_path / "t.csv"
    file.write_text("time,t\n2027-05-03 24:00,9\n2027-05-04 01:00,8\n")
    found = read_station([file], columns=StationMap.model_validate(PLAIN))
    assert found.start == at("2027-05-04 00:00")


def test_what_stands_for_no_value(tmp_path: Path) -> None:
    file = tmp_path / "t.csv"
    file.write_text("time,t\n2027-05-03 00:00,-999\n2027-05-03 01:00,NA\n2027-05-03 02:00,\n2027-05-03 03:00,7\n")
    found = read_station([file], columns=StationMap.model_validate(PLAIN))
    assert np.isnan(found.temperature).tolist() == [True, True, True, False]
    assert "t.csv: 1 times -999 under t stands for no value." in found.notes


def test_a_sensor_that_was_out_for_months_is_a_gap_and_no_fault(tmp_path: Path) -> None:
    """Far more than a few spikes, yet no wrong unit: the number stands for no value."""
    lines = [line.replace(",3.0,", ",-9999,") if n % 2 else line for n, line in enumerate(year(days=20))]
    found = read_station([table(tmp_path, lines)])
    assert np.isnan(found.wind).sum() == 240
    assert "station.csv: 240 times -9999 under wind_ms stands for no value." in found.notes


def test_a_spike_is_left_out_and_told(tmp_path: Path) -> None:
    lines = year(days=20)
    lines[100] = lines[100].replace(lines[100].split(",")[1], "85.0", 1)
    found = read_station([table(tmp_path, lines)])
    assert np.isnan(found.temperature).sum() == 1
    assert any("1 value outside -60 to 60 °C is left out (85 °C, line 101)" in note for note in found.notes)


def test_instruments_that_show_a_little_beyond(tmp_path: Path) -> None:
    lines = [HEADER, "2027-01-01T01:00Z,1,101.5,-3,2,-0.1"]
    found = read_station([table(tmp_path, lines)])
    assert (found.humidity[0], found.radiation[0], found.rain[0]) == (100, 0, 0)


# What is wrong.


def test_fahrenheit_read_as_celsius_is_caught(tmp_path: Path) -> None:
    with pytest.raises(
        FileError, match=r"station.csv:[0-9]+:2: temperature: .* outside -60 to 60 °C .* in °F they would be"
    ):
        read_station([table(tmp_path, year(warm=lambda t: t * 1.8 + 32))])


def test_fahrenheit_of_a_cold_place_is_caught_by_its_mean(tmp_path: Path) -> None:
    """Never over 60 °F, but a mean of 40 °C is that of no place."""
    with pytest.raises(FileError, match=r"its mean is 3[6-9].* in °F it would be"):
        read_station([table(tmp_path, year(warm=lambda t: (t * 0.8 - 5.3) * 1.8 + 32))])


def test_fahrenheit_of_half_a_year_is_caught_by_its_warmest_month(tmp_path: Path) -> None:
    """Of fewer hours than a year, none over 60: 30 days as hot as that are known from no place."""
    july = at("2027-07-01 00:00")
    with pytest.raises(FileError, match=r"30 days have a mean of 4[5-9].* in °F it would be"):
        read_station([table(tmp_path, year(days=61, first=july, warm=lambda t: (t + 5.0) * 1.8 + 32))])
    hot = year(days=61, first=july, warm=lambda t: t + 35.0)  # a summer of the Gulf
    assert float(read_station([table(tmp_path, hot)]).temperature.mean()) > 35.0


@pytest.mark.parametrize(
    ("shift", "said"), [(1, "1 h earlier"), (-1, "1 h later"), (5, "5 h earlier"), (-8, "8 h later")]
)
def test_a_wrong_zone_is_caught_by_the_sun(tmp_path: Path, shift: int, said: str) -> None:
    with pytest.raises(
        FileError, match=rf"at night in [0-9,]+ hours: the times fit the sun of this place if they are {said}"
    ):
        read_station([table(tmp_path, year(shift=shift))], spot=DE_BILT)


def test_the_right_zone_is_not_doubted_at_any_latitude(tmp_path: Path) -> None:
    read_station([table(tmp_path, year())], spot=DE_BILT)
    read_station([table(tmp_path, year())])


def test_summer_time_is_caught(tmp_path: Path) -> None:
    lines = [HEADER]
    for n in range(8760):
        hour = FIRST + timedelta(hours=n)
        label = hour + timedelta(hours=2 if at("2027-03-28 01:00") <= hour < at("2027-10-31 01:00") else 1)
        lines.append(f"{label:%Y-%m-%dT%H:%MZ},10,80,{light(hour):.0f},3.0,0.1")
    # The doubled hour of autumn is told first; without it the sun tells.
    with pytest.raises(FileError, match="clock that is put back in autumn"):
        read_station(
            [table(tmp_path, [line.replace(",10,", f",{9 + n % 3},") for n, line in enumerate(lines)])], spot=DE_BILT
        )
    once = list({line.split(",")[0]: line for line in lines}.values())
    with pytest.raises(FileError, match="the times follow summer time"):
        read_station([table(tmp_path, once)], spot=DE_BILT)


def test_everything_wrong_with_a_table_is_told_at_once_with_line_and_column(tmp_path: Path) -> None:
    found = told_of(tmp_path, "time,t\n2027-05-03 00:00,warm\nyesterday,5\n2027-05-03 02:30,6\n2027-05-03 03:00,7,8\n"
                              "2027-05-03 04:00,1\n2027-05-03 05:00\n")  # fmt: skip
    assert found == [
        't.csv:2:2: temperature: "warm" is no number; write it like 12.5, or leave it empty',
        't.csv:3:1: time: "yesterday" is none; write it like 2027-05-03 06:00',
        't.csv:4:1: time: "2027-05-03 02:30" is not on the hour in UTC; make hours of the table first',
        "t.csv:5:3: 3 cells, but the header has 2, separated by commas; are there decimal commas? save it with "
        "semicolons",
        "t.csv:7:1: 1 cells, but the header has 2, separated by commas; the row may be cut off",
    ]


def test_many_alike_are_counted(tmp_path: Path) -> None:
    rows = "".join(f"2027-05-{day:02}T{hour:02}:00,x\n" for day in range(1, 20) for hour in range(24))
    found = told_of(tmp_path, "time,t\n" + rows)
    assert len(found) == 9
    assert any('"t": and 448 more like these in this column' in line for line in found)


def test_a_header_that_lacks_columns_says_which_and_what_was_meant(tmp_path: Path) -> None:
    columns = {"temperature": {"column": "temp", "unit": "°C"}, "wind": {"column": "ff", "unit": "m/s"}}
    found = told_of(tmp_path, "time,tmp\n2027-05-03 00:00,5\n", columns=columns)
    assert found == [
        't.csv:1:1: temperature: unknown column "temp"; did you mean "tmp"?',
        't.csv:1:1: wind: unknown column "ff"; write one of "time", "tmp"',
    ]


def test_a_table_of_an_unknown_form_asks_for_a_map(tmp_path: Path) -> None:
    with pytest.raises(
        FileError, match=r'not of a form that is known \("date", "t"\); say what they mean in a column map'
    ):
        read_station([table(tmp_path, ["date,t", "2027-05-03,5"])])


def test_a_name_that_stands_twice_in_the_header(tmp_path: Path) -> None:
    assert 't.csv:1:2: the name "t" stands twice in the header; change one of them' in told_of(
        tmp_path, "time,t,t\n2027-05-03 00:00,5,6\n"
    )


def test_hours_that_contradict_each_other_are_told_across_files(tmp_path: Path) -> None:
    one = table(tmp_path, [HEADER, "2027-01-01T01:00Z,1,80,0,2,0"], "a.csv")
    other = table(tmp_path, [HEADER, "2027-01-01T01:00Z,2,80,0,2,0"], "b.csv")
    with pytest.raises(
        FileError, match=r"b.csv:2:1: time: 2027-01-01 00:00 UTC stands twice .* first in a.csv, line 2"
    ):
        read_station([one, other])


def test_decimal_commas_beside_points(tmp_path: Path) -> None:
    found = told_of(tmp_path, "time;t\n2027-05-03 00:00;1.5\n2027-05-03 01:00;1,5\n")
    assert found == ['t.csv:3:2: temperature: "1,5" has a decimal comma where others have points; write them alike']


def test_a_time_with_another_zone_than_the_map(tmp_path: Path) -> None:
    found = told_of(tmp_path, "time,t\n2027-05-03 00:00+02:00,5\n")
    assert "its zone is +2 h, not that of the column map (+0 h)" in found[0]


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"zone": "Europe/Amsterdam"}, "is no fixed zone; write UTC, or +01:00"),
        ({"marks": "middle"}, 'write one of "start", "end"'),
        (
            {"columns": {"temperature": {"column": "t", "unit": "°R"}}},
            'the unit "°R" is not known; write one of °C, °F, K',
        ),
        ({"columns": {"wind": {"column": "w", "unit": "m/s"}}}, "no column of the temperature"),
        ({"columns": {"temprature": {"column": "t", "unit": "°C"}}}, 'did you mean "temperature"?'),
    ],
)
def test_what_is_wrong_with_a_column_map(tmp_path: Path, changes: dict[str, object], said: str) -> None:
    file = tmp_path / "map.yaml"
    file.write_text(json.dumps(PLAIN | changes))
    with pytest.raises(FileError) as told:
        read_station_map(file)
    assert said in str(told.value)


@pytest.mark.parametrize(
    ("raw", "said"),
    [
        (b"", "the table is empty"),
        (b"time\n1\n", "no commas, semicolons or tabs"),
        (b"time,t\n", "there are no rows"),
        (b"PK\x03\x04rest", "this is a workbook or zip"),
        (gzip.compress(b"time,t\n" * 1000, mtime=0)[:40], "the .gz is cut off or broken"),
        (b"time,t\n2027-05-03\x00,5\n", "there are zero bytes in it"),
    ],
)
def test_files_that_are_no_tables(tmp_path: Path, raw: bytes, said: str) -> None:
    (tmp_path / "t.csv").write_bytes(raw)
    with pytest.raises(FileError, match=said):
        read_station([tmp_path / "t.csv"], columns=StationMap.model_validate(PLAIN))
    with pytest.raises(FileError, match="there is no such file"):
        read_station([tmp_path / "none.csv", tmp_path])


def test_no_file_at_all() -> None:
    with pytest.raises(UsageError, match="no table of a station is named"):
        read_station([])


def test_all_files_are_told_of_at_once(tmp_path: Path) -> None:
    bad = [table(tmp_path, [HEADER, "x,1,80,0,2,0"], f"{name}.csv") for name in "ab"]
    with pytest.raises(FileError) as told:
        read_station([*bad, tmp_path / "none.csv"])
    assert len(told.value.problems) == 3


ODD = ["2027-05-03 00:00", "0001-01-01T00:00Z", "9999-12-31 24:00", "2027-05-03T24:00+99:99", "1,5", "1e400", "nan",
       "-inf", '"', "5", "٣"]  # fmt: skip
CELLS = st.one_of(st.text(max_size=12), st.sampled_from(ODD))


@settings(max_examples=300)
@given(rows=st.lists(st.lists(CELLS, min_size=1, max_size=4), max_size=6), separator=st.sampled_from(",;\t"))
def test_a_table_of_anything_is_read_or_refused(
    tmp_path_factory: pytest.TempPathFactory, rows: list[list[str]], separator: str
) -> None:
    file = tmp_path_factory.getbasetemp() / "anything.csv"
    text = "\n".join([separator.join(["time", "t"]), *(separator.join(row) for row in rows)])
    file.write_bytes(text.encode("utf-8", "surrogatepass"))
    for changes in ({}, {"form": "%d.%m.%Y"}, {"hour": "t"}):
        try:
            found = read_station([file], columns=StationMap.model_validate(PLAIN | changes), spot=DE_BILT)
        except CuringError as told:
            str(told).encode()
            continue
        assert not np.isinf(found.temperature).any()
