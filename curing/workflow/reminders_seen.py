"""The reminders of the last days with what became of each: taken, answered, given up and what was done instead."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from datetime import datetime, timedelta
from pathlib import Path

from curing.model.evidence import Cause
from curing.model.people import Person
from curing.model.plan import Booking
from curing.model.plan import Kind as Booked
from curing.model.record import RecordEntry, RecordKind
from curing.model.reminders import Kind, Occasion, Outbox, Row
from curing.planning.expand import identify
from curing.planning.reminding_scene import ANSWERS, Scene
from curing.planning.roots import roots_of
from curing.planning.worktime import local, zone_of
from curing.publish import plan_json
from curing.publish.event_title import plain
from curing.publish.reminder_about import About
from curing.publish.reminder_rows import Answered, Reach, RemindersSeen, Told, masked
from curing.publish.reminder_short import short
from curing.publish.words import Words
from curing.store import Heads, Store, default_folder, open_state
from curing.workflow.called import called_of
from curing.workflow.open_job import OpenJob
from curing.workflow.opening import DATABASE_VARIABLE, facts, latest_plan, read, read_said
from curing.workflow.reminders import (
    MOVED_DAYS,
    Moved,
    coming,
    present_of,
    scene_of,
    sending,
    told_people,
)
from curing.workflow.reminders import ways as ways_of
from curing.workflow.sight import Sight

LATELY = timedelta(hours=24)

_ENTERED: Mapping[Booked, tuple[RecordKind, ...]] = {
    Booked.LOOK: (RecordKind.INSPECTION,),
    Booked.READING: (RecordKind.READING,),
    Booked.TEST: (RecordKind.TEST,),
    Booked.COVER: (RecordKind.COVER_UP, RecordKind.COVER_DOWN),
}
"""Kind of a booking → the entries that answer it."""


def seen_of(
    sight: Sight,
    scene: Scene | None,
    rows: Sequence[Row],
    outbox: Outbox,
    words: Words,
    now: datetime,
    *,
    ahead: timedelta = timedelta(0),
    channels: Collection[str] | None = None,
) -> RemindersSeen:
    """Return the reminders of a job that is open already.

    Parameters
    ----------
    rows
        Those to show.
    ahead
        What comes is told for so long.
    channels
        Those that are set up; None: that is not known.
    """
    told = {one.id for one in told_people(sight.job.file.people)}
    reach = [
        Reach(one.id, sight.roots.people.get(one.id, one.id), plain(one.name), _addresses(one, channels), number)
        for number, one in enumerate(sight.job.file.people, 1)
        if one.id in told
    ]
    return RemindersSeen(
        job=plain(sight.job.file.name),
        words=words,
        zone=sight.job.file.sites[0].time_zone,
        now=now,
        outbox=outbox,
        sending=sending(outbox, sight.job.file.people, now),
        told=tuple(_told(sight, rows, words, now)),
        coming=tuple(coming(sight, scene, now, now + ahead, words, channels)) if ahead else (),
        reach=tuple(reach),
    )


def _addresses(person: Person, channels: Collection[str] | None) -> tuple[tuple[str, str], ...]:
    return tuple((name, masked(person.tell[name])) for name in ways_of(person, channels))


def seen_of_job(
    job: OpenJob,
    sight: Sight,
    words: Words,
    now: datetime,
    ahead: timedelta,
    channels: Collection[str] | None = None,
    evening: int = Scene.evening,
    morning: int = Scene.morning,
) -> RemindersSeen:
    """Return the reminders of the last 24 h, and those to come, of a job that is open."""
    scene = scene_of(sight, job.changes_since(now - MOVED_DAYS), evening=evening, morning=morning)
    rows = job.store.rows_since(now - LATELY)
    return seen_of(sight, scene, rows, job.store.outbox_figures(now), words, now, ahead=ahead, channels=channels)


def see_reminders(
    job_file: Path,
    *,
    state: Path | None = None,
    as_of: str | None = None,
    ahead: timedelta = timedelta(0),
    channels: Collection[str] | None = None,
    evening: int = Scene.evening,
    morning: int = Scene.morning,
) -> RemindersSeen:
    """Read a job and its reminders of the last 24 h; nothing is changed.

    Raises
    ------
    FileError, StateError, UsageError
        The job file has faults, nothing is saved, or an entry can't be read.
    """
    job, now = read(job_file, as_of)
    url = os.environ.get(DATABASE_VARIABLE) or None
    folder = state or default_folder(job_file)
    with open_state(folder, job.file.uid, create=False, read_only=True, database_url=url) as store:
        plan, said, heads = latest_plan(store), read_said(store), store.heads()
        moved = _moved(store, heads.revision, now - MOVED_DAYS)
        rows = store.rows_since(now - LATELY)
        outbox = store.outbox_figures(now)
    _, evidence = facts(job, plan, said, digested=False)
    roots = roots_of(job, identify(job, plan))
    sight = Sight(
        job, roots, plan, evidence, said, called_of(job, roots, said.record), Heads(*heads),
        warnings=plan.warnings if plan is not None else (), questions=plan.questions if plan is not None else (),
    )  # fmt: skip
    scene = scene_of(sight, moved, evening=evening, morning=morning)
    words = Words(job.file.units)
    return seen_of(sight, scene, rows, outbox, words, now, ahead=ahead, channels=channels)


def _moved(store: Store, newest: int, since: datetime) -> Moved:
    found = []
    for number in range(newest, 1, -1):
        at, changes = plan_json.load_changes(store.revision(number).plan, f"revision {number}")
        if at < since:
            break
        found.append((number, at, changes))
    return found


def _told(sight: Sight, rows: Sequence[Row], words: Words, now: datetime) -> list[Told]:
    about = About(present_of(sight, now, words)) if sight.plan is not None else None
    people = {sight.roots.people.get(one.id, one.id): plain(one.name) for one in sight.job.file.people}
    answers = _Answers(sight, about) if about is not None else None
    by_key: dict[tuple[str, str], list[Row]] = {}
    for row in rows:
        by_key.setdefault((row.key, row.person), []).append(row)
    together = Counter(_sent_with(row) for row in rows)
    found = []
    for row in sorted(rows, key=lambda one: (one.due, one.id)):
        others = [one for one in by_key[row.key, row.person] if one.id > row.id and row.kind is not Kind.TRIAL]
        text = row.text
        if about is not None and (not text or together[_sent_with(row)] > 1):  # each thing of a message by itself
            text = short(about, [_occasion(row)])
        person = sight.roots.person_now(row.person)
        name = people.get(row.person, plain(person))
        answered = answers.of(row) if answers is not None else None
        found.append(Told(row, person, name, text, answered, others[-1] if others else None))
    return found


def _sent_with(row: Row) -> tuple[object, ...]:
    """Return what rows that went out as one message have in common."""
    return row.person, row.kind, row.channel, row.begun


def _occasion(row: Row) -> Occasion:
    return Occasion(
        row.key, row.kind, row.person, row.due, row.until, row.intent, row.about, row.faces, row.values, row.step
    )


class _Answers:
    """Looks up how the things that reminders are about were answered."""

    def __init__(self, sight: Sight, about: About) -> None:
        self._sight, self._about = sight, about
        self._entries: dict[str, list[RecordEntry]] = {}
        scene = scene_of(sight, ())
        for entry in scene.entries if scene is not None else ():
            face = sight.roots.face_now(entry.face) if entry.face is not None and entry.kind in ANSWERS else None
            if face is not None:
                self._entries.setdefault(face, []).append(entry)

    def of(self, row: Row) -> Answered | None:
        """Return how far the thing of a row was answered; None for one that nothing answers."""
        evidence = self._sight.evidence
        if row.kind in (Kind.ROUND, Kind.MISSED):
            ticks = [tick.cause for id_ in row.about if (tick := evidence.visits.get(id_)) is not None]
            return _of_causes(ticks, len(row.about))
        if row.kind in (Kind.TASK, Kind.UNSEEN, Kind.FROST, Kind.RAIN):
            booking = next((one for id_ in row.about if (one := self._about.booking(id_)) is not None), None)
            return self._of_booking(booking, row) if booking is not None else Answered(0, 1)
        if row.kind is Kind.HOLD:
            fact = evidence.holds.get(str(row.values.get("hold") or ""))
            return _of_causes([fact.cause] if fact is not None and fact.met is not None else [], 1)
        if row.kind is Kind.DECIDE and (coat := row.values.get("of_coat")):
            return self._of_decide(row, str(coat))
        return None

    def _of_decide(self, row: Row, coat: str) -> Answered:
        """Return the answer to a question about a coat; a decision answers only what was asked before it."""
        evidence = self._sight.evidence
        if str(row.values.get("notice")).startswith("inspect"):
            return self._looked(row)
        done, decided, failed = evidence.done.get(coat), evidence.decided.get(coat), evidence.could_not.get(coat)
        causes = [done.cause] if done is not None else []
        causes += [decided.cause] if decided is not None and decided.cause.at >= row.due else []
        if failed is not None and (failed.cause.at >= row.due or failed.day.isoformat() == row.values.get("of_day")):
            causes.append(failed.cause)
        return _of_causes(causes, 1)

    def _looked(self, row: Row) -> Answered:
        """Return the first look over a face since what went wrong there was asked about."""
        for face in row.faces:
            for entry in self._entries.get(self._sight.roots.face_now(face) or face, ()):
                if entry.kind is RecordKind.INSPECTION and entry.received >= row.due:
                    return Answered(1, 1, entry.at, self._sight.called.person(entry.by))
        return Answered(0, 1)

    def _of_booking(self, booking: Booking, row: Row) -> Answered:
        """Return the first entry on or after the day of a task that answers it."""
        kinds = _ENTERED.get(booking.kind, ())
        zone = zone_of(booking.zone)
        day = local(zone, booking.start)[0]
        for face in booking.faces:
            for entry in self._entries.get(face, ()):
                if entry.kind in kinds and local(zone, entry.at)[0] >= day:
                    return Answered(1, 1, entry.at, self._sight.called.person(entry.by))
        hold = self._sight.evidence.holds.get(booking.id)
        if hold is not None and hold.met is not None and hold.cause.at >= row.made:
            return _of_causes([hold.cause], 1)
        return Answered(0, 1)


def _of_causes(causes: Sequence[Cause], of: int) -> Answered:
    if not causes:
        return Answered(0, of)
    last = max(causes, key=lambda one: one.at)
    return Answered(min(len(causes), of), of, last.at, plain(last.name or last.by))
