"""A wall schedule: the walls of a job from a table that a spreadsheet saved as text.

One line a face, or one line a wall with both sides. Everything that is wrong is told at once, with
line and cell; what had to be taken for granted is told as a remark. Nothing is guessed in silence.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path

from curing.errors import FileError, Place, Problem
from curing.model.answers import WALL_ID, FaceAnswers, WallAnswers, short_id
from curing.model.job import MOST_WALLS, Wall
from curing.model.quantities import clip, parse
from curing.sources.answer_checks import field_fault
from curing.sources.table_file import Remark, Row, Table, read_table
from curing.sources.validation import raise_problems
from curing.sources.wall_cells import measure
from curing.sources.wall_columns import Column, Header, assigned, find_header, header_problems, unmatched
from curing.sources.wall_faces import FaceReader

ASKED = ("side", "height", "thickness", "system-out", "system-in")
"""What a table may leave out: it is asked for once, for all that lack it."""

_TOTAL = re.compile(r"(sub|grand)?[ -]?(total|sum|totaal|subtotaal|gesamt|summe|somme|totale)s?\b.*", re.I)


@dataclass(frozen=True, slots=True)
class Schedule:
    """What a table says.

    Attributes
    ----------
    walls
        In the order of the table; complete only where nothing is lacking.
    lacking
        Which of :data:`ASKED` some wall or face has not.
    unknown
        Columns that nothing is known of.
    remarks
        What was taken for granted.
    samples
        First cells of the columns that nothing is known of, by index.
    """

    walls: tuple[WallAnswers, ...]
    lacking: tuple[str, ...]
    unknown: tuple[Column, ...]
    remarks: tuple[Remark, ...]
    samples: Mapping[int, tuple[str, ...]]


def read_schedule(
    path: Path,
    *,
    systems: Mapping[str, Collection[str]],
    meant: Mapping[int, str] | None = None,
    given: Mapping[str, str] | None = None,
) -> Schedule:
    """Read a wall schedule.

    Parameters
    ----------
    path
        The table.
    systems
        Id of each coat system at hand → the sides it is for.
    meant
        What columns are, by index from 0, where a person said so: a field, or nothing to leave it out.
        None: columns that nothing is known of are faults.
    given
        Answers to :data:`ASKED`, for all walls or faces that have none of their own.

    Raises
    ------
    FileError
        Everything that is wrong with the table.
    """
    table = read_table(path)
    header = find_header(table)
    if header is None:
        what = 'no header names the columns; write for instance "wall, side, facing, area (m2), height (m)" above them'
        raise FileError(Problem(Place(table.file, table.rows[0].line), what))
    named = assigned(header, meant or {})
    cells = FaceReader(table, named, systems, dict(given or {}))
    reading = _Reading(table, named, cells)
    walls = reading.walls()
    problems = [*_header_problems(table, named, open_columns=meant is not None), *cells.problems]
    raise_problems(problems)
    remarks = (*table.remarks, *(_title(table, row) for row in header.skipped), *reading.remarks)
    unknown = tuple(unmatched(named))
    lacking = tuple(one for one in ASKED if one in cells.lacking)
    return Schedule(walls, lacking, unknown, remarks, {one.index: _first(named, one) for one in unknown})


def _first(header: Header, column: Column) -> tuple[str, ...]:
    return tuple(islice((cell for row in header.rows if (cell := row.cell(column.index))), 4))


def _header_problems(table: Table, header: Header, *, open_columns: bool) -> Iterator[Problem]:
    unknown = {column.index + 1 for column in unmatched(header)}
    for problem in header_problems(table, header):
        asked = problem.place is not None and problem.place.column in unknown and ": not known" in problem.text
        if not (open_columns and asked):
            yield problem


def _title(table: Table, row: Row) -> Remark:
    return Remark("title", {"line": row.line, "text": clip(" ".join(row.filled))})


@dataclass(slots=True)
class _Rough:
    """A wall as far as its lines have been read."""

    row: Row
    key: str
    name: str
    thickness: str = ""
    filled: str = ""
    note: str = ""
    faces: dict[str, tuple[Row, FaceAnswers]] = field(default_factory=dict)


class _Reading:
    """One pass over the rows of a table."""

    def __init__(self, table: Table, header: Header, cells: FaceReader) -> None:
        self.table, self.header, self.cells = table, header, cells
        self.given = cells.given
        self.remarks: list[Remark] = []
        self._rough: dict[str, _Rough] = {}

    def walls(self) -> tuple[WallAnswers, ...]:
        """Return the walls, and fill problems, remarks and what is lacking."""
        rows, most = self.header.rows, max(c.index for c in self.header.columns) + 1
        for at, row in enumerate(rows):
            if _TOTAL.fullmatch(row.filled[0]) or (at == len(rows) - 1 and self._is_sum(row)):
                self.remarks.append(Remark("total", {"line": row.line}))
            elif any(row.cells[most:]):
                self._too_long(row, most)
            else:
                self._row(row)
        self.cells.tell_unitless()
        if self.cells.computed:
            self.remarks.append(Remark("computed", {"number": self.cells.computed}))
        return self._finished()

    def _row(self, row: Row) -> None:
        (_, key), (_, name) = self.cells.cell(row, "wall"), self.cells.cell(row, "name")
        key = key or name
        sides = self.cells.sides(row, key)
        if not sides:
            return
        if not key:
            above = next(reversed(self._rough.values()), None)
            said = self.cells.cell(row, "side")[1]
            if above is None or not said or sides[0] in above.faces:
                text = "no wall; say which, or delete the line"
                self.cells.fault(row, self.header.columns[0], f"line {row.line}", text)
                return
            key, name = above.key, above.name
            self.remarks.append(Remark("same_wall", {"line": row.line, "wall": above.name}))
        label = f'wall "{clip(name or key)}"'
        rough = self._rough.setdefault(key, _Rough(row, key, name or key))
        self._agree(row, rough, name, label)
        for side in sides:
            if side in rough.faces:
                first = rough.faces[side][0].line
                word = {"out": ", outside", "in": ", inside"}.get(side, "")
                column = self.cells.columns.get(("wall", "")) or self.cells.columns.get(("name", ""))
                todo = 'number the walls, or say in a column "side" which is out and which in'
                self.cells.fault(row, column, f"{label}{word}", f"stands twice, first in line {first}; {todo}")
            else:
                rough.faces[side] = (row, self.cells.face(row, side, label, alone=len(sides) == 1))

    def _agree(self, row: Row, rough: _Rough, name: str, label: str) -> None:
        """Take what belongs to the wall from a row, and tell where two rows of it differ."""
        column, _ = self.cells.cell(row, "name")
        if name and name != rough.name:
            text = f'is called "{clip(rough.name)}" in line {rough.row.line}; give them one name, or two numbers'
            self.cells.fault(row, column, label, text)
        if fault := field_fault(Wall, "name", rough.name):
            self.cells.fault(row, column or self.cells.columns.get(("wall", "")), label, f"name: {fault}")
        for part in ("thickness", "filled"):
            value = self.cells.value(row, part, "", label)
            before = getattr(rough, part)
            if value and before and value != before:
                text = f"{part} {value}, but {before} in line {rough.row.line}; a wall has one panel, correct one"
                self.cells.fault(row, self.cells.cell(row, part)[0], label, text)
            setattr(rough, part, before or value)
        notes = (row.cell(one.index) for one in self.header.of("notes"))
        rough.note = "; ".join(dict.fromkeys(note for note in (rough.note, *notes) if note))

    # What only the whole table shows.

    def _too_long(self, row: Row, most: int) -> None:
        count = len(row.cells)
        text = f"{count} cells, but the header has {most}"
        hint = "a decimal comma in a table separated by commas? Put such cells in quotes, or separate by semicolons"
        if self.table.separator != ",":
            hint = "a separator too many? Put text that holds one in quotes"
        self.cells.problems.append(self.table.problem(row, most, f"{text}; {hint}"))

    def _is_sum(self, row: Row) -> bool:
        """Tell whether the last row names no wall and holds the sum of the areas above it."""
        if self.cells.cell(row, "wall")[1] or self.cells.cell(row, "name")[1] or self.cells.cell(row, "side")[1]:
            return False
        faces = [face for rough in self._rough.values() for _, face in rough.faces.values() if face.area]
        for side in ("", "out", "in"):
            column, text = self.cells.cell(row, "area", side)
            if column is None or not text:
                continue
            areas = [parse(face.area, "area_m2") for face in faces if not side or face.side == side]
            try:
                said = parse(measure(text, column.unit, self.cells.decimals), "area_m2", high=1e7)
            except ValueError:
                continue
            if abs(said - sum(areas)) <= max(0.1, 0.005 * said):
                return True
        return False

    def _finished(self) -> tuple[WallAnswers, ...]:
        """Return the walls with their ids: as they stand where they are fit for one, else made from the name."""
        if not self._rough and not self.cells.problems:
            self.cells.problems.append(
                self.table.problem(self.header.row, 0, "no walls stand under the header; add a line a wall")
            )
        if len(self._rough) > MOST_WALLS:
            text = f"{len(self._rough)} walls; at most {MOST_WALLS} are read, split the job"
            self.cells.problems.append(self.table.problem(self.header.row, 0, text))
        own = {key: key for key in self._rough if not field_fault(Wall, "id", key)}
        taken = set(own.values())
        self._alike(own)
        walls, made = [], 0
        for key, rough in self._rough.items():
            wall_id = own.get(key) or short_id(key, taken, WALL_ID)
            made += key not in own
            taken.add(wall_id)
            rough.thickness = rough.thickness or self.cells.given_for("thickness")
            faces = [face for _, face in sorted(rough.faces.values(), key=lambda one: one[1].side, reverse=True)]
            if rough.filled and not rough.thickness and "thickness" in self.given:
                self.cells.fault(rough.row, self.cells.columns.get(("filled", "")), f'wall "{clip(rough.name)}"',
                            "a day of filling, but no thickness; add it, or delete the day")  # fmt: skip
            walls.append(
                WallAnswers(
                    id=wall_id,
                    name=rough.name,
                    faces=tuple(faces),
                    thickness=rough.thickness,
                    filled=rough.filled,
                    note=rough.note,
                )
            )
        if made:
            first = next(wall for wall, key in zip(walls, self._rough, strict=True) if key not in own)
            self.remarks.append(Remark("ids", {"number": made, "name": first.name, "id": first.id}))
        return tuple(walls)

    def _alike(self, own: Mapping[str, str]) -> None:
        """Tell of ids that differ only by capital letters, or that are those of faces."""
        first: dict[str, str] = {}
        faces = {f"{one}-{side}" for one in own for side in ("out", "in")}
        column = self.cells.columns.get(("wall", "")) or self.cells.columns.get(("name", ""))
        for key in own:
            other = first.setdefault(key.casefold(), key)
            if other != key:
                text = f'differs from "{other}" in line {self._rough[other].row.line} only by capital letters'
                self.cells.fault(self._rough[key].row, column, f'wall "{key}"', f"{text}; change one of them")
            if key in faces:
                self.cells.fault(
                    self._rough[key].row, column, f'wall "{key}"', "is called like a face; give it another name"
                )
