"""Alder Court under way, served by a real ``curing serve``, for tests in a real browser.

The job is ``examples/alder-court-under-way.yaml`` with a meter (invented, as all of it), on
Monday 24 May 2027, 07:10; everybody has a link.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from curing.clock import OFFSET_VARIABLE
from curing.model.record import RecordEntry
from curing.workflow.open_job import OpenJob
from curing.workflow.planning import plan_job
from tests.serve.live import MORNING, Answer, Live, ahead, begin, environment

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page

_driver: Any = pytest.importorskip("playwright.sync_api", reason="needs the Python package playwright")
expect: Any = _driver.expect

JOB = Path(__file__).parents[2] / "examples" / "alder-court-under-way.yaml"
METER = "meters:\n  - { id: probe, name: Straw probe, least: 6 %, most: 40 %, basis: wet }\n\nholds:"
EVERYBODY = ("wil", "noor", "tijn", "saar", "ines", "owners")
CREW = ("today", "walls", "wall/7", "wall/5", "reading/7", "job", "moved", "calendar", "pass-on", "take-over")
LEAD = (
    "people", "people/noor", "people/noor/renew", "people/noor/withdraw", "reminders", "setup", "setup/walls",
    "setup/walls/3",
)  # fmt: skip
CLIENT = ("client", "client/1-out")


def court(folder: Path) -> Path:
    """Make the job, its first plan, a link for everybody and a meter that was checked."""
    job = folder / "court.yaml"
    text = JOB.read_text(encoding="utf-8")
    assert text.count("\nholds:") == 1
    text = text.replace("\nholds:", f"\n{METER}").replace("start: 2027-06-07", "start: 2027-05-25")
    job.write_text(text, encoding="utf-8")
    plan_job(job, as_of="2027-05-24 06:00")
    told(job, "log", str(job), "test", "meter=probe", "read=18.4", "dried=18", "--by", "wil", "--at", "06:30")
    links(job)
    return job


@contextmanager
def that_morning() -> Iterator[None]:
    """Set the clock of this process to that morning."""
    before = os.environ.get(OFFSET_VARIABLE)
    os.environ[OFFSET_VARIABLE] = str(ahead())
    try:
        yield
    finally:
        if before is None:
            del os.environ[OFFSET_VARIABLE]
        else:
            os.environ[OFFSET_VARIABLE] = before


def links(job: Path) -> dict[str, str]:
    """Give everybody a link, as the page People does, and return the tokens; the same ones each time."""
    with that_morning():
        opened = OpenJob(job)
        roots = opened.sight().roots.people
        found = {person: opened.give_link(roots[person], MORNING) for person in EVERYBODY}
        opened.close()
    return found


def entries(job: Path, visit: str) -> list[RecordEntry]:
    """Return what is recorded of a visit, as the state has it."""
    with that_morning():
        opened = OpenJob(job)
        face, _, day, slot = visit.split(".")
        about = [one for one in opened.store.records() if one.face == face]
        found = [one for one in about if (one.data.get("day"), one.data.get("slot")) == (day, slot)]
        opened.close()
    return found


def copied(made: Path, folder: Path) -> Path:
    """Copy a job with its state."""
    shutil.copytree(made.parent, folder, dirs_exist_ok=True)
    return folder / made.name


def told(job: Path, *words: str) -> str:
    """Run a command of ``curing`` on that morning, and return what it prints."""
    command = [sys.executable, "-m", "curing", *words]
    done = subprocess.run(command, env=environment(ahead()), capture_output=True, text=True, check=False)
    assert done.returncode == 0, (words, done.stdout, done.stderr)
    return done.stdout


@dataclass
class Site:
    """A server over a job, and the links of its people; it can be killed and begun anew at the same port."""

    live: Live
    tokens: dict[str, str]
    more: Sequence[str] = ()
    _begun: list[Live] = field(default_factory=list)

    @property
    def job(self) -> Path:
        return self.live.job_file

    def home(self, person: str = "wil") -> str:
        """Return the path of somebody's link."""
        return f"/s/{self.tokens[person]}"

    def url(self, page: str, person: str = "wil", host: str = "") -> str:
        """Return the address of a page of somebody's link."""
        base = self.live.address if not host else f"http://{host}:{self.live.port}"
        return f"{base}{self.home(person)}/{page}"

    def ask(self, page: str, person: str = "wil", **more: Any) -> Answer:
        """Ask for a page without a browser."""
        return self.live.ask(f"{self.home(person)}/{page}", fresh=True, **more)

    def feed(self, person: str = "wil") -> tuple[str, str]:
        """Return somebody's calendar, its long lines joined, and its ETag."""
        got = self.ask("calendar.ics", person)
        assert got.status == 200, got.status
        return re.sub(r"\r\n[ \t]", "", got.text), got.headers["etag"]

    def record(self, *words: str) -> str:
        """Return what ``curing record`` tells."""
        return told(self.job, "record", str(self.job), *words)

    def kill(self) -> None:
        """End the server as if the power went."""
        self.live.process.kill()
        self.live.stop()

    def again(self) -> None:
        """Begin it anew at the same port; its clock goes on."""
        self.live = begin(self.live.job_file, "--port", str(self.live.port), *self.more, offset=self.live.offset)
        self._begun.append(self.live)


@contextmanager
def served(job: Path, *more: str) -> Iterator[Site]:
    """Serve a job made by :func:`court`."""
    live = begin(job, *more)
    site = Site(live, links(job), more)
    live.links |= {person: f"/s/{token}" for person, token in site.tokens.items()}
    site._begun.append(live)
    try:
        yield site
    finally:
        for one in site._begun:
            if one.process.poll() is None:
                one.process.kill()
                one.process.wait(10)


def wall(page: Page, face: str) -> Locator:
    """Return the block of a face's first visit on the page of the day, on a phone."""
    return page.locator(f"li.wall[id^='{face}.']").first


def within(true: Any, seconds: float = 20.0, what: str = "") -> None:
    """Wait until something holds that the browser does not show."""
    end = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < end, f"not within {seconds} s: {what}"
        time.sleep(0.1)


def fetched(address: str) -> str:
    """Fetch an address as a calendar program does, and return its text, long lines joined."""
    with urllib.request.urlopen(address, timeout=20) as answer:
        return re.sub(r"\r\n[ \t]", "", answer.read().decode())
