"""A server that runs, and what can happen to it: other processes, a full disk, a locked state, kill -9."""

from __future__ import annotations

import contextlib
import os
import resource
import signal
import socket
import sqlite3
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from live import Live, ahead, begin, command, environment, lives, raw, running, until
from serving import copied, words

from curing.store import open_state

VISIT = "1-out.finish.2027-05-24.early"
UID = "3f6b0a52-8c1d-4e97-a4f0-6d2c9b7e1a35"


@pytest.fixture(scope="module")
def live(made: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Live]:
    with running(copied(made, tmp_path_factory.mktemp("live"))) as one:
        yield one


def note(live: Live, text: str, **more: object) -> bool:
    return live.send("note", {"face": "1-out", "text": text, **more}).kept


def notes(live: Live) -> list[str]:
    with open_state(live.state, UID, read_only=True) as store:
        return [str(one.data.get("text")) for one in store.records() if one.kind == "note"]


def revision(live: Live) -> int:
    return int(live.ask("/healthz").json()["jobs"][0]["revision"])


def settled(live: Live) -> None:
    """Wait until nothing is planned any more."""
    quiet = 0

    def calm() -> bool:
        nonlocal quiet
        one = live.ask("/healthz").json()["jobs"][0]
        quiet = quiet + 1 if one["planned"] and not one["planning"] else 0
        return quiet > 25

    until(calm, 40, "settled")


def edited(live: Live, old: str, new: str) -> None:
    text = live.job_file.read_text()
    assert old in text
    aside = live.job_file.with_suffix(".new")
    aside.write_text(text.replace(old, new))
    os.replace(aside, live.job_file)


@pytest.mark.long
def test_what_no_browser_sends_breaks_nothing(live: Live) -> None:
    token = live.wil.removeprefix("/s/").encode()
    head = b"POST /s/" + token + b"/tick HTTP/1.1\r\nHost: localhost\r\n"
    for sent in (
        b"nonsense\r\n\r\n",
        b"GET / HTTP/9.9\r\n\r\n",
        b"GET /s/" + token + b"/day/%00%ff HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n",
        b"GET /s/" + token + b"/calendar HTTP/1.1\r\nHost: [\r\nConnection: close\r\n\r\n",
        b"GET /s/" + token + b"/calendar HTTP/1.1\r\nHost: a\r\nHost: b\r\nConnection: close\r\n\r\n",
        b"GET /s/"
        + token
        + b"/today HTTP/1.1\r\nHost: localhost\r\nX: "
        + b"y" * 300_000
        + b"\r\nConnection: close\r\n\r\n",
        b"GET http://elsewhere.example/s/" + token + b"/today HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n",
        b"GET / HTTP/1.1\r\nHost: localhost\r\nX: a\r\n b\r\nConnection: close\r\n\r\n",
        head + b"Content-Length: 5\r\nContent-Length: 6\r\n\r\nabcdef",
        head + b"Content-Length: -1\r\n\r\n",
        head + b"Transfer-Encoding: chunked\r\nContent-Length: 3\r\n\r\n0\r\n\r\n",
        head + b"Transfer-Encoding: chunked\r\n\r\nzz\r\n",
        b"GET / HTTP/1.1\r\nHost: localhost\r\nUpgrade: websocket\r\nConnection: Upgrade\r\n"
        b"Sec-WebSocket-Version: 13\r\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n\r\n",
        b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n",
        b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03",
    ):
        heard = raw(live.port, sent, 2)
        line = heard.partition(b"\r\n")[0]
        assert b" 500 " not in line + b" ", (sent[:60], line)
        assert b" 101 " not in line + b" ", sent[:60]
        assert b"Traceback" not in heard
    assert note(live, "still there")
    assert "Traceback" not in live.log(), live.log()
    assert live.wil[3:] not in live.log()


@pytest.mark.long
def test_headers_without_end_are_cut_off(live: Live) -> None:
    """Bounded cost: who sends headers for ever is not listened to for ever."""
    with socket.create_connection(("127.0.0.1", live.port), 10) as line:
        line.sendall(b"GET / HTTP/1.1\r\nHost: localhost\r\n")
        sent = 0
        with contextlib.suppress(OSError):
            while sent < 8_000_000:
                line.sendall(b"X-Filler: " + b"y" * 8000 + b"\r\n")
                sent += 8012
    assert sent < 8_000_000


@pytest.mark.long
def test_clients_that_drip_hold_up_nobody(live: Live) -> None:
    token = live.wil.removeprefix("/s/").encode()
    slow = []
    for _ in range(80):
        line = socket.create_connection(("127.0.0.1", live.port), 10)
        line.sendall(
            b"POST /s/" + token + b"/tick HTTP/1.1\r\nHost: localhost\r\nSec-Fetch-Site: same-origin\r\n"
            b"Content-Type: application/x-www-form-urlencoded\r\nContent-Length: 5000\r\n\r\nv"
        )
        slow.append(line)
    try:
        began = time.monotonic()
        for number in range(5):
            for line in slow:
                line.sendall(b"i")
            assert note(live, f"between drops {number}")
        assert live.page("today").status == 200
        assert time.monotonic() - began < 10
    finally:
        for line in slow:
            line.close()  # all of them hang up in the middle
    assert note(live, "after they hung up")
    assert "Traceback" not in live.log()


@pytest.mark.long
def test_an_edit_of_the_job_file_is_taken_and_a_wrong_one_is_told(live: Live) -> None:
    settled(live)
    before = revision(live)
    edited(live, "name: north gable", "name: north gable end")
    until(lambda: "north gable end" in live.page("walls").text, 20, "the name")
    until(lambda: revision(live) > before, 30, "a plan of it")
    edited(live, "height: 2.9 m", "height: 2.9 parsecs")
    until(lambda: "parsecs" in live.page("today").text, 20, "trouble is told")
    line = next(
        number for number, text in enumerate(live.job_file.read_text().splitlines(), 1) if "2.9 parsecs" in text
    )
    for page in ("today", "walls", "wall/4", "job", "moved", "calendar"):
        told = words(live.page(page).text)
        assert f"court.yaml:{line}:" in told, page
        assert "Until this is mended" in told, page
    assert note(live, "while it was wrong")
    assert live.page("calendar.ics").status == 200
    edited(live, "2.9 parsecs", "2.9 m")
    until(lambda: "parsecs" not in live.page("today").text, 20, "mended")
    text = live.job_file.read_text()
    live.job_file.unlink()
    until(lambda: "Until this is mended" in live.page("today").text, 20, "file is gone")
    assert "north gable end" in live.page("walls").text
    assert note(live, "while it was gone")
    live.job_file.write_text(text)
    until(lambda: "Until this is mended" not in live.page("today").text, 30, "file is back")


@pytest.mark.long
def test_what_another_process_logs_is_on_the_page(live: Live) -> None:
    line = ["log", str(live.job_file), "note", "2-out", "said at a terminal", "--by", "noor"]
    done = subprocess.run(
        [sys.executable, "-m", "curing", *line], env=environment(live.offset), capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    assert "said at a terminal" in live.page("wall/2").text


@pytest.mark.long
def test_a_planning_process_that_was_killed_is_made_anew(live: Live) -> None:
    settled(live)
    planners = live.planners()
    assert planners
    before = revision(live)
    for one in planners:
        os.kill(one, signal.SIGKILL)
    edited(live, "name: south gable", "name: south gable end")
    until(lambda: revision(live) > before, 40, "planned by another")
    assert not set(planners) & set(live.planners())
    assert "another is begun" in live.log()
    assert "Until this is mended" not in live.page("today").text


@pytest.mark.long
def test_a_full_disk_refuses_a_tick_in_words_and_keeps_what_was(live: Live) -> None:
    """The limit on the size of files stands for the disk: SQLite sees the same refusal while it writes."""
    settled(live)
    before = notes(live)
    assert note(live, "before it was full")
    resource.prlimit(live.process.pid, resource.RLIMIT_FSIZE, (0, resource.RLIM_INFINITY))
    try:
        heard = live.send("note", {"face": "1-out", "text": "while it was full"})
        assert heard.status == 503
        assert heard.json()["kept"] is False
        assert "nothing was changed" in heard.json()["text"]
        page = live.send("note", {"face": "1-out", "text": "while it was full"}, short=False)
        assert page.status == 503
        assert page.headers["retry-after"]
        assert "check these, then try again" in words(page.text) or "free some space" in words(page.text)
        assert live.page("today").status == 200
        assert live.page("calendar.ics").status == 200
    finally:
        resource.prlimit(live.process.pid, resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
    assert note(live, "after")
    assert notes(live)[len(before) :] == ["before it was full", "after"]
    with sqlite3.connect(live.state / "state.db") as raw_state:
        assert raw_state.execute("PRAGMA integrity_check").fetchone() == ("ok",)


@pytest.mark.long
def test_a_locked_state_is_told_and_nothing_is_lost_silently(live: Live) -> None:
    settled(live)
    other = sqlite3.connect(live.state / "state.db", isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    try:
        answers: list[tuple[float, int, bool]] = []

        def tick(number: int) -> None:
            began = time.monotonic()
            heard = live.send("note", {"face": "1-out", "text": f"locked {number}"}, fresh=True)
            answers.append((time.monotonic() - began, heard.status, heard.kept))
            assert not heard.kept
            assert heard.json()["kept"] is False

        people = [threading.Thread(target=tick, args=(number,)) for number in range(6)]
        for one in people:
            one.start()
        time.sleep(0.5)
        began = time.monotonic()
        assert live.page("today").status == 200
        assert live.page("calendar.ics").status == 200
        assert live.ask("/healthz").status == 200
        assert time.monotonic() - began < 3  # who only reads waits for nobody
        for one in people:
            one.join()
        assert {status for _, status, _ in answers} == {503}
        assert max(took for took, _, _ in answers) < 13
    finally:
        other.execute("ROLLBACK")
        other.close()
    assert note(live, "after the lock")
    assert not any(one.startswith("locked") for one in notes(live))


@pytest.mark.long
def test_a_port_that_is_taken_is_told(live: Live, made: Path, tmp_path: Path) -> None:
    job = copied(made, tmp_path)
    done = subprocess.run(
        command(job, port=live.port), env=environment(live.offset), capture_output=True, text=True, timeout=60
    )
    assert done.returncode == 2
    assert "is taken by another program" in " ".join(done.stderr.split())
    assert "Traceback" not in done.stderr


@pytest.mark.long
def test_two_servers_of_one_state_see_each_other(live: Live) -> None:
    settled(live)
    with running(live.job_file, offset=live.offset) as other:
        assert other.links == live.links
        assert other.send("tick", {"visit": VISIT, "what": "misted"}).kept
        assert "misted" in words(live.page("today").text)
        for number in range(3):
            edited(live, f"name: yard side, bay 1{'!' * number}\n", f"name: yard side, bay 1{'!' * (number + 1)}\n")
            time.sleep(0.8)
        for one in (live, other):
            until(lambda one=one: "bay 1!!!" in one.page("walls").text, 30, "the last edit")  # type: ignore[misc]
            settled(one)
            assert "Until this is mended" not in one.page("today").text, words(one.page("today").text)[:600]
        # a link that one withdraws opens nothing at the other
        gone = other.links["Ines"]
        assert other.ask(f"{gone}/today").status == 200
        assert live.send("people/ines/withdraw", {"generation": 1}).status in (200, 303)
        until(lambda: other.ask(f"{gone}/today").status == 410, 10, "withdrawn")
        until(lambda: other.ask(f"{gone}/calendar.ics").status == 410, 10, "withdrawn")
        assert other.stop() in (0, -signal.SIGTERM)
        assert "Traceback" not in other.log()


@pytest.mark.long
def test_no_line_of_its_log_holds_a_link_or_a_traceback(live: Live) -> None:
    """Last of all, after everything above."""
    assert live.log().count("\n") > 20
    for path in live.links.values():
        assert path[3:] not in live.log()
    assert "Traceback" not in live.log()


@pytest.mark.long
@pytest.mark.parametrize("how", [signal.SIGTERM, signal.SIGINT])
def test_it_ends_soon_and_cleanly_when_told(made: Path, tmp_path: Path, how: int) -> None:
    live = begin(copied(made, tmp_path))
    assert note(live, "kept")
    time.sleep(1.0)  # a plan is being made
    planners = live.children()
    began = time.monotonic()
    if how == signal.SIGINT:
        os.killpg(live.process.pid, how)  # Ctrl-C at a terminal goes to all
    code = live.stop(how)
    assert time.monotonic() - began < 8
    assert code in ((-signal.SIGTERM, 143) if how == signal.SIGTERM else (130, -signal.SIGINT))
    until(lambda: not any(lives(one) for one in planners), 5, "no process is left")
    assert "Traceback" not in live.log(), live.log()
    assert "KeyboardInterrupt" not in live.log()
    assert notes(live) == ["kept"]
    assert sorted(one.name for one in live.state.iterdir()) == ["links.key", "state.db"]


@pytest.mark.long
@pytest.mark.parametrize("between", [0.0, 0.3, 1.0])
def test_ctrl_c_twice_while_a_plan_is_made_ends_it_as_once(made: Path, tmp_path: Path, between: float) -> None:
    live = begin(copied(made, tmp_path))
    assert note(live, "kept")
    time.sleep(1.0)  # a plan is being made
    children = live.children()
    os.killpg(live.process.pid, signal.SIGINT)
    time.sleep(between)
    with contextlib.suppress(ProcessLookupError):
        os.killpg(live.process.pid, signal.SIGINT)
    assert live.process.wait(10) in (130, -signal.SIGINT)
    live.stop()  # all it wrote is read
    until(lambda: not any(lives(one) for one in children), 5, "no process is left")
    assert "Traceback" not in live.log(), live.log()
    assert "Cancelled" not in live.log()
    assert notes(live) == ["kept"]
    assert sorted(one.name for one in live.state.iterdir()) == ["links.key", "state.db"]


@pytest.mark.long
def test_killed_it_leaves_no_planning_process(made: Path, tmp_path: Path) -> None:
    live = begin(copied(made, tmp_path))
    until(lambda: live.children(), 20, "a planning process")
    planners = live.children()
    live.process.kill()
    live.process.wait(10)
    until(lambda: not any(lives(one) for one in planners), 10, "no process is left")
    with running(live.job_file) as again:
        assert again.page("today").status == 200


@pytest.mark.long
def test_a_certificate_that_is_none_is_told(made: Path, tmp_path: Path) -> None:
    job = copied(made, tmp_path)
    for name in ("cert.pem", "key.pem"):
        (tmp_path / name).write_text("no certificate\n")
    for more in (["--tls-cert", "cert.pem"], ["--tls-cert", "cert.pem", "--tls-key", "gone.pem"],
                 ["--tls-cert", "cert.pem", "--tls-key", "key.pem"], ["--http-port", "8080"]):  # fmt: skip
        done = subprocess.run(
            command(job, *more), cwd=tmp_path, env=environment(ahead()), capture_output=True, text=True, timeout=60
        )
        assert done.returncode == 2, more
        assert "--tls" in done.stderr
        assert "Traceback" not in done.stderr
