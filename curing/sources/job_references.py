"""Who and what a job file names: ids that are there once, and names that lead somewhere."""

from __future__ import annotations

from collections.abc import Iterator
from difflib import get_close_matches
from functools import lru_cache
from importlib.resources import files
from typing import Any

from curing.errors import Problem
from curing.model.quantities import clip
from curing.sources.holiday_calendar import unknown_country, unknown_region
from curing.sources.job_draft import SECTIONS, Draft, Entry
from curing.sources.validation import unknown

SITE_CALENDAR = "site"
"""Name of the calendar that holds everything: nobody's own may be called so."""

_MADE_FILES = ("people", "walls")
"""Sections whose ids become names that some disks and readers do not tell apart by case."""


def check_references(draft: Draft) -> Iterator[Problem]:
    """Yield ids that stand twice and names that lead nowhere, coat systems excepted."""
    for section in SECTIONS:
        yield from _ids_once(draft, section)
        yield from _former_ids(draft, section)
    yield from _sides_once(draft)
    yield from _time_zones(draft)
    yield from _holidays(draft)
    yield from _places_of_walls(draft)
    yield from _crews_of_faces(draft)
    yield from _scaffolds(draft)


def _ids_once(draft: Draft, section: str) -> Iterator[Problem]:
    kind = SECTIONS[section][0]
    first: dict[str, int] = {}
    alike: dict[str, str] = {}
    for name, steps in draft.ids[section]:
        place = draft.document.place((*steps, "id"))
        if name in first:
            text = f'{kind} "{clip(name)}": this id stands twice, first in line {first[name]}; change one of them'
            yield Problem(place, text)
        elif section in _MADE_FILES and (other := alike.get(name.casefold())):
            text = f'differs from "{clip(other)}" in line {first[other]} only by capital letters; change one of them'
            yield Problem(place, f'{kind} "{clip(name)}": this id {text}')
        first.setdefault(name, place.line)
        alike.setdefault(name.casefold(), name)
        if section == "people" and name.casefold() == SITE_CALENDAR:
            text = f'person "{clip(name)}": this id is the name of the calendar of the whole site; give another id'
            yield Problem(place, text)
        if section == "walls" and name in draft.face_ids:
            text = f'wall "{clip(name)}": a face has this id too (wall and side); give the wall another id'
            yield Problem(place, text)


def _former_ids(draft: Draft, section: str) -> Iterator[Problem]:
    living, seen = set(draft.known(section)), set[str]()
    entries: list[Entry[Any]] = getattr(draft, section)
    for entry in entries:
        was = entry.it.was
        if was is None:
            continue
        text = ""
        if was == entry.it.id:
            text = f'"was: {was}" is its own id; delete the line'
        elif was in living:
            text = f'"was: {was}" is the id of another {SECTIONS[section][0]} of this file; correct one of them'
        elif was in seen:
            text = f'another {SECTIONS[section][0]} says "was: {was}" too; only one can have been it'
        seen.add(was)
        if text:
            yield draft.problem((*entry.steps, "was"), f"{entry.label}: {text}")


def _sides_once(draft: Draft) -> Iterator[Problem]:
    for entry in draft.faces:
        first = draft.face_ids[entry.id]
        if first != entry.steps and first[:2] == entry.steps[:2]:
            line = draft.document.place(first).line
            text = f"this side stands twice, first in line {line}; change one of them"
            yield draft.problem((*entry.steps, "side"), f"{entry.label}: {text}")


@lru_cache(maxsize=1)
def _zones() -> frozenset[str]:
    """Return the names of the package ``tzdata``, the only zone source: a system's own may differ."""
    return frozenset(files("tzdata").joinpath("zones").read_text(encoding="utf-8").split())


def _time_zones(draft: Draft) -> Iterator[Problem]:
    for site in draft.sites:
        zone = site.it.time_zone
        if zone not in _zones():
            near = get_close_matches(zone, _zones(), n=1)
            text = f'unknown time zone "{clip(zone)}"; write one such as "Europe/Amsterdam"'
            text = unknown("time zone", zone, near) if near else text
            yield draft.problem((*site.steps, "time_zone"), f"{site.label}: {text}")


def _holidays(draft: Draft) -> Iterator[Problem]:
    country, region = draft.head.holidays.country, draft.head.holidays.region
    if country is None:
        if region is not None:
            text = f'holidays: region "{clip(region)}" has no country; add "country: NL" or the like'
            yield draft.problem(("holidays", "region"), text)
        return
    fault = unknown_country(country)
    if fault:
        yield draft.problem(("holidays", "country"), f"holidays: {fault}")
    elif region is not None and (fault := unknown_region(country, region)):
        yield draft.problem(("holidays", "region"), f"holidays: {fault}")


def _places_of_walls(draft: Draft) -> Iterator[Problem]:
    known = draft.known("sites")
    for wall in draft.walls:
        site = wall.it.site
        if site is not None and site not in known:
            yield draft.problem((*wall.steps, "site"), f"{wall.label}: {unknown('site', site, known)}")
        elif site is None and len(known) > 1 and not draft.given((*wall.steps, "site")):
            text = f'no site, and the job has {len(known)}; add "site: {clip(known[0])}" or another'
            yield draft.problem(wall.steps, f"{wall.label}: {text}")


def _crews_of_faces(draft: Draft) -> Iterator[Problem]:
    known = draft.known("crews")
    for face in draft.faces:
        crew = face.it.crew
        if crew is not None and crew not in known:
            yield draft.problem((*face.steps, "crew"), f"{face.label}: {unknown('crew', crew, known)}")


def _scaffolds(draft: Draft) -> Iterator[Problem]:
    """Yield scaffolds that would have to stand at two sites: when one is needed is told by its name."""
    stands: dict[str, str] = {}
    for face in draft.faces:
        name, site = face.it.scaffold, face.wall.it.site if face.wall else None
        if name is None or site is None:
            continue
        first = stands.setdefault(name, site)
        if first != site:
            text = f'scaffold "{clip(name)}" stands at site "{first}" already; give this one a name of its own'
            yield draft.problem((*face.steps, "scaffold"), f"{face.label}: {text}")
