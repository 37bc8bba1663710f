"""A plan in a terminal of 80 columns: what needs a person, where each face stands, when it is done."""

from __future__ import annotations

import shlex
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from curing.model.plan import Plan, State
from curing.publish.event_title import plain
from curing.publish.terminal_faces import Faces, Row, face_table
from curing.publish.terminal_first import first, needs, pressing
from curing.publish.terminal_layout import WIDTH, fit, width, wrap
from curing.publish.terminal_moved import moved_line
from curing.publish.terminal_names import Names, local_day
from curing.publish.terminal_season import scaffold_block, season_block
from curing.publish.words import Words

LONGEST_FILE = 40
"""A job file with a longer name stands as JOB in commands."""


@dataclass(frozen=True)
class Outcome:
    """What became of a plan.

    Parameters
    ----------
    job
        The job file as it was named.
    saved, news, trial
        Whether a revision was saved, whether there was anything new, and whether nothing may be kept.
    written
        What was written where, in order: pairs of a key of the catalogue and a path.
    notes
        What the store has to say.
    seconds
        How long it took.
    """

    job: str
    saved: bool
    news: bool
    trial: bool
    written: Sequence[tuple[str, str]] = ()
    notes: Sequence[str] = ()
    seconds: float | None = None


def plan_page(plan: Plan, outcome: Outcome, words: Words, now: datetime) -> list[str]:
    """Return the lines of ``curing plan``, none wider than 80 cells.

    Parameters
    ----------
    plan
        The plan as it stands.
    outcome
        What became of it.
    words
        Language and units of the reader.
    now
        The present instant.
    """
    names = Names(plan, words, now)
    found = needs(plan, names)
    rows = list(Faces(plan, names).rows())
    job = job_name(outcome.job)
    blocks = [
        [_header(plan, outcome, names), *_moved(plan, outcome, names, job)],
        first(found, names, job),
        [*face_table(rows, names), *_legend(rows, names)],
        season_block(plan, names),
        scaffold_block(plan, names),
        [*_written(outcome, names), *_last(plan, rows, pressing(found), outcome, names)],
    ]
    return joined(blocks)


def joined(blocks: Sequence[Sequence[str]]) -> list[str]:
    """Return blocks with an empty line between them; a line of a file that is too wide is cut."""
    lines: list[str] = []
    for block in blocks:
        if block:
            lines += [*([""] if lines else []), *block]
    return [fit(line, WIDTH) for line in lines]


def job_name(path: str) -> str:
    """Return a job file as a command names it, or ``JOB`` where it is too long for a line.

    Examples
    --------
    >>> job_name("my jobs/alder.yaml"), job_name("x" * 50)
    ("'my jobs/alder.yaml'", 'JOB')
    """
    name = shlex.quote(plain(path))
    return name if width(name) <= LONGEST_FILE and plain(path) == path else "JOB"


def _header(plan: Plan, outcome: Outcome, names: Names) -> str:
    key = "trial" if outcome.trial and outcome.news else "saved" if outcome.saved else "stands"
    return header(names, names.words.say(f"terminal.revision.{key}", number=plan.revision))


def header(names: Names, standing: str, day: date | None = None) -> str:
    """Return the first line: the job, the day and time at its first site, how the plan stands."""
    site = names.plan.sites[0]
    when = names.words.say(
        "terminal.day_time",
        day=names.long_day(names.today(site.id) if day is None else day),
        clock=names.clock(names.now, site.zone),
    )
    tail = f"  {when}  {standing}"
    return fit(plain(names.plan.name), WIDTH - width(tail)) + tail


def _moved(plan: Plan, outcome: Outcome, names: Names, job: str) -> list[str]:
    if not outcome.news or not plan.changes or plan.parent is None:
        return []
    key = "terminal.would_move" if outcome.trial else "terminal.moved"
    lines = moved_line(key, plan, names.words)
    return lines if outcome.trial else [*lines, *answer(names, "changes", job)]


def answer(names: Names, command: str, job: str) -> list[str]:
    """Return the line with the command that answers the line before it."""
    return wrap(names.words.say(f"terminal.command.{command}", job=job), "  > ", whole=True)


def _legend(rows: Sequence[Row], names: Names) -> list[str]:
    return wrap(names.words.say("terminal.legend")) if any(row.conditional for row in rows) else []


def _written(outcome: Outcome, names: Names) -> Iterator[str]:
    for key, what in outcome.written:
        line = names.words.say(f"terminal.written.{key}", path="")
        path, colon, files = what.partition(": ") if key == "calendars" else (what, "", "")
        yield from wrap(tail_of(plain(path), WIDTH - width(line) - 1) + colon + plain(files), line, "  ")
    for note in outcome.notes:
        yield from wrap(plain(note), "", "  ", whole=True)


def tail_of(path: str, most: int) -> str:
    """Return a path, or its end where it is too long for a line.

    Examples
    --------
    >>> tail_of("/home/ana/jobs/alder-court.state", 20)
    '…/alder-court.state'
    """
    if width(path) <= most:
        return path
    end = path
    while width(end) > most - 1:
        end = end[1:]
    return "…" + (end[end.index("/") :] if "/" in end[:-1] else end)


def _last(plan: Plan, rows: Sequence[Row], press: int, outcome: Outcome, names: Names) -> list[str]:
    say, count = names.words.say, names.words.count
    days = [day for face in plan.faces for coat in face.coats for day in (coat.day, coat.last_visit) if day]
    coats = [b for b in plan.bookings if b.task in {c.coat for f in plan.faces for c in f.coats}]
    sure = all(b.state in (State.FIRM, State.DONE) for b in coats)
    last = max([*days, *(local_day(b) for b in coats)], default=None)
    parts = []
    if last is not None:
        parts.append(say("terminal.done_on" if sure else "terminal.done_about", day=names.day(last)))
    faces = count("terminal.faces", len(rows))
    parts.append(count("terminal.need_you", press, faces=faces) if press else say("terminal.need_nobody", faces=faces))
    if outcome.seconds is not None:
        parts.append(say("terminal.seconds", seconds=f"{outcome.seconds:.1f}"))
    return ["   ".join(parts)]
