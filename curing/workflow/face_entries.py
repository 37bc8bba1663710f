"""Which entries and decisions are about a face."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from curing.model.job import Face
from curing.model.record import RecordEntry, RecordKind
from curing.model.record_data import Attendance, Correction, MeterCheck, Probe, Verdict, said
from curing.publish.record_parts import JobRecord
from curing.workflow.record_view import Seen, in_order

OF_THE_WALL = (RecordKind.READING, RecordKind.RAIN_ON_IT)
"""What is said of one side and concerns the other: the panel between them is one."""


def entries_of(seen: Seen, face_id: str) -> tuple[RecordEntry, ...]:
    """Return every entry about a face, in time order.

    Its own; those of its wall, and of the other side where they concern the panel; holds of the whole
    job; checks of the meters it was read with; and corrections of any of these.
    """
    root = seen.roots.face_root(face_id)
    wall = root.rpartition("-")[0]
    points = {point for one, _, face in seen.job.faces() if one == face_id for point in _points(seen, face)}
    meters = {
        data.meter
        for one in seen.said.record
        if one.face is not None and one.face.rpartition("-")[0] == wall and isinstance(data := said(one), Probe)
    }
    keys: set[str] = set()
    for entry in in_order(seen.said.record):
        data = said(entry)
        if isinstance(data, Correction):
            new = data.instead
            concerns = new is not None and new.face == root
        elif entry.face is not None:
            other = entry.face.rpartition("-")[0] == wall and entry.kind in OF_THE_WALL
            concerns = entry.face == root or (other and not (isinstance(data, Attendance) and data.slot))
        elif isinstance(data, Verdict) and not data.wall:
            concerns = data.hold in points
        elif isinstance(data, MeterCheck):
            concerns = data.meter in meters
        else:
            concerns = entry.data.get("wall") == wall
        if concerns:
            keys.add(entry.key)
    names = {one.key: data.corrects for one in seen.said.record if isinstance(data := said(one), Correction)}
    grown = True
    while grown:
        more = {one for one, of in names.items() if of in keys} | {of for one, of in names.items() if one in keys}
        grown = not more <= keys
        keys |= more
    return tuple(one for one in in_order(seen.said.record) if one.key in keys)


def of_face(seen: Seen, record: JobRecord, face_id: str) -> JobRecord:
    """Return the part of a job's record that is about a face (id today), with the decisions about its coats."""
    root = seen.roots.face_root(face_id)
    decisions = tuple(one for one in record.decisions if one.data.get("face") == root)
    return replace(record, entries=entries_of(seen, face_id), decisions=decisions)


def _points(seen: Seen, face: Face) -> Iterator[str]:
    for coat in seen.job.systems[face.system].coats:
        yield from coat.holds
