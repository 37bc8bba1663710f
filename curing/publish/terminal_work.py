"""The work of a day in a terminal: rounds with their faces, coats with their steps, looks, readings, tests."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from curing.model.plan import Booking, Kind, State, Visit
from curing.model.system import RULES
from curing.publish.event_text import sheltered, steps
from curing.publish.event_title import plain
from curing.publish.terminal_layout import table, wrap
from curing.publish.terminal_names import Names, local_day
from curing.publish.terminal_said import coat_behind
from curing.publish.visit_weather import care_of, short

UNDER = " " * 15
"""Under what stands after a time: ``  07:00-10:25  ``."""

DOT = f"{UNDER}· "
"""Begins a line on how something is done."""


def work_blocks(day: Sequence[Booking], names: Names) -> Iterator[list[str]]:
    """Yield the blocks of rounds, coats, and what is short."""
    say = names.words.say
    rounds = [one for one in day if one.kind is Kind.ROUND]
    coats = [one for one in day if one.kind is Kind.COAT]
    small = [one for one in day if one.kind not in (Kind.ROUND, Kind.COAT)]
    if rounds:
        yield [say("terminal.rounds"), *_rounds(rounds, names)]
    for key, listed in (("terminal.coats", coats), ("terminal.looks", small)):
        if listed:
            yield [say(key), *_jobs(listed, names)]


def _jobs(listed: Sequence[Booking], names: Names) -> Iterator[str]:
    """Yield what is done, and under all that is done in one way how it is done."""
    ways: dict[tuple[str, ...], list[Booking]] = {}
    for one in listed:
        how = tuple(plain(note) for note in one.notes) or (names.reason(one.reason), *steps(names.words, one))
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
    key = "terminal.if" if one.state is State.CONDITIONAL or coat_behind(one) in names.stops else "terminal.thing"
    if one.id in names.stops:
        key = "terminal.stop.thing"
    return names.span(one), names.words.say(key, subject=face, task=names.task(one)), wall, names.who(one.who)


def _own(one: Booking, names: Names) -> Iterator[str]:
    """Yield what is so of one booking only: what it waits for, who is missing, until when it is of use."""
    say = names.words.say
    if one.id in names.stops:
        yield names.stops[one.id]
    for hold in names.plan.holds:
        if hold.id in one.holds:
            yield say("terminal.only_if", text=plain(hold.text))
    for out in one.absent:
        values = {"start": names.clock(out.start, one.zone), "end": names.clock(out.end, one.zone)}
        yield say("terminal.out", who=names.who([out.person]), **values)
    yield from sheltered(names.words, one)
    if one.until is not None:
        day, clock = local_day(one, one.until), names.clock(one.until, one.zone)
        if day != local_day(one):
            clock = say("terminal.day_time", day=names.long_day(day), clock=clock)
        yield say("terminal.until", time=clock)


def _air(booking: Booking, names: Names) -> str:
    found = {}
    for rule, value in booking.limits.items():
        name = rule.partition(".")[2]
        if name in ("air_least", "air_most"):
            found[name] = names.words.figure(value, RULES[name].kind)
    if len(found) == 2:
        return names.words.say("terminal.air.between", **found)
    return next((names.words.say(f"terminal.air.{name}", value=value) for name, value in found.items()), "")


def _rounds(listed: Sequence[Booking], names: Names) -> Iterator[str]:
    """Yield the rounds in time, and after the last of all that are walked in one way how it is done."""
    for place, one in enumerate(listed):
        yield from _round(one, names)
        if all(later.notes != one.notes for later in listed[place + 1 :]):
            for note in one.notes if not all(visit.dry for visit in one.visits) else ():
                yield from wrap(plain(note), DOT)


def _round(booking: Booking, names: Names) -> Iterator[str]:
    say, figure = names.words.say, names.words.figure
    minutes = figure(sum(one.minutes for one in booking.visits), "duration_min")
    water = sum(one.water for one in booking.visits)
    amount = say("terminal.water", minutes=minutes, water=_litres(water, names)) if water else minutes
    yield from table(
        [(names.span(booking), names.task(booking), amount, names.who(booking.who))], (11, 8, 8, 12), indent=2
    )
    yield from table([_visit(one, names) for one in booking.visits], (4, 8, 4, 10), indent=len(UNDER), last=True)
    for text in _own(booking, names):
        yield from wrap(text, DOT)


def _visit(one: Visit, names: Names) -> tuple[str, str, str, str]:
    say = names.words.say
    face = names.titles.faces.get(one.face)
    coat = next((names.coat(c) for c in face.coats if c.coat == one.coat), plain(one.coat)) if face else plain(one.coat)
    said = names.said.get(one.id)
    extra = [said] if said else [short(names.words, one)] if one.weather is not None else []
    if one.cloth and not said:
        extra.append(say("terminal.visit.cloth"))
    if one.sun_from and one.sun_to and not said:
        extra.append(say("terminal.visit.sun", start=one.sun_from, end=one.sun_to))
    laid_by = f"{one.face}.{one.coat}"
    if laid_by in names.off:
        extra.append(say("terminal.visit.not_laid"))
    elif one.conditional or laid_by in names.stops:
        extra.append(say("terminal.visit.if"))
    return (
        names.face(one.face),
        say("terminal.now.day_of", coat=coat, day=one.day, last=one.last_day),
        say(f"terminal.care.{care_of(one)}", minutes=names.words.figure(one.minutes, "duration_min")),
        ", ".join(extra),
    )


def _litres(water: float, names: Names) -> str:
    """Return an amount of water in the reader's units: litres, or US gallons of 3.785411784 L (NIST SP 811)."""
    if names.words.units == "us":
        return names.words.say("terminal.gallons", amount=f"{water / 3.785411784:.1f}")
    return names.words.say("terminal.litres", amount=f"{water:.0f}")
