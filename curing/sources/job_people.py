"""The people of a job file: their hours, their roles, and the crews they make up."""

from __future__ import annotations

from collections.abc import Iterator

from curing.errors import Problem
from curing.model.job import Crew, Person, Role, named_days
from curing.model.quantities import clip
from curing.sources.job_draft import Draft, Entry
from curing.sources.validation import unknown
from curing.sources.yaml_nodes import Steps


def check_people(draft: Draft) -> Iterator[Problem]:
    """Yield faults of hours and roles, and of who is in which crew."""
    yield from _week(draft, ("working_week",), "", draft.head.working_week)
    for person in draft.people:
        yield from _hours(draft, person)
        if Role.MISTS in person.it.roles and not person.it.hours:
            text = f'{person.label}: mists, but has no hours; add for instance "hours: {{sat-sun: 08:00-20:00}}"'
            yield draft.problem((*person.steps, "roles"), text)
    if draft.people and draft.complete("people") and not any(Role.LEAD in p.it.roles for p in draft.people):
        text = 'people: nobody leads; decisions and holds are the lead\'s, so add "roles: [lead]" to one of them'
        yield draft.problem(("people",), text, key=True)
    yield from _members(draft)
    for crew in draft.crews:
        if crew.it.working_week is not None:
            yield from _week(draft, (*crew.steps, "working_week"), f"{crew.label}: ", crew.it.working_week)
        yield from _crew_hours(draft, crew)


def people_of(draft: Draft, crew: Crew) -> list[Person] | None:
    """Return the people of a crew, None where one is unknown, not sound, there twice, or has unclear hours."""
    sound = {person.it.id: person.it for person in draft.people if not any(_hours(draft, person))}
    known = draft.known("people")
    if not all(name in sound and known.count(name) == 1 for name in crew.people):
        return None
    return [sound[name] for name in dict.fromkeys(crew.people)]


def working_week(draft: Draft, crew: Crew) -> tuple[str, ...]:
    """Return the weekdays on which a crew lays coats."""
    return crew.working_week if crew.working_week is not None else draft.head.working_week


def _week(draft: Draft, steps: Steps, thing: str, week: tuple[str, ...]) -> Iterator[Problem]:
    if not week and draft.given(steps):
        yield draft.problem(steps, f"{thing}working_week: no day is named; write for instance [mon, tue, wed]")
    for number, day in enumerate(week):
        if day in week[:number]:
            yield draft.problem((*steps, number), f'{thing}working_week: "{day}" stands twice; delete one of them')


def _hours(draft: Draft, person: Entry[Person]) -> Iterator[Problem]:
    seen: dict[str, str] = {}
    for key in person.it.hours:
        steps = (*person.steps, "hours", key)
        try:
            days = named_days(key)
        except ValueError as error:
            yield draft.problem(steps, f"{person.label}: hours: {error}", key=True)
            continue
        twice = next((day for day in days if day in seen), None)
        if twice:
            text = f'hours: "{clip(key)}" and "{seen[twice]}" both name {twice}; name each day once'
            yield draft.problem(steps, f"{person.label}: {text}", key=True)
        seen.update(dict.fromkeys(days, key))


def _members(draft: Draft) -> Iterator[Problem]:
    known = draft.known("people")
    crew_of: dict[str, str] = {}
    for crew in draft.crews:
        for number, name in enumerate(crew.it.people):
            steps = (*crew.steps, "people", number)
            if name not in known:
                yield draft.problem(steps, f"{crew.label}: {unknown('person', name, known)}")
            elif name in crew.it.people[:number]:
                yield draft.problem(steps, f'{crew.label}: person "{name}" stands twice; delete one of them')
            elif name in crew_of:
                text = f'person "{name}" is in {crew_of[name]} too; a person is in one crew'
                yield draft.problem(steps, f"{crew.label}: {text}")
            else:
                crew_of[name] = crew.label


def _crew_hours(draft: Draft, crew: Entry[Crew]) -> Iterator[Problem]:
    people, week = people_of(draft, crew.it), working_week(draft, crew.it)
    if people is None or not week:
        return
    if not any(person.hours_on(day) for person in people for day in week):
        names = ", ".join(f'"{clip(person.name)}"' for person in people)
        text = f'nobody has hours on its working days ({", ".join(week)}); add "hours:" to {names}'
        yield draft.problem((*crew.steps, "people"), f"{crew.label}: {text}")
