"""Room in the walks of coming days: a coat is not laid that nobody could look after.

Labour is the scarce thing. Before a coat is booked, the minutes of its visits are
laid on those already promised; where that is more than the people who mist have, the
coat waits. A day on which nobody mists at all does not hold it back: its rounds are
planned with nobody named and head every list.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta

from curing.model.job import Job, Reach, Role
from curing.planning.expand import CoatWork, FaceWork
from curing.planning.worktime import Worktime

CREW_SHARE = 0.5
"""At most half of a crew member's working day goes into walks (common practice, no source)."""

DAY = timedelta(days=1)


@dataclass(slots=True)
class WalkRoom:
    """Minutes of visits promised, and minutes that people have, a site and day."""

    job: Job
    worktime: Worktime
    promised: dict[tuple[str, date, bool], int] = field(default_factory=dict)
    """(site, day, whether a scaffold is needed) → [min]"""
    _has: dict[tuple[date, bool], int] = field(default_factory=dict)

    def promise(self, work: FaceWork, coat: CoatWork, laid: date, sign: int = 1, *, since: date = date.min) -> None:
        """Add (or, with ``sign`` -1, take back) the visits of a coat laid on a day."""
        for k in range(1, coat.last_day + 1):
            day = laid + k * DAY
            if day < since:
                continue
            minutes = sign * coat.visit_minutes * coat.times(k)
            for high in (False, True) if not work.reachable else (False,):
                key = (work.site, day, high)
                self.promised[key] = self.promised.get(key, 0) + minutes

    def full(self, work: FaceWork, coat: CoatWork, laid: date) -> date | None:
        """Return the first day whose walks could not take this coat's visits, or None."""
        high = not work.reachable
        for k in range(1, coat.last_day + 1):
            day = laid + k * DAY
            already = self.promised.get((work.site, day, high), 0)
            if already <= 0:
                continue
            has = self.has(day, high)
            if has > 0 and already + coat.visit_minutes * coat.times(k) > has:
                return day
        return None

    def has(self, day: date, high: bool) -> int:
        """Return the minutes that people have for walks on a day [min]; ``high``: with a scaffold only."""
        key = (day, high)
        if key not in self._has:
            self._has[key] = sum(self._person(person.id, day, high) for person in self.job.file.people)
        return self._has[key]

    def _person(self, person_id: str, day: date, high: bool) -> int:
        person = next(p for p in self.job.file.people if p.id == person_id)
        hours = self.worktime.hours(person_id, day)
        if Role.MISTS not in person.roles or hours is None:
            return 0
        crew = self.worktime.crew_of(person_id)
        if high and (crew is None or person.reach is not Reach.SCAFFOLD):
            return 0
        minutes = hours[1] - hours[0]
        limit = self.worktime.longest_round(person_id, day)
        if limit is not None:
            minutes = min(minutes, 2 * limit)
        if crew is not None and self.worktime.off(crew.id, day) is None:
            minutes = min(minutes, int((hours[1] - hours[0]) * CREW_SHARE))
        return minutes
