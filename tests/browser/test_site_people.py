"""Links over a real service: given, opened on another phone, renewed and withdrawn; and the page of the client."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from real_site import Site, expect

pytestmark = pytest.mark.browser

NAMES = ("Wil", "Noor", "Tijn", "Saar", "Ines")


@pytest.mark.parametrize(("size", "name"), [("phone", "Noor"), ("desk", "Tijn")])
def test_a_link_is_given_renewed_and_the_old_one_opens_nothing(
    request: pytest.FixtureRequest,
    site: Site,
    new_context: Callable[..., Any],
    faults: Any,
    size: str,
    name: str,
) -> None:
    faults.allow("status of 410")
    page = request.getfixturevalue(size)
    page.goto(site.url("today"))
    page.get_by_role("link", name="People", exact=True).click()
    page.get_by_role("link", name=f"Show link {name}").click()
    old = page.input_value("#address")
    expect(page.locator(".qr svg")).to_be_visible()
    other = new_context().new_page()
    other.goto(old)
    expect(other.locator("h1")).to_contain_text("Mon 24 May")
    expect(other.locator("footer")).to_contain_text(f"This link is {name}'s.")
    feed = old.rstrip("/") + "/calendar.ics"
    assert other.request.get(feed).status == 200

    page.get_by_role("link", name="Renew").click()
    expect(page.locator("h1")).to_have_text(f"Renew {name}'s link?")
    page.get_by_role("button", name=f"Renew {name}'s link").click()
    expect(page.locator("#address")).not_to_have_value(old)
    new = page.input_value("#address")
    answer = other.goto(old)
    assert answer is not None
    assert answer.status == 410
    expect(other.locator("h1")).to_have_text("This link was withdrawn")
    assert other.request.get(feed).status == 410
    other.goto(new)
    expect(other.locator("h1")).to_contain_text("Mon 24 May")
    assert other.request.get(new.rstrip("/") + "/calendar.ics").status == 200


def test_the_page_of_the_client_only_reads(phone: Any, desk: Any, site: Site, faults: Any) -> None:
    assert site.live.send("tick", {"visit": "1-out.finish.2027-05-24.early", "what": "misted"}, who="saar").kept
    for page in (phone, desk):
        page.goto(site.url("", "owners"))
        assert page.url == site.url("client", "owners")
        expect(page.locator("h1")).to_have_text("Alder Court: your walls")
        expect(page.locator("li.wall")).to_have_count(10)
        buttons = page.locator("button:visible").all_text_contents()
        assert [one.strip() for one in buttons] == ["Show US units"]  # nothing else is sent
        expect(page.locator("nav")).to_have_count(0)
        said = page.locator("body").inner_text()
        assert not [name for name in NAMES if name in said]
        page.locator("li[id='1-out'] a").click()
        expect(page.locator("h1")).to_have_text("Record of 1 out")
        said = page.locator("body").inner_text()
        assert not [name for name in NAMES if name in said]
    for path in ("today", "moved", "walls", "people", "wall/1", "setup"):
        assert site.ask(path, "owners").status in (303, 403, 404), path
    before = site.record()
    for path, fields in (
        ("tick", {"visit": "2-out.finish.2027-05-24.early", "what": "misted"}),
        ("note", {"face": "1-out", "text": "mine"}),
        ("decide", {"what": "keep", "coat": "5-out.base", "why": "mine"}),
    ):
        assert site.live.send(path, fields, who="owners").status == 403
    assert site.record() == before
