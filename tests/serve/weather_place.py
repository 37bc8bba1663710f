"""A weather service on this machine, in the shape of MET Norway's: says what a test wants. All weather is invented."""

from __future__ import annotations

import json
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from email.utils import format_datetime
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1] / "sources"))

from forecast_documents import met, met_step, z

from curing import clock

Rain = tuple[datetime, datetime, float]
"""From when to when it rains, and how much [mm in an hour]; driven from the west by 7 m/s."""
HOURS = 8 * 24


def forecast(made: datetime, rain: Rain | None = None) -> bytes:
    """Return a run of eight days that is kind, but for its rain."""
    steps = []
    for at in (made.replace(minute=0, second=0) + timedelta(hours=n) for n in range(HOURS)):
        wet = rain is not None and rain[0] <= at < rain[1]
        steps.append(
            met_step(
                at, 14.0, rain1=rain[2] if wet and rain is not None else 0.0, wind_from_direction=264.0,
                wind_speed=7.0 if wet else 2.0, cloud_area_fraction=100.0, relative_humidity=80.0,
            )
        )  # fmt: skip
    document: dict[str, Any] = met(steps)
    document["properties"]["meta"]["updated_at"] = z(made)
    return json.dumps(document).encode()


class WeatherPlace:
    """What is said, who asked, and when by the clock of whoever runs it."""

    def __init__(self, url: str) -> None:
        self.url, self.down = url, False
        self.free = threading.Event()
        """Answers wait for it."""
        self.free.set()
        self.asked: list[dict[str, str]] = []
        self.now: Callable[[], datetime] = clock.now
        self.rain: Rain | None = None

    def answer(self, handler: BaseHTTPRequestHandler) -> None:
        """Answer one question."""
        self.asked.append({name.lower(): value for name, value in handler.headers.items()})
        if self.down:
            handler.close_connection = True  # not a word
            return
        self.free.wait(25)
        now = self.now()
        body = forecast(now, self.rain)
        handler.send_response_only(200)
        for name, value in {
            "Date": format_datetime(now, usegmt=True),
            "Last-Modified": format_datetime(now, usegmt=True),
            "Expires": format_datetime(now + timedelta(minutes=30), usegmt=True),
            "Content-Type": "application/json",
            "Content-Length": str(len(body)),
        }.items():
            handler.send_header(name, value)
        handler.end_headers()
        handler.wfile.write(body)


@contextmanager
def weather_place() -> Iterator[WeatherPlace]:
    """Run the service until the test is over."""

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            place.answer(self)

        def log_message(self, format: str, *args: Any) -> None:
            """Say nothing."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    place = WeatherPlace(f"http://127.0.0.1:{server.server_address[1]}")
    threading.Thread(target=server.serve_forever, daemon=True).start()
    try:
        yield place
    finally:
        server.shutdown()
        server.server_close()
