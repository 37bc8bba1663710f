"""What stands against laying a coat, and what of the weather nobody told: found by planning, said by pages."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from curing.model.kinds import KindName


@dataclass(frozen=True, slots=True)
class Stop:
    """What stands against laying: enough for one sentence.

    Parameters
    ----------
    rule
        Id of the rule, ``finish.rain_after``.
    what
        What it is about: ``rain``, ``cold``, ``frost_sure``.
    value, limit, kind
        What is held against which limit, and their kind of quantity, in its unit.
    start, end
        From when to when, UTC, half-open.
    could
        For frost by its margin: how cold it could be [°C].

    Examples
    --------
    >>> from datetime import UTC
    >>> hours = datetime(2027, 6, 9, 5, tzinfo=UTC), datetime(2027, 6, 10, 14, tzinfo=UTC)
    >>> Stop("finish.rain_after", "rain", 14.0, 0.1, "volume_l_per_m2", *hours).could is None
    True
    """

    rule: str
    what: str
    value: float
    limit: float
    kind: KindName
    start: datetime
    end: datetime
    could: float | None = None


@dataclass(frozen=True, slots=True)
class Unknown:
    """What of the weather is missing: so many hours of what a rule looks at, between two instants (UTC).

    Examples
    --------
    >>> from datetime import UTC
    >>> days = datetime(2027, 6, 9, tzinfo=UTC), datetime(2027, 6, 10, tzinfo=UTC)
    >>> Unknown("finish.frost_to", "frost", 7, *days).hours
    7
    """

    rule: str
    what: str
    hours: int
    start: datetime
    end: datetime
