"""Hours that count for a cure, by cases worked on paper, by minutes, and by what must always hold."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from curing.model.cure import CureRules, FaceHours, Seen, Why
from curing.model.evidence import Cause, Evidence, Tick
from curing.model.record import RecordKind
from curing.model.system import RuleBook
from curing.planning.cure_expected import expected_full
from curing.planning.cure_hours import cure_hours, cure_rules, seen_of
from curing.sources.systemfile import load_systems

THERE = ZoneInfo("Europe/Amsterdam")
CLOSED = datetime(2027, 5, 18, 13, 0, tzinfo=UTC)
RULES = CureRules()
HOUR = timedelta(hours=1)


def after(hours):
    return CLOSED + hours * HOUR


def weather(hours, air=12.0, takes=0.0, rain=None):
    def series(told):
        return np.broadcast_to(np.asarray(told, dtype=np.float64), (hours,)).copy()

    return FaceHours(CLOSED, series(air), series(takes), None if rain is None else series(rain))


def at(place, value, others=0.0, hours=48):
    whole = np.full(hours, others)
    whole[place] = value
    return whole


def spans(cure):
    return [((one.start - CLOSED) / HOUR, (one.end - CLOSED) / HOUR, one.why) for one in cure.spans]


def count(past, until=48.0, wetted=(), damp=(), sound=(), rules=RULES):
    seen = Seen(*(tuple(after(one) for one in told) for told in (wetted, damp, sound)))
    return cure_hours(CLOSED, after(until), rules, past, seen)


# --- worked on paper ---------------------------------------------------------------


def test_a_cure_without_a_lost_hour_is_full_after_28_days_to_the_minute():
    # Closed on Tue 18 May 2027 at 15:00 there: full on Tue 15 June at 15:00.
    cure = cure_hours(CLOSED, after(700), RULES, weather(700))
    assert cure.full == datetime(2027, 6, 15, 15, 0, tzinfo=THERE)
    assert (cure.counted, cure.left, cure.until) == (672.0, 0.0, cure.full)
    closed = datetime(2027, 5, 18, 14, 50, tzinfo=THERE)
    past = FaceHours(datetime(2027, 5, 18, 0, 0, tzinfo=UTC), np.full(700, 12.0), np.zeros(700))
    assert cure_hours(closed, after(690), RULES, past).full == datetime(2027, 6, 15, 14, 50, tzinfo=THERE)


def test_the_clock_change_makes_no_hour():
    # Closed on Mon 18 Oct at 15:00 summer time: 28 days on it is 14:00 by the winter clock.
    closed = datetime(2027, 10, 18, 15, 0, tzinfo=THERE)
    past = FaceHours(closed.astimezone(UTC), np.full(700, 12.0), np.zeros(700))
    full = cure_hours(closed, closed.astimezone(UTC) + 690 * HOUR, RULES, past).full
    assert full is not None
    assert full.astimezone(THERE).isoformat() == "2027-11-15T14:00:00+01:00"


def test_a_coat_dries_when_the_air_could_have_taken_the_limit():
    # 0.25 L/m2 an hour: damp for 10 hours after closing, and for 10 after the visit at 18.
    cure = count(weather(48, takes=0.25), wetted=[18])
    assert spans(cure) == [(10, 18, Why.DRY), (28, 48, Why.DRY)]
    assert (cure.counted, cure.dry, cure.left) == (20.0, 28.0, 652.0)


def test_the_part_of_an_hour_before_it_dries_counts():
    # 0.4 L/m2 an hour: 2.5 are gone after 6 h 15 min; a visit at 7:20 wets it anew.
    cure = count(weather(12, takes=0.4), until=12, wetted=[7 + 1 / 3])
    assert cure.counted == pytest.approx(6.25 + 12 - 7 - 1 / 3)
    assert cure.spans[0].start == CLOSED + timedelta(hours=6, minutes=15)
    assert cure.spans[0].end == CLOSED + timedelta(hours=7, minutes=20)


def test_a_missed_visit_costs_the_hours_until_the_next_and_says_so():
    # 0.2 L/m2 an hour: 12.5 h of damp; visits 16 h and 27 h after closing, the second missed, the third at 40 h.
    done, missed = count(weather(48, takes=0.2), wetted=[16, 27, 40]), count(weather(48, takes=0.2), wetted=[16, 40])
    assert spans(done) == [(12.5, 16, Why.DRY), (39.5, 40, Why.DRY)]
    assert spans(missed) == [(12.5, 16, Why.DRY), (28.5, 40, Why.DRY)]
    assert done.counted - missed.counted == 11.0


def test_five_degrees_count_and_less_does_not():
    cure = count(weather(48, air=at(slice(10, 20), 4.9, 5.0)))
    assert (cure.counted, cure.cold, spans(cure)) == (38.0, 10.0, [(10, 20, Why.COLD)])


def test_a_dry_hour_that_is_cold_as_well_is_told_as_cold():
    cure = count(weather(48, air=at(slice(20, 48), 4.0, 12.0), takes=0.25))
    assert spans(cure) == [(10, 20, Why.DRY), (20, 48, Why.COLD)]


@pytest.mark.parametrize(
    ("rain", "damp_to"),
    [
        (at(5, 0.3), 16),  # as much as a visit, known at the end of its hour
        (at(5, 0.29), 10),
        (at([5, 7], [0.2, 0.1]), 18),
        (at([1, 9], [0.3, 0.2]), 12),  # the first wetted; what is used is used, the rest is too little
        (at([2, 30], [0.2, 0.2]), 10),  # more than a day apart
        (at(5, np.nan), 10),
    ],
)
def test_measured_rain_wets_once_as_much_of_it_fell_as_a_visit_puts_on(rain, damp_to):
    cure = count(weather(48, takes=0.25, rain=rain))
    assert spans(cure) == [(damp_to, 48, Why.DRY)]


def test_rain_before_closing_and_frozen_rain_wet_nothing():
    closed = CLOSED + timedelta(minutes=30)
    before = FaceHours(CLOSED, np.full(48, 12.0), np.full(48, 0.25), at(0, 5.0))
    assert cure_hours(closed, after(40), RULES, before).counted == 10.0
    snow = weather(48, air=at(5, -0.5, 12.0), takes=0.25, rain=at(5, 5.0))
    assert spans(count(snow)) == [(5, 6, Why.COLD), (10, 48, Why.DRY)]


def test_still_damp_proves_the_hours_before_and_goes_on_from_half():
    # 0.25 L/m2 an hour: reckoned dry after 10 h; seen damp at 16 h, so damp until 16 + 5.
    assert spans(count(weather(48, takes=0.25), damp=[16])) == [(21, 48, Why.DRY)]


def test_still_damp_soon_after_a_visit_takes_nothing_away():
    assert count(weather(48, takes=0.25), wetted=[16], damp=[17]).counted == 20.0


def test_still_damp_proves_nothing_before_the_last_wetting_nor_beyond_36_hours():
    assert spans(count(weather(48, takes=0.25), wetted=[16], damp=[40])) == [(10, 16, Why.DRY), (45, 48, Why.DRY)]
    late = count(weather(100, takes=0.25), until=60, damp=[50])
    assert spans(late) == [(10, 14, Why.DRY), (55, 60, Why.DRY)]


def test_what_is_not_known_is_neither_credited_nor_refused():
    cure = count(weather(48, air=at(slice(10, 20), np.nan, 12.0)))
    assert (cure.counted, cure.unknown, cure.cold, spans(cure)) == (38.0, 10.0, 0.0, [(10, 20, Why.UNKNOWN)])


def test_an_hour_of_unknown_demand_makes_later_hours_unsure_not_lost():
    # 0.25 an hour, hour 2 not known: it took 0 to 1 L/m2. Surely damp while 0.5 + 1 + 0.25 n < 2.5, four hours;
    # surely dry from 0.5 + 0.25 n = 2.5 on, eight hours.
    cure = count(weather(48, takes=at(2, np.nan, 0.25)))
    assert spans(cure) == [(2, 3, Why.UNKNOWN), (7, 11, Why.UNKNOWN), (11, 48, Why.DRY)]
    assert cure.counted == 2.0 + 4.0


def test_a_look_that_finds_it_damp_closes_such_a_gap():
    assert spans(count(weather(48, takes=at(2, np.nan, 0.25)), damp=[16])) == [(21, 48, Why.DRY)]


def test_hours_outside_the_weather_are_not_known():
    assert spans(count(weather(10), until=30)) == [(10, 30, Why.UNKNOWN)]
    late = FaceHours(after(5), np.full(10, 12.0), np.zeros(10))
    # 5 hours of which nothing is known took 5 L/m2 at most: not surely damp until somebody wets it.
    assert spans(count(late, until=15, wetted=[8])) == [(0, 8, Why.UNKNOWN)]


def test_frost_in_the_cure_asks_for_an_inspection_until_the_face_is_found_sound():
    cold = weather(48, air=at(slice(12, 15), [0.0, -0.1, -2.0], 6.0))
    cure = count(cold)
    assert [(one.start, one.end) for one in cure.frozen] == [(after(13), after(15))]
    assert (cure.frost, cure.inspect) == (2.0, after(13))
    assert count(cold, sound=[12]).inspect == after(13)
    assert count(cold, sound=[20]).inspect is None


def test_frost_after_the_cure_is_full_asks_for_nothing():
    short = CureRules(hours=24.0)
    cure = count(weather(48, air=at(30, -5.0, 12.0)), rules=short)
    assert (cure.full, cure.inspect, cure.spans) == (after(24), None, ())


def test_a_cure_caught_by_cold_rests_and_resumes():
    # 100 h count, then 200 h at 2 °C; the air takes 0.02 an hour, so it is dry at 125 h; wetted anew at 310 h.
    air = np.concatenate([np.full(100, 9.0), np.full(200, 2.0), np.full(700, 9.0)])
    past = weather(1000, air=air, takes=0.02)
    resting = count(past, until=280)
    assert (resting.rests, resting.counted) == (after(100), 100.0)
    assert count(past, until=140).rests is None
    again = count(past, until=1000, wetted=[310 + 100 * k for k in range(8)])
    assert again.full == after(310 + 572)
    assert (again.rests, again.cold, again.dry) == (None, 200.0, 10.0)


def test_a_warm_day_between_ends_a_rest():
    assert count(weather(110, air=np.repeat([2.0, 9.0, 2.0], [80, 10, 20])), until=110).rests is None
    assert count(weather(110, air=np.repeat([9.0, 2.0], [20, 90])), until=110).rests == after(20)


def test_nothing_counts_before_closing_or_after_now():
    assert count(weather(48), until=-3).counted == 0.0
    assert count(weather(48), until=-3).until == CLOSED
    assert count(weather(48, takes=0.25), until=9.5, wetted=[9.7], damp=[9.8]).counted == 9.5
    early = FaceHours(after(-24), np.full(72, 12.0), np.zeros(72))
    assert count(early, until=24).counted == 24.0


def test_series_that_do_not_fit_are_refused():
    with pytest.raises(ValueError, match="differ in length"):
        cure_hours(CLOSED, after(5), RULES, FaceHours(CLOSED, np.zeros(5), np.zeros(4)))
    with pytest.raises(ValueError, match="starts on the hour"):
        cure_hours(CLOSED, after(5), RULES, FaceHours(CLOSED + timedelta(minutes=1), np.zeros(5), np.zeros(5)))


# --- from the record and the coat systems ------------------------------------------


def tick(kind, hours):
    return Tick(kind, after(hours), Cause("k", kind.value, after(hours), "mira"))


def test_ticks_become_what_was_seen():
    visits = {
        "3-out.finish.2027-05-19.early": tick(RecordKind.MISTED, 18),
        "3-out.finish.2027-05-19.late": tick(RecordKind.COULD_NOT, 28),
        "3-out.finish.2027-05-20.early": tick(RecordKind.RAIN_ON_IT, 42),
        "3-out.finish.2027-05-20.late": tick(RecordKind.DAMP, 52),
        "3-out.base.2027-05-04.early": tick(RecordKind.MISTED, -300),
        "3-out.finish-2.2027-05-20.late": tick(RecordKind.MISTED, 52),
        "13-out.finish.2027-05-20.late": tick(RecordKind.MISTED, 53),
    }
    seen = seen_of(Evidence(visits=visits, checked={"3-out": (after(60),)}), "3-out", "finish")
    assert seen == Seen((after(18), after(42)), (after(52),), (after(60),))


def test_limits_come_from_the_coat_system():
    systems, _ = load_systems(["clay-lime", "hydraulic-lime"])
    assert cure_rules(RuleBook(systems["clay-lime"]), "finish", 8.0) == CureRules(672.0, 5.0, 2.5, 0.0, 0.3)
    hydraulic = RuleBook(systems["hydraulic-lime"])
    assert cure_rules(hydraulic, "finish", 4.0) == CureRules(168.0, 5.0, pytest.approx(1.2), 0.0, 0.3)


# --- what is expected ---------------------------------------------------------------


def test_expected_at_the_pace_so_far():
    # The visits of each day keep it damp for 12 of 24 hours: 168 h counted in 14 days, 504 left, 42 days.
    past, wetted = weather(336, takes=2.5 / 12), tuple(after(24 * k) for k in range(1, 14))
    assert expected_full(CLOSED, after(336), RULES, past, Seen(wetted)) == after(24 * 56)


def test_expected_with_a_forecast_and_planned_visits():
    # All of the first 600 h count. Ahead: 24 h of cold, then warm; visits keep it damp.
    cold = FaceHours(after(600), np.concatenate([np.full(24, 2.0), np.full(100, 9.0)]), np.full(124, 0.1))
    planned = [after(600 + 12 * k) for k in range(11)]
    now = after(600)
    assert expected_full(CLOSED, now, RULES, weather(600), planned=planned, forecast=cold) == after(696)
    # Without the visits it is dry 25 h on: two days of the last week are lost, and one to cold.
    later = expected_full(CLOSED, now, RULES, weather(600), forecast=cold)
    assert later is not None
    assert later > after(720)


def test_rain_that_is_forecast_wets_nothing():
    # All counts so far; 0.25 L/m2 an hour ahead: dry 10 h on, whatever rain is told. 10 of the last 168 h less 38.
    past = weather(200, rain=0.0)
    ahead = FaceHours(after(200), np.full(48, 12.0), np.full(48, 0.25), np.full(48, 5.0))
    expected = expected_full(CLOSED, after(200), RULES, past, forecast=ahead)
    assert expected is not None
    assert (expected - after(248)) / HOUR == pytest.approx((672 - 210) / (130 / 168), abs=0.01)


def test_hours_that_are_not_known_do_not_slow_the_pace():
    # Of the last 168 hours 48 are not known, 60 were cold and 60 counted: half of those known. 480 to go.
    air = np.repeat([9.0, 2.0, 9.0, np.nan], [132, 60, 60, 48])
    assert expected_full(CLOSED, after(300), RULES, weather(300, air=air)) == after(300 + 480 / 0.5)


def test_nothing_is_expected_of_a_cure_that_rests():
    assert expected_full(CLOSED, after(200), RULES, weather(200, air=2.0)) is None


def test_full_is_full():
    assert expected_full(CLOSED, after(700), RULES, weather(700)) == after(672)


# --- minute by minute ----------------------------------------------------------------


def by_minutes(past, minutes, wetted, damp, rules):
    """Follow the coat minute by minute; all is known, no rain."""
    sums, is_damp, last = 0.0, [], 0
    for minute in range(minutes):
        if minute in damp:
            for k in range(max(last, minute - 36 * 60), minute):
                is_damp[k] = True
            sums = min(sums, rules.limit / 2)
        if minute in wetted:
            sums, last = 0.0, minute
        is_damp.append(sums < rules.limit)
        sums += past.demand[minute // 60] / 60
    if minutes in damp:
        for k in range(max(last, minutes - 36 * 60), minutes):
            is_damp[k] = True
    return sum(good and past.temperature[k // 60] >= rules.least for k, good in enumerate(is_damp)) / 60


LENGTH = 48
instants = st.lists(st.integers(1, LENGTH * 60), max_size=8)
demands = st.lists(st.sampled_from([0.0, 0.05, 0.13, 0.3, 0.56]), min_size=LENGTH, max_size=LENGTH)
airs = st.lists(st.sampled_from([-2.0, 4.9, 5.0, 12.0, 12.0, 12.0]), min_size=LENGTH, max_size=LENGTH)
rains = st.lists(st.sampled_from([0.0, 0.0, 0.0, 0.1, 0.2, 0.5]), min_size=LENGTH, max_size=LENGTH)
untils = st.integers(1, LENGTH * 60)


def face(air, takes, rain=None):
    return FaceHours(CLOSED, np.array(air), np.array(takes), None if rain is None else np.array(rain))


def told(wetted, damp=()):
    def when(minutes):
        return tuple(CLOSED + timedelta(minutes=k) for k in minutes)

    return Seen(when(wetted), when(damp))


def cure_of(past, minutes, seen, rules=RULES):
    return cure_hours(CLOSED, CLOSED + timedelta(minutes=minutes), rules, past, seen)


@given(air=airs, takes=demands, wetted=instants, damp=instants, until=untils)
def test_it_agrees_with_a_count_by_minutes(air, takes, wetted, damp, until):
    past = face(air, takes)
    expected = by_minutes(past, until, set(wetted), set(damp), RULES)
    # Each time it dries falls inside a minute.
    slack = (len(wetted) + len(damp) + 1) / 60 + 1e-6
    assert cure_of(past, until, told(wetted, damp)).counted == pytest.approx(expected, abs=slack)


# --- what must always hold -------------------------------------------------------------


@given(air=airs, takes=demands, rain=rains, wetted=instants, more=instants, until=untils)
def test_more_wettings_never_count_fewer_hours(air, takes, rain, wetted, more, until):
    past = face(air, takes, rain)
    before, then = (cure_of(past, until, told(some)).counted for some in (wetted, wetted + more))
    assert then >= before - 1e-6


@given(air=airs, takes=demands, wetted=instants, damp=instants, more=instants, until=untils)
def test_more_looks_that_find_it_damp_never_count_fewer_hours(air, takes, wetted, damp, more, until):
    past = face(air, takes)
    before, then = (cure_of(past, until, told(wetted, some)).counted for some in (damp, damp + more))
    assert then >= before - 1e-6


@given(
    air=airs, takes=demands, rain=rains, wetted=instants, damp=instants, until=untils,
    gaps=st.sets(st.integers(0, LENGTH - 1)),
)  # fmt: skip
def test_every_hour_is_told_once(air, takes, rain, wetted, damp, until, gaps):
    past = face(air, takes, rain)
    past.demand[list(gaps)] = np.nan
    cure = cure_of(past, until, told(wetted, damp), CureRules(hours=60.0))
    whole = (cure.until - CLOSED) / HOUR
    assert cure.counted + cure.cold + cure.dry + cure.unknown == pytest.approx(whole, abs=1e-2)
    assert all(first.end <= then.start for first, then in zip(cure.spans, cure.spans[1:], strict=False))
    assert (cure.counted == 60.0) == (cure.full is not None)
    assert cure.full or cure.until == CLOSED + timedelta(minutes=until)


@given(
    air=airs, takes=demands, rain=rains, wetted=instants, until=untils,
    gaps=st.sets(st.integers(0, LENGTH - 1)), which=st.sampled_from(["temperature", "demand", "rain"]),
)  # fmt: skip
def test_what_is_not_known_never_credits(air, takes, rain, wetted, until, gaps, which):
    past, holed = face(air, takes, rain), face(air, takes, rain)
    getattr(holed, which)[list(gaps)] = np.nan
    seen = told(wetted)
    assert cure_of(holed, until, seen).counted <= cure_of(past, until, seen).counted + 1e-6


@given(air=airs, takes=demands, wetted=instants, damp=instants, until=untils, order=st.randoms(use_true_random=False))
def test_the_order_of_ticks_does_not_matter(air, takes, wetted, damp, until, order):
    past, mixed = face(air, takes), (list(wetted), list(damp))
    for one in mixed:
        order.shuffle(one)
    assert cure_of(past, until, told(wetted, damp)) == cure_of(past, until, told(*mixed))


@given(air=airs, takes=demands, wetted=instants, until=untils, ahead=airs, asks=demands, wet=rains)
def test_a_forecast_never_changes_hours_that_counted(air, takes, wetted, until, ahead, asks, wet):
    now, seen = CLOSED + timedelta(minutes=until), told(wetted)
    past = face(air, takes, wet)
    running = until // 60 + (until % 60 > 0)
    known = FaceHours(CLOSED, *(series[:running] for series in (past.temperature, past.demand, past.rain)))
    alone = cure_of(known, until, seen)
    assert cure_of(past, until, seen) == alone
    forecast = FaceHours(CLOSED + (until // 60) * HOUR, np.array(ahead), np.array(asks), np.array(wet))
    rainless = FaceHours(forecast.start, forecast.temperature, forecast.demand)
    expected = [expected_full(CLOSED, now, RULES, known, seen, forecast=one) for one in (forecast, rainless)]
    assert expected[0] == expected[1]
    assert cure_of(known, until, seen) == alone
