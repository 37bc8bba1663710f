"""What was said of the work of a day, beside it: who misted when, what could not be done, which coat is closed."""

from __future__ import annotations

from collections.abc import Mapping

from curing.model.evidence import Cause, Evidence
from curing.model.plan import Booking, Kind, State
from curing.publish.event_title import plain
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


def is_over(booking: Booking, said: Mapping[str, str], evidence: Evidence) -> bool:
    """Tell whether nothing is left to do: every visit of a round has an answer, a coat is closed."""
    if booking.kind is Kind.ROUND:
        return bool(booking.visits) and all(one.id in said for one in booking.visits)
    return booking.state is State.DONE or booking.id in evidence.done
