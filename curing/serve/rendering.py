"""Pages from templates: everything that goes in is data, escaped, and every sentence comes from the catalogue."""

from __future__ import annotations

import hashlib
import importlib.resources
from collections.abc import Mapping
from functools import cache
from typing import Any

from jinja2 import Environment, FunctionLoader, StrictUndefined
from markupsafe import Markup

from curing.publish.marks import mark

_FOLDER = importlib.resources.files("curing.templates").joinpath("pages")
_SCRIPT = "text/javascript; charset=utf-8"
STATIC: Mapping[str, str] = {
    "curing.css": "text/css; charset=utf-8",
    "icon.svg": "image/svg+xml",
    "queue.js": _SCRIPT,
    "clock.js": _SCRIPT,
    "ticks.js": _SCRIPT,
    "page.js": _SCRIPT,
}
"""Files that pages load → their type."""
WORKER = "sw.js"
NO_SIGNAL = "no-signal.html"


@cache
def static_file(name: str) -> bytes:
    """Return a file that pages load."""
    return _FOLDER.joinpath(name).read_bytes()


@cache
def static_version() -> str:
    """Return a digest of all files that pages load: it stands in their address, so that none is ever stale."""
    whole = hashlib.sha256(b"".join(static_file(name) for name in (*STATIC, WORKER, NO_SIGNAL, "kept.html")))
    return whole.hexdigest()[:12]


def static_path(name: str) -> str:
    """Return the address of a file that pages load."""
    return f"/static/{static_version()}/{name}"


def _read(name: str) -> str:
    return _FOLDER.joinpath(name).read_text(encoding="utf-8")


@cache
def _environment() -> Environment:
    made = Environment(
        loader=FunctionLoader(_read),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )
    made.globals["mark"] = lambda name: Markup(mark(name))
    made.globals["static"] = static_path
    made.filters["svg"] = Markup
    return made


def render(template: str, values: Mapping[str, Any]) -> str:
    """Return a page."""
    return _environment().get_template(template).render(values)
