"""Reading a YAML file: data with places, all faults in one go, in bounded time."""

from __future__ import annotations

import json
import os
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from curing.errors import FileError, Place, Problem
from curing.sources.yaml_nodes import MOST_BYTES, MOST_DEPTH, MOST_PARTS, compose, read_text

JOB = """\
# Alder Court
name: Alder Court
people:
  - id: lena
    hours: {mon-fri: 07:00-15:30}
walls:
- id: "3"
  name: road side bay 3
  area: 10 m2
"""


def faults(text: str) -> list[str]:
    """Every problem of a text, with its line and column."""
    try:
        found = compose(text, "f").problems
    except FileError as error:
        found = list(error.problems)
    return [str(problem).removeprefix("f:") for problem in found]


def places(found: list[str]) -> list[str]:
    return [fault.split(": ")[0] for fault in found]


def test_data_and_the_place_of_every_part() -> None:
    document = compose(JOB, "alder-court.yaml")
    assert document.data == {
        "name": "Alder Court",
        "people": [{"id": "lena", "hours": {"mon-fri": "07:00-15:30"}}],
        "walls": [{"id": "3", "name": "road side bay 3", "area": "10 m2"}],
    }
    assert document.problems == []

    lines = JOB.split("\n")
    for steps, written in document.written.items():
        place = document.places[steps]
        assert lines[place.line - 1][place.column - 1 :].lstrip('"').startswith(written)
    for steps, place in document.key_places.items():
        assert lines[place.line - 1][place.column - 1 :].startswith(f"{steps[-1]}:")
    assert set(document.key_places) | {(), ("people", 0), ("walls", 0)} == set(document.places)


def test_what_is_missing_has_the_place_of_what_it_is_missing_from() -> None:
    document = compose(JOB, "alder-court.yaml")
    assert document.place(("walls", 0, "height")) == Place("alder-court.yaml", 7, 3)
    assert document.place(("walls", 0, "area"), key=True) == Place("alder-court.yaml", 9, 3)
    assert document.place(("sites",)) == Place("alder-court.yaml", 2, 1)


# The result by hand from YAML 1.2.2, section 10.3.2, except the last two lines: no infinite numbers.
@pytest.mark.parametrize(
    ("written", "value"),
    [
        ("null", None),
        ("~", None),
        ("", None),
        ("true", True),
        ("False", False),
        ("NO", "NO"),
        ("on", "on"),
        ("yes", "yes"),
        ("12", 12),
        ("-12", -12),
        ("007", 7),
        ("0o14", 12),
        ("0xC", 12),
        ("1_000", "1_000"),
        ("1.5", 1.5),
        (".5", 0.5),
        ("5.", 5.0),
        ("12e03", 12000.0),
        ("07:30", "07:30"),
        ("7:30", "7:30"),
        ("12:30:45", "12:30:45"),
        ("2027-03-01", "2027-03-01"),
        ("2027-04-28 15:00", "2027-04-28 15:00"),
        ("13 mm", "13 mm"),
        ("'12'", "12"),
        ('"true"', "true"),
        ('"B\\u00e4r"', "Bär"),
        ("<<", "<<"),
    ],
)
def test_scalars_follow_the_core_schema(written: str, value: object) -> None:
    document = compose(f"key: {written}\n", "f")
    assert document.problems == []
    assert document.data["key"] == value
    assert type(document.data["key"]) is type(value)


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("a: 1\nb: 2\na: 3\n", '3:1: "a" stands twice, first in line 1; keep one of them'),
        ("a: &x 1\n", '1:4: "&x" names a value to repeat it; delete this and write values out'),
        ("a: *x\n", '1:4: "*x" repeats another place of the file; write the value out'),
        ("a: !!str 3\n", '1:4: "!!str" is a tag and has no meaning here; delete it, or put the text in quotes'),
        ("a: !x {b: 1}\n", '1:4: "!x" is a tag and has no meaning here; delete it, or put the text in quotes'),
        ("1: x\n", '1:1: 1 is not text and can\'t be a key; write it as "1"'),
        ("true: x\n", '1:1: true is not text and can\'t be a key; write it as "true"'),
        (": x\n", "1:1: there is no key before this colon; write one"),
        ("[a]: x\n", "1:1: a list or a mapping can't be a key; write a key of one line of text"),
        ("? {a: b}\n: x\n", "1:3: a list or a mapping can't be a key; write a key of one line of text"),
        ("a: .nan\n", "1:4: .nan is no number to plan with; write a finite one"),
        ("a: -.inf\n", "1:4: -.inf is no number to plan with; write a finite one"),
        ("a: 1e999\n", "1:4: 1e999 is too large; write a smaller number"),
        ("a: " + "9" * 41, f"1:4: {'9' * 39}… has more than 40 signs; shorten it, or put it in quotes"),
        ('a: "x\\0y"\n', "1:4: the text holds the control character U+0000; delete it"),
        ('a: "x\\ty"\n', "1:4: the text holds the control character U+0009; delete it"),
        ('a: "x\\ud800y"\n', "1:4: the text holds the control character U+D800; delete it"),
        ("a: x\u202ey\n", "1:4: the text holds U+202E, which turns the order of signs round; delete it"),
        ("a: x\u2066y\n", "1:4: the text holds U+2066, which turns the order of signs round; delete it"),
        ('a: "x\\r\\ny"\n', "1:4: the text goes over several lines; write it on one line"),
        ("a: |\n  x\n  y\n", "1:4: the text goes over several lines; write it on one line"),
        ('"a\\nb": 1\n', "1:1: the text goes over several lines; write it on one line"),
        ("a: 1\n---\nb: 2\n", "2:1: a second document begins; a file holds one; delete this or split the file"),
        ("%YAML 1.1\n---\na: 1\n", '2:1: a line before this begins with "%", which has no meaning here; delete it'),
    ],
)
def test_what_a_file_may_not_hold_is_told_and_the_rest_read(text: str, problem: str) -> None:
    assert faults(text) == [problem]
    assert compose(text + ("" if "---\nb" in text else "\nz: [1]\n"), "f").data.get("z", [1]) == [1]


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("", ": the file is empty; the examples show what it may hold"),
        ("# nothing\n", ": the file is empty; the examples show what it may hold"),
        ("---\n", ": the file is empty; the examples show what it may hold"),
        ("- a\n", '1:1: the file begins with a list; it must begin with a key and a colon, such as "name: ..."'),
        ("text\n", '1:1: the file begins with text; it must begin with a key and a colon, such as "name: ..."'),
        ("a: b: c\n", "1:5: a colon too many, or a line indented too far; quote text with a colon"),
        ("a: 1\n b: 2\n", "2:3: a colon too many, or a line indented too far; quote text with a colon"),
        ("a:\n  - b\n - c\n", "3:2: this line is not indented like the lines it belongs to; align it with them"),
        ("a: [1, 2\nb: 3\n", "1:4: a bracket is not closed, or a comma is missing; close it"),
        ("x: 1\na: 'y\nb: 2\n", "2:4: the quotes that open here are not closed; close them"),
        ("a: 1\nb\nc: 2\n", '2:1: no colon after this key; write it as "key: value"'),
        ("a: [", "1:5: the file ends inside a bracket; close it"),
        ("a: @x\n", "1:4: text can't start with this character; put it in quotes"),
        ("a: *\n", "1:4: text can't start with this character; put it in quotes"),
        ("a: - b\n", '1:4: a list can\'t begin here; start it on a line of its own with "- "'),
        ('a: "C:\\q"\n', "1:8: an unknown escape after a backslash; use single quotes, or two backslashes"),
        ('a: "\\UFFFFFFFF"\n', "1:1: from here on this can't be read as YAML; check escapes, quotes and signs"),
        ("a: x\ty\n", "1:5: a tab; write a space instead, or \\t in double quotes"),
    ],
)
def test_a_syntax_error_has_a_place_and_plain_words(text: str, problem: str) -> None:
    with pytest.raises(FileError) as error:
        compose(text, "f")
    assert str(error.value) == f"f{problem}" if problem.startswith(":") else f"f:{problem}"


def test_all_faults_of_a_file_come_in_one_go() -> None:
    text = "a: 1\na: 2\nb: &x\n  1: y\nc: *x\nd: .inf\n"
    assert places(faults(text)) == ["2:1", "3:4", "4:3", "5:4", "6:4"]
    assert places(faults(text + "e: [1, 2\nf: 3\n")) == ["2:1", "3:4", "4:3", "5:4", "6:4", "7:4"]
    assert places(faults("a:\n\tb: 1\n# \t\n\t# c\n  \tc: 2\n")) == ["2:1", "5:3"]


def test_a_refused_value_is_marked_so_that_nobody_complains_twice() -> None:
    document = compose("a: .nan\nb: *x\nc: [1, .inf]\nd: 1\n", "f")
    assert document.spoilt == {("a",), ("b",), ("c", 1)}
    assert document.data == {"a": None, "b": None, "c": [1, None], "d": 1}


def test_text_of_one_line_may_be_written_as_a_block() -> None:
    document = compose("a: >-\n  one\n  two\nb: >\n  one\n  two\nc: |\n  one\nd: one\n  two\n", "f")
    assert document.data == {"a": "one two", "b": "one two", "c": "one", "d": "one two"}
    assert document.problems == []


def test_names_in_every_script_are_text() -> None:
    names = ["Čapek", "שלום", "جدار", "壁", "👩‍🔧", "=1+1", "BEGIN:VEVENT", "<b>x</b>"]
    text = "".join(f'n{number}: "{name}"\n' for number, name in enumerate(names))
    document = compose(text, "f")
    assert list(document.data.values()) == names
    assert document.problems == []


@pytest.mark.parametrize(
    "text",
    [
        "a: " + "[" * 10_000,
        "a: " + "{" * 10_000,
        "a:\n" + "[\n" * 100_000,
        "- " * 5_000,
        "? " * 5_000,
        "a: " + "{b: " * 10_000,
        "".join(" " * depth + "a:\n" for depth in range(1_000)),
        "".join(" " * depth + "-\n" for depth in range(1_000)),
        "!" * MOST_BYTES,
        "&" * MOST_BYTES,
        "a: " + "&a [" * 10_000,
        "a: " + "'" * MOST_BYTES,
        "a: [" + "1," * 4_000,
        "a: 1\n" * 5_000,
        "---\n" * 50_000,
        "%YAML 1.2\n" * 50_000,
        "a: &a [*a, *a, *a]\n" * 5_000,
        "a: " + "9" * 9_000,
        "a: " + "1e" + "9" * 9_000,
    ],
    ids=lambda text: repr(text[:12]),
)
def test_hostile_text_costs_little(text: str) -> None:
    began = time.process_time()
    assert faults(text)
    assert time.process_time() - began < 3


def test_aliases_do_not_multiply() -> None:
    text = "a0: &a0 [x]\n" + "".join(f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 9)}]\n" for n in range(1, 12))
    assert len(faults(text)) == 12 + 9 * 11


def test_nesting_and_number_of_parts_have_a_limit(monkeypatch: pytest.MonkeyPatch) -> None:
    deep = "a: " + "[" * (MOST_DEPTH - 1) + "]" * (MOST_DEPTH - 1)
    assert faults(deep) == []
    assert faults(deep.replace("[]", "[[]]")) == ["1:23: nested deeper than 20 levels; check brackets and indents"]
    kept, refused = "x: " + "[" * 25, "x: 1\nx: " + "[" * 25
    assert places(faults(kept)) == ["1:23"]
    assert places(faults(refused)) == ["2:1", "2:24"]
    assert MOST_PARTS == 100_000
    monkeypatch.setattr("curing.sources.yaml_nodes.MOST_PARTS", 7)
    assert faults("a: 1\nb: [2, 3, 4]\n") == ["2:11: more than 7 keys and values up to here; split the file"]
    assert faults("a: 1\nb: [2, 3]\n") == []


def test_a_file_is_read_with_any_line_ends_and_mark(tmp_path: Path) -> None:
    file = tmp_path / "alder-court.yaml"
    file.write_bytes(b"\xef\xbb\xbfname: B\xc3\xa4r\r\nwalls: []\r")
    assert read_text(file) == "name: Bär\nwalls: []\n"


def problem_of(file: Path) -> str:
    with pytest.raises(FileError) as error:
        read_text(file)
    return "\n".join(str(problem) for problem in error.value.problems).replace(f"{file}", "F")


def test_a_file_that_cannot_be_read_is_told(tmp_path: Path) -> None:
    file = tmp_path / "alder-court.yaml"
    assert problem_of(file) == "F: there is no such file; check the name and the folder"
    assert problem_of(tmp_path) == "F: this is a folder; name the file in it"
    assert problem_of(tmp_path / "a\0b").startswith("F: the file can't be read")
    assert problem_of(tmp_path / ("x" * 5_000)).startswith("F: the file can't be read: file name too long")
    os.mkfifo(tmp_path / "pipe")
    assert problem_of(tmp_path / "pipe") == "F: this is not an ordinary file; name a text file"


def test_a_file_too_large_is_not_read(tmp_path: Path) -> None:
    file = tmp_path / "alder-court.yaml"
    with file.open("wb") as out:
        out.truncate(50_000_000_000)  # a hole: no disk is used, and reading it would take minutes
    expected = "F: the file has 50000.0 MB; at most 2 MB are read; split it, or name the right file"
    assert problem_of(file) == expected


@pytest.mark.skipif(os.geteuid() == 0, reason="root may read everything")
def test_a_file_without_permission_is_told(tmp_path: Path) -> None:
    file = tmp_path / "alder-court.yaml"
    file.write_text("a: 1\n")
    file.chmod(0)
    assert problem_of(file) == "F: the file can't be read: permission denied; check name and permissions"


@pytest.mark.parametrize(
    ("raw", "problem"),
    [
        (b"a: 1\nname: B\xe4r\n", "F:2:8: byte 0xE4 at position 12 is not UTF-8; save the file as UTF-8"),
        (b"\xef\xbb\xbfa: \xff\n", "F:1:4: byte 0xFF at position 6 is not UTF-8; save the file as UTF-8"),
        (
            "a: 1\n".encode("utf-16"),
            "F:1:1: byte 0xFF at position 0 is not UTF-8 (it looks like UTF-16); save the file as UTF-8",
        ),
        (b"a: \x00\nb: x\x1by\n", "F:1:4: control character U+0000; only visible text is allowed; delete it\n"
         "F:2:5: control character U+001B; only visible text is allowed; delete it"),
        ("a: x\u2028y\n".encode(), "F:1:5: control character U+2028; only visible text is allowed; delete it"),
    ],
)  # fmt: skip
def test_bytes_that_are_no_plain_text_are_told_with_their_place(tmp_path: Path, raw: bytes, problem: str) -> None:
    file = tmp_path / "alder-court.yaml"
    file.write_bytes(raw)
    assert problem_of(file) == problem


def read_or_refuse(read: Callable[[], Any]) -> tuple[Any, tuple[Problem, ...]]:
    """What was read, or the problems that were told; any other error fails the test."""
    try:
        return read(), ()
    except FileError as error:
        return None, error.problems


signs = st.sampled_from(
    [*"ab1 :-?,[]{}#&*!|>'\"%@`~=<.\\/\n\t0xo", "\n  ", "\n- ", ": ", "---", "...", "\u202e", "\\U", "é"]
)


@settings(deadline=2_000)
@given(st.lists(signs, max_size=60).map("".join))
@example('"\\UFFFFFFFF": 1')
@example("%TAG a b\n")
@example("%YAML 9.9\n---\na: 1")
@example("a: !<")
@example("\ud800: 1")
@example("\x07")
def test_no_text_ends_in_a_traceback(text: str) -> None:
    document, problems = read_or_refuse(lambda: compose(text, "f"))
    if document is None:
        assert problems
        assert all(str(problem).isprintable() for problem in problems)
    else:
        assert set(document.written) <= set(document.places)
        assert all(problem.place is not None and problem.place.line > 0 for problem in document.problems)


@settings(deadline=2_000)
@given(st.binary(max_size=200))
def test_no_bytes_end_in_a_traceback(tmp_path_factory: pytest.TempPathFactory, raw: bytes) -> None:
    file = tmp_path_factory.getbasetemp() / "bytes.yaml"
    file.write_bytes(raw)
    text, problems = read_or_refuse(lambda: read_text(file))
    assert (text is None) == bool(problems)
    if text is not None:
        read_or_refuse(lambda: compose(text, "f"))


names = st.text(st.characters(codec="utf-8", categories=["L", "N", "P", "S", "Zs"]), max_size=12)
values = st.recursive(
    st.none() | st.booleans() | st.integers(-(10**15), 10**15) | st.floats(-1e9, 1e9) | names,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(names, inner, max_size=4),
    max_leaves=15,
)


@settings(deadline=2_000)
@given(st.dictionaries(names, values, min_size=1, max_size=4))
def test_json_is_read_as_what_it_says(data: dict[str, object]) -> None:
    document = compose(json.dumps(data, ensure_ascii=False), "f")
    assert document.problems == []
    assert document.data == data
