"""The hold points of a wall from first to last: when each was met, refused, shut again, and on what it rested."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from curing.model.evidence import Cause, Evidence, HoldFact
from curing.model.job import Wall
from curing.model.record import RecordEntry
from curing.model.record_data import Probe, Trial, said
from curing.planning.hold_facts import CONCERNED, NEVER, HoldFacts, Point
from curing.planning.meters import meters_of
from curing.planning.panel_pass import is_mid
from curing.planning.worktime import local, zone_of
from curing.publish.record_parts import HoldStep, HoldStory, Turned
from curing.workflow.record_view import Seen

DAY = timedelta(days=1)


@dataclass(frozen=True)
class _Step:
    """A step with its instant; None where only the day is known."""

    at: datetime | None
    step: HoldStep


class HoldStories:
    """Replays the record of one wall.

    Parameters
    ----------
    seen
        Job and record.
    evidence
        What the record comes to.
    wall
        The wall.
    """

    def __init__(self, seen: Seen, evidence: Evidence, wall: Wall) -> None:
        self.seen, self.wall = seen, wall
        file = seen.job.file.model_copy(update={"walls": (wall,)})
        self.facts = HoldFacts(seen.job.model_copy(update={"file": file}), seen.roots, evidence.done, self._cause)
        self.points: Mapping[str, Point] = {one.id: one for one in self.facts.points()}
        self.meters = meters_of(seen.standing.entries)
        self._zone = zone_of(seen.job.site_of(wall).time_zone)
        self._numbers = {entry.key: entry.seq for entry in seen.said.record}
        self._of_wall: list[RecordEntry] = []
        self._of_face: dict[str, list[RecordEntry]] = {}
        self._of_job: list[RecordEntry] = []
        for entry in seen.standing.entries:
            self._sort(entry)
        self._turns = self._replay()

    def _sort(self, entry: RecordEntry) -> None:
        if entry.kind not in CONCERNED:
            return
        face = self.seen.roots.face_now(entry.face) if entry.face is not None else None
        root = entry.data.get("wall")
        if entry.face is None and not root:
            self._of_job.append(entry)
        elif face is not None and face.rpartition("-")[0] == self.wall.id:
            self._of_wall.append(entry)
            self._of_face.setdefault(face, []).append(entry)
        elif entry.face is None and self.seen.roots.walls_now.get(str(root)) == self.wall.id:
            self._of_wall.append(entry)

    def _cause(self, entry: RecordEntry) -> Cause:
        note = str(entry.data.get("note") or "")
        by = self.seen.called.person(entry.by)
        day, _ = local(self._zone, entry.at)
        return Cause(entry.key, str(entry.kind), entry.at, entry.by, by, day, "", note)

    def _replay(self) -> dict[str, list[HoldFact]]:
        """Return hold id → the facts it came to, one after the other."""
        corrected = [pair for pair in self.seen.standing.corrected if pair[0].kind in CONCERNED]
        every = [*self._of_wall, *self._of_job, *(entry for entry, _ in corrected)]
        turns: dict[str, list[HoldFact]] = {}
        for at in sorted({entry.at for entry in every}):
            facts, _ = self.facts.all(
                {self.wall.id: _until(self._of_wall, at)},
                {face: _until(listed, at) for face, listed in self._of_face.items()},
                _until(self._of_job, at),
                [pair for pair in corrected if pair[0].at <= at],
            )
            for hold, fact in facts.items():
                before = turns.setdefault(hold, [])
                if not before or before[-1] != fact:
                    before.append(fact)
        return turns

    def story(self, hold: str, coat: str, laid: datetime | None, laid_day: date | None, today: date) -> HoldStory:
        """Return the story of a hold before a coat.

        Parameters
        ----------
        hold
            Its id, where it stands.
        laid, laid_day
            When the coat was closed, as instant and local day; None while it is not.
        today
            Local day.
        """
        at = self.points[hold]
        steps = [*self._from_file(at), *(self._step(at, fact) for fact in self._turns.get(hold, ()))]
        shut = laid_day if laid_day is not None and not _open_at(steps, laid, laid_day) else None
        return HoldStory(
            at.point.id, at.point.text, coat, tuple(self._with_lapses(steps, laid_day or today)), laid_shut=shut
        )

    def counts(self, entry: RecordEntry, data: Probe) -> bool:
        """Tell whether the meter of a reading was found true, by what is known today; so where no hold asks."""
        for at in self.points.values():
            if at.point.task is not None and at.point.task.kind == "reading":
                return self.facts.counts(at, entry, data, self.seen.now, self.meters)
        return True

    def _from_file(self, at: Point) -> list[_Step]:
        wall = at.wall.holds if at.wall is not None else {}
        face = at.face.holds if at.face is not None else {}
        entry = face.get(at.point.id) or wall.get(at.point.id) or self.seen.job.file.holds.get(at.point.id)
        if entry is None:
            return []
        by = next((one.name for one in self.seen.job.file.people if one.id == entry.by), entry.by)
        if entry.met is not None:
            to = self._counts_to(at, entry.met)
            return [_Step(None, HoldStep(Turned.MET, entry.met, by, note=entry.note, counts_to=to))]
        if entry.refused is not None:
            return [_Step(None, HoldStep(Turned.REFUSED, entry.refused, by, note=entry.note))]
        return []

    def _counts_to(self, at: Point, met: date) -> date | None:
        lapse = self.facts.lapse(at)
        return None if lapse == NEVER else met + lapse * DAY

    def _step(self, at: Point, fact: HoldFact) -> _Step:
        cause = fact.cause
        assert cause.day is not None
        what = Turned.REFUSED if fact.refused else Turned(fact.shut.value) if fact.shut else Turned.MET
        step = HoldStep(what, cause.day, cause.name, self._numbers.get(cause.key, 0), note=cause.note)
        if fact.met is not None:
            rests = self._rests(at, cause.at)
            worst = max((data.wet for one in rests if isinstance(data := said(one), Probe)), default=None)
            step = replace(
                step,
                rests=tuple(sorted(one.seq for one in rests)),
                worst=worst,
                counts_to=self._counts_to(at, fact.met),
            )
        return _Step(cause.at, step)

    def _rests(self, at: Point, when: datetime) -> list[RecordEntry]:
        """Return the readings or tests that spoke for a hold at an instant: the last of each place or test."""
        task = at.point.task
        if task is None or at.wall is None:
            return []
        last: dict[object, RecordEntry] = {}
        thickness = self.wall.panel.thickness if self.wall.panel else None
        listed = self._of_face.get(at.face_id, []) if at.face is not None else self._of_wall
        if task.kind == "reading":
            meters = meters_of(_until(self.seen.standing.entries, when))
            oldest = self.facts.judgement(at, _until(listed, when), when, meters).oldest
        for entry in sorted(_until(listed, when), key=lambda one: one.order):
            data = said(entry)
            if task.kind == "reading" and isinstance(data, Probe) and entry.face is not None:
                if oldest is not None and entry.at >= oldest and self.facts.counts(at, entry, data, when, meters):
                    last[entry.face, data.band, is_mid(data, thickness)] = entry
            elif isinstance(data, Trial) and data.test in task.needs:
                last[data.test] = entry
        return list(last.values())

    def _with_lapses(self, steps: Sequence[_Step], over: date) -> Iterable[HoldStep]:
        """Yield the steps, and a lapse where a pass ran out before anything else happened to the hold."""
        for place, one in enumerate(steps):
            yield one.step
            to = one.step.counts_to
            until = steps[place + 1].step.day if place + 1 < len(steps) else over
            if to is not None and min(until, over) > to >= one.step.day:
                yield HoldStep(Turned.LAPSED, to + DAY)


def _until(entries: Iterable[RecordEntry], at: datetime) -> list[RecordEntry]:
    return [one for one in entries if one.at <= at]


def _open_at(steps: Sequence[_Step], laid: datetime | None, day: date) -> bool:
    """Tell whether a hold stood open when a coat was laid."""
    before = [
        one.step
        for one in steps
        if (one.at <= laid if one.at is not None and laid is not None else one.step.day <= day)
    ]
    if not before or before[-1].what is not Turned.MET:
        return False
    return before[-1].counts_to is None or before[-1].counts_to >= day
