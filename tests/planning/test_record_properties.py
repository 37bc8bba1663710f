"""What holds of any record, whatever people say in whatever order: invented entries of every kind.

``CURING_LONG_TESTS=300`` tries so many instead of a few, other ones each time.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from random import Random

from court import WORDS
from court_record import Court, caused_by
from holds_by_hand import face_may_be_open, panel_may_be_open
from hypothesis import given
from hypothesis import strategies as st
from record_drawn import decided, drawn, small_court
from test_properties import tried

from curing.model.evidence import Evidence
from curing.model.plan import Kind, Plan, State
from curing.model.record import RecordEntry, RecordKind
from curing.planning.evidence import digests
from curing.planning.recorded_job import with_record
from curing.publish import plan_json
from curing.workflow.opening import Said
from curing.workflow.planning import next_plan

seeds = st.integers(0, 10**9)
HOURS = [0, 0, 1, 5, 20, 70]


def spoken(seed: int, steps: int, *, admitted: bool = True) -> tuple[Court, Random]:
    """Return a court of which so many things were said, with its random source; nothing is planned."""
    rng, court = Random(seed), small_court()
    for _ in range(steps):
        court.now += timedelta(hours=rng.choice(HOURS), minutes=rng.randrange(1, 50))
        drawn(rng, court, admitted=admitted)
    return court, rng


def lived(seed: int, steps: int) -> tuple[Court, list[Plan]]:
    """Return a court that was planned again and again while people said and decided things."""
    rng, court = Random(seed), small_court()
    plans = [planned(court)]
    for _ in range(steps):
        court.now += timedelta(hours=rng.choice(HOURS), minutes=rng.randrange(1, 50))
        for _ in range(rng.choice([1, 3, 6])):
            drawn(rng, court)
        if rng.random() < 0.5:
            decided(rng, court)
        plans.append(planned(court))
    return court, plans


def planned(court: Court) -> Plan:
    court.plan, _ = next_plan(court.job(), court.plan, court.now, WORDS, Said(court.record, court.decisions))
    return court.plan


def text(plan: Plan) -> str:
    return plan_json.text(plan_json.dump(plan, WORDS))


def met(evidence: Evidence) -> set[str]:
    return {hold for hold, fact in evidence.holds.items() if fact.met is not None}


def judge_by_hand(court: Court, evidence: Evidence) -> None:
    """No hold of a reading or a test is open that may not be."""
    for hold in met(evidence):
        where, _, point = hold.rpartition(".")
        if point == "panel-dry":
            assert panel_may_be_open(court.record, where, 300.0), hold
        elif point in ("base-dry", "paint-tests"):
            assert face_may_be_open(court.record, point, where), hold


# ------------------------------------------------------------------------------- the record alone


@tried(15)
@given(seed=seeds)
def test_no_hold_opens_without_readings_tests_and_a_word(seed: int) -> None:
    court, _ = spoken(seed, 25)
    judge_by_hand(court, court.evidence())


@tried(12)
@given(seed=seeds)
def test_nor_does_it_where_anything_went_into_the_record(seed: int) -> None:
    court, _ = spoken(seed, 25, admitted=False)
    record = [one for one in court.record if "9-" not in str((one.face, one.data))]
    court.record = [one for one in record if one.by != "eve"]
    judge_by_hand(court, court.evidence())


def test_the_hand_lets_some_holds_open() -> None:
    # Else the two above would say nothing.
    opened = [hold for seed in range(8) for hold in met(spoken(seed, 25)[0].evidence())]
    assert len([one for one in opened if one.endswith("panel-dry")]) >= 3
    assert len([one for one in opened if one.endswith("base-dry")]) >= 1


@tried(8)
@given(seed=seeds)
def test_any_order_of_the_same_entries_comes_to_the_same(seed: int) -> None:
    court, rng = spoken(seed, 20)
    before, written = court.evidence(), digests(court.record, ())
    job = with_record(court.job(), before)
    rng.shuffle(court.record)
    assert court.evidence() == before
    assert digests(court.record, ()) == written
    assert with_record(court.job(), court.evidence()) == job


@tried(6)
@given(seed=seeds)
def test_what_happened_holds_whatever_is_said_later(seed: int) -> None:
    """A coat that is done stays done at its time unless the very entry that says so is corrected."""
    court, rng = spoken(seed, 15)
    for _ in range(10):
        before = court.evidence().done
        court.now += timedelta(minutes=7)
        taken = drawn(rng, court)
        named = set()
        for one in taken:
            while one.kind is RecordKind.CORRECTION:
                named.add(one.data["corrects"])
                one = next(other for other in court.record if other.key == one.data["corrects"])
        after = court.evidence().done
        for coat, closed in before.items():
            if closed.cause.key not in named:
                assert after[coat] == replace(closed, began=after[coat].began), coat


@tried(8)
@given(seed=seeds)
def test_a_correction_taken_back_leaves_all_as_it_was(seed: int) -> None:
    court, rng = spoken(seed, 15)
    if not court.record:
        return
    before = court.evidence()
    target = rng.choice(court.record)
    wrong = court.entry("correction", target.face, "ida", {"corrects": target.key})
    if court.desk().faults(wrong):
        return
    court.record.append(wrong)
    again = court.entry("correction", target.face, "ida", {"corrects": wrong.key})
    assert court.desk().faults(again) == []
    court.record.append(again)
    assert court.evidence() == before


# ---------------------------------------------------------------------------------- with its plan


@tried(2)
@given(seed=seeds)
def test_any_order_gives_the_same_plan_and_so_does_a_replay(seed: int) -> None:
    court, plans = lived(seed, 2)
    parent = plans[-2]
    court.plan, texts = parent, set()
    for turn in range(3):
        record, choices = list(court.record), list(court.decisions)
        if turn:
            Random(turn).shuffle(record)
            Random(turn).shuffle(choices)
        plan, _ = next_plan(court.job(), parent, court.now, WORDS, Said(record, choices))
        texts.add(text(plan))
    assert texts == {text(plans[-1])}


@tried(3)
@given(seed=seeds)
def test_every_plan_is_sound_and_holds_and_done_work_keep_their_word(seed: int) -> None:
    court, rng = small_court(), Random(seed)
    planned(court)
    told: dict[str, datetime] = {}
    for _ in range(3):
        court.now += timedelta(hours=rng.choice(HOURS), minutes=rng.randrange(1, 50))
        said = [one for _ in range(rng.choice([2, 5])) for one in drawn(rng, court)]
        if rng.random() < 0.5:
            decided(rng, court)
        plan = planned(court)
        assert court.faults() == []
        judge_by_hand(court, court.evidence())
        nothing_is_firm_behind_what_is_shut(court, plan)
        done = {one.id: one.end for one in plan.bookings if one.kind is Kind.COAT and one.state is State.DONE}
        if not any(one.kind is RecordKind.CORRECTION for one in said):
            assert {coat: done.get(coat) for coat in told} == told
        told = done


def nothing_is_firm_behind_what_is_shut(court: Court, plan: Plan) -> None:
    for one in plan.bookings:
        if one.kind is Kind.COAT and one.task == "base" and one.state is State.FIRM:
            assert panel_may_be_open(court.record, one.faces[0].rpartition("-")[0], 300.0), one.id


@tried(2)
@given(seed=seeds)
def test_a_change_names_the_entry_that_caused_it(seed: int) -> None:
    """Planned twice in the same minute with one entry more between: the changes on its wall name that entry."""
    rng, court = Random(seed), small_court()
    for _ in range(12):
        court.now += timedelta(hours=rng.choice(HOURS), minutes=rng.randrange(1, 50))
        drawn(rng, court)
    tries, plan = 0, planned(court)
    while tries < 2:
        (one, *more) = drawn(rng, court) or [None]
        if one is None:
            continue
        if more:
            plan = planned(court)
            continue
        tries += 1
        revision = plan.revision
        plan = planned(court)
        if plan.revision == revision:
            continue
        named = {change.id for change in plan.changes if caused_by(change) == one.key}
        for change in plan.changes:
            if change.kind is Kind.COAT and concerns(one, change.faces[0]):
                # What waits for another face names that face's coat, whose own change names the entry.
                assert {change.id, change.reason.bound} & named, (one, change)


def concerns(one: RecordEntry, face_id: str) -> bool:
    """Tell whether an entry is about the wall of a face."""
    of_wall = one.data.get("wall") or (one.face or "").rpartition("-")[0]
    return of_wall == face_id.rpartition("-")[0]
