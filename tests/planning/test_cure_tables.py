"""Cures on recorded years: the calibrated figures come out, and the planner counts as the many-at-once count does."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from curing.model.cure import CureRules, FaceHours, Seen
from curing.planning.cure_hours import cure_hours
from tests.benchmarks import cure_tables
from tests.benchmarks.cure_simulated import Pattern, Record, cures, visits
from tests.benchmarks.station import SEVEN_YEARS, THIRTY_TWO_YEARS, recorded, there

SEVEN = pytest.mark.skipif(not there(SEVEN_YEARS), reason="recorded weather is not there (CURING_RECORDED_WEATHER)")
ALL = pytest.mark.skipif(
    not there(SEVEN_YEARS, THIRTY_TWO_YEARS), reason="recorded weather is not there (CURING_RECORDED_WEATHER)"
)


@SEVEN
def test_the_planner_counts_as_the_many_at_once_count_does():
    hours = recorded(SEVEN_YEARS)
    record, demand = Record(hours), np.nan_to_num(hours.climate().demand[2])
    start = datetime.fromtimestamp(hours.start, UTC)
    air = np.nan_to_num(hours.temperature, nan=-99.0)
    closed = record.closings()[40:2200:53]
    expected = cures(record, demand, closed, Pattern(extras=False))
    for first, took in zip(closed, expected, strict=True):
        last = int(first) + 24 * 190
        seen = Seen(tuple(start + timedelta(hours=int(one)) for one in visits(record, int(first), last)))
        past = FaceHours(start, air, demand)
        cure = cure_hours(start + timedelta(hours=int(first)), start + timedelta(hours=last), CureRules(), past, seen)
        assert cure.full is not None
        assert (cure.full - cure.closed) / timedelta(hours=1) == pytest.approx(took, abs=0.01)


@ALL
@pytest.mark.long
def test_the_calibrated_days_of_a_cure_come_out_within_a_day():
    rows = list(cure_tables.cure_rows(whole=True))
    assert len(rows) == 45
    assert [f"{row.name}: {row.off:+.0f} d" for row in rows if abs(row.off) > 1] == []
    # Counting the part of an hour before the coat dries takes a cure at most half a day off.
    parts = list(cure_tables.cure_rows(whole=False))
    assert all(-0.5 <= one.came[1] - row.came[1] <= 0.0 for one, row in zip(parts, rows, strict=True))


@SEVEN
@pytest.mark.long
def test_the_calibrated_ends_of_whole_faces_come_out_within_a_day():
    starts = list(cure_tables.whole_rows())
    rows = [row for start in starts for row in start.rows]
    assert len(rows) == 56
    assert [f"{row.name}: {row.off:+.0f} d" for row in rows if abs(row.off) > 1] == []
    assert [start.late[1] for start in starts] == pytest.approx([start.late[0] for start in starts], abs=2.5)
    # Frost as it was calibrated counts from the midnight before laying; from closing on it is less.
    assert [start.frost[1] for start in starts] == pytest.approx([start.frost[0] for start in starts], abs=2.5)
    assert all(start.frost[2] <= start.frost[1] for start in starts)
