"""One message, from what it tells to what the channel answered; whatever happens is an answer."""

from __future__ import annotations

import logging
import traceback
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

from curing.model.plan import Value
from curing.model.reminders import Answer, Channel, Kind, Occasion, Outcome, Row, RowState
from curing.publish.words import Words
from curing.remind.looking import Composes, Look
from curing.remind.message_key import message_key
from curing.remind.sifting import AWAY_USE, BACK, as_occasion
from curing.store import Fresh, Step, Store

MOST = 20
"""Messages a person gets in an hour, besides those that a wall waits for."""
FREE = frozenset({Kind.ROUND, Kind.MISSED, Kind.UNSEEN, Kind.FROST, Kind.AWAY})
"""Kinds that don't count among them."""

LONGEST = 200
"""Signs that are kept of an answer or a short text."""

_log = logging.getLogger("curing.remind")


class Telling:
    """Makes messages and hands them to channels."""

    def __init__(self, store: Store, channels: Mapping[str, Channel], compose: Composes) -> None:
        self._store, self._channels, self._compose = store, channels, compose

    def told(
        self, name: str, look: Look, person: str, occasions: Sequence[Occasion], rows: Sequence[Row]
    ) -> tuple[Answer, str]:
        """Make the message and hand it to the channel; whatever happens is an answer."""
        words, channel = Words(look.sight.job.file.units), self._channels[name]
        address = look.ways.address(person, name)
        if not address:
            return Answer(Outcome.NEVER, words.say("sending.no_address", channel=name)), ""
        try:
            over = _over(self._store, rows) if rows[0].kind is Kind.AWAY else ()
            told = [_together(occasions)] if rows[0].kind is Kind.AWAY else occasions
            key = message_key(self._store.job_uid, rows)
            message = self._compose(look.sight, person, told, key, over)
        except Exception as error:
            _log.error("no message could be made", extra={"kind": str(rows[0].kind), "broke": where(error)})
            return Answer(Outcome.LATER, words.say("sending.no_text", error=type(error).__name__)), ""
        try:
            if fault := channel.fault(address):
                return Answer(Outcome.NEVER, _storable(fault)), _storable(message.short)
            answer = channel.send(address, message)
            return replace(answer, said=_storable(answer.said)), _storable(message.short)
        except Exception as error:
            _log.error("a channel broke", extra={"channel": name, "broke": where(error)})
            said = words.say("sending.broken", channel=name, error=type(error).__name__)
            return Answer(Outcome.UNKNOWN, said), _storable(message.short)


def _over(store: Store, rows: Sequence[Row]) -> list[Occasion]:
    """Return what a message of what is over tells: the person's rows that were folded since it was made."""
    first = min(row.made for row in rows)
    _, all_rows = store.open_rows(first - 2 * BACK)
    return [
        as_occasion(row)
        for row in all_rows
        if row.person == rows[0].person and row.answered is not None and row.answered >= first
        if row.state is RowState.FOLDED or (row.state is RowState.DEAD and row.until <= row.answered)
        if row.kind not in (Kind.AWAY, Kind.TRIAL)
    ]


def fold(rows: Sequence[Row], look: Look, now: datetime) -> list[Step]:
    """Return the changes that fold rows which are too many for one hour into one message at its end."""
    words, ways, person = Words(look.sight.job.file.units), look.ways, rows[0].person
    hour = now.replace(minute=0, second=0, microsecond=0) + timedelta(hours=1)
    due = ways.quiet_until(person, hour) or hour
    values: dict[str, Value] = {"number": 1, "why": "many"}
    told = Occasion(
        f"away|many|{now:%Y-%m-%dT%HZ}|{person}",
        Kind.AWAY,
        person,
        due,
        due + AWAY_USE,
        ways.stamp(due),
        values=values,
    )
    new = Fresh(told, rows[0].channel, now, adds_up=True)
    said = words.say("sending.many", most=MOST)
    return [Step(row, RowState.FOLDED, said, then=(new,)) for row in rows]


def _together(occasions: Sequence[Occasion]) -> Occasion:
    """Return several messages of what is over as one."""
    first, listed = occasions[0], [one.values for one in occasions]
    values: dict[str, Value] = {"number": sum(number for one in listed if type(number := one.get("number")) is int)}
    spans = [one for one in listed if one.get("since") and one.get("until")]
    if len(spans) == len(listed):
        values["since"] = min(str(one["since"]) for one in spans)
        values["until"] = max(str(one["until"]) for one in spans)
    if reasons := [one["why"] for one in listed if one.get("why")]:
        values["why"] = reasons[0]
    return replace(first, values=values)


def _storable(text: str) -> str:
    """Return text that the state can keep, whatever a server said: a mark that could not be kept would be a repeat."""
    return text.encode("utf-8", "replace").decode("utf-8")[:LONGEST]


def where(error: Exception) -> str:
    """Return what broke and where, without its words, which may hold an address or a link."""
    place = traceback.extract_tb(error.__traceback__)[-1]
    return f"{type(error).__name__} in {Path(place.filename).name}:{place.lineno}"
