"""Each entry of the record in one plain sentence."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curing.model.record import RecordEntry, RecordKind
from curing.publish.record_text import Called, about_text, entry_text, when_text
from curing.publish.words import Words

AT = datetime(2027, 5, 3, 12, 10, tzinfo=UTC)
"""Mon 3 May, 14:10 in Amsterdam."""

CALLED = Called(
    zone="Europe/Amsterdam",
    walls={"3": "gable", "5": "5"},
    zones={"3": "Europe/Amsterdam", "5": "America/Denver"},
    people={"saar": "Saar", "wil": "Wil"},
    coats={"3-out.base": "base coat", "3-out.finish": "finish coat", "5-in.base": "clay base"},
    numbers={"wrong": 17},
    aired=frozenset({"5-in.base"}),
)

FINISHED = {"task": "base"}
VISIT = {"coat": "finish", "slot": "early"}
PROBE = {"value": 18.5, "basis": "wet", "band": "low", "depth": 100, "meter": "probe"}


def entry(kind: str, face: str | None = "3-out", at: datetime = AT, **data: Any) -> RecordEntry:
    return RecordEntry("k", at, at, "wil", RecordKind(kind), face, data)


def says(one: RecordEntry, units: Any = "metric") -> str:
    return entry_text(one, CALLED, Words(units))


SENTENCES = [
    (entry("started", **FINISHED), "base coat begun"),
    (entry("finished", **FINISHED), "base coat finished"),
    (entry("finished", None, task="set", wall="3"), "panel set in its frame"),
    (entry("finished", task="scratch"), "scratch finished"),
    (entry("misted", **VISIT), "early visit of the finish coat: misted"),
    (entry("damp", **VISIT), "early visit of the finish coat: still damp, left"),
    (entry("rain-on-it", **VISIT), "early visit of the finish coat: wetted by rain"),
    (entry("could-not", **VISIT, why="scaffold locked"), "early visit of the finish coat: could not, scaffold locked"),
    (entry("misted", "5-in", coat="base", slot="late"), "late visit of the clay base: aired"),
    (entry("misted", **VISIT, day="2027-05-02"), "early visit of the finish coat, Sun 2 May: misted"),
    (entry("misted", **VISIT, day="2027-05-03"), "early visit of the finish coat: misted"),
    (entry("rain-on-it"), "rain on it"),
    (entry("could-not", coat="base", why="mixer broken"), "base coat could not be laid: mixer broken"),
    (
        entry("could-not", coat="base", day="2027-05-04", why="rain"),
        "base coat could not be laid on Tue 4 May: rain",
    ),
    (entry("reading", **PROBE), "reading low, 100 mm deep: 18.5 % wet basis (meter probe)"),
    (
        entry("reading", **PROBE | {"depth": 150, "mid": True}),
        "reading low, at mid-depth, 150 mm deep: 18.5 % wet basis (meter probe)",
    ),
    # 25 % of the dry mass is 0.25 / 1.25 = 20 % of the whole.
    (
        entry("reading", **PROBE | {"value": 25, "basis": "dry"}),
        "reading low, 100 mm deep: 25 % dry basis, 20 % wet basis (meter probe)",
    ),
    (
        entry("reading", **PROBE | {"value": 20.04}),
        "reading low, 100 mm deep: 20.04 % wet basis (meter probe)",
    ),
    (entry("reading", None, weight=231.4, wall="3"), "panel weighed 231.4 kg"),
    (
        entry(
            "note",
            None,
            first="2027-06-01",
            last="2027-06-08",
            walked="2027-05-02",
            walked_with="wil",
            signed="Saar de Vries",
            kit=["goggles", "gloves"],
        ),
        "takes rounds over, Tue 1 June to Tue 8 June: walked one with Wil on Sun 2 May, 2 things of the kit in hand, "
        "signed Saar de Vries",
    ),
    (entry("reading", None, weight=4.25, wall="3", of="block"), "witness block weighed 4.25 kg"),
    (entry("test", test="water-drop", seconds=45, passed=True), "test water drop: 45 s, passed"),
    (entry("test", test="dusting", passed=False), "test dusting: failed"),
    (entry("test", test="hollows", passed=True, coat="base"), "test hollows of the base coat: passed"),
    (
        entry("test", None, meter="probe", read=18, dried=19.5),
        "meter probe read 18 %, the dried sample held 19.5 % wet basis",
    ),
    (entry("hold-met", None, hold="panel-dry", wall="3", right="lead"), "hold panel-dry met"),
    (entry("hold-refused", hold="base-dry", note="soft below"), "hold base-dry refused; soft below"),
    (
        entry("batch", mix={"sand": "8", "clay": "2"}, number="7", task="base"),
        "batch 7 for the base coat: sand 8, clay 2",
    ),
    (entry("batch"), "batch"),
    (entry("cover-up", cover="sheet"), "sheet put up"),
    (entry("cover-down"), "cloth taken down"),
    (entry("inspection", sound=True), "inspected: sound"),
    (entry("inspection", sound=False, found="cracks at the top"), "inspected: not sound, cracks at the top"),
    (
        entry("passed-on", None, to="saar", first="2027-06-05", last="2027-06-06"),
        "rounds passed on to Saar, Sat 5 June to Sun 6 June",
    ),
    (
        entry("passed-on", None, to="noor", first="2027-06-05", last="2027-06-05", slot="late"),
        "late rounds passed on to noor, Sat 5 June",
    ),
    (entry("note", text="gate code changed"), "note: gate code changed"),
    (entry("correction", corrects="wrong", why="typing slip"), "corrects entry 17: withdrawn (typing slip)"),
    (
        entry(
            "correction",
            corrects="wrong",
            instead={"kind": "finished", "at": AT.isoformat(), "face": "3-out", "data": FINISHED},
        ),
        "corrects entry 17: base coat finished, Mon 3 May 14:10",
    ),
    (
        entry(
            "correction",
            corrects="wrong",
            instead={"kind": "finished", "at": AT.isoformat(), "face": "5-in", "data": FINISHED},
        ),
        "corrects entry 17: 5 in, clay base finished, Mon 3 May 06:10",
    ),
    (entry("correction", corrects="lost"), "corrects an entry that is not in this record: withdrawn"),
    (entry("reading", value="wet"), "reading: what it says can't be read"),
]


@pytest.mark.parametrize(("one", "text"), SENTENCES, ids=[text for _, text in SENTENCES])
def test_what_an_entry_says(one: RecordEntry, text: str) -> None:
    assert says(one) == text


def test_us_units() -> None:
    # 100 mm / 25.4 = 3.937 in, to a sixteenth 3 15/16; 231.4 kg / 0.45359237 = 510.15 lb.
    assert says(entry("reading", **PROBE), "us") == "reading low, 3 15/16 in deep: 18.5 % wet basis (meter probe)"
    assert says(entry("reading", None, weight=231.4, wall="3"), "us") == "panel weighed 510.1 lb"


def test_things_are_called_by_what_they_are_today() -> None:
    words = Words()
    assert about_text(entry("finished", **FINISHED), CALLED, words) == "gable out"
    assert about_text(entry("hold-met", None, hold="panel-dry", wall="3"), CALLED, words) == "gable"
    assert about_text(entry("note", "9-in", text="x"), CALLED, words) == "9 in"
    assert about_text(entry("note", None, text="x"), CALLED, words) == ""
    assert (CALLED.person("saar"), CALLED.person("noor")) == ("Saar", "noor")


def test_times_are_those_of_the_wall() -> None:
    assert CALLED.zone_of(entry("finished", "5-in", **FINISHED)) == "America/Denver"
    assert CALLED.zone_of(entry("note", None, text="x")) == "Europe/Amsterdam"
    # 12:10 UTC is 06:10 in Denver, six hours behind in summer.
    assert when_text(AT, "America/Denver", Words()) == "Mon 3 May 06:10"
    assert when_text(AT, "America/Denver", Words(), near=2028) == "Mon 3 May 2027 06:10"


ONE_DAY = {"first": "2027-06-05", "last": "2027-06-05"}
FREE = st.text(min_size=1, max_size=200)


@given(text=FREE, why=FREE, found=FREE, hold=FREE, meter=FREE)
def test_free_text_stays_on_one_line(text: str, why: str, found: str, hold: str, meter: str) -> None:
    late = AT + timedelta(hours=1)
    entries = [
        entry("note", text=text),
        entry("could-not", **VISIT, why=why),
        entry("inspection", sound=False, found=found, note=text),
        entry("hold-met", hold=hold, note=why),
        entry("reading", **PROBE | {"meter": meter}),
        entry("batch", mix={text: why}, number=found),
        entry("correction", corrects="wrong", why=why),
        RecordEntry("k", AT, late, text, RecordKind.PASSED_ON, None, {"to": text, **ONE_DAY}),
    ]
    for one in entries:
        said = says(one)
        assert said == said.strip()
        assert not [sign for sign in said if sign in "\r\n\t\x07\x1b\u2028\u202e"]
