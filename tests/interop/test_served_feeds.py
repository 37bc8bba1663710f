"""Calendar programs subscribe to what ``curing serve`` serves: the plan's instants, moves, and a link withdrawn.

A real server over the invented job Alder Court, its clock set to the day on which the job is planned,
eleven days before the clocks change.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from unittest.mock import patch
from zoneinfo import ZoneInfo

import pytest
from clock_change_jobs import COURTS, Court, planned
from programs import Stored, khal_events, libical_problems, needs, thunderbird_calendars, vdirsyncer_items
from thunderbird import Stores
from told_by_plan import Written, read_out, vevents

from curing import clock
from curing.workflow.open_job import OpenJob

pytestmark = pytest.mark.interop

STARTS = 6
"""On a busy machine Thunderbird may fetch a feed as it starts and not look at it: then it is started again."""

ZONE = ZoneInfo("Europe/Amsterdam")
BOTH_CHANGES = pytest.mark.parametrize("court", COURTS[:2], ids=str)
"""To summer time and back."""


@dataclass
class Served:
    """A running server and the folder of its job."""

    folder: Path
    address: str
    log: Path
    link: str

    @property
    def feed(self) -> str:
        return f"{self.address}/s/{self.link}/calendar.ics"

    def body(self) -> bytes:
        with urllib.request.urlopen(self.feed, timeout=20) as answer:
            found: bytes = answer.read()
        return found

    def asked(self, status: int) -> int:
        """Return how often the feed was asked for and answered so, by the server's log."""
        return len(re.findall(rf"calendar\.ics status={status}\b", self.log.read_text()))


@contextmanager
def serving(court: Court, person: str = "tom") -> Iterator[tuple[Served, Written]]:
    """Plan a court, then serve it as if it were the evening of that day."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        plan = planned(folder, court.text(), court.at()).plan
        written = read_out(folder / "out", plan.as_of)
        job, state = folder / "alder-court.yaml", folder / "state"
        log = folder / "log"
        evening = datetime.fromisoformat(court.at(clock="20:00")).replace(tzinfo=ZONE)
        offset = int((evening - clock.now()).total_seconds())
        with patch.dict(os.environ, {"CURING_CLOCK_OFFSET_SECONDS": str(offset)}), log.open("wb") as out:
            with OpenJob(job, state) as opened:
                link = opened.give_link(next(one.root for one in plan.people if one.id == person), evening)
            command = [sys.executable, "-m", "curing", "serve", str(job), "--state", str(state), "--port", "0"]
            running = subprocess.Popen(command, stdout=out, stderr=subprocess.STDOUT)
            try:
                found = wait_for(lambda: re.search(r"Ready at (\S+)", log.read_text()))
                yield Served(folder, found[1].replace("localhost", "127.0.0.1"), log, link), written
            finally:
                running.terminate()
                running.wait(30)


def wait_for(what: Callable[[], re.Match[str] | None]) -> re.Match[str]:
    until = time.monotonic() + 30
    while (found := what()) is None:
        assert time.monotonic() < until, "nothing came within 30 s"
        time.sleep(0.1)
    return found


def without_links(ics: bytes) -> bytes:
    """Take out what only a served feed says: where it is ticked."""
    text = ics.replace(b"\r\n ", b"")
    text = re.sub(rb"\\n\\n(Tick|Page): http[^\\]*(?=\\n\\n)", b"", text)
    return re.sub(rb"URL:[^\r]*\r\n", b"", text)


@BOTH_CHANGES
def test_a_served_feed_is_the_written_one_with_links(court: Court) -> None:
    with serving(court) as (served, written):
        there, here = served.body(), written.feeds["tom"]
        assert without_links(there) == here.replace(b"\r\n ", b"")
        events = vevents(there)
        assert len(events) > 30
        for event in events.values():
            line = event.replace(b"\r\n ", b"")
            assert served.link.encode() in line
            assert len(re.search(rb"URL:([^\r]*)", line)[1]) < 200  # type: ignore[index]
        assert libical_problems(there) == []


@needs("thunderbird")
@BOTH_CHANGES
def test_thunderbird_has_the_plans_instants_on_both_sides_of_the_change(court: Court) -> None:
    with serving(court) as (served, written):
        stored = thunderbird_calendars({"crew": served.feed}, 30)["crew"]
        told = written.told("tom")
        assert {(e["uid"], e["start_utc"], e["end_utc"]) for e in stored} == {(e.uid, e.start, e.end) for e in told}
        change = datetime.combine(court.change, datetime.min.time(), tzinfo=UTC)
        starts = [event["start_utc"] for event in stored]
        assert min(starts) < change - timedelta(days=1)
        assert max(starts) > change + timedelta(days=2)


@needs("vdirsyncer")
@needs("khal")
@BOTH_CHANGES
def test_vdirsyncer_and_khal_have_them_too(court: Court) -> None:
    with serving(court) as (served, written):
        told = written.told("tom")
        items = vdirsyncer_items(served.feed)
        assert len(items) == len(told)
        first = min(one.start for one in told).date()
        days = (max(one.end for one in told).date() - first).days + 1
        listed = khal_events(served.body(), first, days)
        assert {(e["uid"], e["start_utc"]) for e in listed} == {(e.uid, e.start) for e in told}


@needs("thunderbird")
def test_a_coat_that_moves_moves_in_thunderbird_and_a_withdrawn_link_ends_the_polling() -> None:
    court = COURTS[1]
    with serving(court) as (served, written), tempfile.TemporaryDirectory() as name:
        profile = Path(name) / "profile"
        expected = {one.uid for one in written.told("tom")}

        def whole(there: Stores) -> bool:
            return {event["uid"] for event in there["crew"]} == expected

        found = thunderbird_calendars({"crew": served.feed}, 40, profile, arrived=whole)["crew"]
        before = {event["uid"]: event for event in found}
        assert set(before) == expected
        coats = {b["uid"]: b for b in written.plan["bookings"] if b["kind"] == "coat" and b["state"] != "done"}
        job = served.folder / "alder-court.yaml"
        text = job.read_text()
        hours = "    hours: { mon-fri: 07:00-15:30 }\n"
        days = {b["start"]["local"][:10] for uid, b in coats.items() if uid in before}
        moved_from = min(day for day in days if day > court.day(2))  # today and tomorrow stay as they were told
        assert hours in text
        etag = served.body()
        job.write_text(text.replace(hours, f"{hours}    away: [{moved_from}]\n"))
        until = time.monotonic() + 40
        while served.body() == etag:
            assert time.monotonic() < until, "the served feed did not follow the edited job file"
            time.sleep(0.5)

        def shifted(events: list[Stored]) -> list[Stored]:
            both = [event for event in events if event["uid"] in before and event["uid"] in coats]
            return [event for event in both if event["start_utc"] != before[event["uid"]]["start_utc"]]

        moved: list[Stored] = []
        for _ in range(STARTS):
            polled = thunderbird_calendars(
                {"crew": served.feed}, 20, profile, arrived=lambda e: bool(shifted(e["crew"]))
            )
            if moved := shifted(polled["crew"]):
                break
        assert moved, "no coat moved although its day was taken away"
        for event in moved:
            assert event["sequence"] > before[event["uid"]]["sequence"]
        with OpenJob(job, served.folder / "state") as opened:
            opened.revoke_link("tom", clock.now())
        time.sleep(2.5)
        with pytest.raises(urllib.error.HTTPError) as gone:
            served.body()
        assert gone.value.code == 410
        gone.value.close()
        for _ in range(STARTS):
            thunderbird_calendars({"crew": served.feed}, 20, profile, arrived=lambda _: served.asked(410) > 1)
            if served.asked(410) > 1:
                break
        asked = served.asked(410)
        assert asked > 1, "Thunderbird never met the withdrawn link"
        thunderbird_calendars({"crew": served.feed}, 20, profile, arrived=lambda _: False)
        assert served.asked(410) <= asked + 1, "Thunderbird goes on polling a withdrawn link"
