"""Which entries of the record hold: those that no correction names, in the order in which they happened.

The order in which entries came in has no say: a phone without signal sends its ticks hours late.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from curing.model.record import RecordEntry, RecordKind
from curing.model.record_data import Correction, said


@dataclass(frozen=True, slots=True)
class Standing:
    """Entries that hold, and those that were corrected."""

    entries: tuple[RecordEntry, ...]
    """By time, then key; what a correction says instead stands under the correction's key."""
    corrected: tuple[tuple[RecordEntry, RecordEntry], ...]
    """(entry, the correction that names it)."""


def effective(entries: Iterable[RecordEntry]) -> Standing:
    """Return what of the record holds.

    A correction may itself be corrected. Withdrawn, it no longer counts, and what it named holds again;
    with something instead, that takes its place, and what it named stays corrected.

    Examples
    --------
    >>> from datetime import UTC, datetime
    >>> at = datetime(2027, 5, 3, tzinfo=UTC)
    >>> tick = RecordEntry("a", at, at, "saar", RecordKind.MISTED, "1-out", {"coat": "base"})
    >>> wrong = RecordEntry("b", at, at, "saar", RecordKind.CORRECTION, "1-out", {"corrects": "a"})
    >>> [one.key for one in effective([wrong, tick]).entries]
    []
    """
    listed = list(entries)
    corrections: dict[str, list[tuple[RecordEntry, Correction]]] = {}
    for entry in listed:
        if entry.kind is RecordKind.CORRECTION:
            data = said(entry)
            assert isinstance(data, Correction)
            corrections.setdefault(data.corrects, []).append((entry, data))
    if not corrections:
        return Standing(tuple(sorted(listed, key=lambda one: one.order)), ())
    void: dict[str, RecordEntry | None] = {}

    def voided(key: str, seen: frozenset[str]) -> RecordEntry | None:
        """Return the correction that makes an entry count no longer; the last one said, where there are several."""
        if key not in void:
            named = [
                one for one, _ in corrections.get(key, ()) if one.key not in seen and stands(one, seen | {one.key})
            ]
            void[key] = max(named, key=lambda one: one.order, default=None)
        return void[key]

    def stands(correction: RecordEntry, seen: frozenset[str]) -> bool:
        """Tell whether a correction keeps what it names from holding: not withdrawn, though perhaps replaced."""
        by = voided(correction.key, seen)
        return by is None or replaced[by.key]

    def settle(key: str) -> None:
        """Find what voids an entry from the end of its corrections on: a long chain is deeper than calls may go."""
        path = {key: None}
        while path:
            last = next(reversed(path))
            later = (one.key for one, _ in corrections.get(last, ()) if one.key not in void and one.key not in path)
            if (below := next(later, None)) is not None:
                path[below] = None
            else:
                voided(last, frozenset((last,)))
                del path[last]

    replaced = {one.key: data.instead is not None for named in corrections.values() for one, data in named}
    hold: list[RecordEntry] = []
    corrected: list[tuple[RecordEntry, RecordEntry]] = []
    for entry in listed:
        settle(entry.key)
        by = voided(entry.key, frozenset((entry.key,)))
        if by is not None:
            corrected.append((entry, by))
        elif entry.kind is not RecordKind.CORRECTION:
            hold.append(entry)
    # Where two people correct one entry, what the last one says holds.
    for target, named in corrections.items():
        settle(target)
        last = void.get(target) or voided(target, frozenset((target,)))
        for entry, data in named:
            if last is None or entry.key != last.key or voided(entry.key, frozenset((entry.key,))) is not None:
                continue
            if (new := data.instead) is not None:
                hold.append(
                    RecordEntry(
                        entry.key, new.at, entry.received, entry.by, new.kind, new.face, dict(new.data), entry.seq
                    )
                )
    hold.sort(key=lambda one: one.order)
    return Standing(tuple(hold), tuple(sorted(corrected, key=lambda pair: pair[0].order)))
