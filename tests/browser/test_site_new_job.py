"""A job from nothing to a plan by the pages of a real service alone: no editor, no command but the first."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
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
    log, environment = tmp_path / "log", {**os.environ, "PYTHONUNBUFFERED": "1"}
    with log.open("wb") as out:
        process = subprocess.Popen(command, stdout=out, stderr=subprocess.STDOUT, env=environment)
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
    request: pytest.FixtureRequest, start_link: str, tmp_path: Path, faults: Any, size: str
) -> None:
    faults.allow("status of 4(10|22)")
    page = request.getfixturevalue(size)
    page.goto(start_link)
    expect(page.locator("h1")).to_have_text("A new job")
    assert serious(page) == []
    # sent as it is: nothing is written, each field says what it needs, and the focus is at the first
    page.get_by_role("button", name="Begin the job").click()
    expect(page.locator(".error").first).to_be_focused()
    assert not list(tmp_path.glob("*.yaml"))
    assert serious(page) == []
    filled = datetime.now(UTC).date() - timedelta(days=60)  # noqa: TID251
    for label, text in (
        ("Name of the job", "Barn"),
        ("Latitude", "52.1, 5.2"),  # both at once, as a map gives them
        ("Name of the lead", "Wil"),
        ("Others of the crew", "Noor, Tijn"),
        ("Name of the wall", "north gable"),
        ("Thickness of its straw-clay panel", "200"),
        ("Day the panel was or will be filled", filled.isoformat()),
        ("It looks to", "N"),
        ("Area", "10"),
        ("Height of its top", "2.7"),
    ):
        page.get_by_label(label, exact=True).fill(text)
    page.get_by_role("button", name="Begin the job").click()
    expect(page.get_by_label("Time zone", exact=True)).to_have_value("Europe/Amsterdam")
    expect(page.get_by_label("Name of the job", exact=True)).to_have_value("Barn")
    assert not list(tmp_path.glob("*.yaml"))
    page.get_by_role("button", name="Begin the job").click()
    expect(page.locator("h1")).to_have_text("Set the job up")
    assert "/s/" in page.url
    assert (tmp_path / "barn.yaml").exists()
    expect(page.locator("#people")).to_contain_text("Noor")

    # a second wall, and somebody who mists
    page.get_by_role("link", name="Add a wall", exact=True).click()
    page.get_by_label("Name of the wall", exact=True).fill("yard side")
    page.get_by_label("Thickness of its straw-clay panel", exact=True).fill("150")
    page.get_by_label("It looks to", exact=True).fill("W")
    page.get_by_label("Area", exact=True).fill("much")
    page.get_by_label("Height of its top", exact=True).fill("2.7")
    page.get_by_role("button", name="Add", exact=True).click()
    expect(page.locator(".error").first).to_be_focused()
    expect(page.get_by_label("Area", exact=True)).to_have_value("much")
    expect(page.get_by_label("Name of the wall", exact=True)).to_have_value("yard side")
    page.get_by_label("Area", exact=True).fill("8")
    page.get_by_role("button", name="Add", exact=True).click()
    expect(page.locator("#walls")).to_contain_text("yard side")
    page.goto(page.url.partition("/setup")[0] + "/setup")
    page.get_by_role("link", name="Add a person", exact=True).click()
    page.get_by_label("Name", exact=True).fill("Saar")
    page.get_by_label("mists", exact=True).check()
    page.get_by_role("button", name="Add", exact=True).click()
    expect(page.locator(".error").first).to_contain_text("mists, but has no hours")
    expect(page.get_by_label("mists", exact=True)).to_be_checked()
    page.get_by_label("Hours on site", exact=True).fill("sat-sun 08:00-20:00")
    page.get_by_role("button", name="Add", exact=True).click()
    expect(page.locator("#people")).to_contain_text("Saar")

    # and there is a plan, by the pages
    page.get_by_role("link", name="Walls", exact=True).click()
    for _ in range(40):
        if page.locator("li.wall").count() == 2 and "yard side" in page.locator("main").inner_text():
            break
        page.wait_for_timeout(500)
        page.reload()
    expect(page.locator("li.wall").nth(0)).to_contain_text("north gable")
    expect(page.locator("li.wall").nth(1)).to_contain_text("yard side")
    expect(page.locator("li.wall").nth(0)).to_contain_text("base")
    page.get_by_role("link", name="Job", exact=True).click()
    expect(page.locator("h1")).to_contain_text("Done about")
    page.get_by_role("link", name="People", exact=True).click()
    expect(page.locator("main")).to_contain_text("Saar")

    again = page.goto(start_link)
    assert again is not None
    assert again.status == 410
    expect(page.locator("h1")).to_have_text("This job is begun")
