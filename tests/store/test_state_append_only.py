from __future__ import annotations

import sqlite3
from datetime import UTC, datetime

import pytest

from curing.model.decisions import Decision, DecisionKind
from curing.model.record import RecordEntry, RecordKind
from curing.store import Store

SEVEN = datetime(2027, 5, 3, 5, 0, tzinfo=UTC)
TABLES = {"revision": "number", "record": "seq", "decision": "seq"}


@pytest.fixture
def filled(store: Store) -> Store:
    store.save_revision({"n": 1}, parent=None, as_of=SEVEN, saved_at=SEVEN)
    store.append_record(RecordEntry("k1", SEVEN, SEVEN, "mira", RecordKind.MISTED))
    store.append_decision(Decision("d1", SEVEN, "mira", DecisionKind.KEEP))
    return store


def refused(store: Store, statement: str) -> str:
    """Run the statement as any other program could, and return why it is refused."""
    with sqlite3.connect(store.database) as raw:
        before = [raw.execute(f"SELECT * FROM {t}").fetchall() for t in TABLES]
        with pytest.raises(sqlite3.IntegrityError) as caught:
            raw.execute(statement)
        raw.commit()
        assert [raw.execute(f"SELECT * FROM {t}").fetchall() for t in TABLES] == before
    return str(caught.value)


@pytest.mark.parametrize("table", TABLES)
@pytest.mark.parametrize("how", ["UPDATE", "UPDATE OR IGNORE", "UPDATE OR REPLACE"])
def test_no_row_changes(filled: Store, table: str, how: str) -> None:
    number = TABLES[table]
    assert refused(filled, f"{how} {table} SET {number} = {number} + 7") == f"{table} is append-only: no update"


@pytest.mark.parametrize("table", TABLES)
@pytest.mark.parametrize("which", ["", " WHERE rowid = 1"])
def test_no_row_goes(filled: Store, table: str, which: str) -> None:
    assert refused(filled, f"DELETE FROM {table}{which}") == f"{table} is append-only: no delete"


@pytest.mark.parametrize("table", TABLES)
@pytest.mark.parametrize("how", ["INSERT OR REPLACE", "REPLACE"])
def test_no_row_is_replaced_by_number(filled: Store, table: str, how: str) -> None:
    assert refused(filled, f"{how} INTO {table} SELECT * FROM {table}") == f"{table} is append-only: no replace"


def test_no_row_is_replaced_by_key(filled: Store) -> None:
    entry = "REPLACE INTO record SELECT 2, key, at, received, 'ana', kind, face, data FROM record"
    assert refused(filled, entry) == "record is append-only: no replace"
    decision = "REPLACE INTO decision SELECT 2, key, at, 'ana', kind, data FROM decision"
    assert refused(filled, decision) == "decision is append-only: no replace"


def test_revisions_leave_no_gap_and_follow_their_parent(filled: Store) -> None:
    columns = "as_of, saved_at, job_uid, plan, digest FROM revision"
    assert "revision_follows_parent" in refused(filled, f"INSERT INTO revision SELECT 3, 1, {columns}")
    assert "revision_follows_parent" in refused(filled, f"INSERT INTO revision SELECT 2, NULL, {columns}")
