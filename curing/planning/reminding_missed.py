"""Reminders of what has no answer: a round after its window, who hears of it in turn, and the laying-day look."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from curing.model.job import Role
from curing.model.plan import Kind as Booked
from curing.model.plan import State, Value
from curing.model.reminders import Kind, Occasion
from curing.planning.reminding_quiet import Manner, quiet_at
from curing.planning.reminding_rounds import Walk, of_walk, walks
from curing.planning.reminding_scene import DAY, View, clock, day_of, end_of_day, is_tender, over_of
from curing.planning.reminding_tasks import looked_at
from curing.planning.said_of_rounds import MISSED_AFTER
from curing.planning.worktime import zone_of

STEP = timedelta(minutes=30)
"""So long after the end of its window somebody hears of a round, and so long after that the next one (common
practice, no source)."""
LOOK_BACK = timedelta(days=3)
"""A round begins no longer than this before the last who hears that it was missed: window, 12 h, quiet hours."""


def missed(view: View) -> Iterator[Occasion]:
    """Yield who hears, and when, of the rounds without an answer."""
    for walk in walks(view, view.near(view.scene.plan.rounds, LOOK_BACK, timedelta(0))):
        told: dict[str, Occasion] = {}
        for one in _of_walk(view, walk):
            before = told.get(one.person)
            if before is None or one.due < before.due:
                told[one.person] = one
        yield from told.values()


def _of_walk(view: View, walk: Walk) -> Iterator[Occasion]:
    visits = [one.visit for part in walk.parts for one in view.asked_of(part) if one.tick is None]
    if not visits:
        return
    zone, over = zone_of(walk.zone), walk.over
    tender = any(is_tender(one) for one in visits)
    # Whoever has it: a walk that is handed over, alone or to join another, rings nobody a second time.
    key = f"missed|{walk.name}|{min(view.lasting(face) for part in walk.parts for face in part.faces)}"
    # The next walk has those faces then, and what was left out on a day can't be made good on the next.
    until = end_of_day(zone, walk.day)
    if (next_one := view.next_walk((one.face for one in visits), walk.start)) is not None:
        until = min(until, next_one)

    def told(person: str, meant: datetime, until: datetime, step: int, *, manner: Manner, lead: bool) -> list[Occasion]:
        values: dict[str, Value] = {**of_walk(walk, visits, zone), "whose": walk.who, "lead": lead}
        values["leads"] = person in view.leads
        values["late"] = round((meant - over).total_seconds() / 60)
        found = view.occasion(
            Kind.MISSED,
            key,
            person,
            meant,
            until,
            manner=manner,
            zone=walk.zone,
            about=tuple(one.id for one in visits),
            faces=view.in_order(one.face for one in visits),
            step=step,
            values=values,
        )
        return list(found)

    first = over + STEP
    at_once = [lead for lead in view.leads if tender and lead != walk.who]
    for step, (person, at) in enumerate(_climb(view, walk, first, until, at_once)):
        manner = Manner.RINGS if tender and step == 0 and person == walk.who else Manner.WAITS
        yield from told(person, at, until, step, manner=manner, lead=False)
    for lead in view.leads:
        if tender:
            yield from told(lead, first, first + DAY, 0, manner=Manner.RINGS, lead=True)
        else:
            yield from told(lead, over + MISSED_AFTER, over + MISSED_AFTER + DAY, 0, manner=Manner.WAITS, lead=True)


def _climb(view: View, walk: Walk, first: datetime, until: datetime, told: list[str]) -> Iterator[tuple[str, datetime]]:
    """Yield who had a walk, then one after the other who else mists and can be reached, each with the instant.

    Round the job file's order from who had it on; a round that nobody had begins at its head. Who has no hours
    that day or passed it on is left out, and who leads where he hears of it at once. It ends where nobody can be
    reached.
    """
    zone, at = zone_of(walk.zone), first
    order = list(view.people)
    if walk.who in view.people:
        yield walk.who, at
        at += STEP
        place = order.index(walk.who)
        order = [*order[place + 1 :], *order[:place]]
    passed = view.gave_away(walk.day, walk.slot)
    left = [
        root
        for root in order
        if root not in told
        and root not in passed
        and Role.MISTS in view.people[root].roles
        and view.worktime.hours(view.people[root].id, walk.day) is not None
    ]
    while at < until:
        person = next((root for root in left if quiet_at(view.people[root], zone, at) is None), None)
        if person is None:
            return
        yield person, at
        left.remove(person)
        at += STEP


def unseen(view: View) -> Iterator[Occasion]:
    """Yield the laying-day looks that nobody answered, for who had them and who leads, at once."""
    for look in view.near(view.scene.plan.bookings, LOOK_BACK, timedelta(0)):
        coat = look.id.removesuffix(".look")
        closed = view.laid.get(coat)
        if look.kind is not Booked.LOOK or look.state is not State.FIRM or closed is None:
            continue
        if looked_at(view, look, closed):
            continue
        zone, over = zone_of(look.zone), over_of(look)
        had = view.having_it(look)
        for person in dict.fromkeys([*had, *view.leads]):
            yield from view.occasion(
                Kind.UNSEEN,
                f"unseen|{day_of(look).isoformat()}|{view.lasting(coat)}",
                person,
                over + STEP,
                over + STEP + DAY,
                manner=Manner.RINGS,
                zone=look.zone,
                about=(look.id,),
                faces=look.faces,
                values={
                    "day": day_of(look).isoformat(),
                    "by": clock(zone, over),
                    "late": round(STEP.total_seconds() / 60),
                    "whose": had[0] if had else "",
                    "coat": coat,
                    "lead": person not in had,
                },
            )
