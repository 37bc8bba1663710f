"""The weather of the next days at a job's faces, and what it lets be laid. Nothing here moves a plan."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from curing.errors import UsageError
from curing.model.job import Face, Job, Site
from curing.model.plan import LIVE, Booking, Kind, Plan
from curing.model.weather import HOUR, Weather
from curing.planning.cloth import cloth_stands
from curing.planning.expand import CoatWork, FaceWork, expand, identify
from curing.planning.weather_days import DAYS, face_days, face_series, site_days
from curing.planning.weather_limits import Margin
from curing.planning.weather_ordinary import Ordinary, ordinary
from curing.planning.weather_site import FaceHours, faces_of, site_weather
from curing.planning.weather_weighing import Shelter
from curing.planning.weather_windows import Answer, judge
from curing.planning.windows import SiteSun
from curing.planning.worktime import local, zone_of
from curing.publish.cure_said import cure_lines
from curing.publish.event_title import plain
from curing.publish.season_parts import SeasonPart
from curing.publish.terminal_names import Names, local_day
from curing.publish.weather_parts import FacePart, SitePart, TaskPart, WeatherPart
from curing.publish.words import Words
from curing.store import default_folder
from curing.workflow.opening import facts, latest_plan, open_job_state, read, read_said
from curing.workflow.stations import in_season, read_stations, seasons_of
from curing.workflow.weather_kept import Asked, SiteSky, ask_for, keep_file, sky_of
from curing.workflow.weather_season import season_part

if TYPE_CHECKING:
    from curing.sources.weather_settings import WeatherSettings

ORDINARY_MARGIN = Margin(1.7, 3.3)
"""[K] Where no coat system of a site says how far a forecast may be off."""


@dataclass(frozen=True, eq=False)
class JobNow:
    """What weather is judged for: the job with its record, its plan, the work of its faces."""

    job: Job
    plan: Plan | None
    works: Mapping[str, FaceWork]


def view_weather(
    job_file: Path,
    *,
    state: Path | None = None,
    as_of: str | None = None,
    fetch: WeatherSettings | None = None,
    forecast: Path | None = None,
    station: Sequence[Path] = (),
) -> tuple[WeatherPart, Words]:
    """Return the weather of a job, and the words of its reader.

    Parameters
    ----------
    fetch
        Ask the service of these settings first; what it says is kept.
    forecast
        A saved forecast, taken in and kept first.
    station
        Tables of the site's own station, of several years.

    Raises
    ------
    FileError, WeatherError, StateError, UsageError
        A file or the state can't be used; a service that fails is told in the answer instead.
    """
    if fetch is not None and as_of is not None:
        raise UsageError("--fetch: asks the service now; leave out --as-of")
    job, now = read(job_file, as_of)
    sites = job.file.sites
    if station and len(sites) > 1:
        raise UsageError(
            "--station: is of one place, but this job has several sites; leave it out, or name each site's own "
            "tables in the job file (sites: station:)"
        )
    years = {sites[0].id: _years(station, sites[0])} if station else read_stations(job, job_file.parent)
    job = in_season(job, years, now)
    seasons = {one.site.id: one for one in seasons_of(job, years, now)} if years else {}
    asked: dict[str, Asked] = {}
    writes = fetch is not None or forecast is not None
    store = open_job_state(state or default_folder(job_file), job, trial=not writes)
    try:
        if forecast is not None and store is not None:
            keep_file(store, job, forecast, now)
        if fetch is not None and store is not None:
            asked = {site.id: ask_for(store, site, fetch, now) for site in sites}
        plan = latest_plan(store)
        told, _ = facts(job, plan, read_said(store), digested=False)
        here = JobNow(told, plan, {one.id: one for one in expand(told, identify(told, plan), plan)})
        skies = [sky_of(store, site, now, years.get(site.id)) for site in sites]
    finally:
        if store is not None:
            store.close()
    words = Words(job.file.units)
    notice = fetch is not None and fetch.for_non_commercial_use_alone
    shown = {}
    for site, one in seasons.items():
        today = local(zone_of(one.site.time_zone), now)[0]
        shown[site] = season_part(one, told, here.works.values(), today)
    return weather_part(here, skies, now, words, years=years, seasons=shown, asked=asked, notice=notice), words


def _years(station: Sequence[Path], site: Site) -> Weather:
    from curing.sources.station_kept import station_years  # for who names a station alone

    return station_years(station, spot=site)


def weather_part(
    here: JobNow,
    skies: Sequence[SiteSky],
    now: datetime,
    words: Words,
    *,
    years: Mapping[str, Weather] | None = None,
    seasons: Mapping[str, SeasonPart] | None = None,
    asked: Mapping[str, Asked] | None = None,
    notice: bool = False,
    wall: str | None = None,
    faces: bool = True,
) -> WeatherPart:
    """Return the weather of a job as it is shown.

    Parameters
    ----------
    years
        Measured years of the sites' stations, by site.
    seasons
        What they say of the season, by site.
    wall
        Only the faces of this wall, and only its site; None: all.
    faces
        False: the sites alone.
    """
    sites = []
    for sky in skies:
        stand = faces_of(here.job, sky.site) if faces else {}
        if wall is not None:
            stand = {one: face for one, face in stand.items() if one.rpartition("-")[0] == wall}
            if not stand:
                continue
        told = (asked or {}).get(sky.site.id)
        measured = (years or {}).get(sky.site.id)
        part = _site(here, sky, stand, now, words, measured, told, notice=notice)
        sites.append(replace(part, season=(seasons or {}).get(sky.site.id)))
    return WeatherPart(plain(here.job.file.name), now, tuple(sites))


def _site(
    here: JobNow,
    sky: SiteSky,
    faces: Mapping[str, Face],
    now: datetime,
    words: Words,
    years: Weather | None,
    asked: Asked | None,
    *,
    notice: bool,
) -> SitePart:
    site, zone = sky.site, zone_of(sky.site.time_zone)
    about = {
        "id": site.id, "name": plain(site.name), "zone": site.time_zone, "made": sky.made, "trouble": sky.trouble,
        "tried": sky.tried, "asked": str(asked.how) if asked is not None else "",
        "again": asked.again if asked is not None else None,
        "years": (years.start.year, (years.end - HOUR).year) if years is not None else None,
        "station_notes": years.notes if years is not None else (),
    }  # fmt: skip
    if sky.known is None or not sky.runs:
        return SitePart(**about)  # type: ignore[arg-type]
    weather = sky.known.weather
    margin, frost = _margin(here, faces)
    usual: Mapping[tuple[str, int], Ordinary] = {}
    days = site_days(weather, sky.made, zone, now, margin, frost)
    if years is not None:
        usual = ordinary(site, faces, years, {one.day.month for one in days})
    hours = site_weather(site, faces, weather) if faces else {}
    tasks = _tasks(here, site, hours, now, words)
    cures = _cures(here, now, words)
    parts = []
    for face_id, one in hours.items():
        parts.append(
            FacePart(
                face=face_id,
                number=_number(face_id, words),
                wall=face_id.rpartition("-")[0],
                name=_wall_name(here.job, face_id),
                facing=faces[face_id].facing,
                outside=one.outside,
                days=face_days(one, zone, now, usual),
                tasks=tuple(tasks.get(face_id, ())),
                series=face_series(one, sky.made, now, margin),
                cure=cures.get(face_id, ()),
            )
        )
    estimated = set().union(*(one.estimated for one in hours.values())) if hours else set()
    return SitePart(
        **about,  # type: ignore[arg-type]
        source=weather.source,
        attribution=weather.attribution,
        notice=notice and weather.source == "open-meteo",
        estimated=tuple(sorted(estimated)),
        notes=weather.notes,
        days=days,
        faces=tuple(parts),
    )


def _cures(here: JobNow, now: datetime, words: Words) -> dict[str, tuple[str, ...]]:
    """Return face → how far its cure is, by the plan."""
    if here.plan is None:
        return {}
    names = Names(here.plan, words, now)
    return {face.id: tuple(cure_lines(face, names)) for face in here.plan.faces}


def _margin(here: JobNow, faces: Mapping[str, Face]) -> tuple[Margin, float]:
    """Return the widest margin and the warmest frost of the coat systems at a site."""
    books = [here.works[one].book for one in faces if one in here.works]
    books = [one for one in books if one.has("weather.margin_first") and one.has("weather.margin_last")]
    if not books:
        return ORDINARY_MARGIN, 0.0
    first = max(one.value("weather.margin_first") for one in books)
    last = max(one.value("weather.margin_last") for one in books)
    return Margin(first, last), max(one.value("weather.frost", 0.0) for one in books)


def _number(face_id: str, words: Words) -> str:
    wall, _, side = face_id.rpartition("-")
    return words.say("title.face", wall=wall, side=words.say(f"title.side.{side}"))


def _wall_name(job: Job, face_id: str) -> str:
    return next(plain(wall.name) for one, wall, _ in job.faces() if one == face_id)


# -- what may be laid --------------------------------------------------------------------------


def _tasks(
    here: JobNow, site: Site, hours: Mapping[str, FaceHours], now: datetime, words: Words
) -> dict[str, list[TaskPart]]:
    """Return the open coats of the next days at each outside face, judged."""
    if here.plan is None:
        return {}
    names, sun = Names(here.plan, words, now), SiteSun(site)
    found: dict[str, list[TaskPart]] = {}
    for one in here.plan.bookings:
        if one.kind is not Kind.COAT or one.state not in LIVE or not one.faces or one.end <= now:
            continue
        face = one.faces[0]
        work, outlook = here.works.get(face), hours.get(face)
        if work is None or outlook is None or not 0 <= (local_day(one) - local_day(one, now)).days < DAYS:
            continue
        coat = next((c for c in work.coats if c.id == one.id), None)
        if coat is None or coat.done is not None:
            continue
        found.setdefault(face, []).append(_judged(work, coat, one, outlook, now, names, sun))
    return found


def _judged(
    work: FaceWork, coat: CoatWork, booking: Booking, outlook: FaceHours, now: datetime, names: Names, sun: SiteSun
) -> TaskPart:
    """Judge a coat when it is booked, with the cloth that its rules hang; else with cloth, where that is all it lacks.

    A sheet against rain is never taken for granted: it needs a fixed scaffold and its owner's word.
    """
    span = max(booking.start, now), booking.end
    hung = cloth_stands(work, coat, sun, local_day(booking))
    verdict = judge(work, coat, span, outlook, now, shelters=[Shelter.CLOTH] if hung else [])
    if verdict.answer is Answer.NO and not hung and work.face.cloth:
        behind = judge(work, coat, span, outlook, now, shelters=[Shelter.CLOTH])
        verdict, hung = (behind, True) if behind.answer is Answer.YES else (verdict, False)
    return TaskPart(
        id=booking.id,
        task=names.task(booking),
        start=booking.start,
        end=booking.end,
        answer=str(verdict.answer),
        until=verdict.until,
        stops=verdict.stops,
        warnings=verdict.warnings,
        kept_off=verdict.kept_off,
        missing=verdict.missing,
        held=bool(booking.holds),
        old=verdict.old,
        cloth=hung and bool(verdict.kept_off),
    )
