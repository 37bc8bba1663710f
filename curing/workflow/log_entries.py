"""From a line of the log to entries of the record: names are looked up in the job and its plan."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import get_args

from curing.errors import UsageError
from curing.model.plan import Booking, Slot, Visit
from curing.model.quantities import clip, parse
from curing.model.record_data import (
    DROP_SECONDS,
    SET_IN_FRAME,
    TRIALS,
    Attendance,
    Band,
    Batch,
    Correction,
    Cover,
    Inspection,
    Instead,
    MeterCheck,
    PassedOn,
    Probe,
    Text,
    Trial,
    Verdict,
    Weighing,
    Work,
)
from curing.planning.worktime import local, zone_of
from curing.sources.log_line import Line, read_line
from curing.sources.said_text import said_reason, said_text
from curing.workflow.log_lookup import Lookup, Said

SLOTS = tuple(slot.value for slot in Slot)
COVERS = ("cloth", "sheet", "frost", "winter")
NOON = 12


@dataclass(frozen=True)
class Reader(Lookup):
    """Reads lines of the log for one job, person and instant."""

    def read(self, line: Line) -> list[Said]:
        """Return what a line says, one thing after another.

        Raises
        ------
        UsageError
            A name in it is not of the job, something is missing, or is said twice.
        """
        if self.note.strip():
            try:
                said_text(self.note)
            except ValueError as error:
                raise UsageError(f"--note: {error}") from None
        if line.what in ("started", "finished"):
            found = self._work(line)
        elif line.what in ("misted", "damp", "rain", "could-not"):
            found = self._visits(line)
        else:
            found = _WAYS[line.what](self, line)
        if any(one in found[:number] for number, one in enumerate(found)):
            raise UsageError(f'{line.what}: "{clip(" ".join(line.names))}" names one thing twice; name each once')
        return found

    # -- coats and visits -----------------------------------------------------------------

    def _work(self, line: Line) -> list[Said]:
        *places, task = line.names or ("",)
        if not places:
            raise self.form(line, "face and coat are not said" if not task else "the coat or the face is not said")
        if task == SET_IN_FRAME:
            walls = [self.wall(name, line) for name in places]
            return [
                Said(line.kind, self.when(wall), None, self.made(Work, task=task, wall=self.desk.roots.walls[wall.id]))
                for wall in walls
            ]
        found = [self.face(name, line) for name in places]
        return [Said(line.kind, self.when(w), self.root(f), self.made(Work, task=task)) for f, w, _ in found]

    def _visits(self, line: Line) -> list[Said]:
        names = list(line.names)
        slot = names.pop() if names and names[-1] in SLOTS else None
        if line.what == "could-not" and slot is None and len(names) >= 2:
            return self._could_not_lay(line, names[:-1], names[-1])
        if line.what == "rain" and slot is None and names:
            return [self._attended(line, name, "", None, None) for name in names]
        if names:
            return [self._visit(line, name, slot) for name in names]
        return self._round(line, slot)

    def _could_not_lay(self, line: Line, places: list[str], coat: str) -> list[Said]:
        found = []
        for name in places:
            face_id, wall, _ = self.face(name, line)
            today = local(self.zone(wall), self.when(wall))[0]
            booked = self.desk.booked.get(f"{face_id}.{coat}")
            day = line.values.get("day") or (booked if booked is not None and booked <= today else today)
            found.append(self._attended(line, name, coat, day, None))
        return found

    def _visit(self, line: Line, name: str, slot: str | None) -> Said:
        face_id, wall, face = self.face(name, line)
        at = self.when(wall)
        day, _ = local(self.zone(wall), at)
        day = line.values.get("day") or day
        part = slot or ("early" if at.astimezone(self.zone(wall)).hour < NOON else "late")
        # Visits begin the day after laying: what was tended on a day is the last coat closed before it.
        morning = datetime.combine(day, time(), self.zone(wall))
        coat = self.desk.top_coat(face_id, face, morning) or self.desk.top_coat(face_id, face)
        if not coat:
            coat = self.job.systems[face.system].coats[0].id
        return self._attended(line, name, coat, day, part)

    def _attended(self, line: Line, name: str, coat: str, day: date | None, slot: str | None) -> Said:
        face_id, wall, _ = self.side(name, line)
        data = self.made(Attendance, coat=coat, day=day, slot=slot, why=line.values.get("why", ""))
        return Said(line.kind, self.when(wall), self.root(face_id), data)

    def _rounds(self, day: date, slot: str | None) -> list[Booking]:
        if self.plan is None:
            return []
        return [
            walk
            for walk in self.plan.rounds
            if local(zone_of(walk.zone), walk.start)[0] == day and (slot is None or walk.slot == slot)
        ]

    def _round(self, line: Line, slot: str | None) -> list[Said]:
        """Return an entry for each face of the round that the person has, or that was named and is the only one."""
        day = line.values.get("day") or local(self.zone(None), self.when(None))[0]
        walks = self._rounds(day, slot)
        theirs = [walk for walk in walks if self.by in walk.who]
        if slot is None and len(theirs) > 1:
            theirs = [walk for walk in theirs if any(v.id not in self.desk.evidence.visits for v in walk.visits)][:1]
        if not theirs and slot is not None and len(walks) == 1:
            theirs = walks  # whoever walked it says so; with several walks, which one it was is not plain
        if not theirs:
            part = f"{slot} round" if slot else "round"
            others = ", ".join(
                f"{walk.slot} {', '.join(walk.who) or 'nobody'} ({' '.join(walk.faces)})" for walk in walks
            )
            there = f"the rounds of that day: {others}" if others else "no round is planned for that day"
            raise UsageError(f'{line.what}: "{self.by}" has no {part} on {day}; {there}; name the faces that were done')
        left = [(walk, visit) for walk in theirs for visit in walk.visits if visit.id not in self.desk.evidence.visits]
        # What was to be misted only if it is laid, and is not, keeps nobody from ticking the rest.
        due = [(walk, visit) for walk, visit in left if self._due(visit, day)]
        return [
            self._attended(line, visit.face, visit.coat, day, walk.slot.value if walk.slot else None)
            for walk, visit in due or left
        ] or [self._nothing_left(line, day)]

    def _due(self, visit: Visit, day: date) -> bool:
        """Tell whether the coat of a visit was closed before that day."""
        found = next((one for one in self.job.faces() if one[0] == visit.face), None)
        closed = self.desk.closed(visit.face, found[2], visit.coat) if found else None
        return found is not None and closed is not None and local(self.zone(found[1]), closed)[0] < day

    def _nothing_left(self, line: Line, day: date) -> Said:
        raise UsageError(
            f"{line.what}: every face of that round of {day} has an answer; to change one: curing log correct"
        )

    # -- readings and tests ---------------------------------------------------------------

    def _reading(self, line: Line) -> list[Said]:
        if len(line.names) != 1:
            raise self.form(line, "one side is read at a time, such as 5-out")
        face_id, wall, _ = self.side(line.names[0], line)
        values = line.values
        bands: list[Band] = [band for band in get_args(Band) if band in values]
        if not bands:
            raise self.form(line, f"{face_id}: no height is said; the bottom dries last, so say low=, middle= and top=")
        meters = {one.id: one for one in self.job.file.meters}
        meter = values.get("meter") or (next(iter(meters)) if len(meters) == 1 else "")
        if not meter:
            which = f"one of {', '.join(meters)}" if meters else "first add it to the job file, under meters"
            raise self.form(line, f"{face_id}: the meter is not said; {which}")
        basis = values.get("basis") or (meters[meter].basis if meter in meters else None)
        if basis is None and meter not in meters:
            known = f"it has {', '.join(meters)}" if meters else "first add it there, under meters"
            raise UsageError(f'{line.what}: {face_id}: meter "{clip(meter)}" is not in the job file; {known}')
        if basis is None:
            raise self.form(
                line,
                f"{face_id}: {values[bands[0]]:g} % has no basis; 20 % of wet weight is 25 % of dry weight "
                "(rule panel.wettest)",
            )
        mid = values["depth"] == "mid"
        thickness = wall.panel.thickness if wall.panel is not None else 200.0
        depth = thickness / 2 if mid else values["depth"]
        at = self.when(wall)
        return [
            Said(
                line.kind,
                at,
                self.root(face_id),
                self.made(Probe, value=values[band], basis=basis, band=band, depth=depth, mid=mid, meter=meter),
            )
            for band in bands
        ]

    def _weighing(self, line: Line) -> list[Said]:
        if len(line.names) != 2:
            raise self.form(line, "wall and weight are said, such as 5 231.4kg")
        wall = self.wall(line.names[0], line)
        try:
            weight = float(parse(line.names[1], "mass_kg"))
        except ValueError as error:
            raise UsageError(f"{line.what}: {wall.id}: {error}") from None
        of = line.values.get("of", "panel")
        data = self.made(Weighing, weight=weight, wall=self.desk.roots.walls[wall.id], of=of)
        return [Said(line.kind, self.when(wall), None, data)]

    def _test(self, line: Line) -> list[Said]:
        values = line.values
        if "meter" in values:
            if not {"read", "dried"} <= set(values) or line.names:
                raise self.form(line, "a meter is compared with a dried sample: say read= and dried=")
            known = {one.id: one.basis for one in self.job.file.meters}
            basis = values.get("basis") or known.get(values["meter"])
            if basis is None:
                raise self.form(line, "the meter shows a percentage of wet or of dry mass, which is not said")
            read, dried = values["read"], values["dried"]
            data = self.made(MeterCheck, meter=values["meter"], read=read, dried=dried, basis=basis)
            return [Said(line.kind, self.when(None), None, data)]
        if len(line.names) != 3:
            raise self.form(line, "face, test and result are said")
        name, test, result = line.names
        face_id, wall, face = self.face(name, line)
        if test not in TRIALS:
            raise self.form(line, f'no test is called "{clip(test)}"; they are {", ".join(TRIALS)}')
        at = self.when(wall)
        seconds = None
        if test == "water-drop" and (drop := re.fullmatch(r"([0-9]{1,4}(?:\.[0-9]{1,3})?)\s*s?", result)):
            seconds = float(drop[1])
            passed = seconds <= DROP_SECONDS
        elif result in ("passed", "failed"):
            passed = result == "passed"
        else:
            takes = "seconds, such as 45s, passed or failed" if test == "water-drop" else "passed or failed"
            raise UsageError(f'{line.what}: {face_id}: "{clip(result)}" is no result of {test}; write {takes}')
        coat = self.desk.top_coat(face_id, face, at)
        data = self.made(Trial, test=test, passed=passed, seconds=seconds, coat=coat)
        return [Said(line.kind, at, self.root(face_id), data)]

    def _verdict(self, line: Line) -> list[Said]:
        if not line.names:
            raise self.form(line, "no hold is said")
        found = []
        for name in line.names:
            head, dot, point = name.partition(".")
            if not dot or not point:
                raise self.form(line, f'"{clip(name)}" says not where: it is of the job, a wall or a face')
            face, wall = None, None
            if head != "job":
                is_wall = any(one.id == head for one in self.job.file.walls)
                wall = self.wall(head, line) if is_wall else self.side(head, line)[1]
                face = None if is_wall else self.root(head)
            root = self.desk.roots.walls[wall.id] if wall is not None and face is None else ""
            data = self.made(Verdict, hold=point, wall=root, right=self.right())
            found.append(Said(line.kind, self.when(wall), face, data))
        return found

    # -- the rest -------------------------------------------------------------------------

    def _batch(self, line: Line) -> list[Said]:
        mix = {name: text for name, text in sorted(line.values.items()) if name != "number"}
        number = line.values.get("number", "")
        if not mix and not number:
            raise self.form(line, "nothing is said of what went in")
        if not line.names:
            return [Said(line.kind, self.when(None), None, self.made(Batch, mix=mix, number=number))]
        *places, task = line.names if len(line.names) > 1 else (*line.names, "")
        found = [self.face(name, line) for name in places]
        return [
            Said(line.kind, self.when(wall), self.root(face_id), self.made(Batch, mix=mix, number=number, task=task))
            for face_id, wall, _ in found
        ]

    def _cover(self, line: Line) -> list[Said]:
        names = list(line.names)
        cover = names.pop() if names and names[-1] in COVERS else "cloth"
        if not names:
            raise self.form(line, "no face is said")
        found = [self.face(name, line) for name in names]
        return [Said(line.kind, self.when(w), self.root(f), self.made(Cover, cover=cover)) for f, w, _ in found]

    def _inspection(self, line: Line) -> list[Said]:
        *names, result = line.names or ("",)
        if not names or result not in ("sound", "unsound"):
            raise self.form(line, "face and result are said")
        found = [self.face(name, line) for name in names]
        data = self.made(Inspection, sound=result == "sound", found=line.values.get("found", ""))
        return [Said(line.kind, self.when(wall), self.root(face_id), data) for face_id, wall, _ in found]

    def _passed_on(self, line: Line) -> list[Said]:
        slot = line.names[-1] if line.names else None
        if slot is not None and (slot not in SLOTS or len(line.names) > 1):
            raise self.form(line, f'"{clip(slot)}" is no round')
        values = line.values
        to = self.desk.roots.people.get(values["to"], values["to"])
        last = values.get("until", values["from"])
        data = self.made(PassedOn, to=to, first=values["from"], last=last, slot=slot)
        return [Said(line.kind, self.when(None), None, data)]

    def _note(self, line: Line) -> list[Said]:
        names = list(line.names)
        faces = []
        while names and re.fullmatch(r"[A-Za-z0-9-]+-(out|in)", names[0]):
            faces.append(self.side(names.pop(0), line))
        text = " ".join([*names, self.note]).strip()
        if not text:
            raise self.form(line, "nothing is said")
        try:
            text = said_text(text)
        except ValueError as error:
            raise UsageError(f"{line.what}: {error}") from None
        data = self.made(Text, text=text)
        if not faces:
            return [Said(line.kind, self.when(None), None, data)]
        return [Said(line.kind, self.when(wall), self.root(face_id), data) for face_id, wall, _ in faces]

    def _correct(self, line: Line) -> list[Said]:
        if len(line.names) < 2 or not re.fullmatch(r"[0-9]{1,9}", line.names[0]):
            raise self.form(line, "the number of the entry is not said")
        number, word, *rest = line.names
        target = next((one for one in self.desk.entries if one.seq == int(number)), None)
        if target is None:
            raise UsageError(f"{line.what}: there is no entry {number}; look it up with curing record")
        instead, face, why = None, target.face, self.note
        if word == "withdrawn":
            for extra in rest:
                if not extra.startswith("why="):
                    raise self.form(line, f'"{clip(extra)}" says nothing')
                why = extra.removeprefix("why=")
        else:
            at = self.at or target.at.isoformat()
            listed = Reader(self.desk, self.plan, self.by, at, self.note).read(read_line(word, rest))
            if len(listed) != 1:
                raise self.form(line, f"one entry is corrected by one, not by {len(listed)}")
            one = listed[0]
            face = one.face
            instead = Instead(kind=one.kind, at=one.at, face=one.face, data=one.data)
        why = said_reason(why, f"{line.what}: why") if why.strip() else ""
        data = self.made(Correction, corrects=target.key, why=why, instead=instead, right=self.right())
        return [Said(line.kind, self.desk.now, face, data)]


_WAYS: dict[str, Callable[[Reader, Line], list[Said]]] = {
    "reading": Reader._reading,
    "weighing": Reader._weighing,
    "test": Reader._test,
    "met": Reader._verdict,
    "refused": Reader._verdict,
    "batch": Reader._batch,
    "cover-up": Reader._cover,
    "cover-down": Reader._cover,
    "inspection": Reader._inspection,
    "passed-on": Reader._passed_on,
    "note": Reader._note,
    "correct": Reader._correct,
}
