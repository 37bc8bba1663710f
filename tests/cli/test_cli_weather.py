"""``curing weather``: invented forecasts for Alder Court, kept, judged, told with their age."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from cli_court import Court, narrow
from typer.testing import CliRunner

sys.path.insert(0, str(Path(__file__).parents[1] / "sources"))

from fault_server import FaultServer, floods, says, serving
from forecast_documents import met, met_step, recorded

from curing import clock
from curing.cli import app

MADE = datetime(2027, 5, 3, 4, 0, tzinfo=UTC)
"""06:00 at Alder Court, on the Monday on which work begins."""
SEVEN = "2027-05-03 07:10"


def forecast(
    made: datetime = MADE,
    *,
    air: float = 14.0,
    low: float | None = None,
    rain: tuple[int, int] = (0, 0),
    hours: int = 96,
    wind_from: float = 100.0,
) -> dict[str, Any]:
    """Return an invented forecast: even air, or cold by night; rain of 2 mm in hours of a span."""
    steps = []
    for n in range(hours):
        at = made + timedelta(hours=n)
        cold = low is not None and at.hour in (1, 2, 3)
        wet = 2.0 if rain[0] <= n < rain[1] else 0.0
        steps.append(met_step(at, low if cold else air, rain1=wet, wind_speed=6.0, wind_from_direction=wind_from,
                              cloud_area_fraction=100.0))  # fmt: skip
    document = met(steps)
    document["properties"]["meta"]["updated_at"] = f"{made:%Y-%m-%dT%H:%M:%SZ}"
    return document


def saved(court: Court, document: dict[str, Any], name: str = "forecast.json") -> str:
    path = court.job.with_name(name)
    path.write_text(json.dumps(document))
    return str(path)


def told(court: Court, *more: str, at: str = SEVEN) -> dict[str, Any]:
    result = court.run("weather", "--json", *more, at=at)
    assert (result.exit_code, result.stderr) == (0, "")
    found: dict[str, Any] = json.loads(result.stdout)
    return found


def face(view: dict[str, Any], name: str) -> dict[str, Any]:
    found: dict[str, Any] = next(one for one in view["sites"][0]["faces"] if one["face"] == name)
    return found


def test_nothing_is_kept_yet(planned: Court) -> None:
    lines = planned.say("weather", at=SEVEN)
    assert lines[0] == "No weather is kept. A forecast would never open a hold."
    assert "--forecast FILE" in " ".join(lines)


def test_the_first_line_tells_the_age_and_that_no_hold_is_opened(planned: Court) -> None:
    lines = planned.say("weather", "--forecast", saved(planned, forecast()), at=SEVEN)
    assert lines[0] == "Weather of Mon 3 May 06:00, 70 min old. A forecast never opens a hold."
    assert "Data from MET Norway (CC BY 4.0)." in lines
    again = planned.say("weather", at="2027-05-03 12:00")
    assert again[0] == "Weather of Mon 3 May 06:00, 6 h old. A forecast never opens a hold.", "kept, and found again"


def test_old_weather_says_so_and_lets_nothing_be_laid(planned: Court) -> None:
    planned.say("weather", "--forecast", saved(planned, forecast()), at=SEVEN)
    lines = planned.say("weather", at="2027-05-04 07:00")
    assert lines[0].startswith("OLD WEATHER, of Mon 3 May 06:00, 25 h old.")
    assert "Look at the sky." in lines[2]
    view = told(planned, at="2027-05-04 07:00")
    outside = [coat for one in view["sites"][0]["faces"] if one["outside"] for coat in one["coats"]]
    assert outside
    assert all(coat["answer"] != "yes" for coat in outside)


def test_rain_on_the_face_stops_its_coat_and_not_the_one_behind_the_house(planned: Court) -> None:
    """Rain from the west in the night after laying meets faces to the west; the driven rain by hand."""
    view = told(planned, "--forecast", saved(planned, forecast(rain=(16, 18), wind_from=275.0)))
    (site,) = view["sites"]
    west = [one for one in site["faces"] if one["outside"] and one["facing"] is not None and 230 < one["facing"] < 320]
    east = [one for one in site["faces"] if one["outside"] and one["facing"] is not None and 50 < one["facing"] < 140]
    assert west
    assert east
    for one in east:
        assert one["days"][0]["rain"] is None
    for one in west:
        first = one["days"][0]["rain"]
        # 2/9 v r^(8/9) cos(D - A) of ISO 15927-3, 0.3 of it on an ordinary face, two hours
        from math import cos, radians

        free = 2 / 9 * 6.0 * 2.0 ** (8 / 9)
        by_hand = 2 * 0.3 * free * cos(radians(275.0 - one["facing"]))
        assert first["amount"] == pytest.approx(by_hand, abs=0.01)
        assert (first["start"], first["end"]) == ("2027-05-03T20:00Z", "2027-05-03T22:00Z")
        for coat in one["coats"]:
            if coat["start"].startswith("2027-05-03"):
                assert coat["answer"] == "no"
                assert any(stop["rule"].endswith("rain_after") for stop in coat["stops"])


def test_frost_is_told_with_its_margin(planned: Court) -> None:
    """Told 1 °C in the first night: with 1.7 K of margin on the first day it could be -0.7 °C."""
    view = told(planned, "--forecast", saved(planned, forecast(low=1.0)))
    tomorrow = view["sites"][0]["days"][1]
    assert (tomorrow["coldest"], tomorrow["could"]) == (1.0, pytest.approx(-0.7, abs=0.05))
    text = " ".join(planned.say("weather", at=SEVEN))
    assert "FROST -0.7 °C" in text


def test_today_is_whole_only_where_its_hours_past_are_known(planned: Court) -> None:
    late = saved(planned, forecast())
    assert told(planned, "--forecast", late)["sites"][0]["faces"][0]["days"][0]["whole"] is False
    early = saved(planned, forecast(MADE - timedelta(hours=8)), "early.json")
    view = told(planned, "--forecast", early)
    assert view["sites"][0]["faces"][0]["days"][0]["whole"] is True
    assert view["sites"][0]["made"] == "2027-05-03T04:00Z", "the newest run stays the newest"


def test_takes_is_beside_ordinary_only_with_years_of_a_station(planned: Court) -> None:
    path = saved(planned, forecast(MADE - timedelta(hours=8)))
    view = told(planned, "--forecast", path)
    assert all(day["ordinary"] is None for one in view["sites"][0]["faces"] for day in one["days"])
    years = recorded("knmi_260_debilt_2018-2024_hourly.csv.gz")
    view = told(planned, "--station", str(years))
    assert view["sites"][0]["station_years"] == [2018, 2024]
    for one in view["sites"][0]["faces"]:
        ordinary = one["days"][1]["ordinary"]
        # May medians of the measured years: 0.62 inside, 1.2 to 1.8 outside, by aspect
        assert 0.5 < ordinary < 2.0 if one["outside"] else ordinary == pytest.approx(0.62, abs=0.02)
    text = planned.say("weather", "--station", str(years), at=SEVEN)
    assert any("ordinary" in line for line in text)


def test_holes_of_a_stations_table_are_told_beside_what_is_made_of_it(planned: Court) -> None:
    rows = ["time_end_utc,temp_c,rh_pct,wind_ms"]
    rows += [f"2026-05-{day:02}T{hour:02}:00Z,12.0,70,3.0" for day in range(1, 20) for hour in range(24) if day != 7]
    path = planned.job.with_name("station.csv")
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    note = "Temperature is not told for 24 hours; the longest gap has 24 h, from 2026-05-06 23:00 UTC."
    alone = planned.say("weather", "--station", str(path), at=SEVEN)
    both = planned.say("weather", "--station", str(path), "--forecast", saved(planned, forecast()), at=SEVEN)
    for lines in (alone, both):
        assert f"Station: {note}" in " ".join(" ".join(lines).split())
    assert note in told(planned, "--station", str(path))["sites"][0]["station_notes"]


def test_a_recorded_answer_is_told(planned: Court) -> None:
    planned.edit("latitude: 52.1 ", "latitude: 40.7 ")
    planned.edit("longitude: 5.2 ", "longitude: -74.0 ")
    text = recorded("met-norway_compact_40.7_-74.0.json").read_text()
    path = planned.job.with_name("recorded.json")  # only its month is another, so that the job is under way
    path.write_text(text.replace("2020-07-", "2027-05-").replace("Jul 2020", "May 2027"))
    lines = planned.say("weather", "--forecast", str(path), at="2027-05-20 18:00")
    assert lines[0].startswith("Weather of Thu 20 May ")
    assert "Data from MET Norway (CC BY 4.0)." in lines
    assert not any("?" in line for line in lines), "ten days are told, so three days are whole"


def test_a_forecast_from_later_than_now_is_refused(planned: Court) -> None:
    result = planned.run("weather", "--forecast", saved(planned, forecast()), at="2027-05-02 07:00")
    assert result.exit_code == 2
    assert "was made 2027-05-03 04:00 UTC, after the time that is asked for" in " ".join(result.stderr.split())


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("<html>", "web page"),
        ('{"properties": {"timeseries": [', "ends in the middle"),
        ("{}", "no forecast of a known service"),
    ],
)
def test_a_file_that_is_none_leaves_what_was_kept(planned: Court, text: str, says: str) -> None:
    planned.say("weather", "--forecast", saved(planned, forecast()), at=SEVEN)
    bad = planned.job.with_name("bad.json")
    bad.write_text(text)
    result = planned.run("weather", "--forecast", str(bad), at=SEVEN)
    assert result.exit_code == 1
    assert says in " ".join(result.stderr.split())
    assert planned.say("weather", at=SEVEN)[0].startswith("Weather of Mon 3 May 06:00, 70 min old.")


def test_a_forecast_for_another_place_is_refused(planned: Court) -> None:
    away = forecast()
    away["geometry"]["coordinates"] = [52.1, 5.2, 3]
    result = planned.run("weather", "--forecast", saved(planned, away), at=SEVEN)
    assert result.exit_code == 1
    assert "latitude and longitude stand for one another" in " ".join(result.stderr.split())


# -- pictures ----------------------------------------------------------------------------------


def test_a_face_is_drawn_with_its_age_and_source(planned: Court, tmp_path: Path) -> None:
    saved_at = tmp_path / "day.svg"
    planned.say("weather", "--forecast", saved(planned, forecast(rain=(16, 18), low=1.0)), at=SEVEN)
    drawn = planned.run("weather", "--svg", f"{saved_at}:3-out", at=SEVEN)
    assert narrow(drawn.stdout)[-1].endswith("/day.svg")
    text = "".join(ElementTree.parse(saved_at).getroot().itertext())
    assert "70 min old" in text
    assert "MET Norway" in text
    assert "frost" in text
    folder = tmp_path / "all"
    assert planned.run("weather", "--svg", str(folder), at=SEVEN).exit_code == 0
    assert {path.stem for path in folder.iterdir()} == {one["face"] for one in told(planned)["sites"][0]["faces"]}


def test_a_face_that_is_none_is_refused(planned: Court) -> None:
    planned.say("weather", "--forecast", saved(planned, forecast()), at=SEVEN)
    result = planned.run("weather", "--svg", "day.svg:9-out", at=SEVEN)
    assert result.exit_code == 2
    assert '"9-out" is no face of this job' in result.stderr


# -- asked -------------------------------------------------------------------------------------


@pytest.fixture
def service(monkeypatch: pytest.MonkeyPatch) -> Iterator[FaultServer]:
    """Return a service of this machine; the program's clock stands near the days of the job."""
    monkeypatch.delenv(clock.OFFSET_VARIABLE, raising=False)
    ahead = int((MADE + timedelta(hours=1, minutes=10) - clock.now()).total_seconds())
    monkeypatch.setenv(clock.OFFSET_VARIABLE, str(ahead))
    yield from serving()


def settings(court: Court, service: FaultServer) -> str:
    path = court.job.with_name("settings.yaml")
    path.write_text(f"weather:\n  contact: office@example.org\n  base_url: {service.url}\n")
    return str(path)


def fetch(court: Court, service: FaultServer) -> tuple[int, str, str]:
    more = ("--state", str(court.state), "--fetch", "--settings", settings(court, service))
    result = CliRunner().invoke(app, ["weather", str(court.job), *more])
    narrow(result.stdout)
    return result.exit_code, " ".join(result.stdout.split()), " ".join(result.stderr.split())


def test_fetched_kept_and_not_asked_again_before_it_expires(court: Court, service: FaultServer) -> None:
    now = clock.now().replace(minute=0, second=0, microsecond=0)
    body = json.dumps(forecast(now)).encode()
    soon = f"{now + timedelta(hours=3):%a, %d %b %Y %H:%M:%S GMT}"
    service.plays = [says(body=body, Expires=soon, Last_Modified="Mon, 03 May 2027 04:00:00 GMT")]
    code, text, _ = fetch(court, service)
    assert (code, "asked just now." in text) == (0, True)
    assert service.header("User-Agent") is not None
    assert "office@example.org" in str(service.header("User-Agent"))
    code, text, _ = fetch(court, service)
    assert (code, "not asked; what the service said last holds until" in text, len(service.asked)) == (0, True, 1)


@pytest.mark.parametrize(
    ("play", "why"),
    [
        (says("403 Forbidden", b"{}"), "does not let this program in"),
        (says("404 Not Found", b"{}"), "has nothing for this place"),
        (says(body=b"<html>busy</html>", kind="text/html"), "HTML"),
        (says(body=b'{"properties": {"timeseries": ['), "ends in the middle"),
        (says(body=b'{"properties": {}, "properties": {}}'), '"properties" stands twice'),
        (says("429 Too Many Requests", b"{}", Retry_After="7200"), "asked too often (answer 429); it asks to wait"),
        (floods, "more than 5 MB"),
    ],
)
def test_a_service_that_fails_is_told_and_the_last_run_stays_with_its_age(
    court: Court, service: FaultServer, play: Any, why: str
) -> None:
    now = clock.now().replace(minute=0, second=0, microsecond=0)
    service.plays = [says(body=json.dumps(forecast(now - timedelta(hours=5))).encode()), play]
    fetch(court, service)
    code, text, _ = fetch(court, service)
    assert code == 0
    assert why.lower() in text.lower()
    assert "brought nothing" in text
    assert "stays in use, 5 h old" in text


def test_fetching_wants_to_know_by_whom(court: Court) -> None:
    result = CliRunner().invoke(app, ["weather", str(court.job), "--fetch"])
    assert result.exit_code == 2
    assert "--settings FILE" in result.stderr
    result = court.run("weather", "--fetch", at=SEVEN)
    assert result.exit_code == 2
