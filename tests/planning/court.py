"""A small job written out by hand, with ways to read its plans: one yard, a crew of two, somebody near by.

At 52.1 N 5.2 E, on the clock of Amsterdam, with the holidays of the Netherlands in 2027:
27 April King's Day, 6 May Ascension, 16 and 17 May Pentecost. The crew works Monday to Friday.
"""

from __future__ import annotations

import copy
from collections import Counter
from datetime import UTC, date, datetime, timedelta
from functools import cache
from typing import Any
from zoneinfo import ZoneInfo

import icalendar
from jobs import read

from curing.model.plan import Booking, Change, CoatDates, FacePlan, Kind, Plan, State
from curing.planning.check import check
from curing.publish.calendar import feeds
from curing.publish.words import Words
from curing.workflow.planning import next_plan

AMSTERDAM = ZoneInfo("Europe/Amsterdam")
DAY = timedelta(days=1)
WORDS = Words("metric")
OPENINGS = ["roof-gutter", "sills-flashings", "boxes-pipes", "gaps-packed", "mesh-beads", "sockets", "sample-panel"]
CREW = {"mon-fri": "07:00-15:30"}


def at(month: int, day: int, clock: str = "06:00") -> datetime:
    """Return an instant of 2027 by the clock of Amsterdam."""
    hour, minute = map(int, clock.split(":"))
    return datetime(2027, month, day, hour, minute, tzinfo=AMSTERDAM).astimezone(UTC)


def face(facing: str = "N", area: str = "10 m2", **more: Any) -> dict[str, Any]:
    return {"side": "out", "facing": facing, "area": area, "height": "2.7 m", "system": "clay-lime", **more}


def wall(id_: str, *faces: dict[str, Any], dry: str | None = None, **more: Any) -> dict[str, Any]:
    """Return a wall; ``dry`` is the day on which its panel was read dry."""
    holds = {"holds": {"panel-dry": dry}} if dry else {}
    return {"id": id_, "name": f"wall {id_}", "faces": list(faces), **holds, **more}


def job_file(*walls: dict[str, Any], near: dict[str, str] | None = None, **more: Any) -> dict[str, Any]:
    """Return a job with a crew of two and somebody near by who mists every day of the week."""
    hours = near or {"mon-sun": "07:00-21:00", "holiday": "07:00-21:00"}
    crew = {"roles": ["lead", "mists"], "reach": "scaffold", "hours": CREW}
    place = {"latitude": 52.1, "longitude": 5.2, "time_zone": "Europe/Amsterdam"}
    return {
        "curing": 1,
        "uid": "5f0c9e1a-93d4-4d0c-8a55-3b1b7a0f2c11",
        "name": "Alder Court",
        "holidays": {"country": "NL"},
        "sites": [{"id": "court", "name": "Alder Court", **place}],
        "people": [
            {"id": "near", "name": "Near", "roles": ["mists"], "hours": hours},
            {"id": "ida", "name": "Ida", **crew},
            {"id": "bo", "name": "Bo", **crew},
        ],
        "crews": [{"id": "render", "name": "Render", "people": ["ida", "bo"]}],
        "holds": dict.fromkeys(OPENINGS, "2027-02-01"),
        "walls": list(walls),
        **more,
    }


def planned(data: dict[str, Any], now: datetime, parent: Plan | None = None) -> Plan:
    """Return the plan of a job, sound when made afresh."""
    job = read(data, now)
    plan, _ = next_plan(job, parent, now, WORDS)
    assert parent or check(job, plan) == []
    return plan


def coat(plan: Plan, id_: str) -> Booking:
    (found,) = [one for one in plan.bookings if one.id == id_]
    return found


def day(booking: Booking) -> date:
    return booking.start.astimezone(AMSTERDAM).date()


def dates(plan: Plan, face_id: str, coat_id: str) -> CoatDates:
    return next(one for one in about(plan, face_id).coats if one.coat == coat_id)


def about(plan: Plan, face_id: str) -> FacePlan:
    return next(one for one in plan.faces if one.id == face_id)


def visits(plan: Plan, face_id: str, coat_id: str) -> Counter[date]:
    """Return how often a coat is visited on each day; the look on laying day is no visit."""
    return Counter(
        day(walk) for walk in plan.rounds for one in walk.visits if (one.face, one.coat) == (face_id, coat_id)
    )


def each_day(first: date, last: date, times: int) -> Counter[date]:
    return Counter({first + k * DAY: times for k in range((last - first).days + 1)})


def changes_of_work(plan: Plan) -> list[Change]:
    return [change for change in plan.changes if change.kind is Kind.COAT]


# ------------------------------------------------------------------- three walls, planned and edited

FRIDAY = at(4, 30, "12:00")
"""The last working day before the first coat."""

BASES = {"1-out.base": date(2027, 5, 3), "2-out.base": date(2027, 5, 4), "3-out.base": date(2027, 5, 5)}


def three_walls() -> dict[str, Any]:
    walls = [
        wall(str(k), face(facing, start=f"2027-05-0{k + 2}"), dry="2027-04-30")
        for k, facing in ((1, "N"), (2, "E"), (3, "W"))
    ]
    return job_file(*walls)


def edit(*changes: Any, data: dict[str, Any] | None = None) -> dict[str, Any]:
    """Return the file of three walls after changes, each a function of it."""
    new = copy.deepcopy(data or three_walls())
    for change in changes:
        change(new)
    return new


def of_wall(number: int, **lines: Any) -> Any:
    return lambda data: data["walls"][number - 1].update(lines)


def of_face(number: int, **lines: Any) -> Any:
    return lambda data: data["walls"][number - 1]["faces"][0].update(lines)


def of_person(name: str, **lines: Any) -> Any:
    return lambda data: next(p for p in data["people"] if p["id"] == name).update(lines)


def days_of_coats(plan: Plan) -> dict[str, date]:
    return {one.id: day(one) for one in plan.bookings if one.kind is Kind.COAT}


def moved(old: Plan, new: Plan) -> set[str]:
    """Return the coats that stand at another time in the new plan, or are gone."""
    after = {one.id: (one.start, one.end) for one in new.bookings}
    return {
        one.id
        for one in old.bookings
        if one.kind is Kind.COAT and one.state is not State.DONE and after.get(one.id) != (one.start, one.end)
    }


def events(plan: Plan, now: datetime, name: str = "site") -> dict[str, bytes]:
    """Return the bytes of each event of a feed, by UID."""
    body = feeds(plan, WORDS, now)[name]
    blocks = (b"BEGIN:VEVENT" + part.split(b"END:VEVENT")[0] for part in body.split(b"BEGIN:VEVENT")[1:])
    return {str(icalendar.Event.from_ical(block + b"END:VEVENT\r\n")["uid"]): block for block in blocks}


def near_only(data: dict[str, Any]) -> None:
    """Let nobody but the one near by mist."""
    for person in data["people"]:
        if person["id"] != "near":
            person["roles"] = ["lead"]


@cache
def first_plan() -> Plan:
    """Return what people were told of the three walls on Friday 30 April."""
    plan = planned(three_walls(), FRIDAY)
    assert {one.id: day(one) for one in plan.bookings if one.task == "base"} == BASES
    return plan
