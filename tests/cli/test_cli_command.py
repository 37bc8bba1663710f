"""The command as a shell runs it, and what needs no job."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from cli_court import NOW, Court, narrow
from typer.testing import CliRunner

from curing.cli import app

COMMANDS = {
    "new": "[FILE]",
    "plan": "JOB",
    "today": "JOB",
    "materials": "JOB",
    "log": "JOB [WHAT] [WORDS]...",
    "assign": "JOB PERSON DAYS [ROUND]",
    "keep": "JOB COAT",
    "move": "JOB COAT DAY",
    "record": "JOB [FACE]",
    "weather": "JOB",
    "changes": "JOB",
    "reminders": "JOB",
    "serve": "[JOB]...",
    "remind": "[JOB]...",
    "check": "JOB",
    "systems": "[ID]",
    "schema": "WHICH",
}
"""Command, in the order of the help, and how it is called."""
HEAVY = ("pydantic", "sqlalchemy", "numpy", "icalendar", "babel", "ruamel", "holidays", "curing.workflow")


def shell(*words: str, **more: object) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "curing", *words]
    return subprocess.run(command, capture_output=True, text=True, timeout=60, **more)  # type: ignore[call-overload,no-any-return]


def test_help_lists_the_commands_and_imports_none_of_them() -> None:
    script = (
        "import sys; from curing.cli import main; sys.argv = ['curing', '--help']\n"
        "try: main()\nfinally: print(*sys.modules, file=sys.stderr)"
    )
    result = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, timeout=60)
    assert result.returncode == 0
    listed = narrow(result.stdout)[result.stdout.splitlines().index("Commands:") + 1 :]
    assert [line.split()[0] for line in listed] == list(COMMANDS)
    loaded = result.stderr.split()
    assert [name for name in loaded if name.startswith(HEAVY)] == []


@pytest.mark.parametrize("command", COMMANDS)
def test_each_command_has_help(command: str) -> None:
    result = CliRunner().invoke(app, [command, "--help"])
    assert result.exit_code == 0
    usage = narrow(result.stdout)[0]
    assert re.fullmatch(rf"Usage: \S* ?{command} \[OPTIONS\] {re.escape(COMMANDS[command])}", usage), usage


def test_version() -> None:
    assert re.fullmatch(r"curing \d+\.\d+\.\d+\n", shell("--version").stdout)


def test_a_plan_from_the_shell(court: Court) -> None:
    words = ("plan", court.job.name, "--as-of", NOW)
    one = shell(*words, cwd=court.job.parent)
    assert (one.returncode, one.stderr) == (0, "")
    assert "revision 1 saved" in narrow(one.stdout)[0]
    assert "saved in court.state" in one.stdout
    court.job.write_text("walls: [")
    two = shell(*words, cwd=court.job.parent)
    assert (two.returncode, two.stdout) == (1, "")
    assert two.stderr.startswith("court.yaml:1:")
    assert "Traceback" not in two.stderr


def test_a_terminal_that_lacks_signs_goes_on() -> None:
    result = shell("systems", "clay-lime", env={**os.environ, "PYTHONIOENCODING": "ascii"})
    assert (result.returncode, result.stderr) == (0, "")
    assert re.search(r"^base.air_least +5 \?C ", result.stdout, re.M)


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
def test_a_full_disk_is_told() -> None:
    with open("/dev/full", "w") as full:
        command = [sys.executable, "-m", "curing", "systems"]
        result = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, text=True, timeout=60)
    assert result.returncode == 1
    assert "No space left" in result.stderr
    assert "Traceback" not in result.stderr


def test_a_reader_that_has_seen_enough_is_no_fault() -> None:
    reading, writing = os.pipe()
    os.close(reading)
    command = [sys.executable, "-m", "curing", "systems", "clay-lime"]
    result = subprocess.run(command, stdout=writing, stderr=subprocess.PIPE, text=True, timeout=60)
    os.close(writing)
    assert result.stderr == ""


def test_systems_lists_built_in_and_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    listed = CliRunner().invoke(app, ["systems"])
    assert [line.split()[0] for line in narrow(listed.stdout)[1:] if re.match(r"[a-z]", line)][:3] == [
        "clay-inside",
        "clay-lime",
        "hydraulic-lime",
    ]
    built_in = Path(__file__).parents[2] / "templates" / "systems" / "clay-lime.yaml"
    (tmp_path / "systems").mkdir()
    long = "lime-of-the-old-mill-by-the-lane"
    (tmp_path / "systems" / f"{long}-as-it-was-mixed-there.yaml").write_text(
        built_in.read_text().replace("id: clay-lime", f"id: {long}")
    )
    text = built_in.read_text().replace("id: clay-lime", "id: mill-lime").replace("value: 8 mm", "value: 7 mm")
    (tmp_path / "systems" / "mine.yaml").write_text(text)
    listed = CliRunner().invoke(app, ["systems"])
    assert listed.exit_code == 0
    assert "mill-lime is your own: systems/mine.yaml" in narrow(listed.stdout)
    assert re.search(r"^finish.thickness +7 mm  ", CliRunner().invoke(app, ["systems", "mill-lime"]).stdout, re.M)
    (tmp_path / "systems" / "mine.yaml").write_text(text.replace("value: 7 mm", "value: 7"))
    listed = CliRunner().invoke(app, ["systems"])
    assert listed.exit_code == 1
    assert "clay-lime" in listed.stdout
    assert listed.stderr.startswith("systems/mine.yaml:")


@pytest.mark.parametrize("name", ["clay-inside", "clay-lime", "hydraulic-lime"])
def test_every_rule_of_a_system_stands_whole(name: str) -> None:
    shown = CliRunner().invoke(app, ["systems", name])
    lines = narrow(shown.stdout)
    file = next((Path(__file__).parents[2] / "templates" / "systems").glob(f"*{name}*.yaml"))
    text = file.read_text()
    rules = re.findall(r"^  - id: ([\w-]+\.\w+)\n    value: (.+?)(?: +#.*)?$", text, re.M)
    assert len(rules) >= 20
    for rule, value in rules:
        assert any(re.match(rf"{re.escape(rule)} +{re.escape(value)}(  |$)", line) for line in lines), rule
    assert any(re.match(r"\S+\.thickness +\d+ mm +\d+ mm to \d+ mm$", line) for line in lines)
    said = " ".join(shown.stdout.split())
    for source in re.findall(r"^    source: \"?(.+?)\"?$", text[text.index("\nrules:") :], re.M):
        assert source in said


def test_an_unknown_system_names_those_there_are() -> None:
    result = CliRunner().invoke(app, ["systems", "clay-lyme"])
    assert (result.exit_code, result.stdout) == (1, "")
    assert '"clay-lime"' in result.stderr


@pytest.mark.parametrize(("which", "word"), [("job", "walls"), ("system", "rules"), ("plan", "rounds")])
def test_schemas(which: str, word: str) -> None:
    schema = json.loads(CliRunner().invoke(app, ["schema", which]).stdout)
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert word in schema["properties"]
