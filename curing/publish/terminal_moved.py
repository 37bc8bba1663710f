"""How many things moved, and which of them only shifted within their day."""

from __future__ import annotations

from zoneinfo import ZoneInfo

from curing.model.plan import Change, Plan
from curing.publish.terminal_layout import wrap
from curing.publish.words import Words


def shifted(change: Change) -> bool:
    """Tell whether something only got other hours, or a walk other faces: same day, same people, same state."""
    old, new = change.old, change.new
    if old is None or new is None or (old.who, old.state) != (new.who, new.state):
        return False
    zone = ZoneInfo(change.zone)
    same_day = old.start.astimezone(zone).date() == new.start.astimezone(zone).date()
    return same_day and not change.drags


def moved_line(key: str, plan: Plan, words: Words) -> list[str]:
    """Return the sentence that counts what moved; shifts within a day are counted apart."""
    small = sum(shifted(one) for one in plan.changes)
    lines = wrap(words.count(key, len(plan.changes) - small, parent=plan.parent))
    return [*lines, *wrap(words.count("terminal.shifted", small))] if small else lines
