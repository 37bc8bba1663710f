"""Water held back, or given again, on a walk that people were told of: who walks it hears of it in time.

Two fresh finishes, west and north; Near walks them late on Tuesday 11 May from 19:10, and is reminded at 18:40. All
weather here is invented.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import Any

import pytest
from court import WORDS, at
from hypothesis import given, settings
from hypothesis import strategies as st
from scenes import lines, told
from test_reminding_weather import message, scene
from test_weather_visits import bare, hour_at, plan_of, sky, yard

from curing.model.evidence import NOTHING_SAID
from curing.model.plan import Advice, Booking, Plan, VisitWeather
from curing.model.reminders import Kind, Occasion
from curing.model.visit_weather import Cause
from curing.publish.reminder_about import Present
from curing.publish.reminder_text import compose

DAY = (at(5, 11, "05:00"), at(5, 12, "00:00"))
FROST = (hour_at(12, "03:00"), hour_at(12, "06:00"), "temperature", 1.0)
OUT = at(5, 11, "19:00")
"""The reminder of the late walk went out twenty minutes ago."""


def under_frost(now: datetime, parent: Plan | None = None) -> Plan:
    return plan_of(yard(), now, parent or bare(), sky(now, FROST))[0]


def short(plan: Plan, one: Occasion) -> str:
    return message(scene(yard(), plan), [one]).short


@pytest.mark.parametrize("clock", ["12:00", "18:30"])
def test_no_water_told_before_the_walks_reminder_is_told_by_it_and_not_twice(clock: str) -> None:
    now = at(5, 11, clock)
    plan = under_frost(now)
    found = told(scene(yard(), plan, now), now, DAY[1], "round", "changed")
    assert lines(found) == ["Tue 05-11 18:40 near round"]
    assert short(plan, found[0]) == "LOOK late, walls 1 2, before 20:20. 20 min. NO WATER: frost tonight."


def test_no_water_once_the_reminder_is_out_is_told_at_once() -> None:
    plan = under_frost(OUT)
    found = told(scene(yard(), plan, OUT), *DAY, "changed")
    assert lines(found) == ["Tue 05-11 19:00 near changed"]
    assert short(plan, found[0]) == "NO WATER any more on 1 2, Tue 11 May 19:10: look only."
    whole = message(scene(yard(), plan), found).text
    assert "the night falls to 1 °C" in whole
    assert "NO WATER" in whole
    assert found[0].until == at(5, 11, "19:30")


def test_water_again_is_told_as_well() -> None:
    dry = under_frost(at(5, 11, "12:00"))
    plan = plan_of(yard(), OUT, dry, sky(OUT))[0]
    found = told(scene(yard(), plan, OUT), *DAY, "changed")
    assert [one for one in lines(found) if "near" in one] == ["Tue 05-11 19:00 near changed"]
    (near,) = [one for one in found if one.person == "near"]
    assert short(plan, near).startswith("WATER again on 1 2, Tue 11 May 19:10.")


def test_other_advice_about_a_walk_of_which_people_were_reminded_rings_nobody() -> None:
    """Look and feel first spares water; it holds none back."""
    now = at(5, 11, "06:45")
    plan = under_frost(now)
    listed = [one for one in plan.changes if one.id == "2027-05-11.late.near"]
    assert listed
    look = replace(listed[0], reason=replace(listed[0].reason, key="weather_said_look", values={}))
    made = scene(yard(), replace(plan, changes=(look,)), OUT)
    assert told(made, *DAY, "changed") == []


def test_a_new_cover_is_told_once_with_the_frost_and_not_as_a_change_too() -> None:
    now = at(5, 11, "12:00")
    plan = under_frost(now)
    found = told(scene(yard(), plan, now), *DAY, "frost", "changed")
    assert {one.kind for one in found} == {Kind.FROST}
    assert "ida" in {one.person for one in found}


# ------------------------------------------------------------------ short enough, whatever walls are called


def walk_with(plan: Plan, names: list[str], dry: list[Advice | None]) -> tuple[Plan, Booking]:
    """Return a plan whose late walk has a wall of each name, with the advice at its side."""
    walk = next(one for one in plan.rounds if one.id == "2027-05-11.late.near")
    faces = tuple(replace(plan.faces[0], id=f"w{k}-out", wall=name) for k, name in enumerate(names))
    given_: dict[Advice | None, Any] = {None: None}
    for advice, cause in ((Advice.FROST, Cause.NIGHT), (Advice.COLD, Cause.COLD), (Advice.LOOK, Cause.LITTLE)):
        given_[advice] = VisitWeather(advice, cause, "visit.water_least", 1.0, 5.0, *DAY)
    visits = tuple(
        replace(walk.visits[0], id=f"w{k}-out.finish.2027-05-11.late", face=f"w{k}-out", weather=given_[what])
        for k, what in enumerate(dry)
    )
    walk = replace(walk, visits=visits, faces=tuple(one.id for one in faces))
    rounds = tuple(walk if one.id == walk.id else one for one in plan.rounds)
    return replace(plan, faces=(*faces, *plan.faces), rounds=rounds), walk


def occasion(walk: Booking, **values: Any) -> Occasion:
    return Occasion(
        f"round|{walk.id}", Kind.ROUND, "near", at(5, 11, "18:40"), walk.end, "2027-05-11 18:40",
        about=tuple(one.id for one in walk.visits), faces=walk.faces,
        values={"zone": "Europe/Amsterdam", "day": "2027-05-11", "slot": "late", "by": "20:20", "minutes": 185,
                **values},
    )  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(st.text("abcÄ漢 0123", min_size=1, max_size=80),
                  st.sampled_from([None, Advice.FROST, Advice.COLD, Advice.LOOK])),
        min_size=1, max_size=30,
    ),
    st.booleans(),
)  # fmt: skip
def test_no_water_has_room_in_every_short_text(walls: list[tuple[str, Advice | None]], tomorrow: bool) -> None:
    plan, walk = walk_with(bare(), [name for name, _ in walls], [what for _, what in walls])
    told_ = occasion(walk, **({"day": "2027-05-12"} if tomorrow else {}))
    present = Present(plan, NOTHING_SAID, plan.name, WORDS, told_.due)
    text = compose([told_], present, "", "k").short
    held = [what for _, what in walls if what in (Advice.FROST, Advice.COLD)]
    assert len(text) <= 110
    assert ("NO WATER" in text) == bool(held)
    assert ("NO WATER on" in text) == (0 < len(held) < len(walls))
    assert ("frost tonight" in text) == (Advice.FROST in held)
    assert ("below 5 °C" in text) == (Advice.COLD in held)
    # two walks in one message: what holds water back stands first
    (other,) = [one for one in bare().rounds if one.id == "2027-05-11.early.near"]
    both = compose([occasion(other, slot="early"), told_], present, "", "k").short
    assert len(both) <= 110
    assert ("NO WATER" in both) == bool(held)


def test_walls_without_water_are_named_beside_those_with_some() -> None:
    plan, walk = walk_with(bare(), ["1", "2", "3"], [Advice.FROST, None, Advice.FROST])
    text = compose([occasion(walk, minutes=20)], Present(plan, NOTHING_SAID, plan.name, WORDS, DAY[0]), "", "k").short
    assert text == "MIST late, walls 1 2 3, before 20:20. 20 min. NO WATER on 1 3: frost tonight."
