"""What holds for any job: invented ones, planned afresh and again after their files were edited.

Each example is a small job with choices made by hypothesis. ``CURING_LONG_TESTS=300`` tries so
many instead of a few, other ones each time.
"""

from __future__ import annotations

import os
import subprocess
import sys
from datetime import timedelta
from pathlib import Path
from random import Random
from typing import Any

from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from job_edits import edited
from jobs import DAY, Invented, invent, today_of, write
from rules_counted import (
    COATS,
    LIVE,
    Step,
    coats,
    coats_wait_for_one_another,
    every_coat_gets_its_visits,
    local_day,
    names_are_single,
    nobody_is_in_two_places,
    nothing_is_firm_behind_an_unread_panel,
    nothing_new_is_in_the_past,
    step,
    what_is_done_stands_as_it_was_written_down,
)  # fmt: skip

from curing.model.plan import State
from curing.planning.check import Fault
from curing.publish import plan_json
from curing.publish.words import Words
from curing.workflow.planning import next_plan

LONG = int(os.environ.get("CURING_LONG_TESTS", "0"))
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


# ------------------------------------------------------------------------------------ examples


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


# ------------------------------------------------------------------------- one plan on its own


@tried(20)
@given(example=invented())
def test_a_plan_made_afresh_is_sound(example: Invented):
    one = step(example.data, example.now, None)
    assert one.faults() == []


@tried(15)
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


@tried(8)
@given(example=invented(), minutes=st.sampled_from([0, 1, 59]))
def test_planned_again_at_once_nothing_is_new(example: Invented, minutes: int):
    one = step(example.data, example.now, None)
    now = example.now + timedelta(minutes=minutes)
    plan, news = next_plan(one.job, one.plan, now, Words(one.job.file.units))
    assert not news
    assert (plan.bookings, plan.rounds, plan.holds) == (one.plan.bookings, one.plan.rounds, one.plan.holds)
    assert (plan.events, plan.gone) == (one.plan.events, one.plan.gone)


@tried(8)
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


@tried(5)
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
        if booking is None or face is None or booking.state is State.DONE or {"ended", "after"} & set(face):
            continue
        order = COATS[face["system"]]
        under = order[: order.index(before.task)]
        if today <= local_day(before) <= today + DAY and all(coat in face.get("done", {}) for coat in under):
            assert booking.start == before.start, f"{before.id} left {before.start}"


@tried(15)
@given(history=histories())
def test_every_plan_after_another_is_sound(history: list[Step]):
    for one in history[1:]:
        assert sound_but_for_what_stays(one) == []


@tried(10)
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


@tried(6)
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
