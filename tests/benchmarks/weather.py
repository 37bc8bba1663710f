"""``python -m tests.benchmarks.weather``: all figures of weather in one run, a few minutes on one quiet core.

The calibrated tables beside what this code gives, cures and whole faces, how often each rule speaks, the rate of the
climate beside pvlib, a plan of 50 faces with and without weather. It needs the recorded hours of
:mod:`tests.benchmarks.station` for all but the last two. Source: KNMI (CC BY 4.0).
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping

from tests.benchmarks import climate, cure_tables, model_tables, plan_weather, weather_counts

PARTS: Mapping[str, Callable[[], int]] = {
    "the calibrated tables": model_tables.main,
    "cures and whole faces": cure_tables.main,
    "how often each rule speaks": weather_counts.main,
    "the climate of faces": climate.main,
    "planning with weather": plan_weather.main,
}


def main() -> int:
    """Print everything; end non-zero where a part does."""
    ended = 0
    for name, part in PARTS.items():
        print(f"\n=== {name} ===", flush=True)
        ended = max(ended, part())
    return ended


if __name__ == "__main__":
    sys.exit(main())
