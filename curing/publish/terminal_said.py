"""What was said of the work of a day, beside it: who misted when, what could not be done, which coat is closed."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from curing.model.evidence import Cause, Evidence
from curing.model.plan import Booking, HoldState, Kind, Plan, State
from curing.publish.event_title import plain
from curing.publish.terminal_names import local_day
from curing.publish.words import Words


def said_texts(evidence: Evidence, words: Words) -> dict[str, str]:
    """Return visit or coat id → what was said of it, short."""
    found = {}
    for visit, tick in evidence.visits.items():
        found[visit] = words.say(f"terminal.said.{tick.kind}", why=plain(tick.why), **_by(tick.cause))
    for coat, closed in evidence.done.items():
        found[coat] = words.say("terminal.said.finished", **_by(closed.cause))
    for coat, cause in evidence.started.items():
        found.setdefault(coat, words.say("terminal.said.started", **_by(cause)))
    return found


def _by(cause: Cause) -> dict[str, str]:
    return {"clock": cause.clock, "who": plain(cause.name)}


def _when(cause: Cause, words: Words, today: date) -> str:
    """Return who said it and when: the time alone where it was today."""
    key = "terminal.off.by" if cause.day is None or cause.day == today else "terminal.off.by_day"
    return words.say(key, day=words.day(cause.day or today), **_by(cause))


def called_off(plan: Plan, evidence: Evidence, words: Words, today: date) -> dict[str, str]:
    """Return coat id → why it could not be laid on the day for which the plan still has it."""
    found = {}
    for one in plan.bookings:
        failed = evidence.could_not.get(one.id)
        if failed is None or one.id in evidence.done or failed.day != local_day(one):
            continue
        begun = evidence.started.get(one.id)
        if begun is None or begun.at <= failed.cause.at:
            found[one.id] = words.say("terminal.off", why=plain(failed.why), by=_when(failed.cause, words, today))
    return found


def stopped(plan: Plan, evidence: Evidence, words: Words, today: date) -> dict[str, str]:
    """Return coat id → which hold before it was shut or refused since the plan was saved, by whom."""
    found: dict[str, str] = {}
    for hold in plan.holds:
        fact = evidence.holds.get(hold.id)
        if fact is None or fact.met is not None:
            continue
        refused = fact.refused is not None and hold.state is not HoldState.REFUSED
        if not refused and hold.state is not HoldState.MET:
            continue  # the plan knows that it is shut, and says so of its coats
        why = words.say(f"terminal.stop.{fact.shut or 'refused'}")
        text = words.say("terminal.stop", point=plain(hold.point), why=why, by=_when(fact.cause, words, today))
        for coat in hold.before:
            found.setdefault(coat, text)
    return found


def coat_behind(booking: Booking) -> str:
    """Return the id of the coat that a booking is, or after which it looks."""
    return booking.id.removesuffix(".look") if booking.kind is Kind.LOOK else booking.id


def is_over(booking: Booking, said: Mapping[str, str], evidence: Evidence) -> bool:
    """Tell whether nothing is left to do: every visit of a round has an answer, a coat is closed."""
    if booking.kind is Kind.ROUND:
        return bool(booking.visits) and all(one.id in said for one in booking.visits)
    return booking.state is State.DONE or booking.id in evidence.done
