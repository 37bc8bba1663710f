"""How the things of a job are called, for pages that show what was recorded."""

from __future__ import annotations

from collections.abc import Iterable

from curing.model.job import Job
from curing.model.plan import Care
from curing.model.record import RecordEntry
from curing.planning.roots import Roots
from curing.publish.record_text import Called


def called_of(job: Job, roots: Roots, entries: Iterable[RecordEntry] = ()) -> Called:
    """Return what walls, people, coats and entries of a job are called today."""
    return Called(
        zone=job.file.sites[0].time_zone,
        walls=dict(roots.walls_now),
        zones={roots.walls[wall.id]: job.site_of(wall).time_zone for wall in job.file.walls},
        people={roots.people[person.id]: person.name for person in job.file.people},
        coats={
            f"{roots.face_root(face_id)}.{coat.id}": coat.name
            for face_id, _, face in job.faces()
            for coat in job.systems[face.system].coats
        },
        numbers={entry.key: entry.seq for entry in entries},
        aired=frozenset(
            f"{roots.face_root(face_id)}.{coat.id}"
            for face_id, _, face in job.faces()
            for coat in job.systems[face.system].coats
            if coat.care is Care.AIR
        ),
    )
