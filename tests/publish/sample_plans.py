"""Plans for tests: a small one by hand, crew days drawn by hypothesis, and any plan the types allow."""

from __future__ import annotations

import typing
from collections.abc import Mapping, Sequence
from dataclasses import fields, is_dataclass, replace
from datetime import UTC, date, datetime, timedelta
from enum import StrEnum
from types import NoneType, UnionType
from typing import Any, Union
from uuid import NAMESPACE_URL, uuid5

from hypothesis import strategies as st

from curing.model.plan import (
    Booking,
    Care,
    CoatDates,
    FacePlan,
    Hold,
    HoldState,
    Kind,
    PersonPlan,
    Plan,
    Reason,
    SitePlan,
    Slot,
    State,
    Visit,
)

NOW = datetime(2026, 6, 9, 4, 45, tzinfo=UTC)
AMSTERDAM = "Europe/Amsterdam"
COATS = ("BASE", "FINISH", "PAINT 1", "PAINT 2")
ROUND_STARTS = {Slot.EARLY: 7, Slot.MIDDAY: 12, Slot.LATE: 16}


def uid(name: str) -> str:
    return str(uuid5(NAMESPACE_URL, name))


def face(wall: str, side: str = "out", name: str = "road side bay", order: int = 0) -> FacePlan:
    coats = (
        CoatDates("finish", "finish coat", f"{wall}-{side}.finish", None, date(2026, 6, 4), None, None, 42, None, 1.0),
    )
    return FacePlan(
        f"{wall}-{side}", f"{wall}-{side}", wall, name, side, "alder", order, 270.0, 10.0, "clay-lime", "0", coats
    )  # fmt: skip


def booking(id_: str, start: datetime, minutes: int = 60, **more: Any) -> Booking:
    head = id_.partition(".")[0]
    given: dict[str, Any] = {
        "kind": Kind.COAT,
        "site": "alder",
        "zone": AMSTERDAM,
        "faces": (head,),
        "task": id_.partition(".")[2],
        "who": ("mira",),
        "state": State.FIRM,
        "reason": Reason("own.rule", "no such sentence"),
        "title": "FINISH",
    }
    return Booking(id=id_, uid=uid(id_), start=start, end=start + timedelta(minutes=minutes), **{**given, **more})


def visit(face_id: str, **more: Any) -> Visit:
    given: dict[str, Any] = {"care": Care.MIST, "day": 5, "last_day": 28, "times_a_day": 2, "minutes": 9, "water": 3.0}
    return Visit(id=f"{face_id}.v", face=face_id, coat="finish", **{**given, **more})


def walk(
    faces: Sequence[str], start: datetime, slot: Slot = Slot.EARLY, who: str = "tom", minutes: int = 45, **more: Any
) -> Booking:
    visits = more.pop("visits", None) or tuple(visit(one) for one in faces)
    given: dict[str, Any] = {"kind": Kind.ROUND, "task": "round", "title": "", "cautions": ("lime", "sockets")}
    given |= {"who": (who,) if who else (), "slot": slot, "visits": visits, "faces": tuple(faces)}
    return booking(f"{start:%Y-%m-%d}.{slot}.{who or 'nobody'}", start, minutes, **{**given, **more})


PEOPLE = (
    PersonPlan("mira", "mira", "Mira", ("lead",), "render"),
    PersonPlan("tom", "tom", "Tom", ("mists",), "render"),
    PersonPlan("cas", "cas", "Cas", ("client",)),
)


def plan(
    bookings: Sequence[Booking] = (), rounds: Sequence[Booking] = (), faces: Sequence[FacePlan] = (), **more: Any
) -> Plan:
    """A plan of these things; a face for each id named in them unless faces are given."""
    named = dict.fromkeys(one for b in (*bookings, *rounds) for one in b.faces)
    known = faces or [face(one.rpartition("-")[0], one.rpartition("-")[2], order=k) for k, one in enumerate(named)]
    given: dict[str, Any] = {
        "job": uid("job"),
        "name": "Alder Court",
        "units": "metric",
        "revision": 1,
        "parent": None,
        "as_of": NOW,
        "inputs": {},
        "versions": {},
        "sites": (SitePlan("alder", "Alder Court", AMSTERDAM, 52.1, 5.2),),
        "people": PEOPLE,
        "holds": (),
    }
    return Plan(faces=tuple(known), bookings=tuple(bookings), rounds=tuple(rounds), **{**given, **more})


def hold(id_: str, text: str, lifts: str = "Read both sides.") -> Hold:
    return Hold(id_, uid(id_), id_.partition(".")[2], text, lifts, (), (), HoldState.UNMET, "hold.panel-dry")


# -- days of a crew -----------------------------------------------------------------------

wall_ids = st.from_regex(r"[A-Za-z0-9]([A-Za-z0-9-]{0,6}[A-Za-z0-9])?", fullmatch=True) | st.sampled_from(
    ["road-n1", "road-nor", "road-now", "1", "12", "out", "IF", "LOOK", "MIST", "CLOTH"]
)
states = st.sampled_from([State.FIRM, State.FIRM, State.CONDITIONAL])


@st.composite
def crew_days(draw: st.DrawFn) -> Plan:
    """One site, up to two days: on each, a face has at most a coat, a look, a test and a cloth;
    a wall a reading; a person a round for each slot, and nobody another.
    """
    walls = draw(st.lists(wall_ids, min_size=1, max_size=8, unique=True))
    names = draw(st.lists(st.text(max_size=60), min_size=len(walls), max_size=len(walls)))
    faces = [
        face(wall, side, name, k)
        for k, (wall, name) in enumerate(zip(walls, names, strict=True))
        for side in draw(st.sampled_from([("out",), ("in",), ("out", "in")]))
    ]
    lead = PersonPlan("mira", "mira", "Mira", draw(st.sampled_from([("lead",), ("lead", "mists")])), "render")
    bookings: list[Booking] = []
    rounds: list[Booking] = []
    for day in range(draw(st.integers(1, 2))):
        morning = NOW.replace(minute=0) + timedelta(day)
        for one in faces:
            bookings += _tasks(draw, one, morning)
        for wall in walls:
            if draw(st.booleans()):
                both = tuple(one.id for one in faces if one.wall == wall)
                more = {"kind": Kind.READING, "title": "READ both sides", "state": draw(states), "faces": both}
                bookings.append(
                    booking(f"{wall}.panel-dry", morning, 20, who=draw(st.sampled_from([("mira",), ()])), **more)
                )
        for slot in Slot:
            rounds += _walks(draw, faces, morning, slot)
    unique = {b.id: b for b in bookings}
    marked = [replace(b, uid=uid(f"{b.id}/{k}")) for k, b in enumerate(sorted(unique.values(), key=lambda b: b.start))]
    return plan(marked, sorted(rounds, key=lambda b: b.start), faces, people=(lead, *PEOPLE[1:]))


def _tasks(draw: st.DrawFn, one: FacePlan, morning: datetime) -> list[Booking]:
    state, who = draw(states), draw(st.sampled_from([("mira",), ("mira", "tom"), ()]))
    title = draw(st.sampled_from(COATS))
    thickness = draw(st.none() | st.floats(1, 50))
    wanted = draw(st.sets(st.sampled_from(["coat", "look", "test", "cloth"])))
    made = {
        "coat": booking(
            f"{one.id}.finish", morning, title=title, thickness=thickness, who=("mira", "tom"), state=state
        ),
        "look": booking(f"{one.id}.finish.look", morning, kind=Kind.LOOK, title="LOOK", who=who, state=state),
        "test": booking(f"{one.id}.base-dry", morning, kind=Kind.TEST, title="TEST base", who=who, state=state),
        "cloth": booking(f"{one.id}.finish.cloth-down", morning, kind=Kind.COVER, title="CLOTH", who=who, state=state),
    }
    return [made[name] for name in sorted(wanted)]


def _walks(draw: st.DrawFn, faces: list[FacePlan], morning: datetime, slot: Slot) -> list[Booking]:
    shares: dict[str, list[str]] = {}
    for one in faces:
        shares.setdefault(draw(st.sampled_from(["mira", "tom", "", "none"])), []).append(one.id)
    shares.pop("none", None)
    start = morning.replace(hour=ROUND_STARTS[slot])
    found = []
    for who, share in shares.items():
        care, conditional = draw(st.sampled_from(list(Care))), draw(st.booleans())
        visits = tuple(visit(one, care=care, conditional=conditional) for one in share)
        state = State.CONDITIONAL if conditional else State.FIRM
        found.append(walk(share, start, slot, who, draw(st.integers(5, 200)), visits=visits, state=state))
    return found


# -- any plan ------------------------------------------------------------------------------

instants = st.datetimes(datetime(2001, 1, 1), datetime(2199, 1, 1), timezones=st.just(UTC))
texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
numbers = st.floats(-1e9, 1e9, allow_nan=False)
SIMPLE: Mapping[Any, st.SearchStrategy[Any]] = {
    str: texts,
    int: st.integers(-(10**9), 10**9),
    float: numbers,
    bool: st.booleans(),
    date: st.dates(date(2001, 1, 1), date(2199, 1, 1)),
    datetime: instants,
}


def of(hint: Any) -> st.SearchStrategy[Any]:
    """Values of a type, as the model's types say."""
    origin, args = typing.get_origin(hint), typing.get_args(hint)
    if origin in (Union, UnionType):
        return st.one_of(*(st.none() if one is NoneType else of(one) for one in args))
    if origin is tuple:
        return st.lists(of(args[0]), max_size=2).map(tuple)
    if origin is not None:
        return st.dictionaries(texts, of(args[1]), max_size=2)
    if isinstance(hint, type) and issubclass(hint, StrEnum):
        return st.sampled_from(list(hint))
    if is_dataclass(hint) and isinstance(hint, type):
        hints = typing.get_type_hints(hint)
        return st.fixed_dictionaries({f.name: of(hints[f.name]) for f in fields(hint)}).map(lambda d, h=hint: h(**d))
    return SIMPLE[hint]


ZONES = (AMSTERDAM, "America/New_York", "Etc/UTC", "Asia/Kolkata")


@st.composite
def any_plans(draw: st.DrawFn) -> Plan:
    """Any plan of the types, with sites, faces, zones, UIDs that hang together."""
    made: Plan = draw(of(Plan))
    sites = tuple(replace(one, id=f"s{k}", zone=draw(st.sampled_from(ZONES))) for k, one in enumerate(made.sites))
    sites = sites or (SitePlan("s0", "Alder Court", AMSTERDAM, 52.1, 5.2),)
    faces = tuple(replace(one, site=draw(st.sampled_from(sites)).id) for one in made.faces) or (face("1"),)
    names = st.sampled_from([one.id for one in faces])

    def settle(one: Booking, number: str) -> Booking:
        site = draw(st.sampled_from(sites))
        start, end = sorted((one.start, one.end))
        visits = tuple(replace(v, face=draw(names)) for v in one.visits)
        ids = {"faces": tuple(draw(names) for _ in one.faces), "visits": visits, "uid": f"{number}/{one.uid}"}
        return replace(one, site=site.id, zone=site.zone, start=start, end=end, **ids)

    return replace(
        made,
        sites=sites,
        faces=faces,
        bookings=tuple(settle(one, f"b{k}") for k, one in enumerate(made.bookings)),
        rounds=tuple(settle(one, f"r{k}") for k, one in enumerate(made.rounds)),
        changes=tuple(replace(one, zone=draw(st.sampled_from(ZONES))) for one in made.changes),
    )
