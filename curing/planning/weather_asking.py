"""When a weather service is asked next: a few times a day, more often while a coat stands close ahead.

A forecast may take a coat off its day until it begins, so what is told of its last day is asked for every hour,
once when that day begins, and once before people set out for it. Politeness goes before all of it: never before
an answer has expired, never twice in half an hour.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from curing.model.job import Side
from curing.model.plan import LIVE, Booking, Kind, Plan, State
from curing.planning.weather_rulings import NEAR
from curing.planning.worktime import local, zone_of

LEAST = timedelta(minutes=30)
"""Between two questions, whatever is planned (services tell the same model run for hours; assumption)."""
NEAR_EVERY = timedelta(minutes=60)
"""Between two questions while a coat stands within a day (common practice, no source)."""
SETTING_OUT = timedelta(minutes=90)
"""Before the first work of a day with a coat: people are not on their way yet (common practice, no source)."""
SPREAD = timedelta(minutes=10)
"""What is aimed at an hour of the clock is put off or brought forward by up to this much, by site: not all who
begin at seven ask in the same second, which services ask for (from memory, unverified)."""


def next_asking(
    plan: Plan | None,
    site: str,
    asked: datetime,
    every: timedelta,
    *,
    expires: datetime | None = None,
    spread: timedelta = timedelta(0),
) -> datetime:
    """Return when the service is asked next about a site; an instant that is past says: now.

    Parameters
    ----------
    plan
        The latest; None: there is none yet.
    site
        Id of the site.
    asked
        When it was asked last.
    every
        Between two questions where no coat is near.
    expires
        Until when the last answer holds, where the service said so.
    spread
        Of this site and job: from nothing to :data:`SPREAD`.

    Examples
    --------
    >>> from datetime import UTC
    >>> six = datetime(2027, 5, 24, 6, tzinfo=UTC)
    >>> f"{next_asking(None, 'court', six, timedelta(hours=6)):%H:%M}"
    '12:00'
    """
    due = asked + every
    if plan is None:
        return max(due, asked + LEAST, expires or asked)
    for coat in _coats(plan, site, asked, due):
        if coat.start > asked + NEAR_EVERY:  # else it has begun by then: who is there sees the sky
            due = min(due, max(asked + NEAR_EVERY, coat.start - NEAR + spread))
        aim = _first_work(plan, coat) - SETTING_OUT - spread
        if aim >= asked + LEAST:
            due = min(due, aim)
    return max(due, asked + LEAST, expires or asked)


def _coats(plan: Plan, site: str, asked: datetime, due: datetime) -> Iterator[Booking]:
    """Yield the firm coats of a site's outside faces that may want an earlier question."""
    outside = {one.id for one in plan.faces if one.side == Side.OUT}
    for one in plan.bookings:
        firm = one.kind is Kind.COAT and one.state is State.FIRM and one.site == site
        if firm and asked < one.start < due + 2 * NEAR and not outside.isdisjoint(one.faces):
            yield one


def _first_work(plan: Plan, coat: Booking) -> datetime:
    """Return when the first of those who lay a coat begins anything on that day."""
    zone, who = zone_of(coat.zone), set(coat.who)
    day = local(zone, coat.start)[0]
    theirs = (one for one in (*plan.bookings, *plan.rounds) if one.state in LIVE and not who.isdisjoint(one.who))
    return min((one.start for one in theirs if local(zone, one.start)[0] == day), default=coat.start)
