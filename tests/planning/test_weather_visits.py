"""What the weather makes of visits in the plan, against rules counted by hand. All weather here is invented."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime, timedelta
from functools import cache
from typing import Any

import numpy as np
import pytest
from court import AMSTERDAM, WORDS, at, events, face, job_file, wall
from court_record import Court
from hypothesis import Phase, assume, given, settings
from hypothesis import strategies as st
from jobs import read

from curing.model.plan import Booking, Care, Kind, Plan, Slot, State, Visit
from curing.model.record import RecordEntry, RecordKind
from curing.model.weather import VARIABLES, Weather, of
from curing.planning.check import check
from curing.planning.weather_past import Known
from curing.planning.weather_site import faces_of, site_weather
from curing.publish import plan_json
from curing.publish.event_text import EventTexts
from curing.publish.page_rounds import RoundPages
from curing.publish.terminal_today import Standing, today_page
from curing.publish.visit_weather import short, whole
from curing.workflow.opening import Said
from curing.workflow.planning import next_plan
from curing.workflow.weather_plan import PlanWeather

HOUR, DAY = timedelta(hours=1), timedelta(days=1)
NOW = at(5, 11, "05:00")
"""Tuesday; the coats are three days old and asked for two visits a day."""
HOURS = 24 * 9
NO_SHRINK = (Phase.explicit, Phase.reuse, Phase.generate)
"""A seed is no smaller than another."""
KIND = {"temperature": 15.0, "humidity": 60.0, "wind": 2.0, "direction": 0.0, "rain": 0.0, "radiation": 0.0,
        "cloud": 1.0}  # fmt: skip
DRY = {"temperature": 25.0, "humidity": 20.0, "wind": 5.0}
LAID = {"base": "2027-04-19 15:00", "finish": "2027-05-08 15:00"}
TODAY = date(2027, 5, 11)


def yard(**more: Any) -> dict[str, Any]:
    """Two walls with a fresh finish: west with cloth before it, north without."""
    west, north = face("W", done=LAID), face("N", done=LAID)
    return job_file(wall("1", west, dry="2027-04-18"), wall("2", north, dry="2027-04-18"), **more)


def sky(now: datetime = NOW, *spells: tuple[datetime, datetime, str, float], **all_day: float) -> Weather:
    """Kind weather from two days before to a week after, with other hours put over it."""
    start = now.replace(minute=0) - 48 * HOUR
    series = {name: np.full(HOURS, {**KIND, **all_day}[name]) for name in VARIABLES}
    for first, last, name, value in spells:
        series[name][(first - start) // HOUR : (last - start) // HOUR] = value
    return replace(of(series, start, HOURS, "file"), issued=now)


def plan_of(
    data: dict[str, Any], now: datetime, parent: Plan | None, run: Weather | None, *said: RecordEntry, **more: Any
) -> tuple[Plan, bool]:
    """Plan, and whether that is news; ``past``: hours past as measured or not."""
    job = read(data, now)
    site = job.file.sites[0].id
    past = more.get("past")
    known = {site: Known(past, np.zeros(HOURS), np.full(HOURS, more["measured"]))} if past else {}
    weather = PlanWeather({site: (run,)} if run else {}, known)
    plan, news = next_plan(job, parent, now, WORDS, Said(list(said), []), weather=weather)
    if parent is not None and parent.revision == 1:
        assert check(job, plan) == []
    return plan, news


def told_rounds(plan: Plan, now: datetime) -> dict[str, bytes]:
    """Return the bytes of the events of all rounds."""
    of_rounds = {one.uid for one in plan.rounds}
    return {uid: body for uid, body in events(plan, now).items() if uid in of_rounds}


@cache
def bare() -> Plan:
    """The plan people were told before any weather was read."""
    return plan_of(yard(), NOW, None, None)[0]


def seen(plan: Plan) -> dict[str, tuple[Visit, Booking]]:
    return {one.id: (one, walk) for walk in plan.rounds for one in walk.visits}


def advice(plan: Plan) -> dict[str, str]:
    """Return the advice of each visit that has some: ``1-out 11 late`` → ``frost``."""
    found = {}
    for one, walk in seen(plan).values():
        assert walk.slot is not None
        if one.advice:
            found[f"{one.face} {walk.start.astimezone(AMSTERDAM):%d} {walk.slot}"] = one.advice
    return found


def each(face_days: str, slot: str, what: str) -> dict[str, str]:
    return {f"{one} {day} {slot}": what for one in ("1-out", "2-out") for day in face_days.split()}


def hour_at(day: int, clock: str, month: int = 5) -> datetime:
    return at(month, day, clock)


# ---------------------------------------------------------------------------------- by hand


def test_kind_weather_changes_nothing() -> None:
    plan, news = plan_of(yard(), NOW, bare(), sky())
    assert not news
    assert plan.rounds == bare().rounds


def test_dry_air_adds_a_mist_at_midday_for_three_days_and_takes_no_planned_visit() -> None:
    plan, _ = plan_of(yard(), NOW, bare(), sky(**DRY))
    # cloth hangs before the west face already; it can be hung before the north one
    cloth = {f"2-out {day} early": "shade" for day in (11, 12, 13)}
    assert advice(plan) == each("11 12 13", "midday", "extra") | cloth
    for one, walk in seen(plan).values():
        if one.advice == "extra":
            assert (one.care, one.water, one.minutes) == (Care.MIST, 3.0, 9)
            assert hour_at(walk.start.day, "11:30") <= walk.start <= walk.end <= hour_at(walk.start.day, "13:30")
    for id_, (one, walk) in seen(bare()).items():
        now, there = seen(plan)[id_]
        assert (now.care, now.water, there.start, there.who) == (one.care, one.water, walk.start, walk.who)
    why = [WORDS.reason(one.reason) for one in plan.changes if ".midday." in one.id]
    assert why[0].startswith("one more at midday: the air takes ")
    assert why[0].endswith("L/m2 that day, 2.5 L/m2 or more asks for one")


def test_a_frost_night_holds_the_late_water_back_and_a_mist_goes_before_noon() -> None:
    cold = (hour_at(12, "03:00"), hour_at(12, "06:00"), "temperature", 1.0)
    plan, _ = plan_of(yard(), NOW, bare(), sky(NOW, cold))
    assert advice(plan) == each("11", "late", "frost") | each("11", "midday", "midday")
    for one, walk in seen(plan).values():
        if one.advice == "frost":
            assert (one.dry, one.water, one.id in seen(bare())) == (True, 0.0, True)
            assert whole(WORDS, one, walk.zone) == (
                "No water tonight, look only: down to 1 °C Wed 03:00 to 06:00, and a wet face freezes. Cover it."
            )
        if one.advice == "midday":
            assert one.water == 3.0
            assert hour_at(11, "10:00") == walk.start < walk.end <= hour_at(11, "12:00")
    texts = {one.slot: EventTexts(plan, WORDS).event(one) for one in plan.rounds if one.start < hour_at(12, "00:00")}
    assert texts[Slot.LATE].title == "LOOK late 2 1 · 20 min"
    assert "Put no water on." in texts[Slot.LATE].body
    assert "Fog the whole face" not in texts[Slot.LATE].body
    assert "Mist before noon: 1 °C Wed 03:00 to 06:00, so no water tonight." in texts[Slot.MIDDAY].body
    warm, _ = plan_of(yard(), NOW + HOUR, plan, sky(NOW + HOUR))
    late = [one for one, walk in seen(warm).values() if walk.slot is Slot.LATE and one.id.endswith("11.late")]
    assert [(one.advice, one.water) for one in late] == [("", 3.0)] * 2, "water again, and the change is told"
    assert {WORDS.reason(one.reason) for one in warm.changes if one.kind is Kind.ROUND} == {
        "the newest forecast no longer asks for what was said of it"
    }
    assert each("11", "midday", "midday").items() <= advice(warm).items(), "what was added for today stays"


def test_in_the_cold_visits_stay_without_water_and_none_is_added() -> None:
    plan, _ = plan_of(yard(), NOW, bare(), sky(temperature=4.9, humidity=40.0))
    assert advice(plan) == each("11 12 13", "early", "cold") | each("11 12 13", "late", "cold")
    assert seen(plan).keys() == seen(bare()).keys()


def test_no_mist_goes_before_noon_where_noon_is_too_cold_as_well() -> None:
    noon = (hour_at(11, "10:00"), hour_at(11, "14:00"), "temperature", 4.5)
    night = (hour_at(12, "03:00"), hour_at(12, "06:00"), "temperature", 1.0)
    assert advice(plan_of(yard(), NOW, bare(), sky(NOW, noon, night))[0]) == each("11", "late", "frost")


def test_no_mist_is_added_at_a_noon_too_cold_for_water() -> None:
    noon = (hour_at(11, "10:00"), hour_at(11, "14:00"), "temperature", 4.5)
    found = advice(plan_of(yard(), NOW, bare(), sky(NOW, noon, **DRY))[0])
    assert "2-out 11 midday" not in found
    assert found["2-out 12 midday"] == "extra"


def test_what_lies_just_under_its_limit_is_not_told_anew_nor_taken_back() -> None:
    humid = next(h for h in range(20, 90) if _day_sum(_humid(h), "2-out", hour_at(13, "07:00")) < 2.5)
    assert _day_sum(_humid(humid - 1), "2-out", hour_at(13, "07:00")) >= 2.5
    assert "2-out 13 midday" not in advice(plan_of(yard(), NOW, bare(), _humid(humid))[0])
    told, _ = plan_of(yard(), NOW, bare(), _humid(humid - 1))
    assert advice(told)["2-out 13 midday"] == "extra"
    again, news = plan_of(yard(), NOW, told, _humid(humid))
    assert not news
    assert again.rounds == told.rounds


def _humid(humidity: float) -> Weather:
    return sky(NOW, **{**DRY, "humidity": humidity})


def test_a_face_visited_once_a_day_keeps_that_visit_beside_an_added_one() -> None:
    """Nobody has the early round; the added mist has somebody, and stands the next day."""
    laid = {"base": "2027-04-01 15:00", "finish": "2027-04-20 15:00"}
    data = job_file(wall("1", face("S", done=laid), dry="2027-03-31"), near={"mon-sun": "12:15-14:00"})
    for person in data["people"][1:]:
        person["roles"] = ["lead"]
    before, _ = plan_of(data, NOW, None, None)
    plan, _ = plan_of(data, NOW, before, sky(**DRY, radiation=600.0))
    assert "extra" in advice(plan).values()
    again, _ = plan_of(data, NOW + HOUR, plan, sky(NOW + HOUR, **DRY, radiation=600.0))
    assert seen(plan).keys() >= seen(before).keys()
    assert seen(again).keys() == seen(plan).keys()


def test_little_leaves_the_face_so_look_first_but_never_by_old_weather() -> None:
    humid = sky(humidity=92.0)
    plan, _ = plan_of(yard(), NOW, bare(), humid)
    assert advice(plan) == each("11 12 13", "early", "look")
    old, _ = plan_of(yard(), NOW, bare(), replace(humid, issued=NOW - 25 * HOUR))
    assert advice(old) == {}
    dry = replace(sky(**DRY), issued=NOW - 25 * HOUR)
    assert "extra" in advice(plan_of(yard(), NOW, bare(), dry)[0]).values()
    gone, _ = plan_of(yard(), NOW, plan, replace(humid, issued=NOW - 25 * HOUR))
    assert advice(gone) == {}, "what spares water goes with the age of the weather"


def test_rain_spares_water_where_somebody_ticked_it_never_as_forecast() -> None:
    court = Court(yard(), hour_at(10, "20:00"))
    rain = (hour_at(10, "20:00"), hour_at(11, "04:00"), "rain", 5.0)
    run = sky(NOW, rain, humidity=75.0)
    takes = _day_sum(run, "2-out", hour_at(11, "07:00"))
    assert 0.6 < takes < 0.6 + 0.7 * 0.3, "one mist more or less decides"
    plan, _ = plan_of(yard(), NOW, bare(), run)
    assert "2-out 11 early" not in advice(plan)
    tick = {"coat": "finish", "day": "2027-05-10", "slot": "late"}
    said = court.put(RecordKind.RAIN_ON_IT, "2-out", "near", tick, at=hour_at(10, "20:30"))
    plan, _ = plan_of(yard(), NOW, bare(), run, said)
    assert advice(plan)["2-out 11 early"] == "look"
    assert "2-out 12 early" not in advice(plan), "once: the next morning is not spared by it"


def test_measured_rain_spares_water_once() -> None:
    run = sky(NOW, humidity=60.0)
    wet = sky(NOW, (hour_at(10, "22:00"), hour_at(11, "02:00"), "rain", 8.0), wind=6.0, humidity=75.0)
    plan, _ = plan_of(yard(), NOW, bare(), run, past=wet, measured=True)
    assert advice(plan).get("2-out 11 early") == "look"
    assert "2-out 12 early" not in advice(plan)
    assert advice(plan_of(yard(), NOW, bare(), run, past=wet, measured=False)[0]) == {}


def test_what_was_told_keeps_its_figures_and_is_not_taken_back_for_a_hair() -> None:
    first, _ = plan_of(yard(), NOW, bare(), sky(**DRY))
    for change in ({"humidity": 22.0}, {"temperature": 24.0}, {"wind": 5.3}):
        later = NOW + HOUR
        again, news = plan_of(yard(), later, first, sky(later, **{**DRY, **change}))
        assert not news
        assert told_rounds(again, later) == told_rounds(first, NOW)
        assert again.rounds == first.rounds


def test_an_added_mist_of_today_and_tomorrow_stays_and_one_further_ahead_goes() -> None:
    first, _ = plan_of(yard(), NOW, bare(), sky(**DRY))
    later = NOW + HOUR
    plan, news = plan_of(yard(), later, first, sky(later))
    assert news
    assert advice(plan) == each("11 12", "midday", "extra")
    told = {one.id.rpartition(".")[0]: WORDS.reason(one.reason) for one in plan.changes}
    assert told["2027-05-13.midday"] == "the newest forecast no longer asks for the visit at midday"
    assert not plan_of(yard(), later, plan, sky(later))[1]


def test_without_weather_what_was_told_stays() -> None:
    first, _ = plan_of(yard(), NOW, bare(), sky(**DRY))
    again, news = plan_of(yard(), NOW + HOUR, first, None)
    assert not news
    assert again.rounds == first.rounds


def test_what_has_begun_keeps_its_advice() -> None:
    humid = sky(humidity=92.0)
    first, _ = plan_of(yard(), NOW, bare(), humid)
    later = hour_at(11, "09:00")
    plan, _ = plan_of(yard(), later, first, sky(later))
    assert advice(plan) == each("11", "early", "look")


def test_where_nobody_is_free_the_added_mist_is_nobodys_and_warned_of() -> None:
    data = yard(near={"mon-sun": "17:00-21:00", "holiday": "17:00-21:00"})
    friday = hour_at(14, "05:00")
    before, _ = plan_of(data, friday, None, None)
    plan, _ = plan_of(data, friday, before, sky(friday, **DRY))
    (saturday,) = [one for one in plan.rounds if one.slot is Slot.MIDDAY and one.start.astimezone(AMSTERDAM).day == 15]
    assert saturday.who == ()
    assert [one.advice for one in saturday.visits] == ["extra", "extra"]
    assert any(one.key == "unnamed_round" and one.values["day"] == "2027-05-15" for one in plan.warnings)
    for now in (friday + 12 * HOUR, hour_at(15, "12:00")):
        again, _ = plan_of(data, now, plan, sky(now))
        there = [one for one in again.rounds if one.id == saturday.id]
        assert [(one.start, one.who, [v.id for v in one.visits]) for one in there] == [
            (saturday.start, (), [v.id for v in saturday.visits])
        ], "told, so it stays, though nobody has it"


def test_a_mist_is_added_today_only_where_there_is_time_for_it() -> None:
    noon = hour_at(11, "12:30")
    plan, _ = plan_of(yard(), noon, bare(), sky(noon, **DRY))
    (today,) = [one for one in plan.rounds if one.slot is Slot.MIDDAY and one.start < hour_at(12, "00:00")]
    assert today.start >= noon
    over = hour_at(11, "13:25")
    plan, _ = plan_of(yard(), over, bare(), sky(over, **DRY))
    assert not [one for one in plan.rounds if one.slot is Slot.MIDDAY and one.start < hour_at(12, "00:00")]


def test_no_coat_moves_for_an_added_mist() -> None:
    later = {"start": "2027-05-11"}
    data = yard()
    data["walls"].append(wall("3", face("N", area="16 m2", **later), dry="2027-05-05"))
    before, _ = plan_of(data, NOW - 3 * DAY, None, None)
    calm, _ = plan_of(data, NOW, before, sky())
    plan, _ = plan_of(data, NOW, before, sky(NOW, (hour_at(13, "08:00"), hour_at(19, "00:00"), "humidity", 5.0)))
    assert "extra" in advice(plan).values()
    coats, others = (
        [(one.id, one.start, one.end, one.who) for one in of.bookings if one.kind is Kind.COAT] for of in (plan, calm)
    )
    assert coats == others


def test_a_visit_without_water_is_never_missed_and_one_that_was_added_is() -> None:
    evening = hour_at(12, "23:30")

    def missed(run: Weather) -> dict[str, int]:
        first, _ = plan_of(yard(), NOW, bare(), run)
        plan, _ = plan_of(yard(), evening, first, None)
        notices = [one for one in (*plan.warnings, *plan.questions) if one.key in ("inspect", "visits_missed")]
        return {one.key: int(str(one.values["visits"])) for one in notices if one.faces == ("2-out",)}

    plain = missed(sky())
    assert missed(sky(temperature=4.0)) == {}
    dry = missed(sky(**DRY))
    assert sum(dry.values()) > sum(plain.values())


# ---------------------------------------------------------------------------------- written and shown


def test_a_plan_without_weather_is_written_as_before_and_one_with_it_comes_back() -> None:
    assert '"weather"' not in plan_json.text(plan_json.dump(bare(), WORDS))
    plan, _ = plan_of(yard(), NOW, bare(), sky(**DRY))
    written = json.loads(plan_json.text(plan_json.dump(plan, WORDS)))
    assert plan_json.load(written) == plan
    assert plan_json.load(json.loads(plan_json.text(plan_json.dump(bare(), WORDS)))) == bare()


def test_pages_and_terminal_say_it_in_a_few_words() -> None:
    cold = (hour_at(12, "03:00"), hour_at(12, "06:00"), "temperature", 1.0)
    plan, _ = plan_of(yard(), NOW, bare(), sky(NOW, cold))
    lines = today_page(plan, plan, Standing("job.yaml", True), WORDS, NOW)
    assert all(len(line) <= 80 for line in lines)
    text = " ".join(" ".join(lines).split())
    assert "no water tonight: frost; look only" in text
    assert "mist before noon: frost tonight" in text
    rows = RoundPages(plan, WORDS, NOW, (), {}, (), NOW).days()[0].rounds
    assert {one.slot: one.note for one in rows}["late"] == "Weather: no water tonight: frost; look only."
    for one, _ in seen(plan).values():
        assert len(short(WORDS, one)) <= 50


# ---------------------------------------------------------------------------------- any weather


def _day_sum(run: Weather, name: str, start: datetime, *, cloth: bool = False) -> float:
    job = read(yard(), NOW)
    hours = site_weather(job.file.sites[0], faces_of(job, job.file.sites[0]), run)[name]
    series = hours.demand_cloth if cloth else hours.demand
    first = int((start - hours.start).total_seconds() // 3600)
    return float(sum(series[first : first + 24]))


def expected(run: Weather) -> dict[str, str]:
    """Count by the rules what becomes of the visits of the plan without weather: each on the hour or within it."""
    clock = {walk.id: walk.start for walk in bare().rounds}
    found: dict[str, str] = {}

    def value(name: str, when: datetime) -> float:
        return float(getattr(run, name)[int((when - run.start).total_seconds() // 3600)])

    for name, cloth in (("1-out", True), ("2-out", False)):
        for day in (11, 12, 13):
            early, late = (
                next(
                    clock[walk.id]
                    for walk in bare().rounds
                    if walk.slot is slot and walk.start.astimezone(AMSTERDAM).day == day
                )
                for slot in (Slot.EARLY, Slot.LATE)
            )
            noon = hour_at(day, "11:00")
            takes = _exact(run, name, early, cloth=cloth)
            for slot, when in (("early", early), ("late", late)):
                if value("temperature", when) < 5.0:
                    found[f"{name} {day} {slot}"] = "cold"
            if f"{name} {day} late" not in found:
                night, freezes = late.replace(minute=0), False
                while night < (early + DAY).replace(minute=0):
                    air, cloud = value("temperature", night), value("cloud", night)
                    freezes = freezes or air <= 2.0 or (air <= 4.0 and cloud < 0.5)
                    night += HOUR
                if freezes:
                    found[f"{name} {day} late"] = "frost"
            if value("temperature", noon) >= 5.0:
                if takes >= 2.5:
                    found[f"{name} {day} midday"] = "extra"
                elif found.get(f"{name} {day} late") == "frost":
                    found[f"{name} {day} midday"] = "midday"
            if f"{name} {day} early" not in found:
                if takes >= 3.5 and not cloth:
                    found[f"{name} {day} early"] = "shade"
                elif takes < 0.6:
                    found[f"{name} {day} early"] = "look"
    return found


def _exact(run: Weather, name: str, start: datetime, *, cloth: bool) -> float:
    whole_hour = start.replace(minute=0)
    share = (start - whole_hour) / HOUR
    first, last = _day_sum(run, name, whole_hour, cloth=cloth), _day_sum(run, name, whole_hour + HOUR, cloth=cloth)
    return first * (1 - share) + last * share


def drawn(seed: int, now: datetime = NOW, *, other: int | None = None) -> Weather:
    """Weather of late frosts and dry days as well; with ``other`` another one from the third day's morning on."""

    def series(of_seed: int) -> Mapping[str, Any]:
        by = np.random.default_rng(of_seed)
        mean, swing = by.uniform(2, 24), by.uniform(0, 8)
        clear = by.random() < 0.5
        return {
            "temperature": mean + swing * np.sin(2 * np.pi * (np.arange(HOURS) - 6) / 24) + by.normal(0, 0.5, HOURS),
            "humidity": by.uniform(20, 60) + by.uniform(0, 40, HOURS),
            "wind": by.uniform(0, 8, HOURS),
            "direction": by.uniform(0, 360, HOURS),
            "rain": np.where(by.random(HOURS) < 0.1, by.gamma(1.0, 1.0, HOURS), 0.0),
            "radiation": np.zeros(HOURS),
            "cloud": by.uniform(0, 0.6, HOURS) if clear else np.ones(HOURS),
        }  # fmt: skip

    first = dict(series(seed))
    start = now.replace(minute=0) - 48 * HOUR
    if other is not None:
        turn = (hour_at(13, "09:00") - start) // HOUR
        first = {name: np.concatenate([first[name][:turn], series(other)[name][turn:]]) for name in first}
    return replace(of({name: first[name] for name in VARIABLES}, start, HOURS, "file"), issued=now)


@settings(max_examples=6, deadline=None, phases=NO_SHRINK)
@given(seed=st.integers(0, 10**6))
def test_any_weather_advises_by_the_rules_and_takes_no_visit(seed: int) -> None:
    run = drawn(seed)
    plan, _ = plan_of(yard(), NOW, bare(), run)
    assert advice(plan) == expected(run)
    for id_, (one, walk) in seen(bare()).items():
        now, there = seen(plan)[id_]
        assert (now.care, there.start, there.who) == (one.care, walk.start, walk.who)
    assert all(seen(plan)[id_][0].added for id_ in seen(plan).keys() - seen(bare()).keys())
    assert all(one.state is not State.OFF for one in plan.rounds)
    again, _ = plan_of(yard(), NOW, plan, run)
    assert again.rounds == plan.rounds
    assert told_rounds(again, NOW) == told_rounds(plan, NOW)


@settings(max_examples=4, deadline=None, phases=NO_SHRINK)
@given(seed=st.integers(0, 10**6), sign=st.sampled_from([-1, 1]))
def test_a_run_that_decides_nothing_else_changes_no_byte(seed: int, sign: int) -> None:
    run, later = drawn(seed), NOW + HOUR
    plan, _ = plan_of(yard(), NOW, bare(), run)
    near = replace(run, temperature=run.temperature + sign * 0.05, humidity=run.humidity - sign * 0.2, issued=later)
    assume(expected(near).items() <= expected(run).items())
    again, _ = plan_of(yard(), later, plan, near)
    assert told_rounds(again, later) == told_rounds(plan, NOW)


@settings(max_examples=4, deadline=None, phases=NO_SHRINK)
@given(seed=st.integers(0, 10**6), other=st.integers(0, 10**6))
def test_the_day_after_tomorrow_moves_nothing_of_today_and_tomorrow(seed: int, other: int) -> None:
    end = hour_at(13, "00:00")
    plans = [plan_of(yard(), NOW, bare(), run)[0] for run in (drawn(seed), drawn(seed, other=other))]
    here, there = ([one for one in plan.rounds if one.start < end] for plan in plans)
    assert here == there


@pytest.mark.parametrize("start", ["2027-05-11"])
def test_a_coat_not_laid_yet_is_advised_about_with_doubt(start: str) -> None:
    data = job_file(wall("1", face("N", start=start), dry="2027-05-05"))
    before, _ = plan_of(data, NOW - DAY, None, None)
    plan, _ = plan_of(data, NOW, before, sky(**DRY))
    for one, _ in seen(plan).values():
        if one.added:
            assert one.conditional == all(v.conditional for v, _ in seen(before).values() if v.coat == one.coat)
