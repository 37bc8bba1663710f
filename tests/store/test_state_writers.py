from __future__ import annotations

import os
import random
import re
import resource
import shutil
import signal
import sqlite3
import subprocess
import sys
import threading
import time
from datetime import UTC, datetime
from multiprocessing.connection import Connection
from pathlib import Path

import pytest
from state_places import UID
from state_processes import start

from curing.errors import StateError
from curing.model.record import RecordEntry, RecordKind
from curing.store import Store, open_state

SEVEN = datetime(2027, 5, 3, 5, 0, tzinfo=UTC)


def entry(key: str) -> RecordEntry:
    return RecordEntry(key, SEVEN, SEVEN, "mira", RecordKind.MISTED, "north-out")


def is_sound(folder: Path) -> bool:
    with sqlite3.connect(folder / "state.db") as raw:
        return raw.execute("PRAGMA integrity_check").fetchall() == [("ok",)]


@pytest.mark.parametrize("read_only", [False, True])
def test_every_pooled_connection_keeps_the_promises(store: Store, folder: Path, read_only: bool) -> None:
    with open_state(folder, UID, read_only=read_only) as opened:
        pooled = [opened._engine.connect() for _ in range(8)]
        assert len({id(c.connection.driver_connection) for c in pooled}) == 8
        for connection in pooled:
            names = ("journal_mode", "synchronous", "foreign_keys", "busy_timeout", "query_only")
            values = [connection.exec_driver_sql(f"PRAGMA {name}").scalar() for name in names]
            assert values == ["wal", 2, 1, 5000, int(read_only)]  # 2 is FULL
        for connection in pooled:
            connection.close()


def test_a_writer_takes_its_place_before_its_first_statement(store: Store) -> None:
    with store._writing(), sqlite3.connect(store.database, timeout=0, isolation_level=None) as raw:
        with pytest.raises(sqlite3.OperationalError, match="locked"):
            raw.execute("BEGIN IMMEDIATE")
        assert raw.execute("SELECT count(*) FROM record").fetchone() == (0,)


def save_for_ever(pipe: Connection, folder: Path) -> None:
    with open_state(folder, UID) as store:
        latest = store.latest()
        number = latest.number if latest else 0
        while True:
            plan = {"number": number + 1, "noise": os.urandom(400_000).hex()}
            number = store.save_revision(plan, parent=number or None, as_of=SEVEN, saved_at=SEVEN)
            pipe.send(number)


def test_kill_9_while_saving_leaves_the_last_whole_revision(folder_on_disk: Path) -> None:
    moments = random.Random(4)
    told = 0
    for _ in range(8):
        process, pipe = start(save_for_ever, folder_on_disk)
        assert pipe.poll(20)
        time.sleep(moments.uniform(0, 0.06))
        assert process.pid
        os.kill(process.pid, signal.SIGKILL)
        process.join(10)
        try:
            while True:
                told = pipe.recv()
        except EOFError:
            pass
        with open_state(folder_on_disk, UID) as store:
            numbers = [r.number for r in store.revisions()]
            assert numbers == list(range(1, len(numbers) + 1))
            # what was told is there; the one in hand may be, untold
            assert told <= len(numbers) <= told + 1
            assert all(store.revision(n).plan["number"] == n for n in numbers[-3:])
        assert is_sound(folder_on_disk)


@pytest.mark.parametrize("byte", range(50_000, 400_000, 50_000))
def test_death_in_the_middle_of_a_write_leaves_the_last_whole_revision(folder: Path, byte: int) -> None:
    def die(pipe: Connection) -> None:
        with open_state(folder, UID) as store:
            store.save_revision({"n": 1}, parent=None, as_of=SEVEN, saved_at=SEVEN)
            store.append_record(entry("k1"))
            pipe.send("saved")
            # the kernel kills whoever writes beyond this byte of a file
            signal.signal(signal.SIGXFSZ, signal.SIG_DFL)
            resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
            resource.setrlimit(resource.RLIMIT_FSIZE, (byte, byte))
            noise = os.urandom(400_000).hex()
            store.save_revision({"n": 2, "noise": noise}, parent=1, as_of=SEVEN, saved_at=SEVEN)
            pipe.send("saved")

    process, pipe = start(die)
    assert pipe.recv() == "saved"
    process.join(10)
    assert process.exitcode == -signal.SIGXFSZ
    with open_state(folder, UID) as store:
        latest = store.latest()
        assert latest is not None
        assert (latest.number, latest.plan) == (1, {"n": 1})
        assert store.records() == [entry("k1")]
        assert store.save_revision({"n": 2}, parent=1, as_of=SEVEN, saved_at=SEVEN) == 2
    assert is_sound(folder)


def test_two_processes_that_record_lose_and_double_nothing(folder_on_disk: Path) -> None:
    def record(pipe: Connection, name: str) -> None:
        with open_state(folder_on_disk, UID) as store:
            pipe.send([tuple(store.append_record(entry(f"{name}-{n}"))) for n in range(60)])

    pipes = [start(record, name)[1] for name in ("phone", "desk")]
    answers = [seq for pipe in pipes for seq, already in pipe.recv() if not already]
    assert sorted(answers) == list(range(1, 121))
    with open_state(folder_on_disk, UID) as store:
        records = store.records()
        assert [e.seq for e in records] == list(range(1, 121))
        assert {e.key for e in records} == {f"{name}-{n}" for name in ("phone", "desk") for n in range(60)}
    assert is_sound(folder_on_disk)


def test_the_same_entries_from_two_processes_in_any_order_count_once(folder: Path) -> None:
    keys = [f"k{n}" for n in range(15)]

    def replay(pipe: Connection, seed: int) -> None:
        order = keys * 3
        random.Random(seed).shuffle(order)
        with open_state(folder, UID) as store:
            pipe.send([(key, *store.append_record(entry(key))) for key in order])

    pipes = [start(replay, seed)[1] for seed in (1, 2)]
    answers = [answer for pipe in pipes for answer in pipe.recv()]
    assert sorted(key for key, _, already in answers if not already) == sorted(keys)
    assert len({(key, seq) for key, seq, _ in answers}) == len(keys)
    with open_state(folder, UID) as store:
        assert sorted(e.key for e in store.records()) == sorted(keys)


def test_threads_of_one_process_share_a_store(store: Store) -> None:
    def record(name: str) -> None:
        for n in range(20):
            store.append_record(entry(f"{name}-{n}"))

    threads = [threading.Thread(target=record, args=(name,)) for name in "abc"]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert [e.seq for e in store.records()] == list(range(1, 61))


def test_two_planners_each_follow_the_latest_plan(folder_on_disk: Path) -> None:
    def plan(pipe: Connection, name: str) -> None:
        saved, refused = 0, []
        with open_state(folder_on_disk, UID) as store:
            while saved < 15:
                latest = store.latest()
                seen = latest.number if latest else None
                try:
                    store.save_revision({"made from": seen, "by": name}, parent=seen, as_of=SEVEN, saved_at=SEVEN)
                    saved += 1
                except StateError as error:
                    refused.append(str(error))
        pipe.send((saved, refused))

    pipes = [start(plan, name)[1] for name in ("a", "b")]
    answers = [pipe.recv() for pipe in pipes]
    assert [saved for saved, _ in answers] == [15, 15]
    assert all("another process planned meanwhile" in text for _, refused in answers for text in refused)
    with open_state(folder_on_disk, UID) as store:
        chain = [(r.number, r.parent, store.revision(r.number).plan["made from"]) for r in store.revisions()]
    assert chain == [(n, n - 1 or None, n - 1 or None) for n in range(1, 31)]


def test_a_reader_beside_a_writer_never_sees_half_a_plan(folder: Path) -> None:
    open_state(folder, UID).close()

    def read(pipe: Connection) -> None:
        seen = []
        with open_state(folder, UID, read_only=True) as store:
            pipe.send("reading")
            while not pipe.poll(0):
                latest = store.latest()
                if latest:
                    assert latest.plan == {"parts": [latest.number] * 5000}
                    seen.append(latest.number)
        pipe.send(seen)

    reader, pipe = start(read)
    assert pipe.recv() == "reading"
    with open_state(folder, UID) as store:
        for n in range(1, 31):
            store.save_revision({"parts": [n] * 5000}, parent=n - 1 or None, as_of=SEVEN, saved_at=SEVEN)
            time.sleep(0.002)
    pipe.send("stop")
    seen = pipe.recv()
    reader.join(10)
    assert seen == sorted(seen)
    assert len(set(seen)) > 3


def test_many_processes_make_one_state_together(tmp_path: Path) -> None:
    def make(pipe: Connection, folder: Path, name: str) -> None:
        pipe.recv()
        with open_state(folder, UID) as store:
            pipe.send(store.append_record(entry(name)).seq)

    for attempt in range(3):
        folder = tmp_path / f"{attempt}.state"
        pipes = [start(make, folder, f"p{n}")[1] for n in range(6)]
        for pipe in pipes:
            pipe.send("go")
        assert sorted(pipe.recv() for pipe in pipes) == [1, 2, 3, 4, 5, 6]


SYNCS = """
import os
from pathlib import Path
import sys
sys.path[:0] = [{tests!r}]
from test_state_writers import *

with open_state(Path({folder!r}), UID) as store:
    store.append_record(entry("first"))
    os.path.exists("/from-here")
    for n in range(10):
        store.append_record(entry(str(n)))
    os.path.exists("/to-here")
"""


@pytest.mark.skipif(not shutil.which("strace"), reason="strace is not installed")
def test_every_entry_reaches_the_disk_before_it_is_acknowledged(folder_on_disk: Path, tmp_path: Path) -> None:
    trace = tmp_path / "trace"
    script = SYNCS.format(tests=str(Path(__file__).parent), folder=str(folder_on_disk))
    calls = "trace=fsync,fdatasync,stat,newfstatat"
    done = subprocess.run(
        ["strace", "-f", "-o", str(trace), "-e", calls, sys.executable, "-c", script],
        capture_output=True,
        text=True,
    )
    if done.returncode and "Traceback" not in done.stderr:
        pytest.skip(f"strace may not trace here: {done.stderr.strip()}")
    assert done.returncode == 0, done.stderr
    between = trace.read_text().split("/from-here")[1].split("/to-here")[0]
    assert len(re.findall(r"\bf(?:data)?sync\(", between)) >= 10
