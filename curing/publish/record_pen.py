"""How days, times, numbers and people stand in the pages of the record."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from babel.dates import format_date

from curing.model.record import RecordEntry
from curing.publish.event_title import plain
from curing.publish.record_text import Called, day_text, entry_text, when_text
from curing.publish.words import Words


@dataclass(frozen=True)
class Pen:
    """Writes for one page.

    Parameters
    ----------
    words
        Language and units of the reader.
    called
        How things are called today.
    zone
        Time zone of the wall.
    year
        Days of another year are written with theirs.
    """

    words: Words
    called: Called
    zone: str
    year: int

    def say(self, key: str, **values: object) -> str:
        """Return a sentence of the record."""
        return self.words.say(f"record.{key}", **values)

    def day(self, day: date) -> str:
        """Return ``Mon 3 May``."""
        return day_text(day, self.words, self.year)

    def short(self, day: date) -> str:
        """Return ``3 May``, for the columns of a table."""
        return format_date(day, "d MMM" if day.year == self.year else "d MMM y", locale=self.words.language)

    def local(self, at: datetime) -> date:
        """Return the local day of an instant."""
        return at.astimezone(ZoneInfo(self.zone)).date()

    def when(self, at: datetime) -> str:
        """Return ``Mon 3 May 14:10``, local."""
        return when_text(at, self.zone, self.words, self.year)

    def clock(self, at: datetime) -> str:
        """Return ``14:10``, local."""
        return self.words.clock(at, self.zone)

    def text(self, entry: RecordEntry) -> str:
        """Return an entry in one sentence."""
        return entry_text(entry, self.called, self.words)

    def number(self, entry: int) -> str:
        """Return ``#17``."""
        return self.say("number", number=entry)

    def by(self, name: str) -> str:
        """Return `` by Wil``, or nothing where nobody is named."""
        return self.say("hold.by", name=plain(name)) if name else ""

    def after(self, entry: int) -> str:
        """Return `` #17``, or nothing where no entry says it."""
        return self.say("hold.entry", number=self.number(entry)) if entry else ""

    def mark(self, entry: int, name: str) -> str:
        """Return ``#17, Wil``."""
        return self.say("hold.mark", number=self.number(entry), name=plain(name))

    def numbers(self, entries: Iterable[int]) -> str:
        """Return ``#12-19, #22``."""
        return ", ".join(
            self.number(first) if first == last else self.say("numbers", first=first, last=last)
            for first, last in runs(entries)
        )


def runs(numbers: Iterable[int]) -> list[tuple[int, int]]:
    """Return whole numbers as (first, last) of each unbroken run.

    Examples
    --------
    >>> runs([3, 1, 2, 7])
    [(1, 3), (7, 7)]
    """
    found: list[tuple[int, int]] = []
    for one in sorted(set(numbers)):
        if found and one == found[-1][1] + 1:
            found[-1] = (found[-1][0], one)
        else:
            found.append((one, one))
    return found
