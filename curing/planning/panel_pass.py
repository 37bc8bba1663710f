"""Whether the readings of a panel pass: three heights a side, both sides, the worst governs.

Every probe reading at or under the rule ``panel.wettest``, 100 mm deep and once at mid-depth on each
side, none older than ``panel.lapse``. Weighings are another measure (straw and clay together) and
never come in here.

References
----------
.. [1] IRC Appendix AR, AR104.1.1 (readings at 4 in depth from each side before finishing either;
   from memory, unverified).
.. [2] California Health and Safety Code 18944.35(d): 20 % of the total, wet, mass.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import get_args

from curing.model.record_data import Band, Probe

BANDS: tuple[Band, ...] = get_args(Band)
DEPTH = 100.0
"""[mm] Depth of a reading, 4 in."""
SLACK = 5.0
"""[mm] How far a depth may be off (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Read:
    """One reading at its place and time; ``side`` is ``out`` or ``in``."""

    at: datetime
    side: str
    probe: Probe
    key: str


@dataclass(frozen=True, slots=True)
class Judgement:
    """What readings come to.

    Parameters
    ----------
    missing
        Places without a reading that counts, in words of (side, band or ``mid``).
    wet
        Readings above the limit that nothing later at their place has replaced, worst first.
    oldest
        Instant of the oldest reading that counts; None without one.
    """

    missing: tuple[tuple[str, str], ...]
    wet: tuple[Read, ...]
    oldest: datetime | None

    @property
    def passes(self) -> bool:
        """Tell whether a person may open the hold on them."""
        return not self.missing and not self.wet and self.oldest is not None


def judge(
    reads: Iterable[Read],
    at: datetime,
    sides: Collection[str],
    *,
    thickness: float | None,
    wettest: float,
    lapse: int,
    since: datetime | None = None,
) -> Judgement:
    """Judge the readings of one panel at an instant.

    Parameters
    ----------
    reads
        Readings of the panel, in any order; those after ``at`` do not count yet.
    sides
        Sides that are bare and must be read.
    thickness
        Of the panel [mm]; None: unknown, then only a reading called mid-depth is one.
    wettest
        Limit [%, wet basis].
    lapse
        Days for which a reading counts.
    since
        Rain on the panel, or the moment it was set in the frame: earlier readings do not count.

    Notes
    -----
    At one place (side, third of the height, depth) the last reading stands for the earlier ones; one that is
    wet goes on counting until that place is read again, however long ago it was, also on a side that need
    not be read. Half of a panel under 200 mm is less than 100 mm: there mid-depth stands for both. Where no
    reading counts, nothing passes.
    """
    last: list[Read] = []
    for one in sorted(reads, key=lambda read: (read.at, read.key)):
        if one.at <= at and (since is None or one.at > since):
            last = [before for before in last if not _same_place(before, one, thickness)] + [one]
    fresh = [one for one in last if one.side in sides and one.at >= at - timedelta(days=lapse)]
    missing: list[tuple[str, str]] = []
    for side in sorted(sides, reverse=True):
        here = [one.probe for one in fresh if one.side == side]
        counted = {p.band for p in here if deep_enough(p, thickness, alone=len(sides) == 1)}
        missing += [(side, band) for band in BANDS if band not in counted]
        if not any(is_mid(probe, thickness) for probe in here):
            missing.append((side, "mid"))
    wet = sorted((one for one in last if one.probe.wet > wettest + 1e-9), key=lambda one: -one.probe.wet)
    return Judgement(tuple(missing), tuple(wet), min((one.at for one in fresh), default=None))


def _same_place(one: Read, other: Read, thickness: float | None) -> bool:
    """Tell whether two probes went to the same place."""
    if (one.side, one.probe.band) != (other.side, other.probe.band):
        return False
    if is_mid(one.probe, thickness) and is_mid(other.probe, thickness):
        return True
    return abs(one.probe.depth - other.probe.depth) <= SLACK


def is_mid(probe: Probe, thickness: float | None) -> bool:
    """Tell whether a reading is one at mid-depth."""
    return probe.mid or (thickness is not None and abs(probe.depth - thickness / 2) <= SLACK)


def deep_enough(probe: Probe, thickness: float | None, *, alone: bool = False) -> bool:
    """Tell whether a reading is deep enough to count for its height, and not so deep that it is one of the far side.

    Where one side alone can be read (``alone``), it is read deeper.
    """
    least = DEPTH if thickness is None else min(DEPTH, thickness / 2)
    most = math.inf if thickness is None or alone else max(DEPTH, thickness / 2)
    return probe.mid or least - SLACK <= probe.depth <= most + SLACK
