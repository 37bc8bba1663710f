"""The server: jobs opened, port taken, links told, until it is stopped."""

from __future__ import annotations

import asyncio
import errno
import itertools
import socket
import ssl
from collections.abc import Callable, Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from types import FrameType

import uvicorn
from starlette.requests import Request
from starlette.responses import RedirectResponse
from starlette.types import ASGIApp, Receive, Scope, Send
from uvicorn.protocols.http.httptools_impl import HttpToolsProtocol

from curing import clock
from curing.errors import UsageError
from curing.model.people import DECIDERS, Person
from curing.serve.app import Options, application
from curing.serve.planner import PlanProcess
from curing.serve.served import House
from curing.serve.start_pages import Starts, can_begin
from curing.workflow.open_job import OpenJob

ANYWHERE = ("0.0.0.0", "::", "")
"""Hosts that stand for every address of this machine."""
MOST_HEAD = 512 * 1024
"""[bytes] Of what comes in before the headers of a request are all there; the system hands on up to 256 kB at once."""
PATIENCE = 10
"""[s] Requests under way are finished, when the server is stopped, for no longer than that."""


@dataclass(frozen=True)
class Place:
    """Where it is served.

    Parameters
    ----------
    host, port
        Address to listen at; port 0 takes any that is free.
    tls_cert, tls_key
        Certificate chain and key, PEM; both or neither.
    http_port
        Another port that sends plain http on to https; only with a certificate.
    """

    host: str = "127.0.0.1"
    port: int = 8000
    tls_cert: Path | None = None
    tls_key: Path | None = None
    http_port: int | None = None


def run(
    jobs: Sequence[tuple[Path, Path | None]],
    place: Place,
    options: Options,
    opened: Callable[[House, str], None],
    begun: Callable[[Starts, str], None] = lambda starts, address: None,
) -> None:
    """Serve jobs until stopped.

    Parameters
    ----------
    jobs
        Job files, each with its state folder or None.
    opened
        Told the jobs and the address when everything is ready to be asked for.
    begun
        Told the job files that are not there yet, with their start links; they are begun by the page.

    Raises
    ------
    FileError, StateError, UsageError
        A job can't be opened, the port is taken, or the certificate is none.
    """
    tls = _checked_tls(place)
    with ExitStack() as stack:
        there = [one for one in jobs if not can_begin(one[0])]
        opened_jobs = [stack.enter_context(OpenJob(job_file, state)) for job_file, state in there]
        house = House(opened_jobs, PlanProcess())
        starts = Starts(house, [one for one in jobs if one not in there])
        taken = stack.enter_context(_port(place.host, place.port))
        other = stack.enter_context(_port(place.host, place.http_port)) if place.http_port is not None else None
        address = options.address or _address(place, taken, secure=tls is not None)
        app = application(house, options, starts)

        def ready() -> None:
            opened(house, address)
            begun(starts, address)

        asyncio.run(_serve(app, taken, tls, other, address, ready))


async def _serve(
    app: ASGIApp,
    taken: socket.socket,
    tls: tuple[Path, Path] | None,
    other: socket.socket | None,
    address: str,
    opened: Callable[[], None],
) -> None:
    servers = [(_server(app, tls), taken)]
    if other is not None:
        servers.append((_server(_Onwards(address), None), other))
    work = [asyncio.create_task(server.serve(sockets=[at])) for server, at in servers]
    while not all(server.started for server, _ in servers) and not any(task.done() for task in work):
        await asyncio.sleep(0.01)
    if all(server.started for server, _ in servers):
        opened()
    await asyncio.wait(work, return_when=asyncio.FIRST_COMPLETED)
    for server, _ in servers:
        server.should_exit = True
    await asyncio.gather(*work)


def _server(app: ASGIApp, tls: tuple[Path, Path] | None) -> uvicorn.Server:
    config = uvicorn.Config(
        app,
        ssl_certfile=str(tls[0]) if tls is not None else None,
        ssl_keyfile=str(tls[1]) if tls is not None else None,
        log_config=None,
        access_log=False,
        server_header=False,
        timeout_graceful_shutdown=PATIENCE,
        timeout_keep_alive=30,
        http=_Bounded,
        ws="none",
        proxy_headers=True,
        forwarded_allow_ips="127.0.0.1,::1",
        lifespan="on" if not isinstance(app, _Onwards) else "off",
    )
    return _Patient(config)


class _Patient(uvicorn.Server):
    """A server that ends once: it ends soon as it is, and a plan or a message under way is ended in order.

    A second Ctrl-C would leave that out, and be raised again when the first one has ended everything.
    """

    def __init__(self, config: uvicorn.Config) -> None:
        super().__init__(config)
        self._signals = itertools.count()

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """Begin to end, at the first signal; a second one may come in the middle of this."""
        if next(self._signals) == 0 and not self.should_exit:
            super().handle_exit(sig, frame)


class _Bounded(HttpToolsProtocol):
    """One connection, whose headers end some time: the parser itself would keep them for ever."""

    _head = 0
    _in_head = True

    def on_message_begin(self) -> None:
        """A request begins."""
        self._head, self._in_head = 0, True
        super().on_message_begin()

    def on_headers_complete(self) -> None:
        """Its headers are all there."""
        self._in_head = False
        super().on_headers_complete()

    def data_received(self, data: bytes) -> None:
        """Take what came in, as long as it is not headers without end."""
        if self._in_head:
            self._head += len(data)
            if self._head > MOST_HEAD:
                self.transport.abort()
                return
        super().data_received(data)


class _Onwards:
    """Sends whoever asks by plain http on to https: phones turn ``webcal:`` into http."""

    def __init__(self, address: str) -> None:
        self._address = address

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer with the same path at the other address."""
        if scope["type"] == "http":
            request = Request(scope, receive)
            query = f"?{request.url.query}" if request.url.query else ""
            response = RedirectResponse(f"{self._address}{request.url.path}{query}", 308)
            response.headers["Referrer-Policy"] = "no-referrer"
            await response(scope, receive, send)


def _port(host: str, port: int) -> socket.socket:
    """Take a port, or say who has it."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    taken = socket.socket(family, socket.SOCK_STREAM)
    taken.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        taken.bind((host, port))
        taken.listen(2048)
    except OSError as error:
        taken.close()
        raise UsageError(_refused(host, port, error)) from None
    except OverflowError:
        taken.close()
        raise UsageError(f"--port {port}: is no port; give one of 1 to 65535") from None
    taken.set_inheritable(True)
    return taken


def _refused(host: str, port: int, error: OSError) -> str:
    if error.errno == errno.EADDRINUSE:
        return (
            f"--port {port}: is taken by another program, perhaps another curing serve; stop that, or take another port"
        )
    if error.errno in (errno.EACCES, errno.EPERM):
        return f"--port {port}: this user may not take it; ports below 1024 need a right of their own: take 8000, say"
    return f"--host {host}: can't be served at ({error.strerror}); give an address of this machine, or 0.0.0.0 for all"


def _address(place: Place, taken: socket.socket, *, secure: bool) -> str:
    host, port = taken.getsockname()[:2]
    if place.host in ANYWHERE:
        host = _own_address()
    elif place.host == "127.0.0.1":
        host = "localhost"
    else:
        host = place.host
    host = f"[{host}]" if ":" in host else host
    usual = 443 if secure else 80
    return f"{'https' if secure else 'http'}://{host}" + ("" if port == usual else f":{port}")


def _own_address() -> str:
    """Return the address by which phones in the same network reach this machine; nothing is sent."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        try:
            asked.connect(("192.0.2.1", 9))  # kept for documentation (RFC 5737): only the route is looked up
            return str(asked.getsockname()[0])
        except OSError:
            return "localhost"


def _checked_tls(place: Place) -> tuple[Path, Path] | None:
    """Return certificate and key, both there and fitting, or None."""
    if place.tls_cert is None and place.tls_key is None:
        if place.http_port is not None:
            raise UsageError("--http-port: sends on to https, which needs --tls-cert and --tls-key")
        return None
    if place.tls_cert is None or place.tls_key is None:
        raise UsageError("--tls-cert and --tls-key: one needs the other; give both, or neither")
    for option, file in (("--tls-cert", place.tls_cert), ("--tls-key", place.tls_key)):
        if not file.is_file():
            raise UsageError(f"{option} {file}: there is no such file; give the PEM file")
    try:
        ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(place.tls_cert, place.tls_key)
    except (ssl.SSLError, OSError, ValueError) as error:
        raise UsageError(
            f"--tls-cert {place.tls_cert}, --tls-key {place.tls_key}: are no certificate and its key "
            f"({getattr(error, 'reason', None) or error}); give both as PEM, without a password"
        ) from None
    return place.tls_cert, place.tls_key


def decider_links(house: House) -> list[tuple[str, Person, str]]:
    """Return (job's name, person, token) of everybody who decides: who else gets a link, they say on a page.

    A link that was withdrawn stays so, unless nobody who decides has one any more: whoever starts the server can
    read the state anyway, and a job whose last link is lost must not stay shut.
    """
    found = []
    for served in house.jobs:
        sight = served.job.sight()
        links = served.job.links()
        deciding = [one for one in sight.job.file.people if any(role in one.roles for role in DECIDERS)]
        kept = [one for one in deciding if (link := links.get(sight.roots.people[one.id])) is None or not link.revoked]
        for person in kept or deciding[:1]:
            token = served.job.give_link(sight.roots.people[person.id], clock.now())
            found.append((sight.job.file.name, person, token))
    return found
