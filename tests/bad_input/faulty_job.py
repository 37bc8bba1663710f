"""A small sound job, and a way to spoil it that also says where the fault is to be found."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from small_systems import CLAY_INSIDE, CLAY_LIME, LIME_OUTSIDE

from curing.errors import FileError, Problem
from curing.model.job import Job
from curing.sources.jobfile import read_job

TODAY = date(2027, 5, 20)
MARK = "§"

SOUND = """\
curing: 1
uid: 3f6b0a52-8c1d-4e97-a4f0-6d2c9b7e1a35
name: Alder Court
holidays: {country: NL}
season:
  finish_by: 2027-09-22
  resumes: 2028-04-27
  drying: {may: 0.63}
sites:
- id: court
  name: Alder Court
  latitude: 52.1
  longitude: 5.2
  time_zone: Europe/Amsterdam
people:
- id: wil
  name: Wil
  roles: [lead, mists]
  hours: {mon-fri: 07:00-15:30}
- id: noor
  name: Noor
  hours: {mon-fri: 07:00-15:30}
- id: saar
  name: Saar
  roles: [mists]
  hours: {sat-sun: 08:00-20:00, holiday: 08:00-20:00}
  longest_round: 75 min
crews:
- id: render
  name: Render crew
  people: [wil, noor]
rules: {panel.lapse: 7 d}
holds:
  sample-panel: {met: 2027-04-16, by: wil}
walls:
- id: "1"
  name: road side
  panel:
    thickness: 200 mm
    filled: 2027-01-04
    mix: {dry_density: 660 kg/m3, straw: 15 %, water: 270 kg/m3}
  holds: {panel-dry: 2027-05-14}
  faces:
  - side: out
    facing: E
    area: 10 m2
    height: 2.7 m
    system: clay-lime
    done: {base: 2027-05-18 15:00}
  - side: in
    area: 9 m2
    height: 2.5 m
    system: clay-inside
    after: [1-out.base]
- id: "2"
  name: north gable
  faces:
  - side: out
    facing: N
    area: 12 m2
    height: 2.9 m
    system: clay-lime
    crew: render
    start: 2027-05-31
"""

Change = tuple[str, str]


def spoil(*changes: Change, text: str = SOUND) -> tuple[str, list[tuple[int, int]]]:
    """Return the text with some changes, and the (line, column) of every mark set in them."""
    for old, new in changes:
        assert text.count(old) >= 1, f"not in the sound job: {old!r}"
        text = text.replace(old, new, 1)
    places = []
    for number, line in enumerate(text.split("\n"), 1):
        while MARK in line:
            places.append((number, line.index(MARK) + 1))
            line = line.replace(MARK, "", 1)
    return text.replace(MARK, ""), places


def read(folder: Path, text: str | bytes, *, today: date = TODAY) -> Job:
    """Read a text as the job file of a folder that has small coat systems of its own."""
    (folder / "systems").mkdir(exist_ok=True)
    for name, system in (("lime", CLAY_LIME), ("inside", CLAY_INSIDE), ("outside", LIME_OUTSIDE)):
        (folder / "systems" / f"{name}.yaml").write_text(system)
    path = folder / "alder-court.yaml"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return read_job(path, years=range(2027, 2029), today=today)


def problems(folder: Path, text: str | bytes, *, today: date = TODAY) -> tuple[Problem, ...]:
    """Return what is wrong with a text as a job file."""
    with pytest.raises(FileError) as caught:
        read(folder, text, today=today)
    return caught.value.problems


def check(folder: Path, changes: list[Change], *words: str, count: int = 1) -> None:
    """Assert that the changes lead to one problem (or ``count``), where marked, that says these words."""
    text, places = spoil(*changes)
    found = problems(folder, text)
    assert len(found) == count, "\n".join(map(str, found))
    at = [(problem.place.line, problem.place.column) for problem in found if problem.place]
    assert at[: len(places)] == places, "\n".join(map(str, found))
    for word in words:
        assert word in str(found[0]), str(found[0])
