"""The season line as the dispatcher asks it: until when a coat may be begun this season.

The line is the last day to begin the coat that must cure before frost. The coats before it
are worked back from it: each wait taken off, then back to a working day. Paint is not
bound by the line (weather decides it, day by day).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta

from curing.model.job import Job
from curing.model.system import Work
from curing.planning.expand import CoatWork, FaceWork
from curing.planning.season import latest_before, line_for, out_of_season, resumes_after
from curing.planning.worktime import Worktime

DAY = timedelta(days=1)


def wait_after(before: CoatWork, coat: CoatWork) -> int:
    """Return the least days from laying one coat to laying the next [d]."""
    tended = before.last_day + coat.dry_days + 1 if before.last_day else 0
    return max(coat.least_wait, tended)


@dataclass(slots=True)
class SeasonGate:
    """Last days by coat, worked out once each."""

    job: Job
    worktime: Worktime
    _last: dict[tuple[str, date], date] = field(default_factory=dict)
    _lines: dict[date, tuple[date, date | None]] = field(default_factory=dict)
    """Day → line of its season, and when work resumes if the day lies after the line."""

    def last_day(self, work: FaceWork, coat: CoatWork, crew: str, day: date) -> date | None:
        """Return the last day of this season for a coat, or None where the line does not bind it.

        Worked example: line 22 Sep, finish 13 days after the base: base by Thu 9 Sep 2027.
        """
        season = self.job.file.season
        if season is None or not work.outside:
            return None
        chain = work.coats[coat.index :]
        bound = next((k for k, one in enumerate(chain) if one.coat.season), None)
        if bound is None:
            return None
        line, _ = self._season(day)
        key = (coat.id, line)
        if key not in self._last:
            self._last[key] = self._back(chain[: bound + 1], line, crew)
        return self._last[key]

    def _back(self, chain: tuple[CoatWork, ...], line: date, crew: str) -> date:
        def works(day: date) -> bool:
            return self.worktime.off(crew, day) is None

        day = latest_before(line, works)
        for before, coat in zip(reversed(chain[:-1]), reversed(chain[1:]), strict=True):
            day = latest_before(day - wait_after(before, coat) * DAY, works)
        return day

    def binds(self) -> bool:
        """Tell whether work rests after the line; where the file is silent, faces are only warned about."""
        return self.job.file.season is not None and self.job.file.season.resumes is not None

    def closed_until(self, work: FaceWork, coat: CoatWork, crew: str, day: date) -> date | None:
        """Return the day on which work resumes if the season is over for this coat, else None.

        Only where the job file says when work resumes; without that, faces past the
        line are planned and warned about.
        """
        season = self.job.file.season
        if season is None or season.resumes is None or not work.outside or coat.coat.work is not Work.PLASTER:
            return None
        line, resumes = self._season(day)
        if resumes is not None:
            return resumes
        last = self.last_day(work, coat, crew, day)
        return resumes_after(season, line) if last is not None and day > last else None

    def _season(self, day: date) -> tuple[date, date | None]:
        season = self.job.file.season
        assert season is not None
        if day not in self._lines:
            self._lines[day] = (line_for(season, day), out_of_season(season, day))
        return self._lines[day]
