"""Whether the service does its work, for whoever watches over it."""

from __future__ import annotations

from curing import __version__, clock
from curing.errors import CuringError
from curing.publish.reminder_rows import Sending
from curing.serve.served import House, Served


def health(house: House) -> tuple[dict[str, object], bool]:
    """Return what is told, and whether all is well; names no job, person or link."""
    jobs = [_of(served) for served in house.jobs]
    well = all(one["state"] == "well" for one in jobs) and not any(
        served.reminding(clock.now()) in (Sending.DEAD, Sending.STOPPED) for served in house.jobs
    )
    return {"curing": __version__, "at": clock.now().isoformat(), "well": well, "jobs": jobs}, well


def _of(served: Served) -> dict[str, object]:
    try:
        heads = served.job.store.heads()
        state = "well"
    except CuringError:
        heads, state = served.job.last_sight.heads, "state can't be read"
    sight = served.job.last_sight
    return {
        "job": sight.job.file.uid[:8],
        "state": state,
        "job_file": "has faults" if sight.trouble else "valid",
        "revision": heads.revision,
        "entries": heads.record,
        "planned": served.planned_at.isoformat() if served.planned_at else None,
        "planning": served.planning,
        "reminders": _reminders(served),
    }


def _reminders(served: Served) -> dict[str, object]:
    """Return how reminders stood a few seconds ago; reads nothing."""
    outbox = served.outbox
    if outbox is None:
        return {"state": "not looked at yet"}
    return {
        "state": served.reminding(clock.now()).value,
        "looked": outbox.looked.isoformat() if outbox.looked else None,
        "waiting": outbox.waiting,
        "oldest": outbox.oldest.isoformat() if outbox.oldest else None,
        "dead": outbox.dead,
        "nowhere": outbox.nowhere,
    }
