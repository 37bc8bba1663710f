"""The booking of one coat: who, when, with which sentences and cautions."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime
from zoneinfo import ZoneInfo

from curing.model.evidence import Closed
from curing.model.plan import Booking, Kind, Reason, State, Value
from curing.planning.cloth import sunny
from curing.planning.expand import CoatWork, FaceWork, Identity
from curing.planning.windows import SiteSun
from curing.planning.worktime import EARLIEST, instant, local


def coat_booking(
    work: FaceWork,
    coat: CoatWork,
    crew: str,
    who: Iterable[str],
    start: datetime,
    end: datetime,
    *,
    sun: SiteSun,
    zone: ZoneInfo,
    identity: Identity,
) -> Booking:
    """Return the booking of a coat, firm, without its reason."""
    day, _ = local(zone, start)
    there = {"any": True, "outside": work.outside, "sunny": sunny(work, coat, sun, day)}
    steps = (step.text for step in (*coat.coat.before, *coat.coat.after) if there[step.where])
    return Booking(
        id=coat.id,
        uid=identity.uid("coat", work.root, coat.coat.id),
        kind=Kind.COAT,
        site=work.site,
        zone=zone.key,
        faces=(work.id,),
        task=coat.coat.id,
        who=tuple(who),
        start=start,
        end=end,
        state=State.FIRM,
        reason=Reason("plan.first", "first"),
        crew=crew,
        title=coat.coat.title,
        thickness=coat.thickness,
        notes=tuple(steps),
        cautions=tuple(key for key in coat.coat.cautions if work.outside or key != "cloth"),
        labour=round(coat.labour, 2),
        limits=_limits(work, coat),
    )


def _limits(work: FaceWork, coat: CoatWork) -> dict[str, float]:
    """Return the air temperatures between which the coat is laid [°C], by rule id."""
    rules = (f"{coat.coat.id}.air_least", f"{coat.coat.id}.air_most")
    return {rule: work.book.value(rule) for rule in rules if work.book.has(rule)}


def done_booking(
    work: FaceWork,
    coat: CoatWork,
    crew: str,
    people: tuple[str, ...],
    before: Booking | None,
    *,
    sun: SiteSun,
    zone: ZoneInfo,
    identity: Identity,
    closed: Closed | None = None,
) -> Booking:
    """Return the booking of a coat that is done: it ends when it was closed.

    It starts when it was recorded as begun, else as the parent's booking on the same day does, else as
    its labour asks.
    """
    assert coat.done is not None
    day, minute = coat.done.date(), coat.done.hour * 60 + coat.done.minute
    same = before is not None and local(zone, before.start)[0] == day
    if before is not None and same:
        people, crew = before.who, before.crew
    began = minute - round(coat.labour * 60 / max(1, len(people)))
    if before is not None and same:
        began = local(zone, before.start)[1]
    if closed is not None and closed.began is not None and local(zone, closed.began)[0] == day:
        began = local(zone, closed.began)[1]
    minute = max(minute, 1)
    began = max(0, min(max(EARLIEST, began // 5 * 5), minute - 5))
    booking = coat_booking(
        work,
        coat,
        crew,
        people,
        instant(zone, day, began),
        instant(zone, day, minute),
        sun=sun,
        zone=zone,
        identity=identity,
    )
    values: dict[str, Value] = {"day": day.isoformat()}
    reason = Reason("job.done", "done", values, coat.id)
    if closed is not None:
        said = {**values, "by": closed.cause.name, "entry": closed.cause.key}
        reason = Reason("record.finished", "done_by", said, closed.cause.key)
    return replace(booking, state=State.DONE, reason=reason)
