"""Asking a weather service for a place: politely, from the address to hourly weather.

What stands between two askings is a :class:`Standing`: whoever asks keeps it beside the body and gives it back.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from types import ModuleType

from curing import clock
from curing.errors import Place, Problem, WeatherError
from curing.model.weather import Weather
from curing.sources.fetching import Fetched, FetchError, Kept, Limits, Status, fetch, shown
from curing.sources.forecasts import met_norway, nws, open_meteo
from curing.sources.forecasts.document import Spot
from curing.sources.forecasts.service import Request
from curing.sources.weather_settings import WeatherSettings

SERVICES: Mapping[str, ModuleType] = {met_norway.NAME: met_norway, nws.NAME: nws, open_meteo.NAME: open_meteo}
GRID_HOLDS = timedelta(days=14)
"""After this the address of a place's grid is asked for anew (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Standing:
    """What is kept between two askings.

    Attributes
    ----------
    where
        Place and service it is of, without key: of another, it does not count.
    kept
        Marks of the last answer.
    asked
        When it was last asked.
    grid, grid_found
        Path of the place's grid where a service has such, and when it was told.
    """

    where: str = ""
    kept: Kept = field(default_factory=Kept)
    asked: datetime | None = None
    grid: str = ""
    grid_found: datetime | None = None


@dataclass(frozen=True, slots=True)
class Run:
    """How an asking ended.

    Attributes
    ----------
    status
        New, unchanged, or not asked because the last answer has not expired.
    weather
        None unless it is new.
    body
        As it came, to be kept; empty unless it is new.
    standing
        To be kept, and given back.
    """

    status: Status
    weather: Weather | None
    body: bytes
    standing: Standing


def ask(
    spot: Spot, settings: WeatherSettings, *, standing: Standing | None = None, limits: Limits | None = None
) -> Run:
    """Ask the service of the settings for a place.

    Parameters
    ----------
    spot
        The place; a site of a job.
    settings
        Which service, and by whom.
    standing
        What was kept of the last time; give it only while its body is still there.

    Raises
    ------
    FetchError
        No usable answer came.
    WeatherError
        An answer came, and can't be used; or the service does not cover the place.
    FileError
        The file of the key can't be read.
    """
    service = SERVICES[settings.service]
    request: Callable[..., Request] = service.request
    first = request(spot, settings)
    where = first.url.partition("&apikey=")[0]
    old = standing if standing is not None and standing.where == where else Standing()
    now = clock.now()

    def get(one: Request, kept: Kept) -> Fetched:
        return fetch(one.url, contact=settings.contact, kept=kept, headers=one.headers, limits=limits)

    if settings.service != nws.NAME:
        found, name = get(first, old.kept), shown(first.url)
    else:
        old, found, name = _from_grid(spot, settings, first, old, get)
    new = replace(old, where=where, kept=found.kept, asked=now)
    if found.status is not Status.NEW:
        return Run(found.status, None, b"", new if found.status is Status.UNCHANGED else old)
    parse: Callable[..., Weather] = service.parse
    weather = parse(found.body, name=name, spot=spot, fetched=found.at)
    return Run(Status.NEW, replace(weather, notes=(*found.notes, *weather.notes)), found.body, new)


def _from_grid(
    spot: Spot, settings: WeatherSettings, first: Request, old: Standing, get: Callable[[Request, Kept], Fetched]
) -> tuple[Standing, Fetched, str]:
    """Ask the US service for a place's grid; where that is, is asked for if it is not known, old, or gone."""
    now = clock.now()
    fresh = bool(old.grid) and old.grid_found is not None and now - old.grid_found < GRID_HOLDS
    while True:
        if not fresh:
            grid = nws.grid_of(_covered(get, first), name=shown(first.url))
            old = replace(old, kept=old.kept if grid == old.grid else Kept(), grid=grid, grid_found=now)
        second = nws.request(spot, settings, grid=old.grid)
        try:
            return old, get(second, old.kept), shown(second.url)
        except FetchError as fault:
            if fault.status != 404 or not fresh:
                raise
            fresh = False


def _covered(get: Callable[[Request, Kept], Fetched], request: Request) -> bytes:
    """Return what the US service says of a place; a place outside the country is told as such."""
    try:
        return get(request, Kept()).body
    except FetchError as fault:
        if fault.status != 404:
            raise
        what = (
            "the US service does not cover this place; check latitude and longitude (they may stand for one another), "
            "or name service: met-norway in the settings"
        )
        raise WeatherError(Problem(Place(shown(request.url)), what)) from None
