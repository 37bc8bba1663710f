from __future__ import annotations

import json
import sqlite3
import tempfile
from dataclasses import FrozenInstanceError, replace
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from state_places import MEMORY, UID
from test_state_revisions import json_values

from curing.errors import StateError
from curing.model.decisions import Decision, DecisionKind
from curing.model.record import RecordEntry, RecordKind
from curing.store import Store, open_state

SEVEN = datetime(2027, 5, 3, 5, 0, tzinfo=UTC)
MISTED = RecordEntry("k1", SEVEN, SEVEN + timedelta(hours=3), "mira", RecordKind.MISTED, "north-out", {"l": 4})
MOVE = Decision("d1", SEVEN, "mira", DecisionKind.MOVE, {"task": "north-out-base", "to": "2027-05-10"})


def test_the_kinds_are_the_words_of_the_trade() -> None:
    words = (
        "started, finished, batch, misted, damp, rain on it, could not, reading, test, hold met, "
        "hold refused, cover up, cover down, inspection, passed on, note, correction"
    )
    assert [k.value for k in RecordKind] == [w.replace(" ", "-") for w in words.split(", ")]
    assert [k.value for k in DecisionKind] == ["assign", "keep", "move"]


def test_an_entry_needs_a_key_a_person_and_a_zone() -> None:
    with pytest.raises(ValueError, match="needs a key"):
        replace(MISTED, key="")
    with pytest.raises(ValueError, match="needs a key and a person"):
        replace(MISTED, by="")
    for name in ("at", "received"):
        with pytest.raises(ValueError, match=f"{name}: .*no time zone"):
            replace(MISTED, **{name: datetime(2027, 5, 3, 7, 0)})
    with pytest.raises(ValueError, match="no time zone"):
        replace(MOVE, at=datetime(2027, 5, 3, 7, 0))
    with pytest.raises(ValueError, match="needs a key"):
        replace(MOVE, key="")
    with pytest.raises(FrozenInstanceError):
        MISTED.by = "ana"  # type: ignore[misc]


def test_local_times_become_utc() -> None:
    local = datetime(2027, 5, 3, 7, 0, tzinfo=timezone(timedelta(hours=2)))
    assert replace(MISTED, at=local).at.isoformat() == "2027-05-03T05:00:00+00:00"
    assert replace(MOVE, at=local).at.isoformat() == "2027-05-03T05:00:00+00:00"


def test_entries_come_back_in_order_and_from_a_place_on(store: Store) -> None:
    for n in (1, 2, 3):
        assert store.append_record(replace(MISTED, key=f"k{n}")) == (n, False)
    assert [(e.seq, e.key) for e in store.records()] == [(1, "k1"), (2, "k2"), (3, "k3")]
    assert [e.key for e in store.records(since_seq=2)] == ["k3"]
    assert store.records(since_seq=3) == []


def test_the_same_entry_again_counts_once(store: Store) -> None:
    assert store.append_record(MISTED) == (1, False)
    store.append_record(replace(MISTED, key="k2"))
    again = replace(MISTED, received=SEVEN + timedelta(hours=9), at=SEVEN + timedelta(seconds=5))
    for _ in range(3):
        assert store.append_record(again) == (1, True)
    assert [e.key for e in store.records()] == ["k1", "k2"]
    assert store.records()[0].received == MISTED.received


@pytest.mark.parametrize(
    "other",
    [
        replace(MISTED, kind=RecordKind.COULD_NOT),
        replace(MISTED, face="south-out"),
        replace(MISTED, by="ana"),
        replace(MISTED, data={"l": 5}),
    ],
)
def test_another_entry_under_the_same_key_is_refused_not_lost(store: Store, other: RecordEntry) -> None:
    store.append_record(MISTED)
    with pytest.raises(StateError, match=r'record "k1": .* a key stands for one entry; open the page anew'):
        store.append_record(other)
    assert store.records() == [MISTED]
    assert store.append_record(replace(other, key="k2")) == (2, False)


def test_decisions_are_kept_like_entries(store: Store) -> None:
    assert store.append_decision(MOVE) == (1, False)
    assert store.append_decision(MOVE) == (1, True)
    keep = Decision("d2", SEVEN, "mira", DecisionKind.KEEP, {"reason": "scaffold leaves on Friday"})
    assert store.append_decision(keep) == (2, False)
    with pytest.raises(StateError, match='decision "d2"'):
        store.append_decision(replace(keep, data={}))
    assert store.decisions() == [MOVE, keep]
    assert [(d.seq, d.kind) for d in store.decisions(since_seq=1)] == [(2, DecisionKind.KEEP)]
    assert store.records() == []


def test_a_kind_of_a_newer_curing_is_named(store: Store) -> None:
    store.append_record(MISTED)
    with sqlite3.connect(store.database) as raw:
        raw.execute("INSERT INTO record SELECT 2, 'k2', at, received, by, 'sanded', face, data FROM record")
    with pytest.raises(StateError, match=r'entry 2: kind "sanded" is not known.*install the newer'):
        store.records()


# text that SQLite can hold: everything but half a surrogate pair
texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=30)
instants = st.datetimes(
    datetime(1990, 1, 1), datetime(2100, 1, 1), timezones=st.timezones() | st.just(UTC), allow_imaginary=False
)
datas = st.dictionaries(st.text(), json_values, max_size=4)
entries = st.builds(
    RecordEntry,
    key=texts.filter(bool),
    at=instants,
    received=instants,
    by=texts.filter(bool),
    kind=st.sampled_from(RecordKind),
    face=st.none() | texts,
    data=datas,
)
decisions = st.builds(
    Decision,
    key=texts.filter(bool),
    at=instants,
    by=texts.filter(bool),
    kind=st.sampled_from(DecisionKind),
    data=datas,
)


@settings(max_examples=25, deadline=None)
@given(
    told=st.lists(entries, max_size=5, unique_by=lambda e: e.key),
    decided=st.lists(decisions, max_size=3, unique_by=lambda d: d.key),
)
def test_what_was_said_comes_back_as_it_was_said(told: list[RecordEntry], decided: list[Decision]) -> None:
    with tempfile.TemporaryDirectory(dir=MEMORY) as place:
        with open_state(Path(place) / "s", UID) as store:
            for entry in told:
                store.append_record(entry)
            for decision in decided:
                store.append_decision(decision)
        with open_state(Path(place) / "s", UID, read_only=True) as store:
            kept = store.records()
            assert kept == told
            assert store.decisions() == decided
            assert [json.dumps(e.data, sort_keys=True) for e in kept] == [
                json.dumps(e.data, sort_keys=True) for e in told
            ]
            assert [e.seq for e in kept] == list(range(1, len(told) + 1))
