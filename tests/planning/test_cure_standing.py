"""Cures in hours that count, in the plan: each case worked out by hand. Weather here is invented.

The finish of wall 1 is closed on Tue 18 May 2027 at 15:00. Its 672 hours are full on Tue 15 June at 15:00, and with
7 dry days after the last mist of that day the paint comes from Wed 23 June.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import numpy as np
import pytest
from court import AMSTERDAM, WORDS, about, at, coat, dates, day, face, job_file, read, visits, wall

from curing.model.cure import FaceHours
from curing.model.evidence import NOTHING_SAID, Cause, Decided, Evidence, Tick
from curing.model.plan import Kind, Plan, State
from curing.model.record import RecordKind
from curing.planning.check import check
from curing.planning.weather_sky import Sky
from curing.publish import plan_json
from curing.publish.cure_said import cure_lines
from curing.publish.terminal_names import Names
from curing.workflow import planning
from curing.workflow.drafting import draft
from curing.workflow.planning import versions

HOUR, DAY = timedelta(hours=1), timedelta(days=1)
CLOSED = datetime(2027, 5, 18, 15, tzinfo=AMSTERDAM).astimezone(UTC)
FINISH, PAINT = "1-out.finish", "1-out.paint-1"
LAST, PAINTED = date(2027, 6, 15), date(2027, 6, 23)


def data() -> dict[str, Any]:
    """Return one north wall, its base and finish laid."""
    laid = {"base": "2027-05-03 15:00", "finish": "2027-05-18 15:00"}
    return job_file(wall("1", face("N", done=laid), dry="2027-05-01"))


@dataclass
class Cures:
    """A wall in its cure: hours of warm, still, damp air from its closing on, with what a test puts over them."""

    air: float = 12.0
    takes: float = 0.0
    past: dict[str, Any] = field(default_factory=dict)
    evidence: Evidence = NOTHING_SAID
    file: dict[str, Any] = field(default_factory=data)
    plan: Plan | None = None

    def __post_init__(self) -> None:
        count = 24 * 330
        self.start = CLOSED - 24 * HOUR
        self.air_of = np.full(count, self.air)
        self.takes_of = np.full(count, self.takes)
        self.rain_of = np.zeros(count)
        self.measured = True

    def put(self, series: np.ndarray, first: datetime, last: datetime, value: float) -> None:
        series[(first - self.start) // HOUR : (last - self.start) // HOUR] = value

    def cold(self, first: float, last: float, celsius: float = 2.0) -> None:
        """Cold hours, counted from closing."""
        self.put(self.air_of, CLOSED + first * HOUR, CLOSED + last * HOUR, celsius)

    def hours(self, now: datetime) -> FaceHours:
        over = (now - self.start) // HOUR
        rain = self.rain_of[:over] if self.measured else None
        return FaceHours(self.start, self.air_of[:over], self.takes_of[:over], rain)

    def sky(self, now: datetime) -> Sky:
        return Sky({}, {}, now, {"1-out": self.hours(now)})

    def on(self, now: datetime, *, known: bool = True) -> Plan:
        """Plan under that sky, after the plan before."""
        job = read(self.file, now)
        sky = self.sky(now) if known else None
        self.plan = draft(job, self.plan, now, versions(), self.evidence, sky=sky)
        return self.plan

    def tick(self, on: date, slot: str, kind: RecordKind = RecordKind.MISTED, clock: int | None = None) -> None:
        hour = clock if clock is not None else 8 if slot == "early" else 18
        when = datetime(on.year, on.month, on.day, hour, tzinfo=AMSTERDAM).astimezone(UTC)
        visit = f"{FINISH}.{on.isoformat()}.{slot}"
        tick = Tick(kind, when, Cause("k" + visit, str(kind), when, "near", "Near"))
        self.evidence = replace(self.evidence, visits={**self.evidence.visits, visit: tick})

    def tick_all(self, first: date, last: date, *leave: date) -> None:
        for number in range((last - first).days + 1):
            if first + number * DAY not in leave:
                self.tick(first + number * DAY, "early")
                self.tick(first + number * DAY, "late")

    def sound(self, when: datetime) -> None:
        self.evidence = replace(self.evidence, checked={"1-out": (when,)})


def last_mist(plan: Plan) -> date:
    return max(visits(plan, "1-out", "finish"))


def cure(plan: Plan):
    found = dates(plan, "1-out", "finish").cure
    assert found is not None
    return found


def inspections(plan: Plan):
    return [one for one in plan.bookings if one.id == f"{FINISH}.inspect"]


def asked(plan: Plan) -> list[str]:
    return [one.key for one in plan.questions if one.key.startswith("inspect")]


def tended(**more: Any) -> Cures:
    """Return a cure whose every visit is ticked."""
    cures = Cures(**more)
    cures.tick_all(date(2027, 5, 19), date(2027, 6, 30))
    return cures


# --- tending goes on by what is known not to count ------------------------------------------


def test_warm_days_make_no_day_more() -> None:
    cures = tended()
    plan = cures.on(at(6, 14, "12:00"))
    told = dates(plan, "1-out", "finish")
    assert (told.last_visit, told.visits, told.full) == (LAST, 42, CLOSED + 672 * HOUR)
    assert (last_mist(plan), day(coat(plan, PAINT))) == (LAST, PAINTED)
    # 18 May 15:00 to 14 June 12:00 are 27 days less 3 hours
    assert (cure(plan).counted, cure(plan).more_days, cure(plan).full) == (27 * 24 - 3, 0, None)
    plan = cures.on(at(6, 16, "12:00"))
    assert cure(plan).full == CLOSED + 672 * HOUR


def test_three_cold_days_make_three_more_and_the_paint_three_later_with_the_reason() -> None:
    cures = tended()
    before = cures.on(at(5, 20, "12:00"))
    assert day(coat(before, PAINT)) == PAINTED
    cures.cold(96, 168)
    plan = cures.on(at(5, 27, "12:00"))
    told = dates(plan, "1-out", "finish")
    assert (told.last_visit, told.visits, told.once_to) == (LAST + 3 * DAY, 45, 28)
    assert told.full == CLOSED + 744 * HOUR
    assert visits(plan, "1-out", "finish")[LAST + 3 * DAY] == 1
    paint = coat(plan, PAINT)
    # 7 days without water after Fri 18 June, from Sat 26 on: Monday 28 June
    assert (paint.ready, day(paint)) == (date(2027, 6, 26), date(2027, 6, 28))
    assert "3 d longer: 72 h too cold, 0 h dry" in WORDS.reason(paint.reason)
    assert next(one for one in plan.changes if one.id == PAINT).reason == paint.reason
    assert check(read(cures.file, at(5, 27, "12:00")), plan) == []
    again = cures.on(at(5, 29, "12:00"))
    assert dates(again, "1-out", "finish").last_visit == LAST + 3 * DAY, "what was added is not added again"


def test_days_that_tending_went_on_stay_when_the_cold_is_taken_back() -> None:
    """Two of three days more are misted when the station's hours are mended: paint waits 7 dry days from then."""
    cures = tended()
    cures.cold(100, 172)
    assert cure(cures.on(at(6, 16, "12:00"))).more_days == 3
    cures.cold(100, 172, celsius=12.0)
    plan = cures.on(at(6, 17, "12:00"))
    assert (cure(plan).cold, cure(plan).more_days, cure(plan).cold_told) == (0.0, 2, 72)
    assert dates(plan, "1-out", "finish").last_visit == date(2027, 6, 17)
    assert day(coat(plan, PAINT)) == date(2027, 6, 25)
    assert check(read(cures.file, at(6, 17, "12:00")), plan) == []


def test_days_are_whole_and_a_part_of_one_is_one() -> None:
    cures = tended()
    cures.cold(96, 97)
    assert cure(cures.on(at(5, 24, "12:00"))).more_days == 1
    cures.cold(96, 120)
    assert cure(cures.on(at(5, 25, "12:00"))).more_days == 1
    cures.cold(96, 121)
    assert cure(cures.on(at(5, 25, "13:00"))).more_days == 2


def test_cold_after_the_hours_are_full_adds_nothing() -> None:
    cures = tended()
    cures.cold(680, 800)
    plan = cures.on(at(6, 20, "12:00"))
    assert (cure(plan).more_days, cure(plan).cold, cure(plan).full) == (0, 0.0, CLOSED + 672 * HOUR)
    # two days of which nobody knows are taken to count: the cure is over all the same
    cures.put(cures.air_of, at(5, 22, "00:00"), at(5, 24, "00:00"), np.nan)
    plan = cures.on(at(6, 20, "12:30"))
    assert (cure(plan).more_days, cure(plan).cold, cure(plan).full) == (0, 0.0, CLOSED + 672 * HOUR)


def test_a_longer_tending_of_the_coat_system_takes_up_the_lost_hours_first() -> None:
    cures = tended()
    cures.file["walls"][0]["faces"][0]["rules"] = {"finish.once_to": "30 d"}
    cures.cold(96, 168)
    plan = cures.on(at(5, 27, "12:00"))
    assert (cure(plan).more_days, dates(plan, "1-out", "finish").last_visit) == (1, LAST + 3 * DAY)


# --- water ---------------------------------------------------------------------------------


def dry_air() -> Cures:
    """0.2 kg/m2 an hour: damp for 12.5 h after each wetting; visits at 8:00 and 18:00 keep it damp."""
    cures = Cures(takes=0.0)
    cures.tick_all(date(2027, 5, 19), date(2027, 5, 24))
    cures.put(cures.takes_of, at(5, 25, "00:00"), at(5, 27, "00:00"), 0.2)
    return cures


def test_missed_visits_in_dry_weather_are_dry_hours() -> None:
    cures = dry_air()
    cures.tick_all(date(2027, 5, 27), date(2027, 5, 30))
    plan = cures.on(at(5, 28, "12:00"))
    # last misted 24 May 18:00, drying from midnight: dry from 25 May 12:30 to the visit of 27 May 8:00
    assert cure(plan).dry == 43.5
    assert cure(plan).more_days == 2
    (lost,) = [one for one in cure(plan).lost if one.why == "dry"]
    assert lost.start == at(5, 25, "12:30")


def test_a_visit_that_may_still_be_ticked_moves_nothing() -> None:
    cures = dry_air()
    cures.on(at(5, 24, "19:00"))
    # 25 May 12:00 to 24:00: nobody said a word of the early visit yet, which counts as missed only 12 h after it
    plan = cures.on(at(5, 25, "19:00"))
    assert (cure(plan).dry, cure(plan).more_days) == (6.5, 0)
    plan = cures.on(at(5, 26, "12:00"))
    assert cure(plan).more_days == 1


def test_still_damp_by_eye_makes_the_hours_before_count() -> None:
    cures = dry_air()
    cures.tick_all(date(2027, 5, 27), date(2027, 5, 30))
    cures.tick(date(2027, 5, 26), "early", RecordKind.DAMP)
    plan = cures.on(at(5, 28, "12:00"))
    # damp to 26 May 8:00; then half the limit lasts 6.25 h, to 14:15; dry to 27 May 8:00
    assert cure(plan).dry == pytest.approx(17.75, abs=0.06)
    assert cure(plan).more_days == 1


def test_rain_measured_on_the_face_wets_and_what_nobody_measured_does_not() -> None:
    cures = dry_air()
    cures.tick_all(date(2027, 5, 27), date(2027, 5, 30))
    cures.put(cures.rain_of, at(5, 25, "22:00"), at(5, 25, "23:00"), 0.4)
    # wetted at 23:00 for 12.5 h: dry 12:30-23:00, and from 26 May 11:30 to 27 May 8:00
    assert cure(cures.on(at(5, 28, "12:00"))).dry == 31.0
    cures.plan, cures.measured = None, False
    assert cure(cures.on(at(5, 28, "12:00"))).dry == 43.5


# --- what nobody knows -----------------------------------------------------------------------


def test_hours_not_known_are_shown_and_make_nothing_longer() -> None:
    cures = tended()
    cures.put(cures.air_of, at(5, 22, "00:00"), at(5, 24, "00:00"), np.nan)
    cures.put(cures.takes_of, at(5, 22, "00:00"), at(5, 24, "00:00"), np.nan)
    plan = cures.on(at(5, 27, "12:00"))
    # two days of which nobody knows, and the 8 h after them to the early visit: it may have dried out meanwhile
    assert (cure(plan).unknown, cure(plan).more_days) == (56.0, 0)
    assert day(coat(plan, PAINT)) == PAINTED
    plan = cures.on(at(6, 15, "18:00"))
    assert cure(plan).full == CLOSED + 672 * HOUR
    assert (cure(plan).counted, cure(plan).unknown) == (616.0, 56.0)


def test_without_weather_what_was_counted_stands() -> None:
    cures = tended()
    cures.cold(96, 168)
    known = cures.on(at(5, 27, "12:00"))
    blind = cures.on(at(5, 28, "12:00"), known=False)
    assert dates(blind, "1-out", "finish") == dates(known, "1-out", "finish")
    assert coat(blind, PAINT) == coat(known, PAINT)


def test_hours_that_are_kept_no_longer_were_counted_before() -> None:
    cures = tended()
    cures.cold(96, 168)
    cures.on(at(5, 27, "12:00"))
    whole = cures.hours
    gone = 24 * 9  # of the days to 26 May nothing is kept any more
    cures.hours = (
        lambda now: (  # type: ignore[method-assign]
            lambda one: FaceHours(one.start + gone * HOUR, one.temperature[gone:], one.demand[gone:], one.rain[gone:])
        )(whole(now))
    )
    cures.cold(24 * 12, 24 * 13)
    plan = cures.on(at(6, 3, "15:00"))
    assert (cure(plan).cold, cure(plan).more_days, cure(plan).unknown) == (96.0, 4, 0.0)
    assert cure(plan).counted == 16 * 24 - 96


# --- frost and missed visits: an inspection ---------------------------------------------------


def test_a_frost_hour_asks_for_an_inspection_and_a_sound_one_closes_it() -> None:
    cures = tended()
    cures.cold(96, 98, -1.0)  # Sat 22 May, 15:00 to 17:00
    plan = cures.on(at(5, 24, "06:00"))
    assert asked(plan) == ["inspect_frost"]
    (question,) = [one for one in plan.questions if one.key == "inspect_frost"]
    assert question.urgent
    said = WORDS.notice(question)
    assert "Sat 22 May from 15:00" in said
    assert "scaling" in said
    (booked,) = inspections(plan)
    assert check(read(cures.file, at(5, 24, "06:00")), plan) == []
    # Monday: the lead's first free quarter of an hour
    assert (booked.kind, booked.who, day(booked)) == (Kind.READING, ("ida",), date(2027, 5, 24))
    assert booked.start >= at(5, 24, "07:00")
    again = cures.on(at(5, 24, "06:30"))
    assert inspections(again) == [booked]
    cures.sound(at(5, 24, "07:30"))
    after = cures.on(at(5, 24, "09:00"))
    assert (asked(after), inspections(after)) == ([], [])
    cures.cold(160, 161, -1.0)
    assert asked(cures.on(at(5, 26, "12:00"))) == ["inspect_frost"], "another frost is another inspection"


def test_frost_after_the_hours_are_full_asks_for_nothing() -> None:
    cures = tended()
    cures.put(cures.air_of, at(5, 22, "00:00"), at(5, 24, "00:00"), np.nan)
    cures.cold(680, 682, -1.0)
    assert asked(cures.on(at(6, 20, "12:00"))) == []


def test_the_weather_outside_says_nothing_of_a_cure_inside() -> None:
    cures = tended()
    cures.file["walls"][0]["faces"][0]["side"] = "in"
    cures.file["walls"][0]["faces"][0]["system"] = "clay-lime"
    cures.cold(96, 168)
    job = read(cures.file, at(5, 27, "12:00"))
    cures.evidence = NOTHING_SAID
    sky = replace(cures.sky(at(5, 27, "12:00")), past={"1-in": cures.hours(at(5, 27, "12:00"))})
    plan = draft(job, None, at(5, 27, "12:00"), versions(), sky=sky)
    assert dates(plan, "1-in", "finish").cure is None


def test_an_inspection_closes_without_weather_too() -> None:
    cures = tended()
    cures.cold(96, 98, -1.0)
    seen = cures.on(at(5, 24, "06:00"))
    blind = cures.on(at(5, 24, "06:10"), known=False)
    assert asked(blind) == ["inspect_frost"]
    assert inspections(blind) == inspections(seen)
    cures.sound(at(5, 24, "07:30"))
    assert asked(cures.on(at(5, 24, "09:00"), known=False)) == []


@pytest.mark.parametrize(("missed", "wanted"), [(date(2027, 5, 20), True), (date(2027, 5, 21), True),
                                                (date(2027, 5, 22), False)])  # fmt: skip
def test_a_visit_missed_to_day_3_asks_for_an_inspection(missed: date, wanted: bool) -> None:
    cures = Cures()
    cures.on(at(5, 18, "20:00"))
    cures.tick_all(date(2027, 5, 19), date(2027, 5, 24), missed)
    plan = cures.on(at(5, 24, "06:00"))
    assert asked(plan) == (["inspect"] if wanted else [])
    assert len(inspections(plan)) == wanted
    if wanted:
        assert "longer tending mends no crack" in WORDS.reason(inspections(plan)[0].reason)
        cures.sound(at(5, 24, "07:10"))
        assert inspections(cures.on(at(5, 24, "08:00"))) == []


# --- a cure over winter ----------------------------------------------------------------------


def test_a_cure_caught_by_cold_rests_and_goes_on_in_spring_with_nothing_lost() -> None:
    laid = {"base": "2027-10-04 15:00", "finish": "2027-10-26 15:00"}
    cures = Cures(file=job_file(wall("1", face("N", done=laid), dry="2027-10-01")))
    closed = datetime(2027, 10, 26, 15, tzinfo=AMSTERDAM).astimezone(UTC)
    cures.start = closed - 24 * HOUR
    warm = 10 * 24  # to 5 November; cold to 15 March: 131 days
    cures.air_of[24 + warm : 24 + warm + 131 * 24] = 3.0
    now = closed + timedelta(days=40)
    plan = cures.on(now)
    assert cure(plan).rests == closed + warm * HOUR
    assert (cure(plan).counted, cure(plan).cold, cure(plan).more_days) == (240.0, 720.0, 30)
    ahead = [one for one in plan.rounds if one.start > now and one.state is not State.OFF]
    assert ahead, "somebody goes on looking at it"
    for days in (60, 90, 120, 141):
        cures.on(closed + timedelta(days=days))
    plan = cures.on(closed + timedelta(days=150))
    assert (cure(plan).rests, cure(plan).counted) == (None, 19 * 24)
    plan = cures.on(closed + timedelta(days=170))
    assert cure(plan).full == closed + timedelta(days=28 + 131)
    assert cure(plan).more_days == 131


# --- no news without need -----------------------------------------------------------------


def test_hours_that_grow_are_no_news(monkeypatch: pytest.MonkeyPatch) -> None:
    cures = tended()
    job = read(cures.file, at(5, 27))
    monkeypatch.setattr(planning, "sky_over", lambda job, runs, now, past: cures.sky(now))
    said = replace(planning.NOTHING)
    monkeypatch.setattr(planning, "facts", lambda job, parent, said: (job, cures.evidence))
    cures.cold(96, 170)

    def after(now: datetime, parent: Plan | None) -> tuple[Plan, bool]:
        return planning.next_plan(job, parent, now, WORDS, said)

    first, news = after(at(5, 25, "12:00"), None)
    assert news
    _, news = after(at(5, 25, "12:00"), first)
    assert not news
    later, news = after(at(5, 25, "14:00"), first)
    assert (cure(first).cold, cure(later).cold, cure(later).more_days) == (69.0, 71.0, 3)
    assert not news, "two hours more of the cold, and no day more"
    assert (later.events, later.bookings) == (first.events, first.bookings)
    fourth, news = after(at(5, 25, "18:00"), first)
    assert news
    assert cure(fourth).more_days == 4
    assert fourth.events != first.events


def test_paint_kept_by_decision_stays() -> None:
    cures = tended()
    cures.on(at(5, 20, "12:00"))
    cause = Cause("d", "keep", at(5, 20), "ida", "Ida")
    cures.evidence = replace(cures.evidence, decided={PAINT: Decided("keep", PAINTED, "scaffold goes", cause)})
    cures.cold(96, 168)
    plan = cures.on(at(5, 27, "12:00"))
    assert day(coat(plan, PAINT)) == PAINTED
    assert cure(plan).more_days == 3


def test_the_written_plan_keeps_the_cure_and_leaves_out_none() -> None:
    cures = tended()
    bare = cures.on(at(5, 27, "12:00"), known=False)
    written = plan_json.dump(bare, WORDS)
    assert not any("cure" in one for one in written["faces"][0]["coats"])
    assert plan_json.load(written) == bare
    cures.cold(96, 168)
    plan = cures.on(at(5, 27, "12:00"))
    written = plan_json.dump(plan, WORDS)
    assert plan_json.load(written) == plan
    told = written["faces"][0]["coats"][1]["cure"]
    assert told["until"] == {"utc": "2027-05-27T10:00:00Z", "local": "2027-05-27T12:00+02:00"}
    assert told["lost"][0]["why"] == "cold"


def test_what_counted_is_told_with_why_the_rest_did_not() -> None:
    cures = tended()
    cures.cold(96, 98, -1.0)
    cures.cold(98, 168)
    plan = cures.on(at(5, 27, "12:00"))
    said = cure_lines(about(plan, "1-out"), Names(plan, WORDS, at(5, 27, "12:00")))
    # closed 18 May 15:00, 9 days less 3 hours ago, 72 of them cold; the last seven days count at 96 of 168
    assert said[:3] == [
        "Cure of the finish: 141 of 672 h, to Thu 27 May 12:00; 72 h too cold",
        "Frost in it, Sat 22 May 15:00: look for scaling, soft or hollow spots, and say what you found.",
        "Tending goes on for 3 days more, to Fri 18 June.",
    ]
    assert said[3].startswith("Full about ")
    assert said[4] == "Did not count of late: Sat 22 May 15:00 - Tue 25 May 15:00 too cold."
    plan = cures.on(at(6, 19, "12:00"))
    (whole, *_) = cure_lines(about(plan, "1-out"), Names(plan, WORDS, at(6, 19, "12:00")))
    assert whole == "Cure of the finish: 672 h full on Fri 18 June 15:00; 72 h too cold"
