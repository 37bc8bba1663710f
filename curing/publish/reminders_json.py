"""The reminders of a job as JSON, for another program.

The written form is a contract, numbered by :data:`REMINDERS_FORMAT`; new keys may be added to it::

    curing_reminders   1
    job                its name
    as_of              the present instant
    sending            {state: off | well | late | dead | stopped, looked, waiting, oldest, dead, nowhere}
    rows               by due: key, kind, person {id, name}, channel, due, until, intent, state, tries, maybe_twice,
                       accepted (null: not), answer, text, faces,
                       answered: null where nothing answers it, else {done, of, at, by}
                       lost: given up, and the person was not told otherwise
    next               what would go out: key, kind, person, channel ("": none), due, until, intent, faces, text
    unreached          people without a channel: {id, name}

Instants are written ``2027-05-03T12:10:00Z``.
"""

from __future__ import annotations

import json
from datetime import UTC, datetime
from typing import Any

from curing.publish.reminder_rows import Coming, RemindersSeen, Told

REMINDERS_FORMAT = 1


def reminders_json(seen: RemindersSeen) -> str:
    """Return the reminders as JSON text."""
    outbox = seen.outbox
    ids = {one.root: one.id for one in seen.reach}
    return (
        json.dumps(
            {
                "curing_reminders": REMINDERS_FORMAT,
                "job": seen.job,
                "as_of": _instant(seen.now),
                "sending": {
                    "state": seen.sending.value,
                    "looked": _instant(outbox.looked),
                    "waiting": outbox.waiting,
                    "oldest": _instant(outbox.oldest),
                    "dead": outbox.dead,
                    "nowhere": outbox.nowhere,
                },
                "rows": [_row(one) for one in seen.told],
                "next": [_coming(one, ids) for one in seen.coming],
                "unreached": [{"id": one.id, "name": one.name} for one in seen.reach if not one.ways],
            },
            ensure_ascii=False,
            indent=1,
        )
        + "\n"
    )


def _row(one: Told) -> dict[str, Any]:
    row, answered = one.row, one.answered
    return {
        "key": row.key,
        "kind": row.kind.value,
        "person": {"id": one.person, "name": one.name},
        "channel": row.channel,
        "due": _instant(row.due),
        "until": _instant(row.until),
        "intent": row.intent,
        "state": row.state.value,
        "tries": row.tries,
        "maybe_twice": row.again,
        "accepted": _instant(one.accepted),
        "answer": row.answer,
        "text": one.text,
        "faces": list(row.faces),
        "answered": None
        if answered is None
        else {"done": answered.done, "of": answered.of, "at": _instant(answered.at), "by": answered.by},
        "lost": one.lost,
    }


def _coming(one: Coming, ids: dict[str, str]) -> dict[str, Any]:
    occasion = one.occasion
    return {
        "key": occasion.key,
        "kind": occasion.kind.value,
        "person": {"id": ids.get(occasion.person, occasion.person), "name": one.name},
        "channel": one.channel,
        "due": _instant(occasion.due),
        "until": _instant(occasion.until),
        "intent": occasion.intent,
        "faces": list(occasion.faces),
        "text": one.text,
    }


def _instant(at: datetime | None) -> str | None:
    return at.astimezone(UTC).isoformat(timespec="seconds").replace("+00:00", "Z") if at is not None else None
