"""``python -m tests.benchmarks.weather_season``: whole seasons played day by day under weather that really was.

Four outside faces, a crew of three, somebody who mists at weekends; from April, and from mid-August. Each plan is
checked; at the end stands what weather did to the plan, beside the same season without it. It needs the recorded
hours of :mod:`tests.benchmarks.station`; invented is all but the weather. Source: KNMI (CC BY 4.0).
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Iterator, Mapping
from datetime import date

from tests.benchmarks import season_judged as judged
from tests.benchmarks.season_played import YEAR, Season
from tests.benchmarks.station import FOLDER, recorded, there

STARTS = {"April": date(YEAR, 4, 1), "August": date(YEAR, 8, 15)}
Column = Mapping[str, str]


def column(season: Season, bare: Season) -> Column:
    """Return what is told of a season, line by line."""
    found: dict[str, str] = {
        "plans made, weeks": f"{len(season.steps)}, {judged.weeks(season):.0f}",
        "revisions a week": f"{judged.revisions(season, forecast=True) / judged.weeks(season):.1f}",
        "  without weather": f"{judged.revisions(bare) / judged.weeks(bare):.1f}",
        "coats laid": str(len(season.laid)),
    }
    for rule, times in sorted(judged.off_by_rule(season).items()):
        found[f"off by {rule}"] = str(times)
    found |= {f"{name}": str(times) for name, times in judged.covers(season).items()}
    found |= {f"visits {name}": str(times) for name, times in sorted(judged.visits(season).items())}
    found |= {f"looked over: {name}": str(times) for name, times in sorted(judged.inspections(season).items())}
    for face, (cold, dry, unknown, more) in judged.refused(season).items():
        found[f"{face} h cold/dry/unknown, more d"] = f"{cold:.0f}/{dry:.0f}/{unknown:.0f}, {more}"
    for coat in ("finish", "paint-2"):
        plain = judged.days(bare, coat)
        for face, day in sorted(judged.days(season, coat).items()):
            late = f" ({(day - plain[face]).days:+d} d)" if face in plain else ""
            found[f"{face} {coat}"] = f"{day:%d %b}{late}"
    near: dict[str, int] = {}
    for one in judged.moved_near(season):
        near[one.was.kind.value] = near.get(one.was.kind.value, 0) + 1
    found |= {f"told for now, moved: {kind}": str(times) for kind, times in sorted(near.items())}
    found["flaps"] = str(len(judged.flaps(season)))
    return found


def table(columns: Mapping[str, Column]) -> Iterator[str]:
    """Yield the lines of seasons side by side, three at a time, none wider than 80 cells."""
    heads = list(columns)
    for first in range(0, len(heads), 3):
        part = heads[first : first + 3]
        yield f"{'':34}" + "".join(f"{head:>15}" for head in part)
        for name in _names([columns[head] for head in part]):
            yield f"{name:34}" + "".join(f"{columns[head].get(name, '-'):>15}" for head in part)


def _names(columns: list[Column]) -> list[str]:
    """Return the names of all lines, each after the one that it follows in its own column."""
    found: list[str] = []
    for one in columns:
        at = 0
        for name in one:
            if name not in found:
                found.insert(at, name)
            at = found.index(name) + 1
    return found


def main() -> int:
    """Play, print; end non-zero where something is that must not be."""
    words = argparse.ArgumentParser(prog="python -m tests.benchmarks.weather_season", description=__doc__)
    words.add_argument("--years", type=int, nargs="+", default=[2021], help="recorded years (default: %(default)s)")
    words.add_argument("--starts", nargs="+", choices=STARTS, default=list(STARTS))
    words.add_argument("--error", type=float, nargs="+", default=[0.0], help="of forecasts: 0 none, 1 as they are")
    words.add_argument("--flaps", action="store_true", help="print each")
    given = words.parse_args()
    if not there():
        print(f"skipped: no recorded hours in {FOLDER} (CURING_RECORDED_WEATHER names another folder)")
        return 0
    hours, wrong = recorded(), 0
    for year in given.years:
        columns: dict[str, Column] = {}
        for start in given.starts:
            bare = Season(hours, year, STARTS[start], weather=False).play()
            for error in given.error:
                begun = time.perf_counter()
                season = Season(hours, year, STARTS[start], error=error).play()
                columns[f"{start} {error:g}"] = column(season, bare)
                found = judged.faults(season)
                took = time.perf_counter() - begun
                print(f"{year} {start}, error {error:g}: {took:.0f} s, {len(found)} faults", flush=True)
                for line in found[:40]:
                    print(f"  {line}")
                for line in judged.flaps(season) if given.flaps else ():
                    print(f"  flap: {line}")
                wrong += len(found)
        print("\n".join(table(columns)), flush=True)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
