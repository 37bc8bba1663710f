"""What holds for any job: invented ones, planned afresh and again after their files were edited.

Each example is a small job with choices made by hypothesis. ``CURING_LONG_TESTS=300`` tries so
many instead of a few, other ones each time. The rules' numbers stand here as they are published
for the built-in coat systems, so that a wrong reading of them is seen.
"""

from __future__ import annotations

import os
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import lru_cache
from itertools import pairwise
from pathlib import Path
from random import Random
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from job_edits import edited
from jobs import DAY, Invented, invent, read, today_of, write

from curing.model.job import Job
from curing.model.plan import Booking, Care, Kind, Plan, State
from curing.planning.check import Fault, check
from curing.publish import plan_json
from curing.publish.words import Words
from curing.sources import systemfile
from curing.workflow.planning import next_plan

LONG = int(os.environ.get("CURING_LONG_TESTS", "0"))
LIVE = (State.FIRM, State.CONDITIONAL)
TESTS = Path(__file__).parents[1]


def tried(few: int) -> Any:
    """Return settings that try a few examples, the same ones each time, or as many as asked for.

    Making an example that fails smaller takes minutes: only the long run does it.
    """
    phases = (Phase.explicit, Phase.reuse, Phase.generate, *((Phase.shrink,) if LONG else ()))
    return settings(
        max_examples=LONG or few,
        derandomize=not LONG,
        phases=phases,
        deadline=None,
        suppress_health_check=list(HealthCheck),
        print_blob=True,
    )


@pytest.fixture(scope="module", autouse=True)
def _systems_read_once() -> Iterator[None]:
    """Read each built-in coat system once: that takes longer than planning a small job."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(systemfile, "read_system", lru_cache(systemfile.read_system))
        yield


# ------------------------------------------------------------------------------------ examples


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


def sources_of_choice() -> st.SearchStrategy[Random]:
    """Return random sources: by a number, so that jobs are of all kinds, or such as are made simpler."""
    return st.one_of(st.integers(0, 10**9).map(Random), st.randoms(use_true_random=False))


@st.composite
def invented(draw: st.DrawFn, faces: int = 5) -> Invented:
    rng = draw(sources_of_choice())
    return invent(rng, draw(st.integers(1, faces)), draw(st.integers(1, 2)))


@st.composite
def histories(draw: st.DrawFn, faces: int = 4, steps: int = 3) -> list[Step]:
    """Return a job planned again and again while time goes on and its file is edited."""
    first = draw(invented(faces))
    made = [step(first.data, first.now, None)]
    for _ in range(draw(st.integers(1, steps))):
        rng = draw(sources_of_choice())
        last = made[-1]
        now = last.now + timedelta(hours=draw(st.sampled_from([1, 7, 30, 60, 200, 500])))
        data = edited(rng, last.data, last.plan, today_of(last.data, now), times=rng.choice([1, 2, 4]))
        made.append(step(data, now, last.plan))
    return made


def local_day(booking: Booking) -> date:
    return booking.start.astimezone(ZoneInfo(booking.zone)).date()


def coats(plan: Plan) -> dict[str, Booking]:
    return {one.id: one for one in plan.bookings if one.kind is Kind.COAT}


# ------------------------------------------------------------------------- one plan on its own

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
        for (coat, laid), (_, following) in zip(days, [*days[1:], ("", date.max)], strict=True):
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


@tried(25)
@given(example=invented())
def test_a_plan_made_afresh_is_sound(example: Invented):
    one = step(example.data, example.now, None)
    assert one.faults() == []


@tried(25)
@given(example=invented())
def test_a_plan_made_afresh_keeps_the_rules_by_another_count(example: Invented):
    one = step(example.data, example.now, None)
    nobody_is_in_two_places(one.plan)
    every_coat_gets_its_visits(one)
    coats_wait_for_one_another(one)
    nothing_is_firm_behind_an_unread_panel(one)
    what_is_done_stands_as_it_was_written_down(one)
    names_are_single(one.plan)
    nothing_new_is_in_the_past(one)


@tried(10)
@given(example=invented(), minutes=st.sampled_from([0, 1, 59]))
def test_planned_again_at_once_nothing_is_new(example: Invented, minutes: int):
    one = step(example.data, example.now, None)
    now = example.now + timedelta(minutes=minutes)
    plan, news = next_plan(one.job, one.plan, now, Words(one.job.file.units))
    assert not news
    assert (plan.bookings, plan.rounds, plan.holds) == (one.plan.bookings, one.plan.rounds, one.plan.holds)
    assert (plan.events, plan.gone) == (one.plan.events, one.plan.gone)


@tried(10)
@given(example=invented(), seed=st.integers(0, 100))
def test_walls_in_another_order_keep_the_days_people_were_told(example: Invented, seed: int):
    one = step(example.data, example.now, None)
    walls = list(one.job.file.walls)
    Random(seed).shuffle(walls)
    job = one.job.model_copy(update={"file": one.job.file.model_copy(update={"walls": tuple(walls)})})
    plan, _ = next_plan(job, one.plan, example.now, Words(job.file.units))
    assert {id_: (b.start, b.end) for id_, b in coats(plan).items()} == {
        id_: (b.start, b.end) for id_, b in coats(one.plan).items()
    }


PLAN_IN_A_PROCESS = """
import sys
from datetime import datetime
from jobs import read
from curing.publish import plan_json
from curing.publish.words import Words
from curing.workflow.planning import next_plan
now = datetime.fromisoformat(sys.argv[1])
job = read(sys.stdin.read(), now)
plan, _ = next_plan(job, None, now, Words(job.file.units))
sys.stdout.write(plan_json.text(plan_json.dump(plan, Words(job.file.units))))
"""


def test_the_same_input_gives_the_same_bytes_in_any_process():
    # Sets and dictionaries of text are ordered by the process's own seed where their order shows.
    example = invent(7, 8, 2)
    now = example.now
    processes = [
        subprocess.Popen(
            [sys.executable, "-c", PLAN_IN_A_PROCESS, now.isoformat()],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(TESTS)},
            text=True,
        )
        for seed in ("1", "2")
    ]
    one, two = (process.communicate(write(example.data))[0] for process in processes)
    assert len(one) > 10_000
    assert one == two


@tried(8)
@given(example=invented())
def test_the_same_input_gives_the_same_bytes(example: Invented):
    texts = set()
    for _ in range(2):
        one = step(example.data, example.now, None)
        texts.add(plan_json.text(plan_json.dump(one.plan, Words(one.job.file.units))))
    assert len(texts) == 1


# ------------------------------------------------------------------------ one plan after another

FROM_THE_FILE = (".start", ".after", ".ended", ".labour", ".wet_edge")
"""What an edited file may ask and a coat that stands today or tomorrow does not do: it stays."""


def sound_but_for_what_stays(one: Step) -> list[Fault]:
    stays = {
        booking.id
        for booking in coats(one.plan).values()
        if one.parent is not None
        and local_day(booking) <= one.today(booking.zone) + DAY
        and booking.start == getattr(coats(one.parent).get(booking.id), "start", booking.start)
    }
    return [f for f in one.faults() if not (f.where in stays and f.rule.endswith(FROM_THE_FILE))]


def the_sequence_never_falls(one: Step) -> None:
    assert one.parent is not None
    for uid, before in one.parent.events.items():
        mark, grave = one.plan.events.get(uid), one.plan.gone.get(uid)
        if mark is None:
            assert grave is not None, uid
            assert grave.sequence >= before.sequence, uid
        elif mark.digest == before.digest:
            assert mark == before, uid
        else:
            assert mark.sequence > before.sequence, uid
            assert mark.modified > before.modified, uid
    for uid, grave in one.parent.gone.items():
        if uid in one.plan.events:
            assert one.plan.events[uid].sequence > grave.sequence, uid


def today_and_tomorrow_stay(one: Step) -> None:
    """A coat told for today or tomorrow stays there while all under it is done; nothing else comes."""
    assert one.parent is not None
    parent = {booking.uid: booking for booking in coats(one.parent).values()}
    booked = {booking.uid: booking for booking in coats(one.plan).values()}
    after = {name: face for name, _, face in one.faces()}
    for uid, booking in booked.items():
        soon = local_day(booking) <= one.today(booking.zone) + DAY
        if booking.state in LIVE and soon:
            assert uid in parent, f"{booking.id} is new and comes at once"
            assert booking.start == parent[uid].start, f"{booking.id} was moved to {booking.start}"
    for uid, before in parent.items():
        if before.state not in LIVE or not one.now.date() - DAY <= local_day(before):
            continue
        booking = booked.get(uid)
        face = after.get(booking.faces[0]) if booking else None
        today = one.today(before.zone)
        if booking is None or face is None or booking.state is State.DONE or "ended" in face:
            continue
        order = COATS[face["system"]]
        under = order[: order.index(before.task)]
        if today <= local_day(before) <= today + DAY and all(coat in face.get("done", {}) for coat in under):
            assert booking.start == before.start, f"{before.id} left {before.start}"


@tried(25)
@given(history=histories())
def test_every_plan_after_another_is_sound(history: list[Step]):
    for one in history[1:]:
        assert sound_but_for_what_stays(one) == []


@tried(15)
@given(history=histories())
def test_every_plan_after_another_keeps_its_word(history: list[Step]):
    for one in history[1:]:
        the_sequence_never_falls(one)
        today_and_tomorrow_stay(one)
        what_is_done_stands_as_it_was_written_down(one)
        nothing_is_firm_behind_an_unread_panel(one)
        nobody_is_in_two_places(one.plan)
        names_are_single(one.plan)
        nothing_new_is_in_the_past(one)


@tried(8)
@given(example=invented(faces=3), days=st.lists(st.integers(1, 40), min_size=2, max_size=4))
def test_however_late_a_hold_never_opens_by_time(example: Invented, days: list[int]):
    parent, now = None, example.now
    for more in [0, *days]:
        now += more * DAY
        one = step(example.data, now, parent)
        nothing_is_firm_behind_an_unread_panel(one)
        recorded = {hold.id for hold in one.plan.holds if hold.met is not None}
        assert {hold.id for hold in one.plan.holds if hold.state == "met"} <= recorded
        parent = one.plan
