"""``python -m tests.benchmarks.climate``: what the climate of faces costs, the known answer beside each figure.

Ten faces of four azimuths, no two alike in shelter and colour, over seven recorded years where they are there
(else over as many invented ones, whose answer nobody knows). The peer is pvlib, in the same run: sun on four
walls, its positions at the same six times an hour, and at mid-hour alone. One core; rates depend on the machine.
"""

from __future__ import annotations

import argparse
import importlib.metadata
import json
import os
import platform
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pvlib
from numpy.typing import NDArray

from curing.physics.face_climate import Aspect, FaceClimate
from curing.physics.irradiance import split, sun_on_face, sun_path
from curing.physics.surface_balance import moist_air, wet_surface
from curing.physics.wall_climate import heat_transfer, incoming_glow
from tests.benchmarks.measuring import HEAD, Answer, Result, measured
from tests.benchmarks.station import LATITUDE, LONGITUDE, Hours, recorded, there
from tests.benchmarks.weather_rules import months_of

Array = NDArray[np.float64]
TARGET = 4.0
"""Million face-hours a second of the whole climate on one core."""
AZIMUTHS = (0.0, 90.0, 180.0, 270.0)
TEN = tuple(Aspect(AZIMUTHS[(k + 2) % 4], wind=0.7 - 0.02 * k, albedo=0.6 - 0.01 * k) for k in range(10))
"""The first is the ordinary south face."""


def invented(days: int = 7 * 365) -> Hours:
    """Hours of a plain invented place."""
    rng = np.random.default_rng(1)
    clock = np.arange(24 * days)
    season = -np.cos(clock / 8760.0 * 2.0 * np.pi)
    start = 1_514_764_800.0
    clear = sun_path(start, clock.size, LATITUDE, LONGITUDE).clear
    return Hours(
        start,
        10.0 + 8.0 * season + 4.0 * np.sin((clock % 24 - 9.0) / 12.0 * np.pi),
        rng.uniform(40.0, 100.0, clock.size),
        rng.uniform(0.0, 9.0, clock.size),
        rng.choice(np.arange(0.0, 360.0, 10.0), clock.size),
        np.where(rng.random(clock.size) < 0.1, rng.uniform(0.0, 3.0, clock.size), 0.0),
        clear * rng.uniform(0.2, 1.0, clock.size),
    )


def june(hours: Hours, climate: FaceClimate) -> Answer:
    """Median demand of a June day on the ordinary south face: 1.9 kg/m2 at the recorded station."""
    days = climate.demand[0].reshape(-1, 24).sum(axis=1)
    found = float(np.nanmedian(days[months_of(hours.day[::24]) == 6]))
    return f"June S {found:.2f} kg/m2 (known 1.9)", not there() or round(found, 1) == 1.9


def of_pvlib(hours: Hours, steps: int) -> list[Array]:
    """Sun on four walls by pvlib, the sun looked at so many times an hour."""
    seconds = hours.start + 3600.0 / steps * (np.arange(steps * len(hours)) + 0.5)
    sun = pvlib.solarposition.get_solarposition(
        pd.to_datetime(seconds, unit="s", utc=True), LATITUDE, LONGITUDE, method="nrel_numpy"
    )
    zenith, around = sun["zenith"].to_numpy(), sun["azimuth"].to_numpy()
    level = np.nan_to_num(hours.radiation)
    day = pd.to_datetime(hours.start + 3600.0 * np.arange(len(hours)), unit="s", utc=True)
    outside = pvlib.irradiance.get_extra_radiation(day).to_numpy()
    up = np.maximum(np.cos(np.radians(zenith)), 0.0).reshape(-1, steps).mean(axis=1)
    mean_zenith = np.degrees(np.arccos(up))
    parts = pvlib.irradiance.erbs(level, mean_zenith, day)
    beam = np.where(up > 0.01, np.clip(np.asarray(parts["dni"]), 0.0, 0.85 * outside), 0.0)
    walls = []
    for azimuth in AZIMUTHS:
        on_wall = pvlib.irradiance.get_total_irradiance(
            90.0,
            azimuth,
            zenith,
            around,
            np.repeat(beam, steps),
            np.repeat(level, steps),
            np.repeat(np.asarray(parts["dhi"]), steps),
            dni_extra=np.repeat(outside, steps),
            albedo=0.2,
            model="haydavies",
        )["poa_global"]
        # As here: nothing while the sun is down.
        lit = np.where(zenith < 90.0, np.asarray(on_wall), 0.0)
        walls.append(lit.reshape(-1, steps).mean(axis=1))
    return walls


def of_ours(hours: Hours) -> list[Array]:
    """Sun on four walls by this code."""
    path = sun_path(hours.start, len(hours), LATITUDE, LONGITUDE)
    parts = split(np.nan_to_num(hours.radiation), path)
    return [sun_on_face(path, parts, azimuth) for azimuth in AZIMUTHS]


def south_year(walls: list[Array]) -> str:
    """Sun on the south wall a year [kWh/m2]."""
    return f"S {np.nansum(walls[2]) / 1000.0 / (walls[2].size / 8766.0):.0f} kWh/m2 a year"


def timed(runs: int) -> list[tuple[Result, int]]:
    """Time everything: result, face-hours."""
    hours = recorded() if there() else invented()
    count = len(hours)
    ours = of_ours(hours)

    def near(walls: list[Array]) -> Answer:
        """Whether the south wall's year agrees within 2 %."""
        return south_year(walls), bool(abs(np.nansum(walls[2]) / np.nansum(ours[2]) - 1.0) < 0.02)

    air = moist_air(hours.temperature, hours.humidity)
    gain = 0.4 * ours[2] + incoming_glow(hours.temperature, 8.0, 0.5)
    heat = heat_transfer(hours.wind, hours.wind > 4.0)

    def full(came: Any) -> Answer:
        """Whether two steps give what eight give."""
        off = np.abs(came[0] - wet_surface(air, gain, heat, steps=8)[0])
        usual, most = float(np.nanquantile(off, 0.99)), float(np.nanmax(off))
        return f"off full Newton 99 % {usual:.0e}, most {most:.0e} kg/m2h", usual < 1e-4 and most < 2e-3

    return [
        (
            measured(
                "climate, 10 faces of 4 azimuths", lambda: hours.climate(TEN), lambda c: june(hours, c), runs=runs
            ),
            10 * count,
        ),
        (
            measured("climate, 1 face", lambda: hours.climate(TEN[:1]), lambda c: june(hours, c), runs=runs),
            count,
        ),
        (measured("balance alone", lambda: wet_surface(air, gain, heat), full, runs=runs), count),
        (measured("sun on 4 walls, 6 times an hour", lambda: of_ours(hours), near, runs=runs), 4 * count),
        (measured("  pvlib, 6 times an hour", lambda: of_pvlib(hours, 6), near, runs=1), 4 * count),
        (measured("  pvlib, at mid-hour", lambda: of_pvlib(hours, 1), near, runs=3), 4 * count),
    ]


def main() -> int:
    """Print rates; end non-zero where an answer is wrong."""
    words = argparse.ArgumentParser(prog="python -m tests.benchmarks.climate", description=__doc__)
    words.add_argument("--runs", type=int, default=9, help="of each (default: %(default)s)")
    words.add_argument("--json", type=Path, metavar="FILE")
    given = words.parse_args()
    versions = {name: importlib.metadata.version(name) for name in ("curing", "numpy", "pvlib", "pandas")}
    where = "seven recorded years (KNMI, CC BY 4.0)" if there() else "seven invented years"
    print(f"Python {platform.python_version()}, load {os.getloadavg()[0]:.1f} · {versions} · {where}")
    print(f"{HEAD}\n{'':<38}{'million face-hours/s: median, best':>40}")
    rows = []
    for result, count in timed(given.runs):
        median, best = count / result.median / 1e6, count / min(result.times) / 1e6
        target = f" (target {TARGET:.0f})" if "10 faces" in result.name else ""
        print(f"{result.line()}\n{'':<38}{median:>18.2f}{best:>9.2f}{target}")
        rows.append(result.row() | {"million_face_hours_a_second": round(median, 3)})
    if given.json:
        given.json.write_text(json.dumps({"versions": versions, "weather": where, "rows": rows}, indent=1) + "\n")
    return 0 if all(row["right"] for row in rows) else 1


if __name__ == "__main__":
    sys.exit(main())
