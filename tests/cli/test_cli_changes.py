"""What ``curing changes`` says."""

from __future__ import annotations

import re
from datetime import datetime
from typing import Any

import pytest
from cli_court import Court

READ_AGAIN = "panel-dry: { met: 2027-04-30, by: wil, note: Highest reading 18 %. }"


def test_the_first_plan_moved_nothing(planned: Court) -> None:
    assert planned.say("changes") == [
        "Alder Court  Fri 30 April 06:00  revision 1",
        "",
        "The first plan: nothing moved.",
    ]


@pytest.fixture
def moved(planned: Court, first: dict[str, Any]) -> tuple[Court, dict[str, Any], dict[str, Any]]:
    """Wall 6 is read again on the morning of the first coat: its inside no longer waits for a reading."""
    planned.edit(READ_AGAIN, "panel-dry: { met: 2027-05-03, by: wil }")
    return planned, first, planned.json(at="2027-05-03 06:00")


def when(plan: dict[str, Any], id_: str) -> str:
    one = next(one for one in plan["bookings"] if one["id"] == id_)
    start, end = (datetime.fromisoformat(one[key]["local"]) for key in ("start", "end"))
    guess = "~" if one["state"] == "conditional" else ""
    return f"{start:%a} {start.day} {start:%B}{guess} {start:%H:%M}-{end:%H:%M}"


def test_a_hold_recorded_is_the_reason(moved: tuple[Court, dict[str, Any], dict[str, Any]]) -> None:
    court, before, after = moved
    lines = court.say("changes")
    assert lines[0].endswith("Mon 3 May 06:00  revision 2")
    assert lines[1].endswith("since revision 1.")
    start = lines.index("6 in base · yard side, bay 2")
    told = " ".join(line.strip() for line in lines[start : lines.index("", start)])
    assert f" was      {when(before, '6-in.base')}, " in told
    assert f" now      {when(after, '6-in.base')}, " in told
    assert "~" in when(before, "6-in.base")
    assert "~" not in when(after, "6-in.base")
    assert " because  met: Panel dry on both sides" in told


def test_what_moved_with_it_is_named_with_its_new_day(planned: Court, first: dict[str, Any]) -> None:
    planned.edit("base.thickness: 15 mm", "base.thickness: 20 mm")
    after = planned.json()
    lines = planned.say("changes")
    start = lines.index("6 out finish · yard side, bay 2")
    told = " ".join(line.strip() for line in lines[start : lines.index("", start)])
    assert f" was      {when(first, '6-out.finish')}" in told
    assert f" now      {when(after, '6-out.finish')}" in told
    assert " because  20 days after the base coat of Wed 5 May" in told
    paint = next(one for one in after["bookings"] if one["id"] == "6-out.paint-1")
    day = datetime.fromisoformat(paint["start"]["local"])
    assert f"paint 1 to {day.day} {day:%b}" in told.partition(" drags ")[2]


def test_revisions_are_listed_and_each_can_be_seen(moved: tuple[Court, dict[str, Any], dict[str, Any]]) -> None:
    court, _, after = moved
    table = [line.split("  ") for line in court.say("changes", "--all") if re.match(r"\d", line)]
    assert [[cell.strip() for cell in row if cell] for row in table] == [
        ["1", "Fri 30 April 06:00", "-"],
        ["2", "Mon 3 May 06:00", str(len(after["changes"]))],
    ]
    assert court.say("changes", "--revision", "1")[-1] == "The first plan: nothing moved."
    unknown = court.run("changes", "--revision", "3")
    assert unknown.exit_code == 1
    assert "ask for one of 1 to 2" in " ".join(unknown.stderr.split())


def test_a_job_file_with_faults_still_tells_its_changes(planned: Court) -> None:
    planned.edit("area: 10.8 m2", "area: none")
    assert planned.say("changes")[-1] == "The first plan: nothing moved."


def test_nothing_saved(court: Court) -> None:
    result = court.run("changes")
    assert (result.exit_code, result.stdout) == (1, "")
    assert "nothing is saved here yet" in result.stderr
    assert not court.state.exists()
