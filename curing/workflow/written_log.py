"""A written log read in one go: entries and decisions in their order, all or, where one is refused, none."""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from curing.errors import CuringError, FileError, Problem
from curing.model.decisions import Decision
from curing.model.record import RecordEntry
from curing.planning.admission import AHEAD
from curing.planning.decision_rules import Bench, faults
from curing.planning.worktime import local, zone_of
from curing.sources.decision_line import DecisionLine
from curing.sources.log_file import Written, read_log
from curing.sources.log_line import Line
from curing.sources.spoken_time import instant_at
from curing.workflow.deciding import taken
from curing.workflow.opening import read
from curing.workflow.recording import Logged, Recorder, entries_of, opened


def log_file(job_file: Path, path: Path, *, state: Path | None = None, as_of: str | None = None) -> Logged:
    """Append every line of a written log, all or, where one is refused, none.

    The same file read twice counts once: each line has a key of its own. A decision is judged as of the
    moment at which it was taken, against the newest plan.

    Raises
    ------
    FileError
        Lines that are wrong or refused, all of them, each with its place.
    """
    written = read_log(path)
    job, now = read(job_file, as_of)
    with opened(job_file, job, state) as store:
        recorder = Recorder(store, job)
        entries, decisions = _admitted(recorder, written, now)
        logged = recorder.enter_all(entries, admitted=True)
        found = [store.append_decision(one) for one in decisions]
        kept = tuple(replace(one, seq=at.seq) for one, at in zip(decisions, found, strict=True))
        return replace(logged, decisions=kept, decided_already=tuple(at.already for at in found))


def _admitted(
    recorder: Recorder, written: Sequence[Written], now: datetime
) -> tuple[list[RecordEntry], list[Decision]]:
    """Return the entries and decisions of a written log, each admitted after those before it."""
    problems: list[Problem] = []
    made: list[RecordEntry] = []
    decided: list[Decision] = []
    trial = copy(recorder)
    trial.ledger = recorder.ledger.copy()
    known = {one.key for one in recorder.store.decisions()}
    # A line that made one entry means today what it meant then; one that made several may have been cut short.
    before = {entry.key: entry for entry in recorder.ledger.entries}
    for one in written:
        try:
            if isinstance(one.line, DecisionLine):
                decision, against = _decision(recorder, one, one.line, now)
                problems += [Problem(one.place, text) for text in against if decision.key not in known]
                decided.append(decision)
                continue
            there = before.get(one.key)
            entries = [there] if there is not None else _entries(trial, one, one.line, now)
        except CuringError as error:
            problems += [Problem(one.place, text.text) for text in error.problems]
            continue
        for entry in entries:
            if not trial.ledger.knows(entry.key):
                problems += [Problem(one.place, text) for text in trial.ledger.faults(entry, now)]
                trial.ledger.add(replace(entry, seq=trial.ledger.last + 1))
            made.append(entry)
    if problems:
        raise FileError(problems)
    return made, decided


def _entries(trial: Recorder, one: Written, line: Line, now: datetime) -> list[RecordEntry]:
    return entries_of(trial, trial.read(line, one.by, one.at, "", one.key, now), one.by, now)


def _decision(recorder: Recorder, one: Written, line: DecisionLine, now: datetime) -> tuple[Decision, list[str]]:
    """Return a decision and what speaks against it, as of the moment at which it was taken."""
    job = recorder.job
    zone = zone_of(job.file.sites[0].time_zone)
    at = instant_at(one.at, zone, local(zone, now)[0])
    bench = Bench(job, recorder.roots, recorder.plan, at)
    decision = taken(line, bench, by=one.by, key=one.key)
    against = faults(decision, bench)
    if at > now + AHEAD:
        against.append(f"at {one.at}: lies ahead; write a decision down when it has been taken")
    return decision, against
