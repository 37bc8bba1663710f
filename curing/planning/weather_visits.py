"""What the weather makes of the visits of a coat on one day, today and the next two.

A visit is never taken out. Water may be held back, a visit may begin with a look, and one may be added at midday.
What people were told stays as told while the newest run comes to the same, or nearly: a figure that goes up and
down at its limit is no news. Where the newest run does not know enough, what was told stays as well, but for
"look first", which spares water.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta, tzinfo

import numpy as np

from curing.model.evidence import Evidence
from curing.model.plan import Booking, Care, Kind, Slot, Visit
from curing.model.record import RecordKind
from curing.model.system import RuleBook
from curing.model.visit_weather import Advice, Cause, VisitWeather
from curing.planning.tending import Tended
from curing.planning.weather_looks import LATE_WATER, Advised, look_first, more_water, no_water
from curing.planning.weather_site import FaceHours
from curing.planning.weather_sky import Sky
from curing.planning.weather_weighing import GAP
from curing.planning.worktime import instant

DAYS = 3
"""Today and so many days less one after it: what is told further ahead changes before it comes."""
EVENING = 18 * 60
"""Rain seen or measured since this minute of the day before may spare a morning's water."""
MORNING = 7 * 60
"""The first visit of a day where none is planned early [min]."""
EASED = {
    "visit.extra_from": 0.9,
    "visit.shade_from": 0.9,
    "visit.look_under": 1.1,
    "visit.look_under_once": 1.1,
}
"""What was told is not taken back before a figure is so far past its limit again (assumption)."""
WARMER = 0.5
"""[K] The same for frost and cold (assumption)."""
COLDS = ("visit.frost_night", "visit.frost_clear", "visit.water_least")
DAY = timedelta(days=1)

Found = dict[Slot, Advised]


@dataclass(frozen=True, slots=True)
class Told:
    """A visit as people were told it."""

    visit: Visit
    start: datetime


@dataclass(frozen=True, slots=True)
class DayAdvice:
    """What becomes of the visits of a coat on one day.

    Parameters
    ----------
    said
        Visit id → its advice; None: none (any more).
    more
        Advice of a visit that is added at midday; None: none is added.
    """

    said: Mapping[str, VisitWeather | None]
    more: VisitWeather | None = None


@dataclass(frozen=True, slots=True)
class _Hours:
    """When a coat is visited on a day, and what is known of its water."""

    walks: Mapping[Slot, datetime]
    morning: datetime
    noon: datetime
    night: datetime
    """The next morning: the night ends with it."""
    times: int
    cloth: bool
    hangs: bool
    """Whether cloth can be hung that is not there yet."""
    rained: float
    ticked: bool

    @property
    def first(self) -> Slot:
        """The first visit that its coat asks for."""
        return Slot.EARLY if Slot.EARLY in self.walks else Slot.LATE


class WeatherVisits:
    """Advises about visits.

    Parameters
    ----------
    sky
        The newest run at each face, and what a gauge at the site measured; None: what was told stays.
    told
        Bookings of the plan people were told, under the ids of today.
    evidence
        Ticks: "rain on it" spares water once, a forecast never.
    now
        The present instant.
    """

    def __init__(self, sky: Sky | None, told: Iterable[Booking], evidence: Evidence, now: datetime) -> None:
        self._sky, self._evidence, self.now = sky, evidence, now
        walks = (one for one in told if one.kind is Kind.ROUND)
        self.told = {one.id: Told(one, walk.start) for walk in walks for one in walk.visits}
        self.idle = sky is None and all(one.visit.weather is None for one in self.told.values())
        """Nothing is known and nothing was told: there is nothing to do."""

    def of_day(self, one: Tended, day: date, zone: tzinfo, walks: Mapping[Slot, tuple[Visit, datetime]]) -> DayAdvice:
        """Return the advice about a coat's visits on a day within :data:`DAYS`.

        Parameters
        ----------
        one
            The coat that is looked after.
        day, zone
            The day, by the clock of its site.
        walks
            Slot → the visit as it is planned that day, and when its walk begins.
        """
        root = f"{one.work.id}.{one.coat.coat.id}.{day.isoformat()}"
        told = {slot: self.told[id_] for slot in Slot if (id_ := f"{root}.{slot.value}") in self.told}
        outlook = self._sky.newest.get(one.work.id) if self._sky is not None else None
        if outlook is not None and outlook.outside and one.coat.coat.care is Care.MIST:
            hours = self._hours(one, day, zone, walks)
            strict = advised(one.work.book, outlook, hours, self.now)
            eased = advised(_eased(one.work.book), outlook, hours, self.now)
        else:
            hours, strict, eased = None, {}, {}

        def settled(slot: Slot, at: datetime) -> VisitWeather | None:
            before = told[slot].visit.weather if slot in told else None
            if outlook is None or at <= self.now:
                return before
            return _settled(before, strict.get(slot), eased.get(slot), known=_known(outlook, at))

        said = {visit.id: settled(slot, at) for slot, (visit, at) in walks.items()}
        if Slot.MIDDAY in walks:
            visit = walks[Slot.MIDDAY][0]
            if visit.added and said[visit.id] is None:
                said[visit.id] = visit.weather  # people were told of it: it stays
            return DayAdvice(said)
        before = told.get(Slot.MIDDAY)
        stood = before.visit.weather if before is not None and before.visit.added else None
        if outlook is None or hours is None or (before is not None and before.start <= self.now):
            return DayAdvice(said, stood)
        more = _settled(stood, strict.get(Slot.MIDDAY), eased.get(Slot.MIDDAY), known=_known(outlook, hours.morning))
        near = (day - self.now.astimezone(zone).date()).days <= 1
        return DayAdvice(said, more or (stood if near else None))

    def _hours(self, one: Tended, day: date, zone: tzinfo, walks: Mapping[Slot, tuple[Visit, datetime]]) -> _Hours:
        starts = {slot: at for slot, (_, at) in walks.items()}
        morning = instant(zone, day, MORNING)
        first = starts.get(Slot.EARLY, starts.get(Slot.LATE, morning))
        cloth = any(visit.cloth for visit, _ in walks.values())
        evening = instant(zone, day - DAY, EVENING)
        face = one.work.id
        ticks = [
            tick.at
            for id_, tick in self._evidence.visits.items()
            if tick.kind is RecordKind.RAIN_ON_IT and id_.startswith(f"{face}.{one.coat.coat.id}.")
        ]
        return _Hours(
            walks=starts,
            morning=starts.get(Slot.EARLY, morning),
            noon=instant(zone, day, 60 * sum(LATE_WATER) // 2),
            night=starts.get(Slot.EARLY, morning) + DAY,
            times=one.times(day),
            cloth=cloth,
            hangs=one.work.face.cloth and not cloth,
            rained=self._rained(face, evening, first),
            ticked=any(evening <= at <= self.now for at in ticks),
        )

    def _rained(self, face: str, start: datetime, end: datetime) -> float:
        """Return the rain on a face between two instants [L/m2] as a gauge at the site had it; 0 without one."""
        past = self._sky.past.get(face) if self._sky is not None else None
        if past is None or past.rain is None:
            return 0.0
        hours = [(start - past.start) // timedelta(hours=1), (end - past.start) // timedelta(hours=1)]
        first, last = (min(max(one, 0), len(past.rain)) for one in hours)
        return float(np.nansum(past.rain[first:last]))


def advised(book: RuleBook, outlook: FaceHours, hours: _Hours, now: datetime) -> Found:
    """Return what a forecast advises, by part of the day; under midday stands the visit that it adds.

    Cold goes before all, frost at night before what spares water: one visit has one piece of advice.
    """
    found: Found = {}
    for slot, at in hours.walks.items():
        stop = no_water(book, outlook, at, hours.night, late=slot is Slot.LATE, noon=hours.noon)
        if stop is not None:
            found[slot] = stop
    more = more_water(book, outlook, hours.morning, cloth=hours.cloth)
    cold = no_water(book, outlook, hours.noon, hours.night, late=False) is not None
    frost = found.get(Slot.LATE)
    if more is not None:
        if more.advice is Advice.SHADE and hours.hangs and Slot.EARLY in hours.walks:
            found.setdefault(Slot.EARLY, more)
        if not cold:
            rule = "visit.extra_from" if book.has("visit.extra_from") else more.rule
            found[Slot.MIDDAY] = replace(more, advice=Advice.EXTRA, rule=rule, limit=book.value(rule))
    elif frost is not None and frost.advice is Advice.FROST and not cold:
        found[Slot.MIDDAY] = replace(frost, advice=Advice.MIDDAY, cause=Cause.MOVED)
    first = hours.walks.get(hours.first)
    if first is not None and hours.first not in found:
        wet = {"rained": hours.rained, "ticked": hours.ticked, "times": hours.times, "cloth": hours.cloth}
        look = look_first(book, outlook, first, now, **wet)  # type: ignore[arg-type]
        if look is not None:
            found[hours.first] = look
    return found


def _settled(
    before: VisitWeather | None, strict: Advised | None, eased: Advised | None, *, known: bool
) -> VisitWeather | None:
    """Return what holds: as told where the run comes to the same, or nearly, or does not know."""
    if before is None:
        return _given(strict)
    same = [one.advice for one in (strict, eased) if one is not None]
    if before.advice in same:
        return before
    if strict is None and not known and before.advice is not Advice.LOOK:
        return before
    return _given(strict)


def _given(one: Advised | None) -> VisitWeather | None:
    if one is None:
        return None
    value, limit = round(one.value, 2), round(one.limit, 2)
    return VisitWeather(one.advice, one.cause, one.rule, value, limit, one.start, one.end, one.look)


def _eased(book: RuleBook) -> RuleBook:
    own = dict(book.items())
    own |= {rule: own[rule] * share for rule, share in EASED.items() if rule in own}
    own |= {rule: own[rule] + WARMER for rule in COLDS if rule in own}
    return RuleBook(book.system, own)


def _known(outlook: FaceHours, at: datetime) -> bool:
    """Tell whether a run knows enough of the day after an instant to take back what was told."""
    first = outlook.index(at)
    parts = (outlook.part(values, first, first + 24) for values in (outlook.demand, outlook.temperature))
    return all(int(np.isnan(part).sum()) <= GAP for part in parts)
