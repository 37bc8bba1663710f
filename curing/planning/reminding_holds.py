"""Reminders of holds and of what waits for who decides, with what happens without a word."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime

from curing.model.plan import Booking, Hold, HoldState, Notice, State, Value
from curing.model.plan import Kind as Booked
from curing.model.record import RecordKind
from curing.model.record_data import MeterCheck, Probe, Trial, said
from curing.model.reminders import Kind, Occasion
from curing.planning.hold_passes import NEVER
from curing.planning.reminding_scene import DAY, View, day_of, end_of_day, stamp
from curing.planning.worktime import local, zone_of

NAMED_BY = 2
"""[d] So long before its coat a hold that is not met is told, every morning (common practice, no source)."""
LONGEST = 14 * DAY
"""A word that is waited for is of use for no longer: by then the coat behind it was dated anew."""
TOLD_OTHERWISE = ("weather_off", "hold_waiting", "visits_unsaid", "was_it_laid", "was_it_closed", "inspect")
"""Questions that have reminders of their own; those about rounds and looks that nobody has begin with ``unnamed_``."""


# ---------------------------------------------------------------------------------------- holds


def waiting(view: View) -> Iterator[Occasion]:
    """Yield the holds that pass and wait for a word, for who decides, as soon as the last reading or test came in."""
    for name, last in view.scene.evidence.waiting.items():
        hold = next((one for one in view.scene.plan.holds if one.id == name), None)
        if hold is None or hold.state is HoldState.MET or all(coat in view.laid for coat in hold.before):
            continue
        came = _came(view, hold)
        if came is None:
            continue
        never = (last - local(view.zone, came)[0]).days >= NEVER // 2
        until = came + LONGEST if never else min(end_of_day(view.zone, last), came + LONGEST)
        lapses = "" if never else last.isoformat()
        for person in view.deciders:
            yield from view.occasion(
                Kind.HOLD,
                f"hold|{view.lasting(name)}|waiting|{lapses or 'never'}",
                person,
                came,
                until,
                about=(name,),
                faces=view.in_order(hold.faces),
                values={**_of_hold(view, hold, None, None), "what": "waiting", "lapses": lapses, "decides": True},
            )


def _came(view: View, hold: Hold) -> datetime | None:
    """Return when the last reading, test, or check of the meter came in that made a hold pass."""
    made = [
        (one.received, data)
        for face in hold.faces
        for one in view.entries_of(face)
        if one.kind in (RecordKind.READING, RecordKind.TEST) and isinstance(data := said(one), Probe | Trial)
    ]
    meters = {data.meter for _, data in made if isinstance(data, Probe)}
    checked = [
        one.received
        for one in (view.scene.entries if meters else ())
        if one.kind is RecordKind.TEST and isinstance(data := said(one), MeterCheck) and data.meter in meters
    ]
    return max((*(received for received, _ in made), *checked), default=None)


def unmet(view: View) -> Iterator[Occasion]:
    """Yield the holds that keep a coat of the next days in doubt, every morning: for who reads, and who decides."""
    holds = {one.id: one for one in view.scene.plan.holds if one.state is HoldState.UNMET}
    reading = {one.id: one for one in view.scene.plan.bookings if one.kind in (Booked.READING, Booked.TEST)}
    told: set[tuple[str, date]] = set()
    for coat in view.near(view.scene.plan.bookings, 2 * DAY, (NAMED_BY + 2) * DAY):
        if coat.kind is not Booked.COAT or coat.state is not State.CONDITIONAL or coat.id in view.laid:
            continue
        for name in coat.holds:
            hold, fact = holds.get(name), view.scene.evidence.holds.get(name)
            if hold is None or (fact is not None and fact.met is not None) or name in view.scene.evidence.waiting:
                continue
            for back in range(NAMED_BY, -1, -1):
                day = day_of(coat) - back * DAY
                if (name, day) not in told:
                    told.add((name, day))
                    yield from _unmet(view, hold, coat, reading.get(name), day)


def _unmet(view: View, hold: Hold, coat: Booking, read: Booking | None, day: date) -> Iterator[Occasion]:
    readers = view.having_it(read) if read is not None and read.state is State.FIRM else []
    for person in dict.fromkeys([*readers, *view.deciders]):
        own, decides = person in readers, person in view.deciders
        yield from view.occasion(
            Kind.HOLD,
            f"hold|{view.lasting(hold.id)}|unmet|{day.isoformat()}",
            person,
            view.at(day, view.scene.morning),
            min(coat.start, view.at(day, view.scene.evening)),
            about=(hold.id,),
            faces=view.in_order(hold.faces),
            values={
                **_of_hold(view, hold, coat, read),
                "what": "unmet",
                "lapses": "",
                "own": own,
                "decides": decides,
            },
        )


def _of_hold(view: View, hold: Hold, coat: Booking | None, read: Booking | None) -> dict[str, Value]:
    if coat is None:
        behind = [one for one in view.scene.plan.bookings if one.id in hold.before and one.id not in view.laid]
        coat = min(behind, key=lambda one: (one.start, one.id), default=None)
    readers = view.having_it(read) if read is not None else []
    return {
        "hold": hold.id,
        "point": hold.point,
        "coat": coat.id if coat is not None else "",
        "coat_day": day_of(coat).isoformat() if coat is not None else "",
        "own": False,
        "start": stamp(zone_of(read.zone), read.start) if read is not None else "",
        "reader": readers[0] if readers else "",
    }


# ------------------------------------------------------------------------------ what is to be decided


@dataclass(frozen=True)
class _Asked:
    key: str
    meant: datetime
    until: datetime
    notice: Notice
    warning: bool = False


def decide(view: View) -> Iterator[Occasion]:
    """Yield what waits for who decides: whether a coat was laid, a face to look over, what else is pressing."""
    found: dict[str, _Asked] = {}
    for one in (*_laid(view), *_other(view)):
        found.setdefault(one.key, one)
    for asked in found.values():
        notice = asked.notice
        coat = notice.values.get("coat") or notice.values.get("what") or notice.values.get("hold")
        for person in view.deciders:
            yield from view.occasion(
                Kind.DECIDE,
                asked.key,
                person,
                asked.meant,
                asked.until,
                about=(str(coat),) if coat else (),
                faces=view.in_order(notice.faces),
                values={
                    "notice": notice.key,
                    "rule": notice.rule,
                    "warning": asked.warning,
                    "without": {"was_it_laid": "anew", "was_it_closed": "no_water"}.get(notice.key, "stays"),
                    **{f"of_{name}": value for name, value in notice.values.items()},
                },
            )


def _laid(view: View) -> Iterator[_Asked]:
    """Yield the coats that were to be laid on a day and of which nobody said so by its evening."""
    coats = [one for one in view.near(view.scene.plan.bookings, 3 * DAY, DAY) if one.kind is Booked.COAT]
    for coat in coats:
        if coat.state is not State.FIRM or coat.id in view.laid or coat.id in view.off:
            continue
        key = "was_it_closed" if coat.id in view.scene.evidence.started else "was_it_laid"
        day = day_of(coat)
        notice = Notice("plan.unconfirmed", key, {"coat": coat.id, "day": day.isoformat()}, coat.faces, urgent=True)
        yield _evening(view, coat.id, day, notice, max(coat.end, view.at(day, view.scene.evening)))
    for notice in view.scene.questions:
        if notice.key in ("was_it_laid", "was_it_closed"):
            name, day = str(notice.values["coat"]), date.fromisoformat(str(notice.values["day"]))
            if name not in view.laid:
                yield _evening(view, name, day, notice, view.at(day, view.scene.evening))


def _evening(view: View, coat: str, day: date, notice: Notice, meant: datetime) -> _Asked:
    return _Asked(f"decide|laid|{view.lasting(coat)}|{day.isoformat()}", meant, meant + DAY, notice)


def _other(view: View) -> Iterator[_Asked]:
    """Yield the faces to look over, the morning after, or once somebody says that a visit could not be made; every
    morning what else is asked and pressing; every Monday what presses and nobody can answer.
    """
    morning, evening = view.scene.morning, view.scene.evening
    for notice in view.scene.questions:
        if notice.key == "inspect":
            first = date.fromisoformat(str(notice.values["first"]))
            coat = str(notice.values["coat"])
            meant = min([view.at(first + DAY, morning), *_could_not(view, coat, first)])
            key = f"decide|inspect|{view.lasting(coat)}|{first.isoformat()}"
            yield _Asked(key, meant, meant + DAY, notice)
    late = max(evening, morning + 60)
    for notice in filter(_presses, view.scene.questions):
        for day in view.days():
            key = f"decide|{notice.key}|{_what(view, notice)}|{day.isoformat()}"
            yield _Asked(key, view.at(day, morning), view.at(day, late), notice)
    for notice in filter(_presses, view.scene.warnings):
        for day in view.days():
            if day.isoweekday() == 1:
                key = f"decide|{notice.key}|{_what(view, notice)}|{day:%G-W%V}"
                yield _Asked(key, view.at(day, morning), view.at(day + 6 * DAY, late), notice, warning=True)


def _presses(notice: Notice) -> bool:
    return notice.urgent and notice.key not in TOLD_OTHERWISE and not notice.key.startswith("unnamed_")


def _could_not(view: View, coat: str, first: date) -> Iterator[datetime]:
    """Yield when it was said of visits of a coat, from a day on, that they could not be made.

    No round without a tick is rung about then, and a young coat dries by the hour.
    """
    for visit, tick in view.scene.evidence.visits.items():
        head, _, _slot = visit.rpartition(".")
        of, _, day = head.rpartition(".")
        if of == coat and day >= first.isoformat() and not tick.tended:
            yield tick.at


def _what(view: View, notice: Notice) -> str:
    """Return what tells a notice from others of its kind, by roots."""
    names = [view.lasting(one) for one in notice.faces]
    names += [view.lasting(str(notice.values[name])) for name in ("coat", "what", "where") if name in notice.values]
    return " ".join(dict.fromkeys(names))
