"""What reminders of a job are made from, what comes, and how the sender stands."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import datetime, timedelta

from curing.model.people import Person, Role
from curing.model.plan import Change
from curing.model.reminders import Outbox
from curing.planning.effective import effective
from curing.planning.reminding import Scene, falls_due
from curing.publish.event_title import plain
from curing.publish.reminder_about import About, Present
from curing.publish.reminder_rows import Coming, Sending
from curing.publish.reminder_short import short
from curing.publish.words import Words
from curing.workflow.sight import Sight

MOVED_DAYS = timedelta(days=5)
"""Changes of so long are looked through for what somebody was told otherwise."""
LATE = timedelta(minutes=5)
"""A row that is due so long and not out is late; a sender that did not look for so long has stopped."""
_WORKS = {Role.MISTS, Role.LEAD, Role.ARCHITECT}

Moved = Sequence[tuple[int, datetime, Sequence[Change]]]
"""Revisions, the newest first: number, when it was saved, what it changed."""


def present_of(sight: Sight, now: datetime, words: Words | None = None) -> Present:
    """Return the job as it stands, for the texts of its reminders.

    Raises
    ------
    ValueError
        There is no plan yet.
    """
    if sight.plan is None:
        raise ValueError("a job without a plan has nothing to tell")
    file = sight.job.file
    return Present(
        sight.plan, sight.evidence, file.name, words or Words(file.units), now, sight.warnings, sight.questions
    )


def scene_of(
    sight: Sight,
    moved: Moved,
    *,
    evening: int = Scene.evening,
    morning: int = Scene.morning,
    weather_read: datetime | None = None,
) -> Scene | None:
    """Return what the reminders of a job are worked out from; None before the first plan.

    Parameters
    ----------
    moved
        Revisions of the last :data:`MOVED_DAYS`.
    evening, morning
        Local minutes of the summary, and from which day-long matters are told.
    weather_read
        When the weather was read last; None: no weather is used.
    """
    if sight.plan is None:
        return None
    return Scene(
        job=sight.job,
        roots=sight.roots,
        plan=sight.plan,
        evidence=sight.evidence,
        entries=effective(sight.said.record).entries,
        moved=moved,
        warnings=sight.warnings,
        questions=sight.questions,
        weather_read=weather_read,
        evening=evening,
        morning=morning,
    )


def sending(outbox: Outbox, people: Sequence[Person], now: datetime) -> Sending:
    """Tell how sending stands; the worst first.

    Examples
    --------
    >>> from datetime import UTC
    >>> mia, now = Person(id="mia", name="Mia", tell={"email": "mia@example.org"}), datetime(2027, 5, 25, 6, tzinfo=UTC)
    >>> sending(Outbox(), [mia], now).value, sending(Outbox(looked=now - timedelta(hours=1)), [mia], now).value
    ('off', 'stopped')
    """
    if outbox.looked is None or not any(one.tell for one in people):
        return Sending.OFF
    if now - outbox.looked > LATE:
        return Sending.STOPPED
    if outbox.dead:
        return Sending.DEAD
    if outbox.oldest is not None and now - outbox.oldest > LATE:
        return Sending.LATE
    return Sending.WELL


def told_people(people: Sequence[Person]) -> list[Person]:
    """Return who may be told anything: everybody but who only reads."""
    return [one for one in people if Role.CLIENT not in one.roles or _WORKS & set(one.roles)]


def coming(
    sight: Sight,
    scene: Scene | None,
    now: datetime,
    to: datetime,
    words: Words,
    channels: Collection[str] | None = None,
) -> list[Coming]:
    """Return what would go out until an instant if nothing changes, in order.

    Parameters
    ----------
    channels
        Those that are set up; None: that is not known, so all of them count.
    """
    if scene is None:
        return []
    about = About(present_of(sight, now, words))
    people = {sight.roots.people.get(one.id, one.id): one for one in sight.job.file.people}
    found = []
    for one in falls_due(scene, now, to):
        person = people.get(one.person)
        if person is not None:
            channel = next(iter(ways(person, channels)), "")
            found.append(Coming(one, plain(person.name), channel, short(about, [one])))
    return found


def ways(person: Person, channels: Collection[str] | None = None) -> tuple[str, ...]:
    """Return the channels of a person that are set up, the first choice first."""
    return tuple(name for name in person.tell if channels is None or name in channels)
