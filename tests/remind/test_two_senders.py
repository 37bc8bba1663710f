"""Two processes send from one state while pages write to it: each reminder goes out once."""

from __future__ import annotations

import json
import multiprocessing
import time
from collections import Counter
from datetime import timedelta
from multiprocessing.synchronize import Barrier, Event
from pathlib import Path

import pytest
from killing import KINDS
from sending import DAY, JOB, NOON, SECOND, Recorder, compose

from curing.model.record import RecordEntry, RecordKind
from curing.model.reminders import Occasion, RowState
from curing.remind.sender import Sender
from curing.store import open_state
from curing.workflow.open_job import OpenJob

UID = "5f0c9e1a-93d4-4d0c-8a55-3b1b7a0f2c11"
PEOPLE = 40
BATCHES = 4


def _people() -> str:
    lines = [
        f"  - {{ id: p{n}, name: P{n}, roles: [mists], hours: {{ mon-fri: 07:00-15:30 }}, tell: {{ email: p{n} }} }}\n"
        for n in range(PEOPLE)
    ]
    return JOB.replace("crews:\n", "".join(lines) + "crews:\n")


def _due() -> list[Occasion]:
    found = []
    for batch in range(BATCHES):
        due = NOON + batch * timedelta(seconds=1)
        for n in range(PEOPLE):
            for kind in KINDS:
                key = f"b{batch}-{kind}-p{n}"
                found.append(Occasion(key, kind, f"p{n}", due, due + DAY, "x", rings_in_quiet=True))
    return found


def send(file: Path, out: Path, begin: Barrier) -> None:
    """Look again and again until all is out, and write down what went out here."""
    job, channel, due = OpenJob(file), Recorder("email", takes=0.004), _due()
    at = [NOON - SECOND]
    sender = Sender(
        job, {"email": channel}, compose, lambda s, a, t: [one for one in due if a < one.due <= t], now=lambda: at[0]
    )
    begin.wait(30)
    end = time.monotonic() + 60
    while time.monotonic() < end:
        at[0] += timedelta(seconds=1) if at[0] < NOON + BATCHES * SECOND else timedelta(0)
        sender.wake()
        sender.settled(30)
        rows = job.store.rows_since(NOON - DAY)
        if len(rows) == len(due) and all(row.state is RowState.SENT for row in rows):
            break
    sender.stop()
    job.close()
    out.write_text(json.dumps([(to, message.text) for to, message, _, _ in channel.sent]))


def write(file: Path, begin: Barrier, end: Event) -> None:
    """Write as pages do, without a pause."""
    with open_state(file.with_suffix(".state"), UID) as store:
        begin.wait(30)
        number = 0
        while not end.is_set():
            number += 1
            store.append_record(RecordEntry(f"n{number}", NOON, NOON, "ida", RecordKind.NOTE, None, {"text": "x"}))
            time.sleep(0.005)


@pytest.mark.long
def test_two_senders_on_one_state_send_no_reminder_twice_and_none_is_left(tmp_path: Path) -> None:
    file = tmp_path / "court.yaml"
    file.write_text(_people())
    OpenJob(file).close()
    server = multiprocessing.get_context("forkserver")
    begin, end = server.Barrier(3), server.Event()
    writer = server.Process(target=write, args=(file, begin, end), daemon=True)
    senders = [server.Process(target=send, args=(file, tmp_path / f"{n}.json", begin), daemon=True) for n in range(2)]
    for process in (writer, *senders):
        process.start()
    for process in senders:
        process.join(120)
    end.set()
    writer.join(20)
    assert [process.exitcode for process in senders] == [0, 0]
    told = [json.loads((tmp_path / f"{n}.json").read_text()) for n in range(2)]
    came = Counter(key for one in told for _, text in one for key in text.split())
    assert set(came) == {one.key for one in _due()}
    assert set(came.values()) == {1}
    assert all(len(one) > 10 for one in told), "one of them did nothing"
    with open_state(file.with_suffix(".state"), UID) as store:
        rows = store.rows_since(NOON - DAY)
        assert len(store.records()) > 20
    assert {(row.state, row.again) for row in rows} == {(RowState.SENT, 0)}
    print(f"{len(rows)} rows in {[len(one) for one in told]} messages")
