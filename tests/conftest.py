"""Makes ``jobs``, the maker of invented jobs, importable from every test; sets how hypothesis draws."""

import os
import signal

import pytest
from hypothesis import settings

# The same draws on every run, so that a change is judged by what it changed.
# New draws are the work of a long run (CURING_LONG_TESTS=N).
settings.register_profile("same draws", derandomize=True, deadline=None)
settings.register_profile("new draws", deadline=None)
# What is begun in the background of a script never hears Ctrl-C, nor do the servers that it begins.
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)
settings.load_profile("new draws" if os.environ.get("CURING_LONG_TESTS") else "same draws")


def pytest_runtest_setup(item: pytest.Item) -> None:
    """Skip what takes long, or kills programs at a terminal, unless it was asked for."""
    if item.get_closest_marker("long") is not None and not os.environ.get("CURING_LONG_TESTS"):
        pytest.skip("long; run by CURING_LONG_TESTS=1 .venv/bin/python -m pytest -m long")
