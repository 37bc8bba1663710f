"""How far revisions, record and decisions have come."""

from __future__ import annotations

from typing import NamedTuple

from sqlalchemy import Connection, func, select

from curing.store import schema


class Heads(NamedTuple):
    """Numbers of the latest revision, entry and decision; 0 before the first."""

    revision: int
    record: int
    decision: int


def heads(connection: Connection) -> Heads:
    """Return the heads as a transaction sees them."""
    columns = (schema.revision.c.number, schema.record.c.seq, schema.decision.c.seq)
    query = select(*(select(func.coalesce(func.max(one), 0)).scalar_subquery() for one in columns))
    return Heads(*connection.execute(query).one())
