"""Bringing a database to the present version of the tables."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from enum import Enum
from pathlib import Path

from sqlalchemy import Connection, Engine, insert, select

from curing.errors import StateError
from curing.store import append_only, schema
from curing.store.connecting import for_writing
from curing.store.faults import fault

SCRIPTS = "curing.store:migrations"
"""Where alembic finds the migrations: a package, so that they travel in the wheel."""


class Standing(Enum):
    """How the tables of a database stand to this version of curing."""

    EMPTY = "empty"
    OLDER = "older"
    PRESENT = "present"


def standing(connection: Connection, database: Path) -> Standing:
    """Tell how the tables stand, by plain SQL, without alembic.

    Raises
    ------
    StateError
        If the database is of something else, of a newer curing, or not whole.
    """
    tables = append_only.names(connection, "table")
    if not tables:
        return Standing.EMPTY
    if not {"alembic_version", "state"} <= tables:
        raise fault(
            database,
            f'state: a database of something else (it has a table "{min(tables)}"); '
            "one folder keeps the state of one job; name another folder with --state",
        )
    version = connection.scalar(select(schema.alembic_version.c.version_num))
    form = connection.scalar(select(schema.state.c.value).where(schema.state.c.key == "format"))
    if version is None or form is None:
        raise _not_whole(database, "version")
    if version not in schema.VERSIONS or not form.isdigit() or int(form) > schema.FORMAT:
        raise _newer(database, version, form)
    if version != schema.VERSIONS[-1]:
        return Standing.OLDER
    _check_whole(connection, database, tables)
    return Standing.PRESENT


def _newer(database: Path, version: str, form: str) -> StateError:
    return fault(
        database,
        f"state: version {version}, format {form}, written by a newer curing; this one knows versions up to "
        f"{schema.VERSIONS[-1]}, format {schema.FORMAT}; install the newer one or use another --state",
    )


def _check_whole(connection: Connection, database: Path, tables: set[str]) -> None:
    wanted = {name for table in append_only.APPEND_ONLY for name in append_only.trigger_statements(table)}
    missing = (set(schema.metadata.tables) - tables) | (wanted - append_only.names(connection, "trigger"))
    if missing:
        raise _not_whole(database, min(missing))


def _not_whole(database: Path, missing: str) -> StateError:
    return fault(
        database,
        f'state: its "{missing}" is missing; a record is only safe in a whole database; put back a backup',
    )


def create(connection: Connection, job_uid: str, created: datetime) -> None:
    """Make the present tables in an empty database and say whose they are."""
    schema.metadata.create_all(connection)
    append_only.create_triggers(connection)
    connection.execute(insert(schema.alembic_version).values(version_num=schema.VERSIONS[-1]))
    facts = {"job_uid": job_uid, "created": created.isoformat(), "format": str(schema.FORMAT)}
    connection.execute(insert(schema.state), [{"key": k, "value": v} for k, v in facts.items()])


def upgrade(engine: Engine, database: Path) -> None:
    """Run the migrations that are due, all in one transaction.

    Raises
    ------
    StateError
        If a migrated row points to a row that is gone; nothing is changed then.
    """
    with _without_foreign_keys(engine) as connection, connection.begin():
        run_scripts(connection)
        lost = connection.exec_driver_sql("PRAGMA foreign_key_check").first()
        if lost:
            raise fault(
                database,
                f'state: row {lost[1]} of "{lost[0]}" points to a row of "{lost[2]}" that is gone, nothing '
                "was changed; a migration needs a whole database; put back a backup",
            )


def run_scripts(connection: Connection) -> None:
    """Let alembic bring the tables forward, inside the connection's transaction."""
    from alembic import command  # 0.1 s that only a due migration pays
    from alembic.config import Config

    config = Config(attributes={"connection": connection})
    config.set_main_option("script_location", SCRIPTS)
    command.upgrade(config, "head")


@contextmanager
def _without_foreign_keys(engine: Engine) -> Iterator[Connection]:
    # rebuilding a table drops it, which foreign keys would refuse; the setting
    # can't change inside a transaction, so it goes past SQLAlchemy's own begin
    with for_writing(engine).connect() as connection:
        driver = connection.connection.driver_connection
        assert isinstance(driver, sqlite3.Connection)
        driver.execute("PRAGMA foreign_keys = OFF")
        try:
            yield connection
        finally:
            driver.execute("PRAGMA foreign_keys = ON")
