"""Rounds of the next days as they stand on a page: who has which, those that nobody has first."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from curing.model.evidence import Turn
from curing.model.people import Person, Role
from curing.model.plan import LIVE, Booking, Plan, Slot
from curing.publish.event_title import plain
from curing.publish.terminal_names import Names, local_day
from curing.publish.visit_weather import shorts
from curing.publish.words import Words

DAYS = 14
"""Rounds of so many days are shown: beyond that they still move."""
SATURDAY = 5


@dataclass(frozen=True, slots=True)
class RoundRow:
    """One round.

    Parameters
    ----------
    day
        ISO date.
    nobody
        Whether nobody is named.
    note
        What is not as one expects: given away since the plan, out of reach, only if laid.
    others
        (id, name) of who could take it: mists, and is not away that day.
    """

    id: str
    day: str
    slot: str
    title: str
    span: str
    faces: str
    minutes: str
    who: str
    nobody: bool
    note: str
    others: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class DayRounds:
    """The rounds of one day, those that nobody has first."""

    day: str
    title: str
    rounds: tuple[RoundRow, ...]


@dataclass(frozen=True, slots=True)
class Weekend:
    """A Saturday and Sunday with rounds of one person; ``first`` and ``last`` are ISO dates."""

    first: str
    last: str
    title: str
    rounds: str
    others: tuple[tuple[str, str], ...]


class RoundPages:
    """Makes rounds of a plan ready for pages.

    Parameters
    ----------
    plan
        What people were told.
    people
        Everybody of the job.
    turns
        (day, slot) → who takes that walk after all that was said.
    high
        Faces that nobody mists from the ground.
    planned
        When it was planned last: what was said since is not in the plan yet.
    """

    def __init__(
        self,
        plan: Plan,
        words: Words,
        now: datetime,
        people: Sequence[Person],
        turns: Mapping[tuple[date, Slot], tuple[Turn, ...]],
        high: Collection[str],
        planned: datetime,
    ) -> None:
        self.plan, self.words, self.now, self.people = plan, words, now, people
        self.turns, self.high, self.planned = turns, high, planned
        self.names = Names(plan, words, now)
        self.today = self.names.today(plan.sites[0].id)

    def days(self, person: str | None = None) -> list[DayRounds]:
        """Return the days with rounds still to walk; with a person (id) only that person's."""
        found: dict[date, list[Booking]] = {}
        for one in self.plan.rounds:
            there = one.state in LIVE and one.visits and max(one.end, one.until or one.end) > self.now
            if there and local_day(one) < self.today + timedelta(DAYS) and (person is None or person in one.who):
                found.setdefault(local_day(one), []).append(one)
        return [self._day(day, listed, person) for day, listed in sorted(found.items())]

    def _day(self, day: date, listed: Sequence[Booking], person: str | None) -> DayRounds:
        ordered = sorted(listed, key=lambda one: (bool(one.who), one.start, one.id))
        return DayRounds(day.isoformat(), self.words.day(day), tuple(self.row(one, day, person) for one in ordered))

    def row(self, one: Booking, day: date, person: str | None) -> RoundRow:
        """Return one round."""
        slot = one.slot.value if one.slot is not None else ""
        skip = {person} if person is not None else set(one.who)
        return RoundRow(
            id=one.id,
            day=day.isoformat(),
            slot=slot,
            title=self.words.say(f"people.round.{slot}"),
            span=self.names.span(one),
            faces=self.names.faces(visit.face for visit in one.visits),
            minutes=self.words.figure(sum(visit.minutes for visit in one.visits), "duration_min"),
            who=self.names.who(one.who),
            nobody=not one.who,
            note=self._note(one, day),
            others=self.others(day, day, skip),
        )

    def others(self, first: date, last: date, skip: Collection[str]) -> tuple[tuple[str, str], ...]:
        """Return (id, name) of who mists and is there on all of these days, but for some."""
        return tuple(
            (one.id, plain(one.name))
            for one in self.people
            if Role.MISTS in one.roles
            and one.id not in skip
            and not any(span[0] <= last and first <= span[1] for span in one.away)
        )

    def _note(self, one: Booking, day: date) -> str:
        said = [self.words.say("people.round.weather", text=text) for text in shorts(self.words, one.visits)]
        turns = self.turns.get((day, one.slot), ()) if one.slot is not None else ()
        taker = turns[-1] if turns else None
        if taker is not None and taker.person not in one.who:
            theirs = not taker.instead or taker.instead in one.who or not one.who
            new = taker.cause.at > self.planned
            if new and theirs:
                said.append(self.words.say("people.round.given", name=plain(taker.name)))
            elif not one.who:
                said.append(self.words.say("people.round.not_taken", name=plain(taker.name)))
        high = [visit.face for visit in one.visits if visit.face in self.high]
        if high and not one.who:
            said.append(self.words.say("people.round.high", faces=self.names.faces(high)))
        if all(visit.conditional for visit in one.visits):
            said.append(self.words.say("people.round.if"))
        return " ".join(said)

    def weekends(self, person: str) -> list[Weekend]:
        """Return the weekends on which a person has rounds."""
        found: dict[date, list[RoundRow]] = {}
        for day in self.days(person):
            at = date.fromisoformat(day.day)
            if at.weekday() >= SATURDAY:
                found.setdefault(at - timedelta(at.weekday() - SATURDAY), []).extend(day.rounds)
        made = []
        for saturday, rows in sorted(found.items()):
            first, last = max(saturday, self.today), saturday + timedelta(1)
            days = dict.fromkeys((first, last))
            title = " + ".join(self.words.day(day) for day in days)
            rounds = self.words.count("pass_on.rounds", len(rows))
            others = self.others(first, last, {person})
            made.append(Weekend(first.isoformat(), last.isoformat(), title, rounds, others))
        return made
