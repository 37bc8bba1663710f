"""What each weather service says, as hours: recorded answers whole, invented ones for every turn."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from urllib.parse import parse_qs, urlsplit

import numpy as np
import pytest
from forecast_documents import (
    COURT,
    HOUR,
    START,
    Spot,
    body,
    layer,
    met,
    met_hours,
    met_step,
    nws,
    open_meteo,
    recorded,
    unix,
)

from curing.errors import WeatherError
from curing.sources.forecasts import met_norway
from curing.sources.forecasts import nws as nws_service
from curing.sources.forecasts import open_meteo as open_meteo_service
from curing.sources.weather_settings import WeatherSettings


def at(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


def value(weather, variable: str, when: str) -> float:
    return float(getattr(weather, variable)[weather.index(at(when))])


# Recorded answers.


def test_recorded_met_norway() -> None:
    raw = json.loads(recorded("met-norway_compact_40.7_-74.0.json").read_bytes())["data"]
    found = met_norway.parse(body(raw), spot=Spot(40.7, -74.0))
    assert (found.start, found.end) == (at("2020-07-20 11:00"), at("2020-07-29 07:00"))
    assert found.issued == at("2020-07-20 01:30:57")
    assert found.attribution == "Data from MET Norway (CC BY 4.0)"
    steps = raw["properties"]["timeseries"]
    for step in steps:  # every told instant stands in its own hour
        told = step["data"]["instant"]["details"]
        place = found.index(datetime.fromisoformat(step["time"]))
        assert found.temperature[place] == told["air_temperature"]
        assert found.humidity[place] == told["relative_humidity"]
        assert found.wind[place] == told["wind_speed"]
        assert found.direction[place] == told["wind_from_direction"]
        assert found.cloud[place] == pytest.approx(told["cloud_area_fraction"] / 100)
    # Between 18:00 (30.2 °C, 156.0°) and midnight (26.7 °C, 141.8°), by hand.
    assert value(found, "temperature", "2020-07-22 21:00") == pytest.approx(28.45)
    assert value(found, "direction", "2020-07-22 21:00") == pytest.approx(148.9)
    # 3.0 mm told for the six hours from midnight; 0.4 from noon on; nothing behind the last step.
    assert found.rain[found.index(at("2020-07-23 00:00")) :][:6] == pytest.approx([0.5] * 6)
    assert found.rain[found.index(at("2020-07-23 12:00")) :][:6] == pytest.approx([0.4 / 6] * 6, abs=1e-4)
    assert np.isnan(found.rain[-1])
    told_rain = sum(
        step["data"].get("next_1_hours", step["data"].get("next_6_hours"))["details"]["precipitation_amount"]
        for step in steps[:-1]
    )
    assert np.nansum(found.rain) == pytest.approx(told_rain, abs=0.01)
    assert np.isnan(found.radiation).all()
    assert any("From 2020-07-22 19:00 UTC on" in note for note in found.notes)


def test_recorded_us_grid() -> None:
    raw = json.loads(recorded("pynws_detailed_forecast.json").read_bytes())
    found = nws_service.parse(body(raw), spot=Spot(30.01, -84.98))
    assert (found.start, len(found)) == (at("2022-02-03 21:00"), 182)
    assert np.isfinite(found.temperature).all()
    assert value(found, "temperature", "2022-02-03 21:00") == pytest.approx(22.7778)
    assert value(found, "wind", "2022-02-03 22:00") == pytest.approx(20.372 / 3.6, abs=1e-4)
    assert value(found, "direction", "2022-02-04 03:00") == 170
    # 2.032 mm told for six hours; rain is told 23 h less far than the air.
    assert found.rain[found.index(at("2022-02-04 06:00")) :][:6] == pytest.approx([2.032 / 6] * 6, abs=1e-4)
    assert np.isfinite(found.rain).sum() == 182 - 23
    told = sum(row["value"] for row in raw["properties"]["quantitativePrecipitation"]["values"])
    assert np.nansum(found.rain) == pytest.approx(told, abs=0.01)
    assert found.issued == at("2022-02-04 03:15:41")


def test_recorded_open_meteo() -> None:
    raw = json.loads(recorded("forecast_50N10E_2026-03-02_72h.json").read_bytes())
    found = open_meteo_service.parse(body(raw), spot=Spot(50.0, 10.0))
    # Local times, one hour ahead of UTC: the first is 23:00 UTC, and what is told for the hour before it begins at 22.
    assert (found.start, found.end) == (at("2026-03-01 22:00"), at("2026-03-04 23:00"))
    assert value(found, "temperature", "2026-03-01 23:00") == 3.2
    assert value(found, "wind", "2026-03-01 23:00") == pytest.approx(4.3 / 3.6, abs=1e-4)
    # 519.5 W/m2 stand at 13:00 local: the mean from noon to one, which is the hour from 11:00 UTC.
    assert value(found, "radiation", "2026-03-02 11:00") == 519.5
    assert value(found, "temperature", "2026-03-02 12:00") == 11.3
    for name in ("temperature", "humidity", "wind", "direction", "rain", "radiation", "cloud"):
        assert np.isfinite(getattr(found, name)).sum() == 72
    assert np.nansum(found.radiation) == pytest.approx(sum(raw["hourly"]["shortwave_radiation"]), abs=0.1)


def test_recorded_answers_about_a_place_name_its_grid() -> None:
    assert nws_service.grid_of(recorded("pynws_points.json").read_bytes()) == "/gridpoints/TAE/58,65"


# What is asked.


def test_met_norway_is_asked_with_four_digits_and_the_altitude() -> None:
    url = met_norway.request(Spot(52.123456, -5.20004, 12.6), WeatherSettings(contact="a@example.org")).url
    assert parse_qs(urlsplit(url).query) == {"lat": ["52.1235"], "lon": ["-5.2"], "altitude": ["13"]}


def test_open_meteo_is_asked_for_utc_and_metres_a_second(tmp_path) -> None:
    asked = parse_qs(
        urlsplit(
            open_meteo_service.request(COURT, WeatherSettings(service="open-meteo", contact="a@example.org")).url
        ).query
    )
    assert (asked["timezone"], asked["timeformat"], asked["wind_speed_unit"]) == (["GMT"], ["unixtime"], ["ms"])
    assert {"temperature_2m", "precipitation", "shortwave_radiation"} <= set(asked["hourly"][0].split(","))
    assert len(asked["hourly"][0].split(",")) <= 10  # more count as several calls
    (tmp_path / "key").write_text("k+1\n")
    settings = WeatherSettings(service="open-meteo", contact="a@example.org", key_file=tmp_path / "key")
    url = urlsplit(open_meteo_service.request(COURT, settings).url)
    assert (url.hostname, parse_qs(url.query)["apikey"]) == ("customer-api.open-meteo.com", ["k+1"])


def test_another_host_can_be_named() -> None:
    settings = WeatherSettings(service="nws", contact="a@example.org", base_url="https://mirror.example.org/us/")
    assert nws_service.request(COURT, settings).url == "https://mirror.example.org/us/points/52.1,5.2"


# MET Norway.


def test_rain_of_the_hour_that_follows_and_of_six_where_hours_end() -> None:
    steps = [met_step(START, 10.0, rain1=0.2, rain6=9.0), met_step(START + HOUR, 11.0, rain6=3.0)]
    steps.append(met_step(START + 7 * HOUR, 17.0))
    found = met_norway.parse(body(met(steps)))
    assert found.rain[:7].tolist() == [0.2] + [0.5] * 6
    assert np.isnan(found.rain[7])
    assert found.temperature.tolist() == pytest.approx([10, 11, 12, 13, 14, 15, 16, 17])


def test_wind_goes_the_short_way_round_north() -> None:
    steps = [
        met_step(START, 10.0, wind_from_direction=350.0),
        met_step(START + 4 * HOUR, 10.0, wind_from_direction=10.0),
    ]
    found = met_norway.parse(body(met(steps)))
    assert found.direction.tolist() == [350, 355, 0, 5, 10]


def test_a_hole_of_more_than_six_hours_and_a_null_stay_gaps() -> None:
    steps = [
        met_step(START, 10.0),
        met_step(START + 7 * HOUR, 17.0),
        met_step(START + 8 * HOUR, None),
        met_step(START + 9 * HOUR, 19.0),
    ]
    found = met_norway.parse(body(met(steps)))
    assert np.isfinite(found.temperature).tolist() == [True] + [False] * 6 + [True, False, True]
    assert "Temperature is not told for 7 hours in between, the first at 2027-05-03 07:00 UTC." in found.notes


def test_a_key_that_some_steps_lack_is_a_gap_there_and_no_key_is_no_variable() -> None:
    data = met_hours()
    for step in data["properties"]["timeseries"]:
        del step["data"]["instant"]["details"]["wind_speed"]
    del data["properties"]["timeseries"][1]["data"]["instant"]["details"]["relative_humidity"]
    found = met_norway.parse(body(data))
    assert np.isnan(found.wind).all()
    assert np.isfinite(found.humidity).tolist() == [True, False, True, True]
    assert "Not told: wind, radiation." in found.notes


def test_disorder_is_sorted_and_doubles_taken_once() -> None:
    data = met_hours()
    steps = data["properties"]["timeseries"]
    data["properties"]["timeseries"] = [steps[2], steps[0], steps[0], steps[3], steps[1]]
    found = met_norway.parse(body(data))
    assert found.temperature.tolist() == [10, 11, 12, 13]
    assert found.rain.tolist() == pytest.approx([0.1] * 4)
    assert "The times stood in disorder; they were sorted." in found.notes
    assert any("twice, alike" in note for note in found.notes)


def test_a_time_told_twice_and_not_alike_is_a_gap() -> None:
    steps = [
        met_step(START, 10.0, rain1=0.0),
        met_step(START + HOUR, 5.0, rain1=1.0),
        met_step(START + HOUR, 25.0, rain1=4.0),
    ]
    found = met_norway.parse(body(met(steps)))
    assert np.isnan(found.temperature[1])
    assert np.isnan(found.rain[1])
    assert any("temperature with different values: neither is taken" in note for note in found.notes)


def test_humidity_from_the_dew_point_is_marked() -> None:
    """20 °C with a dew point of 9.3 °C has half of what it can hold: psychrometric tables give 50 %."""
    data = met([met_step(START, 20.0, dew_point_temperature=9.3)])
    del data["properties"]["timeseries"][0]["data"]["instant"]["details"]["relative_humidity"]
    found = met_norway.parse(body(data))
    assert found.humidity.tolist() == pytest.approx([50], abs=0.5)
    assert found.estimated == {"humidity"}


@pytest.mark.parametrize(
    ("unit", "told", "celsius"), [("fahrenheit", 50.0, 10.0), ("K", 283.15, 10.0), ("celsius", 10.0, 10.0)]
)
def test_temperatures_in_other_units(unit: str, told: float, celsius: float) -> None:
    found = met_norway.parse(body(met([met_step(START, told)], air_temperature=unit)))
    assert found.temperature.tolist() == pytest.approx([celsius])


def test_times_off_the_hour_are_shared_over_the_hours_they_touch() -> None:
    half = timedelta(minutes=30)
    steps = [met_step(START + half + n * HOUR, 10.0 + n, rain1=1.0 + 2 * n) for n in range(3)]
    found = met_norway.parse(body(met(steps)))
    # 06:30-07:30 has 1 mm, then 3, then 5 to 09:30: the hours from 07:00 and 08:00 are whole, the others not.
    assert len(found) == 4
    assert found.rain[1:3].tolist() == [2, 4]
    assert np.isnan(found.rain[[0, 3]]).all()
    assert found.temperature[1:3].tolist() == [10.5, 11.5]
    data = nws(temperature={"uom": "K", "values": [{"validTime": "2027-05-03T06:20:00Z/PT90M", "value": 283.15}]})
    air = nws_service.parse(body(data)).temperature
    assert np.isfinite(air).tolist() == [False, True, False, False, False, False]


def test_units_that_are_not_known_are_all_named() -> None:
    with pytest.raises(WeatherError) as told:
        met_norway.parse(body(met([met_step(START, 10.0, rain1=1)], air_temperature="reaumur", wind_speed="beaufort",
                                  precipitation_amount="bucket")), name="kept.json")  # fmt: skip
    lines = [str(problem) for problem in told.value.problems]
    assert len(lines) == 3
    assert lines[0] == ('kept.json: air_temperature: its unit is "reaumur"; known are °C, °F, K; '
                        "nothing of it is guessed")  # fmt: skip


def test_a_value_out_of_range_is_left_out_and_many_are_refused() -> None:
    found = met_norway.parse(body(met_hours([10.0, 99.0, 12.0, 13.0])))
    assert np.isfinite(found.temperature).tolist() == [True, False, True, True]
    assert "Temperature: 1 value outside -60 to 60 °C is left out (99 °C, 2027-05-03 07:00 UTC)." in found.notes
    with pytest.raises(WeatherError, match=r"3 of 4 values are outside -60 to 60 °C .* in °F they would be"):
        met_norway.parse(body(met_hours([70.0, 72.0, 12.0, 80.0])))
    with pytest.raises(WeatherError, match="they look like kelvin"):
        met_norway.parse(body(met_hours([283.0, 284.0, 285.0, 286.0])))


def test_a_forecast_for_another_place_is_refused_and_swapped_coordinates_are_named() -> None:
    met_norway.parse(body(met_hours()), spot=COURT)
    with pytest.raises(WeatherError, match="stand for one another: change them over in the job file"):
        met_norway.parse(body(met_hours()), spot=Spot(5.2, 52.1))
    with pytest.raises(WeatherError, match=r"forecast for 52.1, 5.2, [0-9,]+ km from the site at 43.7, -79.4"):
        met_norway.parse(body(met_hours()), spot=Spot(43.7, -79.4))
    near = met_norway.parse(body(met_hours()), spot=Spot(52.6, 5.2))
    assert near.notes[0] == "The forecast is for 52.1, 5.2, 56 km from the site."


def test_a_forecast_for_no_place() -> None:
    data = nws()
    for corner in data["geometry"]["coordinates"][0]:
        corner[1] = 1e308
    with pytest.raises(WeatherError, match=r"it is for latitude inf and longitude -8[0-9.]+, which is no place"):
        nws_service.parse(body(data), spot=COURT)


def test_a_forecast_of_years_is_none() -> None:
    with pytest.raises(WeatherError, match="a forecast has at most 120 days"):
        met_norway.parse(body(met([met_step(START, 1.0), met_step(START + timedelta(days=999), 1.0)])))


# The US service.


def test_intervals_are_laid_out_and_layers_end_apart() -> None:
    found = nws_service.parse(body(nws()))
    assert found.temperature.tolist() == [10, 10, 12, 12, 12, 12]
    assert found.wind.tolist() == [5.0] * 6
    assert found.rain[:3].tolist() == pytest.approx([0.3] * 3)
    assert np.isnan(found.rain[3:]).all()
    assert found.notes[0] == "Rain is told until 2027-05-03 09:00 UTC, the air until 2027-05-03 12:00."


def test_a_null_interval_and_an_empty_layer_are_gaps() -> None:
    data = nws(
        temperature=layer("wmoUnit:degC", (0, 1, 10), (1, 1, None), (2, 4, 12)), skyCover=layer("wmoUnit:percent")
    )
    found = nws_service.parse(body(data))
    assert np.isnan(found.temperature).tolist() == [False, True, False, False, False, False]
    assert np.isnan(found.cloud).all()


def test_intervals_that_overlap_and_differ_are_gaps() -> None:
    data = nws(temperature=layer("wmoUnit:degC", (0, 3, 10), (2, 4, 12)),
               quantitativePrecipitation=layer("wmoUnit:mm", (0, 3, 3.0), (2, 3, 3.0)))  # fmt: skip
    found = nws_service.parse(body(data))
    assert np.isnan(found.temperature).tolist() == [False, False, True, False, False, False]
    assert np.isnan(found.rain).tolist() == [False, False, True, False, False, True]
    assert any("Rain is told twice for 1 hour, from 2027-05-03 08:00 UTC" in note for note in found.notes)


@pytest.mark.parametrize(
    "text", ["2027-05-03T06:00:00Z", "x/PT1H", "2027-05-03T06:00:00Z/PT0H", "2027-05-03T06:00:00Z/P99999D", None, 5]
)
def test_an_interval_that_is_none_is_named(text: object) -> None:
    data = nws()
    data["properties"]["temperature"]["values"][1]["validTime"] = text
    with pytest.raises(WeatherError, match=r"temperature: .* is no interval such as"):
        nws_service.parse(body(data))


@pytest.mark.parametrize("link", [None, 5, "https://evil.example/x", "https://evil.example/gridpoints/../../x"])
def test_a_grid_is_a_path_and_nothing_else(link: object) -> None:
    with pytest.raises(WeatherError, match="names no grid"):
        nws_service.grid_of(body({"properties": {"forecastGridData": link}}))
    good = body({"properties": {"forecastGridData": "https://elsewhere.example/gridpoints/MPX/107,71"}})
    assert nws_service.grid_of(good) == "/gridpoints/MPX/107,71"


# Open-Meteo.


def test_rain_and_radiation_are_of_the_hour_before() -> None:
    found = open_meteo_service.parse(
        body(open_meteo(unix(3), precipitation=[1.0, 2.0, 3.0], shortwave_radiation=[10, 20, 30]))
    )
    assert found.start == START - HOUR
    assert found.rain[:3].tolist() == [1, 2, 3]
    assert found.radiation[:3].tolist() == [10, 20, 30]
    assert np.isnan(found.temperature).tolist() == [True, False, False, False]


def test_three_hour_steps() -> None:
    found = open_meteo_service.parse(body(open_meteo(unix(3, 3 * HOUR), precipitation=[3.0, 6.0, 0.0],
                                                     temperature_2m=[10, 13, 16])))  # fmt: skip
    assert found.start == START - 3 * HOUR
    assert found.rain[:9].tolist() == [1, 1, 1, 2, 2, 2, 0, 0, 0]
    assert found.temperature[3:].tolist() == [10, 11, 12, 13, 14, 15, 16]


def test_a_lacking_row_is_a_gap_in_rain_and_bridged_in_the_air() -> None:
    first, second, _, fourth, fifth = unix(5)
    found = open_meteo_service.parse(body(open_meteo([first, second, fourth, fifth], temperature_2m=[10, 12, 16, 17])))
    assert np.isnan(found.rain).tolist() == [False, False, True, False, False, True]
    assert found.temperature[1:].tolist() == [10, 12, 14, 16, 17]
    # Behind the last step it can't be known whether one or two hours are meant.
    found = open_meteo_service.parse(body(open_meteo([first, second, fourth])))
    assert np.isnan(found.rain).tolist() == [False, False, True, True, True]


def test_nulls_and_a_variable_that_the_model_lacks() -> None:
    data = open_meteo(unix(3), {"shortwave_radiation": "undefined"}, temperature_2m=[10, None, 12],
                      shortwave_radiation=[None] * 3)  # fmt: skip
    found = open_meteo_service.parse(body(data))
    assert np.isnan(found.temperature).tolist() == [True, False, True, False]
    assert np.isnan(found.radiation).all()


@pytest.mark.parametrize(
    ("unit", "told", "metres"), [("km/h", 36.0, 10.0), ("mp/h", 10.0, 4.4704), ("kn", 10.0, 5.1444), ("m/s", 9.0, 9.0)]
)
def test_wind_in_other_units(unit: str, told: float, metres: float) -> None:
    found = open_meteo_service.parse(body(open_meteo(unix(1), {"wind_speed_10m": unit}, wind_speed_10m=[told])))
    assert found.wind[1] == pytest.approx(metres, abs=1e-4)


def test_rain_in_inches() -> None:
    found = open_meteo_service.parse(body(open_meteo(unix(1), {"precipitation": "inch"}, precipitation=[0.1])))
    assert found.rain[0] == pytest.approx(2.54)


def clock_change(times: list[str], offset: int) -> dict:
    data = open_meteo(times, {"time": "iso8601"}, temperature_2m=list(range(len(times))))
    return data | {"timezone": "Europe/Amsterdam", "utc_offset_seconds": offset}


def test_a_clock_change_inside_times_that_go_on_evenly() -> None:
    """One offset for all rows, that of the day it was asked: 25 October 2026, when clocks go back at 03:00."""
    found = open_meteo_service.parse(body(clock_change([f"2026-10-25T0{hour}:00" for hour in range(6)], 7200)))
    assert found.start == at("2026-10-24 21:00")
    assert value(found, "temperature", "2026-10-25 03:00") == 5
    assert any("one offset was taken for all" in note for note in found.notes)


def test_a_clock_change_inside_times_that_follow_the_clock() -> None:
    times = [f"2026-10-25T{hour}:00" for hour in ("00", "01", "02", "02", "03", "04")]
    found = open_meteo_service.parse(body(clock_change(times, 7200)))
    assert value(found, "temperature", "2026-10-24 22:00") == 0
    assert value(found, "temperature", "2026-10-25 00:00") == 2
    assert value(found, "temperature", "2026-10-25 01:00") == 3
    assert value(found, "temperature", "2026-10-25 03:00") == 5
    assert any("read as local time before and after" in note for note in found.notes)


@pytest.mark.parametrize("zone", ["Europe/Nowhere", "../x", "\ud800", "", None, 5, "a/b:c"])
def test_a_zone_that_is_none_leaves_the_offset(zone: object) -> None:
    data = clock_change(["2026-03-02T00:00", "2026-03-02T01:00"], 3600) | {"timezone": zone}
    assert value(open_meteo_service.parse(body(data)), "temperature", "2026-03-02 00:00") == 1


def test_a_refusal_of_the_service_is_told() -> None:
    with pytest.raises(WeatherError, match='the service says: "Latitude must be in range'):
        open_meteo_service.parse(body({"error": True, "reason": "Latitude must be in range of -90 to 90°. Given: 95."}))


def test_a_place_without_any_value_is_told() -> None:
    with pytest.raises(WeatherError, match="it has no temperature for this place; the service may not cover it"):
        open_meteo_service.parse(body(open_meteo(unix(2), temperature_2m=[None, None])))


def test_columns_of_unequal_length_and_values_that_are_none_are_all_told() -> None:
    with pytest.raises(WeatherError) as told:
        open_meteo_service.parse(body(open_meteo(unix(2), temperature_2m=[1.0], cloud_cover=["many", True])))
    text = str(told.value)
    assert "temperature_2m: 1 values stand for 2 times" in text
    assert '"many" is no number' in text
    assert "True is no number" in text
