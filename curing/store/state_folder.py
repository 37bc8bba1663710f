"""Opening the state of a job: made, migrated and checked as far as is due."""

from __future__ import annotations

import os
from pathlib import Path

from sqlalchemy import Connection, Engine, select

from curing import clock
from curing.errors import Place, Problem
from curing.store import migrating, schema
from curing.store.connecting import engine_for, for_writing
from curing.store.faults import MissingState, fault, named_faults
from curing.store.location import DATABASE, file_of_url, sync_warning
from curing.store.migrating import Standing
from curing.store.store import Store


def open_state(
    folder: Path,
    job_uid: str,
    *,
    create: bool = True,
    read_only: bool = False,
    database_url: str | None = None,
) -> Store:
    """Open the state of a job.

    Parameters
    ----------
    folder
        The state folder; not looked at when there is a ``database_url``.
    job_uid
        The ``uid`` of the job file; the state of another job is refused.
    create
        Whether to make folder and database where there are none.
    read_only
        Whether to open without making, migrating or changing anything; works
        in a folder that this user can't write to.
    database_url
        An SQLite database that lies elsewhere, ``sqlite:///FILE``; its folder
        must be there.

    Raises
    ------
    MissingState
        If nothing is saved yet and ``create`` is off or ``read_only`` is on.
    StateError
        If the state can't be used: no folder, locked, read-only, full, damaged,
        from a newer curing, or another job's.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as place, open_state(Path(place) / "alder-court.state", "u1") as store:
    ...     store.latest() is None
    True
    """
    database = file_of_url(database_url) if database_url else Path(os.path.abspath(folder)) / DATABASE
    create = create and not read_only
    with named_faults(database):
        _check_place(database, create=create, make_folder=not database_url)
        engine = engine_for(database, create=create, read_only=read_only)
        try:
            _prepare(engine, database, job_uid, create=create, read_only=read_only)
        except BaseException:
            engine.dispose()
            raise
    warning = sync_warning(Path(os.path.realpath(database.parent)))
    return Store(engine, database, job_uid, (warning,) if warning else ())


def _check_place(database: Path, *, create: bool, make_folder: bool) -> None:
    folder = database.parent
    if folder.exists() and not folder.is_dir():
        raise fault(
            folder,
            "state: this is a file; the state needs a folder; move the file away or name another folder with --state",
        )
    if database.is_dir():
        raise fault(database, "state: this is a folder; the database is a file; move the folder away")
    if database.exists():
        return
    if not create:
        raise _missing(database)
    if make_folder:
        folder.mkdir(parents=True, exist_ok=True)
    elif not folder.exists():
        raise fault(
            folder,
            "state: there is no such folder; the folder of CURING_DATABASE_URL is not made for you; "
            "make it or correct the address",
        )


def _missing(database: Path) -> MissingState:
    text = "state: nothing is saved here yet; this needs a saved plan; plan first, or correct --state"
    return MissingState(Problem(Place(str(database)), text))


def _prepare(engine: Engine, database: Path, job_uid: str, *, create: bool, read_only: bool) -> None:
    """Make or migrate what is due, and check whose state it is."""
    with engine.begin() as connection:
        how = migrating.standing(connection, database)
    if how is Standing.EMPTY:
        if not create:
            raise _missing(database)
        _create(engine, database, job_uid)
    with engine.begin() as connection:
        _check_owner(connection, database, job_uid)
    if how is Standing.OLDER:
        if read_only:
            raise fault(
                database,
                "state: written by an older curing; reading alone can't bring it forward; "
                "plan once where it can be written",
            )
        migrating.upgrade(engine, database)


def _create(engine: Engine, database: Path, job_uid: str) -> None:
    with for_writing(engine).begin() as connection:
        # another process may have been first since we looked
        if migrating.standing(connection, database) is Standing.EMPTY:
            migrating.create(connection, job_uid, clock.now())


def _check_owner(connection: Connection, database: Path, job_uid: str) -> None:
    query = select(schema.state.c.value).where(schema.state.c.key == "job_uid")
    owner = connection.scalar(query)
    if owner != job_uid:
        raise fault(
            database,
            f'state: belongs to the job with uid "{owner}", the job file says uid "{job_uid}"; one folder '
            f'keeps one job; put "uid: {owner}" back into the job file, or name another folder with --state',
        )
