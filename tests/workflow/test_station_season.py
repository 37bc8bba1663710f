"""A job whose site names its own station, through the commands: plan, today's view, check and weather.

The station is invented: 21 years of 20 °C by day and night, with one hour of frost a year in spring and one in autumn.
In year k the last frost comes k days after 1 April and the first k days after 1 October. Four of 21 years are at most
one in five: frost by 4 October, so 28 days from 7 September; frost on 18 April or later.
"""

from __future__ import annotations

import json
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from curing.errors import FileError
from curing.publish.terminal_weather import weather_page
from curing.publish.weather_json import weather_json
from curing.sources import station_kept
from curing.workflow.planning import plan_job
from curing.workflow.viewing import judge_job, view_job
from curing.workflow.weather import view_weather

NOW, LATER = "2027-06-01 06:00", "2027-06-02 06:00"
HOUR = timedelta(hours=1)
JOB = """\
curing: 1
uid: 3f6b0a52-8c1d-4e97-a4f0-6d2c9b7e1a35
name: Alder Court
season: {finish_by: 2027-09-22, resumes: 2028-04-27}
sites:
- id: court
  name: Alder Court
  latitude: 52.1
  longitude: 5.2
  time_zone: Europe/Amsterdam
  STATION
people:
- {id: wil, name: Wil, roles: [lead, mists], reach: scaffold, hours: {mon-fri: 07:00-15:30, sat-sun: 07:00-15:30}}
crews: [{id: one, name: One, people: [wil]}]
walls:
- id: "1"
  name: north gable
  panel: {thickness: 300 mm, filled: 2027-05-20}
  faces: [{side: out, facing: N, area: 6 m2, height: 2 m, system: clay-lime}]
"""


def station(path: Path, years: int = 21, first: int = 2006) -> Path:
    """Write the invented station's table: 20 °C but for the frosts."""
    frosts = {
        datetime(first + k, month, 1, 5, tzinfo=UTC) + timedelta(days=k) for k in range(years) for month in (4, 10)
    }
    lines, at, end = ["time_end_utc,temp_c,rh_pct,wind_ms"], datetime(first, 1, 1, tzinfo=UTC), first + years
    while at.year < end:
        lines.append(f"{at + HOUR:%Y-%m-%dT%H:%MZ},{-1.0 if at in frosts else 20.0},60,3")
        at += HOUR
    path.parent.mkdir(exist_ok=True)
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def years(tmp_path_factory: pytest.TempPathFactory) -> str:
    return station(tmp_path_factory.mktemp("years") / "years.csv").read_text(encoding="utf-8")


@pytest.fixture(autouse=True)
def cache(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.getbasetemp() / "cache"))


def job(folder: Path, table: str | None) -> Path:
    if table is not None:
        (folder / "years.csv").write_text(table, encoding="utf-8")
    file = folder / "job.yaml"
    file.write_text(JOB.replace("STATION", "station: years.csv" if table is not None else ""), encoding="utf-8")
    return file


def test_the_plan_goes_by_the_years(tmp_path: Path, years: str) -> None:
    made = plan_job(job(tmp_path, years), as_of=NOW)
    (face,) = made.plan.faces
    assert face.season is not None
    assert (face.season.line, face.season.years) == (date(2027, 9, 7), 21)
    assert "station.court.1" in made.plan.inputs
    (told,) = [one for one in made.plan.warnings if one.rule == "season.years"]
    assert told.values["was"] == "2027-09-22"
    assert [one for one in made.plan.warnings if one.key in ("check", "no_factors")] == []


def test_what_only_looks_sees_the_same(tmp_path: Path, years: str) -> None:
    file = job(tmp_path, years)
    saved = plan_job(file, as_of=NOW)
    seen = view_job(file, as_of=NOW)
    assert (seen.edited, seen.recorded, seen.moves, seen.trouble) == (False, False, 0, None)
    assert seen.present.faces == saved.plan.faces
    judged = judge_job(file, as_of=NOW)
    assert (judged.edited, judged.faults) == (False, ())
    assert not plan_job(file, as_of=LATER).saved
    assert saved.saved


def test_a_table_that_grew_is_no_news(tmp_path: Path, years: str) -> None:
    file = job(tmp_path, years)
    plan_job(file, as_of=NOW)
    more = "".join(f"2027-05-{day:02}T{hour:02}:00Z,12,70,3\n" for day in (1, 2) for hour in range(24))
    (tmp_path / "years.csv").write_text(years + more, encoding="utf-8")
    again = plan_job(file, as_of=LATER)
    assert not again.saved
    seen = view_job(file, as_of=LATER)
    assert (seen.edited, seen.moves) == (False, 0)
    assert not judge_job(file, as_of=LATER).edited


def test_a_line_that_moves_is_news(tmp_path: Path, years: str) -> None:
    file = job(tmp_path, years)
    plan_job(file, as_of=NOW)
    # Every October frost a week earlier.
    earlier = years.replace("-1.0", "20.0").splitlines()
    for k in range(21):
        at = datetime(2006 + k, 10, 1, 6, tzinfo=UTC) + timedelta(days=k - 7)
        place = 1 + (at - datetime(2006, 1, 1, 1, tzinfo=UTC)) // HOUR
        earlier[place] = earlier[place].replace(",20.0,", ",-1.0,")
    (tmp_path / "years.csv").write_text("\n".join(earlier), encoding="utf-8")
    again = plan_job(file, as_of=LATER)
    assert again.saved
    assert again.plan.faces[0].season is not None
    assert again.plan.faces[0].season.line == date(2027, 8, 31)


def test_three_years_alone_leave_the_date(tmp_path: Path) -> None:
    station(tmp_path / "years.csv", years=3, first=2024)
    file = job(tmp_path, (tmp_path / "years.csv").read_text(encoding="utf-8"))
    made = plan_job(file, as_of=NOW)
    assert made.plan.faces[0].season is not None
    assert made.plan.faces[0].season.line == date(2027, 9, 22)
    assert [one.key for one in made.plan.warnings if one.rule == "season.years"] == ["no_line_few"]
    view, words = view_weather(file, as_of=NOW)
    page = " ".join(" ".join(weather_page(view, words)).split())
    assert "3 whole seasons; 20 make a season line" in page
    assert "Dates of the job file hold." in page


def test_a_table_that_can_not_be_read_is_told_with_its_line_and_its_site(tmp_path: Path) -> None:
    file = job(tmp_path, "time_end_utc,temp_c,rh_pct,wind_ms\n2027-01-01T01:00Z,warm,80,3\n")
    for call in (lambda: plan_job(file, as_of=NOW), lambda: view_weather(file, as_of=NOW)):
        with pytest.raises(FileError) as caught:
            call()
        (problem,) = caught.value.problems
        assert str(problem).startswith(
            f'{tmp_path / "years.csv"}:2:2: site "Alder Court": station: temperature: "warm"'
        )
    assert not (tmp_path / "job.state").exists()


def test_columns_of_no_known_form_ask_for_a_map(tmp_path: Path) -> None:
    file = job(tmp_path, "when,air\n2027-01-01T01:00Z,3\n")
    with pytest.raises(FileError, match="say what they mean in a column map"):
        plan_job(file, as_of=NOW)
    (tmp_path / "map.yaml").write_text(
        "curing_station: 1\ntime: when\nmarks: end\nzone: UTC\ncolumns:\n  temperature: { column: air, unit: °C }\n",
        encoding="utf-8",
    )
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace("station: years.csv", "station: years.csv\n  station_map: map.yaml"), encoding="utf-8")
    assert plan_job(file, as_of=NOW).saved


def test_the_weather_shows_the_season(tmp_path: Path, years: str) -> None:
    view, words = view_weather(job(tmp_path, years), as_of=NOW)
    lines = weather_page(view, words)
    page = "\n".join(lines)
    assert max(map(len, lines)) <= 80
    assert "SEASON, by 21 seasons of the site's own station, 2006-2026" in page
    spring, autumn = (next(line.split() for line in lines if which in line) for which in ("of spring", "of autumn"))
    # The 11th of 21; P90 lies at the 19th and P10 at the 3rd.
    assert spring[3:] == ["11", "Apr", "after", "19", "Apr", "21", "Apr"]
    assert autumn[3:] == ["11", "Oct", "before", "3", "Oct", "1", "Oct"]
    finish, base = (
        next(line.split() for line in lines if line.strip().startswith(f"{one},")) for one in ("finish", "base")
    )
    assert finish[3:7] == ["18", "Apr", "7", "Sep"]
    assert base[3:7] == ["18", "Apr", "21", "Sep"]
    # 300 mm at 7 days an inch, 82.7 days at factor 1; base 13 days before the line, Wed 25 August.
    fill = next(line.split() for line in lines if line.strip().startswith("300 mm"))
    assert fill[2:] == ["3", "Jun", "3", "Jun", "3", "Jun", "25", "Aug", "1", "out"]
    season = json.loads(weather_json(view))["sites"][0]["season"]
    assert season["years"] == 21
    assert season["lines"][0]["last"] == "2027-09-07"


def test_years_named_on_the_line_stand_in_for_those_of_the_job_file(tmp_path: Path, years: str) -> None:
    other = tmp_path / "other.csv"
    other.write_text(years, encoding="utf-8")
    view, _ = view_weather(job(tmp_path, None), as_of=NOW, station=[other])
    assert view.sites[0].season is not None
    assert view.sites[0].season.years == 21
    none, words = view_weather(job(tmp_path, None), as_of=NOW)
    assert none.sites[0].season is None
    assert "SEASON" not in "\n".join(weather_page(none, words))


def test_measured_hours_reach_the_plan(tmp_path: Path, years: str, monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[object] = []
    from curing.workflow import planning

    real = planning.plan_weather

    def watched(*args: object) -> object:
        seen.append(real(*args))  # type: ignore[arg-type]
        return seen[-1]

    monkeypatch.setattr(planning, "plan_weather", watched)
    more = "".join(f"2027-05-{day:02}T{hour:02}:00Z,12,70,3\n" for day in (28, 29) for hour in range(24))
    plan_job(job(tmp_path, years + more), as_of=NOW)
    (tmp_path / "old").mkdir()
    plan_job(job(tmp_path / "old", years), as_of="2028-01-01 06:00")
    fresh, old = seen
    # 200 days back from 06:00 (04 UTC): 13 November 04 UTC to the end of the year, and two days of May.
    assert int(fresh.past["court"].measured.sum()) == 20 + 48 * 24 + 48  # type: ignore[attr-defined]
    assert old.past == {}  # type: ignore[attr-defined]


def test_the_second_time_the_years_are_not_read(tmp_path: Path, years: str, monkeypatch: pytest.MonkeyPatch) -> None:
    file = job(tmp_path, years)
    monkeypatch.setattr(station_kept, "_AT_HAND", {})
    plan_job(file, as_of=NOW)
    monkeypatch.setattr(station_kept, "read_station", lambda *_, **__: pytest.fail("read again"))
    monkeypatch.setattr(station_kept, "_AT_HAND", {})
    assert not plan_job(file, as_of=NOW).saved
