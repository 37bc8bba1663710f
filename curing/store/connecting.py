"""Connections to the database, each with the settings that keep promises."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from time import monotonic, sleep

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.pool import QueuePool

from curing.store import faults

_BEGIN = "curing_begin"


def _connect(uri: str) -> sqlite3.Connection:
    # isolation_level None: the driver begins nothing by itself, see _begin
    return sqlite3.connect(uri, uri=True, isolation_level=None, check_same_thread=False, timeout=faults.BUSY_MS / 1000)


def _set(connection: sqlite3.Connection) -> None:
    connection.execute(f"PRAGMA busy_timeout = {faults.BUSY_MS}")
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute("PRAGMA foreign_keys = ON")


def _write_ahead(connection: sqlite3.Connection) -> str:
    """Turn write-ahead logging on and return the journal mode that holds.

    While several processes make one database, this change can be refused at once, without
    the busy timeout (SQLite does not wait where waiting could lock both); so it is tried again here.
    """
    until = monotonic() + faults.BUSY_MS / 1000
    while True:
        try:
            return str(connection.execute("PRAGMA journal_mode = WAL").fetchone()[0])
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode & 0xFF != sqlite3.SQLITE_BUSY or monotonic() > until:
                raise
            sleep(0.01)


def _to_write(database: Path, mode: str) -> sqlite3.Connection:
    connection = _connect(f"{database.as_uri()}?mode={mode}")
    try:
        _set(connection)
        journal = _write_ahead(connection)
        if journal != "wal":
            raise faults.fault(
                database,
                f"state: this file system keeps a {journal} journal only; a lasting record needs "
                "write-ahead logging; keep the state on a local disk with --state",
            )
    except BaseException:
        connection.close()
        raise
    return connection


def _to_read(database: Path) -> sqlite3.Connection:
    """Open without changing a row, also where this user may not write.

    In a folder that can't be written, SQLite can't make the shared-memory file
    of write-ahead logging. Without anything left in the log, the file itself is
    the whole state and is read as immutable (SQLite manual, "Write-Ahead
    Logging", section "Read-Only Databases").
    """
    connection = _connect(f"{database.as_uri()}?mode=rw")
    try:
        _set(connection)
        connection.execute("PRAGMA query_only = ON")
        connection.execute("SELECT 1 FROM sqlite_master").fetchone()
        return connection
    except sqlite3.OperationalError as error:
        connection.close()
        unwritable = error.sqlite_errorcode & 0xFF in (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN)
        if not unwritable or _log_holds_something(database):
            raise
    except BaseException:
        connection.close()
        raise
    connection = _connect(f"{database.as_uri()}?immutable=1")
    _set(connection)
    connection.execute("PRAGMA query_only = ON")
    return connection


def _log_holds_something(database: Path) -> bool:
    log = Path(f"{database}-wal")
    return log.exists() and log.stat().st_size > 0


def _begin(connection: Connection) -> None:
    # a writer takes its place at once: turning from reader to writer half way can't wait
    how = connection.get_execution_options().get(_BEGIN, "DEFERRED")
    connection.exec_driver_sql(f"BEGIN {how}")


def engine_for(database: Path, *, create: bool, read_only: bool) -> Engine:
    """Return an engine with its pool; ``create`` lets a first connection make the file."""
    if read_only:
        engine = create_engine("sqlite://", creator=lambda: _to_read(database), poolclass=QueuePool)
    else:
        mode = "rwc" if create else "rw"
        engine = create_engine("sqlite://", creator=lambda: _to_write(database, mode), poolclass=QueuePool)
    event.listen(engine, "begin", _begin)
    return engine


def for_writing(engine: Engine) -> Engine:
    """Return the same engine and pool, whose transactions begin as a writer's."""
    return engine.execution_options(**{_BEGIN: "IMMEDIATE"})
