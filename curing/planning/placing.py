"""Placing work in the hours of one day: unbroken blocks of a crew, walks, small tasks.

A day is a :class:`DayBoard`: who is taken when, and at which site each half of the
day is spent. All minutes are local, after midnight.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date

from curing.model.plan import Booking, Slot
from curing.planning.worktime import GRID, NOON, Worktime

Span = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Block:
    """A coat's place in the day; ``absent`` are spans in which a person of the crew is elsewhere."""

    start: int
    end: int
    who: tuple[str, ...]
    absent: tuple[tuple[str, int, int], ...]


@dataclass(slots=True)
class DayBoard:
    """Who is taken when on one day."""

    day: date
    worktime: Worktime
    taken: dict[str, list[Span]] = field(default_factory=dict)
    halves: dict[tuple[str, bool], str] = field(default_factory=dict)
    """(person, afternoon) → site at which that half of the day is spent."""
    rounds: dict[tuple[str, Slot], Booking] = field(default_factory=dict)
    """(person, part of the day) → the one round of that person then."""
    unnamed: list[Booking] = field(default_factory=list)
    """Rounds that nobody takes."""

    def take(self, person: str, span: Span, site: str) -> None:
        """Give away a span of a person's day, and with it the half days it touches."""
        self.taken.setdefault(person, []).append(span)
        for afternoon in _halves(span):
            self.halves.setdefault((person, afternoon), site)

    def free(self, person: str, site: str) -> list[Span]:
        """Return the spans in which a person could work at a site, in order."""
        hours = self.worktime.hours(person, self.day)
        if hours is None:
            return []
        gone = list(self.taken.get(person, ()))
        away = self.worktime.taken(person, self.worktime.zone(site), self.day)
        gone.extend(away)
        elsewhere = {half for span in away for half in _halves(span)}
        for afternoon in (False, True):
            at = self.halves.get((person, afternoon), site)
            if at != site or afternoon in elsewhere:
                gone.append((NOON, 24 * 60) if afternoon else (0, NOON))
        return without([(hours[0], hours[1])], gone)

    def gap(self, person: str, site: str, minutes: int, window: Span, *, last: bool = False) -> int | None:
        """Return the first (or last) start of a free span that long inside the window, or None."""
        found = None
        for a, b in self.free(person, site):
            start, end = _up(max(a, window[0])), min(b, window[1])
            if end - start >= minutes:
                if not last:
                    return start
                found = (end - minutes) // GRID * GRID
                found = found if found >= start else start
        return found

    def block(self, crew: Sequence[str], site: str, hours: float, not_before: int = 0) -> Block | None:
        """Return the first unbroken block in which a crew does that many person-hours, or None.

        The wet edge is kept as long as at least one of them is at the wall; who is
        out on a round is missing from it and the block grows by as much.
        """
        free = {person: self.free(person, site) for person in crew}
        edges = sorted({e for spans in free.values() for span in spans for e in span if e > not_before})
        need = hours * 60.0
        start, done = -1, 0.0
        at = not_before
        for edge in edges:
            number = sum(any(a <= at and edge <= b for a, b in spans) for spans in free.values())
            if number == 0:
                start, done = -1, 0.0
            else:
                if start < 0:
                    start, done = _up(at), 0.0
                    at = start
                step = max(0, edge - at) * number
                if done + step >= need - 1e-6 and edge > at:
                    left = max(0.0, need - done) / number
                    end = at + math.ceil(left / GRID - 1e-9) * GRID
                    if end <= edge:
                        return self._block(free, start, end)
                done += step
            at = max(at, edge)
        return None

    def _block(self, free: dict[str, list[Span]], start: int, end: int) -> Block:
        who, absent = [], []
        for person, spans in free.items():
            there = [(max(a, start), min(b, end)) for a, b in spans if a < end and b > start]
            if there:
                who.append(person)
                absent += [(person, a, b) for a, b in without([(start, end)], there)]
        return Block(start, end, tuple(who), tuple(absent))

    def take_block(self, block: Block, site: str) -> None:
        """Give away the time of a block's people, but not the spans in which they are absent."""
        for person in block.who:
            out = [(a, b) for who, a, b in block.absent if who == person]
            for span in without([(block.start, block.end)], out):
                self.take(person, span, site)


def without(spans: Iterable[Span], gone: Iterable[Span]) -> list[Span]:
    """Return what is left of spans, in order.

    Examples
    --------
    >>> without([(420, 930)], [(600, 615), (900, 1000)])
    [(420, 600), (615, 900)]
    """
    left = sorted(spans)
    for start, end in gone:
        left = [piece for a, b in left for piece in ((a, min(b, start)), (max(a, end), b)) if piece[0] < piece[1]]
        left = sorted(set(left))
    return left


def _halves(span: Span) -> list[bool]:
    return [half for half, inside in ((False, span[0] < NOON), (True, span[1] > NOON)) if inside]


def _up(minute: int) -> int:
    return math.ceil(minute / GRID) * GRID
