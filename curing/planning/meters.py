"""Whether a moisture meter's readings count: it was found to read true against a dried sample."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from curing.model.record import RecordEntry, RecordKind
from curing.model.record_data import MeterCheck, said

SLACK = 1e-9
"""Floats may be off by so much; no rule is."""


@dataclass(frozen=True, slots=True)
class Meters:
    """The checks of each meter, in time order."""

    checks: Mapping[str, tuple[tuple[RecordEntry, float], ...]]
    """Meter → (entry, points of moisture by which it was off)."""

    def counts(self, meter: str, read: datetime, known: datetime, within: float) -> bool:
        """Tell whether a reading counts by what is known at an instant.

        Parameters
        ----------
        read
            When the meter was read.
        known
            Checks after this instant have no say.
        within
            Most by which it may be off (rule ``panel.meter_within``).

        Notes
        -----
        It was found true once, before or after the reading; and between the reading and the nearest checks
        on either side of it, it was not found false: what a meter showed before it was mended counts never.
        """
        listed = [(entry.at, off <= within + SLACK) for entry, off in self.checks.get(meter, ()) if entry.at <= known]
        before = [true for at, true in listed if at <= read]
        after = [true for at, true in listed if at > read]
        return any(true for _, true in listed) and all(after) and (not before or before[-1])

    def entries(self) -> list[RecordEntry]:
        """Return every check."""
        return [entry for listed in self.checks.values() for entry, _ in listed]

    def false(self, within: float) -> list[RecordEntry]:
        """Return the checks in which a meter was found to be off by more."""
        return [entry for listed in self.checks.values() for entry, off in listed if off > within + SLACK]


def meters_of(entries: Iterable[RecordEntry]) -> Meters:
    """Return the meters as the checks among some entries leave them.

    Examples
    --------
    >>> from datetime import UTC
    >>> at = datetime(2027, 5, 3, tzinfo=UTC)
    >>> data = {"meter": "probe", "read": 12.4, "dried": 12.0}
    >>> meters = meters_of([RecordEntry("k", at, at, "bo", RecordKind.TEST, None, data)])
    >>> meters.counts("probe", at, at, 2.0), meters.counts("other", at, at, 2.0)
    (True, False)
    """
    found: dict[str, list[tuple[RecordEntry, float]]] = defaultdict(list)
    for entry in sorted((one for one in entries if one.kind is RecordKind.TEST), key=lambda one: one.order):
        data = said(entry)
        if isinstance(data, MeterCheck):
            found[data.meter].append((entry, abs(data.wet - data.dried)))
    return Meters({meter: tuple(listed) for meter, listed in found.items()})
