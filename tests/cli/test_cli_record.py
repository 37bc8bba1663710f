"""What ``curing record`` says of a face and of a job."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from recorded import (
    LAID,
    Recorded,
    at,
    base_laid,
    base_tended,
    block,
    court,
    finish_laid,
    finish_tended,
    job_data,
    joined,
    panel_read,
)

from curing.model.decisions import DecisionKind
from curing.model.record import RecordKind


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Recorded:
    """The north gable from its readings to the last visit of the finish: 65 entries."""
    made = court(tmp_path_factory.mktemp("whole"))
    panel_read(made)
    base_laid(made)
    base_tended(made)
    finish_laid(made)
    finish_tended(made)
    return made


@pytest.fixture(scope="module")
def _planned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return court(tmp_path_factory.mktemp("planned")).job.parent


@pytest.fixture
def made(_planned: Path, tmp_path: Path) -> Recorded:
    """The north gable, planned, nothing recorded."""
    folder = tmp_path / "made"
    shutil.copytree(_planned, folder)
    return Recorded(folder / "court.yaml", folder / "state", job_data())


def test_the_head_says_which_face(whole: Recorded) -> None:
    lines = whole.say("4-out")
    assert lines[0] == "CURING RECORD  4 out  north gable"
    head = joined(lines[: lines.index("")])
    assert "face outside, facing N (0°), 10 m2, top at 2.7 m" in head
    assert "coats clay-lime: Clay-lime base and finish" in head
    assert "panel 300 mm thick, filled Mon 4 Jan 2027" in head
    assert "65, from Thu 29 April 2027 to Tue 15 June 2027; seen Fri 18 June 2027 10:00" in head


def test_the_visits_of_the_finish_add_up(whole: Recorded) -> None:
    """Twice a day for 14 days and once to day 28: 28 + 14 = 42, as told in ``finish_tended``."""
    lines = block(whole.say("4-out"), "TENDING OF THE FINISH COAT")
    sums = joined(lines[:3])
    assert "42 asked: 36 misted, 2 still damp, 1 rain, 1 could not, 2 missed, 0 without a word." in sums
    assert "The rules ask for 42 visits." in sums
    assert "Answered by Saar 37, Wil 3." in sums
    days = [line.split() for line in lines if re.match(r"  \d+ +\w{3} \d", line)]
    assert [int(one[0]) for one in days] == list(range(1, 29))
    assert days[0] == ["1", "Wed", "19", "May", "misted", "07:15", "#24", "misted", "18:40", "#25"]
    assert days[12][:5] == ["13", "Mon", "31", "May", "missed"]
    assert days[27][:5] == ["28", "Tue", "15", "June", "-"]
    cells = " ".join(lines)
    assert cells.count("misted 0") + cells.count("misted 1") == 36 + 2  # two more were said besides
    text = joined(lines)
    assert "could not: #32 Sat 22 May late, scaffold locked (Saar)" in text
    assert "came in later: #33 Sun 23 May 19:15" in text
    assert "said besides: #28 Thu 20 May late, misted 19:30 (Bo); #65 Mon 31 May midday, misted 12:20 (Bo)" in text
    assert "5 Sun 23 May misted 07:15* #33" in text


def test_the_words_of_the_tables_are_explained_once(whole: Recorded) -> None:
    text = joined(whole.say("4-out"))
    for word in ("misted: fogged", "damp: looked at", "rain: wetted", "missed: its time", "*: came in"):
        assert text.count(word) == 1
    assert "no word: its time" not in text


def test_every_entry_stands_on_the_page_with_its_number(whole: Recorded) -> None:
    text = "\n".join(whole.say("4-out"))
    told = {int(one) for one in re.findall(r"#(\d+)", text)}
    for first, last in re.findall(r"#(\d+)-(\d+)", text):
        told |= set(range(int(first), int(last) + 1))
    assert told >= set(range(1, 66))


def test_the_page_of_a_whole_finish_is_a_page(whole: Recorded) -> None:
    lines = whole.say("4-out")
    assert len(block(lines, "TENDING OF THE FINISH COAT")) <= 28 + 8
    assert len(lines) < 140


def test_a_hold_is_told_with_its_readings(whole: Recorded) -> None:
    text = joined(block(whole.say("4-out"), "HOLD POINTS BEFORE THE BASE COAT"))
    # 19.8 % is the highest of the eight; 7 days from the day they were read.
    assert "met Thu 29 April by Wil #10, on #2-9, the wettest 19.8 % wet basis, counts to Thu 6 May" in text
    assert "met Mon 1 Feb by Wil, in the job file" in text
    assert "!" not in text
    assert "met Sun 16 May by Wil #21, on #20" in joined(block(whole.say("4-out"), "HOLD POINTS BEFORE THE FINISH"))


def test_the_coats_with_their_waits(whole: Recorded) -> None:
    text = joined(block(whole.say("4-out"), "COATS"))
    assert "base coat laid Mon 3 May 07:30 to 14:10 by Wil #11, #13" in text
    assert "batch 7: clay 2, lime 1.33, sand 8 #12" in text
    assert "finish coat laid Tue 18 May 08:00 to 13:00 by Wil #22-23" in text
    # From 3 to 18 May are 15 days; 13 mm at a day each are 13.
    assert "15 days after the base coat; the rules: 13 to 28 days" in text
    assert "first coat of silicate paint not laid; booked for Wed 23 June" in text


def test_a_wait_that_was_broken_is_marked(made: Recorded) -> None:
    panel_read(made)
    base_laid(made)
    made.add(RecordKind.FINISHED, at(5, 10, "13:00"), task="finish")
    text = joined(block(made.say("4-out", when="2027-05-11 10:00"), "COATS"))
    assert "! 7 days after the base coat; the rules: 13 to 28 days" in text
    holds = joined(block(made.say("4-out", when="2027-05-11 10:00"), "HOLD POINTS BEFORE THE FINISH"))
    assert "! not recorded as met when the finish coat was laid, Mon 10 May" in holds


def test_readings_of_both_sides_and_what_they_count_for(made: Recorded) -> None:
    panel_read(made)
    wet = {"basis": "wet", "band": "low", "depth": 100, "meter": "probe"}
    made.add(RecordKind.READING, at(4, 30, "09:00"), face="4-in", by="bo", value=20.04, **wet)
    made.add(RecordKind.READING, at(4, 30, "09:05"), by="bo", value=23.5, **wet | {"basis": "dry"})
    made.add(RecordKind.READING, at(4, 30, "09:10"), by="bo", value=15, **wet | {"depth": 40})
    made.add(RecordKind.READING, at(4, 30, "09:15"), by="bo", value=15, **wet | {"meter": "other"})
    lines = block(made.say("4-out", when="2027-05-01 10:00"), "PANEL READINGS, both sides: 20 % or less passes")
    text = [" ".join(line.split()) for line in lines]
    assert "Thu 29 April, read by Wil, meter probe" in text
    assert "#2 09:00 out low 100 mm 18.5 % wet 18.5 % passes" in text
    assert "#9 09:07 in low 150 mm, mid 19.8 % wet 19.8 % passes" in text
    assert "Fri 30 April, read by Bo, meter probe" in text
    assert "#11 09:00 in low 100 mm 20.04 % wet 20.04 % TOO WET" in text
    # 23.5 / 123.5 = 19.03 %
    assert "#12 09:05 out low 100 mm 23.5 % dry 19.03 % passes" in text
    assert "#13 09:10 out low 40 mm 15 % wet 15 % shallow" in text
    assert "#14 09:15 out low 100 mm 15 % wet 15 % unchecked" in text


def test_a_hold_shut_again_lapsed_and_refused(made: Recorded) -> None:
    panel_read(made)
    made.add(
        RecordKind.READING, at(4, 30, "09:00"), value=22, basis="wet", band="low", depth=100, meter="probe"
    )  # 11  # fmt: skip
    made.add(
        RecordKind.READING, at(4, 30, "15:00"), value=19, basis="wet", band="low", depth=100, meter="probe"
    )  # 12  # fmt: skip
    made.add(RecordKind.HOLD_MET, at(4, 30, "16:00"), face=None, hold="panel-dry", wall="4", right="lead")  # 13
    made.add(RecordKind.RAIN_ON_IT, at(5, 1, "16:00"), by="saar")  # 14
    made.add(RecordKind.HOLD_REFUSED, at(5, 2, "16:00"), face=None, hold="sockets", wall="4", note="one is bare")  # 15
    made.add(RecordKind.FINISHED, at(5, 3, "14:10"), task="base")
    text = joined(block(made.say("4-out", when="2027-05-04 09:00"), "HOLD POINTS BEFORE THE BASE COAT"))
    assert (
        "met Thu 29 April by Wil #10, on #2-9, the wettest 19.8 % wet basis, counts to Thu 6 May "
        "shut again Fri 30 April: a reading was too wet (#11, Wil) "
        "met Fri 30 April by Wil #13, on #3-9, #12, the wettest 19.8 % wet basis, counts to Thu 6 May "
        "shut again Sat 1 May: rain on the bare panel (#14, Saar) "
        "! not recorded as met when the base coat was laid, Mon 3 May" in text
    )
    assert "refused Sun 2 May by Wil #15; one is bare ! not recorded as met" in text


def test_a_pass_lapses_after_a_week(made: Recorded) -> None:
    panel_read(made)
    lines = made.say("4-out", when="2027-05-10 09:00")
    assert "lapsed Fri 7 May: its readings were too old" in joined(block(lines, "HOLD POINTS BEFORE THE BASE"))
    assert any(line.startswith("  panel-dry is not met:") for line in block(lines, "STILL OPEN"))
    lines = made.say("4-out", when="2027-05-01 09:00")
    assert "lapsed" not in joined(block(lines, "HOLD POINTS BEFORE THE BASE"))


def test_weighings_are_a_trend_and_open_nothing(made: Recorded) -> None:
    for day, weight in ((4, 231.4), (11, 228.6), (18, 226.9)):
        made.add(RecordKind.READING, at(3, day, "09:00"), face=None, weight=weight, wall="4")
    lines = block(made.say("4-out", when="2027-04-29 09:00"), "WEIGHINGS")
    rows = [line.split()[1:] for line in lines[1:4]]
    # 231.4 - 228.6 = 2.8 kg in 7 days; 228.6 - 226.9 = 1.7 kg in 7 days.
    assert rows[0] == ["Thu", "4", "March", "panel", "231.4", "kg", "Wil"]
    assert rows[1] == ["Thu", "11", "March", "panel", "228.6", "kg", "-0.40", "kg", "Wil"]
    assert rows[2] == ["Thu", "18", "March", "panel", "226.9", "kg", "-0.24", "kg", "Wil"]
    assert "never opens the hold point" in joined(lines)


def test_corrections_show_both_and_only_the_right_one_counts(made: Recorded) -> None:
    panel_read(made)
    made.plan("2027-04-30 06:00")
    made.add(RecordKind.FINISHED, at(5, 3, "11:10"), task="base")  # 11
    right = {"kind": "finished", "at": at(5, 3, "14:10").isoformat(), "face": "4-out", "data": {"task": "base"}}
    made.add(RecordKind.CORRECTION, at(5, 4, "08:00"), corrects="k11", why="typing slip", instead=right)  # 12
    made.add(RecordKind.NOTE, at(5, 4, "08:05"), text="wrong wall")  # 13
    made.add(RecordKind.CORRECTION, at(5, 4, "08:10"), corrects="k13")  # 14
    lines = made.say("4-out", when="2027-05-04 10:00")
    text = joined(block(lines, "CORRECTIONS"))
    assert "#11 base coat finished, Mon 3 May 11:10, Wil [no longer holds]" in text
    assert "#12 corrects entry 11: base coat finished, Mon 3 May 14:10 (typing slip); said Tue 4 May 08:00, Wil" in text
    assert "#14 corrects entry 13: withdrawn; said Tue 4 May 08:10, Wil" in text
    assert "laid Mon 3 May 14:10 by Wil #12" in joined(block(lines, "COATS"))
    assert not [line for line in lines if line.startswith("TESTS, INSPECTIONS")]
    listed = joined(made.say("--last", "0", when="2027-05-04 10:00"))
    assert "[no longer holds: #12] base coat finished" in listed


def test_what_is_open_while_the_base_is_tended(made: Recorded) -> None:
    panel_read(made)
    base_laid(made)
    made.plan("2027-05-03 18:00")
    made.add(RecordKind.MISTED, at(5, 4, "07:10"), coat="base", slot="early")
    lines = made.say("4-out", when="2027-05-05 12:00")
    # Early 4 May misted; late 4 May over for more than 12 hours; early 5 May over since the morning; three to come.
    sums = joined(block(lines, "TENDING OF THE BASE COAT"))
    assert "3 asked: 1 misted, 0 still damp, 0 rain, 0 could not, 1 missed, 1 without a word." in sums
    assert "3 are still to come, the last Thu 6 May." in sums
    text = joined(block(lines, "STILL OPEN"))
    assert "base coat: 1 visit without a word, Wed 5 May" in text
    assert "base coat: 1 visit missed, Tue 4 May: look for cracks" in text
    assert "base-dry can't be judged yet" in text
    made.add(RecordKind.INSPECTION, at(5, 5, "11:00"), sound=True)
    assert "1 visit missed" not in joined(block(made.say("4-out", when="2027-05-05 12:00"), "STILL OPEN"))


def test_an_unsound_face_stays_open(made: Recorded) -> None:
    made.add(RecordKind.INSPECTION, at(5, 5, "11:00"), sound=False, found="hollow at the top")
    text = joined(block(made.say("4-out", when="2027-05-06 12:00"), "STILL OPEN"))
    assert "inspected: not sound, hollow at the top, Wed 5 May 11:00 #1: nothing sound recorded since" in text


def test_what_is_not_claimed(whole: Recorded) -> None:
    text = joined(block(whole.say("4-out"), "WHAT THIS RECORD DOES NOT CLAIM"))
    for word in ("No strength", "carbonation", "not measured", "weather records", "Local codes"):
        assert word in text


def test_the_side_without_coats_shows_the_panel(whole: Recorded) -> None:
    lines = whole.say("4-in")
    assert lines[0] == "CURING RECORD  4 in  north gable"
    assert "this side gets no coats in this job" in joined(lines)
    assert "met Thu 29 April by Wil #10" in joined(block(lines, "HOLD POINT OF THE PANEL"))
    assert sum(" passes" in line for line in block(lines, "PANEL READINGS")) == 8
    assert not [line for line in lines if line.startswith(("COATS", "TENDING"))]


# ------------------------------------------------------------------------ names that change, zones, units


def test_a_renamed_wall_keeps_its_record(tmp_path: Path) -> None:
    made = court(tmp_path)
    panel_read(made)
    base_laid(made)
    made.plan("2027-05-03 18:00")
    made.add(RecordKind.MISTED, at(5, 4, "07:10"), coat="base", slot="early")
    made.data["walls"][0] |= {"id": "gable", "was": "4"}
    made.save()
    for planned in (False, True):
        if planned:
            made.plan("2027-05-04 09:00")
        lines = made.say("gable-out", when="2027-05-04 12:00")
        assert lines[0] == "CURING RECORD  gable out  north gable"
        assert "laid Mon 3 May 07:30 to 14:10" in joined(block(lines, "COATS"))
        assert "1 asked: 1 misted" in joined(block(lines, "TENDING OF THE BASE COAT"))
        assert "gable out base coat finished" in joined(made.say(when="2027-05-04 12:00"))
    gone = made.run("4-out", when="2027-05-04 12:00")
    assert (gone.exit_code, gone.stdout) == (2, "")
    assert 'is called "gable-out" now' in gone.stderr
    document = json.loads(made.run("gable-out", "--json", when="2027-05-04 12:00").stdout)
    assert document["face"] == {"id": "gable-out", "root": "4-out"}
    assert {one["face"]["id"] for one in document["entries"] if one["face"]} == {"gable-out", "gable-in"}


def test_who_left_is_shown_by_the_id_they_had(made: Recorded) -> None:
    made.add(RecordKind.NOTE, at(5, 4, "07:10"), by="bo", text="sand is wet")
    wil = next(one for one in made.data["people"] if one["id"] == "wil")
    others = [one for one in made.data["people"] if one["id"] != "bo"]
    made.data["people"] = [*others, {**wil, "id": "tom", "name": "Tom"}]
    made.data["crews"][0]["people"] = ["wil", "tom"]
    made.save()
    row = next(line for line in made.say(when="2027-05-04 12:00") if "sand is wet" in line)
    assert " bo " in row
    assert any(" bo " in line for line in made.say("4-out", when="2027-05-04 12:00") if "sand is wet" in line)
    (one,) = json.loads(made.run("--json").stdout)["entries"]
    assert one["by"] == {"id": None, "root": "bo", "name": None}


def test_each_wall_has_the_clock_of_its_site(tmp_path: Path) -> None:
    data = job_data()
    denver = ZoneInfo("America/Denver")
    place = {"latitude": 39.7, "longitude": -105.0, "time_zone": "America/Denver"}
    data["sites"].append({"id": "mesa", "name": "Mesa", **place})
    data["walls"][0]["site"] = "court"
    second = {**data["walls"][0], "id": "7", "name": "mesa side", "site": "mesa"}
    made = court(tmp_path, sites=data["sites"], walls=[data["walls"][0], second])
    made.add(RecordKind.NOTE, at(5, 4, "07:10"), text="here")
    made.add(RecordKind.NOTE, at(5, 4, "23:10", denver), face="7-out", text="there")
    rows = made.say(when="2027-05-06 12:00")
    assert any("Tue 4 May 07:10" in line and "here" in line for line in rows)
    assert any("Tue 4 May 23:10" in line and "there" in line for line in rows)
    assert "Each time is by the clock of its wall's site." in rows
    assert any("Tue 4 May 23:10" in line and "there" in line for line in made.say("7-out", when="2027-05-06 12:00"))


def test_us_units(tmp_path: Path) -> None:
    made = court(tmp_path, units="us")
    panel_read(made)
    made.add(RecordKind.READING, at(4, 29, "11:00"), face=None, weight=231.4, wall="4")
    made.add(RecordKind.FINISHED, at(5, 3, "14:10"), task="base")
    text = joined(made.say("4-out", when="2027-05-04 09:00"))
    # 10 m2 = 107.6 ft2; 2.7 m = 8 ft 10.3 in; 300 mm = 11.81 in; 100 mm = 3.94 in; 13 mm = 0.512 in;
    # 231.4 kg = 510.15 lb
    for figure in (
        "108 ft2, top at 8 ft 10 in",
        "11 13/16 in thick",
        "low 3 15/16 in 18.5 %",
        "1/2 in by the rules",
        "510.1 lb",
    ):
        assert figure in text
    assert not re.search(r"\d (mm|m2|kg)\b", text)


# --------------------------------------------------------------------------------- the list of a job


def test_the_list_is_in_order_and_ends_with_the_newest(whole: Recorded) -> None:
    lines = whole.say()
    assert lines[0] == "Alder Court  Fri 18 June 10:00  record: 65 entries"
    assert lines[1] == "The last 20 of 65; all: --last 0"
    rows = [line for line in lines if line.startswith("#")]
    assert len(rows) == 20
    assert " ".join(rows[-1].split()) == "#64 Tue 15 June 18:40 Saar 4 out late visit of the finish coat: misted"
    assert len([line for line in whole.say("--last", "3") if line.startswith("#")]) == 3
    every = [line for line in whole.say("--last", "0") if line.startswith("#")]
    assert len(every) == 65
    assert every[0].startswith("#1 ")


def test_what_came_in_late_says_when(whole: Recorded) -> None:
    text = joined(whole.say("--last", "0"))
    assert "early visit of the finish coat: misted [came in Sun 23 May 19:15]" in text
    assert text.count("came in") == 1


def test_decisions_stand_in_the_list_and_at_their_coat(made: Recorded) -> None:
    made.decide(DecisionKind.KEEP, at(5, 1, "09:00"), face="4-out", coat="base", day="2027-05-03", why="tower leaves")
    made.decide(DecisionKind.ASSIGN, at(5, 2, "09:00"), to="saar", first="2027-05-08", last="2027-05-09", slot="early")
    text = joined(made.say(when="2027-05-03 10:00"))
    assert "d1 Sat 1 May 09:00 Wil 4 out decided: base coat stays on Mon 3 May against a rule: tower leaves" in text
    assert "d2 Sun 2 May 09:00 Wil decided: early rounds to Saar, Sat 8 May to Sun 9 May" in text
    face = joined(block(made.say("4-out", when="2027-05-03 10:00"), "COATS"))
    assert "kept on Mon 3 May by decision of Wil: tower leaves (decision 1)" in face


def test_nothing_recorded(made: Recorded) -> None:
    assert made.say()[-1].startswith("Nothing is recorded or decided yet")
    lines = made.say("4-out", when="2027-04-29 09:00")
    assert "entries none yet" in joined(lines)
    assert "panel-dry is not met" in joined(block(lines, "STILL OPEN"))


# ---------------------------------------------------------------------------------------- as JSON


def test_the_written_form(made: Recorded) -> None:
    made.add(RecordKind.MISTED, at(5, 4, "07:10"), by="saar", late=3, coat="base", slot="early")
    made.add(RecordKind.CORRECTION, at(5, 4, "12:00"), corrects="k1", why="not that day")
    made.add(RecordKind.READING, at(5, 4, "13:00"), face=None, weight=4.25, wall="4", of="block")
    document = json.loads(made.run("--json", when="2027-05-05 10:00").stdout)
    assert document["curing_record"] == 1
    assert document["job"] == {"uid": made.data["uid"], "name": "Alder Court"}
    assert document["as_of"] == "2027-05-05T08:00:00Z"
    assert document["face"] is None
    assert document["entries"][0] == {
        "number": 1,
        "key": "k1",
        "kind": "misted",
        "at": "2027-05-04T05:10:00Z",
        "received": "2027-05-04T08:10:00Z",
        "local": {"at": "2027-05-04T07:10:00+02:00", "zone": "Europe/Amsterdam"},
        "late": True,
        "by": {"id": "saar", "root": "saar", "name": "Saar"},
        "face": {"id": "4-out", "root": "4-out"},
        "wall": {"id": "4", "root": "4"},
        "data": {"coat": "base", "slot": "early"},
        "corrects": None,
        "corrected_by": 2,
        "text": "early visit of the base coat: misted",
    }
    assert document["entries"][1]["corrects"] == 1
    assert (document["entries"][2]["face"], document["entries"][2]["wall"]["root"]) == (None, "4")
    face = json.loads(made.run("4-out", "--json").stdout)
    assert [one["number"] for one in face["entries"]] == [1, 2, 3]


def test_a_face_has_its_own_entries_and_those_of_its_panel(tmp_path: Path) -> None:
    data = job_data()
    second = {**data["walls"][0], "id": "5", "name": "yard"}
    inner = {"side": "in", "area": "10 m2", "height": "2.7 m", "system": "clay-inside"}
    walls = [{**data["walls"][0], "faces": [*data["walls"][0]["faces"], inner]}, second]
    holds = {**data["holds"], "sample-clay": "2027-02-01"}
    made = court(tmp_path, walls=walls, holds=holds)
    panel_read(made)  # 1 the meter, 2 to 9 both sides, 10 the wall's hold
    made.add(RecordKind.NOTE, at(5, 4, "07:10"), face="4-in", text="other side")
    made.add(RecordKind.NOTE, at(5, 4, "07:11"), face="5-out", text="other wall")
    made.add(RecordKind.NOTE, at(5, 4, "07:12"), face=None, text="whole job")
    made.add(RecordKind.HOLD_MET, at(5, 4, "07:13"), face=None, hold="sample-panel")
    made.add(RecordKind.HOLD_MET, at(5, 4, "07:14"), face=None, hold="sample-clay")
    numbers = {
        face: [one["number"] for one in json.loads(made.run(face, "--json").stdout)["entries"]]
        for face in ("4-out", "4-in", "5-out")
    }
    assert numbers == {"4-out": [*range(1, 11), 14], "4-in": [*range(1, 12), 15], "5-out": [12, 14]}


# ----------------------------------------------------------------------------------- what goes wrong


def refused(made: Recorded, *words: str) -> tuple[int, str]:
    result = made.run(*words)
    assert result.stdout == ""
    return result.exit_code, " ".join(result.stderr.split())


def test_a_face_that_is_not_there(made: Recorded) -> None:
    assert refused(made, "9-out") == (2, 'face "9-out": not of this job; its faces are 4-out')
    assert refused(made, "4")[1] == 'face "4": a wall has two sides; ask for "4-out" or "4-in"'
    assert "has no coats, and nothing is recorded of it" in refused(made, "4-in")[1]
    assert refused(made, "\x1b[31m" + "x" * 200)[0] == 2


def test_last_is_for_the_list(made: Recorded) -> None:
    assert refused(made, "4-out", "--last", "3")[0] == 2
    assert refused(made, "--json", "--last", "3")[0] == 2


def test_no_state(tmp_path: Path) -> None:
    made = Recorded(tmp_path / "court.yaml", tmp_path / "state", job_data())
    made.save()
    code, text = refused(made)
    assert code == 1
    assert "nothing is saved here yet" in text
    assert not made.state.exists()


def test_a_job_file_with_faults_tells_them(made: Recorded) -> None:
    made.data["walls"][0]["faces"][0]["area"] = "none"
    made.save()
    code, text = refused(made, "4-out")
    assert code == 1
    assert "area" in text


def test_an_entry_that_nobody_can_read_is_told(made: Recorded) -> None:
    made.add(RecordKind.READING, at(5, 4, "07:10"), humidity=3)
    code, text = refused(made)
    assert code == 1
    assert "entry 1: reading:" in text


HOSTILE = "\x1b[2J\r\n\x07\u202etxet\u2028 " + "very long " * 60 + "北" * 120 + "w" * 300


@pytest.mark.parametrize("words", [(), ("4-out",), ("--last", "0")])
def test_control_signs_and_long_text_break_no_page(made: Recorded, words: tuple[str, ...]) -> None:
    text = HOSTILE[:2000]
    panel_read(made)
    base_laid(made)
    made.plan("2027-05-03 18:00")
    made.add(RecordKind.NOTE, at(5, 4, "07:00"), text=text)
    made.add(RecordKind.COULD_NOT, at(5, 4, "07:10"), coat="base", slot="early", why=text[:500])
    made.add(RecordKind.INSPECTION, at(5, 4, "07:20"), sound=False, found=text)
    made.add(RecordKind.HOLD_REFUSED, at(5, 4, "07:30"), hold="base-dry", note=text)
    made.add(RecordKind.BATCH, at(5, 4, "07:40"), task="base", number=text[:300], mix={"sand\x07": text[:200]})
    made.add(RecordKind.MISTED, at(5, 5, "07:40"), by="x" * 80, coat="base", slot="early")
    for line in made.say(*words, when="2027-05-05 12:00"):
        assert line.isprintable()


def test_visits_before_anybody_planned_were_in_nobodys_calendar(tmp_path: Path) -> None:
    """The base was laid on Mon 26 April, and the job was planned first on Wed 28."""
    (wall,) = job_data()["walls"]
    done = {
        **wall,
        "faces": [{**wall["faces"][0], "done": {"base": "2027-04-26"}}],
        "holds": {"panel-dry": "2027-04-23"},
    }
    made = court(tmp_path, walls=[done])
    lines = made.say("4-out", when="2027-05-10 12:00")
    assert "laid Mon 26 April, in the job file" in joined(block(lines, "COATS"))
    holds = joined(block(lines, "HOLD POINTS BEFORE THE BASE"))
    assert "met Fri 23 April, in the job file, counts to Fri 30 April" in holds
    assert "!" not in holds
    text = joined(block(lines, "TENDING OF THE BASE COAT"))
    # Three days twice: the first was over, four visits were asked for.
    assert "4 asked: 0 misted" in text
    assert "in nobody's calendar: day 1" in text


def test_visits_said_of_a_coat_without_a_plan_are_not_lost(made: Recorded) -> None:
    panel_read(made)
    base_laid(made)
    number = visit_of_base(made)
    assert f"#{number}" in joined(made.say("4-out", when="2027-05-20 12:00"))


def visit_of_base(made: Recorded) -> int:
    return made.add(RecordKind.MISTED, at(5, 9, "12:00"), coat="base", slot="midday")


def test_laying_day_is_day_nought(whole: Recorded) -> None:
    assert LAID.isoformat() == "2027-05-18"
    rows = block(whole.say("4-out"), "TENDING OF THE BASE COAT")
    assert [line.split()[:4] for line in rows if re.match(r"  \d ", line) and "May" in line] == [
        ["1", "Tue", "4", "May"],
        ["2", "Wed", "5", "May"],
        ["3", "Thu", "6", "May"],
    ]


def test_a_tick_taken_back_leaves_its_visit_open(made: Recorded) -> None:
    panel_read(made)
    base_laid(made)
    made.plan("2027-05-03 18:00")
    number = made.add(RecordKind.MISTED, at(5, 4, "07:10"), coat="base", slot="early")
    when = "2027-05-05 06:00"
    assert "2 asked: 1 misted" in joined(block(made.say("4-out", when=when), "TENDING OF THE BASE COAT"))
    made.add(RecordKind.CORRECTION, at(5, 4, "09:00"), corrects=f"k{number}", why="other wall")
    lines = made.say("4-out", when=when)
    assert "2 asked: 0 misted" in joined(block(lines, "TENDING OF THE BASE COAT"))
    assert f"#{number} early visit of the base coat: misted, Tue 4 May 07:10, Wil [no longer holds]" in joined(lines)


def test_a_meter_found_false_later_is_told(made: Recorded) -> None:
    panel_read(made)
    made.add(RecordKind.TEST, at(4, 30, "12:00"), face=None, meter="probe", read=14.0, dried=19.0)
    lines = made.say("4-out", when="2027-05-01 09:00")
    assert "shut again Fri 30 April: its meter was found false (#11, Wil)" in joined(
        block(lines, "HOLD POINTS BEFORE THE BASE")
    )
    readings = block(lines, "PANEL READINGS")
    assert sum(line.endswith("unchecked") for line in readings) == 8
    assert "#11 meter probe read 14 %, the dried sample held 19 % wet basis, Fri 30 April" in joined(readings)


def test_a_hold_met_word_taken_back(made: Recorded) -> None:
    panel_read(made)
    made.add(RecordKind.CORRECTION, at(4, 30, "09:00"), face=None, corrects="k10", why="wrong wall")
    lines = made.say("4-out", when="2027-05-01 09:00")
    holds = joined(block(lines, "HOLD POINTS BEFORE THE BASE"))
    assert "met Thu 29 April by Wil" not in holds
    assert any(line.startswith("  panel-dry is not met:") for line in block(lines, "STILL OPEN"))
    assert "#10 hold panel-dry met, Thu 29 April 10:00, Wil [no longer holds]" in joined(block(lines, "CORRECTIONS"))


def test_a_coat_laid_a_day_late_is_counted_from_its_own_day(made: Recorded) -> None:
    """Planned for Mon 3 May, laid on Tue 4 May, and nobody planned again: the calendars had 4 to 6 May."""
    panel_read(made)
    made.plan("2027-04-30 06:00")
    made.add(RecordKind.FINISHED, at(5, 4, "14:10"), task="base")
    text = joined(block(made.say("4-out", when="2027-05-08 12:00"), "TENDING OF THE BASE COAT"))
    assert "4 asked: 0 misted, 0 still damp, 0 rain, 0 could not, 4 missed" in text
    assert "1 Wed 5 May missed missed 2 Thu 6 May missed missed" in text
    assert "in nobody's calendar: day 3" in text


def test_what_lies_under_another_coat_is_no_longer_open(made: Recorded) -> None:
    panel_read(made)
    base_laid(made)
    made.plan("2027-05-04 06:00")
    when = "2027-05-19 06:00"
    assert "base coat: 6 visits missed" in joined(block(made.say("4-out", when=when), "STILL OPEN"))
    made.add(RecordKind.FINISHED, at(5, 18, "13:00"), task="finish")
    lines = made.say("4-out", when=when)
    assert "base coat" not in joined(block(lines, "STILL OPEN"))
    assert "6 asked: 0 misted" in joined(block(lines, "TENDING OF THE BASE COAT"))


def test_what_came_in_late_stands_where_it_happened(made: Recorded) -> None:
    made.add(RecordKind.NOTE, at(5, 4, "12:00"), text="noon")
    made.add(RecordKind.NOTE, at(5, 4, "07:00"), late=9, text="morning")
    made.decide(DecisionKind.ASSIGN, at(5, 4, "09:00"), to="saar", first="2027-05-08", last="2027-05-08")
    rows = [line.split()[0] for line in made.say(when="2027-05-05 12:00") if re.match(r"[#d]\d", line)]
    assert rows == ["#2", "d1", "#1"]
