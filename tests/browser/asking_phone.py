"""What the tests do and look for on a phone, in the words of the page."""

from __future__ import annotations

import contextlib
import time
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Page

_driver: Any = pytest.importorskip("playwright.sync_api", reason="needs the Python package playwright")
expect: Any = _driver.expect
Error: type[Exception] = _driver.Error


def press(page: Page, wall: str, answer: str = "misted") -> None:
    """Press a button of a wall's form."""
    page.click(f"#form-{wall} button[value={answer}]")


def until(page: Page, asked: str, seconds: float = 5) -> None:
    """Wait until a script in the page gives true; it may be one that waits itself."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        with contextlib.suppress(Error):  # the page is just being left
            if page.evaluate(asked):
                return
        page.wait_for_timeout(40)
    raise AssertionError(f"not within {seconds} s: {asked}")


def open_kept(page: Page, url: str) -> None:
    """Open a page, and wait until the worker has it kept."""
    page.goto(url)
    until(page, "navigator.serviceWorker.controller !== null")
    until(page, "caches.match(location.href).then((copy) => copy !== undefined)")


def open_as_kept(page: Page, url: str) -> str:
    """Open a page whose kept copy is the very rendering that is shown; return its first key."""
    open_kept(page, url)
    page.reload()
    key = page.input_value("#form-1 input[name=key]")
    until(page, f"caches.match(location.href).then((copy) => copy.text()).then((text) => text.includes('{key}'))")
    return key


def expect_kept(page: Page, *texts: str) -> None:
    """Expect the list of kept ticks to be these, in this order; none: no list."""
    if not texts:
        expect(page.locator("#kept")).to_be_hidden()
        return
    expect(page.locator("#kept")).to_be_visible()
    expect(page.locator("#kept .kept-text")).to_have_text(list(texts))


def expect_done(page: Page, *walls: str, seconds: float = 5) -> None:
    """Expect these walls, and no others, to be told as done by the service."""
    for wall in walls:
        expect(page.locator(f"#done-{wall}")).to_have_count(1, timeout=seconds * 1000)
    expect(page.locator("[id^=done-]")).to_have_count(len(walls))


def kept_pages(page: Page) -> list[str]:
    """Return the paths of the pages kept on the phone."""
    found: list[str] = page.evaluate(
        """async () => {
          const found = [];
          for (const name of await caches.keys()) {
            if (!name.startsWith("curing-pages-")) continue;
            for (const asked of await (await caches.open(name)).keys()) found.push(new URL(asked.url).pathname);
          }
          return found.sort();
        }"""
    )
    return found
