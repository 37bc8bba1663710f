"""Judges by itself whether a hold may be open, from raw entries alone: nothing of the planner is asked.

Slow and plain: each condition is looked up in the whole record. It says which holds may *not* be open; it does
not say which must be.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

from curing.model.record import RecordEntry, RecordKind

DECIDE = {"ida", "ines"}
"""Lead and architect of the court."""
NEEDS = {"base-dry": ("base", ["hollows"]), "paint-tests": ("finish", ["water-drop", "dusting"])}
"""Hold of a face → the coat it judges, and its tests."""
SLACK = 5.0
"""[mm]"""


def standing(record: Sequence[RecordEntry]) -> list[RecordEntry]:
    """Return what holds: the last word of each chain of corrections."""
    corrections = [one for one in record if one.kind is RecordKind.CORRECTION]

    def corrected(key: str) -> bool:
        named = [one for one in corrections if one.data["corrects"] == key]
        return any(not withdrawn(one) for one in named)

    def withdrawn(one: RecordEntry) -> bool:
        """Tell whether a correction was itself taken back, and nothing put in its place."""
        by = [other for other in corrections if other.data["corrects"] == one.key and not withdrawn(other)]
        return bool(by) and not any("instead" in other.data for other in by)

    found = []
    for one in record:
        if corrected(one.key):
            continue
        if one.kind is not RecordKind.CORRECTION:
            found.append(one)
        elif "instead" in one.data:
            new = one.data["instead"]
            at = datetime.fromisoformat(new["at"])
            found.append(
                RecordEntry(one.key, at, one.received, one.by, RecordKind(new["kind"]), new.get("face"), new["data"])
            )
    return found


def wet(data: Any) -> float:
    value = float(data["value"])
    return value if data["basis"] == "wet" else 100 * value / (100 + value)


def probes(entries: Sequence[RecordEntry], wall: str) -> list[RecordEntry]:
    return [
        one
        for one in entries
        if one.kind is RecordKind.READING and "band" in one.data and (one.face or "").rpartition("-")[0] == wall
    ]


def shuts_panel(one: RecordEntry, wall: str) -> bool:
    """Tell whether an entry shuts the hold of a panel, whatever it was."""
    here = (one.face or "").rpartition("-")[0] == wall
    if one.kind is RecordKind.HOLD_REFUSED:
        return one.data["hold"] == "panel-dry" and one.data.get("wall") == wall
    if one.kind is RecordKind.FINISHED:
        return one.data["task"] == "set" and one.data.get("wall") == wall
    return here and one.kind is RecordKind.READING and "band" in one.data and wet(one.data) > 20.0 + 1e-6


def side_of(one: RecordEntry) -> str:
    return (one.face or "").rpartition("-")[2]


def bare(entries: Sequence[RecordEntry], wall: str, when: datetime) -> set[str]:
    coated = {
        side_of(one)
        for one in entries
        if one.kind is RecordKind.FINISHED
        and one.data["task"] == "base"
        and one.at <= when
        and (one.face or "").rpartition("-")[0] == wall
    }
    return {"out", "in"} - coated


def rained(one: RecordEntry, entries: Sequence[RecordEntry], wall: str) -> bool:
    here = one.kind is RecordKind.RAIN_ON_IT and (one.face or "").rpartition("-")[0] == wall
    return here and side_of(one) in bare(entries, wall, one.at)


def meter_was_true(entries: Sequence[RecordEntry], meter: str, known: datetime) -> bool:
    checks = [one for one in entries if one.kind is RecordKind.TEST and one.data.get("meter") == meter]
    return any(abs(one.data["read"] - one.data["dried"]) <= 2.0 + 1e-6 for one in checks if one.at <= known)


def panel_passes(entries: Sequence[RecordEntry], wall: str, when: datetime, thickness: float) -> bool:
    """Tell whether there is a full set of dry readings before an instant."""
    gone = [one.at for one in entries if one.at <= when and (rained(one, entries, wall) or _set(one, wall))]
    since = max(gone, default=datetime.min.replace(tzinfo=when.tzinfo))
    there = [one for one in probes(entries, wall) if since < one.at <= when]
    sides = bare(entries, wall, when)
    there = [one for one in there if side_of(one) in sides]
    for one in there:
        if wet(one.data) <= 20.0 + 1e-6:
            continue
        again = [
            other
            for other in there
            if (other.at, other.key) > (one.at, one.key)
            and (other.face, other.data["band"]) == (one.face, one.data["band"])
            and (
                abs(other.data["depth"] - one.data["depth"]) <= SLACK
                or (_mid(one, thickness) and _mid(other, thickness))
            )
        ]
        if not again:
            return False
    fresh = [
        one for one in there if one.at >= when - timedelta(days=7) and meter_was_true(entries, one.data["meter"], when)
    ]
    least = min(100.0, thickness / 2) - SLACK
    for side in sides:
        here = [one for one in fresh if side_of(one) == side]
        deep = {one.data["band"] for one in here if one.data["depth"] >= least}
        if deep != {"low", "middle", "top"} or not any(_mid(one, thickness) for one in here):
            return False
    return bool(sides)


def _mid(one: RecordEntry, thickness: float) -> bool:
    return bool(one.data.get("mid")) or abs(one.data["depth"] - thickness / 2) <= SLACK


def _set(one: RecordEntry, wall: str) -> bool:
    return one.kind is RecordKind.FINISHED and one.data["task"] == "set" and one.data.get("wall") == wall


def panel_may_be_open(record: Sequence[RecordEntry], wall: str, thickness: float) -> bool:
    """Tell whether the word of who decides came after full readings, and nothing shut it afterwards."""
    entries = standing(record)
    words = [
        one
        for one in entries
        if one.kind is RecordKind.HOLD_MET
        and one.by in DECIDE
        and (one.data["hold"], one.data.get("wall")) == ("panel-dry", wall)
    ]
    return any(
        panel_passes(entries, wall, word.at, thickness)
        and not any(one.at > word.at and (shuts_panel(one, wall) or rained(one, entries, wall)) for one in entries)
        for word in words
    )


def face_may_be_open(record: Sequence[RecordEntry], hold: str, face: str) -> bool:
    """Tell the same of a hold of tests."""
    entries = [one for one in standing(record) if one.face == face]
    coat, tests = NEEDS[hold]
    laid = [one.at for one in entries if one.kind is RecordKind.FINISHED and one.data["task"] == coat]
    if not laid:
        return False
    trials = [one for one in entries if one.kind is RecordKind.TEST and one.data.get("test") in tests]
    for word in entries:
        if word.kind is not RecordKind.HOLD_MET or word.by not in DECIDE or word.data["hold"] != hold:
            continue
        before = sorted((one for one in trials if min(laid) <= one.at <= word.at), key=lambda one: (one.at, one.key))
        last = {one.data["test"]: one.data["passed"] for one in before}
        failed = any(one.at > word.at and not one.data["passed"] for one in trials)
        refused = any(
            one.at > word.at and one.kind is RecordKind.HOLD_REFUSED and one.data["hold"] == hold for one in entries
        )
        if all(last.get(name) for name in tests) and not failed and not refused:
            return True
    return False
