"""Covers that the weather asks for, put into people's days: each up has its down.

They are added on one forecast, up to three days ahead, in free time of who is there. A cover of the parent plan
stands while what it keeps off is still foreseen; one that nobody put up yet leaves when the newest forecast has
nothing left to keep off, and old weather takes none away. What is up comes down, whatever a forecast says.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta

import numpy as np

from curing.model.plan import Booking, Kind, Notice, Reason, Value
from curing.planning.cloth import cloth_stands
from curing.planning.expand import FaceWork, is_ended
from curing.planning.tasks import Tasks
from curing.planning.weather_booked import (
    DOWN_MINUTES,
    UP_MINUTES,
    Pair,
    Written,
    goes_up,
    hours_said,
    pairs,
)
from curing.planning.weather_hands import Hands, Need, needs_of
from curing.planning.weather_protect import AHEAD, Cover, CoverKind, protect, up_by, windy
from curing.planning.weather_site import FaceHours
from curing.planning.weather_sky import Sky
from curing.planning.worktime import local, zone_of

MINUTE, HOUR, DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)
SLACK = HOUR
"""A cover that stands may be so much late or early: a forecast tells no finer."""
WINTER = ".winter-"
"""In the ids of covers that stay over a winter."""
ROW = {CoverKind.CLOTH: 2 * DAY, CoverKind.FROST: 12 * HOUR}
"""Spells with less between are kept off by one cover (assumption): nobody strips a face for one grey day or for the
warm hours of an evening; sheets come off for air."""
WHOLE = 24
"""So much further is looked, so that what begins within three days is seen to its end [h]."""


@dataclass(frozen=True, slots=True)
class Protection:
    """Covers as bookings, warnings about those that can't be, and why one is gone."""

    bookings: tuple[Booking, ...] = ()
    warnings: tuple[Notice, ...] = ()
    why: Mapping[str, Reason] = field(default_factory=dict)
    """Id → why it appears in the plan, or is gone from it."""
    barred: frozenset[tuple[str, CoverKind]] = frozenset()
    """Coats and what can't be hung before them, or not for all of its time."""


@dataclass(slots=True)
class _Wish:
    """A cover to be placed, with what of it stands already."""

    need: Need
    cover: Cover
    told: Pair
    up: Booking | None = None
    down: Booking | None = None
    foreseen: bool = True
    """What it keeps off is in the newest run; else it is as told."""

    @property
    def is_new(self) -> bool:
        return self.told.up is None and self.told.down is None


@dataclass(slots=True)
class WeatherTasks:
    """Places the covers of a job; ``tasks`` has the boards of the days, on which all other work stands by now."""

    tasks: Tasks
    sky: Sky | None
    now: datetime
    _out: list[Booking] = field(default_factory=list)
    _warned: list[Notice] = field(default_factory=list)
    _why: dict[str, Reason] = field(default_factory=dict)
    _unhung: set[tuple[str, CoverKind]] = field(default_factory=set)
    _off: dict[tuple[str, CoverKind], datetime] = field(default_factory=dict)
    """When the cover placed last is off a coat again: another goes up after it."""
    _winter: Mapping[str, tuple[datetime | None, datetime]] = field(default_factory=dict)
    _hands: Hands = field(init=False)

    def __post_init__(self) -> None:
        self._hands = Hands(self.tasks, self.now)

    def protection(
        self, works: Iterable[FaceWork], coats: Mapping[str, Booking], hung: Iterable[Booking] = ()
    ) -> Protection:
        """Return the covers of a job.

        Parameters
        ----------
        works
            Faces in walking order.
        coats
            Coat id → booking.
        hung
            Tasks that are placed already, among them ups and downs of covers over a winter: under them no other goes.
        """
        self._winter = _spans(hung)
        past = self.tasks.past
        told = pairs((*past.history, *past.tasks.values()))
        live = [one for one in told if one.down is None or one.down.id in past.tasks]
        if self.sky is None and not live:
            return Protection()
        taken = {one.stem for one in told}
        needs = {need.id: need for work in works for need in needs_of(self.tasks, work, coats, self.now)}
        threats = {id_: self._threats(need) for id_, need in needs.items()}
        wishes = [wish for pair in live if (wish := self._standing(pair, needs, threats)) is not None]
        wishes += [self._new(needs[id_], cover, taken) for id_, covers in threats.items() for cover in covers]
        for wish in wishes:
            self._place(wish)
        return Protection(tuple(self._out), tuple(self._warned), self._why, frozenset(self._unhung))

    # -- what is asked ---------------------------------------------------------------------

    def _threats(self, need: Need) -> list[Cover]:
        """Return what the coat is covered from, but for cloth that hangs by its coat system or can't hang there."""
        outlook = self._outlook(need.work)
        if outlook is None:
            return []
        there = self._hands.there(need.work)
        found = protect(
            need.work, need.laid.coat, (need.start, need.end), outlook, self.now, hands=there, ahead=AHEAD + WHOLE
        )
        return _joined([one for one in found if self._asked(one, need)])

    def _asked(self, cover: Cover, need: Need) -> bool:
        work, coat = need.work, need.laid.coat
        day = self._local(work, cover.start)[0]
        if cover.start - self.now >= AHEAD * HOUR or is_ended(work, day):
            return False
        if need.until is not None and cover.start >= need.until:
            return False
        since, down = self._winter.get(need.id, (None, cover.start))
        if (since is None or since <= cover.start) and cover.start < down:
            return False
        if cover.kind is not CoverKind.CLOTH:
            return True
        hangs = cloth_stands(work, coat, self.tasks.suns[work.site], need.laid.day)
        return work.face.cloth and not (hangs and day <= need.laid.day + coat.cloth_to * DAY)

    # -- what stands -----------------------------------------------------------------------

    def _standing(self, pair: Pair, needs: Mapping[str, Need], threats: Mapping[str, list[Cover]]) -> _Wish | None:
        """Return what becomes of a cover that people were told of; None where nothing is left to place."""
        need = needs.get(pair.coat)
        begun = need is None or need.lies or need.start <= self.now
        if pair.up is not None:
            begun = pair.up.start <= self.now and bool(pair.up.who)
        over = pair.down is not None and pair.down.start <= self.now
        if over or need is None:
            if begun:
                self._keep(pair)
            return None
        mine = _claim(pair, threats.get(pair.coat, []), need)
        cover = _merged(mine) if mine else self._as_told(pair, need)
        if not begun and ((not mine and self._releases(pair, need)) or cover.barred is not None):
            key = f"cover_barred_{cover.barred}" if cover.barred is not None else f"no_{pair.kind.value}"
            if cover.barred is not None:
                self._warn(cover, need, cover.barred.value)
            self._leaves(pair, Reason("change.forecast", key, {"face": need.work.id}, need.id))
            return None
        if begun:
            cover = self._blown(cover, pair, need)
            up = pair.up
        else:
            up = self._stands(pair.up, fits=self._up_fits(pair.up, cover, need))
        down = self._stands(pair.down, fits=self._down_fits(pair.down, cover, up))
        return _Wish(need, cover, pair, up, down, foreseen=bool(mine))

    def _releases(self, pair: Pair, need: Need) -> bool:
        """Tell whether the newest run knows better: it is not old, and has every hour of what was kept off."""
        outlook = self._outlook(need.work)
        if outlook is None or outlook.is_old(self.now) or pair.down is None:
            return False
        first, last = outlook.index(self.now), outlook.index(pair.down.start)
        named = (outlook.temperature, outlook.rain, outlook.direct)
        return not any(bool(np.isnan(outlook.part(one, first, last)).any()) for one in named)

    def _as_told(self, pair: Pair, need: Need) -> Cover:
        """Return a cover as its bookings have it: what it keeps off is not foreseen (any more), or nobody can say."""
        end = pair.down.start if pair.down is not None else self.now
        start = min(pair.up.until or pair.up.end, end) if pair.up is not None else self.now
        most = need.work.book.value("weather.wind_most", 8.0)
        return Cover(
            need.work.id, need.laid.coat.coat.id, pair.kind, "weather.wind_most", 0.0, 0.0, "temperature_c", None,
            start, end, max(start, self.now), end, most, (), None, None,
        )  # fmt: skip

    def _blown(self, cover: Cover, pair: Pair, need: Need) -> Cover:
        """Return a cover that is up with the wind of all its time from now on."""
        outlook = self._outlook(need.work)
        if outlook is None:
            return replace(cover, barred=None)
        down = max(cover.down_at, pair.down.start if pair.down is not None else cover.down_at)
        blows = windy(outlook, self.now, max(down, self.now + HOUR), cover.wind_most)
        before = up_by(blows[0][0], self.now, self._hands.there(need.work)) if blows else None
        return replace(cover, windy=blows, wind_down=before, barred=None)

    def _up_fits(self, up: Booking | None, cover: Cover, need: Need) -> bool:
        if up is None or up.end > max(cover.start, cover.up_by) + SLACK:
            return False
        before = up.end <= need.start and cover.kind is not CoverKind.FROST
        return need.lies or up.start >= need.end or before

    def _down_fits(self, down: Booking | None, cover: Cover, up: Booking | None) -> bool:
        if down is None or (up is not None and down.start < up.end):
            return False
        if (down.reason.key == "cover_wind_down") is not (cover.wind_down is not None):
            return False
        if cover.wind_down is not None:
            return down.end <= cover.wind_down + SLACK
        return down.start >= cover.end - SLACK

    def _stands(self, told: Booking | None, fits: bool) -> Booking | None:
        """Return a task as told, its time taken, if it still does its work and its person is free then."""
        if told is None or not fits or not told.who or told.who[0] not in self.tasks.identity.people:
            return None
        zone = zone_of(told.zone)
        day, start = local(zone, told.start)
        span = (start, start + (told.end - told.start) // MINUTE)
        board = self.tasks.board(day)
        if board.gap(told.who[0], told.site, span[1] - span[0], span) != start:
            return None
        board.take(told.who[0], span, told.site)
        return told

    def _keep(self, pair: Pair) -> None:
        for one in (pair.up, pair.down):
            if one is not None:
                self._stands(one, fits=one.start > self.now)
                self._out.append(one)

    def _leaves(self, pair: Pair, why: Reason) -> None:
        for one in (pair.up, pair.down):
            if one is not None:
                self._why[one.id] = why

    # -- where it is put -------------------------------------------------------------------

    def _new(self, need: Need, cover: Cover, taken: set[str]) -> _Wish:
        # A night belongs to its evening: else a frost that begins a little earlier would be another cover.
        first = cover.start - 12 * HOUR if cover.kind is CoverKind.FROST else cover.start
        name = f"{need.id}.{cover.kind.value}-{self._local(need.work, first)[0].isoformat()}"
        stem, number = name, 1
        while stem in taken:
            number += 1
            stem = f"{name}-{number}"
        taken.add(stem)
        return _Wish(need, cover, Pair(stem, cover.kind, None, None))

    def _place(self, wish: _Wish) -> None:
        need, cover, told = wish.need, wish.cover, wish.told
        if wish.is_new and cover.barred is not None:
            self._warn(cover, need, cover.barred.value)
            return
        zone = self.tasks.worktime.zone(need.work.site).key
        written = Written(need.work, need.laid.coat, cover, told.stem, zone, self.tasks.identity)
        if wish.up is None and (told.up is not None or wish.is_new) and not self._with_the_coat(need, cover):
            place = self._hands.up(need, cover, self._off.get((need.id, cover.kind), self.now))
            if place is None and cover.up_by <= self.now:
                self._warn(cover, need, "now")
                return
            wish.up = self._taken(
                written.up(place or self._hands.shown(need.work, cover.up_by, UP_MINUTES)), told.up, wish
            )
        if wish.down is None:
            after = max(self.now, wish.up.end if wish.up is not None else need.end)
            at = cover.wind_down or max(cover.down_at, after) + DOWN_MINUTES * MINUTE
            place = self._hands.down(need, cover, after) or self._hands.shown(need.work, at, DOWN_MINUTES, after)
            wish.down = self._taken(written.down(place), told.down, wish)
        self._off[need.id, cover.kind] = wish.down.end
        for one in (wish.up, wish.down):
            if one is None:
                continue
            self._out.append(one)
            self._why[one.id] = one.reason
            if not one.who and one.end > self.now:
                self._warn(cover, need, "nobody" if goes_up(one) else "nobody_down", one)

    def _with_the_coat(self, need: Need, cover: Cover) -> bool:
        """Tell whether who lays the coat hangs the cloth too, as a step of it: the coat says so, nobody else comes."""
        same_day = self._local(need.work, cover.start)[0] == need.laid.day
        return cover.kind is CoverKind.CLOTH and not need.lies and same_day

    def _taken(self, made: Booking, told: Booking | None, wish: _Wish) -> Booking:
        """Return a booking with its time taken; one that nobody can do stays where it was shown."""
        if told is not None and not wish.foreseen and told.reason.key == made.reason.key:
            made = replace(made, reason=told.reason)
        if not made.who:
            stays = told is not None and not told.who and told.start > self.now
            return told if told is not None and stays else made
        day, start = local(zone_of(made.zone), made.start)
        self.tasks.board(day).take(made.who[0], (start, start + (made.end - made.start) // MINUTE), made.site)
        return made

    def _warn(self, cover: Cover, need: Need, what: str, booking: Booking | None = None) -> None:
        zone = self.tasks.worktime.zone(need.work.site)
        by = booking.until or booking.start if booking is not None else cover.up_by
        day, _ = local(zone, by)
        due: dict[str, Value] = {"face": need.work.id, "by": day.isoformat(), "by_at": f"{by.astimezone(zone):%H:%M}"}
        told = booking.reason.values if booking is not None else {}  # as it was given out: a stale run knows no hours
        values = {**hours_said(cover, zone), **told, **due}
        key = f"cover_{what}" if what in ("tower", "nobody_down") else f"{cover.kind.value}_{what}"
        if cover.barred is not None:
            self._unhung.add((need.id, cover.kind))
        rule = "weather.wind_most" if what in ("tower", "wind") else cover.rule
        notice = Notice(rule, key, values, (need.work.id,), urgent=True)
        if notice not in self._warned:
            self._warned.append(notice)

    # -- who and where -------------------------------------------------------------------

    def _outlook(self, work: FaceWork) -> FaceHours | None:
        return self.sky.newest.get(work.id) if self.sky is not None else None

    def _local(self, work: FaceWork, at: datetime) -> tuple[date, int]:
        return local(self.tasks.worktime.zone(work.site), at)


def _spans(tasks: Iterable[Booking]) -> dict[str, tuple[datetime | None, datetime]]:
    """Return from when to when coats are covered over a winter, by coat; None: since a day that is past."""
    found: dict[str, tuple[datetime | None, datetime]] = {}
    ups = {one.id: one for one in tasks if one.kind is Kind.COVER and WINTER in one.id}
    for one in ups.values():
        if not goes_up(one):
            up = ups.get(f"{one.id.removesuffix('-down')}-up")
            found[one.id.partition(WINTER)[0]] = (up.end if up is not None else None, one.start)
    return found


def _joined(covers: list[Cover]) -> list[Cover]:
    """Return the covers of a coat, those as one that stay up between two spells."""
    found: dict[CoverKind, list[Cover]] = {}
    for one in covers:
        row = found.setdefault(one.kind, [])
        if row and one.start - row[-1].end < ROW.get(one.kind, HOUR):
            row[-1] = _merged([row[-1], one])
        else:
            row.append(one)
    return sorted((one for row in found.values() for one in row), key=lambda one: (one.start, one.kind))


def _claim(pair: Pair, threats: list[Cover], need: Need) -> list[Cover]:
    """Take out of the threats those that a cover is there for: they lie in its time."""
    if pair.down is None:
        return []
    first = pair.up.start if pair.up is not None else need.start
    mine = [one for one in threats if one.kind is pair.kind and one.start < pair.down.end and one.end > first]
    threats[:] = [one for one in threats if one not in mine]
    return mine


def _merged(covers: list[Cover]) -> Cover:
    """Return one cover for threats that one is there for."""
    first = covers[0]
    worst = min if first.kind is CoverKind.FROST else max
    strict = worst(covers, key=lambda one: one.value)
    could = min((one.could for one in covers if one.could is not None), default=None)
    return replace(
        first,
        rule=strict.rule,
        value=strict.value,
        limit=strict.limit,
        unit=strict.unit,
        could=could,
        start=min(one.start for one in covers),
        end=max(one.end for one in covers),
        up_by=min(one.up_by for one in covers),
        down_at=max(one.down_at for one in covers),
        windy=tuple(sorted(span for one in covers for span in one.windy)),
        wind_down=min((one.wind_down for one in covers if one.wind_down is not None), default=None),
        barred=first.barred,
    )
