"""Faults: what is said, where, and with which exit code."""

from __future__ import annotations

import gc
import os
import signal
from pathlib import Path

import jobs
import pytest
from cli_court import Court, narrow
from typer.testing import CliRunner

from curing.cli import app


def test_all_problems_stand_on_stderr_each_with_its_place(court: Court, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(court.job.parent)
    court.job = Path(court.job.name)
    court.edit("area: 10.8 m2", "area: 10.8")
    court.edit("facing: N", "facing: up")
    result = court.run("plan")
    assert (result.exit_code, result.stdout) == (1, "")
    begun = [line for line in narrow(result.stderr) if not line.startswith("  ")]
    lines = court.job.read_text().splitlines()
    places = [next(k for k, line in enumerate(lines, 1) if wrong in line) for wrong in ("area: 10.8", "facing: up")]
    assert sorted(int(line.removeprefix(f"{court.job}:").partition(":")[0]) for line in begun) == sorted(places)
    assert "has no unit" in result.stderr
    assert not court.state.exists()


def test_at_most_a_hundred_problems(court: Court) -> None:
    court.edit(
        "      panel-dry:", "      panel-dry: x\n" + "".join(f"      point-{k}: x\n" for k in range(150)) + "      p:"
    )
    result = court.run("check")
    assert result.exit_code == 1
    begun = [line for line in result.stderr.splitlines() if not line.startswith("  ")]
    assert len(begun) == 101
    assert begun[-1].startswith("and ")
    assert begun[-1].endswith(" more")


@pytest.mark.parametrize("command", ["plan", "today", "changes", "check"])
def test_no_such_file(court: Court, command: str) -> None:
    court.job.unlink()
    result = court.run(command)
    assert (result.exit_code, result.stdout) == (1, "")
    assert "there is no such file; check the name" in " ".join(result.stderr.split())


def test_a_job_that_cannot_be_planned(court: Court) -> None:
    court.edit("area: 14.0 m2", "area: 140 m2")
    result = court.run("plan")
    assert (result.exit_code, result.stdout) == (1, "")
    assert "split it" in " ".join(result.stderr.split())


def test_a_file_in_place_of_the_state(court: Court) -> None:
    court.state.write_text("x")
    result = court.run("plan")
    assert result.exit_code == 1
    assert "--state" in result.stderr


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere")
def test_a_state_that_may_not_be_written(court: Court) -> None:
    court.state.mkdir()
    court.state.chmod(0o500)
    result = court.run("plan")
    assert result.exit_code == 1
    assert "--state" in result.stderr


def test_an_output_that_cannot_be_written(court: Court, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    result = court.run("plan", "--out", str(tmp_path / "file"))
    assert result.exit_code == 1
    assert "--out" in result.stderr


def test_another_jobs_state(planned: Court) -> None:
    planned.edit("uid: 3f6b0a52", "uid: 4f6b0a52")
    for command in ("plan", "today", "changes"):
        result = planned.run(command)
        assert result.exit_code == 1
        assert "one folder keeps one job" in " ".join(result.stderr.split())


def test_a_saved_plan_that_breaks_a_rule_is_judged(planned: Court) -> None:
    assert planned.say("check") == ["no problems: 7 walls, 10 faces", "Revision 1 breaks no rule."]
    planned.edit("    away: [2027-06-14..2027-06-18]", "    away: [2027-05-03..2027-06-18]")
    result = planned.run("check")
    assert result.exit_code == 1
    text = " ".join(line.strip() for line in narrow(result.stdout))
    assert "The job has changed since revision 1 was saved." in text
    assert "Revision 1 breaks rules" in text
    assert "noor" in text


def test_check_without_a_plan(court: Court) -> None:
    assert court.say("check") == ["no problems: 7 walls, 10 faces", "No plan is saved yet."]
    assert not court.state.exists()


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["plam", "job.yaml"], 'did you mean "plan"?'),
        (["frobnicate"], "use one of new, plan, today"),
        (["plan"], "JOB"),
        (["plan", "job.yaml", "--soon"], "--soon"),
        (["plan", "job.yaml", "--as-of", "soon"], "2027-05-03 06:40"),
        (["plan", "job.yaml", "--as-of", "1066-10-14"], "2000 to 2100"),
        (["today", "job.yaml", "--as-of", "9999-12-31T23:59"], "2000 to 2100"),
        (["changes", "job.yaml", "--revision", "0"], "--revision"),
        (["schema", "wall"], "wall"),
        (["schema"], "WHICH"),
        ([], "Commands:"),
    ],
)
def test_wrongly_called(tmp_path: Path, words: list[str], told: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    result = CliRunner().invoke(app, words)
    assert (result.exit_code, result.stdout) == (2, "")
    assert told in " ".join(result.stderr.split())


def test_ctrl_c_ends_with_one_line(tmp_path: Path) -> None:
    job, invented = tmp_path / "job.yaml", jobs.invent(1, 60)
    job.write_text(invented.text)
    assert CliRunner().invoke(app, ["plan", "--help"]).exit_code == 0  # everything is imported by now
    before = signal.signal(signal.SIGALRM, signal.default_int_handler)
    gc.disable()  # an interrupt that falls into what watches the collector in tests would be lost
    signal.setitimer(signal.ITIMER_REAL, 0.1)
    try:
        result = CliRunner().invoke(app, ["plan", str(job), "--as-of", invented.now.isoformat()])
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        gc.enable()
        signal.signal(signal.SIGALRM, before)
    assert (result.exit_code, result.stdout) == (130, "")
    assert result.stderr == "stopped; what was saved before is whole\n"
