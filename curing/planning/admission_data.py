"""What may be said of coats, visits, readings, tests and holds: the rules behind :mod:`.admission`."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from typing import TYPE_CHECKING

from curing.model.job import Face, Meter, Role, Wall
from curing.model.quantities import clip
from curing.model.record import RecordEntry, RecordKind
from curing.model.record_data import (
    KIT,
    SET_IN_FRAME,
    Attendance,
    Batch,
    Handover,
    MeterCheck,
    Probe,
    Trial,
    Verdict,
    Weighing,
    Work,
    said,
)
from curing.model.system import Scope
from curing.planning.decision_rules import LONGEST_TURN
from curing.planning.hold_facts import HoldFacts, Point
from curing.planning.meters import meters_of

if TYPE_CHECKING:
    from curing.planning.admission import Desk

GUTTER = "roof-gutter"
OF_A_COAT = ("hollows", "dusting", "water-drop")
"""Tests that are made on a coat; suction may be tried on a bare panel."""


def about_data(desk: Desk, entry: RecordEntry) -> Iterator[str]:
    """Yield what is wrong with what an entry says, other than who says it and when."""
    data = said(entry)
    if isinstance(data, Work):
        yield from _work(desk, entry, data)
    elif isinstance(data, Attendance):
        yield from _attendance(desk, entry, data)
    elif isinstance(data, Probe):
        yield from _probe(desk, entry, data)
    elif isinstance(data, Weighing):
        yield from _weighing(desk, entry, data)
    elif isinstance(data, MeterCheck):
        yield from _meter(desk, data.meter, data.read, data.basis)
    elif isinstance(data, Trial):
        yield from _trial(desk, entry, data)
    elif isinstance(data, Verdict):
        yield from _verdict(desk, entry, data)
    elif isinstance(data, Handover):
        yield from _handover(desk, entry, data)
    elif entry.face is not None and entry.kind is not RecordKind.NOTE:
        yield from _has_coats(desk, entry)
        if isinstance(data, Batch) and data.task:
            yield from _coat_of_batch(desk, entry, data)


def _handover(desk: Desk, entry: RecordEntry, data: Handover) -> Iterator[str]:
    """Yield why somebody may not sign to mist for these days; who gives the rounds decides on them afterwards."""
    signer = desk.person(entry)
    known = {one.id: one for one in desk.job.file.people}
    with_whom = known.get(desk.roots.person_now(data.walked_with))
    today = desk.local(None, entry.at)[0]  # a log may be written down later
    if entry.face is not None:
        yield "a handover is of rounds, not of one face; sign without a face"
    if signer is not None and Role.MISTS not in signer.roles:
        yield f'by "{signer.id}": does not mist; let {desk.deciders()} add the role mists in the job file first'
    if not data.signed.strip():
        yield "signed: no name is typed; type your own name"
    if with_whom is None:
        yield f'walked with "{clip(data.walked_with)}": nobody of this job has that id; name who walked along'
    elif signer is not None and with_whom.id == signer.id:
        yield f'walked with "{with_whom.id}": nobody shows a round to himself; name who walked along'
    elif set(with_whom.roles) == {Role.CLIENT}:
        yield f'walked with "{with_whom.id}": is a client, who only reads; walk one round with the crew first'
    if data.walked > today:
        yield f"walked {data.walked}: lies ahead (it is {today}); walk one round together first, then sign"
    if data.last < data.first:
        yield f"to {data.last}: lies before {data.first}; write the earlier day first"
    elif data.last < today:
        yield f"to {data.last}: is over (it is {today}); a handover is signed beforehand"
    elif (data.last - data.first).days >= LONGEST_TURN:
        yield f"to {data.last}: more than {LONGEST_TURN} days; sign for fewer, and again after that"
    free = signer.away if signer is not None else ()
    away = [span for span in free if span[0] <= data.last and data.first <= span[1]]
    if away and signer is not None:
        yield f'by "{signer.id}": is away from {away[0][0]} to {away[0][1]} (job file); sign for other days'
    missing = [one for one in KIT if one not in data.kit]
    if missing:
        yield f"kit: not ticked: {', '.join(missing)}; fetch what is missing, and tick it when it is in hand"


def _has_coats(desk: Desk, entry: RecordEntry) -> Iterator[str]:
    place = desk.place(entry)
    if place is not None and place[2] is None:
        yield f'"{place[0]}": that side has no coats in this job; name a face of the job'


def _coat_of_batch(desk: Desk, entry: RecordEntry, data: Batch) -> Iterator[str]:
    face_id, _, face = desk.place(entry) or ("", None, None)
    coats = [coat.id for coat in desk.job.systems[face.system].coats] if face is not None else []
    if face is not None and data.task not in coats:
        yield f'{face_id}: no coat is called "{clip(data.task)}"; its coats are {", ".join(coats)}'


def _after_filling(desk: Desk, wall: Wall, entry: RecordEntry) -> Iterator[str]:
    day, _ = desk.local(wall, entry.at)
    if wall.panel is not None and wall.panel.filled is not None and day < wall.panel.filled:
        yield f'on {day}: wall "{wall.id}" was filled on {wall.panel.filled}; correct the time, or the fill date'


def _work(desk: Desk, entry: RecordEntry, data: Work) -> Iterator[str]:
    if data.task == SET_IN_FRAME:
        wall = next((one for one in desk.job.file.walls if desk.roots.walls.get(one.id) == data.wall), None)
        if wall is None or entry.face is not None:
            yield f'"{SET_IN_FRAME}": is of a wall; name the wall, such as "{desk.job.file.walls[0].id}"'
        else:
            yield from _after_filling(desk, wall, entry)
        return
    face_id, wall, face = desk.place(entry) or ("", None, None)
    if wall is None or face is None:
        yield f'"{clip(data.task)}": is of a face; name one that has coats'
        return
    coats = [coat.id for coat in desk.job.systems[face.system].coats]
    if data.task not in coats:
        yield f'{face_id}: no coat is called "{clip(data.task)}"; its coats are {", ".join(coats)}'
        return
    yield from _after_filling(desk, wall, entry)
    yield from _not_done(desk, face_id, face, data.task)
    place_in = coats.index(data.task)
    over = next((one for one in coats[place_in + 1 :] if desk.closed(face_id, face, one)), None)
    if over is not None:
        yield f"{face_id}: {over} over it is done; {data.task} can't be laid under it"
    below = coats[place_in - 1] if place_in else None
    closed = desk.closed(face_id, face, below) if below else None
    if below and closed is None and over is None:
        yield f"{face_id}: {below} under it is not recorded as finished; enter that first, with its true time"
    elif closed is not None and entry.at <= closed:
        day, clock = desk.local(wall, closed)
        yield f"{face_id}: {below} under it was closed {day} {clock}; {data.task} comes after it: correct the time"


def _not_done(desk: Desk, face_id: str, face: Face, coat: str) -> Iterator[str]:
    fact = desk.evidence.done.get(f"{face_id}.{coat}")
    if fact is not None:
        number = next((one.seq for one in desk.entries if one.key == fact.cause.key), 0)
        day = fact.cause.day
        yield (
            f"{face_id}: {coat} was finished {day} {fact.cause.clock}, entry {number} by {fact.cause.by}; a coat is "
            f"finished once: correct that entry if it is wrong"
        )
    elif coat in face.done:
        yield f"{face_id}: the job file has {coat} done on {face.done[coat].date()}; a coat is finished once"


def _attendance(desk: Desk, entry: RecordEntry, data: Attendance) -> Iterator[str]:
    place = desk.place(entry)
    if place is None:
        yield "no face; name the face, or the round (early, midday, late)"
        return
    face_id, wall, face = place
    if entry.kind is RecordKind.COULD_NOT and not data.why.strip():
        yield f'{face_id}: could not, but why is not said; add why="scaffold locked", or what it was'
    if entry.kind is RecordKind.RAIN_ON_IT and data.slot is None:
        return
    if face is None:
        yield f'"{face_id}": that side has no coats in this job; name a face of the job'
    elif data.slot is None:
        yield from _could_not_lay(desk, entry, data, face_id, face)
    else:
        yield from _visit(desk, entry, data, face_id, wall, face)


def _could_not_lay(desk: Desk, entry: RecordEntry, data: Attendance, face_id: str, face: Face) -> Iterator[str]:
    coats = [coat.id for coat in desk.job.systems[face.system].coats]
    if entry.kind is not RecordKind.COULD_NOT:
        yield f"{face_id}: no round is named; say early, midday or late"
    elif data.coat not in coats:
        yield f'{face_id}: no coat is called "{clip(data.coat)}"; its coats are {", ".join(coats)}'
    else:
        yield from _not_done(desk, face_id, face, data.coat)
        wall = next(one for one in desk.job.file.walls if face in one.faces)
        booked, today = desk.booked.get(f"{face_id}.{data.coat}"), desk.local(wall, desk.now)[0]
        # A day that is over may be answered after the plan has moved the coat on; another must be its own.
        if booked is not None and data.day is not None and data.day != booked and data.day >= today:
            yield (
                f"{face_id}: {data.coat} is booked for {booked}, not {data.day}; if it can't be laid then, add "
                f"day={booked}; to move it: curing move"
            )


def _visit(desk: Desk, entry: RecordEntry, data: Attendance, face_id: str, wall: Wall, face: Face) -> Iterator[str]:
    coats = [coat.id for coat in desk.job.systems[face.system].coats]
    day = data.day or desk.local(wall, entry.at)[0]
    said_on, clock = desk.local(wall, entry.at)
    if data.coat not in coats:
        yield f'{face_id}: no coat is called "{clip(data.coat)}"; its coats are {", ".join(coats)}'
        return
    closed = desk.closed(face_id, face, data.coat)
    if closed is None:
        yield f"{face_id}: {data.coat} is not recorded as finished, so there is nothing to mist; enter that first"
        return
    laid, laid_clock = desk.local(wall, closed)
    if entry.at < closed:
        yield (
            f"{face_id}: {said_on} {clock} is before its {data.coat} was closed ({laid} {laid_clock}); correct the "
            "time, or name the coat below"
        )
    elif day <= laid:
        yield f"{face_id}: {data.coat} was laid on {laid}; its visits begin the day after, so none is due on {day}"
    elif not timedelta(0) <= said_on - day <= timedelta(days=1):
        yield f"{face_id}: the visit of {day} can't have been on {said_on} {clock}; give the day it was"
    else:
        after = coats[coats.index(data.coat) + 1 :]
        laid_over = {one: at for one in after if (at := desk.closed(face_id, face, one))}
        over = next((one for one, at in laid_over.items() if desk.local(wall, at)[0] < day), None)
        if over is not None:
            yield f"{face_id}: {over} was laid over its {data.coat} by then; say what was done to the {over}"


def _meter(desk: Desk, name: str, value: float, basis: str) -> Iterator[str]:
    meters: dict[str, Meter] = {one.id: one for one in desk.job.file.meters}
    if name not in meters:
        known = f"it has {', '.join(meters)}" if meters else "it has none"
        yield (
            f'meter "{clip(name)}": not in the job file; {known}; add under meters: '
            f"{{ id: {clip(name, 24)}, name: its name, least: 6 %, most: 40 %, basis: wet }}"
        )
        return
    meter = meters[name]
    if meter.basis is not None and meter.basis != basis:
        yield (
            f'meter "{name}" shows {meter.basis} basis (job file, meters), not {basis}; leave basis= out, or '
            "take the basis out of the job file if this meter has a switch"
        )
    if not meter.least <= value <= meter.most:
        yield (
            f'{value:g} %: outside what meter "{name}" reads, {meter.least:g} to {meter.most:g} % (job file, meters); '
            "read again, or with another meter"
        )


def _probe(desk: Desk, entry: RecordEntry, data: Probe) -> Iterator[str]:
    place = desk.place(entry)
    if place is None:
        yield 'no side; name it, such as "5-out", since both sides are read'
        return
    face_id, wall, face = place
    yield from _meter(desk, data.meter, data.value, data.basis)
    yield from _after_filling(desk, wall, entry)
    thickness = wall.panel.thickness if wall.panel is not None else None
    if thickness is not None and data.depth > thickness:
        yield f"{face_id}: {data.depth:g} mm deep, but the panel is {thickness:g} mm thick; correct the depth"
    top = desk.top_coat(face_id, face, entry.at) if face is not None else ""
    if top:
        yield f"{face_id}: its {top} is laid, and no probe goes through a coat; read from the other, bare side, deeper"


def _weighing(desk: Desk, entry: RecordEntry, data: Weighing) -> Iterator[str]:
    wall = next((one for one in desk.job.file.walls if desk.roots.walls.get(one.id) == data.wall), None)
    if wall is None:
        yield f'"{clip(data.wall)}": no wall of this job; name the wall whose panel or block was weighed'
    else:
        yield from _after_filling(desk, wall, entry)


def _trial(desk: Desk, entry: RecordEntry, data: Trial) -> Iterator[str]:
    place = desk.place(entry)
    if place is None or place[2] is None:
        yield f"{data.test}: is of a face; name one that has coats"
    elif data.test in OF_A_COAT and not desk.top_coat(place[0], place[2], entry.at):
        yield f"{place[0]}: {data.test} is tried on a coat, and none was laid by then"


def _verdict(desk: Desk, entry: RecordEntry, data: Verdict) -> Iterator[str]:
    facts = HoldFacts(desk.job, desk.roots, desk.evidence.done, lambda one: None)  # type: ignore[arg-type,return-value]
    point = next((one for one in facts.points() if _is(desk, one, entry, data)), None)
    if point is None:
        ids = list(dict.fromkeys(one.point.id for one in facts.points()))
        where = "its holds are" if data.hold not in ids else "it is recorded once a wall, face or job; the holds are"
        some = ", ".join(one.id for one in facts.points() if data.hold in (one.point.id, "")) or ", ".join(ids)
        yield f'hold "{clip(data.hold)}": not there; {where} {some}'
        return
    if entry.kind is RecordKind.HOLD_REFUSED:
        return
    person = desk.person(entry)
    if person is not None and not desk.decides(person.id):
        yield (
            f'{point.id}: "{person.id}" is neither lead nor architect, and only these open a hold; '
            f"let {desk.deciders()} say it"
        )
    if point.point.id == GUTTER and point.wall is not None:
        bare = next((face for face in point.wall.faces if not face.gutter), None)
        if bare is not None:
            yield (
                f'{point.id}: wall "{point.wall.id}", {bare.side.value}, says "gutter: false"; take that line out of '
                "the job file when the gutter is on"
            )
    if point.point.judges and point.face is not None:
        closed = desk.closed(point.face_id, point.face, point.point.judges)
        if closed is None or closed > entry.at:
            yield f"{point.id}: judges the {point.point.judges}, which is not recorded as finished by then"
            return
    yield from _what_is_missing(desk, facts, point, entry)


def _what_is_missing(desk: Desk, facts: HoldFacts, point: Point, entry: RecordEntry) -> Iterator[str]:
    """Yield what a reading or a test still lacks before anybody may open the hold."""
    task = point.point.task
    if task is None:
        return
    listed = facts.listed(point, desk.entries)
    if task.kind == "reading":
        found = facts.judgement(point, listed, entry.at, meters_of(desk.standing.entries))
        limit = point.book.value("panel.wettest")
        for read in found.wet[:3]:
            yield (
                f"{point.id}: {read.side} {read.probe.band}, {read.probe.depth:g} mm deep, reads "
                f"{read.probe.wet:.1f} % wet basis, more than "
                f"{limit:g} % (rule panel.wettest); let it dry and read there again"
            )
        if found.oldest is None and not found.missing:
            yield f"{point.id}: no side of it is bare, so there is nothing to read and no coat waits for it"
        if found.missing:
            sides: dict[str, list[str]] = {}
            for side, band in found.missing:
                sides.setdefault(side, []).append("mid-depth" if band == "mid" else band)
            where = "; ".join(f"{side}: {', '.join(bands)}" for side, bands in sides.items())
            yield (
                f"{point.id}: no reading of the last {facts.lapse(point)} days, with a meter found true, at {where}; "
                "three heights a side 100 mm deep, and mid-depth once (curing log JOB reading)"
            )
    else:
        missing = facts.missing_tests(point, listed, entry.at)
        if missing:
            names = ", ".join(missing)
            yield f"{point.id}: not recorded as passed: {names}; try them and log them (curing log JOB test)"


def _is(desk: Desk, point: Point, entry: RecordEntry, data: Verdict) -> bool:
    if point.point.id != data.hold:
        return False
    scope = point.point.scope
    if scope is Scope.JOB:
        return not data.wall and entry.face is None
    if scope is Scope.WALL:
        return point.wall is not None and desk.roots.walls[point.wall.id] == data.wall and entry.face is None
    return entry.face is not None and desk.roots.face_now(entry.face) == point.face_id
