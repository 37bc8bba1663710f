"""What README says of serving is true: its commands run, and print what stands there."""

from __future__ import annotations

import http.client
import os
import re
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
SECTION = re.search(r"## On site.*?(?=\n## )", (ROOT / "README.md").read_text(), re.S)
assert SECTION is not None
COMMANDS = re.findall(r"```sh\n(.*?)\n```", SECTION[0], re.S)
PRINTED = re.findall(r"```text\n(.*?)```", SECTION[0], re.S)
TOKEN = re.compile(r"[A-Za-z0-9_-]{43}")

pytestmark = pytest.mark.long


@contextmanager
def running(command: str, folder: Path, port: int) -> Iterator[str]:
    """Run a command of README at another port, until it says that it is ready; yields what it printed."""
    line = re.sub(r"^curing", f"{sys.executable} -m curing", command)
    line = re.sub(r" --port \d+", "", line) + f" --port {port}"
    out = folder / "printed"
    with out.open("wb") as printed:
        process = subprocess.Popen(
            line.split(), cwd=folder, stdout=printed, stderr=subprocess.DEVNULL, env={**os.environ, "COLUMNS": "80"}
        )
    try:
        until = time.monotonic() + 90
        while "README," not in out.read_text() and "People" not in out.read_text():
            assert process.poll() is None, f"{command} ended"
            assert time.monotonic() < until, command
            time.sleep(0.1)
        time.sleep(0.3)
        yield out.read_text()
    finally:
        process.terminate()
        process.wait(30)


def test_the_demo_prints_what_readme_shows_and_its_link_opens(tmp_path: Path) -> None:
    command = next(one for one in COMMANDS if "--demo" in one)
    with running(command, tmp_path, 18731) as printed:
        assert TOKEN.sub("…", printed).replace("18731", "8000") == PRINTED[0]
        link = re.search(r"http\S+", printed.split("Wil opens")[1])
        assert link is not None
        with urllib.request.urlopen(f"{link[0]}today", timeout=20) as page:
            assert "early round" in page.read().decode()


def test_a_job_is_served_to_phones_in_the_same_network_and_over_tls(tmp_path: Path) -> None:
    (tmp_path / "alder-court.yaml").write_bytes((ROOT / "examples" / "alder-court.yaml").read_bytes())
    subprocess.run(
        "openssl req -x509 -newkey rsa:2048 -nodes -days 2 -subj /CN=localhost -keyout privkey.pem -out fullchain.pem",
        shell=True, cwd=tmp_path, check=True, capture_output=True,
    )  # fmt: skip
    for command in COMMANDS:
        if "--demo" in command:
            continue
        with running(command, tmp_path, 18732) as printed:
            scheme = "https" if "--tls" in command else "http"
            assert printed.startswith(f"Ready at {scheme}://")
            assert "localhost" not in printed.splitlines()[0]
            assert f"{scheme}://" in printed


def test_plain_http_is_sent_on_to_https(tmp_path: Path) -> None:
    """Phones turn ``webcal:`` into http: the other port answers with the same path at the https address."""
    (tmp_path / "alder-court.yaml").write_bytes((ROOT / "examples" / "alder-court.yaml").read_bytes())
    subprocess.run(
        "openssl req -x509 -newkey rsa:2048 -nodes -days 2 -subj /CN=localhost -keyout privkey.pem -out fullchain.pem",
        shell=True, cwd=tmp_path, check=True, capture_output=True,
    )  # fmt: skip
    command = "curing serve alder-court.yaml --tls-cert fullchain.pem --tls-key privkey.pem --http-port 18734"
    with running(command, tmp_path, 18733):
        line = http.client.HTTPConnection("127.0.0.1", 18734, timeout=20)
        line.request("GET", "/s/x/calendar.ics?a=1")
        answer = line.getresponse()
        assert answer.status == 308
        assert answer.headers["location"] == "https://localhost:18733/s/x/calendar.ics?a=1"
        line.close()
