"""Faces that somebody has to look over: frost in the cure, or a visit of the first days that did not take place.

A longer tending mends no crack, so the lead is called at once. The look is asked for until an inspection finds the
face sound.
"""

from __future__ import annotations

from collections.abc import Iterable
from collections.abc import Set as AbstractSet
from contextlib import suppress
from datetime import date, datetime

from curing.model.plan import Booking, Notice, Reason, Value
from curing.planning.expand import FaceWork
from curing.planning.worktime import Worktime, instant, local, zone_of

RULES = {"inspect": "visit.missed", "inspect_frost": "weather.frost"}
"""Question that asks for a look → the rule behind it."""


def wrong_since(booking: Booking) -> datetime:
    """Return from when on a look over a face answers its booking: since the frost, or the day of a missed visit.

    Where the plan does not say when, on the day of the booking.
    """
    zone, values = zone_of(booking.zone), booking.reason.values
    day, hour, minute = local(zone, booking.start)[0], 0, 0
    with suppress(ValueError):
        day = date.fromisoformat(str(values.get("first")))
        hour, minute = (int(part) for part in str(values.get("clock", "00:00")).split(":"))
    return instant(zone, day, 60 * hour + minute)


def inspection(coat: str) -> str:
    """Return the id of the look over the face of a coat."""
    return f"{coat}.inspect"


def frost_questions(works: Iterable[FaceWork], worktime: Worktime) -> list[Notice]:
    """Return a pressing question for each coat that froze in its cure, until somebody finds its face sound."""
    found = []
    for work in works:
        for coat in work.coats:
            if coat.cure is None or coat.cure.inspect is None:
                continue
            day, minute = local(worktime.zone(work.site), coat.cure.inspect)
            values: dict[str, Value] = {
                "coat": coat.id,
                "first": day.isoformat(),
                "clock": f"{minute // 60:02d}:{minute % 60:02d}",
            }
            found.append(Notice(RULES["inspect_frost"], "inspect_frost", values, (work.id,), urgent=True))
    return found


def wanted(questions: Iterable[Notice], faces: AbstractSet[str], told: AbstractSet[str]) -> dict[str, Reason]:
    """Return coat → why its face is to be looked over, as a thing of its own in a calendar; a missed visit goes first.

    Parameters
    ----------
    questions
        All that is asked.
    faces
        Faces whose hours are known: without weather a missed visit is asked about, and nothing is booked for it.
    told
        Ids of what people were told: what is booked stays until it is answered.
    """
    found: dict[str, Reason] = {}
    for one in questions:
        if one.key not in RULES:
            continue
        coat = str(one.values["coat"])
        if faces.isdisjoint(one.faces) and inspection(coat) not in told:
            continue
        key = "inspect_missed" if one.key == "inspect" else one.key
        values = {name: one.values[name] for name in ("first", "clock") if name in one.values}
        found.setdefault(coat, Reason(RULES[one.key], key, values, coat))
    return found
