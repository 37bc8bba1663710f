"""What ``curing today`` says."""

from __future__ import annotations

import re
from datetime import datetime
from typing import Any

import pytest
from cli_court import Court


def of_day(plan: dict[str, Any], day: str) -> list[dict[str, Any]]:
    return [one for one in (*plan["rounds"], *plan["bookings"]) if one["start"]["local"].startswith(day)]


def span(one: dict[str, Any]) -> str:
    start, end = (datetime.fromisoformat(one[key]["local"]) for key in ("start", "end"))
    return f"{start:%H:%M}-{end:%H:%M}"


def test_without_a_saved_plan_it_plans_in_memory_and_says_so(court: Court) -> None:
    lines = court.say("today", at="2027-05-05 06:00")
    assert lines[0] == "Alder Court  Wed 5 May 06:00  not saved"
    assert lines[1].startswith("No plan is saved")
    assert not court.state.exists()


@pytest.mark.parametrize("day", ["2027-05-03", "2027-05-06", "2027-05-18"])
def test_everything_of_the_day_stands_with_its_time_and_who(planned: Court, first: dict[str, Any], day: str) -> None:
    names = {one["id"]: one["name"] for one in first["people"]}
    lines = planned.say("today", at=f"{day} 06:00")
    told = lines[: next(k for k, line in enumerate(lines) if line.startswith(("TOMORROW", "Nothing tomorrow")))]
    expected = of_day(first, day)
    assert expected
    for one in expected:
        who = ", ".join(names[person] for person in one["who"]) or "nobody named"
        assert any(line.startswith(f"  {span(one)}  ") and line.endswith(f"  {who}") for line in told), one["id"]


def test_the_faces_of_a_round_stand_in_walking_order(planned: Court, first: dict[str, Any]) -> None:
    lines = planned.say("today", at="2027-05-06 06:00")
    for one in of_day(first, "2027-05-06"):
        if one["kind"] != "round":
            continue
        start = next(k for k, line in enumerate(lines) if line.startswith(f"  {span(one)}  {one['slot']} round"))
        faces = [re.match(r" {15}(\d (?:out|in)) ", line) for line in lines[start + 1 : start + 1 + len(one["visits"])]]
        assert [found and found[1] for found in faces] == [v["face"].replace("-", " ") for v in one["visits"]]
        minutes = sum(visit["minutes"] for visit in one["visits"])
        assert f"  {minutes} min" in lines[start]


def test_steps_limits_waits_duties_and_cautions(planned: Court) -> None:
    lines = planned.say("today", at="2027-05-03 06:00")
    text = " ".join(line.strip() for line in lines)
    assert "Key the coat the same day while it is green" in text
    assert "Air above 5 °C and not above 30 °C." in text
    assert "Wet lime burns. Goggles and gloves." in text
    assert "hold panel-dry; the panel (300 mm, filled Mon 1 March)" in text
    assert any(re.match(r"  Tijn  07:00 \d out base 1\d mm", line) for line in lines)
    assert any(line.startswith("TOMORROW, Tue 4 May") for line in lines)


def test_a_day_without_work_says_what_comes_next(planned: Court) -> None:
    lines = planned.say("today")
    assert "Nothing to do at the walls today." in lines
    assert "Nothing tomorrow, Sat 1 May." in lines
    assert "NEXT, Mon 3 May" in lines


def test_an_edited_job_is_told(planned: Court) -> None:
    assert not any("has changed" in line for line in planned.say("today"))
    planned.edit("area: 10.8 m2", "area: 10.7 m2")
    lines = planned.say("today")
    assert lines[1] == "The job has changed since this plan was saved."
    assert any(line.startswith("  > curing plan ") for line in lines)
    assert planned.say("plan")[0].endswith("revision 2 saved")
    assert not any("has changed" in line for line in planned.say("today"))


def test_the_saved_day_can_be_read_while_the_job_file_is_wrong(planned: Court) -> None:
    before = planned.say("today", at="2027-05-03 06:00")
    planned.edit("area: 10.8 m2", "area: 10.8")
    lines = planned.say("today", at="2027-05-03 06:00")
    assert lines[1].startswith("The job can't be planned as its file stands now")
    assert any(line.startswith("  > curing check ") for line in lines)
    start = lines.index("COATS")
    assert lines[start : lines.index("WAITS")] == before[before.index("COATS") : before.index("WAITS")]


def test_coats_of_other_days_than_today_are_not_today(planned: Court) -> None:
    lines = planned.say("today", at="2027-05-09 06:00")  # a Sunday: misting only
    assert "ROUNDS" in lines
    assert "COATS" not in lines
    assert any(line.endswith("  Saar") for line in lines[lines.index("ROUNDS") :])


def part(lines: list[str], head: str) -> str:
    """Return a block as one line of text; nothing where it is not there."""
    start = next((k for k, line in enumerate(lines) if line.startswith(head)), None)
    if start is None:
        return ""
    end = lines.index("", start) if "" in lines[start:] else len(lines)
    return " ".join(" ".join(lines[start:end]).split())


def test_what_was_called_off_shut_or_done_since_sends_nobody_to_work(planned: Court) -> None:
    def booked(lines: list[str]) -> str:
        return part(lines, "COATS") + part(lines, "WHO") + part(lines, "TOMORROW")

    before = planned.say("today", at="2027-05-03 06:00")
    assert all(coat in booked(before) for coat in ("1 out base", "2 out base", "base 12 mm 2 in"))
    planned.say("log", "could-not", "1-out", "base", "why=rain", "--by", "wil", at="2027-05-03 07:20")
    reading = ("reading", "2-out", "low=27", "depth=100mm", "--by", "noor", "--at", "06:30")
    planned.say("log", *reading, at="2027-05-03 07:20")
    lines = planned.say("today", at="2027-05-03 07:30")
    assert "1 out" not in booked(lines)
    assert "1 out" not in part(lines, "WAITS")
    assert part(lines, "CALLED OFF") == "CALLED OFF base 13 mm 1 out called off: rain, Wil 07:20"
    stop = "STOP: panel-dry is shut (a reading is too wet, Noor 06:30)"
    assert "STOP 2 out base 13 mm road side, bay 2 Wil, Noor, Tijn · " + stop in part(lines, "COATS")
    assert "Wil 10:40 STOP 2 out base 13 mm Noor 10:40 STOP" in part(lines, "WHO")
    assert f"STOP base 12 mm 2 in Wil, Noor, Tijn {stop}" in part(lines, "TOMORROW")
    assert f"2 in base 12 mm 4 May {stop}" in part(lines, "WAITS")
    # The day after, with the plan still as it was: nobody mists a coat that is not there.
    lines = planned.say("today", at="2027-05-04 06:00")
    assert "1 out base day 1/" in part(lines, "ROUNDS")
    assert "not laid: called off" in part(lines, "ROUNDS")
    assert "1 out base 13 mm no day called off: rain, Wil Mon 3 May 07:20" in part(lines, "WAITS")
    # Planned anew, the plan itself says it.
    planned.say("plan", at="2027-05-03 07:40")
    lines = planned.say("today", at="2027-05-03 07:40")
    assert "STOP" not in "".join(lines)
    assert part(lines, "CALLED OFF") == ""


def test_what_is_done_today_does_not_wait(planned: Court) -> None:
    planned.say("log", "finished", "1-out", "base", "--by", "wil", "--at", "10:30", at="2027-05-03 10:40")
    lines = planned.say("today", at="2027-05-03 10:45")
    assert "1 out base" not in part(lines, "WAITS")
    assert "1 out finish" in part(lines, "WAITS")
    assert "base 13 mm 1 out closed 10:30, Wil" in part(lines, "DONE TODAY")
    lines = planned.say("today", at="2027-05-02 10:45")  # the evening before, as a phone that is late shows it
    assert "1 out" not in part(lines, "TOMORROW")
