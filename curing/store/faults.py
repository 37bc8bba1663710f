"""What SQLite and the file system refuse, said so that a person can mend it."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy.exc import DBAPIError

from curing.errors import Place, Problem, StateError

BUSY_MS = 5000
"""How long a writer waits for another one before it gives up [ms]."""

LOCKS = Path("/proc/locks")


class MissingState(StateError):
    """Nothing has been saved yet: there is no database, or an empty one."""


class OtherUnderKey(StateError):
    """A key stands for an entry that says something else: what came under it is never kept."""


class PlannedMeanwhile(StateError):
    """Another process saved a plan since the one that this follows."""


def fault(path: Path, text: str) -> StateError:
    """Return the error about one file or folder of the state."""
    return StateError(Problem(Place(str(path)), text))


def lock_holder(database: Path) -> int | None:
    """Return the process that holds a write lock on the database, or None if none can be named.

    Reads the kernel's list of locks (Linux) instead of asking through an open
    file: closing such a file would drop this process's own locks (SQLite
    manual, "How To Corrupt An SQLite Database File", section 2.2).
    """
    try:
        files = {_as_the_kernel_writes_it(Path(f"{database}{end}")) for end in ("", "-shm")}
        lines = LOCKS.read_text(encoding="ascii").splitlines()
    except OSError:
        return None
    for line in lines:
        words = line.split()
        if len(words) == 8 and words[3] == "WRITE" and words[5] in files and int(words[4]) > 0:
            return int(words[4])
    return None


def _as_the_kernel_writes_it(file: Path) -> str:
    try:
        about = file.stat()
    except FileNotFoundError:
        return ""
    return f"{os.major(about.st_dev):02x}:{os.minor(about.st_dev):02x}:{about.st_ino}"


def _locked(database: Path) -> str:
    holder = lock_holder(database)
    who = f"process {holder}" if holder else "another process"
    return (
        f"state: locked by {who} for more than {BUSY_MS / 1000:g} s, nothing was changed; "
        "one process writes at a time; wait until it has finished or end it, then try again"
    )


_TEXTS = {
    sqlite3.SQLITE_READONLY: (
        "state: the folder or the database is read-only for this user, nothing was changed; "
        "saving needs the right to write to both; give that right or name another folder with --state"
    ),
    sqlite3.SQLITE_FULL: (
        "state: the disk is full, nothing was changed; saving needs free space; free some space, then try again"
    ),
    sqlite3.SQLITE_IOERR: (
        "state: the disk refused to read or write ({name}), nothing was changed; "
        "saving needs space, quota and a sound disk; check these, then try again"
    ),
    sqlite3.SQLITE_CANTOPEN: (
        "state: the database can't be opened; reading needs the right to read the file and its -wal, "
        "saving the right to write to the folder; give that right or name another folder with --state"
    ),
    sqlite3.SQLITE_NOTADB: (
        "state: this file is not a database, or its beginning is damaged; nothing was changed; "
        "put back a backup, or move the file away and plan anew"
    ),
    sqlite3.SQLITE_CORRUPT: (
        "state: the database is damaged; a damaged record is neither used nor added to; "
        "put back a backup, or move the state folder away and plan anew"
    ),
}
_TEXTS[sqlite3.SQLITE_PERM] = _TEXTS[sqlite3.SQLITE_CANTOPEN]
_TEXTS[sqlite3.SQLITE_AUTH] = _TEXTS[sqlite3.SQLITE_CANTOPEN]


def _sqlite_text(database: Path, error: BaseException) -> str | None:
    code: int | None = getattr(error, "sqlite_errorcode", None)
    if code is None:
        return None
    primary = code & 0xFF  # the higher bits only tell the finer kind
    if primary in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        return _locked(database)
    text = _TEXTS.get(primary)
    return text and text.format(name=getattr(error, "sqlite_errorname", code))


@contextmanager
def named_faults(database: Path) -> Iterator[None]:
    """Turn what the database or the file system refuses into a StateError.

    An error that no person at the site can mend (a wrong statement, a broken
    constraint) passes as it is.
    """
    try:
        yield
    except (DBAPIError, sqlite3.Error) as error:
        cause = error.orig if isinstance(error, DBAPIError) else error
        text = _sqlite_text(database, cause) if cause else None
        if text is None:
            raise
        raise fault(database, text) from error
    except OSError as error:
        place = Path(error.filename) if isinstance(error.filename, str) else database
        raise fault(
            place,
            f"state: {error.strerror or error}; the state needs a folder that can be read and written; "
            "mend that or name another folder with --state",
        ) from error
