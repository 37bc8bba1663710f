"""Your calendar, over a real service: the code, the link, and the feed it opens."""

from __future__ import annotations

import base64
import re
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from asking_phone import until
from axe import SOURCE
from real_site import Site, copied, expect, fetched, served

pytestmark = pytest.mark.browser

READER = SOURCE.parents[1] / "jsqr" / "dist" / "jsQR.js"
READ = """async (png) => {
  const image = await createImageBitmap(await (await fetch("data:image/png;base64," + png)).blob());
  const sheet = new OffscreenCanvas(image.width, image.height).getContext("2d");
  sheet.drawImage(image, 0, 0);
  const dots = sheet.getImageData(0, 0, image.width, image.height);
  const found = jsQR(dots.data, image.width, image.height);
  return found && found.data;
}"""


def read_code(page: Any, code: Any) -> str:
    """Return what a phone's camera would read on the screen."""
    if not READER.exists():
        pytest.skip("jsqr is not in build/browser; see DEVELOPERS.md, Tests")
    picture = base64.b64encode(code.screenshot()).decode()
    blank = page.context.new_page()  # the page's own policy lets no picture in
    blank.evaluate(READER.read_text(encoding="utf-8"))
    found = blank.evaluate(READ, picture)
    blank.close()
    return str(found)


@pytest.mark.parametrize("size", ["phone", "desk"])
def test_the_code_and_the_link_open_the_feed_with_the_round_of_today(
    request: pytest.FixtureRequest, site: Site, size: str
) -> None:
    page = request.getfixturevalue(size)
    page.context.grant_permissions(["clipboard-read", "clipboard-write"])
    page.goto(site.url("today"))
    early = page.locator("#early") if size == "phone" else page.locator("table.due")
    expect(early).to_contain_text("Mist, first of two today")
    seen = {one.split()[0] for one in page.locator("li.wall[id$='.early'] .number").all_text_contents()}
    assert seen == {"1", "2"}

    page.get_by_role("link", name="Your calendar").click()
    expect(page.locator("h1")).to_have_text("Visits in your own calendar")
    expect(page.get_by_text("For: Wil")).to_be_visible()
    link = page.get_by_role("link", name="Add to this phone").get_attribute("href")
    assert link == f"webcal://localhost:{site.live.port}{site.home()}/calendar.ics"
    page.get_by_text("The link, for a computer").click()
    address = f"http://localhost:{site.live.port}{site.home()}/calendar.ics"
    expect(page.locator("code")).to_have_text(address)
    assert read_code(page, page.locator(".qr")) in (link, address)

    page.get_by_role("button", name="Copy the link").click()
    expect(page.locator("#said")).to_have_text("Copied.")
    assert page.evaluate("navigator.clipboard.readText()") == address

    feed = fetched(address)
    rounds = [one for one in feed.split("BEGIN:VEVENT") if "DTSTART;TZID=Europe/Amsterdam:20270524T070000" in one]
    titles = [found[1] for one in rounds if (found := re.search(r"SUMMARY:(MIST .*)\r", one))]
    assert len(titles) == 1
    assert titles[0].startswith("MIST early 1 2 ")
    page.reload()
    expect(page.get_by_text("Last fetched by a phone")).to_be_visible()


def test_over_https_the_link_is_a_secure_one_and_the_page_is_kept(
    court_made: Path, tmp_path: Path, start_phone: Callable[..., Any]
) -> None:
    certificate, key = tmp_path / "c.pem", tmp_path / "k.pem"
    subprocess.run(
        ["openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes", "-days", "2",
         "-subj", "/CN=localhost", "-addext", "subjectAltName=DNS:localhost", "-keyout", key, "-out", certificate],
        check=True, capture_output=True,
    )  # fmt: skip
    with served(copied(court_made, tmp_path / "job"), "--tls-cert", str(certificate), "--tls-key", str(key)) as site:
        page = start_phone("--ignore-certificate-errors").new_page()
        page.goto(site.url("calendar"))
        assert page.url.startswith("https://localhost:")
        link = page.get_by_role("link", name="Add to this phone").get_attribute("href")
        assert link == f"webcals://localhost:{site.live.port}{site.home()}/calendar.ics"
        expect(page.get_by_text("iPhones and web calendars refuse it")).to_have_count(0)
        until(page, "navigator.serviceWorker.controller !== null")
        expect(page.locator("#no-worker")).to_be_hidden()
