"""Timing one thing several times, with the answer that it must give."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

Answer = tuple[str, bool]
"""What came out, in a few words, and whether it is what is known to be right."""


@dataclass(frozen=True)
class Result:
    """The times of one thing [s], the time it should stay under, and its answer."""

    name: str
    times: tuple[float, ...]
    budget: float | None
    answer: str
    right: bool

    @property
    def median(self) -> float:
        return statistics.median(self.times)

    def row(self) -> dict[str, Any]:
        """Return what is written as JSON."""
        return {
            "name": self.name,
            "median_s": round(self.median, 4),
            "best_s": round(min(self.times), 4),
            "worst_s": round(max(self.times), 4),
            "runs": len(self.times),
            "budget_s": self.budget,
            "answer": self.answer,
            "right": self.right,
        }

    def line(self) -> str:
        """Return a line for a person."""
        budget = f"{self.budget:7.1f}" if self.budget else "      -"
        mark = "" if self.right else "  WRONG"
        return (
            f"{self.name:<38}{self.median:9.3f}{min(self.times):9.3f}{len(self.times):5}{budget}  {self.answer}{mark}"
        )


HEAD = f"{'':<38}{'median s':>9}{'best s':>9}{'runs':>5}{'budget':>7}  answer"


def measured(
    name: str,
    run: Callable[[], Any],
    answer: Callable[[Any], Answer],
    *,
    runs: int,
    budget: float | None = None,
) -> Result:
    """Run something several times; the answer is looked at outside the time taken."""
    times, found, right = [], "", True
    for _ in range(runs):
        start = time.perf_counter()
        came = run()
        times.append(time.perf_counter() - start)
        found, sound = answer(came)
        right = right and sound
    return Result(name, tuple(times), budget, found, right)
