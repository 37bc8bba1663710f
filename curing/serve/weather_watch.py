"""Weather fetched beside the pages: a few times a day, more often before a coat, and never on the loop.

When, says :mod:`curing.planning.weather_asking`. That a run came in is noticed where entries of other processes
are (:meth:`curing.serve.served.Served.keep_watch`), so a run another process fetched is planned like one of ours.
"""

from __future__ import annotations

import asyncio
import logging
import threading
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

from curing import clock
from curing.errors import CuringError
from curing.model.job import Site
from curing.planning.weather_asking import LEAST, SPREAD, next_asking
from curing.sources.weather_settings import WeatherSettings
from curing.workflow.open_job import OpenJob
from curing.workflow.weather_kept import Asked, How, ask_for, site_key

LOOK_EVERY = 60.0
"""[s] How often it is looked whether a site is due; that asks nobody."""
AGAIN = timedelta(hours=1)
"""After a try that failed; later where the service says so."""

_LONGEST = timedelta(days=2)
"""Nobody is left unasked for longer: an instant further off is from a clock that was put back."""

_log = logging.getLogger("curing.serve")


@dataclass(frozen=True, slots=True)
class _Last:
    """How a site was asked about last.

    Parameters
    ----------
    at
        When.
    expires
        Until when the answer holds, where that is known.
    again
        When it is asked again, whatever is planned; None: that follows from the plan.
    """

    at: datetime
    expires: datetime | None = None
    again: datetime | None = None


class WeatherWatch:
    """Asks for the weather of one job's sites while it is served.

    Parameters
    ----------
    job
        The open job.
    settings
        Which service, by whom, how often.
    ask
        Asks about a site and keeps what it says.
    """

    def __init__(self, job: OpenJob, settings: WeatherSettings, ask: Callable[..., Asked] = ask_for) -> None:
        self._job, self._settings, self._ask = job, settings, ask
        self._last: dict[str, _Last] = {}

    async def keep(self) -> None:
        """Ask whenever a site is due, for ever."""
        while True:
            try:
                await _aside(self.round)
            except CuringError as error:
                _log.warning("weather not kept", extra={"job": self._name, "why": str(error.problems[0])})
            except Exception:
                _log.exception("asking for weather broke", extra={"job": self._name})
            await asyncio.sleep(LOOK_EVERY)

    @property
    def _name(self) -> str:
        return self._job.job_file.name

    def round(self) -> None:
        """Ask about each site that is due."""
        for site in self._job.job.file.sites:
            now = clock.now()
            if not self._due(site, now):
                continue
            asked = self._ask(self._job.store, site, self._settings, now)
            if asked.how is How.FAILED:
                self._last[site.id] = _Last(now, again=max(now + AGAIN, asked.again or now))
                _log.warning("weather not read", extra={"job": self._name, "site": site.id, "why": asked.why})
            else:
                waits = asked.how is How.NOT_DUE  # nobody was asked: as soon as the answer before has expired
                again = asked.again or now + LEAST if waits else None
                self._last[site.id] = _Last(now, asked.again, again)
                _log.info("weather asked", extra={"job": self._name, "site": site.id, "how": str(asked.how)})

    def _due(self, site: Site, now: datetime) -> bool:
        last = self._last.get(site.id) or self._before(site)
        if last is None or now < last.at:  # never, or the clock was put back
            return True
        due = last.again
        if due is None:
            every, plan = timedelta(minutes=self._settings.every), self._job.last_sight.plan
            due = next_asking(plan, site.id, last.at, every, expires=last.expires, spread=self._spread(site))
        return now >= due or due - now > _LONGEST

    def _before(self, site: Site) -> _Last | None:
        """Return how the server that ran before this one asked, or a command."""
        stands = self._job.store.asking(site_key(site))
        if stands.tried is None:
            return None
        return _Last(stands.tried, again=stands.tried + AGAIN if stands.trouble else None)

    def _spread(self, site: Site) -> timedelta:
        drawn = zlib.crc32(f"{self._job.job.file.uid} {site_key(site)}".encode())
        return SPREAD * (drawn % 601) / 600


async def _aside(work: Callable[[], None]) -> None:
    """Do something in a thread of its own that nobody waits for when the server stops: a service may hang."""
    loop = asyncio.get_running_loop()
    done: asyncio.Future[None] = loop.create_future()

    def tell(error: BaseException | None) -> None:
        if done.done():
            return
        if error is None:
            done.set_result(None)
        else:
            done.set_exception(error)

    def run() -> None:
        error: BaseException | None = None
        try:
            work()
        except Exception as fault:
            error = fault
        if not loop.is_closed():
            loop.call_soon_threadsafe(tell, error)

    threading.Thread(target=run, name="weather", daemon=True).start()
    await done
