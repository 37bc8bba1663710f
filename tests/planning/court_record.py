"""A job with its record and decisions in memory: said, planned, said again, without a state folder.

Ida leads and lays with Bo, who decides nothing; Near mists; Ines is the architect, the owner reads only.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any

from court import WORDS, job_file
from jobs import read, today_of

from curing.model.decisions import Decision, DecisionKind
from curing.model.evidence import Evidence
from curing.model.job import Job
from curing.model.plan import Change, Kind, Plan
from curing.model.record import RecordEntry, RecordKind
from curing.planning.admission import Desk
from curing.planning.check import Fault, check
from curing.planning.decision_rules import Bench
from curing.planning.decision_rules import faults as decision_faults
from curing.planning.evidence import gather
from curing.planning.expand import identify
from curing.planning.roots import Roots, roots_of
from curing.workflow.opening import Said, facts
from curing.workflow.planning import next_plan
from curing.workflow.recording import booked_days

_READ: dict[tuple[str, date], Job] = {}

BANDS = ("low", "middle", "top")
METER = {"id": "probe", "name": "Straw probe", "least": "6 %", "most": "40 %", "basis": "wet"}
EITHER = {"id": "either", "name": "Meter with a switch", "least": "6 %", "most": "60 %"}


def recorded_job(*walls: dict[str, Any], **more: Any) -> dict[str, Any]:
    """Return a job like that of :mod:`court`, with meters and one lead alone."""
    data = job_file(*walls, **{"meters": [METER, EITHER], **more})
    next(person for person in data["people"] if person["id"] == "bo")["roles"] = ["mists"]
    data["people"].append({"id": "ines", "name": "Ines", "roles": ["architect"]})
    data["people"].append({"id": "owner", "name": "Owner", "roles": ["client"]})
    return data


def probe(value: float, band: str = "low", depth: float = 100.0, **more: Any) -> dict[str, Any]:
    """Return the data of a reading; wet basis, by the probe."""
    return {"value": value, "basis": "wet", "band": band, "depth": depth, "meter": "probe", **more}


@dataclass
class Court:
    """A job, what was said and decided of it, and the plan people were told last."""

    data: dict[str, Any]
    now: datetime
    record: list[RecordEntry] = field(default_factory=list)
    decisions: list[Decision] = field(default_factory=list)
    plan: Plan | None = None
    numbers: Any = field(default_factory=lambda: itertools.count(1))

    # -- the job --------------------------------------------------------------------------

    def job(self) -> Job:
        """Return the job as its file would be read today; the same file is read once."""
        known = (repr(self.data), today_of(self.data, self.now))
        if known not in _READ:
            _READ[known] = read(self.data, self.now)
        return _READ[known]

    def roots(self, job: Job) -> Roots:
        return roots_of(job, identify(job, self.plan))

    def desk(self) -> Desk:
        job = self.job()
        return Desk(job, self.roots(job), self.record, self.now, booked_days(self.plan))

    def evidence(self) -> Evidence:
        job = self.job()
        return gather(job, self.roots(job), self.record, self.decisions)

    # -- saying ---------------------------------------------------------------------------

    def entry(
        self,
        kind: RecordKind | str,
        face: str | None,
        by: str,
        data: Mapping[str, Any] | None = None,
        at: datetime | None = None,
        key: str | None = None,
    ) -> RecordEntry:
        number = next(self.numbers)
        return RecordEntry(
            key or f"k{number}", at or self.now, self.now, by, RecordKind(kind), face, data or {}, number
        )

    def put(self, *said: Any, **more: Any) -> RecordEntry:
        """Put an entry into the record without asking whether it may go in."""
        one = self.entry(*said, **more)
        self.record.append(one)
        return one

    def say(self, *said: Any, **more: Any) -> RecordEntry:
        """Put an entry into the record; it must be admitted."""
        one = self.entry(*said, **more)
        faults = self.desk().faults(one)
        assert faults == []
        self.record.append(one)
        return one

    def refusal(self, *said: Any, **more: Any) -> str:
        """Return what somebody reads whose entry is refused."""
        faults = self.desk().faults(self.entry(*said, **more))
        assert faults, "it was taken"
        return "\n".join(faults)

    def correct(self, one: RecordEntry, by: str, instead: dict[str, Any] | None = None, **more: Any) -> RecordEntry:
        data: dict[str, Any] = {"corrects": one.key}
        if instead is not None:
            data["instead"] = instead
        return self.say("correction", one.face, by, data, **more)

    def read_all(
        self,
        wall: str,
        *,
        sides: Sequence[str] = ("out", "in"),
        value: float = 17.5,
        at: datetime | None = None,
        mid: float = 150.0,
        meter: str = "probe",
    ) -> list[RecordEntry]:
        """Read a panel at three heights a side and once at mid-depth."""
        said = []
        for side in sides:
            for band in BANDS:
                said.append(self.say("reading", f"{wall}-{side}", "bo", probe(value, band, meter=meter), at=at))
            deep = probe(value, "middle", mid, mid=True, meter=meter)
            said.append(self.say("reading", f"{wall}-{side}", "bo", deep, at=at))
        return said

    def check_meter(self, read: float = 12.4, dried: float = 12.0, **more: Any) -> RecordEntry:
        return self.say("test", None, "bo", {"meter": "probe", "read": read, "dried": dried}, **more)

    def open_panel(self, wall: str, by: str = "ida", **more: Any) -> RecordEntry:
        return self.say("hold-met", None, by, {"hold": "panel-dry", "wall": wall}, **more)

    def finish(self, face: str, coat: str, at: datetime | None = None, by: str = "bo", **more: Any) -> RecordEntry:
        return self.say("finished", face, by, {"task": coat}, at=at, **more)

    # -- deciding -------------------------------------------------------------------------

    def decision(self, kind: DecisionKind | str, by: str, key: str | None = None, **data: Any) -> Decision:
        number = next(self.numbers)
        plain = {name: value.isoformat() if isinstance(value, date) else value for name, value in data.items()}
        return Decision(key or f"d{number}", self.now, by, DecisionKind(kind), plain, number)

    def decision_refused(self, *said: Any, **data: Any) -> str:
        job = self.job()
        found = decision_faults(self.decision(*said, **data), Bench(job, self.roots(job), self.plan, self.now))
        assert found, "it was taken"
        return "\n".join(found)

    def decide(self, *said: Any, **data: Any) -> Decision:
        """Take a decision; nothing may speak against it."""
        job = self.job()
        one = self.decision(*said, **data)
        against = decision_faults(one, Bench(job, self.roots(job), self.plan, self.now))
        assert against == []
        self.decisions.append(one)
        return one

    # -- planning -------------------------------------------------------------------------

    def replan(self, now: datetime | None = None) -> Plan:
        """Plan beside the plan before; the check must find nothing."""
        self.now = now or self.now
        job = self.job()
        said = Said(self.record, self.decisions)
        self.plan, _ = next_plan(job, self.plan, self.now, WORDS, said)
        faults = self.faults()
        assert faults == []
        return self.plan

    def faults(self) -> list[Fault]:
        assert self.plan is not None
        job, evidence = facts(self.job(), self.plan, Said(self.record, self.decisions))
        return check(job, self.plan, [coat for coat, one in evidence.decided.items() if one.kind == "keep"])

    def later(self, **span: float) -> None:
        self.now += timedelta(**span)


def change_of(plan: Plan, face: str) -> Change:
    """Return the one change of a face's coats."""
    (found,) = [one for one in plan.changes if one.kind is not Kind.ROUND and face in one.faces]
    return found


def caused_by(change: Change) -> str:
    """Return the key of the entry or decision that a change names."""
    return str(change.reason.values.get("entry", ""))
