"""The curing record of one face: what was read, laid, tended, tested, decided, and what is open."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime

from curing.model.evidence import Evidence
from curing.model.job import Wall
from curing.model.plan import Booking, HoldState, State
from curing.model.record import RecordEntry, RecordKind
from curing.model.record_data import (
    Attendance,
    Batch,
    Inspection,
    MeterCheck,
    Probe,
    Weighing,
    Work,
    said,
)
from curing.planning.evidence import gather
from curing.planning.expand import CoatWork, FaceWork, expand
from curing.planning.panel_pass import DEPTH, deep_enough
from curing.planning.readiness import Laid, hold_state
from curing.planning.recorded_job import with_record
from curing.planning.worktime import local, zone_of
from curing.publish.record_parts import (
    CoatStory,
    FaceRecord,
    HoldStory,
    Mark,
    ReadingLine,
    WeighLine,
    late,
)
from curing.workflow.face_entries import entries_of
from curing.workflow.hold_stories import HoldStories
from curing.workflow.record_view import Seen
from curing.workflow.tending_told import Tended

IN_STEPS = (RecordKind.HOLD_MET, RecordKind.HOLD_REFUSED, RecordKind.RAIN_ON_IT, RecordKind.FINISHED)
"""What the steps of a hold point tell whole."""


def face_record(seen: Seen, face_id: str) -> FaceRecord:
    """Return the curing record of a face (id today)."""
    return _FaceRecord(seen, face_id).made()


@dataclass
class _FaceRecord:
    seen: Seen
    face_id: str

    def __post_init__(self) -> None:
        seen = self.seen
        self.wall: Wall = next(one for one in seen.job.file.walls if one.id == self.face_id.rpartition("-")[0])
        self.evidence: Evidence = gather(seen.job, seen.roots, seen.said.record, seen.said.decisions)
        self.works = works = expand(with_record(seen.job, self.evidence), seen.identity, seen.told)
        self.work: FaceWork | None = next((one for one in works if one.id == self.face_id), None)
        self.zone = zone_of(seen.job.site_of(self.wall).time_zone)
        self.today = local(self.zone, seen.now)[0]
        self.root = seen.roots.face_root(self.face_id)
        self.entries = entries_of(seen, self.face_id)
        keys = {one.key for one in self.entries}
        self.effective = [one for one in seen.standing.entries if one.key in keys]
        self.own = [one for one in self.effective if one.face == self.root]
        self.told: set[str] = set()
        """Keys of entries that some table tells."""
        self.stories = HoldStories(seen, self.evidence, self.wall)

    def made(self) -> FaceRecord:
        seen, wall, work = self.seen, self.wall, self.work
        coats = tuple(self._coats())
        holds = tuple(self._holds())
        readings, checks = tuple(self._readings()), self._of(MeterCheck)
        weighings = tuple(self._weighings())
        keys = {one.key for one in self.entries}
        steps = {step.entry for story in holds for step in story.steps}
        others = [
            one
            for one in self.effective
            if one.key not in self.told and not (one.kind in IN_STEPS and one.seq in steps)
        ]
        thickness = wall.panel.thickness if wall.panel else None
        system = work.system if work is not None else None
        return FaceRecord(
            job=seen.job.file.name,
            face=self.face_id,
            wall=wall.id,
            side=self.face_id.rpartition("-")[2],
            wall_name=wall.name,
            zone=self.zone.key,
            now=seen.now,
            facing=work.azimuth if work is not None and work.outside else None,
            area=work.face.area if work is not None else None,
            height=work.face.height if work is not None else None,
            system=system.id if system is not None else "",
            system_name=system.name if system is not None else "",
            thickness=thickness,
            filled=wall.panel.filled if wall.panel else None,
            coats=coats,
            holds=holds,
            limit=self._limit(),
            depth=DEPTH if thickness is None else min(DEPTH, thickness / 2),
            readings=readings,
            meter_checks=checks,
            weighings=weighings,
            entries=self.entries,
            others=tuple(others),
            corrected=tuple(pair for pair in seen.standing.corrected if pair[0].key in keys),
            shut=tuple(self._shut()),
            sound=self.evidence.checked.get(self.face_id, ()),
            unsound=self._unsound(),
            called=seen.called,
        )

    def _of(self, form: type) -> tuple[RecordEntry, ...]:
        found = tuple(one for one in self.effective if isinstance(said(one), form))
        self.told |= {one.key for one in found}
        return found

    # ------------------------------------------------------------------------------- coats

    def _coats(self) -> Iterator[CoatStory]:
        if self.work is None:
            return
        tended = Tended(self.seen, self.evidence, self.work, self.zone)
        closed = {coat.id: at for coat in self.work.coats if (at := self._closed(coat)) is not None}
        for place, coat in enumerate(self.work.coats):
            story = self._coat(coat, self.work.coats[place - 1] if place else None, closed)
            if coat.id in closed:
                over = next((closed[one.id] for one in self.work.coats[place + 1 :] if one.id in closed), None)
                tending, keys = tended.of(coat, closed[coat.id], over, self.own)
                self.told |= keys
                story = replace(story, tending=tending)
            yield story

    def _closed(self, coat: CoatWork) -> datetime | None:
        fact = self.evidence.done.get(coat.id)
        if fact is not None:
            return fact.at
        return coat.done.replace(tzinfo=self.zone) if coat.done is not None else None

    def _coat(self, coat: CoatWork, below: CoatWork | None, closed: Mapping[str, datetime]) -> CoatStory:
        fact, at = self.evidence.done.get(coat.id), closed.get(coat.id)
        works = [(one, data) for one in self.own if isinstance(data := said(one), Work) and data.task == coat.coat.id]
        finished = next((one for one, _ in works if fact is not None and one.key == fact.cause.key), None)
        begun = [one for one, _ in works if one.kind is RecordKind.STARTED and (at is None or one.at < at)]
        began = begun[-1] if begun else None
        if at is not None and fact is not None and fact.began is None:
            began = None
        days = {local(self.zone, one)[0] for one in (at, began.at if began else None) if one is not None}
        batches = tuple(one for one in self.own if self._is_batch(one, coat.coat.id, days))
        failed = tuple(
            one
            for one in self.own
            if one.kind is RecordKind.COULD_NOT
            and isinstance(data := said(one), Attendance)
            and data.slot is None
            and data.coat == coat.coat.id
        )
        self.told |= {one.key for one in (*batches, *failed, *(one for one in (finished, began) if one))}
        told_by = finished or began
        booking = self._booking(coat) if at is None else None
        wait = None
        if at is not None and below is not None and below.id in closed:
            wait = (local(self.zone, at)[0] - local(self.zone, closed[below.id])[0]).days
        least = coat.least_wait
        if below is not None and below.last_day:
            least = max(least, below.last_day + coat.dry_days + 1)
        return CoatStory(
            id=coat.coat.id,
            name=coat.coat.name,
            thickness=coat.thickness or None,
            laid=at,
            clock=finished is not None,
            began=began.at if began is not None else None,
            by=self.seen.called.person(told_by.by) if told_by is not None else "",
            entry=finished.seq if finished is not None else 0,
            began_entry=began.seq if began is not None else 0,
            received=finished.received if finished is not None and late(finished) else None,
            note=str(finished.data.get("note", "")) if finished is not None else "",
            batches=batches,
            below=below.coat.name if below is not None else "",
            wait=wait,
            least=least if below is not None else 0,
            greatest=coat.greatest_wait,
            booked=local(self.zone, booking.start)[0] if booking is not None else None,
            conditional=booking is not None and booking.state is State.CONDITIONAL,
            failed=failed,
            decisions=tuple(
                one
                for one in self.seen.said.decisions
                if one.data.get("face") == self.root and one.data.get("coat") == coat.coat.id
            ),
        )

    def _is_batch(self, entry: RecordEntry, coat: str, days: set[date]) -> bool:
        data = said(entry)
        if not isinstance(data, Batch) or entry.key in self.told:
            return False
        # Who does not say for which coat mixed for the one that was laid on that day.
        return data.task == coat or (not data.task and local(self.zone, entry.at)[0] in days)

    def _booking(self, coat: CoatWork) -> Booking | None:
        told = self.seen.told
        if told is None:
            return None
        then = next((face.id for face in told.faces if face.root == self.root), None)
        wanted = f"{then}.{coat.coat.id}"
        return next((one for one in told.bookings if one.id == wanted and one.state is not State.OFF), None)

    # ------------------------------------------------------------------------------- holds

    def _holds(self) -> Iterator[HoldStory]:
        points = self.stories.points
        if self.work is None:
            other = [coat for one in self.works if one.wall.id == self.wall.id for coat in one.coats]
            for hold, at in points.items():
                if at.point.task is not None and at.point.task.kind == "reading":
                    behind = next((coat for coat in other if hold in {one.id for one in coat.holds}), None)
                    yield replace(self._story(hold, behind), coat="", laid_shut=None)
            return
        for coat in self.work.coats:
            for point in coat.holds:
                yield self._story(point.id, coat)

    def _story(self, hold: str, coat: CoatWork | None) -> HoldStory:
        closed = self._closed(coat) if coat is not None else None
        day = local(self.zone, closed)[0] if closed is not None else None
        recorded = closed if coat is not None and coat.id in self.evidence.done else None
        return self.stories.story(hold, coat.coat.id if coat is not None else "", recorded, day, self.today)

    def _shut(self) -> Iterator[tuple[str, str, str]]:
        """Yield the holds that keep the next coat from being laid, if it came today or on its day."""
        work = self.work
        if work is None or (work.face.ended is not None and self.today >= work.face.ended):
            return
        coming = next((one for one in work.coats if one.done is None), None)
        if coming is None:
            return
        booking = self._booking(coming)
        on = max(self.today, local(self.zone, booking.start)[0]) if booking is not None else self.today
        laid = [Laid(one, one.done.date(), True, False) for one in work.coats[: coming.index] if one.done is not None]
        for hold in coming.holds:
            state = hold_state(hold, coming, on, self.today, laid)
            if state is not HoldState.MET:
                yield hold.point.id, hold.point.text, state.value

    # ---------------------------------------------------------------------------- readings

    def _limit(self) -> float | None:
        for at in self.stories.points.values():
            if at.point.task is not None and at.point.task.kind == "reading":
                return at.book.value("panel.wettest")
        return None

    def _readings(self) -> Iterator[ReadingLine]:
        limit, thickness = self._limit(), self.wall.panel.thickness if self.wall.panel else None
        for entry in self.effective:
            data = said(entry)
            if not isinstance(data, Probe) or entry.face is None:
                continue
            self.told.add(entry.key)
            mark = Mark.PASSES
            if limit is not None and data.wet > limit + 1e-9:
                mark = Mark.WET
            elif not deep_enough(data, thickness):
                mark = Mark.SHALLOW
            elif not self.stories.counts(entry, data):
                mark = Mark.UNCHECKED
            yield ReadingLine(entry, entry.face.rpartition("-")[2], data, mark)

    def _weighings(self) -> Iterator[WeighLine]:
        before: dict[str, tuple[datetime, float]] = {}
        for entry in self.effective:
            data = said(entry)
            if not isinstance(data, Weighing):
                continue
            self.told.add(entry.key)
            change = None
            if data.of in before and entry.at > before[data.of][0]:
                days = (entry.at - before[data.of][0]).total_seconds() / 86_400
                change = (data.weight - before[data.of][1]) / days
            before[data.of] = (entry.at, data.weight)
            yield WeighLine(entry, data, change)

    def _unsound(self) -> RecordEntry | None:
        looks = [(one, data) for one in self.own if isinstance(data := said(one), Inspection)]
        return looks[-1][0] if looks and not looks[-1][1].sound else None
