"""Servers that behave badly on purpose, and well ones that keep what they were told."""

from __future__ import annotations

import contextlib
import shutil
import socket
import ssl
import subprocess
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest

from curing.model.reminders import Kind, Message

LINK = "https://walls.example.org/t/Zk3vX9qLr8TtWm2a/round?on=early"
MESSAGE = Message(
    key="round-2027-05-25-early-wil",
    kind=Kind.ROUND,
    subject="Mist 3 faces at 06:30",
    short="Mist 2-out, 3-out, 4-in at 06:30",
    text=f"Mist 2-out, 3-out, 4-in at 06:30.\nMind the ladder.\n\n{LINK}\n",
    html=f'<html><body><p>Mist <b>2-out</b></p><a href="{LINK}">Done</a></body></html>',
    link=LINK,
    facts={"job": "alder-court", "faces": "2-out 3-out 4-in", "minutes": 45},
)


@contextlib.contextmanager
def raw_server(talk: Callable[[socket.socket], None]) -> Iterator[int]:
    """Serve one caller after another by a function, on the port that is given back."""
    listening = socket.create_server(("127.0.0.1", 0))
    over = threading.Event()

    def one(line: socket.socket) -> None:
        with line, contextlib.suppress(OSError):
            line.settimeout(10)
            talk(line)

    def serve() -> None:
        while not over.is_set():
            with contextlib.suppress(OSError):
                line, _ = listening.accept()
                threading.Thread(target=one, args=(line,), daemon=True).start()

    thread = threading.Thread(target=serve, daemon=True)
    thread.start()
    try:
        yield listening.getsockname()[1]
    finally:
        over.set()
        with contextlib.suppress(OSError):
            listening.shutdown(socket.SHUT_RDWR)
        listening.close()
        thread.join(2)


def reset(line: socket.socket) -> None:
    """End a line by a reset, not by a good-bye."""
    line.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, b"\x01\0\0\0\0\0\0\0")
    line.close()


def read_request(line: socket.socket) -> bytes:
    """Return a whole HTTP request."""
    found = b""
    while b"\r\n\r\n" not in found:
        if not (part := line.recv(65536)):
            return found
        found += part
    head, _, body = found.partition(b"\r\n\r\n")
    sizes = [ln.split(b":")[1] for ln in head.split(b"\r\n") if ln.lower().startswith(b"content-length:")]
    while len(body) < int(sizes[0] if sizes else 0):
        if not (part := line.recv(65536)):
            break
        body += part
    return head + b"\r\n\r\n" + body


@dataclass
class Told:
    """What a web server was told."""

    url: str = ""
    method: str = ""
    path: str = ""
    headers: list[tuple[str, str]] = field(default_factory=list)
    body: bytes = b""
    asked: int = 0

    def header(self, name: str) -> str:
        (value,) = [value for key, value in self.headers if key.lower() == name.lower()]
        return value


@contextlib.contextmanager
def web_server(
    status: int = 200, body: bytes = b"", headers: dict[str, str] | None = None, keys: tuple[Path, Path] | None = None
) -> Iterator[Told]:
    """Serve one answer to whatever is asked, and keep the last request."""
    told = Told()

    class Handler(BaseHTTPRequestHandler):
        def _any(self) -> None:
            told.asked += 1
            told.method, told.path, told.headers = self.command, self.path, list(self.headers.items())
            told.body = self.rfile.read(int(self.headers.get("Content-Length") or 0))
            self.send_response(status)
            for name, value in (headers or {}).items():
                self.send_header(name, value)
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        do_GET = do_POST = do_PUT = _any

        def log_message(self, *_: object) -> None: ...

    class Server(ThreadingHTTPServer):
        def handle_error(self, *_: object) -> None: ...

    server = Server(("127.0.0.1", 0), Handler)
    if keys:
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.load_cert_chain(*keys)
        server.socket = context.wrap_socket(server.socket, server_side=True, do_handshake_on_connect=False)
    threading.Thread(target=server.serve_forever, args=(0.02,), daemon=True).start()
    told.url = f"http{'s' if keys else ''}://localhost:{server.server_port}"
    try:
        yield told
    finally:
        server.shutdown()
        server.server_close()


def make_keys(folder: Path, host: str) -> tuple[Path, Path]:
    """Return a certificate for a host that it signed itself, and its key."""
    if shutil.which("openssl") is None:
        pytest.skip("needs openssl to make a certificate")
    cert, key = folder / f"{host}.pem", folder / f"{host}.key"
    words = f"req -x509 -newkey ec -pkeyopt ec_paramgen_curve:prime256v1 -nodes -days 2 -subj /CN={host}"
    subprocess.run(
        ["openssl", *words.split(), "-addext", f"subjectAltName=DNS:{host}", "-keyout", str(key), "-out", str(cert)],
        check=True,
        capture_output=True,
    )
    return cert, key
