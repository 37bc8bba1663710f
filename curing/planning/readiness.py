"""When a coat may be laid at the earliest, and which of its holds are shut.

A date never opens a hold: a hold is met only because somebody recorded it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta

from curing.model.plan import HoldState, Reason, Value
from curing.planning.expand import CoatWork, FaceWork, HoldWork
from curing.planning.season import dry_from, drying_days

DAY = timedelta(days=1)
SLIDE = 7
"""[d] An unmet hold moves its chain to the first fit day at least so many days on."""


@dataclass(frozen=True, slots=True)
class Laid:
    """A coat with its day, done or booked."""

    coat: CoatWork
    day: date
    done: bool
    conditional: bool


@dataclass(frozen=True, slots=True)
class Floor:
    """Not before this day, because a hold stayed unmet or nobody said that the coat was laid."""

    day: date
    cause: str
    """``hold``, ``unconfirmed``, ``could-not`` or ``weather``."""
    was: date
    """Day for which it was booked."""
    hold: str = ""
    why: str = ""
    """What kept people from laying it."""
    entry: str = ""
    """Key of the entry that says so."""
    stop: Reason | None = None
    """What of the weather took it off its day."""


@dataclass(frozen=True, slots=True)
class Ready:
    """Earliest day by rule, and the rule that bound it."""

    day: date
    reason: Reason


def dried(work: FaceWork, factors: Mapping[str, float]) -> tuple[date, date] | None:
    """Return the days from which the panel is estimated dry, and likely late; None without a fill date."""
    panel = work.wall.panel
    if panel is None or panel.filled is None:
        return None
    likely, late = (drying_days(work.book, panel.thickness, late=late) for late in (False, True))
    return dry_from(panel.filled, likely, factors), dry_from(panel.filled, late, factors)


def hold_state(hold: HoldWork, coat: CoatWork, on: date, today: date, before: Iterable[Laid]) -> HoldState:
    """Return how a hold before ``coat`` stands if the coat is booked on a day.

    A pass that will have lapsed by then counts as unmet. A hold that judges an earlier
    coat can be judged when that coat is done and the waits after it are over: until then
    it is *later*, which does not make the coat conditional; what was recorded before the
    judged coat was laid counts for nothing. A coat kept on a day before those waits are over
    gains nothing by it: its hold is unmet.
    """
    entry, laid = hold.entry, list(before)
    if entry is not None and entry.refused is not None:
        return HoldState.REFUSED
    opens = judged_from(hold, coat, laid) if hold.point.judges else None
    if entry is not None and entry.met is not None and not lapsed(hold, on):
        judged = next((one for one in laid if one.coat.coat.id == hold.point.judges), None)
        if not hold.point.judges or (judged is not None and judged.done and entry.met >= judged.day):
            return HoldState.MET
    if hold.point.judges and (opens is None or today < opens <= on):
        return HoldState.LATER
    return HoldState.UNMET


def lapsed(hold: HoldWork, on: date) -> bool:
    """Tell whether a recorded pass no longer counts on a day."""
    if hold.entry is None or hold.entry.met is None or hold.lapse is None:
        return False
    return on > hold.entry.met + hold.lapse * DAY


def judged_from(hold: HoldWork, coat: CoatWork, laid: Iterable[Laid]) -> date | None:
    """Return the day from which a hold before ``coat`` can be judged, or None while that is open.

    It is the day on which the waits after the coat before it are over.
    """
    before = list(laid)
    if not before or not all(one.done for one in before):
        return None
    if hold.point.judges not in {one.coat.coat.id for one in before}:
        return None
    return max(option.day for option in _waits(coat, before[-1]))


def ready(
    work: FaceWork,
    coat: CoatWork,
    laid: list[Laid],
    others: Mapping[str, date],
    factors: Mapping[str, float],
    floor: Floor | None,
) -> Ready | None:
    """Return the earliest day by rule for the next coat of a face.

    Parameters
    ----------
    work, coat
        The face and its next coat.
    laid
        Its earlier coats with their days, in order.
    others
        Coat id → day, of all coats that have one: what ``after:`` waits for.
    factors
        Month → season factor of panel drying.
    floor
        Where an unmet hold or silence moved the coat.

    Returns
    -------
    Ready or None
        None while a face it waits for has no day yet.

    Notes
    -----
    Laying day is day 0; a wait of n days is over at the start of day n. Worked example:
    base 13 mm on 3 May, 1 d/mm: finish from 16 May; last visit 15 June, 7 dry days: paint 23 June.
    """
    options = _waits(coat, laid[-1]) if laid else _first(work, coat, factors)
    if not laid:
        for ref in work.face.after:
            target = ref if "." in ref else None
            day = others.get(target) if target else _first_coat(ref, others)
            if day is None:
                return None
            other: dict[str, Value] = {"other": ref, "day": day.isoformat()}
            options.append(Ready(day + DAY, Reason("job.after", "after", other, ref)))
    if floor is not None:
        options.append(Ready(floor.day, _floor_reason(floor)))
    return max(options, key=lambda option: option.day)


def _floor_reason(floor: Floor) -> Reason:
    values: dict[str, Value] = {"was": floor.was.isoformat(), "days": SLIDE, "hold": floor.hold}
    if floor.cause == "weather":
        told = floor.stop
        return (
            Reason("plan.weather", "off_weather", values)
            if told is None
            else replace(told, values={**told.values, "was": values["was"]})
        )
    if floor.cause == "could-not":
        return Reason("plan.could_not", "could_not", {**values, "why": floor.why, "entry": floor.entry}, floor.entry)
    return Reason("plan.slide" if floor.cause == "hold" else "plan.unconfirmed", floor.cause, values, floor.hold)


def _first_coat(face: str, others: Mapping[str, date]) -> date | None:
    days = [day for coat, day in others.items() if coat.rpartition(".")[0] == face]
    return min(days, default=None)


def _first(work: FaceWork, coat: CoatWork, factors: Mapping[str, float]) -> list[Ready]:
    options = [Ready(date.min, Reason("plan.first", "first"))]
    if work.face.start is not None:
        values = {"day": work.face.start.isoformat()}
        options.append(Ready(work.face.start, Reason("job.start", "start", values, work.id)))
    read = any(hold.point.lapses and (hold.again or (hold.entry and hold.entry.met)) for hold in coat.holds)
    estimate = None if read else dried(work, factors)
    if estimate is not None and work.wall.panel is not None and work.wall.panel.filled is not None:
        dried_values: dict[str, Value] = {
            "filled": work.wall.panel.filled.isoformat(),
            "thickness": work.wall.panel.thickness,
            "day": estimate[0].isoformat(),
        }
        options.append(Ready(estimate[0], Reason("panel.drying", "panel", dried_values, work.wall.id)))
    return options


def _waits(coat: CoatWork, before: Laid) -> list[Ready]:
    day = before.day
    wait: dict[str, Value] = {
        "days": coat.least_wait,
        "before": before.coat.coat.name,
        "laid": day.isoformat(),
        "mm": before.coat.thickness or 0.0,
    }
    key = "wait_mm" if coat.wait_rule.endswith("per_mm") else "wait"
    options = [Ready(day + coat.least_wait * DAY, Reason(coat.wait_rule, key, wait, before.coat.id))]
    if before.coat.last_day:
        last = day + before.coat.last_day * DAY
        dry: dict[str, Value] = {"last": last.isoformat(), "days": coat.dry_days, "before": before.coat.coat.name}
        rule = f"{coat.coat.id}.dry_days" if coat.dry_days else f"{before.coat.coat.id}.once_to"
        key = "dry" if coat.dry_days else "tended"
        if before.coat.more_days:
            key += "_longer"
            dry |= {"more": before.coat.more_days, "cold_h": before.coat.more_cold, "dry_h": before.coat.more_dry}
        options.append(Ready(last + (coat.dry_days + 1) * DAY, Reason(rule, key, dry, before.coat.id)))
    return options
