"""A table that a spreadsheet saved as text: its signs, its separator, its rows with their lines.

Comma, semicolon or tab; UTF-8 with or without a mark, UTF-16 with one, or Windows-1252, which is told.
Quotes as in RFC 4180 [1]_. In places of problems the column counts cells from 1: that is what a
spreadsheet shows.

References
----------
.. [1] RFC 4180, Common Format and MIME Type for CSV Files, section 2.
"""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from curing.errors import FileError, Place, Problem

MOST_BYTES = 2_000_000
MOST_CELLS = 200
"""A line of more cells is no wall schedule."""

SEPARATORS = {",": "commas", ";": "semicolons", "\t": "tabs"}
_SPACES = str.maketrans({"\u00a0": " ", "\u202f": " ", "\u2007": " ", "\ufeff": ""})
_UNSEEN = re.compile("[\x00-\x08\x0e-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069]")
_AS_CSV = 'save it as "CSV UTF-8" from the spreadsheet'


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table: where it begins in the file, and its cells without spaces round them."""

    line: int
    cells: tuple[str, ...]

    def cell(self, column: int) -> str:
        """Return the text of a column counted from 0; nothing where the line is shorter."""
        return self.cells[column] if column < len(self.cells) else ""

    @property
    def filled(self) -> list[str]:
        """The cells that hold anything."""
        return [cell for cell in self.cells if cell]


@dataclass(frozen=True, slots=True)
class Remark:
    """Something that was taken for granted and is told: ``key`` of its sentence and what that names."""

    key: str
    values: Mapping[str, object] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Table:
    """A file as rows; blank ones are left out."""

    file: str
    separator: str
    rows: tuple[Row, ...]
    remarks: tuple[Remark, ...] = ()

    def problem(self, row: Row, column: int, text: str) -> Problem:
        """Return a problem at a cell, its column counted from 0."""
        return Problem(Place(self.file, row.line, column + 1), text)


def read_table(path: Path) -> Table:
    """Read a table.

    Raises
    ------
    FileError
        There is no such file, it is no text, it is larger than 2 MB, quotes do not close, or
        nothing in it separates cells.
    """
    file = str(path)
    text, remarks = _decoded(_bytes(path, file), file)
    forced = re.match(r"\s*sep=(.)\r?\n", text)
    if forced:
        text = "\n" + text[forced.end() :]
    found = [(sign, _rows(text, sign)) for sign in ([forced[1]] if forced else SEPARATORS)]
    separator, rows = max(found, key=lambda one: _likeness(one[1]))
    if all(len(row.cells) < 2 for row in rows):
        what = "no commas, semicolons or tabs separate cells" if rows else "the table is empty"
        raise FileError(Problem(Place(file), f"{what}; {_AS_CSV}"))
    _closed(text, separator, file)
    wide = [row for row in rows if len(row.cells) > MOST_CELLS]
    if wide:
        raise FileError(
            Problem(Place(file, wide[0].line), f"{len(wide[0].cells)} cells; at most {MOST_CELLS} are read")
        )
    return Table(file, separator, tuple(rows), tuple(remarks))


def _bytes(path: Path, file: str) -> bytes:
    try:
        if path.is_dir():
            raise FileError(Problem(Place(file), "this is a folder; name the table in it"))
        if not path.exists():
            raise FileError(Problem(Place(file), "there is no such file; check the name and the folder"))
        if not path.is_file():
            raise FileError(Problem(Place(file), "this is not an ordinary file; name a text file"))
        with open(path, "rb") as source:
            raw = source.read(MOST_BYTES + 1)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or "not a name a file can have"
        what = f"the table can't be read: {why.lower()}; check name and permissions"
        raise FileError(Problem(Place(file), what)) from None
    if len(raw) > MOST_BYTES:
        raise FileError(Problem(Place(file), f"larger than {MOST_BYTES / 1e6:g} MB; name the right file, or split it"))
    return raw


def _decoded(raw: bytes, file: str) -> tuple[str, list[Remark]]:
    """Return the text of a table, and what was taken for granted to read it."""
    if raw[:2] == b"PK" or raw[:4] == b"\xd0\xcf\x11\xe0":
        raise FileError(Problem(Place(file), f"this is a workbook, not text; {_AS_CSV}"))
    remarks = []
    try:
        if raw[:2] in (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE):
            text = raw.decode("utf-16")
        else:
            text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        try:
            text = raw.decode("cp1252")
        except UnicodeDecodeError as error:
            line = raw[: error.start].count(b"\n") + 1
            what = f"byte 0x{raw[error.start]:02X} is neither UTF-8 nor Windows-1252; {_AS_CSV}"
            raise FileError(Problem(Place(file, line, 1), what)) from None
        remarks.append(Remark("windows_1252", {"file": Path(file).name}))
    text = text.translate(_SPACES)
    if unseen := _UNSEEN.search(text):
        line = text.count("\n", 0, unseen.start()) + 1
        what = f"the sign U+{ord(unseen[0]):04X} can't be seen and does not belong in a table; {_AS_CSV}"
        raise FileError(Problem(Place(file, line), what))
    return text.replace("\r\n", "\n").replace("\r", "\n"), remarks


def _rows(text: str, separator: str) -> list[Row]:
    """Return the rows that hold anything; a cell over several lines is put on one."""
    reader = csv.reader(io.StringIO(text), delimiter=separator, skipinitialspace=True)
    rows, first = [], 1
    try:
        for cells in reader:
            plain = tuple(" ".join(cell.split()) for cell in cells)
            if any(plain):
                rows.append(Row(first, plain))
            first = reader.line_num + 1
    except csv.Error:
        rows.append(Row(first, ("",)))  # told by _closed, of the separator that is chosen
    return rows


def _likeness(rows: list[Row]) -> tuple[int, int]:
    """Return how much rows look like a table: how many have the usual number of cells, and how many that is."""
    counts = Counter(len(row.cells) for row in rows if len(row.cells) > 1)
    if not counts:
        return 0, 0
    usual, times = max(counts.items(), key=lambda one: (one[1], one[0]))
    return times, usual


def _closed(text: str, separator: str, file: str) -> None:
    """Refuse quotes that do not close: they would swallow the rest of the table."""
    line = 1
    reader = csv.reader(io.StringIO(text), delimiter=separator, skipinitialspace=True, strict=True)
    try:
        for _ in reader:
            line = reader.line_num + 1
    except csv.Error as error:
        what = 'quotes (") do not close, or stand inside a cell; double them inside a cell, or delete them'
        if "field larger" in str(error):
            what = "a cell is longer than 100,000 signs; quotes may not close"
        raise FileError(Problem(Place(file, line, 1), what)) from None
