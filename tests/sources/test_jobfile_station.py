"""A site's own station in the job file: tables that are there, a column map, and everything that can be wrong."""

from __future__ import annotations

import hashlib
import os
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from curing.errors import FileError
from curing.model.job import Job
from curing.sources import station_kept
from curing.sources.jobfile import job_schema, read_job
from curing.sources.station_csv import read_station
from curing.sources.station_kept import station_years
from curing.sources.station_map import read_station_map

JOB = """\
curing: 1
uid: 3f6b0a52-8c1d-4e97-a4f0-6d2c9b7e1a35
name: Alder Court
sites:
- id: court
  name: Alder Court
  latitude: 52.1
  longitude: 5.2
  time_zone: Europe/Amsterdam
STATION
people:
- {id: wil, name: Wil, roles: [lead], hours: {mon-fri: 07:00-15:30}}
crews: [{id: one, name: One, people: [wil]}]
walls:
- id: "1"
  name: north gable
  faces: [{side: in, area: 9 m2, height: 2 m, system: clay-inside}]
"""
MAP = """\
curing_station: 1
time: t
marks: start
zone: UTC
columns:
  temperature: { column: air, unit: °C }
"""


def table(folder: Path, name: str = "a.csv", *, days: int = 3, summer: float = 20.0, winter: float = 2.0) -> Path:
    file = folder / name
    file.parent.mkdir(parents=True, exist_ok=True)
    lines = ["time_end_utc,temp_c,rh_pct,wind_ms"]
    for hour in range(days * 24):
        end = datetime(2025, 1, 1, 1, tzinfo=UTC) + timedelta(hours=hour)
        lines.append(f"{end:%Y-%m-%dT%H:%MZ},{summer if 5 < end.month < 9 else winter},80,3")
    file.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return file


def job(folder: Path, *lines: str) -> Job:
    file = folder / "job.yaml"
    file.write_text(JOB.replace("STATION", "\n".join(f"  {line}" for line in lines)), encoding="utf-8")
    return read_job(file, years=range(2027, 2028), today=date(2027, 4, 30))


def told(folder: Path, *lines: str) -> list[str]:
    with pytest.raises(FileError) as caught:
        job(folder, *lines)
    return [str(one).removeprefix(f"{folder}{os.sep}") for one in caught.value.problems]


def digest(file: Path) -> str:
    return hashlib.sha256(file.read_bytes()).hexdigest()


def test_tables_count_from_the_job_files_folder_and_are_inputs(tmp_path: Path) -> None:
    one, two = table(tmp_path, "weather/a.csv"), table(tmp_path, "weather/b.csv", days=5)
    read = job(tmp_path, "station: [weather/a.csv, weather/b.csv]")
    assert read.file.sites[0].station == ("weather/a.csv", "weather/b.csv")
    inputs = {name: value for name, value in read.digests.items() if name.startswith("station.")}
    assert inputs == {"station.court.1": digest(one), "station.court.2": digest(two)}


def test_one_table_needs_no_list(tmp_path: Path) -> None:
    table(tmp_path)
    assert job(tmp_path, "station: a.csv").file.sites[0].station == ("a.csv",)
    assert job(tmp_path).file.sites[0].station == ()


def test_a_column_map_is_an_input_too(tmp_path: Path) -> None:
    table(tmp_path)
    (tmp_path / "columns.yaml").write_text(MAP, encoding="utf-8")
    read = job(tmp_path, "station: a.csv", "station_map: columns.yaml")
    assert read.file.sites[0].station_map == "columns.yaml"
    assert read.digests["station.court.map"] == digest(tmp_path / "columns.yaml")


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        (["station: gone.csv"], 'job.yaml:10:12: site "Alder Court": station: "gone.csv": there is no such file;'),
        (["station: [a.csv, gone.csv]"], 'job.yaml:10:20: site "Alder Court": station: "gone.csv": there is no such'),
        (["station: weather"], 'job.yaml:10:12: site "Alder Court": station: "weather": this is a folder; name the'),
        (["station: [a.csv, a.csv]"], 'job.yaml:10:12: site "Alder Court": station: "a.csv" stands twice; keep one'),
        (["station: 2003"], 'job.yaml:10:12: site "Alder Court": station: 2003 is not a list'),
        (["station: [[a.csv]]"], 'job.yaml:10:13: site "Alder Court": station: item 1: a list is not text'),
        (["station_map: map.yaml"], 'job.yaml:10:16: site "Alder Court": station_map: "map.yaml" says what the'),
        (["station: a.csv", "station_map: gone.yaml"], 'job.yaml:11:16: site "Alder Court": station_map: "gone.yaml":'),
        (["stations: [a.csv]"], 'job.yaml:10:3: site "Alder Court": unknown key "stations"; did you mean'),
    ],
)
def test_what_is_wrong_is_told_with_its_place(tmp_path: Path, lines: list[str], said: str) -> None:
    table(tmp_path)
    (tmp_path / "weather").mkdir()
    (tmp_path / "map.yaml").write_text(MAP, encoding="utf-8")
    found = told(tmp_path, *lines)
    assert any(one.startswith(said) for one in found), found


def test_a_fault_of_the_column_map_is_told_at_the_job_file(tmp_path: Path) -> None:
    table(tmp_path)
    (tmp_path / "columns.yaml").write_text(MAP.replace("marks: start", "marks: middle"), encoding="utf-8")
    (found,) = told(tmp_path, "station: a.csv", "station_map: columns.yaml")
    assert found.startswith('job.yaml:11:16: site "Alder Court": station_map: "columns.yaml": line 3: marks')


def test_all_faults_of_all_tables_are_told_at_once(tmp_path: Path) -> None:
    assert len(told(tmp_path, "station: [one.csv, two.csv, three.csv]")) == 3


def test_a_hostile_path_is_no_traceback(tmp_path: Path) -> None:
    for name in ('"a\\0b.csv"', "/dev/null", "x" * 900, "../" * 200 + "etc", '""'):
        assert told(tmp_path, f"station: {name}")


def test_an_editor_knows_the_field() -> None:
    site = job_schema()["$defs"]["Site"]["properties"]
    assert {one.get("type") for one in site["station"]["anyOf"]} == {"array", "string"}
    assert "station_map" in site


# --------------------------------------------------------------------------------- read once


@pytest.fixture
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setattr(station_kept, "_AT_HAND", {})
    return tmp_path / "cache" / "curing"


def count(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    calls: list[int] = []

    def counted(*args: object, **more: object) -> object:
        calls.append(1)
        return read_station(*args, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(station_kept, "read_station", counted)
    return calls


def forget(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(station_kept, "_AT_HAND", {})


def test_what_is_kept_is_what_was_read(tmp_path: Path, cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    calls, file = count(monkeypatch), table(tmp_path, "knmi.csv")
    first = station_years([file])
    forget(monkeypatch)
    again = station_years([file])
    assert station_years([file]) is again
    assert len(calls) == 1
    plain = read_station([file])
    for name in ("temperature", "humidity", "wind", "rain", "direction"):
        for one in (first, again):
            assert np.array_equal(getattr(one, name), getattr(plain, name), equal_nan=True), name
    about = [(one.start, one.notes, one.attribution, one.estimated, one.source) for one in (first, again, plain)]
    assert about[0] == about[1] == about[2]
    assert about[0][2] == "Source: KNMI (CC BY 4.0)"
    assert len(list(cache.iterdir())) == 1


def test_another_byte_another_place_or_map_is_read_anew(
    tmp_path: Path, cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    calls, file = count(monkeypatch), table(tmp_path)
    station_years([file])
    file.write_text(file.read_text(encoding="utf-8").replace(",2.0,", ",3.0,"), encoding="utf-8")
    forget(monkeypatch)
    assert station_years([file]).temperature[0] == 3.0
    site = job(tmp_path, "station: a.csv").file.sites[0]
    station_years([file], spot=site)
    (tmp_path / "m.yaml").write_text(
        MAP.replace("time: t", "time: time_end_utc").replace("air", "temp_c"), encoding="utf-8"
    )
    columns = read_station_map(tmp_path / "m.yaml")
    assert station_years([file], columns=columns).start != station_years([file]).start
    assert len(calls) == 4


@pytest.mark.parametrize("spoilt", [b"", b"PK\x03\x04 cut", b"\x93NUMPY", b"x" * 4000])
def test_a_damaged_cache_is_read_anew(
    tmp_path: Path, cache: Path, monkeypatch: pytest.MonkeyPatch, spoilt: bytes
) -> None:
    file = table(tmp_path)
    station_years([file])
    (kept,) = cache.iterdir()
    kept.write_bytes(spoilt)
    forget(monkeypatch)
    calls = count(monkeypatch)
    assert len(station_years([file])) == 72
    assert len(calls) == 1


def test_a_cut_cache_is_read_anew(tmp_path: Path, cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = table(tmp_path)
    station_years([file])
    (kept,) = cache.iterdir()
    whole = kept.read_bytes()
    for share in (0.2, 0.5, 0.9, 0.99):
        kept.write_bytes(whole[: int(len(whole) * share)])
        forget(monkeypatch)
        assert len(station_years([file])) == 72


def test_a_table_with_a_fault_is_told_each_time(tmp_path: Path, cache: Path) -> None:
    file = table(tmp_path)
    file.write_text(file.read_text(encoding="utf-8") + "nonsense,1,2,3\n", encoding="utf-8")
    for _ in range(2):
        with pytest.raises(FileError, match="nonsense"):
            station_years([file])
    assert not cache.exists() or not list(cache.iterdir())


def test_a_cache_that_can_not_be_written_costs_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "file"))
    forget(monkeypatch)
    assert len(station_years([table(tmp_path)])) == 72


# --------------------------------------------------------------------------------- the half of the globe


def test_a_station_of_the_other_half_is_told(tmp_path: Path, cache: Path) -> None:
    site = job(tmp_path).file.sites[0]
    ours = table(tmp_path, "ours.csv", days=365)
    theirs = table(tmp_path, "theirs.csv", days=365, summer=5.0, winter=15.0)
    assert len(station_years([ours], spot=site)) == 8760
    with pytest.raises(FileError, match="check its sign") as caught:
        station_years([theirs], spot=site)
    assert "as south of the equator, but latitude 52.1 lies north of it" in str(caught.value)
    south = site.model_copy(update={"latitude": -41.3})
    assert len(station_years([theirs], spot=south)) == 8760
    tropic = site.model_copy(update={"latitude": 12.0})
    assert len(station_years([theirs], spot=tropic)) == 8760
