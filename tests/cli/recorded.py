"""A small invented job and a record of it written by hand: one wall read from both sides, laid and tended outside.

The yard is near Utrecht, on the clock of Amsterdam (two hours before UTC in summer). Base coat Mon 3 May
2027, finish Tue 18 May, tended twice a day to Tue 1 June (day 14) and once a day to Tue 15 June (day 28).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from cli_court import narrow
from jobs import write
from typer.testing import CliRunner, Result

from curing.cli import app
from curing.model.decisions import Decision, DecisionKind
from curing.model.record import RecordEntry, RecordKind
from curing.store import open_state
from curing.workflow.planning import plan_job

AMSTERDAM = ZoneInfo("Europe/Amsterdam")
UID = "5f0c9e1a-93d4-4d0c-8a55-3b1b7a0f2c11"
DAY = timedelta(days=1)
LAID = date(2027, 5, 18)
OPENINGS = ["roof-gutter", "sills-flashings", "boxes-pipes", "gaps-packed", "mesh-beads", "sockets", "sample-panel"]
ALWAYS = {"mon-sun": "07:00-21:00", "holiday": "07:00-21:00"}
CREW = {"mon-fri": "07:00-15:30"}


def at(month: int, day: int, clock: str, zone: ZoneInfo = AMSTERDAM) -> datetime:
    hour, minute = map(int, clock.split(":"))
    return datetime(2027, month, day, hour, minute, tzinfo=zone).astimezone(UTC)


def job_data(**more: Any) -> dict[str, Any]:
    place = {"latitude": 52.1, "longitude": 5.2, "time_zone": "Europe/Amsterdam"}
    crew = {"roles": ["lead", "mists"], "reach": "scaffold", "hours": CREW}
    face = {"side": "out", "facing": "N", "area": "10 m2", "height": "2.7 m", "system": "clay-lime"}
    return {
        "curing": 1,
        "uid": UID,
        "name": "Alder Court",
        "holidays": {"country": "NL"},
        "sites": [{"id": "court", "name": "Alder Court", **place}],
        "people": [
            {"id": "saar", "name": "Saar", "roles": ["mists"], "hours": ALWAYS},
            {"id": "wil", "name": "Wil", **crew},
            {"id": "bo", "name": "Bo", **crew, "roles": ["mists"]},
        ],
        "crews": [{"id": "render", "name": "Render", "people": ["wil", "bo"]}],
        "meters": [{"id": "probe", "name": "Straw probe", "least": "6 %", "most": "40 %"}],
        "holds": {point: {"met": "2027-02-01", "by": "wil"} for point in OPENINGS},
        "walls": [
            {
                "id": "4",
                "name": "north gable",
                "panel": {"thickness": "300 mm", "filled": "2027-01-04"},
                "faces": [face],
            }
        ],
        **more,
    }


@dataclass
class Recorded:
    """A job in a folder, with its state."""

    job: Path
    state: Path
    data: dict[str, Any]
    number: int = 0
    waiting: list[RecordEntry] = field(default_factory=list)
    """Entries that are appended, all at once, before anything looks at the record."""

    def save(self) -> None:
        self.job.write_text(write(self.data), encoding="utf-8")

    def append(self) -> None:
        if not self.waiting:
            return
        with open_state(self.state, self.data["uid"]) as store:
            last = [store.append_record(entry).seq for entry in self.waiting][-1]
        assert last == self.number
        self.waiting.clear()

    def plan(self, when: str) -> None:
        self.append()
        self.save()
        plan_job(self.job, state=self.state, as_of=when)

    def add(
        self,
        kind: RecordKind,
        when: datetime,
        by: str = "wil",
        face: str | None = "4-out",
        late: float = 0,
        **data: Any,
    ) -> int:
        """Append an entry that came in ``late`` hours after it happened; return its number."""
        self.number += 1
        self.waiting.append(RecordEntry(f"k{self.number}", when, when + timedelta(hours=late), by, kind, face, data))
        return self.number

    def decide(self, kind: DecisionKind, when: datetime, by: str = "wil", **data: Any) -> None:
        self.append()
        with open_state(self.state, self.data["uid"]) as store:
            store.append_decision(Decision(f"{kind} {when.isoformat()}", when, by, kind, data))

    def run(self, *more: str, when: str = "2027-06-18 10:00") -> Result:
        self.append()
        return CliRunner().invoke(app, ["record", str(self.job), "--state", str(self.state), "--as-of", when, *more])

    def say(self, *more: str, when: str = "2027-06-18 10:00") -> list[str]:
        result = self.run(*more, when=when)
        assert (result.exit_code, result.stderr) == (0, ""), result.stderr
        return narrow(result.stdout)


def block(lines: list[str], head: str) -> list[str]:
    """Return the lines under a head, to the next empty one."""
    start = next(k for k, line in enumerate(lines) if line.startswith(head))
    end = lines.index("", start) if "" in lines[start:] else len(lines)
    return lines[start + 1 : end]


def joined(lines: list[str]) -> str:
    return " ".join(" ".join(lines).split())


PLACES = [(side, band) for side in ("out", "in") for band in ("low", "middle", "top")]


def read_panel(made: Recorded, when: datetime, values: dict[str, list[float]]) -> None:
    """Read three heights a side 100 mm deep, and mid-depth once a side; 8 entries."""
    minutes = 0
    for side, listed in values.items():
        for band, value in zip(("low", "middle", "top", "low"), listed, strict=True):
            mid = minutes % 4 == 3
            made.add(
                RecordKind.READING, when + timedelta(minutes=minutes), face=f"4-{side}", value=value, basis="wet",
                band=band, depth=150 if mid else 100, meter="probe", **({"mid": True} if mid else {}),
            )  # fmt: skip
            minutes += 1


def court(folder: Path, **more: Any) -> Recorded:
    """Return the job, planned on Friday 30 April with nothing recorded."""
    made = Recorded(folder / "court.yaml", folder / "state", job_data(**more))
    made.plan("2027-04-28 06:00")
    return made


def panel_read(made: Recorded) -> None:
    """Entries 1 to 10: the meter checked, the panel read on Thu 29 April, the hold met."""
    made.add(RecordKind.TEST, at(4, 29, "08:00"), face=None, meter="probe", read=18.0, dried=19.0)
    read_panel(made, at(4, 29, "09:00"), {"out": [18.5, 17.0, 16.0, 19.0], "in": [19.5, 18.0, 17.0, 19.8]})
    made.add(RecordKind.HOLD_MET, at(4, 29, "10:00"), face=None, hold="panel-dry", wall="4", right="lead")


def base_laid(made: Recorded) -> None:
    """Entries 11 to 13: the base coat on Mon 3 May."""
    made.plan("2027-04-30 06:00")
    made.add(RecordKind.STARTED, at(5, 3, "07:30"), task="base")
    made.add(RecordKind.BATCH, at(5, 3, "07:40"), mix={"sand": "8", "clay": "2", "lime": "1.33"}, number="7")
    made.add(RecordKind.FINISHED, at(5, 3, "14:10"), task="base")


def finish_laid(made: Recorded) -> None:
    """Entries 14 to 17: the base tried and let through, the finish on Tue 18 May."""
    made.plan("2027-05-04 06:00")
    made.add(RecordKind.TEST, at(5, 16, "09:00"), test="hollows", passed=True, coat="base")
    made.add(RecordKind.HOLD_MET, at(5, 16, "09:10"), hold="base-dry", right="lead")
    made.plan("2027-05-16 12:00")
    made.add(RecordKind.STARTED, at(5, 18, "08:00"), task="finish")
    made.add(RecordKind.FINISHED, at(5, 18, "13:00"), task="finish")
    made.plan("2027-05-18 18:00")


def visit(
    made: Recorded, kind: RecordKind, number: int, slot: str, clock: str, by: str = "saar", late: float = 0, **more: Any
) -> int:
    """Say something of a visit of the finish, on a day counted from laying."""
    day = LAID + number * DAY
    return made.add(kind, at(day.month, day.day, clock), by=by, late=late, coat="finish", slot=slot, **more)


def base_tended(made: Recorded) -> None:
    """Six entries: twice a day for three days."""
    for number in (4, 5, 6):
        for slot, clock in (("early", "07:20"), ("late", "19:10")):
            made.add(RecordKind.MISTED, at(5, number, clock), by="saar", coat="base", slot=slot)


def finish_tended(made: Recorded) -> None:
    """42 visits asked: 36 misted, 2 damp, 1 rain, 1 could not, 2 without a word; and 2 that nobody asked for.

    Wil took three early ones; Saar the other 37 that were answered.
    """
    odd = {
        (4, "late"): (RecordKind.COULD_NOT, {"why": "scaffold locked"}),
        (6, "early"): (RecordKind.DAMP, {}),
        (9, "late"): (RecordKind.DAMP, {}),
        (10, "early"): (RecordKind.RAIN_ON_IT, {}),
        (13, "early"): None,
        (20, "late"): None,
    }
    for number in range(1, 29):
        for slot, clock in (("early", "07:15"), ("late", "18:40")):
            if number > 14 and slot == "early":
                continue
            said = odd.get((number, slot), (RecordKind.MISTED, {}))
            if said is None:
                continue
            by = "wil" if number <= 3 and slot == "early" else "saar"
            late = 12 if (number, slot) == (5, "early") else 0
            visit(made, said[0], number, slot, clock, by=by, late=late, **said[1])
            if (number, slot) == (2, "late"):
                visit(made, RecordKind.MISTED, number, slot, "19:30", by="bo")
    visit(made, RecordKind.MISTED, 13, "midday", "12:20", by="bo")
