"""What readings and tests of a hold come to at an instant: whether somebody may open it on them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from curing.model.evidence import Closed, Shut
from curing.model.job import Face, Job, Wall
from curing.model.record import RecordEntry, RecordKind
from curing.model.record_data import SET_IN_FRAME, Probe, Trial, Work, said
from curing.model.system import HoldPoint, RuleBook
from curing.planning.meters import Meters
from curing.planning.panel_pass import Judgement, Read, judge
from curing.planning.worktime import local, zone_of

NEVER = 36_500
"""[d] A reading of a hold without a lapse counts for good."""


@dataclass(frozen=True, slots=True)
class Point:
    """A hold point where it stands: of the job, a wall or a face."""

    id: str
    point: HoldPoint
    wall: Wall | None
    face: Face | None
    book: RuleBook
    """Rules of the first face behind it."""

    @property
    def face_id(self) -> str:
        """Id of its face; empty for a hold of a wall or the job."""
        return "" if self.face is None or self.wall is None else f"{self.wall.id}-{self.face.side.value}"


class HoldPasses:
    """Judges readings and tests.

    Parameters
    ----------
    job
        The job as its file says it.
    done
        Coats that the record says are done.
    """

    def __init__(self, job: Job, done: Mapping[str, Closed]) -> None:
        self.job, self.done = job, done
        self._zones = {wall.id: zone_of(job.site_of(wall).time_zone) for wall in job.file.walls}

    def judgement(
        self, at: Point, listed: Iterable[RecordEntry], when: datetime, meters: Meters, known: datetime | None = None
    ) -> Judgement:
        """Return what the readings of a wall come to at an instant.

        A meter that was not found to read true has no say, unless what it reads is wet; nor has a side that
        is coated by then.

        Parameters
        ----------
        known
            Checks of meters after this instant have no say; None: after ``when``.
        """
        assert at.wall is not None
        wall, coated = at.wall, self._coated(at.wall, when)
        reads, since, wettest = [], None, at.book.value("panel.wettest")
        for entry in sorted(listed, key=lambda one: one.order):
            if entry.at > when:
                continue
            data = said(entry)
            if isinstance(data, Probe) and entry.face is not None:
                side = entry.face.rpartition("-")[2]
                wet = data.wet > wettest + 1e-9
                if side not in coated and (wet or self.counts(at, entry, data, known or when, meters)):
                    reads.append(Read(entry.at, side, data, entry.key))
            elif self._wets(wall, entry) is not None:
                since = entry.at
        return judge(
            reads,
            when,
            self._bare(wall, when),
            thickness=wall.panel.thickness if wall.panel else None,
            wettest=wettest,
            lapse=self.lapse(at),
            since=since,
        )

    def counts(self, at: Point, entry: RecordEntry, data: Probe, known: datetime, meters: Meters) -> bool:
        """Tell whether the meter of a reading was found true, by what is known at an instant."""
        return meters.counts(data.meter, entry.at, known, at.book.value("panel.meter_within", 2.0))

    def lapse(self, at: Point) -> int:
        """Return for how many days a reading counts."""
        return math.ceil(at.book.value(at.point.lapses)) if at.point.lapses else NEVER

    def _passes(self, at: Point, listed: Iterable[RecordEntry], when: datetime, meters: Meters) -> bool:
        """Tell whether the readings or tests that a hold asks for have passed at an instant."""
        task = at.point.task
        if task is None:
            return True
        before = [one for one in listed if one.at <= when]
        if task.kind == "reading":
            return self.judgement(at, before, when, meters).passes
        return not self.missing_tests(at, before, when)

    def missing_tests(self, at: Point, listed: Iterable[RecordEntry], when: datetime) -> tuple[str, ...]:
        """Return the tests that a hold asks for and that have not passed since the coat it judges was laid."""
        task = at.point.task
        assert task is not None
        laid = self._closed(at)
        if at.point.judges and laid is None:
            return tuple(task.needs)
        last: dict[str, Trial] = {}
        for entry in sorted(listed, key=lambda one: one.order):
            data = said(entry)
            if isinstance(data, Trial) and entry.at <= when and (laid is None or entry.at >= laid):
                last[data.test] = data
        return tuple(name for name in task.needs if name not in last or not last[name].passed)

    def _closed(self, at: Point) -> datetime | None:
        """Return when the coat that a hold judges was closed, by the record or the job file."""
        recorded = self.done.get(f"{at.face_id}.{at.point.judges}")
        if recorded is not None:
            return recorded.at
        told = at.face.done.get(at.point.judges) if at.face is not None else None
        return told.replace(tzinfo=self._zones[at.wall.id]) if told is not None and at.wall is not None else None

    def _counts_to(self, at: Point, listed: Iterable[RecordEntry], when: datetime, meters: Meters) -> date:
        """Return the last day on which what passed at an instant does so."""
        if not at.point.lapses:
            return date.max
        day = local(self._zone(at), when)[0]
        return self._counts_from(at, listed, when, day, meters) + timedelta(days=self.lapse(at))

    def _counts_from(self, at: Point, listed: Iterable[RecordEntry], when: datetime, day: date, meters: Meters) -> date:
        """Return the day from which a pass is counted: that of its oldest reading."""
        if at.point.task is None or at.point.task.kind != "reading" or at.wall is None:
            return day
        oldest = self.judgement(at, listed, when, meters).oldest
        return local(self._zones[at.wall.id], oldest)[0] if oldest is not None else day

    def _shuts(self, at: Point, entry: RecordEntry, data: object) -> Shut | None:
        """Return why an entry shuts a hold that was met, or None."""
        task = at.point.task
        if task is not None and task.kind == "reading" and at.wall is not None:
            if isinstance(data, Probe) and data.wet > at.book.value("panel.wettest") + 1e-9:
                return Shut.READING
            return self._wets(at.wall, entry)
        if task is not None and isinstance(data, Trial) and data.test in task.needs and not data.passed:
            return Shut.TEST
        return None

    def _wets(self, wall: Wall, entry: RecordEntry) -> Shut | None:
        """Return why a panel must be read again after an entry: rain on a bare side, or setting it in the frame."""
        if entry.kind is RecordKind.RAIN_ON_IT and entry.face is not None:
            return Shut.RAIN if entry.face.rpartition("-")[2] in self._bare(wall, entry.at) else None
        data = said(entry) if entry.kind is RecordKind.FINISHED else None
        return Shut.SET if isinstance(data, Work) and data.task == SET_IN_FRAME else None

    def _bare(self, wall: Wall, when: datetime) -> tuple[str, ...]:
        """Return the sides of a panel that must be read, since they had no coat yet at an instant.

        Once every side from which it is read is coated, the others that get a coat are read.
        """
        coated = self._coated(wall, when)
        sides = [side.value for side in (wall.panel.read if wall.panel else ())] or ["out", "in"]
        bare = tuple(side for side in sides if side not in coated)
        return bare or tuple(face.side.value for face in wall.faces if face.side.value not in coated)

    def _coated(self, wall: Wall, when: datetime) -> set[str]:
        """Return the sides of a panel that had a coat at an instant."""
        zone = self._zones[wall.id]
        coated = set()
        for face in wall.faces:
            face_id = f"{wall.id}-{face.side.value}"
            laid = [closed.at for coat, closed in self.done.items() if coat.rpartition(".")[0] == face_id]
            laid += [one.replace(tzinfo=zone) for one in face.done.values()]
            if any(one <= when for one in laid):
                coated.add(face.side.value)
        return coated

    def _zone(self, at: Point) -> ZoneInfo:
        return self._zones[at.wall.id] if at.wall is not None else zone_of(self.job.file.sites[0].time_zone)
