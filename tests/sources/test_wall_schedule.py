"""Wall schedules as spreadsheets save them: what is read, what is refused, and what is told."""

from __future__ import annotations

import contextlib
import time
from collections.abc import Mapping
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from curing.errors import FileError
from curing.model.quantities import parse, show
from curing.sources.table_numbers import Decimals, decimals_of
from curing.sources.wall_columns import FIELDS, read_header
from curing.sources.wall_schedule import Schedule, read_schedule

SYSTEMS = {"clay-lime": ("out", "in"), "clay-inside": ("in",), "hydraulic-lime": ("out",)}
FULL = "wall,side,facing,area (m2),height (m),system,thickness (mm)\n"


@pytest.fixture(autouse=True)
def _here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def table(
    text: str | bytes, *, meant: Mapping[int, str] | None = None, given: Mapping[str, str] | None = None
) -> Schedule:
    Path("walls.csv").write_bytes(text.encode() if isinstance(text, str) else text)
    return read_schedule(Path("walls.csv"), systems=SYSTEMS, meant=meant, given=given)


def faults(text: str | bytes, **more: Mapping[str, str]) -> list[str]:
    with pytest.raises(FileError) as caught:
        table(text, **more)  # type: ignore[arg-type]
    return [str(problem) for problem in caught.value.problems]


def areas(schedule: Schedule) -> list[float]:
    return [parse(face.area, "area_m2") for wall in schedule.walls for face in wall.faces]


def remarks(schedule: Schedule) -> list[str]:
    return [remark.key for remark in schedule.remarks]


# Signs, separators, decimals.

PLAIN = "Wall,Side,Facing,Area (m2),Height (m)\nK\u00fcche,out,SW,10.8,2.7\n2,out,N,9.4,2.7\n"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("line", ["\n", "\r\n", "\r"])
def test_signs_and_separators(encoding: str, separator: str, line: str) -> None:
    found = table(PLAIN.replace(",", separator).replace("\n", line).encode(encoding))
    assert [wall.name for wall in found.walls] == ["Küche", "2"]
    assert areas(found) == [10.8, 9.4]
    assert remarks(found) == ["ids"]


def test_windows_1252_is_told() -> None:
    found = table(PLAIN.encode("cp1252"))
    assert found.walls[0].name == "Küche"
    assert "windows_1252" in remarks(found)


def test_decimal_commas_of_a_european_table() -> None:
    found = table("Wall;Side;Facing;Area (m2);Height (m)\n1;out;N;10,8;2,75\n2;out;S;1.234,5;3\n")
    assert areas(found) == [10.8, 1234.5]
    assert [face.height for wall in found.walls for face in wall.faces] == ["2.75 m", "3 m"]


@pytest.mark.parametrize(
    ("text", "column"),
    [
        (FULL + '1,out,N,"1,234",2.7,clay-lime,200\n', 4),
        (FULL + '1,out,N,10.8,2.7,clay-lime,"1,234"\n', 7),
        (FULL.replace(",", ";") + "1;out;N;1,234;2,7;clay-lime;200\n", 4),
        (FULL.replace(",", ";") + "1;out;N;1.234;2,7;clay-lime;200\n", 4),
        (FULL.replace(",", ";") + "1;out;N;10;2.750;clay-lime;200\n", 5),
    ],
)
def test_what_may_be_decimal_or_thousands_is_refused(text: str, column: int) -> None:
    (fault,) = faults(text)
    assert fault.startswith(f"walls.csv:2:{column}: wall ")
    assert " may be " in fault
    assert fault.endswith("write it as one of them")


def test_a_point_is_a_point_where_the_table_has_others() -> None:
    assert areas(table(FULL + "1,out,N,1.234,2.75,clay-lime,200\n")) == [1.234]


@given(st.decimals(min_value="0.01", max_value="9999", places=2))
def test_a_number_is_read_alike_however_it_is_grouped(number: object) -> None:
    plain = f"{number:,.2f}"
    european = plain.translate(str.maketrans(",.", ".,"))
    assert float(Decimals().plain(plain)) == float(Decimals(comma=True).plain(european)) == float(str(number))


@given(st.text(alphabet="0123456789.,' x-/", max_size=12))
def test_no_number_is_changed_but_for_its_marks(text: str) -> None:
    try:
        plain = decimals_of([text]).plain(text)
    except ValueError:
        return
    assert [sign for sign in plain if sign.isdigit()] == [sign for sign in text if sign.isdigit()]


# Columns.


@pytest.mark.parametrize(
    ("header", "field", "side", "unit"),
    [
        ("WALL NO.", "wall", "", ""),
        ("Panel #", "wall", "", ""),
        ("Orientation", "facing", "", ""),
        ("Azimuth [°]", "facing", "", "°"),
        ("Area ft²", "area", "", "ft2"),
        ("Net area (sq. ft.)", "area", "", "ft2"),
        ("SF", "area", "", "ft2"),
        ("m²", "area", "", "m2"),
        ("Outside area, m2", "area", "out", "m2"),
        ("Int. height (ft)", "height", "in", "ft"),
        ("Height in mm", "height", "", "mm"),
        ("Thickness (in)", "thickness", "", "in"),
        ("Thk mm", "thickness", "", "mm"),
        ("W x H (m)", "dimensions", "", "m"),
        ("In/Out", "side", "", ""),
        ("Date filled", "filled", "", ""),
        ("Coat system", "system", "", ""),
        ("Remarks", "notes", "", ""),
        ("Colour", "", "", ""),
        ("Elevation", "", "", ""),
    ],
)
def test_headers_in_words_of_the_trade(header: str, field: str, side: str, unit: str) -> None:
    assert read_header(header) == (field, side, unit)


def test_every_field_names_itself() -> None:
    assert all(read_header(name)[0] == name for name in FIELDS)


def test_height_in_beside_height_out_is_inside() -> None:
    found = table("wall,facing,area out (m2),area in (m2),height out (m),height in (m)\n1,N,10,9,2.7,2.5\n")
    assert [(face.side, face.height) for face in found.walls[0].faces] == [("out", "2.7 m"), ("in", "2.5 m")]


def test_columns_that_are_not_known_are_told_with_what_to_do() -> None:
    text = "wall,side,facing,area (m2),height (m),Farbe,\n1,out,N,10,2.7,rot,x\n"
    one, two = faults(text)
    assert one.startswith('walls.csv:1:6: column "Farbe": not known; rename it to one of wall, name, side')
    assert '"notes"' in one
    assert two.startswith("walls.csv:1:7: column 7, without a header")
    found = table(text, meant={5: "", 6: "notes"})
    assert found.walls[0].note == "x"
    asked = table(text, meant={})
    assert [(column.index, column.header) for column in asked.unknown] == [(5, "Farbe"), (6, "")]


def test_an_empty_column_without_a_header_is_nothing() -> None:
    assert len(table("wall,,facing,side,area (m2),height (m),\n1,,N,out,10,2.7,\n").walls) == 1


def test_what_stands_twice_or_is_missing() -> None:
    assert faults("wall,side,facing,area (m2),net area (m2),height (m)\n1,out,N,10,9,2.7\n")[0].startswith(
        'walls.csv:1:5: "net area (m2)" and "area (m2)" (column 4) are both area; rename'
    )
    assert any("no column for the areas" in fault for fault in faults("wall,side,facing\n1,out,N\n"))
    assert any("no column says which wall" in fault for fault in faults("side,facing,area (m2)\nout,N,1\n"))
    assert faults("wall,side,area (m2),height (m)\n1,out,10,2.7\n") == [
        'walls.csv:1:1: no column for the direction of outside faces; add "facing" with N, SW or 84° in it'
    ]
    assert any("m is no unit of an area" in fault for fault in faults("wall,side,area (m)\n1,in,10\n"))


def test_numbers_without_a_unit_are_told_once_a_column() -> None:
    text = "wall,side,facing,area,height\n" + "".join(f"{k},out,N,10,2.7\n" for k in range(50))
    assert [fault[:30] for fault in faults(text)] == [
        'walls.csv:1:4: "area": numbers',
        'walls.csv:1:5: "height": numbe',
    ]


def test_units_in_cells_win_over_those_of_the_header() -> None:
    found = table(FULL + '1,out,N,410 ft2,8 ft 6 in,clay-lime,8 in\n2,out,N,120 sq ft,2.7,clay-lime,12"\n')
    faces = [face for wall in found.walls for face in wall.faces]
    assert areas(found) == pytest.approx([410 * 0.3048**2, 120 * 0.3048**2])
    assert parse(faces[0].height, "length_m") == pytest.approx(2.5908)
    assert [parse(wall.thickness, "length_mm") for wall in found.walls] == pytest.approx([203.2, 304.8])


def test_headers_over_two_rows_and_merged_cells() -> None:
    text = (
        "WALL SCHEDULE rev 2,,,,,\n\n,,Outside,,Inside,\n"
        "No.,Facing,Area m2,Height m,Area m2,Height m\nA,N,10,2.7,9,2.5\nB,S,11,2.7,,\n"
    )
    found = table(text)
    assert [[(face.side, face.area) for face in wall.faces] for wall in found.walls] == [
        [("out", "10 m2"), ("in", "9 m2")],
        [("out", "11 m2")],
    ]
    assert remarks(found) == ["title"]
    units = table("Wall,Facing,Side,Area,Height\n,,,(m2),(m)\n1,N,out,10,2.7\n")
    assert (units.walls[0].faces[0].area, units.walls[0].faces[0].height) == ("10 m2", "2.7 m")


# Rows.


def test_one_line_a_face_or_a_wall_gives_the_same() -> None:
    faces = table("wall,side,facing,area (m2),height (m)\n1,out,N,10,2.7\n1,in,,9,2.5\n")
    merged = table("wall,side,facing,area (m2),height (m)\n1,out,N,10,2.7\n,in,,9,2.5\n")
    walls = table("wall,facing,area out (m2),area in (m2),height out (m),height in (m)\n1,N,10,9,2.7,2.5\n")
    said = [[(face.side, face.area, face.height, face.facing) for face in one.walls[0].faces]
            for one in (faces, merged, walls)]  # fmt: skip
    assert said[0] == said[1] == said[2] == [("out", "10 m2", "2.7 m", "N"), ("in", "9 m2", "2.5 m", "")]
    assert remarks(merged) == ["same_wall"]


def test_both_sides_in_one_line() -> None:
    found = table("wall,side,facing,area (m2),height (m)\n1,both,N,10,2.7\n")
    assert [face.side for face in found.walls[0].faces] == ["out", "in"]


def test_blank_rows_and_totals() -> None:
    text = FULL + "1,out,N,10,2.7,clay-lime,200\n,,,,,,\n  \n2,out,S,11,2.7,clay-lime,200\n,,,21,,,\n"
    found = table(text)
    assert areas(found) == [10, 11]
    assert remarks(found) == ["total"]
    assert len(table(text.replace(",,,21", "Total area,,,99")).walls) == 2
    (fault,) = faults(text.replace(",,,21", ",,,25"))
    assert fault.startswith("walls.csv:6:1: line 6: no wall")


def test_duplicates_and_contradictions() -> None:
    told = faults(
        FULL + "1,out,N,10,2.7,clay-lime,200\n1,out,N,11,2.7,clay-lime,200\n"
        "1,in,,9,2.5,clay-inside,250\nw2,out,N,9,2.7,clay-lime,\nW2,out,N,9,2.7,clay-lime,\n"
    )
    assert told[0].startswith('walls.csv:3:1: wall "1", outside: stands twice, first in line 2')
    assert told[1].startswith('walls.csv:4:7: wall "1": thickness 250 mm, but 200 mm in line 2')
    assert told[2].startswith('walls.csv:6:1: wall "W2": differs from "w2" in line 5 only by capital letters')


def test_all_faults_of_all_rows_at_once() -> None:
    told = faults(
        FULL + "1,up,N,10,2.7,clay-lime,200\n2,out,NNNE,ten,2.7,clay-lyme,200\n3,in,,0,200 m,hydraulic-lime,20 m\n"
        "4,out,,10,2.7,clay-lime,2x\n"
    )
    assert [fault.split(": ", 1)[0] for fault in told] == [
        "walls.csv:2:2",
        "walls.csv:3:3",
        "walls.csv:3:4",
        "walls.csv:3:6",
        "walls.csv:4:4",
        "walls.csv:4:5",
        "walls.csv:4:6",
        "walls.csv:4:7",
        "walls.csv:5:3",
        "walls.csv:5:7",
    ]


def test_a_decimal_comma_that_splits_a_cell_is_told() -> None:
    (fault,) = faults("wall,side,facing,area (m2),height (m)\n1,out,N,10,8,2,7\n2,out,N,10,2.7\n")
    assert fault.startswith("walls.csv:2:6: 7 cells, but the header has 5; a decimal comma")


def test_area_of_width_and_height() -> None:
    found = table('wall,side,facing,width (m),height (m)\n1,out,N,4.2,2.7\n2,out,N,"12\'-6""",9 ft\n')
    assert areas(found) == pytest.approx([11.34, 112.5 * 0.3048**2])
    assert remarks(found) == ["computed"]
    size = table("wall,side,facing,size (mm)\n1,out,N,4200 x 2700\n")
    assert (areas(size), size.walls[0].faces[0].height) == ([11.34], "2700 mm")


def test_quoted_cells_with_separators_lines_and_quotes() -> None:
    found = table(FULL + '"a;b","out","N","10","2.7","clay-lime","200"\n"x\ny, z",out,N,10,2.7,clay-lime,200\n')
    assert [wall.name for wall in found.walls] == ["a;b", "x y, z"]
    (fault,) = faults(FULL + "1,out,N,10,2.7,clay-lime,200\n" + '2,"out,N,10,2.7,clay-lime,200\n' * 3)
    assert fault.startswith("walls.csv:3:1: quotes")


def test_ids_are_those_of_the_table_where_they_are_fit() -> None:
    found = table(FULL + "7,out,N,10,2.7,clay-lime,\nnorth gable,out,N,10,2.7,clay-lime,\n北,out,N,10,2.7,clay-lime,\n")
    assert [(wall.id, wall.name) for wall in found.walls] == [
        ("7", "7"),
        ("n-gable", "north gable"),
        ("wall-1", "北"),
    ]


def test_what_a_table_leaves_out_is_lacking_until_it_is_given() -> None:
    text = "wall,facing,area (m2)\n1,N,10\n"
    assert table(text).lacking == ("side", "height", "thickness")
    assert table(text, given={"side": "both"}).lacking == ("height", "thickness", "system-out", "system-in")
    given = {"side": "out", "height": "2.7 m", "thickness": "", "system-out": "clay-lime"}
    found = table(text, given=given)
    assert found.lacking == ()
    face = found.walls[0].faces[0]
    assert (face.side, face.height, face.system) == ("out", "2.7 m", "clay-lime")


# Files that are no table.


@pytest.mark.parametrize(
    ("body", "told"),
    [
        (b"", "empty"),
        (b"\n\n  \n", "empty"),
        (b"PK\x03\x04\x14", "a workbook"),
        (b"\xd0\xcf\x11\xe0\xa1", "a workbook"),
        (b"wall,area\x00\n1,2\n", "U+0000"),
        (b"wall,area\n\x81,2\n", "neither UTF-8 nor Windows-1252"),
        (b"just text\nand more\n", "separate cells"),
        (b"a,b\nc,d\n", "no header"),
        (b"wall,side,facing,area (m2),height (m)\n", "no walls stand under the header"),
        (b"wall,area (m2)\n" + b"1,2\n" * 600_000, "larger than 2 MB"),
        (b"wall,area (m2)" + b",x" * 300 + b"\n1,2\n", "at most 200"),
    ],
)
def test_what_is_no_table(body: bytes, told: str) -> None:
    assert told in "\n".join(faults(body))


def test_a_folder_and_a_file_that_is_not_there() -> None:
    for name in (".", "nothing.csv"):
        with pytest.raises(FileError):
            read_schedule(Path(name), systems=SYSTEMS)


def test_a_thousand_lines_take_a_moment() -> None:
    rows = "".join(f'{k},"bay {k}",out,{k % 360},{5 + k % 7}.5,2.7,clay-lime,200\n' for k in range(1, 1001))
    began = time.perf_counter()
    found = table(FULL.replace("wall,", "wall,name,") + rows)
    assert len(found.walls) == 1000
    assert time.perf_counter() - began < 5  # a bound against going astray, not a measurement


CELL = st.text(alphabet=st.characters(codec="utf-8", exclude_characters="\x00"), max_size=12)


@settings(max_examples=200)
@given(st.lists(st.lists(CELL, min_size=1, max_size=9), max_size=8), st.sampled_from([",", ";", "\t"]))
def test_nothing_in_a_table_breaks_the_reader(rows: list[list[str]], separator: str) -> None:
    text = FULL.replace(",", separator) + "\n".join(separator.join(row) for row in rows)
    with contextlib.suppress(FileError):
        found = table(text, meant={})
        assert all(show(parse(face.area, "area_m2"), "area_m2") for wall in found.walls for face in wall.faces)
