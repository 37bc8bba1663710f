"""``python -m tests.benchmarks.weather_counts``: how often each rule of weather speaks, on recorded hours.

Perfect foresight: what came is taken for the forecast. First the days on which a coat could be begun, as
calibrated and as the planner's rules give them; then, rule by rule and face by face, the days that it stops from
morning to evening, the visits and the covers that it makes. A rule that speaks on most days is noise, one that
never speaks is dead: both are marked, and what a plasterer would say of them stands below
(:mod:`tests.benchmarks.weather_verdicts`). Source of the hours: KNMI (CC BY 4.0).
"""

from __future__ import annotations

import sys
import textwrap
import time
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from curing.model.job import Face, Side, Site
from curing.model.system import RuleBook, System, Work
from curing.model.weather import Weather
from curing.planning.weather_limits import Limits, limits_in
from curing.planning.weather_looks import Advice, look_first, more_water, no_water
from curing.planning.weather_protect import CoverKind, protect_by
from curing.planning.weather_site import FaceHours, site_weather
from curing.planning.weather_weighing import Shelter, weigh
from curing.planning.weather_windows import may_begin
from curing.sources.systemfile import load_systems
from tests.benchmarks import weather_rules as rules
from tests.benchmarks.model_demand import EVENING, MONTH_DAYS, MORNING
from tests.benchmarks.model_windows import MONTHS, WINDOWS
from tests.benchmarks.station import LATITUDE, LONGITUDE, SEVEN_YEARS, SIDES, ZONE, Hours, recorded, there
from tests.benchmarks.weather_verdicts import verdict_of

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
COATS = ("base", "finish", "paint-1")
FIRST, LAST = 7, 18
"""Hours of work by the clock there."""
NOISY = 50.0
"""A rule that speaks on more of the days from April to September than this is noise [%]."""
DEAD = 0.1
"""One that speaks on fewer days of the year is dead [%]."""
COVERS = {CoverKind.SHEET: "sheet", CoverKind.FROST: "frost cover", CoverKind.CLOTH: "cloth"}
"""What covers are called here; cloth where none is hung yet."""
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
    """April to September: no hour of the day is left to begin."""
    year: float
    """March to November, alike."""
    morning: float
    """April to September: it stops a start at 8 h."""
    ever: float
    """All the year: it stops a start at some hour."""


def stopping(hours: Hours, seen: tuple[FaceHours, ...], coat: str, own: Mapping[str, float] | None) -> Iterator[Spoken]:
    """Yield for each rule on how many days it speaks, it alone, nothing hung."""
    asks, starts = limits(coat, own), starts_of(hours)
    day = hours.local[starts] // 24
    days, which = np.unique(day, return_inverse=True)
    month, eight = rules.months_of(days), hours.local[starts] % 24 == 8
    summer, year = (np.isin(month, part) for part in (range(4, 10), range(3, 12)))
    for number, face in enumerate(seen):
        for one in weigh(asks, face, starts, rules.HOURS, starts):
            lost, stopped = np.bincount(which, ~one.broken) == 0, np.bincount(which, one.broken) > 0
            early = np.bincount(which, one.broken & eight) > 0
            shares = (lost[summer], lost[year], early[summer], stopped)
            yield Spoken(asks.rule(one.what), SIDES[number], *(100.0 * float(part.mean()) for part in shares))


def mornings(hours: Hours) -> Iterator[tuple[int, int]]:
    """Yield hour and month of each morning's visit with a day known before and after."""
    local = hours.local
    for at in np.flatnonzero(local % 24 == MORNING):
        if 24 <= at < len(hours) - 96 and not np.isnan(hours.temperature[at - 24 : at + 48]).any():
            yield int(at), int(rules.months_of(local[at : at + 1] // 24)[0])


def visits(hours: Hours, seen: tuple[FaceHours, ...]) -> dict[str, Array]:
    """Return days a month on which each piece of advice is given; name → (faces, 12)."""
    book = RuleBook(system(), PLAIN)
    # a mist before noon stands on the days of "frost" alone
    names = [*(advice.value for advice in Advice if advice is not Advice.MIDDAY), *COVERS.values()]
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
            ]
            for name in {one.advice.value for one in given if one is not None}:
                found[name][number, month - 1] += 1
            laid = (face.at(at), face.at(at + 8))
            covers = protect_by(finish, book, laid, face, morning, last_day=28)
            first = {one.kind for one in covers if one.start < face.at(at + 24)}
            for kind, name in COVERS.items():
                found[name][number, month - 1] += kind in first
    length = np.array(MONTH_DAYS[1:])
    return {name: counts / np.maximum(known, 1) * length for name, counts in found.items()}


def _slashed(figures: Iterable[float]) -> str:
    return "/".join(f"{x:.0f}" for x in figures)


def _months(title: str, columns: Mapping[str, Array], months: Sequence[int]) -> Iterator[str]:
    """Yield a table with a row a month and a column a thing, of figures (faces, months)."""
    yield f"\n{title}"
    cells = {name: [_slashed(month) for month in one.T] for name, one in columns.items()}
    wide = {name: max(12, 1 + max(map(len, column))) for name, column in cells.items()}
    yield f"{'':<4}" + "".join(f"{name:>{wide[name]}}" for name in columns)
    for row, month in enumerate(months):
        yield f"{month:>3} " + "".join(f"{column[row]:>{wide[name]}}" for name, column in cells.items())


def _begun(hours: Hours, seen: tuple[FaceHours, ...]) -> Iterator[str]:
    told, cloth = tuple(as_told(face) for face in seen), (Shelter.CLOTH,)
    for coat in COATS:
        plain, strict = limits(coat, PLAIN), limits(coat)
        columns = {
            "calibrated": calibrated(coat),
            "these rules": window_share(hours, told, plain, cloth),
            "worst wind": window_share(hours, seen, plain, cloth),
            "margin": window_share(hours, seen, strict, cloth),
            "no cloth": window_share(hours, seen, strict),
            "sheets too": window_share(hours, seen, strict, (*cloth, Shelter.SHEET)),
        }
        yield from _months(f"{coat}: days on which it can be begun [%], N/E/S/W, by month", columns, MONTHS)


def _stops(hours: Hours, seen: tuple[FaceHours, ...]) -> Iterator[tuple[str, str]]:
    """Yield a line and a mark for each rule that stops coats."""
    for coat in COATS:
        spoken: dict[str, list[Spoken]] = {}
        for one in stopping(hours, seen, coat, None):
            spoken.setdefault(one.rule, []).append(one)
        for rule, faces in spoken.items():
            shown = [_slashed(getattr(one, part) for one in faces) for part in ("summer", "year", "morning", "ever")]
            mark = mark_of(max(one.summer for one in faces), max(one.ever for one in faces))
            yield rule, f"  {rule:<21}" + "".join(f"{cell:<13}" for cell in shown) + mark


def mark_of(summer: float, ever: float) -> str:
    """Return what a rule is that speaks on so many of the days [%].

    Examples
    --------
    >>> mark_of(78.0, 71.0), mark_of(2.0, 8.0), mark_of(0.0, 0.05)
    ('NOISY', '', 'DEAD')
    """
    return "NOISY" if summer > NOISY else "DEAD" if ever < DEAD else ""


def _visits(found: Mapping[str, Array]) -> Iterator[tuple[str, str]]:
    """Yield a line and a mark for each piece of advice, and each cover."""
    days = np.array(MONTH_DAYS[1:])
    for name, counts in found.items():
        summer, year = (100.0 * counts[:, part].sum(axis=1) / days[part].sum() for part in (slice(3, 9), slice(12)))
        most = (100.0 * counts / days).max(axis=0)
        mark = mark_of(float(summer.max()), float(year.max()))
        often = [str(month + 1) for month in np.flatnonzero(most > NOISY)] if not mark else []
        also = f"most days in {spans(often)}" if often else ""
        yield name, f"  {name:<21}{_slashed(summer):<13}{_slashed(year):<13}{mark}{also}".rstrip()


def spans(months: Sequence[str]) -> str:
    """Return months, those in a row as a span.

    Examples
    --------
    >>> spans(["1", "2", "3", "10", "12"])
    '1-3, 10, 12'
    """
    runs: list[list[str]] = []
    for one in months:
        if runs and int(one) == int(runs[-1][-1]) + 1:
            runs[-1].append(one)
        else:
            runs.append([one])
    return ", ".join(run[0] if len(run) == 1 else f"{run[0]}-{run[-1]}" for run in runs)


def main() -> int:
    """Print all counts."""
    if not there(SEVEN_YEARS):
        print("recorded weather is not there: set CURING_RECORDED_WEATHER to its folder")
        return 2
    began = time.perf_counter()
    hours = recorded(SEVEN_YEARS)
    seen = views(hours)
    print("Columns: rain by the wind as told; rain by the worst wind; with the margin")
    print("of frost; and no cloth up; sheets and cloth up.")
    for line in _begun(hours, seen):
        print(line)
    told = visits(hours, seen)
    months = range(1, 13)
    looks = {name: told[name] for name in (one.value for one in Advice) if name in told}
    covers = {name: counts for name, counts in told.items() if name not in looks}
    for title, columns in (("what is said of visits", looks), ("covers of a fresh finish", covers)):
        for line in _months(f"{title}: days a month, N/E/S/W", columns, months):
            print(line)
    marked: dict[str, str] = {}
    print(f"\nrules that stop a coat, each alone, nothing hung [% of days], N/E/S/W\n{'':<23}", end="")
    print("".join(f"{part:<13}" for part in ("all day", "all day", "at 8 h", "any start")).rstrip())
    print(f"{'':<23}" + "".join(f"{part:<13}" for part in ("Apr-Sep", "Mar-Nov", "Apr-Sep", "year")).rstrip())
    for rule, line in _stops(hours, seen):
        print(line.rstrip())
        marked[rule] = line
    print(f"\nvisits and covers [% of days], N/E/S/W\n{'':<23}{'Apr-Sep':<13}{'year':<13}")
    for name, line in _visits(told):
        print(line)
        marked[name] = line
    print("\nwhat a plasterer would say of those that are marked")
    flagged = [name for name, line in marked.items() if any(word in line for word in ("NOISY", "DEAD", "most days"))]
    for name in dict.fromkeys(one.rpartition(".")[2] for one in flagged):
        print(textwrap.fill(f"{name}: {verdict_of(name)}", 78, initial_indent="  ", subsequent_indent="    "))
    print(f"\n{time.perf_counter() - began:.0f} s. Source of the hours: KNMI (CC BY 4.0)")
    return 0


if __name__ == "__main__":
    sys.exit(main())
