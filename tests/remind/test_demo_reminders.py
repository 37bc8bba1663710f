"""The demo with its file of messages: a missed round climbs to the lead, a tick silences it, a restart changes nothing.

A real process each time, stopped by kill -9 and started again with its clock put on. Alder Court is invented.
"""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import time
import urllib.parse
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

pytestmark = pytest.mark.long

PORT = 18741
BLOCK = re.compile(r"(\d{4}-\d\d-\d\d \d\d:\d\d) for (\w+) by file\n    (.*)\n    (.*)\n    (http\S+)")


def told(folder: Path) -> list[tuple[str, str, str]]:
    """Return (local time, person, short text) of every message in the file."""
    file = folder / "curing-demo" / "messages.txt"
    text = file.read_text() if file.exists() else ""
    return [(at, who, short) for at, who, _, short, _ in BLOCK.findall(text)]


@contextmanager
def serving(folder: Path, at: str | None = None) -> Iterator[Callable[[str, str], str]]:
    """Serve the demo until killed; yields what posts a tick by the page (person's link path, form) → page."""
    more = ["--at", at] if at else []
    out = folder / "printed"
    with out.open("wb") as printed:
        process = subprocess.Popen(
            [sys.executable, "-m", "curing", "serve", "--demo", "--port", str(PORT), *more],
            cwd=folder, stdout=printed, stderr=subprocess.DEVNULL, env={**os.environ, "COLUMNS": "80"},
        )  # fmt: skip
    try:
        waiting(lambda: "README," in out.read_text(), process)

        def opened(path: str, form: str) -> str:
            link = re.search(r"Wil opens\n  (http\S+)", out.read_text())
            assert link is not None
            data = form.encode() if form else None
            request = urllib.request.Request(f"{link[1]}{path}", data, {"Sec-Fetch-Site": "same-origin"})
            with urllib.request.urlopen(request, timeout=20) as page:
                return page.read().decode()

        yield opened
    finally:
        process.send_signal(signal.SIGKILL)
        process.wait(30)


def waiting(until: Callable[[], bool], process: subprocess.Popen[bytes] | None = None, seconds: float = 90) -> None:
    """Wait until something is so."""
    end = time.monotonic() + seconds
    while not until():
        assert process is None or process.poll() is None, "the server ended"
        assert time.monotonic() < end
        time.sleep(0.1)


def settle(folder: Path) -> list[tuple[str, str, str]]:
    """Return the messages when two looks in a row (10 s each) added none."""
    before: list[tuple[str, str, str]] = []
    for _ in range(8):
        time.sleep(12)
        now = told(folder)
        if now == before and now:
            return now
        before = now
    raise AssertionError("messages without end")


def test_a_missed_round_climbs_a_tick_silences_it_and_a_restart_changes_nothing(tmp_path: Path) -> None:
    # By the plan of the demo: Tijn walks 1 2 3 4 6 from 07:00, which does its work until 08:15, and wall 3 is on
    # day 1; Noor airs wall 2 from 11:15 to 11:20. Notice: Tijn 20 min, the others 30 min.
    with serving(tmp_path):
        first = settle(tmp_path)
    assert [one for one in first if one[1] == "tijn" and "MIST early, walls 1 2 3 4 6, before 08:15" in one[2]]
    assert not [one for one in first if "has no tick" in one[2]]
    with serving(tmp_path):
        assert settle(tmp_path) == first  # killed and started again: nobody is told twice

    with serving(tmp_path, "2027-05-25 08:46"):  # 30 min after its window: Tijn, and the lead at once for wall 3
        second = settle(tmp_path)
    assert {(who, short) for at, who, short in second if at >= "2027-05-25 08:46" and "walls 1 2 3 4 6" in short} == {
        ("tijn", "Early round, walls 1 2 3 4 6, has no tick. Mist now, look for cracks."),
        ("wil", "Early round, walls 1 2 3 4 6, has no tick. Mist now, look for cracks."),
    }
    with serving(tmp_path, "2027-05-25 09:17") as page:  # an hour after: the next who mists
        third = settle(tmp_path)
        assert [who for at, who, short in third if at >= "2027-05-25 09:17" and "walls 1 2 3 4 6" in short] == ["noor"]
        today = page("today", "")
        drawn = re.search(r'name="at" value="([^"]+)"', today)
        assert drawn is not None
        ticked = dict.fromkeys(re.findall(r'name="visit" value="([^"]+\.2027-05-25\.early)"', today))
        assert len(ticked) == 6
        for visit in ticked:
            if not visit.startswith("2-in"):
                form = {"visit": visit, "what": "misted", "key": os.urandom(16).hex(), "at": drawn[1]}
                page("tick", urllib.parse.urlencode(form))
    with serving(tmp_path, "2027-05-25 11:52"):  # ticked: silent; Noor's own round has no tick either
        fourth = settle(tmp_path)
    late = [one for one in fourth if one[0] >= "2027-05-25 11:52"]
    assert not [one for one in late if "walls 1 2 3 4 6" in one[2]]
    assert [who for _, who, short in late if "2 in" in short and "has no tick" in short] == ["noor"]
    with serving(tmp_path, "2027-05-25 12:22"):
        settle(tmp_path)
    with serving(tmp_path, "2027-05-25 12:52"):
        last = settle(tmp_path)
    ways = ("2 in road side, bay 2: early airing has no tick.", "Early round, wall 2, has no tick.")
    climb = [(at, who) for at, who, short in last if short.startswith(ways)]
    assert [who for _, who in climb] == ["noor", "tijn", "wil"]
    assert [at[11:15] for at, _ in climb] == ["11:5", "12:2", "12:5"]
