"""Where every face stands, its holds, its scaffold: read off a finished dispatch."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date, datetime, timedelta

from curing.model.evidence import NOTHING_SAID, Evidence
from curing.model.job import Job
from curing.model.plan import Booking, CoatDates, FacePlan, Hold, HoldState, Panel, Scaffold, Season
from curing.model.system import Scope
from curing.planning.expand import CoatWork, FaceWork, Identity, system_digest
from curing.planning.readiness import Laid, dried, hold_state, judged_from
from curing.planning.season import drying_days, fill_by, line_for
from curing.planning.season_gate import SeasonGate

DAY = timedelta(days=1)


def face_plan(
    job: Job, work: FaceWork, laid: list[Laid], coats: Mapping[str, Booking], today: date, gate: SeasonGate
) -> FacePlan:
    """Return one face with the dates of its coats, its season and its panel's estimate."""
    factors = job.file.season.drying if job.file.season else {}
    estimate = dried(work, factors)
    panel = work.wall.panel
    return FacePlan(
        id=work.id,
        root=work.root,
        wall=work.wall.id,
        wall_name=work.wall.name,
        side=work.face.side.value,
        site=work.site,
        order=work.order,
        azimuth=work.azimuth if work.outside else None,
        area=work.face.area,
        system=work.system.id,
        system_digest=system_digest(work),
        coats=tuple(_dates(job, work, one, coats[one.coat.id]) for one in laid),
        season=_season(job, work, laid, coats, today, gate),
        panel=Panel(panel.filled, *estimate) if panel and panel.filled and estimate else None,
    )


def _dates(job: Job, work: FaceWork, one: Laid, booking: Booking) -> CoatDates:
    coat = one.coat
    last = one.day + coat.last_day * DAY if coat.last_day else None
    return CoatDates(
        coat=coat.coat.id,
        name=coat.coat.name,
        booking=coat.id,
        laid=booking.end if one.done else None,
        day=one.day,
        first_visit=one.day + DAY if coat.last_day else None,
        last_visit=last,
        visits=coat.visits,
        full=full(booking.end, coat),
        water=round(coat.visits * coat.visit_water, 1),
        twice_to=coat.twice_to,
        once_to=coat.once_to,
        hours=coat.hours,
        cure=coat.cure if one.done else None,
    )


def full(closed: datetime, coat: CoatWork) -> datetime | None:
    """Return when the hours of the cure are full if every hour counts, or every one after the days tending goes on.

    Worked example: closed Tue 18 May 15:00, 672 h: Tue 15 June 15:00.
    """
    return closed + timedelta(hours=coat.hours, days=coat.more_days) if coat.hours else None


def _season(
    job: Job, work: FaceWork, laid: list[Laid], coats: Mapping[str, Booking], today: date, gate: SeasonGate
) -> Season | None:
    season = job.file.season
    bound = next((one for one in laid if one.coat.coat.season), None)
    if season is None or bound is None or not work.outside or bound.done:
        return None
    crew = next(crew.id for crew in job.file.crews if work.face.crew in (None, crew.id))
    base = work.coats[0]
    # Judged in the season in which the face could first begin, not in the one it was put off to.
    begun = laid[0].day if laid[0].done else max(coats[laid[0].coat.id].ready or today, today)
    line = line_for(season, begun)
    base_by = gate.last_day(work, base, crew, begun)
    if base_by is None:
        return None
    thickness = work.wall.panel.thickness if work.wall.panel else 0.0
    fills = [fill_by(base_by, drying_days(work.book, thickness, late=late), season.drying) for late in (False, True)]
    told = Season(line, bound.day, base_by, fills[0], fills[1], (line - bound.day).days, bool(season.drying))
    source = job.season_source
    if source is None or source.line is None or source.earliest is None or source.latest is None:
        return told
    # the line comes back every year, and its spread with it
    early, late = (line + (one - source.line) for one in (source.earliest, source.latest))
    return replace(told, years=source.years, earliest=early, latest=late)


def holds(
    work: FaceWork,
    laid: list[Laid],
    coats: Mapping[str, Booking],
    today: date,
    identity: Identity,
    evidence: Evidence = NOTHING_SAID,
) -> list[Hold]:
    """Return the holds before the coats of a face that are not done."""
    found = []
    for place, one in enumerate(laid):
        if one.done:
            continue
        for hold in one.coat.holds:
            opens = judged_from(hold, one.coat, laid[:place]) if hold.point.judges else None
            entry = hold.entry
            root = {
                Scope.JOB: "job",
                Scope.WALL: identity.wall_root(work.id),
                Scope.FACE: work.root,
            }[hold.point.scope]
            met = entry.met if entry else None
            fact = evidence.holds.get(hold.id)
            shut = fact if fact is not None and fact.shut is not None else None
            found.append(
                Hold(
                    id=hold.id,
                    uid=identity.uid("hold", root, hold.point.id),
                    point=hold.point.id,
                    text=hold.point.text,
                    lifts=hold.point.lifts,
                    faces=(work.id,),
                    before=(one.coat.id,),
                    state=hold_state(hold, one.coat, one.day, today, laid[:place]),
                    rule=f"{one.coat.coat.id}.{hold.point.id}",
                    met=met,
                    by=entry.by if entry else "",
                    note=entry.note if entry else "",
                    opens=opens,
                    lapses=met + hold.lapse * DAY if met and hold.lapse else None,
                    shut=str(shut.shut) if shut is not None else "",
                    shut_by=shut.cause.by if shut is not None else "",
                    shut_on=shut.cause.day if shut is not None else None,
                )
            )
    return found


_WORST = (HoldState.REFUSED, HoldState.UNMET, HoldState.LATER, HoldState.MET)


def merged(found: Iterable[Hold]) -> tuple[Hold, ...]:
    """Join holds of one id (both sides of a wall, the whole job); the worst state stands."""
    by_id: dict[str, Hold] = {}
    for hold in found:
        other = by_id.get(hold.id)
        if other is None:
            by_id[hold.id] = hold
            continue
        worse = min(other, hold, key=lambda h: _WORST.index(h.state))
        by_id[hold.id] = Hold(
            **{name: getattr(worse, name) for name in Hold.__slots__ if name not in ("faces", "before")},
            faces=tuple(dict.fromkeys(other.faces + hold.faces)),
            before=tuple(dict.fromkeys(other.before + hold.before)),
        )
    return tuple(by_id[key] for key in sorted(by_id))


def scaffolds(works: Iterable[FaceWork], laid: Mapping[str, list[Laid]]) -> tuple[Scaffold, ...]:
    """Return when each named scaffold is needed: first coat to last misting or last coat."""
    spans: dict[str, tuple[date, date, list[str]]] = {}
    for work in works:
        coats = laid[work.id]
        name = work.face.scaffold
        if name is None or not coats:
            continue
        first = coats[0].day
        last = max(one.day + one.coat.last_day * DAY for one in coats)
        if name in spans:
            first, last = min(first, spans[name][0]), max(last, spans[name][1])
        spans[name] = (first, last, [*(spans[name][2] if name in spans else []), work.id])
    return tuple(Scaffold(name, first, last, tuple(faces)) for name, (first, last, faces) in sorted(spans.items()))


def by_start(bookings: Iterable[Booking]) -> tuple[Booking, ...]:
    """Return bookings in the order of the plan: by start, then id."""
    return tuple(sorted(bookings, key=lambda b: (b.start, b.id)))
