"""The rules counted once more, from the job file's own lines and the published numbers alone.

The numbers of the built-in coat systems stand here as they are published, so that a wrong reading
of them is seen; nothing of the planner and nothing of its check is asked for them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from itertools import pairwise
from typing import Any
from zoneinfo import ZoneInfo

from jobs import DAY, read, write

from curing.model.job import Job
from curing.model.plan import Booking, Care, Kind, Plan, State
from curing.planning.check import Fault, check
from curing.publish.words import Words
from curing.workflow.planning import next_plan

LIVE = (State.FIRM, State.CONDITIONAL)


@dataclass(frozen=True)
class Step:
    """A job file, what it was planned as, and when."""

    data: dict[str, Any]
    now: datetime
    job: Job
    plan: Plan
    parent: Plan | None

    def _repr_pretty_(self, printer: Any, cycle: bool) -> None:
        printer.text(f"as of {self.now.isoformat()}:\n{write(self.data)}")

    def today(self, zone: str) -> date:
        return self.now.astimezone(ZoneInfo(zone)).date()

    def faces(self) -> Iterator[tuple[str, dict[str, Any], dict[str, Any]]]:
        """Yield (face id, wall, face) as the file says them."""
        for wall in self.data["walls"]:
            for face in wall["faces"]:
                yield f"{wall['id']}-{face['side']}", wall, face

    def faults(self) -> list[Fault]:
        return check(self.job, self.plan)


def step(data: dict[str, Any], now: datetime, parent: Plan | None) -> Step:
    job = read(data, now)
    plan, _ = next_plan(job, parent, now, Words(job.file.units))
    return Step(data, now, job, plan, parent)


def local_day(booking: Booking) -> date:
    return booking.start.astimezone(ZoneInfo(booking.zone)).date()


def coats(plan: Plan) -> dict[str, Booking]:
    return {one.id: one for one in plan.bookings if one.kind is Kind.COAT}


TENDED = {
    # Coat -> last day of two visits, last day of one; as published in the built-in coat systems.
    "clay-lime": {"base": (3, 3), "finish": (14, 28)},
    "clay-inside": {"base": (14, 14), "finish": (5, 5)},
    "hydraulic-lime": {"stipple": (2, 2), "first": (3, 3), "second": (3, 3), "finish": (3, 7)},
}
WAITS = {
    # Coat -> least days after the one before it; paint waits for the last mist and seven dry days more.
    "clay-lime": {"finish": 13, "paint-1": 28 + 7 + 1, "paint-2": 1},
    "clay-inside": {"finish": 12},
    "hydraulic-lime": {"first": 3, "second": 7, "finish": 10, "paint-1": 7 + 7 + 1, "paint-2": 1},
}
COATS = {
    "clay-lime": ["base", "finish", "paint-1", "paint-2"],
    "clay-inside": ["base", "finish"],
    "hydraulic-lime": ["stipple", "first", "second", "finish", "paint-1", "paint-2"],
}


def tending(face: dict[str, Any], coat: str) -> tuple[int, int]:
    """Return last day of two visits and last day of any, with the face's own values."""
    twice, once = TENDED[face["system"]].get(coat, (0, 0))
    own = face.get("rules", {})
    twice = int(own.get(f"{coat}.twice_to", f"{twice} d").removesuffix(" d"))
    once = int(own.get(f"{coat}.once_to", f"{once} d").removesuffix(" d"))
    return twice, max(twice, once)


def least_wait(face: dict[str, Any], coat: str) -> int:
    wait = WAITS[face["system"]][coat]
    own = face.get("rules", {})
    if coat == "finish" and "base.thickness" in own:
        wait = 16  # 16 mm, and 5/8 in = 15.9 mm, at a day each millimetre
    if coat == "paint-1" and "finish.once_to" in own:
        wait = 35 + 7 + 1
    return wait


def nobody_is_in_two_places(plan: Plan) -> None:
    spans: dict[str, list[tuple[datetime, datetime, str]]] = {}
    for one in plan.everything():
        if one.state not in LIVE:
            continue
        for person in one.who:
            edges = [one.start]
            for gap in sorted(one.absent, key=lambda gap: gap.start):
                if gap.person == person:
                    edges += [gap.start, gap.end]
            edges.append(one.end)
            pieces = zip(edges[::2], edges[1::2], strict=True)
            spans.setdefault(person, []).extend((a, b, one.id) for a, b in pieces if a < b)
    for person, taken in spans.items():
        taken.sort()
        for (_, end, first), (start, _, second) in pairwise(taken):
            assert end <= start, f"{person} is on {first} and {second} at once"


def every_coat_gets_its_visits(one: Step) -> None:
    """From tomorrow on, each coat has exactly the visits that its rules ask for, until the next coat."""
    walked: dict[tuple[str, str], Counter[date]] = {}
    for walk in one.plan.rounds:
        for visit in walk.visits:
            if visit.care is not Care.LOOK:
                walked.setdefault((visit.face, visit.coat), Counter())[local_day(walk)] += 1
    booked = coats(one.plan)
    for name, _, face in one.faces():
        there = [coat for coat in COATS[face["system"]] if f"{name}.{coat}" in booked]
        days = [(coat, local_day(booked[f"{name}.{coat}"])) for coat in there]
        for (coat, laid), (_, following) in zip(days, [*days[1:], ("", date.max)], strict=False):
            twice, last = tending(face, coat)
            today = one.today(booked[f"{name}.{coat}"].zone)
            end = min(following, date.fromisoformat(face["ended"]) if "ended" in face else date.max)
            due = {laid + k * DAY: 2 if k <= twice else 1 for k in range(1, last + 1)}
            due = {day: times for day, times in due.items() if today < day < end}
            told = {day: times for day, times in walked.get((name, coat), Counter()).items() if day > today + DAY}
            assert told == {day: times for day, times in due.items() if day > today + DAY}, f"{name}.{coat}"


def coats_wait_for_one_another(one: Step) -> None:
    booked = coats(one.plan)
    for name, _, face in one.faces():
        order = COATS[face["system"]]
        for before, coat in pairwise(order):
            under, over = booked.get(f"{name}.{before}"), booked.get(f"{name}.{coat}")
            if under is None or over is None or over.state is State.DONE or over.pinned:
                continue
            waited = (local_day(over) - local_day(under)).days
            assert waited >= least_wait(face, coat), f"{over.id} comes {waited} days after {under.id}"


def nothing_is_firm_behind_an_unread_panel(one: Step) -> None:
    """Whatever the date: a first coat is firm only on one of the seven days after a recorded reading."""
    booked = coats(one.plan)
    for name, wall, face in one.faces():
        first, *rest = COATS[face["system"]]
        base = booked.get(f"{name}.{first}")
        if base is None or base.state is State.DONE:
            continue
        entry = wall.get("holds", {}).get("panel-dry")
        met = entry if isinstance(entry, str) else (entry or {}).get("met")
        if met and local_day(base) <= date.fromisoformat(met) + 7 * DAY:
            continue
        chain = [f"{name}.{coat}" for coat in (first, *rest)]
        states = {booked[coat].state for coat in chain if coat in booked}
        assert states == {State.CONDITIONAL}, f"{name} is {states} behind an unread panel"
        assert f"{wall['id']}.panel-dry" in base.holds


def what_is_done_stands_as_it_was_written_down(one: Step) -> None:
    booked = coats(one.plan)
    for name, _, face in one.faces():
        for coat, written in face.get("done", {}).items():
            booking = booked.get(f"{name}.{coat}")
            assert booking is not None, f"{name}.{coat} was laid and is forgotten"
            assert booking.state is State.DONE
            assert f"{booking.end.astimezone(ZoneInfo(booking.zone)):%Y-%m-%d %H:%M}" == written
        done = [coat for coat, booking in booked.items() if booking.state is State.DONE and name in booking.faces]
        assert len(done) == len(face.get("done", {}))


def nothing_new_is_in_the_past(one: Step) -> None:
    """Rounds of today may be over when the plan is made; nothing else that is not done is."""
    known = {booking.uid for booking in one.parent.everything()} if one.parent else set()
    past = [b.id for b in one.plan.bookings if b.state is not State.DONE and b.start < one.now and b.uid not in known]
    assert past == []


def names_are_single(plan: Plan) -> None:
    for names in ([one.uid for one in plan.everything()], [one.id for one in plan.everything()]):
        assert [name for name, times in Counter(names).items() if times > 1] == []
