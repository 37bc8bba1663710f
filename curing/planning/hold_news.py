"""What entries just recorded did to holds: shut one, make what it asks for pass, or leave it lacking."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from curing.model.evidence import Evidence, HoldNews
from curing.model.job import HoldMet, Job
from curing.model.record import RecordEntry
from curing.model.record_data import Probe, Trial, said
from curing.model.system import Scope
from curing.planning.admission import Desk
from curing.planning.hold_facts import HoldFacts, Point
from curing.planning.meters import meters_of


def hold_news(before: Evidence, desk: Desk, entries: Iterable[RecordEntry]) -> tuple[HoldNews, ...]:
    """Return what new entries did to the holds of coats that are not laid.

    Parameters
    ----------
    before
        The facts without these entries, of the same walls.
    desk
        The record of these walls with them.
    entries
        The new ones.
    """
    after, job = desk.evidence, desk.job
    facts = HoldFacts(job, desk.roots, after.done, lambda one: None)  # type: ignore[arg-type,return-value]
    behind = _behind(job, after)
    found = []
    for at in facts.points():
        coats = tuple(behind.get(at.id, ()))
        if not coats:
            continue
        fact, was = after.holds.get(at.id), before.holds.get(at.id)
        if fact is not None and fact.shut is not None and (was is None or was.shut is None):
            found.append(HoldNews(at.id, coats, shut=fact.shut))
        elif at.point.task is not None and not (
            fact.met is not None if fact is not None else _met(facts.from_file(at))
        ):
            about = list(_about(at, desk, entries))
            if at.id in after.waiting and (about or at.id not in before.waiting):
                found.append(HoldNews(at.id, coats, passes=True))
            elif about:
                found.append(_lacking(at, coats, facts, desk, about))
    return tuple(found)


def _behind(job: Job, evidence: Evidence) -> Mapping[str, list[str]]:
    """Return hold → coats that are not laid and wait behind it."""
    found: dict[str, list[str]] = {}
    for face_id, wall, face in job.faces():
        system = job.systems[face.system]
        for coat in system.coats:
            if f"{face_id}.{coat.id}" in evidence.done or coat.id in face.done:
                continue
            for name in coat.holds:
                head = {Scope.JOB: "job", Scope.WALL: wall.id, Scope.FACE: face_id}[system.hold(name).scope]
                found.setdefault(f"{head}.{name}", []).append(f"{face_id}.{coat.id}")
    return found


def _met(line: HoldMet | None) -> bool:
    return line is not None and line.met is not None


def _about(at: Point, desk: Desk, entries: Iterable[RecordEntry]) -> Iterator[RecordEntry]:
    """Yield the readings or tests among entries for which a hold asks."""
    task = at.point.task
    for entry in entries:
        data, place = said(entry), desk.place(entry)
        if task is None or place is None or at.wall is None or place[1].id != at.wall.id:
            continue
        read = task.kind == "reading" and isinstance(data, Probe)
        tried = isinstance(data, Trial) and data.test in task.needs and at.face_id in ("", place[0])
        if read or tried:
            yield entry


def _lacking(at: Point, coats: tuple[str, ...], facts: HoldFacts, desk: Desk, about: Sequence[RecordEntry]) -> HoldNews:
    listed = facts.listed(at, desk.entries)
    when = max(one.at for one in (*listed, *about))
    assert at.point.task is not None
    if at.point.task.kind != "reading":
        return HoldNews(at.id, coats, tests=facts.missing_tests(at, listed, when))
    meters = meters_of(desk.standing.entries)
    found = facts.judgement(at, listed, when, meters)
    unknown = [
        data.meter
        for one in about
        if isinstance(data := said(one), Probe) and not facts.counts(at, one, data, when, meters)
    ]
    wet = tuple(dict.fromkeys((one.side, one.probe.band) for one in found.wet))
    return HoldNews(at.id, coats, missing=found.missing, wet=wet, meter=unknown[0] if unknown else "")
