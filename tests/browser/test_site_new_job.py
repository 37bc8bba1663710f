"""A job from nothing to a plan by the pages of a real service alone: no editor, no command but the first."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from axe import serious
from real_site import expect

pytestmark = pytest.mark.browser


@pytest.fixture
def start_link(tmp_path: Path) -> Iterator[str]:
    """Serve a job file that is not there yet; return the link that begins it."""
    command = [sys.executable, "-m", "curing", "serve", str(tmp_path / "barn.yaml"), "--port", "0"]
    log = tmp_path / "log"
    with log.open("wb") as out:
        process = subprocess.Popen(command, stdout=out, stderr=subprocess.STDOUT, env={**os.environ, "PYTHONUNBUFFERED": "1"})
    try:
        end = time.monotonic() + 60
        while not (found := re.search(r"http://\S+/new/\S+", log.read_text())):
            assert process.poll() is None, log.read_text()
            assert time.monotonic() < end, log.read_text()
            time.sleep(0.05)
        yield found[0]
    finally:
        process.terminate()
        process.wait(20)


@pytest.mark.parametrize("size", ["phone", "desk"])
def test_from_nothing_to_a_plan(
    request: pytest.FixtureRequest, start_link: str, tmp_path: Path, new_context: Callable[..., Any], faults: Any, size: str
) -> None:
    faults.allow("status of 4(10|22)")
    page = request.getfixturevalue(size)
    page.goto(start_link)
    expect(page.locator("h1")).to_have_text("A new job")
    assert serious(page) == []
    page.get_by_label("Name").first.fill("Barn") if page.locator("#f-name").count() == 0 else page.fill("#f-name", "Barn")
    print(page.locator("form").inner_text())
    page.get_by_role("button", name="Begin the job").click()
    print(page.locator("form").inner_text())
    raise AssertionError
