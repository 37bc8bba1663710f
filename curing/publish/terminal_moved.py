"""How many things moved, which of them only shifted within their day, and which were laid on it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from zoneinfo import ZoneInfo

from curing.model.plan import Change, Kind, Plan, State
from curing.publish.terminal_layout import wrap
from curing.publish.words import Words

NEAR = 14
"""[d] Other hours of things further ahead are counted, not listed."""


def told(plan: Plan) -> list[Change]:
    """Return the changes as a person takes them: a walk given to somebody else is one, not one gone and one new."""
    gone = {key: one for one in plan.changes if one.new is None and (key := _walk(one))}
    new = {key: one for one in plan.changes if one.old is None and (key := _walk(one))}
    handed = {key: replace(one, old=gone[key].old) for key, one in new.items() if key in gone}
    return [
        handed.get(_walk(one), one) if one.old is None else one
        for one in plan.changes
        if one.new is not None or _walk(one) not in handed
    ]


def _walk(change: Change) -> tuple[str, ...]:
    """Return what tells a walk, whoever takes it: its day, part of the day and faces; nothing for other things."""
    return (*change.id.split(".")[:2], *sorted(change.faces)) if change.kind is Kind.ROUND else ()


def shifted(change: Change) -> bool:
    """Tell whether something only got other hours, or a walk other faces: same day, same people, same state."""
    old, new = change.old, change.new
    if old is None or new is None or (old.who, old.state) != (new.who, new.state):
        return False
    if change.reason.key.startswith("weather_"):
        return False  # what the weather makes of a walk is told whole
    return _same_day(change) and not change.drags


def laid(change: Change) -> bool:
    """Tell whether a coat was recorded as done on the day it was booked for, and nothing moved with it."""
    new = change.new
    return new is not None and new.state is State.DONE and _same_day(change) and not change.drags


def far(change: Change, plan: Plan) -> bool:
    """Tell whether other hours of something lie too far ahead to be told one by one."""
    return change.new is not None and change.new.start > plan.as_of + timedelta(NEAR)


def near_to(plan: Plan, zone: str) -> date:
    """Return the last day that is near."""
    return (plan.as_of + timedelta(NEAR)).astimezone(ZoneInfo(zone)).date()


def _same_day(change: Change) -> bool:
    zone = ZoneInfo(change.zone)
    days = {at.start.astimezone(zone).date() for at in (change.old, change.new) if at is not None}
    return change.old is not None and len(days) == 1


def moved_line(key: str, plan: Plan, words: Words) -> list[str]:
    """Return the sentences that count what moved; coats laid on their day and shifts within a day stand apart."""
    changes = told(plan)
    done = sum(laid(one) for one in changes)
    small = sum(shifted(one) and not far(one, plan) for one in changes)
    rest = sum(not laid(one) and not shifted(one) for one in changes)
    lines = wrap(words.count("terminal.laid", done, parent=plan.parent)) if done else []
    lines += wrap(words.count(key, rest, parent=plan.parent)) if rest or not done else []
    return [*lines, *wrap(words.count("terminal.shifted", small))] if small else lines
