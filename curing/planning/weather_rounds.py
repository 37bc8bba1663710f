"""Puts what the weather makes of visits onto the board of a day: advice onto visits, added ones into a midday walk.

What is added takes free time of people on a day whose coats and walks stand already: it moves none of them. Where
all who could go lay coats, nobody is named, and who leads may give the walk to one of them.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from datetime import datetime
from zoneinfo import ZoneInfo

from curing.model.plan import Absence, Booking, Care, Slot, State, Visit
from curing.model.visit_weather import Cause, VisitWeather
from curing.planning.placing import DayBoard, Span
from curing.planning.rounds import Rounds
from curing.planning.tending import Tended, in_order, visit
from curing.planning.turns import holding
from curing.planning.weather_looks import LATE_WATER
from curing.planning.weather_visits import WeatherVisits
from curing.planning.worktime import GRID, MIDDAY, local


def weathered(
    site: str,
    board: DayBoard,
    tended: Sequence[Tended],
    rounds: Rounds,
    weather: WeatherVisits,
    tasks: Mapping[str, Booking],
    laying: Collection[str],
    blocks: Mapping[str, Sequence[Span]] | None = None,
) -> None:
    """Advise about a site's visits of a day, and add those that the weather asks for.

    Parameters
    ----------
    board
        The day with its coats and walks; changed.
    tended
        Coats looked after at this site.
    tasks
        Readings, covers and looks of the plan people were told: their time is not free.
    laying
        Crews that may lay a coat that day.
    blocks
        Person → when they lay coats that day; who takes the walk by decision leaves the coat for it.
    """
    zone, sun = rounds.worktime.zone(site), rounds.suns[site]
    walks = _walks(site, board)
    said: dict[str, VisitWeather | None] = {}
    litres: dict[str, float] = {}
    wanted: dict[str, VisitWeather] = {}
    for one in tended:
        if one.times(board.day):
            found = weather.of_day(one, board.day, zone, walks.get((one.work.id, one.coat.coat.id), {}))
            said |= found.said
            litres |= dict.fromkeys(found.said, one.coat.visit_water)
            if found.more is not None:
                wanted[one.coat.id] = found.more
    _advise(board, said, litres)
    more = [
        replace(
            visit(one, board.day, Slot.MIDDAY, sun, conditional=one.conditional),
            care=Care.MIST,
            minutes=one.coat.visit_minutes,
            water=one.coat.visit_water,
            weather=wanted[one.coat.id],
        )
        for one in in_order(tended, Slot.MIDDAY, sun.sunny_side == 0.0)
        if one.coat.id in wanted and one.times(board.day)
    ]
    low, high = _span(more)
    today, minute = local(zone, weather.now)
    if board.day == today:
        told = {one.id: local(zone, weather.told[one.id].start)[1] for one in more if one.id in weather.told}
        low = max(low, -(-min([minute, *told.values()]) // GRID) * GRID)
        more = [one for one in more if one.id in told or low + one.minutes <= high]
    if more:
        with _busy(board, tasks, rounds), _out_of_coats(board, rounds, blocks or {}):
            rounds.more_of_day(site, board, more, (low, high), laying)


def _walks(site: str, board: DayBoard) -> dict[tuple[str, str], dict[Slot, tuple[Visit, datetime]]]:
    """Return (face, coat) → its visits as they are planned, with the start of their walk."""
    found: dict[tuple[str, str], dict[Slot, tuple[Visit, datetime]]] = {}
    for booking in (*board.rounds.values(), *board.unnamed):
        if booking.slot is not None and booking.site == site:
            for one in booking.visits:
                found.setdefault((one.face, one.coat), {})[booking.slot] = one, booking.start
    return found


def _advise(board: DayBoard, said: Mapping[str, VisitWeather | None], litres: Mapping[str, float]) -> None:
    """Put advice onto the visits of a board; a visit without water takes none along."""

    def after(one: Visit) -> Visit:
        if one.id not in said or said[one.id] == one.weather:
            return one
        new = replace(one, weather=said[one.id])
        if new.dry or (one.dry and one.care is Care.MIST):
            new = replace(new, water=0.0 if new.dry else litres[one.id])
        return new

    def booked(one: Booking) -> Booking:
        visits = tuple(after(each) for each in one.visits)
        return one if visits == one.visits else replace(one, visits=visits)

    board.rounds = {key: booked(one) for key, one in board.rounds.items()}
    board.unnamed = [booked(one) for one in board.unnamed]


def _span(more: Sequence[Visit]) -> tuple[int, int]:
    """Return when a midday walk for these is [min]: before noon where frost moved a mist, so that it dries by night."""
    moved = [one.weather is not None and one.weather.cause is Cause.MOVED for one in more]
    first, last = LATE_WATER
    return first * 60 if any(moved) else MIDDAY[0], last * 60 if all(moved) else MIDDAY[1]


@contextmanager
def _out_of_coats(board: DayBoard, rounds: Rounds, blocks: Mapping[str, Sequence[Span]]) -> Iterator[None]:
    """Let who takes the midday walk by decision leave the coat for as long as it lasts."""
    given = [(turn.person, span) for turn in holding(rounds.turns.get((board.day, Slot.MIDDAY), ()))
             for span in blocks.get(turn.person, ()) if span in board.taken.get(turn.person, ())]  # fmt: skip
    for person, span in given:
        board.taken[person].remove(span)
    try:
        yield
    finally:
        for person, span in given:
            board.taken[person].append(span)


def step_out(board: DayBoard, coats: list[Booking], zones: Mapping[str, ZoneInfo]) -> None:
    """Write into the coats of a day who leaves them for a walk that weather added.

    The coat keeps its hours: whoever gave the walk to one of its crew knows that the others lay on without them.
    """
    walks = [one for one in board.rounds.values() if one.slot is Slot.MIDDAY and all(each.added for each in one.visits)]
    for walk in walks:
        person = walk.who[0]
        for k, coat in enumerate(coats):
            day, _ = local(zones[coat.site], coat.start)
            if coat.state is State.DONE or person not in coat.who or day != board.day:
                continue
            start, end = max(walk.start, coat.start), min(walk.end, coat.end)
            away = Absence(person, start, end)
            if start < end and away not in coat.absent:
                coats[k] = replace(coat, absent=(*coat.absent, away))


@contextmanager
def _busy(board: DayBoard, tasks: Mapping[str, Booking], rounds: Rounds) -> Iterator[None]:
    """Take the time of small tasks of that day as told, for as long as walks are added."""
    taken = []
    for one in tasks.values():
        zone = rounds.worktime.zone(one.site) if one.site in rounds.suns else None
        if zone is None or local(zone, one.start)[0] != board.day:
            continue
        span = local(zone, one.start)[1], local(zone, one.end)[1]
        taken += [(person, span) for person in one.who]
    for person, span in taken:
        board.taken.setdefault(person, []).append(span)
    try:
        yield
    finally:
        for person, span in taken:
            board.taken[person].remove(span)
