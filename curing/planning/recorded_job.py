"""The job as its file and its record say it together: what was recorded stands where a person would write it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from curing.model.evidence import Evidence, HoldFact
from curing.model.job import HoldMet, Job, Person, Wall
from curing.model.plan import Slot
from curing.planning.turns import takers
from curing.planning.worktime import MIDDAY, NOON, HourSpan, Worktime, zone_of

ASSIGNED_HOURS = (7 * 60, 20 * 60)
"""[min after midnight] Hours of who takes rounds on a day that is not among his own (common practice, no source)."""
_PARTS = {Slot.EARLY: (ASSIGNED_HOURS[0], NOON), Slot.MIDDAY: MIDDAY, Slot.LATE: (NOON, ASSIGNED_HOURS[1])}
"""The part of them that a round needs: who takes the late one is not asked for the early one."""


def with_record(job: Job, evidence: Evidence) -> Job:
    """Return the job with coats done, holds met and turns taken by the record and by decisions.

    What is recorded counts before what the file says: an edit takes nothing back. A hold that was shut
    again has a line that is neither met nor refused.
    """
    if not (evidence.done or evidence.holds or evidence.turns):
        return job
    walls = tuple(_wall(job, wall, evidence) for wall in job.file.walls)
    holds = {**job.file.holds, **_holds("job", evidence)}
    extra = _extra_days(job, evidence)
    people = tuple(_here_too(one, extra.get(one.id, {})) for one in job.file.people)
    only_walks = frozenset((person, day) for person, days in extra.items() for day in days)
    file = job.file.model_copy(update={"walls": walls, "holds": holds, "people": people})
    again = frozenset(hold for hold, fact in evidence.holds.items() if fact.shut is not None)
    return job.model_copy(update={"file": file, "only_walks": only_walks, "read_once": again})


def _wall(job: Job, wall: Wall, evidence: Evidence) -> Wall:
    zone = zone_of(job.site_of(wall).time_zone)
    faces = []
    for face in wall.faces:
        face_id = f"{wall.id}-{face.side.value}"
        coats = [coat.id for coat in job.systems[face.system].coats]
        done = dict(face.done)
        for coat in coats:
            closed = evidence.done.get(f"{face_id}.{coat}")
            if closed is not None:
                done[coat] = closed.at.astimezone(zone).replace(tzinfo=None, second=0, microsecond=0)
        faces.append(face.model_copy(update={"done": done, "holds": {**face.holds, **_holds(face_id, evidence)}}))
    return wall.model_copy(update={"faces": tuple(faces), "holds": {**wall.holds, **_holds(wall.id, evidence)}})


def _holds(head: str, evidence: Evidence) -> dict[str, HoldMet]:
    found = {}
    for hold, fact in evidence.holds.items():
        where, _, point = hold.rpartition(".")
        if where == head:
            found[point] = _entry(fact)
    return found


def _entry(fact: HoldFact) -> HoldMet:
    if fact.shut is not None:
        return HoldMet()
    note = fact.cause.note[:200]
    return HoldMet.model_construct(met=fact.met, refused=fact.refused, by=fact.cause.by, note=note)


def _extra_days(job: Job, evidence: Evidence) -> dict[str, dict[date, HourSpan]]:
    """Return person → hours on days on which somebody takes rounds that are not among his own."""
    worktime = Worktime(job)
    people = {one.id: one for one in job.file.people}
    days: dict[str, dict[date, HourSpan]] = {}
    for (day, slot), turns in evidence.turns.items():
        for turn in takers(turns):
            person = people.get(turn.person)
            if person is None or worktime.hours(person.id, day) is not None:
                continue
            if not any(first <= day <= last for first, last in person.away):
                hours = days.setdefault(person.id, {})
                low, high = hours.get(day, _PARTS[slot])
                hours[day] = (min(low, _PARTS[slot][0]), max(high, _PARTS[slot][1]))
    return days


def _here_too(person: Person, days: Mapping[date, HourSpan]) -> Person:
    extra = {day.isoformat(): hours for day, hours in sorted(days.items())}
    return person.model_copy(update={"also": {**person.also, **extra}}) if extra else person
