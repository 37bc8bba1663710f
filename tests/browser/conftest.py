"""Pages in a real browser: Debian's Chromium, driven by Playwright's package, which downloads nothing here.

Tests marked ``browser`` run where ``CURING_BROWSER=1`` asks for them. ``phone``
and ``desk`` are pages of the two sizes; any error of theirs, and any request to
another host, fails the test (``faults.allow`` for what a test provokes).
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Page, Playwright
    from real_site import Site
    from stub import Running, Stub
    from watching import Faults

CHROMIUM = Path("/usr/bin/chromium")
ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
# The phone's own zone is not the site's: pages show the site's time.
PHONE: dict[str, Any] = {
    "viewport": {"width": 360, "height": 740},
    "has_touch": True,
    "locale": "en-GB",
    "timezone_id": "America/New_York",
}
DESK: dict[str, Any] = {
    "viewport": {"width": 1280, "height": 900},
    "locale": "en-GB",
    "timezone_id": "Europe/Amsterdam",
}


def why_not() -> str:
    """Return why the browser tests can't run here, or an empty text."""
    if os.environ.get("CURING_BROWSER") != "1":
        return "the browser is asked only with CURING_BROWSER=1"
    if not CHROMIUM.exists():
        return f"needs {CHROMIUM} (apt-get install chromium)"
    try:
        import playwright.sync_api  # noqa: F401
    except ImportError:
        return "needs the Python package playwright"
    return ""


@pytest.fixture(autouse=True)
def only_where_there_is_a_browser() -> None:
    """Skip, with the reason, where the browser was not asked for or is not there."""
    if reason := why_not():
        pytest.skip(reason)


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    """Drive browsers."""
    if reason := why_not():
        pytest.skip(reason)
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        yield driver


@pytest.fixture(scope="session")
def chromium(playwright: Playwright) -> Iterator[Browser]:
    """Keep one browser for all tests; each test has contexts of its own."""
    browser = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
    yield browser
    browser.close()


@pytest.fixture
def faults() -> Iterator[Faults]:
    """Collect the faults of all pages of this test; what is left at its end fails it."""
    from watching import Faults

    faults = Faults()
    yield faults
    assert not faults.left(), "\n".join(faults.left())


@pytest.fixture
def new_context(chromium: Browser, faults: Faults) -> Iterator[Callable[..., BrowserContext]]:
    """Make watched contexts: another phone each."""
    made: list[BrowserContext] = []

    def make(**options: Any) -> BrowserContext:
        context = chromium.new_context(**{**PHONE, **options})
        context.set_default_timeout(10_000)
        faults.watch(context)
        made.append(context)
        return context

    yield make
    for context in made:
        context.close()


@pytest.fixture
def phone(new_context: Callable[..., BrowserContext]) -> Page:
    """Open a page of a phone, 360 by 740."""
    return new_context().new_page()


@pytest.fixture
def desk(new_context: Callable[..., BrowserContext]) -> Page:
    """Open a page of a laptop, 1280 by 900."""
    return new_context(**DESK, has_touch=False).new_page()


@pytest.fixture
def start_phone(playwright: Playwright, faults: Faults, tmp_path: Path) -> Iterator[Callable[..., BrowserContext]]:
    """Start a browser of its own on a folder that outlives it: close it and start it anew."""
    made: list[BrowserContext] = []

    def start(*arguments: str, **options: Any) -> BrowserContext:
        context = playwright.chromium.launch_persistent_context(
            tmp_path / "phone", executable_path=CHROMIUM, args=[*ARGUMENTS, *arguments], **{**PHONE, **options}
        )
        faults.watch(context)
        made.append(context)
        return context

    yield start
    for context in made:
        context.close()


@pytest.fixture
def stub() -> Stub:
    """Return what the stand-in of the service has taken, and how it is to answer."""
    from stub import Stub

    return Stub()


@pytest.fixture
def service(stub: Stub) -> Iterator[Running]:
    """Run the stand-in of the service."""
    from stub import Running

    running = Running(stub)
    yield running
    running.stop()


@pytest.fixture(scope="session")
def court_made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Make the job that a real service serves."""
    if reason := why_not():
        pytest.skip(reason)
    from real_site import court

    return court(tmp_path_factory.mktemp("court"))


@pytest.fixture(scope="module")
def site(court_made: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    """Serve a copy of that job by a real service."""
    from real_site import copied, served

    with served(copied(court_made, tmp_path_factory.mktemp("site"))) as one:
        yield one
