"""What a person must see first: warnings, and what is asked about."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from itertools import pairwise

from curing.model.evidence import Evidence
from curing.model.job import Job
from curing.model.plan import Booking, FacePlan, Kind, Notice, Value
from curing.planning.cloth import sunny
from curing.planning.expand import FaceWork
from curing.planning.least_change import Past
from curing.planning.readiness import Laid
from curing.planning.season_years import LEAST_YEARS
from curing.planning.windows import SiteSun
from curing.planning.worktime import local, zone_of

DAY = timedelta(days=1)
NEAR = 14
"""[d] Unnamed rounds further away are not urgent."""
NEAR_SEASON = 60
"""[d] That a panel could be late for the season is pressing from so long before on (common practice, no source)."""
NEAR_LOOK = 7
"""[d] Unnamed laying-day looks further away are not urgent."""


def warnings(
    job: Job,
    works: Sequence[FaceWork],
    laid: Mapping[str, list[Laid]],
    faces: Iterable[FacePlan],
    bookings: Iterable[Booking],
    suns: Mapping[str, SiteSun],
    today: date,
) -> tuple[Notice, ...]:
    """Return all warnings, urgent ones first, each kind in walking order."""
    found = [*_stays(bookings), *_unnamed(bookings, today)]
    read = {work.id for work in works if _read_dry(work)}
    for face in faces:
        found += [one for one in _season(face, today) if face.id not in read or one.key == "too_late"]
    for work in works:
        found += _waits(work, laid[work.id])
        found += _panel(work)
        found += _bare(work, laid[work.id], suns[work.site])
    drying = any(work.wall.panel is not None and work.coats[0].done is None for work in works)
    if drying and (job.file.season is None or not job.file.season.drying):
        found.append(Notice("panel.drying", "no_factors"))
    found += _season_source(job)
    return tuple(sorted(found, key=lambda notice: not notice.urgent))


def _stays(bookings: Iterable[Booking]) -> list[Notice]:
    """Things of today and tomorrow that stay although they no longer fit."""
    found = []
    for one in bookings:
        if one.reason.rule == "plan.keep":
            kept = {"what": one.id, **one.reason.values}
            found.append(Notice("plan.keep", "kept_by", kept, one.faces))
        elif one.pinned:
            day, _ = local(zone_of(one.zone), one.start)
            values: dict[str, Value] = {"what": one.id, "day": day.isoformat()}
            found.append(Notice("plan.today", "stays", values, one.faces, urgent=True))
    return found


def _unnamed(bookings: Iterable[Booking], today: date) -> list[Notice]:
    """Rounds (and laying-day looks) that nobody takes, one notice a day, in time order."""
    days: dict[tuple[date, bool], list[Booking]] = {}
    for one in bookings:
        if one.who or one.kind not in (Kind.ROUND, Kind.LOOK):
            continue
        day, _ = local(zone_of(one.zone), one.start)
        if day >= today:
            days.setdefault((day, one.kind is Kind.ROUND), []).append(one)
    found = []
    for (day, rounds), listed in sorted(days.items(), key=lambda item: (item[0][0], not item[0][1])):
        values: dict[str, Value] = {"day": day.isoformat()}
        if rounds:
            values["visits"] = sum(len(one.visits) for one in listed)
            values["minutes"] = sum(visit.minutes for one in listed for visit in one.visits)
        faces = tuple(dict.fromkeys(face for one in listed for face in one.faces))
        values["faces"] = " ".join(faces)
        key = "unnamed_round" if rounds else "unnamed_look"
        near = NEAR if rounds else NEAR_LOOK
        found.append(Notice("visit.walks", key, values, faces, urgent=(day - today).days <= near))
    return found


def _read_dry(work: FaceWork) -> bool:
    """Tell whether the meter has decided about the panel: the estimate of its drying no longer matters."""
    return any(hold.point.lapses and hold.entry and hold.entry.met for hold in work.coats[0].holds)


def _season(face: FacePlan, today: date) -> list[Notice]:
    season = face.season
    if season is None:
        return []
    values: dict[str, Value] = {
        "face": face.id,
        "finish": season.finish.isoformat(),
        "line": season.line.isoformat(),
        "base_by": season.base_by.isoformat(),
        "fill_by": season.fill_by.isoformat(),
        "fill_by_late": season.fill_by_late.isoformat(),
        "spare": abs(season.spare),
    }
    found = []
    if season.spare < 0:
        found.append(Notice("season.finish_by", "too_late", values, (face.id,), urgent=True))
    elif face.panel is not None and not any(coat.laid for coat in face.coats):
        if face.panel.ready > season.base_by:
            found.append(Notice("season.fill_by", "filled_late", values, (face.id,), urgent=True))
        elif face.panel.likely_late > season.base_by:
            near = (season.base_by - today).days <= NEAR_SEASON
            found.append(Notice("season.fill_by_late", "could_be_late", values, (face.id,), urgent=near))
    return found


def _season_source(job: Job) -> list[Notice]:
    """What became of the job file's season line where a site has a station of its own."""
    source = job.season_source
    if source is None:
        return []
    found = []
    if source.years and source.was is not None and source.line is not None:
        values: dict[str, Value] = {
            "line": source.line.isoformat(),
            "seasons": source.years,
            "site": source.site,
            "was": source.was.isoformat(),
        }
        found.append(Notice("season.years", "season_years", values))
    for one in source.none:
        values = {"site": one.site, "seasons": one.years, "least": LEAST_YEARS}
        key = f"no_line_{one.why}" if job.file.season is not None else f"no_line_{one.why}_at_all"
        found.append(Notice("season.years", key, values))
    return found


def _waits(work: FaceWork, laid: list[Laid]) -> list[Notice]:
    found = []
    for before, one in pairwise(laid):
        waited = (one.day - before.day).days
        if one.done or one.coat.greatest_wait is None or waited <= one.coat.greatest_wait:
            continue
        values: dict[str, Value] = {
            "coat": one.coat.id,
            "waited": waited,
            "most": one.coat.greatest_wait,
            "before": before.coat.coat.name,
        }
        found.append(Notice(f"{one.coat.coat.id}.greatest_wait", "greatest_wait", values, (work.id,)))
    for place, one in enumerate(laid):
        plaster = [earlier for earlier in laid[:place] if earlier.coat.thickness]
        if one.done or not one.coat.warn_age or not plaster:
            continue
        age = (one.day - plaster[-1].day).days
        if age < one.coat.warn_age:
            values = {
                "coat": one.coat.id,
                "age": age,
                "least": one.coat.warn_age,
                "from_day": (plaster[-1].day + one.coat.warn_age * DAY).isoformat(),
            }
            found.append(Notice(f"{one.coat.coat.id}.warn_age", "young_for_paint", values, (work.id,)))
    return found


def _panel(work: FaceWork) -> list[Notice]:
    panel = work.wall.panel
    least = work.book.value("panel.least_density")
    if panel is None or panel.mix is None or panel.mix.dry_density >= least or work.coats[0].done is not None:
        return []
    values: dict[str, Value] = {"wall": work.wall.id, "density": panel.mix.dry_density, "least": least}
    return [Notice("panel.least_density", "light_panel", values, (work.id,))]


def _bare(work: FaceWork, laid: list[Laid], sun: SiteSun) -> list[Notice]:
    if work.face.cloth or not work.outside:
        return []
    for one in laid:
        rule = f"{one.coat.coat.id}.cloth_to"
        if not one.done and work.book.value(rule) and sunny(work, one.coat, sun, one.day):
            hours = sun.hours_on_face(work.azimuth, one.day)
            values: dict[str, Value] = {"face": work.id, "hours": round(hours, 1), "coat": one.coat.coat.name}
            return [Notice(rule, "bare", values, (work.id,))]
    return []


def questions(
    works: Sequence[FaceWork], past: Past, today: Mapping[str, date], evidence: Evidence, *, has_parent: bool
) -> tuple[Notice, ...]:
    """Return what is asked about: coats whose day is over, holds that wait for a word, visits before the first plan."""
    found = [
        Notice("record.hold", "hold_waiting", {"hold": hold}, _behind(hold, works), urgent=True)
        for hold, last in evidence.waiting.items()
        if min(today.values()) <= last
        if _behind(hold, works)
    ]
    for work in works:
        for coat in work.coats:
            if coat.id in past.unsaid and not _answered(coat.id, past, evidence):
                values: dict[str, Value] = {"coat": coat.id, "day": past.floors[coat.id].was.isoformat()}
                key = "was_it_closed" if coat.id in evidence.started else "was_it_laid"
                found.append(Notice("plan.unconfirmed", key, values, (work.id,), urgent=True))
        done = [coat for coat in work.coats if coat.done is not None]
        if not done or has_parent or done[-1].done is None:
            continue
        days = min((today[work.site] - done[-1].done.date()).days - 1, done[-1].last_day)
        if days >= 1:
            laid = done[-1].done.date()
            values = {
                "coat": done[-1].id,
                "days": days,
                "first": (laid + DAY).isoformat(),
                "last": (laid + days * DAY).isoformat(),
            }
            found.append(Notice("plan.unconfirmed", "were_they_misted", values, (work.id,)))
    return tuple(found)


def _answered(coat: str, past: Past, evidence: Evidence) -> bool:
    """Tell whether somebody said that a coat could not be laid on the day that is asked about."""
    failed = evidence.could_not.get(coat)
    return failed is not None and failed.day == past.floors[coat].was


def _behind(hold: str, works: Iterable[FaceWork]) -> tuple[str, ...]:
    """Return the faces that have a coat behind a hold."""
    return tuple(
        work.id
        for work in works
        if any(hold == one.id for coat in work.coats if coat.done is None for one in coat.holds)
    )


def laid_against(works: Iterable[FaceWork], evidence: Evidence) -> list[Notice]:
    """Return coats that were recorded as laid although a hold was shut, or before their least wait was over."""
    found = []
    for work in works:
        laid: list[Laid] = []
        for coat in work.coats:
            if coat.done is None:
                break
            day = coat.done.date()
            values: dict[str, Value] = {"coat": coat.id, "day": day.isoformat()}
            if coat.id in evidence.done:
                shut = evidence.unheld.get(coat.id)
                if shut:
                    said = {**values, "holds": ", ".join(shut)}
                    found.append(Notice("record.laid", "laid_unheld", said, (work.id,)))
                if laid and (day - laid[-1].day).days < coat.least_wait:
                    waited: dict[str, Value] = {"waited": (day - laid[-1].day).days, "least": coat.least_wait}
                    found.append(Notice(coat.wait_rule, "laid_early", {**values, **waited}, (work.id,)))
            laid.append(Laid(coat, day, True, False))
    return found
