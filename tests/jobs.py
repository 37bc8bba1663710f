"""Invented jobs of any size, for tests and benchmarks: the same seed gives the same job.

Nothing in them is real. They are like what people write: one site or two on either half of
the globe, walls with one face or two, three coat systems, holds met or not, a job that begins
or one half-way, people with hours, days away and reach. ``plain`` leaves out all but the walls:
fresh outside faces, every hold met, so that the answer is known.
"""

from __future__ import annotations

import io
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from pathlib import Path
from random import Random
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from ruamel.yaml import YAML

from curing.model.job import Job
from curing.sources import systemfile
from curing.sources.jobfile import read_job

DAY = timedelta(days=1)
YEARS = range(2026, 2032)

PLACES = [
    ("NL", "Europe/Amsterdam", 52.1, 5.2),
    ("NZ", "Pacific/Auckland", -41.3, 174.8),
    ("GB", "Europe/London", 51.4, -2.6),
    ("ZA", "Africa/Johannesburg", -33.9, 18.9),
    ("US", "America/Denver", 39.7, -105.0),
    ("AU", "Australia/Hobart", -42.9, 147.3),
    ("PT", "Europe/Lisbon", 38.7, -9.1),
    ("CL", "America/Santiago", -33.4, -70.6),
    ("US", "America/Los_Angeles", 45.5, -122.7),
    ("NO", "Europe/Oslo", 69.6, 18.9),
]
"""Country, zone, latitude, longitude: the clocks of Santiago change at midnight, Tromsø has no night in summer."""

COATS = {
    "clay-lime": [("base", 0), ("finish", 13), ("paint-1", 36), ("paint-2", 1)],
    "clay-inside": [("base", 0), ("finish", 14)],
    "hydraulic-lime": [
        ("stipple", 0), ("first", 3), ("second", 7), ("finish", 10), ("paint-1", 15), ("paint-2", 1),
    ],
}  # fmt: skip
"""Coats in order, each with the least days after the one before, tending and dry days included."""

TESTS = {"finish": "base-dry", "second": "first-hard", "paint-1": "paint-tests"}
OPENINGS = ["roof-gutter", "sills-flashings", "boxes-pipes", "gaps-packed", "mesh-beads", "sockets"]
SAMPLES = {"clay-lime": "sample-panel", "clay-inside": "sample-clay", "hydraulic-lime": "sample-lime"}
HOURS = [
    {"mon-fri": "07:00-15:30"},
    {"mon-sat": "07:00-15:30"},
    {"mon-thu": "07:00-16:00", "fri": "07:00-13:00"},
    {"mon-fri": "08:00-17:00", "holiday": "09:00-12:00"},
]
NEIGHBOURS = [
    {"mon-sun": "07:00-20:00", "holiday": "07:00-20:00"},
    {"sat-sun": "08:00-20:00", "holiday": "08:00-20:00"},
    {"mon-sun": "17:00-19:00"},
]


@dataclass(frozen=True)
class Invented:
    """A job as data of its file, and the instant at which it is first planned."""

    data: dict[str, Any]
    now: datetime

    def _repr_pretty_(self, printer: Any, cycle: bool) -> None:
        printer.text(f"as of {self.now.isoformat()}:\n{self.text}")

    @property
    def text(self) -> str:
        return write(self.data)

    def job(self) -> Job:
        return read(self.data, self.now)


def job_text(seed: int, faces: int, crews: int = 1, *, plain: bool = False) -> str:
    """Return the job file of a seed."""
    return invent(seed, faces, crews, plain=plain).text


def job(seed: int, faces: int, crews: int = 1, *, plain: bool = False) -> Job:
    """Return the job of a seed, read from its file."""
    return invent(seed, faces, crews, plain=plain).job()


def write(data: dict[str, Any]) -> str:
    """Return a job file in YAML."""
    out = io.StringIO()
    yaml = YAML(typ="safe", pure=True)
    yaml.default_flow_style = False
    yaml.sort_base_mapping_type_on_output = False
    yaml.representer.ignore_aliases = lambda _: True
    yaml.dump(data, out)
    return out.getvalue()


def read(data: dict[str, Any] | str, now: datetime, beside: Path | None = None) -> Job:
    """Return the job of a file's data or text, read as any file is, on the day of ``now`` at its first site.

    Parameters
    ----------
    beside
        Folder in which the file is to stand, with what it names; None: one of its own, and the
        built-in coat systems are read once only, since that takes longer than planning a small job.
    """
    text = data if isinstance(data, str) else write(data)
    today = now.date() + DAY if isinstance(data, str) else today_of(data, now)
    if beside is not None:
        return _read(beside / "job.yaml", text, today)
    with tempfile.TemporaryDirectory() as folder, _systems_read_once():
        return _read(Path(folder) / "job.yaml", text, today)


def _read(path: Path, text: str, today: date) -> Job:
    path.write_text(text, encoding="utf-8")
    return read_job(path, years=YEARS, today=today)


_read_system = systemfile.read_system
_remembered = lru_cache(_read_system)


@contextmanager
def _systems_read_once() -> Iterator[None]:
    systemfile.read_system = _remembered
    try:
        yield
    finally:
        systemfile.read_system = _read_system


def today_of(data: dict[str, Any], now: datetime) -> date:
    return now.astimezone(ZoneInfo(data["sites"][0]["time_zone"])).date()


# ---------------------------------------------------------------------------------- a new job


def invent(seed: int | Random, faces: int, crews: int = 1, *, plain: bool = False) -> Invented:
    """Return an invented job.

    Parameters
    ----------
    seed
        A number, or a source of choices; small choices make simple jobs.
    faces
        How many faces there are in all.
    crews
        How many crews there are, of two or three people each.
    plain
        Outside faces only, all of clay-lime, nothing begun, every hold met.
    """
    rng = seed if isinstance(seed, Random) else Random(seed)
    country, zone, latitude, longitude = PLACES[0] if plain else rng.choice(PLACES)
    south = latitude < 0
    today = date(2027, 9, 3) if south else date(2027, 4, 2)
    today += timedelta(0 if plain else rng.randrange(0, 120))
    clock = 6 if plain else rng.choice([6, 12, 20])
    now = datetime(today.year, today.month, today.day, clock, 0, tzinfo=ZoneInfo(zone)).astimezone(UTC)
    us = country == "US"
    data: dict[str, Any] = {
        "curing": 1,
        "uid": str(UUID(int=rng.getrandbits(128))),
        "name": "Alder Court",
        "units": "us" if us else "metric",
        "holidays": {"country": country},
        "sites": [_site("a", zone, latitude, longitude)],
        "people": [],
        "crews": [],
        "holds": {point: str(today - 20 * DAY) for point in OPENINGS},
        "walls": [],
    }
    if not plain and maybe(rng, 0.25):
        data["sites"].append(_site("b", zone, latitude + 0.1, longitude + 0.1))
    if not plain and maybe(rng, 0.6):
        data["season"] = _season(rng, south)
    if not plain and maybe(rng, 0.2):
        away = today + timedelta(rng.randrange(5, 60))
        data["holidays"]["days"] = [f"{away}..{away + 9 * DAY}"]
    sizes = [_crew(rng, data, k, today, plain=plain) for k in range(crews)]
    _others(rng, data, today, plain=plain)
    _walls(rng, data, faces, min(sizes), today, plain=plain)
    used = {face["system"] for wall in data["walls"] for face in wall["faces"]}
    data["holds"] |= {SAMPLES[system]: str(today - 15 * DAY) for system in sorted(used)}
    if used == {"clay-inside"}:
        for point in ("roof-gutter", "sills-flashings"):
            del data["holds"][point]
    return Invented(data, now)


def maybe(rng: Random, share: float) -> bool:
    """Return true in that share of cases; the simplest choice is false."""
    return rng.random() > 1 - share


def _site(name: str, zone: str, latitude: float, longitude: float) -> dict[str, Any]:
    place = {"latitude": round(latitude, 2), "longitude": round(longitude, 2), "time_zone": zone}
    return {"id": name, "name": f"Yard {name}", **place}


def _season(rng: Random, south: bool) -> dict[str, Any]:
    season: dict[str, Any] = {"finish_by": "2028-03-22" if south else "2027-09-22"}
    if maybe(rng, 0.6):
        season["resumes"] = "2028-10-20" if south else "2028-04-27"
    if maybe(rng, 0.5):
        season["drying"] = dict.fromkeys(("jan", "feb", "mar", "oct", "nov", "dec"), 0.4 if not south else 0.9)
    return season


def _crew(rng: Random, data: dict[str, Any], number: int, today: date, *, plain: bool) -> int:
    size = 2 if plain else rng.choice([2, 3])
    week = HOURS[0] if plain else rng.choice(HOURS)
    for k in range(size):
        person: dict[str, Any] = {"id": f"c{number}{'xyz'[k]}", "name": f"Crew {number} {'XYZ'[k]}", "roles": ["mists"]}
        if number == k == 0:
            person["roles"] = ["lead", "mists"]
        elif not plain and maybe(rng, 0.2):
            person["roles"] = []
        person["hours"] = dict(week)
        person["reach"] = "scaffold" if plain or k < 2 else "ground"
        if not plain and k and maybe(rng, 0.3):
            away = today + timedelta(rng.randrange(0, 40))
            person["away"] = [f"{away}..{away + timedelta(rng.randrange(0, 8))}"]
        data["people"].append(person)
    crew: dict[str, Any] = {"id": f"crew{number}", "name": f"Crew {number}"}
    crew["people"] = [p["id"] for p in data["people"] if p["id"].startswith(f"c{number}")]
    if "mon-sat" in week:
        crew["working_week"] = ["mon", "tue", "wed", "thu", "fri", "sat"]
    data["crews"].append(crew)
    return size


def _others(rng: Random, data: dict[str, Any], today: date, *, plain: bool) -> None:
    for k in range(len(data["crews"]) if plain else rng.randrange(0, 3)):
        one: dict[str, Any] = {"id": f"near{k}", "name": f"Neighbour {k}", "roles": ["mists"], "reach": "ground"}
        one["hours"] = dict(NEIGHBOURS[0] if plain else rng.choice(NEIGHBOURS))
        if not plain and maybe(rng, 0.5):
            one["longest_round"] = f"{rng.choice([75, 45, 20])} min"
        if not plain and maybe(rng, 0.3):
            away = today + timedelta(rng.randrange(0, 60))
            one["away"] = [f"{away}..{away + 6 * DAY}"]
        data["people"].append(one)
    data["people"].append({"id": "owners", "name": "Owners", "roles": ["client"]})
    data["people"].append({"id": "ines", "name": "Ines", "roles": ["architect"]})


# ----------------------------------------------------------------------------------- the walls


def _walls(rng: Random, data: dict[str, Any], faces: int, hands: int, today: date, *, plain: bool) -> None:
    made = 0
    while made < faces:
        number = len(data["walls"]) + 1
        wall: dict[str, Any] = {"id": str(number), "name": f"wall {number}"}
        if len(data["sites"]) > 1:
            wall["site"] = rng.choice(["a", "b"])
        both = not plain and faces - made > 1 and maybe(rng, 0.4)
        inside = not plain and not both and maybe(rng, 0.15)
        sides = ["out", "in"] if both else ["in"] if inside else ["out"]
        facing = number * 77.0 % 360 if plain else rng.choice([0.0, 90.0, 180.0, 270.0, 22.5, 137.0, 200.0, 315.0])
        wall["faces"] = [_face(rng, data, wall, side, facing, hands, today, plain=plain) for side in sides]
        _panel(rng, data, wall, today, plain=plain)
        if not plain:
            _after(rng, data, wall)
        data["walls"].append(wall)
        made += len(sides)


def _after(rng: Random, data: dict[str, Any], wall: dict[str, Any]) -> None:
    """Let the last face of a wall, if it is fresh, wait for one that has not ended."""
    face = wall["faces"][-1]
    others = [(wall["id"], wall["faces"][0])] if len(wall["faces"]) > 1 else []
    others += [(other["id"], other["faces"][0]) for other in data["walls"]]
    others = [(id_, other) for id_, other in others if "ended" not in other]
    if not others or face.get("done") or not maybe(rng, 0.4):
        return
    id_, other = others[0] if maybe(rng, 0.5) else rng.choice(others)
    coat = rng.choice(["", *(f".{coat}" for coat, _ in COATS[other["system"]])])
    face["after"] = [f"{id_}-{other['side']}{coat}"]


def _face(
    rng: Random,
    data: dict[str, Any],
    wall: dict[str, Any],
    side: str,
    facing: float,
    hands: int,
    today: date,
    *,
    plain: bool,
) -> dict[str, Any]:
    us = data["units"] == "us"
    systems = ["clay-lime", "hydraulic-lime"] if side == "out" else ["clay-inside", "clay-lime"]
    system = systems[0] if plain else rng.choice(systems)
    area = 8.0 + int(wall["id"]) * 7 % 5 if plain else rng.choice([4.0, 6.5, 8.0, 9.3, 5.2 * hands])
    height = 2.7 if plain else rng.choice([2.4, 2.9, 3.0, 5.5])
    face: dict[str, Any] = {"side": side}
    if side == "out":
        face["facing"] = f"{facing:g}°"
    face["area"] = f"{area / 0.09290304:.0f} ft2" if us else f"{area:.1f} m2"
    face["height"] = f"{height / 0.3048:.1f} ft" if us else f"{height:.1f} m"
    face["system"] = system
    if plain:
        return face
    if len(data["crews"]) > 1 and maybe(rng, 0.4):
        face["crew"] = rng.choice([crew["id"] for crew in data["crews"]])
    if side == "out":
        face |= {"cloth": False} if maybe(rng, 0.2) else {}
        face |= {"scaffold": f"scaffold {wall.get('site', 'a')}{int(facing) // 90}"} if maybe(rng, 0.3) else {}
    if maybe(rng, 0.3):
        _begun(rng, face, today)
    elif maybe(rng, 0.5):
        face["start"] = str(today + timedelta(rng.randrange(0, 40)))
    if system == "clay-lime" and maybe(rng, 0.3):
        face["rules"] = rng.choice(
            [{"base.thickness": "5/8 in" if us else "16 mm"}, {"finish.twice_to": "7 d"}, {"finish.once_to": "35 d"}]
        )
    if maybe(rng, 0.05):
        face["ended"] = str(today + timedelta(rng.randrange(0, 60)))
        if date.fromisoformat(face["ended"]) < date.fromisoformat(face.get("start", face["ended"])):
            del face["start"]
    return face


def _begun(rng: Random, face: dict[str, Any], today: date) -> None:
    """Say that some coats are done, the last of them a while ago, and what was tested between them."""
    coats = COATS[face["system"]]
    number = rng.randrange(1, len(coats) + 1)
    day = today - timedelta(rng.randrange(1, 45))
    done, met = {}, {}
    for coat, wait in reversed(coats[:number]):
        done[coat] = f"{day} 15:00"
        if coat in TESTS and coat not in ("second",) and face["system"] != "hydraulic-lime":
            met[TESTS[coat]] = str(day)
        day -= timedelta(wait + rng.randrange(0, 4))
    face["done"] = dict(reversed(done.items()))
    if number < len(coats) and maybe(rng, 0.4):
        coat, wait = coats[number]
        last = date.fromisoformat(face["done"][coats[number - 1][0]][:10])
        if coat in TESTS and face["system"] != "hydraulic-lime" and last + wait * DAY <= today:
            met[TESTS[coat]] = str(last + wait * DAY)
    if met:
        face["holds"] = met


def _panel(rng: Random, data: dict[str, Any], wall: dict[str, Any], today: date, *, plain: bool) -> None:
    """Say how thick the panel is, when it was filled, and what the meter said."""
    if plain:
        wall["holds"] = {"panel-dry": str(today)}
        wall["rules"] = {"panel.lapse": "14 d"}
        return
    us, begun = data["units"] == "us", any("done" in face for face in wall["faces"])
    if maybe(rng, 0.7):
        wall["panel"] = {"thickness": rng.choice(["8 in", "12 in"] if us else ["200 mm", "300 mm"])}
        if maybe(rng, 0.7):
            wall["panel"]["filled"] = str(today - timedelta(rng.choice([300, 240, 200] if begun else [160, 120, 90])))
    read = rng.choice(["dry", "unread", "old", "wet"])
    if read == "dry":
        wall["holds"] = {"panel-dry": {"met": str(today - timedelta(rng.randrange(0, 4))), "by": "ines"}}
    elif read == "old":
        wall["holds"] = {"panel-dry": str(today - 30 * DAY)}
    elif read == "wet":
        wall["holds"] = {"panel-dry": {"refused": str(today - DAY), "note": "24 % at the bottom."}}
