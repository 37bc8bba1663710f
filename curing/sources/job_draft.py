"""A job file taken to pieces, so that one broken piece hides no fault of another.

Each site, person, crew, wall and face that is sound on its own becomes an
:class:`Entry`; what is not sound is told and left out. Ids are known of broken
pieces too: who refers to one is not told of a second fault.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Generic, TypeVar
from uuid import UUID

from pydantic import BaseModel, ValidationError

from curing.errors import Problem
from curing.model.job import JOB_FORMAT, MOST_WALLS, Crew, Face, JobFile, Person, Site, Wall
from curing.model.quantities import clip
from curing.model.system import Coat, System
from curing.sources.validation import validate
from curing.sources.yaml_nodes import Document, Steps

Piece = TypeVar("Piece", bound=BaseModel)
Id = tuple[str, Steps]
"""An id as the file has it, and the steps to the thing that has it."""

SECTIONS: Mapping[str, tuple[str, type[BaseModel]]] = {
    "sites": ("site", Site),
    "people": ("person", Person),
    "crews": ("crew", Crew),
    "walls": ("wall", Wall),
}
"""Sections that hold things with ids: what one of them is called in a message, and its model."""

_STAND_INS = {"curing": JOB_FORMAT, "uid": str(UUID(int=0)), "name": "job"}
_SIDES = {"out": "outside", "in": "inside"}


@dataclass(frozen=True)
class Entry(Generic[Piece]):
    """A sound piece of the file: the steps to it, what it is called in messages, and what it says."""

    steps: Steps
    label: str
    it: Piece


@dataclass(frozen=True)
class FaceEntry(Entry[Face]):
    """A sound face; ``wall`` is None where the wall's own lines are not sound."""

    id: str
    wall: Entry[Wall] | None

    def coat(self, coat: Coat) -> str:
        """Return how a coat of it is called: ``wall "north gable", outside, finish coat``."""
        return f"{self.label}, {coat.name}"


@dataclass
class Draft:
    """What is sound in a job file.

    Attributes
    ----------
    head
        The job's own lines, without its sections; a line that is not sound has its default.
    walls
        Without their faces, which stand apart in ``faces``.
    ids
        For each section, every id that stands in the file, in order.
    face_ids
        Every face that stands in the file.
    problems
        What is wrong so far.
    systems
        The coat systems that could be read, by id; filled once they are known.
    """

    document: Document
    head: JobFile
    sites: list[Entry[Site]]
    people: list[Entry[Person]]
    crews: list[Entry[Crew]]
    walls: list[Entry[Wall]]
    faces: list[FaceEntry]
    ids: Mapping[str, list[Id]]
    face_ids: Mapping[str, Steps]
    problems: list[Problem]
    systems: Mapping[str, System] = field(default_factory=dict)

    def problem(self, steps: Steps, text: str, *, key: bool = False) -> Problem:
        """Return a problem at the place of a value, or of its key."""
        return Problem(self.document.place(steps, key=key), text)

    def given(self, steps: Steps) -> bool:
        """Tell whether something stands there at all, sound or not."""
        return steps in self.document.places

    def known(self, section: str) -> list[str]:
        """Return all ids of a section."""
        return [name for name, _ in self.ids[section]]

    def complete(self, section: str) -> bool:
        """Tell whether everything in a section is sound and there once: only then may something be missing."""
        entries: Sequence[Entry[Any]] = getattr(self, section)
        return len(entries) == len(set(self.known(section))) == len(list(_items(self.document, (section,))))

    def faces_of(self, wall: Entry[Wall]) -> list[FaceEntry]:
        """Return the sound faces of a wall."""
        return self._by_wall.get(wall.steps, [])

    @cached_property
    def _by_wall(self) -> dict[Steps, list[FaceEntry]]:
        found: dict[Steps, list[FaceEntry]] = {}
        for face in self.faces:
            found.setdefault(face.steps[:2], []).append(face)
        return found

    def system_of(self, entry: FaceEntry) -> System | None:
        """Return the coat system of a face, None where there is none or it could not be read."""
        return self.systems.get(entry.it.system)


def take_apart(document: Document) -> Draft:
    """Return the sound pieces of a document and what is wrong with the others."""
    problems = list(document.problems)
    head = _head(document, problems)
    ids = {section: list(_ids(document, section)) for section in SECTIONS}
    sites = list(_entries(document, "sites", Site, problems))
    people = list(_entries(document, "people", Person, problems))
    crews = list(_entries(document, "crews", Crew, problems))
    walls: list[Entry[Wall]] = []
    faces: list[FaceEntry] = []
    face_ids: dict[str, Steps] = {}
    for steps, raw in _items(document, ("walls",)):
        label = _label("wall", raw, steps)
        found = validate(Wall, _hollow(raw, "faces", Face), document, steps, label, problems)
        wall = Entry(steps, label, found.model_copy(update={"faces": ()})) if found else None
        walls += [wall] if wall else []
        for place, side in _items(document, (*steps, "faces")):
            face_id = f"{_value(raw, 'id')}-{_value(side, 'side')}"
            face_ids.setdefault(face_id, place)
            name = f"{label}, {_SIDES.get(_value(side, 'side'), 'face')}"
            face = validate(Face, side, document, place, name, problems)
            faces += [FaceEntry(place, name, face, face_id, wall)] if face else []
    return Draft(document, head, sites, people, crews, walls, faces, ids, face_ids, problems)


def _head(document: Document, problems: list[Problem]) -> JobFile:
    """Return the job's own lines, with defaults for those that are not sound, and tell of these."""
    lines = dict(document.data)
    for section, (_, model) in SECTIONS.items():
        lines = _hollow(lines, section, model)
    found = validate(JobFile, lines, document, (), "", problems)
    while found is None:
        try:
            found = JobFile.model_validate(lines)
        except ValidationError as error:
            bad = {fault["loc"][0] for fault in error.errors(include_url=False)}
            lines = {name: value for name, value in lines.items() if name not in bad}
            hollow = {section: [model.model_construct()] for section, (_, model) in SECTIONS.items()}
            lines = {**_STAND_INS, **hollow, **lines}
    return found.model_copy(update=dict.fromkeys(SECTIONS, ()))


def _hollow(lines: Any, section: str, model: type[BaseModel]) -> Any:
    """Return the lines with empty things in a section, as many as it has: they are read one by one."""
    if not isinstance(lines, dict) or not isinstance(lines.get(section), list):
        return lines
    return {**lines, section: [model.model_construct() for _ in lines[section]]}


def _entries(document: Document, section: str, model: type[Piece], problems: list[Problem]) -> Iterator[Entry[Piece]]:
    for steps, raw in _items(document, (section,)):
        label = _label(SECTIONS[section][0], raw, steps)
        found = validate(model, raw, document, steps, label, problems)
        if found:
            yield Entry(steps, label, found)


def _items(document: Document, steps: Steps) -> Iterator[tuple[Steps, Any]]:
    """Yield what stands in a list, with the steps to it; of an endless list only what may be read at all."""
    value: Any = document.data
    for step in steps:
        value = value.get(step) if isinstance(value, dict) else value[step] if isinstance(step, int) else None
    for number, item in enumerate(value[:MOST_WALLS] if isinstance(value, list) else ()):
        yield (*steps, number), item


def _ids(document: Document, section: str) -> Iterator[Id]:
    for steps, raw in _items(document, (section,)):
        if name := _value(raw, "id"):
            yield name, steps


def _value(raw: Any, key: str) -> str:
    """Return a short text of a thing that may not be sound; a number is taken as it is meant."""
    value = raw.get(key) if isinstance(raw, dict) else None
    return str(value) if isinstance(value, str | int) else ""


def _label(kind: str, raw: Any, steps: Steps) -> str:
    """Return how a thing is called in messages: by name, else id, else its number in the list."""
    called = _value(raw, "name") or _value(raw, "id")
    return f'{kind} "{clip(called)}"' if called else f"{kind} {int(steps[-1]) + 1}"
