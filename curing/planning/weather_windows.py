"""When a coat may be laid outside: held against its rules, with what stands against it and for how long.

A verdict is *yes* only on weather that is known, told within 24 hours, and no more than seven days ahead. What
stops, stops on old weather too.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

import numpy as np

from curing.model.weather import HOUR
from curing.model.weather_stops import Stop, Unknown
from curing.planning.expand import CoatWork, FaceWork
from curing.planning.weather_limits import DAY, KINDS, Limits, What, limits_of
from curing.planning.weather_site import FaceHours
from curing.planning.weather_weighing import GAP, HORIZON, KEPT_OFF, ROUNDING, Flags, Shelter, Starts, Weighed, weigh

Span = tuple[datetime, datetime]
"""Start and end, aware, half-open."""


class Answer(StrEnum):
    """May it be laid then?"""

    YES = "yes"
    NO = "no"
    UNKNOWN = "not known"


@dataclass(frozen=True, slots=True)
class Verdict:
    """May this coat be laid then, until when, and if not, why.

    Parameters
    ----------
    answer
        *No* where a rule stops it; *not known* where none does, but too much is missing, too old or too far
        ahead: that neither releases nor stops.
    stops
        Hard rules that are broken, in the order of the rules.
    warnings
        Soft rules that are broken: they never stop.
    kept_off
        What would stop it but for the sheet or the cloth that stands: the plan must say so.
    missing
        Rules of which too little is known.
    until
        Laying that begins then is closed by this at the latest; None: not even the least window is free.
    old
        The weather is older than 24 h, or nobody knows how old.
    beyond
        The day lies further ahead than a forecast is judged by.
    """

    answer: Answer
    stops: tuple[Stop, ...] = ()
    warnings: tuple[Stop, ...] = ()
    kept_off: tuple[Stop, ...] = ()
    missing: tuple[Unknown, ...] = ()
    until: datetime | None = None
    old: bool = False
    beyond: bool = False


@dataclass(frozen=True, slots=True)
class Window:
    """First and last hour at which laying may begin, each hour between as well, UTC."""

    first: datetime
    last: datetime


def judge(
    work: FaceWork,
    coat: CoatWork,
    span: Span,
    outlook: FaceHours,
    now: datetime,
    *,
    shelters: Iterable[Shelter] = (),
) -> Verdict:
    """Judge whether a coat may be laid then.

    Parameters
    ----------
    work, coat
        The coat and its face, whose rules are read.
    span
        From when to when it is laid; shorter than the least window of its rules, it is judged as that.
    outlook
        Hours of the face, past and to come.
    now
        When this is asked.
    shelters
        What stands before the face, from laying on.

    Returns
    -------
    Verdict
        Always *yes* for an inside face and for a coat whose system asks nothing of the weather.
    """
    return judge_by(limits_of(work, coat), span, outlook, now, shelters=shelters)


def judge_by(
    limits: Limits, span: Span, outlook: FaceHours, now: datetime, *, shelters: Iterable[Shelter] = ()
) -> Verdict:
    """Judge as :func:`judge` does, by limits that are read already."""
    if not limits.asks:
        return Verdict(Answer.YES)
    first = outlook.index(span[0])
    length = max(-((outlook.at(first) - span[1]) // HOUR), limits.window, 1)
    told = outlook.index(outlook.told or now)
    one = np.array([first], dtype=np.int64)
    weighed = list(weigh(limits, outlook, one, length, np.array([told], dtype=np.int64)))
    stands = frozenset(shelters)
    off = [one for one in weighed if KEPT_OFF.get(one.what) in stands]
    soft = [one for one in weighed if one not in off and one.what in limits.soft]
    hard = [one for one in weighed if one not in off and one not in soft]
    stops = tuple(_stop(one, limits, outlook, first, told) for one in hard if one.broken[0])
    missing = tuple(_unknown(one, limits, outlook, first) for one in hard if one.unknown[0])
    old, beyond = outlook.is_old(now), first - told >= HORIZON
    answer = Answer.NO if stops else Answer.UNKNOWN if missing or old or beyond else Answer.YES
    return Verdict(
        answer,
        stops,
        tuple(_stop(one, limits, outlook, first, told) for one in soft if one.broken[0]),
        tuple(_stop(one, limits, outlook, first, told) for one in off if one.broken[0]),
        missing,
        None if old or beyond else _until(limits, outlook, first, told, stands),
        old,
        beyond,
    )


def best_window(
    limits: Limits, hours: Span, outlook: FaceHours, now: datetime, *, shelters: Iterable[Shelter] = ()
) -> Window | None:
    """Return the longest run of hours at which the least window of a coat may begin, the first of equal ones.

    Parameters
    ----------
    limits
        Of the coat, from :func:`curing.planning.weather_limits.limits_of`.
    hours
        Within which the window must lie, whole hours of it.
    outlook, now, shelters
        As for :func:`judge`.
    """
    first = outlook.index(hours[0] + HOUR - timedelta(microseconds=1))
    last = outlook.index(hours[1]) - max(limits.window, 1)
    starts = np.arange(first, last + 1, dtype=np.int64)
    told = outlook.index(outlook.told or now)
    starts = starts[starts - told < HORIZON]
    if not starts.size or outlook.is_old(now):
        return None
    free = may_begin(limits, outlook, starts, np.full_like(starts, told), shelters)
    edges = np.flatnonzero(np.diff(np.concatenate([[False], free, [False]]).astype(np.int8)))
    if not edges.size:
        return None
    runs = edges.reshape(-1, 2)
    at = int(np.argmax(runs[:, 1] - runs[:, 0]))
    return Window(outlook.at(int(starts[runs[at, 0]])), outlook.at(int(starts[runs[at, 1] - 1])))


def may_begin(
    limits: Limits, outlook: FaceHours, starts: Starts, told: Starts, shelters: Iterable[Shelter] = ()
) -> Flags:
    """Tell for each start whether the least window of a coat is free: no rule broken, none unknown."""
    free = np.ones(starts.shape, dtype=np.bool_)
    if not limits.asks:
        return free
    stands = frozenset(shelters)
    for one in weigh(limits, outlook, starts, max(limits.window, 1), told):
        if one.what not in limits.soft and KEPT_OFF.get(one.what) not in stands:
            free &= ~one.broken & ~one.unknown
    return free


def _stop(one: Weighed, limits: Limits, outlook: FaceHours, first: int, told: int) -> Stop:
    begin, end = _spell(one)
    could = None
    if one.what is What.FROST_SURE:
        ahead = np.arange(first - told, first - told + one.seen.shape[1], dtype=np.float64)
        could = float(np.nanmin(one.seen[0] - limits.margin.ahead(ahead)))
    return Stop(
        limits.rule(one.what),
        one.what,
        float(one.value[0]),
        one.limit,
        KINDS[one.what],
        outlook.at(first + one.first + begin),
        outlook.at(first + one.first + end),
        could,
    )


def _spell(one: Weighed) -> tuple[int, int]:
    """Return the hours of the stretch that a person should hear of.

    Rain and demand from their first to their last hour; of cold, heat and sun the spell with the worst hour.
    """
    against = np.flatnonzero(one.hours[0])
    if one.summed:
        return int(against[0]), int(against[-1]) + 1
    same = np.flatnonzero(one.hours[0] & (one.seen[0] == one.value[0]))
    worst = int(same[0]) if same.size else int(against[0])
    quiet = np.flatnonzero(~one.hours[0])
    before, after = quiet[quiet < worst], quiet[quiet > worst]
    return (int(before[-1]) + 1 if before.size else 0), (int(after[0]) if after.size else one.seen.shape[1])


def _unknown(one: Weighed, limits: Limits, outlook: FaceHours, first: int) -> Unknown:
    at = np.flatnonzero(np.isnan(one.seen[0]))
    begin, end = first + one.first + int(at[0]), first + one.first + int(at[-1]) + 1
    return Unknown(limits.rule(one.what), one.what, int(one.gaps[0]), outlook.at(begin), outlook.at(end))


def _until(limits: Limits, outlook: FaceHours, first: int, told: int, stands: frozenset[Shelter]) -> datetime | None:
    """Return when laying that begins in that hour must be closed: a day later at most."""
    longest = DAY
    starts, when = np.array([first], dtype=np.int64), np.array([told], dtype=np.int64)
    for one in weigh(limits, outlook, starts, DAY, when):
        if one.what in limits.soft or KEPT_OFF.get(one.what) in stands:
            continue
        if one.tail is None:
            if one.broken[0] or one.unknown[0]:
                return None
            continue
        bad = np.cumsum(np.nan_to_num(one.seen[0])) >= one.limit - ROUNDING if one.summed else one.hours[0]
        gone = np.cumsum(np.isnan(one.seen[0])) > GAP
        wrong = np.flatnonzero(bad | gone)
        if wrong.size:
            longest = min(longest, int(wrong[0]) - one.tail)
    return outlook.at(first + longest) if longest >= max(limits.window, 1) else None
