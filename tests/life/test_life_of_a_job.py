"""The life of a job, step by step: what is planned, said, moved, renamed, lost and found again.

Dates are those of the worked examples A, B and G, counted by hand: laying day is day 0; 13 mm at a day a
millimetre is 13 days; 16 and 17 May are Pentecost. Each step goes on from the one before.
"""

from __future__ import annotations

import shutil
from datetime import date
from pathlib import Path

import pytest
from yard import SECOND, YARD, Yard, change, clock, coat, day, rounds, sequence, visits

from curing.model.plan import Kind, Plan, State

SYSTEMS = Path(__file__).parents[2] / "templates" / "systems"
MAY = {number: date(2027, 5, number) for number in range(1, 32)}


@pytest.fixture(scope="module")
def yard(tmp_path_factory: pytest.TempPathFactory) -> Yard:
    return Yard(tmp_path_factory.mktemp("life"))


@pytest.fixture(scope="module")
def told() -> dict[str, Plan]:
    """The plans people were told, by step."""
    return {}


def test_1_set_up_and_planned(yard: Yard, told: dict[str, Plan]) -> None:
    plan = told["first"] = yard.plan("2027-04-30 06:00")
    base, finish = coat(plan, "3-out.base"), coat(plan, "3-out.finish")
    assert (day(base), base.state, base.holds) == (MAY[3], State.CONDITIONAL, ("3.panel-dry",))
    assert (day(finish), finish.state) == (MAY[18], State.CONDITIONAL)
    assert plan.revision == 1


def test_2_read_and_opened_by_the_lead_alone(yard: Yard, told: dict[str, Plan]) -> None:
    now = "2027-04-30 14:00"
    text = yard.refused("log", "met", "3.panel-dry", "--by", "ida", at=now)
    assert "no reading of the last 7 days" in text
    assert "in: low, middle, top, mid-depth" in text
    yard.say("log", "test", "meter=probe", "read=12.4", "dried=12.0", "--by", "bo", at=now)
    yard.read_dry("3", now, sides=("out",))
    assert "out:" not in yard.refused("log", "met", "3.panel-dry", "--by", "ida", at=now)
    yard.read_dry("3", now, sides=("in",))
    assert "only these open a hold; let ida say it" in yard.refused("log", "met", "3.panel-dry", "--by", "bo", at=now)
    waiting = yard.plan(now)
    assert "what was read and tested passes" in yard.page
    assert "met 3.panel-dry --by LEAD" in yard.page
    assert coat(waiting, "3-out.base").state is State.CONDITIONAL

    yard.say("log", "met", "3.panel-dry", "--by", "ida", "--key", "opened", at="2027-04-30 14:10")
    plan = told["opened"] = yard.plan("2027-04-30 15:00")
    before, base = coat(told["first"], "3-out.base"), coat(plan, "3-out.base")
    assert (day(base), base.state, base.uid) == (MAY[3], State.FIRM, before.uid)
    assert sequence(plan, base.uid) == sequence(told["first"], base.uid) + 1
    why = change(plan, "3-out.base").reason
    assert (why.rule, why.values["entry"], why.values["by"]) == ("change.hold_met", "opened", "Ida")
    assert "what was read and tested passes" not in yard.page
    (hold,) = [one for one in plan.holds if one.id == "3.panel-dry"]
    assert (hold.met, hold.by, hold.lapses) == (date(2027, 4, 30), "ida", MAY[7])


def test_3_laid_at_its_true_time(yard: Yard, told: dict[str, Plan]) -> None:
    yard.say("log", "started", "3-out", "base", "--by", "ida", "--at", "07:20", at="2027-05-03 12:00")
    yard.say("log", "finished", "3-out", "base", "--by", "ida", "--at", "14:50", "--key", "laid", at="2027-05-03 15:00")
    plan = told["laid"] = yard.plan("2027-05-03 15:10")
    base = coat(plan, "3-out.base")
    assert (base.state, clock(base.start), clock(base.end)) == (State.DONE, "2027-05-03 07:20", "2027-05-03 14:50")
    assert base.uid == coat(told["first"], "3-out.base").uid
    assert visits(plan, "3-out", "base") == [MAY[4], MAY[4], MAY[5], MAY[5], MAY[6], MAY[6]]
    assert (day(coat(plan, "3-out.finish")), coat(plan, "3-out.finish").state) == (MAY[18], State.FIRM)
    why = change(plan, "3-out.base").reason
    assert (why.rule, why.values["entry"]) == ("change.done", "laid")


def test_4_ticked(yard: Yard, told: dict[str, Plan]) -> None:
    yard.say("log", "misted", "early", "--by", "near", "--at", "07:40", at="2027-05-04 08:00")
    yard.say("log", "damp", "3-out", "late", "--by", "near", at="2027-05-04 18:30")
    plan = told["ticked"] = yard.plan("2027-05-04 19:00")
    assert [one.state for one in rounds(plan, MAY[4]).values()] == [State.DONE, State.DONE]
    assert plan.changes == ()  # a tick moves nothing
    early = rounds(plan, MAY[4])["early"]
    assert sequence(plan, early.uid) == sequence(told["laid"], early.uid) + 1
    assert "without a word" not in yard.page


def test_5_missed_and_looked_at(yard: Yard, told: dict[str, Plan]) -> None:
    """Worked example G: never answered, it counts as missed after 12 hours, and an inspection is opened."""
    early = rounds(told["ticked"], MAY[5])["early"]
    assert early.until is not None
    yard.plan("2027-05-05 13:00")
    assert "3 out base: was it misted? 1 visit without a word, Wed 5 May early" in yard.page
    yard.say("log", "misted", "3-out", "late", "--by", "near", at="2027-05-05 18:30")
    plan = told["missed"] = yard.plan("2027-05-06 06:00")
    assert "3 out base: 1 visit of its first days did not take place, Wed 5 May: look for cracks" in yard.page
    assert rounds(plan, MAY[5])["early"].state is State.FIRM  # missed is derived, never stored
    yard.say("log", "inspection", "3-out", "sound", "found=no cracks", "--by", "ida", at="2027-05-06 07:00")
    yard.plan("2027-05-06 07:05")
    assert "look for cracks" not in yard.page


def test_6_a_round_is_handed_on(yard: Yard, told: dict[str, Plan]) -> None:
    """Passing it on is one event gone and one new. Ascension is no day of Bo's, but the round is his."""
    before = rounds(told["missed"], MAY[6])["late"]
    assert before.who == ("near",)
    said = ("log", "passed-on", "to=bo", "from=2027-05-06", "late", "--by", "near", "--key", "handed")
    yard.say(*said, at="2027-05-06 08:00")
    plan = told["handed"] = yard.plan("2027-05-06 08:05")
    after = rounds(plan, MAY[6])["late"]
    assert after.who == ("bo",)
    assert after.uid != before.uid
    assert before.uid in plan.gone
    assert before.uid not in plan.events
    moved = [one for one in plan.changes if one.reason.rule == "change.turn"]
    assert {one.reason.values["entry"] for one in moved} == {"handed"}
    assert {one.uid for one in moved} == {before.uid, after.uid}


def test_7_a_wall_is_renamed(yard: Yard, told: dict[str, Plan]) -> None:
    yard.say("log", "misted", "early", "--by", "near", at="2027-05-06 08:30")
    yard.say("log", "misted", "3-out", "late", "--by", "bo", at="2027-05-06 18:30")
    yard.edit('- id: "3"', '- id: gable\n    was: "3"')
    plan = told["renamed"] = yard.plan("2027-05-07 06:00")
    for name in ("base", "finish"):
        old, new = coat(told["handed"], f"3-out.{name}"), coat(plan, f"gable-out.{name}")
        assert (old.uid, old.start, old.state) == (new.uid, new.start, new.state)
    assert "without a word" not in yard.page  # what was missed was looked at, and found sound
    assert "was it misted" not in yard.page  # what was ticked under the old name is known
    assert "laid" in yard.say("record", "gable-out", at="2027-05-07 06:00")
    yard.say("log", "note", "gable-out", "scaffold stays", "--by", "bo", at="2027-05-07 07:00")


def test_8_a_system_changes_after_work_began(yard: Yard, told: dict[str, Plan]) -> None:
    """What is laid keeps its rules; what is open takes the new ones and tells it as a change."""
    system = (SYSTEMS / "clay-lime.yaml").read_text()
    for rule, old, new in (("base.twice_to", "3 d", "2 d"), ("finish.twice_to", "14 d", "10 d")):
        assert f"- id: {rule}\n    value: {old}\n" in system
        system = system.replace(f"- id: {rule}\n    value: {old}\n", f"- id: {rule}\n    value: {new}\n")
    (yard.folder / "systems").mkdir()
    (yard.folder / "systems" / "clay-lime.yaml").write_text(system)
    plan = told["edited"] = yard.plan("2027-05-07 08:00")
    base, finish = coat(plan, "gable-out.base"), coat(plan, "gable-out.finish")
    assert (base.state, base.end) == (State.DONE, coat(told["renamed"], "gable-out.base").end)
    (face,) = plan.faces
    assert {one.coat: one.visits for one in face.coats if one.visits} == {"base": 6, "finish": 2 * 10 + 18}
    misted = visits(plan, "gable-out", "finish")
    assert len([one for one in set(misted) if misted.count(one) == 2]) == 10
    assert day(finish) == MAY[18]
    assert [one for one in plan.changes if one.kind is Kind.ROUND]


def test_9_a_face_is_dropped(yard: Yard, told: dict[str, Plan]) -> None:
    yard.job.write_text(yard.job.read_text() + SECOND)
    yard.plan("2027-05-07 09:00")
    yard.say("log", "finished", "4-out", "base", "--by", "ida", "--at", "13:00", at="2027-05-10 14:00")
    planned = yard.plan("2027-05-10 14:30")
    later = [one.uid for one in planned.everything() if "4-out" in one.faces and one.state is not State.DONE]
    whole = yard.job.read_text()
    yard.job.write_text(whole.replace(SECOND, ""))
    text = yard.refused("plan", at="2027-05-10 15:00")
    assert 'face "4-out" (porch): not in the job file, but the plan has it as done: base coat of 2027-05-10' in text
    assert "ended: DATE" in text
    yard.job.write_text(whole.replace("start: 2027-05-10 }", "start: 2027-05-10, ended: 2027-05-11 }"))
    plan = told["dropped"] = yard.plan("2027-05-10 15:00")
    assert [one.id for one in plan.bookings if one.faces == ("4-out",)] == ["4-out.base"]
    gone = [uid for uid in later if uid not in plan.events]
    assert gone
    assert set(gone) <= set(plan.gone)


def test_10_a_coat_could_not_be_laid(yard: Yard, told: dict[str, Plan]) -> None:
    yard.say("log", "test", "gable-out", "hollows", "passed", "--by", "bo", at="2027-05-17 10:00")
    yard.say("log", "met", "gable-out.base-dry", "--by", "ida", at="2027-05-17 10:05")
    before = yard.plan("2027-05-17 10:10")
    assert (day(coat(before, "gable-out.finish")), coat(before, "gable-out.finish").state) == (MAY[18], State.FIRM)
    said = ("log", "could-not", "gable-out", "finish", "why=driving rain", "--by", "ida", "--key", "rained")
    yard.say(*said, at="2027-05-18 07:30")
    plan = told["rained"] = yard.plan("2027-05-18 07:40")
    finish = coat(plan, "gable-out.finish")
    assert day(finish) == MAY[20]  # nothing new comes onto tomorrow
    assert finish.uid == coat(told["first"], "3-out.finish").uid
    why = change(plan, "gable-out.finish").reason
    assert (why.rule, why.values["why"], why.values["entry"]) == ("plan.could_not", "driving rain", "rained")
    assert "was it laid" not in yard.page


def test_11_the_lead_moves_it_and_it_stays(yard: Yard, told: dict[str, Plan]) -> None:
    now = "2027-05-18 08:00"
    assert "only these move; let ida do it" in yard.refused(
        "move", "gable-out.finish", "2027-05-21", "--by", "bo", "--reason", "drier", at=now
    )
    assert "is not of the crew's working week" in yard.refused(
        "move", "gable-out.finish", "2027-05-22", "--by", "ida", "--reason", "drier", at=now
    )
    yard.say("move", "gable-out.finish", "2027-05-21", "--by", "ida", "--reason", "drier by then", at=now)
    plan = told["moved"] = yard.plan("2027-05-18 08:05")
    finish = coat(plan, "gable-out.finish")
    assert (day(finish), finish.reason.rule, finish.reason.values["why"]) == (MAY[21], "plan.move", "drier by then")
    assert day(coat(yard.plan("2027-05-19 06:00"), "gable-out.finish")) == MAY[21]


def test_12_the_job_file_is_copied(yard: Yard, told: dict[str, Plan], tmp_path: Path) -> None:
    """A copy has no record: the same tasks, nothing done, and a SEQUENCE that phones still follow."""
    told["last"] = yard.plan("2027-05-19 06:00")
    shutil.copy(yard.job, tmp_path / "court.yaml")
    copy = Yard(tmp_path).plan("2027-05-19 06:00")
    base, known = coat(copy, "gable-out.base"), coat(told["last"], "gable-out.base")
    assert (base.uid, base.state) == (known.uid, State.CONDITIONAL)
    assert sequence(copy, base.uid) > sequence(told["last"], base.uid)


def test_13_the_state_is_lost_and_restored(yard: Yard, told: dict[str, Plan]) -> None:
    kept = yard.folder / "away.state"
    yard.state.rename(kept)
    lost = yard.plan("2027-05-19 07:00")
    assert coat(lost, "gable-out.base").state is State.CONDITIONAL
    assert lost.revision == 1
    shutil.rmtree(yard.state)
    kept.rename(yard.state)
    again = yard.plan("2027-05-19 07:00")
    assert again == told["last"]


def test_14_the_record_is_whole(yard: Yard) -> None:
    text = " ".join(yard.say("record", "--last", "0", at="2027-05-19 07:00").split())
    for said in ("driving rain", "no cracks", "scaffold stays"):
        assert said in text
    assert YARD.splitlines()[0] in yard.job.read_text()
