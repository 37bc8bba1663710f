"""What the columns of a wall schedule are, by their headers: trade words, abbreviations, units, sides."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from curing.errors import Problem
from curing.model.quantities import clip
from curing.sources.table_file import Row, Table

FIELDS: Mapping[str, tuple[str, ...]] = {
    "wall": (
        "wall", "wall no", "wall #", "panel #", "bay #",
        "wall nr", "wall number", "wall id", "wall ref", "wall mark", "wall code", "id", "no", "nr",
        "number", "#", "ref", "reference", "mark", "code", "panel", "panel no", "panel number", "panel id", "panel ref",
        "bay", "bay no", "bay number",
    ),
    "name": ("name", "wall name", "description", "desc", "location", "wall description", "panel name", "where"),
    "side": (
        "side", "face", "wall side", "wall face", "in out", "out in", "inside outside", "int ext", "ext int",
        "internal external", "interior exterior",
    ),
    "facing": (
        "facing", "faces", "orientation", "orient", "aspect", "azimuth", "az", "bearing", "direction", "dir", "looks",
        "compass", "exposure direction",
    ),
    "area": (
        "area", "face area", "wall area", "net area", "area net", "plaster area", "render area", "surface",
        "surface area", "sqm", "sq m", "sqft", "sq ft", "sf", "m2", "ft2", "square metres", "square meters",
        "square feet",
    ),
    "width": ("width", "wid", "w", "length", "len", "l", "wall length", "wall width", "run", "b"),
    "height": ("height", "ht", "hgt", "h", "wall height", "face height", "top", "top height", "height of top"),
    "dimensions": (
        "width x height", "length x height", "w x h", "l x h", "wxh", "lxh", "dimensions", "dimension", "dims", "dim",
        "size",
    ),
    "thickness": (
        "thickness", "thick", "thk", "t", "panel thickness", "wall thickness", "infill", "infill thickness",
        "straw clay thickness",
    ),
    "filled": (
        "filled", "fill date", "date filled", "filled on", "filling date", "fill", "infilled", "infill date", "packed",
        "panel filled",
    ),
    "system": ("system", "coat system", "coats", "plaster system", "render system", "build up", "buildup"),
    "scaffold": ("scaffold", "scaffolding", "scaff", "scaf", "staging"),
    "gutter": ("gutter", "gutter on", "roof edge", "roof and gutter"),
    "exposure": ("exposure", "exposed", "wind and rain"),
    "start": ("start", "start date", "earliest", "earliest start", "not before"),
    "notes": ("notes", "note", "remarks", "remark", "comments", "comment"),
}  # fmt: skip
"""Field → headers that name it."""

LEFT_OUT = "left out"
"""Field of a column that does not count, as somebody said."""

OF_A_FACE = frozenset(
    {"facing", "area", "width", "height", "dimensions", "system", "scaffold", "gutter", "exposure", "start"}
)
"""Fields that may differ between the two sides of a wall."""

UNITS: Mapping[str, tuple[str, ...]] = {
    "m2": ("m2", "sqm", "sq m", "sq metres", "sq meters", "square metres", "square meters", "square metre"),
    "ft2": ("ft2", "sqft", "sq ft", "sf", "square feet", "square foot", "sq feet"),
    "mm": ("mm", "millimetres", "millimeters"),
    "cm": ("cm", "centimetres", "centimeters"),
    "m": ("m", "metres", "meters", "metre", "meter", "lm"),
    "in": ("in", "inch", "inches", '"'),
    "ft": ("ft", "feet", "foot", "lf", "'"),
    "°": ("°", "deg", "degrees", "degrees from north"),
}
_UNIT_OF = {name: unit for unit, names in UNITS.items() for name in names}
_AREAS, _LENGTHS = ("m2", "ft2"), ("mm", "cm", "m", "in", "ft")
FITS: Mapping[str, tuple[str, ...]] = {
    "area": _AREAS, "width": _LENGTHS, "height": _LENGTHS, "dimensions": _LENGTHS, "thickness": _LENGTHS,
    "facing": ("°",),
}  # fmt: skip

_FIT = {"area": "an area", "facing": "a direction"} | dict.fromkeys(
    ("width", "height", "dimensions", "thickness"), "a length"
)

_FIELD_OF = {name: field for field, names in FIELDS.items() for name in names}
_SIDES = {
    "out": ("out", "outside", "outer", "external", "exterior", "ext"),
    "in": ("in", "inside", "inner", "internal", "interior", "int"),
}
_SIDE_OF = {name: side for side, names in _SIDES.items() for name in names}
_SAME = str.maketrans({"²": "2", "³": "3", "×": "x", "*": "x", "″": '"', "”": '"', "′": "'", "’": "'", "º": "°"})
_IN_BRACKETS = re.compile(r"[(\[{]([^)\]}]*)[)\]}]")


@dataclass(frozen=True, slots=True)
class Column:
    """One column.

    Attributes
    ----------
    index
        Counted from 0.
    header
        As it stands in the table, of both rows where there are two.
    field
        What it holds, one of :data:`FIELDS`; empty where its header does not say.
    side
        ``out`` or ``in`` where it is of that side only.
    unit
        Of numbers without one; empty: the cells have their own.
    """

    index: int
    header: str
    field: str = ""
    side: str = ""
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Header:
    """The columns of a table and the rows under them."""

    columns: tuple[Column, ...]
    row: Row
    rows: tuple[Row, ...]
    skipped: tuple[Row, ...] = ()
    """Rows above the header that hold a title."""

    def of(self, field: str) -> list[Column]:
        """Return the columns of a field."""
        return [column for column in self.columns if column.field == field]


def read_header(header: str) -> tuple[str, str, str]:
    """Return the field, the side and the unit that a header names, each empty where it does not.

    Examples
    --------
    >>> read_header("Area (m2)"), read_header("inside area ft²"), read_header("THK. mm")
    (('area', '', 'm2'), ('area', 'in', 'ft2'), ('thickness', '', 'mm'))
    >>> read_header("Colour")
    ('', '', '')
    """
    text = header.translate(_SAME).casefold()
    unit = ""
    for inner in _IN_BRACKETS.findall(text):
        unit = unit or _UNIT_OF.get(_words(inner), "")
    words = _words(_IN_BRACKETS.sub(lambda m: " " if _words(m[1]) in _UNIT_OF else f" {m[1]} ", text))
    for name, side, rest_unit in sorted(_readings(words), key=lambda one: bool(one[1])):
        if field := _FIELD_OF.get(name, ""):
            implied = _UNIT_OF.get(name, "") if field == "area" else ""
            return field, side if field in OF_A_FACE else "", unit or rest_unit or implied
    return "", "", unit or next((one for one, _ in _without_unit(words.split())), "")


def _readings(words: str) -> Iterator[tuple[str, str, str]]:
    """Yield (name, side, unit) of a header: as it stands, without a unit at its end, without a side."""
    parts = words.split()
    for unit, bare in [("", parts), *_without_unit(parts)]:
        yield " ".join(bare), "", unit
        if unit and bare[-1] == "in":  # "height in mm"; told apart from inside by _pairs
            yield " ".join(bare[:-1]), "", unit
        for at, part in enumerate(bare):
            if part in _SIDE_OF and len(bare) > 1:
                yield " ".join([*bare[:at], *bare[at + 1 :]]), _SIDE_OF[part], unit


def _without_unit(parts: list[str]) -> Iterator[tuple[str, list[str]]]:
    for count in (2, 1):
        if len(parts) > count and (unit := _UNIT_OF.get(" ".join(parts[-count:]))):
            yield unit, parts[:-count]


def _words(text: str) -> str:
    return " ".join(re.sub(r"[^\w#°\"'%]+", " ", text.translate(_SAME).casefold()).split()).replace("_", " ")


def find_header(table: Table) -> Header | None:
    """Return the header of a table, None where no row looks like one.

    It is the first row that names two fields; the row under it belongs to it where it holds nothing
    but headers and units. A header cell that was merged over several columns counts for all of them.
    """
    for at, row in enumerate(table.rows[:20]):
        below = table.rows[at + 1] if at + 1 < len(table.rows) else None
        two = below is not None and _second(row, below)
        texts = _joined(row, below) if two and below is not None else list(row.cells)
        columns = [Column(index, text, *read_header(text)) for index, text in enumerate(texts)]
        columns = _pairs(columns)
        if len({column.field for column in columns} - {""}) >= 2:
            rows = table.rows[at + 1 + two :]
            # A line longer than the header is a fault of that line, unless most lines are.
            lengths = sorted(len(one.cells) for one in rows)
            count = lengths[(len(lengths) - 1) // 2] if lengths else 0
            columns += [Column(index, "") for index in range(len(columns), count)]
            used = [one for one in columns if one.header or any(row.cell(one.index) for row in rows)]
            return Header(tuple(used), row, rows, table.rows[:at])
    return None


def _pairs(columns: list[Column]) -> list[Column]:
    """Return columns where "height in" beside "height out" is the inside one, and not in inches."""
    outside = {column.field for column in columns if column.side == "out"}
    paired = []
    for column in columns:
        words = _words(_IN_BRACKETS.sub(" ", column.header)).split()
        bare = next((bare for unit, bare in _without_unit(words) if unit != "in"), words)
        if column.field in outside and not column.side and len(bare) > 1 and bare[-1] == "in":
            column = replace(column, side="in", unit=column.unit if column.unit != "in" else "")
        paired.append(column)
    return paired


def _second(row: Row, below: Row) -> bool:
    """Tell whether a row is the second one of a header: nothing but names of fields, sides and units."""
    own = below.filled
    known = [_words(cell) in _UNIT_OF or _words(cell) in _SIDE_OF or bool(read_header(cell)[0]) for cell in own]
    return bool(own) and all(known) and len(row.filled) >= 1


def _joined(row: Row, below: Row) -> list[str]:
    """Return the headers of two rows; a cell of the upper row goes on over empty ones to its right."""
    texts, over = [], ""
    for index in range(max(len(row.cells), len(below.cells))):
        upper, lower = row.cell(index), below.cell(index)
        over = upper or (over if lower else "")
        unit = _words(lower) in _UNIT_OF and read_header(upper)[0] != ""
        shown = f"{over} ({lower})" if unit and upper else f"{over} {lower}".strip()
        texts.append(shown if read_header(shown)[0] or not read_header(lower)[0] else lower)
    return texts


def assigned(header: Header, meant: Mapping[int, str]) -> Header:
    """Return a header with what a person said of columns: index → field, ``""`` to leave it out."""
    columns = [
        replace(column, field=meant[column.index] or LEFT_OUT) if column.index in meant else column
        for column in header.columns
    ]
    return replace(header, columns=tuple(columns))


def unmatched(header: Header) -> list[Column]:
    """Return the columns that hold something and that nothing is known of."""
    return [column for column in header.columns if not column.field and any(r.cell(column.index) for r in header.rows)]


def header_problems(table: Table, header: Header) -> Iterator[Problem]:
    """Yield columns that nothing is known of, fields that stand twice, and those that are missing."""
    for column in unmatched(header):
        yield table.problem(header.row, column.index, unmatched_text(column))
    seen: dict[tuple[str, str], Column] = {}
    for column in header.columns:
        if column.field not in FIELDS or column.field == "notes":
            continue
        first = seen.setdefault((column.field, column.side), column)
        if first is not column:
            text = (
                f'"{clip(column.header)}" and "{clip(first.header)}" (column {first.index + 1}) are both '
                f'{column.field}; rename the one that does not count to "notes"'
            )
            yield table.problem(header.row, column.index, text)
        if column.unit and column.unit not in FITS.get(column.field, (column.unit,)):
            text = f'"{clip(column.header)}": {column.unit} is no unit of {_FIT[column.field]}; correct the header'
            yield table.problem(header.row, column.index, text)
    fields = {column.field for column in header.columns}
    if not fields & {"wall", "name"}:
        yield table.problem(header.row, 0, 'no column says which wall; add a column "wall" or "name"')
    if not fields & {"area", "dimensions"} and not {"width", "height"} <= fields:
        yield table.problem(
            header.row, 0, 'no column for the areas; add "area (m2)" or "area (ft2)", or width and height'
        )


def unmatched_text(column: Column) -> str:
    """Return what to do about a column that nothing is known of."""
    called = f'column "{clip(column.header)}"' if column.header else f"column {column.index + 1}, without a header"
    names = ", ".join(name for name in FIELDS if name != "notes")
    return f'{called}: not known; rename it to one of {names}, or to "notes" if it does not count'
