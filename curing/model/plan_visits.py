"""A visit: one face on one walk. Part of :mod:`curing.model.plan`."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from curing.model.plan_faces import LATER
from curing.model.visit_weather import NO_WATER, Advice, Cause, VisitWeather


class Slot(StrEnum):
    """Part of the day in which a round is walked."""

    EARLY = "early"
    MIDDAY = "midday"
    LATE = "late"


class Care(StrEnum):
    """What is done to a face on a visit."""

    MIST = "mist"
    AIR = "air"
    """Windows opened and the drying log written (clay inside)."""
    LOOK = "look"
    """Midday look at a face that has sun and no cloth."""


@dataclass(frozen=True, slots=True)
class Visit:
    """One face on one round. ``id`` is face + coat + date + slot.

    ``day`` counts from the laying day, which is day 0; ``minutes`` [min] and
    ``water`` [L] are estimates from the face's area.
    """

    id: str
    face: str
    coat: str
    care: Care
    day: int
    last_day: int
    times_a_day: int
    minutes: int
    water: float
    conditional: bool = False
    cloth: bool = False
    """Cloth stands before this face on that day."""
    sun_from: str = ""
    """Local time "HH:MM" from which the face is in direct sun that day, or empty."""
    sun_to: str = ""
    weather: VisitWeather | None = field(default=None, metadata=LATER)
    """What the weather makes of it; None: nothing."""

    @property
    def advice(self) -> str:
        """Return what the weather advises, or nothing."""
        return "" if self.weather is None else self.weather.advice.value

    @property
    def dry(self) -> bool:
        """Tell whether it is made without water: the face is looked at."""
        return self.weather is not None and self.weather.advice in NO_WATER

    @property
    def added(self) -> bool:
        """Tell whether it stands for the weather alone, over and above those its coat asks for."""
        extra = self.weather is not None and self.weather.advice is Advice.EXTRA
        moved = self.weather is not None and self.weather.cause is Cause.MOVED
        return self.care is Care.MIST and (extra or moved)
