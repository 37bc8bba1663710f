"""Hold points that a job file records as met or refused.

They must be known ones, at the right level, in the past, decided by whoever may decide.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date

from curing.errors import Problem
from curing.model.job import HoldMet
from curing.model.people import DECIDERS
from curing.model.quantities import clip
from curing.model.system import HoldPoint, Scope
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

GUTTER = "roof-gutter"
"""The hold that can't be met above a face that says ``gutter: false``."""


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
            elif scope is Scope.JOB and (asks := _asks(points[name])):
                yield draft.problem(place, f"{thing}: {asks}", key=True)
            elif name == GUTTER and entry.met is not None:
                yield from _gutter(draft, place, thing, entry, faces)
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
    elif entry.by and (fault := _may_not(draft, entry.by)):
        yield draft.problem((*place, "by"), f"{thing}: by: {fault}")


def _may_not(draft: Draft, name: str) -> str:
    """Return why a person may not decide on holds, or nothing.

    Of a person with faults no role is known; that nobody decides at all is told once, of the people.
    """
    sound = {person.it.id for person in draft.people}
    able = [person.it.id for person in draft.people if any(role in person.it.roles for role in DECIDERS)]
    if not able or name not in sound or name in able:
        return ""
    names = " or ".join(f'"by: {clip(person)}"' for person in able[:3])
    return (
        f'"{clip(name)}" is neither lead nor architect, and only these open or refuse a hold; let them decide: {names}'
    )


def _asks(point: HoldPoint) -> str:
    """Return why one line for the whole job can't answer for a hold point, or nothing."""
    if point.task is None or point.scope is Scope.JOB:
        return ""
    one = point.scope.value
    return (
        f"one line can't answer for the whole job: this {point.task.kind} is made {one} by {one}; {_UNDER[point.scope]}"
    )


def _gutter(draft: Draft, place: Steps, thing: str, entry: HoldMet, faces: list[FaceEntry]) -> Iterator[Problem]:
    """Yield the first face that has no gutter although this line says that the roof edge is on."""
    for face in faces:
        system = draft.system_of(face)
        if face.it.gutter or system is None or all(point.id != GUTTER for point in system.holds):
            continue
        near = [face.it.holds, face.wall.it.holds if face.wall else {}, draft.head.holds]
        if next((holds[GUTTER] for holds in near if GUTTER in holds), None) is entry:
            todo = 'take that line out when the gutter is on, or write "refused: DATE" under the "holds" of its wall'
            yield draft.problem(place, f'{thing}: is met, but {face.label} says "gutter: false"; {todo}', key=True)
            return


def _half_read(draft: Draft, place: Steps) -> bool:
    """Tell whether a date stood there and was refused by the reader already."""
    return any((*place, word) in draft.document.spoilt for word in ("met", "refused"))
