"""Whether a decision may be taken: by whom, about what, for which day."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from curing.model.decisions import Decision, DecisionKind
from curing.model.job import Job, Person, Role
from curing.model.people import DECIDERS
from curing.model.plan import Booking, Plan, State
from curing.model.quantities import clip
from curing.planning.roots import Roots
from curing.planning.worktime import Cause, Worktime, local

LONGEST_TURN = 60
"""[d] Rounds are given to somebody for no longer: beyond that it is the hours in the job file."""
FARTHEST = 550
"""[d] A coat is moved no further than that."""
_OFF = {Cause.WEEKEND: "is not of the crew's working week", Cause.HOLIDAY: "is a day off", Cause.NOBODY: "has nobody"}


@dataclass(frozen=True)
class Bench:
    """What a decision is judged by: the job, its newest plan, and the present instant."""

    job: Job
    roots: Roots
    plan: Plan | None
    now: datetime

    def coat(self, decision: Decision) -> Booking | None:
        """Return the booked coat that a decision is about."""
        face = self.roots.face_now(str(decision.data["face"]))
        coat = f"{face}.{decision.data['coat']}"
        return next((one for one in (self.plan.bookings if self.plan else ()) if one.id == coat), None)


def faults(decision: Decision, bench: Bench) -> list[str]:
    """Return why a decision may not be taken, each with what to do instead; nothing if it may."""
    people = {person.id: person for person in bench.job.file.people}
    found = list(_who(decision, bench, people))
    if decision.kind is DecisionKind.ASSIGN:
        found += _assign(decision, bench, people)
    else:
        found += _coat(decision, bench)
    return found


def deciders(job: Job) -> str:
    """Return who decides: ``wil or ines``."""
    return " or ".join([one.id for one in job.file.people if any(role in one.roles for role in DECIDERS)][:3])


def _who(decision: Decision, bench: Bench, people: dict[str, Person]) -> Iterator[str]:
    by = bench.roots.person_now(decision.by)
    if by not in people:
        yield f'by "{clip(by)}": nobody of this job has that id; {deciders(bench.job)} decide'
    elif not any(role in people[by].roles for role in DECIDERS):
        hint = "who has a round passes it on: curing log JOB passed-on" if decision.kind is DecisionKind.ASSIGN else ""
        text = (
            f'by "{by}": is neither lead nor architect, and only these {decision.kind}; let {deciders(bench.job)} do it'
        )
        yield "; ".join(filter(None, (text, hint)))


def _assign(decision: Decision, bench: Bench, people: dict[str, Person]) -> Iterator[str]:
    to = people.get(bench.roots.person_now(str(decision.data["to"])))
    first, last = (date.fromisoformat(str(decision.data[name])) for name in ("first", "last"))
    zone = Worktime(bench.job).zone(bench.job.file.sites[0].id)
    today, _ = local(zone, bench.now)
    if to is None:
        yield f'"{clip(str(decision.data["to"]))}": nobody of this job has that id'
    elif Role.MISTS not in to.roles:
        able = ", ".join(one.id for one in people.values() if Role.MISTS in one.roles)
        yield f'"{to.id}": does not mist; name one who does ({able}), or add the role mists in the job file'
    if last < today:
        yield f"{last}: is over (it is {today}); rounds are given beforehand"
    if (last - first).days >= LONGEST_TURN:
        yield f"{first} to {last}: more than {LONGEST_TURN} days; change the hours in the job file instead"
    away = [span for span in (to.away if to else ()) if span[0] <= last and first <= span[1]]
    if to is not None and away:
        yield f'"{to.id}": is away from {away[0][0]} to {away[0][1]} (job file); name another, or other days'


def _coat(decision: Decision, bench: Bench) -> Iterator[str]:
    face = bench.roots.face_now(str(decision.data["face"])) or str(decision.data["face"])
    name = f"{face}.{decision.data['coat']}"
    verb = str(decision.kind)
    if not str(decision.data.get("why", "")).strip():
        yield f"{name}: no reason is given; it stays in the record, so say it with --reason"
    booking = bench.coat(decision)
    if bench.plan is None or booking is None:
        yield f"{name}: is not in the plan; plan first, or name a coat that is booked"
        return
    if booking.state is State.DONE:
        yield f"{name}: is done; done work never moves, so there is nothing to {verb}"
        return
    worktime = Worktime(bench.job)
    zone = worktime.zone(booking.site)
    day = date.fromisoformat(str(decision.data["day"]))
    today, _ = local(zone, bench.now)
    if day < today:
        yield f"{name}: {day} is over (it is {today}); {verb} it on a day to come"
        return
    if decision.kind is DecisionKind.KEEP:
        if booking.state is State.OFF:
            was = f" (it was {booking.floor_was}, {day} is proposed)" if booking.floor_was else ""
            yield f"{name}: is off its day, so none is kept; say on which it is laid{was}: curing move JOB {name} DAY"
        elif booking.holds:
            yield (
                f"{name}: waits for {', '.join(booking.holds)}, and no decision opens a hold; "
                "have it met first: curing log JOB met HOLD"
            )
        return
    yield from _moved(bench, worktime, booking, day, today, name)


def _moved(bench: Bench, worktime: Worktime, booking: Booking, day: date, today: date, name: str) -> Iterator[str]:
    if (day - today).days > FARTHEST:
        yield f"{name}: {day} is more than {FARTHEST} days ahead; give the face a start: in the job file"
        return
    off = worktime.off(booking.crew, day)
    if off is not None:
        near = day
        while (near - day).days < 60 and worktime.off(booking.crew, near) is not None:
            near += timedelta(days=1)
        yield f"{name}: {day} {_OFF[off.cause]}; the next working day is {near}"
    taken = booking.floor_was if booking.state is State.OFF else None
    ruled = taken or (booking.ready if booking.floor_cause in ("", "hold") else None)
    if ruled is not None and day < ruled:
        by = f"by its rules not before {ruled}" if taken is None else f"before {ruled}, the day it was taken off"
        yield f"{name}: {day} is too early, {by} (rule {booking.reason.rule}); a decision shortens no wait"
