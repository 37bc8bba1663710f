"""Feeds over HTTP: made once a plan and day, then served from memory, with what calendar programs ask for.

The feed of a person is read by programs that send no other header than ``If-None-Match``, if that; so
everything is in the address, an unchanged feed costs nothing, and 410 ends the polling.
"""

from __future__ import annotations

import gzip
import hashlib
import logging
import threading
from collections import OrderedDict
from dataclasses import dataclass
from datetime import UTC, date, datetime
from time import monotonic

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.types import Receive, Scope, Send

from curing import clock
from curing.errors import CuringError
from curing.model.people import Role
from curing.model.plan import Booking, Plan
from curing.publish.calendar import feeds, large_feeds
from curing.publish.page_links import page_of
from curing.publish.words import Words
from curing.serve.guard import Meter
from curing.serve.served import House, Served, Visitor
from curing.workflow.open_job import OpenJob

KEPT = 4
"""Made feeds of so many addresses of this server are kept: a site may be reached by several names."""
HEADERS = {
    "Content-Type": "text/calendar; charset=utf-8",
    "Cache-Control": "private, max-age=300",
    "Vary": "Accept-Encoding",
    "Referrer-Policy": "no-referrer",
    "X-Robots-Tag": "none",  # may be fetched, is not to be listed
}

_log = logging.getLogger("curing.serve")


@dataclass(frozen=True, slots=True)
class Made:
    """One feed, ready to be sent."""

    body: bytes
    packed: bytes
    tag: str
    packed_tag: str


class FeedShelf:
    """The feeds of one job, made when first asked for after a change."""

    def __init__(self, job: OpenJob) -> None:
        self._job = job
        self._making = threading.Lock()
        self._shelf: OrderedDict[tuple[str, str, int, date, int], dict[str, Made]] = OrderedDict()

    def _key(self, base: str, now: datetime) -> tuple[str, str, int, date, int] | None:
        sight = self._job.last_sight
        if sight.plan is None:
            return None
        units = sight.job.file.units
        return base, units, sight.heads.revision, now.astimezone(UTC).date(), self._job.links_changed

    def at_hand(self, base: str, now: datetime, person: str) -> Made | None:
        """Return a feed that is made already, else None; never waits."""
        key = self._key(base, now)
        found = self._shelf.get(key) if key is not None else None
        return found.get(person) if found is not None else None

    def make(self, base: str, now: datetime, person: str) -> Made | None:
        """Return a feed, made if need be; None where there is no plan or nobody of that id in it."""
        with self._making:
            key, plan = self._key(base, now), self._job.last_sight.plan
            if key is None or plan is None:
                return None
            if key not in self._shelf:
                self._shelf[key] = self._all(plan, base, now)
                while len(self._shelf) > KEPT:
                    self._shelf.popitem(last=False)
            return self._shelf[key].get(person)

    def _all(self, plan: Plan, base: str, now: datetime) -> dict[str, Made]:
        roots = {person.id: person.root for person in plan.people}
        homes = {
            person: f"{base}/s/{self._job.token(root, link.generation)}/"
            for person, root in roots.items()
            if (link := self._job.links().get(root)) is not None and link.revoked is None
        }
        words = Words("us" if plan.units == "us" else "metric")
        readers = {person.id for person in plan.people if set(person.roles) == {Role.CLIENT}}

        def page_for(feed: str, booking: Booking) -> str:
            page = "client" if feed in readers else page_of(booking)  # who only reads has one page
            return homes.get(feed, f"{base}/") + page

        found = feeds(plan, words, now, page_for)
        for notice in large_feeds(found):
            _log.warning("large feed", extra={"job": self._job.job_file.name, "why": words.notice(notice)})
        return {person: _made(body) for person, body in found.items() if person in homes}


def _made(body: bytes) -> Made:
    digest = hashlib.sha256(body).hexdigest()[:32]
    return Made(body, gzip.compress(body, 6, mtime=0), f'"{digest}"', f'"{digest}-gz"')


class Feeds:
    """The feed address of every link: an ASGI application, without what a page needs.

    Parameters
    ----------
    house
        The jobs that are served.
    address
        The public address, or empty: that by which the feed was asked for.
    """

    def __init__(self, house: House, address: str, meter: Meter) -> None:
        self._house, self._address, self._meter = house, address, meter
        self._shelves: dict[Served, FeedShelf] = {}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        request = Request(scope, receive)
        response = await self._answer(request)
        await response(scope, receive, send)

    async def _answer(self, request: Request) -> Response:
        if request.method not in ("GET", "HEAD"):
            return PlainTextResponse("a calendar is only read\n", 405, {"Allow": "GET, HEAD"})
        visitor = self._house.visitor(request.path_params["token"])
        if visitor is None:
            return PlainTextResponse("no such calendar\n", 404)
        if visitor.revoked:
            return PlainTextResponse("this link was withdrawn; ask for a new one\n", 410)
        now = clock.now()
        if not self._meter.admits(visitor.link.hash, monotonic()):
            return PlainTextResponse("asked too often\n", 429, {"Retry-After": "60"})
        sight = visitor.served.job.last_sight
        if visitor.person(sight) is None:  # at once, also where the plan still has somebody who left the job
            return PlainTextResponse("nobody of that link is in the job any more\n", 410)
        person = sight.roots.person_now(visitor.link.person)
        base = self._address or f"{request.url.scheme}://{request.headers.get('host', '')}"
        shelf = self._shelf(visitor.served)
        made = shelf.at_hand(base, now, person)
        if made is None:
            try:
                made = await run_in_threadpool(shelf.make, base, now, person)
            except CuringError as error:
                _log.error("feed", extra={"job": visitor.served.name, "why": str(error.problems[0])})
        if made is None:
            return PlainTextResponse("no plan is saved yet\n", 503, {"Retry-After": "60"})
        self._note(visitor, request, now)
        return _sent(request, made)

    def _shelf(self, served: Served) -> FeedShelf:
        """Return the shelf of a job, which may have been begun since the server was."""
        if served not in self._shelves:
            self._shelves[served] = FeedShelf(served.job)
        return self._shelves[served]

    def _note(self, visitor: Visitor, request: Request, now: datetime) -> None:
        if request.method == "GET":
            visitor.served.job.note_fetched(visitor.link, now)


def _sent(request: Request, made: Made) -> Response:
    packs = "gzip" in request.headers.get("accept-encoding", "")
    tag = made.packed_tag if packs else made.tag
    headers = {**HEADERS, "ETag": tag}
    if _matches(request.headers.get("if-none-match", ""), made):
        return Response(status_code=304, headers=headers)
    if packs:
        headers["Content-Encoding"] = "gzip"
    return Response(made.packed if packs else made.body, headers=headers)


def _matches(asked: str, made: Made) -> bool:
    """Tell whether a client has this feed, in either form (RFC 9110, 13.1.2: weak comparison)."""
    if asked.strip() == "*":
        return True
    tags = {tag.strip().removeprefix("W/") for tag in asked.split(",")}
    return not tags.isdisjoint((made.tag, made.packed_tag))
