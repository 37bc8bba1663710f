"""What follows from a channel's answer: sent, tried again, given up, or the next channel."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

from curing.model.reminders import Answer, Kind, Occasion, Outcome, Row, RowState
from curing.publish.words import Words
from curing.store import Fresh, Step

BACKOFF = tuple(timedelta(seconds=one) for one in (30, 60, 120, 240, 480, 900))
"""Waits after the first, second … try; the last one from then on (common practice, no source)."""
SOON = frozenset({Kind.ROUND, Kind.MISSED, Kind.UNSEEN, Kind.TASK, Kind.CHANGED, Kind.FROST, Kind.RAIN, Kind.HEAT})
"""Kinds that are of use for a short time."""
PATIENCE_SOON = timedelta(minutes=10)
PATIENCE = timedelta(hours=2)
CLOSED = timedelta(minutes=5)
"""A channel that is at fault itself is left alone for so long."""
_CERTAIN = (Outcome.ACCEPTED, Outcome.LATER, Outcome.NEVER)


def patience(kind: Kind) -> timedelta:
    """Return how long one channel is tried where there is another one.

    Examples
    --------
    >>> str(patience(Kind.ROUND)), str(patience(Kind.HOLD))
    ('0:10:00', '2:00:00')
    """
    return PATIENCE_SOON if kind in SOON else PATIENCE


def backoff(tries: int) -> timedelta:
    """Return the wait after so many tries.

    Examples
    --------
    >>> [int(backoff(tries).total_seconds()) for tries in range(1, 8)]
    [30, 60, 120, 240, 480, 900, 900]
    """
    return BACKOFF[min(max(tries, 1), len(BACKOFF)) - 1]


@dataclass(frozen=True, slots=True)
class Case:
    """A row that was tried, and what it told.

    Parameters
    ----------
    other
        The person's next channel that works, or nothing.
    text
        The short text as it went out.
    stamp
        How an instant is written for people.
    """

    row: Row
    occasion: Occasion
    other: str
    text: str
    stamp: Callable[[datetime], str]


def verdict(case: Case, answer: Answer, now: datetime, words: Words) -> Step:
    """Return what becomes of a row after a channel's answer.

    Where the person has no other channel, the same one is tried for as long as it is of use.
    """
    row, one = case.row, case.occasion
    said = answer.said or words.say("sending.no_answer")
    if answer.outcome is Outcome.UNKNOWN:
        said = words.say("sending.unknown", said=said)
    if row.again:
        said = words.say("sending.twice", said=said, times=row.again + 1)
    known = answer.outcome in _CERTAIN
    if answer.outcome is Outcome.ACCEPTED:
        return Step(row, RowState.SENT, said, text=case.text, sure=True)
    then = (Fresh(one, case.other, now),) if case.other and one.until > now else ()
    if answer.outcome is Outcome.NEVER and not answer.own_fault:
        return Step(
            row, RowState.DEAD, words.say("sending.never", said=said, channel=row.channel), text=case.text, then=then
        )
    wait = max(CLOSED if answer.own_fault else backoff(row.tries), answer.after or timedelta(0))
    at = now + wait
    over = at > max(one.due, row.made) + patience(one.kind)
    if then and (over or answer.own_fault):
        said = words.say("sending.patience", said=said, tries=row.tries, channel=row.channel, other=case.other)
        return Step(row, RowState.DEAD, said, text=case.text, then=then)
    if at >= one.until:
        return Step(row, RowState.DEAD, words.say("sending.useless", said=said), text=case.text, then=then)
    said = words.say("sending.later", said=said, when=case.stamp(at))
    return Step(row, RowState.WAITING, said, next=at, text=case.text, answered=known)
