"""Asks a served job in this process with bytes as they are, so that what no browser sends can be sent."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlencode

import pytest
from live import ahead
from serving import Site, serving
from starlette.routing import Route

from curing import clock
from curing.serve import guard
from curing.serve import served as watching
from curing.serve.app import Options
from curing.serve.served import Served

ADMITS = guard.Meter.admits
SERVE = Path(guard.__file__).parent
PAGES = Path(__file__).parents[2] / "templates" / "pages"
FORM = (b"content-type", b"application/x-www-form-urlencoded")
OWN = (b"sec-fetch-site", b"same-origin")
SHORT = (b"accept", b"application/json")
HOST = (b"host", b"walls.example.org")


@dataclass
class Heard:
    """An answer, and what broke while it was made."""

    status: int
    headers: dict[str, str]
    body: bytes
    broke: BaseException | None = None

    @property
    def text(self) -> str:
        return self.body.decode()


def ask(
    site: Site,
    target: bytes | str,
    *,
    method: str = "GET",
    headers: Iterable[tuple[bytes, bytes]] = (HOST,),
    body: bytes | Sequence[bytes] = b"",
    hangs_up: bool = False,
    scheme: str = "http",
) -> Heard:
    """Send a request as the HTTP server would hand it on."""
    raw = target.encode() if isinstance(target, str) else target
    path, _, query = raw.partition(b"?")
    scope: dict[str, Any] = {
        "type": "http",
        "asgi": {"version": "3.0", "spec_version": "2.3"},
        "http_version": "1.1",
        "method": method,
        "scheme": scheme,
        "path": unquote(path.decode("ascii")),
        "raw_path": path,
        "query_string": query,
        "root_path": "",
        "headers": [(name.lower(), value) for name, value in headers],
        "client": ("127.0.0.1", 50000),
        "server": ("127.0.0.1", 8000),
        "state": {},
    }
    parts = list(body) if not isinstance(body, bytes) else [body]
    coming = [{"type": "http.request", "body": part, "more_body": True} for part in parts]
    coming.append(
        {"type": "http.disconnect"} if hangs_up else {"type": "http.request", "body": b"", "more_body": False}
    )
    sent: list[Mapping[str, Any]] = []
    broke: list[BaseException] = []

    async def receive() -> Any:
        return coming.pop(0) if coming else {"type": "http.disconnect"}

    async def send(message: Mapping[str, Any]) -> None:
        sent.append(message)

    async def work() -> None:
        try:
            await site.client.app(scope, receive, send)
        except Exception as error:
            broke.append(error)

    assert site.client.portal is not None
    site.client.portal.call(work)
    begun = next((one for one in sent if one["type"] == "http.response.start"), None)
    assert begun is not None, broke
    whole = b"".join(one.get("body", b"") for one in sent if one["type"] == "http.response.body")
    found = {name.decode().lower(): value.decode("latin-1") for name, value in begun["headers"]}
    return Heard(begun["status"], found, whole, broke[0] if broke else None)


def form(site: Site, target: str, fields: Mapping[str, Any] | bytes, **more: Any) -> Heard:
    """Send a form from one of our own pages."""
    body = fields if isinstance(fields, bytes) else urlencode(fields, doseq=True).encode()
    headers = [HOST, FORM, OWN, *more.pop("headers", ())]
    return ask(site, target, method="POST", headers=headers, body=body, **more)


def routes(site: Site) -> Iterator[Route]:
    """Yield every route of the application."""
    for route in site.client.app.routes:  # type: ignore[attr-defined]
        assert isinstance(route, Route)
        yield route


PLACES = {
    "wall": "3",
    "face": "1-out",
    "day": "2027-05-24",
    "person": "noor",
    "version": "x",
    "name": "curing.css",
}
"""Part of a route's path → what stands there in a request that is meant well."""


def path_of(route: Route, token: str, places: Mapping[str, str] = PLACES) -> str:
    """Return a path that leads to a route."""
    return re.sub(
        r"\{(\w+)(?::\w+)?\}", lambda part: token if part[1] == "token" else places.get(part[1], "1"), route.path
    )


def forms(site: Site, token: str) -> list[str]:
    """Return the paths of all routes that take a form."""
    return [path_of(one, token) for one in routes(site) if one.methods and "POST" in one.methods]


def field_names() -> list[str]:
    """Return the names of all fields that pages draw or the server reads."""
    found = set()
    for page in PAGES.glob("*.html"):
        found |= set(re.findall(r'name="([\w-]+)"', page.read_text()))
    for module in SERVE.glob("*.py"):
        found |= set(re.findall(r'form\.(?:one|maybe|text|every|day|instant|number)\("([\w-]+)"', module.read_text()))
    found |= {f"{side}-{band}" for side in ("out", "in") for band in ("low", "middle", "top", "mid")}
    return sorted(found - {"viewport", "theme-color"})


@contextmanager
def the_day(shift: int | None = None) -> Iterator[None]:
    """Make it Monday 24 May 2027, 07:10 at Alder Court; time goes on from there."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv(clock.OFFSET_VARIABLE, str(ahead() if shift is None else shift))
        yield


@contextmanager
def served(*jobs: Path, options: Options | None = None, limited: bool = False, plans: bool = False) -> Iterator[Site]:
    """Serve jobs on that day; without ``limited`` nobody asks too often, without ``plans`` the saved plan stays."""

    with the_day(), pytest.MonkeyPatch.context() as patch:
        if not plans:
            patch.setattr(Served, "want_plan", lambda _: None)
            patch.setattr(watching, "LOOK_EVERY", 10**6)  # the test itself says when to look
        patch.setattr(guard.Meter, "admits", ADMITS if limited else lambda *_: True)
        with serving(*jobs, options=options) as site:
            yield site


def token_of(site: Site, person: str = "wil") -> str:
    """Return the token of a person's link."""
    return site.home(person).removeprefix("/s/")
