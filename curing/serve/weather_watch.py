"""Weather fetched beside the pages: a few times a day, never before an answer has expired, never on the loop."""

from __future__ import annotations

import asyncio
import logging
import threading
from collections.abc import Callable
from datetime import datetime, timedelta

from curing import clock
from curing.errors import CuringError
from curing.model.job import Site
from curing.sources.weather_settings import WeatherSettings
from curing.workflow.open_job import OpenJob
from curing.workflow.weather_kept import Asked, How, ask_for, site_key

LOOK_EVERY = 60.0
"""[s] How often it is looked whether a site is due; that asks nobody."""
AGAIN = timedelta(hours=1)
"""After a try that failed; later where the service says so."""

_log = logging.getLogger("curing.serve")


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
        self._not_before: dict[str, datetime] = {}

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
                self._not_before[site.id] = max(now + AGAIN, asked.again or now)
                _log.warning("weather not read", extra={"job": self._name, "site": site.id, "why": asked.why})
            else:
                self._not_before[site.id] = max(now + self._every, asked.again or now)
                _log.info("weather asked", extra={"job": self._name, "site": site.id, "how": str(asked.how)})

    @property
    def _every(self) -> timedelta:
        return timedelta(minutes=self._settings.every)

    def _due(self, site: Site, now: datetime) -> bool:
        until = self._not_before.get(site.id)
        if until is not None and until - now > 2 * timedelta(days=1):
            until = None  # the clock was put back
        if until is not None:
            return now >= until
        stands = self._job.store.asking(site_key(site))  # by the server that ran before this one
        wait = AGAIN if stands.trouble else self._every
        return stands.tried is None or not timedelta(0) <= now - stands.tried < wait


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
