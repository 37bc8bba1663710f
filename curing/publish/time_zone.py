"""VTIMEZONE text, own RRULE form, so that every calendar program reads the right hour.

The observances of RFC 5545 section 3.6.5 are written in three ways:

* a yearly rule: one observance with an RRULE for each of its two changes,
  starting in the first whole year the rule has held, so that the text does
  not alter from year to year;
* no change at all: one fixed observance;
* changes that no yearly rule covers: a fixed observance, then one without
  recurrence for each change in the years asked for.

RDATE is never written: some programs lose the first date of such a list and
then show every event after it an hour late.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from functools import lru_cache

from curing.publish.zone_file import EPOCH, Change, YearlyDate, Zone, read_zone

_WEEKDAYS = ("SU", "MO", "TU", "WE", "TH", "FR", "SA")
_SHORT_MONTHS = {2: 28, 4: 30, 6: 30, 9: 30, 11: 30}


def vtimezone(zone: str, first: date, last: date) -> str:
    r"""Write the VTIMEZONE component of a zone, right for every local time of the years asked for.

    The text depends on the years alone, and for a zone with a steady rule, or
    none, on nothing but ``tzdata``: a feed whose window slides by a day keeps
    its bytes.

    Parameters
    ----------
    zone
        A name of the tz database, such as ``Europe/Amsterdam``; it becomes TZID.
    first, last
        First and last local date told in the zone; their whole years are
        covered. Not before 1970.

    Returns
    -------
    str
        Lines that end in CRLF; none is longer than 75 octets, so none is folded.

    Raises
    ------
    ValueError
        The package ``tzdata`` has no such zone, or the dates are out of order
        or lie before 1970.

    References
    ----------
    .. [1] RFC 5545, section 3.6.5: DTSTART of an observance is local time in
       the offset in force just before it.

    Examples
    --------
    >>> text = vtimezone("Europe/Amsterdam", date(2026, 10, 20), date(2027, 4, 1))
    >>> for line in text.splitlines()[2:8]:
    ...     print(line)
    BEGIN:DAYLIGHT
    DTSTART:19960331T020000
    TZOFFSETFROM:+0100
    TZOFFSETTO:+0200
    TZNAME:CEST
    RRULE:FREQ=YEARLY;BYMONTH=3;BYDAY=-1SU
    """
    if not EPOCH.date() <= first <= last:
        raise ValueError(f"time zone {zone}: from {first} to {last}; the dates must be in order and not before 1970")
    return _component(zone, first.year, last.year)


@lru_cache(maxsize=64)
def _component(name: str, first: int, last: int) -> str:
    lines = ["BEGIN:VTIMEZONE", f"TZID:{name}"]
    lines += _observances(read_zone(name), first, last)
    lines.append("END:VTIMEZONE")
    return "".join(f"{line}\r\n" for line in lines)


def _observances(zone: Zone, first: int, last: int) -> Iterator[str]:
    rules = {}
    regular = zone.regular_since()
    if zone.rule:
        there, back = _rrule(zone.rule.start), _rrule(zone.rule.end)
        if there and back:
            rules = {zone.rule.daylight: there, zone.rule.standard: back}
        else:
            regular = last + 1
    if first <= regular or not rules:  # a rule tells nothing of the time before its first change
        start = zone.at_start_of(first)
        yield from _observance("STANDARD", Change(EPOCH, start, start))
    for year in range(first, min(regular, last + 1)):
        for change in zone.in_year(year):
            yield from _observance(_kind(change), change)
    if rules and regular <= last:
        for change in zone.by_rule(regular):
            yield from _observance(_kind(change), change, rules[change.after])


def _observance(kind: str, change: Change, rrule: str = "") -> Iterator[str]:
    yield f"BEGIN:{kind}"
    yield f"DTSTART:{change.local:%Y%m%dT%H%M%S}"
    yield f"TZOFFSETFROM:{change.before}"
    yield f"TZOFFSETTO:{change.after}"
    yield f"TZNAME:{change.after.name}"
    if rrule:
        yield f"RRULE:{rrule}"
    yield f"END:{kind}"


def _kind(change: Change) -> str:
    # Ireland and Morocco call their winter time the daylight one; programs
    # expect DAYLIGHT to be the clock that is ahead.
    before, after = change.before, change.after
    if before.is_dst != after.is_dst and before.seconds != after.seconds:
        return "DAYLIGHT" if after.seconds > before.seconds else "STANDARD"
    return "DAYLIGHT" if after.is_dst else "STANDARD"


def _rrule(date_: YearlyDate) -> str | None:
    """Return the RRULE that falls on the same days, or None where no portable one does.

    "24:00 on the first Saturday" is the Sunday among the 2nd to the 8th. Where
    those seven days may leave the month, BYMONTH does not hold them.
    """
    shift = date_.seconds // 86_400
    weekday = _WEEKDAYS[(date_.weekday + shift) % 7]
    yearly = f"FREQ=YEARLY;BYMONTH={date_.month}"
    if shift == 0:
        return f"{yearly};BYDAY={-1 if date_.week == 5 else date_.week}{weekday}"
    length = _SHORT_MONTHS.get(date_.month, 31)
    start = (length - 6 if date_.week == 5 else 7 * date_.week - 6) + shift
    if start < 1 or start + 6 > length or (date_.month == 2 and date_.week == 5):
        return None
    days = ",".join(str(day) for day in range(start, start + 7))
    return f"{yearly};BYMONTHDAY={days};BYDAY={weekday}"
