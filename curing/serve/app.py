"""The web application: which address is answered by what."""

from __future__ import annotations

import json
import logging
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass
from time import perf_counter
from typing import Any

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, PlainTextResponse, Response
from starlette.routing import BaseRoute, Route
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from curing.publish.words import Words
from curing.serve import (
    client_pages,
    job_pages,
    moved_pages,
    pass_on_pages,
    people_pages,
    reading_pages,
    reminder_pages,
    setup_pages,
    start_pages,
    take_over_pages,
    today_pages,
    wall_pages,
)
from curing.serve.call import Desk, short, wants_json
from curing.serve.feeds import Feeds
from curing.serve.guard import A_SECOND, BURST, Headers, Hosts, Meter
from curing.serve.health import health
from curing.serve.rendering import NO_SIGNAL, STATIC, WORKER, render, static_file, static_path, static_version
from curing.serve.served import House
from curing.serve.start_pages import Starts

FOR_EVER = "public, max-age=31536000, immutable"
FEED_BURST, FEEDS_A_SECOND = 60, 2
"""A calendar program fetches a feed every few minutes; a whole firm behind one link never asks so often."""

_log = logging.getLogger("curing.serve")


@dataclass(frozen=True)
class Options:
    """How the pages are served.

    Parameters
    ----------
    address
        Public address without a slash at its end, ``https://walls.example.org``; empty: as it was asked for.
    secure
        Whether the server itself speaks TLS.
    page_limit, feed_limit
        Requests for pages, and for the feed, of one link at once, and every second after.
    """

    address: str = ""
    secure: bool = False
    page_limit: tuple[float, float] = (BURST, A_SECOND)
    feed_limit: tuple[float, float] = (FEED_BURST, FEEDS_A_SECOND)
    demo: bool = False
    """Whether every page says that all of it is invented."""


def application(house: House, options: Options, starts: Starts | None = None) -> Starlette:
    """Return the application for some jobs; it plans and watches them while it runs.

    Parameters
    ----------
    starts
        Jobs that can be begun by the page.
    """
    desk = Desk(house, Meter(*options.page_limit), options.address, demo=options.demo)
    feeds = Feeds(house, options.address, Meter(*options.feed_limit))

    @asynccontextmanager
    async def life(app: Starlette) -> AsyncIterator[None]:
        house.begin()
        try:
            yield
        finally:
            await house.end()

    async def healthz(request: Request) -> Response:
        found, well = await run_in_threadpool(health, house)  # a disk that hangs holds up nobody else
        return JSONResponse(found, 200 if well else 503)

    routes: list[BaseRoute] = [
        Route("/s/{token}/calendar.ics", feeds, methods=None),
        *today_pages.routes(desk),
        *wall_pages.routes(desk),
        *reading_pages.routes(desk),
        *job_pages.routes(desk),
        *moved_pages.routes(desk),
        *people_pages.routes(desk),
        *reminder_pages.routes(desk),
        *pass_on_pages.routes(desk),
        *take_over_pages.routes(desk),
        *client_pages.routes(desk),
        *setup_pages.routes(desk),
        *start_pages.routes(starts or Starts(house), options.address),
        Route("/", _front),
        Route("/static/{version}/{name}", _static),
        Route("/sw.js", _worker),
        Route("/healthz", healthz),
        Route("/robots.txt", _robots),
    ]
    return _Application(
        options.secure,
        routes=routes,
        lifespan=life,
        exception_handlers={HTTPException: _not_there, Exception: _broken},
    )


class _Application(Starlette):
    """Puts log and headers round everything, also round the answer to what broke."""

    def __init__(self, secure: bool, **more: Any) -> None:
        self._secure = secure
        super().__init__(**more)

    def build_middleware_stack(self) -> ASGIApp:
        """Return the application with all that is round it."""
        return Headers(RequestLog(Hosts(super().build_middleware_stack())), secure=self._secure)


async def _front(request: Request) -> Response:
    words = Words()
    page = render("plain.html", {"say": words.say, "texts": [words.say("page.front.text")], "title": "page.front"})
    return HTMLResponse(page)


def _no_signal() -> bytes:
    """Return the page that the worker shows without signal where it has no copy of what was asked for."""
    words = Words()
    return render("no-signal.html", {"say": words.say, "clock": ""}).encode()


async def _static(request: Request) -> Response:
    name, version = request.path_params["name"], request.path_params["version"]
    if name == NO_SIGNAL and version == static_version():
        return Response(_no_signal(), media_type="text/html", headers={"Cache-Control": FOR_EVER})
    if name not in STATIC or version != static_version():
        raise HTTPException(404)
    return Response(static_file(name), headers={"Content-Type": STATIC[name], "Cache-Control": FOR_EVER})


async def _worker(request: Request) -> Response:
    files = json.dumps([static_path(name) for name in (*STATIC, NO_SIGNAL)])
    text = static_file(WORKER).decode().replace("/*STATIC*/[]", files)
    text = text.replace('/*VERSION*/""', json.dumps(static_version()))
    text = text.replace('/*NO_SIGNAL*/""', json.dumps(static_path(NO_SIGNAL)))
    return Response(text, headers={"Content-Type": "text/javascript; charset=utf-8", "Cache-Control": "no-cache"})


async def _robots(request: Request) -> Response:
    # Calendar services obey this file and would fetch nothing; pages say noindex themselves.
    return PlainTextResponse("User-agent: *\nAllow: /\n")


async def _not_there(request: Request, error: Exception) -> Response:
    status = error.status_code if isinstance(error, HTTPException) else 500
    key = {404: "page.not_there", 405: "page.not_so"}.get(status, "page.not_there")
    words = Words()
    headers = getattr(error, "headers", None)
    if wants_json(request):
        told = short(False, words.say(f"{key}.text"), status)
        told.headers.update(headers or {})
        return told
    page = render("plain.html", {"say": words.say, "texts": [words.say(f"{key}.text")], "title": key})
    return HTMLResponse(page, status, headers=headers)


async def _broken(request: Request, error: Exception) -> Response:
    words = Words()
    if wants_json(request):
        return short(False, words.say("page.broken.text"), 500)
    page = render("plain.html", {"say": words.say, "texts": [words.say("page.broken.text")], "title": "page.broken"})
    return HTMLResponse(page, 500)


class RequestLog:
    """Middleware: one line a request, without the link."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, and log how it was answered, but for what did not change."""
        if scope["type"] != "http" or not _log.isEnabledFor(logging.INFO):
            await self.app(scope, receive, send)
            return
        began, status = perf_counter(), 0

        async def seen(message: Message) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
            await send(message)

        try:
            await self.app(scope, receive, seen)
        finally:
            if status != 304:  # a calendar that asks and has it all: thousands a day tell nobody anything
                path = getattr(scope.get("route"), "path", "") or "other"
                said = {"method": scope["method"], "page": path, "status": status}
                _log.info("request", extra={**said, "ms": round(1000 * (perf_counter() - began), 1)})
