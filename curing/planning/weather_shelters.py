"""Coats that are laid only because cloth or sheets are up, which they say, and coats that could be laid under them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date, datetime, timedelta

from curing.model.plan import LIVE, Booking, Notice, Reason, State
from curing.planning.expand import CoatWork, FaceWork
from curing.planning.least_change import Kept
from curing.planning.weather_booked import pairs
from curing.planning.weather_protect import CoverKind
from curing.planning.weather_rulings import SOON
from curing.planning.weather_sky import Sky, said
from curing.planning.weather_tasks import Protection
from curing.planning.weather_windows import Answer
from curing.planning.worktime import local, zone_of

DAY = timedelta(days=1)


def with_shelters(
    coats: Iterable[Booking],
    works: Iterable[FaceWork],
    sky: Sky | None,
    kept: Mapping[str, Kept],
    protection: Protection,
) -> list[Booking]:
    """Return the coats, each with what cloth or sheets keep off it.

    Parameters
    ----------
    kept
        Coat id → its place in the parent plan.
    protection
        The covers: sheets count only where they go up, cloth not where wind takes it down before.
    """
    coat_of = {coat.id: (work, coat) for work in works for coat in work.coats}
    sheets = {pair.coat for pair in pairs(protection.bookings) if pair.kind is CoverKind.SHEET}
    found = []
    for one in coats:
        said_of = _under(sky, *coat_of[one.id], one, kept.get(one.id)) if one.state in LIVE else ()
        hung = [
            reason
            for reason in said_of
            if (one.id in sheets if reason.key == "under_rain" else (one.id, CoverKind.CLOTH) not in protection.barred)
        ]
        found.append(replace(one, under=tuple(hung)) if hung else one)
    return found


def _under(sky: Sky | None, work: FaceWork, coat: CoatWork, booking: Booking, kept: Kept | None) -> tuple[Reason, ...]:
    """Return what is kept off a coat that is laid within three days.

    What people were told stays while the coat keeps its day: another run changes no word of it.
    """
    told = kept.booking.under if kept is not None and kept.day == _day(booking) else ()
    if sky is None or not timedelta(0) <= booking.start - sky.now <= SOON:
        return told
    verdict = sky.sheltered(work, coat, booking.start, booking.end)
    new = verdict.kept_off if verdict is not None else ()
    keys = {one.key for one in told}
    zone = zone_of(booking.zone)
    made = (Reason(one.rule, f"under_{one.what}", said(one, zone), coat.id) for one in new)
    return (*told, *(one for one in made if one.key not in keys))


def could_be_laid(
    sky: Sky | None, works: Iterable[FaceWork], coats: Mapping[str, Booking], now: datetime
) -> list[Notice]:
    """Return coats that are off their day, but could be laid then under sheets on their scaffold."""
    found: list[Notice] = []
    if sky is None:
        return found
    for work in works:
        for coat in work.coats:
            one = coats.get(coat.id)
            if one is None or one.state is not State.OFF or one.floor_was is None:
                continue
            back = (_day(one) - one.floor_was).days * DAY
            verdict = sky.sheltered(work, coat, one.start - back, one.end - back)
            if verdict is None or verdict.answer is not Answer.YES or one.start - back < now:
                continue
            rain = next((stop for stop in verdict.kept_off if stop.what == "rain"), None)
            if rain is not None:
                values = {"coat": coat.id, "was": one.floor_was.isoformat(), "face": work.id}
                found.append(Notice(rain.rule, "under_sheets", values, (work.id,)))
    return found


def _day(booking: Booking) -> date:
    return local(zone_of(booking.zone), booking.start)[0]
