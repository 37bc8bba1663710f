"""When a cure is expected to be full: for people to look at, never for a date that binds.

Over the hours that are forecast the planned visits are taken to happen; after them the cure goes on at the pace
it had. Half of the cures take longer than so reckoned. Nothing of it counts for the cure.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, datetime, timedelta

from curing.model.cure import CureHours, CureRules, FaceHours, Seen, Why
from curing.model.weather import HOUR
from curing.planning.cure_hours import NOTHING_SEEN, cure_hours, followed_by

PACE = timedelta(days=7)
"""The pace is that of the last seven days (assumption)."""
LEAST_KNOWN = 24.0
"""[h] A pace is told from a day at least."""


def expected_full(
    closed: datetime,
    now: datetime,
    rules: CureRules,
    past: FaceHours,
    seen: Seen = NOTHING_SEEN,
    *,
    planned: Iterable[datetime] = (),
    forecast: FaceHours | None = None,
) -> datetime | None:
    """Return when the cure is full as it goes now (about the median), or None: it rests, or nothing tells the pace.

    Parameters
    ----------
    closed, now, rules, past, seen
        As for :func:`curing.planning.cure_hours.cure_hours`.
    planned
        Visits that are to come.
    forecast
        Hours to come of this face; its rain is not looked at.

    Examples
    --------
    Half a day counts of each day so far: 672 hours take 56 days.

    >>> import numpy as np
    >>> from datetime import UTC
    >>> closed = datetime(2027, 5, 18, tzinfo=UTC)
    >>> half = FaceHours(closed, np.tile(np.repeat([4.0, 9.0], 12), 14), np.zeros(336))
    >>> expected_full(closed, closed + timedelta(days=14), CureRules(), half) - closed
    datetime.timedelta(days=56)
    """
    closed, now = closed.astimezone(UTC), now.astimezone(UTC)
    sofar = cure_hours(closed, now, rules, past, seen)
    if sofar.full or now <= closed:
        return sofar.full
    ahead, until = sofar, now
    if forecast is not None:
        until = max(now, forecast.start + len(forecast.temperature) * HOUR)
        visits = tuple(one for one in planned if now < one <= until)
        told = replace(
            seen,
            wetted=(*(one for one in seen.wetted if one <= now), *visits),
            damp=tuple(one for one in seen.damp if one <= now),
        )
        ahead = cure_hours(closed, until, rules, followed_by(past, forecast, now), told)
    if ahead.full:
        return ahead.full
    pace = _pace(closed, until, ahead)
    return None if pace is None else until + timedelta(seconds=round(3600.0 * ahead.left / pace))


def _pace(closed: datetime, until: datetime, cure: CureHours) -> float | None:
    """Return the share of the hours known that counted in the last seven days; None: nothing did, or too little."""
    since = max(closed, until - PACE)
    whole = (until - since) / HOUR
    lost = {"unknown": 0.0, "known": 0.0}
    for span in cure.spans:
        inside = (span.end - max(span.start, since)) / HOUR
        lost["unknown" if span.why is Why.UNKNOWN else "known"] += max(inside, 0.0)
    known = whole - lost["unknown"]
    counted = known - lost["known"]
    return counted / known if known >= LEAST_KNOWN and counted > 0.0 else None
