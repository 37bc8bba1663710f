"""Every page of a real service for everybody: rules of access, keyboard, large text, print."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from axe import serious
from conftest import DESK
from real_site import CLIENT, CREW, LEAD, Site, expect

pytestmark = pytest.mark.browser

PAGES = [
    *(("wil", page) for page in (*CREW, *LEAD, "day/2027-05-25", "setup/job", "setup/people/1", "setup/walls/new")),
    *(("owners", page) for page in CLIENT),
    *(("saar", page) for page in ("today", "pass-on", "take-over", "moved")),
    ("wil", "setup/walls/3/faces/out"),
    ("wil", "setup/walls/3/away"),
    ("wil", "setup/walls/3/id"),
    ("wil", "no/such/page"),
    ("wil", "wall/99"),
]
SIDEWAYS = """() => {
  const wide = document.documentElement.scrollWidth - document.documentElement.clientWidth;
  if (wide <= 0) return "";
  const over = [...document.querySelectorAll("body *")].filter((one) =>
    one.getBoundingClientRect().right > innerWidth + 1 && !one.closest(".chart, .patterns, .unseen, .skip"));
  return wide + " px: " + over.slice(0, 4).map((one) => one.tagName + "." + one.className + " " +
    one.textContent.trim().slice(0, 30)).join(" | ");
}"""
BRIGHT = """() => {
  const dark = [];
  for (const one of document.querySelectorAll("body *")) {
    if (one.closest("svg") || !one.getClientRects().length) continue;
    const style = getComputedStyle(one);
    const back = (style.backgroundColor.match(/[\\d.]+/g) || []).map(Number);
    const own = [...one.childNodes].some((node) => node.nodeType === 3 && node.data.trim());
    const name = one.tagName + "." + one.className;
    if (back.length < 4 && back.some((part) => part < 250)) dark.push(name + " on " + back);
    if (own && style.color !== "rgb(0, 0, 0)") dark.push(name + " in " + style.color);
  }
  return [...new Set(dark)];
}"""


@pytest.mark.parametrize("size", ["phone", "desk"])
def test_no_page_breaks_a_rule_of_access(request: pytest.FixtureRequest, site: Site, faults: Any, size: str) -> None:
    faults.allow(r"status of 4(04|09)")
    page = request.getfixturevalue(size)
    found = {}
    for person, path in PAGES:
        page.goto(site.url(path, person))
        assert page.locator("h1").count() == 1, path
        if size == "phone" and (sideways := page.evaluate(SIDEWAYS)):
            found[f"{person} {path} sideways"] = [sideways]
        if broken := serious(page):
            found[f"{person} {path}"] = broken
    assert not found, "\n".join(f"{path}: {line}" for path, lines in found.items() for line in lines)


def test_large_text_does_not_scroll_sideways(new_context: Callable[..., Any], site: Site, faults: Any) -> None:
    faults.allow(r"status of 4(04|09)")
    page = new_context(bypass_csp=True).new_page()
    found = {}
    for person, path in PAGES:
        page.goto(site.url(path, person))
        page.add_style_tag(content="html { font-size: 200% }")
        page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
        if sideways := page.evaluate(SIDEWAYS):
            found[f"{person} {path}"] = sideways
    assert not found, "\n".join(f"{path}: {line}" for path, line in found.items())


@pytest.mark.parametrize(("person", "path"), [("wil", "today"), ("wil", "wall/7"), ("owners", "client")])
@pytest.mark.parametrize("size", ["phone", "desk"])
def test_a_printed_page_is_black_on_white(
    request: pytest.FixtureRequest, site: Site, size: str, person: str, path: str
) -> None:
    page = request.getfixturevalue(size)
    page.goto(site.url(path, person))
    page.emulate_media(media="print")
    for one in page.locator("nav.bar, button, a.way, a.go").all():
        expect(one).to_be_hidden()
    assert page.evaluate(BRIGHT) == []
    expect(page.locator("h1")).to_be_visible()
    assert page.pdf(format="A4")[:4] == b"%PDF"


@pytest.mark.parametrize("size", ["phone", "desk"])
def test_by_keyboard_alone(request: pytest.FixtureRequest, site: Site, size: str) -> None:
    page = request.getfixturevalue(size)
    page.goto(site.url("today"))
    page.keyboard.press("Tab")
    expect(page.get_by_role("link", name="To the walls")).to_be_focused()
    assert page.get_by_role("link", name="To the walls").bounding_box()["x"] >= 0  # and seen
    for _ in range(20):
        page.keyboard.press("Tab")
        if "Done" in page.evaluate("document.activeElement.textContent"):
            break
    focus = page.evaluate(
        "(() => { const s = getComputedStyle(document.activeElement);"
        " return [document.activeElement.tagName, s.outlineStyle, parseFloat(s.outlineWidth)]; })()"
    )
    assert focus[:2] == ["BUTTON", "solid"]
    assert focus[2] >= 3
    page.keyboard.press("Enter")
    expect(page.locator("p.job")).to_contain_text("1 of 7 done" if size == "phone" else "2 of 7 done")


def test_the_sizes_of_what_is_pressed(phone: Any, site: Site) -> None:
    for person, path in (("wil", "today"), ("wil", "wall/7"), ("wil", "moved"), ("wil", "people"), ("saar", "pass-on")):
        phone.goto(site.url(path, person))
        small = phone.evaluate(
            "[...document.querySelectorAll('button, a.way, a.go, summary, nav a, select')]"
            ".filter((one) => one.getClientRects().length && one.getBoundingClientRect().height < 55.5)"
            ".map((one) => one.textContent.trim().slice(0, 30) + ' ' + one.getBoundingClientRect().height)"
        )
        assert small == [], path
    assert DESK["viewport"]["width"] == 1280
