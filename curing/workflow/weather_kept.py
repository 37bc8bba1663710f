"""Weather of a job's sites: asked for, read from a file, kept in the state, and looked at as it is known now."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING

from curing.errors import CuringError, UsageError, WeatherError
from curing.model.job import Job, Site
from curing.model.weather import Weather
from curing.planning.weather_past import BACK, Known, hours_past, known, made
from curing.sources.forecasts.saved import forecast_bytes, parse_any
from curing.store import Asking, KeptRun, Store

if TYPE_CHECKING:
    from curing.sources.forecasts.asking import Standing
    from curing.sources.weather_settings import WeatherSettings

TOGETHER = 2
"""So many successive runs are laid beside one another."""


class How(StrEnum):
    """How asking about a site ended."""

    NEW = "new"
    SAME = "same"
    """The service has nothing newer than what is kept."""
    NOT_DUE = "not_due"
    """It was not asked: what it said last holds still."""
    FAILED = "failed"


@dataclass(frozen=True, slots=True)
class Asked:
    """How asking about a site ended.

    Parameters
    ----------
    site
        Id of the site.
    why
        What was wrong, where it failed.
    again
        When it may be asked again, where that is known.
    """

    site: str
    how: How
    why: str = ""
    again: datetime | None = None


@dataclass(frozen=True, eq=False)
class SiteSky:
    """The weather of a site as it is known at one moment.

    Parameters
    ----------
    known
        Hours past and to come; None: nothing is kept.
    runs
        The last two runs, the newest first.
    made
        When the newest was made, or else came here; None: there is none.
    trouble
        Why the last try to ask brought nothing; empty: it went well, or nobody asked.
    tried
        When that was.
    """

    site: Site
    known: Known | None
    runs: tuple[Weather, ...] = ()
    made: datetime | None = None
    trouble: str = ""
    tried: datetime | None = None

    def age(self, now: datetime) -> timedelta | None:
        """Return how old the newest run is; None where there is none."""
        return now - self.made if self.made is not None else None


def site_key(site: Site) -> str:
    """Return under what the weather of a site is kept: its id, or the one it had before."""
    return site.was or site.id


# -- coming in -------------------------------------------------------------------------------


def ask_for(store: Store, site: Site, settings: WeatherSettings, now: datetime) -> Asked:
    """Ask the service of the settings about a site, and keep what it says.

    Never raises for a service that fails: what was kept stays, with its age, and why is kept beside it.

    Raises
    ------
    StateError
        The state can't be written.
    """
    from curing.sources.forecasts.asking import ask  # the web, for who asks alone

    key = site_key(site)
    stands = store.asking(key)
    kept = standing_of(stands.standing) if store.runs(key, most=1) else None
    try:
        run = ask(site, settings, standing=kept)
    except CuringError as error:
        why = "; ".join(str(one) for one in error.problems)
        store.keep_asking(key, Asking(stands.standing, now, why))
        return Asked(site.id, How.FAILED, why, getattr(error, "again", None))
    store.keep_asking(key, Asking(standing_text(run.standing), now, ""))
    if run.weather is not None:
        how = How.NEW if keep(store, site, run.weather, run.body, now) else How.SAME
    else:
        how = How.NOT_DUE if run.status == "not due" else How.SAME
    return Asked(site.id, how, again=run.standing.kept.expires)


def keep_file(store: Store, job: Job, path: Path, now: datetime) -> list[str]:
    """Keep a saved forecast for the sites it is for; return their ids.

    Raises
    ------
    FileError, WeatherError
        It can't be read or used, or is for none of the sites.
    UsageError
        It was made later than ``now``.
    """
    body = forecast_bytes(path)
    taken: list[str] = []
    refused: WeatherError | None = None
    for site in job.file.sites:
        try:
            run = parse_any(body, name=str(path), spot=site)
        except WeatherError as error:
            refused = refused or error
            continue
        at = run.fetched or run.issued or run.start
        if at > now:
            raise UsageError(
                f"{path}: was made {at:%Y-%m-%d %H:%M} UTC, after the time that is asked for, {now:%Y-%m-%d %H:%M} "
                "UTC; nobody knew it then; leave --as-of out or give a later one"
            )
        keep(store, site, replace(run, fetched=at), body, now)
        taken.append(site.id)
    if not taken and refused is not None:
        raise refused
    return taken


def keep(store: Store, site: Site, run: Weather, body: bytes, now: datetime) -> bool:
    """Keep a run and what it and those before it say of the hours past; return whether it is a new one."""
    key = site_key(site)
    new = store.keep_run(KeptRun(key, run.source, run.issued, run.fetched or now, body))
    if new:
        store.keep_hours(key, hours_past(runs_of(store, site)[0], now))
    return new


# -- as it is known --------------------------------------------------------------------------


def sky_of(
    store: Store | None, site: Site, now: datetime, station: Weather | None = None, back: timedelta = BACK
) -> SiteSky:
    """Return the weather of a site as it is known at an instant; without a state, of its station alone."""
    if store is None:
        return SiteSky(site, known((), None, now, station=station, back=back) if station is not None else None)
    key = site_key(site)
    found, broken = runs_of(store, site, now, TOGETHER)
    newest = found[0] if found else None
    past = store.past_hours(key, now - back - timedelta(hours=1), now)
    stands = store.asking(key)
    return SiteSky(
        site,
        known(past, newest, now, station=station, back=back),
        tuple(found),
        made(newest) if newest is not None else None,
        stands.trouble or broken,
        stands.tried,
    )


def runs_of(
    store: Store, site: Site, until: datetime | None = None, most: int | None = None
) -> tuple[list[Weather], str]:
    """Return the kept runs of a site, read, the newest first; and why one could not be read."""
    kept = store.runs(site_key(site), until, **({"most": most} if most is not None else {}))
    found, broken = [], ""
    for one in kept:
        try:
            found.append(parse_any(one.body, name=f"kept run of {one.source}", spot=site, fetched=one.fetched))
        except WeatherError as error:  # the site was moved in the job file, or a newer curing reads more strictly
            broken = broken or str(error.problems[0])
    return found, broken


def newest_made(skies: Iterable[SiteSky]) -> datetime | None:
    """Return when the oldest of the sites' newest runs was made: how old the weather is as a whole."""
    return min((sky.made for sky in skies if sky.made is not None), default=None)


def skies_of(store: Store | None, job: Job, now: datetime, station: Weather | None = None) -> Sequence[SiteSky]:
    """Return the weather of each site; a station is that of the first."""
    return [sky_of(store, site, now, station if n == 0 else None) for n, site in enumerate(job.file.sites)]


# -- the marks between two questions -----------------------------------------------------------


def standing_text(standing: Standing) -> dict[str, str | None]:
    """Return what is kept between two questions as plain text."""
    return {
        "where": standing.where,
        "etag": standing.kept.etag,
        "last_modified": standing.kept.last_modified,
        "expires": _text(standing.kept.expires),
        "asked": _text(standing.asked),
        "grid": standing.grid,
        "grid_found": _text(standing.grid_found),
    }


def standing_of(told: Mapping[str, str | None]) -> Standing | None:
    """Return what :func:`standing_text` wrote; None where it can't be read: then it is asked as the first time."""
    from curing.sources.fetching import Kept
    from curing.sources.forecasts.asking import Standing

    try:
        kept = Kept(told.get("etag") or "", told.get("last_modified") or "", _at(told.get("expires")))
        grid, found = told.get("grid") or "", _at(told.get("grid_found"))
        return Standing(told.get("where") or "", kept, _at(told.get("asked")), grid, found)
    except (ValueError, TypeError):
        return None


def _text(at: datetime | None) -> str | None:
    return at.isoformat() if at is not None else None


def _at(text: str | None) -> datetime | None:
    return datetime.fromisoformat(text) if text else None
