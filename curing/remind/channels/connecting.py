"""A line to another machine that never takes longer than it may, not even by a byte a second."""

from __future__ import annotations

import contextlib
import os
import socket
import ssl
import threading
import time
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType


@dataclass(frozen=True, slots=True)
class Limits:
    """How long things may take.

    Parameters
    ----------
    connect
        [s] To find a host, and again to reach it.
    whole
        [s] For all of it together.
    """

    connect: float = 5.0
    whole: float = 20.0


class NotReached(Exception):
    """Nothing was sent; says why."""


class Deadline:
    """From when on a line is cut, whoever waits on it.

    A time-out of a socket counts from the last byte; so another thread watches, and cuts.
    """

    def __init__(self, seconds: float) -> None:
        self._end = time.monotonic() + seconds
        self._watched: socket.socket | None = None
        self._lock = threading.Lock()
        self._timer = threading.Timer(seconds, self._cut)
        self._timer.daemon = True
        self.passed = False

    def left(self, most: float | None = None) -> float:
        """Return the time left [s], more than 0."""
        left = max(self._end - time.monotonic(), 0.01)
        return left if most is None else min(left, most)

    def watch(self, line: socket.socket) -> None:
        """Cut this line at the deadline, whatever it is wrapped in later on."""
        with self._lock:
            self._drop()
            self._watched = socket.socket(fileno=os.dup(line.fileno()))
        if self.passed:
            self._cut()

    def _cut(self) -> None:
        with self._lock:
            self.passed = True
            if self._watched is not None:
                with contextlib.suppress(OSError):
                    self._watched.shutdown(socket.SHUT_RDWR)

    def _drop(self) -> None:
        if self._watched is not None:
            self._watched.close()
            self._watched = None

    def __enter__(self) -> Deadline:
        self._timer.start()
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self._timer.cancel()
        with self._lock:
            self._drop()


def reach(host: str, port: int, deadline: Deadline, limits: Limits) -> socket.socket:
    """Return a line to a host, watched by the deadline.

    Raises
    ------
    NotReached
        The host is unknown, nobody listens there, or it takes too long.
    """
    places = _found(host, port, deadline.left(limits.connect))
    until = time.monotonic() + deadline.left(limits.connect)
    why = "no answer"
    for family, kind, protocol, _, address in places:
        left = until - time.monotonic()
        if left <= 0:
            break
        line = socket.socket(family, kind, protocol)
        try:
            line.settimeout(left)
            line.connect(address)
            line.settimeout(deadline.left() + 1)  # the deadline cuts first
            deadline.watch(line)
            return line
        except OSError as error:
            line.close()
            why = "no answer" if isinstance(error, TimeoutError) else (error.strerror or "no way there").lower()
    raise NotReached(f"{host}, port {port}, can't be reached: {why}; check the address and that it runs")


def _found(host: str, port: int, within: float) -> list[tuple[int, int, int, str, tuple[str | int, ...]]]:
    """Return the addresses of a host; the system's own search knows no time-out, so another thread does it."""
    found: list[tuple[int, int, int, str, tuple[str | int, ...]]] = []

    def find() -> None:
        with contextlib.suppress(OSError, UnicodeError):
            found.extend(socket.getaddrinfo(host, port, type=socket.SOCK_STREAM))  # type: ignore[arg-type]

    search = threading.Thread(target=find, daemon=True)
    search.start()
    search.join(within)
    if not found:
        raise NotReached(f'the host "{host}" is not known; check its name and the network')
    return list(found)


def kept_safe(line: socket.socket, host: str, context: ssl.SSLContext) -> ssl.SSLSocket:
    """Return the line under TLS, after the other side has shown its certificate.

    Raises
    ------
    NotReached
        The certificate is not to be trusted, or there is no TLS.
    """
    try:
        return context.wrap_socket(line, server_hostname=host)
    except (OSError, ValueError) as error:
        line.close()
        raise NotReached(unsafe(host, error)) from None


def unsafe(host: str, error: Exception) -> str:
    """Return why a line could not be kept safe."""
    if isinstance(error, ssl.SSLCertVerificationError):
        return f"the certificate of {host} is not to be trusted: {error.verify_message}; mend it, or name its ca_file"
    why = error.reason if isinstance(error, ssl.SSLError) and error.reason else "the line broke"
    return f"no safe line to {host}: {str(why).lower().replace('_', ' ')}; check port and security"


def trusting(ca_file: Path | None) -> ssl.SSLContext:
    """Return what certificates are trusted: those of this machine, or of one file alone.

    Raises
    ------
    OSError
        The file can't be read, or holds no certificate.
    """
    return ssl.create_default_context(cafile=ca_file)
