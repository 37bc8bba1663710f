"""The links by which people open a job's pages and calendar: one a person, renewed or revoked at will."""

from __future__ import annotations

import hashlib
import hmac
import re
from base64 import urlsafe_b64encode
from dataclasses import dataclass
from datetime import datetime

TOKEN = re.compile(r"[A-Za-z0-9_-]{43}")
"""Form of a token: 32 bytes in base64url without padding."""

KEY_BYTES = 32
"""[bytes] Length of the key from which the tokens of a job are made."""


@dataclass(frozen=True, slots=True)
class Link:
    """One generation of a person's link, as it is kept: never the token itself.

    Parameters
    ----------
    person
        Root of the person.
    generation
        1 for the first, one more each time it is renewed.
    hash
        SHA-256 of the token, hexadecimal.
    made
        The instant it was made, aware.
    revoked
        The instant from which it opens nothing any more, or None.
    fetched
        When a calendar program last fetched the feed by it, or None.
    """

    person: str
    generation: int
    hash: str
    made: datetime
    revoked: datetime | None = None
    fetched: datetime | None = None


def token(key: bytes, job: str, person: str, generation: int) -> str:
    """Return the secret part of a person's link, 43 signs.

    Parameters
    ----------
    key
        The key file of the job, 32 bytes.
    job
        ``uid:`` of the job.
    person
        Root of the person.
    generation
        From 1.

    Notes
    -----
    HMAC-SHA-256 [1]_ of the three, each after a line feed, which none of them holds.

    References
    ----------
    .. [1] RFC 2104, HMAC: Keyed-Hashing for Message Authentication.

    Examples
    --------
    >>> len(token(bytes(32), "u", "wil", 1)), token(bytes(32), "u", "wil", 1) == token(bytes(32), "u", "wil", 2)
    (43, False)
    """
    said = "\n".join((job, person, str(generation))).encode()
    made = hmac.new(key, said, hashlib.sha256).digest()
    return urlsafe_b64encode(made).rstrip(b"=").decode("ascii")


def digest(secret: str) -> str:
    """Return what is kept of a token: its SHA-256, hexadecimal.

    Examples
    --------
    >>> digest("a")[:8]
    'ca978112'
    """
    return hashlib.sha256(secret.encode()).hexdigest()
