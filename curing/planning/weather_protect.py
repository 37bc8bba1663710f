"""What a fresh coat needs to be covered from in the next three days: frost, rain, sun.

Every cover that goes up has an hour by which it is up, an hour from which it may come down, and a wind at which
it comes down before that. Covers are asked for on any weather, however old: a cover too many costs an hour, one
too few a face. None is hung on a mobile tower, which wind takes over with it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

import numpy as np

from curing.model.kinds import KindName
from curing.model.system import RuleBook
from curing.planning.expand import CoatWork, FaceWork
from curing.planning.weather_limits import DAY, Limits, What, limits_of
from curing.planning.weather_looks import freezing
from curing.planning.weather_site import FaceHours
from curing.planning.weather_weighing import ROUNDING, Flags

AHEAD = 3 * DAY
"""So far ahead covers are asked for [h] (common practice, no source)."""
WEAK = 200.0
"""No cloth is hung for less direct sun on a face than this [W/m2]; assumption: grazing sun of a summer's evening."""
APART = 6
"""Threats of one kind with fewer hours between them are one [h]; assumption: nobody strips a face for less."""
_ROLLING = re.compile(r"\b(mobile|rolling|wheeled|castors?|towers?)\b", re.IGNORECASE)
Span = tuple[datetime, datetime]


class CoverKind(StrEnum):
    """What is put up."""

    FROST = "frost"
    """Blankets or sheets with an air gap."""
    SHEET = "sheet"
    """Sheets against rain, with a gap for air."""
    CLOTH = "cloth"
    """Wet cloth against sun."""


class Barred(StrEnum):
    """Why it can't be put up, or not for all of its time."""

    TOWER = "tower"
    """The scaffold that is named rolls."""
    WIND = "wind"
    """Wind takes it down again before what it keeps off has begun."""


@dataclass(frozen=True, slots=True)
class Cover:
    """A cover for one face, with its up and its down.

    Parameters
    ----------
    face, coat, kind
        What is covered with what.
    rule
        Id of the rule that asks for it.
    value, limit, unit
        What is held against which limit, and their kind of quantity: lowest air, rain on the face, sun or
        what the air takes.
    could
        For frost: how cold the hour could be by the margin of the forecast [°C].
    start, end
        First and last hour of what it keeps off, UTC, half-open.
    up_by
        By when it is up: while somebody is there, at the latest when it begins.
    down_at
        From when it may come down, once somebody is there.
    wind_most
        Mean wind of an hour at which it comes down [m/s].
    windy
        Spells with so much wind between up and down: it is down in them, and the face is bare.
    wind_down
        By when it is taken down for the first of them, while somebody is there; None: no such wind.
    barred
        Why nothing may be hung; None: nothing bars it.
    """

    face: str
    coat: str
    kind: CoverKind
    rule: str
    value: float
    limit: float
    unit: KindName
    could: float | None
    start: datetime
    end: datetime
    up_by: datetime
    down_at: datetime
    wind_most: float
    windy: tuple[Span, ...]
    wind_down: datetime | None
    barred: Barred | None


@dataclass(frozen=True, slots=True)
class _Threat:
    """Hours against which one cover helps."""

    kind: CoverKind
    rule: str
    value: float
    limit: float
    unit: KindName
    first: int
    last: int
    could: float | None = None


def protect(
    work: FaceWork,
    coat: CoatWork,
    laid: Span,
    outlook: FaceHours,
    now: datetime,
    *,
    hands: Sequence[Span] = (),
    cloth: bool = False,
    ahead: int = AHEAD,
) -> tuple[Cover, ...]:
    """Return what a coat must be covered from in the next three days.

    Parameters
    ----------
    work, coat
        The coat and its face.
    laid
        From when to when it was laid, or will be.
    outlook
        Hours of the face.
    now
        When this is asked.
    hands
        When somebody is there to put up and take down, in order; empty: at any hour.
    cloth
        Wet cloth stands before the face already.
    ahead
        So far ahead is looked [h].

    Returns
    -------
    tuple
        In the order of their hours; none for an inside face.
    """
    limits = limits_of(work, coat)
    return protect_by(
        limits, work.book, laid, outlook, now, last_day=coat.last_day, scaffold=work.face.scaffold or "", hands=hands,
        cloth=cloth, ahead=ahead,
    )  # fmt: skip


def protect_by(
    limits: Limits,
    book: RuleBook,
    laid: Span,
    outlook: FaceHours,
    now: datetime,
    *,
    last_day: int = 0,
    scaffold: str = "",
    hands: Sequence[Span] = (),
    cloth: bool = False,
    ahead: int = AHEAD,
) -> tuple[Cover, ...]:
    """Return covers as :func:`protect` does, by limits that are read already."""
    if not limits.asks:
        return ()
    closed = outlook.index(laid[1] - timedelta(microseconds=1)) + 1
    first = max(outlook.index(now), outlook.index(laid[0]))
    last = outlook.index(now) + ahead
    threats = [*_frost(limits, book, outlook, now, first, last, closed), *_rain(limits, outlook, first, last, closed)]
    if not cloth:
        threats += _sun(limits, book, outlook, first, last, outlook.index(laid[0]), closed, last_day)
    covers = [_cover(one, limits, book, outlook, now, scaffold, hands) for one in threats]
    return tuple(sorted(covers, key=lambda one: (one.start, one.kind)))


def _frost(
    limits: Limits, book: RuleBook, outlook: FaceHours, now: datetime, first: int, last: int, closed: int
) -> Iterator[_Threat]:
    """Yield frost spells: by the margin of the forecast, or air in which a wet face freezes all the same."""
    named = f"{limits.coat}.frost_cover"
    until = max(round(book.value(named)) * DAY, limits.sure)
    first, last = max(first, closed), min(last, closed + until)  # nobody covers a face while it is being laid
    if not until or first >= last:
        return
    air, cloud = (outlook.part(values, first, last) for values in (outlook.temperature, outlook.cloud))
    ahead = np.arange(first, last, dtype=np.float64) - outlook.index(outlook.told or now)
    could = air - limits.margin.ahead(ahead)
    for begin, end in spells((could < limits.frost) | freezing(book, air, cloud)):
        lowest, least = float(np.nanmin(air[begin:end])), float(np.nanmin(could[begin:end]))
        rule = named if book.has(named) else limits.rule(What.FROST_SURE)
        limit = limits.frost
        if least >= limits.frost:
            rule = "visit.frost_night" if lowest <= book.value("visit.frost_night", 2.0) else "visit.frost_clear"
            limit = book.value(rule)
        yield _Threat(CoverKind.FROST, rule, lowest, limit, "temperature_c", first + begin, first + end, least)


def _rain(limits: Limits, outlook: FaceHours, first: int, last: int, closed: int) -> Iterator[_Threat]:
    """Yield rain in the dry time of the coat, from its laying on."""
    last = min(last, closed + (limits.after or 0))
    if limits.after is None or first >= last:
        return
    rain = outlook.part(outlook.rain, first, last)
    if np.nansum(rain) < limits.dry - ROUNDING:
        return
    for begin, end in spells(np.nan_to_num(rain) > ROUNDING):
        fell = float(np.nansum(rain[begin:end]))
        yield _Threat(
            CoverKind.SHEET,
            f"{limits.coat}.rain_after",
            fell,
            limits.dry,
            "volume_l_per_m2",
            first + begin,
            first + end,
        )


def _sun(
    limits: Limits,
    book: RuleBook,
    outlook: FaceHours,
    first: int,
    last: int,
    laid: int,
    closed: int,
    last_day: int,
) -> Iterator[_Threat]:
    """Yield sun on the coat until it has set, and later days that ask for more than mists give."""
    set_at = min(last, closed + limits.shaded)
    if limits.sun is not None and first < set_at:
        direct = outlook.part(outlook.direct, first, set_at)
        for begin, end in spells(direct > max(limits.sun, WEAK)):
            most = float(np.nanmax(direct[begin:end]))
            rule, kind = f"{limits.coat}.sun_most", CoverKind.CLOTH
            yield _Threat(kind, rule, most, limits.sun, "irradiance_w_m2", first + begin, first + end)
    rule = "visit.shade_from"
    for day in range(max((first - laid) // DAY, 1), last_day + 1):
        start = laid + day * DAY
        if not book.has(rule) or start >= last:
            return
        value = float(np.nansum(outlook.part(outlook.demand, start, start + DAY)))
        lit = np.flatnonzero(outlook.part(outlook.direct, max(start, first), start + DAY) > (limits.sun or 0.0))
        if value >= book.value(rule) - ROUNDING and lit.size:
            begin, end = (max(start, first) + int(lit[at]) for at in (0, -1))
            yield _Threat(CoverKind.CLOTH, rule, value, book.value(rule), "volume_l_per_m2", begin, end + 1)


def spells(hours: Flags) -> Iterator[tuple[int, int]]:
    """Yield first and last hour, half-open, of spells less than six hours apart.

    Examples
    --------
    >>> flags = np.zeros(24, dtype=bool)
    >>> flags[[2, 5, 20]] = True
    >>> list(spells(flags))
    [(2, 6), (20, 21)]
    """
    at = np.flatnonzero(hours)
    if at.size:
        for part in np.split(at, np.flatnonzero(np.diff(at) > APART) + 1):
            yield int(part[0]), int(part[-1]) + 1


def _cover(
    threat: _Threat,
    limits: Limits,
    book: RuleBook,
    outlook: FaceHours,
    now: datetime,
    scaffold: str,
    hands: Sequence[Span],
) -> Cover:
    start, end = outlook.at(threat.first), outlook.at(threat.last)
    up, down = up_by(start, now, hands), down_at(end, hands)
    most = book.value("weather.wind_most", 8.0)
    blows = windy(outlook, up, down, most)
    wind_down = up_by(blows[0][0], now, hands) if blows else None
    barred = Barred.TOWER if rolls(scaffold) else None
    if barred is None and wind_down is not None and wind_down <= start:
        barred = Barred.WIND
    return Cover(
        face=outlook.face,
        coat=limits.coat,
        kind=threat.kind,
        rule=threat.rule,
        value=threat.value,
        limit=threat.limit,
        unit=threat.unit,
        could=threat.could,
        start=start,
        end=end,
        up_by=up,
        down_at=down,
        wind_most=most,
        windy=blows,
        wind_down=wind_down,
        barred=barred,
    )


def rolls(scaffold: str) -> bool:
    """Tell whether a scaffold of that name rolls: nothing is hung on it.

    Examples
    --------
    >>> rolls("mobile tower"), rolls("north scaffold")
    (True, False)
    """
    return _ROLLING.search(scaffold) is not None


def windy(outlook: FaceHours, start: datetime, end: datetime, most: float) -> tuple[Span, ...]:
    """Return the spells of hours with so much wind that a cover comes down [m/s]."""
    first, last = outlook.index(start), outlook.index(end - timedelta(microseconds=1)) + 1
    blow = outlook.part(outlook.wind, first, last) >= most
    edges = np.flatnonzero(np.diff(np.concatenate([[False], blow, [False]]).astype(np.int8)))
    return tuple((outlook.at(first + int(a)), outlook.at(first + int(b))) for a, b in edges.reshape(-1, 2))


def up_by(start: datetime, now: datetime, hands: Sequence[Span]) -> datetime:
    """Return the last instant at which somebody is there before what begins then; now, if it has begun.

    Examples
    --------
    A night's frost from 02:00 is covered for by the end of the working day before.
    """
    ends = [min(end, start) for begin, end in hands if begin < start and min(end, start) > now]
    return max(now, max(ends, default=start))


def down_at(end: datetime, hands: Sequence[Span]) -> datetime:
    """Return the first instant at which somebody is there after what ends then."""
    return min((max(begin, end) for begin, finish in hands if finish > end), default=end)
