"""The cure of a coat in hours that count: those at 5 °C or warmer with the coat still damp.

Time is followed as it ran, not in whole hours: an hour that is broken by the closing of the coat, by a
wetting, or by the coat drying out counts for the part that was warm and damp. So it never matters how
the hours were cut, and 672 hours of good weather end to the minute 28 days after closing.

The coat is *damp* until the air could have taken the damp limit from it since it was last wetted. That
is a convention tuned to common practice, no balance of water. What is not known stays not known: it is
neither credited nor refused, because a gap in the weather says nothing of the wall. A look that finds the
coat still damp closes such a gap afterwards.

A cure that frost or cold stops rests and resumes; nothing that counted is lost.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from curing.model.cure import CureHours, CureRules, FaceHours, Seen, Span, Why
from curing.model.evidence import Evidence
from curing.model.record import RecordKind
from curing.model.system import RuleBook
from curing.model.weather import HOUR, Series

MOST_IN_AN_HOUR = 1.0
"""[kg/m2h] What an hour that is not known took at most: no hour of 7 measured years asked for more than 0.63 of an
exposed face (worked out from hourly measurements). So one lost hour does not make all to the next wetting unknown."""
PROVES = 36.0
"""[h] How far back a coat that is still damp proves that it was: the longest time between two planned visits
(assumption). Further back, rain that nobody told of may have come between."""
RESTART = 0.5
"""Share of the damp limit at which the sum goes on after a look that finds the coat still damp (assumption)."""
RAIN_LASTS = 24
"""[h] Rain that adds up to one wetting falls within this time (assumption)."""
NOTHING_SEEN = Seen()
_NEVER = 1e-9  # h


def cure_rules(book: RuleBook, coat: str, thickness: float | None) -> CureRules:
    """Return what the coat system asks of the hours of a coat.

    Where it tells the water of the fresh mortar, a thin coat [mm] has a lower damp limit. Rain wets like a visit
    where as much of it fell as a visit puts on.
    """
    usual = CureRules()
    limit = book.value(f"{coat}.damp_most", usual.limit)
    if book.has(f"{coat}.fresh_water") and thickness:
        limit = min(limit, book.value(f"{coat}.fresh_water") * thickness / 1000.0)
    return CureRules(
        hours=book.value(f"{coat}.hours", usual.hours),
        least=book.value(f"{coat}.cure_least", usual.least),
        limit=limit,
        frost=book.value("weather.frost", usual.frost),
        rain=book.value("visit.water", usual.rain),
    )


def seen_of(evidence: Evidence, face: str, coat: str) -> Seen:
    """Return what the ticks of a coat and the inspections of its face come to."""
    ticks = [tick for visit, tick in evidence.visits.items() if visit.startswith(f"{face}.{coat}.")]
    wets = (RecordKind.MISTED, RecordKind.RAIN_ON_IT)
    return Seen(
        wetted=tuple(sorted(tick.at for tick in ticks if tick.kind in wets)),
        damp=tuple(sorted(tick.at for tick in ticks if tick.kind is RecordKind.DAMP)),
        sound=tuple(evidence.checked.get(face, ())),
    )


def cure_hours(
    closed: datetime, until: datetime, rules: CureRules, past: FaceHours, seen: Seen = NOTHING_SEEN
) -> CureHours:
    """Count the hours of a cure from the closing of the coat, which is its first wetting.

    Parameters
    ----------
    closed
        When the coat was closed; aware.
    until
        Now, or the end of what is known where that is earlier; what was said later has no effect.
    rules
        What an hour must be to count.
    past
        Hours as they were. What lies outside is not known.
    seen
        What people saw and did.

    Raises
    ------
    ValueError
        Series of different lengths, or one that does not start on the hour.

    Notes
    -----
    Each misting and each rain seen on the coat sets the sum of what the air took to zero, and so does rain
    measured on the face, once its limit has fallen within a day (frozen rain does not). Coat still damp: the
    36 h before, back to the last wetting, were damp, and the sum goes on from half the limit at most.
    A forecast plays no part: it wets nothing.

    Examples
    --------
    Warm and always damp: full to the minute after 28 days.

    >>> from datetime import UTC
    >>> closed = datetime(2027, 5, 18, 13, tzinfo=UTC)
    >>> warm = FaceHours(closed, np.full(700, 12.0), np.zeros(700))
    >>> cure_hours(closed, closed + timedelta(days=29), CureRules(), warm).full
    datetime.datetime(2027, 6, 15, 13, 0, tzinfo=datetime.timezone.utc)
    """
    closed, until = closed.astimezone(UTC), until.astimezone(UTC)
    start = past.start + ((closed - past.start) // HOUR) * HOUR
    end = max((until - start) / HOUR, 0.0)
    hours = _padded(past, start, int(np.ceil(end)))
    pieces = _pieces(_Marks.of(start, closed, end, hours, rules, seen), hours, rules)
    return _told(pieces, hours, rules, start, closed, end, seen)


def followed_by(past: FaceHours, ahead: FaceHours, now: datetime) -> FaceHours:
    """Return past hours to the one that runs at ``now``, and those ahead from it on; rain is that of the past alone."""
    start = min(past.start, ahead.start)
    turn = (now - start) // HOUR
    ends = [(one.start - start) // HOUR + len(one.temperature) for one in (past, ahead)]
    before, after = _padded(past, start, max(ends)), _padded(ahead, start, max(ends))

    def turned(first: Series, second: Series) -> Series:
        return np.concatenate([first[:turn], second[turn:]])

    rain = None if before.rain is None else turned(before.rain, np.full(max(ends), np.nan))
    return FaceHours(start, turned(before.temperature, after.temperature), turned(before.demand, after.demand), rain)


def _padded(past: FaceHours, start: datetime, count: int) -> FaceHours:
    """Return so many hours from ``start``; what lies outside is not known."""
    if any(x is not None and x.shape != past.temperature.shape for x in (past.demand, past.rain)):
        raise ValueError("hours of a face: temperature, demand and rain differ in length; give one value an hour")
    if past.start != past.start.replace(minute=0, second=0, microsecond=0):
        raise ValueError(f"hours of a face start at {past.start}; an hourly series starts on the hour")
    shift = (start - past.start) // HOUR

    def cut(series: Series) -> Series:
        whole = np.full(count, np.nan)
        first, last = max(shift, 0), min(shift + count, len(series))
        if last > first:
            whole[first - shift : last - shift] = series[first:last]
        return whole

    return FaceHours(start, cut(past.temperature), cut(past.demand), None if past.rain is None else cut(past.rain))


@dataclass(frozen=True, slots=True)
class _Marks:
    """Instants that matter, in hours from the start of the series."""

    closed: float
    end: float
    wetted: NDArray[np.float64]
    damp: NDArray[np.float64]

    @classmethod
    def of(
        cls, start: datetime, closed: datetime, end: float, hours: FaceHours, rules: CureRules, seen: Seen
    ) -> _Marks:
        first = (closed - start) / HOUR

        def within(instants: Iterable[datetime]) -> list[float]:
            return [at for at in sorted((one - start) / HOUR for one in instants) if first < at <= end]

        rained = [at for at in _rained(hours, rules, first) if at <= end]
        return cls(first, end, np.unique([*within(seen.wetted), *rained]), np.unique(within(seen.damp)))


def _rained(hours: FaceHours, rules: CureRules, closed: float) -> list[float]:
    """Return the ends of hours in which measured rain came to a wetting, each litre used once.

    Rain adds up whether or not somebody mists in between: a misting must never cost hours.
    """
    if hours.rain is None:
        return []
    fell = np.where(hours.temperature >= rules.frost, np.nan_to_num(hours.rain), 0.0)
    fell[: int(np.ceil(closed - _NEVER))] = 0.0
    found: list[float] = []
    used = 0
    sums = [0.0, *np.cumsum(fell).tolist()]
    for after in (np.flatnonzero(fell > 0.0) + 1).tolist():
        if sums[after] - sums[max(used, after - RAIN_LASTS)] >= rules.rain - _NEVER:
            used = after
            found.append(float(used))
    return found


@dataclass(frozen=True, slots=True)
class _Pieces:
    """Stretches inside one hour and between two marks, each damp for certain, then perhaps, then dry."""

    at: NDArray[np.float64]
    long: NDArray[np.float64]
    hour: NDArray[np.int64]
    damp: NDArray[np.float64]
    """[h] for certain."""
    wet: NDArray[np.float64]
    """[h] for certain or perhaps."""


def _pieces(marks: _Marks, hours: FaceHours, rules: CureRules) -> _Pieces:
    """Cut the cure at its marks, and follow what the air took from wetting to wetting."""
    proven = np.array([_proves_from(marks, at) for at in marks.damp])
    cuts = np.unique([marks.closed, marks.end, *range(hours.demand.size + 1), *marks.wetted, *marks.damp, *proven])
    cuts = cuts[(cuts >= marks.closed) & (cuts <= marks.end)]
    at, long = cuts[:-1], np.diff(cuts)
    hour = np.minimum(np.floor(at + _NEVER).astype(np.int64), max(hours.demand.size - 1, 0))
    took = hours.demand[hour] * long if at.size else np.zeros(0)
    known = np.isfinite(took)
    least, most = np.where(known, took, 0.0), np.where(known, took, MOST_IN_AN_HOUR * long)
    wet = long * _share_before(_sums(least, at, marks, rules), least, rules.limit)
    damp = np.where(known, long * _share_before(_sums(most, at, marks, rules), most, rules.limit), 0.0)
    for first, last in zip(proven, marks.damp, strict=True):
        seen = slice(np.searchsorted(at, first), np.searchsorted(at, last))
        damp[seen] = wet[seen] = long[seen]
    return _Pieces(at, long, hour, damp, wet)


def _proves_from(marks: _Marks, at: float) -> float:
    """Return since when a coat that is damp at an instant was so: its last wetting, 36 h at most."""
    before = marks.wetted[marks.wetted < at]
    return max(before[-1] if before.size else marks.closed, at - PROVES)


def _sums(took: NDArray[np.float64], at: NDArray[np.float64], marks: _Marks, rules: CureRules) -> NDArray[np.float64]:
    """Return what the air took since the last wetting, at the start of each piece [kg/m2]."""
    whole = np.concatenate([[0.0], np.cumsum(took)[:-1]]) if took.size else took
    resets = dict.fromkeys(marks.damp.tolist(), RESTART * rules.limit) | dict.fromkeys(marks.wetted.tolist(), 0.0)
    base = np.zeros(took.size)
    offset = 0.0
    places = [(int(np.searchsorted(at, when)), highest) for when, highest in sorted(resets.items())]
    for place, highest in places:
        if place < took.size:
            offset = max(offset, float(whole[place]) - highest)
            base[place:] = offset
    return np.asarray(whole - base)


def _share_before(sums: NDArray[np.float64], took: NDArray[np.float64], limit: float) -> NDArray[np.float64]:
    """Return the share of each piece that lies before the sum reaches the limit."""
    room = limit - sums
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(took > 0.0, room / took, np.where(room > 0.0, 1.0, 0.0))
    return np.clip(share, 0.0, 1.0)


def _told(
    pieces: _Pieces, hours: FaceHours, rules: CureRules, start: datetime, closed: datetime, end: float, seen: Seen
) -> CureHours:
    """Add up what counted until the cure is full, and why the rest did not."""
    air = hours.temperature[pieces.hour] if pieces.at.size else np.zeros(0)
    warm, cold = air >= rules.least, air < rules.least
    counted = np.where(warm, pieces.damp, 0.0)
    sums = np.cumsum(counted)
    full = None
    if sums.size and sums[-1] >= rules.hours - _NEVER:
        last = int(np.searchsorted(sums, rules.hours - _NEVER))
        end = float(pieces.at[last] + rules.hours - (sums[last] - counted[last]))
        full = _instant(start, end)
    until = max(closed, _instant(start, end))
    rows: list[tuple[float, float, Why]] = []
    lacks = (counted < pieces.long) & (pieces.at < end)
    columns = (pieces.at, pieces.long, counted, pieces.wet, cold)
    for at, long, good, wet, is_cold in zip(*(column[lacks].tolist() for column in columns), strict=True):
        if is_cold:
            rows.append((at, at + long, Why.COLD))
        else:
            rows += ((at + good, at + wet, Why.UNKNOWN), (at + wet, at + long, Why.DRY))
    spans = _merged([(a, min(b, end), why) for a, b, why in rows], start)
    freezes = air < rules.frost
    ends = np.minimum(pieces.at + pieces.long, end)
    frozen = _merged([(a, b, None) for a, b in zip(pieces.at[freezes], ends[freezes], strict=True)], start)
    looked = max((one for one in seen.sound if one <= until), default=None)
    wanted = [span.start for span in frozen if looked is None or span.end > looked]
    lost = {why: sum(span.hours for span in spans if span.why is why) for why in Why}
    return CureHours(
        rules=rules,
        closed=closed,
        until=until,
        counted=rules.hours if full else round(float(sums[-1]), 6) if sums.size else 0.0,
        cold=lost[Why.COLD],
        dry=lost[Why.DRY],
        unknown=lost[Why.UNKNOWN],
        spans=spans,
        frozen=frozen,
        inspect=wanted[0] if wanted else None,
        full=full,
    )


def _merged(rows: Sequence[tuple[float, float, Why | None]], start: datetime) -> tuple[Span, ...]:
    """Join stretches of one cause that follow each other."""
    merged: list[tuple[float, float, Why | None]] = []
    for first, last, why in rows:
        if last - first <= _NEVER:
            continue
        if merged and merged[-1][2] is why and first - merged[-1][1] <= _NEVER:
            merged[-1] = (merged[-1][0], last, why)
        else:
            merged.append((first, last, why))
    return tuple(Span(_instant(start, first), _instant(start, last), why) for first, last, why in merged)


def _instant(start: datetime, hours: float) -> datetime:
    """Return the instant, to the second."""
    return start + timedelta(seconds=round(3600.0 * hours))
