"""People's links in the database, and the key file from which they are made."""

from __future__ import annotations

import os
import secrets
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path

from sqlalchemy import Connection, insert, select, update

from curing.model.links import KEY_BYTES, Link
from curing.store import schema
from curing.store.faults import fault

KEY_FILE = "links.key"
"""Beside the database; whoever has it can make every link of the job."""

_l = schema.link.c


def links(connection: Connection) -> list[Link]:
    """Return all links, by person and generation."""
    rows = connection.execute(select(schema.link).order_by(_l.person, _l.generation)).mappings()
    return [Link(**row) for row in rows]


def add(connection: Connection, link: Link) -> None:
    """Keep a link, and revoke the generations before it at the instant it was made."""
    connection.execute(
        update(schema.link).where(_l.person == link.person, _l.revoked.is_(None)).values(revoked=link.made)
    )
    values = {name: getattr(link, name) for name in ("person", "generation", "hash", "made", "revoked", "fetched")}
    connection.execute(insert(schema.link).values(**values))


def revoke(connection: Connection, person: str, at: datetime) -> None:
    """Let no link of a person open anything any more."""
    connection.execute(update(schema.link).where(_l.person == person, _l.revoked.is_(None)).values(revoked=at))


def fetched(connection: Connection, when: Mapping[str, datetime]) -> None:
    """Note when feeds were last fetched: hash of the link → instant."""
    for digest, at in when.items():
        connection.execute(update(schema.link).where(_l.hash == digest).values(fetched=at))


def key(database: Path) -> bytes:
    """Return the key of a state's links; made at the first call, readable by its owner alone.

    Raises
    ------
    StateError
        The file there is no such key.
    """
    file = database.parent / KEY_FILE
    try:
        made = file.read_bytes()
    except FileNotFoundError:
        made = _made(file)
    if len(made) != KEY_BYTES:
        raise fault(
            file,
            f"state: {len(made)} bytes, but the key of the links has {KEY_BYTES}; put back a backup, or take the file "
            "away: then every link is void, and new ones are made",
        )
    return made


def _made(file: Path) -> bytes:
    """Make the key beside and link it into place, so that of two processes one is first and none sees half."""
    aside = file.with_name(f".{file.name}.{os.getpid()}.{secrets.token_hex(4)}")
    handle = os.open(aside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    try:
        with os.fdopen(handle, "wb") as out:
            out.write(secrets.token_bytes(KEY_BYTES))
            out.flush()
            os.fsync(out.fileno())
        try:
            os.link(aside, file)
        except FileExistsError:
            pass
        except OSError:  # a file system without hard links
            os.replace(aside, file)
            return file.read_bytes()
    finally:
        aside.unlink(missing_ok=True)
    return file.read_bytes()
