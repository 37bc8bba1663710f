"""What the air asks of a fresh coat, as calibrated: a day's demand, extra visits, look first, gaps between visits.

Source of the hours: KNMI (CC BY 4.0).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from curing.physics.face_climate import Aspect, FaceClimate
from tests.benchmarks import weather_rules as rules
from tests.benchmarks.model_rows import Row
from tests.benchmarks.station import Hours

Array = NDArray[np.float64]
SUMMER = range(4, 10)
MONTH_DAYS = (0, 31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
MORNING, EVENING = 7, 18
"""Hours of the visits by the clock there."""
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
