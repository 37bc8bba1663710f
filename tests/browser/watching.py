"""What no page may do: log an error, throw one, or ask another host."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

if TYPE_CHECKING:
    from playwright.sync_api import BrowserContext, ConsoleMessage, Page

NO_SIGNAL = r"Failed to load resource: (net::ERR_|the server responded)|error occurred when fetching the script"


class Faults:
    """Faults of all pages of one test; each fails it unless the test allows it."""

    def __init__(self) -> None:
        self.found: list[str] = []
        self.hosts = {"127.0.0.1", "localhost"}
        self._allowed: list[str] = []

    def allow(self, *patterns: str) -> None:
        """Allow faults in which one of the regular expressions is found."""
        self._allowed.extend(patterns)

    def allow_no_signal(self) -> None:
        """Allow what the browser itself logs of a request that failed."""
        self.allow(NO_SIGNAL)

    def watch(self, context: BrowserContext) -> None:
        """Watch all pages of ``context``, those to come too, and its worker's requests."""
        context.on("request", lambda request: self._asked(request.url))
        context.on("page", self._watch_page)
        for page in context.pages:
            self._watch_page(page)

    def _watch_page(self, page: Page) -> None:
        page.on("console", self._logged)
        page.on("pageerror", lambda error: self.found.append(f"page error: {error}"))

    def _logged(self, message: ConsoleMessage) -> None:
        if message.type == "error":
            self.found.append(f"console: {message.text} ({message.location.get('url', '')})")

    def _asked(self, url: str) -> None:
        parts = urlsplit(url)
        if parts.scheme in ("http", "https", "ws", "wss") and parts.hostname not in self.hosts:
            self.found.append(f"request to another host: {url}")

    def left(self) -> list[str]:
        """Return the faults that were not allowed."""
        return [one for one in self.found if not any(re.search(pattern, one) for pattern in self._allowed)]
