"""The season of a site by its own years, as ``curing weather`` shows it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, timedelta

from curing.model.job import Job
from curing.planning.expand import FaceWork
from curing.planning.season import drying_days
from curing.planning.season_drying import last_fill
from curing.planning.season_gate import SeasonGate
from curing.planning.season_station import StationSeason
from curing.planning.season_years import LEAST_YEARS, Bound, Line, YearDay
from curing.planning.worktime import Worktime
from curing.publish.season_parts import FillPart, FrostPart, LinePart, SeasonPart

DAY = timedelta(days=1)


def season_part(told: StationSeason, job: Job, works: Iterable[FaceWork], today: date) -> SeasonPart:
    """Return what the years of a site's station say of the season that a day lies in.

    Parameters
    ----------
    told
        Frosts, lines and drying by its years.
    job
        With the season line that holds.
    works
        Faces of the job; those of the site are looked at.
    today
        The day at the site.
    """
    seasons, line = told.seasons, told.seasons.finish
    why = "few" if line is None else "" if line.last is not None else "always" if line.always else "never"
    start = _mid_winter(today, southern=seasons.southern)
    lines = [_line(name, one, start) for name, one in (("finish", line), ("base", seasons.base))]
    return SeasonPart(
        years=len(seasons.years),
        first_year=min(seasons.years, default=None),
        last_year=max(seasons.years, default=None),
        why_none=why,
        least=LEAST_YEARS,
        last_frost=_frost(seasons.last_frost, start, last=True),
        first_frost=_frost(seasons.first_frost, start, last=False),
        lines=tuple(one for one in lines if one is not None),
        fills=tuple(_fills(told, job, works, today)) if not why else (),
    )


def _mid_winter(today: date, *, southern: bool) -> date:
    """Return the first day of the season a day lies in: days of a season are shown as those after it."""
    begun = date(today.year, 7 if southern else 1, 1)
    return begun if begun <= today else begun.replace(year=begun.year - 1)


def _on(day: YearDay | None, start: date) -> date | None:
    return day.on_or_after(start) if day is not None else None


def _frost(bound: Bound, start: date, *, last: bool) -> FrostPart:
    tenth, utmost = (bound.p90, bound.latest) if last else (bound.p10, bound.earliest)
    return FrostPart(_on(bound.median, start), _on(tenth, start), _on(utmost, start), bound.years, bound.without)


def _line(coat: str, line: Line | None, start: date) -> LinePart | None:
    if line is None or line.first is None or line.last is None or line.last_spread is None:
        return None
    spread = [one.on_or_after(start) for one in line.last_spread]
    return LinePart(
        coat, line.days, line.risk, line.first.on_or_after(start), line.last.on_or_after(start), spread[0], spread[1]
    )


def _fills(told: StationSeason, job: Job, works: Iterable[FaceWork], today: date) -> Iterator[FillPart]:
    """Yield the last days to fill panels of faces that have no coat yet, by thickness and day of their base."""
    gate, groups = SeasonGate(job, Worktime(job)), dict[tuple[float, date, float], list[str]]()
    for work in works:
        panel = work.wall.panel
        if work.site != told.site.id or not work.outside or panel is None or work.coats[0].done is not None:
            continue
        crew = next(crew.id for crew in job.file.crews if work.face.crew in (None, crew.id))
        by = gate.last_day(work, work.coats[0], crew, today)
        if by is not None:
            days = drying_days(work.book, panel.thickness)
            groups.setdefault((panel.thickness, by, days), []).append(work.id)
    for (thickness, by, days), faces in sorted(groups.items()):
        try:
            fill = last_fill(by, days, told.drying)
        except ValueError:  # a month that the years do not tell of: no humidity, for one
            continue
        yield FillPart(thickness, by, fill.day, fill.early, fill.late, tuple(faces))
