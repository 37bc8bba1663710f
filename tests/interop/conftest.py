"""The tests here ask real calendar programs; they run where that was asked for."""

from __future__ import annotations

import os

import pytest


@pytest.fixture(autouse=True)
def only_when_asked_for() -> None:
    """Skip unless the environment asks for the tests that need programs and tens of seconds."""
    if os.environ.get("CURING_INTEROP") != "1":
        pytest.skip("real calendar programs are asked only with CURING_INTEROP=1")
