"""What the weather makes of a visit: one more, shade first, look and feel first, no water.

Advice only adds or moves: no visit is deleted for what a forecast says. Rain spares water only where somebody
ticked it or a gauge at the site measured it, never as forecast. Where more than three hours are not known, and
on weather older than 24 h, nothing is spared; visits are added and water held back all the same.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from curing.model.kinds import KindName
from curing.model.system import RuleBook
from curing.model.visit_weather import Advice as Advice
from curing.model.visit_weather import Cause as Cause
from curing.model.weather import Series
from curing.planning.weather_limits import DAY
from curing.planning.weather_site import FaceHours
from curing.planning.weather_weighing import GAP, ROUNDING, Flags

TICKED = 0.3
"""What a tick "rain on it" stands for where nobody measured it [L/m2]; assumption: as much as a mist."""
LATE_WATER = (10, 12)
"""Hours of the local clock to which a mist is moved that frost would catch (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Advised:
    """One piece of advice about a visit, with its reason.

    Parameters
    ----------
    advice, cause
        What, and why.
    rule
        Id of the rule with the limit; "" where it is a habit without a figure.
    value, limit, kind
        What is held against which limit.
    start, end
        The hours that were looked at; for frost, those that are too cold.
    look
        The visit that is moved begins with a look: little will have left the face by then.
    """

    advice: Advice
    cause: Cause
    rule: str
    value: float
    limit: float
    kind: KindName
    start: datetime
    end: datetime
    look: bool = False


def known_sum(outlook: FaceHours, values: Series, start: datetime, end: datetime) -> tuple[float, bool]:
    """Return the sum of the hours between two instants, a begun hour by its share, and whether enough is known."""
    first, last = outlook.index(start), outlook.index(end - timedelta(microseconds=1)) + 1
    part = outlook.part(values, first, last)
    share = np.ones(part.shape)
    if part.size:
        share[0] -= (start - outlook.at(first)) / timedelta(hours=1)
        share[-1] -= (outlook.at(last) - end) / timedelta(hours=1)
    return float(np.nansum(part * share)), int(np.isnan(part).sum()) <= GAP


def asked(outlook: FaceHours, at: datetime, *, cloth: bool = False) -> tuple[float, bool]:
    """Return what the air takes in the 24 h from a visit [L/m2], and whether enough of it is known."""
    return known_sum(outlook, outlook.demand_cloth if cloth else outlook.demand, at, at + timedelta(hours=DAY))


def more_water(book: RuleBook, outlook: FaceHours, morning: datetime, *, cloth: bool) -> Advised | None:
    """Advise a visit more, or shade first, where the day after the morning's visit asks for more than mists give.

    Parameters
    ----------
    book
        Rules of the face: ``visit.extra_from``, ``visit.shade_from``.
    outlook
        Hours of the face.
    morning
        When the first visit of the day is.
    cloth
        Wet cloth stands before the face.
    """
    value, _ = asked(outlook, morning, cloth=cloth)
    for name, advice in (("shade_from", Advice.SHADE), ("extra_from", Advice.EXTRA)):
        rule = f"visit.{name}"
        if book.has(rule) and value >= book.value(rule) - ROUNDING:
            return _over(advice, Cause.DEMAND, rule, value, book, morning, morning + timedelta(hours=DAY))
    return None


def look_first(
    book: RuleBook,
    outlook: FaceHours,
    visit: datetime,
    now: datetime,
    *,
    times: int,
    rained: float = 0.0,
    ticked: bool = False,
    cloth: bool = False,
) -> Advised | None:
    """Advise to look and feel before water, where the day to come takes less than the visits put on.

    Parameters
    ----------
    book
        Rules of the face: ``visit.look_under``, ``visit.look_under_once``, ``visit.rain_kept``.
    outlook, visit, now
        Hours of the face; the first visit of the day; when this is asked.
    times
        Visits on that day by plan.
    rained
        Rain on this face since last evening, as measured at the site [L/m2]; never as forecast.
    ticked
        Somebody ticked "rain on it" since last evening.
    cloth
        Wet cloth stands before the face.
    """
    rule = "visit.look_under" if times > 1 else "visit.look_under_once"
    value, known = asked(outlook, visit, cloth=cloth)
    if not known or not book.has(rule) or outlook.is_old(now):
        return None
    value -= book.value("visit.rain_kept", 70.0) / 100.0 * max(rained, TICKED if ticked else 0.0)
    if value >= book.value(rule) - ROUNDING:
        return None
    return _over(Advice.LOOK, Cause.LITTLE, rule, max(value, 0.0), book, visit, visit + timedelta(hours=DAY))


def no_water(
    book: RuleBook, outlook: FaceHours, visit: datetime, morning: datetime, *, late: bool, noon: datetime | None = None
) -> Advised | None:
    """Advise against water at a visit: too cold for it, or a night to come that would freeze it.

    Parameters
    ----------
    book
        Rules of the face: ``visit.water_least``, ``visit.frost_night``, ``visit.frost_clear``,
        ``visit.look_under_once``, ``weather.clear_under``.
    outlook, visit
        Hours of the face; when the visit is.
    morning
        The next day's first visit: the night ends with it.
    late
        Whether it is the last of its day.
    noon
        To when the mist would be moved; None: nobody asks whether it begins with a look.
    """
    hour = outlook.index(visit)
    air = float(outlook.part(outlook.temperature, hour, hour + 1)[0])
    least = "visit.water_least"
    if book.has(least) and air < book.value(least):
        spell = (outlook.at(hour), outlook.at(hour + 1))
        return Advised(Advice.COLD, Cause.COLD, least, air, book.value(least), "temperature_c", *spell)
    if not late or not book.has("visit.frost_night"):
        return None
    night = cold_hours(book, outlook, hour, outlook.index(morning))
    if night is None:
        return None
    first, last, value, clear = night
    rule = "visit.frost_clear" if clear else "visit.frost_night"
    look = False
    if noon is not None:
        taken, known = known_sum(outlook, outlook.demand, noon, outlook.at(first))
        look = known and taken < book.value("visit.look_under_once", 0.3) - ROUNDING
    cause = Cause.CLEAR_NIGHT if clear else Cause.NIGHT
    spell = (outlook.at(first), outlook.at(last))
    return Advised(Advice.FROST, cause, rule, value, book.value(rule), "temperature_c", *spell, look)


def cold_hours(book: RuleBook, outlook: FaceHours, first: int, last: int) -> tuple[int, int, float, bool] | None:
    """Return first and last hour, lowest air, and whether only by a clear sky, of a night that freezes a wet face."""
    air, cloud = (outlook.part(values, first, last) for values in (outlook.temperature, outlook.cloud))
    at = np.flatnonzero(freezing(book, air, cloud))
    if not at.size:
        return None
    lowest = float(np.min(air[at]))
    return first + int(at[0]), first + int(at[-1]) + 1, lowest, lowest > book.value("visit.frost_night", 2.0)


def freezing(book: RuleBook, air: Series, cloud: Series) -> Flags:
    """Tell of each hour whether a wet face freezes in such air; where cloud is not known the sky is taken as clear."""
    clear = ~(cloud >= book.value("weather.clear_under", 50.0) / 100.0)
    limit = np.where(clear, book.value("visit.frost_clear", 4.0), book.value("visit.frost_night", 2.0))
    return np.asarray(air <= limit)


def _over(
    advice: Advice, cause: Cause, rule: str, value: float, book: RuleBook, start: datetime, end: datetime
) -> Advised:
    return Advised(advice, cause, rule, value, book.value(rule), "volume_l_per_m2", start, end)
