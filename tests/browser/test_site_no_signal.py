"""A morning without signal, over a real service that is killed meanwhile: nothing is lost, nothing counts twice."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from asking_phone import open_kept, until
from real_site import Site, entries, expect

pytestmark = pytest.mark.browser

FIRST, SECOND = "1-out.finish.2027-05-24.early", "2-out.finish.2027-05-24.early"
SLACK = timedelta(seconds=5)


def press(page: Any, visit: str) -> None:
    """Press Done, after its fold was opened if it is closed."""
    block = page.locator(f"li[id='{visit}']")
    if "next" not in (block.get_attribute("class") or "") and block.locator("details:not([open]) > summary h3").count():
        block.locator("summary").first.click()
    block.locator("button[value=misted]").first.click()


def expect_two_kept(page: Any) -> None:
    expect(page.locator("#kept")).to_be_visible()
    expect(page.locator("#kept-head")).to_have_text("No signal. 2 ticks are kept on this phone.")
    expect(page.locator("#kept .kept-text")).to_have_text(["1 out: done", "2 out: done"])
    expect(page.locator("#kept .kept-time").first).to_have_text(re.compile(r"^07:1\d$"))
    expect(page.locator("#kept").get_by_role("button", name="Undo")).to_have_count(2)


def test_two_ticks_without_signal(
    site: Site, start_phone: Callable[..., Any], new_context: Callable[..., Any], faults: Any
) -> None:
    faults.allow_no_signal()
    context = start_phone()
    page = context.new_page()
    open_kept(page, site.url("today"))
    page.reload()
    until(page, "caches.match(location.href).then((copy) => copy !== undefined)")
    context.set_offline(True)

    noor = new_context().new_page()  # whose phone has signal, at the same wall
    noor.goto(site.url("today", "noor"))
    press(noor, SECOND)
    expect(noor.locator(f"li[id='{SECOND}']")).to_contain_text("Noor")
    site.kill()

    pressed = site.live.now()
    press(page, FIRST)
    expect(page.locator("#kept .kept-text")).to_have_text("1 out: done")
    press(page, SECOND)
    expect_two_kept(page)
    page.reload()
    expect(page.get_by_text("No signal: this page is as it was at 07:1")).to_be_visible()
    expect_two_kept(page)
    expect(page.locator(f"li[id='{FIRST}']")).to_contain_text("Kept on this phone")
    # another page that this phone has not seen says so, and the ticks are there too
    page.goto(site.url("moved"))
    expect(page.locator("h1")).to_have_text("No signal")
    expect_two_kept(page)
    context.close()

    context = start_phone()
    page = context.new_page()
    context.set_offline(True)
    page.goto(site.url("today"))
    expect_two_kept(page)
    page.wait_for_timeout(6_000)  # so that the time of work and that of sending are told apart

    site.again()
    context.set_offline(False)  # and nobody touches the phone
    refused = page.locator("#kept li")
    expect(refused).to_have_count(1, timeout=40_000)
    expect(page.locator("#kept-head")).to_have_text("1 tick was not taken.")
    expect(refused).to_contain_text("2 out: done")
    expect(refused).to_contain_text("Noor")
    expect(refused).to_contain_text("Was yours an extra?")
    expect(page.locator(f"li[id='{FIRST}'] .does")).to_have_text(re.compile(r"^\s*misted 07:1\d, Wil\s*$"))
    expect(page.locator(f"li[id='{SECOND}'] .does")).to_have_text(re.compile(r"^\s*misted 07:1\d, Noor\s*$"))
    page.reload()
    expect(refused).to_have_count(1)

    (one,) = entries(site.job, FIRST)
    assert abs(one.at - pressed) <= SLACK
    assert one.received - one.at >= timedelta(seconds=6)
    assert [entry.by for entry in entries(site.job, SECOND)] == ["noor"]
    assert site.record("1-out").count("misted 07:1") == 1
    page.get_by_role("button", name="Put away").click()
    expect(page.locator("#kept")).to_be_hidden()
