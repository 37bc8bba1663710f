"""The reminders of some jobs, from when they begin until they are stopped: beside the pages, or alone."""

from __future__ import annotations

import logging
import threading
from types import TracebackType
from typing import Self

from curing import clock
from curing.model.people import Person
from curing.model.reminders import Outbox
from curing.remind.alive import Alive
from curing.remind.channels import open_channels
from curing.remind.scene import Scenes
from curing.remind.sender import Sender
from curing.remind.waking import EVERY, Reminding
from curing.sources.reminder_settings import Reminders
from curing.workflow.open_job import OpenJob
from curing.workflow.weather_look import WeatherLook

_log = logging.getLogger("curing.remind")


class Service:
    """Reminds the people of jobs while it is entered.

    Parameters
    ----------
    reminders
        The settings: channels, and the hours of a day's matters.
    every
        [s] between two looks.

    Raises
    ------
    UsageError
        A channel's secret or certificate can't be read: all that is wrong.

    Examples
    --------
    ``with Service(settings.reminders) as service: service.add(job, "https://walls.example.org")``
    """

    def __init__(self, reminders: Reminders, *, every: float = EVERY) -> None:
        self.channels = open_channels(reminders)
        self.evening, self.morning = reminders.evening, reminders.morning
        self._jobs: list[OpenJob] = []
        self._ended = threading.Lock()
        alive = Alive(reminders.alive, self._figures) if reminders.alive else None
        self._waking = Reminding(every=every, after=alive.tell if alive is not None else lambda well: None)

    def add(self, job: OpenJob, address: str = "") -> None:
        """Remind the people of one more job; from any thread.

        Parameters
        ----------
        address
            Where its pages are served; empty: messages have no link.
        """
        for person, names in self.not_set_up(job):
            _log.warning(
                "channels of a person are not set up", extra={"person": person.id, "channels": ", ".join(names)}
            )
        weather = WeatherLook(job)
        scenes = Scenes(job, address, evening=self.evening, morning=self.morning, weather_read=weather.read)
        self._jobs.append(job)
        self._waking.add(Sender(job, self.channels, scenes.compose, scenes.falls_due))

    def not_set_up(self, job: OpenJob) -> list[tuple[Person, tuple[str, ...]]]:
        """Return the people of a job who are told by channels that are not set up here, and those channels."""
        found = [(one, tuple(name for name in one.tell if name not in self.channels)) for one in job.job.file.people]
        return [(person, names) for person, names in found if names]

    def _figures(self) -> list[Outbox]:
        now = clock.now()
        return [job.store.outbox_figures(now) for job in list(self._jobs)]

    def __enter__(self) -> Self:
        """Begin."""
        self._waking.__enter__()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Stop, as :meth:`stop`."""
        self.stop()

    def stop(self) -> None:
        """Finish what is under way, and begin nothing more; a second time does nothing."""
        if self._ended.acquire(blocking=False):
            self._waking.__exit__(None, None, None)
