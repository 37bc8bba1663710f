"""What ``curing plan`` says, keeps and writes."""

from __future__ import annotations

import json
import re
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest
from cli_court import Court

ROW = re.compile(r"(\d) (out|in ) ")


def rows(lines: list[str]) -> dict[str, str]:
    """The rows of the table of walls by face, in the order in which they stand."""
    head = next(k for k, line in enumerate(lines) if line.startswith("WALL"))
    table = lines[head + 1 :]
    found = [line for line in table[: table.index("")] if ROW.match(line)]
    return {line[:5].strip(): line for line in found}


def next_coats(plan: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """The first coat of each face that is not done, from plan.json."""
    found: dict[str, dict[str, Any]] = {}
    for one in plan["bookings"]:
        if one["kind"] == "coat" and one["state"] != "done":
            found.setdefault(one["faces"][0].replace("-", " "), one)
    return found


def nobody_at_weekends(court: Court) -> None:
    text = court.job.read_text()
    court.job.write_text(text[: text.index("  - id: saar")] + text[text.index("  - id: ines") :])


def block(lines: list[str], head: str) -> list[str]:
    start = lines.index(head)
    return lines[start : [*lines, ""].index("", start)]


def test_what_needs_somebody_stands_before_the_walls_in_walking_order(said: list[str]) -> None:
    assert said[0] == "Alder Court  Fri 30 April 06:00  revision 1 saved"
    assert said[2] == "FIRST"
    assert list(rows(said)) == ["1 out", "2 out", "2 in", "3 out", "4 out", "5 out", "5 in", "6 out", "6 in", "7 out"]
    last = re.fullmatch(r"done about (\d+ \w+)   10 faces, (\d+) needs? you   \d+\.\d s", said[-1])
    assert last


def test_dates_and_guesses_are_those_of_the_plan(said: list[str], first: dict[str, Any]) -> None:
    coats, table = next_coats(first), rows(said)
    assert coats.keys() == table.keys()
    for face, coat in coats.items():
        day = datetime.fromisoformat(coat["start"]["local"])
        mark = "~" if coat["state"] == "conditional" else " "
        thickness = f"{coat['thickness']:g} mm"
        assert re.search(rf"  base {thickness} +{day.day} {day:%b}{mark}", table[face] + " "), face
        assert ("hold panel-dry" in table[face]) is (coat["state"] == "conditional")
    assert {coat["state"] for coat in coats.values()} == {"firm", "conditional"}
    assert any(line.startswith("~ an estimate") for line in said)


def test_planning_again_says_nothing_new_and_keeps_one_revision(planned: Court) -> None:
    assert planned.say("plan")[0] == "Alder Court  Fri 30 April 06:00  nothing new: revision 1 stands"
    assert planned.say("plan", at="2027-05-02 18:00")[0].endswith("Sun 2 May 18:00  nothing new: revision 1 stands")
    assert len([line for line in planned.say("changes", "--all") if re.match(r"\d", line)]) == 1


def test_a_trial_keeps_nothing(court: Court, tmp_path: Path) -> None:
    out = tmp_path / "out"
    lines = court.say("plan", "--try", "--out", str(out))
    assert lines[0].endswith("a trial: nothing is saved")
    assert not [line for line in lines if line.startswith(("saved", "written"))]
    assert not court.state.exists()
    assert not out.exists()


def test_files_are_named_and_are_there(planned: Court, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    text = " ".join(line.strip() for line in planned.say("plan", "--out", "out"))
    assert "written out/plan.json written out/calendars: " in text
    named = set(re.findall(r"[\w-]+\.ics", text))
    assert named == {path.name for path in (tmp_path / "out" / "calendars").iterdir()}
    assert {"wil.ics", "saar.ics"} <= named


def test_a_path_too_long_for_a_line_shows_its_end(court: Court, tmp_path: Path) -> None:
    court.state = tmp_path / ("deep/" * 30) / "kept"
    said = [line for line in court.say("plan") if line.startswith("saved in")]
    assert said[0].startswith("saved in …/deep/")
    assert said[0].endswith("/deep/kept")


@pytest.mark.parametrize("more", [(), ("--try",)])
def test_json_is_what_is_written_and_nothing_else(court: Court, tmp_path: Path, more: tuple[str, ...]) -> None:
    nobody_at_weekends(court)  # so that warnings press more as days pass, though nothing moves
    printed = court.run("plan", "--json", *more).stdout_bytes
    assert json.loads(printed)["revision"] == 1
    court.run("plan", "--out", str(tmp_path / "out"))
    written = (tmp_path / "out" / "plan.json").read_bytes()
    assert printed == written
    later = court.run("plan", "--json", "--out", str(tmp_path / "out"), at="2027-05-02 12:00").stdout_bytes
    assert later == written == (tmp_path / "out" / "plan.json").read_bytes()


def test_nobody_to_mist_is_told_by_day_and_never_floods(court: Court) -> None:
    nobody_at_weekends(court)
    first = block(court.say("plan"), "FIRST")
    assert len(first) <= 16
    told = [line[4:].partition(":")[0] for line in first if line.startswith("  ! ") and ": nobody named for " in line]
    assert told == ["Thu 6 May", "Sat 8 May", "Sun 9 May"]  # Ascension Day, then a weekend: nobody of the crew is there
    assert re.fullmatch(r"    and \d+ more: curing today .*", first[-1])
    assert "curing assign JOB PERSON 2027-05-06 --by LEAD" in " ".join(" ".join(first).split())
    unnamed = [one for one in court.json("--try")["warnings"] if one["key"] == "unnamed_round"]
    everything = " ".join(court.say("today"))
    for one in unnamed:
        day = date.fromisoformat(one["values"]["day"])
        assert f"{day:%a} {day.day} " in everything


def test_an_open_hold_is_asked_for_until_it_is_met(court: Court) -> None:
    court.edit("      panel-dry: { met: 2027-04-28, by: wil, note: Highest reading 17 %. }", "      PUT-IT-HERE")
    court.edit("    holds:\n      PUT-IT-HERE\n", "")
    court.edit("thickness: 200 mm, filled: 2027-01-04", "thickness: 200 mm, filled: 2026-09-01")
    text = " ".join(line.strip() for line in block(court.say("plan"), "FIRST"))
    assert "! panel-dry is not recorded: 1 out base waits for it" in text
    assert "> read both sides (curing log JOB reading SIDE ...), then: curing log JOB met 1.panel-dry --by LEAD" in text
    assert "hold panel-dry" in rows(court.say("plan"))["1 out"]
    court.edit(
        "    name: road side, bay 1\n", "    name: road side, bay 1\n    holds: { panel-dry: { met: 2027-04-30 } }\n"
    )
    lines = court.say("plan")
    assert "is not recorded" not in " ".join(block(lines, "FIRST"))
    assert "hold" not in rows(lines)["1 out"]


def test_work_under_way_says_how_far_it_is(court: Court) -> None:
    court.edit("        facing: 84°\n", "        done: { base: 2027-04-12, finish: 2027-04-27 }\n        facing: 84°\n")
    court.edit("        start: 2027-05-03\n", "")
    court.edit("      panel-dry: { met: 2027-04-28", "      panel-dry: { met: 2027-04-10")
    lines = court.say("plan")
    table = rows(lines)
    assert "? 1 out finish: was it misted from Wed 28 April to Thu 29 April" in " ".join(lines)
    assert re.match(r"1 out road side, bay 1  finish day 3/28 +paint 1 +\d+ \w+ +7 dry days", table["1 out"])


def test_a_coat_nobody_confirmed_is_asked_about_with_what_to_write(planned: Court) -> None:
    lines = planned.say("plan", at="2027-05-04 06:00")
    assert lines[0].endswith("revision 2 saved")
    first = block(lines, "FIRST")
    assert any(re.match(r"  ! \d out base was booked for Mon 3 May: was it laid\?", line) for line in first)
    told = " ".join(" ".join(first).split())
    assert re.search(r'curing log JOB finished \d-out base --at "2027-05-03 15:00" --by PERSON', told)
    assert f"  > curing changes {planned.job}" in lines or "  > curing changes JOB" in lines


def test_us_units(court: Court) -> None:
    court.edit("units: metric", "units: us")
    assert "base 1/2 in" in rows(court.say("plan"))["1 out"]
    assert any(" gal of water" in line for line in court.say("today", at="2027-05-05 06:00"))


def test_a_hold_shut_by_a_reading_heads_the_plan_with_who_read_it(planned: Court) -> None:
    for face, when in (("5-out", "07:10"), ("6-in", "07:20")):
        line = ("log", "reading", face, "low=27", "depth=100mm", "--by", "noor")
        planned.say(*line, at=f"2027-04-30 {when}")
    lines = planned.say("plan", at="2027-04-30 08:00")
    assert [face for face, row in rows(lines).items() if "to read again" in row] == ["5 out", "5 in", "6 out", "6 in"]
    told = " ".join(" ".join(lines).split())
    waiting = "5 out base, 5 in base, 6 out base, 6 in base wait to be read again"
    assert f"FIRST ! panel-dry was shut by a wet reading (Noor, Fri 30 April): {waiting} > let it dry, read" in told
    assert "met 5.panel-dry 6.panel-dry --by LEAD" in told
    assert "panel-dry is not recorded: 5" not in told
    holds = {one["id"]: one for one in planned.json(at="2027-04-30 08:00")["holds"]}
    assert [holds["5.panel-dry"][name] for name in ("shut", "shut_by", "shut_on")] == ["reading", "noor", "2027-04-30"]
    assert holds["1.panel-dry"]["shut"] == ""
