"""What becomes of the rows of the outbox after a look at what falls due: added, dropped, put off, folded."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import Protocol

from curing.model.plan import Value
from curing.model.reminders import Kind, Occasion, Row, RowState
from curing.publish.words import Words
from curing.store import Fresh, Step, end_unknown

BACK = timedelta(days=4)
"""What fell due longer ago is over, whatever it says of itself."""
LATE = timedelta(minutes=10)
"""What goes out later than this minds the quiet hours again."""
AWAY_USE = timedelta(days=1)
SET_BACK = timedelta(minutes=1)
"""A try so far in the future was begun before the clock went back."""
OPEN = (RowState.WAITING, RowState.SENT, RowState.FOLDED)


class Reach(Protocol):
    """How people are reached; see :class:`curing.remind.ways.Ways`."""

    def channels(self, root: str, /) -> tuple[str, ...]:
        """Return a person's channels that are set up."""

    def left(self, root: str, /) -> bool:
        """Tell whether a person is of the job no more."""

    def quiet_until(self, root: str, at: datetime, zone: str = "", /) -> datetime | None:
        """Return the end of the quiet hours round an instant, by the clock of a zone or of the first site."""

    def stamp(self, at: datetime, /) -> str:
        """Return an instant in local time."""


@dataclass
class Sifting:
    """One look at what falls due, against the rows that are there.

    Parameters
    ----------
    now
        The present instant.
    looked
        When somebody looked last; None: never, then nothing that is over is told.
    rows
        All that wait, and all that fell due in the last days.
    occasions
        What falls due in the last four days and the coming ones, as it stands now.
    closed
        Channels that don't work now → what they said.
    """

    now: datetime
    looked: datetime | None
    rows: Sequence[Row]
    occasions: Sequence[Occasion]
    reach: Reach
    words: Words
    closed: Mapping[str, str] = field(default_factory=dict)
    fresh: list[Fresh] = field(default_factory=list)
    steps: list[Step] = field(default_factory=list)

    def __post_init__(self) -> None:
        self._there: dict[tuple[str, str], list[Row]] = defaultdict(list)
        for row in self.rows:
            self._there[row.key, row.person].append(row)
        self._over: dict[str, list[Occasion]] = defaultdict(list)
        self.wanted = {(one.key, one.person): self._held(one) for one in self.occasions}
        self._passed_over = set(self._between())

    def sift(self) -> Sifting:
        """Fill ``fresh`` and ``steps``."""
        since = self.looked or self.now  # in the future where the clock went back: then nothing is over since
        for one in self.wanted.values():
            there = self._there[one.key, one.person]
            if one.due > self.now or self.reach.left(one.person):
                continue
            if one.until > self.now:
                if (one.key, one.person) in self._passed_over:
                    self._pass_over(one, there)
                else:
                    self._place(one, there)
            elif not there and one.due > since:
                channels = self.reach.channels(one.person)
                said = "sending.folded" if channels else "sending.folded_nowhere"
                name = channels[0] if channels else ""
                self.fresh.append(Fresh(one, name, self.now, RowState.FOLDED, self.words.say(said)))
                self._over[one.person].append(one)
        for row in self.rows:
            if row.state is RowState.WAITING:
                self.steps += self._waiting(row)
        for person, over in self._over.items():
            if left := [one for one in over if not self._asked_again(one)]:
                self.fresh += self._away(person, left, since)
        return self

    def _asked_again(self, over: Occasion) -> bool:
        """Tell whether a person is asked now about the very thing of which a reminder is over.

        A round whose reminder and whose time went by in one gap has no tick: that is one message, not two.
        """
        about = set(over.about)
        return bool(about) and any(
            one.kind in (Kind.MISSED, Kind.UNSEEN) and about <= set(one.about)
            for key, one in self.wanted.items()
            if one.person == over.person and one.due <= self.now < one.until and key not in self._passed_over
        )

    def _held(self, one: Occasion) -> Occasion:
        """Return an occasion that is late and would ring in quiet hours as due when they end, or as over by now."""
        if one.rings_in_quiet or not one.due + LATE < self.now:
            return one
        if any(row.tries or row.state is not RowState.WAITING for row in self._there.get((one.key, one.person), ())):
            return one
        end = self.reach.quiet_until(one.person, self.now, str(one.values.get("zone") or ""))
        if end is None:
            return one
        return replace(one, due=end) if end < one.until else replace(one, until=min(one.until, self.now))

    def _between(self) -> Iterator[tuple[str, str]]:
        """Yield the steps of a climb that nobody was told in time and that a later step has overtaken.

        A whole crew is not rung in one minute because nobody was there to send: who had the round, the last who would
        have heard of it by now, and who leads are enough.
        """
        highest: dict[str, int] = {}
        due = [
            one
            for one in self.wanted.values()
            if one.kind is Kind.MISSED and one.step > 0 and one.due <= self.now < one.until
            if self.reach.channels(one.person)
        ]
        for one in due:
            highest[one.key] = max(one.step, highest.get(one.key, 0))
        for one in due:
            there = self._there.get((one.key, one.person), ())
            untold = all(row.state is RowState.DROPPED and not row.tries for row in there)
            if one.step < highest[one.key] and untold and not one.values.get("leads"):
                yield one.key, one.person

    def _pass_over(self, one: Occasion, there: Sequence[Row]) -> None:
        """Keep that a step was overtaken, which a page shows and nothing sends."""
        if not there:
            said = self.words.say("sending.next_told")
            self.fresh.append(Fresh(one, self.reach.channels(one.person)[0], self.now, RowState.DROPPED, said))

    def _place(self, one: Occasion, there: Sequence[Row]) -> None:
        """Add a row where an occasion has none that is open, on the first channel that works."""
        if any(row.state in OPEN for row in there):
            return
        channels = self.reach.channels(one.person)
        dropped = [row for row in there if row.state is RowState.DROPPED and row.channel in channels]
        if dropped:  # it is wanted again: a tick was taken back, a round moved back
            self.steps.append(
                Step(dropped[-1], RowState.WAITING, "", occasion=one, next=max(one.due, self.now), answered=False)
            )
        elif any(row.state is RowState.DEAD for row in there):
            return
        elif not channels:
            if not any(row.state is RowState.NOWHERE for row in there):
                self.fresh.append(self._nowhere(one))
        else:
            new = Fresh(one, next((name for name in channels if name not in self.closed), channels[0]), self.now)
            nowhere = [row for row in there if row.state is RowState.NOWHERE]
            said = self.words.say("sending.channel_since")
            self.steps += [Step(row, RowState.DROPPED, said, then=(new,)) for row in nowhere]
            self.fresh += [] if nowhere else [new]

    def _nowhere(self, one: Occasion) -> Fresh:
        return Fresh(one, "", self.now, RowState.NOWHERE, self.words.say("sending.nowhere"))

    def _waiting(self, row: Row) -> Iterator[Step]:
        """Yield what becomes of a row that waits."""
        one = self.wanted.get((row.key, row.person)) or as_occasion(row)
        if row.kind is Kind.TRIAL and not row.channel and not self.reach.left(row.person):
            yield from self._spread(row)
            return
        own = row.kind in (Kind.TRIAL, Kind.AWAY)
        if self.reach.left(row.person):
            yield Step(row, RowState.DROPPED, self.words.say("sending.left"), answered=not end_unknown(row))
        elif not own and (row.key, row.person) not in self.wanted and row.due > self.now - BACK:
            yield Step(row, RowState.DROPPED, self.words.say("sending.dropped"), answered=not end_unknown(row))
        elif one.until <= self.now or (not own and row.due <= self.now - BACK):
            yield self._expired(row, one, own=own)
        elif row.channel not in (channels := self.reach.channels(row.person)):
            yield self._off_channel(row, one, channels)
        elif row.channel in self.closed and one.due <= self.now and (other := self.following(row)):
            said = self.words.say("sending.channel_closed", channel=row.channel, said=self.closed[row.channel])
            yield Step(row, RowState.DEAD, said, then=(Fresh(one, other, self.now),))
        elif not own and differs(row, one):
            later = one.due if one.due > self.now or row.tries == 0 else row.next
            yield Step(row, RowState.WAITING, occasion=one, next=later, answered=False)
        elif row.begun is not None and row.begun > self.now + SET_BACK and row.next > self.now:
            yield Step(row, RowState.WAITING, next=self.now, answered=False)

    def _expired(self, row: Row, one: Occasion, *, own: bool) -> Step:
        if not own:
            self._over[row.person].append(one)
        if row.tries or own:
            said = self.words.say("sending.over", tries=row.tries, said=row.answer or "-")
            return Step(row, RowState.DEAD, said)
        return Step(row, RowState.FOLDED, self.words.say("sending.folded"))

    def _off_channel(self, row: Row, one: Occasion, channels: Sequence[str]) -> Step:
        said = self.words.say("sending.channel_gone", channel=row.channel)
        if row.kind is Kind.TRIAL:
            return Step(row, RowState.DEAD, said)
        if not channels:
            return Step(row, RowState.DROPPED, said, then=(self._nowhere(one),))
        other = following(row, channels, (), self._had(row)) or channels[0]
        return Step(row, RowState.DROPPED, said, then=(Fresh(one, other, self.now),))

    def _spread(self, row: Row) -> Iterator[Step]:
        """Yield the change of a row that tries channels out into one for each."""
        channels, one = self.reach.channels(row.person), as_occasion(row)
        if channels:
            yield Step(row, None, then=tuple(Fresh(one, name, self.now) for name in channels))
        else:
            yield Step(row, RowState.NOWHERE, self.words.say("sending.nowhere"))

    def following(self, row: Row) -> str:
        """Return the channel that comes after a row's own, or nothing."""
        return following(row, self.reach.channels(row.person), self.closed, self._had(row))

    def _had(self, row: Row) -> set[str]:
        """Return the channels that have a row of what a row tells."""
        return {one.channel for one in self._there[row.key, row.person]}

    def _away(self, person: str, over: Sequence[Occasion], since: datetime) -> Iterator[Fresh]:
        """Yield the one message that tells a person what is over."""
        channels = self.reach.channels(person)
        if not channels:
            return
        due = self.reach.quiet_until(person, self.now) or self.now
        began = min(since, *(one.due for one in over))
        values: dict[str, Value] = {
            "number": len(over),
            "since": self.reach.stamp(began),
            "until": self.reach.stamp(self.now),
        }
        key = f"away|{self.now:%Y-%m-%dT%H:%M:%SZ}|{person}"
        if self.looked is not None:  # two that look at once after the same last look make the same
            key = f"away|{self.looked:%Y-%m-%dT%H:%M:%SZ}|{person}"
        told = Occasion(key, Kind.AWAY, person, due, due + AWAY_USE, self.reach.stamp(due), values=values)
        yield Fresh(told, next((name for name in channels if name not in self.closed), channels[0]), self.now)


def following(row: Row, channels: Sequence[str], closed: Collection[str], had: Collection[str] = ()) -> str:
    """Return the next channel of a person that works: the first after a row's own, then one that was passed by.

    Parameters
    ----------
    channels
        The person's, in order of choice.
    closed
        Channels that don't work now.
    had
        Channels that have a row of the same already.

    Returns
    -------
    Nothing where there is none, and for a trial.
    """
    if row.kind is Kind.TRIAL:
        return ""
    own = channels.index(row.channel) if row.channel in channels else -1
    left = [*channels[own + 1 :], *channels[: max(own, 0)]]
    return next((name for name in left if name not in closed and name not in had), "")


def as_occasion(row: Row) -> Occasion:
    """Return what a row tells."""
    return Occasion(
        row.key,
        row.kind,
        row.person,
        row.due,
        row.until,
        row.intent,
        about=row.about,
        faces=row.faces,
        values=row.values,
        step=row.step,
    )


def differs(row: Row, one: Occasion) -> bool:
    """Tell whether an occasion is not any more what its row says."""
    return replace(one, rings_in_quiet=False, values=dict(one.values)) != replace(
        as_occasion(row), values=dict(row.values)
    )
