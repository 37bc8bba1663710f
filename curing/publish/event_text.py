"""What a calendar event says: its description, and whether it rings.

One block on what it is, one on how it is done, then the cautions, whole. No event names
a person: the same bytes go to everybody.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TypeVar
from zoneinfo import ZoneInfo

from curing.model.plan import LIVE, Booking, Kind, Notice, Plan, Reason, State, Visit
from curing.model.system import RULES
from curing.publish.event_title import Titles, cut, plain
from curing.publish.visit_weather import care_of, whole
from curing.publish.words import CATALOGUE, Words

LONGEST = 300
"""Most signs of one text of the job file in a description."""

LONGEST_WHY = 2000
"""Most signs of a reason, with all the days that could not be used."""


Said = TypeVar("Said", Reason, Notice)


@dataclass(frozen=True, slots=True)
class Event:
    """What one UID tells a phone, without its stamps."""

    uid: str
    zone: str
    start: datetime
    end: datetime
    title: str
    body: str
    place: str
    firm: bool
    """Not behind an open hold."""
    rings: bool

    @property
    def digest(self) -> str:
        """Return a digest that changes exactly when a phone should be told."""
        said = [
            self.uid,
            self.zone,
            self.start.astimezone(UTC).isoformat(),
            self.end.astimezone(UTC).isoformat(),
            self.title,
            self.body,
            self.place,
            self.firm,
            self.rings,
        ]
        return hashlib.sha256(json.dumps(said).encode("ascii")).hexdigest()[:32]


class EventTexts:
    """Makes the events of a plan.

    Parameters
    ----------
    plan
        The plan; its marks are not looked at.
    words
        Language and units of the readers.
    """

    def __init__(self, plan: Plan, words: Words) -> None:
        self._plan, self._words = plan, words
        self._titles = Titles(plan, words)
        self._holds = {hold.id: hold for hold in plan.holds}
        self._sites = {site.id: site.name for site in plan.sites}

    def event(self, booking: Booking) -> Event:
        """Return the event of a booking."""
        return Event(
            uid=plain(booking.uid),
            zone=booking.zone,
            start=booking.start,
            end=booking.end,
            title=self._titles.title(booking),
            body=self.body(booking),
            place=cut(plain(self._sites.get(booking.site, "")), LONGEST),
            firm=booking.state is not State.CONDITIONAL,
            rings=booking.state is State.FIRM,
        )

    def events(self) -> Iterator[Event]:
        """Yield the events of the plan by start; what is taken off its day has none."""
        return (self.event(b) for b in self._plan.everything() if b.state is not State.OFF)

    def body(self, booking: Booking) -> str:
        """Return the description without its last line, which tells when it changed."""
        cautions = [] if booking.state is State.DONE else [self.cautions(booking.cautions)]
        return "\n\n".join("\n".join(block) for block in (*self.work(booking), *cautions) if block)

    def work(self, booking: Booking) -> list[list[str]]:
        """Return what it is and how it is done, block by block, each of some lines."""
        say = self._words.say
        blocks = [list(self._open(booking))]
        if booking.kind is Kind.ROUND:
            blocks.append([line for one in booking.visits for line in self._visit(one, booking.zone)])
            blocks.append([*self._method(booking), *self._until(booking)])
        else:
            face, name = self._titles.subject(booking)
            blocks[0].insert(0, cut(f"{face} {name}".strip(), LONGEST))
            blocks[0].append(say("event.why", why=cut(plain(why(self._words, booking.reason)), LONGEST_WHY)))
            if booking.state is not State.DONE:
                blocks.append([*self._until(booking), *self._out(booking), *self._limits(booking)])
                blocks.append([cut(note, LONGEST) for note in steps(self._words, booking)])
        return [block for block in blocks if block]

    def cautions(self, keys: Sequence[str]) -> list[str]:
        """Return the whole text of cautions, and what comes before them all."""
        return list(self._cautions(keys))

    def _open(self, booking: Booking) -> Iterator[str]:
        """Yield what is not as one expects: done, conditional, nobody named."""
        say = self._words.say
        if booking.state is State.DONE:
            yield say("event.done")
        if booking.state is State.CONDITIONAL:
            day = self._words.day(_local(booking, booking.start).date())
            holds = [hold for name in booking.holds if (hold := self._holds.get(name))]
            for hold in holds:
                yield say("event.if_met", day=day, text=cut(plain(hold.text), LONGEST))
                yield cut(plain(hold.lifts), LONGEST)
            if not holds and booking.kind is not Kind.ROUND:
                yield say("event.if_laid", day=day)
        if not booking.who and booking.state in LIVE:
            yield say("event.nobody")

    def _visit(self, one: Visit, zone: str) -> Iterator[str]:
        """Yield one to three lines on a visit."""
        say, face = self._words.say, self._titles.faces.get(one.face)
        coat = next((c.name for c in face.coats if c.coat == one.coat), one.coat) if face else one.coat
        yield say(
            f"event.visit.{care_of(one)}.{'twice' if one.times_a_day > 1 else 'once'}",
            face=self._titles.face(one.face),
            name=cut(plain(face.wall_name if face else ""), LONGEST),
            coat=cut(plain(coat[:1].upper() + coat[1:]), LONGEST),
            day=one.day,
            last=one.last_day,
            minutes=self._words.figure(one.minutes, "duration_min"),
        )
        if one.weather is not None:
            yield whole(self._words, one, zone)
        second = []
        sun = {"start": cut(plain(one.sun_from), 5), "end": cut(plain(one.sun_to), 5)}
        if one.cloth:
            second.append(say("event.visit.cloth_sun" if one.sun_from else "event.visit.cloth", **sun))
        elif one.sun_from:
            second.append(say("event.visit.sun", **sun))
        if one.conditional:
            second.append(say("event.visit.if_laid"))
        if second:
            yield " ".join(second)

    def _method(self, booking: Booking) -> list[str]:
        if booking.visits and all(one.dry for one in booking.visits):
            return [self._words.say("event.method.dry")]
        if booking.notes:
            return [cut(plain(note), LONGEST) for note in booking.notes]
        cares = dict.fromkeys(one.care for one in booking.visits)
        return [self._words.say(f"event.method.{care}") for care in cares]

    def _until(self, booking: Booking) -> Iterator[str]:
        if booking.until is not None and booking.until > booking.end and booking.state in LIVE:
            day = self._words.day(_local(booking, booking.until).date())
            key = "event.until"
            if booking.kind is Kind.COVER:
                key += ".up" if booking.task.endswith("up") else ".down"
            yield self._words.say(key, day=day, clock=self._words.clock(booking.until, booking.zone))

    def _out(self, booking: Booking) -> Iterator[str]:
        for start, end in sorted((one.start, one.end) for one in booking.absent):
            span = {k: self._words.clock(at, booking.zone) for k, at in (("start", start), ("end", end))}
            yield self._words.say("event.out", number=len(booking.who), **span)

    def _limits(self, booking: Booking) -> Iterator[str]:
        for rule, value in sorted(booking.limits.items()):
            name = rule.partition(".")[2]
            key = f"event.limit.{name}"
            shown = self._words.figure(value, RULES[name].kind) if name in RULES else f"{value:g}"
            known = key if key in CATALOGUE else "event.limit.other"
            yield self._words.say(known, value=shown, rule=cut(plain(rule), LONGEST))

    def _cautions(self, keys: Sequence[str]) -> Iterator[str]:
        for key in keys:
            yield caution(self._words, key, self._plan.cautions.get(key, key))
        if keys:
            yield self._words.say("caution.last")


def steps(words: Words, booking: Booking) -> tuple[str, ...]:
    """Return what is done, in order: as the coat system says it, or the catalogue for a task of the planner's own."""
    if booking.notes:
        return (*sheltered(words, booking), *(plain(note) for note in booking.notes))
    found: list[str] = []
    while (key := f"event.do.{booking.reason.key}.{len(found) + 1}") in CATALOGUE:
        found.append(words.say(key))
    return tuple(found)


def sheltered(words: Words, booking: Booking) -> tuple[str, ...]:
    """Return what goes up before a coat is laid, and against what: ``Cloth up first: sun on it …``."""
    said = (plain(why(words, one)) for one in booking.under)
    return tuple(f"{one[:1].upper()}{one[1:]}." for one in said)


def why(words: Words, reason: Reason) -> str:
    """Return the sentence of a reason; its rule where a plan is from a version with other sentences."""
    return _said(words, words.reason, reason)


def notice(words: Words, told: Notice) -> str:
    """Return the sentence of a warning or a question, or its rule."""
    return _said(words, words.notice, told)


def _said(words: Words, say: Callable[[Said], str], what: Said) -> str:
    try:
        return say(what)
    except (KeyError, TypeError, ValueError):
        return words.say("event.unknown_why", rule=what.rule)


def caution(words: Words, key: str, otherwise: str = "") -> str:
    """Return the whole text of a caution; a coat system's own one stands for itself.

    Examples
    --------
    >>> caution(Words(), "dust")
    'Dust (sanding, sweeping): mask.'
    """
    name = f"caution.{key}"
    return words.say(name) if name in CATALOGUE else cut(plain(otherwise or key), LONGEST)


def cautions(words: Words, keys: Iterable[str]) -> dict[str, str]:
    """Return the whole text of each caution: what a plan carries for those who read it alone."""
    return {key: caution(words, key) for key in sorted(set(keys))}


def changed(words: Words, modified: datetime, zone: str) -> str:
    """Return the last line of a description: ``Changed Tue 9 June 06:45. The page may be newer.``"""
    day = words.day(modified.astimezone(ZoneInfo(zone)).date())
    return words.say("event.changed", day=day, clock=words.clock(modified, zone))


def _local(booking: Booking, at: datetime) -> datetime:
    return at.astimezone(ZoneInfo(booking.zone))
