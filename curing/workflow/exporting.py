"""Writing a plan out: files are written aside, then renamed, so that nobody reads half a plan."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Mapping
from pathlib import Path

from curing.errors import OutputError

CALENDARS = "calendars"


def write_out(out: Path, plan: str, feeds: Mapping[str, bytes]) -> None:
    """Write ``plan.json`` and ``calendars/NAME.ics`` into a folder; the plan last.

    Calendars of people who left the job are removed.

    Raises
    ------
    OutputError
        The folder is a file, read-only or full; what stood there stays whole, file by file.
    """
    folder = out / CALENDARS
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, body in feeds.items():
            _replace(folder / f"{name}.ics", body)
        for stale in folder.glob("*.ics"):
            if stale.stem not in feeds:
                stale.unlink()
        _replace(out / "plan.json", plan.encode())
    except OSError as error:
        where = error.filename or out
        raise OutputError(
            f"{out}: can't be written ({error.strerror or error}: {where}); "
            "free some space or give another folder with --out; files there before are whole"
        ) from None


def _replace(path: Path, body: bytes) -> None:
    if path.exists() and path.read_bytes() == body:
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
