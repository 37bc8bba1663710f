"""Who decides when: each cell of the table, at its edges, and what never follows from a forecast."""

from __future__ import annotations

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curing.planning.weather_rulings import Ruling, ruling
from curing.planning.weather_windows import Answer

HOUR = timedelta(hours=1)
NO, YES, UNKNOWN = Answer.NO, Answer.YES, Answer.UNKNOWN
RUNS = st.sampled_from([NO, YES, UNKNOWN, None])


@pytest.mark.parametrize(
    ("hours", "one", "two"),
    [
        (0, "off", "off"),
        (24, "off", "off"),
        (25, "watched", "off"),
        (72, "watched", "off"),
        (73, "watched", "proposed"),
        (168, "watched", "proposed"),
        (169, "stands", "stands"),
        (-1, "stands", "stands"),
    ],
)
def test_the_table_by_its_edges(hours: int, one: str, two: str) -> None:
    assert ruling(hours * HOUR, NO, YES) == one
    assert ruling(hours * HOUR, NO, UNKNOWN) == one
    assert ruling(hours * HOUR, NO, None) == one
    assert ruling(hours * HOUR, NO, NO) == two


@given(st.integers(-50, 400), RUNS)
def test_what_is_fine_or_not_known_by_the_newest_run_stands(hours: int, before: Answer | None) -> None:
    assert ruling(hours * HOUR, YES, before) is Ruling.STANDS
    assert ruling(hours * HOUR, UNKNOWN, before) is Ruling.STANDS


@given(st.integers(0, 400), RUNS)
def test_nearer_work_is_never_treated_more_lightly(hours: int, before: Answer | None) -> None:
    order = [Ruling.STANDS, Ruling.WATCHED, Ruling.PROPOSED, Ruling.OFF]
    nearer, farther = ruling(hours * HOUR, NO, before), ruling((hours + 1) * HOUR, NO, before)
    assert order.index(nearer) >= order.index(farther)
