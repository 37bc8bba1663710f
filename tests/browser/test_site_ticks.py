"""Ticks over a real service, on a phone and on a laptop: what is said shows, and the plan follows."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import pytest
from real_site import Site, copied, expect, served, within

pytestmark = pytest.mark.browser

EARLY = "{}-out.finish.2027-05-24.early"
CLOCK = r"07:1\d"


@pytest.fixture
def fresh(court_made: Path, tmp_path: Path) -> Iterator[Callable[[], Site]]:
    """Serve copies of the job on which nothing was ticked yet."""
    with ExitStack() as stack:
        yield lambda: stack.enter_context(served(copied(court_made, tmp_path / "job")))


def block(page: Any, id_: str) -> Any:
    return page.locator(f"li[id='{id_}']")


def focused(page: Any, id_: str) -> None:
    expect(block(page, id_)).to_be_focused(timeout=10_000)


def test_a_morning_at_the_walls(phone: Any, fresh: Callable[[], Site]) -> None:
    site = fresh()
    first, second = EARLY.format(1), EARLY.format(2)
    phone.goto(site.url("today"))
    expect(phone.locator("h1")).to_have_text("Mon 24 May · early round")
    expect(block(phone, first)).to_have_class("wall next")
    expect(block(phone, first).locator("button[value=misted]").first).to_have_text(re.compile(rf"^\s*Done {CLOCK}\s*$"))

    # Done: shown with time and name; the next wall has the focus
    block(phone, first).locator("button[value=misted]").first.click()
    expect(block(phone, first).locator(".does")).to_have_text(re.compile(rf"^\s*misted {CLOCK}, Wil\s*$"))
    expect(block(phone, second)).to_have_class("wall next")
    focused(phone, second)
    expect(phone.locator(".top .job")).to_contain_text("1 of 7 done")

    # Undo opens it again
    block(phone, first).get_by_role("button", name="Undo").click()
    expect(block(phone, first)).to_have_class("wall next")
    expect(phone.locator(".top .job")).to_contain_text("0 of 7 done")

    # Could not, and why
    block(phone, first).get_by_text("Could not").first.click()
    block(phone, first).get_by_label("locked").check()
    block(phone, first).locator("button[value=could-not]").click()
    expect(block(phone, first).locator(".does")).to_have_text(re.compile(r"^\s*could not \d\d:\d\d: locked, Wil\s*$"))
    block(phone, first).get_by_role("button", name="Undo").click()

    # Still damp
    block(phone, first).locator("button[value=damp]").click()
    expect(block(phone, first).locator(".does")).to_have_text(re.compile(rf"^\s*still damp {CLOCK}, Wil"))
    block(phone, first).get_by_role("button", name="Undo").click()
    expect(block(phone, first)).to_have_class("wall next")

    # The true time
    block(phone, first).get_by_text("Did it earlier? Set the time").click()
    block(phone, first).locator("input[name=clock]").fill("06:40")
    block(phone, first).get_by_role("button", name="Done at that time").click()
    expect(block(phone, first).locator(".does")).to_have_text(re.compile(r"^\s*misted 06:40, Wil\s*$"))
    block(phone, first).get_by_role("button", name="Undo").click()

    # The whole round
    phone.get_by_role("button", name=re.compile(rf"^All done {CLOCK}$")).first.click()
    for visit in (first, second):
        expect(block(phone, visit).locator(".does")).to_have_text(re.compile(rf"^\s*misted {CLOCK}, Wil\s*$"))
    told = site.record("1-out")
    assert "1 asked: 1 misted" in told
    assert re.search(rf"6 +Mon 24 May +misted {CLOCK}", told)


def test_a_coat_closed_moves_plan_and_calendars(phone: Any, fresh: Callable[[], Site]) -> None:
    site = fresh()
    phone.goto(site.url("today"))
    finish = block(phone, "4-out.finish")
    expect(finish).to_contain_text("Finish 8 mm")
    feed, tag = site.feed()
    assert "SUMMARY:4 out FINISH" in feed
    finish.locator("summary").first.click()
    finish.get_by_text("Did it earlier? Set the time").click()
    finish.locator("input[name=clock]").fill("07:05")
    finish.get_by_role("button", name="Done at that time").click()
    expect(finish.locator(".does").first).to_contain_text("closed 07:05, Wil")
    within(lambda: site.feed()[1] != tag, 30, "the feed changes")
    phone.get_by_role("link", name="Walls", exact=True).click()
    expect(phone.locator("li[id='4-out'] .does")).to_have_text("finish day 0/28")


def test_a_morning_on_a_laptop(desk: Any, fresh: Callable[[], Site]) -> None:
    site = fresh()
    desk.goto(site.url("today"))
    rows = desk.locator("table.due tbody tr")
    one, two = rows.filter(has_text="1 out").first, rows.filter(has_text="2 out").first
    expect(desk.locator("#early li.wall").first).to_be_hidden()  # the same day, drawn for a phone
    one.get_by_role("button", name="Done").first.click()
    expect(one.locator("td.done")).to_contain_text(re.compile(rf"misted {CLOCK}, Wil"))
    expect(desk.locator("p.job")).to_contain_text("1 of 7 done")
    two.get_by_role("button", name="Done").first.click()
    expect(two.locator("td.done")).to_contain_text(re.compile(rf"misted {CLOCK}, Wil"))
    assert site.record("1-out").count("misted 07:1") == 1
    # what is not a plain Done is answered at the wall
    rows.filter(has_text="4 out").first.get_by_role("link", name=re.compile("^Open")).first.click()
    expect(desk.locator("h1")).to_contain_text("north gable")
    desk.locator("[id='4-out.finish']").get_by_text("Could not").first.click()
    desk.locator("[id='4-out.finish']").get_by_label("no water").check()
    desk.locator("[id='4-out.finish'] button[value=could-not]").click()
    expect(desk.locator("#history")).to_contain_text("no water")


def test_two_people_at_one_wall(new_context: Callable[..., Any], fresh: Callable[[], Site], faults: Any) -> None:
    site, visit = fresh(), EARLY.format(1)
    wil, noor = new_context().new_page(), new_context().new_page()
    wil.goto(site.url("today"))
    noor.goto(site.url("today", "noor"))
    noor.locator(f"li[id='{visit}'] button[value=misted]").first.click()
    expect(block(noor, visit)).to_contain_text("Noor")
    faults.allow_no_signal()  # what the browser logs of the answer that it is there already
    wil.locator(f"li[id='{visit}'] button[value=misted]").first.click()
    refused = wil.locator("#kept li")
    expect(refused).to_contain_text("Was yours an extra?")
    expect(refused).to_contain_text("Noor")
    expect(block(wil, visit)).to_contain_text("Noor")
    wil.get_by_role("button", name="Put away").click()
    expect(wil.locator("#kept")).to_be_hidden()
    assert site.record("1-out").count("misted 07:1") == 1
