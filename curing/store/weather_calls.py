"""What a :class:`curing.store.store.Store` does with weather; each call is one transaction."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager
from datetime import datetime
from pathlib import Path

from sqlalchemy import Connection

from curing.model.past_hours import PastHour
from curing.store import weather
from curing.store.weather import MOST_RUNS, Asking, KeptRun


class WeatherCalls:
    """The part of a store that keeps weather."""

    database: Path
    _reading: Callable[[], AbstractContextManager[Connection]]
    _writing: Callable[[], AbstractContextManager[Connection]]

    def keep_run(self, run: KeptRun) -> bool:
        """Keep a forecast run; return whether it is a new one. See :func:`curing.store.weather.keep_run`."""
        with self._writing() as connection:
            return weather.keep_run(connection, self.database, run)

    def runs(self, site: str, until: datetime | None = None, most: int = MOST_RUNS) -> list[KeptRun]:
        """Return the runs of a site (root) that were known by an instant, the newest first."""
        with self._reading() as connection:
            return weather.runs(connection, self.database, site, until, most)

    def weather_head(self) -> tuple[int, str]:
        """Return what changes whenever weather came in or was asked for."""
        with self._reading() as connection:
            return weather.head(connection)

    def asking(self, site: str) -> Asking:
        """Return how asking about a site (root) stands."""
        with self._reading() as connection:
            return weather.asking(connection, site)

    def keep_asking(self, site: str, one: Asking) -> None:
        """Keep how asking about a site (root) stands."""
        with self._writing() as connection:
            weather.keep_asking(connection, site, one)

    def keep_hours(self, site: str, hours: Sequence[PastHour]) -> None:
        """Keep hours past of a site (root); the least lead wins."""
        with self._writing() as connection:
            weather.keep_hours(connection, site, hours)

    def past_hours(self, site: str, since: datetime, until: datetime | None = None) -> list[PastHour]:
        """Return the hours past of a site (root) that begin within a span."""
        with self._reading() as connection:
            return weather.hours(connection, self.database, site, since, until)
