"""Writing a plan out: files are written aside, then renamed, so that nobody reads half a plan."""

from __future__ import annotations

import json
import os
import re
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from curing.errors import OutputError
from curing.model.quantities import clip

CALENDARS = "calendars"
PLAN = "plan.json"
MOST_BYTES = 64_000_000
"""A plan.json larger than this is not read; about four times the plan of 1,000 faces."""

_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9-]{0,31}")


def write_out(out: Path, plan: str, feeds: Mapping[str, bytes]) -> None:
    """Write ``plan.json`` and ``calendars/NAME.ics`` into a folder; the plan last.

    Calendars of people who left the job are removed, as far as the plan that stood there
    before names them; any other file in the folder is let alone.

    Raises
    ------
    OutputError
        The folder is a file, read-only or full, or holds the plan of another job; what
        stood there stays whole, file by file.
    """
    folder = out / CALENDARS
    try:
        before = _plan_before(out / PLAN)
        _same_job(out, before.get("job"), json.loads(plan)["job"])
        folder.mkdir(parents=True, exist_ok=True)
        for name, body in feeds.items():
            _replace(folder / f"{name}.ics", body)
        # Where a disk takes capitals for small letters, the calendar just written must not go.
        stays = {name.casefold() for name in feeds}
        for name in _people(before):
            if name.casefold() not in stays:
                (folder / f"{name}.ics").unlink(missing_ok=True)
        _replace(out / PLAN, plan.encode())
    except OSError as error:
        where = error.filename or out
        raise OutputError(
            f"{out}: can't be written ({error.strerror or error}: {where}); "
            "free some space or give another folder with --out; files there before are whole"
        ) from None


def write_file(path: Path, body: bytes) -> None:
    """Write one file, whole or not at all.

    Raises
    ------
    OutputError
        It can't be written; what stood there stays whole.
    """
    try:
        _replace(path, body)
    except OSError as error:
        text = f"{path}: can't be written ({error.strerror or error}); give another place; a file there before is whole"
        raise OutputError(text) from None


def _plan_before(path: Path) -> Mapping[str, Any]:
    """Return the plan that stands there, nothing where there is none or it can't be read as one."""
    if not path.is_file() or path.stat().st_size > MOST_BYTES:
        return {}
    try:
        plan = json.loads(path.read_bytes())
    except (ValueError, RecursionError):
        return {}
    return plan if isinstance(plan, dict) else {}


def _same_job(out: Path, before: object, job: str) -> None:
    if isinstance(before, str) and before != job:
        raise OutputError(
            f"{out}: holds the plan of another job, uid {clip(before)}, and this one has uid {job}; "
            "give each job a folder of its own with --out"
        )


def _people(plan: Mapping[str, Any]) -> list[str]:
    """Return the people whose calendars a plan wrote; nobody where any of it is not as it is written here."""
    people = plan.get("people")
    if not isinstance(plan.get("job"), str) or not isinstance(people, list):
        return []
    ids = [person.get("id") if isinstance(person, dict) else None for person in people]
    sound = [name for name in ids if isinstance(name, str) and _ID.fullmatch(name)]
    return sound if len(sound) == len(ids) else []


def _replace(path: Path, body: bytes) -> None:
    if path.is_file() and path.read_bytes() == body:
        return
    handle, aside = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(body)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(aside, 0o644)
        os.replace(aside, path)
    except BaseException:
        Path(aside).unlink(missing_ok=True)
        raise
