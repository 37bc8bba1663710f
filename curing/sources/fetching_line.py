"""Lines of one question that can be cut, whoever waits on them.

A time-out of a socket counts from the last byte, so that a byte a second would hold it for ever.
"""

from __future__ import annotations

import contextlib
import os
import socket
import threading
from typing import Any

from requests.adapters import HTTPAdapter
from urllib3 import HTTPConnectionPool, HTTPSConnectionPool, PoolManager
from urllib3.connection import HTTPConnection, HTTPSConnection


class Line:
    """Every socket that a question opens."""

    def __init__(self) -> None:
        self.passed = threading.Event()
        self._lock = threading.Lock()
        self._open: list[socket.socket] = []

    def watch(self, opened: socket.socket) -> None:
        """Remember a socket; one that comes too late is cut at once."""
        with self._lock:
            # A second handle: the first is wrapped in TLS and closed by others.
            self._open.append(socket.socket(fileno=os.dup(opened.fileno())))
        if self.passed.is_set():
            self.cut()

    def cut(self) -> None:
        """End all of them, at once, and those that are still to come."""
        self.passed.set()
        with self._lock:
            for one in self._open:
                with contextlib.suppress(OSError):
                    one.shutdown(socket.SHUT_RDWR)
                one.close()
            self._open.clear()


def adapter_on(line: Line) -> HTTPAdapter:
    """Return a way for ``requests`` whose sockets a line watches, through a proxy too."""

    class Plain(HTTPConnection):
        def _new_conn(self) -> socket.socket:
            opened = super()._new_conn()
            line.watch(opened)
            return opened

    class Safe(HTTPSConnection):
        def _new_conn(self) -> socket.socket:
            opened = super()._new_conn()
            line.watch(opened)
            return opened

    class PlainPool(HTTPConnectionPool):
        ConnectionCls = Plain

    class SafePool(HTTPSConnectionPool):
        ConnectionCls = Safe

    class Adapter(HTTPAdapter):
        def init_poolmanager(self, *args: Any, **named: Any) -> None:
            super().init_poolmanager(*args, **named)
            _by_these(self.poolmanager)

        def proxy_manager_for(self, *args: Any, **named: Any) -> Any:
            manager = super().proxy_manager_for(*args, **named)
            _by_these(manager)
            return manager

    def _by_these(manager: PoolManager) -> None:
        manager.pool_classes_by_scheme = {"http": PlainPool, "https": SafePool}

    return Adapter(max_retries=0)
