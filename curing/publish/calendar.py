"""iCalendar feeds: one for the site, one for each person, right in every calendar program.

Each rule here answers a fault seen in a calendar program: no METHOD, no UID of the calendar
or of an alarm, local times with a VTIMEZONE of our own, no recurrence, stamps from the
plan's marks and never from the clock, so that nothing changes unless the work does.

References
----------
.. [1] RFC 5545 (iCalendar): 3.1 folding, 3.3.11 text, 3.6.1 VEVENT, 3.6.5 VTIMEZONE,
   3.6.6 VALARM, 3.8.7.4 SEQUENCE.
.. [2] RFC 7986: 5.1 NAME, 5.7 REFRESH-INTERVAL, which has no default type.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import icalendar

from curing.errors import PlanError
from curing.model.plan import Booking, EventMark, Kind, Notice, Plan, State
from curing.publish.event_text import LONGEST, Event, EventTexts, changed
from curing.publish.event_title import cut, plain
from curing.publish.revisions import first_mark
from curing.publish.time_zone import vtimezone
from curing.publish.words import Words

SITE = "site"
"""Name of the feed that holds everything."""

DAYS_BACK, DAYS_AHEAD = 7, 60
"""A feed holds events that end after so many days ago and begin before so many days ahead."""

MOST_EVENTS, MOST_BYTES = 1_000, 700_000
"""Some calendars refuse feeds of about 1,100 events or 1 MB."""

OCTETS = 75
"""Longest line of a file, without its end."""

WATCHERS = ("architect", "client")
"""Roles that see the site's coats; nothing of it rings for them."""

_PRODID = "-//curing//curing//EN"
_END = b"END:VCALENDAR\r\n"


Linked = Callable[[str, Booking], str]
"""Person's id (or ``site``) and booking → address of the page where it is ticked, or nothing."""

_HERE = "https://link.invalid/here"
"""Stands in an event made once, where each person's own address goes."""


def feeds(plan: Plan, words: Words, now: datetime, link: Linked | None = None) -> dict[str, bytes]:
    """Return every feed of a plan: ``site`` and one for each person's id.

    A person has their own bookings and rounds. The lead also has those that nobody is named
    for. An architect or client has the site's coats besides, without alarm.

    Parameters
    ----------
    plan
        A plan with its marks (:func:`curing.publish.revisions.mark`).
    words
        Language and units of the readers.
    now
        The present instant; events from 7 days before that day (UTC) to 60 days after it are
        told. Bytes change with it only when an event enters or leaves this window.
    link
        Where each event is ticked, by the link of whoever has the feed. Links are no part of what an
        event says: a new one changes neither SEQUENCE nor LAST-MODIFIED, since the feed itself moves with it.

    Raises
    ------
    PlanError
        A person is called ``site``.
    """
    if any(person.id == SITE for person in plan.people):
        raise PlanError(f'person "{SITE}": that is the name of the calendar of the whole site; give another id')
    today = now.astimezone(UTC).replace(hour=0, minute=0, second=0, microsecond=0)
    since, until = today - timedelta(DAYS_BACK), today + timedelta(DAYS_AHEAD + 1)
    shown = [
        booking
        for booking in plan.everything()
        if booking.state is not State.OFF and booking.start < until and booking.end >= since
    ]
    made = _Made(plan, words, link)
    found = {SITE: _feed(plan.name, SITE, [(one, True) for one in shown], made)}
    for person in plan.people:
        theirs = [(one, rings) for one in shown if (rings := _concerns(one, person.id, person.roles)) is not None]
        found[person.id] = _feed(words.say("title.named", title=plan.name, name=person.name), person.id, theirs, made)
    return found


def large_feeds(found: Mapping[str, bytes]) -> tuple[Notice, ...]:
    """Return a warning for each feed that some calendars will not take (over 1,000 events or 700 kB)."""
    notices = []
    for name, feed in found.items():
        events = feed.count(b"\r\nBEGIN:VEVENT\r\n")
        if events > MOST_EVENTS:
            notices.append(Notice("calendar.most_events", "feed_events", {"name": name, "events": events}))
        elif len(feed) > MOST_BYTES:
            kilobytes = -(-len(feed) // 1000)
            notices.append(Notice("calendar.most_bytes", "feed_size", {"name": name, "kilobytes": kilobytes}))
    return tuple(notices)


def _concerns(booking: Booking, person: str, roles: tuple[str, ...]) -> bool | None:
    """Return whether a booking is in a person's feed, and if so whether it may ring there."""
    if person in booking.who or ("lead" in roles and not booking.who and booking.state is not State.DONE):
        return True
    return False if booking.kind is Kind.COAT and not set(WATCHERS).isdisjoint(roles) else None


class _Made:
    """Events made once each, with and without alarm, for all feeds."""

    def __init__(self, plan: Plan, words: Words, link: Linked | None) -> None:
        self._plan, self._words, self._link = plan, words, link
        self.as_of = plan.as_of
        # Also in a feed without events: a calendar has at least one component.
        self.zones = {site.zone for site in plan.sites}
        self._texts = EventTexts(plan, words)
        self._events: dict[str, Event] = {}
        self._lines: dict[tuple[str, bool], list[tuple[str, bytes]]] = {}
        """UID and whether it rings → content lines, folded; unfolded as well where an address goes in."""

    def bytes(self, booking: Booking, rings: bool, feed: str) -> bytes:
        """Return the event of a booking for one feed."""
        if booking.uid not in self._events:
            self._events[booking.uid] = self._texts.event(booking)
        event = self._events[booking.uid]
        key = (booking.uid, rings and event.rings)
        if key not in self._lines:
            mark = self._plan.events.get(booking.uid) or first_mark(event, self._plan.as_of)
            said = _open_here(booking, self._words) if self._link is not None else ""
            lines = _content(event, mark, self._words, rings=key[1], said=said)
            self._lines[key] = [("", folded(line)) if _HERE not in line else (line, b"") for line in lines]
        address = self._link(feed, booking) if self._link is not None else ""
        return b"".join(done or folded(line.replace(_HERE, address)) for line, done in self._lines[key])


def _open_here(booking: Booking, words: Words) -> str:
    """Return the line of a description that says where it is ticked, or looked at."""
    ticked = booking.kind is Kind.ROUND and booking.state is not State.DONE
    return words.say("event.tick" if ticked else "event.page", link=_HERE)


def _feed(name: str, feed: str, shown: list[tuple[Booking, bool]], made: _Made) -> bytes:
    calendar = icalendar.Calendar()
    calendar.add("prodid", _PRODID)
    calendar.add("version", "2.0")
    title = icalendar.vText(cut(plain(name), LONGEST))
    calendar.add("name", title)
    calendar.add("x-wr-calname", title)
    calendar.add("refresh-interval", timedelta(hours=1), parameters={"VALUE": "DURATION"})
    calendar.add("x-published-ttl", "PT1H")
    head: bytes = calendar.to_ical(sorted=False)
    spans = {zone: [made.as_of] for zone in made.zones}
    for booking, _ in shown:
        spans.setdefault(booking.zone, []).extend((booking.start, booking.end))
    zones = (_zone(zone, spans[zone]) for zone in sorted(spans))
    events = (made.bytes(booking, rings, feed) for booking, rings in shown)
    return b"".join((head.removesuffix(_END), *zones, *events, _END))


def _zone(zone: str, instants: list[datetime]) -> bytes:
    first, last = (_local(zone, at).date() for at in (min(instants), max(instants)))
    return vtimezone(zone, first, last).encode("ascii")


def vevent(event: Event, mark: EventMark, words: Words, *, rings: bool) -> bytes:
    """Return one VEVENT, folded, its stamps from the mark; with one alarm at its start if it rings."""
    return b"".join(folded(line) for line in _content(event, mark, words, rings=rings))


def _content(event: Event, mark: EventMark, words: Words, *, rings: bool, said: str = "") -> list[str]:
    """Return the content lines of one VEVENT, not folded; ``said`` stands before the last line of its description."""
    body = "\n\n".join(one for one in (event.body, said, changed(words, mark.modified, event.zone)) if one)
    component = icalendar.Event()
    for name, text in _lines(event, mark, body):
        component.add(name, text, parameters={"TZID": event.zone} if name in ("dtstart", "dtend") else {})
    if said:
        component.add("url", icalendar.vText(_HERE))
    if rings:
        alarm = icalendar.Alarm()
        alarm.add("action", "DISPLAY")
        # As text: the library writes a duration of nothing as P0D.
        alarm.add("trigger", icalendar.vText("PT0S"))
        alarm.add("description", event.title)
        component.add_component(alarm)
    return [line for line in component.content_lines(sorted=False) if line]


def folded(line: str) -> bytes:
    r"""Return a content line in parts of at most 75 octets, with CRLF at the end (RFC 5545, section 3.1).

    No sign and no escape (``\,``) is cut in two. The library's own folding goes sign by sign,
    which took two thirds of the time of a feed.

    Examples
    --------
    >>> folded("SUMMARY:" + "x" * 70)[-8:]
    b'\r\n xxx\r\n'
    """
    raw = line.encode()
    parts, at, room = [], 0, OCTETS
    while len(raw) - at > room:
        end = at + room
        while raw[end] & 0xC0 == 0x80:
            end -= 1
        if (end - at - len(raw[at:end].rstrip(b"\\"))) % 2:
            end -= 1
        parts.append(raw[at:end])
        at, room = end, OCTETS - 1
    return b"\r\n ".join((*parts, raw[at:])) + b"\r\n"


def _lines(event: Event, mark: EventMark, body: str) -> Iterator[tuple[str, object]]:
    # Times as text: in the library's own form a zone such as Etc/UTC would lose its TZID.
    modified = icalendar.vText(f"{mark.modified.astimezone(UTC):%Y%m%dT%H%M%SZ}")
    yield "uid", event.uid
    yield "dtstamp", modified
    yield "dtstart", icalendar.vText(f"{_local(event.zone, event.start):%Y%m%dT%H%M%S}")
    yield "dtend", icalendar.vText(f"{_local(event.zone, event.end):%Y%m%dT%H%M%S}")
    yield "sequence", mark.sequence
    yield "last-modified", modified
    yield "summary", event.title
    yield "status", "CONFIRMED" if event.firm else "TENTATIVE"
    if event.place:
        yield "location", event.place
    yield "description", body


def _local(zone: str, at: datetime) -> datetime:
    return at.astimezone(ZoneInfo(zone))
