"""Reminders of what the weather asks for: frost covers, sheets, cloth and more water in dry air; days to decide.

Each is told once, in the morning of its day or when a forecast brings it, never so late that it can't be done. In
quiet hours it waits for their end, goes out before they begin, or rings, whichever is first of use: a frost does not
wait (common practice, no source). What is done already, or not asked for any more, is not told.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from curing.model.plan import Advice, Booking, Notice, State, Value, Visit
from curing.model.plan import Kind as Booked
from curing.model.reminders import Kind, Occasion
from curing.planning.reminding_quiet import Manner, quiet_at
from curing.planning.reminding_scene import DAY, View, clock, day_of, over_of
from curing.planning.reminding_tasks import to_do
from curing.planning.weather_booked import cover_of, goes_up
from curing.planning.worktime import zone_of

AGAIN = timedelta(hours=12)
"""What was asked at once is asked in a morning only after so long (common practice, no source)."""
PROPOSED_ON = (6, 4)
"""[d] Mornings before a coat's day on which another day that is only proposed is told (common practice, no source)."""
COVERS: Mapping[str, Kind] = {"frost": Kind.FROST, "sheet": Kind.RAIN}
DRY_AIR = (Advice.EXTRA, Advice.SHADE)


# ------------------------------------------------------------------------------ what is to be decided


def days_off(view: View) -> Iterator[Occasion]:
    """Yield coats off their day, for who decides: at once, then every morning; days only proposed on two mornings."""
    added = _off_since(view)
    for notice in view.scene.questions:
        coat, morning = str(notice.values.get("coat")), view.scene.morning
        if notice.key == "weather_off":
            head = f"decide|weather_off|{view.lasting(coat)}|{notice.values['was']}"
            saved = added.get(coat)
            if saved is not None:
                yield from _decide(view, notice, f"{head}|at once", saved, saved + DAY)
            for day in view.days():
                meant = view.at(day, morning)
                if saved is None or meant >= saved + AGAIN:
                    yield from _decide(view, notice, f"{head}|{day.isoformat()}", meant, view.at(day, _late(view)))
        elif notice.key == "weather_proposed":
            on = date.fromisoformat(str(notice.values["on"]))
            for day in (on - ahead * DAY for ahead in PROPOSED_ON):
                key = f"decide|weather_proposed|{view.lasting(coat)}|{on.isoformat()}|{day.isoformat()}"
                yield from _decide(view, notice, key, view.at(day, morning), view.at(day, _late(view)))


def _late(view: View) -> int:
    return max(view.scene.evening, view.scene.morning + 60)


def _decide(view: View, notice: Notice, key: str, meant: datetime, until: datetime) -> Iterator[Occasion]:
    values = {
        "notice": notice.key,
        "rule": notice.rule,
        "warning": False,
        "without": "no_day" if notice.key == "weather_off" else "stays",
        **{f"of_{name}": value for name, value in notice.values.items()},
    }
    about, faces = (str(notice.values["coat"]),), view.in_order(notice.faces)
    for person in view.deciders:
        yield from view.occasion(Kind.DECIDE, key, person, meant, until, about=about, faces=faces, values=values)


def _off_since(view: View) -> dict[str, datetime]:
    """Return coat → when the revision was saved that took it off its day last."""
    found: dict[str, datetime] = {}
    for _, saved, changes in view.scene.moved:
        for change in changes:
            if change.new is None or change.new.state is not State.OFF:
                continue
            gone = change.old is not None and change.old.state is State.OFF
            if not gone and saved > found.get(change.id, saved - DAY):
                found[change.id] = saved
    return found


# ------------------------------------------------------------------------------ covers and sheets


def covers(view: View) -> Iterator[Occasion]:
    """Yield the frost covers and sheets that go up, for who puts them up and who leads."""
    added = view.added
    for one in view.near(view.scene.plan.bookings, 2 * DAY, 2 * DAY):
        kind = COVERS.get(cover_of(one.id))
        if kind is None or one.kind is not Booked.COVER or not goes_up(one) or not to_do(view, one):
            continue
        by = one.until or one.end
        own = view.having_it(one)
        values: dict[str, Value] = {
            **one.reason.values,
            "day": day_of(one).isoformat(),
            "by": clock(zone_of(one.zone), by),
            "by_day": _day(by, one.zone),
            "mist": _mist_before_noon(view, one),
        }
        for root in dict.fromkeys([*own, *view.leads]):
            key = f"{kind.value}|{view.lasting(one.id)}"
            when = _in_time(view, root, one, by, added.get(one.id))
            more = {"about": (one.id,), "faces": one.faces, "values": {**values, "own": root in own}}
            yield from when.tell(view, kind, key, root, by, one.zone, more)


def _mist_before_noon(view: View, cover: Booking) -> bool:
    """Tell whether a face that is covered tonight is misted at midday instead of in the evening."""
    walks = (one for one in view.scene.plan.rounds if day_of(one) == day_of(cover))
    moved = [visit for walk in walks for visit in walk.visits if visit.added and visit.advice == Advice.MIDDAY]
    return any(visit.face in cover.faces and visit.id not in view.scene.evidence.visits for visit in moved)


def _day(at: datetime, zone: str) -> str:
    return at.astimezone(zone_of(zone)).date().isoformat()


# ------------------------------------------------------------------------------ sun and dry air


@dataclass
class _Dry:
    """What one face asks for on one day: cloth, and more water."""

    covers: list[Booking] = field(default_factory=list)
    walks: list[tuple[Booking, Visit]] = field(default_factory=list)


def heat(view: View) -> Iterator[Occasion]:
    """Yield the faces that sun and dry air ask more for, on the day: for who hangs cloth, and who walks there."""
    added, found = view.added, dict[tuple[date, str], _Dry]()
    for one in view.near(view.scene.plan.bookings, 2 * DAY, 2 * DAY):
        if one.kind is Booked.COVER and cover_of(one.id) == "cloth" and goes_up(one) and to_do(view, one):
            found.setdefault((day_of(one), one.faces[0]), _Dry()).covers.append(one)
    for walk in view.near(view.scene.plan.rounds, 2 * DAY, 2 * DAY):
        if any(visit.advice in DRY_AIR for visit in walk.visits):
            for visit in view.open_visits(walk):
                if visit.advice in DRY_AIR:
                    found.setdefault((day_of(walk), visit.face), _Dry()).walks.append((walk, visit))
    for (day, face), dry in found.items():
        listed = [*dry.covers, *(walk for walk, _ in dry.walks)]
        first, last = min(listed, key=lambda one: one.start), max(over_of(one) for one in listed)
        since = max((at for one in listed if (at := added.get(one.id)) is not None), default=None)
        about = (*(one.id for one in dry.covers), *(visit.id for _, visit in dry.walks))
        by = min((one.until or one.end for one in dry.covers), default=None)
        until = clock(zone_of(first.zone), by) if by else ""
        values = {**_of_heat(dry, first.zone), "day": day.isoformat(), "by": until}
        people = [root for one in dry.covers for root in view.having_it(one)]
        people += [holder for walk, _ in dry.walks if (holder := view.holder(walk))]
        for root in dict.fromkeys(people or view.leads):
            when = _in_time(view, root, first, min(last, by or last), since)
            more = {"about": about, "faces": (face,), "values": values}
            key = f"heat|{day.isoformat()}|{view.lasting(face)}"
            yield from when.tell(view, Kind.HEAT, key, root, last, first.zone, more)


def _of_heat(dry: _Dry, zone: str) -> dict[str, Value]:
    """Return the hours of sun on a face, what the air takes from it, and when it is misted once more."""
    sun = [(visit.sun_from, visit.sun_to) for _, visit in dry.walks if visit.sun_from and visit.sun_to]
    if dry.covers:  # cloth is up before the sun that it keeps off, which may be the evening's
        sun = [
            (str(one.reason.values["from_at"]), str(one.reason.values["to_at"]))
            for one in dry.covers
            if one.reason.key == "cover_cloth_up" and one.reason.values.get("from") == one.reason.values.get("to")
        ]
    takes = [visit.weather.value for _, visit in dry.walks if visit.weather is not None]
    takes += [float(one.reason.values["value"] or 0) for one in dry.covers if one.reason.key == "cover_demand_up"]
    more = [walk.start for walk, visit in dry.walks if visit.added]
    return {
        "sun_from": min((one[0] for one in sun), default=""),
        "sun_to": max((one[1] for one in sun), default=""),
        "takes": max(takes, default=None),
        "more": clock(zone_of(zone), min(more)) if more else "",
    }


# ------------------------------------------------------------------------------ in time


@dataclass(frozen=True)
class _When:
    """When somebody is told, and whether that is in quiet hours; at no time where it came too late."""

    at: datetime | None
    rings: bool = False

    def tell(
        self, view: View, kind: Kind, key: str, root: str, until: datetime, zone: str, more: Mapping[str, object]
    ) -> Iterator[Occasion]:
        if self.at is not None:
            manner = Manner.RINGS if self.rings else Manner.WAITS
            yield from view.occasion(kind, key, root, self.at, until, manner=manner, zone=zone, **more)


def _in_time(view: View, root: str, task: Booking, by: datetime, since: datetime | None) -> _When:
    """Return when a person is told of a task that must be done by an instant.

    In the morning of its day; the evening before where it begins too early for that; and not before a forecast brought
    it (``since``). In quiet hours: when they end, if there is time enough left; else when they begin; else it rings.
    """
    person = view.people[root]
    notice, day = timedelta(minutes=person.notice), day_of(task)
    meant = view.at(day, view.scene.morning)
    if meant > task.start - notice:
        meant = view.at(day - DAY, view.scene.evening)
    meant = max(meant, since or meant)
    if meant >= by:
        return _When(None)
    quiet = quiet_at(person, zone_of(task.zone), meant)
    if quiet is None:
        return _When(meant)
    if quiet[1] <= by - notice:
        return _When(quiet[1])
    if since is None or quiet[0] >= since:
        return _When(quiet[0])
    return _When(meant, rings=True)
