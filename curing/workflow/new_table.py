"""Walls from a table: what its columns do not say is asked for once, for all that lack it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from curing.errors import FileError, Place, Problem
from curing.model.answers import JobAnswers, WallAnswers
from curing.model.job import Face, Panel
from curing.model.quantities import clip
from curing.publish.job_text import job_text
from curing.sources.jobfile import judge_document
from curing.sources.table_file import Remark
from curing.sources.typed_answers import read_choice, read_yes
from curing.sources.wall_columns import FIELDS, Column
from curing.sources.wall_schedule import Schedule, read_schedule
from curing.sources.yaml_nodes import compose
from curing.workflow.interview import Interview, Question, optional
from curing.workflow.new_judge import NO_UID
from curing.workflow.new_questions import Asking, checked
from curing.workflow.new_walls import PROPOSED, ask_walls, read_system

MOST_REMARKS = 8
SKIP = "skip"

Told = tuple[JobAnswers, tuple[str, ...]]


def read_table(asking: Asking, name: str, meant: Mapping[int, str], given: Mapping[str, str]) -> Schedule:
    """Read the table with what is known of it; FileError for all that is wrong with it."""
    sides = {one: system.sides for one, system in asking.systems.items()}
    return read_schedule(Path(name), systems=sides, meant=meant if asking.interactive else None, given=given)


def ask_all_walls(asking: Asking, answers: JobAnswers, start: str) -> Interview[Told]:
    """Take the walls from a table, or ask for them one by one; with them, what is to be told of the table."""
    name = asking.table
    if not name:
        name = yield asking.question(
            "table", str, default="", section="walls", judge=lambda text: _fault(asking, text, {}, {}) if text else ""
        )
    if not name:
        return (yield from ask_walls(asking, answers, start)), ()
    return (yield from _ask_table(asking, answers, name, start))


def _fault(asking: Asking, name: str, meant: Mapping[int, str], given: Mapping[str, str]) -> str:
    try:
        read_table(asking, name, meant, given)
    except FileError as error:
        return "\n".join(str(problem) for problem in error.problems)
    return ""


def _ask_table(asking: Asking, answers: JobAnswers, name: str, start: str) -> Interview[Told]:
    meant: dict[int, str] = {}
    given: dict[str, str] = {}
    schedule = read_table(asking, name, meant, given)
    for column in schedule.unknown:
        meant[column.index] = yield _column_question(asking, name, schedule, column, dict(meant))
    while missing := [one for one in read_table(asking, name, meant, given).lacking if one not in given]:
        lack = missing[0]
        given[lack] = yield _missing(asking, name, lack, meant, dict(given))
    waits = False
    if any(len(wall.faces) == 2 for wall in read_table(asking, name, meant, given).walls):
        waits = yield asking.question("face.after", read_yes, at="table.", default="yes")

    def taken() -> JobAnswers:
        walls = read_table(asking, name, meant, given).walls
        return replace(answers, walls=tuple(_completed(asking, wall, start, waits=waits) for wall in walls))

    while problems := table_problems(asking, taken()):
        if not asking.interactive:
            raise FileError(problems)
        yield asking.question(
            "table.again",
            str,
            default="",
            judge=lambda _: "\n".join(str(one) for one in table_problems(asking, taken())),
            lead=tuple(str(one) for one in problems),
            pause=True,
        )
    told = taken()
    return told, _remarks(asking, told, read_table(asking, name, meant, given).remarks)


def _read_field(text: str) -> str:
    word = text.strip().casefold()
    return "" if word in ("", SKIP) else read_choice(word, (*FIELDS, SKIP), "kind of column")


def _column_question(
    asking: Asking, name: str, schedule: Schedule, column: Column, meant: Mapping[int, str]
) -> Question[str]:
    return asking.question(
        "table.column",
        _read_field,
        at=f"table.{column.index + 1}.",
        default=SKIP,
        judge=lambda field: _fault(asking, name, {**meant, column.index: field}, {}),
        section="table",
        file=Path(name).name,
        number=column.index + 1,
        header=f'"{clip(column.header)}"' if column.header else "without a header",
        fields=", ".join(FIELDS),
        cells=", ".join(clip(cell, 16) for cell in schedule.samples.get(column.index, ())),
    )


def _missing(asking: Asking, name: str, lack: str, meant: Mapping[int, str], given: Mapping[str, str]) -> Question[str]:
    """Return the question for what some lines of the table lack."""
    side = lack.removeprefix("system-")
    fitting = [one for one, system in asking.systems.items() if side in system.sides]
    ways: dict[str, tuple[Callable[[str], str], str | None, str]] = {
        "side": (lambda text: read_choice(text, ("out", "in", "both"), "side"), "out", "table.side"),
        "height": (checked(Face, "height"), None, "face.height"),
        "thickness": (optional(checked(Panel, "thickness"), ""), "", "wall.thickness"),
    }
    usual = PROPOSED.get(side, "") if PROPOSED.get(side, "") in fitting else next(iter(fitting), "")
    read, default, why = ways.get(lack, (lambda text: read_system(text, fitting), usual, "face.system"))
    return asking.question(
        f"table.{lack}",
        read,
        why=why,
        default=default,
        judge=lambda text: _fault(asking, name, meant, {**given, lack: text}),
        section="table",
        file=Path(name).name,
        systems=", ".join(fitting),
    )


def _completed(asking: Asking, wall: WallAnswers, start: str, *, waits: bool) -> WallAnswers:
    """Return a wall with the first day for outside faces that have none, and one side left open if wanted."""
    faces = [replace(face, start=face.start or start) if face.side == "out" else face for face in wall.faces]
    if waits and len(faces) == 2:
        out, inside = sorted(faces, key=lambda face: face.side, reverse=True)
        first = asking.systems[out.system].coats[0].id
        faces = [out, replace(inside, after=(f"{wall.id}-out.{first}",))]
    return replace(wall, faces=tuple(faces))


def table_problems(asking: Asking, answers: JobAnswers) -> list[Problem]:
    """Return what is wrong with walls of a table together with people and crews, at the lines of the table."""
    text = job_text(answers, NO_UID, asking.words)
    document = compose(text, "")
    begins = [(document.place(("walls", 0)).line, "")] if answers.walls else []
    for k, wall in enumerate(answers.walls):
        for j, face in enumerate(wall.faces):
            steps = ("walls", k) if j == 0 else ("walls", k, "faces", j)
            begins.append((document.place(steps).line, face.origin))
    found = []
    for problem in judge_document(document, asking.judge.folder, today=asking.today):
        line = problem.place.line if problem.place else 0
        origin = next((where for begin, where in reversed(begins) if begin <= line), "")
        found.append(Problem(_place(origin), problem.text))
    return found


def _place(origin: str) -> Place | None:
    file, _, line = origin.rpartition(":")
    return Place(file, int(line), 1) if line.isdigit() else None


def _remarks(asking: Asking, answers: JobAnswers, remarks: Sequence[Remark]) -> tuple[str, ...]:
    """Return what was taken from the table, and what was taken for granted."""
    words = asking.words
    faces = words.count("new.effect.faces", len(list(answers.faces())))
    lines = [words.count("new.effect.taken", len(answers.walls), faces=faces)]
    for remark in remarks[:MOST_REMARKS]:
        key, number = f"new.table.{remark.key}", remark.values.get("number")
        values = {name: value for name, value in remark.values.items() if name != "number"}
        lines.append(words.count(key, number, **values) if isinstance(number, int) else words.say(key, **values))
    if len(remarks) > MOST_REMARKS:
        lines.append(words.count("new.table.more", len(remarks) - MOST_REMARKS))
    return tuple(lines)
