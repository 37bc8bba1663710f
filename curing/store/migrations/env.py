"""Run by alembic: takes the append-only triggers off, migrates, puts them back.

SQLite alters a table by building it anew, which loses its triggers; done here,
no migration can forget them.
"""

from __future__ import annotations

from alembic import context

from curing.store import append_only, schema

connection = context.config.attributes["connection"]
context.configure(connection=connection, target_metadata=schema.metadata, render_as_batch=True)
append_only.drop_triggers(connection)
context.run_migrations()
append_only.create_triggers(connection)
