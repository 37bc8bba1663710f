"""A job file that is right: what is read from it, and from what it names."""

from __future__ import annotations

import json
import shutil
from collections.abc import Mapping
from datetime import date, datetime
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest

from curing.errors import FileError
from curing.model.job import Job
from curing.sources.jobfile import job_schema, read_job, system_schema
from curing.sources.systemfile import built_in_folder

ALDER_COURT = Path(__file__).parents[2] / "examples" / "alder-court-april.yaml"
READ_ON = date(2027, 4, 30)
YEARS = range(2027, 2029)


@pytest.fixture(scope="module")
def alder_court() -> Job:
    return read_job(ALDER_COURT, years=YEARS, today=READ_ON)


def read(folder: Path, text: str, today: date = READ_ON) -> Job:
    path = folder / "job.yaml"
    path.write_text(text, encoding="utf-8")
    return read_job(path, years=YEARS, today=today)


def test_the_example_has_seven_walls_on_four_sides(alder_court: Job) -> None:
    faces = {face_id: (wall, face) for face_id, wall, face in alder_court.faces()}
    assert list(faces) == ["1-out", "2-out", "2-in", "3-out", "4-out", "5-out", "5-in", "6-out", "6-in", "7-out"]
    outside = {wall.name: face.facing for wall, face in faces.values() if face.side.value == "out"}
    quarters = {name.split(",")[0]: round(facing / 90) % 4 for name, facing in outside.items() if facing is not None}
    assert quarters == {"north gable": 0, "road side": 1, "south gable": 2, "yard side": 3}
    assert all(9 <= face.area <= 14 for _, face in faces.values())
    inside = [face.system for _, face in faces.values() if face.side.value == "in"]
    assert sorted(inside) == ["clay-inside", "clay-inside", "clay-lime"]


def test_the_example_is_as_far_as_a_plan_needs_it(alder_court: Job) -> None:
    """Whoever mists at weekends reaches every outside face, and five panels are read within their week."""
    saar = next(person for person in alder_court.file.people if person.id == "saar")
    assert alder_court.crew_of("saar") is None
    assert saar.hours_on("holiday") == saar.hours_on("sun") == (8 * 60, 20 * 60)
    assert all(face.height <= 3 for _, _, face in alder_court.faces())
    read_days = {wall.id: wall.holds["panel-dry"].met for wall in alder_court.file.walls if "panel-dry" in wall.holds}
    assert sorted(read_days) == ["1", "2", "4", "5", "6"]
    assert all(day is not None and (date(2027, 5, 3) - day).days <= 7 for day in read_days.values())


def test_holidays_are_those_of_the_country_and_ones_own(alder_court: Job) -> None:
    # Easter Sunday of 2027 by the Gregorian computus: 28 March; Ascension +39 days, Whit Monday +50.
    assert alder_court.holidays[date(2027, 5, 6)] == "Ascension Day"
    assert date(2027, 5, 17) in alder_court.holidays
    assert alder_court.holidays[date(2027, 4, 27)] == "King's Day"
    assert alder_court.holidays[date(2027, 7, 26)] == alder_court.holidays[date(2027, 8, 6)] == "own day"
    assert date(2027, 8, 7) not in alder_court.holidays
    assert date(2028, 1, 1) in alder_court.holidays
    assert {day.year for day in alder_court.holidays} == {2027, 2028}


def test_digests_are_those_of_the_bytes_read(alder_court: Job) -> None:
    files = {"job": ALDER_COURT} | {
        f"system {name}": built_in_folder() / f"{name}.yaml" for name in ("clay-lime", "clay-inside")
    }
    assert alder_court.digests == {name: sha256(path.read_bytes()).hexdigest() for name, path in files.items()}


def test_the_nearest_own_value_holds_and_only_where_its_system_has_the_rule(tmp_path: Path) -> None:
    text = ALDER_COURT.read_text(encoding="utf-8")
    text = text.replace("units: metric", "rules: { finish.hours: 700 h, base.labour: 0.9 h/m2 }\nunits: metric")
    text = text.replace("name: yard side, bay 2\n", "name: yard side, bay 2\n    rules: { base.labour: 0.7 h/m2 }\n")
    text = text.replace("base.thickness: 15 mm", "base.thickness: 15 mm\n          base.labour: 48 min/m2")
    values = read(tmp_path, text).rule_values
    assert values["1-out"] == {"finish.hours": 700, "base.labour": 0.9}
    assert values["2-in"] == {"base.labour": 0.9}  # clay inside has no hours of curing
    assert values["6-in"] == {"base.labour": 0.7}
    assert values["6-out"] == {"finish.hours": 700, "base.labour": pytest.approx(0.8), "base.thickness": 15}


def test_a_system_beside_the_job_file_wins(tmp_path: Path) -> None:
    (tmp_path / "systems").mkdir()
    own = (built_in_folder() / "clay-inside.yaml").read_text(encoding="utf-8")
    (tmp_path / "systems" / "mine.yaml").write_text(own.replace("value: 3 mm", "value: 4 mm"), encoding="utf-8")
    job = read(tmp_path, ALDER_COURT.read_text(encoding="utf-8"))
    rule = job.systems["clay-inside"].rule("finish.thickness")
    assert rule is not None
    assert rule.value == 4


def test_faults_of_a_system_are_told_with_those_of_the_job(tmp_path: Path) -> None:
    (tmp_path / "systems").mkdir()
    own = (built_in_folder() / "clay-inside.yaml").read_text(encoding="utf-8")
    (tmp_path / "systems" / "mine.yaml").write_text(own.replace("value: 3 mm", "value: 3"), encoding="utf-8")
    text = ALDER_COURT.read_text(encoding="utf-8").replace("facing: S\n", "facing: down\n")
    with pytest.raises(FileError) as caught:
        read(tmp_path, text)
    files = [Path(problem.place.file).name for problem in caught.value.problems if problem.place]
    assert sorted(files) == ["job.yaml", "mine.yaml"]


def test_a_job_under_way_says_what_is_done(tmp_path: Path) -> None:
    done = "        done: { base: 2027-04-12 15:00, finish: 2027-04-28 14:30 }\n"
    text = ALDER_COURT.read_text(encoding="utf-8").replace("        facing: S\n", f"        facing: S\n{done}")
    faces = {face_id: face for face_id, _, face in read(tmp_path, text).faces()}
    assert dict(faces["7-out"].done) == {"base": datetime(2027, 4, 12, 15), "finish": datetime(2027, 4, 28, 14, 30)}


METRIC = """\
curing: 1
uid: 0b5f3f8e-7d0c-4a5b-9f3e-2f8d1a6c4e90
name: Alder Court
units: metric
sites: [{id: a, name: A, latitude: 40.4, longitude: -80.0, altitude: 228.6 m, time_zone: America/New_York}]
people: [{id: wil, name: Wil, roles: [lead], hours: {mon-fri: 07:00-15:30}}]
crews: [{id: one, name: One, people: [wil]}]
rules:
  base.thickness: 12.7 mm
  base.air_least: 7.78 °C
  base.wet_edge: 39.02 m2/d
  base.labour: 0.2153 h/m2
  finish.wet_edge: 39.02 m2/d
  finish.labour: 0.2153 h/m2
  visit.water: 0.3056 L/m2
  visit.rate: 2.973 m2/min
  panel.drying: 0.2756 d/mm
walls:
- id: "1"
  name: north gable
  panel: {thickness: 292.1 mm, mix: {dry_density: 640.7 kg/m3, straw: 15 %, water: 272.3 kg/m3}}
  faces:
  - {side: out, facing: 22.5°, area: 38.09 m2, height: 2.299 m, system: clay-lime}
  - {side: in, area: 9.29 m2, height: 38.1 mm, system: clay-inside}
"""
US = {
    "units: metric": "units: us",
    "228.6 m": "750 ft",
    "12.7 mm": "1/2 in",
    "7.78 °C": "46 °F",
    "39.02 m2/d": "420 ft2/d",
    "0.2153 h/m2": "2 h/100 ft2",
    "0.3056 L/m2": "0.75 gal/100 ft2",
    "2.973 m2/min": "32 ft2/min",
    "0.2756 d/mm": "7 d/in",
    "292.1 mm": "11 1/2 in",
    "640.7 kg/m3": "40 lb/ft3",
    "272.3 kg/m3": "17 pcf",
    "22.5°": "NNE",
    "38.09 m2": "410 ft2",
    "2.299 m": "7 ft 6 1/2 in",
    "9.29 m2": "100 ft2",
    "38.1 mm": "1 1/2 in",
}


def numbers(value: Any) -> Any:
    """Return the same tree with every float rounded to what the metric twin was rounded to."""
    if isinstance(value, Mapping):
        return {key: numbers(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return tuple(numbers(inner) for inner in value)
    return pytest.approx(value, rel=1e-3) if isinstance(value, float) else value


def test_a_us_job_is_its_metric_twin(tmp_path: Path) -> None:
    us = METRIC
    for metric, customary in US.items():
        assert metric in us
        us = us.replace(metric, customary)
    one, other = read(tmp_path, METRIC), read(tmp_path, us)
    assert other.file.units == "us"
    assert other.file.model_dump() | {"units": "metric"} == numbers(one.file.model_dump() | {"rules": other.file.rules})
    assert other.rule_values == numbers(one.rule_values)
    assert other.rule_values["1-out"]["base.air_least"] == pytest.approx((46 - 32) * 5 / 9)


def test_schemas_are_of_what_is_written_and_not_of_what_is_kept() -> None:
    job, system = job_schema(), system_schema()
    face = job["$defs"]["Face"]["properties"]
    assert face["area"]["type"] == "string"
    assert face["area"]["examples"] == ["10 m2", "108 ft2"]
    assert face["holds"]["additionalProperties"]["anyOf"][1]["pattern"].startswith("^[0-9]{4}-")
    assert job["$defs"]["Person"]["properties"]["hours"]["additionalProperties"]["examples"] == ["07:00-15:30"]
    rule = system["$defs"]["Rule"]
    assert rule["properties"]["most"]["type"] == rule["properties"]["value"]["type"] == "string"
    assert "written" not in rule["properties"]
    for schema in (job, system):
        assert json.loads(json.dumps(schema)) == schema
        assert not schema["additionalProperties"]


def test_the_example_uses_only_what_the_schema_names(alder_court: Job) -> None:
    known = set(job_schema()["properties"])
    assert alder_court.file.model_fields_set <= known


def test_reading_does_not_change_the_folder(tmp_path: Path) -> None:
    shutil.copy(ALDER_COURT, tmp_path / "job.yaml")
    read_job(tmp_path / "job.yaml", years=YEARS, today=READ_ON)
    assert [path.name for path in tmp_path.iterdir()] == ["job.yaml"]
