"""One request of somebody with a link: who, which job, when; and how page functions become routes."""

from __future__ import annotations

import json
import logging
from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from datetime import datetime
from secrets import token_hex
from time import monotonic
from urllib.parse import quote
from zoneinfo import ZoneInfo

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from curing import clock
from curing.errors import CuringError, RecordError, StateError
from curing.model.people import Person
from curing.publish.cut import edge
from curing.publish.layers import patterns
from curing.publish.page_moved import to_decide
from curing.publish.reminder_rows import Sending
from curing.publish.reminder_said import Said
from curing.publish.words import Words
from curing.serve.forms import Form, FormError, read_form
from curing.serve.guard import Meter, own_form
from curing.serve.rendering import render
from curing.serve.served import House, Visitor, decides, only_reads
from curing.store import OtherUnderKey
from curing.workflow.handing_over import takes_over
from curing.workflow.open_job import OpenJob
from curing.workflow.sight import Sight

UNITS_COOKIE = "units"
REPEAT_AFTER = "5"
"""[s] A client that asked too often, or a state that is locked, is asked to wait so long."""

_log = logging.getLogger("curing.serve")


@dataclass(frozen=True)
class Call:
    """What a page function gets.

    Parameters
    ----------
    sight
        The job as it stands.
    person
        Who opened the link.
    now
        The present instant.
    words
        Language and units of the reader.
    """

    request: Request
    visitor: Visitor
    sight: Sight
    person: Person
    now: datetime
    words: Words
    address: str = ""
    demo: bool = False

    @property
    def base(self) -> str:
        """Address of the server, as others reach it."""
        return self.address or f"{self.request.url.scheme}://{self.request.headers.get('host', '')}"

    @property
    def job(self) -> OpenJob:
        """The open job."""
        return self.visitor.served.job

    @property
    def root(self) -> str:
        """Root of the person."""
        return self.visitor.link.person

    @property
    def decides(self) -> bool:
        """Whether the person opens holds and decides."""
        return decides(self.person)

    @property
    def zone(self) -> ZoneInfo:
        """Time zone of the job's first site."""
        return ZoneInfo(self.sight.job.file.sites[0].time_zone)

    @property
    def home(self) -> str:
        """Path under which all pages of this link lie."""
        return f"/s/{self.visitor.token}"

    def to(self, path: str) -> str:
        """Return the address of a page of this link: ``to("wall/3")``."""
        return f"{self.home}/{quote(path, safe='/#?=&')}"

    def page(self, template: str, status: int = 200, **values: object) -> Response:
        """Return a page, with what every page needs."""
        return HTMLResponse(render(template, {**self.frame(), **values}), status)

    def frame(self) -> dict[str, object]:
        """Return what the frame of every page needs."""
        local = self.now.astimezone(self.zone)
        return {
            "say": self.words.say,
            "count": self.words.count,
            "words": self.words,
            "to": self.to,
            "job_name": self.sight.job.file.name,
            "person": self.person,
            "decides": self.decides,
            "reads_only": only_reads(self.person),
            "now": local,
            "clock": f"{local:%H:%M}",
            "day": self.words.day(local.date()),
            "zone": self.zone.key,
            "units": self.words.units,
            "trouble": self.sight.trouble if not only_reads(self.person) else (),
            "reminders_stand": self._reminders_stand() if not only_reads(self.person) else "",
            "planning": self.visitor.served.planning,
            "badge": self._waiting() if self.decides else 0,
            "takes_over": takes_over(self.sight, self.person),
            "secure": self.request.url.scheme == "https",
            "page_here": self.request.url.path.removeprefix(f"{self.home}/"),
            "patterns": patterns(),
            "edge": edge,
            "demo": self.demo,
            "here": "",
            "key": lambda: token_hex(16),
        }

    def _reminders_stand(self) -> str:
        """Return why reminders don't go out, from the last look of the task that watches; empty: they do."""
        served = self.visitor.served
        stands = served.reminding(self.now)
        if served.outbox is None or stands in (Sending.OFF, Sending.WELL):
            return ""
        said = Said(self.words, self.now, self.zone.key).stands(served.outbox, stands)
        return self.words.say("remind.band", text=said)

    def _waiting(self) -> int:
        """Return how many things wait for who decides; worked out once a look."""
        served, sight = self.visitor.served, self.sight
        if sight.plan is None:
            return 0
        if served.waiting is None or served.waiting[0] is not sight:
            served.waiting = (sight, to_decide(sight.plan, (sight.warnings, sight.questions), self.words, self.now))
        return served.waiting[1]

    def back(self, path: str) -> Response:
        """Send the browser to a page of this link, after a form."""
        return RedirectResponse(self.to(path), 303)


Show = Callable[[Call], Response]
"""Answers a GET."""
Take = Callable[[Call, Form], Response]
"""Answers a form."""
Endpoint = Callable[[Request], Awaitable[Response]]


class Desk:
    """Makes routes of page functions: the link is looked up, the form read, errors told.

    Parameters
    ----------
    house
        The jobs that are served.
    meter
        How many requests of one link are taken.
    address
        Public address, or empty: that by which a page was asked for.
    demo
        Whether every page says that all of it is invented.
    """

    def __init__(self, house: House, meter: Meter, address: str = "", *, demo: bool = False) -> None:
        self._house, self._meter, self._address, self._demo = house, meter, address, demo

    def shows(self, show: Show, *, client: bool = False) -> Endpoint:
        """Return the endpoint of a page; ``client``: also for who only reads."""

        async def endpoint(request: Request) -> Response:
            return await self._answer(request, lambda call: show(call), client=client)

        return endpoint

    def takes(self, take: Take, *, lead: bool = False, client: bool = False, quick: bool = False) -> Endpoint:
        """Return the endpoint of a form.

        Parameters
        ----------
        lead
            Only for who decides.
        quick
            Made from the last look at the job, which may lack the newest entries: a tick waits for no other.
        """

        async def endpoint(request: Request) -> Response:
            try:
                if not own_form(request, self._address):
                    text = "this form was not sent from one of our pages; open the page and send it from there"
                    raise FormError(text, status=403)
                form = await read_form(request)
            except FormError as error:
                return _told(request, error, error.status)

            def answer(call: Call) -> Response:
                if lead and not call.decides:
                    return _told(
                        request, RecordError("only the lead or the architect decides this; ask one of them"), 403, call
                    )
                return _in_short(request, take(call, form))

            return await self._answer(request, answer, client=client, quick=quick)

        return endpoint

    async def _answer(
        self, request: Request, answer: Callable[[Call], Response], *, client: bool, quick: bool = False
    ) -> Response:
        visitor = self._house.visitor(request.path_params["token"])
        if visitor is None:
            return _plain(request, "page.unknown_link", 404)
        if visitor.revoked:
            return _plain(request, "page.revoked_link", 410)
        if not self._meter.admits(visitor.link.hash, monotonic()):
            text = "more requests than one phone makes; wait a few seconds and open the page again"
            response = _told(request, RecordError(text), 429)
            response.headers["Retry-After"] = REPEAT_AFTER
            return response
        return await run_in_threadpool(self._worked, request, visitor, answer, client, quick)

    def _worked(
        self, request: Request, visitor: Visitor, answer: Callable[[Call], Response], client: bool, quick: bool
    ) -> Response:
        call: Call | None = None
        try:
            job = visitor.served.job
            sight = job.last_sight if quick else job.sight()
            person = visitor.person(sight)
            if person is None:
                return _plain(request, "page.left_the_job", 410)
            call = Call(request, visitor, sight, person, clock.now(), _words(request, sight), self._address, self._demo)
            if only_reads(person) and not client:
                return _told(request, RecordError("this link is for reading the client's page only"), 403, call)
            return answer(call)
        except FormError as error:
            return _told(request, error, error.status, call)
        except OtherUnderKey as error:  # it will never be kept: a phone that tries again would try for ever
            return _told(request, error, 409, call)
        except StateError as error:
            _log.error("state", extra={"job": visitor.served.name, "why": str(error.problems[0])})
            response = _told(request, error, 503, call)
            response.headers["Retry-After"] = REPEAT_AFTER
            return response
        except CuringError as error:
            return _told(request, error, 409, call)


def _words(request: Request, sight: Sight) -> Words:
    asked = request.cookies.get(UNITS_COOKIE)
    units = asked if asked in ("metric", "us") else sight.job.file.units
    return Words("us" if units == "us" else "metric")


def wants_json(request: Request) -> bool:
    """Tell whether the page's script sent it, which wants a short answer."""
    return request.headers.get("accept", "").partition(",")[0].strip() == "application/json"


def short(kept: bool, text: str, status: int = 200) -> Response:
    """Return the short answer for the page's script."""
    body = json.dumps({"kept": kept, "text": text}, ensure_ascii=False)
    return Response(body, status, media_type="application/json")


def _in_short(request: Request, response: Response) -> Response:
    """Return an answer as the page's script knows it: a page that asks once more is no "kept"."""
    if not wants_json(request) or response.media_type == "application/json" or response.status_code < 400:
        return response
    return short(False, Words().say("page.keep.look"), response.status_code)


def _told(request: Request, error: CuringError, status: int, call: Call | None = None) -> Response:
    """Tell an error: short to a script, as a page to a person."""
    texts = [problem.text for problem in error.problems]
    if wants_json(request):
        return short(False, " ".join(texts), status)
    if call is not None and not only_reads(call.person):
        return call.page("error.html", status, texts=texts)
    words = Words()
    return HTMLResponse(render("plain.html", {"say": words.say, "texts": texts, "title": "page.error"}), status)


def _plain(request: Request, key: str, status: int) -> Response:
    """Answer somebody whose link opens nothing; says nothing of any job."""
    words = Words()
    if wants_json(request):
        return short(False, words.say(f"{key}.text"), status)
    page = render("plain.html", {"say": words.say, "texts": [words.say(f"{key}.text")], "title": key})
    return HTMLResponse(page, status)
