"""Channels opened from the settings: secrets and certificates read, every fault told at once."""

from __future__ import annotations

import re
import ssl
import stat
from collections.abc import Iterator
from pathlib import Path

from curing.errors import Problem, UsageError
from curing.model.reminders import Answer, Channel
from curing.remind.channels.asking import Request, asked
from curing.remind.channels.connecting import Limits, trusting
from curing.remind.channels.gateway import GatewayChannel
from curing.remind.channels.mail import MailChannel
from curing.remind.channels.to_file import FileChannel
from curing.remind.channels.webhook import WebhookChannel
from curing.sources.reminder_settings import AnyChannel, Email, Gateway, Reminders, ToFile, Webhook

USUAL = Limits()
MOST_SECRET = 4096
"""[bytes] Of a secret's file."""
LEAST_KEY = 16
"""[signs] Of a secret that signs; 32 are as good as the signature itself (RFC 2104, section 3)."""


class _Fault(Exception):
    """One thing that is wrong with a channel."""


def open_channels(reminders: Reminders, limits: Limits = USUAL) -> dict[str, Channel]:
    """Return the channels of the settings, by name.

    Parameters
    ----------
    limits
        How long a message may take.

    Raises
    ------
    UsageError
        Secrets or certificates can't be read, or a file has no folder: all of them.

    Examples
    --------
    >>> told = {"channels": {"try": {"kind": "file", "path": "/tmp/told.txt"}}}
    >>> sorted(open_channels(Reminders.model_validate(told)))
    ['try']
    """
    found: dict[str, Channel] = {}
    problems = []
    for name, told in reminders.channels.items():
        faults: list[str] = []
        channel = _opened(name, told, limits, faults)
        problems += [Problem(None, f'reminders: channel "{name}": {fault}') for fault in faults]
        if channel is not None:
            found[name] = channel
    if problems:
        raise UsageError(problems)
    return found


def loose_files(reminders: Reminders) -> tuple[str, ...]:
    """Return a sentence for every secret that others on this machine can read."""
    return tuple(
        f'reminders: channel "{name}": {key} "{path}" can be read by others on this machine; run chmod 600 on it'
        for name, told in reminders.channels.items()
        for key, path in _secret_files(told)
        if _mode(path) & (stat.S_IRGRP | stat.S_IROTH)
    )


def ask_alive(url: str, limits: Limits = USUAL) -> Answer:
    """Ask the address of ``alive:``, so that the watch at another place hears that all is well; never raises."""
    return asked(Request("GET", url), None, limits, (url,))


def _opened(name: str, told: AnyChannel, limits: Limits, faults: list[str]) -> Channel | None:
    secret = next((_read(key, path, faults) for key, path in _secret_files(told)), "")
    context = _context(told.ca_file, faults) if _is_safe(told) and not isinstance(told, ToFile) else None
    if isinstance(told, Webhook) and secret and len(secret) < LEAST_KEY:
        faults.append(f"the secret has {len(secret)} signs; {LEAST_KEY} or more are needed; make one of 32 by chance")
    if isinstance(told, ToFile):
        if not told.path.parent.is_dir():
            faults.append(f'path "{told.path}": there is no such folder; make it')
        elif told.path.is_dir():
            faults.append(f'path "{told.path}": this is a folder; name a file in it')
    if faults:
        return None
    if isinstance(told, Email):
        return MailChannel(name, told, secret or None, context, limits)
    if isinstance(told, Webhook):
        return WebhookChannel(name, told.url, secret.encode("ascii"), context, limits)
    if isinstance(told, Gateway):
        return GatewayChannel(name, told, secret, context, limits)
    return FileChannel(name, told.path)


def _is_safe(told: AnyChannel) -> bool:
    """Return whether a channel goes over TLS."""
    if isinstance(told, ToFile):
        return False
    return told.security != "none" if isinstance(told, Email) else told.url.startswith("https:")


def _secret_files(told: AnyChannel) -> Iterator[tuple[str, Path]]:
    if isinstance(told, Email) and told.password_file is not None:
        yield "password_file", told.password_file
    if isinstance(told, Webhook | Gateway) and told.secret_file is not None:
        yield "secret_file", told.secret_file


def _read(key: str, path: Path, faults: list[str]) -> str:
    """Return a secret: the one line of its file."""
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            raise _Fault("this is no file; name the file that holds the secret")
        with path.open("rb") as source:
            raw = source.read(MOST_SECRET + 1)
    except (OSError, ValueError) as error:
        why = (getattr(error, "strerror", None) or "not a name a file can have").lower()
        faults.append(f'{key} "{path}" can\'t be read: {why}; check name and permissions')
        return ""
    except _Fault as fault:
        faults.append(f'{key} "{path}": {fault}')
        return ""
    text = raw.decode("latin-1").rstrip("\r\n")
    if not text.strip():
        faults.append(f'{key} "{path}" is empty; write the secret into it')
    elif len(raw) > MOST_SECRET or not re.fullmatch(r"[ -~]+", text):
        faults.append(f'{key} "{path}" is not one line of plain letters, digits and signs; write the secret alone')
    else:
        return text
    return ""


def _context(ca_file: Path | None, faults: list[str]) -> ssl.SSLContext | None:
    try:
        return trusting(ca_file)
    except (OSError, ValueError) as error:
        why = "it holds no certificate" if isinstance(error, ssl.SSLError) else (error.strerror or "").lower()  # type: ignore[union-attr]
        faults.append(f'ca_file "{ca_file}" can\'t be used: {why}; name a file with certificates, PEM')
        return None


def _mode(path: Path) -> int:
    try:
        return path.stat().st_mode
    except (OSError, ValueError):
        return 0
