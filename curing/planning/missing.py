"""What was done or recorded on a face that left the job file without a word: nothing recorded is lost."""

from __future__ import annotations

from collections.abc import Iterable

from curing.model.job import Job
from curing.model.plan import Plan
from curing.model.record import RecordEntry, RecordKind
from curing.model.record_data import SET_IN_FRAME
from curing.planning.expand import Identity

MOST_NAMED = 3
"""Entries that are named one by one."""

OF_A_SIDE = (RecordKind.READING, RecordKind.RAIN_ON_IT, RecordKind.NOTE, RecordKind.CORRECTION)
"""What may be said of a side of a wall that has no coats in the job."""


def missing_done(parent: Plan | None, identity: Identity) -> tuple[str, ...]:
    """Return what is wrong where a face with done work left the job file: it is renamed with ``was:`` or ended."""
    if parent is None:
        return ()
    live = set(identity.faces.values())
    lost = {face.id: face for face in parent.faces if face.root not in live}
    texts = []
    for face in lost.values():
        done = [f"{one.name} of {one.day.isoformat()}" for one in face.coats if one.laid is not None]
        if done:
            texts.append(
                f'face "{face.id}" ({face.wall_name}): not in the job file, but the plan has it as done: '
                f'{", ".join(done)}; put it back with "ended: DATE", or say "was: {face.wall}" on the wall that it is'
            )
    return tuple(texts)


def missing_recorded(record: Iterable[RecordEntry], identity: Identity) -> tuple[str, ...]:
    """Return what is wrong where the record knows a face, or a whole wall, that is not in the job file."""
    faces = set(identity.faces.values())
    walls = {root.rpartition("-")[0] for root in faces}
    lost: dict[str, list[RecordEntry]] = {}
    for entry in record:
        if entry.wall is not None and entry.wall not in walls:
            lost.setdefault(f'wall "{entry.wall}"', []).append(entry)
        elif entry.face is not None and entry.face not in faces and entry.kind not in OF_A_SIDE:
            lost.setdefault(f'face "{entry.face}"', []).append(entry)
    texts = []
    for about, entries in sorted(lost.items()):
        some = ", ".join(f"{one.seq} ({one.kind} of {one.at.date().isoformat()})" for one in entries[:MOST_NAMED])
        more = f" and {len(entries) - MOST_NAMED} more" if len(entries) > MOST_NAMED else ""
        texts.append(
            f"{about}: not in the job file, but the record has entries of it: {some}{more}; put it back with "
            '"ended: DATE" on its faces, or say "was:" on the wall that it is now'
        )
    return tuple(texts)


def missing_coats(parent: Plan | None, entries: Iterable[RecordEntry], job: Job, identity: Identity) -> tuple[str, ...]:
    """Return what is wrong where a face has a done coat that its coat system does not know.

    Parameters
    ----------
    entries
        Those that hold after corrections.
    """
    now = {root: face for face, root in identity.faces.items()}
    done: dict[tuple[str, str], str] = {}
    for face in parent.faces if parent is not None else ():
        for coat in face.coats:
            if coat.laid is not None and face.root in now:
                done[now[face.root], coat.coat] = f"the plan has it as laid on {coat.day.isoformat()}"
    for entry in entries:
        task = str(entry.data.get("task", ""))
        if entry.kind is RecordKind.FINISHED and entry.face in now and task != SET_IN_FRAME:
            done[now[entry.face], task] = (
                f"entry {entry.seq} says that it was finished on {entry.at.date().isoformat()}"
            )
    systems = {face_id: job.systems[face.system] for face_id, _, face in job.faces()}
    return tuple(
        f'face "{face}": its coat system "{systems[face].id}" has no coat "{coat}", but {why}; done work '
        f'stays: go back to the system it was laid under, or give this one a coat with the id "{coat}"'
        for (face, coat), why in done.items()
        if systems[face].coat(coat) is None
    )
