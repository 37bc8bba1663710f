"""Whether whoever walks a round may, can reach, and has the time."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from curing.model.job import Reach, Role
from curing.model.plan import Booking
from curing.planning.check_days import outside_hours
from curing.planning.check_view import LIVE, Fault, View


def check_rounds(view: View) -> Iterator[Fault]:
    """Yield faults of rounds; one that nobody could take has nobody named and is judged by its length only."""
    rounds = [walk for walk in view.rounds if walk.state in LIVE]
    for walk in rounds:
        yield from _length(walk)
        if len(walk.who) > 1:
            yield Fault("plan.slot", walk.id, f"names {len(walk.who)} people; a round is walked by one")
        for person in walk.who:
            yield from _person(view, walk, person)
    counted = Counter((person, view.day(walk), walk.slot) for walk in rounds for person in walk.who)
    for (person, day, slot), count in counted.items():
        if count > 1:
            text = f"walks {count} rounds on {day}, {slot}; one a slot, so make them one walk"
            yield Fault("plan.slot", person, text)


def _length(walk: Booking) -> Iterator[Fault]:
    needed = sum(visit.minutes for visit in walk.visits)
    minutes = (walk.end - walk.start).total_seconds() / 60
    if not walk.visits:
        yield Fault("plan.round_length", walk.id, "has no visits; take it out")
    elif minutes < needed:
        yield Fault("plan.round_length", walk.id, f"lasts {minutes:g} min, its visits {needed} min; lengthen it")


def _person(view: View, walk: Booking, person: str) -> Iterator[Fault]:
    if walk.end <= view.plan.as_of:
        return  # walked or missed under the rules of its day; the person may have left since
    who = view.people[person]
    if Role.MISTS not in who.roles and not walk.pinned:
        yield Fault("plan.role", walk.id, f'is walked by {person}, who has not the role "mists"; name another')
    if not walk.pinned:
        yield from outside_hours(view, walk, person, [(walk.start, walk.end)])
        longest = view.work.longest_round(person, view.day(walk))
        minutes = (walk.end - walk.start).total_seconds() / 60
        if longest is not None and minutes > longest:
            text = f"lasts {minutes:g} min; {person} walks at most {longest} min on {view.day(walk)}; share it"
            yield Fault("plan.longest_round", walk.id, text)
    if who.reach is Reach.GROUND or view.work.crew_of(person) is None:
        yield from _reach(view, walk, person)


def _reach(view: View, walk: Booking, person: str) -> Iterator[Fault]:
    for face in dict.fromkeys(visit.face for visit in walk.visits):
        height, book = view.faces[face][1].height, view.book(face)
        reach = book.value("visit.ground_reach")
        if book.has("visit.ground_reach") and height > reach + 1e-9:
            text = f"takes {person} to {face}, {height:g} m high; from the ground at most {reach:g} m"
            yield Fault("visit.ground_reach", walk.id, f"{text}; name somebody who works on a scaffold")
