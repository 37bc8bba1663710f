"""A new job begun by the page alone: one form, a file written, and the job served at once."""

from __future__ import annotations

import threading
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from hmac import compare_digest
from pathlib import Path
from secrets import token_hex, token_urlsafe
from zoneinfo import ZoneInfo

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import BaseRoute, Route

from curing import clock
from curing.errors import CuringError
from curing.publish.page_setup import told
from curing.publish.page_setup_form import Asked
from curing.publish.page_setup_form import Form as Drawn
from curing.publish.words import Words
from curing.serve.forms import Form, FormError, read_form
from curing.serve.guard import own_form
from curing.serve.rendering import render
from curing.serve.served import House, decides
from curing.sources.places import nearest_zone, read_zone
from curing.sources.typed_answers import read_position
from curing.workflow.new_job import SUFFIXES, systems_at_hand
from curing.workflow.open_job import OpenJob
from curing.workflow.opening import EASTERNMOST
from curing.workflow.setup_new import FIELDS, NewJobFault, begin_job, new_form
from curing.workflow.setup_typed import UNITS, unit_of, with_unit

GROUPS: Mapping[str, tuple[str, ...]] = {
    "job": ("name", "units", "country"),
    "site": ("site", "latitude", "longitude", "time_zone"),
    "people": ("lead", "hours", "others"),
    "wall": ("wall", "thickness", "filled"),
    "face": ("side", "facing", "area", "height", "system"),
}
"""Fields of the first form, in the order of the page."""
CHOICES = {"units": ("metric", "us"), "side": ("out", "in")}


def can_begin(job_file: Path) -> bool:
    """Tell whether a job file is not there yet and may be begun: its folder is, and it is named as one."""
    there = job_file.is_symlink() or job_file.exists()
    return not there and job_file.suffix in SUFFIXES and job_file.parent.is_dir()


@dataclass
class Start:
    """A job file that is not there yet, and the link that begins it once."""

    job_file: Path
    state: Path | None
    secret: str = field(default_factory=lambda: token_urlsafe(32), repr=False)
    key: str = ""
    """Of the form that began it."""
    led_to: str = ""
    lock: threading.Lock = field(default_factory=threading.Lock, repr=False)


class Starts:
    """The jobs that can be begun by the page; kept in memory alone.

    Parameters
    ----------
    house
        Where a job is served from when it is begun.
    files
        Job files that are not there yet, each with its state folder or None.
    """

    def __init__(self, house: House, files: Sequence[tuple[Path, Path | None]] = ()) -> None:
        self._house = house
        self._all = [Start(job_file, state) for job_file, state in files]

    def links(self) -> list[tuple[Path, str]]:
        """Return each job file with the path of its start link."""
        return [(one.job_file, f"/new/{one.secret}") for one in self._all]

    def find(self, secret: str) -> Start | None:
        """Return what a start link begins."""
        found = [one for one in self._all if compare_digest(one.secret.encode(), secret.encode())]
        return found[0] if found else None

    def begin(self, start: Start, form: Mapping[str, str]) -> tuple[str, list[NewJobFault]]:
        """Write the job file and serve it; return the path of the lead's pages, or what is wrong with which field."""
        today = (clock.now() + EASTERNMOST).date()  # the job's zone is not known yet: the latest date anywhere
        path, faults = begin_job(start.job_file.parent, form, today, start.job_file.name)
        if path is None:
            return "", faults
        job = OpenJob(start.job_file, start.state)
        try:
            self._house.add(job)
        except CuringError:
            job.close()
            raise
        sight = job.sight()
        lead = next(one for one in sight.job.file.people if decides(one))
        return f"/s/{job.give_link(sight.roots.people[lead.id], clock.now())}/setup", []


def routes(starts: Starts, address: str) -> list[BaseRoute]:
    """Return the addresses of the start links."""

    async def show(request: Request) -> Response:
        start = starts.find(request.path_params["secret"])
        if start is None:
            return _plain("start.unknown", 404)
        return await run_in_threadpool(_shown, start)

    async def take(request: Request) -> Response:
        try:
            if not own_form(request, address):
                raise FormError(Words().say("start.foreign"), status=403)
            form = await read_form(request)
            start = starts.find(request.path_params["secret"])
            if start is None:
                return _plain("start.unknown", 404)
            return await run_in_threadpool(_begun, starts, start, form)
        except FormError as error:
            return _plain("page.error", error.status, [error.problems[0].text])

    return [Route("/new/{secret}", show), Route("/new/{secret}", take, methods=["POST"])]


def _plain(key: str, status: int, texts: Sequence[str] = ()) -> Response:
    say = Words().say
    page = render("plain.html", {"say": say, "texts": texts or [say(f"{key}.text")], "title": key})
    return HTMLResponse(page, status)


def _shown(start: Start) -> Response:
    return _plain("start.used", 410) if start.led_to else _page(start, new_form())


def _begun(starts: Starts, start: Start, form: Form) -> Response:
    key, values = form.key(), _values(form)
    with start.lock:
        if start.led_to:  # the same form sent twice begins one job, and leads to it
            return RedirectResponse(start.led_to, 303) if key == start.key else _plain("start.used", 410)
        proposed = _zone_proposed(values)
        if proposed:
            values["time_zone"] = proposed
            return _page(start, values, [NewJobFault("time_zone", _proposal(values, proposed))])
        try:
            led_to, faults = starts.begin(start, values)
        except CuringError as error:
            return _page(start, values, head=[problem.text for problem in error.problems], status=409)
        if faults:
            return _page(start, values, faults)
        start.key, start.led_to = key, led_to
    return RedirectResponse(f"{led_to}?done=begun", 303)


def _values(form: Form) -> dict[str, str]:
    found = new_form()
    for name in FIELDS:
        if name in form.fields:
            found[name] = (form.maybe(name) or "").replace("\r\n", "\n").strip()
    units = "us" if found["units"] == "us" else "metric"
    for name in FIELDS:
        found[name] = with_unit(name, found[name], "us" if units == "us" else "metric")
    if not found["longitude"]:  # a map gives both at once
        with suppress(ValueError):
            found["latitude"], found["longitude"] = read_position(found["latitude"])
    return found


def _zone_proposed(values: Mapping[str, str]) -> str:
    """Return the time zone of a position, where none was given and the position can be read."""
    if values["time_zone"]:
        return ""
    try:
        latitude, longitude = read_position(f"{values['latitude']}, {values['longitude']}")
        return read_zone(nearest_zone(float(latitude), float(longitude)).name)
    except ValueError:
        return ""


def _proposal(values: Mapping[str, str], zone: str) -> str:
    return Words().say("start.zone", zone=zone, clock=f"{clock.now().astimezone(ZoneInfo(zone)):%H:%M}")


def _page(
    start: Start,
    values: Mapping[str, str],
    faults: Sequence[NewJobFault] = (),
    head: Sequence[str] = (),
    status: int = 200,
) -> Response:
    words = Words("us" if values.get("units") == "us" else "metric")
    known = {name for fields in GROUPS.values() for name in fields}
    whole = [*head, *(told(one.text, words) for one in faults if one.field not in known)]
    at_hand = systems_at_hand(start.job_file.parent)
    units = {one: unit_of(one, words.units) for one in UNITS}
    drawn = Drawn("new", {}, at_hand, units, words)
    groups = [(group, [_asked(one, drawn, values, faults) for one in fields]) for group, fields in GROUPS.items()]
    page = render(
        "start.html",
        {
            "say": words.say,
            "count": words.count,
            "groups": groups,
            "head": whole,
            "wrong": len({one.field for one in faults if one.field in known}),
            "file": start.job_file.name,
            "action": f"/new/{start.secret}",
            "key": token_hex(16),
        },
    )
    return HTMLResponse(page, 422 if faults and status == 200 else status)


def _asked(name: str, drawn: Drawn, values: Mapping[str, str], faults: Sequence[NewJobFault]) -> Asked:
    problems = list(dict.fromkeys(told(one.text, drawn.words) for one in faults if one.field == name))
    return drawn.asked(name, values[name], CHOICES.get(name, ()), problems)
