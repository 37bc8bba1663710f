"""What a job file says comes after what: faces that wait for coats of other faces, without circles."""

from __future__ import annotations

from collections.abc import Iterator
from graphlib import CycleError, TopologicalSorter
from itertools import pairwise

from curing.errors import Problem
from curing.model.quantities import clip
from curing.sources.job_draft import Draft, FaceEntry
from curing.sources.validation import MOST_SHOWN, unknown
from curing.sources.yaml_nodes import Steps

Task = tuple[str, str]
"""Face id and coat id; the coat id is empty where the face's coat system is not known."""


def check_order(draft: Draft) -> Iterator[Problem]:
    """Yield what waits for nothing that exists, for itself, or in a circle."""
    faces = {face.id: face for face in reversed(draft.faces)}
    waits: dict[Task, dict[Task, Steps | None]] = {}
    for face in faces.values():
        coats = _coats(draft, face)
        for earlier, later in pairwise(coats):
            waits.setdefault((face.id, later), {})[face.id, earlier] = None
    for face in draft.faces:
        for number, reference in enumerate(face.it.after):
            steps = (*face.steps, "after", number)
            other, _, coat = reference.partition(".")
            fault = _fault(draft, faces, face, reference)
            if fault:
                yield draft.problem(steps, f"{face.label}: after: {fault}")
            elif other in faces:
                task = (other, coat or _coats(draft, faces[other])[0])
                waits.setdefault((face.id, _coats(draft, face)[0]), {}).setdefault(task, steps)
    yield from _circles(draft, waits)


def _coats(draft: Draft, face: FaceEntry) -> list[str]:
    system = draft.system_of(face)
    return [coat.id for coat in system.coats] if system else [""]


def _fault(draft: Draft, faces: dict[str, FaceEntry], face: FaceEntry, reference: str) -> str:
    """Return what is wrong with one reference, or nothing."""
    other, _, coat = reference.partition(".")
    if other not in draft.face_ids:
        return unknown("face", other, draft.face_ids)
    if other == face.id:
        return f'"{clip(reference)}" is this face; a face can\'t wait for itself, delete it'
    system = draft.system_of(faces[other]) if other in faces else None
    if coat and system and not system.coat(coat):
        return unknown(f'coat of face "{other}"', coat, [coat.id for coat in system.coats])
    return ""


def _circles(draft: Draft, waits: dict[Task, dict[Task, Steps | None]]) -> Iterator[Problem]:
    """Yield each circle, and open it to look for the next."""
    for _ in range(MOST_SHOWN):
        try:
            TopologicalSorter(waits).prepare()
            return
        except CycleError as error:
            circle: list[Task] = error.args[1]
        # Each task of the circle comes before the next one, so the next one waits for it.
        links = [(later, earlier, waits[later][earlier]) for earlier, later in pairwise(circle)]
        written = [(later, earlier, steps) for later, earlier, steps in links if steps is not None]
        later, earlier, steps = min(written, key=lambda link: draft.document.place(link[2]))
        words = ", ".join(f"{name[0]} waits for {_name(other)}" for name, other, _ in reversed(written))
        face = next(face for face in draft.faces if face.id == later[0])
        text = f"{face.label}: after: a circle: {words}; delete one of these lines"
        yield draft.problem(steps, text)
        del waits[later][earlier]


def _name(task: Task) -> str:
    return ".".join(filter(None, task))
