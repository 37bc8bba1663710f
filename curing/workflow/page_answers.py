"""What people answer on pages becomes entries: a visit ticked, a coat closed, an answer taken back."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from curing.errors import RecordError, UsageError
from curing.model.people import Role
from curing.model.plan import Booking, Kind
from curing.model.quantities import clip
from curing.model.record import RecordEntry, RecordKind
from curing.model.record_data import Attendance, Correction, Cover, Inspection, Work
from curing.planning.weather_booked import cover_of
from curing.planning.worktime import local, zone_of
from curing.workflow.open_job import OpenJob
from curing.workflow.sight import Sight

VISIT = re.compile(
    r"(?P<face>[A-Za-z0-9-]{1,12})\.(?P<coat>[A-Za-z0-9-]{1,40})\.(?P<day>\d{4}-\d\d-\d\d)\.(?P<slot>early|midday|late)"
)
"""Form of a visit's id."""
ANSWERS = {
    "misted": RecordKind.MISTED,
    "damp": RecordKind.DAMP,
    "rain": RecordKind.RAIN_ON_IT,
    "could-not": RecordKind.COULD_NOT,
}
"""Answer about a visit → kind of the entry it makes."""
MOST_AT_ONCE = 60
"""Visits of one round that are ticked together."""


class AlreadySaid(RecordError):
    """Somebody answered the same visit before; ``entry`` is that answer."""

    def __init__(self, text: str, entry: RecordEntry) -> None:
        super().__init__(text)
        self.entry = entry


@dataclass(frozen=True)
class Who:
    """Who answers, when it was, when it came in, and the key the page drew."""

    root: str
    at: datetime
    now: datetime
    key: str


def visit_entry(sight: Sight, who: Who, visit: str, what: str, why: str = "") -> RecordEntry:
    """Return the entry that answers a visit.

    Parameters
    ----------
    visit
        Id of the visit, as a page or an event names it.
    what
        One of :data:`ANSWERS`.

    Raises
    ------
    UsageError
        The visit is none of this job, or nothing is answered by that word.
    """
    if what not in ANSWERS:
        raise UsageError(f'"{clip(what)}": nothing is answered by that; choose one of {", ".join(ANSWERS)}')
    named = VISIT.fullmatch(visit)
    if named is None:
        raise UsageError(f'visit "{clip(visit)}": is no visit of a page of ours; open the page anew')
    face = _face_root(sight, named["face"])
    data = Attendance(coat=named["coat"], day=_day(named["day"]), slot=named["slot"], why=why)
    return RecordEntry(who.key, who.at, who.now, who.root, ANSWERS[what], face, data.written())


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise UsageError(f'visit of "{clip(text)}": is no day; open the page anew') from None


def _face_root(sight: Sight, face: str) -> str:
    """Return the root of a face by what it is called today, or was called when the page was drawn."""
    roots = sight.roots
    wall, _, side = face.rpartition("-")
    if side in ("out", "in"):
        if wall in roots.walls:
            return roots.face_root(face)
        if wall in roots.walls_now:
            return face
    raise UsageError(f'"{clip(face)}": no face of this job; this page is of another job, or of long ago: open it anew')


def answer_visit(job: OpenJob, who: Who, visit: str, what: str, why: str = "", *, extra: bool = False) -> RecordEntry:
    """Keep the answer about a visit; the same key again counts once.

    Raises
    ------
    AlreadySaid
        Somebody had it done already; with ``extra`` both are kept.
    RecordError, UsageError, StateError
        It may not be kept; says why.
    """
    entry = visit_entry(job.last_sight, who, visit, what, why)  # a tick waits for no sight: its wall judges it
    with job.writing():
        if job.knows(who.key) is None and not extra:
            _refuse_second(job, visit, who)
        job.enter(entry, who.now)
        return job.knows(who.key) or entry  # as it was the first time


def _refuse_second(job: OpenJob, visit: str, who: Who) -> None:
    tick = job.said_of(visit, who.now)
    if tick is None or tick.kind is not RecordKind.MISTED:
        return  # "still damp" and "could not" are answered again when it was done after all
    before = job.knows(tick.cause.key)
    if before is not None:
        by = "you" if before.by == who.root else tick.cause.name or tick.cause.by
        raise AlreadySaid(f"{tick.cause.clock} by {by}", before)


def answer_round(job: OpenJob, who: Who, visits: Sequence[str]) -> list[RecordEntry]:
    """Tick several visits of a round as done; those that have an answer already keep it.

    Returns
    -------
    entries
        What was kept now; nothing where all had an answer.
    """
    if len(visits) > MOST_AT_ONCE:
        raise UsageError(f"{len(visits)} visits at once; tick at most {MOST_AT_ONCE}")
    sight = job.last_sight
    with job.writing():
        made = []
        for number, visit in enumerate(dict.fromkeys(visits), start=1):
            key = f"{who.key}/{number}"
            entry = visit_entry(sight, Who(who.root, who.at, who.now, key), visit, "misted")
            if job.knows(key) is not None or job.said_of(visit, who.now) is None:
                made.append(entry)
        job.tell(made, who.now)
    return made


def work_entry(sight: Sight, who: Who, coat: str, what: str, why: str = "") -> RecordEntry:
    """Return the entry that says of a coat (``3-out.base``) that it was begun, closed, or could not be laid.

    Raises
    ------
    UsageError
        No such coat, or nothing is said by that word.
    """
    face, _, task = coat.partition(".")
    root = _face_root(sight, face)
    if what == "could-not":
        booked = next((one for one in _bookings(sight) if one.id == coat and one.kind is Kind.COAT), None)
        zone = zone_of(booked.zone if booked is not None else sight.job.file.sites[0].time_zone)
        today = local(zone, who.at)[0]
        day = local(zone, booked.start)[0] if booked is not None else today
        data = Attendance(coat=task, day=min(day, today), why=why).written()
        return RecordEntry(who.key, who.at, who.now, who.root, RecordKind.COULD_NOT, root, data)
    if what not in ("started", "finished"):
        raise UsageError(f'"{clip(what)}": nothing is said of a coat by that; say started, finished or could-not')
    if not task:
        raise UsageError(f'"{clip(coat)}": is no coat; open the page anew')
    return RecordEntry(who.key, who.at, who.now, who.root, RecordKind(what), root, Work(task=clip(task, 40)).written())


def _bookings(sight: Sight) -> Sequence[Booking]:
    return sight.plan.bookings if sight.plan is not None else ()


def look_entry(sight: Sight, who: Who, face: str, *, sound: bool, found: str = "") -> RecordEntry:
    """Return the entry of a look over a face."""
    data = Inspection(sound=sound, found=found).written()
    return RecordEntry(who.key, who.at, who.now, who.root, RecordKind.INSPECTION, _face_root(sight, face), data)


def cover_entry(sight: Sight, who: Who, task: str, *, up: bool) -> RecordEntry:
    """Return the entry that something was hung before a face, or taken down: cloth, or what its task is about.

    Parameters
    ----------
    task
        Id of the booking (``3-out.finish.frost-2027-10-12-up``), or a face alone.
    """
    face, data = task.partition(".")[0], Cover.model_validate({"cover": cover_of(task) or "cloth"})
    kind = RecordKind.COVER_UP if up else RecordKind.COVER_DOWN
    return RecordEntry(who.key, who.at, who.now, who.root, kind, _face_root(sight, face), data.written())


def withdrawal(sight: Sight, who: Who, key: str, why: str = "") -> RecordEntry:
    """Return the entry that takes another back; both stay in the record."""
    target = next((one for one in sight.said.record if one.key == key), None)
    if target is None:
        raise UsageError("there is no such entry to take back; open the page anew")
    now = sight.roots.person_now(who.root)
    roles = next((one.roles for one in sight.job.file.people if one.id == now), ())
    right = next((role.value for role in (Role.LEAD, Role.ARCHITECT) if role in roles), "")
    data = Correction(corrects=key, why=why, right=right)
    return RecordEntry(who.key, who.at, who.now, who.root, RecordKind.CORRECTION, target.face, data.written())
