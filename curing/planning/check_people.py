"""Whether anybody is in two places at once, or spends half a day at two sites."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

from curing.model.plan import Booking
from curing.planning.check_view import Fault, View, at_work
from curing.planning.worktime import NOON, local


@dataclass(frozen=True, order=True, slots=True)
class Stint:
    """A person's time on one thing without a break; no booking where another job has taken it."""

    start: datetime
    end: datetime
    what: str
    booking: Booking | None = None


def check_people(view: View) -> Iterator[Fault]:
    """Yield people in two places at once, and halves of days (12:00 parts them) at two sites."""
    for person, stints in _stints(view).items():
        yield from _two_places(person, stints)
        yield from _two_sites(view, person, stints)


def _stints(view: View) -> dict[str, list[Stint]]:
    """Return each person's time, by start."""
    stints: dict[str, list[Stint]] = {}
    for booking in view.live():
        for person in dict.fromkeys(booking.who):
            for start, end in at_work(booking, person):
                stints.setdefault(person, []).append(Stint(start, end, booking.id, booking))
    for busy in view.job.busy:
        start, end = datetime.fromtimestamp(busy.start, UTC), datetime.fromtimestamp(busy.end, UTC)
        stints.setdefault(busy.person, []).append(Stint(start, end, f"job {busy.job}"))
    return {person: sorted(found, key=lambda s: (s.start, s.end, s.what)) for person, found in stints.items()}


def _two_places(person: str, stints: list[Stint]) -> Iterator[Fault]:
    going: list[Stint] = []
    told: set[tuple[str, str]] = set()
    for stint in stints:
        going = [other for other in going if other.end > stint.start]
        for other in going:
            pair = (other.what, stint.what)
            if (stint.booking or other.booking) and pair not in told:
                told.add(pair)
                text = f"needs {person} at {stint.start.isoformat()}, who is on {other.what} until"
                text += f" {other.end.isoformat()}; move one or name somebody else"
                yield Fault("plan.two_places", stint.what if stint.booking else other.what, text)
        going.append(stint)


def _two_sites(view: View, person: str, stints: list[Stint]) -> Iterator[Fault]:
    """Yield halves of days at two sites; where another job has taken the time, its site is not known."""
    sites: dict[tuple[date, str], dict[str, str]] = {}
    for stint in stints:
        if stint.booking:
            for half in _halves(view, stint, stint.booking.site):
                sites.setdefault(half, {}).setdefault(stint.booking.site, stint.what)
    for (day, part), where in sites.items():
        if len(where) > 1:
            places = " and ".join(f'"{site}" ({what})' for site, what in where.items())
            text = f"takes {person} to {places} in the {part} of {day}; half a day is spent at one site"
            yield Fault("plan.two_sites", list(where.values())[-1], text)


def _halves(view: View, stint: Stint, site: str) -> Iterator[tuple[date, str]]:
    zone = view.work.zone(site)
    first, last = local(zone, stint.start), local(zone, stint.end - timedelta(microseconds=1))
    day = first[0]
    while day <= last[0]:
        if day > first[0] or first[1] < NOON:
            yield day, "morning"
        if day < last[0] or last[1] >= NOON:
            yield day, "afternoon"
        day += timedelta(1)
