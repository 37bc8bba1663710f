"""How far each face has come while the dispatcher goes through the days."""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from dataclasses import dataclass, field
from datetime import date, timedelta

from curing.model.job import Crew
from curing.model.plan import Booking, Skipped
from curing.planning.expand import CoatWork, FaceWork
from curing.planning.least_change import Kept
from curing.planning.placing import DayBoard
from curing.planning.readiness import Laid, Ready
from curing.planning.worktime import Cause, Worktime

DAY = timedelta(days=1)


@dataclass(slots=True, eq=False)
class Standing:
    """One face: its coats so far, and what holds the next one."""

    work: FaceWork
    crews: list[Crew]
    """Crews that may lay it, in the job file's order."""
    laid: list[Laid] = field(default_factory=list)
    waiting: Ready | None = None
    keeps: Kept | None = None
    """Place in the parent plan that the next coat is to keep."""
    due: date = date.max
    labour: float = 0.0
    """[person-hours] of the next coat."""
    causes: dict[str, Skipped] = field(default_factory=dict)
    """Working days on which the coat could not be laid for another cause than want of a crew."""

    @property
    def next(self) -> CoatWork | None:
        """The coat to lay next, or None."""
        coats = self.work.coats
        return coats[len(self.laid)] if len(self.laid) < len(coats) else None

    def refused(self, cause: str, detail: str) -> None:
        """Count a working day on which the coat could not be laid."""
        before = self.causes.get(cause)
        self.causes[cause] = Skipped(cause, (before.days if before else 0) + 1, detail)

    def skipped(self, since: date, until: date, off: OffDays) -> tuple[Skipped, ...]:
        """Return the days in [since, until) that were not used, by cause; holidays by name."""
        found = off.between(since, until)
        counted = [*found, *self.causes.values()]
        full = (until - since).days - sum(one.days for one in counted)
        if full > 0:
            counted.insert(0, Skipped("crew", full, self.crews[0].name))
        return tuple(counted)


@dataclass(slots=True)
class OffDays:
    """Days off of one crew, counted once and looked up often."""

    crew: str
    worktime: Worktime
    first: date
    _days: list[tuple[date, Cause, str]] = field(default_factory=list)
    _known: date | None = None

    def between(self, since: date, until: date) -> list[Skipped]:
        """Return the days off in [since, until) by cause; holidays by name."""
        day = self._known or self.first
        while day < until:
            off = self.worktime.off(self.crew, day)
            if off is not None:
                self._days.append((day, off.cause, off.detail if off.cause is Cause.HOLIDAY else ""))
            day += DAY
        self._known = day
        low, high = (bisect_left(self._days, edge, key=lambda one: one[0]) for edge in (since, until))
        counts = Counter((cause.value, detail) for _, cause, detail in self._days[low:high])
        return [Skipped(cause, days, detail) for (cause, detail), days in counts.items()]


@dataclass(slots=True)
class Draft:
    """What the dispatcher made."""

    coats: list[Booking] = field(default_factory=list)
    looks: list[Booking] = field(default_factory=list)
    rounds: list[Booking] = field(default_factory=list)
    boards: dict[date, DayBoard] = field(default_factory=dict)
    broke: dict[str, tuple[Skipped, ...]] = field(default_factory=dict)
    """Coat id → why it could not keep the day it had."""
