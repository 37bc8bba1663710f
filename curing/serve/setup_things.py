"""Which thing of the job a page of the set-up is about, told by its address."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from starlette.exceptions import HTTPException

from curing.errors import RecordError
from curing.publish.page_setup import Overview, Steps, at, items, name_of
from curing.publish.words import Words
from curing.serve.call import Call
from curing.serve.forms import FormError
from curing.serve.setup_asked import data_of, id_at, systems
from curing.workflow.job_setup import JobSetup

KINDS = {"sites": "site", "people": "person", "crews": "crew", "meters": "meter", "walls": "wall"}
"""Section → what one thing of it is called by its fields."""


@dataclass(frozen=True)
class Thing:
    """One thing of the job.

    Parameters
    ----------
    kind
        Which fields it has: ``person``, ``face``.
    steps
        To it in the file.
    path
        Of its page, under that of the set-up.
    back
        Of the page on which it stands among others.
    new
        Whether it is not there yet.
    """

    kind: str
    steps: Steps
    path: str
    back: str
    new: bool = False

    def at(self, place: int) -> Thing:
        """Return the same at another place of its list."""
        return replace(self, steps=(*self.steps[:-1], place))


def only_deciders(call: Call) -> None:
    """Refuse whoever does not decide."""
    if not call.decides:
        raise FormError(call.words.say("setup.only"), status=403)


def thing_of(call: Call, setup: JobSetup, told: str | None = None) -> Thing:
    """Return what a page is about.

    Parameters
    ----------
    told
        Id that the form says it shows, where the file may have changed since: places then mean others.

    Raises
    ------
    HTTPException
        There is no such page.
    RecordError
        What the form shows is not in the job any more.
    """
    data, given = data_of(setup), call.request.path_params
    parts = call.request.url.path.removeprefix(f"{call.home}/setup/").split("/")
    if parts[0] == "job":
        return Thing("job", (), "job", "")
    steps: Steps = ()
    path = ""
    if parts[0] in KINDS:
        section = parts[0]
        if "number" not in given:
            return Thing(KINDS[section], (section, _length(data, section)), f"{section}/new", section, new=True)
        here = "faces" not in parts and "holds" not in parts
        place = _place(call, data, section, given["number"], told if here else None)
        steps, path = (section, place), f"{section}/{place + 1}"
        if here:
            return Thing(KINDS[section], steps, path, section)
    if "faces" in parts:
        steps, path, back = _face(call, data, steps, path)
        if "side" not in given:
            return Thing("face", steps, f"{path}", back, new=True)
        if "hold" not in given:
            return Thing("face", steps, path, back)
    return _hold(call, setup, steps, path)


def _length(data: Mapping[str, Any], section: str) -> int:
    found = data.get(section)
    return len(found) if isinstance(found, list) else 0


def _place(call: Call, data: Mapping[str, Any], section: str, number: str, told: str | None) -> int:
    place = int(number) - 1 if number.isascii() and number.isdigit() and len(number) < 6 else -1
    if told is not None and id_at(data, (section, place)) != told:
        place = next((n for n, one in items(data, section) if str(one.get("id", "")) == told), -1)
        if place < 0:
            raise RecordError(call.words.say("setup.gone"))
    if not isinstance(at(data, (section, place)), Mapping):
        raise HTTPException(404)
    return place


def _face(call: Call, data: Mapping[str, Any], wall: Steps, path: str) -> tuple[Steps, str, str]:
    listed = list(items(at(data, wall), "faces"))
    side = call.request.path_params.get("side")
    if side is None:
        return (*wall, "faces", _length(at(data, wall), "faces")), f"{path}/faces/new", path
    place = next((n for n, one in listed if one.get("side") == side), None)
    if place is None and side.isascii() and side.isdigit() and len(side) < 3:  # a side that is none, to be mended
        place = next((n for n, _ in listed if n == int(side) - 1), None)
    if place is None:
        raise HTTPException(404)
    return (*wall, "faces", place), f"{path}/faces/{side}", path


def _hold(call: Call, setup: JobSetup, steps: Steps, path: str) -> Thing:
    data, hold = data_of(setup), str(call.request.path_params["hold"])
    view = Overview(data, (), systems(setup), call.words)
    back = path or "holds"
    own = f"{path}/holds/{hold}" if path else f"holds/{hold}"
    if all(row.path != own for row in view.holds(steps, own.rpartition("/")[0])):
        raise HTTPException(404)
    return Thing("hold", (*steps, "holds", hold), own, back)


def title_of(data: Mapping[str, Any], thing: Thing, words: Words) -> str:
    """Return the heading of a page about a thing."""
    say, steps = words.say, thing.steps
    if thing.kind == "job":
        return say("setup.thing.job")
    wall = name_of(at(data, steps[:2]), words) if steps[0] == "walls" and len(steps) > 2 else ""
    if thing.kind == "hold":
        return say("setup.hold.of", hold=steps[-1], wall=wall) if wall else str(steps[-1])
    if thing.kind == "face":
        if thing.new:
            return say("setup.new.face", name=wall)
        side = str(at(data, steps).get("side"))
        told = say(f"setup.choice.side.{side}") if side in ("out", "in") else side
        return say("setup.face.of", wall=wall, side=told)
    return say(f"setup.new.{steps[0]}") if thing.new else name_of(at(data, steps), words)
