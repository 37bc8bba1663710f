"""Reading coat systems: every fault with its place, all of a file at once; which file wins; own values."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from curing.errors import FileError, Problem
from curing.model.system import SYSTEM_FORMAT
from curing.sources.rule_checks import contradictions
from curing.sources.systemfile import built_in_folder, find_systems, load_systems, read_own_rule, read_system

GOOD = """\
curing: 1
id: own-lime
name: Two coats of my own
sides: [out, in]
coats:
  - id: base
    name: base coat
    title: BASE
    work: plaster
    holds: [panel-dry]
    cautions: [lime, sockets]
    before:
      - {id: mask, text: Mask the frames., source: "common practice, no source"}
    after:
      - {id: key, text: Key it., source: "common practice, no source"}
    visits:
      - {id: mist, text: Mist it., source: "common practice, no source"}
  - id: finish
    name: finish coat
    title: FINISH
    work: plaster
    season: true
    holds: [base-dry]
holds:
  - id: panel-dry
    text: Panel dry.
    lifts: Read it.
    scope: wall
    lapses: panel.lapse
    task: {kind: reading, title: READ, minutes: 20}
    reason: Wet straw rots.
    source: common practice, no source
  - id: base-dry
    text: Base dry.
    lifts: Look at it.
    scope: face
    judges: base
    reason: It shrinks.
    source: common practice, no source
rules:
  - {id: base.thickness, value: 13 mm, reason: r, source: s}
  - {id: base.one_pass, value: 20 mm, reason: r, source: s}
  - {id: base.labour, value: 1 h/m2, reason: r, source: s}
  - {id: base.wet_edge, value: 8 m2/d, reason: r, source: s}
  - {id: base.twice_to, value: 3 d, reason: r, source: s}
  - {id: base.once_to, value: 5 d, reason: r, source: s}
  - {id: finish.thickness, value: 8 mm, least: 6 mm, most: 10 mm, reason: r, source: "common practice, no source"}
  - {id: finish.labour, value: 1 h/m2, reason: r, source: s}
  - {id: finish.wet_edge, value: 8 m2/d, reason: r, source: s}
  - {id: finish.least_wait, value: 10 d, least: 10 d, reason: r, source: s}
  - {id: finish.least_wait_per_mm, value: 1 d/mm, reason: r, source: s}
  - {id: finish.greatest_wait, value: 28 d, reason: r, source: s}
  - {id: panel.lapse, value: 7 d, reason: r, source: s}
  - {id: visit.setup, value: 5 min, reason: r, source: s}
  - {id: visit.rate, value: 3 m2/min, reason: r, source: s}
  - {id: visit.water, value: 0.3 L/m2, reason: r, source: s}
"""

FILE = "own-lime.yaml"


def faults(text: str) -> list[str]:
    with pytest.raises(FileError) as caught:
        read_system(FILE, text)
    return [str(problem) for problem in caught.value.problems]


def at(text: str, mark: str) -> str:
    """Return the place of a mark in a text as an editor shows it."""
    start = text.index(mark)
    line = text.count("\n", 0, start) + 1
    return f"{FILE}:{line}:{start - text.rfind(chr(10), 0, start)}"


def test_a_good_file_is_read_in_si() -> None:
    system = read_system(FILE, GOOD)
    assert [coat.id for coat in system.coats] == ["base", "finish"]
    lapse, thickness = system.rule("panel.lapse"), system.rule("finish.thickness")
    assert lapse is not None
    assert thickness is not None
    assert (lapse.value, lapse.written) == (7, "7 d")
    assert (thickness.value, thickness.least, thickness.most) == (8, 6, 10)


# What is replaced, by what, where the fault is shown (from there on), what is said.
BROKEN = [
    # form
    ("curing: 1\n", "", "id: own-lime", '"curing" is missing; add "curing: 1"'),
    ("curing: 1", "curing: one", "one", 'write "curing: 1"'),
    ("curing: 1", "curing: 0", "0", 'write "curing: 1"'),
    ("curing: 1", "curing: true", "true", 'write "curing: 1"'),
    ("name: Two", "names: Two", "names: Two", 'unknown key "names"; did you mean "name"?'),
    ("title: BASE", "title: BASE COAT TOO LONG", "BASE COAT TOO LONG", "at most 10"),
    ("work: plaster\n    holds", "work: plastr\n    holds", "plastr", "plaster"),
    ("minutes: 20", "minutes: 0", "0}", "1 or more"),
    ("kind: reading", "kind: look", "look, title", '"look"'),
    # values
    ("value: 8 m2/d, reason", "value: 8, reason", "8, reason", '8 has no unit; write "8 m2/d"'),
    ("value: 1 h/m2", "value: 0 h/m2", "0 h/m2", "write more than 0"),
    ("value: 8 m2/d", "value: 0 m2/d", "0 m2/d", "write more than 0"),
    ("value: 3 m2/min", "value: 0 m2/min", "0 m2/min", "write more than 0"),
    ("value: 1 h/m2", "value: -1 h/m2", "-1 h/m2", "less than 0"),
    ("value: 3 d,", "value: 3.5 d,", "3.5 d", "whole number"),
    ("value: 7 d,", "value: 7 mm,", "7 mm", '"mm" is not a unit for a number of days'),
    ("least: 6 mm", "least: 12 mm", "{id: finish.thickness", "least is more than most"),
    ("value: 8 mm", "value: 11 mm", "{id: finish.thickness", "outside its own least and most"),
    ("reason: r, source: s}", "reason: r}", "{id: base.thickness", '"source" is missing'),
    # ids
    ("id: base.labour", "id: base.labor", "base.labor", 'did you mean "labour"?'),
    ("id: base.labour", "id: bas.labour", "bas.labour", 'unknown coat "bas"; did you mean "base"?'),
    ("id: base.labour", "id: visit.labour", "visit.labour", 'write for instance "base.labour"'),
    ("id: panel.lapse, v", "id: base.lapse, v", "base.lapse", 'write "panel.lapse"'),
    ("id: visit.rate", "id: panel.rate", "panel.rate", 'write "visit.rate"'),
    ("id: base.labour", "id: base.wet_edge", "base.wet_edge, value: 8", "its id is taken by the rule in line 43"),
    ("id: base-dry", "id: panel-dry", "panel-dry\n    text: Base", "its id is taken by the hold point in line 25"),
    ("id: base-dry", "id: base", "base\n    text: Base", "its id is taken by the coat in line 6"),
    ("id: key", "id: mask", "mask, text: Key", 'step "mask" stands twice'),
    ("- id: finish", "- id: panel", "panel\n", "the id belongs to the rules of the panel"),
    ("- id: finish", "- id: base", "base\n    name: finish", "its id is taken by the coat in line 6"),
    # references
    ("holds: [panel-dry]", "holds: [panel-wet]", "panel-wet", 'did you mean "panel-dry"?'),
    ("holds: [panel-dry]", "holds: [panel-dry, panel-dry]", "panel-dry]", "stands twice"),
    ("holds: [base-dry]", "holds: []", "base-dry\n", "no coat waits for it"),
    ("[lime, sockets]", "[lime, socket]", "socket]", 'did you mean "sockets"?'),
    ("[lime, sockets]", "[lime, lime]", "lime]", "stands twice"),
    ("judges: base", "judges: bse", "bse", 'unknown coat "bse"; did you mean "base"?'),
    ("judges: base", "judges: finish", "finish\n    reason", "which is not laid before it"),
    ("scope: face", "scope: wall", "base\n    reason", 'write "scope: face"'),
    ("scope: face", "scope: room", "room", '"face"'),
    ("lapses: panel.lapse", "lapses: panel.laps", "panel.laps\n", 'did you mean "panel.lapse"?'),
    ("lapses: panel.lapse", "lapses: visit.rate", "visit.rate\n", "is no number of days"),
    ("[out, in]", "[out, north]", "north", 'unknown side "north"'),
    ("[out, in]", "[out, out]", "out]", "stands twice"),
    ("[out, in]", "[]", "[]", "none is given"),
    ("title: BASE\n", "title: BASE\n    season: true\n", "true\n    holds: [base", "keep one of them"),
    # what a coat needs
    ("{id: base.thickness, value: 13 mm, reason: r, source: s}", "{id: base.waste, value: 10 %, reason: r, source: s}",
     "base\n    name", 'rule "base.thickness" is missing'),
    ("  - {id: finish.labour, value: 1 h/m2, reason: r, source: s}\n", "", "finish\n    name",
     '"finish.labour" is missing'),
    ("id: finish.wet_edge", "id: finish.waste", "finish\n    name", '"finish.wet_edge" is missing'),
    ("  - {id: visit.rate, value: 3 m2/min, reason: r, source: s}\n", "", "base\n    name", '"visit.rate" is missing'),
    ("visits:", "while:", "while", 'unknown key "while"'),
    ("    visits:\n      - {id: mist, text: Mist it., source: \"common practice, no source\"}\n", "", "base\n    name",
     "not what is done on them"),
    ("id: finish.greatest_wait", "id: finish.hours", "finish\n    name", '"finish.once_to" is missing'),
    ("id: finish.greatest_wait, value: 28 d", "id: finish.look_to, value: 6 h", "finish\n    name",
     '"finish.look_from" is missing'),
    ("id: finish.greatest_wait", "id: base.dry_days", "base.dry_days", 'no coat lies before "base"'),
    # what goes together
    ("value: 20 mm", "value: 12 mm", "13 mm", "13 mm is more than one pass may be, 12 mm (rule base.one_pass)"),
    ("value: 3 d,", "value: 6 d,", "6 d", "the last day with two visits, 6 d, is after the last with one, 5 d"),
    ("value: 28 d", "value: 9 d", "10 d, least", "the least wait, 10 d, is more than the most, 9 d"),
    ("value: 28 d", "value: 12 d", "1 d/mm", '13 mm of "base" ask for 13 d, more than the most, 12 d'),
    # YAML
    ("sides: [out, in]", "sides: &both [out, in]", "&both", "write values out"),
    ("title: BASE", "title: BASE\n    title: BASE", "title: BASE\n    work", "stands twice"),
    ("sides: [out, in]", "sides: [out, in", "[out, in", "bracket"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "mark", "said"), BROKEN, ids=[f"{b[1][:24]!r}" for b in BROKEN])
def test_each_fault_is_told_at_its_place(old: str, new: str, mark: str, said: str) -> None:
    text = GOOD.replace(old, new, 1)
    assert text != GOOD
    found = [fault for fault in faults(text) if said in fault]
    assert found, faults(text)
    places = {at_place(text, match.start()) for match in re.finditer(re.escape(mark), text)}
    assert any(fault.startswith(f"{place}: ") for fault in found for place in places), (found, places)


def at_place(text: str, start: int) -> str:
    return f"{FILE}:{text.count(chr(10), 0, start) + 1}:{start - text.rfind(chr(10), 0, start)}"


def test_all_faults_of_a_file_are_told_at_once_in_its_order() -> None:
    text = GOOD
    for old, new in (
        ("[out, in]", "[out, north]"),
        ("title: BASE", "title: BASE COAT TOO LONG"),
        ("holds: [panel-dry]", "holds: [panel-wet]"),
        ("scope: wall", "scope: room"),
        ("judges: base", "judges: bse"),
        ("value: 1 h/m2", "value: 0 h/m2"),
        ("id: base.wet_edge", "id: base.wetedge"),
        ("value: 3 m2/min", "value: 3"),
    ):
        text = text.replace(old, new, 1)
    found = faults(text)
    lines = [int(fault.split(":")[1]) for fault in found]
    assert lines == sorted(lines)
    for mark in ("north", "panel-wet", "BASE COAT", "room", "bse", "0 h/m2", "base.wetedge", "3, reason"):
        assert any(fault.startswith(at(text, mark) + ":") for fault in found), (mark, found)


def test_a_faulty_part_is_not_said_to_be_missing() -> None:
    text = GOOD.replace("value: 1 h/m2", "value: 1", 1).replace("scope: face", "scope: room", 1)
    found = faults(text)
    assert len(found) == 2, found


def test_a_newer_form_is_refused_with_what_to_do_and_nothing_else() -> None:
    text = GOOD.replace("curing: 1", f"curing: {SYSTEM_FORMAT + 1}", 1).replace("sides:", "faces:", 1)
    assert faults(text) == [
        f"{FILE}:1:9: curing: form 2 is newer than 1, the newest that can be read here; "
        "install a newer curing, or copy a built-in system of this one"
    ]


@pytest.mark.parametrize("text", ["", "# only a remark\n", "- a list\n", "text\n", "curing: 1\n", "rules: 7\n"])
def test_what_is_no_system_is_told_so(text: str) -> None:
    assert faults(text)


def test_a_system_without_coats() -> None:
    text = re.sub(r"coats:\n.*?(?=holds:\n)", "coats: []\n", GOOD, flags=re.S)
    assert any(fault.startswith(at(text, "[]") + ": coats: ") for fault in faults(text))


# ------------------------------------------------------------------ which file wins


def test_own_copies_win_and_digests_are_those_of_the_bytes(tmp_path: Path) -> None:
    built_in = (built_in_folder() / "clay-lime.yaml").read_text(encoding="utf-8")
    own = tmp_path / "of-the-house.yaml"
    own.write_bytes(built_in.replace("value: 28 d", "value: 21 d", 1).replace("\n", "\r\n").encode())
    systems, digests = load_systems(["clay-lime", "clay-inside"], [tmp_path])
    greatest = systems["clay-lime"].rule("finish.greatest_wait")
    assert greatest is not None
    assert greatest.value == 21
    assert digests["clay-lime"] == hashlib.sha256(own.read_bytes()).hexdigest()
    other = built_in_folder() / "clay-inside.yaml"
    assert digests["clay-inside"] == hashlib.sha256(other.read_bytes()).hexdigest()
    assert set(systems) == set(digests) == {"clay-lime", "clay-inside"}


def test_a_missing_folder_holds_nothing(tmp_path: Path) -> None:
    assert find_systems([tmp_path / "systems"]) == find_systems()


def test_an_own_system_beside_a_broken_one_that_nobody_asked_for(tmp_path: Path) -> None:
    (tmp_path / "mine.yaml").write_text(GOOD)
    (tmp_path / "draft.yaml").write_text("curing: 1\nid: draft\n")
    (tmp_path / "picture.yaml").write_bytes(b"\xff\xd8\xff\xe0")
    assert list(load_systems(["own-lime"], [tmp_path])[0]) == ["own-lime"]


def test_all_files_tell_all_their_faults(tmp_path: Path) -> None:
    (tmp_path / "one.yaml").write_text(GOOD.replace("8 m2/d", "8"))
    (tmp_path / "two.yaml").write_text(GOOD.replace("own-lime", "other").replace("scope: face", "scope: room"))
    with pytest.raises(FileError) as caught:
        load_systems(["own-lime", "other", "clay-limes", "clay-lime"], [tmp_path])
    said = str(caught.value)
    assert said.count("one.yaml:") == 2
    assert said.count("two.yaml:") == 1
    assert 'unknown coat system "clay-limes"; did you mean "clay-lime"?' in said


def test_one_id_in_two_files_of_a_folder(tmp_path: Path) -> None:
    (tmp_path / "a.yaml").write_text(GOOD)
    (tmp_path / "b.yaml").write_text(GOOD)
    with pytest.raises(FileError, match=r'a\.yaml: "id: own-lime" also stands in b\.yaml'):
        load_systems(["own-lime"], [tmp_path])


def test_a_copy_that_kept_the_old_id(tmp_path: Path) -> None:
    (tmp_path / "my-lime.yaml").write_text(GOOD)
    with pytest.raises(FileError, match=r'my-lime\.yaml: this says "id: own-lime", and the job asks for "my-lime"'):
        load_systems(["my-lime"], [tmp_path])


def test_a_copy_whose_id_cannot_be_read_is_told_of(tmp_path: Path) -> None:
    (tmp_path / "clay-lime.yaml").write_text("curing: 1\nname: nothing else\n")
    with pytest.raises(FileError, match=r'clay-lime\.yaml:\d+:\d+: "id" is missing'):
        load_systems(["clay-lime"], [tmp_path])


# ------------------------------------------------------------------ own values


@pytest.fixture(scope="module")
def clay_lime():
    return load_systems(["clay-lime"])[0]["clay-lime"]


@pytest.mark.parametrize(
    ("rule", "text", "value"),
    [
        ("finish.twice_to", "10 d", 10),
        ("finish.twice_to", "7 d", 7),
        ("finish.twice_to", "2 weeks", 14),
        ("base.thickness", "1/2 in", 12.7),
        ("finish.air_least", "41 °F", 5),
        ("base.labour", "1.5 h/m2", 1.5),
    ],
)
def test_an_own_value_within_the_rule(clay_lime, rule: str, text: str, value: float) -> None:
    assert read_own_rule(clay_lime, rule, text) == pytest.approx(value)


@pytest.mark.parametrize(
    ("rule", "text", "said"),
    [
        ("finish.twice_to", "5 d",
         "5 d is less than 7 d (rule finish.twice_to, common practice, no source); choose 7 d or more"),
        ("finish.twice_to", "3 weeks", "3 weeks (21 d) is more than 14 d (rule finish.twice_to"),
        ("base.thickness", "1 in", "1 in (25.4 mm) is more than 20 mm"),
        ("panel.wettest", "20.04 %", "20.04 % is more than 20 %"),
        ("finish.twice_to", 10, '10 has no unit; write "10 d"'),
        ("finish.twice_to", "10 mm", '"mm" is not a unit for a number of days'),
        ("base.labour", "0 h/m2", "write more than 0"),
        ("finish.twiceto", "10 d", 'did you mean "finish.twice_to"?'),
        ("finish.gloss", "10 d", "use one of: finish.thickness, finish.one_pass"),
        ("floor.colour", "10 d", "its rules begin with one of: base, finish, paint-1, paint-2, panel, visit"),
        ("", "10 d", "its rules begin with one of"),
    ],
)  # fmt: skip
def test_an_own_value_that_is_refused(clay_lime, rule: str, text: object, said: str) -> None:
    with pytest.raises(ValueError, match=re.escape(said)):
        read_own_rule(clay_lime, rule, text)


def test_own_values_that_contradict_each_other(clay_lime) -> None:
    values = {rule.id: rule.value for rule in clay_lime.rules} | {"finish.once_to": 12.0}
    found = [one.rules for one in contradictions(clay_lime.coats, values)]
    assert found == [("finish.twice_to", "finish.once_to")]


# ------------------------------------------------------------------ whatever a file holds

PIECES = st.sampled_from(
    ["", " ", "\n", "- ", ": ", "{", "}", "[", "]", "#", '"', "'", "&a", "*a", "!!int ", "|", ">", "0", "-1", "1e400",
     "~", "true", "id", "base", "2027-05-03", "é", "\x00", "\t", "  - {}\n", "  - 7\n", "holds: {}\n", "mm"]
)  # fmt: skip


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(st.tuples(st.integers(0, len(GOOD)), st.integers(0, 30), PIECES), min_size=1, max_size=4))
@example([(0, len(GOOD), "coats: 7\nrules: {}\nholds: ~\nsides: out\n")])
@example([(0, len(GOOD), "coats: [7, {}, ~]\nrules: [[], {id: 3}]\nholds: [{id: x.y}]\nsides: [1, ~, [2]]\n")])
def test_a_spoilt_file_never_ends_in_a_traceback(edits: list[tuple[int, int, str]]) -> None:
    text = GOOD
    for start, length, piece in edits:
        text = text[:start] + piece + text[start + length :]
    problems: tuple[Problem, ...] = ()
    try:
        read_system(FILE, text)
    except FileError as error:
        problems = error.problems
    for problem in problems:
        assert problem.place is not None
        assert problem.place.file == FILE
        assert "\n" not in problem.text
