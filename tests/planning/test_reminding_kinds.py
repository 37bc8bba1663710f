"""Each kind of reminder once: whom, when, how long it is of use, and what it says; quiet hours of each."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from functools import cache

import pytest
from court import AMSTERDAM, at, coat
from court_record import Court
from court_steps import laid, one_wall, opened, tick
from scenes import lines, scene_of, tend, told, walk_of, with_finish, with_people, with_walk

from curing.model.job import Role
from curing.model.plan import Change, Kind, Moment, Notice, Plan, Reason, State
from curing.model.reminders import Occasion
from curing.planning.reminding import Scene, falls_due

ZONE = {"zone": "Europe/Amsterdam"}


def until(one: Occasion) -> str:
    return one.until.astimezone(AMSTERDAM).strftime("%m-%d %H:%M")


@cache
def sunny() -> Court:
    """Return a south face: base 1 March, finish closed on Monday 15 March and hung with cloth to 29 March."""
    return with_finish("S", date(2027, 3, 1), date(2027, 3, 15))


def again(court: Court) -> Court:
    """Return a court of which more can be said without the first one hearing of it."""
    return Court(dict(court.data), court.now, list(court.record), plan=court.plan)


# ----------------------------------------------------------------------------------------- walks


def test_a_round_says_what_is_on_it():
    # Bo's early walk of Friday 19 March, day 4: cloth hangs, and the sun is on the face from 06:55.
    (one, _) = told(scene_of(sunny()), at(3, 19, "00:00"), at(3, 20, "00:00"), "round")
    assert (one.key, one.person, one.intent, until(one)) == (
        "round|2027-03-19|early|court|bo",
        "bo",
        "2027-03-19 06:30",
        "03-19 07:10",
    )
    assert (one.about, one.faces) == (("1-out.finish.2027-03-19.early",), ("1-out",))
    assert dict(one.values) == ZONE | {
        "day": "2027-03-19",
        "slot": "early",
        "start": "07:00",
        "by": "07:10",
        "minutes": 10,
        "visits": 1,
        "first": 4,
        "tender": False,
        "mist": 1,
        "air": 0,
        "look": 0,
        "cloth": "1-out",
        "sun": "1-out",
        "sun_from": "06:55",
    }


@pytest.mark.parametrize(
    ("lines_", "expected"),
    [
        ({"notice": 90.0}, ("06:00", False)),  # meant for 05:30, when Bo is quiet
        ({"notice": 0.0}, ("07:00", False)),
        ({"quiet": (1260, 420)}, ("06:30", True)),  # the walk begins as they end: he has to be up
        ({"quiet": (1260, 480)}, ("06:30", True)),
        ({"quiet": (1260, 419)}, ("06:59", False)),
        ({"quiet": (0, 0)}, ("06:30", False)),
    ],
)
def test_a_round_and_quiet_hours(lines_: dict[str, object], expected: tuple[str, bool]):
    (one, _) = told(with_people(scene_of(sunny()), bo=lines_), at(3, 19, "00:00"), at(3, 20, "00:00"), "round")
    assert (one.due.astimezone(AMSTERDAM).strftime("%H:%M"), one.rings_in_quiet) == expected


def test_no_round_where_it_is_ticked_off_or_only_perhaps():
    court, walk = sunny(), walk_of(sunny(), date(2027, 3, 19), "early")
    span = (at(3, 19, "00:00"), at(3, 19, "12:00"))
    scene = scene_of(court)
    assert len(told(scene, *span, "round")) == 1
    for state in (State.OFF, State.DONE, State.CONDITIONAL):
        assert told(with_walk(scene, walk, state=state), *span, "round") == []
    perhaps = tuple(replace(one, conditional=True) for one in walk.visits)
    assert told(with_walk(scene, walk, visits=perhaps), *span, "round") == []
    ticked = again(court)
    ticked.put("could-not", "1-out", "bo", {**tick(date(2027, 3, 19), "early", "finish"), "why": "no water"})
    assert told(scene_of(ticked), *span, "round") == []


def test_no_round_of_a_coat_that_could_not_be_laid():
    court = opened()
    court.now = at(5, 3, "11:00")
    assert len(told(scene_of(court), at(5, 3, "12:00"), at(5, 5), "round")) == 2
    court.say("could-not", "1-out", "ida", {"coat": "base", "day": "2027-05-03", "why": "frost"})
    assert told(scene_of(court), at(5, 3, "12:00"), at(5, 5), "round", "decide") == []


def test_a_client_who_does_not_mist_is_told_nothing():
    scene = with_people(scene_of(sunny()), bo={"roles": (Role.CLIENT,)})
    assert [one for one in falls_due(scene, at(3, 15), at(4, 14)) if one.person == "bo"] == []
    scene = with_people(scene_of(sunny()), bo={"roles": (Role.CLIENT, Role.MISTS)})
    assert [one for one in falls_due(scene, at(3, 15), at(4, 14)) if one.person == "bo"]


def test_a_round_that_nobody_has_is_told_three_days_before():
    walk = walk_of(sunny(), date(2027, 3, 23), "early")
    scene = with_walk(scene_of(sunny()), walk, who=())
    (one,) = told(scene, at(3, 15), at(3, 25), "nobody")
    assert (lines([one]), one.key, until(one)) == (
        ["Sat 03-20 07:00 ida nobody"],
        "nobody|2027-03-23|early|court",
        "03-23 07:00",
    )
    assert (one.values["visits"], one.values["slot"], one.values["day"]) == (1, "early", "2027-03-23")


# ----------------------------------------------------------------------------------------- tasks


def test_a_reading_is_told_the_evening_before_and_half_an_hour_before():
    court = one_wall()
    court.replan()
    eve, task = told(scene_of(court), at(4, 29), at(4, 30, "12:00"), "eve", "task")
    assert lines([eve, task]) == ["Thu 04-29 18:30 ida eve", "Fri 04-30 06:30 ida task"]
    assert (eve.key, until(eve), task.key, until(task)) == (
        "eve|2027-04-30|ida",
        "04-30 00:00",
        "task|2027-04-30|1.panel-dry",
        "05-03 07:00",
    )
    assert dict(eve.values) == ZONE | {"day": "2027-04-30", "readings": 1, "tests": 0, "covers": 0, "start": "07:00"}
    expected = {"what": "reading", "task": "panel-dry", "title": "READ both sides", "day": "2027-04-30"}
    expected |= {"start": "07:00", "by": "07:00", "by_day": "2027-05-03", "minutes": 20, "coat": "1-out.base"}
    assert dict(task.values) == ZONE | expected
    court.say("reading", "1-out", "bo", {"value": 17.0, "basis": "wet", "band": "low", "depth": 100, "meter": "probe"})
    assert told(scene_of(court), at(4, 29), at(4, 30, "12:00"), "eve", "task") == [], "somebody read that day"


def test_the_evening_before_is_brought_forward_to_before_quiet_hours():
    court = one_wall()
    court.replan()
    scene = with_people(scene_of(court), ida={"quiet": (17 * 60, 6 * 60)})
    assert lines(told(scene, at(4, 29), at(4, 30), "eve")) == ["Thu 04-29 17:00 ida eve"]
    scene = with_people(scene_of(court), ida={"quiet": (17 * 60, 20 * 60)})
    assert lines(told(scene, at(4, 29), at(4, 30), "eve")) == ["Thu 04-29 20:00 ida eve"]


def test_a_look_is_told_once_its_coat_is_closed_and_missed_half_an_hour_after_its_window():
    # Coat to 12:00; look 15:00, possible to 18:00.
    court = again(sunny())
    before = again(court)
    before.record = [one for one in before.record if one.data.get("task") != "finish"]
    look = replace(coat(court.plan, "1-out.finish.look"), state=State.FIRM) if court.plan else None
    assert look is not None
    span = (at(3, 15, "12:00"), at(3, 16, "00:00"))
    open_coat = replace(coat(court.plan, "1-out.finish"), state=State.FIRM) if court.plan else None
    assert open_coat is not None
    assert court.plan is not None
    as_told = tuple(open_coat if one.id == open_coat.id else one for one in court.plan.bookings)
    before.plan = replace(court.plan, bookings=as_told)
    assert told(scene_of(before), *span, "task", "unseen") == [], "nobody said that it was closed"
    task, *unseen = told(scene_of(court), *span, "task", "unseen")
    assert lines([task, *unseen]) == ["Mon 03-15 14:30 ida task", "Mon 03-15 18:30 ida unseen"]
    assert (task.values["what"], until(task)) == ("look", "03-15 18:00")
    assert (unseen[0].key, until(unseen[0]), unseen[0].rings_in_quiet) == (
        "unseen|2027-03-15|1-out.finish",
        "03-16 18:30",
        True,
    )
    expected = {"day": "2027-03-15", "by": "18:00", "late": 30, "whose": "ida", "coat": "1-out.finish", "lead": False}
    assert dict(unseen[0].values) == ZONE | expected
    bos = tuple(replace(one, who=("bo",)) if one.id == look.id else one for one in court.plan.bookings)
    of_bo = replace(scene_of(court), plan=replace(court.plan, bookings=bos))
    both = told(of_bo, *span, "unseen")
    assert [(one.person, one.values["lead"]) for one in both] == [("bo", False), ("ida", True)]
    court.put("inspection", "1-out", "near", {"sound": True}, at=at(3, 15, "17:00"))
    assert told(scene_of(court), *span, "task", "unseen") == []


def test_cloth_to_take_down_until_somebody_did():
    court = again(sunny())
    span = (at(3, 29, "12:00"), at(3, 30, "12:00"))
    eve, task = told(scene_of(court), *span, "eve", "task")
    assert lines([eve, task]) == ["Mon 03-29 18:30 ida eve", "Tue 03-30 06:40 ida task"]
    assert (task.values["what"], eve.values["covers"]) == ("cover-down", 1)
    up = again(court)
    up.put("cover-up", "1-out", "bo", {}, at=at(3, 30, "06:00"))
    assert len(told(scene_of(up), *span, "eve", "task")) == 2
    court.put("cover-down", "1-out", "bo", {}, at=at(3, 30, "06:00"))
    assert told(scene_of(court), *span, "eve", "task") == []


def test_cloth_before_days_off_is_for_who_of_the_crew_is_there():
    # Friday 19 March; the crew goes at 15:30 and is back on Monday.
    scene = scene_of(sunny())
    found = told(scene, at(3, 18), at(3, 22), "cloth")
    assert lines(found) == ["Fri 03-19 14:30 bo cloth", "Fri 03-19 14:30 ida cloth"]
    assert {(one.key, until(one), one.faces) for one in found} == {
        ("cloth|2027-03-20|render", "03-20 00:00", ("1-out",))
    }
    expected = {"first": "2027-03-20", "last": "2027-03-21", "days": 2, "crew": "render", "lead": False}
    assert dict(found[0].values) == ZONE | expected
    away = {"away": ((date(2027, 3, 19), date(2027, 3, 19)),)}
    assert lines(told(with_people(scene, bo=away), at(3, 18), at(3, 22), "cloth")) == ["Fri 03-19 14:30 ida cloth"]
    # With long hours it is told in the evening at the latest.
    long = with_people(scene, bo={"hours": {"mon-fri": (420, 1260)}})
    assert lines(told(long, at(3, 18), at(3, 22), "cloth"))[1] == "Fri 03-19 18:30 bo cloth"
    assert told(scene, at(4, 1), at(4, 6), "cloth") == [], "no cloth hangs at that weekend"


# --------------------------------------------------------------------------------- holds, decisions


def test_a_hold_that_passes_is_told_to_who_decides_as_soon_as_the_last_reading_came_in():
    court = one_wall()
    court.replan()
    court.now = at(4, 30, "14:00")
    court.check_meter()
    court.read_all("1")
    (one,) = told(scene_of(court), at(4, 30), at(5, 4), "hold")
    assert (lines([one]), one.key, until(one), one.about) == (
        ["Fri 04-30 14:00 ida hold"],
        "hold|1.panel-dry|waiting|2027-05-07",
        "05-08 00:00",
        ("1.panel-dry",),
    )
    expected = {"what": "waiting", "hold": "1.panel-dry", "point": "panel-dry", "lapses": "2027-05-07"}
    expected |= {"coat": "1-out.base", "coat_day": "2027-05-03", "own": False, "decides": True}
    assert dict(one.values) == ZONE | expected | {"start": "", "reader": ""}
    nobody_leads = with_people(scene_of(court), ida={"roles": (Role.MISTS,)})
    assert lines(told(nobody_leads, at(4, 30), at(5, 4), "hold")) == ["Fri 04-30 14:00 ines hold"]
    court.open_panel("1")
    assert told(scene_of(court), at(4, 30), at(5, 4), "hold") == []


def test_a_hold_that_keeps_a_near_coat_in_doubt_is_told_every_morning():
    # Base on Monday 3 May at 07:00: on that morning it is too late. Here Bo has the reading.
    court = one_wall()
    plan = court.replan()
    bos = tuple(replace(one, who=("bo",)) if one.id == "1.panel-dry" else one for one in plan.bookings)
    court.plan = replace(plan, bookings=bos)
    found = told(scene_of(court), at(4, 28), at(5, 4), "hold")
    assert lines(found) == [f"{day} 07:00 {who} hold" for day in ("Sat 05-01", "Sun 05-02") for who in ("bo", "ida")]
    assert [one.key for one in found[:2]] == ["hold|1.panel-dry|unmet|2027-05-01"] * 2
    assert until(found[0]) == "05-01 18:30"
    expected = {"what": "unmet", "hold": "1.panel-dry", "point": "panel-dry", "lapses": "", "coat": "1-out.base"}
    expected |= {"coat_day": "2027-05-03", "own": True, "decides": False, "start": "2027-04-30 07:00", "reader": "bo"}
    assert dict(found[0].values) == ZONE | expected
    assert (found[1].values["own"], found[1].values["decides"]) == (False, True)
    early = replace(scene_of(court), morning=6 * 60 + 30)
    assert lines(told(early, at(5, 3), at(5, 4), "hold")) == [f"Mon 05-03 06:30 {who} hold" for who in ("bo", "ida")]


def test_whether_a_coat_was_laid_is_asked_that_evening_and_not_again_next_day():
    court = opened()
    court.now = at(5, 3, "12:00")
    (one,) = told(scene_of(court), at(5, 1), at(5, 4, "12:00"), "decide")
    assert (lines([one]), one.key, until(one)) == (
        ["Mon 05-03 18:30 ida decide"],
        "decide|laid|1-out.base|2027-05-03",
        "05-04 18:30",
    )
    expected = {"notice": "was_it_laid", "rule": "plan.unconfirmed", "warning": False, "without": "anew"}
    assert dict(one.values) == ZONE | expected | {"of_coat": "1-out.base", "of_day": "2027-05-03"}
    plan = court.replan(at(5, 4, "00:05"))
    asked = scene_of(court, questions=plan.questions)
    assert [x.key for x in told(asked, at(5, 1), at(5, 4, "12:00"), "decide")] == [one.key]
    court.say("started", "1-out", "bo", {"task": "base"}, at=at(5, 3, "08:00"))
    (begun,) = told(scene_of(court, questions=court.replan().questions), at(5, 1), at(5, 4, "12:00"), "decide")
    assert (begun.key, begun.values["notice"], begun.values["without"]) == (one.key, "was_it_closed", "no_water")


def test_a_face_to_look_over_is_asked_for_once_the_next_morning():
    values = {
        "coat": "1-out.base",
        "visits": 2,
        "first": "2027-05-04",
        "last": "2027-05-05",
        "slot": "late",
        "since": 1,
    }
    notice = Notice("visit.missed", "inspect", values, ("1-out",), urgent=True)
    found = told(scene_of(laid(), questions=(notice,)), at(5, 1), at(5, 9), "decide")
    assert [(lines([one])[0], one.key) for one in found] == [
        ("Wed 05-05 07:00 ida decide", "decide|inspect|1-out.base|2027-05-04")
    ]
    assert found[0].values["without"] == "stays"


def test_a_young_coat_that_could_not_be_misted_is_told_to_who_leads_at_once():
    """A could-not silences the climb: without this nobody hears before the evening that the wall stands dry."""
    court = again(laid())
    walk = walk_of(court, date(2027, 5, 4), "early")
    tend(court, walk, kind="could-not", at=at(5, 4, "07:40"))
    court.now = at(5, 4, "07:41")
    (notice,) = [one for one in court.replan().questions if one.key == "inspect"]
    found = told(scene_of(court, questions=(notice,)), at(5, 1), at(5, 9), "decide")
    assert lines(one for one in found if one.values["notice"] == "inspect") == ["Tue 05-04 07:40 ida decide"]
    assert "missed" not in {one.kind.value for one in told(scene_of(court), at(5, 4), at(5, 4, "12:00"), "missed")}


def test_what_else_is_pressing_is_asked_every_morning_and_told_every_monday_but_not_what_is_told_otherwise():
    pressing = Notice("season.finish_by", "too_late", {"face": "1-out"}, ("1-out",), urgent=True)
    others = [Notice("r", key, {}, (), urgent=True) for key in ("hold_waiting", "unnamed_round", "unnamed_look")]
    others += [replace(pressing, urgent=False), Notice("visit.unsaid", "visits_unsaid", {}, ("1-out",), urgent=True)]
    span = (at(5, 4, "07:00"), at(5, 6, "07:00"))
    found = told(scene_of(laid(), questions=(pressing, *others)), *span, "decide")
    assert [(lines([one])[0], one.key, one.values["warning"], until(one)) for one in found] == [
        (f"{day} 07:00 ida decide", f"decide|too_late|1-out|2027-05-{n:02d}", False, f"05-{n:02d} 18:30")
        for day, n in (("Wed 05-05", 5), ("Thu 05-06", 6))
    ]
    # Nobody can answer a warning: once a week, from Monday on. 3 January 2028 is the Monday of the first week.
    for first, last in ((at(5, 3), at(5, 17)), (at(5, 3, "06:59"), at(5, 10, "07:00"))):
        weekly = told(scene_of(laid(), warnings=(pressing, *others)), first, last, "decide")
        assert [(lines([one])[0], one.key, one.values["warning"], until(one)) for one in weekly] == [
            ("Mon 05-03 07:00 ida decide", "decide|too_late|1-out|2027-W18", True, "05-09 18:30"),
            ("Mon 05-10 07:00 ida decide", "decide|too_late|1-out|2027-W19", True, "05-16 18:30"),
        ]
    (new_year,) = told(scene_of(laid(), warnings=(pressing,)), at(12, 27, "07:00"), at(12, 27) + timedelta(8), "decide")
    assert new_year.key == "decide|too_late|1-out|2028-W01"


# ------------------------------------------------------------------------------------- changes


def moment(start: datetime, who: tuple[str, ...] = ("bo",), state: State = State.FIRM) -> Moment:
    return Moment(start, start + timedelta(minutes=10), state, who)


def change(old: Moment | None, new: Moment | None, id_: str = "2027-03-19.late.bo", kind: Kind = Kind.ROUND) -> Change:
    return Change(id_, id_, kind, ("1-out",), "Europe/Amsterdam", old, new, Reason("r", "r"))


SAVED = at(3, 19, "10:00")
OLD = moment(at(3, 19, "15:20"))


def news(*changes: Change, saved: datetime = SAVED) -> list[tuple[str, str]]:
    scene = scene_of(sunny(), moved=((9, saved, changes),))
    found = told(scene, saved - timedelta(1), saved + timedelta(1), "changed")
    assert all(one.key == f"changed|9|{one.person}" for one in found)
    return [(one.person, str(one.values["what"])) for one in found]


@pytest.mark.parametrize(
    ("new", "expected"),
    [
        (moment(at(3, 19, "15:34")), []),
        (moment(at(3, 19, "15:35")), [("bo", "moved")]),
        (moment(at(3, 20, "15:20")), [("bo", "moved")]),
        (moment(at(3, 19, "15:20"), ("ida",)), [("bo", "taken"), ("ida", "given")]),
        (moment(at(3, 19, "15:20"), state=State.CONDITIONAL), [("bo", "conditional")]),
        (moment(at(3, 19, "15:20"), state=State.OFF), [("bo", "off")]),
        (moment(at(3, 19, "08:00"), state=State.DONE), []),
        (None, [("bo", "off")]),
    ],
)
def test_what_changed_in_ones_own_work_of_today(new: Moment | None, expected: list[tuple[str, str]]):
    assert news(change(OLD, new)) == expected


def test_a_change_far_ahead_or_over_is_not_told():
    assert news(change(moment(at(3, 21, "15:20")), None)) == []
    assert news(change(moment(at(3, 20, "15:20")), None)) == [("bo", "off")]
    assert news(change(moment(at(3, 19, "09:50")), None)) == [], "it ended as the plan was saved"
    assert news(change(moment(at(3, 19, "09:51")), None)) == [("bo", "off")]
    over, ahead = change(moment(at(3, 19, "08:00")), None, "2027-03-19.early.bo"), change(OLD, None)
    (one,) = told(scene_of(sunny(), moved=((9, SAVED, (over, ahead)),)), at(3, 19), at(3, 20), "changed")
    assert one.about == ("2027-03-19.late.bo",)


def test_a_walk_given_to_another_is_two_changes_and_each_hears_of_his():
    gone, new = change(OLD, None), change(None, moment(OLD.start, ("ida",)), "2027-03-19.late.ida")
    assert news(gone, new) == [("bo", "taken"), ("ida", "given")]


def test_all_that_one_revision_changed_is_one_reminder():
    second = change(moment(at(3, 20, "09:00")), moment(at(3, 20, "11:00")), "1-out.base-dry", Kind.TEST)
    scene = scene_of(sunny(), moved=((9, SAVED, (second, change(OLD, None))),))
    (one,) = told(scene, at(3, 19, "09:59"), at(3, 19, "10:00"), "changed")
    assert (one.due, until(one), one.about) == (SAVED, "03-20 11:10", ("2027-03-19.late.bo", "1-out.base-dry"))
    expected = {"revision": 9, "changes": 2, "given": 0, "taken": 0, "off": 1, "moved": 1, "state": 0}
    expected |= {"what": "off", "kind": "round", "task": "", "was": "2027-03-19 15:20", "now": ""}
    assert dict(one.values) == ZONE | expected
    quiet = with_people(scene, bo={"quiet": (540, 720)})
    assert lines(told(quiet, at(3, 19), at(3, 20), "changed")) == ["Fri 03-19 12:00 bo changed"]


def test_what_changed_once_more_is_told_as_it_is_now_and_a_look_goes_with_its_coat():
    firm, doubt = moment(at(3, 19, "15:20")), moment(at(3, 19, "15:20"), state=State.CONDITIONAL)
    early, late = at(3, 19, "08:00"), at(3, 19, "10:00")
    first = [change(firm, doubt, "1-out.finish", Kind.COAT)]
    second = [change(doubt, firm, "1-out.finish", Kind.COAT), change(doubt, firm, "1-out.finish.look", Kind.LOOK)]
    scene = scene_of(sunny(), moved=((9, late, second), (8, early, first)))
    (one,) = told(scene, at(3, 19), at(3, 20), "changed")
    assert (one.key, one.values["what"], one.about) == ("changed|9|bo", "firm", ("1-out.finish",))
    before = told(replace(scene, moved=((8, early, first),)), at(3, 19), at(3, 20), "changed")
    assert [one.values["what"] for one in before] == ["conditional"], "while it was so, it was told"


# ------------------------------------------------------------------------------- weather, summary


def test_weather_that_was_read_long_ago_is_told_a_day_later_and_every_morning():
    scene = scene_of(laid(), weather_read=at(5, 3, "09:00"))
    found = told(scene, at(5, 1), at(5, 6, "12:00"), "weather")
    assert [(lines([one])[0], one.key) for one in found] == [
        ("Tue 05-04 09:00 ida weather", "weather|2027-05-04"),
        ("Wed 05-05 07:00 ida weather", "weather|2027-05-05"),
        ("Thu 05-06 07:00 ida weather", "weather|2027-05-06"),
    ]
    assert dict(found[1].values) == ZONE | {"read": "2027-05-03 09:00", "hours": 46}
    assert told(scene_of(laid()), at(5, 1), at(5, 6), "weather") == []
    # Read at 22:00: a day later Ida is quiet, so 06:00; an hour after that she is not told once more.
    late = told(replace(scene, weather_read=at(5, 3, "22:00")), at(5, 1), at(5, 6, "12:00"), "weather")
    assert lines(late) == ["Wed 05-05 06:00 ida weather", "Thu 05-06 07:00 ida weather"]


def test_a_summary_only_where_something_moved_or_is_open():
    court = laid()
    court.replan()
    span = (at(5, 4, "12:00"), at(5, 4, "20:00"))
    (one,) = told(scene_of(court), *span, "summary")
    assert (lines([one]), one.key, until(one)) == (
        ["Tue 05-04 18:30 ida summary"],
        "summary|2027-05-04|ida",
        "05-05 00:00",
    )
    expected = {"day": "2027-05-04", "done": 0, "of": 2, "could_not": 0, "no_tick": 1, "to_decide": 0, "moved": 0}
    assert dict(one.values) == ZONE | expected, "the early walk is open; the late one goes on to 20:20"
    failed = again(court)
    failed.put("could-not", "1-out", "near", {**tick(date(2027, 5, 4), "late"), "why": "frost"})
    (one,) = told(scene_of(failed), *span, "summary")
    assert dict(one.values) == ZONE | expected | {"could_not": 1}
    for slot in ("early", "late"):
        court.put("misted", "1-out", "near", tick(date(2027, 5, 4), slot), at=at(5, 4, "18:00"))
    assert told(scene_of(court), *span, "summary") == []
    moved = change(moment(at(6, 19, "15:20")), None)
    for saved, count in ((at(5, 3, "18:30"), 0), (at(5, 3, "18:31"), 1), (at(5, 4, "18:30"), 1)):
        found = told(scene_of(court, moved=((9, saved, (moved,)),)), *span, "summary")
        assert [one.values["moved"] for one in found] == [1] * count
    asked = Notice("plan.unconfirmed", "was_it_laid", {"coat": "2-out.base", "day": "2027-05-04"}, (), urgent=True)
    assert [x.values["to_decide"] for x in told(scene_of(court, questions=(asked,)), *span, "summary")] == [1]
    # A season that is lost is nobody's to decide; a round without a name is.
    lost = Notice("season.finish_by", "too_late", {}, ("1-out",), urgent=True)
    unnamed = Notice("visit.walks", "unnamed_round", {"day": "2027-05-05"}, ("1-out",), urgent=True)
    assert told(scene_of(court, warnings=(lost,)), *span, "summary") == []
    (one,) = told(scene_of(court, warnings=(lost, unnamed)), *span, "summary")
    assert one.values["to_decide"] == 1


def test_a_summary_counts_what_was_answered_though_its_coat_or_walk_is_not_in_the_plan_any_more():
    court = laid()
    court.replan()
    court.put("misted", "1-out", "near", tick(date(2027, 5, 4), "early"), at=at(5, 4, "07:00"))
    scene = scene_of(court)
    rounds = tuple(one for one in scene.plan.rounds if one.slot is not None and one.slot.value == "late")
    ids = {"2-out.base.2027-05-04.early": scene.evidence.visits["1-out.base.2027-05-04.early"]}
    scene = replace(
        scene,
        plan=replace(scene.plan, rounds=rounds),
        evidence=replace(scene.evidence, visits={**scene.evidence.visits, **ids}),
    )
    moved = change(moment(at(6, 19, "15:20")), None)
    scene = replace(scene, moved=((9, at(5, 4, "10:00"), (moved,)),))
    (one,) = told(scene, at(5, 4, "12:00"), at(5, 4, "20:00"), "summary")
    assert (one.values["done"], one.values["of"], one.values["no_tick"]) == (2, 3, 0)


# ---------------------------------------------------------------------------------- roots, input


def test_keys_are_of_roots_so_that_a_new_name_tells_nobody_twice():
    court = again(sunny())
    span = (at(3, 18), at(4, 2))
    before = {(one.key, one.person) for one in falls_due(scene_of(court), *span)}
    people = [{**one, "id": "robert", "was": "bo"} if one["id"] == "bo" else one for one in court.data["people"]]
    crews = [{**court.data["crews"][0], "people": ["ida", "robert"]}]
    walls = [{**court.data["walls"][0], "id": "n", "was": "1"}]
    court.data = {**court.data, "people": people, "crews": crews, "walls": walls}
    court.replan()
    assert {(one.key, one.person) for one in falls_due(scene_of(court), *span)} == before


def test_an_instant_without_a_zone_is_refused():
    scene = scene_of(sunny())
    with pytest.raises(ValueError, match="falls_due, after: 2027-03-01 00:00:00 has no time zone; give UTC"):
        falls_due(scene, datetime(2027, 3, 1), datetime(2027, 3, 2, tzinfo=UTC))
    assert falls_due(scene, at(3, 20), at(3, 19)) == ()


def test_it_is_in_order_and_begins_after_the_first_instant():
    scene = scene_of(sunny())
    found = falls_due(scene, at(3, 18, "06:30"), at(3, 20, "06:30"))
    assert [(one.due, one.key, one.person) for one in found] == sorted((x.due, x.key, x.person) for x in found)
    rounds = lines(one for one in found if one.kind.value == "round")
    assert (rounds[0], rounds[-1]) == ("Thu 03-18 14:50 ida round", "Sat 03-20 06:30 near round")


def empty(plan: Plan) -> Plan:
    return replace(plan, rounds=(), bookings=(), holds=())


def test_an_empty_plan_tells_nothing():
    scene = scene_of(sunny())
    bare: Scene = replace(scene, plan=empty(scene.plan), entries=())
    assert falls_due(bare, at(1, 1), at(12, 31)) == ()
