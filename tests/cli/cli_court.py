"""A job of its own for each test, the command called in this process, and lines counted in cells."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from rich.cells import cell_len
from typer.testing import CliRunner, Result

from curing.cli import app

APRIL = Path(__file__).parents[2] / "examples" / "alder-court-april.yaml"
NOW = "2027-04-30 06:00"


@dataclass
class Court:
    """Alder Court in a folder of its own."""

    job: Path
    state: Path

    def run(self, command: str, *more: str, at: str = NOW) -> Result:
        timed = () if command in ("changes", "systems") else ("--as-of", at)
        return CliRunner().invoke(app, [command, str(self.job), "--state", str(self.state), *timed, *more])

    def say(self, command: str, *more: str, at: str = NOW) -> list[str]:
        """Run a command that must go well, and return its lines, none wider than a terminal of 80 columns."""
        result = self.run(command, *more, at=at)
        assert (result.exit_code, result.stderr) == (0, "")
        return narrow(result.stdout)

    def json(self, *more: str, at: str = NOW) -> dict[str, Any]:
        result = self.run("plan", "--json", *more, at=at)
        assert result.exit_code == 0, result.stderr
        return json.loads(result.stdout)

    def edit(self, old: str, new: str) -> None:
        text = self.job.read_text()
        assert text.count(old) >= 1, old
        self.job.write_text(text.replace(old, new, 1))


def narrow(text: str) -> list[str]:
    lines = text.splitlines()
    assert [line for line in lines if cell_len(line) > 80 or line != line.rstrip()] == []
    return lines
