"""What a plasterer would ask of a season that was played: counts, and what must not be."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta

import numpy as np

from curing.model.plan import LIVE, Booking, Care, Kind, Plan, State
from curing.planning.weather_booked import cover_of, goes_up, pairs, stem_of
from tests.benchmarks.season_played import FACINGS, Season, Step
from tests.benchmarks.station import ZONE

DAY = timedelta(days=1)
FLAP = 2 * DAY
"""What comes, goes and comes again within this has flapped."""
AZIMUTH = {"N": 0.0, "E": 90.0, "S": 180.0, "W": 270.0}
AIR = {"base": (5.0, 30.0), "finish": (8.0, 30.0), "paint-1": (8.0, 30.0), "paint-2": (8.0, 30.0)}
"""Least and most air while laying [°C], as the coat system says."""
DRY_AFTER = {"base": 24, "finish": 24, "paint-1": 48, "paint-2": 48}
"""Hours without rain after closing."""
RAINED = 0.1
"""Rain on a face that is rain [L/m2]."""


@dataclass(frozen=True)
class Near:
    """Something that people were told for today or tomorrow, and that is not there any more."""

    now: datetime
    was: Booking
    new: Booking | None


# -- counts ---------------------------------------------------------------------------------


def weeks(season: Season) -> float:
    return (season.steps[-1].now - season.steps[0].now) / (7 * DAY)


def revisions(season: Season, *, forecast: bool = False) -> int:
    """Return how many plans brought news; with ``forecast``, those that no answer of the lead made."""
    return sum(one.news and not (forecast and one.answered) for one in season.steps)


def off_by_rule(season: Season) -> Counter[str]:
    """Return rule → how often it took a coat off its day."""
    found: Counter[str] = Counter()
    for old, new in season.pairs():
        was = {one.id: one for one in old.plan.bookings if one.kind is Kind.COAT}
        for one in new.plan.bookings:
            if one.kind is Kind.COAT and one.state is State.OFF:
                before = was.get(one.id)
                if before is None or before.state is not State.OFF or before.floor_was != one.floor_was:
                    found[one.reason.rule] += 1
    return found


def covers(season: Season) -> Counter[str]:
    """Return what was put up, by kind, with those warned of that could not be."""
    found = Counter(f"{cover_of(one.id)} up" for one in season.done if cover_of(one.id) and goes_up(one))
    found += Counter(f"{cover_of(one.id)} down" for one in season.done if cover_of(one.id) and not goes_up(one))
    unnamed, barred = set(), set()
    for step in season.steps:
        unnamed |= {one.id for one in step.plan.bookings if stem_of(one) and not one.who}
        for one in step.plan.warnings:
            if one.key.endswith(("_tower", "_wind")) and one.key.split("_")[0] in ("frost", "sheet", "cloth"):
                barred.add((one.key, one.faces, str(one.values.get("from"))))
    found["told of, nobody there"] = len(unnamed)
    found["barred by wind"] = len(barred)
    return found


def visits(season: Season) -> Counter[str]:
    """Return what the weather made of the visits that came due."""
    found = Counter({"in all": len(season.walked), "not ticked": sum(not said for _, _, said in season.walked)})
    for _, visit, _ in season.walked:
        if visit.advice:
            found["added" if visit.added else f"{visit.advice}"] += 1
    return found


def inspections(season: Season) -> Counter[str]:
    return Counter(one.reason.key for one in season.done if one.id.endswith(".inspect"))


def refused(season: Season) -> Mapping[str, tuple[float, float, float, int]]:
    """Return face → hours of its finish that did not count (cold, dry, not known), and days of tending more."""
    found: dict[str, tuple[float, float, float, int]] = {}
    for step in season.steps:
        for face in step.plan.faces:
            for coat in face.coats:
                if coat.cure is not None:
                    cure = coat.cure
                    found[face.id] = (cure.cold, cure.dry, cure.unknown, cure.more_days)
    return found


def days(season: Season, coat: str) -> dict[str, date]:
    """Return face → the day on which a coat was laid."""
    return {one.faces[0]: one.end.astimezone(ZONE).date() for one, _, _ in season.laid if one.task == coat}


def moved_near(season: Season) -> Iterator[Near]:
    """Yield what was told for today or tomorrow and lies elsewhere, or nowhere, in the next plan."""
    for old, new in season.pairs():
        if new.answered:
            continue
        today = new.now.astimezone(ZONE).date()
        after = {one.id: one for one in new.plan.everything()}
        for one in old.plan.everything():
            day = one.start.astimezone(ZONE).date()
            if one.state not in LIVE or one.start <= new.now or not today <= day <= today + DAY:
                continue
            there = after.get(one.id)
            if there is None or (there.start, there.who) != (one.start, one.who) or there.state is State.OFF:
                yield Near(new.now, one, there)


# -- what must not be ---------------------------------------------------------------------------


def faults(season: Season) -> list[str]:
    """Return all that must not be, in words; nothing if the season was played well."""
    found = [f"{one.now:%d %b %H} {fault}" for one in season.steps for fault in one.faults]
    found += [f"{one.now:%d %b %H}: planned again at once it has news" for one in season.steps if one.again]
    for old, new in season.pairs():
        found += _vanished(season, old, new)
    found += list(_laid_wrong(season))
    found += list(_never_down(season))
    return found


def _vanished(season: Season, old: Step, new: Step) -> Iterator[str]:
    """Yield days to come on which a coat that lies is visited less often than told, though no other comes over it."""
    laid = {one.id for one, _, _ in season.laid if one.end <= new.now}
    there = _counted(new.plan)
    for (face, coat, day, number), times in _counted(old.plan).items():
        ahead = day > new.now.astimezone(ZONE).date()
        if not ahead or f"{face}.{coat}" not in laid or there[face, coat, day, number] >= times:
            continue
        if not _covered(new.plan, face, coat, day) and not _counted_anew(new.plan, face, coat, number):
            yield f"{new.now:%d %b %H}: {face}.{coat} has fewer visits on {day:%d %b}, its day {number}"


def _counted(plan: Plan) -> Counter[tuple[str, str, date, int]]:
    """Return how often each coat gets its visits on each day, those apart that stand for the weather alone."""
    return Counter(
        (visit.face, visit.coat, walk.start.astimezone(ZONE).date(), visit.day)
        for walk in plan.rounds
        for visit in walk.visits
        if visit.care is not Care.LOOK and not visit.added
    )


def _counted_anew(plan: Plan, face: str, coat: str, day: int) -> bool:
    """Tell whether tending ends before, because hours thought lost were said to have counted after all."""
    dates = next(one for f in plan.faces if f.id == face for one in f.coats if one.coat == coat)
    more = dates.cure.more_days if dates.cure is not None else 0
    return day > 28 + more if coat == "finish" else False


def _covered(plan: Plan, face: str, coat: str, day: date) -> bool:
    names = list(AIR)
    later = {f"{face}.{name}" for name in names[names.index(coat) + 1 :]}
    return any(one.id in later and one.start.astimezone(ZONE).date() <= day for one in plan.bookings)


def _laid_wrong(season: Season) -> Iterator[str]:
    """Yield coats that were laid in air or before rain that their rules forbid, though nobody decided so."""
    truth = season.truth
    for one, _, decided in season.laid:
        if decided or not season.weather:
            continue
        first, last = truth.index(one.start), truth.index(one.end - timedelta(minutes=1)) + 1
        air = truth.temperature[first:last]
        least, most = AIR[one.task]
        if air.min() < least - 0.05 or air.max() > most + 0.05:
            yield f"{one.id} {one.start:%d %b}: laid in air of {air.min():.1f} to {air.max():.1f} °C"
        hours = range(last, last + DRY_AFTER[one.task])
        fell = sum(driven(season, one.faces[0], hour) for hour in hours)
        under = any(each.key == "under_rain" for each in one.under)
        if fell > RAINED and not under:
            yield f"{one.id} {one.start:%d %b}: {fell:.1f} L/m2 of rain on it in {DRY_AFTER[one.task]} h"


def driven(season: Season, face: str, hour: int) -> float:
    """Return the rain that wind drove onto a face in an hour [L/m2]: 2/9 v r^(8/9) cos, the free-field index."""
    truth = season.truth
    rain, wind, way = (float(values[hour]) for values in (truth.rain, truth.wind, truth.direction))
    if not rain > 0 or not wind > 0:
        return 0.0
    facing = AZIMUTH[FACINGS[face.partition("-")[0]]]
    against = 1.0 if np.isnan(way) else float(np.cos(np.radians(way - facing)))
    return float(max(2.0 / 9.0 * wind * rain ** (8.0 / 9.0) * against, 0.0) * 0.4)


def _never_down(season: Season) -> Iterator[str]:
    ways: dict[str, set[bool]] = defaultdict(set)
    for one in season.done:
        if stem := stem_of(one):
            ways[stem].add(goes_up(one))
    last = {pair.stem for pair in pairs(season.steps[-1].plan.bookings)}
    yield from (
        f"{stem}: went up and never came down" for stem, way in ways.items() if way == {True} and stem not in last
    )


# -- flaps --------------------------------------------------------------------------------------


def flaps(season: Season) -> list[str]:
    """Return what appeared, vanished while it was still ahead, and appeared again within two days."""
    gone: dict[str, datetime] = {}
    found = []
    for old, new in season.pairs():
        before, after = _told(old.plan, new.now), _told(new.plan, new.now)
        for key in before.keys() - after.keys():
            gone[key] = new.now
        for key in after.keys() - before.keys():
            if key in gone and new.now - gone[key] <= FLAP:
                found.append(
                    f"{gone[key].astimezone(ZONE):%d %b %H} h gone, {new.now.astimezone(ZONE):%d %b %H} h back: {key}"
                )
    return found


def _told(plan: Plan, now: datetime) -> dict[str, datetime]:
    """Return what the weather made of a plan that is still ahead: covers, advice, coats off."""
    found = {
        f"cover {pair.stem}": pair.down.start for pair in pairs(plan.bookings) if pair.down and pair.down.start > now
    }
    for walk in plan.rounds:
        if walk.start > now:
            found |= {f"{v.advice} {v.id}": walk.start for v in walk.visits if v.advice}
    return found
