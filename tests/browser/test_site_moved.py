"""Decisions over a real service: the lead moves a coat, the crew sees it moved and why."""

from __future__ import annotations

from typing import Any

import pytest
from real_site import Site, expect, within

pytestmark = pytest.mark.browser


def test_the_lead_moves_a_coat_and_the_crew_sees_why(phone: Any, desk: Any, site: Site) -> None:
    phone.goto(site.url("moved"))
    within(lambda: "Nothing moved since" in site.ask("moved").text, 30, "the first plan of the server")
    phone.reload()
    badge = phone.locator("nav .badge")
    decide = phone.locator("#decide ~ ul.walls").first.locator("> li")
    expect(badge).to_have_text(str(decide.count()))
    _, tag = site.feed()

    coat = phone.locator("#coat option", has_text="5 out base").first
    assert (coat.text_content() or "").startswith("5 out base, Tue 25 May")
    phone.select_option("#coat", value=str(coat.get_attribute("value")))
    phone.fill("#why", "The scaffold of the yard is being mended")
    phone.fill("#day", "2027-05-28")
    phone.get_by_role("button", name="Move it there").click()
    expect(phone.locator("h1")).to_contain_text("Moved since")
    within(lambda: site.feed()[1] != tag, 30, "the plan follows")

    for page, person in ((phone, "wil"), (desk, "noor")):
        page.goto(site.url("moved", person))
        moved = page.locator("li.wall", has_text="5 out").filter(has=page.locator(".tag.now")).first
        expect(moved.locator(".tag.was")).to_contain_text("25 May")
        expect(moved.locator(".tag.now")).to_contain_text("28 May")
        expect(moved).to_contain_text("The scaffold of the yard is being mended")
        expect(moved.locator(".ruler li.now b")).to_have_text("28")
    expect(desk.locator("nav .badge")).to_have_count(0)  # only for who decides
    expect(desk.get_by_role("button", name="Move it there")).to_have_count(0)
    desk.goto(site.url("wall/5", "noor"))
    expect(desk.locator("li[id='5-out']")).to_contain_text("28 May")
    sent = site.live.send(
        "decide", {"what": "move", "coat": "5-out.base", "day": "2027-05-27", "why": "no"}, who="noor"
    )
    assert sent.status == 403
