"""How far each face has come while the dispatcher goes through the days."""

from __future__ import annotations

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
    causes: dict[date, tuple[str, str]] = field(default_factory=dict)
    """Day → why the coat could not be laid then, where it was not for want of a crew."""

    @property
    def next(self) -> CoatWork | None:
        """The coat to lay next, or None."""
        coats = self.work.coats
        return coats[len(self.laid)] if len(self.laid) < len(coats) else None

    def skipped(self, since: date, until: date, worktime: Worktime) -> tuple[Skipped, ...]:
        """Return the days in [since, until) that were not used, counted by cause; holidays by name."""
        counts: dict[tuple[str, str], Skipped] = {}
        day = since
        while day < until:
            off = worktime.off(self.crews[0].id, day)
            if off is not None:
                cause, detail = off.cause.value, off.detail
            else:
                cause, detail = self.causes.get(day, ("crew", self.crews[0].name))
            key = (cause, detail if off is not None and off.cause is Cause.HOLIDAY else "")
            before = counts.get(key)
            counts[key] = Skipped(cause, (before.days if before else 0) + 1, detail)
            day += DAY
        return tuple(counts.values())


@dataclass(slots=True)
class Draft:
    """What the dispatcher made."""

    coats: list[Booking] = field(default_factory=list)
    looks: list[Booking] = field(default_factory=list)
    rounds: list[Booking] = field(default_factory=list)
    boards: dict[date, DayBoard] = field(default_factory=dict)
    broke: dict[str, tuple[Skipped, ...]] = field(default_factory=dict)
    """Coat id → why it could not keep the day it had."""
