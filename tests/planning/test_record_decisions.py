"""What the lead or the architect decides, and who takes rounds: a plan follows it, and opens no hold for it.

Days are those of worked example A, counted by hand.
"""

from __future__ import annotations

from datetime import date
from zoneinfo import ZoneInfo

from court import at, coat, day, each_day, face, wall
from court_record import Court, caused_by, change_of, probe, recorded_job
from court_steps import MAY, PANEL, dry_base, laid, one_wall, opened, stands, tick

from curing.model.plan import Kind, Plan, State

# ----------------------------------------------------------------------------------------- keep


def late_base() -> Court:
    """Return a base laid on Fri 7 May, four days late, whose finish may come from Thu 20 May on."""
    court = opened()
    court.now = at(5, 7, "16:00")
    return court


def test_a_kept_finish_stays_against_its_wait() -> None:
    court = late_base()
    court.decide("keep", "ida", key="kept", face="1-out", coat="finish", day=MAY[18], why="scaffold goes")
    court.finish("1-out", "base", at(5, 7, "15:00"))
    plan = court.replan()
    finish = coat(plan, "1-out.finish")
    assert (day(finish), finish.reason.rule) == (MAY[18], "plan.keep")
    assert finish.reason.values["entry"] == "kept"
    (warned,) = [one for one in plan.warnings if one.rule == "plan.keep"]
    assert (warned.values["by"], warned.values["why"]) == ("Ida", "scaffold goes")
    assert stands(court.replan(at(5, 8, "06:00")), "1-out.finish")[0] == MAY[18]


def test_a_kept_finish_is_never_firm_behind_a_shut_hold() -> None:
    court = late_base()
    court.decide("keep", "ida", face="1-out", coat="finish", day=MAY[18], why="scaffold goes")
    court.finish("1-out", "base", at(5, 7, "15:00"))
    court.replan()
    on_the_day = court.replan(at(5, 18, "06:00"))
    finish = coat(on_the_day, "1-out.finish")
    assert (day(finish), finish.state, finish.holds) == (MAY[18], State.CONDITIONAL, ("1-out.base-dry",))
    # Unmet on its day it slides by at least 7 days, to Tue 25 May: the base can be judged before that.
    assert stands(court.replan(at(5, 19, "06:00")), "1-out.finish") == (MAY[25], State.FIRM)
    assert stands(court.replan(at(5, 20, "06:00")), "1-out.finish") == (MAY[25], State.CONDITIONAL)


def test_no_decision_keeps_what_waits_for_a_hold() -> None:
    court = one_wall()
    court.replan()
    text = court.decision_refused("keep", "ida", face="1-out", coat="base", day=MAY[3], why="scaffold goes")
    assert "1-out.base: waits for 1.panel-dry, and no decision opens a hold" in text


def test_a_kept_base_whose_panel_is_shut_later_is_conditional_and_slides() -> None:
    court = opened()
    court.decide("keep", "ida", face="1-out", coat="base", day=MAY[3], why="scaffold goes")
    court.now = at(5, 2, "10:00")
    court.say("reading", "1-in", "bo", probe(24.5))
    assert stands(court.replan(), "1-out.base") == (MAY[3], State.CONDITIONAL)
    assert stands(court.replan(at(5, 4, "06:00")), "1-out.base") == (MAY[10], State.CONDITIONAL)


def test_a_kept_coat_does_not_outlive_its_face() -> None:
    court = opened()
    court.decide("keep", "ida", face="1-out", coat="base", day=MAY[3], why="scaffold goes")
    court.replan()
    court.data["walls"][0]["faces"][0] |= {"ended": "2027-05-02"}
    del court.data["walls"][0]["faces"][0]["start"]
    plan = court.replan(at(5, 1, "10:00"))
    assert [one.id for one in plan.bookings if one.kind is Kind.COAT] == []


# ----------------------------------------------------------------------------------------- move


def moved_to(court: Court, to: date, coat_: str = "finish") -> Plan:
    court.decide("move", "ida", key="moved", face="1-out", coat=coat_, day=to, why="crew is elsewhere")
    return court.replan()


def test_moved_later_it_stays_and_its_chain_follows() -> None:
    court = laid()
    court.replan(at(5, 5))
    plan = moved_to(court, MAY[24])
    assert stands(plan, "1-out.finish") == (MAY[24], State.FIRM)
    # 24 May + 28 days = 21 June, 22-28 June dry: Tue 29 June.
    assert stands(plan, "1-out.paint-1")[0] == date(2027, 6, 29)
    change = change_of(plan, "1-out")
    assert (change.reason.rule, caused_by(change)) == ("plan.move", "moved")
    assert stands(court.replan(at(5, 13)), "1-out.finish")[0] == MAY[24]
    assert court.plan is not None
    assert court.plan.revision == plan.revision


def test_moved_earlier_where_its_rules_let_it() -> None:
    court = laid()
    court.replan(at(5, 5))
    moved_to(court, MAY[28])
    court.later(hours=1)
    court.decide("move", "ida", key="back", face="1-out", coat="finish", day=MAY[20], why="crew is back")
    plan = court.replan()
    assert stands(plan, "1-out.finish") == (MAY[20], State.FIRM)
    assert caused_by(change_of(plan, "1-out")) == "back"


def test_moved_to_where_its_wait_is_not_over_is_refused() -> None:
    court = laid()
    court.replan(at(5, 5))
    text = court.decision_refused("move", "ida", face="1-out", coat="finish", day=MAY[14], why="crew is here")
    assert "2027-05-14 is too early, by its rules not before 2027-05-16" in text
    assert "a decision shortens no wait" in text


def test_moved_to_a_day_without_work_is_refused() -> None:
    court = laid()
    court.replan(at(5, 5))
    text = court.decision_refused("move", "ida", face="1-out", coat="finish", day=MAY[17], why="crew is here")
    assert "2027-05-17 is a day off; the next working day is 2027-05-18" in text


def test_a_coat_put_off_by_rain_is_not_moved_against_its_wait() -> None:
    court = laid()
    court.now = at(5, 17, "10:00")
    court.replan()
    dry_base(court)
    court.replan()
    court.now = at(5, 18, "07:30")
    data = {"coat": "finish", "day": "2027-05-18", "why": "driving rain"}
    court.say("could-not", "1-out", "ida", data)
    court.replan()
    plan = moved_to(court, MAY[19])
    assert stands(plan, "1-out.finish") == (MAY[19], State.FIRM)


def test_moved_onto_today_it_does_not_begin_in_the_past() -> None:
    court = laid()
    court.now = at(5, 17, "10:00")
    dry_base(court)
    court.replan()
    moved_to(court, MAY[24])
    court.now = at(5, 20, "09:40")
    plan = court.replan()
    court.decide("move", "ida", face="1-out", coat="finish", day=MAY[20], why="the crew is here")
    plan = court.replan()
    finish = coat(plan, "1-out.finish")
    assert finish.start >= court.now
    assert day(finish) >= MAY[20]


def test_moved_onto_tomorrow_before_anybody_is_told() -> None:
    court = laid()
    court.now = at(5, 17, "10:00")
    dry_base(court)
    court.replan()
    moved_to(court, MAY[24])
    court.now = at(5, 20, "12:00")
    court.replan()
    court.decide("move", "ida", key="on", face="1-out", coat="finish", day=MAY[21], why="the crew is here")
    plan = court.replan()
    assert stands(plan, "1-out.finish") == (MAY[21], State.FIRM)
    assert caused_by(change_of(plan, "1-out")) == "on"


def test_when_its_day_has_passed_a_move_says_nothing_more() -> None:
    # Nobody said that it was laid on 24 May: dated anew from the day after tomorrow, and asked about.
    court = laid()
    court.now = at(5, 17, "10:00")
    dry_base(court)
    court.replan()
    moved_to(court, MAY[24])
    plan = court.replan(at(5, 25, "06:00"))
    finish = coat(plan, "1-out.finish")
    assert (day(finish), finish.reason.rule) == (MAY[27], "plan.unconfirmed")
    assert [one.key for one in plan.questions if "1-out" in one.faces][:1] == ["was_it_laid"]


def test_done_work_is_moved_by_nobody() -> None:
    court = laid()
    court.replan(at(5, 5))
    text = court.decision_refused("move", "ida", face="1-out", coat="base", day=MAY[10], why="x")
    assert "done work never moves" in text


# --------------------------------------------------------------------------- turns of the rounds


def weekdays_only() -> Court:
    """Return a laid base whose Sunday rounds nobody has: Near mists Monday to Friday."""
    court = opened()
    court.data["people"][0]["hours"] = {"mon-fri": "07:00-20:00", "holiday": "07:00-20:00"}
    court.now = at(5, 6, "16:00")
    court.finish("1-out", "base", at(5, 6, "15:00"))
    court.replan()
    return court


def takers(plan: Plan, on: date) -> dict[str, tuple[str, ...]]:
    return {str(one.slot): one.who for one in plan.rounds if day(one) == on}


def test_a_sunday_that_nobody_has_is_given_to_somebody() -> None:
    court = weekdays_only()
    assert court.plan is not None
    assert takers(court.plan, MAY[9]) == {"early": (), "late": ()}
    assert "unnamed_round" in [one.key for one in court.plan.warnings]
    court.decide("assign", "ida", key="sunday", to="bo", first=MAY[9], last=MAY[9])
    plan = court.replan()
    assert takers(plan, MAY[9]) == {"early": ("bo",), "late": ("bo",)}
    changed = [one for one in plan.changes if one.kind is Kind.ROUND]
    assert {caused_by(one) for one in changed} == {"sunday"}
    assert all(day(one) != MAY[9] for one in plan.bookings if one.kind is Kind.COAT)


def test_only_the_round_that_was_given() -> None:
    court = weekdays_only()
    court.decide("assign", "ida", to="bo", first=MAY[9], last=MAY[9], slot="late")
    assert takers(court.replan(), MAY[9]) == {"early": (), "late": ("bo",)}


def test_who_passes_on_a_spell_takes_nothing_from_who_was_given_a_day_of_it() -> None:
    # Ida gave Sunday to Bo; Near passes Friday to Monday on to Ida: Sunday was not Near's.
    court = weekdays_only()
    court.decide("assign", "ida", to="bo", first=MAY[9], last=MAY[9])
    court.replan()
    court.later(minutes=1)
    court.say("passed-on", None, "near", {"to": "ida", "first": "2027-05-07", "last": "2027-05-10"})
    assert takers(court.replan(), MAY[9]) == {"early": ("bo",), "late": ("bo",)}


def test_a_spell_is_passed_on_and_no_day_more() -> None:
    court = laid()
    court.replan(at(5, 3, "16:00"))
    court.now = at(5, 17, "10:00")
    dry_base(court)
    court.now = at(5, 18, "15:10")
    court.finish("1-out", "finish", at(5, 18, "15:00"))
    before = court.replan()
    weekend = [MAY[22], MAY[23]]
    assert all(set(takers(before, on).values()) == {("near",)} for on in (MAY[21], *weekend, MAY[28]))
    court.say("passed-on", None, "near", {"to": "bo", "first": "2027-05-22", "last": "2027-05-23"}, key="spell")
    plan = court.replan()
    for on in each_day(MAY[19], MAY[28], 1):
        if on in weekend:
            assert set(takers(plan, on).values()) == {("bo",)}, on
        else:
            assert takers(plan, on) == takers(before, on), on
    turned = [one for one in plan.changes if one.kind is Kind.ROUND]
    assert {caused_by(one) for one in turned} == {"spell"}


def test_passed_back_before_its_day_it_is_theirs_again() -> None:
    court = laid()
    before = court.replan(at(5, 3, "16:00"))
    court.say("passed-on", None, "near", {"to": "bo", "first": "2027-05-05", "last": "2027-05-05"})
    court.replan()
    court.later(minutes=1)
    court.say("passed-on", None, "bo", {"to": "near", "first": "2027-05-05", "last": "2027-05-05"})
    assert takers(court.replan(), MAY[5]) == takers(before, MAY[5])


# --------------------------------------------------------------------------------- midday looks


def test_a_midday_look_is_ticked_like_any_visit() -> None:
    # A finish on the south without cloth is looked at about midday.
    court = Court(
        recorded_job(wall("1", face(facing="S", cloth=False, start="2027-05-03"), dry="2027-04-28")), at(4, 30, "06:00")
    )
    court.replan()
    court.now = at(5, 17, "10:00")
    court.finish("1-out", "base", at(5, 3, "15:00"))
    dry_base(court)
    court.now = at(5, 18, "15:10")
    court.finish("1-out", "finish", at(5, 18, "15:00"))
    plan = court.replan()
    (midday,) = [one for one in plan.rounds if day(one) == MAY[19] and one.slot == "midday"]
    court.now = at(5, 19, "14:00")
    court.say("damp", "1-out", "bo", tick(MAY[19], "midday", "finish"), at=at(5, 19, "13:00"))
    after = court.replan()
    (there,) = [one for one in after.rounds if one.uid == midday.uid]
    assert (there.state, after.changes) == (State.DONE, ())


# -------------------------------------------------------------------------------------- two sites


def test_times_are_local_to_each_site() -> None:
    """Monday 14:30 in Amsterdam is Tuesday 00:30 in Auckland: the day of its own site counts."""
    far = {"id": "far", "name": "Far Yard", "latitude": -36.8, "longitude": 174.8, "time_zone": "Pacific/Auckland"}
    data = recorded_job(
        wall("1", face(start="2027-05-03"), site="court", panel=PANEL),
        wall("2", face(start="2027-05-03"), site="far", panel=PANEL),
    )
    data["sites"].append(far)
    court = Court(data, at(5, 3, "15:30"))
    closed = at(5, 3, "14:30")
    for number in ("1", "2"):
        court.finish(f"{number}-out", "base", closed, key=f"base {number}")
    plan = court.replan()
    days = {face_.id: next(one.day for one in face_.coats if one.coat == "base") for face_ in plan.faces}
    assert days == {"1-out": MAY[3], "2-out": MAY[4]}
    assert coat(plan, "2-out.base").end == closed
    first = {
        number: min(
            walk.start.astimezone(ZoneInfo(walk.zone)).date()
            for walk in plan.rounds
            for one in walk.visits
            if one.face == f"{number}-out"
        )
        for number in ("1", "2")
    }
    assert first == {"1": MAY[4], "2": MAY[5]}
    causes = court.evidence().done
    assert (causes["1-out.base"].cause.clock, causes["2-out.base"].cause.clock) == ("14:30", "00:30")
    early = {"coat": "base", "day": "2027-05-04", "slot": "early"}
    assert "none is due on 2027-05-04" in court.refusal("misted", "2-out", "near", early)
