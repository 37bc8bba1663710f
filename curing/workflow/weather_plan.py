"""The weather a plan is made under: the last two runs of each site, and its hours past for the cures."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from curing.model.job import Job
from curing.model.weather import Weather
from curing.planning.weather_past import BACK, Known, known, made
from curing.store import Store
from curing.workflow.weather_kept import runs_of, site_key

APART = timedelta(hours=3)
"""Two runs with less between them are one: services tell the same model run anew every hour (assumption)."""
CURE_BACK = timedelta(days=200)
"""So far back the hours of a cure are looked at: a cure that rests over a winter goes on in spring (assumption)."""


@dataclass(frozen=True, eq=False)
class PlanWeather:
    """What is known of the weather of a job's sites, for its plan.

    Parameters
    ----------
    runs
        Site id → the newest run, and one before it that is a run of its own; each with its hours past.
    past
        Site id → hours past since the oldest cure that may still go on, and which of them were measured.
    digests
        ``weather.SITE`` → digest of the newest run; they are among the inputs of a plan.
    """

    runs: Mapping[str, tuple[Weather, ...]] = field(default_factory=dict)
    past: Mapping[str, Known] = field(default_factory=dict)
    digests: Mapping[str, str] = field(default_factory=dict)


NO_WEATHER = PlanWeather()


def plan_weather(
    store: Store | None, job: Job, now: datetime, stations: Mapping[str, Weather] | None = None
) -> PlanWeather:
    """Return the weather a job is planned under; nothing where none is kept and no station told any.

    Parameters
    ----------
    stations
        Site id → what its own station measured.

    Raises
    ------
    StateError
        A kept run is damaged.
    """
    runs: dict[str, tuple[Weather, ...]] = {}
    past: dict[str, Known] = {}
    digests: dict[str, str] = {}
    for site in job.file.sites:
        station = (stations or {}).get(site.id)
        key = site_key(site)
        hours = store.past_hours(key, now - CURE_BACK - timedelta(hours=1), now) if store is not None else []
        found = runs_of(store, site, now)[0] if store is not None else []
        newest = found[0] if found else None
        whole = known(hours, newest, now, station=station, back=CURE_BACK)
        if whole is None:
            continue
        past[site.id] = whole
        both = (one for one in (newest, _before(found)) if one is not None)
        told = (known(hours, run, now, station=station, back=BACK) for run in both)
        runs[site.id] = tuple(one.weather for one in told if one is not None)
        if store is not None and newest is not None:
            digests[f"weather.{site.id}"] = store.runs(key, now, most=1)[0].digest
    return PlanWeather(runs, past, digests)


def _before(found: list[Weather]) -> Weather | None:
    """Return the newest run that is a run of its own beside the newest of all."""
    first = made(found[0]) if found else None
    if first is None:
        return None
    return next((run for run in found[1:] if (at := made(run)) is not None and first - at >= APART), None)
