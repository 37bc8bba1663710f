"""What is said of reminders that went out, or did not: how the sender stands, and what became of each row."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

from curing.model.reminders import Outbox, Row, RowState
from curing.publish.event_title import cut, plain
from curing.publish.reminder_rows import RemindersSeen, Sending, Told
from curing.publish.words import Words

LONGEST = 200
"""Signs of what a channel said."""


class Said:
    """Says what became of reminders.

    Parameters
    ----------
    now
        The present instant.
    zone
        Time zone of the reader.
    """

    def __init__(self, words: Words, now: datetime, zone: str) -> None:
        self.words, self.now, self.zone = words, now, ZoneInfo(zone)

    def when(self, at: datetime) -> str:
        """Return ``07:30``, with its day where that is not today."""
        here = at.astimezone(self.zone)
        if here.date() == self.now.astimezone(self.zone).date():
            return f"{here:%H:%M}"
        return self.words.say("terminal.day_time", day=self.words.day(here.date()), clock=f"{here:%H:%M}")

    def ago(self, at: datetime) -> str:
        """Return how long ago something was: ``12 s``."""
        seconds = max(0, round((self.now - at).total_seconds()))
        for key, length, most in (("seconds", 1, 100), ("minutes", 60, 7200), ("hours", 3600, 172_800)):
            if seconds < most:
                return self.words.say(f"remind.ago.{key}", number=seconds // length)
        return self.words.say("remind.ago.days", number=seconds // 86_400)

    def stands(self, outbox: Outbox, sending: Sending, *, reached: bool = True) -> str:
        """Return how sending stands, in a sentence.

        Parameters
        ----------
        reached
            Whether anybody has an address.
        """
        words = self.words
        if sending is Sending.OFF:
            return words.say("remind.stands.off" if reached else "remind.stands.nobody")
        if sending is Sending.STOPPED and outbox.looked is not None:
            return words.say("remind.stands.stopped", when=self.when(outbox.looked))
        if sending is Sending.DEAD:
            return words.count("remind.stands.dead", outbox.dead)
        if sending is Sending.LATE and outbox.oldest is not None:
            return words.count("remind.stands.late", outbox.waiting, when=self.when(outbox.oldest))
        ago = self.ago(outbox.looked) if outbox.looked is not None else ""
        if outbox.waiting:
            return words.count("remind.stands.well.waiting", outbox.waiting, ago=ago)
        return words.say("remind.stands.well", ago=ago)

    def stands_of(self, reminders: RemindersSeen) -> list[str]:
        """Return how sending stands, and what to do."""
        reached = any(one.ways for one in reminders.reach)
        lines = [self.stands(reminders.outbox, reminders.sending, reached=reached)]
        if reminders.sending in (Sending.OFF, Sending.STOPPED):
            lines.append(self.words.say("remind.stands.start" if reached else "remind.stands.tell"))
        if reminders.outbox.nowhere:
            lines.append(self.words.count("remind.stands.nowhere", reminders.outbox.nowhere))
        return lines

    def state(self, row: Row) -> str:
        """Return how far a row has come, in a word or a time."""
        if row.state is RowState.SENT:
            return self.when(row.answered) if row.answered is not None else self.words.say("remind.row.none")
        if row.state is RowState.WAITING and row.tries:
            return self.words.say("remind.row.tried", number=row.tries)
        return self.words.say(f"remind.row.{row.state}")

    def answered(self, told: Told) -> str:
        """Return how far it was answered: ``07:12 Wil``, ``2 of 4``, ``open``, ``-``."""
        one = told.answered
        if one is None or (not one.done and told.row.state is not RowState.SENT):
            return self.words.say("remind.row.none")
        if one.whole and one.at is not None:
            return self.words.say("remind.row.answered", clock=self.when(one.at), by=one.by)
        if one.done:
            return self.words.say("remind.row.of", done=one.done, of=one.of)
        return self.words.say("remind.row.open")

    def more(self, told: Told, *, instead: bool = True) -> list[str]:
        """Return what is said besides: the channel's answer, what was done instead, that it may have come twice."""
        words, row, found = self.words, told.row, []
        if row.answer and row.state is not RowState.SENT:
            answer = cut(plain(row.answer), LONGEST).rstrip(".")
            found.append(words.say("remind.row.answer", answer=answer[:1].upper() + answer[1:]))
        if (
            instead
            and told.instead is not None
            and told.instead.channel
            and row.state in (RowState.DEAD, RowState.DROPPED)
        ):
            other = told.instead
            if other.state is RowState.SENT and other.answered is not None:
                found.append(
                    words.say("remind.row.instead.sent", channel=other.channel, when=self.when(other.answered))
                )
            elif other.state is RowState.WAITING:
                found.append(words.say("remind.row.instead.waiting", channel=other.channel))
        if row.again:
            found.append(words.say("remind.row.twice", number=row.again + 1))
        return found

    def to_do(self, told: Told) -> str:
        """Return what to do about one that reached nobody."""
        if told.row.state is RowState.NOWHERE:
            return self.words.say("remind.do.channel", name=told.name)
        return self.words.say("remind.do.address", name=told.name, channel=told.row.channel)
