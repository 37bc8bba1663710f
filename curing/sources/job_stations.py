"""Tables of a site's own station that a job file names: whether they are there, and which bytes they are.

What stands in them is read by who needs it (:mod:`curing.workflow.stations`): years of hours take seconds, and most
commands need none of them.
"""

from __future__ import annotations

from collections.abc import Iterator
from hashlib import file_digest
from pathlib import Path

from curing.errors import FileError, Problem
from curing.model.job import Site
from curing.model.quantities import clip
from curing.sources.job_draft import Draft, Entry
from curing.sources.station_map import read_station_map

HEAD = "station."
"""Begins the name of their digests among the inputs of a plan: ``station.SITE.1``, ``station.SITE.map``."""


def station_files(draft: Draft, folder: Path, problems: list[Problem]) -> dict[str, str]:
    """Return the digests of the tables and column maps that the sites name; tell what is wrong with the files.

    Parameters
    ----------
    draft
        The pieces of a job file.
    folder
        Where the job file lies; the paths count from it.
    problems
        What is wrong is added.
    """
    digests: dict[str, str] = {}
    for site in draft.sites:
        problems.extend(_twice(draft, site))
        for number, written in enumerate(site.it.station):
            steps = (*site.steps, "station", number)
            # a single table stands beside the name itself, not in a list
            steps = steps if draft.given(steps) else steps[:-1]
            digest, fault = _digest(folder, written, "a table of the station, .csv or .csv.gz")
            digests[f"{HEAD}{site.it.id}.{number + 1}"] = digest
            if fault:
                problems.append(draft.problem(steps, f'{site.label}: station: "{clip(written)}": {fault}'))
        problems.extend(_map(draft, site, folder, digests))
    return digests


def _twice(draft: Draft, site: Entry[Site]) -> Iterator[Problem]:
    named = site.it.station
    twice = next((one for at, one in enumerate(named) if one in named[:at]), None)
    if twice is not None:
        text = f'{site.label}: station: "{clip(twice)}" stands twice; keep one of them'
        yield draft.problem((*site.steps, "station"), text)


def _map(draft: Draft, site: Entry[Site], folder: Path, digests: dict[str, str]) -> Iterator[Problem]:
    written, steps = site.it.station_map, (*site.steps, "station_map")
    if written is None:
        return
    head = f'{site.label}: station_map: "{clip(written)}"'
    if not site.it.station:
        text = "says what the columns of a station mean, but no table is named; add station: with its tables"
        yield draft.problem(steps, f"{head} {text}")
    digest, fault = _digest(folder, written, "a column map")
    if fault:
        yield draft.problem(steps, f"{head}: {fault}")
        return
    digests[f"{HEAD}{site.it.id}.map"] = digest
    try:
        read_station_map(folder / written)
    except FileError as error:
        for problem in error.problems:
            place = f"line {problem.place.line}: " if problem.place is not None and problem.place.line else ""
            yield draft.problem(steps, f"{head}: {place}{problem.text}")


def _digest(folder: Path, written: str, what: str) -> tuple[str, str]:
    """Return the digest of a file, or why it can't be read."""
    try:
        path = folder / written
        if path.is_dir():
            return "", f"this is a folder; name the files in it, each {what}"
        if not path.is_file():
            return "", f"there is no such file; name {what}; the path counts from the job file's folder"
        with open(path, "rb") as file:
            return file_digest(file, "sha256").hexdigest(), ""
    except (OSError, ValueError) as error:
        why = (getattr(error, "strerror", None) or "not a name a file can have").lower()
        return "", f"it can't be read: {why}; check name and permissions"
