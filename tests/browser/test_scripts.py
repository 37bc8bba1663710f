"""The scripts run on old phones, and hold no words of their own."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from pathlib import Path

import pytest
from stub import PAGES, SCRIPTS

ACORN = Path(__file__).parents[2] / "build" / "browser" / "node_modules" / "acorn"
pytestmark = pytest.mark.browser
ALL = (*SCRIPTS, "sw.js")
READ = """
const { parse, tokenizer } = require(process.argv[1]);
const text = require("fs").readFileSync(process.argv[2], "utf8");
parse(text, { ecmaVersion: 2017, sourceType: "script" });
const found = [];
for (const token of tokenizer(text, { ecmaVersion: 2017 })) if (token.type.label === "string") found.push(token.value);
console.log(JSON.stringify(found));
"""


def strings(name: str) -> list[str]:
    """Return the strings of a script, read as the language of 2017, which phones of 2018 know."""
    if shutil.which("node") is None or not ACORN.exists():
        pytest.skip("needs node, and acorn in build/browser; see DEVELOPERS.md, Tests")
    done = subprocess.run(
        ["node", "-e", READ, str(ACORN), str(PAGES / name)], capture_output=True, text=True, timeout=20, check=False
    )
    assert done.returncode == 0, done.stderr
    found: list[str] = json.loads(done.stdout)
    return found


@pytest.mark.parametrize("name", ALL)
def test_old_phones_can_read_it(name: str) -> None:
    assert "use strict" in strings(name)


@pytest.mark.parametrize("name", ALL)
def test_it_holds_no_sentence(name: str) -> None:
    said = [text for text in strings(name) if re.search(r"[A-Za-z]{2,} [a-z]{2,}", text)]
    # Errors that no person sees, and names that browsers fix.
    assert set(said) <= {"use strict", "no answer in time", " still wait", '<html data-kept="'}
