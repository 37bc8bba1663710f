"""What phones were told of each event, so that they take a change and see nothing else as one.

Some calendars skip an event whose LAST-MODIFIED is not newer, others one whose SEQUENCE is
not greater: both only rise. A first SEQUENCE is the minutes since 2020, so that a job whose
saved state was lost still outbids what it told before.

References
----------
.. [1] RFC 5545, section 3.8.7.4 (SEQUENCE) and 3.8.7.3 (LAST-MODIFIED).
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

from curing.model.plan import EventMark, Gone, Plan
from curing.publish.event_text import Event, EventTexts
from curing.publish.words import Words

EPOCH = datetime(2020, 1, 1, tzinfo=UTC)
"""SEQUENCE counts minutes from here; its 32 bits last for 4,000 years."""

KEPT = timedelta(days=60)
"""A UID that left the plan is remembered for so long: as far ahead as a feed looks."""

SECOND = timedelta(seconds=1)


def mark(plan: Plan, parent: Plan | None, words: Words) -> Plan:
    """Return the plan with ``events`` and ``gone``: what phones are told, after what they were told.

    Parameters
    ----------
    plan
        The new plan; its own marks are not looked at.
    parent
        The plan that phones know, with its marks; None if there is none or it was lost.
    words
        Language and units of the readers: other words are another event.

    Notes
    -----
    An event as it was keeps its mark. One that changed, be it only that its alarm comes or
    goes, has SEQUENCE + 1 and LAST-MODIFIED = max(as_of, its last + 1 s). A UID that left is a
    tombstone for 60 days; if it comes back within them it goes on from there.
    """
    at = plan.as_of.astimezone(UTC).replace(microsecond=0)
    told = parent.events if parent else {}
    buried = parent.gone if parent else {}
    marks: dict[str, EventMark] = {}
    for event in EventTexts(plan, words).events():
        before, grave = told.get(event.uid), buried.get(event.uid)
        if before is not None:
            marks[event.uid] = _next(event, before, at)
        elif grave is not None:
            fresh = first_mark(event, at)
            marks[event.uid] = EventMark(
                fresh.digest, max(grave.sequence + 1, fresh.sequence), max(at, grave.at + SECOND)
            )
        else:
            marks[event.uid] = first_mark(event, at)
    gone = {uid: grave for uid, grave in buried.items() if uid not in marks and at - grave.at <= KEPT}
    for uid, last in told.items():
        if uid not in marks:
            gone[uid] = Gone(max(at, last.modified + SECOND), last.sequence)
    return replace(plan, events=dict(sorted(marks.items())), gone=dict(sorted(gone.items())))


def first_mark(event: Event, at: datetime) -> EventMark:
    """Return the mark of an event that no phone knows yet.

    Examples
    --------
    >>> from curing.publish.event_text import Event
    >>> noon = datetime(2020, 1, 2, 12, 0, tzinfo=UTC)
    >>> first_mark(Event("u", "Etc/UTC", noon, noon, "LOOK", "", "", True, True), noon).sequence
    2160
    """
    at = at.astimezone(UTC).replace(microsecond=0)
    return EventMark(event.digest, max(0, (at - EPOCH) // timedelta(minutes=1)), at)


def _next(event: Event, before: EventMark, at: datetime) -> EventMark:
    digest = event.digest
    if digest == before.digest:
        return before
    return EventMark(digest, before.sequence + 1, max(at, before.modified + SECOND))
