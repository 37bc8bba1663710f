"""A job of its own for each test."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest
from cli_court import APRIL, Court, narrow


@pytest.fixture
def court(tmp_path: Path) -> Court:
    """Alder Court before it is planned."""
    job = tmp_path / "court.yaml"
    shutil.copy(APRIL, job)
    return Court(job, tmp_path / "state")


@pytest.fixture(scope="session")
def _saved(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("planned")
    shutil.copy(APRIL, folder / "court.yaml")
    made = Court(folder / "court.yaml", folder / "state").run("plan", "--out", str(folder / "out"))
    (folder / "said").write_text(made.stdout)
    assert made.exit_code == 0, made.stderr
    return folder


@pytest.fixture
def planned(_saved: Path, tmp_path: Path) -> Court:
    """Alder Court with its first plan saved."""
    folder = tmp_path / "planned"
    shutil.copytree(_saved, folder)
    return Court(folder / "court.yaml", folder / "state")


@pytest.fixture(scope="session")
def said(_saved: Path) -> list[str]:
    """What the first plan of Alder Court says."""
    return narrow((_saved / "said").read_text())


@pytest.fixture(scope="session")
def first(_saved: Path) -> dict[str, Any]:
    """The first plan of Alder Court as it is written."""
    plan: dict[str, Any] = json.loads((_saved / "out" / "plan.json").read_text())
    return plan
