"""What people said of visits, and what follows where they said nothing.

A visit is *unconfirmed* from the end of its window on and *missed* 12 hours later; both are derived
from the record and the hour, never stored.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from enum import StrEnum

from curing.model.evidence import Evidence, Tick
from curing.model.plan import LIVE, Booking, Care, Notice, State, Value, Visit
from curing.planning.worktime import local, zone_of

MISSED_AFTER = timedelta(hours=12)
"""After the end of its window an unticked visit counts as missed."""
TENDER_DAYS = 3
"""To this day of a coat, a visit that did not take place asks for a look at the face (common practice, no source)."""


class Answer(StrEnum):
    """How a visit stands."""

    TENDED = "tended"
    COULD_NOT = "could-not"
    AHEAD = "ahead"
    UNCONFIRMED = "unconfirmed"
    MISSED = "missed"


@dataclass(frozen=True, slots=True)
class Asked:
    """A visit that was in somebody's calendar, and what was said of it."""

    visit: Visit
    booking: Booking
    day: date
    tick: Tick | None
    answer: Answer


def ticked(booking: Booking, evidence: Evidence) -> Booking:
    """Return a round, done where every visit of it has an answer; a round whose tick was taken back is open again."""
    if not booking.visits or booking.state is State.OFF:
        return booking
    if all(one.id in evidence.visits for one in booking.visits):
        return replace(booking, state=State.DONE)
    if booking.state is not State.DONE:
        return booking
    every = all(one.conditional for one in booking.visits)
    return replace(booking, state=State.CONDITIONAL if every else State.FIRM)


def asked(
    rounds: Iterable[Booking], evidence: Evidence, laid: Mapping[str, datetime], now: datetime
) -> Iterator[Asked]:
    """Yield the visits of coats that are laid, in time order, each with its answer; those without water once ticked.

    Parameters
    ----------
    laid
        Coat id → instant of closing, for coats that are done; visits of others never were due.
    """
    for booking in sorted(rounds, key=lambda one: (one.start, one.id)):
        if booking.state not in (*LIVE, State.DONE):
            continue
        day, _ = local(zone_of(booking.zone), booking.start)
        for visit in booking.visits:
            tick = evidence.visits.get(visit.id)
            closed = laid.get(f"{visit.face}.{visit.coat}")
            if tick is None and (visit.dry or closed is None or not _due(visit, booking, day, closed, laid)):
                continue  # a visit whose water the weather held back is no misting left out
            yield Asked(visit, booking, day, tick, _answer(booking, tick, now))


def _due(visit: Visit, booking: Booking, day: date, closed: datetime, laid: Mapping[str, datetime]) -> bool:
    """Tell whether a walk as told was due: on the days counted from its true laying, and before the next coat was."""
    zone = zone_of(booking.zone)
    over = [at for coat, at in laid.items() if coat.rpartition(".")[0] == visit.face and at > closed]
    return 1 <= (day - local(zone, closed)[0]).days <= visit.last_day and all(day <= local(zone, at)[0] for at in over)


def _answer(booking: Booking, tick: Tick | None, now: datetime) -> Answer:
    if tick is not None:
        return Answer.TENDED if tick.tended else Answer.COULD_NOT
    over = max(booking.end, booking.until or booking.end)
    if now < over:
        return Answer.AHEAD
    return Answer.MISSED if now >= over + MISSED_AFTER else Answer.UNCONFIRMED


def visit_notices(
    rounds: Iterable[Booking], evidence: Evidence, laid: Mapping[str, datetime], now: datetime
) -> tuple[list[Notice], list[Notice]]:
    """Return (warnings, questions) about visits of coats still looked after, each face once.

    A visit without a word is asked about until it counts as missed. One that did not take place in the
    first three days asks for a look at the face, until an inspection finds it sound.
    """
    unsure: dict[str, list[Asked]] = {}
    missed: dict[str, list[Asked]] = {}
    tender: dict[str, list[Asked]] = {}
    for one in asked(rounds, evidence, laid, now):
        face = one.visit.face
        if one.answer is Answer.UNCONFIRMED:
            unsure.setdefault(face, []).append(one)
        elif one.answer in (Answer.MISSED, Answer.COULD_NOT):
            if any(at >= one.booking.end for at in evidence.checked.get(face, ())):
                continue  # somebody looked at the face since, and found it sound
            if one.visit.day <= TENDER_DAYS and one.visit.care is Care.MIST and not one.visit.dry:
                tender.setdefault(face, []).append(one)
            elif one.answer is Answer.MISSED:
                missed.setdefault(face, []).append(one)
    warnings = [_notice("visits_missed", face, listed, urgent=False) for face, listed in missed.items()]
    questions = [_notice("inspect", face, listed, urgent=True) for face, listed in tender.items()]
    questions += [_notice("visits_unsaid", face, listed, urgent=False) for face, listed in unsure.items()]
    return warnings, questions


def _notice(key: str, face: str, listed: list[Asked], *, urgent: bool) -> Notice:
    first, last = listed[0], listed[-1]
    values: dict[str, Value] = {
        "coat": f"{face}.{last.visit.coat}",
        "visits": len(listed),
        "first": first.day.isoformat(),
        "last": last.day.isoformat(),
        "slot": last.booking.slot.value if last.booking.slot else "",
        "since": first.visit.day,
    }
    return Notice("visit.missed" if key != "visits_unsaid" else "visit.unsaid", key, values, (face,), urgent=urgent)
