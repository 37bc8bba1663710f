"""Who has what on a day, which cautions stand on its page, and what comes on the next day with work."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from curing.model.evidence import Evidence
from curing.model.plan import LIVE, Booking, Kind, Plan, State
from curing.publish.event_text import caution
from curing.publish.terminal_names import Names, local_day
from curing.publish.words import CATALOGUE, Words


def duties(bookings: Sequence[Booking], names: Names) -> Iterator[tuple[str, str]]:
    """Yield who has what, the walks that nobody has first."""
    found: dict[str, list[str]] = {}
    for one in bookings:
        subject = names.faces(v.face for v in one.visits) if one.kind is Kind.ROUND else names.titles.subject(one)[0]
        what = names.words.say(
            "page.duty", clock=names.clock(one.start, one.zone), subject=subject, task=names.task(one)
        )
        for person in one.who or ("",):
            found.setdefault(person, []).append(what)
    for person in ("", *(one.id for one in names.plan.people)):
        if person in found:
            yield names.who([person] if person else []), "; ".join(found[person])


def day_cautions(plan: Plan, bookings: Sequence[Booking], words: Words) -> Iterator[str]:
    """Yield the whole text of each caution of a day, then who comes first of all: local codes and the maker."""
    keys = list(dict.fromkeys(key for one in bookings for key in one.cautions))
    for key in keys:
        yield caution(words, key, plan.cautions.get(key, key))
    if keys and "caution.last" in CATALOGUE:
        yield words.say("caution.last")


def next_day(plan: Plan, day: date, names: Names, evidence: Evidence) -> tuple[str, tuple[tuple[str, str], ...]]:
    """Return the next day with work, and what is to do then."""
    live = [
        one for one in plan.everything() if one.state in LIVE and local_day(one) > day and one.id not in evidence.done
    ]
    if not live:
        return "", ()
    first = min(local_day(one) for one in live)
    found = []
    for one in live:
        if local_day(one) == first:
            subject = (
                names.faces(v.face for v in one.visits) if one.kind is Kind.ROUND else names.titles.subject(one)[0]
            )
            key = "page.duty.if" if one.state is State.CONDITIONAL else "page.duty"
            what = names.words.say(key, clock=names.clock(one.start, one.zone), subject=subject, task=names.task(one))
            found.append((what, names.who(one.who)))
    return names.long_day(first), tuple(found)
