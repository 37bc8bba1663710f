"""Forms of values in the settings file: files, addresses on the web, text with places to fill."""

from __future__ import annotations

import ipaddress
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any, TypeVar
from urllib.parse import urlsplit

from pydantic import BaseModel, BeforeValidator

from curing.model.quantities import clip
from curing.sources.validation import unknown

PLACEHOLDERS = ("to", "subject", "short", "text", "link", "key", "secret")
"""What a gateway's address, headers and body may ask for, each in braces."""
MARK = re.compile(r"\{([a-z]+)\}")
_MEANT = re.compile(r"\{\s*([A-Za-z][\w -]{0,30})\}")
_HOST = re.compile(r"[A-Za-z0-9](?:[A-Za-z0-9.-]{0,252}[A-Za-z0-9])?")
_SEEN = re.compile(r"[!-~]+")

Model = TypeVar("Model", bound=BaseModel)


def _path(value: Any) -> Any:
    return Path(value) if isinstance(value, str) and value else value


File = Annotated[Path, BeforeValidator(_path)]
"""A path; it counts from the folder of the settings file, see :func:`counted_from`."""


def counted_from(model: Model, folder: Path) -> Model:
    """Return settings with every path in them counted from a folder.

    Examples
    --------
    >>> from pydantic import create_model
    >>> counted_from(create_model("One", key=(File, ...))(key="k.pem"), Path("/srv")).key.as_posix()
    '/srv/k.pem'
    """

    def moved(value: Any) -> Any:
        if isinstance(value, Path):
            return folder / value
        if isinstance(value, BaseModel):
            return counted_from(value, folder)
        if isinstance(value, tuple):
            return tuple(moved(one) for one in value)
        if isinstance(value, Mapping):
            return {name: moved(one) for name, one in value.items()}
        return value

    return model.model_copy(update={name: moved(getattr(model, name)) for name in type(model).model_fields})


def is_here(host: str) -> bool:
    """Return whether a host is this machine itself, so that nobody can listen on the way.

    Examples
    --------
    >>> is_here("127.0.0.1"), is_here("::1"), is_here("localhost"), is_here("10.0.0.5")
    (True, True, True, False)
    """
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host.lower() == "localhost"


def is_host(text: str) -> bool:
    """Return whether a text is the name or number of a host."""
    try:
        ipaddress.ip_address(text)
    except ValueError:
        return bool(_HOST.fullmatch(text)) and ".." not in text
    return True


def checked_url(text: str) -> str:
    """Return an address on the web that secrets and links may travel to; marks may stand behind its host.

    Raises
    ------
    ValueError
        It is none, it holds a password, or it is plain ``http`` to another machine.

    Examples
    --------
    >>> checked_url("https://push.example.org/send?to={to}")
    'https://push.example.org/send?to={to}'
    >>> checked_url("http://push.example.org/")
    Traceback (most recent call last):
    ...
    ValueError: "http://push.example.org/" goes over the net in clear, with links and secrets; write https://
    """
    shown = f'"{clip(text, 60)}"'
    like = "write it like https://push.example.org/send"
    if not _SEEN.fullmatch(text):
        raise ValueError(f"{shown} has spaces or signs that an address can't have; write them as %20 and so on")
    try:
        parts = urlsplit(text)
        host, _ = parts.hostname or "", parts.port
    except ValueError:
        raise ValueError(f"{shown} is no address on the web; {like}") from None
    if MARK.search(parts.scheme + parts.netloc):
        raise ValueError(f"{shown} asks for a part of its host; what is filled in stands behind the host")
    if "@" in parts.netloc:
        raise ValueError("the address holds a user or password; name the secret by secret_file, and write {secret}")
    if parts.scheme not in ("http", "https") or not is_host(host):
        raise ValueError(f"{shown} is no address on the web; {like}")
    if parts.fragment or text.endswith("#"):
        raise ValueError(f"{shown} has a part after #, which is never sent; delete it")
    if parts.scheme == "http" and not is_here(host):
        raise ValueError(f"{shown} goes over the net in clear, with links and secrets; write https://")
    return text


def checked_marks(text: str) -> str:
    """Return a text of which every mark, ``{to}``, is one that can be filled in.

    Raises
    ------
    ValueError
        A mark is unknown.

    Examples
    --------
    >>> checked_marks('for {to}: {short}')
    'for {to}: {short}'
    >>> checked_marks('{adress}')
    Traceback (most recent call last):
    ...
    ValueError: unknown mark "{adress}"; write one of "{to}", "{subject}", "{short}", "{text}", "{link}", "{key}", ...
    """
    for found in _MEANT.finditer(text):
        if found[0] not in (marks := [f"{{{name}}}" for name in PLACEHOLDERS]):
            raise ValueError(unknown("mark", found[0], marks))
    return text


def asks_for(name: str, value: Any) -> bool:
    """Return whether a text, or any text inside a mapping or list, has a mark.

    Examples
    --------
    >>> asks_for("secret", {"auth": ["{secret}"]}), asks_for("secret", "{to}")
    (True, False)
    """
    if isinstance(value, Mapping):
        return any(asks_for(name, one) for one in value.values())
    if isinstance(value, list | tuple):
        return any(asks_for(name, one) for one in value)
    return isinstance(value, str) and f"{{{name}}}" in value
