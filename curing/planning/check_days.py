"""Whether a crew is there when a coat is laid, and long enough for it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from curing.model.plan import Booking
from curing.planning.check_view import Fault, Span, View, at_work
from curing.planning.worktime import EARLIEST, Cause, HourSpan, local

_WORDS = {Cause.WEEKEND: "a weekend", Cause.HOLIDAY: "a holiday", Cause.NOBODY: "a day with nobody there"}


def check_days(view: View) -> Iterator[Fault]:
    """Yield faults of days, hours, hands and labour.

    That a day's coats do not ask for more than the crew's hours follows from
    three rules together: each block has its labour, nobody is in two places,
    and everybody's time lies inside the hours.
    """
    for booking in view.live():
        if not booking.pinned and local(view.work.zone(booking.site), booking.start)[1] < EARLIEST:
            yield Fault("plan.too_early", booking.id, "starts before 04:00, when clocks change; start it later")
    for coat in view.coats():
        yield from _crew(view, coat)
        if coat.who or coat.pinned:
            yield from _hands(view, coat)
        if not coat.pinned:
            yield from _day(view, coat)
    yield from _wet_edge_of_day(view)


def _crew(view: View, coat: Booking) -> Iterator[Fault]:
    crew = next(crew for crew in view.job.file.crews if crew.id == coat.crew)
    wanted = view.faces[coat.faces[0]][1].crew
    if wanted and wanted != crew.id:
        yield Fault("plan.crew", coat.id, f'is laid by crew "{crew.id}"; the job file gives it to "{wanted}"')
    strangers = [person for person in coat.who if person not in crew.people]
    if strangers:
        yield Fault("plan.crew", coat.id, f'names "{strangers[0]}", who is not of crew "{crew.id}"')


def _day(view: View, coat: Booking) -> Iterator[Fault]:
    day = view.day(coat)
    if off := view.work.off(coat.crew, day):
        detail = f" ({off.detail})" if off.detail else ""
        text = f"is laid on {day}, {_WORDS[off.cause]}{detail}; choose a working day of crew {coat.crew}"
        yield Fault(f"plan.{off.cause}", coat.id, text)
        return
    if not coat.who:
        yield Fault("plan.nobody", coat.id, f"is laid on {day} by nobody; name who of crew {coat.crew} lays it")
    for person in coat.who:
        yield from outside_hours(view, coat, person, at_work(coat, person))


def outside_hours(view: View, booking: Booking, person: str, spans: list[Span]) -> Iterator[Fault]:
    """Yield the first time of a person on a booking that is not inside the hours of that day."""
    for span in spans:
        day, (start, end) = view.day(booking), _minutes(view, booking, span)
        hours = view.work.hours(person, day)
        if hours is None or start < hours[0] or end > hours[1]:
            there = "is not there that day" if hours is None else f"is there {_clock(hours)}"
            text = f"takes {person} {_clock((start, end))} on {day}, who {there}; keep inside the hours"
            yield Fault("plan.hours", booking.id, text)
            return


def _minutes(view: View, booking: Booking, span: Span) -> HourSpan:
    """Return a span in minutes after midnight of the booking's local day; an end counts in full."""
    zone, day = view.work.zone(booking.site), view.day(booking)
    start, end = local(zone, span[0]), local(zone, span[1] + timedelta(seconds=59))
    return (
        start[1] + (start[0] - day).days * 24 * 60,
        end[1] + (end[0] - day).days * 24 * 60,
    )


def _clock(span: HourSpan) -> str:
    return "-".join(f"{minute // 60:02}:{minute % 60:02}" for minute in span)


def _hands(view: View, coat: Booking) -> Iterator[Fault]:
    """Yield a coat too large or too long for those on it, or left alone while it is wet.

    area <= wet_edge * people; labour * area <= person-hours of the block less absences.
    """
    face = coat.faces[0]
    area, book = view.faces[face][1].area, view.book(face)
    edge, labour = book.value(f"{coat.task}.wet_edge"), book.value(f"{coat.task}.labour") * area
    if edge and area > edge * len(coat.who) + 1e-6:
        text = f"is {area:g} m2; {len(coat.who)} people keep {edge * len(coat.who):g} m2 wet-edged in a day"
        yield Fault(f"{coat.task}.wet_edge", coat.id, f"{text}; split it at a natural break")
    spans = [span for person in coat.who for span in at_work(coat, person)]
    # Who is sent round a midday by the heat leaves the coat, which keeps its hours: that was decided.
    out = sum(_shared(walk, coat) for walk in view.plan.rounds if walk.who and walk.who[0] in coat.who)
    hours = sum((end - start).total_seconds() for start, end in spans) / 3600 + out
    if hours < labour - 1e-6:
        text = f"has {hours:.2f} person-hours; it takes {labour:.2f} ({area:g} m2); book a longer block"
        yield Fault(f"{coat.task}.labour", coat.id, text)
    alone = _gap(coat, spans)
    if alone and coat.who:
        text = f"is left alone at {alone.isoformat()}; somebody keeps the edge wet from start to end"
        yield Fault("plan.unbroken", coat.id, text)


def _shared(walk: Booking, coat: Booking) -> float:
    """Return the hours that a walk added by weather shares with a coat [h]."""
    if not all(one.added for one in walk.visits):
        return 0.0
    return max((min(walk.end, coat.end) - max(walk.start, coat.start)).total_seconds() / 3600, 0.0)


def _gap(coat: Booking, spans: list[Span]) -> date | None:
    """Return the first instant of a coat at which nobody is on it."""
    reached = coat.start
    for start, end in sorted(spans):
        if start > reached:
            break
        reached = max(reached, end)
    return reached if reached < coat.end else None


def _wet_edge_of_day(view: View) -> Iterator[Fault]:
    """Yield days on which the coats of a crew are more than its people keep wet-edged in a day.

    Sum of area / wet_edge over a day's coats <= people.
    """
    days: dict[tuple[str, date], list[Booking]] = {}
    for coat in view.coats():
        days.setdefault((coat.crew, view.day(coat)), []).append(coat)
    for (crew, day), coats in days.items():
        people = {person for coat in coats for person in coat.who}
        edges = [(view.book(c.faces[0]).value(f"{c.task}.wet_edge"), c) for c in coats]
        load = sum(view.faces[c.faces[0]][1].area / edge for edge, c in edges if edge)
        if len(coats) > 1 and load > len(people) + 1e-6:
            text = f"crew {crew} lays {len(coats)} coats on {day}, the wet edge of {load:.2f} people"
            last = max(coats, key=lambda coat: coat.start)
            yield Fault(f"{last.task}.wet_edge", last.id, f"{text}; {len(people)} are there; use two days")
