"""Revisions of the plan: each saved whole, once, after the one before it."""

from __future__ import annotations

import hashlib
import json
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, func, insert, select

from curing.errors import Place, Problem
from curing.store import schema
from curing.store.faults import PlannedMeanwhile, fault

_r = schema.revision.c
_HEADER = (_r.number, _r.parent, _r.as_of, _r.saved_at, _r.digest)


@dataclass(frozen=True)
class RevisionHeader:
    """What is known of a revision without its plan.

    Parameters
    ----------
    number
        1, 2, 3 … without a gap.
    parent
        Number of the revision before it; None for the first.
    as_of
        The instant the plan was made for (UTC).
    saved_at
        The instant it was saved (UTC).
    digest
        SHA-256 of the plan's canonical JSON, in hexadecimal digits.
    """

    number: int
    parent: int | None
    as_of: datetime
    saved_at: datetime
    digest: str


@dataclass(frozen=True)
class SavedRevision(RevisionHeader):
    """A revision with its plan, as it was saved."""

    plan: dict[str, Any]


@dataclass(frozen=True)
class PackedPlan:
    """A plan as the database keeps it: canonical JSON, compressed, and its digest."""

    blob: bytes
    digest: str


def canonical(value: Mapping[str, Any]) -> bytes:
    """Return JSON in the one form that equal values share: sorted keys, no spaces, ASCII.

    Raises
    ------
    TypeError, ValueError
        If something in it has no JSON form (a date, a number that is not finite).

    Examples
    --------
    >>> canonical({"who": "Ana", "at": [7, 30]})
    b'{"at":[7,30],"who":"Ana"}'
    """
    text = json.dumps(value, sort_keys=True, separators=(",", ":"), allow_nan=False)
    return text.encode("ascii")


def pack(plan: Mapping[str, Any]) -> PackedPlan:
    """Return the plan as it is kept."""
    text = canonical(plan)
    return PackedPlan(zlib.compress(text), hashlib.sha256(text).hexdigest())


def save(
    connection: Connection,
    database: Path,
    job_uid: str,
    packed: PackedPlan,
    *,
    parent: int | None,
    as_of: datetime,
    saved_at: datetime,
) -> int:
    """Add the revision after ``parent`` and return its number.

    Raises
    ------
    PlannedMeanwhile
        If ``parent`` is not the latest: somebody else planned meanwhile.
    """
    latest: int | None = connection.scalar(select(func.max(_r.number)))
    if parent != latest:
        text = (
            f"state: the new plan follows {_named(parent)}, but the latest is {_named(latest)}: another "
            "process planned meanwhile; a plan follows the latest one; plan again"
        )
        raise PlannedMeanwhile(Problem(Place(str(database)), text))
    number = (latest or 0) + 1
    connection.execute(
        insert(schema.revision).values(
            number=number,
            parent=parent,
            as_of=as_of,
            saved_at=saved_at,
            job_uid=job_uid,
            plan=packed.blob,
            digest=packed.digest,
        )
    )
    return number


def _named(number: int | None) -> str:
    return "no revision" if number is None else f"revision {number}"


def headers(connection: Connection) -> list[RevisionHeader]:
    """Return all revisions without their plans, first to latest."""
    return [RevisionHeader(*row) for row in connection.execute(select(*_HEADER).order_by(_r.number))]


def latest(connection: Connection, database: Path) -> SavedRevision | None:
    """Return the latest revision, or None before the first."""
    query = select(*_HEADER, _r.plan).order_by(_r.number.desc()).limit(1)
    row = connection.execute(query).first()
    return None if row is None else _unpack(database, row)


def one(connection: Connection, database: Path, number: int) -> SavedRevision:
    """Return a revision by its number.

    Raises
    ------
    StateError
        If there is none of that number, or its plan is damaged.
    """
    row = connection.execute(select(*_HEADER, _r.plan).where(_r.number == number)).first()
    if row is None:
        last = connection.scalar(select(func.max(_r.number))) or 0
        ask = f"the latest is {last}; ask for one of 1 to {last}" if last else "no plan is saved; plan first"
        raise fault(database, f"revision {number}: there is none; {ask}")
    return _unpack(database, row)


def _unpack(database: Path, row: Sequence[Any]) -> SavedRevision:
    number, parent, as_of, saved_at, digest, blob = row
    try:
        text = zlib.decompress(blob)
    except zlib.error:
        text = b""
    if hashlib.sha256(text).hexdigest() != digest:
        raise fault(
            database,
            f"revision {number}: its plan is not the one that was saved (its digest is not {digest[:12]}…); "
            "a damaged plan is not used; put back a backup",
        )
    return SavedRevision(number, parent, as_of, saved_at, digest, json.loads(text))
