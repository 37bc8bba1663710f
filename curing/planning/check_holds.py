"""Whether hold points are kept: only what the job file records as met lets a coat be firm."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from enum import StrEnum

from curing.model.job import HoldMet
from curing.model.plan import Hold, HoldState, Kind, State
from curing.model.system import HoldPoint, Scope
from curing.planning.check_view import Fault, Laying, View, least_wait, proposed

Held = dict[tuple[str, str], list[Hold]]
"""Hold point and face (none: the whole job) → holds of the plan."""


class Shut(StrEnum):
    """Why a hold point does not let a coat be firm."""

    UNMET = "is not recorded as met"
    REFUSED = "is refused"
    LAPSED = "has lapsed by then"
    LATER = "can't be judged yet"


def check_holds(view: View) -> Iterator[Fault]:
    """Yield holds overridden, lapsed, invented or forgotten, and coats conditional for nothing.

    A hold that can't be judged yet (the coat it judges is not laid, or its
    wait not over) keeps nobody from planning on it: the coat behind it may be
    firm or conditional until that day.
    """
    held: Held = {}
    for hold in view.plan.holds:
        yield from _invented(view, hold)
        for face in hold.faces or ("",):
            held.setdefault((hold.point, face), []).append(hold)
    coats = [booking for booking in view.bookings if booking.kind is Kind.COAT]
    conditional = {b.faces[0] for b in coats if b.state is State.CONDITIONAL or proposed(b)}
    for face, layings in view.layings.items():
        behind, may_be = None, bool(conditional & _waited_for(view, face))
        for laying in layings:
            if laying.booking is None:
                continue
            if proposed(laying.booking):
                may_be = True  # nobody knows its day: what comes after it is in doubt; see check_weather
            shut = {point: why for point in laying.coat.holds if (why := _shut(view, laying, point))}
            barring: dict[str, Shut] = {point: why for point, why in shut.items() if why is not Shut.LATER}
            may_be = may_be or bool(shut)
            yield from _state(laying, barring, behind, may_be=may_be)
            yield from _listed(view, laying, shut, held)
            behind = behind or next(((laying.id, why) for why in barring.values()), None)


def _waited_for(view: View, face: str) -> set[str]:
    """Return the faces that must be begun before this one, and those before them."""
    found: set[str] = set()
    todo = [face]
    while todo:
        for reference in view.faces[todo.pop()][1].after:
            other = reference.partition(".")[0]
            if other in view.faces and other not in found:
                found.add(other)
                todo.append(other)
    return found


def _rule(why: Shut) -> str:
    return "plan.hold_lapsed" if why is Shut.LAPSED else "plan.hold_unmet"


def _state(
    laying: Laying, barring: dict[str, Shut], behind: tuple[str, Shut] | None, *, may_be: bool
) -> Iterator[Fault]:
    """Yield a coat that is firm although a hold bars it or one before it, or conditional for nothing."""
    if laying.booking is not None and laying.booking.state is State.FIRM:
        for point, why in barring.items():
            text = f"is firm on {laying.day}, but hold {point} {why}; a date never opens a hold"
            yield Fault(_rule(why), laying.id, text)
        if behind and not barring:
            text = f"is firm on {laying.day}, but waits behind a hold of {behind[0]}; make it conditional"
            yield Fault(_rule(behind[1]), laying.id, text)
    elif not may_be:
        text = f"is conditional on {laying.day}, but every hold before it is met; make it firm"
        yield Fault("plan.no_hold", laying.id, text)


def _recorded(view: View, face: str, point: HoldPoint) -> HoldMet | None:
    """Return what the job file records of a hold: the nearest of face, wall and job in its scope."""
    wall, about = view.faces[face]
    levels = {
        Scope.JOB: (view.job.file.holds,),
        Scope.WALL: (wall.holds, view.job.file.holds),
        Scope.FACE: (about.holds, wall.holds, view.job.file.holds),
    }[point.scope]
    return next((level[point.id] for level in levels if point.id in level), None)


def _met(entry: HoldMet | None) -> date | None:
    """Return the day on which a hold was met, if it was not refused since."""
    if entry is None or entry.met is None:
        return None
    return None if entry.refused and entry.refused >= entry.met else entry.met


def _shut(view: View, laying: Laying, name: str) -> Shut | None:
    """Return why a hold keeps a coat from being firm on its day, or None if it is met."""
    book = view.book(laying.face)
    point = book.system.hold(name)
    entry = _recorded(view, laying.face, point)
    if not _judged(view, laying, point):
        return Shut.LATER
    met = _met(entry)
    judged = next((x for x in view.layings[laying.face] if x.coat.id == point.judges), None)
    if met is None or (judged and met < judged.day):
        return Shut.REFUSED if entry and entry.refused else Shut.UNMET
    if point.lapses and met + timedelta(int(book.value(point.lapses))) < laying.day:
        return Shut.LAPSED
    return None


def _judged(view: View, laying: Laying, point: HoldPoint) -> bool:
    """Tell whether a hold can be judged when the plan is made, or has been."""
    if not point.judges:
        return True
    judged = next((x for x in view.layings[laying.face] if x.coat.id == point.judges), None)
    if judged is None or not judged.done:
        # A coat under one that is done was laid as well, though nobody said when.
        coats = [coat.id for coat in view.book(laying.face).system.coats]
        done = view.faces[laying.face][1].done
        return any(coat in done for coat in coats[coats.index(point.judges) :])
    if _met(_recorded(view, laying.face, point)):
        return True
    return view.today(laying.face) >= judged.day + timedelta(_wait_behind(view, laying, judged))


def _wait_behind(view: View, laying: Laying, judged: Laying) -> int:
    """Return the days after a judged coat before which the coat behind its hold can't come."""
    book = view.book(laying.face)
    wait = least_wait(book, laying.coat, judged.coat)[0]
    tended = view.tending(laying.face, judged.coat)[1]
    if tended:
        wait = max(wait, tended + int(book.value(f"{laying.coat.id}.dry_days")) + 1)
    return wait


def _listed(view: View, laying: Laying, shut: dict[str, Shut], held: Held) -> Iterator[Fault]:
    """Yield holds of a coat that the plan forgot, or that its conditional booking does not name."""
    conditional = laying.booking is not None and laying.booking.state is State.CONDITIONAL
    for name in laying.coat.holds:
        point = view.book(laying.face).system.hold(name)
        shown = held.get((name, laying.face), []) or (held.get((name, ""), []) if point.scope is Scope.JOB else [])
        named = laying.booking is not None and any(hold.id in laying.booking.holds for hold in shown)
        if not shown:
            yield Fault("plan.hold_missing", laying.id, f"waits for hold {name}, which the plan does not show")
        elif conditional and shut.get(name, Shut.LATER) is not Shut.LATER and not named:
            yield Fault("plan.hold_missing", laying.id, f"does not name hold {name}, which {shut[name]}")
        elif name not in shut and not point.lapses and shown[0].state is not HoldState.MET:
            text = f"is recorded as met before {laying.id}, but called {shown[0].state}; nothing recorded is lost"
            yield Fault("plan.hold_missing", shown[0].id, text)


def _invented(view: View, hold: Hold) -> Iterator[Fault]:
    """Yield a hold that the plan calls met and the job file does not."""
    if hold.state is not HoldState.MET:
        return
    for face in hold.faces or view.faces:
        if face not in view.faces:
            continue
        system = view.book(face).system
        point = next((point for point in system.holds if point.id == hold.point), None)
        if point and (met := _met(_recorded(view, face, point))) != hold.met:
            text = f"is called met on {hold.met}, the job file says {met or 'nothing'} for {face}"
            yield Fault("plan.hold_invented", hold.id, f"{text}; only a record opens a hold")
            return
