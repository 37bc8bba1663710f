"""The visits of a coat as they were asked for, and what was said of each."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from curing.model.evidence import Evidence
from curing.model.plan import Booking, Care, Slot, Visit
from curing.model.record import RecordEntry, RecordKind
from curing.model.record_data import Attendance, said
from curing.planning.expand import CoatWork, FaceWork
from curing.planning.said_of_rounds import Answer, Asked, asked
from curing.planning.worktime import local
from curing.publish.record_parts import Said, Tending, VisitCell, late
from curing.workflow.record_view import Seen

DAY = timedelta(days=1)
_SAID = {
    RecordKind.MISTED: Said.MISTED,
    RecordKind.DAMP: Said.DAMP,
    RecordKind.RAIN_ON_IT: Said.RAIN,
    RecordKind.COULD_NOT: Said.COULD_NOT,
}


class Tended:
    """Tells how the coats of a face were tended.

    Parameters
    ----------
    seen
        Job, record, and the plan people were told.
    evidence
        What the record comes to.
    work
        The face.
    zone
        Its time zone.
    """

    def __init__(self, seen: Seen, evidence: Evidence, work: FaceWork, zone: ZoneInfo) -> None:
        self.seen, self.evidence, self.work, self.zone = seen, evidence, work, zone
        self.rounds = self._rounds()

    def _rounds(self) -> list[Booking]:
        """Return the rounds people were told, their visits under the face's id of today."""
        told = self.seen.told
        if told is None:
            return []
        then = next((face.id for face in told.faces if face.root == self.work.root), None)
        return [
            replace(booking, visits=visits)
            for booking in told.rounds
            if (visits := tuple(self._today(one) for one in booking.visits if one.face == then))
        ]

    def _today(self, visit: Visit) -> Visit:
        rest = visit.id.removeprefix(visit.face)
        return replace(visit, face=self.work.id, id=f"{self.work.id}{rest}")

    def of(
        self, coat: CoatWork, closed: datetime, over: datetime | None, own: Iterable[RecordEntry]
    ) -> tuple[Tending | None, set[str]]:
        """Return the tending of a coat, and the keys of the entries it tells.

        Parameters
        ----------
        closed
            When the coat was closed.
        over
            When the coat over it was closed, if it is.
        own
            Entries of the face that hold.
        """
        laid = local(self.zone, closed)[0]
        end = local(self.zone, over)[0] if over is not None else None
        entries = {one.key: one for one in own}
        found: dict[str, Asked] = {}
        for one in asked(self.rounds, self.evidence, {coat.id: closed}, self.seen.now):
            there = one.visit.coat == coat.coat.id and one.day > laid and (end is None or one.day < end or one.tick)
            if there and (one.visit.id not in found or one.tick):
                found[one.visit.id] = one
        due = [one for one in found.values() if one.answer is not Answer.AHEAD]
        ahead = [one for one in found.values() if one.answer is Answer.AHEAD]
        cells = tuple(self._cell(one, coat, laid, entries) for one in due)
        told = {one.tick.cause.key for one in due if one.tick}
        extra, more = [], set()
        for entry in own:
            data = said(entry)
            if isinstance(data, Attendance) and data.coat == coat.coat.id and data.slot and entry.key not in told:
                extra.append(self._said(entry, data, coat, laid))
                more.add(entry.key)
        if not (cells or extra or ahead or coat.last_day):
            return None, set()
        today, days = local(self.zone, self.seen.now)[0], {one.day for one in (*cells, *extra)}
        unasked = tuple(
            number
            for number in range(1, coat.last_day + 1)
            if (day := laid + number * DAY) not in days and day < today and (end is None or day < end)
            and coat.times(number) and not any(one.day == day for one in ahead)
        )  # fmt: skip
        last = max((one.day for one in ahead), default=None)
        return Tending(coat.visits, cells, tuple(extra), len(ahead), last, unasked), told | more

    def _cell(self, one: Asked, coat: CoatWork, laid: date, entries: dict[str, RecordEntry]) -> VisitCell:
        entry = entries.get(one.tick.cause.key) if one.tick is not None else None
        if entry is not None:
            data = said(entry)
            assert isinstance(data, Attendance)
            return replace(self._said(entry, data, coat, laid), day=one.day)
        slot = one.booking.slot or Slot.EARLY
        what = Said.MISSED if one.answer is Answer.MISSED else Said.UNSAID
        return VisitCell((one.day - laid).days, one.day, slot, what)

    def _said(self, entry: RecordEntry, data: Attendance, coat: CoatWork, laid: date) -> VisitCell:
        day = data.day or local(self.zone, entry.at)[0]
        what = _SAID[entry.kind]
        if what is Said.MISTED and coat.coat.care is Care.AIR:
            what = Said.AIRED
        return VisitCell(
            number=(day - laid).days,
            day=day,
            slot=Slot(data.slot or "early"),
            said=what,
            at=entry.at,
            entry=entry.seq,
            by=self.seen.called.person(entry.by),
            why=data.why,
            received=entry.received if late(entry) else None,
        )
