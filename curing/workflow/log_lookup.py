"""Looking up in the job and its plan what a line of the log names: walls, sides, faces, people, times."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from pydantic import BaseModel, ValidationError

from curing.errors import UsageError
from curing.model.job import Face, Job, Role, Wall
from curing.model.plan import Plan
from curing.model.quantities import clip
from curing.model.record import RecordKind
from curing.model.record_data import Correction, Text
from curing.planning.admission import Desk
from curing.planning.worktime import local, zone_of
from curing.sources.log_line import WHATS, Line
from curing.sources.spoken_time import instant_at

_TOLD = {
    "greater_than": "is not more than {gt:g}",
    "less_than_equal": "is more than {le:g}, the most allowed",
    "string_too_long": "has more than {max_length} characters",
    "string_too_short": "is empty",
    "string_unicode": "holds broken signs",
}
"""What pydantic finds → how it is told."""


@dataclass(frozen=True)
class Said:
    """An entry before it has a key: kind, local facts, and when."""

    kind: RecordKind
    at: datetime
    face: str | None
    """Root."""
    data: dict[str, Any]


@dataclass(frozen=True)
class Lookup:
    """Finds what lines of the log name, for one job, person and instant.

    Parameters
    ----------
    desk
        The job with its record so far.
    plan
        The newest plan; None before the first.
    by
        Id of who says it.
    at
        When it was, as written, or None: now.
    note
        A remark to keep with it.
    """

    desk: Desk
    plan: Plan | None
    by: str
    at: str | None = None
    note: str = ""

    @property
    def job(self) -> Job:
        """The job as its file says it."""
        return self.desk.job

    # -- when and where -------------------------------------------------------------------

    def zone(self, wall: Wall | None) -> ZoneInfo:
        """Return the time zone of a wall, or of the job's first site."""
        return zone_of(self.job.site_of(wall).time_zone if wall is not None else self.job.file.sites[0].time_zone)

    def when(self, wall: Wall | None) -> datetime:
        """Return the instant that was said, local to a wall."""
        if self.at is None:
            return self.desk.now
        zone = self.zone(wall)
        return instant_at(self.at, zone, local(zone, self.desk.now)[0])

    def wall(self, name: str, line: Line) -> Wall:
        """Return a wall by its id."""
        found = next((one for one in self.job.file.walls if one.id == name), None)
        if found is None:
            raise self.unknown("wall", name, [one.id for one in self.job.file.walls], line)
        return found

    def side(self, name: str, line: Line) -> tuple[str, Wall, Face | None]:
        """Return a side of a wall (``5-in``), which need not have coats; a wall with one face stands for it."""
        wall_id, dash, side = name.rpartition("-")
        for wall in self.job.file.walls:
            if dash and wall.id == wall_id and side in ("out", "in"):
                return name, wall, next((face for face in wall.faces if face.side.value == side), None)
            if wall.id == name and len(wall.faces) == 1:
                return f"{name}-{wall.faces[0].side.value}", wall, wall.faces[0]
        both = [wall for wall in self.job.file.walls if wall.id == name]
        if both:
            raise UsageError(f'{line.what}: wall "{clip(name)}" has two faces; say {name}-out or {name}-in')
        raise self.unknown("face", name, [face_id for face_id, _, _ in self.job.faces()], line)

    def face(self, name: str, line: Line) -> tuple[str, Wall, Face]:
        """Return a face that has coats."""
        face_id, wall, face = self.side(name, line)
        if face is None:
            raise UsageError(f'{line.what}: "{face_id}" has no coats in this job; name a face of the job')
        return face_id, wall, face

    def root(self, face_id: str) -> str:
        """Return the root of a side."""
        return self.desk.roots.face_root(face_id)

    def unknown(self, what: str, name: str, known: Sequence[str], line: Line) -> UsageError:
        """Return the error for a name that is not of the job."""
        some = ", ".join(known[:10]) + (f" and {len(known) - 10} more" if len(known) > 10 else "")
        form = WHATS[line.what].form
        return UsageError(f'{line.what}: no {what} of this job is called "{clip(name)}"; they are {some}; write {form}')

    def form(self, line: Line, lacks: str) -> UsageError:
        """Return the error for a line that lacks something, with the form it should have."""
        return UsageError(f"{line.what}: {lacks}; write {line.what} {WHATS[line.what].form}")

    def made(self, form: Callable[..., BaseModel], **values: Any) -> dict[str, Any]:
        """Return the written form of an entry's data, with the note."""
        if self.note and "note" not in values and form not in (Text, Correction):
            values["note"] = self.note
        try:
            written: dict[str, Any] = form(**values).written()  # type: ignore[attr-defined]
        except ValidationError as error:
            first = error.errors()[0]
            name = ".".join(str(part) for part in first["loc"])
            told = _TOLD.get(first["type"], first["msg"].lower()).format(**first.get("ctx", {}))
            raise UsageError(f'{name}: "{clip(str(first["input"]))}" {told}; correct it') from None
        return written

    def right(self) -> str:
        """Return what lets the person decide, or nothing."""
        roles = next((one.roles for one in self.job.file.people if one.id == self.by), ())
        return next((role.value for role in (Role.LEAD, Role.ARCHITECT) if role in roles), "")
