"""Edits of a job file's text: what is not meant stays byte for byte, what is meant comes back as typed."""

from __future__ import annotations

import copy
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from job_texts import ALDER_COURT, ODD_TEXTS, TEXTS, changed, comments
from ruamel.yaml import YAML

from curing.errors import FileError
from curing.sources.job_edit import Add, Drop, Edit, Move, Put, edited, fields_of
from curing.sources.job_edit_text import FileText
from curing.sources.jobfile import judge_document
from curing.sources.yaml_nodes import Steps, compose


def read(text: str) -> Any:
    """What a library makes of it by itself, every scalar as text."""
    return YAML(typ="base", pure=True).load(text)


def test_one_value_changes_one_line_and_its_comment_stays_at_its_column() -> None:
    after = edited(ALDER_COURT, [Put(("walls", 1, "faces", 0, "area"), "12.25 m2")], "f")
    assert changed(ALDER_COURT, after) == [
        "-        area: 9.4 m2                          # the front door is taken off",
        "+        area: 12.25 m2                        # the front door is taken off",
    ]


def test_the_same_value_changes_nothing() -> None:
    data = compose(ALDER_COURT, "f").data
    edits: list[Edit] = [Put((key,), value) for key, value in data.items()]
    assert edited(ALDER_COURT, edits, "f") == ALDER_COURT


@pytest.mark.parametrize(
    ("edit", "lines"),
    [
        (
            Put(("people", 0, "hours"), {"mon-thu": "07:00-15:30", "fri": "07:00-12:00"}),
            ["-    hours: { mon-fri: 07:00-15:30 }", "+    hours: { mon-thu: 07:00-15:30, fri: 07:00-12:00 }"],
        ),
        (
            Put(("people", 3, "hours", "holiday"), "09:00-20:00"),
            ["-      holiday: 08:00-20:00", "+      holiday: 09:00-20:00"],
        ),
        (Drop(("people", 3, "hours", "holiday")), ["-      holiday: 08:00-20:00"]),
        (Put(("people", 3, "away"), ["2027-07-01"]), ["+    away: [2027-07-01]"]),
        (Put(("people", 0, "was"), "wim"), ["+    was: wim"]),
        (Put(("holidays", "region"), "FR"), ["+  region: FR"]),
        (Add(("holidays", "days", 1), "2027-09-01"), ["+    - 2027-09-01"]),
        (Put(("holds", "sockets"), {"met": "2027-04-29", "by": "wil"}), ["+  sockets: { met: 2027-04-29, by: wil }"]),
        (Put(("walls", 0, "name"), "no"), ["-    name: road side, bay 1", '+    name: "no"']),
        (
            Put(("walls", 3, "panel", "mix", "straw"), "15 %"),
            [
                "-      mix: { dry_density: 660 kg/m3, straw: 14 %, water: 270 kg/m3 }",
                "+      mix: { dry_density: 660 kg/m3, straw: 15 %, water: 270 kg/m3 }",
            ],
        ),
        (
            Add(("crews", 0, "people", 3), "saar"),
            ["-    people: [wil, noor, tijn]", "+    people: [wil, noor, tijn, saar]"],
        ),
        (Move(("crews", 0, "people", 1)), ["-    people: [wil, noor, tijn]", "+    people: [noor, wil, tijn]"]),
        (Put(("sites", 0, "latitude"), 52.25), [
            "-    latitude: 52.1                            # degrees north",
            "+    latitude: 52.25                           # degrees north",
        ]),
    ],
)  # fmt: skip
def test_an_edit_changes_these_lines_only(edit: Edit, lines: list[str]) -> None:
    assert changed(ALDER_COURT, edited(ALDER_COURT, [edit], "f")) == lines


def test_a_wall_moves_in_walking_order_with_its_comments() -> None:
    after = edited(ALDER_COURT, [Move(("walls", 6)), Move(("walls", 5))], "f")
    assert [wall["id"] for wall in read(after)["walls"]] == ["1", "2", "3", "4", "7", "5", "6"]
    assert sorted(after.split("\n")) == sorted(ALDER_COURT.split("\n"))
    back = edited(after, [Move(("walls", 4), up=False), Move(("walls", 5), up=False)], "f")
    assert back == ALDER_COURT


def test_a_remark_above_or_below_a_wall_goes_with_it() -> None:
    text = "walls:\n  # by the road\n  - id: a\n    # no gutter yet\n\n  # the far side\n  - id: b\n# the end\n"
    moved = edited(text, [Move(("walls", 1))], "f")
    assert (
        moved == "walls:\n  # the far side\n  - id: b\n\n  # by the road\n  - id: a\n    # no gutter yet\n# the end\n"
    )
    assert edited(text, [Drop(("walls", 0))], "f") == "walls:\n\n  # the far side\n  - id: b\n# the end\n"


def test_a_wall_taken_out_leaves_every_other_line() -> None:
    for number in range(7):
        after = edited(ALDER_COURT, [Drop(("walls", number))], "f")
        assert {line[0] for line in changed(ALDER_COURT, after)} == {"-"}
        assert "\n\n\n" not in after
        assert after.endswith("\n")
        assert not after.endswith("\n\n")


def test_a_new_wall_looks_like_the_others() -> None:
    wall = {
        "id": "8",
        "name": "porch",
        "panel": {"thickness": "200 mm"},
        "faces": [{"side": "out", "facing": "N", "area": "4 m2", "height": "2 m", "system": "clay-lime"}],
    }
    after = edited(ALDER_COURT, [Add(("walls", 7), wall)], "f")
    assert after.startswith(ALDER_COURT)
    assert after.removeprefix(ALDER_COURT) == (
        '\n  - id: "8"\n    name: porch\n    panel: { thickness: 200 mm }\n    faces:\n      - side: out\n'
        "        facing: N\n        area: 4 m2\n        height: 2 m\n        system: clay-lime\n"
    )


def test_a_section_that_was_shown_as_a_comment_stands_below_it() -> None:
    text = "name: x\n\n# Days without coats.\n# holidays: { country: NL }\n\nsites:\n  - id: a\n"
    after = edited(text, [Put(("holidays", "country"), "GB")], "f")
    assert changed(text, after) == ["+holidays: { country: GB }"]
    assert after.index("# holidays") < after.index("\nholidays") < after.index("sites")


@pytest.mark.long
@pytest.mark.parametrize("odd", ODD_TEXTS)
@pytest.mark.parametrize(
    "steps",
    [
        ("walls", 1, "name"),
        ("people", 1, "away", 0),
        ("holds", "sample-panel", "note"),
        ("people", 0, "roles", 1),
        ("holidays", "days", 0),
        ("walls", 6, "faces", 0, "scaffold"),
        ("walls", 3, "panel", "mix", "straw"),
    ],
)
def test_text_comes_back_as_it_was_typed(steps: Steps, odd: str) -> None:
    after = edited(ALDER_COURT, [Put(steps, odd)], "f")
    found: Any = read(after)
    for step in steps:
        found = found[step]
    assert found == odd
    assert len([line for line in changed(ALDER_COURT, after) if line[0] == "+"]) == 1
    assert comments(after.replace(odd, "")) == comments(ALDER_COURT) or "#" in odd or len(odd) < 9


@pytest.mark.parametrize(
    "bad", ["two\nlines", "a\r\nb", "tab\tin it", "x\x00", "\u202eevil", "\ufeff", "x" * 10_000, "\ud800"]
)
def test_text_that_no_file_may_hold_is_refused_and_named(bad: str) -> None:
    with pytest.raises(FileError) as error:
        edited(ALDER_COURT, [Put(("walls", 1, "name"), bad)], "f")
    place = compose(ALDER_COURT, "f").place(("walls", 1, "name"))
    assert [problem.place for problem in error.value.problems] == [place]


@pytest.mark.parametrize(
    "text",
    [
        "people: &all\n  - id: a\nname: x\n",
        "a: &x 1\nname: *x\n",
        "people:\n\t- id: a\nname: x\n",
        "name: x\nname: y\n",
        "name: !!str x\n",
        "name: x\n---\nname: y\n",
        "",
    ],
)
def test_a_file_with_anchors_tags_tabs_or_keys_twice_is_left_to_an_editor(text: str) -> None:
    with pytest.raises(FileError):
        edited(text, [Put(("name",), "z")], "f")


@pytest.mark.parametrize(
    ("text", "edits"),
    [
        ("? name\n: x\n", [Put(("name",), "y")]),
        ("walls:\n  -\n    id: a\n  - id: b\n", [Move(("walls", 1))]),
        ("walls: [{id: a}, {id: b}]\n", [Move(("walls", 1))]),
        ("{name: x, walls: [{id: a}]}\n", [Put(("walls", 0, "name"), "y"), Put(("units",), "us")]),
        ("name: x\nwalls:\n- id: a\n  faces:\n  - side: out\n", [Add(("walls", 0, "faces", 1), {"side": "in"})]),
        ("name: |\n  x\nunits: us\n", [Put(("name",), "y")]),
        ("name: 'x\n  y'   # c\nunits: us\n", [Put(("name",), "y")]),
        ("name:\n  x\nunits: us", [Put(("name",), "y"), Add(("walls", 0), {"id": "a"})]),
        ("walls:\nname: x\n", [Add(("walls", 0), {"id": "a", "name": "b"})]),
        ("walls: []   # none yet\nname: x\n", [Add(("walls", 0), {"id": "a", "faces": [{"side": "in"}]})]),
        ("a: [x,   # one\n    y,   # two\n    z]  # three\n", [Drop(("a", 1)), Add(("a", 0), "w"), Drop(("a", 2))]),
        ("a: [\n  x,\n  y,\n]\n", [Drop(("a", 0)), Add(("a", 1), "w")]),
        ("a: { x: 1, y: 2 }\n", [Drop(("a", "x")), Put(("a", "z"), "3")]),
        ("a:\n  - x\nb: 1\n", [Drop(("a", 0))]),
        ("p:\n  - id: a\n    x: 1\n", [Drop(("p", 0, "id"))]),
        ("p:\n  - id: a   # first\n    # between\n    x: 1\n", [Drop(("p", 0, "id"))]),
        ("a: x\ttab\n", [Put(("a",), "y")]),
    ],
)  # fmt: skip
def test_other_ways_of_writing_are_changed_rightly_or_refused(text: str, edits: list[Edit]) -> None:
    try:
        after = edited(text, edits, "f")
    except FileError:
        return
    meant = read(text)
    for edit in edits:
        by_hand(meant, edit)
    meant = {key: value for key, value in meant.items() if value != []}
    assert read(after) == meant
    assert comments(after) == comments(text)


def by_hand(data: Any, edit: Edit) -> None:
    """Do an edit to the data, independently."""
    *outer, last = edit.steps
    for step in outer:
        if isinstance(data, dict) and not data.get(step):
            data[step] = [] if isinstance(edit, Add) and step == outer[-1] else {}
        data = data[step]
    match edit:
        case Put():
            data[last] = edit.value
        case Drop():
            del data[last]
        case Add():
            data.insert(last, edit.value)
        case Move():
            other = last - 1 if edit.up else last + 1
            data[last], data[other] = data[other], data[last]


@pytest.mark.parametrize(
    "edit",
    [
        Put(("walls", 9, "name"), "x"),
        Drop(("season", "rain")),
        Move(("walls", 0)),
        Move(("walls", 6), up=False),
        Add(("walls", 9), {}),
        Put(("name", "x"), "y"),
    ],
)
def test_an_edit_that_leads_to_nothing_is_refused(edit: Edit) -> None:
    with pytest.raises(FileError):
        edited(ALDER_COURT, [edit], "f")


def test_a_problem_is_tied_to_its_field_also_where_a_line_is_missing(tmp_path: Path) -> None:
    text = edited(
        ALDER_COURT, [Put(("walls", 1, "faces", 0, "area"), "10"), Drop(("walls", 0, "faces", 0, "height"))], "f"
    )
    text = edited(text, [Put(("crews", 0, "people"), ["wil", "nobody"]), Put(("holds", "sockte"), "2027-01-01")], "f")
    document = compose(text, "f")
    found = fields_of(judge_document(document, tmp_path, today=date(2026, 11, 26)), document)
    steps = {one.steps for one in found}
    assert {("walls", 1, "faces", 0, "area"), ("walls", 0, "faces", 0, "height"), ("holds", "sockte")} <= steps
    assert any(one[:3] == ("crews", 0, "people") for one in steps)


# --------------------------------------------------------------------------- line ends


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_line_ends_and_the_mark_at_the_head_stay(end: str, mark: bytes) -> None:
    raw = mark + ALDER_COURT.replace("\n", end).encode()
    new = edited(ALDER_COURT, [Put(("name",), "Barn"), Drop(("walls", 2)), Add(("walls", 0), {"id": "x"})], "f")
    assert FileText(raw, ALDER_COURT).with_text(new) == mark + new.replace("\n", end).encode()


@settings(max_examples=200)
@given(st.lists(st.sampled_from("abc")), st.lists(st.sampled_from("abc")), st.data())
def test_mixed_line_ends_stay_at_the_lines_that_stay(old: list[str], new: list[str], data: st.DataObject) -> None:
    ends = data.draw(st.lists(st.sampled_from(["\n", "\r\n"]), min_size=len(old), max_size=len(old)))
    raw = "".join(line + end for line, end in zip(old, ends, strict=True)).encode()
    before, after = "".join(f"{line}\n" for line in old), "".join(f"{line}\n" for line in new)
    out = FileText(raw, before).with_text(after).decode()
    assert out.replace("\r\n", "\n") == after
    if old == new:
        assert out.encode() == raw
    grown = FileText(raw, before).with_text(f"{before}z\n").decode()
    assert grown.encode().startswith(raw)


# --------------------------------------------------------------------------- any edits at all

_TEXTS = st.one_of(st.sampled_from(ODD_TEXTS), st.text(max_size=12))


def _places(data: Any, steps: Steps = ()) -> list[Steps]:
    inner = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    return [place for step, one in inner for place in [(*steps, step), *_places(one, (*steps, step))]]


@st.composite
def _edit(draw: st.DrawFn, data: Any) -> Edit:
    steps = draw(st.sampled_from(_places(data)))
    kind = draw(st.sampled_from(["put", "drop", "add", "up", "down", "key", "list", "map"]))
    if kind == "put":
        return Put(steps, draw(_TEXTS))
    if kind == "list":
        return Put(steps, draw(st.lists(_TEXTS, max_size=3)))
    if kind == "map":
        return Put(steps, draw(st.dictionaries(st.sampled_from(["met", "by", "fri", "x: y"]), _TEXTS, max_size=3)))
    if kind == "key":
        return Put((*steps[:-1], draw(st.sampled_from(["note", "was", "start", "ended", "no"]))), draw(_TEXTS))
    if kind == "drop":
        return Drop(steps)
    if kind == "add":
        return Add((*steps[:-1], draw(st.integers(0, 7))), draw(st.one_of(_TEXTS, st.just({"id": "x", "name": "y"}))))
    return Move(steps, up=kind == "up")


@settings(max_examples=100, phases=[Phase.explicit, Phase.generate])
@given(st.data())
def test_any_edits_do_what_they_say_and_keep_comments_or_are_refused(data: st.DataObject) -> None:
    text = TEXTS[data.draw(st.sampled_from(sorted(TEXTS)))]
    for _ in range(data.draw(st.integers(1, 4))):
        before = compose(text, "f").data
        edit = data.draw(_edit(before))
        try:
            after = edited(text, [edit], "f")
        except FileError:
            continue
        meant = copy.deepcopy(before)
        try:
            by_hand(meant, edit)
        except (TypeError, AttributeError, KeyError, IndexError):
            pytest.fail(f"{edit} can't be meant")
        said = compose(after, "f")
        assert said.problems == []
        assert _bare(said.data) == _bare(meant)
        if isinstance(edit, Move):
            assert sorted(comments(after)) == sorted(comments(text))
        text = after


def _bare(value: Any) -> Any:
    """Data without what says nothing."""
    if isinstance(value, dict):
        return {key: inner for key, one in value.items() if (inner := _bare(one)) not in ("", None, [], {})}
    if isinstance(value, list):
        return [inner for one in value if (inner := _bare(one)) not in ("", None, [], {})]
    return value
