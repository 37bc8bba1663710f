"""Who does it and when: hours, reach, other jobs, two yards, holidays, and both halves of the globe."""

from __future__ import annotations

import itertools
from collections import Counter
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from astral import Observer
from astral.sun import azimuth, elevation, sunset
from court import (
    AMSTERDAM,
    FRIDAY,
    WORDS,
    at,
    coat,
    day,
    edit,
    face,
    first_plan,
    job_file,
    near_only,
    of_face,
    of_person,
    planned,
    three_walls,
    wall,
)  # fmt: skip
from jobs import read

from curing.model.job import BusySpan
from curing.model.plan import Booking, Kind, Plan, Slot, State
from curing.planning.check import check
from curing.publish import plan_json
from curing.workflow.planning import next_plan


@pytest.fixture(scope="module")
def told() -> Plan:
    """Return what people were told on Friday 30 April."""
    return first_plan()


# ------------------------------------------------------------------- both halves of the globe


def on_the_globe(latitude: float, shift: int) -> dict[str, Any]:
    """Return four faces at a latitude, everything ``shift`` days later; mirrored south of the equator."""

    def later(text: str) -> str:
        return str(date.fromisoformat(text) + timedelta(shift))

    walls = []
    for k, facing in enumerate((10, 95, 170, 260, 200, 350)):
        azimuth = facing if latitude > 0 else (180 - facing) % 360
        start = later(f"2027-05-{3 + 7 * (k // 2):02d}")
        walls.append(wall(str(k), face(f"{azimuth}°", start=start, area="7 m2")))
    data = job_file(*walls, near={"mon-sun": "04:00-23:30"})
    near_only(data)
    data["sites"][0] |= {"latitude": latitude, "longitude": 0.0, "time_zone": "Etc/UTC"}
    data["holidays"] = {}
    data["holds"] = {point: later(met) for point, met in data["holds"].items()}
    return data


def test_the_south_walks_the_mirrored_way_half_a_year_later():
    # Mirrored at the equator and 26 weeks later the sun goes the same way, so that the same faces are
    # walked in the same order; N and S change places.
    shift = 182
    north = planned(on_the_globe(48.0, 0), datetime(2027, 4, 30, 12, tzinfo=UTC))
    south = planned(on_the_globe(-48.0, shift), datetime(2027, 4, 30, 12, tzinfo=UTC) + timedelta(shift))

    def walked(plan: Plan, back: int) -> dict[tuple[date, Slot | None], list[str]]:
        return {
            (one.start.date() - timedelta(back), one.slot): [visit.id[:8] for visit in one.visits]
            for one in plan.rounds
        }

    def laid(plan: Plan, back: int) -> dict[str, date]:
        return {one.id: one.start.date() - timedelta(back) for one in plan.bookings if one.kind is Kind.COAT}

    assert laid(north, 0) == laid(south, shift)
    assert walked(north, 0) == walked(south, shift)
    assert len({tuple(order) for order in walked(north, 0).values()}) > 8


# ------------------------------------------------------------------- other people's hours


def overlapping(one: Booking, start: datetime, end: datetime, person: str) -> bool:
    out = [gap for gap in one.absent if gap.person == person]
    if person not in one.who or one.state in (State.DONE, State.OFF):
        return False
    start, end = max(start, one.start), min(end, one.end)
    return start < end and not any(gap.start <= start and end <= gap.end for gap in out)


def test_hours_given_to_another_job_are_left_alone(told: Plan):
    span = (at(5, 4, "07:00"), at(5, 4, "15:30"))
    busy = BusySpan(person="bo", start=int(span[0].timestamp()), end=int(span[1].timestamp()), job="Mill Lane")
    job = read(three_walls(), FRIDAY).model_copy(update={"busy": (busy,)})
    plan, _ = next_plan(job, None, FRIDAY, WORDS)
    assert check(job, plan) == []
    assert [one.id for one in plan.everything() if overlapping(one, *span, "bo")] == []
    assert day(coat(plan, "2-out.base")) > date(2027, 5, 4)


def test_who_is_given_to_another_job_keeps_no_edge_wet():
    # Three of a crew could lay 24 m2; with one of them elsewhere all day 8.4 + 8.4 m2 exceed the 16 m2 of two.
    walls = [wall(str(k), face(area="8.4 m2", start="2027-05-03"), dry="2027-04-30") for k in (1, 2)]
    data = job_file(*walls)
    data["people"].append({**data["people"][2], "id": "cas", "name": "Cas"})
    data["crews"][0]["people"].append("cas")
    span = (at(5, 3, "07:00"), at(5, 3, "15:30"))
    busy = BusySpan(person="cas", start=int(span[0].timestamp()), end=int(span[1].timestamp()), job="Mill Lane")
    job = read(data, FRIDAY).model_copy(update={"busy": (busy,)})
    plan, _ = next_plan(job, None, FRIDAY, WORDS)
    assert {day(coat(plan, f"{k}-out.base")) for k in (1, 2)} == {date(2027, 5, 3), date(2027, 5, 4)}
    assert check(job, plan) == []


def test_two_jobs_share_a_person_through_the_written_plan(tmp_path: Path, told: Plan):
    (tmp_path / "other.json").write_text(plan_json.text(plan_json.dump(told, WORDS)), encoding="utf-8")
    data = edit(lambda d: d.update(uid="0b8f0c52-6a3e-4c7e-9a53-0d6a3b1c2d10", busy=["other.json"]))
    job = read(data, FRIDAY, beside=tmp_path)
    plan, _ = next_plan(job, None, FRIDAY, WORDS)
    assert check(job, plan) == []
    for person in ("ida", "bo", "near"):
        taken = [one for one in told.everything() if person in one.who]
        for other in taken:
            gaps = [gap for gap in other.absent if gap.person == person]
            clash = [
                one.id
                for one in plan.everything()
                if overlapping(one, other.start, other.end, person)
                and not any(gap.start <= one.start and one.end <= gap.end for gap in gaps)
            ]
            assert clash == [], (person, other.id)


def two_yards() -> tuple[dict[str, Any], datetime]:
    """Return two faces to lay and one to mist at each of two yards, with one crew that mists as well."""
    place = {"longitude": 5.2, "time_zone": "Europe/Amsterdam"}
    sites = [{"id": name, "name": name, "latitude": 52.0 + k / 10, **place} for k, name in enumerate(("a", "b"))]
    done = {"base": "2027-04-12 15:00", "finish": "2027-04-28 15:00"}
    walls = []
    for k in range(6):
        site = "ab"[k % 2]
        lines = {"done": done, "holds": {"base-dry": "2027-04-27"}} if k < 2 else {"start": "2027-05-03"}
        walls.append(wall(str(k), face("NESW"[k % 4], area="4 m2", **lines), site=site))
    data = job_file(*walls, sites=sites)
    del data["people"][0]
    return data, FRIDAY


def test_half_a_day_is_spent_at_one_yard():
    data, now = two_yards()
    job = read(data, now)
    plan, _ = next_plan(job, None, now, WORDS)
    assert check(job, plan) == []
    where: dict[tuple[str, date, bool], set[str]] = {}
    for one in plan.everything():
        if one.state in (State.DONE, State.OFF):
            continue
        for person in one.who:
            gaps = sorted((gap.start, gap.end) for gap in one.absent if gap.person == person)
            edges = [one.start, *itertools.chain(*gaps), one.end]
            for start, end in zip(edges[::2], edges[1::2], strict=True):
                noon = start.astimezone(AMSTERDAM).replace(hour=12, minute=0)
                if start < min(end, noon):
                    where.setdefault((person, day(one), False), set()).add(one.site)
                if max(start, noon) < end:
                    where.setdefault((person, day(one), True), set()).add(one.site)
    assert {sites for sites in map(frozenset, where.values()) if len(sites) > 1} == set()
    assert {site for sites in where.values() for site in sites} == {"a", "b"}


def test_one_person_looks_at_midday_in_one_yard_only():
    # A bare east face at each of two yards has a midday look (11:30-13:30) on days 1-14; there is one crew
    # member to look, and somebody near by for the other walks. A round is known by its day, its part of the
    # day and its person, so a person has one a slot.
    data, _ = two_yards()
    data["people"].insert(0, job_file()["people"][0])
    done = {"base": "2027-04-12 15:00", "finish": "2027-04-28 15:00"}
    walls = [
        wall(name, face("E", area="4 m2", cloth=False, done=done, holds={"base-dry": "2027-04-27"}), site=name)
        for name in ("a", "b")
    ]
    data["walls"] = walls
    data["people"][1:] = [data["people"][1]]
    data["crews"][0]["people"] = ["ida"]
    job = read(data, FRIDAY)
    plan, _ = next_plan(job, None, FRIDAY, WORDS)
    assert [one for one, times in Counter(one.id for one in plan.rounds).items() if times > 1] == []
    middays = Counter(day(one) for one in plan.rounds if one.slot is Slot.MIDDAY and one.who)
    assert set(middays.values()) == {1}
    assert check(job, plan) == []


@pytest.mark.parametrize(("waits_for", "task"), [("1-out", "base"), ("1-out.finish", "finish")])
def test_a_face_waits_for_the_one_before_it(waits_for: str, task: str):
    inside = {"side": "in", "area": "6 m2", "height": "2.5 m", "system": "clay-inside", "after": [waits_for]}
    data = job_file(
        wall("1", face(start="2027-05-10"), inside, dry="2027-04-30"),
        holds={**dict.fromkeys(job_file()["holds"], "2027-02-01"), "sample-clay": "2027-02-01"},
    )
    plan = planned(data, FRIDAY)
    assert coat(plan, "1-in.base").start >= coat(plan, f"1-out.{task}").end
    pushed = edit(of_face(1, start="2027-05-26"), data=data)
    again = planned(pushed, FRIDAY, plan)
    assert coat(again, "1-in.base").start >= coat(again, f"1-out.{task}").end > coat(plan, f"1-out.{task}").end


def test_who_comes_on_holidays_has_the_hours_of_holidays():
    # Thursday 6 May is Ascension; the base of Tue 4 May is on its second day.
    near = {"mon-fri": "07:00-20:00", "sat-sun": "08:00-20:00", "holiday": "10:00-17:00"}
    data = job_file(wall("1", face(start="2027-05-04"), dry="2027-04-30"), near=near)
    plan = planned(data, FRIDAY)
    holiday = [one for one in plan.rounds if day(one) == date(2027, 5, 6)]
    assert sorted(one.slot.value for one in holiday if one.slot) == ["early", "late"]
    for one in holiday:
        assert one.who == ("near",)
        assert at(5, 6, "10:00") <= one.start < one.end <= at(5, 6, "17:00")


def test_without_hours_for_holidays_those_of_sunday_hold():
    data = job_file(wall("1", face(start="2027-05-04"), dry="2027-04-30"), near={"sun": "09:00-11:00"})
    plan = planned(data, FRIDAY)
    named = [one for one in plan.rounds if day(one) == date(2027, 5, 6) and one.who]
    assert [one.who for one in named] == [("near",)]
    assert at(5, 6, "09:00") <= named[0].start < named[0].end <= at(5, 6, "11:00")


@pytest.mark.parametrize("month", [5, 7, 9])
def test_walks_keep_clear_of_the_sun_on_the_south_face(month: int):
    # Early: to 30 min before the sun reaches the south face; late: from 30 min after it has left that face
    # to an hour before sunset, or the last minutes before that where the sun leaves it later (common practice,
    # no source). The sun by the NOAA formulas of astral; walks are set on a grid of five minutes.
    done = {"base": f"2027-{month - 1:02}-01 15:00", "finish": f"2027-{month:02}-01 15:00"}
    data = job_file(wall("1", face("S", done=done, holds={"base-dry": f"2027-{month:02}-01"})))
    near_only(data)
    walks = planned(data, at(month, 2)).rounds
    here = Observer(52.1, 5.2)
    for one in walks[4:20]:
        minutes = [one.start.replace(hour=3, minute=0) + timedelta(minutes=k) for k in range(18 * 60)]
        on_south = [at for at in minutes if 90 < azimuth(here, at) < 270 and elevation(here, at) > 0]
        assert one.until is not None
        if one.slot is Slot.EARLY:
            assert one.end <= one.until
            assert abs(on_south[0] - timedelta(minutes=30) - one.until) <= timedelta(minutes=6)
        else:
            assert abs(sunset(here, one.start.date()) - timedelta(minutes=60) - one.until) <= timedelta(minutes=6)
            last_minutes = one.until - timedelta(minutes=15)
            assert one.start >= min(on_south[-1] + timedelta(minutes=24), last_minutes)
            assert one.end <= one.until


def test_rounds_that_nobody_takes_stand_with_nobody_and_head_the_warnings():
    data = job_file(wall("1", face(start="2027-05-03"), dry="2027-04-30"))
    del data["people"][0]
    plan = planned(data, FRIDAY)
    weekend = [one for one in plan.rounds if day(one).weekday() > 4 or day(one) == date(2027, 5, 6)]
    assert {one.who for one in weekend} == {()}
    assert Counter(visit.face for one in plan.rounds for visit in one.visits)["1-out"] == 6 + 42
    near = [one.values["day"] for one in plan.warnings if one.urgent and one.rule == "visit.walks"]
    assert near == ["2027-05-06"]
    assert plan.warnings[0].values["day"] == "2027-05-06"
    days = [one.values["day"] for one in plan.warnings if one.rule == "visit.walks"]
    assert days == sorted({day(one).isoformat() for one in plan.rounds if not one.who})


def test_nobody_on_the_ground_mists_above_their_reach():
    tall = face(start="2027-05-03", height="5.5 m", area="8 m2")
    plan = planned(job_file(wall("1", tall, dry="2027-04-30")), FRIDAY)
    assert {person for one in plan.rounds for person in one.who} <= {"ida", "bo"}
    assert {one.who for one in plan.rounds if day(one).weekday() > 4} == {()}


def test_a_round_is_no_longer_than_a_person_walks():
    done = {"base": "2027-05-03 15:00", "finish": "2027-05-18 15:00"}
    walls = [wall(str(k), face("NESW"[k % 4], done=done, holds={"base-dry": "2027-05-17"})) for k in range(6)]
    data = job_file(*walls)
    near_only(data)
    of_person("near", longest_round="30 min")(data)
    plan = planned(data, at(5, 19))
    lengths = {(one.end - one.start).total_seconds() / 60 for one in plan.rounds if one.who}
    assert max(lengths) <= 30
    counted = Counter(visit.face for one in plan.rounds for visit in one.visits)
    assert set(counted.values()) == {42}
