"""A peer to compare with: the schedule that a person with a list and a calendar would make.

One coat a crew and day, faces in the order of the list, the first free working day that the waits
allow; nobody's hours, holds, rounds or walks are looked at. It shows what the whole plan costs
beyond counting days, and how much longer a job takes where a crew never lays two faces in a day.
"""

from __future__ import annotations

from collections.abc import Collection
from datetime import date, timedelta

DAY = timedelta(days=1)
WAITS = {"base": 0, "finish": 13, "paint-1": 36, "paint-2": 1}
"""Least days after the coat before: 13 mm at a day each, 28 days of misting and 7 dry ones, a day."""

TENDING = {"base": (3, 3), "finish": (14, 28)}
"""Last day of two visits, last day of one."""


def schedule(faces: int, crews: int, first: date, holidays: Collection[date]) -> dict[tuple[int, str], date]:
    """Return the day of each coat of each face."""
    taken: dict[date, int] = {}
    found: dict[tuple[int, str], date] = {}
    for face in range(faces):
        ready = first
        for coat, wait in WAITS.items():
            day = ready + wait * DAY
            while day.weekday() > 4 or day in holidays or taken.get(day, 0) >= crews:
                day += DAY
            taken[day] = taken.get(day, 0) + 1
            found[face, coat] = ready = day
    return found


def visits(days: dict[tuple[int, str], date]) -> list[tuple[date, int, str]]:
    """Return every visit: day, face, coat."""
    return [
        (laid + k * DAY, face, coat)
        for (face, coat), laid in days.items()
        if coat in TENDING
        for k in range(1, TENDING[coat][1] + 1)
        for _ in range(2 if k <= TENDING[coat][0] else 1)
    ]
