"""The jobs that are served: each open, watched for changes, and planned when something changed."""

from __future__ import annotations

import asyncio
import logging
import threading
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Protocol

from curing import clock
from curing.errors import CuringError, Problem, UsageError
from curing.model.links import TOKEN, Link
from curing.model.people import DECIDERS, Person, Role
from curing.model.reminders import Outbox
from curing.planning.worktime import local, zone_of
from curing.publish.reminder_rows import Sending
from curing.serve.planner import LONGEST_WAIT, QUIET, Outcome
from curing.serve.weather_watch import WeatherWatch
from curing.sources.weather_settings import WeatherSettings
from curing.workflow.open_job import OpenJob
from curing.workflow.reminders import sending
from curing.workflow.sight import Sight
from curing.workflow.weather_look import WeatherLook

LOOK_EVERY = 1.0
"""[s] How often the job file, and what other processes wrote, is looked at."""
TRY_AGAIN = 60.0
"""[s] A plan that could not be made is tried again after so long."""
OUTBOX_EVERY = 5.0
"""[s] How often it is looked how reminders stand; no page waits for that."""
FIRST_OUTBOX = 15.0
"""[s] The first time: a sender that starts beside the pages has looked by then."""
FETCHED_EVERY = 60.0
"""[s] How often it is kept when feeds were fetched."""

_log = logging.getLogger("curing.serve")


class Planner(Protocol):
    """Plans a job somewhere, without keeping anybody waiting."""

    async def plan(self, job_file: Path, state: Path) -> Outcome:
        """Plan a job and keep the plan."""

    def close(self) -> None:
        """End it."""


@dataclass(frozen=True)
class Beside:
    """Something that works on the same jobs beside the pages: the sender of reminders.

    Parameters
    ----------
    channels
        Names of its channels.
    evening, morning
        Local minutes of the summary, and from which day-long matters are told.
    add
        Takes a job up.
    stop
        Ends it; finishes what is under way.
    """

    channels: frozenset[str]
    evening: int
    morning: int
    add: Callable[[OpenJob], None]
    stop: Callable[[], None]


class Served:
    """One job that is served.

    Parameters
    ----------
    job
        The open job.
    planner
        What plans it.
    """

    def __init__(self, job: OpenJob, planner: Planner) -> None:
        self.job, self._planner = job, planner
        self.planned_at: datetime | None = None
        """When it was last planned without a fault."""
        self.planning = False
        self.waiting: tuple[Sight, int] | None = None
        """How many things wait for who decides, of the sight they were counted from."""
        self.outbox: Outbox | None = None
        """How reminders stood a few seconds ago; None: not looked at yet."""
        self.beside: Beside | None = None
        """The sender of reminders beside the pages; None: there is none, or another process is it."""
        self.weather = WeatherLook(job)
        """The weather of its sites, as far as some is kept."""
        self._wanted: float | None = None
        self._last: float = 0.0
        self._wake = asyncio.Event()
        self._hour: tuple[object, ...] = ()
        self._again: float | None = None
        self._loop: asyncio.AbstractEventLoop | None = None
        self._heads = job.sight().heads
        self._run = job.store.weather_head()[0]
        self._rereads = job.rereads

    @property
    def name(self) -> str:
        """File name of the job, for logs."""
        return self.job.job_file.name

    def want_plan(self) -> None:
        """Ask for a plan soon; many asks in a row make one plan."""
        now = asyncio.get_running_loop().time()
        self._wanted = self._wanted if self._wanted is not None else now
        self._last = now
        self._wake.set()

    def want_plan_soon(self) -> None:
        """As :meth:`want_plan`, from any thread."""
        if self._loop is not None:
            self._loop.call_soon_threadsafe(self.want_plan)

    async def keep_planned(self) -> None:
        """Plan whenever that was asked for, for ever."""
        loop = self._loop = asyncio.get_running_loop()
        while True:
            await self._wake.wait()
            while self._wanted is not None:
                due = min(self._last + QUIET, self._wanted + LONGEST_WAIT)
                if loop.time() >= due:
                    break
                await asyncio.sleep(due - loop.time())
            self._wanted = None
            self._wake.clear()
            await self._plan()

    async def _plan(self) -> None:
        self.planning = True
        try:
            self._again = None
            self._heads = await asyncio.to_thread(self.job.store.heads)  # what comes in meanwhile asks for another
            self._run = (await asyncio.to_thread(self.job.store.weather_head))[0]
            made = await self._planner.plan(self.job.job_file, self.job.state)
            if made.problems:
                await self._not_planned(made.problems)
            else:
                await asyncio.to_thread(self.job.planned, made.warnings, made.questions)
                self.planned_at = clock.now()
                _log.info("planned", extra={"job": self.name, "revision": made.revision, "new": made.saved})
        except CuringError as error:
            await self._not_planned(error.problems)
        except Exception as error:
            _log.exception("planning failed", extra={"job": self.name})
            text = f"planning broke ({type(error).__name__}), which is a fault of curing; its log says more; report it"
            await self._not_planned((Problem(None, text),))
        finally:
            self.planning = False

    async def _not_planned(self, problems: tuple[Problem, ...]) -> None:
        """Tell on every page why there is no new plan, and try again in a while: a disk is freed, a lock given up."""
        self._again = asyncio.get_running_loop().time() + TRY_AGAIN
        _log.warning("not planned", extra={"job": self.name, "why": str(problems[0])})
        try:
            await asyncio.to_thread(self.job.not_planned, problems)
        except CuringError as error:
            _log.error("not told", extra={"job": self.name, "why": str(error.problems[0])})

    async def keep_watch(self) -> None:
        """Look for edits of the job file, entries of other processes, and the turn of the hour, for ever."""
        kept, looked = 0.0, OUTBOX_EVERY - FIRST_OUTBOX
        while True:
            await asyncio.sleep(LOOK_EVERY)
            try:
                await self._look()
                kept += LOOK_EVERY
                if kept >= FETCHED_EVERY:
                    kept = 0.0
                    await asyncio.to_thread(self.job.keep_fetched)
                looked += LOOK_EVERY
                if looked >= OUTBOX_EVERY:
                    looked = 0.0
                    await asyncio.to_thread(self.look_at_outbox)
            except CuringError as error:
                _log.warning("looking failed", extra={"job": self.name, "why": str(error.problems[0])})
            except Exception:
                _log.exception("looking failed", extra={"job": self.name})

    def look_at_outbox(self) -> None:
        """Look how reminders stand, for the pages and whoever watches."""
        self.outbox = self.job.store.outbox_figures(clock.now())

    def reminding(self, now: datetime) -> Sending:
        """Return how reminders stand by the last look."""
        return sending(self.outbox or Outbox(), self.job.job.file.people, now)

    async def _look(self) -> None:
        await asyncio.to_thread(self.job.reread)
        if self.job.rereads != self._rereads:  # also where the sender beside the pages was the first to see it
            self._rereads = self.job.rereads
            _log.info("job file read again", extra={"job": self.name})
            self.want_plan()
        await asyncio.to_thread(self.job.read_links)  # another server of this job may have given or withdrawn some
        heads = await asyncio.to_thread(self.job.store.heads)
        if heads.revision != self.job.last_sight.heads.revision:
            await asyncio.to_thread(self.job.sight)  # another process planned: feeds follow
        if self._again is not None and asyncio.get_running_loop().time() >= self._again:
            self._again = None
            self.want_plan()
        run, _ = await asyncio.to_thread(self.job.store.weather_head)
        new = heads[1:] != self._heads[1:] or run != self._run  # a run of our own too: one way for whoever fetched it
        if new and self._wanted is None and not self.planning:
            self.want_plan()
        now = clock.now()
        hour = local(zone_of(self.job.job.file.sites[0].time_zone), now)
        turned = (hour[0], hour[1] // 60)
        # A day without a word, a visit that is missed, a coat that comes within three days or one of a run that
        # is against it: time itself changes the plan. So no mark of a forecast is seen more than an hour late.
        if turned != self._hour:
            if self._hour:
                self.want_plan()
            self._hour = turned


class House:
    """All jobs of one server, and whom a link belongs to."""

    def __init__(self, jobs: Sequence[OpenJob], planner: Planner) -> None:
        self.planner = planner
        self.jobs: list[Served] = []
        self._adding = threading.Lock()
        self._work: list[asyncio.Task[None]] = []
        self._loop: asyncio.AbstractEventLoop | None = None
        self._beside: Beside | None = None
        self._weather: WeatherSettings | None = None
        for job in jobs:
            self.add(job)

    def add(self, job: OpenJob) -> Served:
        """Serve one more job, also while the others are served already; from any thread.

        Raises
        ------
        UsageError
            Another job has its uid.
        """
        with self._adding:
            uid = job.job.file.uid
            other = next((one.job.job_file for one in self.jobs if one.job.job.file.uid == uid), None)
            if other is not None:
                raise UsageError(
                    f'{job.job_file}: uid: "{uid}" is also that of {other}; each job has its own: '
                    "give one of them a new one"
                )
            served = Served(job, self.planner)
            self.jobs = [*self.jobs, served]
            self._tell(served)
        if self._loop is not None:
            self._loop.call_soon_threadsafe(self._tend, served)
        return served

    def begin(self) -> None:
        """Plan all jobs and watch them from now on; in the loop that serves them."""
        self._loop = asyncio.get_running_loop()
        for served in self.jobs:
            self._tend(served)

    def _tend(self, served: Served) -> None:
        self._work += [asyncio.create_task(served.keep_planned()), asyncio.create_task(served.keep_watch())]
        self._ask_weather(served)
        served.want_plan()

    def beside(self, other: Beside) -> None:
        """Let a sender of reminders work beside the pages: on each job, also on those that come, until the end."""
        with self._adding:
            self._beside = other
            for served in self.jobs:
                self._tell(served)

    def watch_weather(self, settings: WeatherSettings) -> None:
        """Ask a weather service about all jobs from now on, also those that come; in the loop that serves them."""
        self._weather = settings
        if self._loop is not None:  # else all of it begins with the rest
            for served in self.jobs:
                self._ask_weather(served)

    def _ask_weather(self, served: Served) -> None:
        if self._weather is not None:
            self._work.append(asyncio.create_task(WeatherWatch(served.job, self._weather).keep()))

    def _tell(self, served: Served) -> None:
        if self._beside is not None:
            served.beside = self._beside
            self._beside.add(served.job)

    async def end(self) -> None:
        """Plan and watch no more, and close all jobs."""
        for task in self._work:
            task.cancel()
        if self._beside is not None:
            await asyncio.to_thread(self._beside.stop)  # before the jobs are closed: it still keeps what was sent
        await asyncio.gather(*self._work, return_exceptions=True)
        self.close()

    def visitor(self, token: str) -> Visitor | None:
        """Return who opens a page with a token; None where it never opened anything."""
        if not TOKEN.fullmatch(token):
            return None
        for served in self.jobs:
            link = served.job.link(token)
            if link is not None:
                return Visitor(served, link, token)
        return None

    def close(self) -> None:
        """Close all jobs."""
        self.planner.close()
        for served in self.jobs:
            with suppress(CuringError):
                served.job.close()


class Visitor:
    """Somebody with a link: the job, the person, and what he or she may do."""

    def __init__(self, served: Served, link: Link, token: str) -> None:
        self.served, self.link, self.token = served, link, token

    @property
    def revoked(self) -> bool:
        """Whether the link opens nothing any more."""
        return self.link.revoked is not None

    def person(self, sight: Sight) -> Person | None:
        """Return the person as the job file has it today; None for one who left it."""
        now = sight.roots.person_now(self.link.person)
        return next((one for one in sight.job.file.people if one.id == now), None)


def decides(person: Person) -> bool:
    """Tell whether a person opens holds and decides."""
    return any(role in person.roles for role in DECIDERS)


def only_reads(person: Person) -> bool:
    """Tell whether a person is a client and nothing else."""
    return bool(person.roles) and set(person.roles) == {Role.CLIENT}
