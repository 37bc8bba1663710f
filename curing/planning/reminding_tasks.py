"""Reminders of readings, tests, looks and covers: before each, and of all of tomorrow the evening before."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, timedelta

from curing.model.plan import Booking, State
from curing.model.plan import Kind as Booked
from curing.model.record import RecordKind
from curing.model.record_data import Cover, Probe, Trial, said
from curing.model.reminders import Kind, Occasion
from curing.planning.inspections import wrong_since
from curing.planning.reminding_quiet import Manner, before_work
from curing.planning.reminding_scene import DAY, View, clock, day_of, end_of_day, over_of
from curing.planning.weather_booked import cover_of
from curing.planning.worktime import local, zone_of

TASKS = (Booked.READING, Booked.TEST, Booked.LOOK, Booked.COVER)
PREPARED = (Booked.READING, Booked.TEST, Booked.COVER)
"""What wants a tool, or a ladder, to be there in the morning."""
A_WHILE = timedelta(days=2)


def tasks(view: View) -> Iterator[Occasion]:
    """Yield a person's small tasks, so long before each as the person wants."""
    for one in view.near(view.scene.plan.bookings, A_WHILE, A_WHILE):
        if one.kind not in TASKS or not to_do(view, one):
            continue
        zone = zone_of(one.zone)
        for root in view.having_it(one):
            due, rings = before_work(view.people[root], zone, one.start)
            yield from view.occasion(
                Kind.TASK,
                f"task|{day_of(one).isoformat()}|{view.lasting(one.id)}",
                root,
                due,
                over_of(one),
                manner=Manner.RINGS if rings else Manner.WAITS,
                zone=one.zone,
                about=(one.id,),
                faces=view.in_order(one.faces),
                values={
                    "what": what_of(one),
                    "task": one.task,
                    "title": one.title,
                    "day": day_of(one).isoformat(),
                    "start": clock(zone, one.start),
                    "by": clock(zone, over_of(one)),
                    "by_day": local(zone, over_of(one))[0].isoformat(),
                    "minutes": round((one.end - one.start).total_seconds() / 60),
                    "coat": coat_behind(one),
                },
            )


def eves(view: View) -> Iterator[Occasion]:
    """Yield what a person has to be ready for tomorrow, in the evening."""
    found: dict[tuple[date, str], list[Booking]] = {}
    for one in view.near(view.scene.plan.bookings, A_WHILE, 2 * A_WHILE):
        if one.kind in PREPARED and to_do(view, one):
            for root in view.having_it(one):
                found.setdefault((day_of(one), root), []).append(one)
    for (day, root), listed in found.items():
        counts = {kind: sum(one.kind is kind for one in listed) for kind in PREPARED}
        first = min(listed, key=lambda one: (one.start, one.id))
        yield from view.occasion(
            Kind.EVE,
            f"eve|{day.isoformat()}|{root}",
            root,
            view.at(day - DAY, view.scene.evening),
            end_of_day(view.zone, day - DAY),
            manner=Manner.FORWARD,
            about=tuple(one.id for one in listed),
            faces=view.in_order(face for one in listed for face in one.faces),
            values={
                "day": day.isoformat(),
                "readings": counts[Booked.READING],
                "tests": counts[Booked.TEST],
                "covers": counts[Booked.COVER],
                "start": clock(zone_of(first.zone), first.start),
            },
        )


def what_of(booking: Booking) -> str:
    """Return what a task is, in the words of the catalogue."""
    if booking.kind is Booked.COVER:
        return "cover-up" if booking.task.endswith("up") else "cover-down"
    return booking.kind.value


def coat_behind(booking: Booking) -> str:
    """Return the coat after which somebody looks, before which somebody reads, or over which cloth hangs."""
    return booking.id.removesuffix(".look") if booking.kind is Booked.LOOK else booking.reason.bound


def to_do(view: View, booking: Booking) -> bool:
    """Tell whether a task is certain and nobody did it yet."""
    if booking.state is not State.FIRM:
        return False
    if booking.kind in (Booked.READING, Booked.TEST):
        return not answered(view, booking)
    closed = view.laid.get(coat_behind(booking))
    if booking.kind is Booked.LOOK:
        return closed is not None and not looked_at(view, booking, closed)
    return coat_behind(booking) not in view.off and not covered(view, booking, closed)


def looked_at(view: View, look: Booking, closed: datetime) -> bool:
    """Tell whether somebody looked at a face since its coat was closed."""
    return any(
        one.kind is RecordKind.INSPECTION and one.at >= closed for face in look.faces for one in view.entries_of(face)
    )


def covered(view: View, cover: Booking, closed: datetime | None) -> bool:
    """Tell whether a cover was seen to: on its day or later, or before it and not undone since the coat was closed."""
    kind = RecordKind.COVER_UP if what_of(cover) == "cover-up" else RecordKind.COVER_DOWN
    of = cover_of(cover.id) or "cloth"
    zone, day = zone_of(cover.zone), day_of(cover)
    for face in cover.faces:
        moved = [
            one
            for one in view.entries_of(face)
            if one.kind in (RecordKind.COVER_UP, RecordKind.COVER_DOWN)
            and isinstance(data := said(one), Cover)
            and data.cover == of
        ]
        since = [one for one in moved if closed is not None and one.at >= closed]
        if not any(one.kind is kind and local(zone, one.at)[0] >= day for one in moved) and not (
            since and max(since, key=lambda one: one.order).kind is kind
        ):
            return False
    return bool(cover.faces)


def answered(view: View, task: Booking) -> bool:
    """Tell whether a reading or test was made: its hold is met, waits for a word, or somebody entered one that day.

    A look over a face that something went wrong with is made once somebody inspected it since, whatever was found.
    """
    evidence, zone, day = view.scene.evidence, zone_of(task.zone), day_of(task)
    if task.looks_over:
        since = wrong_since(task)
        looks = (one for face in task.faces for one in view.entries_of(face) if one.kind is RecordKind.INSPECTION)
        return any(one.at >= since for one in looks)
    fact = evidence.holds.get(task.id)
    if (fact is not None and fact.met is not None) or task.id in evidence.waiting:
        return True
    form = Probe if task.kind is Booked.READING else Trial
    return any(
        local(zone, one.at)[0] == day and isinstance(said(one), form)
        for face in task.faces
        for one in view.entries_of(face)
        if one.kind in (RecordKind.READING, RecordKind.TEST)
    )
