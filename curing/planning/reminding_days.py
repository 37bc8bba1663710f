"""Reminders of whole days: cloth before days off, weather read long ago, the evening's summary."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, timedelta

from curing.model.plan import Booking, Notice, Visit
from curing.model.plan import Kind as Booked
from curing.model.reminders import Kind, Occasion
from curing.planning.reminding_changed import count
from curing.planning.reminding_quiet import Manner
from curing.planning.reminding_scene import DAY, View, coat_of, day_of, end_of_day, over_of, stamp
from curing.planning.reminding_tasks import looked_at
from curing.planning.said_of_rounds import Asked
from curing.planning.worktime import local

HOUR = 60
"""[min] Cloth is told so long before the end of one's hours: time to wet and tie it (common practice, no source)."""
LONGEST_OFF = 60
"""[d] Days off are counted so far ahead."""
STALE = timedelta(hours=24)
"""Weather older than this is told (common practice, no source)."""
ANSWERED = frozenset({"unnamed_round", "unnamed_look"})
"""Warnings that somebody can answer: by naming who takes it. All other warnings only tell."""


# ---------------------------------------------------------------------------------------- cloth


def cloth(view: View) -> Iterator[Occasion]:
    """Yield, on the last day before a crew's days off, the faces whose cloth must last over them."""
    walks: dict[date, list[Booking]] = {}
    for walk in view.near(view.scene.plan.rounds, DAY, (LONGEST_OFF + 4) * DAY):
        if any(visit.cloth for visit in walk.visits):
            walks.setdefault(day_of(walk), []).append(walk)
    for crew in view.scene.job.file.crews if walks else ():
        for day in view.days(before=1):
            first = last = day + DAY
            if view.worktime.off(crew.id, day) is not None or view.worktime.off(crew.id, first) is None:
                continue
            while (last - first).days < LONGEST_OFF and view.worktime.off(crew.id, last + DAY) is not None:
                last += DAY
            off = [walk for k in range((last - first).days + 1) for walk in walks.get(first + k * DAY, ())]
            hung = [visit for walk in off for visit in view.open_visits(walk) if visit.cloth]
            faces = view.in_order(visit.face for visit in hung if _crew(view, visit) == crew.id)
            if faces:
                yield from _before_days_off(view, crew.id, day, last, faces)


def _before_days_off(view: View, crew: str, day: date, last: date, faces: tuple[str, ...]) -> Iterator[Occasion]:
    evening, roots = view.scene.evening, view.scene.roots.people
    there = {roots.get(person, person): span for person, span in view.worktime.present(crew, day)}
    told = {root: min(span[1] - HOUR, evening) for root, span in there.items() if root in view.people}
    lead = not told
    for person, minute in (told or dict.fromkeys(view.leads, evening)).items():
        yield from view.occasion(
            Kind.CLOTH,
            f"cloth|{(day + DAY).isoformat()}|{crew}",
            person,
            view.at(day, max(minute, 0)),
            end_of_day(view.zone, day),
            manner=Manner.FORWARD,
            faces=faces,
            values={
                "first": (day + DAY).isoformat(),
                "last": last.isoformat(),
                "days": (last - day).days,
                "crew": crew,
                "lead": lead,
            },
        )


def _crew(view: View, visit: Visit) -> str:
    face = view.faces.get(visit.face)
    if face is not None and face.crew is not None:
        return face.crew
    coat = view.coats.get(coat_of(visit))
    crews = view.scene.job.file.crews
    known = coat is not None and any(one.id == coat.crew for one in crews)
    return coat.crew if coat is not None and known else crews[0].id if len(crews) == 1 else ""


# ---------------------------------------------------------------------------------------- weather


def weather(view: View) -> Iterator[Occasion]:
    """Yield that the weather was read long ago, for who leads: a day after it, then every morning."""
    read = view.scene.weather_read
    if read is None:
        return
    first = read + STALE
    told = [first]
    mornings = [view.at(day, view.scene.morning) for day in view.days() if day > local(view.zone, first)[0]]
    told += [one for one in mornings if one >= first + STALE / 2]
    for meant in told:
        for lead in view.leads:
            yield from view.occasion(
                Kind.WEATHER,
                f"weather|{local(view.zone, meant)[0].isoformat()}",
                lead,
                meant,
                meant + STALE,
                values={
                    "read": stamp(view.zone, read),
                    "hours": int((meant - read).total_seconds() // 3600),
                },
            )


# ---------------------------------------------------------------------------------------- summary


def summary(view: View) -> Iterator[Occasion]:
    """Yield the day in figures for who leads, in the evenings of days on which something moved or is open."""
    for day in view.days(before=1):
        evening = view.at(day, view.scene.evening)
        since = view.at(day - DAY, view.scene.evening)
        moved = count(one for _, saved, changes in view.scene.moved if since < saved <= evening for one in changes)
        visits = _visits_of(view, day)
        answered = {id_: tick for id_, tick in view.scene.evidence.visits.items() if _day_of(id_) == day.isoformat()}
        could_not = sum(not tick.tended for tick in answered.values())
        unsaid = [one for one in visits if one.tick is None and over_of(one.booking) <= evening]
        unseen = [one for one in view.near(view.scene.plan.bookings, 3 * DAY, DAY) if _unseen(view, one, day, evening)]
        asked = [one for one in view.scene.questions if one.key != "visits_unsaid" and _since(one) <= day.isoformat()]
        pressing = [one for one in view.scene.warnings if one.urgent and one.key in ANSWERED]
        no_tick, to_decide = len(unsaid) + len(unseen), len(asked) + len(pressing)
        if not (moved or no_tick or to_decide or could_not):
            continue
        for lead in view.leads:
            yield from view.occasion(
                Kind.SUMMARY,
                f"summary|{day.isoformat()}|{lead}",
                lead,
                evening,
                end_of_day(view.zone, day),
                manner=Manner.FORWARD,
                about=tuple(one.visit.id for one in unsaid),
                faces=view.in_order(one.visit.face for one in unsaid),
                values={
                    "day": day.isoformat(),
                    "done": sum(tick.tended for tick in answered.values()),
                    "of": len(answered.keys() | {one.visit.id for one in visits}),
                    "could_not": could_not,
                    "no_tick": no_tick,
                    "to_decide": to_decide,
                    "moved": moved,
                },
            )


def _day_of(visit: str) -> str:
    """Return the day of a visit, from its id."""
    return visit.rpartition(".")[0].rpartition(".")[2]


def _since(question: Notice) -> str:
    """Return the day from which something is asked; empty: it is not said, or named is a day to come."""
    if question.key.startswith("weather_"):
        return ""
    return str(question.values.get("day") or question.values.get("first") or "")


def _visits_of(view: View, day: date) -> list[Asked]:
    walks = [one for one in view.near(view.scene.plan.rounds, 3 * DAY, DAY) if day_of(one) == day]
    return [one for walk in walks for one in view.asked_of(walk)]


def _unseen(view: View, look: Booking, day: date, evening: datetime) -> bool:
    if look.kind is not Booked.LOOK or day_of(look) != day or over_of(look) > evening:
        return False
    closed = view.laid.get(look.id.removesuffix(".look"))
    return closed is not None and not looked_at(view, look, closed)
