"""On seven recorded years the planner's rules open the days that they were calibrated with, and none is noise.

As calibrated: the year known beforehand, rain by the wind as told, no margin of frost, cloth before the face.
"""

from __future__ import annotations

import numpy as np
import pytest

from curing.planning.weather_weighing import Shelter
from tests.benchmarks import weather_counts as counts
from tests.benchmarks.station import SEVEN_YEARS, recorded, there

pytestmark = [
    pytest.mark.long,
    pytest.mark.skipif(not there(SEVEN_YEARS), reason="recorded weather is not there (CURING_RECORDED_WEATHER)"),
]
CLOTH = (Shelter.CLOTH,)


@pytest.fixture(scope="module")
def hours():
    return recorded(SEVEN_YEARS)


@pytest.fixture(scope="module")
def seen(hours):
    return counts.views(hours)


@pytest.mark.parametrize("coat", counts.COATS)
def test_share_of_days_comes_out_as_calibrated(hours, seen, coat):
    told = tuple(counts.as_told(face) for face in seen)
    share = counts.window_share(hours, told, counts.limits(coat, counts.PLAIN), CLOTH)
    assert np.abs(share - counts.calibrated(coat)).max() <= 2.0
    # The worst of the wind, the margin and bare faces only ever take days away; sheets only give them back.
    worst = counts.window_share(hours, seen, counts.limits(coat, counts.PLAIN), CLOTH)
    margin = counts.window_share(hours, seen, counts.limits(coat), CLOTH)
    bare = counts.window_share(hours, seen, counts.limits(coat))
    sheets = counts.window_share(hours, seen, counts.limits(coat), (*CLOTH, Shelter.SHEET))
    assert (worst <= share).all()
    assert (margin <= worst).all()
    assert (bare <= margin).all()
    assert (margin <= sheets).all()


@pytest.mark.parametrize("coat", counts.COATS)
def test_no_rule_stops_most_days_but_sun_on_the_south(hours, seen, coat):
    for one in counts.stopping(hours, seen, coat, None):
        if not (one.rule.endswith(".sun_most") and one.face == "S"):
            assert one.summer <= counts.NOISY, one


def test_advice_about_visits_comes_on_few_days_of_summer(hours, seen):
    found = counts.visits(hours, seen)
    summer = {name: days[:, 3:9].sum(axis=1) / 183.0 for name, days in found.items()}
    # Counted before: 3/15/18/16 % of days from April to September ask for a visit more.
    assert np.abs(100.0 * (summer["extra"] + summer["shade"]) - [3, 15, 18, 16]).max() <= 1.5
    for name in ("look", "frost", "cold", "sheet", "frost cover"):
        assert 0.0 < summer[name].max() < 0.5, name
    assert (found["frost"][:, 5:8] < 0.5).all()  # no frost at midsummer
    assert 0.0 < summer["shade"].max() < 0.04
