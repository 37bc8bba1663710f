"""When work outside could be begun, as calibrated: days with a window, rules of frost and damp, the season's ends.

Source of the hours: KNMI (CC BY 4.0).
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from curing.physics.emc import inner_drying, season_factor
from curing.physics.face_climate import FaceClimate
from curing.physics.irradiance import split, sun_path
from curing.physics.wall_climate import inside_face
from tests.benchmarks import weather_rules as rules
from tests.benchmarks.model_demand import MORNING, SUMMER, by_day
from tests.benchmarks.model_rows import Row
from tests.benchmarks.station import ASPECTS, LATITUDE, LONGITUDE, Hours

Array = NDArray[np.float64]
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


# --- frost and damp ----------------------------------------------------------------------


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
