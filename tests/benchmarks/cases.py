"""What is timed: starting, planning jobs of many faces, checking, calendars; and peers beside them.

The jobs are invented and plain: fresh outside faces with every hold met, so that the answer is
known: a sound plan, and 42 visits to each finish (twice a day for 14 days, then once to day 28).
"""

from __future__ import annotations

import itertools
import json
import os
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from curing.model.job import Job
from curing.model.plan import Care, Kind, Plan
from curing.planning.check import check
from curing.publish import plan_json
from curing.publish.calendar import feeds
from curing.publish.words import Words
from curing.workflow.planning import next_plan
from tests.benchmarks import naive
from tests.benchmarks.measuring import Answer, Result, measured
from tests.jobs import Invented, invent, read

CREWS = {10: 1, 50: 2, 200: 4, 1000: 16}
BUDGETS = {10: 1.5, 50: 3.0, 200: 10.0}
"""Faces -> seconds for ``curing plan`` with calendars, on two cores."""

ONCE = 1000
"""From so many faces on, one run is a report, not a budget."""

WORDS = Words("metric")
FULL_FINISH = 42


def plain(faces: int) -> Invented:
    return invent(1, faces, CREWS.get(faces, max(1, faces // 50)), plain=True)


# -------------------------------------------------------------------------------- the answers


def sound(job: Job, plan: Plan) -> Answer:
    """Judge a plan: the independent check, and each face's visits to its finish counted."""
    faults = check(job, plan)
    walked = Counter(
        visit.face
        for walk in plan.rounds
        for visit in walk.visits
        if visit.coat == "finish" and visit.care is not Care.LOOK
    )
    counts = {walked.get(face, 0) for face, _, _ in job.faces()}
    last = max(one.end for one in plan.bookings if one.kind is Kind.COAT).astimezone(ZoneInfo(plan.sites[0].zone))
    text = f"{len(faults)} faults, {_listed(counts)} visits a finish, last coat {last.date()}"
    return text, not faults and counts == {FULL_FINISH}


def _listed(counts: set[int]) -> str:
    return "/".join(str(count) for count in sorted(counts))


def ended_well(done: subprocess.CompletedProcess[str]) -> Answer:
    return f"exit {done.returncode}", done.returncode == 0


# ---------------------------------------------------------------------------------- the cases


def starting(runs: int) -> Iterator[Result]:
    """Time the start of Python alone, of the help, and of the version."""

    def started(*words: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run([sys.executable, *words], capture_output=True, text=True, check=False)

    yield measured("peer: python -c pass", lambda: started("-c", "pass"), ended_well, runs=runs)
    yield measured(
        "curing --help",
        lambda: started("-m", "curing", "--help"),
        lambda done: ("help with commands", done.returncode == 0 and "plan" in done.stdout),
        runs=runs,
        budget=0.5,
    )


def planning(faces: int, runs: int) -> Iterator[Result]:
    """Time the passes for a job of so many faces, one by one."""
    example = plain(faces)
    text, now = example.text, example.now
    job = read(text, now)
    plan, _ = next_plan(job, None, now, WORDS)
    with tempfile.TemporaryDirectory() as folder:
        yield measured(
            f"{faces} faces: read the job file",
            lambda: read(text, now, beside=Path(folder)),
            lambda found: (f"{len(list(found.faces()))} faces", len(list(found.faces())) == faces),
            runs=runs,
        )
    yield measured(
        f"{faces} faces: plan in memory",
        lambda: next_plan(job, None, now, WORDS)[0],
        lambda found: sound(job, found),
        runs=runs,
    )
    yield measured(
        f"{faces} faces: plan again, no news",
        lambda: next_plan(job, plan, now, WORDS),
        lambda found: ("news" if found[1] else "no news", not found[1]),
        runs=runs,
    )
    yield measured(
        f"{faces} faces: check", lambda: check(job, plan), lambda found: (f"{len(found)} faults", not found), runs=runs
    )
    yield measured(
        f"{faces} faces: all calendars", lambda: feeds(plan, WORDS, now), lambda made: whole(plan, made), runs=runs
    )
    yield measured(
        f"{faces} faces: plan.json",
        lambda: plan_json.text(plan_json.dump(plan, WORDS)),
        lambda text: (f"{len(text) / 1e6:.1f} MB", plan_json.load(json.loads(text)) == plan),
        runs=min(runs, 3),
    )
    yield peer(faces, job, runs)


def whole(plan: Plan, made: dict[str, bytes]) -> Answer:
    """Judge calendars: the site's holds every event of its 68 days once."""
    events = made["site"].count(b"\r\nBEGIN:VEVENT\r\n")
    today = plan.as_of.replace(hour=0, minute=0, second=0, microsecond=0)
    since, until = today - timedelta(days=7), today + timedelta(days=61)
    due = sum(one.start < until and one.end >= since for one in plan.everything())
    size = sum(len(body) for body in made.values()) / 1e6
    return f"{len(made)} calendars, {events} events of the site, {size:.1f} MB", events == due


def peer(faces: int, job: Job, runs: int) -> Result:
    """Time the naive schedule of the same faces: dates and visits only."""
    crews = len(job.file.crews)

    def run() -> tuple[dict[tuple[int, str], date], list[tuple[date, int, str]]]:
        days = naive.schedule(faces, crews, date(2027, 4, 5), set(job.holidays))
        return days, naive.visits(days)

    def answer(found: tuple[dict[tuple[int, str], date], list[tuple[date, int, str]]]) -> Answer:
        days, visits = found
        counts = set(Counter(face for _, face, coat in visits if coat == "finish").values())
        text = f"{_listed(counts)} visits a finish, last coat {max(days.values())}"
        return text, counts == {FULL_FINISH} and len(days) == 4 * faces

    return measured(f"peer: {faces} faces, naive serial dates", run, answer, runs=runs)


def command(faces: int, runs: int) -> Result:
    """Time ``curing plan JOB --out FOLDER`` as people run it: a process, a new state, all files."""
    example = plain(faces)
    job = read(example.text, example.now)
    as_of = example.now.astimezone(ZoneInfo(example.data["sites"][0]["time_zone"])).strftime("%Y-%m-%d %H:%M")
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "job.yaml"
        file.write_text(example.text, encoding="utf-8")
        turn = itertools.count()

        def run() -> tuple[subprocess.CompletedProcess[str], Path]:
            out, state = (Path(folder) / f"{name}-{next(turn)}" for name in ("out", "state"))
            words = ["plan", str(file), "--out", str(out), "--state", str(state), "--as-of", as_of]
            environment = {key: value for key, value in os.environ.items() if key != "CURING_DATABASE_URL"}
            done = subprocess.run(
                [sys.executable, "-m", "curing", *words], capture_output=True, text=True, check=False, env=environment
            )
            return done, out

        def answer(found: tuple[subprocess.CompletedProcess[str], Path]) -> Answer:
            done, out = found
            if done.returncode:
                return (done.stderr or done.stdout).strip().splitlines()[-1][:200], False
            return sound(job, plan_json.load(json.loads((out / "plan.json").read_text(encoding="utf-8"))))

        return measured(f"curing plan, {faces} faces, calendars", run, answer, runs=runs, budget=BUDGETS.get(faces))
