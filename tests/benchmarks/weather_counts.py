"""``python -m tests.benchmarks.weather_counts``: how often each rule of weather speaks, on recorded hours.

Perfect foresight: what came is taken for the forecast. First the days on which a coat could be begun, as
calibrated and as the planner's rules give them; then, rule by rule, the days that it stops from morning to
evening, the visits and the covers that it makes. A rule that speaks on most days is noise, one that never
speaks is dead: both are named. Source of the hours: KNMI (CC BY 4.0).
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from curing.model.job import Face, Side, Site
from curing.model.system import RuleBook, System, Work
from curing.model.weather import Weather
from curing.planning.weather_limits import Limits, limits_in
from curing.planning.weather_looks import Advice, look_first, midday, more_water, no_water
from curing.planning.weather_protect import CoverKind, protect_by
from curing.planning.weather_site import FaceHours, site_weather
from curing.planning.weather_weighing import Shelter, weigh
from curing.planning.weather_windows import may_begin
from curing.sources.systemfile import load_systems
from tests.benchmarks import weather_rules as rules
from tests.benchmarks.model_tables import EVENING, MONTH_DAYS, MONTHS, MORNING, WINDOWS
from tests.benchmarks.station import LATITUDE, LONGITUDE, SEVEN_YEARS, SIDES, ZONE, Hours, recorded, there

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
COATS = ("base", "finish", "paint-1")
FIRST, LAST = 7, 18
"""Hours of work by the clock there."""
NOISY = 50.0
"""A rule that speaks on more of the days than this is noise [%]."""
PLAIN = {"weather.margin_first": 0.0, "weather.margin_last": 0.0}
"""No margin: a year that is over was no forecast."""
SITE = Site(id="station", name="station", latitude=LATITUDE, longitude=LONGITUDE, time_zone=ZONE.key)


def system() -> System:
    """Return the coat system that is counted."""
    return load_systems(["clay-lime"])[0]["clay-lime"]


def limits(coat: str, own: Mapping[str, float] | None = None) -> Limits:
    """Return what one of its coats asks."""
    work = Work.PAINT if coat.startswith("paint") else Work.PLASTER
    return limits_in(RuleBook(system(), own), coat, work)


def weather_of(hours: Hours) -> Weather:
    """Return the recorded hours in the form of the planner, told as they begin."""
    start = datetime.fromtimestamp(hours.start, UTC)
    return Weather(
        start,
        hours.temperature,
        hours.humidity,
        hours.wind,
        hours.direction,
        hours.rain,
        hours.radiation,
        np.full(len(hours), np.nan),
        "station",
        fetched=start,
    )


def views(hours: Hours) -> tuple[FaceHours, ...]:
    """Return what the four faces go through."""
    face = Face(side=Side.OUT, facing="N", area="10 m2", height="2.4 m", system="clay-lime")  # type: ignore[arg-type]
    faces = {name: face.model_copy(update={"facing": 90.0 * side}) for side, name in enumerate(SIDES)}
    return tuple(site_weather(SITE, faces, weather_of(hours)).values())


def as_told(seen: FaceHours) -> FaceHours:
    """Return a face on which rain counts by the wind as told alone."""
    return replace(seen, rain=seen.rain_told)


def starts_of(hours: Hours) -> NDArray[np.int64]:
    """Hours at which a window of four hours may begin."""
    clock = hours.local % 24
    return np.flatnonzero((clock >= FIRST) & (clock <= LAST - rules.HOURS)).astype(np.int64)


def window_share(hours: Hours, seen: tuple[FaceHours, ...], asks: Limits, shelters: tuple[Shelter, ...] = ()) -> Array:
    """Percent of the days of each month on which a coat could be begun; (faces, months)."""
    starts = starts_of(hours)
    good = np.zeros((len(seen), len(hours)), dtype=np.bool_)
    for number, face in enumerate(seen):
        good[number, starts] = may_begin(asks, face, starts, starts, shelters)
    first = FIRST + 1 if asks.coat.startswith("paint") else FIRST
    return rules.share_of_days(hours, good, first, LAST, MONTHS)


def calibrated(coat: str) -> Array:
    """Return the figures as calibrated, (faces, months)."""
    name = coat.partition("-")[0]
    return np.array([[float(x) for x in month.split("/")] for month in WINDOWS[name].split()]).T


@dataclass(frozen=True)
class Spoken:
    """How often one rule speaks, in percent of the days of a part of the year."""

    rule: str
    face: str
    summer: float
    """April to September."""
    year: float
    """March to November."""


def stopping(hours: Hours, seen: tuple[FaceHours, ...], coat: str, own: Mapping[str, float] | None) -> Iterator[Spoken]:
    """Yield for each rule on how many days it alone leaves no hour to begin, nothing hung."""
    asks, starts = limits(coat, own), starts_of(hours)
    day = hours.local[starts] // 24
    days, which = np.unique(day, return_inverse=True)
    month = rules.months_of(days)
    for number, face in enumerate(seen):
        for one in weigh(asks, face, starts, rules.HOURS, starts):
            free = np.bincount(which, ~one.broken) > 0
            summer, year = (100.0 * (~free[np.isin(month, part)]).mean() for part in (range(4, 10), range(3, 12)))
            yield Spoken(asks.rule(one.what), SIDES[number], float(summer), float(year))


def mornings(hours: Hours) -> Iterator[tuple[int, int]]:
    """Yield hour and month of each morning's visit with a day known before and after."""
    local = hours.local
    for at in np.flatnonzero(local % 24 == MORNING):
        if 24 <= at < len(hours) - 96 and not np.isnan(hours.temperature[at - 24 : at + 48]).any():
            yield int(at), int(rules.months_of(local[at : at + 1] // 24)[0])


def visits(hours: Hours, seen: tuple[FaceHours, ...]) -> dict[str, Array]:
    """Return days a month on which each piece of advice is given; name → (faces, 12)."""
    book = RuleBook(system(), PLAIN)
    names = [*(advice.value for advice in Advice), "sheet", "frost cover", "cloth, none hung yet"]
    found, known = {name: np.zeros((4, 12)) for name in names}, np.zeros(12)
    late, finish = timedelta(hours=EVENING - MORNING), limits("finish", PLAIN)
    for at, month in mornings(hours):
        known[month - 1] += 1
        for number, whole in enumerate(seen):
            face = replace(whole, told=whole.at(at))
            morning, after = face.at(at), face.at(at + 24)
            measured = 0.0 if at < 13 else float(np.nansum(face.rain_told[at - 13 : at]))
            given = [
                more_water(book, face, morning, cloth=False),
                look_first(book, face, morning, morning, times=2, rained=measured),
                no_water(book, face, morning, after, late=False),
                no_water(book, face, morning + late, after, late=True),
                midday(book, face, (morning, morning + late, after), cloth=False),
            ]
            for name in {one.advice.value for one in given if one is not None}:
                found[name][number, month - 1] += 1
            laid = (face.at(at), face.at(at + 8))
            covers = protect_by(finish, book, laid, face, morning, last_day=28)
            first = {one.kind for one in covers if one.start < face.at(at + 24)}
            for kind, name in (
                (CoverKind.SHEET, "sheet"),
                (CoverKind.FROST, "frost cover"),
                (CoverKind.CLOTH, "cloth, none hung yet"),
            ):
                found[name][number, month - 1] += kind in first
    length = np.array(MONTH_DAYS[1:])
    return {name: counts / np.maximum(known, 1) * length for name, counts in found.items()}


def _row(name: str, figures: Array) -> str:
    return f"  {name:<34}" + " ".join("/".join(f"{x:.0f}" for x in month) for month in figures.T)


def main() -> int:
    """Print all counts."""
    if not there(SEVEN_YEARS):
        print("recorded weather is not there: set CURING_RECORDED_WEATHER to its folder")
        return 2
    began = time.perf_counter()
    hours = recorded(SEVEN_YEARS)
    seen = views(hours)
    told = tuple(as_told(face) for face in seen)
    cloth = (Shelter.CLOTH,)
    print("days on which a coat can be begun [%], N/E/S/W, March to November")
    for coat in COATS:
        print(_row(f"{coat}: as calibrated", calibrated(coat)))
        print(_row("  these rules, as calibrated", window_share(hours, told, limits(coat, PLAIN), cloth)))
        print(_row("  rain by the worst wind", window_share(hours, seen, limits(coat, PLAIN), cloth)))
        print(_row("  with the margin of frost", window_share(hours, seen, limits(coat), cloth)))
        print(_row("  and no cloth", window_share(hours, seen, limits(coat))))
        print(_row("  sheets and cloth", window_share(hours, seen, limits(coat), (*cloth, Shelter.SHEET))))
    print("\ndays that a rule stops from 7 to 18 h, alone, nothing hung [%]: April-September, March-November")
    for coat in COATS:
        spoken: dict[str, list[Spoken]] = {}
        for one in stopping(hours, seen, coat, None):
            spoken.setdefault(one.rule, []).append(one)
        for rule, faces in spoken.items():
            shown = "/".join(f"{one.summer:.0f}" for one in faces), "/".join(f"{one.year:.0f}" for one in faces)
            most, any_ = max(one.summer for one in faces), max(one.year for one in faces)
            print(f"  {rule:<22}{shown[0]:<16}{shown[1]:<16}{'NOISY' if most > NOISY else '' if any_ > 0 else 'DEAD'}")
    print("\ndays a month on which a visit or a fresh finish hears of it, N/E/S/W, January to December")
    for name, counts in visits(hours, seen).items():
        share = counts[:, 3:9].sum(axis=1) / 183.0
        mark = "NOISY" if share.max() > NOISY / 100.0 else "DEAD" if counts.max() < 0.05 else ""
        print(f"{_row(name, counts)} {mark}".rstrip())
    print(f"\n{time.perf_counter() - began:.0f} s. Source of the hours: KNMI (CC BY 4.0)")
    return 0


if __name__ == "__main__":
    sys.exit(main())
