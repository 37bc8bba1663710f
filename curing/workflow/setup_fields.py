"""The fields of a job's forms: what stands in the file as it would be typed, and what was typed as edits.

Each field is read by the reader that ``curing new`` uses for the same answer; the rules of the job
file itself judge the whole afterwards. A field that was left as it was drawn changes nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel

from curing.errors import Problem
from curing.model.job import Crew, Face, HoldMet, Holidays, JobFile, Meter, Panel, Person, SeasonLine, Site, Wall
from curing.sources.answer_checks import field_fault
from curing.sources.job_edit import Edit, FieldProblem, Put
from curing.sources.places import read_country, read_zone
from curing.sources.typed_answers import (
    read_choice,
    read_dated_hours,
    read_days,
    read_hours,
    read_list,
    read_position,
    read_reached,
    read_span,
    read_week,
    read_yes,
    short_week,
)
from curing.sources.yaml_nodes import Document, Steps
from curing.workflow.new_questions import checked
from curing.workflow.new_walls import EXPOSURES

Reader = Callable[[str], Any]


@dataclass(frozen=True)
class Field:
    """One field of a form.

    Attributes
    ----------
    name
        Its name in the form.
    steps
        From the thing to the value: ``("panel", "thickness")``.
    read
        Turns what was typed into the file's value; ValueError says what to type.
    choices
        Words to choose from; none: free text.
    several
        Whether more than one of them may be chosen, or typed with commas between.
    default
        What a file that says nothing means.
    """

    name: str
    steps: Steps
    read: Reader
    choices: tuple[str, ...] = ()
    several: bool = False
    default: str = ""


def _text(model: type[BaseModel], name: str, *before: str, form: str = "") -> Field:
    return Field(form or name, (*before, name), checked(model, name))


def _choice(name: str, choices: tuple[str, ...], default: str = "") -> Field:
    return Field(name, (name,), lambda text: read_choice(text, choices, name), choices, default=default)


def _yes(name: str) -> Field:
    return Field(name, (name,), read_yes, ("yes", "no"), default="yes")


def _degrees(name: str, place: int) -> Field:
    def read(text: str) -> float:
        try:
            value: float | str = float(text)
        except ValueError:
            try:
                value = float(read_position(f"{text}, 0" if place == 0 else f"0, {text}")[place])
            except ValueError:
                value = text
        if fault := field_fault(Site, name, value):
            raise ValueError(fault)
        return float(value)

    return Field(name, (name,), read)


def _days(text: str) -> list[str]:
    return list(read_days(text))


def _week(text: str) -> list[str]:
    return list(read_week(text))


def _roles(text: str) -> list[str]:
    return [read_choice(one, ROLES, "role") for one in read_list(text)]


def _names(text: str) -> list[str]:
    return read_list(text)


def _facing(text: str) -> str:
    read = checked(Face, "facing")(text)
    return read.upper() if read.isalpha() else read


def _hours(text: str) -> dict[str, str]:
    """Return hours; a bare span is for the days of the usual working week."""
    return dict(read_hours(text, ("mon-fri",)))


def _quiet(text: str) -> str:
    """Return quiet hours as the file has them, from hours as people type them."""
    span = text.strip()
    if span != "none":
        ends = span.replace("–", "-").replace(" to ", "-").split("-")
        span = "-".join(read_span(f"{one.strip()}-23:59")[:5] for one in ends)
    return checked(Person, "quiet")(span)


QUIET, NOTICE = "21:00-06:00", "30 min"
"""What a file that says nothing means."""
ROLES = ("lead", "architect", "mists", "client")
_NAME = "name"

THINGS: Mapping[str, tuple[Field, ...]] = {
    "job": (
        _text(JobFile, _NAME),
        _choice("units", ("metric", "us"), "metric"),
        Field("working_week", ("working_week",), _week, several=True, default="mon-fri"),
        Field("country", ("holidays", "country"), read_country),
        Field("region", ("holidays", "region"), checked(Holidays, "region")),
        Field("days_off", ("holidays", "days"), _days, several=True),
        Field("worked", ("holidays", "worked"), _days, several=True),
        _text(SeasonLine, "finish_by", "season"),
        _text(SeasonLine, "resumes", "season"),
    ),
    "site": (
        _text(Site, _NAME),
        _degrees("latitude", 0),
        _degrees("longitude", 1),
        _text(Site, "altitude"),
        Field("time_zone", ("time_zone",), read_zone),
    ),
    "person": (
        _text(Person, _NAME),
        Field("roles", ("roles",), _roles, ROLES, several=True),
        Field("hours", ("hours",), _hours),
        Field("also", ("also",), lambda text: dict(read_dated_hours(text))),
        Field("away", ("away",), _days, several=True),
        _choice("reach", ("ground", "scaffold"), "ground"),
        _text(Person, "longest_round"),
        Field("tell", ("tell",), lambda text: dict(read_reached(text))),
        Field("quiet", ("quiet",), _quiet, default=QUIET),
        Field("notice", ("notice",), checked(Person, "notice"), default=NOTICE),
    ),
    "crew": (
        _text(Crew, _NAME),
        Field("people", ("people",), _names, several=True),
        Field("working_week", ("working_week",), _week, several=True),
    ),
    "meter": (
        _text(Meter, _NAME),
        _text(Meter, "least"),
        _text(Meter, "most"),
        _choice("basis", ("wet", "dry")),
    ),
    "wall": (
        _text(Wall, _NAME),
        _text(Wall, "site"),
        _text(Panel, "thickness", "panel"),
        _text(Panel, "filled", "panel"),
    ),
    "face": (
        _choice("side", ("out", "in")),
        Field("facing", ("facing",), _facing),
        _text(Face, "area"),
        _text(Face, "height"),
        _text(Face, "system"),
        _choice("exposure", EXPOSURES, "normal"),
        _yes("gutter"),
        _text(Face, "scaffold"),
        _yes("cloth"),
        _text(Face, "crew"),
        _text(Face, "start"),
        Field("after", ("after",), _names, several=True),
        _text(Face, "ended"),
    ),
    "hold": (
        _text(HoldMet, "met"),
        _text(HoldMet, "refused"),
        _text(HoldMet, "by"),
        _text(HoldMet, "note"),
    ),
}  # fmt: skip
"""What a form asks for, in its order. What is not here (rules, mixes, drying months) stays as the file has it."""


def typed(document: Document, steps: Steps, thing: str) -> dict[str, str]:
    """Return what stands in the file, as it would be typed into the form of a thing.

    Parameters
    ----------
    document
        The job file.
    steps
        To the thing; ``()`` for the job itself.
    thing
        A key of ``THINGS``.

    Examples
    --------
    >>> from curing.sources.yaml_nodes import compose
    >>> document = compose("people:\\n- name: Wil\\n  hours: {mon-thu: 07:00-15:30, fri: 07:00-12:00}\\n", "f")
    >>> found = typed(document, ("people", 0), "person")
    >>> found["hours"], found["reach"]
    ('mon-thu 07:00-15:30, fri 07:00-12:00', 'ground')
    """
    data = _at(document.data, steps)
    if thing == "hold" and isinstance(data, str):
        return {field.name: data if field.name == "met" else "" for field in THINGS[thing]}
    return {field.name: _shown(document, (*steps, *field.steps), field) for field in THINGS[thing]}


def empty(thing: str) -> dict[str, str]:
    """Return the fields of a thing that is not there yet."""
    return {field.name: field.default for field in THINGS[thing]}


def _at(data: Any, steps: Iterable[str | int]) -> Any:
    for step in steps:
        known = isinstance(data, dict) and step in data
        listed = isinstance(data, list) and isinstance(step, int) and step < len(data)
        if not (known or listed):
            return None
        data = data[step]
    return data


def _shown(document: Document, steps: Steps, field: Field) -> str:
    value = _at(document.data, steps)
    if value is None:
        return field.default
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dict):
        return ", ".join(f"{key} {one}" for key, one in value.items())
    if isinstance(value, list):
        texts = tuple(str(one) for one in value)
        return ", ".join(_ranges(texts) if field.name == "working_week" else texts)
    return document.written.get(steps, str(value))


def _ranges(days: tuple[str, ...]) -> list[str]:
    try:
        return short_week(days)
    except ValueError:
        return list(days)


@dataclass(frozen=True)
class Filled:
    """A form that was filled in.

    Attributes
    ----------
    edits
        What it changes.
    problems
        Fields that can't be read: then nothing is to be written.
    """

    edits: tuple[Edit, ...]
    problems: tuple[FieldProblem, ...]


def filled(document: Document, steps: Steps, thing: str, form: Mapping[str, str]) -> Filled:
    """Return the edits of a form of something that is there.

    Parameters
    ----------
    document, steps, thing
        As in :func:`typed`.
    form
        What was typed, by field; a field that is not there was not asked for.

    Examples
    --------
    >>> from curing.sources.yaml_nodes import compose
    >>> document = compose("people:\\n- name: Wil\\n  reach: scaffold\\n", "f")
    >>> filled(document, ("people", 0), "person", {"name": "Wil", "reach": "ground", "hours": "7am-3pm"}).edits
    (Put(steps=('people', 0, 'hours'), value={'mon-fri': '07:00-15:00'}), Put(steps=('people', 0, 'reach'), value=''))
    """
    before = typed(document, steps, thing)
    changed = {name: text for name, text in form.items() if name in before and text.strip() != before[name]}
    values, problems = _read(thing, changed, steps)
    if thing == "hold" and not isinstance(_at(document.data, steps), dict):
        whole = {field.name: form.get(field.name, before[field.name]).strip() for field in THINGS[thing]}
        return Filled((Put(steps, whole),) if changed else (), problems)
    return Filled(tuple(Put((*steps, *inner), value) for inner, value in values.items()), problems)


def made(steps: Steps, thing: str, form: Mapping[str, str]) -> tuple[dict[str, Any], tuple[FieldProblem, ...]]:
    """Return a new thing as the file's data, without its id, and fields that can't be read.

    Examples
    --------
    >>> made(("walls", 0), "wall", {"name": "porch", "thickness": "200 mm", "filled": ""})[0]
    {'name': 'porch', 'panel': {'thickness': '200 mm'}}
    """
    values, problems = _read(thing, form, steps)
    found: dict[str, Any] = {}
    for inner, value in values.items():
        if value in ("", [], {}):
            continue
        outer = found
        for step in inner[:-1]:
            outer = outer.setdefault(str(step), {})
        outer[str(inner[-1])] = value
    return found, problems


def _read(thing: str, form: Mapping[str, str], steps: Steps) -> tuple[dict[Steps, Any], tuple[FieldProblem, ...]]:
    values: dict[Steps, Any] = {}
    problems: list[FieldProblem] = []
    for field in THINGS[thing]:
        if field.name not in form:
            continue
        text = form[field.name].strip()
        try:
            values[field.steps] = "" if text in ("", field.default) else field.read(text)
        except ValueError as error:
            problems.append(FieldProblem((*steps, *field.steps), Problem(None, str(error))))
    return values, tuple(problems)


def beside(
    problems: Iterable[FieldProblem], steps: Steps, thing: str
) -> tuple[dict[str, list[str]], list[FieldProblem]]:
    """Return what to say beside each field of a form, and the problems that belong to none of them.

    Examples
    --------
    >>> one = FieldProblem(("walls", 0, "panel", "filled"), Problem(None, "is after today"))
    >>> beside([one], ("walls", 0), "wall")
    ({'filled': ['is after today']}, [])
    """
    found: dict[str, list[str]] = {}
    rest: list[FieldProblem] = []
    for one in problems:
        inner = one.steps[len(steps) :] if one.steps[: len(steps)] == steps else None
        field = next((field for field in THINGS[thing] if inner and inner[: len(field.steps)] == field.steps), None)
        if field is None:
            rest.append(one)
        else:
            found.setdefault(field.name, []).append(one.problem.text)
    return found, rest
