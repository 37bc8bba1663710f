"""What was recorded and decided: appended once, read in order."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from enum import StrEnum
from pathlib import Path
from typing import Any, NamedTuple, TypeVar

from sqlalchemy import Connection, RowMapping, Select, Table, func, insert, select

from curing.errors import Place, Problem
from curing.model.decisions import Decision, DecisionKind
from curing.model.record import RecordEntry, RecordKind
from curing.store import schema
from curing.store.faults import OtherUnderKey, fault
from curing.store.plans import canonical

_Kind = TypeVar("_Kind", bound=StrEnum)

_SAYS = ("by", "kind", "face", "data")


class Appended(NamedTuple):
    """Where an entry stands, and whether it stood there before."""

    seq: int
    already: bool


def append_entry(connection: Connection, database: Path, entry: RecordEntry) -> Appended:
    """Append an entry of the record; see :func:`_append`."""
    row = {
        "key": entry.key,
        "at": entry.at,
        "received": entry.received,
        "by": entry.by,
        "kind": str(entry.kind),
        "face": entry.face,
        "data": canonical(entry.data).decode("ascii"),
    }
    return _append(connection, database, schema.record, row)


def append_decision(connection: Connection, database: Path, decision: Decision) -> Appended:
    """Append a decision; see :func:`_append`."""
    row = {
        "key": decision.key,
        "at": decision.at,
        "by": decision.by,
        "kind": str(decision.kind),
        "data": canonical(decision.data).decode("ascii"),
    }
    return _append(connection, database, schema.decision, row)


def _append(connection: Connection, database: Path, table: Table, row: dict[str, Any]) -> Appended:
    """Append a row unless its key is there already with the same words.

    The times don't count: a page sent again is read at another time. Other
    words under the same key are refused, since taking them for the first would
    lose them.

    Raises
    ------
    OtherUnderKey
        If the key stands for something else.
    """
    before = connection.execute(select(table).where(table.c.key == row["key"])).mappings().first()
    if before is None:
        seq = (connection.scalar(select(func.max(table.c.seq))) or 0) + 1
        connection.execute(insert(table).values(seq=seq, **row))
        return Appended(seq, already=False)
    if any(before[name] != row[name] for name in _SAYS if name in row):
        text = (
            f'{table.name} "{row["key"]}": "{row["kind"]}" by "{row["by"]}" is not what stands under this '
            f'key (number {before["seq"]}, "{before["kind"]}" by "{before["by"]}"); a key stands for one '
            "entry; open the page anew and enter it again"
        )
        raise OtherUnderKey(Problem(Place(str(database)), text))
    return Appended(before["seq"], already=True)


def knows(connection: Connection, key: str) -> bool:
    """Tell whether an entry with that key stands in the record."""
    return connection.scalar(select(schema.record.c.seq).where(schema.record.c.key == key)) is not None


def entries(connection: Connection, database: Path, since_seq: int) -> list[RecordEntry]:
    """Return the entries after ``since_seq``, in the order they were appended."""
    table = schema.record
    with _readable(database, table):
        return [
            RecordEntry(
                key=row["key"],
                at=row["at"],
                received=row["received"],
                by=row["by"],
                kind=_kind(RecordKind, database, row),
                face=row["face"],
                data=json.loads(row["data"]),
                seq=row["seq"],
            )
            for row in connection.execute(_after(table, since_seq)).mappings()
        ]


def decisions(connection: Connection, database: Path, since_seq: int) -> list[Decision]:
    """Return the decisions after ``since_seq``, in the order they were appended."""
    with _readable(database, schema.decision):
        return [
            Decision(
                key=row["key"],
                at=row["at"],
                by=row["by"],
                kind=_kind(DecisionKind, database, row),
                data=json.loads(row["data"]),
                seq=row["seq"],
            )
            for row in connection.execute(_after(schema.decision, since_seq)).mappings()
        ]


@contextmanager
def _readable(database: Path, table: Table) -> Iterator[None]:
    """Turn a time, person or text that no version wrote into a StateError."""
    try:
        yield
    except ValueError as error:
        raise fault(
            database,
            f"{table.name}: one of its rows is damaged ({ascii(str(error))[1:80]}); a damaged record is neither "
            "used nor added to; put back a backup",
        ) from error


def _after(table: Table, since_seq: int) -> Select[Any]:
    return select(table).where(table.c.seq > since_seq).order_by(table.c.seq)


def _kind(kinds: type[_Kind], database: Path, row: RowMapping) -> _Kind:
    try:
        return kinds(row["kind"])
    except ValueError:
        raise fault(
            database,
            f'entry {row["seq"]}: kind "{row["kind"]}" is not known to this curing; every entry is read or '
            "none; install the newer curing that wrote it",
        ) from None
