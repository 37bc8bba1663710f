"""Documents that are none: never a traceback, always what is wrong; saved files of every service."""

from __future__ import annotations

import copy
import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from forecast_documents import COURT, START, Spot, body, met_hours, nws, open_meteo, recorded, unix
from hypothesis import given, settings
from hypothesis import strategies as st

from curing.errors import CuringError, FileError, WeatherError
from curing.model.weather import VARIABLES
from curing.sources.forecasts.saved import parse_any, read_forecast

GOOD = {"met-norway": met_hours(), "nws": nws(), "open-meteo": open_meteo(unix(4))}


def test_the_service_is_known_from_the_document(tmp_path: Path) -> None:
    for service, data in GOOD.items():
        file = tmp_path / f"{service}.json"
        file.write_bytes(body(data))
        assert read_forecast(file).source == service


def test_the_wrapper_of_a_recorded_answer_is_opened_and_its_date_taken(tmp_path: Path) -> None:
    file = tmp_path / "kept.json"
    wrapped = {"status_code": 200, "headers": {"Date": "Mon, 03 May 2027 06:10:00 GMT"}, "data": GOOD["met-norway"]}
    file.write_bytes(body(wrapped))
    found = read_forecast(file, spot=COURT)
    assert (found.source, found.fetched) == ("met-norway", datetime(2027, 5, 3, 6, 10, tzinfo=UTC))
    file.write_bytes(body(wrapped | {"status_code": 403}))
    with pytest.raises(WeatherError, match="the answer 403 of a service"):
        read_forecast(file)


def test_recorded_files_are_known() -> None:
    kept = {"met-norway_compact_40.7_-74.0.json": "met-norway", "pynws_detailed_forecast.json": "nws",
            "forecast_50N10E_2026-03-02_72h.json": "open-meteo"}  # fmt: skip
    for name, service in kept.items():
        assert read_forecast(recorded(name)).source == service
    assert read_forecast(recorded("met-norway_compact_40.7_-74.0.json")).fetched == datetime(
        2020, 7, 20, 11, 44, 31, tzinfo=UTC
    )


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("pynws_points.json", "this only names where the forecast is"),
        ("pynws_gridpoints_forecast_hourly_si.json", "this is the forecast in words, without amounts of rain"),
    ],
)
def test_recorded_answers_that_are_no_forecast(name: str, said: str) -> None:
    with pytest.raises(WeatherError, match=said):
        read_forecast(recorded(name))


@pytest.mark.parametrize(
    ("raw", "said"),
    [
        (b"", "there is nothing in it"),
        (b"<!DOCTYPE html><html>Sorry</html>", "this is a web page or XML, not JSON"),
        (body(GOOD["nws"])[:700], "the JSON ends in the middle, or is broken here"),
        (b'{"hourly": {}, "hourly": {"time": []}}', '"hourly" stands twice in one object'),
        (b'{"properties": {"a": 1, "b": 2, "a": 3}}', '"a" stands twice'),
        (b'{"hourly": NaN}', "NaN stands for a number"),
        (b'{"hourly": ' + b"9" * 5000 + b"}", "a number of thousands of digits"),
        (b"[" * 200_000, "nested too deep"),
        (b'["hourly"]', "it is no JSON object"),
        (b"\xff\xfe{\x00", "byte 0 is not UTF-8"),
        (b'{"a": 1}', "it is no forecast of a known service"),
        (b'{"title": "Unexpected Problem", "status": 500}', 'a refusal, not a forecast: "Unexpected Problem"'),
        (b'{"hourly": {}}', "it has no hourly.time"),
        (b'{"hourly": {"time": []}, "hourly_units": {"time": "unixtime"}}', "it has no hours"),
        (b'{"properties": {"timeseries": []}}', "it has no properties.timeseries"),
    ],
)
def test_what_is_wrong_with_a_document_is_told(raw: bytes, said: str) -> None:
    with pytest.raises(WeatherError) as told:
        parse_any(raw, name="kept.json")
    assert str(told.value).startswith("kept.json")
    assert said in str(told.value)


def test_files_that_can_not_be_read(tmp_path: Path) -> None:
    for path in (tmp_path, tmp_path / "none.json", Path("a\0b")):
        with pytest.raises(FileError):
            read_forecast(path)
    big = tmp_path / "big.json"
    big.write_bytes(b" " * 5_000_001)
    with pytest.raises(FileError, match="larger than 5 MB"):
        read_forecast(big)


def _places(data: Any, steps: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    inner = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    return [steps, *(place for key, value in inner for place in _places(value, (*steps, key)))]


ODD = st.one_of(
    st.none(), st.booleans(), st.integers(), st.floats(allow_nan=False, allow_infinity=False), st.text(max_size=30),
    st.just(1e308), st.just(10**400), st.just([]), st.just({}), st.just([None]), st.just("9999-12-31T23:00:00Z"),
    st.just("0001-01-01T00:00:00+14:00"), st.just("9999-12-31T23:00:00Z/P9999D"), st.just("\ud800"),
    st.sampled_from(["celsius", "K", "undefined", "iso8601", "unixtime", "wmoUnit:degF", "Europe/Amsterdam", "../x"]),
)  # fmt: skip


@settings(max_examples=400)
@given(st.data())
def test_a_document_with_anything_anywhere_is_read_or_refused(data: st.DataObject) -> None:
    document = copy.deepcopy(GOOD[data.draw(st.sampled_from(sorted(GOOD)))])
    places = [place for place in _places(document) if place]
    for _ in range(data.draw(st.integers(1, 3))):
        *steps, last = data.draw(st.sampled_from(places))
        inside: Any = document
        try:
            for step in steps:
                inside = inside[step]
            inside[last] = copy.deepcopy(data.draw(ODD))
        except (KeyError, IndexError, TypeError):
            continue
    raw = json.dumps(document).encode()
    try:
        found = parse_any(raw, name="kept.json", spot=data.draw(st.sampled_from([None, COURT, Spot(30.0, -85.0)])))
    except CuringError as told:
        str(told).encode()  # can be shown
        return
    for name, (_, low, high) in VARIABLES.items():
        values = getattr(found, name)
        values = values[np.isfinite(values)]
        assert ((values >= low) & (values <= high)).all()
        assert np.array_equal(values, np.round(values, 4))
    assert not np.isinf([getattr(found, name) for name in VARIABLES]).any()


@settings(max_examples=150)
@given(st.sampled_from(sorted(GOOD)), st.integers(0, 4000), st.binary(max_size=4))
def test_a_document_that_is_cut_or_scratched_is_read_or_refused(service: str, at: int, scratch: bytes) -> None:
    raw = body(GOOD[service])
    for broken in (raw[:at], raw[:at] + scratch + raw[at + len(scratch) :]):
        try:
            parse_any(broken, name="kept.json")
        except CuringError as told:
            str(told).encode()


def test_the_start_is_where_the_document_says() -> None:
    for service, data in GOOD.items():
        found = parse_any(body(data), name="kept.json")
        assert found.temperature[found.index(START)] == 10.0, service
