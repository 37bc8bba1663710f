"""What was answered to a phone is kept: kill -9 while twenty people write, again and again on one state."""

from __future__ import annotations

import http.client
import os
import re
import shutil
import signal
import sqlite3
import subprocess
import threading
import time
from pathlib import Path

import pytest
from live import Live, begin, drawn, lives, running, until
from raw_asking import form, served, token_of
from serving import copied, drawn_key
from sqlalchemy import event

from curing import clock

WRITERS = 20
UID = "3f6b0a52-8c1d-4e97-a4f0-6d2c9b7e1a35"
GONE = (http.client.HTTPException, OSError)
VISITS = [f"{face}.finish.2027-05-24.early" for face in ("1-out", "2-out")]


class Writers:
    """Twenty people who note and tick until the server is gone."""

    def __init__(self, live: Live) -> None:
        self.live, self.kept, self.sent = live, dict[str, str](), 0
        self.refused: list[str] = []
        self._lock, self._end = threading.Lock(), threading.Event()
        self._people = [threading.Thread(target=self._write, args=(number,), daemon=True) for number in range(WRITERS)]

    def begin(self) -> None:
        for one in self._people:
            one.start()

    def end(self) -> None:
        self._end.set()
        for one in self._people:
            one.join(60)
            assert not one.is_alive()

    def _write(self, number: int) -> None:
        turn = 0
        while not self._end.is_set():
            key, turn = drawn(), turn + 1
            if (number + turn) % 4:
                page, fields = "note", {"face": "1-out", "text": f"{number} {turn}", "key": key}
            else:
                page, fields = "tick", {"visit": VISITS[turn % 2], "what": "misted", "key": key, "extra": "1"}
            with self._lock:
                self.sent += 1
            try:
                who = "Wil" if number % 2 else "Ines"
                heard = self.live.send(page, fields, who, short=turn % 3 > 0)
            except GONE:
                return
            if heard.kept:
                with self._lock:
                    self.kept[key] = page
            elif heard.status != 429:
                self.refused.append(heard.text[-300:])


def stand_there(state: Path) -> set[str]:
    """Return the keys of all entries, read by the database alone."""
    with sqlite3.connect(f"{(state / 'state.db').as_uri()}?mode=ro", uri=True) as raw:
        assert raw.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        return {key for (key,) in raw.execute("SELECT key FROM record")}


@pytest.mark.long
def test_every_acknowledged_entry_survives_kill_9(made: Path, tmp_path: Path) -> None:
    job = copied(made, tmp_path)
    kills = int(os.environ.get("CURING_KILLS", "40"))
    acknowledged: set[str] = set()
    for number in range(kills):
        live = begin(job)
        planners = live.children()
        writers = Writers(live)
        writers.begin()
        until(lambda: len(writers.kept) > 3, 60, "entries")  # noqa: B023
        time.sleep(0.05 + 0.037 * (number % 20))
        live.process.send_signal(signal.SIGKILL)
        live.process.wait(10)
        writers.end()
        acknowledged |= writers.kept.keys()
        assert not writers.refused, writers.refused[:3]
        lost = acknowledged - stand_there(live.state)
        assert not lost, (number, lost)
        until(lambda: not any(lives(one) for one in planners), 20, "planning processes")  # noqa: B023
        assert "Traceback" not in live.log()
    assert len(acknowledged) > kills * 4
    print(f"kills {kills}, acknowledged entries {len(acknowledged)}, all there")
    with running(job) as after:  # and the job goes on
        assert after.page("wall/1").status == 200
        assert after.send("note", {"face": "1-out", "text": "on we go"}).kept


def test_every_connection_of_the_served_state_reaches_the_disk_before_it_answers(made: Path, tmp_path: Path) -> None:
    with served(copied(made, tmp_path)) as site:
        wil, seen = token_of(site), []

        def look(connection: object, *_: object) -> None:
            cursor = connection.cursor()  # type: ignore[attr-defined]
            seen.append((
                id(connection),
                cursor.execute("PRAGMA synchronous").fetchone()[0],
                cursor.execute("PRAGMA journal_mode").fetchone()[0],
            ))  # fmt: skip

        event.listen(site.job.store._engine, "checkout", look)
        gate = threading.Barrier(8)

        def write(number: int) -> None:
            gate.wait()
            for turn in range(3):
                fields = {
                    "key": drawn_key(),
                    "at": clock.now().isoformat(),
                    "face": "1-out",
                    "text": f"{number} {turn}",
                }
                assert form(site, f"/s/{wil}/note", fields).status == 303

        people = [threading.Thread(target=write, args=(number,)) for number in range(8)]
        for one in people:
            one.start()
        for one in people:
            one.join()
        assert len(seen) > 24
        assert {(level, journal) for _, level, journal in seen} == {(2, "wal")}  # 2: FULL
        assert len(site.job.store.records()) == 24


@pytest.mark.long
def test_each_tick_is_forced_to_the_disk(made: Path, tmp_path: Path) -> None:
    """Counted by strace: after each tick that was answered, the log of the database was synced once more."""
    strace = shutil.which("strace")
    if strace is None:
        pytest.skip("no strace here")
    if subprocess.run([strace, "-o", os.devnull, "true"], capture_output=True).returncode:
        pytest.skip("strace may not trace here")
    trace = tmp_path / "trace"
    job = copied(made, tmp_path / "job")
    with running(job, before=[strace, "-f", "-y", "-qq", "-e", "trace=fsync,fdatasync", "-o", str(trace)]) as live:
        time.sleep(4)  # the first plan is made
        for number in range(10):
            before = synced(trace)
            assert live.send("note", {"face": "1-out", "text": str(number)}).kept
            assert synced(trace) > before, number
        for pid in [int(line.split()[0]) for line in trace.read_text().splitlines()[:1]]:
            os.kill(pid, signal.SIGTERM)
        live.process.wait(30)


def synced(trace: Path) -> int:
    return len(re.findall(r"f(?:data)?sync\(\d+<[^>]*state\.db-wal>", trace.read_text()))
