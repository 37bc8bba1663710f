"""Every edit of the job file that the terminal proposes is one that the job file takes, where it says."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from typing import Any

import jobs
import pytest
from ruamel.yaml import YAML

from curing.model.job import Job
from curing.model.plan import Notice, Plan
from curing.publish.terminal_first import first, needs
from curing.publish.terminal_names import Names
from curing.publish.terminal_words import TERMINAL
from curing.publish.words import Words
from curing.workflow.planning import next_plan

NOW = datetime(2027, 4, 30, 4, 0, tzinfo=UTC)
PLACES = {"head of the job file": "job", "under the wall": "wall", "that side": "face"}
FILL = {
    "was_it_laid": ["base: 2027-04-29"],
    "hold.job": ["sample-panel"],
    "hold.wall": ["panel-dry", "sockets"],
    "hold.face": ["base-dry", "gaps-packed"],
    "lapsed.job": ["sample-panel"],
    "lapsed.wall": ["panel-dry"],
    "lapsed.face": ["gaps-packed"],
    "refused.job": ["sample-panel"],
    "refused.wall": ["roof-gutter"],
    "refused.face": ["mesh-beads"],
    "young_for_paint": ["paint-1.least_wait: 56 d"],
}
"""What the answers that name a thing are filled in with."""

ANSWERS = {key.removeprefix("terminal.answer."): text for key, text in TERMINAL.items() if "terminal.answer." in key}
WITH_A_LINE = [name for name, text in ANSWERS.items() if "{{" in text or ": true" in text]


def bare() -> dict[str, Any]:
    """Return a sound job of one wall with nothing recorded; its coats are not begun."""
    data = jobs.invent(1, 1, plain=True).data
    data["holds"] = {}
    data["walls"][0] |= {"holds": {}, "rules": {}}
    return data


def take(data: dict[str, Any], place: str, line: str) -> Job:
    """Return the job after a line was written at its head, at its wall or at its face."""
    wall = data["walls"][0]
    where = {"job": data, "wall": wall, "face": wall["faces"][0]}[place]
    where |= YAML(typ="safe", pure=True).load(line)
    return jobs.read(data, NOW)


def snippet(text: str) -> tuple[str, str]:
    """Return where in the job file an answer says that its line goes, and the line."""
    (place,) = [place for words, place in PLACES.items() if words in text]
    found = re.search(r"\b[a-z]+: (\{.*\}|true)", text)
    assert found, text
    return place, found[0].replace("DATE", "2027-04-28")


def test_every_answer_with_a_line_is_tried() -> None:
    assert {name for name in WITH_A_LINE if "{fill}" in ANSWERS[name]} == set(FILL)
    assert {"filled_late", "could_be_late", "bare"} <= set(WITH_A_LINE)


@pytest.mark.parametrize("name", WITH_A_LINE)
def test_the_line_is_taken_where_it_says(name: str) -> None:
    for fill in FILL.get(name, [""]):
        place, line = snippet(Words().say(f"terminal.answer.{name}", fill=fill))
        take(bare(), place, line)


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
    place, line = snippet(advice)
    assert line == f"rules: {{ paint-1.least_wait: {young.values['least']} d }}"
    take(data, place, line)
    after, _ = plan_of(data)
    assert [notice for notice in after.warnings if notice.key == "young_for_paint"] == []
    assert not any(isinstance(notice, Notice) and notice.key == "check" for notice in after.warnings)


def test_a_hold_is_asked_for_at_the_level_where_it_is_recorded() -> None:
    plan, names = plan_of(bare())
    scopes = {need.fill: need.scope for need in needs(plan, names) if need.kind == "hold"}
    assert scopes["sample-panel"] == "job"
    assert scopes["panel-dry"] == scopes["sockets"] == "wall"
    assert scopes["gaps-packed"] == "face"
