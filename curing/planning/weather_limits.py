"""What an open coat asks of the weather, as numbers: its rules, read once for a face.

A coat system that holds none of these rules asks nothing: its coats are never held by weather.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from curing.model.kinds import KindName
from curing.model.system import RuleBook, Work
from curing.planning.expand import CoatWork, FaceWork

FIRST_DAY, LAST_DAY = 24.0, 168.0
"""Hours ahead up to which the first margin of a forecast holds, and from which the last [h]."""
RISING = 2
"""Air is falling if so many hours on it is colder than at the start [h] (common practice, no source)."""
DAY = 24


class What(StrEnum):
    """What of the weather a rule is about."""

    COLD = "cold"
    HOT = "hot"
    FALLING = "falling"
    HUMID = "humid"
    RAIN_BEFORE = "rain_before"
    RAIN = "rain"
    FROST_SURE = "frost_sure"
    FROST = "frost"
    DEMAND = "demand"
    SUN = "sun"


KINDS: Mapping[What, KindName] = {
    What.COLD: "temperature_c",
    What.HOT: "temperature_c",
    What.FALLING: "temperature_c",
    What.HUMID: "percent",
    What.RAIN_BEFORE: "volume_l_per_m2",
    What.RAIN: "volume_l_per_m2",
    What.FROST_SURE: "temperature_c",
    What.FROST: "temperature_c",
    What.DEMAND: "volume_l_per_m2",
    What.SUN: "irradiance_w_m2",
}
"""Kind of quantity of a value and its limit, for the sentence."""


@dataclass(frozen=True, slots=True)
class Margin:
    """How far a forecast of the lowest temperature may be off [K], by how far ahead it looks."""

    first: float = 0.0
    """On its first day."""
    last: float = 0.0
    """On its seventh and later."""

    def ahead(self, hours: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the margin of hours so far ahead [h]; none for hours that are past.

        Examples
        --------
        >>> Margin(1.7, 3.3).ahead(np.array([-1.0, 0.0, 24.0, 96.0, 168.0, 240.0])).tolist()
        [0.0, 1.7, 1.7, 2.5, 3.3, 3.3]
        """
        share = np.clip((hours - FIRST_DAY) / (LAST_DAY - FIRST_DAY), 0.0, 1.0)
        return np.where(hours < 0.0, 0.0, self.first + share * (self.last - self.first))


@dataclass(frozen=True, slots=True)
class Limits:
    """What one coat asks of the weather; None: nothing of that kind.

    Parameters
    ----------
    coat
        What its rules begin with.
    soft
        What only warns: the sun on paint.
    window
        Least hours in a row for laying [h].
    least, most, spare
        Air while laying [°C], and how far above the least it may be falling [K].
    humid
        Most humidity while laying [%].
    before, after, dry
        Hours without rain before laying and after closing [h], and what is no rain [L/m2].
    sure, frost_to, frost, margin
        Hours from laying without frost even with the margin, and as told [h]; what is frost [°C].
    demand
        Most that the air takes from a bare face in 24 h [L/m2].
    sun, shaded
        Most direct sun [W/m2], from laying to so many hours after closing [h].
    """

    coat: str
    soft: frozenset[What] = frozenset()
    window: int = 0
    least: float | None = None
    most: float | None = None
    spare: float | None = None
    humid: float | None = None
    before: int = 0
    after: int | None = None
    dry: float = 0.1
    sure: int = 0
    frost_to: int = 0
    frost: float = 0.0
    margin: Margin = Margin()
    demand: float | None = None
    sun: float | None = None
    shaded: int = 0

    @property
    def asks(self) -> bool:
        """Whether it asks anything of the weather beyond the air while laying."""
        return self.window > 0

    def rule(self, what: What) -> str:
        """Return the id of the rule that is about this."""
        return f"{self.coat}.{_RULES[what]}"


_RULES: Mapping[What, str] = {
    What.COLD: "air_least",
    What.HOT: "air_most",
    What.FALLING: "air_spare",
    What.HUMID: "humid_most",
    What.RAIN_BEFORE: "rain_before",
    What.RAIN: "rain_after",
    What.FROST_SURE: "frost_sure",
    What.FROST: "frost_to",
    What.DEMAND: "demand_most",
    What.SUN: "sun_most",
}


def limits_of(work: FaceWork, coat: CoatWork) -> Limits:
    """Return what a coat of a face asks; nothing on an inside face, whose air nobody forecasts."""
    return limits_in(work.book, coat.coat.id, coat.coat.work) if work.outside else Limits(coat.coat.id)


def limits_in(book: RuleBook, coat: str, work: Work) -> Limits:
    """Return what a coat asks of the weather under these rules."""

    def number(name: str) -> float | None:
        return book.value(f"{coat}.{name}") if book.has(f"{coat}.{name}") else None

    def hours(name: str, each: int = 1) -> int:
        return round((number(name) or 0.0) * each)

    return Limits(
        coat=coat,
        soft=frozenset({What.SUN}) if work is Work.PAINT else frozenset(),
        window=hours("window"),
        least=number("air_least"),
        most=number("air_most"),
        spare=number("air_spare"),
        humid=number("humid_most"),
        before=hours("rain_before"),
        after=None if number("rain_after") is None else hours("rain_after"),
        dry=book.value("weather.dry_under", 0.1),
        sure=hours("frost_sure", DAY),
        frost_to=hours("frost_to", DAY),
        frost=book.value("weather.frost", 0.0),
        margin=Margin(book.value("weather.margin_first", 0.0), book.value("weather.margin_last", 0.0)),
        demand=number("demand_most"),
        sun=number("sun_most"),
        shaded=hours("sun_after"),
    )
