from __future__ import annotations

import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from state_places import MEMORY, UID

from curing.store import Store, open_state


@pytest.fixture
def folder() -> Iterator[Path]:
    with tempfile.TemporaryDirectory(dir=MEMORY) as place:
        yield Path(place) / "alder-court.state"


@pytest.fixture
def folder_on_disk(tmp_path: Path) -> Path:
    return tmp_path / "alder-court.state"


@pytest.fixture
def store(folder: Path) -> Iterator[Store]:
    with open_state(folder, UID) as opened:
        yield opened
