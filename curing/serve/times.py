"""When it was: from what a form says of the time, whatever the phone's clock shows."""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from curing.errors import UsageError
from curing.planning.worktime import local
from curing.serve.forms import Form, FormError
from curing.sources.spoken_time import instant_at

MOST_WAITED = 30 * 86400
"""[s] A phone keeps a tick no longer before it is sent."""
MOST_AGO = 24 * 60
"""[min]"""
AHEAD = timedelta(minutes=10)
SLACK = timedelta(minutes=5)
"""So well the time of the press, as the page reckoned it, and the time it waited must fit together."""


def when(form: Form, now: datetime, zone: ZoneInfo) -> datetime:
    """Return the instant of what a form says.

    Parameters
    ----------
    form
        ``at``: the time that the button showed, reckoned by the page from the server's. ``waited``: seconds
        since it was pressed, by the phone's own clock, from the page's script: then the time of the press is
        ``now - waited``, right even where that clock is hours off. ``ago``: so many minutes earlier.
        ``clock``: a local time of day instead, on ``day`` where that is said.
    now
        The present instant, aware.
    zone
        Time zone of the wall.

    Raises
    ------
    FormError
        A time is missing or can't be one.
    """
    waited = form.number("waited", -MOST_WAITED, MOST_WAITED)
    at = form.instant("at")
    if waited is not None:
        # Where both don't fit, the phone's clock was set while the tick waited: then the page's own reckoning counts.
        fits = abs(at + timedelta(seconds=waited) - now) <= SLACK
        at = now - timedelta(seconds=max(0, waited)) if fits else min(at, now)
    clock = form.maybe("clock")
    ago = form.number("ago", 0, MOST_AGO)
    if clock is None:
        return at - timedelta(minutes=ago or 0)
    day = form.day("day") if form.maybe("day") else local(zone, at)[0]
    try:
        told = instant_at(clock, zone, day, option="time")
    except UsageError as error:
        raise FormError(error.problems[0].text, field="clock", status=422) from None
    late = told > at + AHEAD and form.maybe("day") is None
    return told - timedelta(days=1) if late else told
