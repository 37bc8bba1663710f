"""What phones were told: they take every change, and nothing else looks like one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sample_plans import NOW, booking, hold, plan, visit, walk

from curing.model.plan import Booking, EventMark, Gone, Plan, Reason, State
from curing.publish.calendar import feeds
from curing.publish.event_text import EventTexts
from curing.publish.revisions import mark
from curing.publish.words import Words

METRIC = Words()
DAY = timedelta(days=1)
COAT = booking("3-out.finish", NOW + 2 * DAY, thickness=8.0)


def minutes(at: datetime) -> int:
    """Whole minutes since 2020, counted with Unix time: 2020 began at 1,577,836,800 s."""
    return int(at.timestamp() - 1_577_836_800) // 60


def after(parent: Plan | None, bookings: Sequence[Booking], at: datetime, words: Words = METRIC, **more: Any) -> Plan:
    return mark(plan(bookings, as_of=at, **more), parent, words)


def test_a_new_event_starts_at_the_minutes_since_2020() -> None:
    assert minutes(NOW) == 3_385_725
    one = after(None, [COAT], NOW.replace(second=59, microsecond=7))
    told = one.events[COAT.uid]
    assert (told.sequence, told.modified) == (3_385_725, NOW.replace(second=59))
    assert one.gone == {}


def test_what_did_not_change_keeps_its_mark() -> None:
    first = after(None, [COAT], NOW)
    second = after(first, [COAT], NOW + DAY)
    assert second.events == first.events


CHANGES: dict[str, Booking] = {
    "moved": replace(COAT, start=COAT.start + DAY, end=COAT.end + DAY),
    "longer": replace(COAT, end=COAT.end + timedelta(minutes=5)),
    "conditional: its alarm goes": replace(COAT, state=State.CONDITIONAL),
    "done: its alarm goes": replace(COAT, state=State.DONE),
    "another day's reason": replace(COAT, reason=Reason("job.after", "after")),
    "thicker": replace(COAT, thickness=10.0),
    "another step": replace(COAT, notes=("Brush it down.",)),
    "a caution": replace(COAT, cautions=("dust",)),
}


@pytest.mark.parametrize("name", CHANGES)
def test_a_change_raises_both_stamps(name: str) -> None:
    first = after(None, [COAT], NOW)
    second = after(first, [CHANGES[name]], NOW + DAY)
    before, told = first.events[COAT.uid], second.events[COAT.uid]
    assert told.digest != before.digest
    assert (told.sequence, told.modified) == (before.sequence + 1, NOW + DAY)
    back = after(second, [COAT], NOW + 2 * DAY)
    assert back.events[COAT.uid] == EventMark(before.digest, before.sequence + 2, NOW + 2 * DAY)


@pytest.mark.parametrize(
    "same",
    [
        replace(COAT, who=("tom",)),
        replace(COAT, labour=3.0),
        replace(COAT, pinned=True),
        replace(COAT, reason=replace(COAT.reason, bound="2-out")),
    ],
)
def test_what_no_phone_shows_changes_nothing(same: Booking) -> None:
    first = after(None, [COAT], NOW)
    assert after(first, [same], NOW + DAY).events == first.events


@pytest.mark.parametrize(
    "other",
    [
        {"uid": "x"},
        {"zone": "Etc/UTC"},
        {"start": NOW},
        {"end": NOW},
        {"title": "x"},
        {"body": "x"},
        {"place": "x"},
        {"firm": False},
        {"rings": False},
    ],
    ids=str,
)
def test_whatever_a_phone_shows_is_in_the_digest(other: dict[str, Any]) -> None:
    event = EventTexts(plan([COAT]), METRIC).event(COAT)
    assert replace(event, **other).digest != event.digest
    assert replace(event).digest == event.digest


def test_a_hold_that_is_met_makes_it_ring() -> None:
    held = replace(COAT, state=State.CONDITIONAL, holds=("3.panel-dry",))
    holds = (hold("3.panel-dry", "Panel dry on both sides."),)
    first = after(None, [held], NOW, holds=holds)
    second = after(first, [COAT], NOW + DAY, holds=holds)
    assert second.events[COAT.uid].sequence == first.events[COAT.uid].sequence + 1
    assert b"VALARM" not in feeds(first, METRIC, NOW)["site"]
    assert b"VALARM" in feeds(second, METRIC, NOW)["site"]


def test_a_visit_that_is_added_changes_its_round() -> None:
    first = mark(plan(rounds=[walk(["1-out"], NOW)], as_of=NOW), None, METRIC)
    (uid,) = first.events
    longer = walk(["1-out"], NOW, visits=(visit("1-out"), visit("1-out", day=6)))
    second = mark(plan(rounds=[longer], as_of=NOW + DAY), first, METRIC)
    assert second.events[uid].sequence == first.events[uid].sequence + 1


def test_other_units_are_another_event() -> None:
    first = after(None, [COAT], NOW)
    assert after(first, [COAT], NOW, Words("us")).events[COAT.uid].sequence == first.events[COAT.uid].sequence + 1


def test_a_clock_that_was_set_back_does_not_lower_a_stamp() -> None:
    first = after(None, [COAT], NOW)
    second = after(first, [CHANGES["moved"]], NOW - timedelta(hours=2))
    assert second.events[COAT.uid].modified == NOW + timedelta(seconds=1)


def test_an_event_that_left_is_a_tombstone_for_sixty_days() -> None:
    first = after(None, [COAT], NOW)
    left = after(first, [], NOW + DAY)
    assert left.events == {}
    assert left.gone == {COAT.uid: Gone(NOW + DAY, first.events[COAT.uid].sequence)}
    assert after(left, [], NOW + 61 * DAY).gone == left.gone
    assert after(left, [], NOW + 61 * DAY + timedelta(seconds=1)).gone == {}


def test_what_is_taken_off_its_day_leaves_the_phones() -> None:
    first = after(None, [COAT], NOW)
    off = after(first, [replace(COAT, state=State.OFF)], NOW + DAY)
    assert off.events == {}
    assert set(off.gone) == {COAT.uid}


def test_an_event_that_comes_back_goes_on_from_its_tombstone() -> None:
    first = after(None, [COAT], NOW)
    high = replace(first, events={COAT.uid: replace(first.events[COAT.uid], sequence=9_000_000)})
    left = after(high, [], NOW + DAY)
    again = after(left, [COAT], NOW + DAY)
    assert again.events[COAT.uid].sequence == 9_000_001
    assert again.events[COAT.uid].modified == NOW + DAY + timedelta(seconds=1)
    assert again.gone == {}
    # Minutes have overtaken a tombstone as a rule: then they count.
    left = after(first, [], NOW + DAY)
    assert after(left, [COAT], NOW + 2 * DAY).events[COAT.uid].sequence == minutes(NOW + 2 * DAY)


def test_a_lost_state_still_outbids_what_phones_know() -> None:
    told = after(None, [COAT], NOW)
    for k in range(1, 10):
        told = after(told, [replace(COAT, thickness=8.0 + k)], NOW + k * timedelta(hours=1))
    fresh = after(None, [COAT], NOW + DAY)
    assert fresh.events[COAT.uid].sequence > told.events[COAT.uid].sequence
    assert fresh.events[COAT.uid].modified > told.events[COAT.uid].modified


def test_the_marks_reach_the_phones() -> None:
    first = after(None, [COAT], NOW)
    second = after(first, [CHANGES["moved"]], NOW + DAY)
    feed = feeds(second, METRIC, NOW)["site"].decode()
    assert f"\r\nSEQUENCE:{minutes(NOW) + 1}\r\n" in feed
    assert "\r\nDTSTAMP:20260610T044500Z\r\n" in feed
    assert "\r\nLAST-MODIFIED:20260610T044500Z\r\n" in feed
    assert "Changed Wed 10 June 06:45." in feed.replace("\r\n ", "")


def test_the_same_plans_give_the_same_marks_in_the_same_order() -> None:
    coats = [booking(f"{k}-out.finish", NOW) for k in (3, 1, 2)]
    one, other = after(None, coats, NOW), after(None, list(reversed(coats)), NOW)
    assert list(one.events.items()) == list(other.events.items())
    assert list(one.events) == sorted(one.events)


ways = st.sampled_from([None, *CHANGES.values(), COAT, replace(COAT, state=State.OFF)])
later = st.timedeltas(timedelta(hours=-2), timedelta(days=20))
steps = st.lists(st.tuples(later, st.lists(ways, min_size=3, max_size=3)), min_size=2, max_size=12)


@settings(max_examples=100, deadline=None, suppress_health_check=list(HealthCheck))
@given(steps)
def test_stamps_only_rise_over_any_series_of_plans(series: list[tuple[timedelta, list[Booking | None]]]) -> None:
    known: dict[str, tuple[str, int, datetime]] = {}
    parent: Plan | None = None
    at = NOW
    for passed, states in series:
        at += passed
        made = [replace(b, id=f"{k}-out.finish", uid=f"{k}", faces=(f"{k}-out",)) for k, b in enumerate(states) if b]
        parent = after(parent, made, at)
        assert set(parent.events) == {b.uid for b in made if b.state is not State.OFF}
        assert not set(parent.events) & set(parent.gone)
        for uid, told in parent.events.items():
            assert told.modified.tzinfo is UTC
            if uid in known:
                digest, sequence, modified = known[uid]
                was_there = told.digest == digest and told.sequence == sequence
                assert was_there == (told.modified == modified)
                assert was_there or (told.sequence > sequence and told.modified > modified)
            known[uid] = (told.digest, told.sequence, told.modified)
