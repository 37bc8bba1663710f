"""A log written down on paper: decisions among what happened, all or nothing; and rounds ticked by whoever walked."""

from __future__ import annotations

from pathlib import Path

import pytest
from yard import Yard, coat, day

from curing.model.plan import State

LAID = """\
# invented
2027-04-30 13:00  bo   test meter=probe read=12.4 dried=12.0
2027-04-30 13:10  bo   reading 3-out low=17 middle=17 top=16 depth=100mm
2027-04-30 13:10  bo   reading 3-out low=17 depth=mid
2027-04-30 13:20  bo   reading 3-in low=17 middle=17 top=16 depth=100mm
2027-04-30 13:20  bo   reading 3-in low=17 depth=mid
2027-04-30 14:00  ida  met 3.panel-dry
2027-05-03 07:20  ida  started 3-out base
2027-05-03 14:50  ida  finished 3-out base
"""
DECIDED = """\
2027-05-04 16:00  ida  assign bo 2027-05-08..2027-05-09 early why="Near is away"   # the weekend
2027-05-05 16:00  ida  move 3-out.finish 2027-05-19 why="drier by then"
"""


@pytest.fixture
def yard(tmp_path: Path) -> Yard:
    made = Yard(tmp_path)
    made.plan("2027-04-30 06:00")
    return made


@pytest.fixture(scope="module")
def still(tmp_path_factory: pytest.TempPathFactory) -> Yard:
    """A yard in which everything said is refused."""
    made = Yard(tmp_path_factory.mktemp("still"))
    made.plan("2027-04-30 06:00")
    return made


def written(yard: Yard, text: str) -> str:
    path = yard.folder / "paper.log"
    path.write_text(text)
    return str(path)


def test_decisions_stand_among_what_happened(yard: Yard) -> None:
    path = written(yard, LAID + DECIDED)
    said = yard.say("log", "--from", path, at="2027-05-06 18:00")
    assert "2 decisions kept, 0 there already" in said
    plan = yard.plan("2027-05-06 18:10")
    finish = coat(plan, "3-out.finish")
    assert (str(day(finish)), finish.reason.values["why"]) == ("2027-05-19", "drier by then")
    text = yard.say("record", "--last", "0", at="2027-05-06 18:10")
    assert "drier by then" in text
    again = yard.say("log", "--from", path, at="2027-05-06 18:20")
    assert again.splitlines() == ["0 entries kept, 12 there already", "0 decisions kept, 2 there already"]


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("2027-05-05 16:00 bo move 3-out.finish 2027-05-19 why=x", "is neither lead nor architect"),
        ("2027-05-05 16:00 ida move 3-out.finish 2027-05-19", '"why=" is not said'),
        ("2027-05-05 16:00 ida move 3-out.finish 2027-05-16 why=x", "is not of the crew's working week"),
        ("2027-05-05 16:00 ida move 3-out.finish 2027-05-10 why=x", "is too early"),
        ("2027-05-05 16:00 ida move 3-out.finish why=x", "is too short"),
        ("2027-05-05 16:00 ida keep 3-out.finish 2027-05-19 why=x", "is too long"),
        ("2027-05-05 16:00 ida assign owner 2027-05-08", "does not mist"),
        ("2027-05-05 16:00 ida assign bo 2027-05-01", "is over"),
        ("2027-05-05 16:00 ida assign bo 2027-05-08 noon", "is no round"),
        ("2027-05-07 16:00 ida assign bo 2027-05-08", "lies ahead"),
    ],
)
def test_a_decision_on_paper_has_the_rules_of_the_command(still: Yard, line: str, told: str) -> None:
    """All or nothing: one line that is refused keeps the whole file out."""
    text = still.refused("log", "--from", written(still, LAID + line + "\n"), at="2027-05-06 18:00")
    assert told in text
    assert "paper.log:10:" in text
    assert "panel-dry met" not in still.say("record", "--last", "0", at="2027-05-06 18:00")


def test_decided_is_not_logged(still: Yard) -> None:
    said = still.refused("log", "assign", "bo", "2027-05-08", "--by", "ida", at="2027-05-06 18:00")
    assert "curing assign JOB" in said


def test_a_round_is_ticked_by_whoever_walked_it(yard: Yard) -> None:
    yard.say("log", "--from", written(yard, LAID), at="2027-05-03 18:00")
    plan = yard.plan("2027-05-03 18:10")
    (early,) = [one for one in plan.rounds if str(day(one)) == "2027-05-04" and one.slot == "early"]
    assert early.who == ("near",)
    said = yard.say("log", "misted", "early", "--by", "bo", at="2027-05-04 07:40")
    assert "Bo" in said
    again = yard.plan("2027-05-04 08:00")
    assert {str(one.slot): one.state for one in again.rounds if str(day(one)) == "2027-05-04"} == {
        "early": State.DONE,
        "late": State.FIRM,
    }


def test_could_not_answers_a_day_that_is_over(yard: Yard) -> None:
    """The plan has dated the coat anew and asks; the answer is about the day that is over."""
    yard.say("log", "--from", written(yard, "\n".join(LAID.splitlines()[:-2]) + "\n"), at="2027-04-30 18:00")
    yard.plan("2027-04-30 18:10")
    yard.plan("2027-05-04 06:00")
    assert "3 out base was booked for Mon 3 May: was it laid?" in yard.page
    words = ("log", "could-not", "3-out", "base", "day=2027-05-03", "why=mixer broken", "--by", "ida")
    yard.say(*words, at="2027-05-04 06:30")
    yard.plan("2027-05-04 06:40")
    assert "was it laid" not in yard.page
