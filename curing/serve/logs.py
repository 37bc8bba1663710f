"""The server's log: one line a happening, as JSON or text, never with a link in it."""

from __future__ import annotations

import json
import logging
import re
import sys
from typing import Literal

_SECRET = re.compile(r"[A-Za-z0-9_-]{43}")
_OWN = set(logging.LogRecord("", 0, "", 0, "", None, None).__dict__) | {
    "message",
    "asctime",
    "taskName",
    "color_message",
}


def without_links(text: str) -> str:
    """Return a text in which no token can be read.

    Examples
    --------
    >>> without_links("GET /s/" + "x" * 43 + "/today")
    'GET /s/…/today'
    """
    return _SECRET.sub("…", text)


class _Form(logging.Formatter):
    """One line a record: time, level, what, then the named values."""

    def __init__(self, form: Literal["json", "text"]) -> None:
        super().__init__()
        self._json = form == "json"

    def format(self, record: logging.LogRecord) -> str:
        """Return the line of a record."""
        values = {name: value for name, value in record.__dict__.items() if name not in _OWN}
        said: dict[str, object] = {
            "at": self.formatTime(record, "%Y-%m-%dT%H:%M:%S%z"),
            "level": record.levelname.lower(),
            "what": record.getMessage(),
            **values,
        }
        if record.exc_info:
            said["trace"] = self.formatException(record.exc_info)
        if self._json:
            return without_links(json.dumps(said, default=str, ensure_ascii=False))
        rest = " ".join(f"{name}={value}" for name, value in values.items())
        line = f"{said['at']} {said['level']} {said['what']} {rest}".rstrip()
        return without_links(line + (f"\n{said['trace']}" if "trace" in said else ""))


def begin_logging(form: Literal["json", "text"]) -> None:
    """Send the server's log to standard error; requests themselves are logged by :mod:`.app`, without the link."""
    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(_Form(form))
    root = logging.getLogger()
    root.handlers[:] = [handler]
    root.setLevel(logging.INFO)
    for name in ("uvicorn", "uvicorn.error"):
        one = logging.getLogger(name)
        one.handlers[:] = []
        one.propagate = True
    for name in ("uvicorn.error", "alembic", "apscheduler"):  # what they do all the time tells nobody anything
        logging.getLogger(name).setLevel(logging.WARNING)
    logging.getLogger("uvicorn.access").disabled = True
