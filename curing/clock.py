"""The only reader of the system clock, with an offset for tests of live servers."""

from __future__ import annotations

import os
import re
from datetime import UTC, datetime, timedelta

OFFSET_VARIABLE = "CURING_CLOCK_OFFSET_SECONDS"


def now() -> datetime:
    """Return the present instant, aware, in UTC, to the second.

    The environment variable ``CURING_CLOCK_OFFSET_SECONDS`` (a whole number of
    at most nine digits, may be negative; anything else counts as none) is
    added, so that a test can move a running server's day.

    Examples
    --------
    >>> now().tzinfo
    datetime.timezone.utc
    """
    offset = os.environ.get(OFFSET_VARIABLE, "")
    seconds = int(offset) if re.fullmatch(r"[+-]?[0-9]{1,9}", offset) else 0
    return datetime.now(UTC).replace(microsecond=0) + timedelta(seconds=seconds)
