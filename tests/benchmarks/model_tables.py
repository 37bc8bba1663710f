"""``python -m tests.benchmarks.model_tables``: the calibrated figures, out of this code on recorded weather.

Each table stands as it was calibrated, and beside it what comes out now; what differs by more than rounding
is named. It needs the recorded hours of :mod:`tests.benchmarks.station`. Source: KNMI (CC BY 4.0).
"""

from __future__ import annotations

import sys
import textwrap
import time
from collections import Counter
from collections.abc import Iterator

from tests.benchmarks.model_demand import daily_demand, extra_visits, look_first, visit_hours
from tests.benchmarks.model_rows import Row
from tests.benchmarks.model_windows import april, beam_on_faces, frost_and_damp_rules, panel_season, season, windows
from tests.benchmarks.station import ASPECTS, SEVEN_YEARS, SIDES, THIRTY_TWO_YEARS, recorded, there


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


REASONS = {
    "night": "look first by the rain of the night alone: the calibrated days count rain that falls after the morning's "
    "visit as well, which nobody knows then; counted so too, they come out. These are right for the rule as it stands.",
    "level": "paint by any rain: rain on the level comes in steps of 0.1 mm against a limit of 0.1, so the rounding of "
    "running sums decided; here an hour of 0.1 is rain.",
    "2024": "frost by starts, 1986-2024: the calibrated shares leave 2024 out; 1986-2023 stands beside and agrees.",
    "digit": "the last digit that was written, off by one at most, on either side.",
}
"""Why figures differ by more than rounding, and who is right."""


def reason(row: Row) -> str:
    """Return why figures of a row differ."""
    if "of the night only" in row.table:
        return "night"
    if "any rain" in row.table:
        return "level"
    return "2024" if row.name == "1986-2024" else "digit"


def main() -> int:
    """Print all tables."""
    if not there(SEVEN_YEARS, THIRTY_TWO_YEARS):
        print("recorded weather is not there: set CURING_RECORDED_WEATHER to its folder")
        return 2
    began, before, cells = time.perf_counter(), "", 0
    off: Counter[str] = Counter()
    for row in (*seven_years(), *all_years()):
        if row.table != before:
            print(f"\n{row.table}")
            before = row.table
        print(
            f"  {row.name:<22}{row.known}\n  {'':<22}{row.shown}" + (f"   OFF: {', '.join(row.off)}" if row.off else "")
        )
        cells += len(row.cells)
        off[reason(row)] += len(row.off)
    took, out = time.perf_counter() - began, off.total()
    print(f"\n{cells} figures, {cells - out} within rounding, {out} off; {took:.1f} s. Source: KNMI (CC BY 4.0)")
    for name, number in off.most_common():
        if number:
            print(textwrap.fill(f"{number:>4} {REASONS[name]}", 78, subsequent_indent="     "))
    print(f"faces {SIDES}, first line as calibrated, second line now")
    return 0


if __name__ == "__main__":
    sys.exit(main())
