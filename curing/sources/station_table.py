"""The cells of a station's table: a plain file or a ``.gz``, years of hours long, column by column."""

from __future__ import annotations

import csv
import gzip
import io
import zlib
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from curing.errors import FileError, Place, Problem
from curing.model.quantities import clip

MOST_BYTES = 100_000_000
"""Unpacked: about 200 years of hours."""
MOST_OF_A_COLUMN = 8
"""Problems of one column that are told one by one."""
SEPARATORS = ",;\t"
_NAMES = {",": "commas", ";": "semicolons", "\t": "tabs"}


@dataclass
class StationTable:
    """A table, column by column.

    Attributes
    ----------
    file
        Its name.
    header
        Names of the columns.
    columns
        Cells of each column, all equally many.
    lines
        Line in the file of each row.
    notes
        What was taken for granted.
    problems
        What is wrong with it so far.
    """

    file: str
    header: list[str]
    columns: list[tuple[str, ...]]
    lines: list[int]
    notes: list[str] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    _told: dict[int, int] = field(default_factory=dict)

    def fault(self, row: int, column: int, text: Callable[[], str] | str) -> None:
        """Tell what is wrong at a cell (both from 0); the first few of a column one by one, then their number."""
        count = self._told[column] = self._told.get(column, 0) + 1
        if count <= MOST_OF_A_COLUMN:
            said = text if isinstance(text, str) else text()
            self.problems.append(Problem(Place(self.file, self.lines[row], column + 1), said))

    def rest(self) -> list[Problem]:
        """Return how many more problems columns have than were told one by one."""
        return [
            Problem(Place(self.file, self.lines[-1], column + 1),
                    f'"{clip(self.header[column])}": and {count - MOST_OF_A_COLUMN:,} more like these in this column')
            for column, count in self._told.items() if count > MOST_OF_A_COLUMN
        ]  # fmt: skip


def read_station_table(path: Path) -> StationTable:
    """Read the cells of a table.

    Raises
    ------
    FileError
        There is no such file, it is broken, no text or too large; it has no header or no rows.
    """
    file = str(path)
    text, notes = _text(_raw(path, file), file)
    stream = io.StringIO(text, newline="")
    skipped, header_line = 0, ""
    for line in stream:
        if line.strip() and not line.startswith("#"):
            header_line = line
            break
        skipped += 1
    if not header_line:
        raise _fault(file, "the table is empty; save it anew")
    separator = max(SEPARATORS, key=header_line.count)
    if separator not in header_line:
        raise _fault(
            file, "no commas, semicolons or tabs separate the names in its header; save it as CSV", skipped + 1
        )
    header = [name.strip() for name in next(csv.reader([header_line.strip("\r\n")], delimiter=separator))]
    table = StationTable(file, header, [], [], notes)
    rows: list[list[str]] = []
    reader = csv.reader(stream, delimiter=separator)
    width, lines = len(header), table.lines
    odd: list[tuple[int, int]] = []
    try:
        for row in reader:
            if len(row) == width:
                rows.append(row)
                lines.append(reader.line_num + skipped + 1)
            elif any(cell.strip() for cell in row):
                odd.append((reader.line_num + skipped + 1, len(row)))
    except csv.Error:
        raise _fault(file, "a row can't be read; its quotes may not close", reader.line_num + skipped + 1) from None
    for number, count in odd[:MOST_OF_A_COLUMN]:
        what = f"{count} cells, but the header has {width}, separated by {_NAMES[separator]}"
        hint = "; are there decimal commas? save it with semicolons" if separator == "," and count > width else ""
        table.problems.append(
            Problem(
                Place(file, number, min(count, width) + (count > width)), f"{what}{hint or '; the row may be cut off'}"
            )
        )
    if len(odd) > MOST_OF_A_COLUMN:
        more = f"and {len(odd) - MOST_OF_A_COLUMN:,} more rows with too few or too many cells"
        table.problems.append(Problem(Place(file, odd[-1][0], 1), more))
    twice = next((name for at, name in enumerate(header) if name and name in header[:at]), None)
    if twice is not None:
        what = f'the name "{clip(twice)}" stands twice in the header; change one of them'
        table.problems.append(Problem(Place(file, skipped + 1, header.index(twice) + 1), what))
    if not rows and not table.problems:
        raise _fault(file, "there are no rows under its header", skipped + 1)
    table.columns = list(zip(*rows, strict=True)) if rows else [()] * width
    return table


def _raw(path: Path, file: str) -> bytes:
    try:
        if not path.is_file():
            raise _fault(file, "there is no such file; name a table of a station, .csv or .csv.gz")
        with open(path, "rb") as source:
            packed = source.read(2) == b"\x1f\x8b"
            source.seek(0)
            if packed:
                with gzip.GzipFile(fileobj=source) as unpacked:
                    raw = unpacked.read(MOST_BYTES + 1)
            else:
                raw = source.read(MOST_BYTES + 1)
    except (EOFError, gzip.BadGzipFile, zlib.error):
        raise _fault(file, "the .gz is cut off or broken; fetch it again") from None
    except (OSError, ValueError) as error:
        why = (getattr(error, "strerror", None) or "not a name a file can have").lower()
        raise _fault(file, f"the table can't be read: {why}; check name and permissions") from None
    if len(raw) > MOST_BYTES:
        raise _fault(file, f"larger than {MOST_BYTES / 1e6:g} MB; name the right file, or split it by years")
    return raw


def _text(raw: bytes, file: str) -> tuple[str, list[str]]:
    if raw[:2] == b"PK":
        raise _fault(file, "this is a workbook or zip, not text; unpack it, or save it as CSV")
    if b"\0" in raw:
        at = raw.index(b"\0")
        raise _fault(file, "there are zero bytes in it, so it is no plain text; save it as CSV UTF-8",
                     raw.count(b"\n", 0, at) + 1)  # fmt: skip
    try:
        return raw.decode("utf-8-sig"), []
    except UnicodeDecodeError:
        return raw.decode("cp1252", "replace"), [f"{Path(file).name} is not UTF-8: it was read as Windows-1252."]


def _fault(file: str, text: str, line: int = 0) -> FileError:
    return FileError(Problem(Place(file, line, 1 if line else 0), text))
