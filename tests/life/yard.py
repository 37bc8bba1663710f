"""A yard of two walls, written by hand, with the command called as its people would.

At 52.1 N 5.2 E, on the clock of Amsterdam, with the holidays of the Netherlands in 2027: 6 May Ascension,
16 and 17 May Pentecost. Ida leads; she and Bo work Monday to Friday; Near lives near by and mists every day.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from typer.testing import CliRunner, Result

from curing.cli import app
from curing.model.plan import Booking, Change, Kind, Plan
from curing.publish import plan_json

AMSTERDAM = ZoneInfo("Europe/Amsterdam")

YARD = """\
curing: 1
uid: 5f0c9e1a-93d4-4d0c-8a55-3b1b7a0f2c11
name: Alder Court
holidays: { country: NL }
sites:
  - { id: court, name: Alder Court, latitude: 52.1, longitude: 5.2, time_zone: Europe/Amsterdam }
people:
  - { id: near, name: Near, roles: [mists], hours: { mon-sun: 07:00-21:00, holiday: 07:00-21:00 } }
  - { id: ida, name: Ida, roles: [lead, mists], reach: scaffold, hours: { mon-fri: 07:00-15:30 } }
  - { id: bo, name: Bo, roles: [mists], reach: scaffold, hours: { mon-fri: 07:00-15:30 } }
  - { id: owner, name: Owner, roles: [client] }
crews:
  - { id: render, name: Render, people: [ida, bo] }
meters:
  - { id: probe, name: Straw probe, least: 6 %, most: 40 %, basis: wet }
holds: { roof-gutter: 2027-02-01, sills-flashings: 2027-02-01, boxes-pipes: 2027-02-01, gaps-packed: 2027-02-01,
         mesh-beads: 2027-02-01, sockets: 2027-02-01, sample-panel: 2027-02-01 }
walls:
  - id: "3"
    name: north gable
    panel: { thickness: 200 mm, filled: 2027-01-08 }
    faces:
      - { side: out, facing: N, area: 10 m2, height: 2.7 m, system: clay-lime, start: 2027-05-03 }
"""

SECOND = """\
  - id: "4"
    name: porch
    holds: { panel-dry: 2027-05-06 }
    faces:
      - { side: out, facing: E, area: 6 m2, height: 2.5 m, system: clay-lime, start: 2027-05-10 }
"""


@dataclass
class Yard:
    """The yard in a folder of its own."""

    folder: Path
    job: Path = field(init=False)
    page: str = ""
    """What the last plan said, in one line."""

    def __post_init__(self) -> None:
        self.job = self.folder / "court.yaml"
        if not self.job.exists():
            self.job.write_text(YARD)

    @property
    def state(self) -> Path:
        return self.folder / "court.state"

    def edit(self, old: str, new: str) -> None:
        text = self.job.read_text()
        assert text.count(old) == 1, old
        self.job.write_text(text.replace(old, new))

    def run(self, command: str, *words: str, at: str) -> Result:
        return CliRunner().invoke(app, [command, str(self.job), *words, "--as-of", at])

    def say(self, command: str, *words: str, at: str) -> str:
        made = self.run(command, *words, at=at)
        assert made.exit_code == 0, (made.stdout, made.stderr, made.exception)
        return made.stdout

    def refused(self, command: str, *words: str, at: str) -> str:
        made = self.run(command, *words, at=at)
        assert made.exit_code in (1, 2), (made.stdout, made.exception)
        return " ".join(made.stderr.split())

    def plan(self, at: str, *more: str) -> Plan:
        out = self.folder / "out"
        self.page = " ".join(self.say("plan", "--out", str(out), *more, at=at).split())
        return plan_json.load(json.loads((out / "plan.json").read_text()))

    def read_dry(self, wall: str, at: str, *, sides: tuple[str, ...] = ("out", "in"), value: str = "17.5") -> None:
        """Read a wall at three heights a side, and at mid-depth."""
        bands = [f"{band}={value}" for band in ("low", "middle", "top")]
        for side in sides:
            for depth in ("100mm", "mid"):
                self.say("log", "reading", f"{wall}-{side}", *bands, f"depth={depth}", "--by", "bo", at=at)


def coat(plan: Plan, id_: str) -> Booking:
    (found,) = [one for one in plan.bookings if one.id == id_]
    return found


def day(booking: Booking) -> date:
    return booking.start.astimezone(AMSTERDAM).date()


def clock(at: datetime) -> str:
    return f"{at.astimezone(AMSTERDAM):%Y-%m-%d %H:%M}"


def change(plan: Plan, id_: str) -> Change:
    (found,) = [one for one in plan.changes if one.id == id_]
    return found


def rounds(plan: Plan, on: date) -> dict[str, Booking]:
    """Return the rounds of a day by part of the day."""
    return {str(one.slot): one for one in plan.rounds if day(one) == on}


def visits(plan: Plan, face: str, coat_: str) -> list[date]:
    return [day(one) for one in plan.rounds for visit in one.visits if (visit.face, visit.coat) == (face, coat_)]


def sequence(plan: Plan, uid: str) -> int:
    return plan.events[uid].sequence


def kinds(plan: Plan, kind: Kind) -> list[str]:
    return [one.id for one in plan.bookings if one.kind is kind]
