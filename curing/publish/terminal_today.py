"""The day at the walls in a terminal: rounds, coats, looks and readings; what waits; who has what."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from curing.model.plan import Booking, Kind, Plan, State, Visit
from curing.model.system import RULES
from curing.publish.event_text import caution
from curing.publish.event_title import LIVE, plain
from curing.publish.terminal import answer, header, job_name, joined
from curing.publish.terminal_faces import Faces
from curing.publish.terminal_first import first, needs
from curing.publish.terminal_layout import table, wrap
from curing.publish.terminal_names import Names, local_day
from curing.publish.words import Words

UNDER = " " * 15
"""Under what stands after a time: ``  07:00-10:25  ``."""

DOT = f"{UNDER}· "
"""Begins a line on how something is done."""


@dataclass(frozen=True)
class Standing:
    """How far the plan can be relied on today.

    Parameters
    ----------
    job
        The job file as it was named.
    saved, edited
        Whether the plan is a saved one, and whether the job has changed since.
    moves
        How many things planning now would move.
    broken
        Whether the job can't be planned as its file stands.
    """

    job: str
    saved: bool
    edited: bool = False
    moves: int = 0
    broken: bool = False


def today_page(plan: Plan, present: Plan, standing: Standing, words: Words, now: datetime) -> list[str]:
    """Return the lines of ``curing today``, none wider than 80 cells.

    Parameters
    ----------
    plan
        What people were told.
    present
        The same with the warnings and questions of today.
    standing
        How far it can be relied on.
    words
        Language and units of the reader.
    now
        The present instant.
    """
    names = Names(plan, words, now)
    today = names.today(plan.sites[0].id)
    day = [one for one in plan.everything() if one.state in LIVE and local_day(one) == today]
    job = job_name(standing.job)
    found = needs(present, Names(present, words, now))
    key = "of" if standing.saved else "unsaved"
    made = names.long_day(plan.as_of.astimezone(names.zone(plan.sites[0].id)).date())
    blocks = [
        [header(names, words.say(f"terminal.revision.{key}", number=plan.revision, day=made)), *_news(standing, names, job)],
        first([need for need in found if need.mark != "-"], names, job, room=None),
        *_work(day, names),
        _waits(plan, day, names),
        _people(day, names),
        _tomorrow(plan, today, names, empty=not day),
        first([need for need in found if need.mark == "-"], names, job, room=None, head="terminal.good_to_know"),
        _cautions(plan, day, names),
    ]
    return joined(blocks)


def _news(standing: Standing, names: Names, job: str) -> list[str]:
    say = names.words.say
    told = []
    if standing.broken:
        return [*wrap(say("terminal.today.broken")), *answer(names, "check", job)]
    if not standing.saved:
        told += wrap(say("terminal.today.unsaved"))
    if standing.edited:
        told += wrap(say("terminal.today.edited"))
    if standing.moves:
        told += wrap(names.words.count("terminal.today.moves", standing.moves))
    return [*told, *answer(names, "plan", job)] if told else []


def _work(day: Sequence[Booking], names: Names) -> Iterator[list[str]]:
    """Yield the blocks of rounds, coats, and what is short."""
    say = names.words.say
    rounds = [one for one in day if one.kind is Kind.ROUND]
    coats = [one for one in day if one.kind is Kind.COAT]
    small = [one for one in day if one.kind not in (Kind.ROUND, Kind.COAT)]
    if rounds:
        yield [say("terminal.rounds"), *(line for one in rounds for line in _round(one, names))]
    for key, listed in (("terminal.coats", coats), ("terminal.looks", small)):
        if listed:
            yield [say(key), *_jobs(listed, names)]


def _jobs(listed: Sequence[Booking], names: Names) -> Iterator[str]:
    """Yield what is done, and under all that is done in one way how it is done."""
    ways: dict[tuple[str, ...], list[Booking]] = {}
    for one in listed:
        how = tuple(plain(note) for note in one.notes) or (names.reason(one.reason),)
        air = _air(one, names)
        ways.setdefault((air, *how) if air else how, []).append(one)
    lines = iter(table([_job(one, names) for same in ways.values() for one in same], (11, 12, 6, 10), indent=2))
    for how, same in ways.items():
        for one in same:
            yield next(lines)
            for text in _own(one, names):
                yield from wrap(text, DOT)
        for text in how:
            yield from wrap(text, DOT)


def _job(one: Booking, names: Names) -> tuple[str, str, str, str]:
    face, wall = names.titles.subject(one)
    key = "terminal.if" if one.state is State.CONDITIONAL else "terminal.thing"
    return names.span(one), names.words.say(key, subject=face, task=names.task(one)), wall, names.who(one.who)


def _own(one: Booking, names: Names) -> Iterator[str]:
    """Yield what is so of one booking only: what it waits for, who is missing, until when it is of use."""
    say = names.words.say
    for hold in names.plan.holds:
        if hold.id in one.holds:
            yield say("terminal.only_if", text=plain(hold.text))
    for out in one.absent:
        values = {"start": names.clock(out.start, one.zone), "end": names.clock(out.end, one.zone)}
        yield say("terminal.out", who=names.who([out.person]), **values)
    if one.until is not None:
        day = names.long_day(local_day(one, one.until))
        yield say("terminal.until", day=day, clock=names.clock(one.until, one.zone))


def _air(booking: Booking, names: Names) -> str:
    found = {}
    for rule, value in booking.limits.items():
        name = rule.partition(".")[2]
        if name in ("air_least", "air_most"):
            found[name] = names.words.figure(value, RULES[name].kind)
    if len(found) == 2:
        return names.words.say("terminal.air.between", **found)
    return next((names.words.say(f"terminal.air.{name}", value=value) for name, value in found.items()), "")


def _round(booking: Booking, names: Names) -> Iterator[str]:
    say, figure = names.words.say, names.words.figure
    minutes = figure(sum(one.minutes for one in booking.visits), "duration_min")
    water = sum(one.water for one in booking.visits)
    amount = say("terminal.water", minutes=minutes, water=_litres(water, names)) if water else minutes
    yield from table([(names.span(booking), names.task(booking), amount, names.who(booking.who))], (11, 8, 8, 12), indent=2)
    yield from table([_visit(one, names) for one in booking.visits], (4, 8, 4, 10), indent=len(UNDER))
    for note in booking.notes:
        yield from wrap(plain(note), DOT)
    for text in _own(booking, names):
        yield from wrap(text, DOT)


def _visit(one: Visit, names: Names) -> tuple[str, str, str, str]:
    say = names.words.say
    face = names.titles.faces.get(one.face)
    coat = next((names.coat(c) for c in face.coats if c.coat == one.coat), plain(one.coat)) if face else plain(one.coat)
    extra = []
    if one.cloth:
        extra.append(say("terminal.visit.cloth"))
    if one.sun_from and one.sun_to:
        extra.append(say("terminal.visit.sun", start=one.sun_from, end=one.sun_to))
    if one.conditional:
        extra.append(say("terminal.visit.if"))
    return (
        names.face(one.face),
        say("terminal.now.day_of", coat=coat, day=one.day, last=one.last_day),
        say(f"terminal.care.{one.care}", minutes=names.words.figure(one.minutes, "duration_min")),
        ", ".join(extra),
    )


def _litres(water: float, names: Names) -> str:
    """Return an amount of water in the reader's units: litres, or US gallons of 3.785411784 L (NIST SP 811)."""
    if names.words.units == "us":
        return names.words.say("terminal.gallons", amount=f"{water / 3.785411784:.1f}")
    return names.words.say("terminal.litres", amount=f"{water:.0f}")


def _waits(plan: Plan, day: Sequence[Booking], names: Names) -> list[str]:
    """Return what comes next at each face that has no coat today, and the whole reason of its day."""
    busy = {one.faces[0] for one in day if one.kind is Kind.COAT and one.faces}
    cells = []
    for row in Faces(plan, names).rows():
        if row.booking is None or row.face.id in busy:
            continue
        why = names.reason(row.booking.reason)
        points = [plain(hold.point) for hold in plan.holds if hold.id in row.booking.holds]
        if points:
            why = names.words.count("terminal.why_if", len(points), points=", ".join(points), why=why)
        cells.append((names.face(row.face.id), row.next, row.when, why))
    if not cells:
        return []
    return [names.words.say("terminal.waits"), *table(cells, (4, 8, 5, 30), indent=2, last=True)]


def _people(day: Sequence[Booking], names: Names) -> list[str]:
    say = names.words.say
    duties: dict[str, list[str]] = {}
    for booking in day:
        subject = "" if booking.kind is Kind.ROUND else names.titles.subject(booking)[0]
        what = say("terminal.duty", clock=names.clock(booking.start, booking.zone), subject=subject, task=names.task(booking))
        for person in booking.who:
            duties.setdefault(person, []).append(" ".join(what.split()))
    if not day:
        return []
    cells = [(names.who([one.id]), ", ".join(duties[one.id])) for one in names.plan.people if one.id in duties]
    free = [one.id for one in names.plan.people if one.id not in duties and {"lead", "mists"} & {*one.roles}]
    if free:
        cells.append((names.who(free), say("terminal.free")))
    return [say("terminal.who"), *table(cells, (8, 30), indent=2, last=True)]


def _tomorrow(plan: Plan, today: date, names: Names, *, empty: bool) -> list[str]:
    say = names.words.say
    lines = wrap(say("terminal.today.nothing")) if empty else []
    ahead = [one for one in plan.everything() if one.state in LIVE and local_day(one) > today]
    if not ahead:
        return [*lines, *wrap(say("terminal.tomorrow.last"))]
    tomorrow = today + timedelta(1)
    day = min(local_day(one) for one in ahead)
    if day != tomorrow:
        lines += wrap(say("terminal.tomorrow.nothing", day=names.long_day(tomorrow)))
    lines.append(say("terminal.tomorrow" if day == tomorrow else "terminal.tomorrow.next", day=names.long_day(day)))
    return [*lines, *_short(sorted((b for b in ahead if local_day(b) == day), key=lambda b: b.start), names)]


def _short(bookings: Iterable[Booking], names: Names) -> list[str]:
    cells = []
    for one in bookings:
        subject = names.faces(one.faces) if one.kind is Kind.ROUND else names.titles.subject(one)[0]
        key = "terminal.about_task" if one.state is State.CONDITIONAL else "terminal.plain_task"
        cells.append((names.span(one), names.words.say(key, task=names.task(one)), subject, names.who(one.who)))
    return table(cells, (11, 8, 8, 8), indent=2)


def _cautions(plan: Plan, day: Sequence[Booking], names: Names) -> list[str]:
    keys = list(dict.fromkeys(key for one in day for key in one.cautions))
    if not keys:
        return []
    lines = [names.words.say("terminal.cautions")]
    for key in keys:
        lines += wrap(caution(names.words, key, plan.cautions.get(key, key)), "  ")
    return [*lines, *wrap(names.words.say("caution.last"), "  ")]
