"""A calendar on a local web server, for programs that subscribe."""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer


class Feed:
    """A calendar on a local web server; set ``ics`` to what the next poll shall get."""

    def __init__(self, ics: bytes) -> None:
        self.ics = ics
        self.polls = 0
        feed = self

        class Handler(BaseHTTPRequestHandler):
            def do_GET(self) -> None:
                body = feed.ics
                self.send_response(200)
                self.send_header("Content-Type", "text/calendar; charset=utf-8")
                self.send_header("Content-Length", str(len(body)))
                self.end_headers()
                self.wfile.write(body)
                feed.polls += 1

            def log_message(self, *_: object) -> None:
                """Keep the test's output clean."""

        self._server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self.url = f"http://127.0.0.1:{self._server.server_port}/feed.ics"
        threading.Thread(target=self._server.serve_forever, daemon=True).start()

    def close(self) -> None:
        self._server.shutdown()
        self._server.server_close()


@contextlib.contextmanager
def served(ics: bytes) -> Iterator[Feed]:
    """Serve a calendar on a free local port; ``feed.url`` is its address."""
    feed = Feed(ics)
    try:
        yield feed
    finally:
        feed.close()
