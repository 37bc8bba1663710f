"""Asking a service for a place, on a server of this machine: new, unchanged, not due, two steps, refusals; settings."""

from __future__ import annotations

import json
import socket
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from fault_server import FaultServer, Play, says, serving
from forecast_documents import COURT, START, Spot, body, met_hours, nws, open_meteo, unix

from curing import clock
from curing.errors import FileError, WeatherError
from curing.publish.words import Words
from curing.sources.fetching import FetchError, Kept, Limits, Status
from curing.sources.forecasts.asking import Standing, ask
from curing.sources.settings import read_settings
from curing.sources.weather_settings import WeatherSettings, read_key

MONDAY = "Mon, 03 May 2027 06:00:00 GMT"
QUICK = Limits(connect=1.0, whole=2.0, backoff=0.02)
FLORIDA = Spot(30.01, -84.99)
server = pytest.fixture(serving)


@pytest.fixture(autouse=True)
def _no_proxy(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("NO_PROXY", "127.0.0.1")


def by(server: FaultServer, service: str) -> WeatherSettings:
    return WeatherSettings.model_validate({"service": service, "contact": "office@example.org", "base_url": server.url})


def by_path(**answers: Play) -> Play:
    """Return a play that answers by the first part of the path."""

    def play(line, asked: str) -> None:
        first = asked.split(" ")[1].split("/")[1].partition("?")[0]
        answers[first](line, asked)

    return play


def test_a_forecast_comes_and_is_kept_for_the_next_time(server: FaultServer) -> None:
    server.plays = [says(body=body(met_hours()), Last_Modified=MONDAY, Cache_Control="max-age=60"),
                    says("304 Not Modified", b"", kind="")]  # fmt: skip
    run = ask(COURT, by(server, "met-norway"), limits=QUICK)
    assert run.status is Status.NEW
    assert run.weather is not None
    assert run.weather.temperature.tolist() == [10, 11, 12, 13]
    assert run.weather.fetched is not None
    assert abs(run.weather.fetched - clock.now()) < timedelta(seconds=10)
    assert json.loads(run.body) == met_hours()
    again = ask(COURT, by(server, "met-norway"), standing=run.standing, limits=QUICK)
    assert (again.status, again.weather, again.standing) == (Status.NOT_DUE, None, run.standing)
    assert len(server.asked) == 1
    old = replace(run.standing, kept=replace(run.standing.kept, expires=None))
    third = ask(COURT, by(server, "met-norway"), standing=old, limits=QUICK)
    assert (third.status, third.weather) == (Status.UNCHANGED, None)
    assert server.header("If-Modified-Since") == MONDAY


def test_what_was_kept_of_another_place_does_not_count(server: FaultServer) -> None:
    server.plays = [says(body=body(met_hours()))]
    standing = Standing("elsewhere", Kept('"v1"', expires=clock.now() + timedelta(hours=1)))
    assert ask(COURT, by(server, "met-norway"), standing=standing, limits=QUICK).status is Status.NEW
    assert server.header("If-None-Match") is None


def test_the_us_grid_is_asked_for_once(server: FaultServer) -> None:
    link = {"properties": {"forecastGridData": "https://api.weather.gov/gridpoints/TAE/58,65"}}
    server.plays = [by_path(points=says(body=body(link), kind="application/geo+json"),
                            gridpoints=says(body=body(nws()), kind="application/geo+json"))]  # fmt: skip
    run = ask(FLORIDA, by(server, "nws"), limits=QUICK)
    assert run.weather is not None
    assert [one.split(" ")[1] for one in server.asked] == ["/points/30.01,-84.99", "/gridpoints/TAE/58,65"]
    ask(FLORIDA, by(server, "nws"), standing=run.standing, limits=QUICK)
    assert [one.split(" ")[1] for one in server.asked[2:]] == ["/gridpoints/TAE/58,65"]
    aged = replace(run.standing, grid_found=clock.now() - timedelta(days=15))
    ask(FLORIDA, by(server, "nws"), standing=aged, limits=QUICK)
    assert len(server.asked) == 5


def test_a_grid_that_is_gone_is_looked_for_anew(server: FaultServer) -> None:
    link = {"properties": {"forecastGridData": "https://api.weather.gov/gridpoints/TAE/58,66"}}
    there = says(body=body(nws()))

    def grid(line: socket.socket, asked: str) -> None:
        (there if "/58,66 " in asked else says("404 Not Found"))(line, asked)

    server.plays = [by_path(points=says(body=body(link)), gridpoints=grid)]
    where = f"{server.url}/points/30.01,-84.99"
    old = Standing(where, Kept('"v1"'), grid="/gridpoints/TAE/58,65", grid_found=clock.now())
    run = ask(FLORIDA, by(server, "nws"), standing=old, limits=QUICK)
    assert (run.status, run.standing.grid) == (Status.NEW, "/gridpoints/TAE/58,66")
    assert server.header("If-None-Match") is None


def test_a_place_that_the_us_service_does_not_cover(server: FaultServer) -> None:
    server.plays = [
        says("404 Not Found", b'{"title": "Data Unavailable For Requested Point"}', "application/problem+json")
    ]
    with pytest.raises(WeatherError, match=r"does not cover this place; .* or name service: met-norway"):
        ask(COURT, by(server, "nws"), limits=QUICK)


def test_a_forecast_of_another_place_and_a_page_are_refused(server: FaultServer) -> None:
    server.plays = [says(body=body(open_meteo(unix(3)) | {"latitude": 5.2, "longitude": 52.1}))]
    with pytest.raises(WeatherError, match="stand for one another"):
        ask(COURT, by(server, "open-meteo"), limits=QUICK)
    server.plays = [says(body=b"<html>Log in</html>")]
    with pytest.raises(WeatherError, match=r"/v1/forecast: this is a web page"):
        ask(COURT, by(server, "open-meteo"), limits=QUICK)
    server.plays = [says("400 Bad Request", b'{"error": true, "reason": "No such variable"}')]
    with pytest.raises(FetchError, match='"No such variable"'):
        ask(COURT, by(server, "open-meteo"), limits=QUICK)


def test_a_key_goes_out_and_is_shown_nowhere(server: FaultServer, tmp_path: Path) -> None:
    (tmp_path / "key").write_text("topsecret")
    server.plays = [says(body=body(open_meteo(unix(3))))]
    run = ask(COURT, by(server, "open-meteo").model_copy(update={"key_file": tmp_path / "key"}), limits=QUICK)
    assert "apikey=topsecret" in server.asked[0]
    assert "topsecret" not in repr(run.standing)
    server.plays = [says("403 Forbidden", b"no")]
    with pytest.raises(FetchError) as told:
        ask(COURT, by(server, "open-meteo").model_copy(update={"key_file": tmp_path / "key"}), limits=QUICK)
    assert "topsecret" not in str(told.value)


def test_the_start_of_what_came_is_that_of_the_document(server: FaultServer) -> None:
    server.plays = [says(body=body(met_hours()))]
    run = ask(COURT, by(server, "met-norway"), limits=QUICK)
    assert run.weather is not None
    assert (run.weather.start, run.weather.issued) == (START, START)


# Settings.


def test_weather_of_the_settings(tmp_path: Path) -> None:
    file = tmp_path / "serve.yaml"
    file.write_text("curing_settings: 1\nweather:\n  service: open-meteo\n  contact: office@example.org\n"
                    "  key_file: weather.key\n  every: 3 h\n")  # fmt: skip
    found = read_settings(file).weather
    assert found is not None
    assert (found.service, found.every, found.key_file) == ("open-meteo", 180.0, tmp_path / "weather.key")
    assert not found.for_non_commercial_use_alone
    file.write_text("curing_settings: 1\n")
    assert read_settings(file).weather is None


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ("  service: nws\n", '"contact" is missing; add "contact: office@example.org"'),
        ("  contact: office\n", "is no e-mail address"),
        ("  contact: a@example.org\n  service: own\n", 'unknown value "own"; write one of "met-norway", "nws"'),
        ("  contact: a@example.org\n  base_url: http://w.example.org\n", "goes over the net in clear"),
        ("  contact: a@example.org\n  base_url: https://w.example.org/?k=1\n", "has more than host and path"),
        ("  contact: a@example.org\n  key_file: k\n", "met-norway wants no key"),
        ("  contact: a@example.org\n  every: 5 min\n", "less than 30 min"),
        ("  contact: a@example.org\n  evry: 5 h\n", 'did you mean "every"?'),
    ],
)  # fmt: skip
def test_what_is_wrong_with_weather_is_told(tmp_path: Path, lines: str, said: str) -> None:
    file = tmp_path / "serve.yaml"
    file.write_text(f"curing_settings: 1\nweather:\n{lines}")
    with pytest.raises(FileError) as told:
        read_settings(file)
    assert said in str(told.value)


def test_a_contact_may_be_a_page() -> None:
    assert WeatherSettings(contact="https://example.org/walls").contact == "https://example.org/walls"


def test_the_free_open_meteo_has_a_notice() -> None:
    assert WeatherSettings(service="open-meteo", contact="a@example.org").for_non_commercial_use_alone
    assert "non-commercial" in Words().say("weather.open_meteo_notice")


@pytest.mark.parametrize("text", [b"", b"two keys", b"\xff\xfe", b"x" * 300])
def test_a_file_that_holds_no_key(tmp_path: Path, text: bytes) -> None:
    (tmp_path / "key").write_bytes(text)
    with pytest.raises(FileError):
        read_key(tmp_path / "key")
    with pytest.raises(FileError, match="can't be read: no such file"):
        read_key(tmp_path / "none")
