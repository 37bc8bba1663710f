"""``python -m tests.benchmarks.cure_tables``: how long a cure and a whole face take, on recorded weather.

Each figure stands as it was calibrated and beside it what this code gives; a P50 that is off by more than a day is
named. It needs the recorded hours of :mod:`tests.benchmarks.station`. Source: KNMI (CC BY 4.0).
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np

from tests.benchmarks.cure_simulated import CLOSED, NEVER, Array, Faces, Pattern, Record, cures
from tests.benchmarks.station import SEVEN_YEARS, THIRTY_TWO_YEARS, recorded, there

PERCENTILES = (0.1, 0.5, 0.8, 0.9)
NAMES = ("Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov")
COLUMNS = (
    ("all visits and advised extras, S", 2, Pattern()),
    ("1 in 3 missed, N", 0, Pattern(missed=1 / 3)),
    ("1 in 3 missed, S", 2, Pattern(missed=1 / 3)),
    ("1 in 3 missed, W", 3, Pattern(missed=1 / 3)),
    ("half missed, no extras, W", 3, Pattern(missed=1 / 2, extras=False)),
)
CURES = """
32/36/41/44 33/38/43/47 36/42/47/51 35/41/46/50 39/46/53/57
29/30/32/34 30/33/36/37 31/35/38/40 31/35/38/39 35/42/47/51
28/28/29/29 29/31/33/35 30/33/35/36 30/33/35/37 35/42/48/52
28/28/28/28 29/31/33/35 30/33/35/37 30/33/35/37 36/43/49/53
28/28/28/28 28/30/33/34 30/33/35/37 30/33/35/37 34/41/46/49
28/28/28/28 28/29/30/31 29/31/34/35 29/31/33/34 30/35/39/41
28/28/30/31 28/29/30/31 29/31/34/35 28/29/31/32 29/31/34/36
29/33/41/50 29/32/40/48 30/34/43/52 29/33/41/49 29/34/42/51
36/52/69/100 36/52/69/100 37/53/70/102 37/51/69/100 37/52/71/103
"""
# N, S, W: P50/P80; all faces: P50/P80/P90; late [%]; frost in 28 days of the finish [%]
WHOLE = """
03-01 05-09/05-15 05-12/05-25 05-12/05-26 05-14/05-26/06-01 0 57
03-15 05-14/05-19 05-15/05-25 05-16/05-30 05-16/05-30/06-02 0 65
04-01 05-26/05-30 05-26/05-30 05-28/06-03 05-29/06-04/06-07 0 45
04-15 06-06/06-11 06-07/06-12 06-08/06-13 06-09/06-14/06-18 0 17
05-01 06-20/06-26 06-19/06-23 06-22/06-29 06-23/07-03/07-08 0 5
05-15 07-02/07-04 07-06/07-20 07-10/07-26 07-12/07-26/08-12 0 0
06-01 07-18/07-21 07-20/07-25 07-21/08-01 07-22/08-01/08-12 0 0
06-15 08-01/08-03 08-05/08-15 08-09/08-16 08-09/08-18/08-21 0 0
07-01 08-17/08-20 08-20/08-26 08-21/08-28 08-22/08-29/09-02 0 0
07-15 08-31/09-05 09-01/09-07 09-03/09-07 09-03/09-08/09-10 0 0
08-01 09-17/09-21 09-19/09-23 09-19/09-23 09-21/09-27/10-05 0 0
08-15 10-03/10-05 10-08/10-16 10-09/10-16 10-10/10-18/10-24 3 0
09-01 10-21/10-26 10-28/11-07 10-24/11-01 10-30/11-09/12-17 45 0
09-15 11-04/11-08 11-14/12-06 11-12/03-01 11-16/03-01/03-10 100 4
"""


@dataclass(frozen=True)
class Row:
    """Figures as calibrated and as they come out, in days; ``middle`` is the P50."""

    name: str
    known: tuple[float, ...]
    came: tuple[float, ...]
    middle: int
    dates: bool = False

    @property
    def off(self) -> float:
        """How far the P50 is off in whole days, as it was written [d]."""
        return round(self.came[self.middle]) - self.known[self.middle]

    def shown(self, figures: tuple[float, ...]) -> str:
        """Return figures as days or dates."""
        return "/".join(f"{_date(one):%m-%d}" if self.dates else f"{one:.1f}".removesuffix(".0") for one in figures)


def cure_rows(*, whole: bool) -> Iterator[Row]:
    """Calendar days of a cure by the month in which the coat was closed; 39 years, each day a start.

    In ``whole`` hours as they were calibrated, else in parts of hours as the planner counts.
    """
    hours = recorded(THIRTY_TWO_YEARS, SEVEN_YEARS)
    record, demand = Record(hours), hours.climate().demand
    known = [line.split() for line in CURES.split("\n") if line]
    closed = record.closings()
    for number, (name, side, pattern) in enumerate(COLUMNS):
        days = cures(record, demand[side], closed, replace(pattern, whole=whole)) / 24.0
        for row, month in enumerate(NAMES):
            figures = np.nanquantile(days[record.month[closed] == row + 3], PERCENTILES)
            told = tuple(float(one) for one in known[row][number].split("/"))
            yield Row(f"{month} {name}", told, tuple(map(float, figures)), 1)


@dataclass(frozen=True)
class Start:
    """One row of the whole sequence."""

    rows: tuple[Row, ...]
    late: tuple[float, float]
    frost: tuple[float, float, float]
    """As calibrated, from the midnight before laying, and from closing [%]."""


def whole_rows() -> Iterator[Start]:
    """From the panel ready to the second coat of paint; 7 years, each start with 7 days to either side."""
    hours = recorded(SEVEN_YEARS)
    faces = Faces(hours)
    frost = np.concatenate([[0], np.cumsum(hours.temperature < 0.0)])
    for line in (one for one in WHOLE.split("\n") if one):
        start, *cells, late, cold = line.split()
        nominal = date.fromisoformat(f"2023-{start}")
        starts = [
            (date(year, nominal.month, nominal.day) - date(1970, 1, 1)).days - faces.first + shift
            for year in range(2018, 2025)
            for shift in range(-7, 8)
        ]
        passes = [faces.through(face, np.array(starts)) for face in range(4)]
        ends = np.array([end - np.array(starts) for _, end in passes], dtype=np.float64)
        ends[ends > NEVER / 2] = np.inf  # the record ends before the work does
        ends += (nominal - date(2023, 1, 1)).days
        rows = []
        for name, days, cell in zip(("N", "S", "W", "all"), (*ends[[0, 2, 3]], ends.max(axis=0)), cells, strict=True):
            known = tuple(float(_number(one, nominal)) for one in cell.split("/"))
            rows.append(Row(f"{start} {name}", known, _quantiles(days, (0.5, 0.8, 0.9)[: len(known)]), 0, True))
        finish = np.array([day for day, _ in passes])
        closed = faces.closings[finish[finish < faces.count - 29]]
        froze = [100.0 * float(np.mean(frost[at + 28 * 24] > frost[at])) for at in (closed - CLOSED, closed)]
        after = 100.0 * np.mean(ends.max(axis=0) > (date(2023, 10, 31) - date(2023, 1, 1)).days)
        yield Start(tuple(rows), (float(late), float(after)), (float(cold), froze[0], froze[1]))


def _quantiles(days: Array, shares: tuple[float, ...]) -> tuple[float, ...]:
    return tuple(float(one) for one in np.quantile(days, shares, method="nearest"))


def _number(text: str, start: date) -> int:
    day = date.fromisoformat(f"2023-{text}")
    return ((day if day >= start else date.fromisoformat(f"2024-{text}")) - date(2023, 1, 1)).days


def _date(number: float) -> date:
    return date(2023, 1, 1) + timedelta(days=round(min(number, 800.0)))


def _line(row: Row) -> str:
    off = f"   P50 OFF by {row.off:+.0f} d" if abs(row.off) > 1.0 else ""
    return f"  {row.name:<38}{row.shown(row.known):<20}{row.shown(row.came)}{off}"


def main() -> int:
    """Print both tables."""
    if not there(SEVEN_YEARS, THIRTY_TWO_YEARS):
        print("recorded weather is not there: set CURING_RECORDED_WEATHER to its folder")
        return 2
    began = time.perf_counter()
    print("calendar days of a cure of 672 hours: P10/50/80/90 as calibrated, now, and now in parts of hours")
    rows = list(cure_rows(whole=True))
    for row, parts in zip(rows, cure_rows(whole=False), strict=True):
        print(f"{_line(row):<84}{row.shown(parts.came)}")
    print("\nsecond coat of paint, by the day the panel was ready: P50/80(/90) as calibrated, and now; all: N E S W")
    for start in whole_rows():
        print("\n".join(map(_line, start.rows)))
        print(f"    after 31 Oct {start.late[0]:.0f} {start.late[1]:.0f} %   ", end="")
        print("frost in 28 days of the finish {:.0f} {:.0f} %, from closing {:.0f} %".format(*start.frost))
        rows += start.rows
    off = sum(abs(row.off) > 1.0 for row in rows)
    took = time.perf_counter() - began
    print(f"\n{len(rows)} medians, {off} off by more than a day; {took:.0f} s. Source: KNMI (CC BY 4.0)")
    return 0


if __name__ == "__main__":
    sys.exit(main())
