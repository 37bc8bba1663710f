"""The invented job Alder Court in several places, planned so that its tending spans a change of the clock.

Each is planned eleven days before the change (a Wednesday before a Sunday). The finish of
wall 1 was laid the day before that: it is misted twice a day until two days after the change,
once a day for two weeks more. Wall 2 gets its finish before the change, walls 3 and 4 are not
begun; wall 3 waits for a reading, so all of it is conditional.
"""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

from curing.workflow.planning import Planned, plan_job

DAY = timedelta(days=1)


@dataclass(frozen=True)
class Place:
    """A site: name of its zone, latitude, longitude."""

    zone: str
    latitude: float
    longitude: float


@dataclass(frozen=True)
class Court:
    """Alder Court at one or two places whose clocks change on a day."""

    country: str
    places: tuple[Place, ...]
    change: date
    before: str
    """Offset from UTC at the first place before the change, and after it, from the law of the country."""
    after: str
    units: str = "metric"

    def __str__(self) -> str:
        return f"{self.places[0].zone.rpartition('/')[2]}-{self.change:%b-%Y}"

    @property
    def today(self) -> date:
        return self.change - 11 * DAY

    def at(self, days: int = 0, clock: str = "05:30") -> str:
        """Return an instant some days after the first plan, as one writes it after --as-of."""
        return f"{self.today + days * DAY} {clock}"

    def day(self, offset: int) -> str:
        return str(self.today + offset * DAY)

    def text(self, walls: str = "1234") -> str:
        """Return the job file, with all walls or some."""
        us = self.units == "us"
        area = "91 ft2" if us else "8.4 m2"
        height = "8 ft 6 in" if us else "2.6 m"
        sites = [
            f"{{ id: {name}, name: Yard {name}, latitude: {at.latitude}, longitude: {at.longitude}, "
            f"time_zone: {at.zone} }}"
            for name, at in zip("ab", self.places, strict=False)
        ]
        here, there = ("a", "b" if len(sites) == 2 else "a")
        listed = "\n".join(f"  - {site}" for site in sites)
        openings = ("roof-gutter", "sills-flashings", "boxes-pipes", "gaps-packed", "mesh-beads", "sockets")
        samples = ("sample-panel", "sample-clay") if "2" in walls else ("sample-panel",)
        met = "\n".join(f"  {point}: {self.day(-60)}" for point in (*openings, *samples))
        saturday = self.today + (5 - self.today.weekday()) % 7 * DAY + 7 * DAY  # on which nobody else is there
        head = f"""\
curing: 1
uid: 3f6b0a52-8c1d-4e97-a4f0-6d2c9b7e1a35
name: "Alder Court; süd, hof"
units: {self.units}
holidays: {{ country: {self.country} }}
sites:
{listed}
people:
  - id: mira
    name: Mira
    roles: [lead, mists]
    hours: {{ mon-fri: 07:00-15:30 }}
    reach: scaffold
  - id: tom
    name: Tom
    roles: [mists]
    hours: {{ mon-fri: 07:00-15:30 }}
    reach: scaffold
  - id: ana
    name: "Ana, next door"
    roles: [mists]
    hours: {{ mon-sun: 06:00-20:30, holiday: 06:00-20:30 }}
    away: [{saturday}, {saturday + 7 * DAY}..{saturday + 8 * DAY}]
  - {{ id: ida, name: Ida, roles: [architect] }}
  - {{ id: cas, name: Cas, roles: [client] }}
crews:
  - {{ id: render, name: Render crew, people: [mira, tom] }}
holds:
{met}
walls:
"""
        found = {
            "1": f"""\
  - id: "1"
    name: "yard; bay 1, süd"
    site: {here}
    faces:
      - side: out
        facing: S
        area: {area}
        height: {height}
        system: clay-lime
        done: {{ base: {self.day(-30)} 14:00, finish: {self.day(-1)} 14:30 }}
        holds: {{ base-dry: {self.day(-2)} }}
""",
            "2": f"""\
  - id: "2"
    name: yard bay 2
    site: {here}
    faces:
      - side: out
        facing: 264°
        area: {area}
        height: {height}
        system: clay-lime
        done: {{ base: {self.day(-20)} 14:00 }}
        holds: {{ base-dry: {self.day(-1)} }}
      - side: in
        area: {area}
        height: {height}
        system: clay-inside
        done: {{ base: {self.day(-2)} 14:00 }}
""",
            "3": f"""\
  - id: "3"
    name: north gable
    site: {there}
    panel: {{ thickness: {"8 in" if us else "200 mm"} }}
    faces:
      - side: out
        facing: N
        area: {area}
        height: {height}
        system: clay-lime
        start: {self.day(5)}
""",
            "4": f"""\
  - id: "4"
    name: road side
    site: {there}
    holds: {{ panel-dry: {self.day(-1)} }}
    faces:
      - side: out
        facing: 84°
        area: {area}
        height: {height}
        system: clay-lime
""",
        }
        return head + "".join(found[wall] for wall in walls)


AMSTERDAM = Place("Europe/Amsterdam", 52.1, 5.2)
AUCKLAND = Place("Pacific/Auckland", -36.9, 174.8)

COURTS = (
    # European summer time starts and ends on the last Sundays of March and October.
    Court("NL", (AMSTERDAM,), date(2027, 3, 28), "+01:00", "+02:00"),
    Court("NL", (AMSTERDAM,), date(2027, 10, 31), "+02:00", "+01:00"),
    # The first Sunday of November.
    Court("US", (Place("America/New_York", 42.4, -73.8),), date(2027, 11, 7), "-04:00", "-05:00", "us"),
    # The first Sunday of April, the last of September: the other way round.
    Court("NZ", (AUCKLAND,), date(2027, 4, 4), "+13:00", "+12:00"),
    Court("NZ", (AUCKLAND,), date(2027, 9, 26), "+12:00", "+13:00"),
    # Two sites an hour's drive apart; at the second the clocks never change.
    Court(
        "US",
        (Place("America/Denver", 37.1, -109.0), Place("America/Phoenix", 36.7, -109.2)),
        date(2027, 11, 7),
        "-06:00",
        "-07:00",
    ),
    # Half an hour, at Lord Howe; at 24:00 on a Saturday, in Chile; on the last Friday of April at midnight, in Egypt.
    Court("AU", (Place("Australia/Lord_Howe", -31.5, 159.1),), date(2027, 4, 4), "+11:00", "+10:30"),
    Court("CL", (Place("America/Santiago", -33.4, -70.6),), date(2027, 4, 4), "-03:00", "-04:00"),
    Court("EG", (Place("Africa/Cairo", 30.0, 31.2),), date(2027, 4, 30), "+02:00", "+03:00"),
)


def planned(folder: Path, text: str, as_of: str) -> Planned:
    """Plan a job file kept in a folder, with its state beside it, into ``out`` there."""
    file = folder / "alder-court.yaml"
    file.write_text(textwrap.dedent(text), encoding="utf-8")
    return plan_job(file, out=folder / "out", state=folder / "state", as_of=as_of)
