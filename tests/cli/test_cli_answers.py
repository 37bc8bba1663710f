"""Every answer that the terminal proposes is one that is taken, and ends what it answers.

Commands are called as they stand on the page, with PERSON, LEAD, SIDE and FACE filled in, on a job in
that situation; edits of the job file are made where they say.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import jobs
import pytest
from asking import METER, READINGS, Asking, asking, commands
from invented_sky import write_sky
from ruamel.yaml import YAML

from curing.model.plan import Notice, Plan
from curing.publish.material_words import DUE
from curing.publish.terminal_first import first, needs
from curing.publish.terminal_names import Names
from curing.publish.terminal_words import TERMINAL
from curing.publish.words import Words
from curing.workflow.planning import next_plan

NOW = datetime(2027, 4, 30, 4, 0, tzinfo=UTC)
ANSWERS = {
    key.removeprefix("terminal.answer."): text for key, text in {**TERMINAL, **DUE}.items() if "terminal.answer." in key
}
COMMANDS = {name for name, text in ANSWERS.items() if "curing " in text}
EDITS = {name for name, text in ANSWERS.items() if "{{" in text or ": true" in text}
ADVICE = {"check", "unnamed_look", "too_late", "were_they_misted", "no_factors", "no_line_few"}
"""What only a person can do; there is no one line for it."""
LIKE = {"inspect_frost": "inspect", "lapsed": "hold", "shut": "hold", "filled_late": "could_be_late"}
"""Answers to what no job of a built-in coat system comes to by itself → one that ends with the same command."""


@pytest.fixture(autouse=True)
def _in_a_folder_of_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


# ----------------------------------------------------------------------------- answers by command


def hold() -> tuple[Asking, str]:
    job = asking()
    del job.data["holds"]["sockets"]
    job.panel_met()
    return job, "sockets is not recorded"


def hold_reading() -> tuple[Asking, str]:
    job = asking()
    job.say(METER)
    return job, "panel-dry is not recorded"


def laid() -> Asking:
    """The base coat was laid on 3 May, planned before and after."""
    job = asking()
    job.panel_met()
    job.say("plan job.yaml", "2027-04-30 06:00")
    job.say("log job.yaml finished 4-out base --by wil", "2027-05-03 14:10")
    job.say("plan job.yaml", "2027-05-03 18:00")
    return job


def hold_test() -> tuple[Asking, str]:
    job = laid()
    job.now = "2027-05-17 06:00"  # 13 days for 13 mm are over
    return job, "base-dry is not recorded"


def lapsed_reading() -> tuple[Asking, str]:
    job, _ = hold_reading()
    for where in READINGS:
        job.say(f"log job.yaml reading {where} --by bo", "2027-04-28 08:00")
    job.say("log job.yaml met 4.panel-dry --by wil")
    job.say("plan job.yaml")
    job.say(METER, "2027-05-07 06:00")  # more than seven days on, and the base was not laid
    return job, "panel-dry counts only to"


def refused() -> tuple[Asking, str]:
    job = asking()
    job.panel_met()
    job.say("plan job.yaml")
    job.say("log job.yaml refused 4.sockets --by wil")
    job.now = "2027-04-28 07:00"
    return job, "sockets was refused"


def refused_reading() -> tuple[Asking, str]:
    job, _ = hold_reading()
    job.say("plan job.yaml")
    job.say("log job.yaml refused 4.panel-dry --by wil")
    job.now = "2027-04-29 06:00"
    return job, "panel-dry was refused"


def shut_reading() -> tuple[Asking, str]:
    job, _ = hold_waiting()
    job.say("log job.yaml met 4.panel-dry --by wil")
    job.say("plan job.yaml")
    job.say("log job.yaml rain 4-out --by bo", "2027-04-28 07:00")
    job.say("plan job.yaml")
    job.now = "2027-04-30 07:00"
    return job, "panel-dry was shut by rain"


def shut_test() -> tuple[Asking, str]:
    job = laid()
    job.say("log job.yaml test 4-out hollows passed --by wil", "2027-05-17 06:00")
    job.say("log job.yaml met 4-out.base-dry --by wil")
    job.say("plan job.yaml")
    job.say("log job.yaml test 4-out hollows failed --by wil", "2027-05-17 07:00")
    job.now = "2027-05-17 08:00"
    return job, "base-dry was shut by a failed test"


def hold_waiting() -> tuple[Asking, str]:
    job, _ = hold_reading()
    job.say("plan job.yaml")
    for where in READINGS:
        job.say(f"log job.yaml reading {where} --by bo")
    return job, "what was read and tested passes"


def was_it_laid() -> tuple[Asking, str]:
    job = asking()
    job.panel_met()
    job.say("plan job.yaml", "2027-04-30 06:00")
    job.now = "2027-05-04 06:00"
    return job, "4 out base was booked for Fri 30 April: was it laid?"


def was_it_closed() -> tuple[Asking, str]:
    job, _ = was_it_laid()
    job.say("log job.yaml started 4-out base --by wil", "2027-04-30 07:30")
    job.now = "2027-05-04 06:00"
    return job, "was it closed?"


def inspect() -> tuple[Asking, str]:
    job = laid()
    job.now = "2027-05-05 12:00"
    return job, "look for cracks"


def visits_unsaid() -> tuple[Asking, str]:
    job = laid()
    job.now = "2027-05-04 12:30"
    return job, "1 visit without a word"


def visits_missed() -> tuple[Asking, str]:
    job = laid()
    job.say("log job.yaml test 4-out hollows passed --by wil", "2027-05-16 09:00")
    job.say("log job.yaml met 4-out.base-dry --by wil")
    job.say("plan job.yaml")
    job.say("log job.yaml finished 4-out finish --by wil", "2027-05-18 13:00")
    job.say("plan job.yaml")
    job.say("log job.yaml inspection 4-out sound --by wil", "2027-05-22 06:00")
    job.now = "2027-05-24 12:00"
    return job, "they count as missed"


def unnamed_round() -> tuple[Asking, str]:
    job = asking()
    job.data["people"] = [one for one in job.data["people"] if one["id"] != "saar"]
    job.panel_met()
    return job, "Sat 1 May: nobody named"


def late_panel(filled: str) -> Asking:
    job = asking(season={"finish_by": "2027-09-22", "drying": {"aug": 0.8}})
    job.wall["panel"] = {"thickness": "300 mm", "filled": filled}
    job.save()
    job.say(METER, "2027-08-02 06:00")
    return job


def could_be_late() -> tuple[Asking, str]:
    return late_panel("2027-06-01"), "the panel could be later"


def rained(hour: int, *runs: int) -> Asking:
    """The base coat stands on Wed 5 May; rain begins that noon, told by runs made at hours before ``hour`` of 5 May."""
    job = asking()
    job.panel_met()
    job.wall["faces"][0]["start"] = "2027-05-05"
    job.save()
    job.say("plan job.yaml", "2027-04-28 06:00")
    base = datetime(2027, 5, 5, 5, 0, tzinfo=UTC)
    for ahead in sorted({hour, *runs}, reverse=True):
        made = base - timedelta(hours=ahead)
        wet = (base + timedelta(hours=7), base + timedelta(hours=19), 3.0)
        write_sky(Path("sky.json"), made, rain=(wet,))
        local = made.astimezone(ZoneInfo("Europe/Amsterdam"))
        job.say("weather job.yaml --forecast sky.json", f"{local:%Y-%m-%d %H:%M}")
    return job


def weather_off() -> tuple[Asking, str]:
    return rained(14), "4 out base is off Wed 5 May: rain on it Wed 5 May 14:00"


def weather_proposed() -> tuple[Asking, str]:
    return rained(100, 112), "the forecast is against 4 out base on Wed 5 May: rain on it Wed 5 May 14:00"


SITUATIONS: dict[str, Callable[[], tuple[Asking, str]]] = {
    "hold": hold,
    "hold.reading": hold_reading,
    "hold.test": hold_test,
    "lapsed.reading": lapsed_reading,
    "refused": refused,
    "refused.reading": refused_reading,
    "shut.reading": shut_reading,
    "shut.test": shut_test,
    "hold_waiting": hold_waiting,
    "weather_off": weather_off,
    "weather_proposed": weather_proposed,
    "was_it_laid": was_it_laid,
    "was_it_closed": was_it_closed,
    "inspect": inspect,
    "visits_unsaid": visits_unsaid,
    "visits_missed": visits_missed,
    "unnamed_round": unnamed_round,
    "could_be_late": could_be_late,
}


def test_every_answer_is_tried() -> None:
    assert set(SITUATIONS) | set(LIKE) == COMMANDS
    assert set(ANSWERS) == COMMANDS | EDITS | ADVICE
    for name, other in LIKE.items():
        assert ANSWERS[name].rpartition("curing ")[2] == ANSWERS[other].rpartition("curing ")[2]


def worded(name: str, answer: str) -> bool:
    """Tell whether an answer is that of the catalogue, filled in."""
    pattern = re.escape(ANSWERS[name].format(job="job.yaml", fill="FILLED")).replace("FILLED", ".+")
    return re.fullmatch(pattern, answer) is not None


@pytest.mark.parametrize("name", SITUATIONS)
def test_the_commands_are_taken_and_it_is_asked_no_more(name: str) -> None:
    job, asked = SITUATIONS[name]()
    answer = job.need(asked)
    assert worded(name, answer), answer
    called = commands(answer)
    assert called
    for command in called:
        job.say(command)
    if name == "could_be_late":
        job.say("log job.yaml met 4.panel-dry --by wil")  # the meter has decided
    still = any(asked in text for text, _ in job.asked())
    assert still is (name == "visits_missed")  # that one is only shown, in the record of the face


@pytest.mark.parametrize(("day", "spoken"), [("2027-05-05", "Wed 5 May"), ("2027-05-11", "Tue 11 May")])
def test_the_old_day_and_another_are_taken_too_and_no_forecast_takes_them_off_again(day: str, spoken: str) -> None:
    job, asked = weather_off()
    (command,) = commands(job.need(asked))
    own = command.replace("2027-05-07", day).replace("as proposed", "sheets hang on the scaffold")
    assert f"4-out base goes to {spoken}" in " ".join(job.say(own).split())
    assert [text for text, _ in job.asked() if "4 out base is off" in text] == []
    again = job.asked("2027-05-04 19:00")  # the same forecast, looked at once more
    assert [text for text, _ in again if "4 out base is off" in text] == []
    stands = [text for text, _ in again if text.startswith("4 out base stands on Wed 5 May by the word of Wil")]
    assert len(stands) == (day == "2027-05-05")


def test_what_is_off_keeps_no_day_and_comes_no_earlier_than_it_was() -> None:
    job, asked = weather_off()
    job.need(asked)
    kept = job.call("keep job.yaml 4-out.base --reason sheets --by wil")
    assert kept.exit_code == 1
    assert "it was 2027-05-05, 2027-05-07 is proposed" in " ".join(kept.stderr.split())
    early = job.call("move job.yaml 4-out.base 2027-05-04 --reason sun --by wil")
    assert early.exit_code == 1
    assert "before 2027-05-05, the day it was taken off" in " ".join(early.stderr.split())


def test_a_hold_that_needs_readings_is_not_met_by_a_word_alone() -> None:
    job, asked = hold_reading()
    *_, met = commands(job.need(asked))
    refused = job.call(met)
    assert refused.exit_code == 1
    assert "no reading of the last 7 days" in " ".join(refused.stderr.split())


# -------------------------------------------------------------------------------- answers by edit


def edit(job: Asking, where: dict[str, Any], answer: str) -> None:
    """Write the line of an answer there."""
    found = re.search(r"\b[a-z_]+: (\{.*\}|true)", answer)
    assert found, answer
    for key, value in YAML(typ="safe", pure=True).load(found[0].replace("DATE", job.now[:10])).items():
        where[key] = {**where.get(key, {}), **value} if isinstance(value, dict) else value
    job.save()


def test_goods_that_are_there_are_asked_for_no_more() -> None:
    """Late orders stand under one answer, with the first of them; so do things to be made."""
    assert len({ANSWERS[name] for name in ANSWERS if name.startswith(("order", "make", "do_"))}) == 1
    job, _ = hold()
    due = [(text, answer) for text, answer in job.asked() if worded("order_by", answer)]
    heads = [next(one for one in due if one[0].startswith(kind)) for kind in ("order ", "make ready ")]
    for _, answer in heads:
        edit(job, job.data, answer)
    left = [text for text, _ in job.asked()]
    assert [text for text, _ in heads if text in left] == []
    assert any(text.startswith("order ") for text in left)  # the others are not there yet


def test_cloth_on_a_side_that_is_bare() -> None:
    job = asking()
    job.wall["faces"][0] |= {"facing": "S", "cloth": False}
    job.panel_met()
    (answer,) = [answer for _, answer in job.asked() if worded("bare", answer)]
    edit(job, job.wall["faces"][0], answer)
    assert not [answer for _, answer in job.asked() if worded("bare", answer)]


def plan_of(data: dict[str, Any]) -> tuple[Plan, Names]:
    words = Words()
    plan, _ = next_plan(jobs.read(data, NOW), None, NOW, words)
    return plan, Names(plan, words, NOW)


def answers(plan: Plan, names: Names) -> list[str]:
    lines = first(needs(plan, names), names, "job.yaml", room=None)
    told = re.sub(r"\n {6}", " ", "\n".join(lines))
    return [line.partition("> ")[2] for line in told.splitlines() if line.startswith("    > ")]


@pytest.mark.parametrize("system", ["clay-lime", "hydraulic-lime"])
def test_who_heeds_the_age_of_the_plaster_is_not_told_of_it_again(system: str) -> None:
    data = jobs.invent(1, 1, plain=True).data
    data["walls"][0]["faces"][0]["system"] = system
    data["holds"] |= {"sample-lime": "2027-04-20"} if system == "hydraulic-lime" else {}
    if system == "hydraulic-lime":
        del data["holds"]["sample-panel"]
    plan, names = plan_of(data)
    (young,) = [notice for notice in plan.warnings if notice.key == "young_for_paint"]
    (advice,) = [text for text in answers(plan, names) if text.startswith("advice only")]
    line = f"rules: {{ paint-1.least_wait: {young.values['least']} d }}"
    assert advice.endswith(f"under that side: {line}")
    data["walls"][0]["faces"][0] |= YAML(typ="safe", pure=True).load(line)
    after, _ = plan_of(data)
    assert [notice for notice in after.warnings if notice.key == "young_for_paint"] == []
    assert not any(isinstance(notice, Notice) and notice.key == "check" for notice in after.warnings)
