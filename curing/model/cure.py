"""How far the cure of a coat is, in hours that count: the nouns.

An hour counts at 5 °C or warmer with the coat still damp. What did not count is told by its cause.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from curing.model.weather import HOUR, Series

RESTS = timedelta(days=3)
"""Without an hour that counted, and cold at the end: the cure rests (assumption)."""


class Why(StrEnum):
    """Why an hour did not count."""

    COLD = "cold"
    DRY = "dry"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class CureRules:
    """What an hour must be to count.

    Parameters
    ----------
    hours
        That make the cure [h].
    least
        Least air temperature [°C].
    limit
        Damp limit: what the air may take since the last wetting [kg/m2].
    frost
        An hour below it asks for an inspection [°C].
    rain
        Rain on the face that wets like a visit [L/m2].
    """

    hours: float = 672.0
    least: float = 5.0
    limit: float = 2.5
    frost: float = 0.0
    rain: float = 0.3


@dataclass(frozen=True, eq=False, slots=True)
class FaceHours:
    """Hours of one face: i is ``[start + i h, start + (i + 1) h)``; NaN is not known.

    Parameters
    ----------
    start
        Aware, on the hour.
    temperature
        Of the air [°C].
    demand
        What the air takes from this face kept wet [kg/m2h].
    rain
        That met this face [L/m2], as measured at the site; None: not measured. Never a forecast.
    """

    start: datetime
    temperature: Series
    demand: Series
    rain: Series | None = None


@dataclass(frozen=True, slots=True)
class Seen:
    """What people saw and did to the coat: instants, in any order.

    Parameters
    ----------
    wetted
        Misted, or rain seen on it.
    damp
        Found still damp, and left.
    sound
        Inspected, and found sound.
    """

    wetted: tuple[datetime, ...] = ()
    damp: tuple[datetime, ...] = ()
    sound: tuple[datetime, ...] = ()


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of the cure that did not count, or that froze (``why`` is None)."""

    start: datetime
    end: datetime
    why: Why | None = None

    @property
    def hours(self) -> float:
        """How long it was [h]."""
        return (self.end - self.start) / HOUR


@dataclass(frozen=True, slots=True)
class CureHours:
    """How far a cure is.

    Parameters
    ----------
    rules
        By which it was counted.
    closed, until
        When the coat was closed, and how far it was counted: to ``full`` where the cure is full.
    counted
        [h]
    cold, dry, unknown
        [h] that did not count, by cause. Cold goes before dry; an hour of which the one says no is refused,
        whether or not the other is known.
    spans
        The same as stretches, in order.
    frozen
        Stretches below the frost limit, in order.
    inspect
        Start of the first frost after which nobody has found the face sound; None: no inspection wanted.
    full
        When the last hour that was asked for had counted; None: not yet.
    """

    rules: CureRules
    closed: datetime
    until: datetime
    counted: float
    cold: float
    dry: float
    unknown: float
    spans: tuple[Span, ...]
    frozen: tuple[Span, ...]
    inspect: datetime | None
    full: datetime | None

    @property
    def left(self) -> float:
        """Hours that are still asked for [h]."""
        return 0.0 if self.full else self.rules.hours - self.counted

    @property
    def frost(self) -> float:
        """Hours below the frost limit [h]."""
        return sum(span.hours for span in self.frozen)

    @property
    def rests(self) -> datetime | None:
        """Since when the cure rests: in three days that are known nothing counted, and cold is the cause at the end."""
        if self.full or not self.spans or self.spans[-1].why is not Why.COLD or self.spans[-1].end != self.until:
            return None
        since = self.until
        for span in reversed(self.spans):
            if span.end != since or span.why is Why.UNKNOWN:
                break
            since = span.start
        return since if self.until - since >= RESTS else None
