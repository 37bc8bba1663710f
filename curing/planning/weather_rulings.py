"""What a forecast may do to work that people were told: by how near the work is, and whether two runs agree.

| time to the work | one forecast stops it | two in a row stop it |
|---|---|---|
| up to 24 h | off its day | off its day |
| 1 to 3 days | watched, shown | off its day |
| 4 to 7 days | watched, shown | another day is proposed |
| beyond | nothing | nothing |

Off means taken off its day, with another proposed: no answer never means yes. Runs swing from one to the next,
so one alone moves only what is too near to wait (common practice, no source). A forecast never brings work forward.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from enum import StrEnum

from curing.planning.weather_windows import Answer

NEAR = timedelta(hours=24)
"""Work so near goes by one forecast."""
SOON = timedelta(days=3)
"""Work so near goes off its day by two forecasts in a row."""
AHEAD = timedelta(days=7)
"""For work so far ahead another day is proposed; beyond, no forecast says anything."""


class Ruling(StrEnum):
    """What becomes of work on its day."""

    STANDS = "stands"
    WATCHED = "watched"
    """It stands, and is shown with what may stop it."""
    PROPOSED = "proposed"
    """It stands, and another day is proposed."""
    OFF = "off"
    """Taken off its day, and another is proposed."""


def saw_it(decided: datetime, start: datetime) -> bool:
    """Tell whether who decided on a day for work had a forecast for it.

    Work that was put so far ahead was put there by season: no forecast had a word in it, and one may still have.

    Examples
    --------
    >>> noon = datetime(2027, 4, 3, 12)
    >>> saw_it(noon, noon + timedelta(days=6)), saw_it(noon, noon + timedelta(days=9))
    (True, False)
    """
    return start - decided <= AHEAD


def ruling(lead: timedelta, newest: Answer, before: Answer | None) -> Ruling:
    """Return what becomes of work people were told.

    Parameters
    ----------
    lead
        From now to its beginning; less than nothing for what has begun: it stands, since who is there decides.
    newest, before
        What the newest run and the one before it say of the work on its day; None: there is no such run.

    Examples
    --------
    >>> day = timedelta(days=1)
    >>> ruling(2 * day, Answer.NO, Answer.YES), ruling(2 * day, Answer.NO, Answer.NO)
    (<Ruling.WATCHED: 'watched'>, <Ruling.OFF: 'off'>)
    """
    if lead < timedelta(0) or lead > AHEAD or newest is not Answer.NO:
        return Ruling.STANDS
    if lead <= NEAR:
        return Ruling.OFF
    if before is not Answer.NO:
        return Ruling.WATCHED
    return Ruling.OFF if lead <= SOON else Ruling.PROPOSED
