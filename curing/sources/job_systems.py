"""The coat systems that the faces of a job ask for, and whether they go on that side."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from curing.errors import FileError, Problem
from curing.model.job import Side
from curing.model.system import System
from curing.sources.job_draft import Draft
from curing.sources.systemfile import OWN_FOLDER, find_systems, load_systems
from curing.sources.validation import unknown


def read_systems(draft: Draft, folder: Path, problems: list[Problem]) -> dict[str, str]:
    """Put every readable coat system into the draft; return their digests, and tell of the others.

    Parameters
    ----------
    folder
        Where the job file lies; coat systems of its own stand in a folder beside it.
    """
    own = (folder / OWN_FOLDER,)
    at_hand = sorted(find_systems(own))
    systems: dict[str, System] = {}
    digests: dict[str, str] = {}
    for face in draft.faces:
        if face.it.system not in at_hand:
            text = f"{face.label}: {unknown('coat system', face.it.system, at_hand)}"
            problems.append(draft.problem((*face.steps, "system"), text))
    for name in dict.fromkeys(face.it.system for face in draft.faces):
        if name in at_hand:
            try:
                read, digest = load_systems([name], own)
            except FileError as error:
                problems.extend(error.problems)
            else:
                systems |= read
                digests |= digest
    draft.systems = systems
    return digests


def check_sides(draft: Draft) -> Iterator[Problem]:
    """Yield faces whose coat system is not for their side, and outside faces that look nowhere."""
    for face in draft.faces:
        side, system = face.it.side, draft.system_of(face)
        if side is Side.OUT and face.it.facing is None and not draft.given((*face.steps, "facing")):
            text = 'no direction; sun and rain depend on it, add for instance "facing: SW" or "facing: 225°"'
            yield draft.problem(face.steps, f"{face.label}: {text}")
        if system and side.value not in system.sides:
            others = [name for name, other in draft.systems.items() if side.value in other.sides]
            hint = f', such as "{others[0]}"' if others else ""
            where = "outside" if side is Side.OUT else "inside"
            text = f'coat system "{system.id}" is not for {where} faces (its "sides"); choose one that is{hint}'
            yield draft.problem((*face.steps, "system"), f"{face.label}: {text}")
