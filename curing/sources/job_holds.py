"""Hold points that a job file records as met or refused: known ones, at the right level, in the past."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date

from curing.errors import Problem
from curing.model.job import HoldMet
from curing.model.system import Scope
from curing.sources.job_draft import Draft, FaceEntry
from curing.sources.validation import unknown
from curing.sources.yaml_nodes import Steps

_WIDTH = (Scope.JOB, Scope.WALL, Scope.FACE)
"""From the widest on; a line at a wide level answers for all within it."""

_UNDER = {
    Scope.JOB: 'write it under the "holds" of the job',
    Scope.WALL: 'write it under the "holds" of the wall',
    Scope.FACE: 'write it under the "holds" of the face',
}


def check_holds(draft: Draft, today: date) -> Iterator[Problem]:
    """Yield faults of everything under ``holds:``; ``today`` is the last day on which one can be met."""
    yield from _level(draft, Scope.JOB, "", (), draft.head.holds, draft.faces, today)
    for wall in draft.walls:
        yield from _level(draft, Scope.WALL, wall.label, wall.steps, wall.it.holds, draft.faces_of(wall), today)
    for face in draft.faces:
        yield from _level(draft, Scope.FACE, face.label, face.steps, face.it.holds, [face], today)


def _level(
    draft: Draft,
    scope: Scope,
    label: str,
    steps: Steps,
    holds: Mapping[str, HoldMet],
    faces: list[FaceEntry],
    today: date,
) -> Iterator[Problem]:
    systems = [system for face in faces if (system := draft.system_of(face))]
    points = {point.id: point for system in systems for point in system.holds}
    for name, entry in holds.items():
        place = (*steps, "holds", name)
        thing = ": ".join(filter(None, (label, f'hold "{name}"')))
        if name in points:
            if _WIDTH.index(points[name].scope) < _WIDTH.index(scope):
                text = f"is recorded once for the whole {points[name].scope.value}; {_UNDER[points[name].scope]}"
                yield draft.problem(place, f"{thing}: {text}", key=True)
        elif points and len(systems) == len(faces):
            said = ": ".join(filter(None, (label, "holds")))
            yield draft.problem(place, f"{said}: {unknown('hold point', name, points)}", key=True)
        yield from _entry(draft, place, thing, entry, today)


def _entry(draft: Draft, place: Steps, thing: str, entry: HoldMet, today: date) -> Iterator[Problem]:
    if (entry.met is None) == (entry.refused is None) and not _half_read(draft, place):
        both = "met and refused at once" if entry.met else "neither met nor refused"
        yield draft.problem(place, f'{thing}: {both}; write one of "met: DATE" and "refused: DATE"')
    for word, day in (("met", entry.met), ("refused", entry.refused)):
        if day is not None and day > today:
            text = f"{word} on {day}, after today ({today}); write it when it is so, a plan needs no date for it"
            at = (*place, word)
            yield draft.problem(at if draft.given(at) else place, f"{thing}: {text}")
    people = draft.known("people")
    if entry.by and entry.by not in people:
        yield draft.problem((*place, "by"), f"{thing}: by: {unknown('person', entry.by, people)}")


def _half_read(draft: Draft, place: Steps) -> bool:
    """Tell whether a date stood there and was refused by the reader already."""
    return any((*place, word) in draft.document.spoilt for word in ("met", "refused"))
