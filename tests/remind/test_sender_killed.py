"""kill -9 between claim, begin, send and mark: everything arrives, and what came twice says so."""

from __future__ import annotations

import json
import multiprocessing
import os
import re
import signal
import socket
import threading
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from email import message_from_bytes, policy
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest
from aiosmtpd.controller import Controller
from killing import KINDS, chance, falling, live
from sending import JOB

from curing.model.reminders import Row, RowState
from curing.store import end_unknown, open_state

UID = "5f0c9e1a-93d4-4d0c-8a55-3b1b7a0f2c11"
SERVER = multiprocessing.get_context("forkserver")
SERVER.set_forkserver_preload(["killing"])


class Sink:
    """Takes e-mail and push, and keeps which key came to whom."""

    def __init__(self) -> None:
        self.came: Counter[tuple[str, str]] = Counter()
        self._lock = threading.Lock()

    def take(self, text: str, way: str) -> None:
        with self._lock:
            self.came.update((key, way) for key in re.findall(r"k\d+-[a-z]+-[a-z]+", text))

    async def handle_DATA(self, server: object, session: object, envelope: object) -> str:
        mail = message_from_bytes(envelope.content, policy=policy.default)  # type: ignore[attr-defined]
        self.take(mail.get_body(("plain",)).get_content(), "email")
        return "250 taken"


@contextmanager
def sinks() -> Iterator[tuple[Sink, tuple[int, int]]]:
    sink = Sink()

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            body = json.loads(self.rfile.read(int(self.headers["Content-Length"])))
            sink.take(body["text"], "push")
            self.send_response(200)
            self.send_header("Content-Length", "0")
            self.end_headers()

        def log_message(self, *_: object) -> None: ...

    web = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    threading.Thread(target=web.serve_forever, args=(0.02,), daemon=True).start()
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = free.getsockname()[1]
    mail = Controller(sink, hostname="127.0.0.1", port=port)
    mail.start()
    try:
        yield sink, (port, web.server_port)
    finally:
        mail.stop()
        web.shutdown()
        web.server_close()


def rows_of(folder: Path) -> list[Row]:
    with open_state(folder / "court.state", UID) as store:
        return store.open_rows(falling(0, 0)[0].due.replace(year=2020))[1]


def court_in(folder: Path) -> Path:
    file = folder / "court.yaml"
    text = JOB.replace("tell: { email: ida, push: ida-phone }", "tell: { email: ida@example.org }")
    file.write_text(text.replace("tell: { email: bo }", "tell: { push: bo-phone }"))
    return file


@pytest.mark.long
def test_kill_9_at_any_step_loses_nothing_and_repeats_only_what_says_so(tmp_path: Path) -> None:
    lives = max(40, int(os.environ.get("CURING_LONG_TESTS", "0")))
    file = court_in(tmp_path)
    open_tries: set[tuple[str, int]] = set()
    deaths: Counter[tuple[str, bool]] = Counter()
    with sinks() as (sink, ports):
        for life in range(lives):
            plan = chance(life)
            process = SERVER.Process(target=live, args=(file, life, lives, ports, plan))
            process.start()
            process.join(90)
            assert process.exitcode in (0, -signal.SIGKILL), process.exitcode
            if process.exitcode:
                deaths[plan[:2]] += 1
                # what a row says of itself at the moment of death: begun, and nobody knows how it ended
                open_tries |= {(row.key, row.tries) for row in rows_of(tmp_path) if end_unknown(row)}
        for life in (lives, lives + 1):  # the last ones live on
            process = SERVER.Process(target=live, args=(file, life, lives, ports, None))
            process.start()
            process.join(90)
            assert process.exitcode == 0
    in_hand = Counter(key for key, _ in open_tries)
    rows = {row.key: row for row in rows_of(tmp_path)}
    wanted = {one.key for one in falling(lives, lives)}
    came = Counter({key: number for (key, _), number in sink.came.items()})
    assert len(deaths) >= 6, deaths  # most steps were died at
    assert sum(deaths.values()) >= 0.9 * lives, deaths
    assert len(wanted) == (lives + 1) * 2 * len(KINDS)
    assert set(rows) == wanted
    assert {row.state for row in rows.values()} == {RowState.SENT}
    assert set(came) == wanted  # each arrived
    twice = {key for key, number in came.items() if number > 1}
    assert twice <= set(in_hand)
    for key, row in rows.items():
        assert row.again == in_hand[key], row
        assert came[key] <= 1 + row.again, row
        assert ("may have come" in row.answer) is (row.again > 0)
    assert twice, "no death between send and mark was drawn"
    print(f"{lives} lives, {len(wanted)} rows, {len(twice)} twice, {len(in_hand)} said so, deaths {dict(deaths)}")


@pytest.mark.parametrize(
    ("plan", "came"),
    [
        (("claim", False, 1), 0),
        (("begin", True, 1), 0),
        (("begin", False, 1), 0),
        (("send", False, 1), 1),
        (("mark", True, 1), 1),
        (("mark", False, 1), 1),
    ],
    ids=["claimed", "not begun", "begun", "sent", "not marked", "marked"],
)
@pytest.mark.long
def test_each_step_by_itself(tmp_path: Path, plan: tuple[str, bool, int], came: int) -> None:
    """With one row: whether it came before the death, whether it comes again after it, and what it says."""
    file = court_in(tmp_path)
    file.write_text(file.read_text().replace(", tell: { push: bo-phone }", ""))
    with sinks() as (sink, ports):
        process = SERVER.Process(target=live, args=(file, 0, 0, ports, plan))
        process.start()
        process.join(60)
        assert process.exitcode == -signal.SIGKILL
        before = Counter(sink.came)
        process = SERVER.Process(target=live, args=(file, 1, 0, ports, None))
        process.start()
        process.join(60)
    assert sum(before.values()) >= came
    rows = [row for row in rows_of(tmp_path) if row.channel]
    assert {row.state for row in rows} == {RowState.SENT}
    for row in rows:
        assert sink.came[row.key, "email"] <= 1 + row.again
        assert sink.came[row.key, "email"] >= 1
