"""What a person must see of the forecast: what it took off its day, what it only threatens, what it proposes.

All of these are of the present. A run that says something else changes what is told, and no plan.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping
from datetime import date, datetime, timedelta

from curing.model.evidence import Decided
from curing.model.plan import LIVE, Booking, Notice, State, Value
from curing.planning.expand import CoatWork, FaceWork, is_ended
from curing.planning.weather_rulings import Ruling, saw_it
from curing.planning.weather_sky import Foreseen, Sky, said
from curing.planning.worktime import Worktime, instant, local, zone_of

DAY = timedelta(days=1)
LOOKED = 21
"""[d] Another day is looked for no further than that."""


def taken_off(coats: Iterable[Booking]) -> tuple[Notice, ...]:
    """Return what is asked about coats that weather took off their day: nothing happens without a word.

    ``against`` names what of the weather it was; the other values are those of its reason.
    """
    return tuple(
        Notice(
            one.reason.rule,
            "weather_off",
            {
                **one.reason.values,
                "coat": one.id,
                "was": one.floor_was.isoformat(),
                "day": _day(one).isoformat(),
                "against": _against(one),
            },
            one.faces,
            urgent=True,
        )
        for one in coats
        if one.state is State.OFF and one.floor_was is not None
    )


def _against(booking: Booking) -> str:
    """Return what of the weather took a coat off its day; another rule may bind the day that is proposed by now."""
    head, _, what = booking.reason.key.partition("_")
    return what if head == "off" else "weather"


def foreseen(
    sky: Sky | None,
    works: Iterable[FaceWork],
    coats: Iterable[Booking],
    decided: Mapping[str, Decided],
    worktime: Worktime,
) -> tuple[list[Notice], list[Notice]]:
    """Return what is told and what is asked of coats that stand although the forecast is against them.

    Parameters
    ----------
    coats
        The coats of the plan.
    decided
        Coat id → the decision that holds it on its day: a forecast that was there when it was taken takes the coat
        off no more, and is told all the same.

    Returns
    -------
    warnings, questions
        ``weather_watched``, ``weather_kept``, and ``weather_wanted`` where no other day is found;
        ``weather_proposed``.
    """
    told: list[Notice] = []
    asked: list[Notice] = []
    if sky is None:
        return told, asked
    coat_of = {coat.id: (work, coat) for work in works for coat in work.coats}
    standing = [one for one in coats if one.state in LIVE]
    taken = {(one.crew, _day(one)) for one in standing}
    for one in standing:
        if one.id not in coat_of:
            continue
        work, coat = coat_of[one.id]
        seen = sky.told(work, coat, one.start, one.end)
        if seen.ruling is Ruling.STANDS:
            continue
        values: dict[str, Value] = {
            **said(seen.stops[0], zone_of(one.zone)),
            "coat": one.id,
            "on": _day(one).isoformat(),
            "against": seen.stops[0].what,
        }
        rule = seen.stops[0].rule
        if one.id in decided and saw_it(decided[one.id].cause.at, one.start):
            by: dict[str, Value] = {"by": decided[one.id].cause.name}
            told.append(Notice(rule, "weather_kept", {**values, **by}, one.faces))
        elif seen.ruling is Ruling.PROPOSED:
            other = another_day(sky, work, coat, one, seen, worktime, taken)
            if other is None:
                told.append(Notice(rule, "weather_wanted", values, one.faces))
            else:
                asked.append(Notice(rule, "weather_proposed", {**values, "day": other.isoformat()}, one.faces))
        else:
            told.append(Notice(rule, "weather_watched", values, one.faces))
    return told, asked


def another_day(
    sky: Sky,
    work: FaceWork,
    coat: CoatWork,
    booking: Booking,
    seen: Foreseen,
    worktime: Worktime,
    taken: Container[tuple[str, date]] = (),
) -> date | None:
    """Return the first day for a coat after what stands against it: its crew works, and no forecast is against it.

    At the same hours, and later than its own day, so that its waits stay over. Whether all of it fits then is left to
    the planner, once somebody decides; None: there is none within three weeks.

    Parameters
    ----------
    seen
        What stands against it on its own day.
    taken
        Crews and days that have a coat: another day is better.
    """
    zone, own = zone_of(booking.zone), _day(booking)
    _, start = local(zone, booking.start)
    length = booking.end - booking.start
    first = max(own + DAY, max(local(zone, stop.end)[0] for stop in seen.stops))
    free = []
    for day in (first + k * DAY for k in range(LOOKED)):
        if is_ended(work, day) or worktime.off(booking.crew, day) is not None:
            continue
        begins: datetime = instant(zone, day, start)
        if not sky.refuses(work, coat, begins, begins + length, alone=True):
            free.append(day)
    return next((day for day in free if (booking.crew, day) not in taken), free[0] if free else None)


def _day(booking: Booking) -> date:
    return local(zone_of(booking.zone), booking.start)[0]
