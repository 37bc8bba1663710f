"""What a plan that is written out leaves alone, takes away, and refuses."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from cli_court import Court

from curing.errors import OutputError
from curing.workflow.exporting import write_out

UID, OTHER = "3f6b0a52-8c1d-4e97-a4f0-6d2c9b7e1a35", "0b5f3f8e-7d0c-4a5b-9f3e-2f8d1a6c4e90"


def plan(*people: str, job: str = UID) -> str:
    return json.dumps({"job": job, "people": [{"id": name} for name in people]})


def write(out: Path, *people: str, job: str = UID) -> None:
    write_out(out, plan(*people, job=job), {name: name.encode() for name in ("site", *people)})


def calendars(out: Path) -> set[str]:
    return {path.name for path in (out / "calendars").iterdir()}


def test_only_calendars_of_people_who_left_this_job_go(tmp_path: Path) -> None:
    write(tmp_path, "wil", "noor")
    (tmp_path / "calendars" / "football.ics").write_text("mine")
    write(tmp_path, "wil")
    assert calendars(tmp_path) == {"site.ics", "wil.ics", "football.ics"}


@pytest.mark.parametrize(
    "before",
    [
        "",
        "{",
        "[" * 100_000,
        "[]",
        '{"people": [{"id": "noor"}]}',
        json.dumps({"job": UID, "people": "noor"}),
        json.dumps({"job": UID, "people": [{"id": "noor"}, {"id": "../wil"}]}),
        json.dumps({"job": UID, "people": [{"id": "noor"}, {"id": 7}]}),
        json.dumps({"job": UID, "people": [{"id": "noor"}, "x"]}),
    ],
)
def test_a_plan_that_is_none_takes_nothing_away(tmp_path: Path, before: str) -> None:
    write(tmp_path, "wil", "noor")
    (tmp_path / "wil.ics").write_text("beside")
    (tmp_path / "plan.json").write_text(before)
    write(tmp_path, "wil")
    assert calendars(tmp_path) == {"site.ics", "wil.ics", "noor.ics"}
    assert (tmp_path / "wil.ics").read_text() == "beside"
    assert json.loads((tmp_path / "plan.json").read_text())["job"] == UID


def test_a_calendar_that_differs_only_by_capitals_stays(tmp_path: Path) -> None:
    """Where a disk takes capitals for small letters, both names are the file just written."""
    write(tmp_path, "Wil")
    write(tmp_path, "wil")
    assert "wil.ics" in calendars(tmp_path)
    assert (tmp_path / "calendars" / "wil.ics").read_bytes() == b"wil"


def test_the_folder_of_another_job_is_refused_and_stays_as_it_was(tmp_path: Path) -> None:
    write(tmp_path, "ida", job=OTHER)
    with pytest.raises(OutputError, match=f"another job, uid {OTHER}.*uid {UID}.*--out"):
        write(tmp_path, "wil")
    assert calendars(tmp_path) == {"site.ics", "ida.ics"}
    assert json.loads((tmp_path / "plan.json").read_text())["job"] == OTHER


def test_the_command_says_so_too(planned: Court, tmp_path: Path) -> None:
    out = tmp_path / "elsewhere"
    write(out, "ida", job=OTHER)
    result = planned.run("plan", "--out", str(out))
    assert (result.exit_code, result.stdout) == (1, "")
    told = " ".join(result.stderr.split())
    assert OTHER in told
    assert "folder of its own" in told
