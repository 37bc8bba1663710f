"""A coat off its day by weather, over a real service: the lead takes the proposed day, or the old one, by a press."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from invented_sky import write_sky
from real_site import Site, copied, expect, served, told, within

pytestmark = pytest.mark.browser


@pytest.fixture
def site(court_made: Path, tmp_path: Path) -> Iterator[Site]:
    """Serve that job under a forecast of rain from the road, from Tuesday noon on."""
    job = copied(court_made, tmp_path / "site")
    noon = datetime(2027, 5, 25, 10, tzinfo=UTC)
    wet = (noon, noon + timedelta(hours=24), 4.0)
    sky = write_sky(tmp_path / "sky.json", datetime(2027, 5, 24, 4, tzinfo=UTC), rain=(wet,), wind_from_direction=84.0)
    told(job, "weather", str(job), "--forecast", str(sky))
    with served(job) as one:
        yield one


@pytest.mark.parametrize("answer", ["proposed", "old"])
def test_the_lead_answers_and_it_is_asked_no_more(phone: Any, site: Site, answer: str) -> None:
    within(lambda: "3 out base is off Tue 25 May" in site.ask("moved").text, 60, "the first plan of the server")
    phone.goto(site.url("moved"))
    asked = phone.locator("li.wall", has_text="3 out base is off Tue 25 May")
    expect(asked).to_contain_text("is proposed")
    if answer == "proposed":
        asked.get_by_role("button", name="Take ").click()
    else:
        asked.locator("summary").click()
        keep = asked.get_by_role("button", name="Keep Tue 25 May against the forecast")
        keep.click()
        expect(phone.locator("h1")).to_contain_text("Moved since")  # a reason is asked for: nothing went out
        asked.locator("details input[name=why]").last.fill("Sheets hang on the scaffold")
        keep.click()
    expect(phone.locator("h1")).to_contain_text("Moved since")
    within(lambda: "3 out base is off Tue 25 May:" not in site.ask("moved").text, 60, "the plan follows")
    phone.goto(site.url("wall/3"))
    block = phone.locator("li[id='3-out']")
    expect(block).not_to_contain_text("no day")
    expect(block).to_contain_text("25 May" if answer == "old" else "by Wil")
