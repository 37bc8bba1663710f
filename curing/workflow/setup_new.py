"""A new job from one form: the least that makes a whole job file, written by the writer of ``curing new``."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any
from uuid import uuid4

from curing.model.answers import (
    WALL_ID,
    CrewAnswers,
    FaceAnswers,
    JobAnswers,
    PersonAnswers,
    SiteAnswers,
    WallAnswers,
    short_id,
)
from curing.model.job import Face, JobFile, Panel, Person, Site, Wall
from curing.publish.job_text import job_text
from curing.publish.words import Words
from curing.sources.job_references import SITE_CALENDAR
from curing.sources.places import read_country, read_zone
from curing.sources.typed_answers import read_choice, read_hours, read_list, read_position
from curing.workflow.interview import optional
from curing.workflow.new_job import fault_of_file, file_of, write_job
from curing.workflow.new_judge import Judge
from curing.workflow.new_questions import checked
from curing.workflow.new_walls import PROPOSED

_WEEK = ("mon-fri",)


@dataclass(frozen=True)
class NewJobFault:
    """What is wrong with a field of the first form; no field: with the job as a whole."""

    field: str
    text: str


def _latitude(text: str) -> str:
    return read_position(f"{text}, 0")[0]


def _longitude(text: str) -> str:
    return read_position(f"0, {text}")[1]


def _facing(text: str) -> str:
    found = checked(Face, "facing")(text)
    return found.upper() if found.isalpha() else found


FIELDS: Mapping[str, tuple[Callable[[str], object], str]] = {
    "name": (checked(JobFile, "name"), ""),
    "units": (lambda text: read_choice(text, ("metric", "us"), "kind of measures"), "metric"),
    "country": (optional(read_country, ""), ""),
    "site": (checked(Site, "name"), ""),
    "latitude": (_latitude, ""),
    "longitude": (_longitude, ""),
    "time_zone": (read_zone, ""),
    "lead": (checked(Person, "name"), ""),
    "hours": (lambda text: read_hours(text, _WEEK), "07:00-15:30"),
    "others": (lambda text: tuple(map(checked(Person, "name"), read_list(text))), ""),
    "wall": (checked(Wall, "name"), ""),
    "side": (lambda text: read_choice(text, ("out", "in"), "side"), "out"),
    "facing": (optional(_facing, ""), ""),
    "area": (checked(Face, "area"), ""),
    "height": (checked(Face, "height"), ""),
    "system": (checked(Face, "system"), PROPOSED["out"]),
    "thickness": (optional(checked(Panel, "thickness"), ""), ""),
    "filled": (optional(checked(Panel, "filled"), ""), ""),
}
"""Field → its reader, and what is proposed for it."""

_SAID_OF = {
    "uid": "", "sites.0.latitude": "latitude", "sites.0.longitude": "longitude", "sites.0.time_zone": "time_zone",
    "sites.0.name": "site", "people.0.hours": "hours", "people.0.name": "lead", "holidays.country": "country",
    "walls.0.name": "wall", "walls.0.panel.thickness": "thickness", "walls.0.panel.filled": "filled",
    **{f"walls.0.faces.0.{name}": name for name in ("side", "facing", "area", "height", "system")},
}  # fmt: skip
"""Place in the file → field of the form."""


def new_form() -> dict[str, str]:
    """Return the first form as it is drawn: what is proposed."""
    return {name: proposed for name, (_, proposed) in FIELDS.items()}


def answers_of(form: Mapping[str, str]) -> tuple[JobAnswers | None, list[NewJobFault]]:
    """Return the answers of the first form, or the fields that can't be read.

    Examples
    --------
    >>> answers_of({"name": "Barn", "site": ""})[1][0]
    NewJobFault(field='latitude', text='nothing is given; type latitude as maps show it, such as 52.1')
    """
    found: dict[str, Any] = {}
    faults: list[NewJobFault] = []
    given = {name: form.get(name, proposed).strip() for name, (_, proposed) in FIELDS.items()}
    given["site"] = given["site"] or given["name"]
    for name, (read, _) in FIELDS.items():
        try:
            found[name] = read(given[name])
        except ValueError as error:
            faults.append(NewJobFault(name, _NOTHING.get(name, str(error)) if not given[name] else str(error)))
    if faults:
        return None, faults
    texts = {name: value for name, value in found.items() if isinstance(value, str)}
    people = _people(texts["lead"], found["others"], found["hours"])
    site = SiteAnswers(
        short_id(texts["site"], (), stem="site"),
        texts["site"],
        texts["latitude"],
        texts["longitude"],
        texts["time_zone"],
    )
    face = FaceAnswers(texts["side"], texts["area"], texts["height"], texts["system"], facing=texts["facing"])
    wall = WallAnswers(short_id(texts["wall"], (), WALL_ID), texts["wall"], (face,))
    wall = replace(wall, thickness=texts["thickness"], filled=texts["filled"])
    return (
        JobAnswers(
            texts["name"],
            texts["units"],
            country=texts["country"],
            sites=(site,),
            people=people,
            crews=(CrewAnswers("crew", "Crew", tuple(one.id for one in people)),),
            walls=(wall,),
        ),
        [],
    )


def _people(lead: str, others: Any, hours: Any) -> tuple[PersonAnswers, ...]:
    """Return who lays: the lead and whoever was named, all there at the same hours."""
    people: tuple[PersonAnswers, ...] = ()
    for name in (lead, *others):
        own = short_id(name, [SITE_CALENDAR, *(one.id for one in people)], stem="person")
        roles = ("mists",) if people else ("lead", "mists")
        people = (*people, PersonAnswers(own, name, roles, hours, reach="scaffold"))
    return people


_NOTHING = {
    "latitude": "nothing is given; type latitude as maps show it, such as 52.1",
    "longitude": "nothing is given; type longitude as maps show it, such as 5.2",
    "time_zone": 'nothing is given; type one such as "Europe/Amsterdam"',
    "hours": "nothing is given; type start and end as 07:00-15:30",
}


def begin_job(
    folder: Path, form: Mapping[str, str], today: date, name: str = ""
) -> tuple[Path | None, list[NewJobFault]]:
    """Write a new job file from the first form, or say what is wrong with which field.

    Parameters
    ----------
    folder
        Where it is to lie.
    form
        What was typed, by field.
    today
        As in :func:`curing.sources.jobfile.read_job`.
    name
        Name of the file; empty: it is named after the job.

    Raises
    ------
    OutputError
        The folder can't be written, or a file of that name came to be.
    """
    answers, faults = answers_of(form)
    if answers is None:
        return None, faults
    path = folder / (name or file_of(answers.name))
    if fault := fault_of_file(path):
        return None, [NewJobFault("" if name else "name", fault)]
    words = Words("us" if answers.units == "us" else "metric")
    if problems := Judge(folder, today, words).tied(answers, path.name):
        return None, [NewJobFault(_field(one.steps), one.problem.text) for one in problems]
    write_job(path, job_text(answers, str(uuid4()), words), today)
    return path, []


def _field(steps: tuple[str | int, ...]) -> str:
    for count in range(len(steps), 0, -1):
        key = ".".join(str(step) for step in steps[:count])
        if key in _SAID_OF:
            return _SAID_OF[key]
    return ""
