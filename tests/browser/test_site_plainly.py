"""A real service without script, and by plain http: everything is there by plain forms."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from real_site import Site, entries, expect, within

pytestmark = pytest.mark.browser

FIRST, SECOND = "1-out.finish.2027-05-24.early", "2-out.finish.2027-05-24.early"
NAME = "walls.test"


def test_a_morning_without_script(new_context: Callable[..., Any], site: Site, faults: Any) -> None:
    faults.allow("status of 422")
    page = new_context(java_script_enabled=False).new_page()
    page.goto(site.url("today"))
    first = page.locator(f"li[id='{FIRST}']")
    expect(page.get_by_text("This phone cannot keep ticks.")).to_be_visible()
    expect(page.locator("#no-worker")).to_be_hidden()
    first.locator("button[value=misted]").first.click()
    assert page.url.endswith(f"#{FIRST}")
    expect(first.locator(".does")).to_have_text(re.compile(r"^\s*misted 07:1\d, Wil\s*$"))
    first.get_by_role("button", name="Undo").click()
    expect(first).to_have_class("wall next")
    first.locator("summary", has_text="Could not").click()
    first.get_by_label("other").check()
    first.get_by_label("In a few words").fill("no ladder")
    first.locator("button[value=could-not]").click()
    expect(first).to_contain_text("no ladder")

    # a reading: the error stands beside its figure, and the others are kept
    page.goto(site.url("reading/7"))
    for field in ("out-top", "out-middle", "out-low", "out-mid", "in-top", "in-low", "in-mid"):
        page.fill(f"#{field}", "18")
    page.fill("#in-middle", "62")
    page.get_by_label("musty smell").check()
    page.get_by_role("button", name=re.compile("^Save the readings")).click()
    expect(page.locator("#wrong-in-middle")).to_contain_text("40 %")
    assert page.input_value("#in-middle") == "62"
    assert page.input_value("#out-top") == "18"
    expect(page.get_by_label("musty smell")).to_be_checked()
    page.get_by_label("musty smell").uncheck()
    page.fill("#in-middle", "18")
    page.get_by_role("button", name=re.compile("^Save the readings")).click()
    expect(page.locator("h1")).to_contain_text("south gable")
    page.get_by_role("button", name="Met: open it").click()
    expect(page.locator(".hold", has_text="Held: 7 out base")).to_have_count(0)

    # a decision
    page.goto(site.url("moved"))
    coat = page.locator("#coat option", has_text="3 out base").first
    page.select_option("#coat", value=str(coat.get_attribute("value")))
    page.fill("#why", "no sand")
    page.fill("#day", "2027-05-31")
    page.get_by_role("button", name="Move it there").click()
    within(lambda: "no sand" in site.ask("moved", "noor").text, 30, "the crew sees why")


def test_by_plain_http_the_page_says_what_it_can_and_keeps_ticks_while_it_is_open(
    site: Site, start_phone: Callable[..., Any], faults: Any
) -> None:
    faults.hosts.add(NAME)
    faults.allow_no_signal()
    context = start_phone(f"--host-resolver-rules=MAP {NAME} 127.0.0.1")
    page = context.new_page()
    page.goto(site.url("today", host=NAME))
    assert page.evaluate("isSecureContext") is False
    expect(page.get_by_text("This address has no https")).to_be_visible()
    second = page.locator(f"li[id='{SECOND}']")
    expect(second).to_have_class("wall next")
    site.kill()
    second.locator("button[value=misted]").first.click()
    expect(page.locator("#kept .kept-text")).to_have_text("2 out: done")
    expect(page.locator("#kept").get_by_role("button", name="Undo")).to_be_visible()
    expect(second).to_contain_text("Kept on this phone")
    site.again()
    page.evaluate("dispatchEvent(new Event('online'))")  # as when the signal is there again
    expect(second.locator(".does")).to_have_text(re.compile(r"^\s*misted 07:1\d, Wil\s*$"), timeout=20_000)
    expect(page.locator("#kept")).to_be_hidden()
    assert len(entries(site.job, SECOND)) == 1
