"""Fixtures of the served job."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from freezegun import freeze_time
from serving import Site, copied, court, serving

NOW = "2027-05-24 05:10:00"
"""Monday 24 May 2027, 07:10 at Alder Court."""


@pytest.fixture(scope="session")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return court(tmp_path_factory.mktemp("court"))


@pytest.fixture
def job_file(made: Path, tmp_path: Path) -> Path:
    return copied(made, tmp_path / "job")


@pytest.fixture
def site(job_file: Path) -> Iterator[Site]:
    with freeze_time(NOW, real_asyncio=True), serving(job_file) as one:
        yield one
