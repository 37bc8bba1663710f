"""Figures and names in sentences: in the units of the reader, by the names that people use."""

from __future__ import annotations

import pytest

from curing.model.plan import Notice, Reason
from curing.publish.words import Words

PANEL = Reason("panel.drying", "panel", {"thickness": 304.8, "filled": "2027-01-04", "day": "2027-05-03"})
THICK = Reason(
    "finish.least_wait_per_mm", "wait_mm", {"days": 13, "before": "base coat", "laid": "2027-05-03", "mm": 12.7}
)
LIGHT = Notice("panel.least_density", "light_panel", {"wall": "4", "density": 640.74, "least": 650.0})


@pytest.mark.parametrize(
    ("units", "panel", "wait", "light"),
    [
        ("metric", "(304.8 mm, filled Mon 4 Jan)", "thickness, 12.7 mm)", "641 kg/m3, under 650 kg/m3"),
        ("us", "(12 in, filled Mon 4 Jan)", "thickness, 1/2 in)", "40 lb/ft3, under 40.6 lb/ft3"),
    ],
)
def test_figures_are_in_the_units_of_the_job(units: str, panel: str, wait: str, light: str) -> None:
    # 304.8 mm are 12 in; 12.7 mm are 1/2 in; 640.74 kg/m3 are 40 lb/ft3 (0.45359237 kg, 0.3048 m).
    words = Words(units)  # type: ignore[arg-type]
    assert panel in words.reason(PANEL)
    assert words.reason(THICK) == f"13 days after the base coat of Mon 3 May (by its {wait}"
    assert light in words.notice(LIGHT)


def test_days_of_the_paint_advice_stay_days() -> None:
    values = {"coat": "1-out.paint-1", "age": 36, "least": 56, "from_day": "2027-07-13"}
    told = Words("us").notice(Notice("paint-1.warn_age", "young_for_paint", values))
    assert told == "1 out paint-1: plaster only 36 days old; advice is 56 days, Tue 13 July"


def test_a_wait_of_one_day_is_one_day() -> None:
    one = Reason(THICK.rule, THICK.key, {**THICK.values, "days": 1})
    assert Words().reason(one).startswith("1 day after")


def test_what_is_only_booked_is_not_called_laid() -> None:
    after = Reason("job.after", "after", {"other": "2-out.base", "day": "2027-05-03"})
    assert Words().reason(after) == "comes after 2 out base of Mon 3 May"
    whole = Reason("job.after", "after", {"other": "n-2-in", "day": "2027-05-03"})
    assert Words().reason(whole) == "comes after n-2 in of Mon 3 May"
