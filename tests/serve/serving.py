"""A served job for tests: Alder Court under way, on Monday 24 May 2027, over a state of its own."""

from __future__ import annotations

import asyncio
import re
import shutil
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cached_property
from html import unescape
from pathlib import Path
from typing import Any

from httpx2 import Response
from starlette.testclient import TestClient

from curing import clock
from curing.serve.app import Options, application
from curing.serve.planner import Outcome, plan_once
from curing.serve.served import House, Served
from curing.workflow.open_job import OpenJob
from curing.workflow.planning import plan_job

EXAMPLES = Path(__file__).parents[2] / "examples"
JOB = EXAMPLES / "alder-court-under-way.yaml"
MONDAY = "2027-05-24 06:00"
SAME = {"sec-fetch-site": "same-origin"}
KEY = re.compile(r'name="key" value="([^"]+)"')


class PlanHere:
    """Plans in this process, when a test asks for it; asked by the pages, it only counts."""

    def __init__(self) -> None:
        self.asked = 0

    async def plan(self, job_file: Path, state: Path) -> Outcome:
        self.asked += 1
        return await asyncio.to_thread(plan_once, job_file, state)

    def close(self) -> None:
        """Nothing to end."""


def court(folder: Path) -> Path:
    """Make the job and its first plan in a folder; copy that folder to have it again."""
    job = folder / "court.yaml"
    job.write_bytes(JOB.read_bytes())
    plan_job(job, as_of=MONDAY)
    return job


def copied(made: Path, folder: Path) -> Path:
    """Copy a job with its state into a folder of a test's own."""
    shutil.copytree(made.parent, folder, dirs_exist_ok=True)
    return folder / made.name


@dataclass
class Site:
    """A served job as its people reach it."""

    client: TestClient
    house: House

    @cached_property
    def served(self) -> Served:
        return self.house.jobs[0]

    @property
    def job(self) -> OpenJob:
        return self.served.job

    def home(self, person: str) -> str:
        """Return the path of a person's link."""
        sight = self.job.sight()
        return f"/s/{self.job.give_link(sight.roots.people[person], clock.now())}"

    def get(self, person: str, page: str, **more: Any) -> Response:
        return self.client.get(f"{self.home(person)}/{page}", follow_redirects=False, **more)

    def text(self, person: str, page: str) -> str:
        """Return a page's text without its tags, spaces folded."""
        return words(self.get(person, page).text)

    def key(self, person: str, page: str = "today") -> str:
        """Return a key that a page drew."""
        found = KEY.search(self.get(person, page).text)
        assert found is not None, page
        return found[1]

    def post(
        self,
        person: str,
        page: str,
        fields: Mapping[str, Any],
        *,
        headers: Mapping[str, str] = SAME,
        json: bool = False,
        key: bool = True,
    ) -> Response:
        """Send a form; with a new key and the present time where it says none."""
        body = dict(fields)
        if key:
            body.setdefault("key", drawn_key())
        body.setdefault("at", clock.now().isoformat())
        more = {**headers, **({"accept": "application/json"} if json else {})}
        return self.client.post(f"{self.home(person)}/{page}", data=body, headers=more, follow_redirects=False)


_KEYS = iter(range(10**6))


def drawn_key() -> str:
    """Return a key in the form that pages draw, each one once."""
    return f"{next(_KEYS):032x}"


def words(page: str) -> str:
    """Return what a page says, without tags."""
    body = re.sub(r"<(script|style|svg)\b.*?</\1>", " ", page, flags=re.S)
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", body)).split())


@contextmanager
def serving(*jobs: Path, options: Options | None = None) -> Iterator[Site]:
    """Serve jobs in this process, planned only at the beginning."""
    opened = [OpenJob(job) for job in jobs]
    house = House(opened, PlanHere())
    with TestClient(application(house, options or Options()), raise_server_exceptions=True) as client:
        yield Site(client, house)


def at(text: str) -> datetime:
    """Return an instant of Alder Court's summer, ``24 07:12``: day of May 2027 and local time."""
    day, hour = text.split(" ")
    return datetime.fromisoformat(f"2027-05-{int(day):02d}T{hour}:00+02:00").astimezone(UTC)
