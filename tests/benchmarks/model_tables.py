"""``python -m tests.benchmarks.model_tables``: the calibrated figures, out of this code on recorded weather.

Each table stands as it was calibrated, and beside it what comes out now; what differs by more than rounding
is named. It needs the recorded hours of :mod:`tests.benchmarks.station`. Source: KNMI (CC BY 4.0).
"""

from __future__ import annotations

import re
import sys
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from curing.physics.emc import inner_drying, season_factor
from curing.physics.face_climate import Aspect, FaceClimate
from curing.physics.irradiance import split, sun_path
from curing.physics.wall_climate import inside_face
from tests.benchmarks import weather_rules as rules
from tests.benchmarks.station import (
    ASPECTS,
    LATITUDE,
    LONGITUDE,
    SEVEN_YEARS,
    SIDES,
    THIRTY_TWO_YEARS,
    Hours,
    recorded,
    there,
)

Array = NDArray[np.float64]
SUMMER = range(4, 10)
MONTH_DAYS = (0, 31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
MORNING, EVENING = 7, 18
"""Hours of the visits by the clock there."""


@dataclass(frozen=True)
class Row:
    """Figures as calibrated, and as they come out."""

    table: str
    name: str
    known: str
    came: tuple[float, ...]

    @property
    def cells(self) -> list[tuple[str, float]]:
        """Each figure as calibrated, and as it came out."""
        return list(zip(re.split(r"[/ ]+", self.known), self.came, strict=True))

    @property
    def off(self) -> list[str]:
        """Return what differs by more than the rounding of the figure as it was written."""
        return [f"{known} is {came:.4g}" for known, came in self.cells if not _rounds(known, came)]

    @property
    def shown(self) -> str:
        """What came out, rounded alike."""
        left = iter(self.cells)
        return re.sub(r"[^/ ]+", lambda _: _as(*next(left)), self.known)


def decimals(known: str) -> int:
    """Digits after the point of a figure as it was written."""
    return len(known.partition(".")[2])


def _rounds(known: str, came: float) -> bool:
    return abs(float(known) - came) <= 0.5 * 10.0 ** -decimals(known) + 1e-9


def _as(known: str, came: float) -> str:
    text = f"{came:.{decimals(known)}f}"
    return text.removeprefix("0") if known.startswith(".") else text


# --- demand of a day ----------------------------------------------------------------

DAILY = {
    3: ".62/1.0/1.8 .77/1.7/2.8 1.3/2.2/3.6 .88/1.5/2.3 .38/.69/1.0",
    4: ".95/1.7/3.1 1.4/2.7/4.1 1.5/2.7/4.2 1.4/2.2/2.9 .52/1.0/1.6",
    5: "1.2/1.8/2.8 1.7/2.7/4.0 1.6/2.6/3.4 1.8/2.5/3.5 .62/1.0/1.5",
    6: "1.5/2.2/4.1 2.0/3.3/5.3 1.9/3.0/4.3 2.1/3.0/3.8 .73/1.4/2.2",
    7: "1.5/2.1/3.8 1.8/2.9/6.3 1.9/2.9/6.3 2.1/3.0/4.3 .76/1.3/2.8",
    8: "1.2/1.9/3.0 1.6/2.8/4.2 1.9/3.0/4.1 1.8/2.7/3.8 .66/1.2/2.0",
    9: ".81/1.2/2.4 1.1/2.0/3.3 1.6/2.6/3.8 1.3/1.8/2.5 .50/.83/1.6",
    10: ".44/.71/.95 .61/1.0/1.9 .96/1.9/2.9 .64/1.1/1.7 .31/.47/.90",
    11: ".21/.42/.96 .30/.60/1.4 .52/1.2/2.6 .32/.64/1.9 .20/.34/.79",
}
PEAKS = {
    "N": ".12/.17/.37",
    "E": ".23/.32/.51",
    "S": ".24/.36/.56",
    "W": ".26/.38/.52",
    "inside": ".06/.09/.17",
}


def by_day(values: Array) -> Array:
    """Return hours by UTC day: (faces, days, 24)."""
    return values.reshape(values.shape[0], -1, 24)


def daily_demand(hours: Hours, climate: FaceClimate) -> Iterator[Row]:
    """Median, P90 and greatest sum of a UTC day."""
    hourly = by_day(climate.demand)
    sums, month = hourly.sum(axis=2), rules.months_of(hours.day[::24])
    for number, known in DAILY.items():
        days = sums[:, month == number]
        figures = [f(face) for face in days for f in (np.nanmedian, lambda x: np.nanquantile(x, 0.9), np.nanmax)]
        yield Row("daily demand [kg/m2]: N E S W inside, median/P90/max", f"month {number}", known, tuple(figures))
    low, high = ([f(np.nanmedian(sums[face, month == k]) for k in (12, 1, 2)) for face in range(5)] for f in (min, max))
    winter = "daily demand [kg/m2]: N E S W inside, lowest and highest median of December to February"
    yield Row(winter, "low", ".14/.19/.34/.20/.16", tuple(low))
    yield Row(winter, "high", ".32/.45/.83/.52/.25", tuple(high))
    summer = hourly[:, np.isin(month, SUMMER)]
    for face, (name, known) in enumerate(PEAKS.items()):
        peak = summer[face].max(axis=1)
        figures = [float(np.nanmedian(peak)), float(np.nanquantile(peak, 0.9)), float(np.nanmax(peak))]
        yield Row("greatest hour of a day, April-September [kg/m2h], median/P90/max", name, known, tuple(figures))
    ends = [np.bincount(summer[face].argmax(axis=1)).argmax() + 1.0 for face in (1, 2, 3)]
    yield Row("usual end of the greatest hour [UTC]: E S W", "", "9/12/16", tuple(ends))


# --- visits ---------------------------------------------------------------------------

EXTRA = {
    3: "0/0/2/0",
    4: "1/4/6/1",
    5: "1/5/4/3",
    6: "2/9/6/10",
    7: "1/5/6/10",
    8: "1/4/7/4",
    9: "0/1/4/0",
    10: "0/0/1/0",
}
SHADE = {
    3: "0/0/0/0",
    4: "0/1/1/0",
    5: "0/1/0/0",
    6: "0/2/1/1",
    7: "0/1/1/1",
    8: "0/1/1/0",
    9: "0/0/0/0",
    10: "0/0/0/0",
}
LOOK_FIRST = {
    (3,): "16/11/10/12",
    (4,): "6/4/5/6",
    (5,): "4/2/4/4",
    (6, 7, 8): "2/2/3/3",
    (9,): "8/5/6/6",
    (10,): "24/16/12/16",
    (11,): "29/27/21/28",
}
FORMS: dict[str, tuple[str, dict[str, float], float]] = {
    "default": ("3/15/18/16", {}, np.nan),
    "wind x 2": ("9/25/30/28", {"wind": 1.4}, np.nan),
    "wind x 1/2": ("1/10/10/8", {"wind": 0.35}, np.nan),
    "exposed": ("5/19/23/21", {"wind": 1.0}, np.nan),
    "albedo 0.4": ("5/36/43/39", {"albedo": 0.4}, np.nan),
    "albedo 0.5": ("4/26/30/27", {"albedo": 0.5}, np.nan),
    "albedo 0.7": ("2/9/9/7", {"albedo": 0.7}, np.nan),
    "albedo 0.8": ("2/6/5/2", {"albedo": 0.8}, np.nan),
    "sky clear": ("2/9/11/7", {}, 0.0),
    "sky overcast": ("5/21/25/23", {}, 1.0),
}


def sides(**how: float) -> tuple[Aspect, ...]:
    """Return the four faces, changed alike."""
    return tuple(Aspect(90.0 * side, **how) for side in range(4))


def mornings(hours: Hours) -> tuple[NDArray[np.intp], NDArray[np.int64]]:
    """Hours of the morning visits with a day known before and after each, and their months."""
    local = hours.local
    at = np.flatnonzero(local % 24 == MORNING)
    gaps = np.isnan(hours.temperature).astype(np.float64)
    at = at[(at >= 24) & (at + 24 <= len(hours))]
    at = at[rules.total(gaps, 0, 24)[at] == 0]
    return at, rules.months_of(local[at] // 24)


def asked(hours: Hours, climate: FaceClimate) -> tuple[Array, NDArray[np.int64]]:
    """Demand of the four faces in the 24 h from each morning visit, and its month."""
    at, month = mornings(hours)
    return rules.total(climate.demand[:4], 0, 24)[:, at], month


def extra_visits(hours: Hours, climate: FaceClimate) -> Iterator[Row]:
    """How often a day asks for more than the visits give."""
    demand, month = asked(hours, climate)
    sums = by_day(climate.demand).sum(axis=2)
    summer = np.isin(rules.months_of(hours.day[::24]), SUMMER)
    yield Row("ordinary sunny face, April-September [kg/m2]", "", "1.67", (float(np.nanmedian(sums[1:4, summer])),))
    for limit, table in ((2.5, EXTRA), (3.5, SHADE)):
        for number, known in table.items():
            days = 100.0 * (demand[:, month == number] >= limit).mean(axis=1) * MONTH_DAYS[number] / 100.0
            yield Row(
                f"days a month with at least {limit} kg/m2 from the morning visit: N E S W",
                f"month {number}",
                known,
                tuple(days),
            )
    for name, (known, how, cloud) in FORMS.items():
        if name == "default":
            form, when = demand, month
        else:
            form, when = asked(hours, hours.climate(sides(**how), cloud))
        share = 100.0 * (form[:, np.isin(when, SUMMER)] >= 2.5).mean(axis=1)
        yield Row("share of April-September days with at least 2.5 kg/m2 [%]: N E S W", name, known, tuple(share))


def look_first(hours: Hours, climate: FaceClimate) -> Iterator[Row]:
    """How often a visit may turn out needless, by rain that fell until its evening and until the visit."""
    at, month = mornings(hours)
    demand = rules.total(climate.demand[:4], 0, 24)[:, at]
    since = EVENING - MORNING - 24  # from the evening before
    for until, name in ((EVENING - MORNING, "rain of 24 h, to the evening after"), (0, "rain of the night only")):
        rain = rules.total(climate.rain[:4], since, until)[:, at]
        spared = demand - 0.7 * rain < 0.6
        for numbers, known in LOOK_FIRST.items():
            length = np.mean([MONTH_DAYS[k] for k in numbers])
            days = length * spared[:, np.isin(month, numbers)].mean(axis=1)
            label = f"month {numbers[0]}" + (f"-{numbers[-1]}" if len(numbers) > 1 else "")
            yield Row(f"look first, days a month, {name}: N E S W", label, known, tuple(days))


def frost_and_damp_rules(hours: Hours) -> Iterator[Row]:
    """How often rules of the trade speak, and why frost threatens above 0 °C."""
    t, local = np.nan_to_num(hours.temperature, nan=99.0), hours.local
    month, clock = rules.months_of(local // 24), local % 24
    cold = rules.some(t <= 2.0, 0, 24)
    days = [100.0 * cold[(clock == MORNING) & (month == k)].mean() for k in (3, 4, 5, 10, 11)]
    yield Row("days with 2 °C or less in 24 h [%]: March April May October November", "", "41/25/6/7/28", tuple(days))
    night = hours.radiation <= 0.0
    bands = [night & (t >= low) & (t < low + 1.0) for low in (2.0, 3.0)]
    for name, cloud, known in (("clear", 0.0, "94/37"), ("overcast", 1.0, "2/0")):
        surface = hours.climate(ASPECTS[:1], cloud).surface[0]
        below = [100.0 * (surface[band] < 0.0).mean() for band in bands]
        yield Row("wet N face below 0 °C in night air of 2-3, 3-4 °C [% of hours]", name, known, tuple(below))
    damp = hours.humidity > 70.0
    at = {hour: [100.0 * damp[(clock == hour) & (month == k)].mean() for k in range(1, 13)] for hour in (7, 13)}
    morning, noon = at[7], at[13][3:8]
    yield Row("humidity over 70 % [% of days], least and most month", "7 h", "80/100", (min(morning), max(morning)))
    yield Row("humidity over 70 % [% of days], least and most month", "13 h, Apr-Aug", "17/26", (min(noon), max(noon)))
    summer = np.isin(rules.months_of(hours.day[::24]), SUMMER)
    windy = 100.0 * (hours.wind.reshape(-1, 24)[summer] >= 8.0).any(axis=1).mean()
    yield Row("April-September days with an hour of 8 m/s [%]", "", "5", (float(windy),))


# --- windows for work ------------------------------------------------------------------

MONTHS = tuple(range(3, 12))
WINDOWS = {
    "T >= 5 only": "94 98 100 100 99 100 100 100 88",
    "T >= 8 only": "72 89 99 100 99 100 100 99 66",
    "base": (
        "54/54/35/39 72/76/65/63 85/88/82/78 85/93/86/80 90/94/77/71 88/90/78/75 89/94/75/74 85/81/63/69 70/60/43/54"
    ),
    "base, 14 d": (
        "21/23/17/17 53/55/45/45 81/84/77/74 85/93/86/80 90/94/77/71 88/90/78/75 89/94/75/74 81/77/59/65 24/21/14/17"
    ),
    "finish": (
        "33/32/21/24 61/63/52/52 82/85/79/75 85/93/86/80 90/94/77/71 88/90/78/75 89/94/75/74 83/78/60/67 40/36/25/30"
    ),
    "finish, sheets, least": "36 65 93 91 95 95 99 95 42",
    "finish, sheets, most": "36 68 95 99 98 100 99 95 42",
    "paint": (
        "41/44/29/25 56/55/47/44 54/63/53/43 52/72/60/48 65/76/45/37 59/64/43/37 54/69/49/44 50/56/26/29 35/23/11/12"
    ),
    "paint, any rain": "22 33 32 36 24 28 27 11 5",
    "paint in shade": (
        "41/41/10/24 56/52/29/44 54/61/48/42 52/69/60/48 65/71/44/37 59/57/35/37 54/65/22/44 50/55/10/28 35/23/4/11"
    ),
}


def beam_on_faces(hours: Hours) -> Array:
    """Direct sun on the four faces [W/m2]."""
    path = sun_path(hours.start, len(hours), LATITUDE, LONGITUDE)
    beam = split(np.nan_to_num(hours.radiation), path).beam
    whole = np.zeros((4, len(hours)))
    for side in range(4):
        facing = np.radians(90.0 * side)
        square = np.maximum(path.east * np.sin(facing) + path.north * np.cos(facing), 0.0).mean(axis=0)
        whole[side, path.lit] = beam * square
    return whole


def windows(hours: Hours, climate: FaceClimate, beam: Array) -> Iterator[Row]:
    """Percent of days on which work outside could be begun."""
    t, rain = np.nan_to_num(hours.temperature, nan=99.0), climate.rain[:4]
    day_sum = np.repeat(by_day(climate.demand[:4]).sum(axis=2), 24, axis=1)
    five, eight = rules.warm_and_rising(t, 5.0), rules.warm_and_rising(t, 8.0)
    sheeted = eight & rules.no_frost(t, 7) & (day_sum < 3.5)
    air = rules.throughout((t >= 8.0) & (t <= 30.0) & (hours.humidity <= 85.0)) & rules.no_frost(t, 1)
    paint = air & rules.dry_before(rain, 48) & rules.dry(rain, 48)
    level = hours.rain[None]
    covered = rules.share_of_days(hours, sheeted, 7, 18, MONTHS)
    came = {
        "T >= 5 only": rules.throughout((t >= 5.0) & (t <= 30.0)),
        "T >= 8 only": rules.throughout((t >= 8.0) & (t <= 30.0)),
        "base": five & rules.dry(rain, 24) & rules.no_frost(t, 3),
        "base, 14 d": five & rules.dry(rain, 24) & rules.no_frost(t, 14),
        "finish": eight & rules.dry(rain, 24) & rules.no_frost(t, 7),
        "paint": paint,
        "paint, any rain": air & rules.dry_before(level, 48) & rules.dry(level, 48),
        "paint in shade": paint & (beam <= rules.SHADE),
    }
    for name, known in WINDOWS.items():
        if name in came:
            figures = rules.share_of_days(hours, came[name], 8 if "paint" in name else 7, 18, MONTHS)
        else:
            figures = (covered.min(axis=0) if "least" in name else covered.max(axis=0))[None]
        for number, month, cell in zip(range(len(MONTHS)), MONTHS, known.split(), strict=True):
            yield Row(f"days with a window [%], {name}: N E S W", f"month {month}", cell, tuple(figures[:, number]))


# --- frost -------------------------------------------------------------------------------


def season(hours: Hours) -> Iterator[Row]:
    """First and last frost, and the starts with little risk; dates as month.day."""
    years, without_last = range(1986, 2025), range(1986, 2024)
    first, frost = rules.frost_days(hours)
    autumn, spring = rules.frost_bounds(first, frost, years)
    bounds = [np.median(autumn), np.quantile(autumn, 0.1), autumn.min()]
    bounds += [np.median(spring), np.quantile(spring, 0.9), spring.max()]
    dates = [np.datetime64("2023-01-01") + round(float(b)) for b in bounds]
    came = tuple(float(str(d)[5:].replace("-", ".")) for d in dates)
    yield Row(
        "first frost median/P10/earliest, last median/P90/latest", "39 y", "11.09/10.18/10.13/4.17/4.28/5.15", came
    )
    _, two_below = rules.frost_days(hours, -2.0)
    cases = (
        ("14 d", "4.24/10.06", frost, years, 14, 0.2),
        ("28 d", "4.27/9.22", frost, years, 28, 0.2),
        ("42 d", "4.27/9.08", frost, years, 42, 0.2),
        ("90 d", "4.27/7.22", frost, years, 90, 0.2),
        ("28 d, -2 °C", "4.15/10.16", two_below, years, 28, 0.2),
    )
    for name, known, cold, which, days, risk in cases:
        ends = rules.safe_season(first, cold, which, days, risk)
        yield Row(
            "first and last start with at most 20 % of frost",
            name,
            known,
            tuple(float(e.replace("-", ".")) for e in ends),
        )
    for name, known, which, risk in (("10 %", "9.19", years, 0.1), ("2005-2023", "9.25", range(2005, 2024), 0.2)):
        last = rules.safe_season(first, frost, which, 28, risk)[1]
        yield Row("last start, 28 d", name, known, (float(last.replace("-", ".")),))
    starts = ((3, 1), (4, 1), (4, 15), (5, 1), (6, 1), (9, 15), (10, 1), (10, 15), (11, 1))
    for name, which in (("1986-2024", years), ("1986-2023", without_last)):
        share = [100.0 * rules.frost_risk(first, frost, which, *start, 28) for start in starts]
        share.append(100.0 * rules.frost_risk(first, frost, which, 8, 10, 90))
        yield Row(
            "frost in 28 d from 1 Mar, 1, 15 Apr, 1 May, 1 Jun, 15 Sep, 1, 15 Oct, 1 Nov; in 90 d from 10 Aug [%]",
            name,
            "97/79/53/8/0/0/32/55/82/47",
            tuple(share),
        )


def april(hours: Hours) -> Iterator[Row]:
    """How much a longer frost rule costs in April."""
    t, local = np.nan_to_num(hours.temperature, nan=99.0), hours.local
    at = (local % 24 == MORNING) & (rules.months_of(local // 24) == 4)
    share = [100.0 * rules.no_frost(t, days)[at].mean() for days in (14, 3)]
    yield Row("April days without frost in 14, 3 days [%]", "39 y", "55/79", tuple(share))


# --- sun at the visits ----------------------------------------------------------------------


def visit_hours(hours: Hours, climate: FaceClimate, beam: Array) -> Iterator[Row]:
    """How often a visit falls into direct sun, and gaps between visits that ask for more than 2.5 kg/m2."""
    local = hours.local
    clock, summer = local % 24, np.isin(rules.months_of(local // 24), (5, 6, 7, 8))

    def sunny(side: int, hour: int) -> float:
        return float(100.0 * (beam[side, summer & (clock == hour)] > 60.0).mean())

    at = (("E 7 h", 1, 7, "55"), ("W 18 h", 3, 18, "65"), ("N 7 h", 0, 7, "33"), ("N 19 h", 0, 19, "29"))
    for name, side, hour, known in at:
        yield Row("direct sun over 60 W/m2 at a visit, May-August [%]", name, known, (sunny(side, hour),))
    morning = [sunny(1, hour) for hour in (8, 9, 10, 11)]
    yield Row("direct sun over 60 W/m2 at a visit, May-August [%]", "E 8-11 h", "64/70", (min(morning), max(morning)))

    def gaps(demand: Array, walks: Sequence[int]) -> tuple[float, ...]:
        start = np.flatnonzero(summer & (clock == walks[0]))
        start = start[start + 24 <= len(hours)]
        ends = [*walks[1:], walks[0] + 24]
        sums = [rules.total(demand, a - walks[0], b - walks[0])[:, start] for a, b in zip(walks, ends, strict=True)]
        return tuple(100.0 * (np.concatenate(sums, axis=1) > 2.5).mean(axis=1))

    bare = climate.demand[:4]
    cloth = bare.copy()
    cloth[1:] = hours.climate(sides(sun=0.35, wind=0.35)).demand[1:]
    table = "gaps between visits that ask for over 2.5 kg/m2, May-August [%]: N E S W"
    yield Row(table, "7 and 19 h, bare", ".2/4.9/5.3/1.7", gaps(bare, (7, 19)))
    yield Row(table, "hessian on E S W", ".2/.1/.1/.0", gaps(cloth, (7, 19)))
    yield Row(table, "7, 13, 19 h, bare", "0/0/0/0", gaps(bare, (7, 13, 19)))


# --- panels ------------------------------------------------------------------------------------


def panel_season(hours: Hours) -> Iterator[Row]:
    """Speed of a panel's drying by month."""
    takes = 24.0 * np.maximum(inside_face(hours.temperature, hours.humidity)[0], 0.0)
    inner, month = inner_drying(hours.temperature, hours.humidity), rules.months_of(hours.day)
    f = [float(season_factor(np.nanmean(takes[month == k]), np.nanmean(inner[month == k]))) for k in range(1, 13)]
    yield Row(
        "drying of a panel against warm dry air, by month",
        "",
        ".23/.28/.38/.52/.63/.68/.71/.66/.49/.35/.25/.22",
        tuple(f),
    )


def seven_years() -> Iterator[Row]:
    """All that seven years with rain tell."""
    hours = recorded(SEVEN_YEARS)
    climate, beam = hours.climate(ASPECTS), beam_on_faces(hours)
    yield from daily_demand(hours, climate)
    yield from extra_visits(hours, climate)
    yield from look_first(hours, climate)
    yield from frost_and_damp_rules(hours)
    yield from windows(hours, climate, beam)
    yield from visit_hours(hours, climate, beam)


def all_years() -> Iterator[Row]:
    """What 39 years without rain tell."""
    hours = recorded(THIRTY_TWO_YEARS, SEVEN_YEARS)
    yield from season(hours)
    yield from april(hours)
    yield from panel_season(hours)


def main() -> int:
    """Print all tables."""
    if not there(SEVEN_YEARS, THIRTY_TWO_YEARS):
        print("recorded weather is not there: set CURING_RECORDED_WEATHER to its folder")
        return 2
    began, before, cells, off = time.perf_counter(), "", 0, 0
    for row in (*seven_years(), *all_years()):
        if row.table != before:
            print(f"\n{row.table}")
            before = row.table
        print(
            f"  {row.name:<22}{row.known}\n  {'':<22}{row.shown}" + (f"   OFF: {', '.join(row.off)}" if row.off else "")
        )
        cells, off = cells + len(row.cells), off + len(row.off)
    took = time.perf_counter() - began
    print(f"\n{cells} figures, {off} off by more than rounding; {took:.1f} s. Source: KNMI (CC BY 4.0)")
    print(f"faces {SIDES}, first line as calibrated, second line now")
    return 0


if __name__ == "__main__":
    sys.exit(main())
