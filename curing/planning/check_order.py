"""Whether the coats of a face come in order, with their waits, and what is done stays done."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date, timedelta

from curing.model.job import Side
from curing.model.plan import Booking, Care, CoatDates, State
from curing.model.system import Coat, Work
from curing.planning.check_view import LIVE, Fault, Laying, View, least_wait, proposed

Watered = dict[tuple[str, str], list[date]]
"""Face and coat → days on which a round mists it."""


def check_order(view: View) -> Iterator[Fault]:
    """Yield faults between the coats of a face, and between a face and its job file."""
    watered = _watered(view)
    told = {plan.id: {dates.coat: dates for dates in plan.coats} for plan in view.plan.faces}
    for face, layings in view.layings.items():
        yield from _missing(view, face)
        yield from _facts(view, face, told.get(face, {}))
        yield from _begin(view, face)
        for laying in layings:
            if not laying.done:
                yield from _behind(view, laying, layings, watered)
                if laying.id not in view.kept:
                    yield from _season(view, laying)


def _behind(view: View, laying: Laying, layings: list[Laying], watered: Watered) -> Iterator[Fault]:
    """Yield what is wrong between a coat still to be laid and those before and after it."""
    book = view.book(laying.face)
    coats = [coat.id for coat in book.system.coats]
    place = coats.index(laying.coat.id)
    later = next((x for x in layings if x.done and coats.index(x.coat.id) > place), None)
    if later:
        yield Fault("plan.coat_order", laying.id, f"is booked, but {later.coat.id} over it is done; leave it out")
    if place == 0 or later:
        return
    before = next((x for x in layings if x.coat.id == coats[place - 1]), None)
    if before is None:
        text = f"is booked for {laying.day}, but {coats[place - 1]} under it has no day; book that first"
        yield Fault("plan.coat_order", laying.id, text)
        return
    if laying.start < before.end:
        text = f"starts on {laying.day}, before {before.coat.id} under it is laid on {before.day}; lay it after"
        yield Fault("plan.coat_order", laying.id, text)
        return
    if laying.id in view.kept:
        return
    wait, rule = least_wait(book, laying.coat, before.coat)
    if laying.day < before.day + timedelta(wait):
        text = f"starts on {laying.day}, {(laying.day - before.day).days} days after {before.coat.id}"
        text += f"; at least {wait} days, so not before {before.day + timedelta(wait)}"
        yield Fault(rule, laying.id, text)
    yield from _dry(view, laying, layings, watered)


def _dry(view: View, laying: Laying, layings: list[Laying], watered: Watered) -> Iterator[Fault]:
    """Yield a coat that comes too soon after water: last day with water < day - dry days."""
    rule = f"{laying.coat.id}.dry_days"
    book = view.book(laying.face)
    if not book.has(rule):
        return
    days = int(book.value(rule))
    wet = []
    for before in layings[: layings.index(laying)]:
        last = view.tending(laying.face, before.coat)[1]
        if before.coat.care is Care.MIST and last:
            wet.append(before.day + timedelta(last))
        wet += [day for day in watered.get((laying.face, before.coat.id), ()) if day <= laying.day]
    if wet and max(wet) + timedelta(days) >= laying.day:
        text = f"starts on {laying.day}, the last visit with water is on {max(wet)}; {days} whole dry days between"
        yield Fault(rule, laying.id, f"{text}, so not before {max(wet) + timedelta(days + 1)}")


def _watered(view: View) -> Watered:
    """Return the days on which each coat of each face is misted, as the rounds say."""
    days: Watered = {}
    for walk in view.rounds:
        if walk.state is not State.OFF:
            for visit in walk.visits:
                if visit.care is Care.MIST:
                    days.setdefault((visit.face, visit.coat), []).append(view.day(walk))
    return days


def _begin(view: View, face: str) -> Iterator[Fault]:
    """Yield a face begun before its day, before the faces it waits for, or going on after its end."""
    layings, (_, about) = view.layings[face], view.faces[face]
    for laying in layings:
        if about.ended and not laying.done and laying.day >= about.ended:
            yield Fault("plan.ended", laying.id, f"is booked for {laying.day}; the face ended on {about.ended}")
    first = view.book(face).system.coats[0]
    if not layings or layings[0].coat.id != first.id or layings[0].done:
        return
    begun = layings[0]
    if about.start and begun.day < about.start:
        yield Fault("plan.start", begun.id, f"starts on {begun.day}; the job file says not before {about.start}")
    for reference in about.after:
        other, _, coat = reference.partition(".")
        if other not in view.faces:
            yield Fault("plan.after", begun.id, f'waits for face "{other}", which the job does not have')
        elif other in view.layings and not _laid_by(view, other, coat, begun):
            yield Fault("plan.after", begun.id, f"starts on {begun.day}; {reference} must be laid before it")


def _laid_by(view: View, face: str, coat: str, begun: Laying) -> bool:
    """Tell whether a coat of another face (the first, if not named) is laid when this one begins."""
    order = [c.id for c in view.book(face).system.coats]
    place = order.index(coat) if coat in order else 0
    reached = [x for x in view.layings[face] if order.index(x.coat.id) >= place]
    return any(x.done for x in reached) or any(
        order.index(x.coat.id) == place and x.end <= begun.start for x in reached
    )


def _season(view: View, laying: Laying) -> Iterator[Fault]:
    """Yield an outside plaster coat between the season line and the day on which work resumes.

    Paint is not bound by the line: it asks for dry, mild days, not for a month without frost.
    """
    season = view.job.file.season
    outside = view.faces[laying.face][1].side is Side.OUT
    if not season or not season.resumes or not outside or laying.coat.work is not Work.PLASTER:
        return
    if season.finish_by < laying.day < season.resumes:
        must = "it must begin by then" if laying.coat.season else "no outside plaster after it"
        text = f"starts on {laying.day}, after the season line {season.finish_by}; {must}"
        yield Fault("season.finish_by", laying.id, f"{text}, or wait for {season.resumes}")


def _open(view: View, face: str) -> list[Coat]:
    """Return the coats still to be laid: those above the last one done."""
    coats = view.book(face).system.coats
    done = view.faces[face][1].done
    last = max((i for i, coat in enumerate(coats) if coat.id in done), default=-1)
    return list(coats[last + 1 :])


def _missing(view: View, face: str) -> Iterator[Fault]:
    if view.faces[face][1].ended:
        return
    booked = view.coats_of.get(face, {})
    for coat in _open(view, face):
        if coat.id not in booked:
            yield Fault("plan.missing", f"{face}.{coat.id}", "has no booking; a coat not done is booked or off")


def _facts(view: View, face: str, dates: Mapping[str, CoatDates]) -> Iterator[Fault]:
    """Yield work done that the plan moved or forgot, and work it calls done that nobody recorded."""
    done = {x.coat.id: x for x in view.layings[face] if x.done}
    booked = view.coats_of.get(face, {})
    for name in dict.fromkeys((*done, *booked, *dates)):
        booking, told, fact = booked.get(name), dates.get(name), done.get(name)
        said = _said(view, booking, told)
        where = f"{face}.{name}"
        if fact is None:
            if said:
                yield Fault("plan.done", where, "is called done, but nobody recorded it; book it")
            elif booking and told and (booking.state in LIVE or proposed(booking)) and told.day != view.day(booking):
                text = f"is booked for {view.day(booking)}, but its face says {told.day}; give both one day"
                yield Fault("plan.dates", where, text)
        elif booking and booking.state is not State.DONE:
            yield Fault("plan.done", where, f"was laid on {fact.day}, but is booked again; done work stays done")
        elif not said:
            yield Fault("plan.done", where, f"was laid on {fact.day}; the plan forgot it")
        elif said != {fact.day} or (told and told.laid and told.laid != fact.end):
            text = f"was laid on {fact.day}, closed at {fact.end.isoformat()}; the plan moved it"
            yield Fault("plan.done", where, text)


def _said(view: View, booking: Booking | None, told: CoatDates | None) -> set[date]:
    """Return the days on which a plan says a coat was laid."""
    days = {view.day(booking)} if booking and booking.state is State.DONE else set()
    return days | ({told.day} if told and told.laid else set())
