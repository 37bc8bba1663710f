"""A small service with invented walls that keeps to the contract of the pages' script, and can be made to fail.

It stands in for the real one where a test needs the service to answer badly,
to die, or to come back as another version. What it has taken stays in
:class:`Stub`, as a store would keep it, over stops and starts of the server.
"""

from __future__ import annotations

import asyncio
import contextlib
import json
import re
import socket
import struct
import threading
import time
from collections.abc import Awaitable, Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from html import escape
from pathlib import Path
from urllib.parse import parse_qsl
from zoneinfo import ZoneInfo

import uvicorn
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, PlainTextResponse, RedirectResponse, Response
from starlette.routing import Route

PAGES = Path(__file__).parents[2] / "templates" / "pages"
SCRIPTS = ("queue.js", "clock.js", "page.js", "ticks.js")
ZONE = ZoneInfo("Europe/Amsterdam")
ANNA = "anna-" + "A" * 38
BEN = "ben--" + "B" * 38
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; "
    "manifest-src 'self'; worker-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
WALLS = ("1", "2", "3")
CSS = "[hidden] { display: none !important } form[data-held] button { display: none } body { margin: 0 }"


@dataclass
class Stub:
    """What the service has taken, and how it is to answer.

    ``answer`` replaces the service's answer to a POST: it is called with the
    request, and with what takes the tick in earnest.
    """

    taken: dict[str, dict[str, str]] = field(default_factory=dict)
    posts: list[dict[str, str]] = field(default_factory=list)
    gone: set[str] = field(default_factory=set)
    version: str = "v1"
    page_delay: float = 0.0
    pages_fail: bool = False
    every: float = 1.0
    patience: float = 3.0
    drawn_ago: timedelta = timedelta()
    answer: Callable[[Request, Callable[[], Response]], Awaitable[Response]] | None = None

    def hold_answers(self) -> Callable[[], None]:
        """Answer no POST until what is returned is called."""
        opened: list[bool] = []

        async def wait(request: Request, take: Callable[[], Response]) -> Response:
            while not opened:
                await asyncio.sleep(0.02)
            return take()

        self.answer = wait
        return lambda: opened.append(True)

    def of(self, what: str) -> list[dict[str, str]]:
        """Return what was taken with this answer, in the order of taking."""
        return [one for one in self.taken.values() if one["what"] == what]


def now() -> datetime:
    """Return the true instant."""
    return datetime.fromtimestamp(time.time_ns() / 1e9, UTC)


def happened(form: dict[str, str], at_server: datetime) -> datetime:
    """Return when the work was done, from what the phone says of it.

    The time between press and sending, by the phone's own clock, is taken off
    the server's; where it does not fit the instant that the page showed, the
    phone's clock was set while the tick waited, and that instant counts.
    """
    waited = timedelta(seconds=int(form.get("waited", "0")))
    shown = datetime.fromisoformat(form["at"])
    if "waited" not in form or abs(shown + waited - at_server) > timedelta(minutes=5):
        when = min(shown, at_server)
    else:
        when = at_server - waited
    return when - timedelta(minutes=int(form.get("ago") or 0))


async def fields(request: Request) -> dict[str, str]:
    """Return the fields of a form; the last of those that come twice."""
    return dict(parse_qsl((await request.body()).decode(), keep_blank_values=True))


def make_app(stub: Stub) -> Starlette:
    """Return the service over ``stub``."""

    async def today(request: Request) -> Response:
        token = request.path_params["token"]
        await asyncio.sleep(stub.page_delay)
        if token in stub.gone or token not in (ANNA, BEN):
            return plain(HTMLResponse("<!doctype html><title>Gone</title><p>This link is no more.", 410))
        if stub.pages_fail:
            return plain(HTMLResponse("<!doctype html><title>Trouble</title><p>Trouble.", 500))
        return plain(HTMLResponse(draw(stub, token)))

    async def wall(request: Request) -> Response:
        if request.path_params["wall"] not in WALLS:
            return plain(HTMLResponse("<!doctype html><title>None</title><p>No such wall.", 404))
        return await today(request)

    async def tick(request: Request) -> Response:
        form = await fields(request)
        token = request.path_params["token"]
        stub.posts.append(form)
        if request.headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
            return JSONResponse({"kept": False, "text": "Not from this page."}, 403)
        if "sec-fetch-site" not in request.headers:
            origin = request.headers.get("origin", "")
            if origin.partition("://")[2] != request.headers["host"]:
                return JSONResponse({"kept": False, "text": "Not from this page."}, 403)

        def take() -> Response:
            if token in stub.gone:
                return JSONResponse({"kept": False, "text": "This link is no more."}, 410)
            entry = form | {"token": token, "when": happened(form, now()).isoformat()}
            stub.taken.setdefault(form["key"], entry)
            if "application/json" in request.headers.get("accept", ""):
                return JSONResponse({"kept": True, "text": "Taken."})
            return RedirectResponse(f"/s/{token}/today", 303)

        return await stub.answer(request, take) if stub.answer else take()

    async def static(request: Request) -> Response:
        name = request.path_params["name"]
        if name == "curing.css":
            return PlainTextResponse(CSS, media_type="text/css")
        if name == "no-signal.html":
            return plain(HTMLResponse(draw_no_signal(stub)))
        if name not in SCRIPTS:
            return PlainTextResponse("none", 404)
        return Response((PAGES / name).read_bytes(), media_type="text/javascript")

    async def worker(request: Request) -> Response:
        names = [f"/static/{stub.version}/{name}" for name in (*SCRIPTS, "curing.css", "no-signal.html")]
        text = (PAGES / "sw.js").read_text(encoding="utf-8")
        for mark, value in (
            ("/*STATIC*/[]", names),
            ('/*VERSION*/""', stub.version),
            ('/*NO_SIGNAL*/""', names[-1]),
        ):
            assert text.count(mark) == 1
            text = text.replace(mark, json.dumps(value))
        return plain(Response(text, media_type="text/javascript", headers={"Cache-Control": "no-cache"}))

    async def health(request: Request) -> Response:
        return PlainTextResponse("well")

    return Starlette(
        routes=[
            Route("/s/{token}/today", today),
            Route("/s/{token}/wall/{wall}", wall),
            Route("/s/{token}/tick", tick, methods=["POST"]),
            Route("/static/{version}/{name}", static),
            Route("/sw.js", worker),
            Route("/favicon.ico", health),
            Route("/healthz", health),
        ]
    )


def plain(response: Response) -> Response:
    """Return ``response`` with the headers that every page has."""
    response.headers["Content-Security-Policy"] = POLICY
    response.headers["Referrer-Policy"] = "same-origin"
    response.headers.setdefault("Cache-Control", "no-cache")
    return response


def draw(stub: Stub, token: str) -> str:
    """Return a page like today's: one form a wall, those done told with their time."""
    moment = (now() - stub.drawn_ago).replace(microsecond=0)
    clock = moment.astimezone(ZONE).strftime("%H:%M")
    done = {one["visit"]: one for one in stub.taken.values()}
    blocks = []
    marked = False
    for wall in WALLS:
        if wall in done:
            when = datetime.fromisoformat(done[wall]["when"]).astimezone(ZONE)
            blocks.append(f'<p id="done-{wall}">Wall {wall}: {escape(done[wall]["what"])} {when:%H:%M}</p>')
            continue
        mark = "" if marked else " data-next"
        marked = True
        blocks.append(f"""<h2{mark} id="wall-{wall}">Wall {wall}</h2>
<form id="form-{wall}" method="post" action="/s/{token}/tick" data-keep="wall {wall}: answered">
<input type="hidden" name="key" value="{re.sub(r"[^0-9]", "", str(time.time_ns()))}-{wall}-{token[:3]}">
<input type="hidden" name="visit" value="{wall}">
<input type="hidden" name="at" value="{moment.isoformat()}">
<button name="what" value="misted" data-clock data-keep="wall {wall}: misted"><b>Done</b> {clock}</button>
<button name="what" value="damp" data-keep="wall {wall}: damp">Still damp</button>
<label>Did it earlier? <select name="ago"><option value="">now<option value="30">30 min</select></label>
<label>At <input name="clock" placeholder="{clock}"></label>
</form>""")
    return f"""<!doctype html>
<html lang="en-GB" data-now="{moment.isoformat()}" data-zone="{ZONE.key}">
<head><meta charset="utf-8"><meta name="viewport" content="width=device-width"><title>Today</title>
<link rel="stylesheet" href="/static/{stub.version}/curing.css"></head>
<body><header>Version {stub.version} <time id="clock" data-clock>{clock}</time></header><main>
<h1>{escape(token[:4])} today</h1>
<p class="needs-copy" id="copy" hidden>No signal. This page is from {clock}.</p>
<p class="needs-script-off" id="no-script">This phone cannot keep ticks.</p>
<p id="no-worker" hidden>This address keeps ticks only while the page is open.</p>
<p id="said" role="status"></p>
{draw_list(stub)}
{"".join(blocks)}
<a href="/s/{token}/wall/2" data-keep-page>Wall 2</a>
<button data-copy="https://example.invalid/feed" data-copied="Copied." class="needs-script" hidden>Copy</button>
</main>{draw_scripts(stub)}</body></html>"""


def draw_list(stub: Stub) -> str:
    """Return the empty list of kept ticks with its words."""
    return f"""<section id="kept" hidden data-every="{stub.every}" data-patience="{stub.patience}"
data-no-signal-one="No signal. {{n}} tick is kept." data-no-signal-other="No signal. {{n}} ticks are kept."
data-no-answer-one="No answer. {{n}} tick is kept." data-no-answer-other="No answer. {{n}} ticks are kept."
data-refused-one="{{n}} tick was refused." data-refused-other="{{n}} ticks were refused."
data-said-kept="Kept on this phone: {{text}}." data-said-undone="Taken out: {{text}}."
data-said-refused="Refused: {{text}}. {{why}}"
data-said-sent-one="Sent." data-said-sent-other="{{n}} sent."
data-held-waiting="Kept on this phone" data-held-sent="Sent" data-held-refused="Refused, see above">
<h2 class="kept-head"></h2><p class="kept-note">They go out by themselves.</p><ol class="kept-list"></ol>
<template class="kept-waiting"><li><span class="kept-text"></span> <span class="kept-time"></span>
<button type="button" class="kept-undo">Undo</button></li></template>
<template class="kept-refused"><li><span class="kept-text"></span> <span class="kept-time"></span>
<span class="kept-why"></span> <button type="button" class="kept-away">Put away</button></li></template>
</section>"""


def draw_scripts(stub: Stub) -> str:
    """Return the script tags, in the order in which they need one another."""
    return "".join(f'<script src="/static/{stub.version}/{name}" defer></script>' for name in SCRIPTS)


def draw_no_signal(stub: Stub) -> str:
    """Return the page shown without signal where no copy is kept."""
    return f"""<!doctype html><html lang="en-GB"><meta charset="utf-8"><title>No signal</title>
<link rel="stylesheet" href="/static/{stub.version}/curing.css">
<h1>No signal</h1><p>This page is not kept on this phone.</p><p id="said" role="status"></p>
{draw_list(stub)}{draw_scripts(stub)}</html>"""


class Running:
    """The stub behind a port of its own; may be stopped and started again on that port."""

    def __init__(self, stub: Stub, certificate: tuple[Path, Path] | None = None) -> None:
        self.stub = stub
        self.certificate = certificate
        with socket.create_server(("127.0.0.1", 0)) as probe:
            self.port = int(probe.getsockname()[1])
        self._server: uvicorn.Server | None = None
        self._thread: threading.Thread | None = None
        self.start()

    def url(self, token: str = ANNA, page: str = "today", host: str = "127.0.0.1") -> str:
        """Return the address of a page."""
        scheme = "https" if self.certificate else "http"
        return f"{scheme}://{host}:{self.port}/s/{token}/{page}"

    def start(self) -> None:
        """Serve until :meth:`stop`."""
        certificate, key = self.certificate or (None, None)
        config = uvicorn.Config(
            make_app(self.stub),
            host="127.0.0.1",
            port=self.port,
            log_level="critical",
            ssl_certfile=certificate,
            ssl_keyfile=key,
            lifespan="off",
            timeout_graceful_shutdown=0,
        )
        self._server = uvicorn.Server(config)
        self._thread = threading.Thread(target=self._server.run, daemon=True)
        self._thread.start()
        for _ in range(400):
            if self._server.started:
                return
            time.sleep(0.01)
        raise RuntimeError("the stub did not start within 4 s")

    def stop(self) -> None:
        """End at once, whatever is being answered."""
        if self._server is None or self._thread is None:
            return
        self._server.should_exit = True
        self._thread.join(timeout=10)
        self._server = self._thread = None


class Resetting:
    """A port that takes a request and resets the connection."""

    def __init__(self, port: int) -> None:
        self.resets = 0
        self._door = socket.create_server(("127.0.0.1", port))
        self._thread = threading.Thread(target=self._reset_all, daemon=True)
        self._thread.start()

    def _reset_all(self) -> None:
        while True:
            try:
                caller, _ = self._door.accept()
            except OSError:
                return
            caller.settimeout(2)
            with contextlib.suppress(OSError):
                caller.recv(65536)
            caller.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
            caller.close()
            self.resets += 1

    def close(self) -> None:
        """Give the port free."""
        self._door.shutdown(socket.SHUT_RDWR)
        self._door.close()
        self._thread.join(timeout=5)
