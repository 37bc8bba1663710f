"""The service says whom it can't reach by a channel that the job file names."""

from __future__ import annotations

import logging
import subprocess
import sys
from pathlib import Path

import pytest
from sending import JOB

from curing.cli.remind import not_set_up
from curing.publish.words import Words
from curing.remind.service import Service
from curing.sources.reminder_settings import Reminders
from curing.workflow.open_job import OpenJob


def test_channels_that_are_not_set_up_here_are_logged_and_said(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    file = tmp_path / "court.yaml"
    file.write_text(JOB.replace("{ email: bo }", "{ file: bo, email: bo, push: bo }"))
    reminders = Reminders.model_validate({"channels": {"file": {"kind": "file", "path": str(tmp_path / "out.txt")}}})
    service = Service(reminders)
    with OpenJob(file) as job, caplog.at_level(logging.WARNING, "curing.remind"):
        service.add(job)
        assert not_set_up(service, [job], Words()) == [
            "Ida: email, push are not set up here.",
            "Bo: email, push are not set up here.",
        ]
        job.job_file.write_text(JOB.replace("tell: { email: ida, push: ida-phone }", "tell: { file: ida }"))
        job.reread()
        assert not_set_up(service, [job], Words()) == ["Bo: email is not set up here."]
    said = [(one.person, one.channels) for one in caplog.records if "not set up" in one.message]
    assert said == [("ida", "email, push"), ("bo", "email, push")]


def test_the_command_says_so_when_it_begins(tmp_path: Path) -> None:
    file, settings = tmp_path / "court.yaml", tmp_path / "settings.yaml"
    file.write_text(JOB)
    lines = ["curing_settings: 1", "reminders:", "  channels: { email: { kind: file, path: out.txt } }"]
    settings.write_text("\n".join(lines) + "\n")
    command = [sys.executable, "-m", "curing", "remind", "--settings", str(settings), str(file)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True) as process:
        assert process.stdout is not None
        said = next((line for line in process.stdout if "not set up" in line), "")
        process.terminate()
        process.stdout.read()
    assert said == "Ida: push is not set up here.\n"
    assert process.returncode == 0
