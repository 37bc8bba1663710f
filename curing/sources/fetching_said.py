"""What an answer says of itself in its headers, and a refusal in its body.

References
----------
RFC 9110, sections 5.6.7 (dates) and 10.2.3 (Retry-After); RFC 9111, sections 4.2.1 (how long an answer stays fresh)
and 4.2.3 (its age).
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from email.utils import parsedate_to_datetime

from curing.model.quantities import clip

LONGEST = timedelta(hours=24)
"""No answer is taken as fresh for longer, and no longer wait is believed, whatever it says of itself."""


def reason_in(body: bytes) -> str:
    """Return what a refusal says of itself in JSON, if anything."""
    try:
        data = json.loads(body)
    except (ValueError, RecursionError):
        return ""
    texts = [data.get(name) for name in ("detail", "reason", "title")] if isinstance(data, dict) else []
    return next((f': "{clip(text, 200)}"' for text in texts if isinstance(text, str) and text), "")


def sendable(value: str | None) -> str:
    """Return a header that can be sent back, or nothing."""
    return value if value and len(value) <= 200 and value.isascii() and value.isprintable() else ""


def wait_asked(value: str | None, now: datetime) -> float | None:
    """Return the seconds a ``Retry-After`` asks for: a number, or a date; at most a day."""
    if value is None:
        return None
    if value.strip().isdecimal() and len(value) < 10:
        return min(float(value), LONGEST.total_seconds())
    at = _http_date(value)
    return None if at is None else min(max((at - now).total_seconds(), 0.0), LONGEST.total_seconds())


def fresh_until(head: Mapping[str, str], now: datetime) -> datetime | None:
    """Return until when an answer is fresh, by our clock: from its own span, so that a wrong clock does no harm."""
    control = head.get("Cache-Control", "").lower()
    age = re.search(r"max-age\s*=\s*\"?([0-9]{1,9})", control)
    if "no-cache" in control or "no-store" in control:
        return None
    if age:
        span = timedelta(seconds=int(age[1]))
    else:
        until, made = _http_date(head.get("Expires", "")), _http_date(head.get("Date", ""))
        if until is None:
            return None
        span = until - (made or now)
    stored = head.get("Age", "")
    if stored.isdecimal() and len(stored) < 8:
        span -= timedelta(seconds=int(stored))
    return now + min(span, LONGEST) if span > timedelta(0) else None


def _http_date(value: str) -> datetime | None:
    try:
        at = parsedate_to_datetime(value)
        return (at if at.tzinfo else at.replace(tzinfo=UTC)).astimezone(UTC)
    except (ValueError, TypeError, IndexError, OverflowError):
        return None
