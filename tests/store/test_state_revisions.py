from __future__ import annotations

import hashlib
import json
import sqlite3
import tempfile
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from state_places import MEMORY, UID

from curing.errors import StateError
from curing.store import Store, open_state

NOON = datetime(2027, 5, 3, 10, 0, tzinfo=UTC)
LATER = NOON + timedelta(hours=1)

json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=20,
)


def test_a_new_state_has_no_revision(store: Store) -> None:
    assert store.latest() is None
    assert store.revisions() == []


def test_numbers_run_1_2_3_and_each_names_its_parent(store: Store) -> None:
    parent = None
    for number in (1, 2, 3):
        saved = store.save_revision({"n": number}, parent=parent, as_of=NOON, saved_at=LATER)
        assert saved == number
        parent = saved
    assert [(r.number, r.parent) for r in store.revisions()] == [(1, None), (2, 1), (3, 2)]
    latest = store.latest()
    assert latest is not None
    assert (latest.number, latest.plan, latest.as_of, latest.saved_at) == (3, {"n": 3}, NOON, LATER)
    assert store.revision(2).plan == {"n": 2}


def test_revisions_outlive_the_process_that_saved_them(folder: Path) -> None:
    with open_state(folder, UID) as store:
        store.save_revision({"wall": "north gable — ñ 石"}, parent=None, as_of=NOON, saved_at=LATER)
    with open_state(folder, UID) as store:
        assert store.revision(1).plan == {"wall": "north gable — ñ 石"}


@pytest.mark.parametrize("parent", [None, 1, 3])
def test_a_plan_that_follows_another_than_the_latest_is_refused(store: Store, parent: int | None) -> None:
    store.save_revision({"n": 1}, parent=None, as_of=NOON, saved_at=NOON)
    store.save_revision({"n": 2}, parent=1, as_of=NOON, saved_at=NOON)
    with pytest.raises(StateError, match=r"the latest is revision 2.*plan again"):
        store.save_revision({"n": 3}, parent=parent, as_of=NOON, saved_at=NOON)
    assert [r.number for r in store.revisions()] == [1, 2]


def test_a_first_plan_can_not_follow_one(store: Store) -> None:
    with pytest.raises(StateError, match="follows revision 1, but the latest is no revision"):
        store.save_revision({}, parent=1, as_of=NOON, saved_at=NOON)


def test_a_revision_that_is_not_there_is_named_with_those_that_are(store: Store) -> None:
    with pytest.raises(StateError, match="revision 9: there is none; no plan is saved; plan first"):
        store.revision(9)
    store.save_revision({}, parent=None, as_of=NOON, saved_at=NOON)
    with pytest.raises(StateError, match="revision 9: there is none; the latest is 1; ask for one of 1 to 1"):
        store.revision(9)


def test_equal_plans_have_equal_bytes_and_the_digest_is_sha_256_of_them(store: Store) -> None:
    store.save_revision({"b": [1, 2.5], "a": {"y": None, "x": "é"}}, parent=None, as_of=NOON, saved_at=NOON)
    store.save_revision({"a": {"x": "é", "y": None}, "b": [1, 2.5]}, parent=1, as_of=NOON, saved_at=NOON)
    expected = hashlib.sha256(rb'{"a":{"x":"\u00e9","y":null},"b":[1,2.5]}').hexdigest()
    assert [r.digest for r in store.revisions()] == [expected, expected]
    with sqlite3.connect(store.database) as raw:
        assert len(set(raw.execute("SELECT plan FROM revision"))) == 1


def test_times_are_kept_as_utc_text_that_sorts(store: Store) -> None:
    summer = datetime(2027, 5, 3, 12, 0, tzinfo=timezone(timedelta(hours=2)))
    store.save_revision({}, parent=None, as_of=summer, saved_at=summer + timedelta(microseconds=1))
    with sqlite3.connect(store.database) as raw:
        row = raw.execute("SELECT as_of, saved_at FROM revision").fetchone()
    assert row == ("2027-05-03T10:00:00.000000Z", "2027-05-03T10:00:00.000001Z")
    assert row[0] < row[1]


@pytest.mark.parametrize("damage", ["UPDATE revision SET plan = x'00'", "UPDATE revision SET digest = 'x'"])
def test_a_damaged_plan_is_not_used(store: Store, damage: str) -> None:
    store.save_revision({"n": 1}, parent=None, as_of=NOON, saved_at=NOON)
    with sqlite3.connect(store.database) as raw:
        raw.execute("DROP TRIGGER revision_no_update")
        raw.execute(damage)
    with pytest.raises(StateError, match=r"revision 1: its plan is not the one that was saved.*backup"):
        store.latest()


@pytest.mark.parametrize("plan", [{"x": float("nan")}, {"x": float("inf")}, {"x": NOON}])
def test_what_is_not_json_is_not_saved(store: Store, plan: dict[str, object]) -> None:
    with pytest.raises((TypeError, ValueError)):
        store.save_revision(plan, parent=None, as_of=NOON, saved_at=NOON)
    assert store.latest() is None


@settings(max_examples=25, deadline=None)
@given(plans=st.lists(st.dictionaries(st.text(), json_values, max_size=5), min_size=1, max_size=3))
def test_any_plan_comes_back_as_it_was_saved(plans: list[dict[str, object]]) -> None:
    with tempfile.TemporaryDirectory(dir=MEMORY) as place, open_state(Path(place) / "s", UID) as store:
        for n, plan in enumerate(plans):
            store.save_revision(plan, parent=n or None, as_of=NOON, saved_at=NOON)
        for n, plan in enumerate(plans, start=1):
            kept = store.revision(n).plan
            assert kept == plan
            # 1, 1.0 and True are equal in Python but not in a plan
            assert json.dumps(kept, sort_keys=True) == json.dumps(plan, sort_keys=True)
