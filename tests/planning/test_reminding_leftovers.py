"""Reminders of looks after a frost, of winter covers, and of walks that weather adds and nobody has.

Ida and Bo are the crew and lead; Near lives next door. All weather here is invented.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

import pytest
from court import AMSTERDAM, WORDS, at
from scenes import lines, told, with_people
from test_cure_standing import FINISH, tended
from test_reminding_weather import message, said, scene
from test_weather_visits import DRY, NOW, plan_of, sky, yard
from test_winter import DOWN, FIT, UP, resting
from test_winter import plan_of as wintered

from curing.model.evidence import NOTHING_SAID
from curing.model.plan import Plan, Slot
from curing.model.record import RecordKind
from curing.planning.reminding import Scene, falls_due
from curing.publish.reminder_about import About, Present
from curing.publish.reminder_short import short

# ------------------------------------------------------------------------------- a look after a frost


def frozen() -> Plan:
    """Frost on Saturday 22 May from 15:00 to 17:00; Ida looks over it on Monday from 07:00."""
    cures = tended()
    cures.cold(96, 98, -1.0)
    return cures.on(at(5, 24, "06:00"))


@pytest.mark.parametrize(
    ("looked", "sound", "asked"),
    [
        (None, True, True),
        (at(5, 24, "06:10"), True, False),
        (at(5, 24, "06:10"), False, False),  # not sound is an answer too
        (at(5, 22, "18:00"), False, False),
        (at(5, 22, "14:00"), True, True),  # before the frost
    ],
)
def test_an_inspection_answers_a_look_after_frost_and_a_reading_does_not(
    looked: datetime | None, sound: bool, asked: bool
) -> None:
    plan, file = frozen(), tended().file
    reading = said(RecordKind.READING, "1-out", at(5, 24, "06:10"), {"probe": "1", "moisture": 12.0})
    entries = [reading, *([said(RecordKind.INSPECTION, "1-out", looked, {"sound": sound})] if looked else [])]
    found = told(scene(file, plan, None, *entries), at(5, 24, "05:00"), at(5, 24, "23:00"), "task")
    mine = [one for one in found if one.about == (f"{FINISH}.inspect",)]
    assert lines(mine) == (["Mon 05-24 06:30 ida task"] if asked else [])


def test_a_look_after_frost_says_what_to_look_for() -> None:
    plan, file = frozen(), tended().file
    made = scene(file, plan)
    found = told(made, at(5, 24, "05:00"), at(5, 24, "23:00"), "task")
    (one,) = [each for each in found if each.about == (f"{FINISH}.inspect",)]
    text = message(made, [one])
    assert text.short == "1 out LOOK OVER · wall 1, 07:00: look for scaling, soft or hollow spots."
    for word in ("frost in its cure", "scaling", "soft skin", "hollow", "not sound is an answer too"):
        assert word in text.text
    (ask,) = [each for each in told(made, at(5, 24, "06:00"), at(5, 24, "09:00"), "decide") if each.person == "ida"]
    assert message(made, [ask]).short == (
        "1 out finish: frost in it Sat 22 May 15:00. Look for scaling, soft or hollow spots and say so."
    )


# ------------------------------------------------------------------------------- covers over winter


@pytest.fixture(scope="module")
def winter() -> Scene:
    data = resting()
    _, plan, _ = wintered(data, at(9, 13))
    return scene(data, plan)


def with_entries(made: Scene, *entries: Any) -> Scene:
    return replace(made, entries=[*made.entries, *entries])


def test_winter_covers_and_the_look_after_it_are_tasks_like_others_and_ring_nobody_at_night(winter: Scene) -> None:
    """The evening before, and half an hour before; no frost, rain or heat reminder is made of them."""
    tasks = {one.id: one for one in winter.plan.bookings if one.id in (UP, DOWN, FIT)}
    for one in tasks.values():
        first = one.start - timedelta(days=2)
        found = [each for each in falls_due(winter, first, one.end) if one.id in each.about]
        assert {each.kind.value for each in found} == {"eve", "task"}
        assert {each.person for each in found} == set(one.who)
        task = next(each for each in found if each.kind.value == "task")
        assert task.due == one.start - timedelta(minutes=30)
        present = Present(winter.plan, NOTHING_SAID, winter.plan.name, WORDS, task.due)
        assert all(len(short(About(present), [each])) <= 110 for each in found)
        assert not any(each.rings_in_quiet for each in found)
    # Who sleeps long is called for none of it before getting up, but in time for the work.
    late = with_people(winter, ida={"quiet": (1200, 405)}, bo={"quiet": (1200, 405)})
    for one in tasks.values():
        found = [each for each in falls_due(late, one.start - timedelta(days=2), one.end) if one.id in each.about]
        clocks = [each.due.astimezone(AMSTERDAM) for each in found]
        assert all(6 * 60 + 45 <= at_.hour * 60 + at_.minute <= 20 * 60 for at_ in clocks)


@pytest.mark.parametrize(("cover", "asked"), [("winter", False), ("cloth", True), ("sheet", True), ("frost", True)])
def test_only_a_winter_cover_answers_for_a_winter_cover(winter: Scene, cover: str, asked: bool) -> None:
    up = next(one for one in winter.plan.bookings if one.id == UP)
    hung = said(RecordKind.COVER_UP, "1-out", up.start - timedelta(hours=1), {"cover": cover})
    found = told(with_entries(winter, hung), up.start - timedelta(hours=2), up.end, "task")
    assert bool([one for one in found if UP in one.about]) is asked


def test_a_test_answers_for_the_look_after_winter(winter: Scene) -> None:
    fit = next(one for one in winter.plan.bookings if one.id == FIT)
    span = (fit.start - timedelta(hours=2), fit.end)
    assert [one for one in told(winter, *span, "task") if FIT in one.about]
    trial = said(RecordKind.TEST, "1-out", fit.start - timedelta(hours=1),
                 {"test": "hollows", "passed": True, "coat": "base"})  # fmt: skip
    assert [one for one in told(with_entries(winter, trial), *span, "task") if FIT in one.about] == []


# ------------------------------------------------------------------------------- an added walk that nobody has


def deserted() -> dict[str, Any]:
    """Near goes at 09:00 and mists no more that day, and the crew is away all week."""
    data = yard()
    for one in data["people"]:
        one |= {"hours": {"mon-sun": "06:30-09:00"}} if one["id"] == "near" else {"away": ["2027-05-10..2027-05-14"]}
    return data


@pytest.mark.parametrize(("saved", "due"), [("05:00", "06:00"), ("09:00", "09:00")])
def test_a_walk_that_weather_adds_and_nobody_has_is_told_to_who_leads_at_once(saved: str, due: str) -> None:
    """At night when their quiet hours end: it begins at 11:30, and they are asked who goes."""
    data, now = deserted(), at(5, 11, saved)
    told_first = plan_of(data, NOW - timedelta(days=1), None, None)[0]
    plan, _ = plan_of(data, now, told_first, sky(now, **DRY))
    (walk,) = [one for one in plan.rounds if one.slot is Slot.MIDDAY and one.start.date() == now.date()]
    assert walk.who == ()
    assert all(one.added for one in walk.visits)
    made = scene(data, plan, now)
    found = [one for one in told(made, now - timedelta(hours=1), at(5, 12), "nobody") if walk.visits[0].id in one.about]
    assert lines(found) == [f"Tue 05-11 {due} {who} nobody" for who in ("bo", "ida")]
    assert found[0].until == walk.start
    text = message(made, found[:1])
    assert text.short == "NOBODY midday Tue 11 May, walls 1 2. 20 min. Name somebody."
    assert "curing assign JOB PERSON 2027-05-11 midday --by LEAD" in text.text
    (notice,) = [one for one in plan.warnings if one.values.get("day") == "2027-05-11" and one.key == "unnamed_round"]
    assert notice.urgent, "it heads every list, and the page of what moved asks for somebody"
