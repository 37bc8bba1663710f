"""Worked example A as it goes on by what is said: read, opened, laid; its days counted by hand.

At 52.1 N 5.2 E on the clock of Amsterdam, with the holidays of the Netherlands in 2027: 6 May Ascension,
16 and 17 May Pentecost. Base on Monday 3 May, finish on Tuesday 18 May.
"""

from __future__ import annotations

from datetime import date
from typing import Any

from court import at, coat, day, face, wall
from court_record import Court, recorded_job

from curing.model.plan import Plan, State

PANEL = {"thickness": "300 mm", "filled": "2026-05-01"}
MAY = {number: date(2027, 5, number) for number in range(1, 32)}


def one_wall(**lines: Any) -> Court:
    """Return worked example A before its panel is read."""
    return Court(recorded_job(wall("1", face(**{"start": "2027-05-03", **lines}), panel=PANEL)), at(4, 30, "06:00"))


def opened() -> Court:
    """Return worked example A, read and opened on Friday 30 April: base 3 May, finish 18 May, both firm."""
    court = one_wall()
    court.replan()
    court.now = at(4, 30, "14:00")
    court.check_meter()
    court.read_all("1")
    court.open_panel("1", key="opened")
    plan = court.replan()
    assert [(day(coat(plan, f"1-out.{name}")), coat(plan, f"1-out.{name}").state) for name in ("base", "finish")] == [
        (MAY[3], State.FIRM),
        (MAY[18], State.FIRM),
    ]
    return court


def laid() -> Court:
    """Return worked example A with its base recorded as closed on Monday 3 May."""
    court = opened()
    court.now = at(5, 3, "15:10")
    court.finish("1-out", "base", at(5, 3, "15:00"), key="base laid")
    return court


def dry_base(court: Court) -> None:
    court.say("test", "1-out", "bo", {"test": "hollows", "passed": True, "coat": "base"})
    court.say("hold-met", "1-out", "ida", {"hold": "base-dry"}, key="base dry")


def stands(plan: Plan, id_: str) -> tuple[date, State]:
    return day(coat(plan, id_)), coat(plan, id_).state


def tick(day_: date, slot: str, coat_: str = "base", **more: Any) -> dict[str, Any]:
    return {"coat": coat_, "day": day_.isoformat(), "slot": slot, **more}
