"""What a young job still lacks, and the plan when it is there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from curing.model.plan import Kind, Plan, State
from curing.publish.page_setup import items, mapping_of
from curing.publish.terminal_names import Names, local_day
from curing.publish.words import Words


@dataclass(frozen=True, slots=True)
class Next:
    """One thing that is next in a young job."""

    text: str
    path: str = ""
    link: str = ""


def next_steps(data: Mapping[str, Any], plan: Plan | None, words: Words, others: int) -> list[Next]:
    """Return what a young job still lacks; nothing of one that is whole.

    Parameters
    ----------
    others
        How many people besides the reader have no link yet.
    """
    say = words.say
    found = []
    if len(list(items(data, "walls"))) < 2:
        found.append(Next(say("setup.next.walls"), "setup/walls/new", say("setup.add.walls")))
    if len(list(items(data, "people"))) < 2:
        found.append(Next(say("setup.next.people"), "setup/people/new", say("setup.add.people")))
    if not list(items(data, "meters")):
        found.append(Next(say("setup.next.meters"), "setup/meters/new", say("setup.add.meters")))
    if not mapping_of(data.get("holds")):
        found.append(Next(say("setup.next.holds"), "setup/holds", say("setup.section.holds")))
    if not found and plan is not None:
        return []
    if others:
        found.append(Next(say("setup.next.links"), "people", say("page.nav.people")))
    if plan is None:
        return [Next(say("setup.next.plan"), "setup", say("setup.next.look")), *found]
    return [Next(_first_coat(plan, words), "job", say("setup.next.job")), *found]


def _first_coat(plan: Plan, words: Words) -> str:
    open_ = [one for one in plan.bookings if one.kind is Kind.COAT and one.state in (State.FIRM, State.CONDITIONAL)]
    first = min(open_, key=lambda one: one.start, default=None)
    if first is None:
        return words.say("setup.next.planned.nothing")
    names = Names(plan, words, plan.as_of)
    return words.say(
        "setup.next.planned",
        face=names.face(first.faces[0]),
        coat=names.task(first),
        day=names.long_day(local_day(first)),
    )
