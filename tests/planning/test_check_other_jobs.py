"""The same plan against jobs that forbid it: the check finds exactly what each job forbids."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime
from typing import Any

import pytest
from alder_court_by_hand import (
    HOLIDAYS,
    SOUND,
    VISITS,
    added,
    at,
    coat,
    conditional,
    days,
    face_of,
    found,
    job,
    rounds,
    shifted,
    system,
    wall,
    with_coat,
    with_hold,
    with_round,
)  # fmt: skip

from curing.model.job import BusySpan, Job
from curing.model.plan import Absence, Care, HoldState, Plan, State
from curing.planning.check import check


def people(**edits: dict[str, Any]) -> Callable[[dict[str, Any]], object]:
    """Return an edit of people in the job file."""
    return lambda data: [p.update(edits[p["id"]]) for p in data["people"] if p["id"] in edits]


def faces(**edit: Any) -> Callable[[dict[str, Any]], object]:
    """Return an edit of face 1-out in the job file."""
    return lambda data: face_of(data, "1").update(edit)


def line(**season: str) -> Callable[[dict[str, Any]], object]:
    return lambda data: data.update(season=season)


def panel(met: str) -> Callable[[dict[str, Any]], object]:
    return lambda data: wall(data, "1").update(holds={"panel-dry": met})


def ruled(face: str, rule: str, value: float) -> Job:
    """Return the job with another value of a rule for one face."""
    return job(rule_values={face: {rule: value}})


def busy(person: str, *span: datetime) -> tuple[BusySpan, ...]:
    start, end = (int(moment.timestamp()) for moment in span)
    return (BusySpan(person=person, start=start, end=end, job="Mill Lane"),)


UNMET = with_hold("1.panel-dry", state=HoldState.UNMET, met=None)
HOLIDAY = {**HOLIDAYS, date(2027, 6, 25): "Crew's outing"}
SUNDAY = with_round("2027-05-23.late.vera", end=at(23, 5, "18:46"))
NO_LIMIT = people(vera={"longest_round": None})
MORNING = with_coat("1-out.base", end=at(3, 5, "14:00"), absent=(Absence("ida", at(3, 5, "09:00"), at(3, 5, "11:00")),))

OTHER_JOBS: list[tuple[str, set[str], Plan, Job]] = [
    ("a holiday", {"plan.holiday"}, SOUND, job(holidays=HOLIDAY)),
    ("nobody there", {"plan.nobody"}, SOUND, job(people(ida={"away": ["2027-06-25"]}, bo={"away": ["2027-06-25"]}))),
    ("one of two away", {"plan.hours"}, SOUND, job(people(bo={"away": ["2027-06-25"]}))),
    ("busy elsewhere", {"plan.two_places"}, SOUND, job(busy=busy("ida", at(3, 5, "09:00"), at(3, 5, "11:00")))),
    ("busy, and missing", set(), MORNING, job(busy=busy("ida", at(3, 5, "09:00"), at(3, 5, "11:00")))),
    ("busy until it begins", set(), SOUND, job(busy=busy("ida", at(3, 5, "07:00"), at(3, 5, "08:00")))),
    ("a face too large", {"base.wet_edge"}, SOUND, ruled("1-out", "base.wet_edge", 4.9)),
    ("a face just right", set(), SOUND, ruled("1-out", "base.wet_edge", 5)),
    ("two faces too large together", {"paint-1.wet_edge"}, SOUND, ruled("2-in", "paint-1.wet_edge", 4.5)),
    ("given to another crew", {"plan.crew"}, SOUND, job(faces(crew="b"))),
    ("any crew", set(), SOUND, job(faces(crew=None))),
    ("more labour", {"base.labour"}, SOUND, ruled("1-out", "base.labour", 1.01)),
    ("nine days", {"finish.least_wait"}, shifted("1-out.finish", -6), ruled("1-out", "base.thickness", 5)),
    ("ten days", set(), shifted("1-out.finish", -5), ruled("1-out", "base.thickness", 5)),
    ("15 mm take 15 days", set(), SOUND, ruled("1-out", "base.thickness", 15)),
    ("15.1 mm take 16 days", {"finish.least_wait_per_mm"}, SOUND, ruled("1-out", "base.thickness", 15.1)),
    ("visits cut off by the next coat", {"plan.visit_past_next", "plan.visit_missing"}, SOUND,
        ruled("1-out", "base.once_to", 15)),
    ("too early for the face", {"plan.start"}, SOUND, job(faces(start="2027-05-04"))),
    ("before the other face", {"plan.after"}, SOUND, job(lambda data: (
        face_of(data, "2").pop("after"), face_of(data, "1").update(after=["2-in"])))),
    ("before a coat of the other face", {"plan.after"}, SOUND, job(
        lambda data: face_of(data, "2").update(after=["1-out.finish"]))),
    ("after a face that is done", set(), SOUND, job(lambda data: face_of(data, "1").update(after=["7-out.finish"]))),
    ("after a face whose coat is not done", {"plan.after"}, SOUND, job(
        lambda data: face_of(data, "1").update(after=["7-out.paint-1"]))),
    ("after a face that is not there", {"plan.after"}, SOUND, job(faces(after=["9-out"]))),
    ("ended on the day of its last coat", {"plan.ended"}, SOUND, job(
        lambda data: face_of(data, "7").update(ended="2027-06-04"))),
    ("ended the day after", set(), SOUND, job(lambda data: face_of(data, "7").update(ended="2027-06-05"))),
    ("two jobs want her at once", set(), SOUND, job(busy=2 * busy("ida", at(7, 5, "09:00"), at(7, 5, "11:00")))),
    ("past the season line", {"season.finish_by"}, SOUND, job(line(finish_by="2027-05-17", resumes="2028-04-27"))),
    ("on the season line", set(), SOUND, job(line(finish_by="2027-06-24", resumes="2028-04-27"))),
    ("on the day work resumes", set(), SOUND, job(line(finish_by="2027-05-03", resumes="2027-05-18"))),
    ("no date for the next season", set(), SOUND, job(line(finish_by="2027-05-17"))),
    ("a hold overridden", {"plan.hold_unmet"}, UNMET, job(lambda data: wall(data, "1").pop("holds"))),
    ("a hold refused", {"plan.hold_unmet"}, UNMET, job(lambda data: wall(data, "1").update(
        holds={"panel-dry": {"met": "2027-04-28", "refused": "2027-04-29"}}))),
    ("a hold refused the same day", {"plan.hold_unmet"}, UNMET, job(lambda data: wall(data, "1").update(
        holds={"panel-dry": {"met": "2027-04-28", "refused": "2027-04-28"}}))),
    ("refused, then met", set(), SOUND, job(lambda data: wall(data, "1").update(
        holds={"panel-dry": {"met": "2027-04-28", "refused": "2027-04-27"}}))),
    ("a hold only planned as met", {"plan.hold_invented", "plan.hold_unmet"}, SOUND, job(
        lambda data: wall(data, "1").pop("holds"))),
    ("a pass of eight days", {"plan.hold_lapsed"}, with_hold("1.panel-dry", met=date(2027, 4, 25)), job(
        panel("2027-04-25"))),
    ("a pass of seven days", set(), with_hold("1.panel-dry", met=date(2027, 4, 26)), job(panel("2027-04-26"))),
    ("met, but called unmet", {"plan.hold_missing"}, SOUND, job(
        lambda data: face_of(data, "7").update(holds={"paint-tests": "2027-05-01"}))),
    ("a line for every wall", set(), SOUND, job(lambda data: (
        wall(data, "1").pop("holds"), data.update(holds={"panel-dry": "2027-04-28"})))),
    ("tested before it was laid", {"plan.hold_unmet"}, SOUND, job(
        lambda data: face_of(data, "7").update(holds={"paint-tests": "2027-04-27"}))),
    ("out of her hours", {"plan.hours"}, SOUND, job(people(vera={"hours": {"mon-sun": "07:10-21:00"}}))),
    ("who lost the role", {"plan.role"}, SOUND, job(people(noor={"roles": []}))),
    ("above her reach", {"visit.ground_reach"}, SOUND, job(faces(height="3.01 m"))),
    ("as high as she reaches", set(), SOUND, job(faces(height="3 m"))),
    ("a scaffold, but not of the crew", {"visit.ground_reach"}, SOUND, job(lambda data: (
        people(vera={"reach": "scaffold"})(data), faces(height="3.01 m")(data)))),
    ("a long Sunday", {"plan.longest_round"}, SUNDAY, job(NO_LIMIT)),
]  # fmt: skip


@pytest.mark.parametrize(
    ("rules", "plan", "other"), [pytest.param(rules, plan, other, id=name) for name, rules, plan, other in OTHER_JOBS]
)
def test_exactly_what_another_job_forbids_is_found(rules: set[str], plan: Plan, other: Job):
    assert found(plan, other) == rules


def test_a_test_that_can_be_taken_now_must_be_met():
    """The paint tests of 7-out can be taken on 3 June, after seven dry days: till then they bar nobody."""
    assert found(replace(SOUND, as_of=at(2, 6, "06:00"))) == set()
    faults = check(job(), replace(SOUND, as_of=at(3, 6, "06:00")))
    assert [(f.rule, f.where) for f in faults] == [
        ("plan.hold_unmet", "7-out.paint-1"),
        ("plan.hold_unmet", "7-out.paint-2"),  # waits behind it
    ]


def test_the_other_face_may_begin_when_the_first_is_laid():
    base = {"start": at(3, 5, "13:00"), "end": at(3, 5, "15:30")}
    assert "plan.after" not in found(with_coat("2-in.base", **base))
    assert "plan.after" in found(with_coat("2-in.base", **{**base, "start": at(3, 5, "12:55")}))


def test_a_coat_under_one_that_is_done_was_laid_too():
    """Nobody said when the base of 7-out was laid, but its finish is: the base is not booked again."""
    other = job(lambda data: face_of(data, "7")["done"].pop("base"))
    faces_ = tuple(
        replace(f, coats=tuple(c for c in f.coats if (f.id, c.coat) != ("7-out", "base"))) for f in SOUND.faces
    )
    plan = replace(SOUND, faces=faces_)
    assert found(plan, other) == set()
    again = coat("7-out", "base", at(5, 5, "08:00"), at(5, 5, "11:00"), "barn")
    assert "plan.coat_order" in found(added(again, plan=plan), other)


# ------------------------------------------------------------------------------ water and air


def aired(*coats: str) -> Job:
    """Return the job with coats that are aired, not misted."""
    clay = system()
    changed = tuple(c.model_copy(update={"care": Care.AIR}) if c.id in coats else c for c in clay.coats)
    return job(systems={"clay-lime": clay.model_copy(update={"coats": changed})})


def with_air(plan: Plan, coat_id: str) -> Plan:
    rounds_ = (
        replace(w, visits=tuple(replace(v, care=Care.AIR) if v.coat == coat_id else v for v in w.visits))
        for w in plan.rounds
    )
    return replace(plan, rounds=tuple(rounds_))


def test_dry_days_count_from_the_last_water_by_rule_and_by_plan():
    sooner = with_coat("7-out.paint-1", start=at(2, 6, "08:00"), end=at(2, 6, "09:00"))
    last = "2027-05-26.late.noor"
    cut = replace(sooner, rounds=tuple(w for w in sooner.rounds if w.id != last))
    assert found(cut) == {"plan.visit_missing", "paint-1.dry_days"}
    walk = next(w for w in SOUND.rounds if w.id == last)

    def more(day: datetime, k: int) -> Plan:
        visits = (replace(walk.visits[0], id="x", day=k),)
        times = {"start": day, "end": day + (walk.end - walk.start)}
        return added(replace(walk, id="x", uid="x", visits=visits, **times))

    assert found(more(at(27, 5, "17:30"), 29)) == {"plan.visit_unasked", "paint-1.dry_days"}
    assert found(more(at(3, 6, "07:00"), 36)) == {"plan.visit_past_next", "paint-1.dry_days"}


def test_airing_is_no_water():
    sooner = with_coat("7-out.paint-1", start=at(2, 6, "08:00"), end=at(2, 6, "09:00"))
    assert found(with_air(sooner, "finish"), aired("finish")) == set()
    assert found(sooner, aired("finish")) == {"plan.visit_care", "paint-1.dry_days"}


def test_airing_ends_with_the_next_coat_but_water_is_not_cut_short():
    """The base of 1-out asks for visits to day 15, 18 May, on which its finish is laid."""
    first = (*VISITS[0][:4], days(date(2027, 5, 7), date(2027, 5, 17)))
    longer = replace(SOUND, rounds=rounds([first, *VISITS[1:]]))
    values = {"1-out": {"base.once_to": 15.0}}
    misted = job(rule_values=values)
    assert found(longer, misted) == {"plan.visit_past_next"}
    assert found(with_air(longer, "base"), aired("base").model_copy(update={"rule_values": values})) == set()


def test_a_conditional_coat_names_its_hold():
    open_hold = job(lambda data: wall(data, "1").pop("holds"))
    named = conditional(UNMET, "1-out", ("1.panel-dry",))
    assert found(named, open_hold) == set()
    assert found(conditional(UNMET, "1-out", ()), open_hold) == {"plan.hold_missing"}
    # The finish behind it can't be firm.
    firm = tuple(replace(b, state=State.FIRM) if b.id == "1-out.paint-2" else b for b in named.bookings)
    assert found(replace(named, bookings=firm), open_hold) == {"plan.hold_unmet"}
