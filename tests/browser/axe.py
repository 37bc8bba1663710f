"""Rules of access for all, judged by axe-core in the page itself."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Page

SOURCE = Path(__file__).parents[2] / "build" / "browser" / "node_modules" / "axe-core" / "axe.min.js"


@cache
def _source() -> str:
    return SOURCE.read_text(encoding="utf-8")


def serious(page: Page) -> list[str]:
    """Return the serious and critical violations of the page as it stands, one line each.

    The source goes in through the browser's own door for testers, which the
    page's content policy does not guard. Skips the test where axe-core is not
    there (``npm install --prefix build/browser``, see DEVELOPERS.md).
    """
    if not SOURCE.exists():
        pytest.skip("axe-core is not in build/browser; see DEVELOPERS.md, Tests")
    page.evaluate(_source())
    found: list[dict[str, Any]] = page.evaluate("async () => (await axe.run()).violations")
    return [
        f"{one['impact']} {one['id']}: {one['help']} at {node['target']} {node['html'][:120]}"
        for one in found
        if one["impact"] in ("serious", "critical")
        for node in one["nodes"]
    ]
