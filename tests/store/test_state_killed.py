"""Death between any two statements of an append, and two processes that say the same thing at once."""

from __future__ import annotations

import os
import signal
import sqlite3
from datetime import UTC, datetime
from multiprocessing.connection import Connection
from pathlib import Path

import pytest
from sqlalchemy import event
from state_places import UID
from state_processes import start

from curing.errors import RecordError
from curing.model.decisions import Decision, DecisionKind
from curing.model.record import RecordEntry, RecordKind
from curing.sources.jobfile import read_job
from curing.store import Store, open_state
from curing.workflow.recording import Recorder

SEVEN = datetime(2027, 5, 3, 5, 0, tzinfo=UTC)
JOB = """\
curing: 1
uid: 5f0c9e1a-93d4-4d0c-8a55-3b1b7a0f2c11
name: Alder Court
holidays: { country: NL }
sites:
  - { id: court, name: Alder Court, latitude: 52.1, longitude: 5.2, time_zone: Europe/Amsterdam }
people:
  - { id: ida, name: Ida, roles: [lead, mists], hours: { mon-fri: 07:00-15:30 } }
  - { id: bo, name: Bo, roles: [mists], hours: { mon-fri: 07:00-15:30 } }
crews:
  - { id: render, name: Render, people: [ida, bo] }
walls:
  - id: "3"
    name: north gable
    faces:
      - { side: out, facing: N, area: 10 m2, height: 2.7 m, system: clay-lime }
"""


def entry(key: str, by: str = "ida") -> RecordEntry:
    return RecordEntry(key, SEVEN, SEVEN, by, RecordKind.NOTE, None, {"text": f"said under {key}"})


def killed_at(store: Store, statement: int, *, before: bool) -> None:
    """Kill this process at a statement (counted from 1) that any connection of the store sends to SQLite."""
    sent = 0

    def count(*_: object) -> None:
        nonlocal sent
        sent += 1
        if sent == statement:
            os.kill(os.getpid(), signal.SIGKILL)

    event.listen(store._engine, "before_cursor_execute" if before else "after_cursor_execute", count)


def append_and_die(pipe: Connection, folder: Path, statement: int, before: bool, decision: bool) -> None:
    with open_state(folder, UID) as store:
        store.append_record(entry("first"))
        pipe.send("first")
        killed_at(store, statement, before=before)
        if decision:
            store.append_decision(Decision("second", SEVEN, "ida", DecisionKind.MOVE, {"why": "x"}))
        else:
            store.append_record(entry("second"), admit=lambda since: since(0) and None)
        pipe.send("second")
        store.append_record(entry("third"))
        pipe.send("third")
    os.kill(os.getpid(), signal.SIGKILL)


@pytest.mark.parametrize("decision", [False, True], ids=["entry", "decision"])
@pytest.mark.parametrize("before", [True, False], ids=["before", "after"])
@pytest.mark.parametrize("statement", range(1, 10))
def test_killed_at_any_statement_nothing_acknowledged_is_lost_and_nothing_is_half_written(
    folder: Path, statement: int, before: bool, decision: bool
) -> None:
    process, pipe = start(append_and_die, folder, statement, before, decision)
    told = []
    try:
        while True:
            told.append(pipe.recv())
    except EOFError:
        process.join(10)
    assert process.exitcode == -signal.SIGKILL
    assert told[:1] == ["first"]
    with sqlite3.connect(folder / "state.db") as raw:
        assert raw.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    with open_state(folder, UID) as store:
        there = [one.key for one in store.records()] + [one.key for one in store.decisions()]
        assert set(told) <= set(there)
        assert set(there) - set(told) <= {"second", "third"}
        assert [one.seq for one in store.records()] == list(range(1, len(store.records()) + 1))
        assert {one.data["text"] for one in store.records()} == {f"said under {one.key}" for one in store.records()}
        # What was in hand is sent again, whether it arrived or not.
        store.append_record(entry("third"))
        assert [one.key for one in store.records()].count("third") == 1


def test_the_statements_of_an_append_are_no_more_than_those_tried(folder: Path) -> None:
    with open_state(folder, UID) as store:
        store.append_record(entry("first"))
        sent: list[str] = []
        event.listen(store._engine, "before_cursor_execute", lambda *said: sent.append(said[2]))
        store.append_record(entry("second"), admit=lambda since: since(0) and None)
        assert 3 <= len(sent) < 9


def test_an_append_ends_before_it_is_acknowledged(folder: Path) -> None:
    """What one process was told stands for every other, at once."""

    def append(pipe: Connection) -> None:
        with open_state(folder, UID) as store:
            for number in range(20):
                store.append_record(entry(f"k{number}"))
                pipe.send(number)
                pipe.recv()

    open_state(folder, UID).close()
    _, pipe = start(append)
    with open_state(folder, UID, read_only=True) as store:
        for number in range(20):
            assert pipe.recv() == number
            assert [one.key for one in store.records()][-1] == f"k{number}"
            pipe.send("go on")


@pytest.mark.parametrize("attempt", range(3))
def test_two_processes_that_finish_one_coat_at_the_same_moment(folder: Path, tmp_path: Path, attempt: int) -> None:
    """One is refused with the other's entry; the coat is finished once."""
    job_file = tmp_path / "court.yaml"
    job_file.write_text(JOB)
    job = read_job(job_file, years=range(2026, 2029), today=SEVEN.date())
    open_state(folder, job.file.uid).close()

    def finish(pipe: Connection, by: str) -> None:
        with open_state(folder, job.file.uid) as store:
            recorder = Recorder(store, job)  # both have read the record before either writes
            pipe.send("ready")
            pipe.recv()
            one = RecordEntry(f"by {by}", SEVEN, SEVEN, by, RecordKind.FINISHED, "3-out", {"task": "base"})
            try:
                recorder.enter(one, SEVEN)
                pipe.send("taken")
            except RecordError as error:
                pipe.send(str(error))

    pipes = [start(finish, by)[1] for by in ("ida", "bo")]
    assert [pipe.recv() for pipe in pipes] == ["ready", "ready"]
    for pipe in pipes:
        pipe.send("go")
    answers = sorted((pipe.recv() for pipe in pipes), key=lambda text: text != "taken")
    assert answers[0] == "taken"
    assert "3-out: base was finished 2027-05-03 07:00, entry 1 by" in answers[1]
    assert "a coat is finished once" in answers[1]
    with open_state(folder, job.file.uid) as store:
        assert [one.kind for one in store.records()] == [RecordKind.FINISHED]
