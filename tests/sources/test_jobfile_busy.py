"""Hours that another job's plan has given away, and files that are no such plan."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest

from curing.errors import FileError
from curing.model.job import BusySpan, Job
from curing.sources.busy import MOST_BYTES, read_busy_plan
from curing.sources.jobfile import read_job

UID, OTHER = "3f6b0a52-8c1d-4e97-a4f0-6d2c9b7e1a35", "c5a0b7de-41f7-4d0e-8b53-9f6f2d7c1e22"
JOB = f"""\
curing: 1
uid: {UID}
name: Alder Court
sites: [{{id: a, name: A, latitude: 52.1, longitude: 5.2, time_zone: Europe/Amsterdam}}]
people:
- {{id: wil, name: Wil, roles: [lead], hours: {{mon-fri: 07:00-15:30}}}}
- {{id: noor, name: Noor, hours: {{mon-fri: 07:00-15:30}}}}
crews: [{{id: one, name: One, people: [wil, noor]}}]
busy:
- ../other/plan.json
walls:
- id: "1"
  name: north gable
  faces: [{{side: in, area: 9 m2, height: 2 m, system: clay-inside}}]
"""


def instant(clock: str, day: int = 3) -> dict[str, str]:
    """Return a time of day in May 2027 as a written plan has it: UTC and Amsterdam's summer time."""
    hours, minutes = clock.split(":")
    return {"utc": f"2027-05-{day:02}T{clock}:00Z", "local": f"2027-05-{day:02}T{int(hours) + 2:02}:{minutes}+02:00"}


def booking(who: list[str], start: str, end: str, **more: Any) -> dict[str, Any]:
    written = {"id": "1-out.base", "uid": "x", "kind": "coat", "who": who, "state": "firm", "absent": []}
    return {**written, "start": instant(start), "end": instant(end), **more}


def plan(bookings: list[dict[str, Any]], rounds: list[dict[str, Any]] | None = None, **more: Any) -> dict[str, Any]:
    return {"format": 1, "job": OTHER, "name": "Elm Row", "bookings": bookings, "rounds": rounds or [], **more}


def read(folder: Path, written: Any, text: str = JOB) -> Job:
    (folder / "other").mkdir(exist_ok=True)
    (folder / "here").mkdir(exist_ok=True)
    content = written if isinstance(written, str) else json.dumps(written)
    (folder / "other" / "plan.json").write_text(content, encoding="utf-8")
    (folder / "here" / "job.yaml").write_text(text, encoding="utf-8")
    return read_job(folder / "here" / "job.yaml", years=range(2027, 2028), today=date(2027, 4, 30))


def span(person: str, start: str, end: str) -> BusySpan:
    first, last = (int(datetime.fromisoformat(f"2027-05-03T{clock}+00:00").timestamp()) for clock in (start, end))
    return BusySpan(person=person, start=first, end=last, job="Elm Row")


def test_people_of_this_job_are_busy_while_they_are_booked_there(tmp_path: Path) -> None:
    coat = booking(["wil", "stranger", "noor"], "05:00", "13:00", state="conditional")
    walk = booking(["wil"], "14:00", "14:30", id="2027-05-03.late.wil", kind="round")
    job = read(tmp_path, plan([coat], [walk]))
    assert job.busy == (span("noor", "05:00", "13:00"), span("wil", "05:00", "13:00"), span("wil", "14:00", "14:30"))
    assert "busy ../other/plan.json" in job.digests
    assert datetime.fromtimestamp(job.busy[0].start, UTC) == datetime(2027, 5, 3, 5, tzinfo=UTC)


def test_done_and_taken_off_give_no_hours_away(tmp_path: Path) -> None:
    bookings = [booking(["wil"], "05:00", "13:00", state=state) for state in ("done", "off")]
    assert read(tmp_path, plan(bookings)).busy == ()


def test_who_is_away_from_a_coat_is_free_of_it(tmp_path: Path) -> None:
    away = [
        {"person": "wil", "start": instant("09:00"), "end": instant("10:00")},
        {"person": "wil", "start": instant("05:00"), "end": instant("05:30")},
        {"person": "noor", "start": instant("04:00"), "end": instant("18:00")},
    ]
    job = read(tmp_path, plan([booking(["wil", "noor"], "05:00", "13:00", absent=away)]))
    assert job.busy == (span("wil", "05:30", "09:00"), span("wil", "10:00", "13:00"))


@pytest.mark.parametrize(
    ("written", "words"),
    [
        ("", ["no written plan"]),
        ("{", ["no written plan"]),
        ("[" * 100_000, ["no written plan"]),
        ("[1]", ["no written plan"]),
        ({"name": "Elm Row"}, ["no written plan"]),
        (plan([], format="1"), ["no written plan"]),
        (plan([], format=True), ["no written plan"]),
        (plan([], format=2), ["format 2", "at most 1", "install a newer curing"]),
        (plan([], job=UID), ["same uid as this job file", "one uid in two jobs: change one"]),
        (plan([]) | {"bookings": {}}, ['"bookings"', "no list"]),
        (plan([booking(["wil"], "05:00", "13:00"), {}]), ['number 2 of "bookings"', "write the plan again"]),
        (plan([], [booking(["wil"], "05:00", "13:00") | {"start": "soon"}]), ['number 1 of "rounds"']),
        (plan([booking(["wil"], "05:00", "13:00") | {"end": {"utc": "2027-05-03T15:00:00+02:00"}}]), ["number 1"]),
        (plan([booking(["wil"], "05:00", "13:00", absent=[{"person": "wil"}])]), ["number 1"]),
    ],
)
def test_what_is_no_plan_is_told_at_its_line(written: Any, words: list[str], tmp_path: Path) -> None:
    with pytest.raises(FileError) as caught:
        read(tmp_path, written)
    (problem,) = caught.value.problems
    assert problem.place is not None
    assert (Path(problem.place.file).name, problem.place.line, problem.place.column) == ("job.yaml", 10, 3)
    for word in ["../other/plan.json", *words]:
        assert word in problem.text


def test_a_missing_plan_and_a_plan_named_twice_are_told(tmp_path: Path) -> None:
    text = JOB.replace(
        "- ../other/plan.json\n", "- ../other/plan.json\n- ../none/plan.json\n- ./../other/plan.json\n- ..\n"
    )
    with pytest.raises(FileError) as caught:
        read(tmp_path, plan([]), text)
    assert [problem.place.line for problem in caught.value.problems if problem.place] == [11, 12, 13]
    missing, twice, folder = (problem.text for problem in caught.value.problems)
    assert "there is no such file" in missing
    assert "plan the other job first" in missing
    assert 'same uid as "../other/plan.json"' in twice
    assert "not an ordinary file" in folder


def test_a_huge_plan_is_not_read(tmp_path: Path) -> None:
    path = tmp_path / "plan.json"
    with path.open("wb") as file:
        file.truncate(MOST_BYTES + 1)
    with pytest.raises(FileError, match="more than 64 MB"):
        read_busy_plan(path, {"wil"})
