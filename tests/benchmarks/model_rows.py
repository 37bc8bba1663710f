"""A row of a table of figures: as calibrated, and as they come out of this code."""

from __future__ import annotations

import re
from dataclasses import dataclass


@dataclass(frozen=True)
class Row:
    """Figures as calibrated, and as they come out."""

    table: str
    name: str
    known: str
    came: tuple[float, ...]

    @property
    def cells(self) -> list[tuple[str, float]]:
        """Each figure as calibrated, and as it came out."""
        return list(zip(re.split(r"[/ ]+", self.known), self.came, strict=True))

    @property
    def off(self) -> list[str]:
        """Return what differs by more than the rounding of the figure as it was written."""
        return [f"{known} is {came:.4g}" for known, came in self.cells if not _rounds(known, came)]

    @property
    def shown(self) -> str:
        """What came out, rounded alike."""
        left = iter(self.cells)
        return re.sub(r"[^/ ]+", lambda _: _as(*next(left)), self.known)


def decimals(known: str) -> int:
    """Digits after the point of a figure as it was written."""
    return len(known.partition(".")[2])


def _rounds(known: str, came: float) -> bool:
    return abs(float(known) - came) <= 0.5 * 10.0 ** -decimals(known) + 1e-9


def _as(known: str, came: float) -> str:
    text = f"{came:.{decimals(known)}f}"
    return text.removeprefix("0") if known.startswith(".") else text
