"""A plan in a terminal of 80 columns: what needs a person, where each face stands, when it is done."""

from __future__ import annotations

import shlex
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from curing.model.plan import FacePlan, Plan, Season, State
from curing.publish.event_title import plain
from curing.publish.terminal_faces import Faces, Row, face_table
from curing.publish.terminal_first import first, needs, pressing
from curing.publish.terminal_layout import WIDTH, fit, table, width, wrap
from curing.publish.terminal_names import Names, local_day
from curing.publish.words import Words

CLOSE = 30
"""[d] A face with fewer days to spare before the season line is told with its last days."""

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
        _season(plan, names),
        _scaffolds(plan, names),
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
    lines = wrap(names.words.count(key, len(plan.changes), parent=plan.parent))
    return lines if outcome.trial else [*lines, *answer(names, "changes", job)]


def answer(names: Names, command: str, job: str) -> list[str]:
    """Return the line with the command that answers the line before it."""
    return wrap(names.words.say(f"terminal.command.{command}", job=job), "  > ", whole=True)


def _legend(rows: Sequence[Row], names: Names) -> list[str]:
    return wrap(names.words.say("terminal.legend")) if any(row.conditional for row in rows) else []


def _season(plan: Plan, names: Names) -> list[str]:
    """Return the last days of faces that are near the season line, or how far all are from it."""
    bound = [(face, face.season) for face in sorted(plan.faces, key=lambda one: one.order) if face.season]
    if not bound:
        return []
    say = names.words.say
    least = min(season.spare for _, season in bound)
    line = min(season.line for _, season in bound)
    lines = wrap(names.words.count("terminal.season", least, line=names.long_day(line)))
    if least < 0:
        lines = wrap(say("terminal.season.over", line=names.long_day(line)))
    close = [(face, season) for face, season in bound if season.spare <= CLOSE or _could_be_late(face)]
    columns = ("face", "wall_name", "fill_by", "panel", "base_by", "finish_by", "planned")
    cells = [tuple(say(f"terminal.head.{name}") for name in columns)]
    cells += [_season_row(face, season, names) for face, season in close]
    if close:
        used = [k for k in range(len(columns)) if k == 1 or any(row[k] for row in cells[1:])]
        least = (4, 6, 5, 5, 5, 5, 5)
        lines += table([[row[k] for k in used] for row in cells], [least[k] for k in used], indent=2)
    return lines


def _season_row(face: FacePlan, season: Season, names: Names) -> tuple[str, ...]:
    laid = any(coat.laid for coat in face.coats)
    dry, fill = "", names.day(season.fill_by)
    if face.panel is not None:
        dry = names.words.say(
            "terminal.panel", ready=names.day(face.panel.ready), late=names.day(face.panel.likely_late)
        )
    return (
        names.face(face.id),
        names.wall(face),
        "" if laid or face.panel else fill,
        "" if laid else dry,
        "" if laid else names.day(season.base_by),
        names.day(season.line),
        names.day(season.finish),
    )


def _could_be_late(face: FacePlan) -> bool:
    laid = any(coat.laid for coat in face.coats)
    return bool(face.season and face.panel and not laid and face.panel.likely_late > face.season.base_by)


def _scaffolds(plan: Plan, names: Names) -> list[str]:
    cells = [
        (plain(one.name), names.day(one.first), names.day(one.last), names.faces(one.faces))
        for one in sorted(plan.scaffolds, key=lambda one: (one.first, one.name))
    ]
    if not cells:
        return []
    head = tuple(names.words.say(f"terminal.head.{name}") for name in ("scaffold", "from", "to", "faces"))
    return table([head, *cells], (10, 6, 6, 16))


def _written(outcome: Outcome, names: Names) -> Iterator[str]:
    for key, path in outcome.written:
        line = names.words.say(f"terminal.written.{key}", path="")
        yield line + tail_of(plain(path), WIDTH - width(line))
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
