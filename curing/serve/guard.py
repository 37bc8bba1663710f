"""What every answer carries, and which requests are not taken: foreign forms, floods."""

from __future__ import annotations

import re
from collections import OrderedDict
from urllib.parse import urlsplit

from starlette.requests import Request
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; "
    "manifest-src 'self'; worker-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
"""Content-Security-Policy: nothing of anybody else, no script or style in a page."""

BURST, A_SECOND = 120, 6
"""Requests of one link at once, and every second after: a whole crew may share a tablet, not a robot."""
MOST_LINKS = 10_000
HOST = re.compile(r"(?:[A-Za-z0-9._-]{1,253}|\[[0-9A-Fa-f:.]{2,45}\])(?::[0-9]{1,5})?")
"""Form of a host by which we are asked (RFC 9110, 7.2): links and QR codes are made of it."""


OWN_HEADERS = (
    (b"content-security-policy", POLICY.encode("ascii")),
    (b"referrer-policy", b"same-origin"),
    (b"x-content-type-options", b"nosniff"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"permissions-policy", b"camera=(), geolocation=(), microphone=()"),
    (b"x-robots-tag", b"noindex, nofollow"),
    (b"cache-control", b"no-store"),
)
"""Of every answer that does not say otherwise."""


class Headers:
    """Middleware: the headers that keep a page to itself.

    A browser sends ``Origin: null`` with our own forms under ``no-referrer``, so pages say ``same-origin``.
    """

    def __init__(self, app: ASGIApp, *, secure: bool) -> None:
        self.app = app
        self._own = [*OWN_HEADERS, *([(b"strict-transport-security", b"max-age=31536000")] if secure else [])]

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on and put the headers onto its answer."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                there = message.setdefault("headers", [])
                names = {name.lower() for name, _ in there}
                if scope["scheme"] != "https":
                    names.add(b"cross-origin-opener-policy")  # a browser ignores it there, and complains of it
                message["headers"] = [*there, *(one for one in self._own if one[0] not in names)]
            await send(message)

        await self.app(scope, receive, with_headers)


class Hosts:
    """Middleware: refuses a host that is none, before a link is made of it."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, if it was sent to a host; one without any is sent by a watching program."""
        if scope["type"] == "http":
            named = [value.decode("latin-1") for name, value in scope["headers"] if name == b"host"]
            if len(named) > 1 or any(not HOST.fullmatch(one) for one in named):
                refused = PlainTextResponse("the name of this server can't be that; open the link as you got it\n", 400)
                await refused(scope, receive, send)
                return
        await self.app(scope, receive, send)


def own_form(request: Request, address: str = "") -> bool:
    """Tell whether a form was sent from one of our own pages.

    A browser says so in ``Sec-Fetch-Site``; an older one, or any without https, in ``Origin``, which is then the
    host that was asked, or the public ``address`` of it. Where neither is said, nobody knows.
    """
    site = request.headers.get("sec-fetch-site")
    if site is not None:
        return site == "same-origin"
    origin = request.headers.get("origin")
    if origin is None:
        return False
    try:
        sender = urlsplit(origin).netloc
    except ValueError:
        return False
    return sender != "" and sender in (request.headers.get("host", ""), urlsplit(address).netloc)


class Meter:
    """Counts requests of each link: so many at once, so many a second after."""

    def __init__(self, burst: float, a_second: float) -> None:
        self._burst, self._a_second = burst, a_second
        self._left: OrderedDict[str, tuple[float, float]] = OrderedDict()

    def admits(self, who: str, now: float) -> bool:
        """Tell whether one more request is taken; ``now`` [s] of a clock that only goes forward."""
        left, at = self._left.pop(who, (self._burst, now))
        left = min(self._burst, left + (now - at) * self._a_second)
        admitted = left >= 1
        self._left[who] = (left - 1 if admitted else left, now)
        if len(self._left) > MOST_LINKS:
            self._left.popitem(last=False)
        return admitted
