"""Ways to call the program that once ended in a traceback."""

from __future__ import annotations

import subprocess
import sys

import pytest


@pytest.mark.parametrize("job", [".", "/", ""])
@pytest.mark.parametrize("command", ["plan", "today", "changes", "check"])
def test_a_folder_in_place_of_the_job_file(command: str, job: str) -> None:
    ran = subprocess.run([sys.executable, "-m", "curing", command, job], capture_output=True, text=True, check=False)
    assert (ran.returncode, ran.stdout) == (1, "")
    assert ran.stderr == f"{job or '.'}: this is a folder; name the file in it\n"
