"""Roots and the ids of today, both ways: the record keeps roots, people read ids."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from curing.model.job import Job, Side
from curing.planning.expand import Identity


@dataclass(frozen=True, slots=True)
class Roots:
    """What walls, faces and people are called for ever, and today.

    Faces here are both sides of every wall of the job, also a side that has no coats: a panel is read
    from both.
    """

    walls: Mapping[str, str]
    """Id → root."""
    people: Mapping[str, str]
    """Id → root."""
    walls_now: Mapping[str, str]
    """Root → id."""
    people_now: Mapping[str, str]
    """Root → id."""

    def face_root(self, face: str) -> str:
        """Return the root of a face; KeyError where its wall is not of the job.

        Examples
        --------
        >>> Roots({"n": "3"}, {}, {"3": "n"}, {}).face_root("n-out")
        '3-out'
        """
        wall, _, side = face.rpartition("-")
        return f"{self.walls[wall]}-{Side(side).value}"

    def face_now(self, root: str) -> str | None:
        """Return what a face is called today, or None if its wall left the job.

        Examples
        --------
        >>> Roots({"n": "3"}, {}, {"3": "n"}, {}).face_now("3-out")
        'n-out'
        """
        wall, _, side = root.rpartition("-")
        now = self.walls_now.get(wall)
        return f"{now}-{side}" if now is not None else None

    def person_now(self, root: str) -> str:
        """Return the id of a person today; the root of one who left."""
        return self.people_now.get(root, root)


def roots_of(job: Job, identity: Identity) -> Roots:
    """Return the roots of a job."""
    walls = {wall.id: identity.wall_root(f"{wall.id}-{wall.faces[0].side.value}") for wall in job.file.walls}
    return Roots(
        walls,
        dict(identity.people),
        {root: now for now, root in walls.items()},
        {root: now for now, root in identity.people.items()},
    )
