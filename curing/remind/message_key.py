"""The key of a message: the same when the same rows are tried again, so that who takes it can tell a repeat."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence

from curing.model.reminders import Row


def message_key(job_uid: str, rows: Sequence[Row]) -> str:
    """Return the key of the message that tells some rows, 32 hexadecimal digits.

    Parameters
    ----------
    job_uid
        Of the job, since two jobs may have a round on the same day.
    """
    parts = [job_uid, rows[0].person, rows[0].channel, *sorted(row.key for row in rows)]
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()[:32]
