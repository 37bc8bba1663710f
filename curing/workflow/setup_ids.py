"""Edits that concern more than one place: another id, or a thing taken away, with whatever names it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from curing.model.answers import OTHER_ID, WALL_ID, short_id
from curing.model.times import parse_date
from curing.sources.job_edit import Drop, Edit, FieldProblem, Put
from curing.sources.job_references import SITE_CALENDAR
from curing.sources.yaml_nodes import Steps
from curing.workflow.job_setup import NOBODY_KNOWS, JobSetup, Known, Saved, save

Data = Mapping[str, Any]

STEMS = {"sites": "site", "people": "person", "crews": "crew", "walls": "wall", "meters": "meter"}


def new_id(data: Data, section: str, name: str) -> str:
    """Return an id for a new thing of a section, made from its name.

    Examples
    --------
    >>> new_id({"people": [{"id": "wil"}]}, "people", "Wil")
    'wil-2'
    """
    taken = [str(one.get("id", "")) for _, one in _items(data, section)]
    taken += [SITE_CALENDAR] if section == "people" else []
    return short_id(name, taken, WALL_ID if section == "walls" else OTHER_ID, stem=STEMS[section])


def renaming(data: Data, section: str, number: int, new: str, known: Known = NOBODY_KNOWS) -> list[Edit]:
    """Return the edits that give a thing another id: its own line, ``was:``, and all that name it.

    Parameters
    ----------
    data
        What the file says.
    section, number
        Which thing: ``people``, 0.
    new
        Its new id; the same one asks for no edit.
    known
        The plan tells which ids people were told.

    Examples
    --------
    >>> data = {"people": [{"id": "wil"}], "crews": [{"id": "a", "people": ["wil"]}]}
    >>> for edit in renaming(data, "people", 0, "willem"):
    ...     print(edit.steps, edit.value)
    ('people', 0, 'was') wil
    ('people', 0, 'id') willem
    ('crews', 0, 'people', 0) willem
    """
    thing = data[section][number]
    old, steps = str(thing.get("id", "")), (section, number)
    if new == old:
        return []
    was = _was(thing, section, old, known)
    edits: list[Edit] = (
        [Put((*steps, "was"), was if was != new else "")] if was and (was != new or thing.get("was")) else []
    )
    return [*edits, Put((*steps, "id"), new), *_named_anew(data, section, old, new)]


def _was(thing: Data, section: str, old: str, known: Known) -> str:
    """Return the id by which the plan knows a thing: the one people were told last, else the first."""
    if section == "meters":
        return ""
    told = {face.wall for face in known.parent.faces} if known.parent and section == "walls" else set()
    told |= {person.id for person in known.parent.people} if known.parent and section == "people" else set()
    return old if old in told else str(thing.get("was") or old)


def _named_anew(data: Data, section: str, old: str, new: str) -> Iterator[Edit]:
    for steps, name in _references(data, section):
        if section == "walls":
            wall, dash, rest = name.rpartition("-")
            if dash and wall == old:
                yield Put(steps, f"{new}-{rest}")
        elif name == old:
            yield Put(steps, new)


def _references(data: Data, section: str) -> Iterator[tuple[Steps, str]]:
    """Yield where things of a section are named, and by what."""
    if section == "people":
        for n, crew in _items(data, "crews"):
            yield from (((*("crews", n), "people", k), str(one)) for k, one in enumerate(crew.get("people") or ()))
        yield from _deciders(data, ())
    for n, wall in _items(data, "walls"):
        at: Steps = ("walls", n)
        if section == "sites" and wall.get("site"):
            yield (*at, "site"), str(wall["site"])
        if section == "people":
            yield from _deciders(wall, at)
        for k, face in _items(wall, "faces"):
            inner = (*at, "faces", k)
            if section == "crews" and face.get("crew"):
                yield (*inner, "crew"), str(face["crew"])
            if section == "people":
                yield from _deciders(face, inner)
            if section == "walls":
                yield from (((*inner, "after", j), str(one)) for j, one in enumerate(face.get("after") or ()))


def _deciders(thing: Data, steps: Steps) -> Iterator[tuple[Steps, str]]:
    holds = thing.get("holds")
    for name, hold in holds.items() if isinstance(holds, Mapping) else ():
        if isinstance(hold, Mapping) and hold.get("by"):
            yield (*steps, "holds", name, "by"), str(hold["by"])


def _items(data: Data, section: str) -> Iterator[tuple[int, Data]]:
    found = data.get(section)
    for number, one in enumerate(found if isinstance(found, list) else ()):
        if isinstance(one, Mapping):
            yield number, one


def take_away(
    path: Path, digest: str, setup: JobSetup, steps: Steps, today: date, on: date, known: Known = NOBODY_KNOWS
) -> tuple[Saved, bool]:
    """Take a thing out of the job file; a wall or face that plan or record know is ended instead.

    Parameters
    ----------
    path, digest, today, known
        As in :func:`curing.workflow.job_setup.save`.
    setup
        The file as it stands.
    steps
        To the thing.
    on
        The day from which nothing more is planned on it, where it is only ended.

    Returns
    -------
    tuple
        What became of it, and whether it was ended instead of taken out.
    """
    faces = _faces_at(setup.document.data, steps)
    if not any(face.get("done") for _, face in faces):
        saved = save(path, digest, _leaving(setup.document.data, steps), today, known)
        if not (saved.lost and faces):
            return saved, False
    return save(path, digest, list(_ending(faces, on)), today, known), True


@dataclass(frozen=True)
class Fate:
    """What would become of a thing that is taken away.

    Attributes
    ----------
    ended
        Whether it would be ended instead of taken out, because plan or record know it.
    known
        What they know of it.
    problems
        Why it can't be taken away.
    already
        Whether it is ended already, so that nothing would change.
    crews
        Crews that somebody would leave.
    """

    ended: bool = False
    known: tuple[str, ...] = ()
    problems: tuple[FieldProblem, ...] = ()
    already: bool = False
    crews: tuple[str, ...] = ()


def fate(setup: JobSetup, steps: Steps, today: date, on: date, known: Known = NOBODY_KNOWS) -> Fate:
    """Return what :func:`take_away` would do with a thing; nothing is written."""
    data = setup.document.data
    faces = _faces_at(data, steps)
    plain = save(setup.path, setup.digest, _leaving(data, steps), today, known, trial=True)
    done = [face for _, face in faces if face.get("done")]
    if not done and not (plain.lost and faces):
        left = [edit.steps[1] for edit in _leaving(data, steps) if isinstance(edit, Put)]
        crews = tuple(str(data["crews"][number].get("name", "")) for number in left)
        return Fate(problems=() if plain.written else plain.problems, crews=crews)
    told = tuple(one.problem.text for one in plain.problems) if plain.lost else ()
    edits = list(_ending(faces, on))
    ending = save(setup.path, setup.digest, edits, today, known, trial=True)
    return Fate(True, told, () if ending.written else ending.problems, already=not edits)


def _leaving(data: Data, steps: Steps) -> Sequence[Edit]:
    """Return the edits that take a thing away; somebody who leaves also leaves crews that have others."""
    edits: list[Edit] = []
    if steps[0] == "people" and len(steps) == 2:
        gone = str(data["people"][steps[1]].get("id", ""))
        for n, crew in _items(data, "crews"):
            people = [one for one in crew.get("people") or () if one != gone]
            if people and gone in (crew.get("people") or ()):
                edits.append(Put(("crews", n, "people"), people))
    return [*edits, Drop(steps)]


def _faces_at(data: Data, steps: Steps) -> list[tuple[Steps, Data]]:
    if steps[0] != "walls":
        return []
    wall = data["walls"][steps[1]]
    if len(steps) == 2:
        return [((*steps, "faces", k), face) for k, face in _items(wall, "faces")]
    return [(steps, wall["faces"][steps[3]])] if len(steps) == 4 and steps[2] == "faces" else []


def _ending(faces: Sequence[tuple[Steps, Data]], on: date) -> Iterator[Edit]:
    for steps, face in faces:
        if face.get("ended"):
            continue
        yield Put((*steps, "ended"), on.isoformat())
        if _begins_later(face.get("start"), on):
            yield Drop((*steps, "start"))


def _begins_later(start: object, on: date) -> bool:
    try:
        return start is not None and parse_date(start) > on
    except ValueError:
        return False
