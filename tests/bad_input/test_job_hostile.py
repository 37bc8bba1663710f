"""Files that no person writes on purpose: bombs, wrong encodings, folders, and anything at all."""

from __future__ import annotations

import copy
import json
import time
from pathlib import Path
from typing import Any

import pytest
from faulty_job import SOUND, TODAY, problems, read
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from curing.errors import FileError
from curing.sources.jobfile import read_job
from curing.sources.yaml_nodes import compose

ALIASES = "a: &a [x, x, x, x, x, x, x, x, x]\n" + "".join(
    f"{name}: &{name} [*{before}, *{before}, *{before}, *{before}, *{before}, *{before}]\n"
    for before, name in zip("abcdefgh", "bcdefghi", strict=True)
)

TEXTS: dict[str, tuple[str | bytes, str, list[str]]] = {
    "aliases that multiply": (ALIASES, ":1:4:", ["&a", "write values out", "*h"]),
    "9 kB of brackets": ("walls: " + "[" * 9_000, ":1:", ["nested deeper than 20 levels"]),
    "keys in keys": ("".join("  " * n + "a:\n" for n in range(200)), ":21:", ["nested deeper than 20 levels"]),
    "not UTF-8": (
        SOUND.replace("north gable", "Südgiebel").encode("latin-1"),
        ":56:10:",
        ["not UTF-8", "save the file"],
    ),
    "UTF-16": (SOUND.encode("utf-16"), ":1:1:", ["UTF-16", "save the file as UTF-8"]),
    "a picture": (b"\x89PNG\r\n\x1a\n" + bytes(100), ":1:1:", ["not UTF-8"]),
    "zeros": (bytes(1000), ":1:1:", ["control character U+0000"]),
    "nothing": ("", "", ["the file is empty"]),
    "only remarks": ("# walls:\n", "", ["the file is empty"]),
    "a list": ("- walls\n", ":1:1:", ["begins with a list"]),
    "text": ("walls", ":1:1:", ["begins with text"]),
    "two documents": (SOUND + "---\nname: x\n", ":65:1:", ["second document"]),
    "a tab": (SOUND.replace("  name: north", "\tname: north"), ":56:1:", ["a tab"]),
    "quotes left open": (SOUND.replace('id: "2"', 'id: "2'), ":55:7:", ["quotes"]),
    "a list that never closes": (SOUND.replace("[1-out.base]", "[1-out.base"), ":54:12:", ["bracket is not closed"]),
    "indented wrongly": (SOUND.replace("  name: north", " name: north"), ":56:2:", ["align"]),
}


@pytest.mark.parametrize("name", TEXTS)
def test_it_is_refused_in_words(name: str, tmp_path: Path) -> None:
    text, place, words = TEXTS[name]
    began = time.perf_counter()
    said = "\n".join(map(str, problems(tmp_path, text)))
    assert time.perf_counter() - began < 2
    assert f"alder-court.yaml{place}" in said
    for word in words:
        assert word in said, said


def test_a_file_of_100_mb_is_not_read(tmp_path: Path) -> None:
    path = tmp_path / "alder-court.yaml"
    with path.open("wb") as file:
        file.truncate(100_000_000)
    began = time.perf_counter()
    with pytest.raises(FileError, match=r"100\.0 MB; at most 2 MB"):
        read_job(path, years=range(2027, 2028), today=TODAY)
    assert time.perf_counter() - began < 1


def test_endless_lists_end_in_time(tmp_path: Path) -> None:
    people = "".join(f"- {{id: p{n}, name: P, hours: {{mon-fri: 07:00-15:00}}}}\n" for n in range(600))
    crews = "".join(f"- {{id: c{n}, name: C, people: [x{n}]}}\n" for n in range(600))
    text = SOUND.replace("crews:\n", f"{people}crews:\n{crews}")
    began = time.perf_counter()
    said = "\n".join(map(str, problems(tmp_path, text)))
    assert time.perf_counter() - began < 10
    assert "people: a list has 603 items" in said


def test_what_is_no_file_is_said_to_be_none(tmp_path: Path) -> None:
    loop = tmp_path / "loop.yaml"
    loop.symlink_to(loop)
    wrong = {
        tmp_path: "this is a folder",
        tmp_path / "none.yaml": "there is no such file",
        loop: "can't be read",
        Path("/dev/null"): "not an ordinary file",
        tmp_path / "a\0b": "not a name a file can have",
    }
    for path, words in wrong.items():
        with pytest.raises(FileError, match=words):
            read_job(path, years=range(2027, 2028), today=TODAY)


def test_windows_line_ends_and_a_byte_order_mark_do_no_harm(tmp_path: Path) -> None:
    plain = read(tmp_path, SOUND)
    there = read(tmp_path, b"\xef\xbb\xbf" + SOUND.replace("\n", "\r\n").encode())
    assert there.file == plain.file
    assert there.digests["job"] != plain.digests["job"]


ANYTHING = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(10**20), 10**20)
    | st.floats()
    | st.text(max_size=8)
    | st.sampled_from(
        [
            "10 m2",
            "1 in",
            "2027-05-20",
            "2027-05-20 15:00",
            "07:00-15:30",
            "out",
            "in",
            "base",
            "1-out",
            "mon-fri",
            "holiday",
            "wil",
            "clay-lime",
            "court",
            "1",
            "N",
            "finish.thickness",
            "met",
        ]
    ),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.text(max_size=6) | st.sampled_from(["id", "side", "met", "base", "mon-fri"]), inner, max_size=3
        )
    ),
    max_leaves=6,
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("fuzz")


def reads_or_says_why(folder: Path, text: str | bytes) -> None:
    """Assert that a text is read, or refused with places that are in it."""
    began = time.perf_counter()
    try:
        read(folder, text)
    except FileError as error:
        lines = len(text.splitlines()) + 2
        for problem in error.problems:
            assert problem.text
            assert "\n" not in problem.text
            assert "Traceback" not in problem.text
            assert problem.place is None or problem.place.line <= lines
    assert time.perf_counter() - began < 5


def spots(value: Any) -> list[tuple[Any, Any]]:
    """Return every (container, key) of a tree."""
    found: list[tuple[Any, Any]] = []
    pairs = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in pairs:
        found += [(value, key), *spots(inner)]
    return found


@given(st.data())
@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
def test_any_tree_is_read_or_refused(folder: Path, data: st.DataObject) -> None:
    tree = copy.deepcopy(compose(SOUND, "x").data)
    for _ in range(data.draw(st.integers(1, 4))):
        container, key = data.draw(st.sampled_from(spots(tree)), label="where")
        what = data.draw(st.sampled_from(["replace", "delete", "twice", "rename"]), label="what")
        if what == "replace":
            container[key] = data.draw(ANYTHING)
        elif what == "delete":
            del container[key]
        elif what == "twice" and isinstance(container, list):
            container.append(copy.deepcopy(container[key]))
        elif isinstance(container, dict):
            container[data.draw(st.text(max_size=8))] = container.pop(key)
        if not spots(tree):
            break
    reads_or_says_why(folder, json.dumps(tree, ensure_ascii=data.draw(st.booleans())).encode("utf-8", "replace"))


@given(st.data())
@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
def test_any_text_is_read_or_refused(folder: Path, data: st.DataObject) -> None:
    text = SOUND
    for _ in range(data.draw(st.integers(1, 5))):
        start = data.draw(st.integers(0, len(text)), label="from")
        end = min(len(text), start + data.draw(st.integers(0, 12), label="length"))
        new = data.draw(st.text(max_size=6) | st.sampled_from(list("[]{}:-&*!|>'\"%@`#,?\n\t ")), label="new")
        text = text[:start] + new + text[end:]
    reads_or_says_why(folder, text.encode("utf-8", "surrogatepass"))


@given(st.binary(max_size=200))
@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
def test_any_bytes_are_refused(folder: Path, raw: bytes) -> None:
    reads_or_says_why(folder, raw)
