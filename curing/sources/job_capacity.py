"""Whether a crew can lay a face in one day: a coat is one block with one wet edge."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from curing.errors import Problem
from curing.model.job import Crew, Person
from curing.model.quantities import clip, show
from curing.model.system import Coat, RuleBook
from curing.sources.job_draft import Draft, FaceEntry
from curing.sources.job_people import people_of, working_week
from curing.sources.job_rules import OwnValues

SPLIT = "split it at a natural break (corner, downpipe, expansion joint)"


@dataclass(frozen=True)
class BestDay:
    """Most that a crew has on one day of its working week.

    Parameters
    ----------
    crew
        Name of the crew.
    people
        How many of them are there at the same time.
    hours
        Hours of all of them together [h].
    """

    crew: str
    people: int
    hours: float


def check_capacity(draft: Draft, own: OwnValues) -> Iterator[Problem]:
    """Yield faces that no crew lays in a day, each with the first coat that shows it."""
    if not (draft.complete("people") and draft.complete("crews")):
        return
    days = {crew.it.id: best_day(crew.it, people, working_week(draft, crew.it))
            for crew in draft.crews if (people := people_of(draft, crew.it)) is not None}  # fmt: skip
    for face in draft.faces:
        crews = [face.it.crew] if face.it.crew else [crew.it.id for crew in draft.crews]
        able = [days[crew] for crew in crews if crew in days and days[crew].people]
        system = draft.system_of(face)
        if system is None or not able or face.it.ended is not None or len(able) < len(crews):
            continue
        book = own.book(face, system)
        faults = (_fault(draft, face, coat, book, able) for coat in system.coats if coat.id not in face.it.done)
        text = next(filter(None, faults), None)
        if text:
            yield draft.problem((*face.steps, "area"), text)


def best_day(crew: Crew, people: list[Person], week: tuple[str, ...]) -> BestDay:
    """Return the most that a crew has on one day of its working week, without regard to rounds.

    Examples
    --------
    >>> mia = Person.model_validate({"id": "mia", "name": "Mia", "hours": {"mon-fri": "07:00-15:30"}})
    >>> best_day(Crew.model_validate({"id": "a", "name": "A", "people": ["mia"]}), [mia], ("mon", "sat"))
    BestDay(crew='A', people=1, hours=8.5)
    """
    together, hours = 0, 0.0
    for day in week:
        spans = [span for person in people if (span := person.hours_on(day))]
        together = max([together, *(sum(a <= start < b for a, b in spans) for start, _ in spans)])
        hours = max(hours, sum(end - start for start, end in spans) / 60)
    return BestDay(crew.name, together, hours)


def _fault(draft: Draft, face: FaceEntry, coat: Coat, book: RuleBook, able: list[BestDay]) -> str:
    """Return what a coat asks beyond the best day of every crew, or nothing."""
    units, area = draft.head.units, face.it.area
    edge, labour = f"{coat.id}.wet_edge", f"{coat.id}.labour"
    most = max(able, key=lambda day: day.people)
    limit = most.people * book.value(edge)
    if book.has(edge) and area > limit:
        count, keep = ("one person", "keeps") if most.people == 1 else (f"{most.people} people", "keep")
        return (
            f"{face.coat(coat)}: {show(area, 'area_m2', units, limits=[limit])} exceeds "
            f'{show(limit, "area_m2", units)}, what {count} of crew "{clip(most.crew)}" {keep} wet-edged in a day '
            f"(rule {edge}: {show(book.value(edge), 'output_m2_per_day', units)} each); {SPLIT}"
        )
    most = max(able, key=lambda day: day.hours)
    needed = area * book.value(labour)
    if needed > most.hours:
        return (
            f"{face.coat(coat)}: {show(needed, 'duration_h', units, limits=[most.hours])} of work exceed the "
            f'{show(most.hours, "duration_h", units)} that crew "{clip(most.crew)}" has on its best day '
            f"(rule {labour}); {SPLIT}, or give the crew more hours"
        )
    return ""
