"""Who hears of a round without a tick, and when: who had it, the next who mists, who leads.

Finish of 18 October; the walk is Bo's of Thursday 28 October, early: day 10, window to 08:00. In the job file's order
Near, Ida (who leads) and Bo mist. Ida is taken to lead alone where nothing else is said, as a lead in an office does.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from functools import cache
from typing import Any

import pytest
from court import at
from court_record import Court
from scenes import lines, scene_of, tend, told, walk_of, with_finish, with_people, with_walk

from curing.model.evidence import Cause, Turn
from curing.model.job import Role
from curing.model.plan import Slot, State
from curing.model.reminders import Occasion
from curing.planning.reminding import Scene

THURSDAY, FRIDAY = at(10, 28, "00:00"), at(10, 29, "00:00")
EARLY = ["Thu 10-28 08:30 bo missed", "Thu 10-28 09:00 near missed", "Thu 10-28 20:00 ida missed"]


@cache
def court() -> Court:
    """Return the finish of 18 October with everything done that is over by Thursday 28 October."""
    made = with_finish("N", date(2027, 10, 4), date(2027, 10, 18))
    assert made.plan is not None
    for walk in made.plan.rounds:
        if walk.visits[0].coat == "finish" and walk.start < THURSDAY:
            tend(made, walk)
    return made


def scene(**lines_of: dict[str, Any]) -> Scene:
    return with_people(scene_of(court()), **{"ida": {"roles": (Role.LEAD,)}, **lines_of})


def heard(one: Scene, after: datetime = THURSDAY, to: datetime = FRIDAY) -> list[str]:
    """Return who hears of the early walk of the day, and when."""
    return lines(x for x in told(one, after, to, "missed") if "|early|" in x.key)


def test_who_had_it_then_the_next_then_the_lead():
    # 08:00 + 30 min; + 30 min the next after Bo, which is Near, round the list; 12 h after 08:00 who leads.
    found = [one for one in told(scene(), THURSDAY, FRIDAY, "missed") if "|early|" in one.key]
    assert lines(found) == EARLY
    assert [(one.step, one.values["lead"], one.values["late"]) for one in found] == [
        (0, False, 30),
        (1, False, 60),
        (0, True, 720),
    ]
    first = found[0]
    assert {one.key for one in found} == {"missed|2027-10-28|early|court|1-out"}
    assert first.about == ("1-out.finish.2027-10-28.early",)
    assert first.faces == ("1-out",)
    assert not first.rings_in_quiet
    assert [one.until for one in found[:2]] == [at(10, 28, "15:20")] * 2, "the late walk has the face then"
    assert found[2].until == at(10, 29, "20:00")
    expected = {"zone": "Europe/Amsterdam", "day": "2027-10-28", "slot": "early", "by": "08:00", "whose": "bo"}
    assert dict(first.values) == expected | {
        "start": "07:00",
        "minutes": 10,
        "late": 30,
        "visits": 1,
        "first": 10,
        "tender": False,
        "lead": False,
        "leads": False,
    }


def test_a_lead_who_mists_as_well_hears_of_it_once_and_in_his_turn():
    both = {"roles": (Role.LEAD, Role.MISTS)}
    assert heard(scene(ida=both)) == [*EARLY[:2], "Thu 10-28 09:30 ida missed"]


@pytest.mark.parametrize("kind", ["misted", "damp", "rain-on-it", "could-not"])
def test_an_answer_silences_everybody(kind: str):
    made = Court(court().data, court().now, list(court().record), plan=court().plan)
    tend(made, walk_of(made, date(2027, 10, 28), "early"), kind=kind, by="near", at=at(10, 28, "08:40"))
    assert heard(with_people(scene_of(made), ida={"roles": (Role.LEAD,)})) == []


def test_on_a_sunday_nobody_of_the_crew_is_asked():
    # Sunday 24 October, day 6: Near's early walk with its window to 07:55. It was done; here its tick is left out.
    made = Court(court().data, court().now, list(court().record), plan=court().plan)
    made.record = [one for one in made.record if one.data.get("day") != "2027-10-24"]
    found = heard(with_people(scene_of(made), ida={"roles": (Role.LEAD,)}), at(10, 24, "00:00"), at(10, 25, "00:00"))
    assert found == ["Sun 10-24 08:25 near missed", "Sun 10-24 19:55 ida missed"]


def test_who_is_away_is_not_asked():
    away = {"away": ((date(2027, 10, 27), date(2027, 10, 28)),)}
    assert heard(scene(near=away)) == [EARLY[0], EARLY[2]]


def test_who_has_no_hours_that_day_or_does_not_mist_is_not_asked():
    assert heard(scene(near={"hours": {"sun": (420, 900)}})) == [EARLY[0], EARLY[2]]
    assert heard(scene(near={"roles": ()})) == [EARLY[0], EARLY[2]]


def test_where_everybody_is_quiet_it_waits_for_who_had_it_and_goes_no_further():
    quiet = {"quiet": (450, 630)}  # 07:30 to 10:30
    found = heard(scene(near=quiet, bo=quiet))
    assert found == ["Thu 10-28 10:30 bo missed", EARLY[2]]


def test_who_is_quiet_is_passed_over_for_the_next():
    # Near is quiet at 09:00, so Ida hears then; at 09:30 Near is not quiet any more.
    both = {"roles": (Role.LEAD, Role.MISTS)}
    found = heard(scene(ida=both, near={"quiet": (450, 555)}))
    assert found == [EARLY[0], "Thu 10-28 09:00 ida missed", "Thu 10-28 09:30 near missed"]


def test_the_lead_is_not_woken_for_a_coat_that_is_not_young():
    late = {"roles": (Role.LEAD,), "quiet": (19 * 60, 7 * 60)}
    assert heard(scene(ida=late), to=at(10, 29, "08:00"))[-1] == "Fri 10-29 07:00 ida missed"


def test_a_walk_that_nobody_had_climbs_at_once_from_the_head_of_the_list():
    # Half an hour after its window Near, the first who mists; then Bo; 12 h after it who leads.
    walk = walk_of(court(), date(2027, 10, 28), "early")
    one = with_walk(scene(), walk, who=())
    assert heard(one) == ["Thu 10-28 08:30 near missed", "Thu 10-28 09:00 bo missed", EARLY[2]]
    assert {x.key for x in told(one, THURSDAY, FRIDAY, "missed") if "|early|" in x.key} == {
        "missed|2027-10-28|early|court|1-out"
    }


def test_who_left_the_job_hears_nothing_and_the_next_is_asked_at_once():
    left = scene()
    people = tuple(one for one in left.job.file.people if one.id != "bo")
    file = left.job.file.model_copy(update={"people": people})
    left = Scene(left.job.model_copy(update={"file": file}), left.roots, left.plan, left.evidence, left.entries)
    assert heard(left) == ["Thu 10-28 08:30 near missed", EARLY[2]]


def test_what_is_off_is_not_missed():
    walk = walk_of(court(), date(2027, 10, 28), "early")
    assert heard(with_walk(scene(), walk, state=State.OFF)) == []


def late(**lines_of: dict[str, Any]) -> list[Occasion]:
    """Return who hears of the late walk of Thursday until Friday evening: Bo's from 15:20, window to 17:20."""
    return [x for x in told(scene(**lines_of), THURSDAY, at(10, 29, "21:00"), "missed") if "10-28|late|" in x.key]


def test_nothing_of_yesterdays_late_walk_rings_in_the_morning_but_who_leads():
    assert lines(late()) == ["Thu 10-28 17:45 bo missed", "Thu 10-28 18:15 near missed", "Fri 10-29 06:00 ida missed"]
    assert [one.until for one in late()[:2]] == [FRIDAY] * 2, "the day is over at midnight"
    quiet = {"quiet": (17 * 60, 6 * 60)}
    assert lines(late(bo=quiet, near=quiet)) == ["Fri 10-29 06:00 ida missed"]


def test_nobody_is_rung_once_the_next_walk_has_the_face():
    # Quiet to 15:20, when the late walk begins: then that one is the walk to make. A minute earlier it is told.
    def held(minute: int) -> list[str]:
        quiet = {"quiet": (450, minute)}
        return heard(scene(near=quiet, bo=quiet))

    assert held(15 * 60 + 20) == [EARLY[2]]
    assert held(15 * 60 + 19) == ["Thu 10-28 15:19 bo missed", EARLY[2]]


# ---------------------------------------------------------------------------- walks handed over


def turned(one: Scene, *turns: tuple[str, str], said: datetime | None = None, slot: Slot = Slot.EARLY) -> Scene:
    """Return a scene in which the walks of Thursday were given: (to, instead of; empty: by decision), in order."""
    cause = Cause("k", "passed-on", said or at(10, 28, "06:00"), "bo")
    given = tuple(Turn(to, to.title(), instead, cause) for to, instead in turns)
    return replace(one, evidence=replace(one.evidence, turns={(date(2027, 10, 28), slot): given}))


def test_who_gave_a_walk_away_is_not_rung_and_who_took_it_is_before_anybody_planned():
    one = turned(scene(), ("near", "bo"))
    assert lines(told(one, THURSDAY, at(10, 28, "12:00"), "round")) == ["Thu 10-28 06:30 near round"]
    assert heard(one) == ["Thu 10-28 08:30 near missed", EARLY[2]], "Bo is not the next either: he can't"
    back = turned(scene(), ("near", "bo"), ("bo", "near"))
    assert lines(told(back, THURSDAY, at(10, 28, "12:00"), "round")) == ["Thu 10-28 06:30 bo round"]
    of_another = turned(scene(), ("near", "ida"))
    assert heard(of_another) == EARLY, "what Ida passed on is not Bo's walk"


def test_a_walk_given_by_decision_is_that_persons_also_where_nobody_had_it():
    walk = walk_of(court(), date(2027, 10, 28), "early")
    for one in (scene(), with_walk(scene(), walk, who=())):
        given = turned(one, ("near", ""))
        assert lines(told(given, at(10, 24), at(10, 28, "12:00"), "nobody")) == []
        assert heard(given)[0] == "Thu 10-28 08:30 near missed"
    assert told(with_walk(scene(), walk, who=()), at(10, 24), at(10, 28, "12:00"), "nobody") != []


def test_a_walk_given_to_who_left_is_still_his_who_had_it():
    assert heard(turned(scene(), ("gone", ""))) == EARLY


def test_what_the_planner_knew_when_it_shared_a_walk_out_is_not_turned_once_more():
    # Near was decided for the walk before the plan was made; the plan gave it to Bo, as Near had no room.
    one = scene()
    before = one.plan.as_of
    assert heard(turned(one, ("near", ""), said=before)) == EARLY
    assert heard(turned(one, ("near", ""), said=before + timedelta(seconds=1)))[0] == "Thu 10-28 08:30 near missed"


def test_whoever_has_it_in_the_end_nobody_is_rung_twice_for_one_walk():
    """Bo did not tick; Near heard of it and took it; the plan is Near's then: the same key, and the row is there."""
    walk = walk_of(court(), date(2027, 10, 28), "early")
    before = told(scene(), THURSDAY, at(10, 28, "09:00"), "missed")
    taken = turned(scene(), ("near", "bo"), said=at(10, 28, "09:05"))
    planned = with_walk(taken, walk, who=("near",))
    for after in (taken, planned):
        found = told(after, THURSDAY, at(10, 28, "12:00"), "missed")
        assert {(one.key, one.person) for one in found} <= {(one.key, one.person) for one in before}


# ------------------------------------------------------------------------------- young coats


def young(**lines_of: dict[str, Any]) -> Scene:
    """Return the same job without any word of Wednesday 20 October, day 2; early: Near's, window to 07:45."""
    made = Court(court().data, court().now, list(court().record), plan=court().plan)
    made.record = [one for one in made.record if one.data.get("day") != "2027-10-20"]
    return with_people(scene_of(made), **lines_of)


def test_who_leads_hears_at_once_of_a_young_coat():
    # 07:45 + 30 min: Near and Ida; Ida is not asked once more in her turn, Bo half an hour on.
    found = told(young(), at(10, 20, "00:00"), at(10, 20, "12:00"), "missed")
    expected = ["Wed 10-20 08:15 ida missed", "Wed 10-20 08:15 near missed", "Wed 10-20 08:45 bo missed"]
    assert lines(found) == expected
    assert [one.rings_in_quiet for one in found] == [True, True, False]
    assert all(one.values["tender"] for one in found)


def test_a_young_coat_rings_in_quiet_hours_but_not_for_the_others():
    quiet = {"quiet": (450, 630)}
    found = told(young(near=quiet, ida=quiet, bo=quiet), at(10, 20, "00:00"), at(10, 20, "12:00"), "missed")
    assert lines(found) == ["Wed 10-20 08:15 ida missed", "Wed 10-20 08:15 near missed"]


def test_only_coats_that_were_laid_are_missed():
    # Nobody said that the base was laid: its walks are told before they begin, but never missed.
    made = Court(court().data, at(10, 3, "12:00"))
    made.replan()
    found = told(scene_of(made), at(10, 5, "00:00"), at(10, 6, "00:00"), "round", "missed")
    assert [one.kind.value for one in found] == ["round", "round"]
