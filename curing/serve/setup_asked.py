"""Forms that set a job up, as they are drawn and as they come back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from curing.model.quantities import Units
from curing.model.system import System
from curing.publish.page_setup import Steps, at, few, items, told
from curing.publish.page_setup_form import Asked, Form
from curing.publish.words import Words
from curing.serve import forms
from curing.serve.call import Call
from curing.serve.forms import FormError
from curing.sources.job_edit import FieldProblem
from curing.workflow.job_setup import JobSetup, Known, open_setup
from curing.workflow.new_job import systems_at_hand
from curing.workflow.setup_fields import THINGS, beside
from curing.workflow.setup_typed import UNITS, chosen, unit_of, with_unit


@dataclass(frozen=True)
class Group:
    """Fields of one thing in a form, with what stands in them."""

    thing: str
    steps: Steps
    values: Mapping[str, str]
    typed: Mapping[str, str] = field(default_factory=dict)
    """What the reader had typed where the file changed meanwhile."""
    new: bool = False


def today(call: Call) -> date:
    """Return the day at the site."""
    return call.now.astimezone(call.zone).date()


def opened(call: Call) -> JobSetup:
    """Return the job file as it stands now."""
    return open_setup(call.job.job_file, today(call))


def known(call: Call) -> Known:
    """Return what plan and record know of the job."""
    return Known(call.sight.plan, call.sight.said)


def data_of(setup: JobSetup) -> Mapping[str, Any]:
    """Return what a job file says; an empty job where it says something else."""
    return setup.document.data if isinstance(setup.document.data, dict) else {}


def systems(setup: JobSetup) -> Mapping[str, System]:
    """Return the coat systems that a job may name."""
    return systems_at_hand(setup.path.parent)


def sent(form: forms.Form, thing: str, before: Mapping[str, str], units: Units) -> dict[str, str]:
    """Return the fields of a form that came back, as its readers take them.

    A field that the form did not have is not among them; one that is as it was drawn is unchanged.
    """
    found: dict[str, str] = {}
    for one in THINGS[thing]:
        if one.name not in form.fields:
            continue
        old = before.get(one.name, "")
        if one.several:
            found[one.name] = chosen(form.every(one.name), old)
        else:
            text = one_line(form, one.name)
            found[one.name] = text if text == old else with_unit(one.name, text, units)
    return found


def one_line(form: forms.Form, name: str) -> str:
    """Return a field as it was typed; what can't stand in a job file is told beside it."""
    return (form.maybe(name) or "").replace("\r\n", "\n").strip()


def digest_of(form: forms.Form) -> str:
    """Return the digest of the file from which a form was drawn."""
    digest = form.one("digest")
    if len(digest) != 64:
        raise FormError("the form does not say which file it shows; open the page anew", field="digest")
    return digest


def drawn(
    groups: Sequence[Group],
    problems: Sequence[FieldProblem],
    data: Mapping[str, Any],
    at_hand: Mapping[str, System],
    words: Words,
) -> tuple[list[list[Asked]], list[str]]:
    """Return the fields of each group with their problems, and the problems that belong to no field."""
    rest = list(problems)
    found = []
    units = {name: unit_of(name, words.units) for name in UNITS}
    for group in groups:
        texts, rest = beside(rest, group.steps, group.thing)
        form = Form(group.thing, data, at_hand, units, words)
        found.append(
            [
                form.asked(
                    one.name,
                    group.values.get(one.name, one.default),
                    one.choices,
                    few([told(text, words) for text in texts.get(one.name, ())], words),
                    several=one.several,
                    typed=group.typed.get(one.name),
                )
                for one in THINGS[group.thing]
                if not _not_asked(one.name, group, data)
            ]
        )
    return found, list(few(list(dict.fromkeys(one.problem.text for one in rest)), words))


def _not_asked(name: str, group: Group, data: Mapping[str, Any]) -> bool:
    """Tell whether a field has nothing to ask: the site of a wall, where there is one alone; the end of what is new."""
    if name == "ended" and group.new:
        return True
    return name == "site" and group.thing == "wall" and not group.values.get(name) and _count(data, "sites") < 2


def _count(data: Mapping[str, Any], section: str) -> int:
    return sum(1 for _ in items(data, section))


def id_at(data: Mapping[str, Any], steps: Steps) -> str:
    """Return what tells a thing from others of its kind: its id, its side, or the name of a hold."""
    one = at(data, steps)
    if not isinstance(one, Mapping) or (len(steps) > 1 and steps[-2] == "holds"):
        return str(steps[-1]) if steps else ""
    return str(one.get("side" if "faces" in steps else "id", ""))
