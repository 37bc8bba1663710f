"""Covers that the weather asks for in the plan: up before, down after, never against wind. Weather is invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

import numpy as np
import pytest
from court import AMSTERDAM, WORDS, at, coat, face, job_file, read, wall
from test_weather_moves import HOUR, KIND

from curing.model.plan import Booking, EventMark, Kind, Notice, Plan, State
from curing.model.weather import VARIABLES, Weather, of
from curing.planning.check import check
from curing.publish.calendar import feeds
from curing.publish.event_text import EventTexts, steps
from curing.publish.plan_json import dump, load
from curing.workflow.planning import next_plan
from curing.workflow.weather_plan import PlanWeather

MONDAY = at(3, 22, "16:00")
"""The base was closed at noon; the crew has gone, it is there from 07:00 to 15:30 and not at weekends."""


def laid(near: str = "07:00-21:00", **more: Any) -> dict[str, Any]:
    """One high north face, whose base was laid on Monday 22 March."""
    return job_file(wall("1", face("N", done={"base": "2027-03-22 12:00"}, **more), dry="2027-03-20"),
                    near={"mon-sun": near})  # fmt: skip


def high(**more: Any) -> dict[str, Any]:
    """The same out of reach from the ground: only the crew can cover it."""
    return laid(**{"height": "7 m", "scaffold": "fixed scaffold", **more})


def sky(now: datetime, *spells: tuple[str, datetime, datetime, float], **more: float) -> Weather:
    """Mild weather from two days before it was told to ten days after, with spells put over it."""
    start = now.replace(minute=0) - 48 * HOUR
    series = {name: np.full(24 * 12, {**KIND, "temperature": 9.0, **more}[name]) for name in VARIABLES}
    for name, first, last, value in spells:
        series[name][(first - start) // HOUR : (last - start) // HOUR] = value
    return replace(of(series, start, 24 * 12, "file"), issued=now)


def cold(now: datetime, *nights: tuple[datetime, datetime], lowest: float = -2.0) -> Weather:
    return sky(now, *(("temperature", first, last, lowest) for first, last in nights))


def after(data: dict[str, Any], now: datetime, parent: Plan | None, *runs: Weather) -> tuple[Plan, bool]:
    job = read(data, now)
    told = PlanWeather({job.file.sites[0].id: runs}) if runs else PlanWeather()
    plan, news = next_plan(job, parent, now, WORDS, weather=told)
    assert check(job, plan) == []
    return plan, news


def covers(plan: Plan) -> list[Booking]:
    """Covers against weather, by start; cloth by the coat system alone is none."""
    return [one for one in plan.bookings if one.kind is Kind.COVER and one.task != "finish.cloth-down"]


def clock(when: datetime) -> str:
    return f"{when.astimezone(AMSTERDAM):%a %d %H:%M}"


def when(plan: Plan) -> list[tuple[str, str, tuple[str, ...]]]:
    return [(one.id, clock(one.start), one.who) for one in covers(plan)]


def urgent(plan: Plan) -> list[Notice]:
    return [one for one in plan.warnings if one.urgent and one.key.startswith(("frost_", "sheet_", "cloth_", "cover_"))]


def marks(plan: Plan) -> dict[str, EventMark]:
    """What phones were told of covers; what the same weather does to walks is no matter here."""
    return {one.id: plan.events[one.uid] for one in covers(plan)}


NIGHT = (at(3, 24, "01:00"), at(3, 24, "07:00"))
"""Tuesday's night."""


def test_without_weather_there_is_no_cover():
    plan, _ = after(high(), MONDAY, None)
    assert covers(plan) == []


def test_a_frost_night_is_covered_before_dusk_while_somebody_is_there_and_uncovered_after():
    plan, _ = after(high(), MONDAY, None, cold(MONDAY, NIGHT))
    up, down = covers(plan)
    assert (up.id, down.id) == ("1-out.base.frost-2027-03-23-up", "1-out.base.frost-2027-03-23-down")
    assert "Tue 23 14:30" <= clock(up.start) < clock(up.end) <= "Tue 23 15:30"  # the end of the crew's day
    assert clock(down.start) == "Wed 24 07:00"
    assert set(up.who) <= {"ida", "bo"}
    assert (clock(up.until), up.title) == ("Tue 23 15:30", "FROST")
    assert WORDS.reason(up.reason).startswith("frost Wed 24 March 01:00 to Wed 24 March 07:00: -2 °C, could be -3.9 °C")
    assert "mobile tower" in WORDS.reason(up.reason)
    assert "29 km/h" in WORDS.reason(up.reason)
    assert {"cloth", "height", "lime"} <= set(up.cautions)
    assert urgent(plan) == []


def test_a_cover_comes_down_the_next_morning_however_far_the_next_coat_is():
    late = high(rules={"finish.least_wait": "40 d", "finish.greatest_wait": "60 d"})
    first, _ = after(late, MONDAY, None)
    plan, _ = after(late, MONDAY, first, cold(MONDAY, NIGHT))
    _, down = covers(plan)
    assert clock(down.start) == "Wed 24 07:00"


def test_who_mists_covers_what_is_reached_from_the_ground_on_a_day_without_the_crew():
    saturday = at(3, 27, "09:00")
    data = laid()
    plan, _ = after(data, saturday, None, cold(saturday, (at(3, 28, "02:00"), at(3, 28, "07:00"))))
    up, _ = covers(plan)
    assert up.who == ("near",)
    assert "Sat 27 17:" < clock(up.start) < "Sat 27 19:05"  # the sun sets at 19:07 there


def test_planned_twice_is_planned_once_and_a_slightly_different_run_changes_no_byte():
    data = high()
    plan, _ = after(data, MONDAY, None, cold(MONDAY, NIGHT))
    now = MONDAY + 3 * HOUR
    again, news = after(data, now, plan, cold(now, NIGHT), cold(MONDAY, NIGHT))
    assert not news
    assert again.bookings == plan.bookings
    other = cold(now, (NIGHT[0] - HOUR, NIGHT[1]), lowest=-3.4)
    near, news = after(data, now, plan, other, cold(MONDAY, NIGHT))
    assert not news
    assert feeds(near, WORDS, now) == feeds(plan, WORDS, now)


def test_a_frost_that_begins_before_midnight_or_after_is_one_cover():
    data = high()
    plan, _ = after(data, MONDAY, None, cold(MONDAY, (at(3, 23, "22:00"), NIGHT[1])))
    other, news = after(data, MONDAY + HOUR, plan, cold(MONDAY + HOUR, NIGHT))
    assert not news
    assert when(other) == when(plan)


def test_frost_that_lasts_longer_moves_the_down_alone():
    data = high()
    plan, _ = after(data, MONDAY, None, cold(MONDAY, NIGHT))
    now = MONDAY + HOUR
    longer, news = after(data, now, plan, cold(now, (NIGHT[0], at(3, 24, "11:00"))))
    assert news
    before, later = covers(plan), covers(longer)
    assert later[0] == before[0]
    assert later[1].uid == before[1].uid
    assert clock(later[1].start) == "Wed 24 11:00"


def test_what_is_not_up_yet_goes_with_a_reason_when_the_newest_run_has_no_frost():
    data = high()
    plan, _ = after(data, MONDAY, None, cold(MONDAY, NIGHT))
    now = at(3, 23, "09:00")
    fine, news = after(data, now, plan, cold(now), cold(MONDAY, NIGHT))
    assert news
    assert covers(fine) == []
    (change,) = [one for one in fine.changes if one.kind is Kind.COVER]
    assert WORDS.reason(change.reason) == "the newest forecast has no frost on 1 out"
    assert {one.uid for one in covers(plan)} <= set(fine.gone)


@pytest.mark.parametrize("run", [None, "old", "short"])
def test_old_or_missing_weather_takes_no_cover_away(run):
    data = high()
    plan, _ = after(data, MONDAY, None, cold(MONDAY, NIGHT))
    now = at(3, 23, "09:00")
    told = cold(now)
    if run == "old":
        told = replace(told, issued=now - timedelta(hours=25))
    if run == "short":
        told = sky(now, ("temperature", at(3, 24, "02:00"), at(3, 24, "04:00"), np.nan))
    same, _ = after(data, now, plan, *([told] if run else []))
    assert marks(same) == marks(plan)


def test_what_is_up_comes_down_as_told_though_no_frost_is_foreseen_any_more():
    data = high()
    plan, _ = after(data, MONDAY, None, cold(MONDAY, NIGHT))
    now = at(3, 23, "18:00")
    fine, _ = after(data, now, plan, cold(now))
    assert marks(fine) == marks(plan)
    morning = at(3, 24, "06:00")
    later, _ = after(data, morning, fine, cold(morning))
    assert marks(later) == marks(plan), "the up of yesterday is history, the down is still to come"
    noon, _ = after(data, at(3, 25, "12:00"), later, cold(at(3, 25, "12:00")))
    assert when(noon) == when(plan)


def test_wind_in_the_night_brings_it_down_before_and_says_that_the_face_is_bare():
    blow = ("wind", at(3, 24, "04:00"), at(3, 24, "06:00"), 9.0)
    frost = ("temperature", at(3, 23, "15:00"), NIGHT[1], -2.0)
    now = at(3, 23, "07:30")
    plan, _ = after(high(), now, None, sky(now, frost, blow))
    up, down = covers(plan)
    assert up.start < down.start <= down.end <= at(3, 23, "15:30")
    assert WORDS.reason(down.reason) == (
        "wind of 29 km/h and more from Wed 24 March 04:00: down before it, the face is then bare"
    )
    assert clock(down.until) == "Tue 23 15:30"


def test_wind_before_the_frost_bars_it_and_warns():
    blow = ("wind", at(3, 23, "21:00"), at(3, 23, "23:00"), 9.0)
    run = sky(MONDAY, ("temperature", *NIGHT, -2.0), blow)
    plan, _ = after(high(), MONDAY, None, run)
    assert covers(plan) == []
    (told,) = urgent(plan)
    assert WORDS.notice(told) == (
        "1 out: frost Wed 24 March 01:00, and wind of 29 km/h takes a cover down before: tell the lead"
    )


def test_wind_that_a_newer_run_brings_takes_a_planned_cover_away_or_brings_down_what_is_up():
    data = high()
    plan, _ = after(data, MONDAY, None, cold(MONDAY, NIGHT))
    now = at(3, 23, "09:00")
    windy = ("wind", at(3, 23, "20:00"), at(3, 23, "23:00"), 9.0)
    bare, _ = after(data, now, plan, sky(now, ("temperature", *NIGHT, -2.0), windy))
    assert covers(bare) == []
    (change,) = [one for one in bare.changes if one.kind is Kind.COVER]
    assert WORDS.reason(change.reason) == "wind would take it down again before: 1 out stays bare"
    near = laid()  # somebody is there until 21:00
    plan, _ = after(near, MONDAY, None, cold(MONDAY, NIGHT))
    up = covers(plan)[0]
    now = up.end + timedelta(minutes=10)
    down = covers(after(near, now, plan, sky(now, ("temperature", *NIGHT, -2.0), windy))[0])[1]
    assert down.reason.key == "cover_wind_down"
    assert now < down.start < down.end <= at(3, 23, "20:00")


def test_nothing_is_hung_on_a_mobile_tower():
    plan, _ = after(high(scaffold="mobile tower"), MONDAY, None, cold(MONDAY, NIGHT))
    assert covers(plan) == []
    (told,) = urgent(plan)
    assert "nothing is hung on a mobile tower" in WORDS.notice(told)


def test_a_cover_that_nobody_can_put_up_is_shown_and_warned_of():
    data = high()
    for person in data["people"]:
        person["away"] = ["2027-03-23..2027-03-24"] if person["id"] != "near" else []
    now = at(3, 23, "06:00")
    plan, _ = after(data, now, None, cold(now, NIGHT))
    up, down = covers(plan)
    assert up.who == ()
    assert at(3, 23, "06:00") <= up.start < NIGHT[0]
    assert down.start >= NIGHT[1]
    (told,) = [one for one in urgent(plan) if one.key == "frost_nobody"]
    assert WORDS.notice(told).endswith("name one")
    earlier = (at(3, 23, "23:00"), NIGHT[1])
    again, _ = after(data, now + HOUR, plan, cold(now + HOUR, earlier))
    assert marks(again) == marks(plan)


def test_what_nobody_put_up_is_given_to_the_first_who_is_there():
    data = high()
    for person in data["people"]:
        person["away"] = ["2027-03-23..2027-03-24"] if person["id"] != "near" else []
    long = (NIGHT[0], at(3, 26, "07:00"))
    plan, _ = after(data, at(3, 23, "06:00"), None, cold(at(3, 23, "06:00"), long))
    assert covers(plan)[0].who == ()
    now = at(3, 25, "06:00")
    later, _ = after(data, now, plan, cold(now, long))
    up, down = (one for one in covers(later) if one.end > now)
    assert up.who
    assert clock(up.start) >= "Thu 25 07:00"
    assert down.start >= long[1]


def test_two_faces_are_covered_one_after_another_and_kept_so():
    data = high()
    data["walls"].append({**wall("2", face("N", done={"base": "2027-03-22 12:00"}, height="7 m"), dry="2027-03-20")})
    plan, _ = after(data, MONDAY, None, cold(MONDAY, NIGHT))
    ups = [one for one in covers(plan) if one.id.endswith("-up")]
    assert len(ups) == 2
    again, news = after(data, MONDAY + HOUR, plan, cold(MONDAY + HOUR, NIGHT))
    assert not news
    assert when(again) == when(plan)


def test_rain_on_a_fresh_coat_asks_for_sheets_and_sun_for_cloth_where_none_hangs_by_the_system():
    now = at(3, 22, "12:30")
    wet = ("rain", at(3, 23, "02:00"), at(3, 23, "05:00"), 3.0)
    plan, _ = after(high(), now, None, sky(now, wet, wind=6.0))
    up, down = covers(plan)
    assert (up.title, down.title) == ("SHEETS", "SHEETS")
    assert clock(up.end) <= "Mon 22 15:30"
    assert "Tue 23 07:00" <= clock(down.start) <= "Tue 23 07:30"
    assert WORDS.reason(up.reason).startswith("rain on it Tue 23 March 02:00 to Tue 23 March 05:00")


def test_frost_now_with_nobody_there_is_said_and_not_booked():
    now = at(3, 24, "05:00")
    plan, _ = after(high(), now, None, cold(now, NIGHT))
    assert covers(plan) == []
    (told,) = urgent(plan)
    assert WORDS.notice(told) == "1 out: frost to Wed 24 March 07:00, nobody is there to cover it: look at it after"


def test_frost_that_goes_on_beyond_three_days_is_one_cover_whose_down_does_not_creep():
    data = high()
    now = at(3, 22, "12:40")
    long = (at(3, 24, "20:00"), at(3, 25, "15:00"))
    plan, _ = after(data, now, None, cold(now, long))
    for hours in (1, 2, 3):
        later, news = after(data, now + hours * HOUR, plan, cold(now + hours * HOUR, long))
        assert not news
        assert when(later) == when(plan)


def test_covers_are_booked_three_days_ahead_and_no_further():
    now = at(3, 22, "12:40")
    plan, _ = after(high(), now, None, cold(now, (at(3, 25, "12:00"), at(3, 25, "14:00"))))
    assert len(covers(plan)) == 2
    plan, _ = after(high(), now, None, cold(now, (at(3, 25, "13:00"), at(3, 25, "15:00"))))
    assert covers(plan) == []


def test_a_coat_of_which_nobody_said_that_it_was_laid_is_covered_all_the_same():
    data = to_lay("N", height="7 m")
    first, _ = after(data, at(5, 3, "16:00"), None)
    now = at(5, 6, "06:00")
    plan, _ = after(data, now, first, cold(now, (at(5, 7, "02:00"), at(5, 7, "06:00"))))
    assert coat(plan, "1-out.base").floor_cause == "unconfirmed"
    assert [one.id for one in covers(plan)] == ["1-out.base.frost-2027-05-06-up", "1-out.base.frost-2027-05-06-down"]


def test_under_the_next_coat_only_that_is_covered():
    thin = {"rules": {"base.thickness": "10 mm"}, "done": {"base": "2027-05-03 12:00"}}
    data = job_file(wall("1", face("N", height="7 m", **thin), dry="2027-04-30"))
    first, _ = after(data, at(5, 4, "06:00"), None)
    assert clock(coat(first, "1-out.finish").start) == "Thu 13 07:00"
    now = at(5, 11, "06:00")
    plan, _ = after(data, now, first, cold(now, (at(5, 14, "01:00"), at(5, 14, "05:00"))))
    name = "1-out.finish.frost-2027-05-13"
    assert [one.id for one in covers(plan)] == [f"{name}-up", f"{name}-down"]


def test_a_cover_keeps_its_time_when_another_face_needs_one():
    data = high()
    plan, _ = after(data, MONDAY, None, cold(MONDAY, NIGHT))
    data["walls"].append(wall("2", face("N", done={"base": "2027-03-22 12:00"}, height="7 m"), dry="2027-03-20"))
    both, _ = after(data, MONDAY + HOUR, plan, cold(MONDAY + HOUR, NIGHT))
    assert len(covers(both)) == 4
    assert {one.id: one.start for one in covers(plan)}.items() <= {one.id: one.start for one in covers(both)}.items()


# ------------------------------------------------------------------- coats under cloth or sheets


def to_lay(facing: str = "E", **more: Any) -> dict[str, Any]:
    """One face whose base is told for Wednesday 5 May; its panel is dry."""
    return job_file(wall("1", face(facing, start="2027-05-05", **more), dry="2027-05-01"))


def told_of(data: dict[str, Any], *spells: tuple[str, datetime, datetime, float], **more: float) -> tuple[Plan, Plan]:
    first, _ = after(data, at(5, 3, "16:00"), None)
    now = at(5, 4, "06:30")
    plan, _ = after(data, now, first, sky(now, *spells, **{"temperature": 15.0, **more}))
    return first, plan


SUN = [(name, at(5, 5, "08:00"), at(5, 5, "13:00"), value) for name, value in (("radiation", 600.0), ("cloud", 0.0))]


def test_a_coat_in_the_sun_says_that_cloth_goes_up_first_and_keeps_its_words():
    data = to_lay()
    _, plan = told_of(data, *SUN)
    base = coat(plan, "1-out.base")
    assert [one.key for one in base.under] == ["under_sun"]
    assert steps(WORDS, base)[0].startswith("Cloth up first: sun on it Wed 5 May 08:00 to ")
    assert "Cloth up first" in EventTexts(plan, WORDS).event(base).body
    (down,) = covers(plan)  # who lays the coat hangs it
    assert (down.id, down.title, down.start >= base.end) == ("1-out.base.cloth-2027-05-05-down", "CLOTH", True)
    now = at(5, 4, "09:00")
    spells = [(name, first, last, value * 1.1) for name, first, last, value in SUN]
    again, _ = after(data, now, plan, sky(now, *spells, temperature=15.0))
    assert coat(again, "1-out.base") == base
    grey, _ = after(data, now, plan, sky(now, temperature=15.0))
    assert coat(grey, "1-out.base").under == base.under


def test_a_face_that_takes_no_cloth_says_nothing_of_cloth():
    _, plan = told_of(to_lay(cloth=False), *SUN)
    assert coat(plan, "1-out.base").under == ()
    assert covers(plan) == []


def test_a_coat_that_stands_in_rain_under_sheets_says_so_and_one_that_is_off_says_that_it_could_be():
    wet = ("rain", at(5, 5, "20:00"), at(5, 5, "23:00"), 3.0)
    fixed = to_lay("N", scaffold="north scaffold")
    first, _ = after(fixed, at(5, 3, "05:00"), None)
    now = at(5, 3, "06:00")
    watched, _ = after(fixed, now, first, sky(now, wet, temperature=15.0, wind=6.0))
    base = coat(watched, "1-out.base")
    assert [one.key for one in base.under] == ["under_rain"]
    assert steps(WORDS, base)[0].startswith("Under sheets: rain on it Wed 5 May 20:00")
    assert [one.title for one in covers(watched)] == ["SHEETS", "SHEETS"]
    near = base.start - 12 * HOUR
    off, _ = after(fixed, near, first, sky(near, wet, temperature=15.0, wind=6.0))
    assert coat(off, "1-out.base").state is State.OFF
    (told,) = [one for one in off.warnings if one.key == "under_sheets"]
    assert WORDS.notice(told) == (
        "1 out base: under sheets on its fixed scaffold it could be laid on Wed 5 May all the same"
    )
    tower = to_lay("N", scaffold="mobile tower")
    first, _ = after(tower, at(5, 3, "05:00"), None)
    off, _ = after(tower, near, first, sky(near, wet, temperature=15.0, wind=6.0))
    assert [one for one in off.warnings if one.key == "under_sheets"] == []


def test_cloth_that_hangs_by_the_coat_system_is_not_asked_for_twice():
    data = job_file(
        wall("1", face("S", done={"base": "2027-05-03 12:00", "finish": "2027-06-07 12:00"}), dry="2027-04-30")
    )
    now = at(6, 8, "06:30")
    heat = {"radiation": 900.0, "cloud": 0.0, "temperature": 38.0, "humidity": 10.0}
    hot = [(name, at(6, 9, "08:00"), at(6, 9, "18:00"), value) for name, value in heat.items()]
    plan, _ = after(data, now, None, sky(now, *hot, wind=7.5))
    assert covers(plan) == []
    assert [one.task for one in plan.bookings if one.kind is Kind.COVER] == ["finish.cloth-down"]


def test_an_old_plan_json_without_the_field_loads_and_one_without_weather_writes_none():
    plan, _ = after(to_lay(), at(5, 3, "16:00"), None)
    written = dump(plan, WORDS)
    assert all("under" not in one for one in written["bookings"])
    assert load(written) == plan
    _, told = told_of(to_lay(), *SUN)
    assert load(dump(told, WORDS)) == told
    assert any("under" in one for one in dump(told, WORDS)["bookings"])


# ------------------------------------------------------------------- the check


LATE = at(3, 23, "21:00")


@pytest.mark.parametrize(
    ("change", "rule"),
    [
        (lambda up, down: [up], "plan.cover_down"),
        (lambda up, down: [down], "plan.cover_up"),
        (lambda up, down: [up, replace(down, start=up.start, end=up.end, who=("bo",))], "plan.cover_up"),
        (lambda up, down: [replace(up, until=up.end - timedelta(minutes=5)), down], "plan.cover_late"),
        (lambda up, down: [replace(up, start=LATE, end=LATE + HOUR / 3, until=None), down], "plan.hours"),
    ],
)  # fmt: skip
def test_the_check_finds_covers_that_make_no_sense(change, rule):
    data = high()
    plan, _ = after(data, MONDAY, None, cold(MONDAY, NIGHT))
    up, down = covers(plan)
    rest = [one for one in plan.bookings if one not in (up, down)]
    made = sorted([*rest, *change(up, down)], key=lambda one: (one.start, one.id))
    assert rule in {one.rule for one in check(read(data, MONDAY), replace(plan, bookings=tuple(made)))}


def test_the_check_finds_what_hangs_on_a_tower():
    plan, _ = after(high(), MONDAY, None, cold(MONDAY, NIGHT))
    assert {one.rule for one in check(read(high(scaffold="mobile tower"), MONDAY), plan)} == {"plan.cover_tower"}
