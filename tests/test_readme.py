"""README is true: every command in it runs, and what it prints is what was printed.

Blocks marked ``console`` are run in order in a copy of ``examples``; lines after ``$ `` are
commands, the rest is their output. How long planning took is not compared.
``python tests/test_readme.py`` writes the output anew into README.md.
"""

from __future__ import annotations

import contextlib
import re
import shlex
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from typer.testing import CliRunner

from curing.cli import app

ROOT = Path(__file__).resolve().parent.parent
README = ROOT / "README.md"
BLOCK = re.compile(r"```console\n(.*?)```", re.S)
SET_UP = (
    'python3 -m venv .venv && .venv/bin/pip install -e ".[dev]" && '
    ".venv/bin/curing plan examples/alder-court.yaml --out plan"
)
TESTS = ".venv/bin/python -m pytest"


def run(command: str, folder: Path) -> str:
    """Run one command as a shell would; a line of curing in this process, what it is piped into by a shell."""
    if not command.startswith("curing "):
        return in_shell(command, folder)
    line, _, piped = command.partition(" | ")
    with contextlib.chdir(folder):
        made = CliRunner().invoke(app, shlex.split(line)[1:], prog_name="curing")
    if not piped:
        return made.stdout + made.stderr
    done = subprocess.run(["bash", "-c", piped], input=made.stdout, capture_output=True, text=True, check=False)
    return done.stdout + made.stderr


def in_shell(command: str, folder: Path) -> str:
    """Run one command in a process of its own, with the curing of this environment."""
    told = re.sub(r"^(\.venv/bin/)?curing\b", f"{sys.executable} -m curing", command)
    done = subprocess.run(  # the commands are those of README
        ["bash", "-c", told], cwd=folder, capture_output=True, text=True, timeout=60, check=False
    )
    return done.stdout + done.stderr


def played(text: str, folder: Path) -> str:
    """Return the text with the output of every command as it is now."""

    def block(match: re.Match[str]) -> str:
        out = []
        for line in match[1].splitlines():
            if line.startswith("$ "):
                out += [line, run(line[2:], folder).rstrip("\n")]
        return "```console\n" + "\n".join(one for one in out if one) + "\n```"

    return BLOCK.sub(block, text)


def without_times(text: str) -> str:
    return re.sub(r"\d+\.\d s\b", "0.0 s", text)


def copy_to(folder: Path) -> Path:
    shutil.copytree(ROOT / "examples", folder / "examples", ignore=shutil.ignore_patterns("*.state"))
    return folder


def test_what_readme_shows_is_what_is_printed(tmp_path: Path) -> None:
    text = README.read_text()
    assert len(BLOCK.findall(text)) >= 4
    assert without_times(played(text, copy_to(tmp_path))) == without_times(text)


def test_the_two_commands_of_readme_stand_there_whole() -> None:
    text = README.read_text()
    assert SET_UP in text
    assert f"\n{TESTS}\n" in text


def test_the_main_command_plans_with_the_clock_of_today(tmp_path: Path) -> None:
    said = in_shell("curing plan examples/alder-court.yaml --out plan", copy_to(tmp_path))
    assert "done about" in said
    assert (tmp_path / "plan" / "plan.json").exists()
    assert (tmp_path / "plan" / "calendars" / "site.ics").exists()


def test_readme_opens_with_the_job_in_one_paragraph() -> None:
    heading, empty, paragraph, after = README.read_text().split("\n", 4)[:4]
    assert heading == "# curing"
    assert not empty
    assert not after
    for word in ("wall", "wait", "crew", "rain", "record"):
        assert word in paragraph


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as where:
        README.write_text(played(README.read_text(), copy_to(Path(where))))
