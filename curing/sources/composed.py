"""The built-in coat systems as they were composed before, so that a command need not compose them again.

Composing the YAML of a system takes longer than all else a short command does. What it gave is kept in the
user's cache folder, beside a digest of the text: another text, another curing or a damaged file is composed
anew, and what is kept is checked like any system. Nothing of a job is kept there.
"""

from __future__ import annotations

import json
import os
import tempfile
from contextlib import suppress
from hashlib import sha256
from pathlib import Path
from typing import Any

from curing import __version__
from curing.errors import Place
from curing.sources.yaml_nodes import Document, compose

FORM = 1
"""Form of what is kept."""


def cache_folder() -> Path | None:
    """Return the folder for what may be lost at any time, by the XDG base directory specification; None: no home."""
    named = os.environ.get("XDG_CACHE_HOME", "")
    if named and os.path.isabs(named):
        return Path(named) / "curing"
    home = os.environ.get("HOME", "")
    return Path(home) / ".cache" / "curing" if home else None


def composed(text: str, path: str) -> Document:
    """Return the document of a text, from the cache where the same text was composed before.

    Parameters
    ----------
    text
        The YAML text.
    path
        Its file, shown in places; the cache keeps one text a file name.
    """
    folder = cache_folder()
    if folder is None:
        return compose(text, path)
    kept = folder / f"{Path(path).stem}.json"
    digest = sha256(f"{FORM} {__version__} {text}".encode()).hexdigest()
    with suppress(OSError, ValueError, KeyError, TypeError, AttributeError):
        found = json.loads(kept.read_bytes())
        if found["digest"] == digest:
            return _document(found, path)
    document = compose(text, path)
    if not document.problems and not document.spoilt:
        with suppress(OSError):
            _keep(kept, {"digest": digest, **_plain(document)})
    return document


def _plain(document: Document) -> dict[str, Any]:
    return {
        "data": document.data,
        "places": [[list(steps), at.line, at.column] for steps, at in document.places.items()],
        "key_places": [[list(steps), at.line, at.column] for steps, at in document.key_places.items()],
        "written": [[list(steps), text] for steps, text in document.written.items()],
    }


def _document(found: dict[str, Any], path: str) -> Document:
    return Document(
        path,
        dict(found["data"]),
        {tuple(steps): Place(path, line, column) for steps, line, column in found["places"]},
        {tuple(steps): Place(path, line, column) for steps, line, column in found["key_places"]},
        {tuple(steps): str(text) for steps, text in found["written"]},
    )


def _keep(kept: Path, found: dict[str, Any]) -> None:
    """Write aside and rename, so that nobody reads half a file."""
    kept.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    handle, aside = tempfile.mkstemp(dir=kept.parent, prefix=f".{kept.name}.")
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            json.dump(found, file)
        os.replace(aside, kept)
    except OSError:
        with suppress(OSError):
            os.unlink(aside)
        raise
