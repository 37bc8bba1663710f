"""What people must see of the forecast, and the check of what it took off its day. Weather here is invented."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime, timedelta
from functools import cache
from typing import Any

import pytest
from court import WORDS, at, coat, day, face, job_file, read, wall
from test_weather_moves import HOUR, after, told, weather

from curing.model.evidence import NOTHING_SAID, Cause, Decided, Evidence
from curing.model.plan import Booking, EventMark, Kind, Notice, Plan, Reason, State
from curing.planning.check import check
from curing.planning.weather_sky import sky_over
from curing.workflow.drafting import draft
from curing.workflow.planning import versions

BASE = "1-out.base"
WHEN = date(2027, 5, 10)


def wet(booked: Booking) -> tuple[datetime, datetime, float]:
    """Rain on the face from the laying on, until midnight."""
    return (booked.start, booked.end + 12 * HOUR, 3.0)


@cache
def early() -> tuple[dict[str, Any], Plan]:
    """The same two walls, told a week before the base."""
    walls = [wall(str(k), face("N", start="2027-05-10"), dry="2027-05-03") for k in (1, 2)]
    data = job_file(*walls)
    return data, after(data, at(5, 3), None)[0]


def seen(ahead: int, *, newest: bool = True, before: bool = True) -> tuple[Plan, bool]:
    """Plan so many hours before the base, under two runs that have rain on it or not."""
    data, first = told()[:2] if ahead <= 120 else early()
    booked = coat(first, BASE)
    now = booked.start - ahead * HOUR
    runs = [
        weather(at_, *([wet(booked)] if rains else []), wind=6.0)
        for at_, rains in ((now, newest), (now - 6 * HOUR, before))
    ]
    return after(data, now, first, *runs)


def of_weather(plan: Plan) -> list[Notice]:
    """Return what is told of the first wall; Tuesday's coat on the other may be told too."""
    every = (*plan.warnings, *plan.questions)
    return [one for one in every if one.key.startswith("weather_") and one.faces == ("1-out",)]


@pytest.mark.parametrize("ahead", [30, 48, 71, 80, 120, 160])
def test_one_run_is_told_and_changes_nothing(ahead: int) -> None:
    first = told()[1] if ahead <= 120 else early()[1]
    plan, news = seen(ahead, before=False)
    assert coats(plan) == coats(first)
    assert not news or any(one.kind is Kind.COVER for one in plan.bookings), "sheets go up on one forecast"
    (one,) = of_weather(plan)
    assert one in plan.warnings
    assert not one.urgent
    assert WORDS.notice(one) == (
        "the forecast is against 1 out base on Mon 10 May: rain on it Mon 10 May 07:00 to Tue 11 May 00:00, "
        "18.1 L/m2; one run says so, and it stands"
    )


@pytest.mark.parametrize("ahead", [73, 120, 167])
def test_two_runs_four_to_seven_days_ahead_propose_a_day_and_it_stands(ahead: int) -> None:
    first = told()[1] if ahead <= 120 else early()[1]
    plan, news = seen(ahead)
    assert not news, "a question is of the present: no revision"
    assert plan.bookings == first.bookings
    assert plan.events == first.events
    (one,) = of_weather(plan)
    assert one in plan.questions
    # Tuesday is dry, but the other wall has it
    assert WORDS.notice(one).endswith("two runs say so, and Wed 12 May is proposed; without a word it stands")


@pytest.mark.parametrize(("ahead", "newest", "before"), [(169, True, True), (48, False, True), (120, False, True)])
def test_beyond_a_week_or_by_an_older_run_alone_nothing_is_told(ahead: int, newest: bool, before: bool) -> None:
    plan, news = seen(ahead, newest=newest, before=before)
    assert not news
    assert of_weather(plan) == []


def test_another_run_says_other_hours_and_no_plan_is_new() -> None:
    data, first, _ = told()
    booked = coat(first, BASE)
    now = booked.start - 120 * HOUR
    both = [weather(one, wet(booked), wind=6.0) for one in (now, now - 6 * HOUR)]
    plan, _ = after(data, now, first, *both)
    later = weather(now + HOUR, (booked.start + 3 * HOUR, booked.end + 20 * HOUR, 2.0), wind=6.0)
    other, news = after(data, now + HOUR, plan, later, both[0])
    assert not news
    assert other.events == plan.events
    assert [WORDS.notice(one) for one in of_weather(other)] != [WORDS.notice(one) for one in of_weather(plan)]


def test_the_day_that_is_proposed_is_a_working_day_without_rain() -> None:
    """It rains on Wednesday and to noon of Friday; Thursday, 6 May, is a holiday, and so is the weekend."""
    data = job_file(wall("1", face("N", start="2027-05-05"), dry="2027-04-30"))
    first, _ = after(data, at(4, 30), None)
    booked = coat(first, BASE)
    assert day(booked) == date(2027, 5, 5)
    now = booked.start - 80 * HOUR
    for rain_to, proposed in ((at(5, 5, "20:00"), "2027-05-07"), (at(5, 7, "12:00"), "2027-05-10")):
        long = (booked.start, rain_to, 3.0)
        plan, _ = after(data, now, first, weather(now, long, wind=6.0), weather(now - 6 * HOUR, long, wind=6.0))
        (one,) = of_weather(plan)
        assert (one.key, one.values["day"]) == ("weather_proposed", proposed)


def coats(plan: Plan) -> list[Booking]:
    return [one for one in plan.bookings if one.kind is Kind.COAT]


# ------------------------------------------------------------------------------- decided, and against it


def decided(plan: Plan, kind: str, when: date, now: datetime) -> Evidence:
    cause = Cause("k", kind, now, "ida", "Ida")
    return replace(NOTHING_SAID, decided={BASE: Decided(kind, when, "sheets hang", cause)})


@pytest.mark.parametrize("kind", ["move", "keep"])
def test_a_day_by_decision_stands_against_the_forecast_and_says_so(kind: str) -> None:
    """The lead puts it back (or keeps it) on its wet day; the same and a newer stop take it off no more."""
    data, first, _ = told()
    booked = coat(first, BASE)
    now = booked.start - 12 * HOUR
    rainy = [weather(now, wet(booked), wind=6.0), weather(now - 6 * HOUR, wet(booked), wind=6.0)]
    parent = after(data, now, first, *rainy)[0] if kind == "move" else first
    assert (coat(parent, BASE).state is State.OFF) is (kind == "move")
    evidence, job = decided(parent, kind, WHEN, now), read(data, now)
    for hours in (1, 2, 5):
        later = now + hours * HOUR
        newer = weather(later, wet(booked), (booked.end, booked.end + 30 * HOUR, 5.0), wind=6.0)
        sky = sky_over(job, {"court": (newer, rainy[0])}, later)
        parent = draft(job, parent, later, versions(), evidence, sky=sky)
        found = coat(parent, BASE)
        assert (found.state, day(found), found.floor_cause) == (State.FIRM, WHEN, "")
        (one,) = of_weather(parent)
        assert (one.key, one.values["by"]) == ("weather_kept", "Ida")
        assert one in parent.warnings


def test_a_word_for_the_proposed_day_makes_it_firm_though_it_is_tomorrow_by_then() -> None:
    plan, _ = seen(12)
    proposed = day(coat(plan, BASE))
    now = at(proposed.month, proposed.day, "06:00") - timedelta(days=1)
    data, _, _ = told()
    job = read(data, now)
    made = draft(job, plan, now, versions(), decided(plan, "move", proposed, now), sky=None)
    found = coat(made, BASE)
    assert (found.state, day(found), found.reason.key) == (State.FIRM, proposed, "moved")


# ------------------------------------------------------------------------------- the check


def off() -> tuple[Plan, Any]:
    plan, _ = seen(12)
    data, _, _ = told()
    return plan, read(data, plan.as_of)


def with_(plan: Plan, id_: str, **lines: Any) -> Plan:
    bookings = [replace(one, **lines) if one.id == id_ else one for one in plan.bookings]
    faces = tuple(
        replace(face, coats=tuple(
            replace(one, day=lines["start"].date()) if one.booking == id_ and "start" in lines else one
            for one in face.coats))
        for face in plan.faces
    )  # fmt: skip
    return replace(plan, bookings=tuple(sorted(bookings, key=lambda b: (b.start, b.id))), faces=faces)


def shift(plan: Plan, days: int) -> dict[str, datetime]:
    found = coat(plan, BASE)
    return {"start": found.start + timedelta(days), "end": found.end + timedelta(days)}


def test_a_plan_with_a_coat_off_its_day_is_sound() -> None:
    plan, job = off()
    assert coat(plan, BASE).state is State.OFF
    assert check(job, plan) == []


FAULTS: list[tuple[str, str, Callable[[Plan], Plan]]] = [
    ("back on its old day", "plan.off_day", lambda p: replace(
        with_(p, BASE, floor=WHEN, **shift(p, -2)), as_of=at(5, 7))),
    ("today or tomorrow", "plan.off_day", lambda p: replace(with_(p, BASE, floor=WHEN), as_of=at(5, 11, "06:00"))),
    ("before its floor", "plan.off_day", lambda p: with_(p, BASE, floor=date(2027, 5, 13))),
    ("proposed for a Saturday", "plan.off_day", lambda p: with_(p, BASE, **shift(p, 3))),
    ("nobody knows from when", "plan.off_was", lambda p: with_(p, BASE, floor_was=None)),
    ("off for nothing weather does", "plan.off_cause", lambda p: with_(p, BASE, floor_cause="hold")),
    ("firm without a word", "plan.off_unasked", lambda p: with_(p, BASE, state=State.FIRM)),
    ("firm over it", "plan.off_under", lambda p: with_(p, "1-out.finish", state=State.FIRM)),
    ("told to phones", "plan.off_told", lambda p: replace(
        p, events={**p.events, coat(p, BASE).uid: EventMark("d", 0, p.as_of)})),
    ("its walks firm", "plan.visit_mark", lambda p: replace(p, rounds=tuple(
        replace(r, visits=tuple(replace(v, conditional=False) for v in r.visits)) for r in p.rounds))),
]  # fmt: skip


@pytest.mark.parametrize(("rule", "spoil"), [pytest.param(rule, spoil, id=name) for name, rule, spoil in FAULTS])
def test_the_check_finds_what_is_wrong_with_a_coat_off_its_day(rule: str, spoil: Callable[[Plan], Plan]) -> None:
    plan, job = off()
    assert rule in {fault.rule for fault in check(job, spoil(plan))}


def test_what_somebody_decided_is_no_fault() -> None:
    plan, job = off()
    said = Reason("plan.move", "moved", {"by": "Ida", "why": "x", "entry": "k"})
    assert "plan.off_unasked" not in {one.rule for one in check(job, with_(plan, BASE, state=State.FIRM, reason=said))}
