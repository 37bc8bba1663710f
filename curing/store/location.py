"""Where the state of a job lies."""

from __future__ import annotations

import os
from pathlib import Path

from sqlalchemy import make_url
from sqlalchemy.exc import ArgumentError

from curing.errors import StateError

DATABASE = "state.db"

COPIED_ELSEWHERE = (
    "dropbox",
    "google drive",
    "googledrive",
    "icloud drive",
    "iclouddrive",
    "mobile documents",
    "nextcloud",
    "onedrive",
    "owncloud",
)
"""How storage services name the folders they copy to other machines; lower case."""


def default_folder(job_file: Path) -> Path:
    """Return the folder of a job's state: beside the job file, named after it.

    Examples
    --------
    >>> default_folder(Path("jobs/alder-court.yaml")).as_posix()
    'jobs/alder-court.state'
    """
    return job_file.with_suffix(".state")


def sync_warning(folder: Path) -> str | None:
    """Return a warning if a storage service seems to copy the folder, by the names on its way.

    Examples
    --------
    >>> sync_warning(Path("/home/ana/OneDrive - Alder Court/job.state")) is None
    False
    >>> sync_warning(Path("/home/ana/jobs/job.state")) is None
    True
    """
    for part in folder.parts:
        name = part.casefold()
        for service in COPIED_ELSEWHERE:
            if name == service or name.startswith(tuple(service + mark for mark in " -(")):
                return (
                    f'{folder}: state: lies in "{part}", which is copied to other machines; copying a '
                    "database in use can damage it; keep the state on a local disk with --state"
                )
    return None


def file_of_url(text: str) -> Path:
    """Return the file of an SQLite address; no message repeats a password."""
    want = "only SQLite files are supported; give sqlite:///FILE or leave CURING_DATABASE_URL out"
    try:
        url = make_url(text)
    except (ArgumentError, ValueError):
        raise StateError(f"CURING_DATABASE_URL: not an address of a database; {want}") from None
    file = url.database or ""
    if url.drivername not in ("sqlite", "sqlite+pysqlite") or file.startswith(":") or not file or url.query:
        shown = url.set(query={}).render_as_string(hide_password=True)
        raise StateError(f'CURING_DATABASE_URL: "{shown}" keeps no state; {want}')
    return Path(os.path.abspath(file))
