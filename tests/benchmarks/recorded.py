"""What is timed of the record: one entry as a command and inside, and planning after 10,000 entries.

The entries are invented and plain: coats closed when they were booked, every visit of some weeks ticked,
and a witness block weighed every day. So the answer is known: so many coats done, no fault, every entry there.
"""

from __future__ import annotations

import itertools
import json
import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from curing.model.job import Job
from curing.model.plan import Care, Kind, Plan, State
from curing.model.record import RecordEntry, RecordKind
from curing.planning.check import check
from curing.publish import plan_json
from curing.store import open_state
from curing.workflow.opening import Said, facts
from curing.workflow.planning import next_plan
from curing.workflow.recording import Recorder
from tests.benchmarks.cases import WORDS, ended_well, plain
from tests.benchmarks.measuring import Answer, Result, measured
from tests.jobs import read

WEEKS = timedelta(days=38)
"""Of work that are recorded."""
BUDGETS = {10: 1.5, 50: 3.0}
LOG_BUDGET, INSIDE_BUDGET = 0.7, 0.005


@dataclass
class Site:
    """A job that has been planned and recorded, in a folder of its own."""

    folder: Path
    job: Job
    first: Plan
    now: datetime
    """As of which it is planned again."""
    entries: list[RecordEntry]
    as_of: str

    @property
    def file(self) -> Path:
        return self.folder / "job.yaml"

    @property
    def state(self) -> Path:
        return self.folder / "job.state"


def recorded(folder: Path, faces: int, number: int) -> Site:
    """Return a site whose record has so many entries."""
    example = plain(faces)
    (folder / "job.yaml").write_text(example.text, encoding="utf-8")
    job = read(example.text, example.now)
    first, _ = next_plan(job, None, example.now, WORDS)
    now = example.now + WEEKS
    entries = list(itertools.islice(invented(job, first, example.now, now), number))
    with open_state(folder / "job.state", job.file.uid) as store:
        store.save_revision(plan_json.dump(first, WORDS), parent=None, as_of=example.now, saved_at=example.now)
    insert(folder / "job.state" / "state.db", entries)
    zone = ZoneInfo(job.file.sites[0].time_zone)
    return Site(folder, job, first, now, entries, now.astimezone(zone).strftime("%Y-%m-%d %H:%M"))


def invented(job: Job, plan: Plan, since: datetime, until: datetime) -> Iterator[RecordEntry]:
    """Yield what a crew would have said, coats first, then visits, then a weighing an hour."""
    by = job.file.people[0].id
    turn = itertools.count()

    def entry(kind: RecordKind, at: datetime, face: str | None, data: dict[str, object]) -> RecordEntry:
        return RecordEntry(f"e{next(turn)}", at, at, by, kind, face, data)

    laid = [one for one in plan.bookings if one.kind is Kind.COAT and one.end < until]
    for one in laid:
        yield entry(RecordKind.FINISHED, one.end, one.faces[0], {"task": one.task})
    done = {one.id for one in laid}
    for walk in plan.rounds:
        if walk.end >= until or walk.slot is None:
            continue
        day = walk.start.astimezone(ZoneInfo(walk.zone)).date().isoformat()
        for visit in walk.visits:
            if f"{visit.face}.{visit.coat}" in done and visit.care is not Care.LOOK:
                data: dict[str, object] = {"coat": visit.coat, "day": day, "slot": walk.slot.value}
                yield entry(RecordKind.MISTED, walk.start, visit.face, data)
    walls = [wall.id for wall in job.file.walls]
    for number in itertools.count():
        wall = walls[number % len(walls)]
        at = since + (until - since) * ((number % 5000) / 5000)
        yield entry(RecordKind.READING, at, None, {"weight": 20.0 - number / 10_000, "wall": wall, "of": "block"})


def insert(database: Path, entries: list[RecordEntry]) -> None:
    """Put entries into a state at once, which the program itself never does."""

    def text(at: datetime) -> str:
        return at.astimezone(UTC).replace(tzinfo=None).isoformat(timespec="microseconds") + "Z"

    rows = [
        (
            number,
            one.key,
            text(one.at),
            text(one.received),
            one.by,
            str(one.kind),
            one.face,
            json.dumps(one.data, separators=(",", ":"), sort_keys=True),
        )
        for number, one in enumerate(entries, start=1)
    ]
    with sqlite3.connect(database) as connection:
        connection.executemany("insert into record values (?,?,?,?,?,?,?,?)", rows)
    connection.close()


def measure(runs: int) -> Iterator[Result]:
    """Time the record."""
    with tempfile.TemporaryDirectory() as folder:
        yield logged(recorded(Path(folder), 10, 200), runs)
    with tempfile.TemporaryDirectory() as folder:
        site = recorded(Path(folder), 10, 10_000)
        yield inside(site)
        yield bare(site)
    for faces in BUDGETS:
        with tempfile.TemporaryDirectory() as folder:
            site = recorded(Path(folder), faces, 10_000)
            yield gathered(site, faces, runs)
            yield planned(site, faces, runs)


def commanded(*words: str) -> subprocess.CompletedProcess[str]:
    """Run ``curing`` with these words as people do: a process of its own."""
    environment = {key: value for key, value in os.environ.items() if key != "CURING_DATABASE_URL"}
    command = [sys.executable, "-m", "curing", *words]
    return subprocess.run(command, capture_output=True, text=True, check=False, env=environment)


def logged(site: Site, runs: int) -> Result:
    """Time ``curing log JOB misted FACE early`` as people run it: a process of its own."""
    face = next(one.face for one in site.entries if one.kind is RecordKind.FINISHED)
    by = site.job.file.people[0].id
    words = ("log", str(site.file), "misted", str(face), "early", "--by", by)

    def answer(done: subprocess.CompletedProcess[str]) -> Answer:
        text, well = ended_well(done)
        return f"{text}, {done.stdout.split('  ')[0]}", well and done.stdout.startswith("kept")

    return measured(
        "curing log, 10 faces, 200 entries",
        lambda: commanded(*words, "--as-of", site.as_of),
        answer,
        runs=runs,
        budget=LOG_BUDGET,
    )


def _ticks(site: Site) -> Iterator[RecordEntry]:
    some = [one for one in site.entries if one.kind is RecordKind.MISTED]
    for number in itertools.count():
        one = some[number % len(some)]
        yield RecordEntry(f"new{number}", one.at, site.now, one.by, RecordKind.DAMP, one.face, one.data)


def inside(site: Site, times: int = 200) -> Result:
    """Time a tick admitted and appended by an open recorder, with 10,000 entries before it."""
    ticks = _ticks(site)
    with open_state(site.state, site.job.file.uid) as store:
        recorder = Recorder(store, site.job)
        return measured(
            "a tick inside, after 10,000 entries",
            lambda: recorder.enter(next(ticks), site.now),
            lambda one: (f"entry {one.seq}", one.seq > len(site.entries) and not one.already),
            runs=times,
            budget=INSIDE_BUDGET,
        )


def bare(site: Site, times: int = 200) -> Result:
    """Time the same row put into SQLite by itself, each in a transaction of its own."""
    database = site.folder / "peer.db"
    with sqlite3.connect(database, isolation_level=None) as connection:
        connection.execute("pragma journal_mode=wal")
        connection.execute("pragma synchronous=full")
        connection.execute("create table record (seq integer primary key, key text unique, body text)")
        turn = itertools.count(1)

        def put() -> int:
            number = next(turn)
            connection.execute("begin immediate")
            connection.execute("insert into record values (?,?,?)", (number, f"k{number}", "x" * 120))
            connection.execute("commit")
            return number

        found = measured("peer: SQLite alone, a row a transaction", put, lambda n: (f"row {n}", n > 0), runs=times)
    connection.close()
    return found


def gathered(site: Site, faces: int, runs: int) -> Result:
    """Time what turns the record into facts."""
    said = Said(site.entries)
    done = sum(one.kind is RecordKind.FINISHED for one in site.entries)
    return measured(
        f"{faces} faces: facts of 10,000 entries",
        lambda: facts(site.job, site.first, said)[1],
        lambda found: (f"{len(found.done)} coats done", len(found.done) == done),
        runs=runs,
    )


def planned(site: Site, faces: int, runs: int) -> Result:
    """Time ``curing plan JOB --out FOLDER`` beside a record of 10,000 entries."""
    done = sum(one.kind is RecordKind.FINISHED for one in site.entries)
    turn = itertools.count()

    def run() -> tuple[subprocess.CompletedProcess[str], Path]:
        state, out = (site.folder / f"{name}-{next(turn)}" for name in ("state", "out"))
        shutil.copytree(site.state, state)
        words = ("plan", str(site.file), "--out", str(out), "--state", str(state), "--as-of", site.as_of)
        return commanded(*words), out

    def answer(found: tuple[subprocess.CompletedProcess[str], Path]) -> Answer:
        made, out = found
        if made.returncode:
            return (made.stderr or made.stdout).strip().splitlines()[-1][:200], False
        plan = plan_json.load(json.loads((out / "plan.json").read_text(encoding="utf-8")))
        job, _ = facts(site.job, site.first, Said(site.entries))
        faults = check(job, plan)
        coats = sum(one.kind is Kind.COAT and one.state is State.DONE for one in plan.bookings)
        return f"{len(faults)} faults, {coats} coats done", not faults and coats == done

    return measured(f"curing plan, {faces} faces, 10,000 said", run, answer, runs=runs, budget=BUDGETS[faces])
