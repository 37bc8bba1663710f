from __future__ import annotations

import re
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest
from alembic.config import Config
from alembic.script import ScriptDirectory
from state_places import UID

from curing.errors import StateError
from curing.model.record import RecordEntry, RecordKind
from curing.store import connecting, migrating, open_state, schema

SEVEN = datetime(2027, 5, 3, 5, 0, tzinfo=UTC)
MIGRATIONS = Path(migrating.__file__).parent / "migrations"

SECOND = """
import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"


def upgrade():
    with op.batch_alter_table("revision", recreate="always") as batch:
        batch.add_column(sa.Column("note", sa.Text(), server_default=""))
    with op.batch_alter_table("record", recreate="always") as batch:
        batch.add_column(sa.Column("place", sa.Text(), server_default="site"))
"""


def shape(database: Path) -> dict[str, object]:
    """Everything SQLite knows of the tables: columns, keys, indexes, checks, triggers."""
    with sqlite3.connect(database) as raw:
        tables = [row[0] for row in raw.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        about: dict[str, object] = {}
        for table in tables:
            for pragma in ("table_xinfo", "foreign_key_list", "index_list"):
                about[f"{table} {pragma}"] = raw.execute(f"PRAGMA {pragma}({table})").fetchall()
            for index in raw.execute(f"PRAGMA index_list({table})").fetchall():
                about[f"{index[1]}"] = raw.execute(f"PRAGMA index_xinfo({index[1]})").fetchall()
        for kind, name, sql in raw.execute("SELECT type, name, sql FROM sqlite_master"):
            about[f"{kind} {name}"] = re.sub(r'[\s"]+', "", sql or "")
    return about


def triggers(database: Path) -> dict[str, str]:
    with sqlite3.connect(database) as raw:
        return dict(raw.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall())


def test_a_new_database_equals_one_that_the_migrations_made(tmp_path: Path) -> None:
    open_state(tmp_path / "new", UID).close()
    migrated = tmp_path / "migrated.db"
    engine = connecting.engine_for(migrated, create=True, read_only=False)
    migrating.upgrade(engine, migrated)
    engine.dispose()
    new = shape(tmp_path / "new" / "state.db")
    assert new == shape(migrated)
    assert len(triggers(migrated)) == 9
    tables = ("revision", "record", "decision", "state", "link", "outbox", "forecast", "asking", "past_hour")
    assert {f"table {name}" for name in tables} <= set(new)


def test_the_versions_are_those_of_the_scripts() -> None:
    config = Config()
    config.set_main_option("script_location", migrating.SCRIPTS)
    scripts = ScriptDirectory.from_config(config)
    assert tuple(s.revision for s in reversed(list(scripts.walk_revisions()))) == schema.VERSIONS
    assert scripts.get_current_head() == schema.VERSIONS[-1]


@pytest.fixture
def with_second(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[[str], None]:
    """Return a function that gives this curing one more migration."""

    def give(script: str) -> None:
        scripts = tmp_path / "scripts"
        shutil.copytree(MIGRATIONS, scripts, ignore=shutil.ignore_patterns("__pycache__"))
        (scripts / "versions" / "0005_second.py").write_text(script, encoding="utf-8")
        monkeypatch.setattr(migrating, "SCRIPTS", str(scripts))
        monkeypatch.setattr(schema, "VERSIONS", ("0001", "0002", "0003", "0004", "0005"))

    return give


@pytest.fixture
def older(folder: Path) -> Path:
    with open_state(folder, UID) as store:
        for n in range(3):
            store.save_revision({"n": n}, parent=n or None, as_of=SEVEN, saved_at=SEVEN)
            store.append_record(RecordEntry(f"k{n}", SEVEN, SEVEN, "mira", RecordKind.MISTED, data={"n": n}))
    return folder


def test_an_older_database_is_brought_forward_with_its_rows_and_triggers(
    older: Path, with_second: Callable[[str], None]
) -> None:
    before = triggers(older / "state.db")
    with_second(SECOND)
    with open_state(older, UID) as store:
        assert [r.number for r in store.revisions()] == [1, 2, 3]
        assert [e.data for e in store.records()] == [{"n": 0}, {"n": 1}, {"n": 2}]
        assert store.save_revision({"n": 3}, parent=3, as_of=SEVEN, saved_at=SEVEN) == 4
    assert triggers(older / "state.db") == before
    with sqlite3.connect(older / "state.db") as raw:
        assert raw.execute("SELECT version_num FROM alembic_version").fetchall() == [("0005",)]
        assert raw.execute("SELECT place FROM record").fetchall() == [("site",)] * 3
        with pytest.raises(sqlite3.IntegrityError, match="append-only"):
            raw.execute("UPDATE record SET by = 'ana'")


def test_foreign_keys_are_on_again_after_a_migration(older: Path, with_second: Callable[[str], None]) -> None:
    with_second(SECOND)
    with open_state(older, UID) as store, store._reading() as connection:
        assert connection.exec_driver_sql("PRAGMA foreign_keys").scalar() == 1


def test_reading_alone_does_not_migrate(older: Path, with_second: Callable[[str], None]) -> None:
    before = (older / "state.db").read_bytes()
    with_second(SECOND)
    with pytest.raises(StateError, match="written by an older curing; reading alone can't bring it forward"):
        open_state(older, UID, read_only=True)
    assert (older / "state.db").read_bytes() == before


def test_another_jobs_database_is_not_migrated(older: Path, with_second: Callable[[str], None]) -> None:
    with_second(SECOND)
    with pytest.raises(StateError, match="belongs to the job"):
        open_state(older, "other-job")
    with sqlite3.connect(older / "state.db") as raw:
        assert raw.execute("SELECT version_num FROM alembic_version").fetchall() == [("0004",)]


@pytest.mark.parametrize(
    "fault",
    [
        '\n    op.execute("INSERT INTO nowhere VALUES (1)")\n',
        '\n    op.execute("DELETE FROM revision WHERE number = 1")\n',
    ],
)
def test_a_migration_that_fails_half_way_leaves_the_old_state_whole(
    older: Path, with_second: Callable[[str], None], fault: str
) -> None:
    before = shape(older / "state.db")
    with_second(SECOND + fault)
    with pytest.raises(Exception, match=r"nowhere|points to a row"):
        open_state(older, UID)
    assert shape(older / "state.db") == before
    with sqlite3.connect(older / "state.db") as raw:
        assert raw.execute("SELECT count(*) FROM revision").fetchone() == (3,)
        assert raw.execute("SELECT version_num FROM alembic_version").fetchall() == [("0004",)]


def test_alembic_is_not_imported_unless_a_migration_is_due(tmp_path: Path) -> None:
    script = (
        "import sys; from pathlib import Path; from curing.store import open_state\n"
        f"for _ in range(2): open_state(Path({str(tmp_path / 's')!r}), 'u').close()\n"
        "print(sorted(m for m in sys.modules if m.split('.')[0] in "
        "('alembic', 'mako', 'pydantic', 'numpy', 'requests')))"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
