"""A round in a short reminder: its walls, its water or that none is put on, and its cloth."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product
from zoneinfo import ZoneInfo

from curing.model.plan import Booking
from curing.model.reminders import Occasion
from curing.publish.reminder_about import About
from curing.publish.visit_weather import no_water, shorts


def walk_ways(about: About, one: Occasion) -> Iterator[str]:
    """Yield ways to tell a round, the fullest first; water that is held back is in each of them."""
    say, values = about.words.say, one.values
    walk = next(iter(about.bookings([one])), None)
    slot, care = about.slot(one), about.care(walk, one)
    time = about.words.figure(number_of(values.get("minutes")), "duration_min")
    by = str(values.get("by") or "")
    cloth, sun = _cloth_of(walk, one)
    if walk is not None and any(visit.dry for visit in walk.visits):
        yield from _without_water(about, walk, one)  # and no way that leaves it out
        return
    weather = shorts(about.words, walk.visits) if walk is not None else []
    for walls in about.walls(one.faces) if weather else ():
        text = say(f"remind.round.{care}.{slot}", walls=walls, by=by, time=time)
        yield say("remind.round.weather", round=text, text=weather[0])
    for walls, clothed in product(about.walls(one.faces), [True, False] if cloth else [False]):
        text = say(f"remind.round.{care}.{slot}", walls=walls, by=by, time=time)
        if clothed:
            shown = next(about.walls(cloth, ""))
            key = "remind.round.cloth_before" if sun else "remind.round.cloth"
            yield say(key, round=text, walls=shown, sun=sun)
        else:
            yield text


def holds_water(about: About, one: Occasion) -> bool:
    """Tell whether a visit of a round is made without water."""
    return any(visit.dry for walk in about.bookings([one]) for visit in walk.visits)


def _without_water(about: About, walk: Booking, one: Occasion) -> Iterator[str]:
    """Yield ways to tell a walk with visits without water: on which walls, where it is not all of them."""
    say, slot, care = about.words.say, about.slot(one), about.care(walk, one)
    time, by = about.words.figure(number_of(one.values.get("minutes")), "duration_min"), str(one.values.get("by") or "")
    dry, wet = [one for one in walk.visits if one.dry], [one for one in walk.visits if not one.dry]
    why = ", ".join(dict.fromkeys(no_water(about.words, visit) for visit in dry))
    rest = [f"{text[:1].upper()}{text[1:]}." for text in shorts(about.words, wet)][:1]
    held = list(about.walls([visit.face for visit in dry], ""))
    for walls, which in product(about.walls(one.faces), held if wet else [""]):
        text = say(f"remind.round.{care}.{slot}", walls=walls, by=by, time=time)
        text = say("remind.round.no_water.on" if which else "remind.round.no_water", round=text, walls=which, why=why)
        yield " ".join([text, *rest])
        yield text


def _cloth_of(walk: Booking | None, one: Occasion) -> tuple[list[str], str]:
    """Return the faces behind cloth, and when the sun first reaches one after the walk begins."""
    if walk is None:
        return str(one.values.get("cloth") or "").split(), ""
    clothed = [visit for visit in walk.visits if visit.cloth]
    start = f"{walk.start.astimezone(ZoneInfo(walk.zone)):%H:%M}"
    to_come = [visit for visit in clothed if visit.sun_from > start]
    chosen = to_come or clothed
    return [visit.face for visit in chosen], min((visit.sun_from for visit in to_come), default="")


def number_of(value: object) -> float:
    """Return a value of an occasion as a number; 0 where it is none."""
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else 0.0
