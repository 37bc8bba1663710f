"""Whether every coat gets the visits its rules ask for, and no others."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import zip_longest

from curing.model.plan import Booking, Care, Slot, State, Visit
from curing.planning.check_view import Fault, Laying, View, proposed
from curing.planning.worktime import NOON, local

EVENING = 18 * 60
"""From here on the late walk of the day on which a plan is made may be over [min]."""


@dataclass(frozen=True, slots=True)
class Walked:
    """A visit with the day and the round it stands in."""

    day: date
    walk: Booking
    visit: Visit


def check_visits(view: View) -> Iterator[Fault]:
    """Yield visits missing, doubled or not asked for; those before the plan's day are past and not judged.

    On day k after laying a coat asks for two visits while k <= twice_to, for
    one while k <= once_to; day 0 is the laying day and has none. A look, or a
    mist that weather adds (both at midday), is no such visit but stands on
    those days only. A visit without water for cold is one: it is made.
    """
    walked = [Walked(view.day(r), r, v) for r in view.rounds if r.state is not State.OFF for v in r.visits]
    yield from _twice(walked)
    by_coat: dict[tuple[str, str], list[Walked]] = {}
    for one in walked:
        by_coat.setdefault((one.visit.face, one.visit.coat), []).append(one)
    for face, layings in view.layings.items():
        for laying, after in zip_longest(layings, layings[1:]):
            yield from _coat(view, laying, after, by_coat.pop((face, laying.coat.id), []))
    for (face, coat), rest in by_coat.items():
        for one in rest:
            if face in view.layings and one.day >= view.today(face):
                text = f"visits coat {coat} of {face} on {one.day}, which has no day; take it out"
                yield Fault("plan.visit_unasked", one.visit.id, text)


def _twice(walked: list[Walked]) -> Iterator[Fault]:
    ids = Counter(one.visit.id for one in walked)
    yield from (
        Fault("plan.visit_twice", id_, f"stands {count} times; a visit is walked once")
        for id_, count in ids.items()
        if count > 1
    )
    told = {id_ for id_, count in ids.items() if count > 1}
    places = Counter((w.visit.face, w.visit.coat, w.day, w.walk.slot) for w in walked if w.visit.id not in told)
    for (face, coat, day, slot), count in places.items():
        if count > 1:
            text = f"is visited {count} times on {day}, {slot}; once a slot"
            yield Fault("plan.visit_twice", f"{face}.{coat}", text)


def _coat(view: View, laying: Laying, after: Laying | None, walked: list[Walked]) -> Iterator[Fault]:
    """Yield what is wrong with the visits of one coat, from the day on which the plan is made."""
    today, last = view.today(laying.face), view.tending(laying.face, laying.coat)[1]
    # Nobody said whether it was laid: it is dated anew, but today and tomorrow it may be misted as told.
    unsaid = laying.booking is not None and laying.booking.floor_cause == "unconfirmed"
    told = today + timedelta(1) if unsaid else date.min
    walked = [one for one in walked if one.day >= today and not (one.day <= told and one.day < laying.day)]
    late = bool(last and after and any(one.day >= after.day for one in walked))
    over = laying.day + timedelta(last)
    # Airing ends when the coat is dry, which the hold before the next coat says; water is not cut short.
    cut = laying.coat.care is Care.MIST and bool(last and after and not after.done and over >= after.day)
    if after and (late or cut) and after.id not in view.kept:
        text = f"has visits to {over}, but {after.coat.id} is laid on {after.day}"
        yield Fault("plan.visit_past_next", laying.id, f"{text}; lay it after the last visit")
    asked = _asked(view, laying, after)
    there: dict[date, set[Slot | None]] = {}
    for one in walked:
        if one.day in asked:
            yield from _as_told(laying, one)
            if one.visit.care is not Care.LOOK and not (one.visit.added and one.walk.slot is Slot.MIDDAY):
                there.setdefault(one.day, set()).add(one.walk.slot)
        elif one.day == laying.day:
            text = f"is on {one.day}, the laying day; visits begin the day after"
            yield Fault("plan.visit_laying_day", one.visit.id, text)
        elif not (last and after and one.day >= after.day):
            text = f"is on {one.day}; {laying.id}, laid on {laying.day}, asks for visits on days 1 to {last}"
            yield Fault("plan.visit_unasked", one.visit.id, text)
    yield from _counts(view, laying, asked, there)


def _asked(view: View, laying: Laying, after: Laying | None) -> dict[date, int]:
    """Return how many visits each day asks for, until the next coat or the end of the face."""
    twice, last = view.tending(laying.face, laying.coat)
    today, ended = view.today(laying.face), view.faces[laying.face][1].ended
    asked = {laying.day + timedelta(k): 2 if k <= twice else 1 for k in range(1, last + 1)}
    ends = [day for day in (after.day if after else None, ended) if day]
    return {day: number for day, number in asked.items() if day >= today and all(day < end for end in ends)}


def _as_told(laying: Laying, one: Walked) -> Iterator[Fault]:
    """Yield a visit that tells another day, another care, or another certainty than its coat's."""
    day = (one.day - laying.day).days
    if one.visit.day != day:
        text = f"says day {one.visit.day}, but is on day {day} after laying ({laying.day}); correct it"
        yield Fault("plan.visit_day", one.visit.id, text)
    if one.visit.care not in (laying.coat.care, Care.LOOK):
        text = f'is to "{one.visit.care}", but coat {laying.id} asks to "{laying.coat.care}"; correct it'
        yield Fault("plan.visit_care", one.visit.id, text)
    booking = laying.booking
    conditional = booking is not None and (booking.state is State.CONDITIONAL or proposed(booking))
    if one.visit.conditional is not conditional:
        text = f"is {'' if one.visit.conditional else 'not '}marked conditional, unlike its coat {laying.id}"
        yield Fault("plan.visit_mark", one.visit.id, f"{text}; mark both alike")


def _counts(view: View, laying: Laying, asked: dict[date, int], there: dict[date, set[Slot | None]]) -> Iterator[Fault]:
    for day, number in asked.items():
        found = len(there.get(day, ()))
        least = number - _over(view, laying.face, number) if day == view.today(laying.face) else number
        text = f"has {found} visits on {day}, day {(day - laying.day).days}; its rules ask for {number}"
        if found < least:
            yield Fault("plan.visit_missing", laying.id, f"{text}; add one")
        elif found > number:
            yield Fault("plan.visit_unasked", laying.id, f"{text}; take one out")


def _over(view: View, face: str, number: int) -> int:
    """Return how many of today's visits may be over already when the plan is made."""
    minute = local(view.work.zone(view.site(face)), view.plan.as_of)[1]
    return number if minute >= EVENING else min(number, 1) if minute >= NOON else 0
