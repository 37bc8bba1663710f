"""The day at the walls in a terminal: rounds, coats, looks and readings; what waits; who has what."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from curing.model.evidence import NOTHING_SAID, Evidence
from curing.model.plan import LIVE, Booking, Kind, Plan, State
from curing.publish.event_text import caution
from curing.publish.event_title import plain
from curing.publish.terminal import answer, header, job_name, joined
from curing.publish.terminal_faces import Faces
from curing.publish.terminal_first import first, needs
from curing.publish.terminal_layout import table, wrap
from curing.publish.terminal_names import Names, local_day
from curing.publish.terminal_said import called_off, coat_behind, is_over, said_texts, stopped
from curing.publish.terminal_work import UNDER, work_blocks
from curing.publish.words import Words


@dataclass(frozen=True)
class Standing:
    """How far the plan can be relied on today.

    Parameters
    ----------
    job
        The job file as it was named.
    saved, edited, recorded
        Whether the plan is a saved one, and whether the job has changed or something was recorded since.
    moves
        How many things planning now would move.
    broken
        Whether the job can't be planned as its file stands.
    """

    job: str
    saved: bool
    edited: bool = False
    recorded: bool = False
    moves: int = 0
    broken: bool = False


def today_page(
    plan: Plan, present: Plan, standing: Standing, words: Words, now: datetime, evidence: Evidence = NOTHING_SAID
) -> list[str]:
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
    evidence
        What was recorded, also since the plan was saved.
    """
    said = said_texts(evidence, words)
    names = Names(plan, words, now)
    today = names.today(plan.sites[0].id)
    off, stops = called_off(plan, evidence, words, today), stopped(plan, evidence, words, today)
    names = Names(plan, words, now, said, off, stops)
    every = [one for one in plan.everything() if one.state is not State.OFF and local_day(one) == today]
    over = [one for one in every if is_over(one, said, evidence)]
    day = [one for one in every if one.state in LIVE and one not in over and coat_behind(one) not in off]
    job = job_name(standing.job)
    found = needs(present, Names(present, words, now))
    key = "of" if standing.saved else "unsaved"
    made = names.long_day(plan.as_of.astimezone(names.zone(plan.sites[0].id)).date())
    blocks = [
        [
            header(names, words.say(f"terminal.revision.{key}", number=plan.revision, day=made)),
            *_news(standing, names, job),
        ],
        first([need for need in found if need.mark != "-"], names, job, room=None),
        *work_blocks(day, names),
        _off([one for one in every if one.id in off], names),
        _over(over, names),
        _waits(plan, day, names, evidence.done),
        _people(day, names),
        _tomorrow(plan, today, names, evidence.done, empty=not day),
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
    if standing.recorded:
        told += wrap(say("terminal.today.recorded"))
    if standing.moves:
        told += wrap(names.words.count("terminal.today.moves", standing.moves))
    return [*told, *answer(names, "plan", job)] if told else []


def _waits(plan: Plan, day: Sequence[Booking], names: Names, done: Collection[str]) -> list[str]:
    """Return what comes next at each face that has no coat today, and the whole reason of its day."""
    busy = {one.faces[0] for one in day if one.kind is Kind.COAT and one.faces}
    cells = []
    for row in Faces(plan, names, done).rows():
        if row.booking is None or row.face.id in busy:
            continue
        id_, when = row.booking.id, row.when
        if id_ in names.off and local_day(row.booking) == names.today(row.face.site):
            continue  # told among what is called off
        if id_ in names.off:
            cells.append((names.face(row.face.id), row.next, names.words.say("terminal.no_day"), names.off[id_]))
            continue
        if id_ in names.stops:
            cells.append((names.face(row.face.id), row.next, when, names.stops[id_]))
            continue
        why = names.why(row.booking)
        points = [plain(hold.point) for hold in plan.holds if hold.id in row.booking.holds]
        if points:
            why = names.words.count("terminal.why_if", len(points), points=", ".join(points), why=why)
        cells.append((names.face(row.face.id), row.next, when, why))
    if not cells:
        return []
    legend = [names.words.say("terminal.legend")] if any(row[2].endswith("~") for row in cells) else []
    return [names.words.say("terminal.waits"), *table(cells, (4, 8, 5, 30), indent=2, last=True), *legend]


def _off(listed: Sequence[Booking], names: Names) -> list[str]:
    """Return the coats of the day that could not be laid, with why and who said so."""
    cells = [(names.task(one), names.titles.subject(one)[0], names.off[one.id]) for one in listed]
    return [names.words.say("terminal.called_off"), *table(cells, (11, 5, 20), indent=2, last=True)] if cells else []


def _over(over: Sequence[Booking], names: Names) -> list[str]:
    """Return what is done today: rounds with the answer of each face, coats with who closed them."""
    cells = []
    for one in over:
        if one.kind is Kind.ROUND:
            cells += [(names.task(one), names.face(v.face), names.said.get(v.id, "")) for v in one.visits]
        elif one.kind is Kind.COAT:
            cells.append((names.task(one), names.titles.subject(one)[0], names.said.get(one.id, "")))
    return [names.words.say("terminal.done_today"), *table(cells, (11, 5, 20), indent=2, last=True)] if cells else []


def _people(day: Sequence[Booking], names: Names) -> list[str]:
    say = names.words.say
    duties: dict[str, list[str]] = {}
    for booking in day:
        subject = "" if booking.kind is Kind.ROUND else names.titles.subject(booking)[0]
        key = "terminal.duty.stop" if booking.id in names.stops else "terminal.duty"
        what = say(key, clock=names.clock(booking.start, booking.zone), subject=subject, task=names.task(booking))
        for person in booking.who:
            duties.setdefault(person, []).append(" ".join(what.split()))
    if not duties:
        return []
    cells = [(names.who([one.id]), ", ".join(duties[one.id])) for one in names.plan.people if one.id in duties]
    lines = [say("terminal.who"), *table(cells, (8, 30), indent=2, last=True)]
    free = [one.id for one in names.plan.people if one.id not in duties and {"lead", "mists"} & {*one.roles}]
    return [*lines, *wrap(say("terminal.free", who=names.who(free)), "  ", "    ")] if free else lines


def _tomorrow(plan: Plan, today: date, names: Names, done: Collection[str], *, empty: bool) -> list[str]:
    say = names.words.say
    lines = wrap(say("terminal.today.nothing")) if empty else []
    live = [one for one in plan.everything() if one.state in LIVE and local_day(one) > today]
    ahead = [one for one in live if coat_behind(one) not in names.off and one.id not in done and _walked(one, names)]
    if not ahead:
        return [*lines, *wrap(say("terminal.tomorrow.last"))]
    tomorrow = today + timedelta(1)
    day = min(local_day(one) for one in ahead)
    if day != tomorrow:
        lines += wrap(say("terminal.tomorrow.nothing", day=names.long_day(tomorrow)))
    lines.append(say("terminal.tomorrow" if day == tomorrow else "terminal.tomorrow.next", day=names.long_day(day)))
    return [*lines, *_short(sorted((b for b in ahead if local_day(b) == day), key=lambda b: b.start), names)]


def _walked(booking: Booking, names: Names) -> list[str]:
    """Return the faces of a booking; of a round only those whose coat was not called off."""
    if booking.kind is not Kind.ROUND:
        return [*booking.faces] or [booking.id]
    return [one.face for one in booking.visits if f"{one.face}.{one.coat}" not in names.off]


def _short(bookings: Sequence[Booking], names: Names) -> Iterator[str]:
    cells = []
    for one in bookings:
        subject = names.faces(_walked(one, names)) if one.kind is Kind.ROUND else names.titles.subject(one)[0]
        key = "terminal.about_task" if one.state is State.CONDITIONAL else "terminal.plain_task"
        if one.id in names.stops:
            key = "terminal.stop.task"
        cells.append((names.span(one), names.words.say(key, task=names.task(one)), subject, names.who(one.who)))
    for one, line in zip(bookings, table(cells, (11, 8, 8, 8), indent=2), strict=True):
        yield line
        if one.id in names.stops:
            yield from wrap(names.stops[one.id], UNDER)


def _cautions(plan: Plan, day: Sequence[Booking], names: Names) -> list[str]:
    keys = list(dict.fromkeys(key for one in day for key in one.cautions))
    if not keys:
        return []
    lines = [names.words.say("terminal.cautions")]
    for key in keys:
        lines += wrap(caution(names.words, key, plan.cautions.get(key, key)), "  ")
    return [*lines, *wrap(names.words.say("caution.last"), "  ")]
