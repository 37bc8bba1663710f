"""Quiet hours: when something that is due in them goes out."""

from __future__ import annotations

from datetime import datetime, timedelta, tzinfo
from enum import StrEnum

from curing.model.people import Person
from curing.planning.worktime import instant, local

DAY = timedelta(days=1)


class Manner(StrEnum):
    """What becomes of something that is due in quiet hours."""

    WAITS = "waits"
    """It goes out when they end, if it is of use then."""
    FORWARD = "forward"
    """The same; where it is of no use then, it goes out when they begin."""
    RINGS = "rings"
    """It goes out all the same."""


def quiet_at(person: Person, zone: tzinfo, at: datetime) -> tuple[datetime, datetime] | None:
    """Return the quiet hours of a person round an instant, or None outside them.

    At the very minute at which they begin or end something may still go out.

    Parameters
    ----------
    zone
        Whose clock the quiet hours are read by.
    at
        Aware.

    Examples
    --------
    >>> from datetime import UTC
    >>> mia = Person(id="mia", name="Mia")  # quiet from 21:00 to 06:00
    >>> [quiet_at(mia, UTC, datetime(2027, 5, 3, hour, tzinfo=UTC)) is None for hour in (5, 6, 12, 21, 22)]
    [False, True, True, True, False]
    """
    start, end = person.quiet
    if start == end:
        return None
    day, _ = local(zone, at)
    for first in (day - DAY, day):
        begins = instant(zone, first, start)
        ends = instant(zone, first if start < end else first + DAY, end)
        if begins < at < ends:
            return begins, ends
    return None


def goes_out(person: Person, zone: tzinfo, meant: datetime, until: datetime, manner: Manner) -> datetime | None:
    """Return when something meant for an instant goes out, or None where it would be of no use any more.

    Examples
    --------
    >>> from datetime import UTC
    >>> mia = Person(id="mia", name="Mia")  # quiet from 21:00 to 06:00
    >>> at, midnight = datetime(2027, 5, 3, 22, tzinfo=UTC), datetime(2027, 5, 4, tzinfo=UTC)
    >>> [str(goes_out(mia, UTC, at, midnight, manner)) for manner in Manner]
    ['None', '2027-05-03 21:00:00+00:00', '2027-05-03 22:00:00+00:00']
    """
    quiet = quiet_at(person, zone, meant) if manner is not Manner.RINGS else None
    due = meant if quiet is None else quiet[1]
    if due < until:
        return due
    return quiet[0] if quiet is not None and manner is Manner.FORWARD and quiet[0] < until else None


def before_work(person: Person, zone: tzinfo, start: datetime) -> tuple[datetime, bool]:
    """Return when work of one's own is told, and whether that is in quiet hours.

    So long before its start as the person wants. In quiet hours it waits for their end; where the work
    begins by then, it rings, since the person has to be up for it.

    Examples
    --------
    >>> from datetime import UTC
    >>> mia = Person(id="mia", name="Mia")  # quiet from 21:00 to 06:00, told 30 min before
    >>> for at in ("07:00", "06:20", "06:00"):
    ...     due, rings = before_work(mia, UTC, datetime.fromisoformat(f"2027-05-03T{at}+00:00"))
    ...     print(f"{due:%H:%M}", rings)
    06:30 False
    06:00 False
    05:30 True
    """
    meant = start - timedelta(minutes=person.notice)
    quiet = quiet_at(person, zone, meant)
    if quiet is None:
        return meant, False
    return (quiet[1], False) if quiet[1] < start else (meant, True)
