"""Reminders of rounds: of one's own before they begin, and of those that nobody has."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo

from curing.model.plan import Booking, Care, Slot, Value, Visit
from curing.model.reminders import Kind, Occasion
from curing.planning.reminding_quiet import Manner, before_work
from curing.planning.reminding_scene import DAY, View, clock, day_of, is_tender, over_of
from curing.planning.worktime import zone_of

NAMED_BY = 3
"""[d] So long before its day who leads hears of a round that nobody has (common practice, no source)."""
A_WHILE = timedelta(days=2)


@dataclass(frozen=True)
class Walk:
    """What one person (or nobody) has to walk in one part of a day at one site: mostly one booking."""

    day: date
    slot: Slot
    site: str
    who: str
    """Root, or empty."""
    parts: tuple[Booking, ...]

    @property
    def name(self) -> str:
        """What tells it for ever: day, part of the day and site."""
        return f"{self.day.isoformat()}|{self.slot.value}|{self.site}"

    @property
    def start(self) -> datetime:
        """When it begins."""
        return self.parts[0].start

    @property
    def over(self) -> datetime:
        """When it does its work no longer."""
        return max(over_of(one) for one in self.parts)

    @property
    def minutes(self) -> int:
        """How long it takes [min]."""
        return round(sum((one.end - one.start).total_seconds() for one in self.parts) / 60)

    @property
    def zone(self) -> str:
        """Time zone of its site."""
        return self.parts[0].zone


def walks(view: View, bookings: Iterable[Booking]) -> list[Walk]:
    """Return the walks that bookings make, by start, of who has them now."""
    found: dict[tuple[date, Slot, str, str], list[Booking]] = {}
    for one in sorted(bookings, key=lambda one: (one.start, one.id)):
        if one.slot is not None:
            found.setdefault((day_of(one), one.slot, one.site, view.holder(one)), []).append(one)
    return [Walk(*key, tuple(parts)) for key, parts in found.items()]


def rounds(view: View) -> Iterator[Occasion]:
    """Yield a person's rounds, so long before each as the person wants."""
    for walk in walks(view, view.near(view.scene.plan.rounds, A_WHILE, A_WHILE)):
        person = view.people.get(walk.who)
        visits = [visit for part in walk.parts for visit in view.open_visits(part)]
        if person is None or not visits:
            continue
        zone = zone_of(walk.zone)
        due, rings = before_work(person, zone, walk.start)
        yield from view.occasion(
            Kind.ROUND,
            f"round|{walk.name}|{walk.who}",
            walk.who,
            due,
            walk.over,
            manner=Manner.RINGS if rings else Manner.WAITS,
            zone=walk.zone,
            about=tuple(one.id for one in visits),
            faces=view.in_order(one.face for one in visits),
            values={**of_walk(walk, visits, zone), **_on_it(view, visits)},
        )


def of_walk(walk: Walk, visits: list[Visit], zone: tzinfo) -> dict[str, Value]:
    """Return the values that all reminders about a walk carry."""
    return {
        "day": walk.day.isoformat(),
        "slot": walk.slot.value,
        "start": clock(zone, walk.start),
        "by": clock(zone, walk.over),
        "minutes": walk.minutes,
        "visits": len(visits),
        "first": min(one.day for one in visits),
        "tender": any(is_tender(one) for one in visits),
    }


def _on_it(view: View, visits: list[Visit]) -> dict[str, Value]:
    """Return what is done on a walk, and what who walks it meets."""
    return {
        **{care.value: sum(one.care is care for one in visits) for care in Care},
        "cloth": " ".join(view.in_order(one.face for one in visits if one.cloth)),
        "sun": " ".join(view.in_order(one.face for one in visits if one.sun_from)),
        "sun_from": min((one.sun_from for one in visits if one.sun_from), default=""),
    }


def nobodys(view: View) -> Iterator[Occasion]:
    """Yield the rounds of the next days that nobody has, for who leads."""
    listed, added = [one for one in view.scene.plan.rounds if not one.who], view.added
    for walk in walks(view, view.near(listed, A_WHILE, (NAMED_BY + 2) * DAY)):
        visits = [visit for part in walk.parts for visit in view.open_visits(part)]
        if walk.who or not visits:
            continue
        meant, since = view.at(walk.day - NAMED_BY * DAY, view.scene.morning), [added.get(one.id) for one in walk.parts]
        if all(since):  # weather asks for one more on the day itself: at once
            meant = max(meant, min(at for at in since if at is not None))
        for lead in view.leads:
            yield from view.occasion(
                Kind.NOBODY,
                f"nobody|{walk.name}",
                lead,
                meant,
                walk.start,
                zone=walk.zone,
                about=tuple(one.id for one in visits),
                faces=view.in_order(one.face for one in visits),
                values=of_walk(walk, visits, zone_of(walk.zone)),
            )
