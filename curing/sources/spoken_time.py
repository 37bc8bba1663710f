"""Times as people say them on a command line: ``14:50``, ``2027-05-03 14:50``, local to a site."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, time, timedelta, tzinfo

from curing.errors import UsageError
from curing.model.quantities import clip
from curing.model.times import FIRST_YEAR, LAST_YEAR

_CLOCK = re.compile(r"([01]?\d|2[0-3])[:.]([0-5]\d)")


def instant_at(text: str, zone: tzinfo, today: date, *, option: str = "--at") -> datetime:
    """Return the instant of a local time.

    Parameters
    ----------
    text
        ``14:50`` (today), ``2027-05-03 14:50``, or with an offset ``2027-10-31T02:30+01:00``.
    zone
        Where it is told.
    today
        The local day of a time without a date.
    option
        How an error calls it.

    Raises
    ------
    UsageError
        Not such a time; or the clocks are changed at that hour, so that it does not exist or exists twice.

    Examples
    --------
    >>> instant_at("14:50", UTC, date(2027, 5, 3))
    datetime.datetime(2027, 5, 3, 14, 50, tzinfo=datetime.timezone.utc)
    """
    written = text.strip()
    clock = _CLOCK.fullmatch(written)
    try:
        if clock:
            at = datetime.combine(today, time(int(clock[1]), int(clock[2])))
        else:
            if not re.search(r"[T ]\d", written):
                raise ValueError
            at = datetime.fromisoformat(written)
        if not FIRST_YEAR <= at.year <= LAST_YEAR:
            raise ValueError
        if at.tzinfo is not None:
            return at.astimezone(UTC)
    except (ValueError, OverflowError):
        raise UsageError(
            f'{option}: "{clip(text)}" is not a time; write "14:50" for today, or "2027-05-03 14:50"'
        ) from None
    first, second = (at.replace(tzinfo=zone, fold=fold) for fold in (0, 1))
    if first.utcoffset() != second.utcoffset():
        there = first.astimezone(UTC).astimezone(zone).replace(tzinfo=None)
        if there != at:
            raise UsageError(
                f'{option}: "{clip(text)}" does not exist: the clocks go forward over it that night; '
                "write the time that the clock showed"
            )
        offsets = " or ".join(f"{at:%Y-%m-%dT%H:%M}{_offset(one.utcoffset())}" for one in (first, second))
        raise UsageError(
            f'{option}: "{clip(text)}" comes twice: the clocks go back that night; say which with its offset: {offsets}'
        )
    return first.astimezone(UTC)


def _offset(offset: timedelta | None) -> str:
    minutes = int((offset or timedelta()).total_seconds() // 60)
    return f"{'-' if minutes < 0 else '+'}{abs(minutes) // 60:02d}:{abs(minutes) % 60:02d}"
