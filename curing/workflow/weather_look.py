"""The weather of a job that stays open: looked at anew when some came in, or when the hour turned."""

from __future__ import annotations

import threading
from collections.abc import Callable
from datetime import datetime, timedelta

from curing import clock
from curing.planning.expand import expand, identify
from curing.planning.recorded_job import with_record
from curing.publish.weather_parts import WeatherPart
from curing.publish.words import Words
from curing.workflow.open_job import OpenJob
from curing.workflow.sight import Sight
from curing.workflow.weather import JobNow, weather_part
from curing.workflow.weather_kept import SiteSky, newest_made, skies_of

ASKS = timedelta(days=7)
"""Where nobody asked a service for so long, weather is not in use, and nobody is told that it is old."""


class WeatherLook:
    """The weather of an open job. Calls may come from several threads.

    Parameters
    ----------
    job
        The open job.
    now
        Tells the present instant.
    """

    def __init__(self, job: OpenJob, now: Callable[[], datetime] = clock.now) -> None:
        self._job, self._now = job, now
        self._lock = threading.Lock()
        self._last: tuple[object, tuple[SiteSky, ...]] | None = None

    def skies(self, now: datetime) -> tuple[SiteSky, ...]:
        """Return the weather of each site as it is known now."""
        job = self._job.job
        stamp = (self._job.store.weather_head(), f"{now:%Y-%m-%dT%H}", job.file.sites)
        with self._lock:
            if self._last is None or self._last[0] != stamp:
                self._last = (stamp, tuple(skies_of(self._job.store, job, now)))
            return self._last[1]

    def at_wall(self, sight: Sight, wall: str, words: Words, now: datetime) -> WeatherPart | None:
        """Return the weather at a wall's faces; None where none is kept."""
        skies = self.skies(now)
        if sight.plan is None or all(sky.made is None for sky in skies):
            return None
        job = with_record(sight.job, sight.evidence)
        works = expand(job, identify(job, sight.plan), sight.plan)
        here = JobNow(job, sight.plan, {one.id: one for one in works if one.wall.id == wall})
        return weather_part(here, skies, now, words, wall=wall)

    def at_sites(self, sight: Sight, words: Words, now: datetime) -> WeatherPart | None:
        """Return the weather of the sites without their faces; None where none is kept."""
        skies = self.skies(now)
        if all(sky.made is None for sky in skies):
            return None
        return weather_part(JobNow(sight.job, sight.plan, {}), skies, now, words, faces=False)

    def read(self) -> datetime | None:
        """Return how old the weather is that is in use; None: none is, or no service was asked for a week."""
        now = self._now()
        skies = self.skies(now)
        tried = [sky.tried for sky in skies if sky.tried is not None]
        return newest_made(skies) if tried and now - max(tried) <= ASKS else None
