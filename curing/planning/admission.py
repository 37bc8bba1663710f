"""Whether an entry may go into the record: what is refused, by which rule, and what to do instead.

Only slips and want of right are refused. What went against a rule but happened (a coat laid too soon) is
taken, since the record says what is, and the plan warns of it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from functools import cached_property

from curing.model.evidence import Evidence
from curing.model.job import Face, Job, Person, Role, Wall
from curing.model.people import DECIDERS
from curing.model.quantities import clip
from curing.model.record import RecordEntry, RecordKind
from curing.model.record_data import Correction, PassedOn, said
from curing.planning.admission_data import about_data
from curing.planning.decision_rules import LONGEST_TURN, deciders
from curing.planning.effective import Standing, effective
from curing.planning.evidence import gather
from curing.planning.roots import Roots
from curing.planning.worktime import local, zone_of

AHEAD = timedelta(minutes=10)
"""A phone's clock may be ahead by so much; what lies further in the future has not happened."""


@dataclass(frozen=True)
class Desk:
    """Takes entries for one job.

    Parameters
    ----------
    job
        The job as its file says it.
    roots
        What things are called for ever and today.
    entries
        Everything recorded so far, at least of the walls that are written about, and of the whole job.
    booked
        Coat id → the day it is booked for, in the newest plan.
    now
        The present instant, aware.
    """

    job: Job
    roots: Roots
    entries: Sequence[RecordEntry]
    now: datetime
    booked: Mapping[str, date] = field(default_factory=dict)
    near: Job | None = None
    """The job with no more than the walls that are written about; None: all of it."""

    @cached_property
    def evidence(self) -> Evidence:
        """What the record comes to."""
        return gather(self.near or self.job, self.roots, self.entries)

    @cached_property
    def standing(self) -> Standing:
        """The entries that hold, and those corrected."""
        return effective(self.entries)

    @cached_property
    def _people(self) -> dict[str, Person]:
        return {person.id: person for person in self.job.file.people}

    def decides(self, person: str) -> bool:
        """Tell whether a person (id today) is lead or architect."""
        one = self._people.get(person)
        return one is not None and any(role in one.roles for role in DECIDERS)

    def deciders(self) -> str:
        """Return who decides, for a sentence: ``wil or ines``."""
        return deciders(self.job)

    def person(self, entry: RecordEntry) -> Person | None:
        """Return who says so."""
        return self._people.get(self.roots.person_now(entry.by))

    def place(self, entry: RecordEntry) -> tuple[str, Wall, Face | None] | None:
        """Return (side's id today, wall, face with coats or None) of an entry about a side of a wall."""
        now = self.roots.face_now(entry.face) if entry.face is not None else None
        if now is None:
            return None
        wall_id, _, side = now.rpartition("-")
        wall = next(one for one in self.job.file.walls if one.id == wall_id)
        return now, wall, next((face for face in wall.faces if face.side.value == side), None)

    def local(self, wall: Wall | None, at: datetime) -> tuple[date, str]:
        """Return local day and clock of an instant."""
        site = self.job.site_of(wall) if wall is not None else self.job.file.sites[0]
        day, minute = local(zone_of(site.time_zone), at)
        return day, f"{minute // 60:02d}:{minute % 60:02d}"

    def closed(self, face_id: str, face: Face, coat: str) -> datetime | None:
        """Return when a coat was closed, by the record or the job file."""
        fact = self.evidence.done.get(f"{face_id}.{coat}")
        if fact is not None:
            return fact.at
        wall = next(one for one in self.job.file.walls if face in one.faces)
        zone = zone_of(self.job.site_of(wall).time_zone)
        return face.done[coat].replace(tzinfo=zone) if coat in face.done else None

    def top_coat(self, face_id: str, face: Face, at: datetime | None = None) -> str:
        """Return the last coat that was closed (by an instant), or nothing."""
        coats = [coat.id for coat in self.job.systems[face.system].coats]
        laid = [
            coat
            for coat in coats
            if (closed := self.closed(face_id, face, coat)) is not None and (at is None or closed <= at)
        ]
        return laid[-1] if laid else ""

    def faults(self, entry: RecordEntry) -> list[str]:
        """Return why an entry may not go into the record; nothing if it may.

        Each text says which thing, what, the limit and what to do.
        """
        return list(self._faults(entry))

    def _faults(self, entry: RecordEntry) -> Iterator[str]:
        try:
            said(entry)
        except ValueError as error:
            yield str(error)
            return
        yield from self._who(entry)
        yield from self._when(entry)
        if entry.face is not None and self.place(entry) is None:
            yield f'"{clip(entry.face)}": no wall of this job; {self._walls()}'
            return
        if entry.kind is RecordKind.CORRECTION:
            yield from self._correction(entry)
        elif entry.kind is RecordKind.PASSED_ON:
            yield from self._passed_on(entry)
        else:
            yield from about_data(self, entry)

    def _who(self, entry: RecordEntry) -> Iterator[str]:
        person = self.person(entry)
        if person is None:
            known = ", ".join(list(self._people)[:8])
            yield f'by "{clip(entry.by)}": nobody of this job has that id; one of {known}'
        elif (right := entry.data.get("right")) and right not in {role.value for role in person.roles}:
            yield f'by "{person.id}": is not {clip(str(right))} in the job file; say it without that right'
        elif set(person.roles) == {Role.CLIENT}:
            yield f'by "{person.id}": a client reads and enters nothing; let one of the crew or who mists say it'

    def _when(self, entry: RecordEntry) -> Iterator[str]:
        if entry.at > self.now + AHEAD:
            wall = (self.place(entry) or (None, None, None))[1]
            day, clock = self.local(wall, entry.at)
            today, present = self.local(wall, self.now)
            yield (
                f"at {day} {clock}: lies ahead (it is {today} {present}), by more than 10 minutes; "
                "enter it when it has happened, or mend the phone's clock"
            )

    def _walls(self) -> str:
        names = [f"{wall.id}-{face.side.value}" for wall in self.job.file.walls for face in wall.faces]
        more = f" and {len(names) - 8} more" if len(names) > 8 else ""
        return f"its faces are {', '.join(names[:8])}{more}"

    def _passed_on(self, entry: RecordEntry) -> Iterator[str]:
        data = said(entry)
        assert isinstance(data, PassedOn)
        to, giver = self._people.get(self.roots.person_now(data.to)), self.person(entry)
        if to is None:
            yield f'to "{clip(data.to)}": nobody of this job has that id'
            return
        if Role.MISTS not in to.roles:
            able = ", ".join(one.id for one in self.job.file.people if Role.MISTS in one.roles)
            yield f'to "{to.id}": does not mist; name one who does: {able}'
        if giver is not None and to.id == giver.id:
            yield f'to "{to.id}": nobody passes a round on to himself'
        if giver is not None and Role.MISTS not in giver.roles:
            yield f'by "{giver.id}": does not mist, so has no round to pass on; the lead gives rounds: curing assign'
        today = self.local(None, entry.at)[0]  # a log may be written down later
        if data.last < data.first:
            yield f"until {data.last}: lies before {data.first}; write the earlier day first"
        elif data.last < today:
            yield f"until {data.last}: is over; rounds are passed on beforehand"
        elif (data.last - data.first).days >= LONGEST_TURN:
            yield f"until {data.last}: more than {LONGEST_TURN} days; change the hours or roles in the job file instead"
        away = [span for span in to.away if span[0] <= data.last and data.first <= span[1]]
        if away:
            yield f'to "{to.id}": is away from {away[0][0]} to {away[0][1]}; name another, or other days'

    def _correction(self, entry: RecordEntry) -> Iterator[str]:
        data = said(entry)
        assert isinstance(data, Correction)
        if data.corrects == entry.key:
            yield "a correction names an earlier entry, not itself; look up its number with curing record"
            return
        target = next((one for one in self.entries if one.key == data.corrects), None)
        if target is None:
            yield f'"{clip(data.corrects)}": no such entry to correct; look up its number with curing record'
            return
        by = next((by for one, by in self.standing.corrected if one.key == target.key), None)
        if by is not None:
            yield f"entry {target.seq} was corrected already, by entry {by.seq}; correct that one"
            return
        person = self.person(entry)
        if person is not None and not self.decides(person.id) and target.by != entry.by:
            yield (
                f'by "{person.id}": entry {target.seq} is by "{self.roots.person_now(target.by)}"; '
                f"who said it corrects it, or {self.deciders()}"
            )
        new = data.instead
        if new is not None and new.kind is RecordKind.CORRECTION:
            yield f'entry {target.seq}: say "withdrawn" and then what is right, instead of a correction in a correction'
            return
        chain = self._behind(target)
        faults: list[str] = []
        if new is not None:
            without = [
                RecordEntry(f"{entry.key} withdraws {key}", entry.at, entry.received, entry.by, entry.kind, entry.face,
                            {"corrects": key})
                for key in chain
            ]  # fmt: skip
            rest = replace(self, entries=[*self.entries, *without])
            faults = rest.faults(
                RecordEntry(entry.key, new.at, entry.received, entry.by, new.kind, new.face, dict(new.data))
            )
            yield from faults
        if not faults:
            yield from self._stands_on(entry, target, chain)

    def _behind(self, target: RecordEntry) -> list[str]:
        """Return the keys of an entry, of what it corrects, and so on."""
        by_key = {one.key: one for one in self.entries}
        chain = [target.key]
        while target.kind is RecordKind.CORRECTION and (below := str(target.data.get("corrects"))) not in chain:
            chain.append(below)
            if below not in by_key:
                break
            target = by_key[below]
        return chain

    def _stands_on(self, entry: RecordEntry, target: RecordEntry, chain: Sequence[str]) -> Iterator[str]:
        """Yield the coats, finished by another entry, that a correction would undo or move."""
        after = gather(self.job, self.roots, [*self.entries, entry]).done
        for coat, fact in self.evidence.done.items():
            if fact.cause.key not in chain and (coat not in after or after[coat].at != fact.at):
                number = next((one.seq for one in self.entries if one.key == fact.cause.key), 0)
                yield (
                    f"entry {target.seq}: {coat}, closed {fact.cause.day} {fact.cause.clock} (entry {number}), "
                    "stands on it; correct that first"
                )
