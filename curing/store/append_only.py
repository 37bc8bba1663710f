"""The triggers that let rows be added to the state, never changed or taken away.

The only place of their SQL: a new database and every migration put them on from here.
"""

from __future__ import annotations

from sqlalchemy import Connection, Text, column, select, table

from curing.store import schema

APPEND_ONLY = {"revision": "number", "record": "seq", "decision": "seq"}
"""Tables whose rows never change or go, with the column that numbers them."""

sqlite_master = table("sqlite_master", column("type", Text), column("name", Text))


def trigger_statements(name: str) -> dict[str, str]:
    """Return the triggers of an append-only table: name and statement.

    INSERT needs one too: INSERT OR REPLACE takes the old row away without
    firing the trigger on DELETE (SQLite manual, "ON CONFLICT clause", REPLACE).

    Examples
    --------
    >>> sorted(trigger_statements("record"))
    ['record_no_delete', 'record_no_replace', 'record_no_update']
    """
    number = APPEND_ONLY[name]
    same = f"{number} = NEW.{number}"
    if "key" in schema.metadata.tables[name].c:
        same += " OR key = NEW.key"
    exists = f"WHEN EXISTS (SELECT 1 FROM {name} WHERE {same}) "
    return {
        f"{name}_no_{verb}": f"CREATE TRIGGER {name}_no_{verb} BEFORE {event} ON {name} {condition}"
        f"BEGIN SELECT RAISE(ABORT, '{name} is append-only: no {verb}'); END"
        for verb, event, condition in (
            ("update", "UPDATE", ""),
            ("delete", "DELETE", ""),
            ("replace", "INSERT", exists),
        )
    }


def names(connection: Connection, kind: str) -> set[str]:
    """Return the names of the database's tables or triggers (``kind``: table, trigger)."""
    query = select(sqlite_master.c.name).where(sqlite_master.c.type == kind)
    return set(connection.scalars(query))


def drop_triggers(connection: Connection) -> None:
    """Take the triggers off, for a migration inside its one transaction."""
    present = names(connection, "trigger")
    for name in APPEND_ONLY:
        for trigger in trigger_statements(name):
            if trigger in present:
                connection.exec_driver_sql(f"DROP TRIGGER {trigger}")


def create_triggers(connection: Connection) -> None:
    """Put the triggers on every append-only table that is there."""
    present = names(connection, "table")
    for name in APPEND_ONLY:
        if name in present:
            for statement in trigger_statements(name).values():
                connection.exec_driver_sql(statement)
