"""What happens to an invented job: coats are laid, holds met, people away, walls renamed.

Each edit changes the data of a job file as its writer might, by choices of a random source.
"""

from __future__ import annotations

import copy
from collections.abc import Callable
from datetime import date, timedelta
from random import Random
from typing import Any
from zoneinfo import ZoneInfo

from jobs import COATS, DAY, OPENINGS, TESTS, maybe

from curing.model.plan import Kind, Plan, State

Edit = Callable[[Random, dict[str, Any], Plan, date], None]


def edited(rng: Random, data: dict[str, Any], plan: Plan, today: date, times: int = 2) -> dict[str, Any]:
    """Return the job as people might have changed its file by that day: what is laid, met, moved, renamed."""
    new = copy.deepcopy(data)
    for _ in range(times):
        rng.choice(EDITS)(rng, new, plan, today)
    return new


def _faces(data: dict[str, Any]) -> dict[str, tuple[dict[str, Any], dict[str, Any]]]:
    return {f"{wall['id']}-{face['side']}": (wall, face) for wall in data["walls"] for face in wall["faces"]}


def nothing(rng: Random, data: dict[str, Any], plan: Plan, today: date) -> None:
    """Leave the file as it is."""


def laid(rng: Random, data: dict[str, Any], plan: Plan, today: date) -> None:
    """Write down coats of the plan whose day is over, most of them, as laid on that day or later."""
    faces = _faces(data)
    for one in sorted(plan.bookings, key=lambda b: b.start):
        day = one.start.astimezone(ZoneInfo(one.zone)).date()
        if one.kind is not Kind.COAT or one.state is State.DONE or day >= today or one.faces[0] not in faces:
            continue
        face = faces[one.faces[0]][1]
        order = [coat for coat, _ in COATS[face["system"]]]
        done = face.setdefault("done", {})
        if one.task in done or set(order[: order.index(one.task)]) - set(done) or maybe(rng, 0.2):
            continue
        end = one.end.astimezone(ZoneInfo(one.zone))
        done[one.task] = f"{end:%Y-%m-%d %H:%M}"


def read_dry(rng: Random, data: dict[str, Any], plan: Plan, today: date) -> None:
    """Record that a panel was read dry today."""
    wall = rng.choice(data["walls"])
    wall.setdefault("holds", {})["panel-dry"] = str(today)


def read_wet(rng: Random, data: dict[str, Any], plan: Plan, today: date) -> None:
    """Record that a panel was read wet today."""
    wall = rng.choice(data["walls"])
    wall.setdefault("holds", {})["panel-dry"] = {"refused": str(today), "by": "ines"}


def tested(rng: Random, data: dict[str, Any], plan: Plan, today: date) -> None:
    """Record tests of coats that are done and whose waits are over."""
    for _, face in _faces(data).values():
        done = face.get("done", {})
        for (before, _), (coat, wait) in zip(COATS[face["system"]], COATS[face["system"]][1:], strict=False):
            if before not in done or coat in done or coat not in TESTS or face["system"] == "hydraulic-lime":
                continue
            if date.fromisoformat(done[before][:10]) + (wait + 8) * DAY <= today:
                face.setdefault("holds", {}).setdefault(TESTS[coat], str(today))


def away(rng: Random, data: dict[str, Any], plan: Plan, today: date) -> None:
    """Send somebody away for some days."""
    person = rng.choice([p for p in data["people"] if p.get("hours")])
    first = today + timedelta(rng.randrange(0, 30))
    person.setdefault("away", []).append(f"{first}..{first + timedelta(rng.randrange(0, 10))}")


def larger(rng: Random, data: dict[str, Any], plan: Plan, today: date) -> None:
    """Measure a face again."""
    face = rng.choice(data["walls"])["faces"][0]
    face["area"] = "75 ft2" if data["units"] == "us" else "7.0 m2"


def later_start(rng: Random, data: dict[str, Any], plan: Plan, today: date) -> None:
    """Let a face begin on another day."""
    face = rng.choice(data["walls"])["faces"][0]
    face["start"] = str(today + timedelta(rng.randrange(0, 30)))
    face.pop("ended", None)


def day_off(rng: Random, data: dict[str, Any], plan: Plan, today: date) -> None:
    """Take a day off, even today or tomorrow."""
    day = today + timedelta(rng.randrange(0, 20))
    data["holidays"].setdefault("days", []).append(str(day))


def new_wall(rng: Random, data: dict[str, Any], plan: Plan, today: date) -> None:
    """Add a wall at the end."""
    number = 1 + max(int(wall["id"].removeprefix("n")) for wall in data["walls"])
    us = data["units"] == "us"
    face = {"side": "out", "facing": "E", "area": "70 ft2" if us else "6.5 m2", "height": "8 ft" if us else "2.4 m"}
    wall = {"id": str(number), "name": f"wall {number}", "faces": [{**face, "system": "clay-lime"}]}
    wall |= {"site": "a"} if len(data["sites"]) > 1 else {}
    data["walls"].append(wall)
    data["holds"] |= {"sample-panel": str(today - 15 * DAY)}
    data["holds"] |= {point: str(today - 20 * DAY) for point in OPENINGS if point not in data["holds"]}


def renamed(rng: Random, data: dict[str, Any], plan: Plan, today: date) -> None:
    """Give a wall another id, and say what it was."""
    wall = rng.choice(data["walls"])
    old, new = wall["id"], f"n{wall['id'].removeprefix('n')}" if not wall["id"].startswith("n") else wall["id"][1:]
    wall["was"], wall["id"] = old, new
    for _, face in _faces(data).values():
        if "after" in face:
            face["after"] = [new + ref[len(old) :] if ref.startswith(f"{old}-") else ref for ref in face["after"]]


def ended(rng: Random, data: dict[str, Any], plan: Plan, today: date) -> None:
    """End a face that nothing waits for."""
    waited = {ref.partition(".")[0] for _, face in _faces(data).values() for ref in face.get("after", ())}
    free = [face for name, (_, face) in _faces(data).items() if name not in waited]
    if free:
        face = rng.choice(free)
        face["ended"] = str(today + timedelta(rng.randrange(0, 10)))
        face.pop("start", None)


def no_neighbours(rng: Random, data: dict[str, Any], plan: Plan, today: date) -> None:
    """Let whoever is not of a crew leave the job."""
    data["people"] = [person for person in data["people"] if not person["id"].startswith("near")]


EDITS: list[Edit] = [
    nothing, laid, laid, read_dry, tested, away, day_off, later_start, larger, new_wall, renamed, read_wet, ended,
    no_neighbours,
]  # fmt: skip
