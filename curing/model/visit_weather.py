"""What the weather makes of a visit, as a plan keeps it. Part of :mod:`curing.model.plan`."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from curing.model.kinds import KindName


class Advice(StrEnum):
    """What is done about a visit."""

    EXTRA = "extra"
    """One visit more that day."""
    SHADE = "shade"
    """Cloth up first, and a visit more."""
    MIDDAY = "midday"
    """Mist before noon: frost moved the late visit there."""
    LOOK = "look"
    """Look and feel first: the visit may need no water."""
    FROST = "frost"
    """No water in the evening: mist before noon instead."""
    COLD = "cold"
    """No water: too cold; cover it, the cure rests."""


class Cause(StrEnum):
    """Why."""

    DEMAND = "demand"
    LITTLE = "little"
    MOVED = "moved"
    NIGHT = "night"
    CLEAR_NIGHT = "clear_night"
    COLD = "cold"


NO_WATER = (Advice.FROST, Advice.COLD)
"""Advice that holds the water of a visit back."""


@dataclass(frozen=True, slots=True)
class VisitWeather:
    """Advice about one visit, with the figures with which it was given first.

    A later forecast that comes to the same advice leaves them as they are, so that nothing is told twice.
    """

    advice: Advice
    cause: Cause
    rule: str
    """Id of the rule with the limit."""
    value: float
    """What is held against the limit, in SI."""
    limit: float
    start: datetime
    """First of the hours that were looked at; for frost, of those that are too cold."""
    end: datetime
    look: bool = False
    """The mist that frost moved begins with a look."""

    @property
    def kind(self) -> KindName:
        """Kind of quantity of value and limit."""
        return "temperature_c" if self.advice in NO_WATER or self.cause is Cause.MOVED else "volume_l_per_m2"
