"""How far the cures of laid coats are, and by how many days they make tending go on.

An hour known not to count (too cold, or dried out) is made good by another: tending goes on until the hours asked
for are full. An hour of which nobody knows is taken to have counted, as the calendar takes it: a gap in the weather
must not make tending endless. It is shown as not known. Tending is never shorter than the coat system asks.

Nobody knows yet what a visit that may still be ticked did: until it counts as missed, no hour after it is dry.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta, tzinfo

import numpy as np

from curing.model.cure import CureHours, CureRules, FaceHours, Span, Why
from curing.model.evidence import Evidence
from curing.model.plan import Booking, Cure, Lost, Plan
from curing.model.weather import HOUR
from curing.planning import weather_site
from curing.planning.cure_expected import expected_full
from curing.planning.cure_hours import cure_hours, cure_rules, seen_of
from curing.planning.expand import CoatWork, FaceWork
from curing.planning.said_of_rounds import Answer, asked
from curing.planning.weather_sky import Sky
from curing.planning.worktime import Worktime

SLACK = 0.1
"""[h] A day is not added for less: hours are told to the second, and sums of them are not."""
SETTLED = timedelta(days=14)
"""So long after the hours were full they are looked at again: for what is said late."""
MOST_LOST = 20
"""Stretches that are kept, the newest; a winter has hundreds."""


@dataclass(frozen=True, slots=True)
class _Walks:
    """What the walks of a coat say of its water."""

    unsettled: datetime | None = None
    """Start of the first visit that may still be ticked."""
    ahead: tuple[datetime, ...] = ()


@dataclass(frozen=True, slots=True)
class _Case:
    """One coat whose cure is counted."""

    closed: datetime
    until: datetime
    """How far its hours are known, or it was left bare: the end of what is counted."""
    now: datetime
    walks: _Walks
    painted: bool
    """Whether another coat lies over it."""


def with_cures(
    works: Iterable[FaceWork],
    worktime: Worktime,
    sky: Sky | None,
    parent: Plan | None,
    evidence: Evidence,
    now: datetime,
) -> tuple[FaceWork, ...]:
    """Return the faces, their laid coats tended for as many days more as hours did not count.

    Parameters
    ----------
    works
        As :func:`curing.planning.expand.expand` gave them: a laid coat has the cure of the parent plan.
    sky
        Its hours past are counted, for faces outside; a face of which there are none keeps the cure it had.
    parent
        Its rounds tell which visits may still be ticked.
    evidence
        Visits and inspections.
    now
        The present instant.

    Notes
    -----
    Worked example: closed Tue 18 May 15:00, 672 h asked, 72 h below 5 °C: full Fri 18 June 15:00, 3 days more.
    """
    works = tuple(works)
    zones = {work.site: worktime.zone(work.site) for work in works}
    laid = {
        coat.id: _instant(coat.done, zones[work.site]) for work in works for coat in work.coats if coat.done is not None
    }
    walks = _walks(parent.rounds if parent is not None else (), evidence, laid, now)
    return tuple(
        replace(work, coats=tuple(_with_cure(work, coat, laid, walks, sky, evidence, now) for coat in work.coats))
        if any(coat.hours and coat.id in laid for coat in work.coats)
        else work
        for work in works
    )


def _instant(local: datetime, zone: tzinfo) -> datetime:
    return local.replace(tzinfo=zone)


def _walks(
    rounds: Iterable[Booking], evidence: Evidence, laid: Mapping[str, datetime], now: datetime
) -> dict[str, _Walks]:
    """Return coat → what its walks say, for coats that have any."""
    found: dict[str, _Walks] = {}
    for one in asked(rounds, evidence, laid, now):
        coat, start = f"{one.visit.face}.{one.visit.coat}", one.booking.start
        known = found.setdefault(coat, _Walks())
        if one.answer is Answer.AHEAD and start > now:
            found[coat] = replace(known, ahead=(*known.ahead, start))
        elif one.answer in (Answer.AHEAD, Answer.UNCONFIRMED) and known.unsettled is None:
            found[coat] = replace(known, unsettled=start)
    return found


def _with_cure(
    work: FaceWork,
    coat: CoatWork,
    laid: Mapping[str, datetime],
    walks: Mapping[str, _Walks],
    sky: Sky | None,
    evidence: Evidence,
    now: datetime,
) -> CoatWork:
    if not coat.hours or coat.id not in laid:
        return coat
    past = sky.past.get(work.id) if sky is not None and work.outside else None
    over = min((laid[one.id] for one in work.coats[coat.index + 1 :] if one.id in laid), default=now)
    cure = _carried(coat.cure, evidence.checked.get(work.id, ()))
    known = _known_to(past) if past is not None else None
    if past is not None and known is not None:
        case = _Case(
            laid[coat.id],
            min(known, now, over),
            min(now, over),
            walks.get(coat.id, _Walks()),
            over < now,
        )
        settled = cure is not None and cure.full is not None and now - cure.full > SETTLED
        if (
            not settled
            and case.until > case.closed
            and past.start < case.closed + coat.hours * HOUR + _lost_before(cure)
        ):
            newest = sky.newest.get(work.id) if sky is not None else None
            cure = _cure(work, coat, case, past, newest, evidence, cure)
    if cure is None:
        return coat
    return replace(coat, cure=cure, more_days=cure.more_days, more_cold=cure.cold_told, more_dry=cure.dry_told)


def _carried(cure: Cure | None, sound: Sequence[datetime]) -> Cure | None:
    """Return the cure of the parent plan, its inspection done where somebody found the face sound since."""
    if cure is None or cure.inspect is None or all(one < cure.inspect for one in sound):
        return cure
    return replace(cure, inspect=None)


def _lost_before(cure: Cure | None) -> timedelta:
    return (cure.cold + cure.dry) * HOUR if cure is not None else timedelta()


def _known_to(past: FaceHours) -> datetime | None:
    """Return the end of the last hour of which anything is known."""
    known = np.flatnonzero(np.isfinite(past.temperature))
    return past.start + (int(known[-1]) + 1) * HOUR if known.size else None


def _cure(
    work: FaceWork,
    coat: CoatWork,
    case: _Case,
    past: FaceHours,
    newest: weather_site.FaceHours | None,
    evidence: Evidence,
    before: Cure | None,
) -> Cure:
    """Count the cure of a coat."""
    rules = replace(cure_rules(work.book, coat.coat.id, coat.thickness), hours=coat.hours)
    seen = seen_of(evidence, work.id, coat.coat.id)
    count = cure_hours(case.closed, case.until, rules, past, seen)
    # Where the hours kept do not go back to the closing of the coat, what was counted then stands.
    base = before if before is not None and past.start > case.closed else None
    end, refused = _end(count, case, rules, base)
    full = end if end <= case.now else None
    stop = end if full is not None else case.until
    lost = _lost(count, base.until if base is not None else case.closed, stop)
    if stop > case.until:
        lost = [*lost, Span(case.until, stop, Why.UNKNOWN)]
    hours = {why: sum(one.hours for one in lost if one.why is why) for why in Why}
    since, had = (base.until, base) if base is not None else (case.closed, None)
    counted = max((stop - since) / HOUR - sum(hours.values()), 0.0) + (had.counted if had is not None else 0.0)
    slack = max(max(coat.twice_to, coat.once_to) - coat.hours / 24.0, 0.0)
    needed = max(math.ceil((sum(refused.values()) - SLACK) / 24.0 - slack), 0)
    more = max(needed, _walked(coat, case, before))
    stays = before is not None and (before.more_days == more or needed < more)
    told = (before.cold_told, before.dry_told) if before is not None and stays else None
    cold_told, dry_told = told or ((round(refused[Why.COLD]), round(refused[Why.DRY])) if more else (0, 0))
    expected = None
    if full is None and not case.painted and count.rests is None:
        ahead = FaceHours(newest.start, newest.temperature, newest.demand) if newest is not None else None
        asked = replace(rules, hours=max(rules.hours - hours[Why.UNKNOWN], 1.0))  # the rest as the calendar goes
        expected = expected_full(case.closed, case.until, asked, past, seen, planned=case.walks.ahead, forecast=ahead)
    return Cure(
        counted=_told(counted),
        cold=_told(hours[Why.COLD] + (had.cold if had is not None else 0.0)),
        dry=_told(hours[Why.DRY] + (had.dry if had is not None else 0.0)),
        unknown=_told(hours[Why.UNKNOWN] + (had.unknown if had is not None else 0.0)),
        until=stop,
        more_days=more,
        cold_told=cold_told,
        dry_told=dry_told,
        rests=count.rests if full is None and not case.painted else None,
        inspect=_inspect(count, end, evidence.checked.get(work.id, ()), base),
        full=full,
        expected=expected,
        lost=tuple(Lost(one.start, one.end, str(one.why)) for one in lost[-MOST_LOST:]),
    )


def _walked(coat: CoatWork, case: _Case, before: Cure | None) -> int:
    """Return the days that its tending went on already: water asked for then is on it, whatever is known since.

    The dry days before the next coat count from it.
    """
    if before is None:
        return 0
    gone = (case.now.astimezone(case.closed.tzinfo).date() - case.closed.date()).days
    return max(min(before.more_days, gone - max(coat.twice_to, coat.once_to)), 0)


def _told(hours: float) -> float:
    return round(hours, 1)


def _end(count: CureHours, case: _Case, rules: CureRules, base: Cure | None) -> tuple[datetime, dict[Why, float]]:
    """Return when the hours asked for are full, as far as is known, and the hours refused before that."""
    refused = {Why.COLD: 0.0, Why.DRY: 0.0}
    since = case.closed
    if base is not None:
        refused, since = {Why.COLD: base.cold, Why.DRY: base.dry}, base.until
    end = case.closed + timedelta(seconds=round(3600.0 * (rules.hours + sum(refused.values()))))
    for span in count.spans:
        last = span.end
        if span.start >= end:
            break
        if span.why is Why.UNKNOWN or span.why is None or last <= since:
            continue
        if span.why is Why.DRY and case.walks.unsettled is not None:
            last = min(last, case.walks.unsettled)
        gone = max(last - max(span.start, since), timedelta())
        refused[span.why] += gone / HOUR
        end += gone
    return end, refused


def _lost(count: CureHours, since: datetime, until: datetime) -> list[Span]:
    """Return the stretches that did not count between two instants."""
    cut = (Span(max(one.start, since), min(one.end, until), one.why) for one in count.spans)
    return [one for one in cut if one.end > one.start]


def _inspect(count: CureHours, end: datetime, sound: Sequence[datetime], base: Cure | None) -> datetime | None:
    """Return the start of the first frost of the cure after which nobody has found the face sound."""
    looked = max(sound, default=None)
    if base is not None and base.inspect is not None:
        return base.inspect
    frosts = (one for one in count.frozen if one.start < end and (looked is None or one.end > looked))
    return next((one.start for one in frosts), None)
