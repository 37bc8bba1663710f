"""Certificates of one run."""

from __future__ import annotations

from pathlib import Path

import pytest
from lines import make_keys


@pytest.fixture(scope="session")
def keys(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """Return certificate and key for localhost."""
    return make_keys(tmp_path_factory.mktemp("keys"), "localhost")


@pytest.fixture(scope="session")
def other_keys(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """Return certificate and key for another host."""
    return make_keys(tmp_path_factory.mktemp("keys"), "other.example")
