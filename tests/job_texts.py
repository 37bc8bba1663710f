"""Texts for tests of edits: the examples, a small job file, odd texts; and what differs between two texts."""

from __future__ import annotations

import difflib
from pathlib import Path

EXAMPLES = sorted((Path(__file__).parents[1] / "examples").glob("*.yaml"))
ALDER_COURT = EXAMPLES[0].with_name("alder-court.yaml").read_text(encoding="utf-8")
ODD_TEXTS = [
    "a # b", "a: b", "a:b", "#", "- a", "=1+1", "@", "!x", "&x", "*x", "%", "`", '"', "'", '"a"', "it's", "\\n", "no",
    "true", "null", "~", "1.10", "07:30", "1e3", "0x1F", "[a]", "{a}", "a, b", "a]", "a}", "🏠", "北 gable", "é", "a b",
    "|", ">", "? a", "--- a", "...", "2027-03-01", ".inf", "x" * 2000,
]  # fmt: skip


SMALL = """\
name: Barn  # of stone
people:
- id: wil   # leads
  hours: {mon-fri: 07:00-15:30, sat: 08:00-12:00}
- {id: noor, away: [2027-06-14..2027-06-18, 2027-07-01]}   # in brackets
crews: [{id: a, people: [wil, noor]}]
holidays:
    days:   # own
        - 2027-07-26

        # the fair
        - 2027-08-01
walls:

# the long one
- id: a
  faces:
  # to the road
  - side: out
    after: [b-in,   # the porch
            b-out]
    done:
      base: 2027-05-03

- id: b
  faces:
  - side: in
# the end
"""
TEXTS = {path.stem: path.read_text(encoding="utf-8") for path in EXAMPLES} | {"small": SMALL}


def changed(before: str, after: str) -> list[str]:
    """The lines that differ, as a person sees them beside each other."""
    found = difflib.unified_diff(before.split("\n"), after.split("\n"), lineterm="", n=0)
    return [line for line in found if not line.startswith(("---", "+++", "@@"))]


def comments(text: str) -> list[str]:
    return sorted(line.partition("#")[2].strip() for line in text.split("\n") if "#" in line)
