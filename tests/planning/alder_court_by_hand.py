"""A job of three faces and a sound plan for it, worked out by hand, with ways to change both.

The dates of face 1-out are those of the worked example: base 3 May 2027, 13
days, Pentecost, finish 18 May, 42 visits, seven dry days, paint 23 June.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

from curing.model.job import Job, JobFile
from curing.model.plan import (
    Booking,
    Care,
    CoatDates,
    FacePlan,
    Hold,
    HoldState,
    Kind,
    Plan,
    Reason,
    Slot,
    State,
    Visit,
)  # fmt: skip
from curing.model.system import System
from curing.planning.check import check

REASON = Reason("plan.earliest", "earliest")
HOLIDAYS = {date(2027, 5, 6): "Ascension Day", date(2027, 5, 17): "Pentecost Monday"}
AREAS = {"1-out": 10, "2-in": 8, "7-out": 6}


def at(day: int, month: int, clock: str) -> datetime:
    """Return an instant of 2027 in summer time, two hours ahead of UTC."""
    hour, minute = map(int, clock.split(":"))
    return datetime(2027, month, day, hour, minute, tzinfo=UTC) - timedelta(hours=2)


# ------------------------------------------------------------------------------------- the job


def system() -> System:
    values = {
        "base.thickness": "13 mm",
        "base.labour": "1 h/m2",
        "base.wet_edge": "8 m2/d",
        "base.twice_to": "3 d",
        "base.once_to": "3 d",
        "finish.thickness": "8 mm",
        "finish.labour": "1 h/m2",
        "finish.wet_edge": "8 m2/d",
        "finish.least_wait": "10 d",
        "finish.least_wait_per_mm": "1 d/mm",
        "finish.twice_to": "14 d",
        "finish.once_to": "28 d",
        "paint-1.dry_days": "7 d",
        "paint-1.labour": "0.15 h/m2",
        "paint-1.wet_edge": "40 m2/d",
        "paint-2.least_wait": "1 d",
        "paint-2.labour": "0.15 h/m2",
        "paint-2.wet_edge": "40 m2/d",
        "panel.lapse": "7 d",
        "visit.ground_reach": "3 m",
    }
    said = {"reason": "invented", "source": "common practice, no source"}
    coats = [("base", "plaster", ["panel-dry"]), ("finish", "plaster", ["base-dry"])]
    coats += [("paint-1", "paint", ["paint-tests"]), ("paint-2", "paint", [])]
    holds = [("panel-dry", "wall", "", "panel.lapse"), ("base-dry", "face", "base", "")]
    holds += [("paint-tests", "face", "finish", "")]
    return System.model_validate(
        {
            "curing": 1,
            "id": "clay-lime",
            "name": "Clay-lime",
            "sides": ["out", "in"],
            "rules": [{"id": id_, "value": value, **said} for id_, value in values.items()],
            "holds": [
                {"id": id_, "text": id_, "lifts": "Look.", "scope": scope, "judges": judges, "lapses": lapses, **said}
                for id_, scope, judges, lapses in holds
            ],
            "coats": [
                {"id": id_, "name": id_, "title": id_.upper(), "work": work, "holds": held, "season": id_ == "finish"}
                for id_, work, held in coats
            ],
        }
    )


def job_data() -> dict[str, Any]:
    week, all_days = {"mon-fri": "07:00-15:30"}, {"mon-sun": "06:30-21:00"}
    crew = {"hours": week, "roles": ["mists"], "reach": "scaffold"}
    helper = {"hours": all_days, "roles": ["mists"], "longest_round": "45 min"}
    place = {"latitude": 52.1, "longitude": 5.2, "time_zone": "Europe/Amsterdam"}
    face = {"height": "2.6 m", "system": "clay-lime", "crew": "a"}
    done = {"base": "2027-04-12 15:00", "finish": "2027-04-28 15:00"}
    return {
        "curing": 1,
        "uid": "0b8f0c52-6a3e-4c7e-9a53-0d6a3b1c2d10",
        "name": "Alder Court",
        "sites": [{"id": "yard", "name": "Yard", **place}, {"id": "barn", "name": "Barn", **place}],
        "people": [
            {"id": "ida", "name": "Ida", **crew},
            {"id": "bo", "name": "Bo", **crew},
            {"id": "vera", "name": "Vera", **helper},
            {"id": "noor", "name": "Noor", **helper},
            {"id": "tom", "name": "Tom", "roles": ["architect"], "hours": all_days},
        ],
        "crews": [
            {"id": "a", "name": "A", "people": ["ida", "bo"]},
            {"id": "b", "name": "B", "people": ["tom"]},
        ],
        "season": {"finish_by": "2027-09-22", "resumes": "2028-04-27"},
        "walls": [
            {
                "id": "1",
                "name": "north",
                "site": "yard",
                "holds": {"panel-dry": "2027-04-28"},
                "faces": [{**face, "side": "out", "facing": "N", "area": "10 m2", "start": "2027-05-03"}],
            },
            {
                "id": "2",
                "name": "hall",
                "site": "yard",
                "holds": {"panel-dry": "2027-04-28"},
                "faces": [{**face, "side": "in", "area": "8 m2", "after": ["1-out"]}],
            },
            {
                "id": "7",
                "name": "barn",
                "site": "barn",
                "faces": [{**face, "side": "out", "facing": "W", "area": "6 m2", "done": done}],
            },
        ],
    }


def job(edit: Callable[[dict[str, Any]], object] = lambda data: None, **other: Any) -> Job:
    """Return the job, its file edited, with other rule values, holidays or busy spans."""
    data = job_data()
    edit(data)
    whole = {"systems": {"clay-lime": system()}, "rule_values": {}, "holidays": HOLIDAYS, "digests": {}}
    return Job(file=JobFile.model_validate(data), **{**whole, **other})


# ------------------------------------------------------------------------------------ the plan


def coat(face: str, task: str, start: datetime, end: datetime, site: str = "yard") -> Booking:
    return Booking(
        id=f"{face}.{task}",
        uid=f"uid-{face}-{task}",
        kind=Kind.COAT,
        site=site,
        zone="Europe/Amsterdam",
        faces=(face,),
        task=task,
        who=("ida", "bo"),
        start=start,
        end=end,
        state=State.FIRM,
        reason=REASON,
        crew="a",
    )


COATS = (
    coat("1-out", "base", at(3, 5, "08:00"), at(3, 5, "13:00")),
    coat("2-in", "base", at(4, 5, "08:00"), at(4, 5, "12:00")),
    coat("1-out", "finish", at(18, 5, "08:00"), at(18, 5, "13:00")),
    coat("2-in", "finish", at(19, 5, "08:00"), at(19, 5, "12:00")),
    coat("7-out", "paint-1", at(3, 6, "08:00"), at(3, 6, "09:00"), "barn"),
    coat("7-out", "paint-2", at(4, 6, "08:00"), at(4, 6, "09:00"), "barn"),
    coat("1-out", "paint-1", at(23, 6, "08:00"), at(23, 6, "09:00")),
    coat("1-out", "paint-2", at(24, 6, "08:00"), at(24, 6, "09:00")),
    coat("2-in", "paint-1", at(24, 6, "09:00"), at(24, 6, "10:00")),
    coat("2-in", "paint-2", at(25, 6, "08:00"), at(25, 6, "09:00")),
)


def days(first: date, last: date) -> list[date]:
    return [first + timedelta(k) for k in range((last - first).days + 1)]


Tended = tuple[str, str, date, list[date], list[date]]
"""Face, coat, laying day, days with two visits, days with one."""
MAY, JUN = (lambda day: date(2027, 5, day)), (lambda day: date(2027, 6, day))

VISITS: list[Tended] = [
    ("1-out", "base", MAY(3), days(MAY(4), MAY(6)), []),
    ("2-in", "base", MAY(4), days(MAY(5), MAY(7)), []),
    ("1-out", "finish", MAY(18), days(MAY(19), JUN(1)), days(JUN(2), JUN(15))),
    ("2-in", "finish", MAY(19), days(MAY(20), JUN(2)), days(JUN(3), JUN(16))),
    ("7-out", "finish", date(2027, 4, 28), days(MAY(1), MAY(12)), days(MAY(13), MAY(26))),
]


def rounds(visited: Iterable[Tended] = VISITS) -> tuple[Booking, ...]:
    """Return a walk a day and slot: Vera in the yard, Noor in the barn; visits once a day are late."""
    by_walk: dict[tuple[date, Slot, str], list[Visit]] = {}
    for face, coat_id, laid, twice, once in visited:
        for day in (*twice, *once):
            for slot in (Slot.EARLY, Slot.LATE) if day in twice else (Slot.LATE,):
                visit = Visit(
                    id=f"{face}.{coat_id}.{day}.{slot}",
                    face=face,
                    coat=coat_id,
                    care=Care.MIST,
                    day=(day - laid).days,
                    last_day=3 if coat_id == "base" else 28,
                    times_a_day=2 if day in twice else 1,
                    minutes=9,
                    water=0.3 * AREAS[face],
                )
                by_walk.setdefault((day, slot, "barn" if face == "7-out" else "yard"), []).append(visit)
    walks = []
    for (day, slot, site), visits in sorted(by_walk.items(), key=lambda item: item[0]):
        start = at(day.day, day.month, "07:00" if slot is Slot.EARLY else "17:30")
        who = "vera" if site == "yard" else "noor"
        walks.append(
            Booking(
                id=f"{day}.{slot}.{who}",
                uid=f"uid-{day}-{slot}-{who}",
                kind=Kind.ROUND,
                site=site,
                zone="Europe/Amsterdam",
                faces=tuple(visit.face for visit in visits),
                task="",
                who=(who,),
                start=start,
                end=start + timedelta(minutes=20),
                state=State.FIRM,
                reason=REASON,
                slot=slot,
                visits=tuple(visits),
            )
        )
    return tuple(sorted(walks, key=lambda walk: (walk.start, walk.id)))


def hold(id_: str, faces: tuple[str, ...], state: HoldState, met: date | None = None) -> Hold:
    return Hold(
        id=id_,
        uid=f"uid-hold-{id_}",
        point=id_.partition(".")[2],
        text="",
        lifts="",
        faces=faces,
        before=(),
        state=state,
        rule="",
        met=met,
    )


READ = date(2027, 4, 28)
HOLDS = (
    hold("1.panel-dry", ("1-out",), HoldState.MET, READ),
    hold("2.panel-dry", ("2-in",), HoldState.MET, READ),
    *(hold(f"{face}.base-dry", (face,), HoldState.LATER) for face in ("1-out", "2-in")),
    *(hold(f"{face}.paint-tests", (face,), HoldState.LATER) for face in AREAS),
)


def dates(coat_id: str, booking: str, day: date, laid: datetime | None = None) -> CoatDates:
    return CoatDates(coat_id, coat_id, booking, laid, day, None, None, 0, None, 0.0)


DONE = {"base": at(12, 4, "15:00"), "finish": at(28, 4, "15:00")}


def face_plan(face: str) -> FacePlan:
    coats = [dates(c.task, c.id, c.start.date()) for c in COATS if c.faces == (face,)]
    if face == "7-out":
        coats = [dates(task, "", laid.date(), laid) for task, laid in DONE.items()] + coats
    wall, _, side = face.partition("-")
    site = "barn" if wall == "7" else "yard"
    return FacePlan(face, face, wall, "", side, site, 0, None, AREAS[face], "clay-lime", "", tuple(coats))


SOUND = Plan(
    job="0b8f0c52-6a3e-4c7e-9a53-0d6a3b1c2d10",
    name="Alder Court",
    units="metric",
    revision=1,
    parent=None,
    as_of=at(1, 5, "06:00"),
    inputs={},
    versions={},
    sites=(),
    people=(),
    faces=tuple(face_plan(face) for face in AREAS),
    bookings=COATS,
    rounds=rounds(),
    holds=HOLDS,
)

# ------------------------------------------------------------------------- edits of that plan


def found(plan: Plan, job_: Job | None = None) -> set[str]:
    """Return the rules broken."""
    return {fault.rule for fault in check(job_ or job(), plan)}


def listed(bookings: Iterable[Booking]) -> tuple[Booking, ...]:
    return tuple(sorted(bookings, key=lambda b: (b.start, b.id)))


def with_coat(id_: str, plan: Plan = SOUND, **new: Any) -> Plan:
    """Return the plan with a coat changed, and its face's dates with it."""
    assert any(b.id == id_ for b in plan.bookings)
    bookings = listed(replace(b, **new) if b.id == id_ else b for b in plan.bookings)
    day_of = {b.id: b.start.date() for b in bookings}
    faces = tuple(
        replace(f, coats=tuple(c if c.laid else replace(c, day=day_of[c.booking]) for c in f.coats)) for f in plan.faces
    )
    return replace(plan, bookings=bookings, faces=faces)


def moved(id_: str, start: datetime, end: datetime, plan: Plan = SOUND) -> Plan:
    return with_coat(id_, plan, start=start, end=end)


def shifted(id_: str, by: int) -> Plan:
    """Return the plan with a coat and its visits some days later, or earlier."""
    face, _, task = id_.partition(".")
    delta = timedelta(by)
    visited = [
        (f, c, laid + delta, [d + delta for d in twice], [d + delta for d in once])
        if (f, c) == (face, task)
        else (f, c, laid, twice, once)
        for f, c, laid, twice, once in VISITS
    ]
    booked = next(b for b in COATS if b.id == id_)
    return replace(moved(id_, booked.start + delta, booked.end + delta), rounds=rounds(visited))


def with_round(id_: str, plan: Plan = SOUND, **new: Any) -> Plan:
    assert any(b.id == id_ for b in plan.rounds)
    return replace(plan, rounds=listed(replace(b, **new) if b.id == id_ else b for b in plan.rounds))


def with_visits(id_: str, edit: Callable[[tuple[Visit, ...]], Iterable[Visit]], plan: Plan = SOUND) -> Plan:
    walk = next(b for b in plan.rounds if b.id == id_)
    return with_round(id_, plan, visits=tuple(edit(walk.visits)))


def with_hold(id_: str, **new: Any) -> Plan:
    return replace(SOUND, holds=tuple(replace(h, **new) if h.id == id_ else h for h in SOUND.holds))


def added(*bookings: Booking, plan: Plan = SOUND) -> Plan:
    coats_ = [b for b in bookings if b.kind is not Kind.ROUND]
    walks = [b for b in bookings if b.kind is Kind.ROUND]
    return replace(plan, bookings=listed((*plan.bookings, *coats_)), rounds=listed((*plan.rounds, *walks)))


def look(who: str, start: datetime, end: datetime, site: str = "yard", face: str = "1-out") -> Booking:
    return replace(coat(face, "look", start, end, site), kind=Kind.LOOK, who=(who,), crew="")


def conditional(plan: Plan, face: str, holds: tuple[str, ...]) -> Plan:
    """Return the plan with all open coats of a face, and their visits, behind holds."""
    bookings = tuple(
        replace(b, state=State.CONDITIONAL, holds=holds if b.task == "base" else ()) if face in b.faces else b
        for b in plan.bookings
    )
    walks = tuple(
        replace(walk, visits=tuple(replace(v, conditional=True) if v.face == face else v for v in walk.visits))
        for walk in plan.rounds
    )
    return replace(plan, bookings=bookings, rounds=walks)


def marked(id_: str) -> Plan:
    """Return the plan with all visits of a coat marked conditional."""
    rounds = tuple(
        replace(w, visits=tuple(replace(v, conditional=v.conditional or v.id.startswith(id_)) for v in w.visits))
        for w in SOUND.rounds
    )
    return replace(SOUND, rounds=rounds)


def wall(data: dict[str, Any], id_: str) -> dict[str, Any]:
    return next(wall for wall in data["walls"] if wall["id"] == id_)


def face_of(data: dict[str, Any], id_: str) -> dict[str, Any]:
    return wall(data, id_)["faces"][0]
