"""A job of one wall in a folder of its own, whose page is read for what it asks and how that is answered."""

from __future__ import annotations

import re
import shlex
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from jobs import write
from recorded import job_data
from typer.testing import CliRunner, Result

from curing.cli import app

JOB = "job.yaml"
NEED = re.compile(r"  [!?-] ")
PEOPLE = {"PERSON": "bo", "LEAD": "wil"}
BANDS = "low=17 middle=17 top=16"
READINGS = [
    f"4-{side} {where} basis=wet" for side in ("out", "in") for where in (f"{BANDS} depth=100mm", "low=17 depth=mid")
]
"""A panel of 300 mm read whole, as the rule of readings asks: three heights a side, and at mid-depth."""
METER = "log job.yaml test meter=probe read=12.4 dried=12.0 basis=wet --by bo"


@dataclass
class Asking:
    """The job in the folder in which the command is called."""

    data: dict[str, Any]
    now: str = "2027-04-28 06:00"

    def __post_init__(self) -> None:
        self.save()

    def save(self) -> None:
        Path(JOB).write_text(write(self.data), encoding="utf-8")

    @property
    def wall(self) -> dict[str, Any]:
        wall: dict[str, Any] = self.data["walls"][0]
        return wall

    def call(self, command: str) -> Result:
        """Call what stands after ``curing``, as a shell would take it apart."""
        return CliRunner().invoke(app, [*shlex.split(command), "--as-of", self.now])

    def say(self, command: str, at: str = "") -> str:
        self.now = at or self.now
        result = self.call(command)
        assert (result.exit_code, result.stderr) == (0, ""), (command, result.stderr)
        return result.stdout

    def asked(self, at: str = "") -> list[tuple[str, str]]:
        """Plan, and return everything the page of the day asks, each with the answer that stands under it."""
        self.say(f"plan {JOB}", at)
        found: list[list[str]] = []
        asks, answers = False, False
        for line in self.say(f"today {JOB}").splitlines():
            answers = line.startswith("    > ") or (answers and line.startswith("      "))
            asks = bool(NEED.match(line)) or (asks and not answers and line.startswith("    "))
            if NEED.match(line):
                found.append([line[4:], ""])
            elif answers and found:
                found[-1][1] = f"{found[-1][1]} {line.strip().removeprefix('> ')}".strip()
            elif asks:
                found[-1][0] += f" {line.strip()}"
            else:
                answers = asks = False
        # One answer may stand under several things that are asked.
        for this, after in zip(found[-2::-1], found[:0:-1], strict=True):
            this[1] = this[1] or after[1]
        return [(text, answer) for text, answer in found]

    def need(self, text: str, at: str = "") -> str:
        """Return the answer to what is asked in words that hold this text; fail where it is not asked."""
        every = self.asked(at)
        found = [answer for asked, answer in every if text in asked]
        assert found, (text, every)
        return found[0]

    def panel_met(self) -> None:
        """Say in the job file that the panel is dry."""
        self.wall["holds"] = {"panel-dry": "2027-04-28"}
        self.save()


def commands(answer: str) -> list[str]:
    """Return the commands of an answer, with what stands in capitals filled in."""
    found: list[str] = []
    for part in re.findall(r"curing ((?:log|assign|record|move) .*?)(?=\), then|$)", answer):
        if part.endswith("reading SIDE ..."):
            filled = [part.replace("SIDE ...", f"{where} --by PERSON") for where in READINGS]
        else:
            filled = [part.replace("test FACE ...", "test 4-out hollows passed --by PERSON")]
        for one in filled:
            found.append(re.sub(r"\b(PERSON|LEAD)\b", lambda name: PEOPLE[name[0]], one))
    assert not any(re.search(r"\b[A-Z]{4,}\b|\.\.\.", one) for one in found), found
    return found


def asking(**more: Any) -> Asking:
    return Asking(job_data(**more))


__all__ = ["JOB", "METER", "READINGS", "Asking", "asking", "commands"]
