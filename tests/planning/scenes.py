"""Scenes for reminders, made of a court; what falls due as people would see it come, and invented entries."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Any

from court import AMSTERDAM, at, coat, face, wall
from court_record import Court, recorded_job

from curing.model.plan import Booking
from curing.model.reminders import Occasion
from curing.planning.effective import effective
from curing.planning.reminding import Scene, falls_due

LINE = "%a %m-%d %H:%M"


def scene_of(court: Court, **more: Any) -> Scene:
    """Return the scene of a court as it stands: nothing is planned."""
    assert court.plan is not None
    job = court.job()
    entries = effective(court.record).entries
    return Scene(job, court.roots(job), court.plan, court.evidence(), entries, **more)


def lines(found: Iterable[Occasion]) -> list[str]:
    """Return occasions as ``Sun 03-28 07:00 ida missed``, by the clock of Amsterdam."""
    return [f"{one.due.astimezone(AMSTERDAM).strftime(LINE)} {one.person} {one.kind}" for one in found]


def tend(court: Court, walk: Booking, *, kind: str = "misted", by: str = "", at: datetime | None = None) -> None:
    """Say that all visits of a walk were made, five minutes after it began."""
    assert walk.slot is not None
    for one in walk.visits:
        day = walk.start.astimezone(AMSTERDAM).date()
        data = {"coat": one.coat, "day": day.isoformat(), "slot": walk.slot.value}
        if kind == "could-not":
            data["why"] = "no water"
        court.put(kind, one.face, by or walk.who[0], data, at=at or walk.start + timedelta(minutes=5))


def walk_of(court: Court, day: date, slot: str) -> Booking:
    """Return the one walk of a part of a day."""
    assert court.plan is not None
    (found,) = [
        one
        for one in court.plan.rounds
        if one.start.astimezone(AMSTERDAM).date() == day and one.slot is not None and one.slot.value == slot
    ]
    return found


def due(court: Court, after: datetime, to: datetime, **more: Any) -> list[str]:
    return lines(falls_due(scene_of(court, **more), after, to))


def lived(court: Court, until: datetime) -> list[Occasion]:
    """Return what goes out from now to an instant if every entry is known from the minute it was made.

    Between two entries nothing changes, so that each such span is looked at once, with the record of its begin.
    """
    whole, now, found = list(court.record), court.now, []
    moments = sorted({one.at for one in whole if now < one.at < until})
    for start, end in zip([now, *moments], [*moments, until], strict=True):
        court.record = [one for one in whole if one.at <= start]
        found += falls_due(scene_of(court), start, end)
    court.record = whole
    return found


def with_finish(facing: str, base: date, finish: date) -> Court:
    """Return a wall with its finish closed at 12:00 and said five minutes later."""
    before = base - timedelta(1)
    data = recorded_job(wall("1", face(facing, start=base.isoformat()), dry=before.isoformat()))
    court = Court(data, at(before.month, before.day, "12:00"))
    court.replan()
    court.now = at(base.month, base.day, "12:05")
    court.finish("1-out", "base", at(base.month, base.day, "12:00"))
    court.replan()
    for walk in court.plan.rounds if court.plan else ():
        if walk.visits[0].coat == "base":
            tend(court, walk)
    court.now = at(finish.month, finish.day, "06:00") - timedelta(1)
    court.say("test", "1-out", "bo", {"test": "hollows", "passed": True, "coat": "base"})
    court.say("hold-met", "1-out", "ida", {"hold": "base-dry"})
    plan = court.replan()
    assert coat(plan, "1-out.finish").start == at(finish.month, finish.day, "07:00")
    court.now = at(finish.month, finish.day, "12:05")
    court.finish("1-out", "finish", at(finish.month, finish.day, "12:00"))
    court.replan()
    return court


def with_people(scene: Scene, **lines_of: dict[str, Any]) -> Scene:
    """Return a scene whose job file says other things of some people (id → lines)."""
    file = scene.job.file
    people = tuple(one.model_copy(update=lines_of.get(one.id, {})) for one in file.people)
    return replace(scene, job=scene.job.model_copy(update={"file": file.model_copy(update={"people": people})}))


def with_walk(scene: Scene, walk: Booking, **lines_: Any) -> Scene:
    """Return a scene in which one walk of the plan is another."""
    rounds = tuple(replace(one, **lines_) if one.id == walk.id else one for one in scene.plan.rounds)
    return replace(scene, plan=replace(scene.plan, rounds=rounds))


def told(scene: Scene, after: datetime, to: datetime, *kinds: str) -> list[Occasion]:
    """Return what falls due, of some kinds alone."""
    return [one for one in falls_due(scene, after, to) if one.kind.value in kinds]
