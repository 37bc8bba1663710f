"""``python -m tests.benchmarks``: medians beside the known answer, with versions and peers.

Times depend on the machine and are no test: this ends non-zero only where an answer is wrong.
"""

from __future__ import annotations

import argparse
import importlib.metadata
import json
import os
import platform
from collections.abc import Iterator
from pathlib import Path

from tests.benchmarks import recorded
from tests.benchmarks.cases import ONCE, command, planning, starting
from tests.benchmarks.measuring import HEAD, Result

PACKAGES = ("curing", "tzdata", "holidays", "numpy", "pydantic", "icalendar", "ruamel.yaml", "typer", "SQLAlchemy")


def main() -> int:
    words = argparse.ArgumentParser(prog="python -m tests.benchmarks", description=__doc__)
    words.add_argument("--faces", default="10,50,200,1000", help="sizes of the jobs (default: %(default)s)")
    words.add_argument("--runs", type=int, default=5, help="runs of each thing (default: %(default)s)")
    words.add_argument("--json", type=Path, metavar="FILE", help="write everything there as well")
    given = words.parse_args()
    sizes = [int(size) for size in given.faces.split(",")]
    versions = {name: importlib.metadata.version(name) for name in PACKAGES}
    machine = {
        "python": platform.python_version(),
        "system": f"{platform.system()} {platform.release()} {platform.machine()}",
        "cores": len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count(),
    }
    print(" · ".join(f"{name} {value}" for name, value in {**machine, **versions}.items()))
    print(HEAD)
    results = []
    for result in measure(sizes, given.runs):
        print(result.line(), flush=True)
        results.append(result)
    if given.json:
        found = {"machine": machine, "versions": versions, "results": [result.row() for result in results]}
        given.json.write_text(json.dumps(found, indent=1) + "\n", encoding="utf-8")
    return 0 if all(result.right for result in results) else 1


def measure(sizes: list[int], runs: int) -> Iterator[Result]:
    """Measure one thing after another, the quick ones first."""
    yield from starting(runs)
    yield from recorded.measure(runs)
    for size in sizes:
        yield command(size, runs if size < ONCE else 1)
    for size in sizes:
        yield from planning(size, runs if size < ONCE else 1)


if __name__ == "__main__":
    raise SystemExit(main())
