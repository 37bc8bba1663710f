"""The stations that a job file names: their hours, and the season line that their years give."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from curing.errors import FileError, Problem
from curing.model.job import Job, Site
from curing.model.quantities import clip
from curing.planning.worktime import local, zone_of
from curing.sources.job_stations import HEAD as STATION

if TYPE_CHECKING:
    from curing.model.weather import Weather
    from curing.planning.season_station import StationSeason

FROM_WEATHER = (STATION, "weather.")
"""Inputs that are no news by themselves: they change a plan, or they don't."""

MOST_SEASONS = 4
"""So many seasons are kept in memory: each takes a third of a second to work out."""
_SEASONS: list[tuple[Weather, tuple[object, ...], StationSeason]] = []


def read_stations(job: Job, folder: Path) -> dict[str, Weather]:
    """Return what the stations of a job measured, by site; empty where none is named.

    Parameters
    ----------
    job
        As its file tells it.
    folder
        Where the job file lies.

    Raises
    ------
    FileError
        Everything that is wrong with the tables, each with its place and whose station it is.
    """
    found: dict[str, Weather] = {}
    problems: list[Problem] = []
    for site in job.file.sites:
        if not site.station:
            continue
        try:
            found[site.id] = _read(site, folder)
        except FileError as error:
            head = f'site "{clip(site.name)}": station: '
            problems += [Problem(one.place, head + one.text) for one in error.problems]
    if problems:
        raise FileError(problems)
    return found


def _read(site: Site, folder: Path) -> Weather:
    from curing.sources.station_kept import station_years  # for jobs that name a station alone
    from curing.sources.station_map import read_station_map

    columns = read_station_map(folder / site.station_map) if site.station_map is not None else None
    return station_years([folder / one for one in site.station], columns=columns, spot=site)


def seasons_of(job: Job, stations: Mapping[str, Weather], now: datetime) -> tuple[StationSeason, ...]:
    """Return what the years of each station say of its site's season."""
    from curing.planning.season_station import frost_limit, last_winter, standard_offset, station_season

    frost = frost_limit(job.systems.values())
    found = []
    for site in job.file.sites:
        years = stations.get(site.id)
        if years is None:
            continue
        until = last_winter(now, standard_offset(site.time_zone), southern=site.latitude < 0.0)
        about = (site, frost, min(until, years.end))
        season = next((one for told, what, one in _SEASONS if told is years and what == about), None)
        if season is None:
            season = station_season(site, years, now, frost)
            _SEASONS[:] = [*_SEASONS[-MOST_SEASONS + 1 :], (years, about, season)]
        found.append(season)
    return tuple(found)


def in_season(job: Job, stations: Mapping[str, Weather], now: datetime) -> Job:
    """Return the job with the season line of its sites' own years in place of the dates of its file."""
    if not stations:
        return job
    from curing.planning.season_station import with_season

    today = min(local(zone_of(site.time_zone), now)[0] for site in job.file.sites)
    return with_season(job, seasons_of(job, stations, now), today)


def recent(stations: Mapping[str, Weather], now: datetime, back: timedelta) -> dict[str, Weather]:
    """Return the stations that tell of so long back: years that ended long ago say nothing of the hours past."""
    return {site: one for site, one in stations.items() if now - back < one.end and one.start < now}
