"""The season of a job from its sites' own stations, in place of the dates of the job file.

The line is worked out from whole seasons that were over at the last mid-winter: a table that grows by a day moves
nothing until the next. It is one line for the job: of several sites the earliest line and the latest start of spring
hold, and a site without years keeps the dates of the job file beside them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

from curing.model.job import Job, SeasonLine, Site
from curing.model.season_source import NoLine, SeasonSource
from curing.model.system import RuleBook, System
from curing.model.times import MONTHS
from curing.model.weather import HOUR, Weather
from curing.planning.season import line_for, resumes_after
from curing.planning.season_drying import DryingYears, drying_years, season_line
from curing.planning.season_years import LEAST_YEARS, SeasonYears, YearDay
from curing.planning.worktime import zone_of

HALF_YEAR = timedelta(days=183)
"""Dates that lie further apart are those of two seasons."""


@dataclass(frozen=True, eq=False)
class StationSeason:
    """What the years of a site's station say of its season.

    Parameters
    ----------
    site
        Whose.
    seasons
        Frosts and lines.
    drying
        How fast panels dry.
    """

    site: Site
    seasons: SeasonYears
    drying: DryingYears


def station_season(site: Site, years: Weather, now: datetime, frost: float = 0.0) -> StationSeason:
    """Return the season of a site by the hours of its station up to the last mid-winter before ``now``.

    Parameters
    ----------
    site
        Its latitude tells the half of the globe, its zone the days.
    years
        Measured hours.
    now
        Nothing later is used: a plan of an earlier day knows no more than was known then.
    frost
        A day with an hour below it is frosty [°C].
    """
    offset = standard_offset(site.time_zone)
    hours = max((last_winter(min(now, years.end), offset, southern=site.latitude < 0.0) - years.start) // HOUR, 0)
    air, damp = years.temperature[:hours], years.humidity[:hours]
    seasons = SeasonYears.of(years.start, air, latitude=site.latitude, offset=offset, frost=frost)
    return StationSeason(site, seasons, drying_years(years.start, air, damp, offset=offset))


def standard_offset(zone: str) -> int:
    """Return how far the standard time of a zone is ahead of UTC, whole hours: a station's days have no summer time.

    Examples
    --------
    >>> standard_offset("Europe/Amsterdam"), standard_offset("Pacific/Auckland"), standard_offset("America/Denver")
    (1, 12, -7)
    """
    there = zone_of(zone)
    both = (datetime(2025, month, 1, tzinfo=UTC).astimezone(there).utcoffset() or timedelta() for month in (1, 7))
    return min(both) // HOUR


def last_winter(at: datetime, offset: int, *, southern: bool) -> datetime:
    """Return the last mid-winter that is over: 1 January, south of the equator 1 July.

    Examples
    --------
    >>> str(last_winter(datetime(2027, 6, 1, tzinfo=UTC), 1, southern=False))
    '2026-12-31 23:00:00+00:00'
    >>> str(last_winter(datetime(2027, 6, 1, tzinfo=UTC), 0, southern=True))
    '2026-07-01 00:00:00+00:00'
    """
    local = at.astimezone(UTC) + offset * HOUR
    begun = datetime(local.year, 7 if southern else 1, 1, tzinfo=UTC)
    begun = begun if begun <= local else begun.replace(year=begun.year - 1)
    return begun - offset * HOUR


def frost_limit(systems: Iterable[System]) -> float:
    """Return the warmest frost limit of some coat systems [°C]."""
    return max((RuleBook(one, {}).value("weather.frost", 0.0) for one in systems), default=0.0)


def with_season(job: Job, found: Sequence[StationSeason], today: date) -> Job:
    """Return the job with the season line that its sites' years give, and where it is from.

    Parameters
    ----------
    job
        As its file tells it.
    found
        Of the sites that have a station; none: the job stays as it is.
    today
        The season that it lies in, or has just passed, gives the dates.
    """
    if not found:
        return job
    lines = [(one, line) for one in found if (line := season_line(one.seasons, None, today)) is not None]
    file, none = job.file.season, tuple(no for one in found if (no := _no_line(one)) is not None)
    was = file.finish_by if file is not None else None
    if not lines:
        return job.model_copy(update={"season_source": SeasonSource(was=was, none=none)})
    first, line = min(lines, key=lambda one: one[1].finish_by)
    resumes = max(one.resumes for _, one in lines if one.resumes is not None)
    finish_by = line.finish_by
    bare = {site.id for site in job.file.sites} - {one.site.id for one, _ in lines}
    source = _source(first, finish_by, was, none)
    if bare and file is not None:  # the file's dates may be those of a site without years
        told = line_for(file, today)
        again = resumes_after(file, told) or resumes
        if finish_by - HALF_YEAR < told < finish_by:
            finish_by, source = told, SeasonSource(line=told, was=was, none=none)
        if resumes < again < resumes + HALF_YEAR:
            resumes = again
    season = SeasonLine.model_validate(
        {
            "finish_by": finish_by.isoformat(),
            "resumes": resumes.isoformat(),
            "drying": _drying([one.drying for one, _ in lines], file, bare=bool(bare)),
        }
    )
    changed = job.file.model_copy(update={"season": season})
    return job.model_copy(update={"file": changed, "season_source": source})


def _no_line(one: StationSeason) -> NoLine | None:
    line, count = one.seasons.finish, len(one.seasons.years)
    if line is None:
        return NoLine(one.site.name, "few", count)
    if line.first is None or line.last is None:
        return NoLine(one.site.name, "always" if line.always else "never", count)
    return None


def _source(first: StationSeason, finish_by: date, was: date | None, none: tuple[NoLine, ...]) -> SeasonSource:
    line = first.seasons.finish
    assert line is not None
    early, late = line.last_spread or (None, None)
    return SeasonSource(
        site=first.site.name,
        years=line.years,
        line=finish_by,
        earliest=_before(early, finish_by) if early is not None else None,
        latest=late.on_or_after(finish_by) if late is not None else None,
        was=was,
        none=none,
    )


def _before(day: YearDay, than: date) -> date:
    """Return the last such day that is not after another."""
    found = day.on_or_after(date(than.year, 1, 1))
    return found if found <= than else day.on_or_after(date(than.year - 1, 1, 1))


def _drying(drying: Sequence[DryingYears], file: SeasonLine | None, *, bare: bool) -> Mapping[str, float]:
    """Return the slowest factor of each month; those of the file where a month is told by no years, or for its site."""
    whole = [one.factors for one in drying if one.years >= LEAST_YEARS]
    told = file.drying if file is not None else {}
    if not whole:
        return told
    found = {month: round(min(one[month] for one in whole), 2) for month in MONTHS}
    return {month: min(value, told.get(month, value)) for month, value in found.items()} if bare else found
