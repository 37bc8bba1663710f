"""Looking one coat ahead: a face is opened only if its next coat can follow in time.

A base without its finish dries past its greatest wait, or stands bare over winter. So
before a coat is booked, a day is sought for the coat after it: inside the greatest wait,
by the season line, with room in the walks. The walks of that day are promised at once.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta

from curing.planning.expand import CoatWork, FaceWork
from curing.planning.season_gate import SeasonGate, wait_after
from curing.planning.walk_room import WalkRoom
from curing.planning.worktime import Worktime

DAY = timedelta(days=1)

Why = tuple[str, str]
Foreseen = tuple[FaceWork, CoatWork, date, str]
"""Face, coat, the day sought for it, crew."""


@dataclass(slots=True)
class Ahead:
    """Promises walks for coats to come."""

    room: WalkRoom
    gate: SeasonGate
    worktime: Worktime
    _foreseen: dict[str, Foreseen] = field(default_factory=dict)
    _labour: dict[tuple[str, date], float] = field(default_factory=dict)
    """(crew, day) → person-hours promised to coats to come."""
    _refused: dict[tuple[str, bool, int, int], tuple[date, int]] = field(default_factory=dict)
    """(site, high, coat's last day, wait) → day and least minutes of a visit that found no room that day."""

    def release(self, coat_id: str) -> Foreseen | None:
        """Take back and return what was promised for a coat, before it is tried itself."""
        foreseen = self._foreseen.pop(coat_id, None)
        if foreseen is not None:
            work, coat, day, crew = foreseen
            self.room.promise(work, coat, day, -1)
            self._labour[crew, day] -= coat.labour
        return foreseen

    def put_off(self, foreseen: Foreseen, tried: date) -> None:
        """Promise again for a coat that could not be laid on the day it was tried."""
        work, coat, day, crew = foreseen
        self._promise(work, coat, max(day, tried + DAY), crew)

    def refuses(self, work: FaceWork, coat: CoatWork, crew: str, day: date, *, alone: bool) -> Why | None:
        """Return why this coat should not be laid that day for the sake of its walks or the coat after it.

        ``alone``: people were told this day; it stays, and walks that nobody can take head the list.
        """
        if alone:
            return None
        full = self.room.full(work, coat, day)
        if full is not None:
            return ("walks", full.isoformat())
        after = self._next(work, coat)
        if after is None or after.greatest_wait is None:
            return None
        key = (work.site, not work.reachable, after.last_day, after.least_wait)
        before = self._refused.get(key)
        if before is not None and before[0] == day and after.visit_minutes >= before[1]:
            return ("walks", "")
        found, why = self._day_for(work, after, crew, day)
        if found is None and why == "walks":
            self._refused[key] = (day, after.visit_minutes)
        return None if found is not None else (why, "")

    def promise_next(self, work: FaceWork, coat: CoatWork, crew: str, day: date, *, kept: bool) -> None:
        """Promise the walks of the coat after one that was booked; not where its day stands already."""
        after = self._next(work, coat)
        if after is None or after.greatest_wait is None or kept:
            return
        found, _ = self._day_for(work, after, crew, day)
        if found is not None:
            self._promise(work, after, found, crew)

    def _promise(self, work: FaceWork, coat: CoatWork, day: date, crew: str) -> None:
        self._foreseen[coat.id] = (work, coat, day, crew)
        self.room.promise(work, coat, day)
        self._labour[crew, day] = self._labour.get((crew, day), 0.0) + coat.labour

    def _next(self, work: FaceWork, coat: CoatWork) -> CoatWork | None:
        return work.coats[coat.index + 1] if coat.index + 1 < len(work.coats) else None

    def _day_for(self, work: FaceWork, after: CoatWork, crew: str, day: date) -> tuple[date | None, str]:
        """Return a day for the coat after one laid on ``day``, or None and the cause."""
        before = work.coats[after.index - 1]
        first = day + wait_after(before, after) * DAY
        last = day + max(after.greatest_wait or 0, wait_after(before, after) + 7) * DAY
        line = self.gate.last_day(work, after, crew, day) if self.gate.binds() else None
        while first <= last:
            if line is not None and first > line:
                return None, "season"
            if self._crew_has(crew, first, after.labour) and self.room.full(work, after, first) is None:
                return first, ""
            first += DAY
        return None, "walks"

    def _crew_has(self, crew: str, day: date, labour: float) -> bool:
        """Tell whether a crew works that day and has the hours, beside what is promised already."""
        if self.worktime.off(crew, day) is not None:
            return False
        promised = self._labour.get((crew, day), 0.0)
        hours = sum(span[1] - span[0] for _, span in self.worktime.present(crew, day)) / 60.0
        return promised <= 0.0 or promised + labour <= hours
