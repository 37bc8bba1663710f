"""Frost, rain and dry air, told by the real sender through its outbox: once, in time, and not once it is done.

A north wall, its finish closed on Friday 21 May 2027; Near mists at 07:00 and in the evening, Ida leads. All weather
here is invented.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from invented_sky import write_sky
from sending import MINUTE, at
from test_file_channel import channel as file_channel
from test_mail_channel import Sink, read, sink_at
from test_mail_channel import channel as mail_channel
from test_sender_scene import YARD

from curing import clock
from curing.model.plan import Booking
from curing.model.record import RecordEntry, RecordKind
from curing.model.reminders import Channel
from curing.planning.weather_booked import cover_of, goes_up
from curing.remind.scene import Scenes
from curing.remind.sender import Sender
from curing.workflow.open_job import OpenJob
from curing.workflow.planning import plan_job
from curing.workflow.weather_kept import keep_file

AMSTERDAM = ZoneInfo("Europe/Amsterdam")
MADE = at("2027-05-24 03:00")
"""Monday, 05:00."""
FROST = {"cold": ((at("2027-05-25 00:00"), at("2027-05-25 04:00"), -2.0),)}
RAIN = {"rain": ((at("2027-05-24 06:00"), at("2027-05-24 11:00"), 3.0),)}
DRY = {"air": 26.0, "relative_humidity": 18.0, "wind_speed": 5.0, "cloud_area_fraction": 0.0}


@dataclass
class Day:
    """The yard under a forecast, and who is told what, by a clock of its own."""

    job: OpenJob
    channel: Channel
    now: datetime = MADE + 5 * MINUTE

    def __post_init__(self) -> None:
        scenes = Scenes(self.job, "https://walls.example.org", now=lambda: self.now)
        self.sender = Sender(self.job, {"email": self.channel}, scenes.compose, scenes.falls_due, now=lambda: self.now)

    def live(self, until: datetime) -> None:
        while self.now < until:
            assert self.sender.wake()
            assert self.sender.settled(20)
            self.now += 30 * MINUTE

    def up(self, what: str) -> Booking:
        """Return the cover that goes up first."""
        plan = self.job.sight().plan
        assert plan is not None
        listed = [one for one in plan.bookings if cover_of(one.id) == what and goes_up(one)]
        return min(listed, key=lambda one: one.start)

    def said(self, kind: RecordKind, data: dict[str, Any]) -> None:
        self.job.store.append_record(RecordEntry(f"k{self.now}", self.now, self.now, "ida", kind, "3-out", data))

    def rows(self, kind: str) -> list[tuple[str, datetime]]:
        return [
            (one.person, one.due) for one in self.job.store.rows_since(MADE - timedelta(1)) if one.kind.value == kind
        ]


@pytest.fixture
def plan(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Any]:
    monkeypatch.setenv("CURING_CLOCK_OFFSET_SECONDS", str(int((MADE - clock.now()).total_seconds())))
    file = tmp_path / "court.yaml"
    opened = []

    def under(channel: Channel, closed: str = "2027-05-21 15:00", **weather: Any) -> Day:
        done = f"done: {{ base: 2027-04-30, finish: {closed} }}"
        file.write_text(YARD.replace("done: { base: 2027-05-21 }", done))
        plan_job(file, as_of="2027-05-23 20:00")
        job = OpenJob(file)
        opened.append(job)
        keep_file(job.store, job.job, write_sky(tmp_path / "sky.json", MADE, **weather), MADE)
        job.close()
        plan_job(file, as_of="2027-05-24 05:00")
        opened[-1] = OpenJob(file)
        return Day(opened[-1], channel)

    yield under
    for job in opened:
        job.close()


def blocks(path: Path) -> list[tuple[str, str]]:
    """Return who was told what, in order: address and short text."""
    found = []
    for block in path.read_text().strip().split("\n\n"):
        head, _, short, *_ = block.splitlines()
        to = re.search(r" for (\S+) by ", head)
        assert to is not None
        found.append((to[1], short.strip()))
    return found


def test_frost_is_told_once_in_time_and_not_when_it_is_covered(plan: Any, tmp_path: Path) -> None:
    day = plan(file_channel(tmp_path / "told.txt"), **FROST)
    up = day.up("frost")
    day.live(up.start - timedelta(hours=1))
    told = [(to, text) for to, text in blocks(tmp_path / "told.txt") if text.startswith("FROST Tue 25 May")]
    assert [to for to, _ in told] == ["ida@example.org"], "Bo has no address, and Near covers nothing"
    by = up.until or up.end
    assert f"by {by.astimezone(AMSTERDAM):%H:%M}" in told[0][1]
    ((_, due),) = [one for one in day.rows("frost") if one[0] == "ida"]
    assert due < up.start
    day.said(RecordKind.COVER_UP, {"cover": "frost"})
    day.live(by + timedelta(hours=1))
    assert sum(text.startswith("FROST") for _, text in blocks(tmp_path / "told.txt")) == 1
    assert not any("yours now" in text and "cover" in text for _, text in blocks(tmp_path / "told.txt"))


@pytest.mark.long
def test_frost_that_is_covered_before_anybody_is_told_is_not_told(plan: Any, tmp_path: Path) -> None:
    day = plan(file_channel(tmp_path / "told.txt"), **FROST)
    day.said(RecordKind.COVER_UP, {"cover": "frost"})
    day.live(MADE + timedelta(hours=6))
    assert not any(text.startswith("FROST") for _, text in blocks(tmp_path / "told.txt"))


@pytest.mark.long
def test_frost_by_e_mail(plan: Any) -> None:
    sink = Sink()
    with sink_at(sink) as port:
        day = plan(mail_channel(port), **FROST)
        day.live(MADE + timedelta(hours=3))
    mails = [read(raw) for _, _, raw in sink.kept]
    frost = [one for one in mails if "FROST Tue 25 May" in str(one["Subject"])]
    assert len(frost) == 1
    assert str(frost[0]["To"]) == "ida@example.org"
    plain = next(part for part in frost[0].walk() if part.get_content_type() == "text/plain").get_content()
    assert "never on a mobile tower" in plain.lower()


def test_dry_air_is_told_once_a_day_of_who_walks_there_and_of_who_hangs_cloth(plan: Any, tmp_path: Path) -> None:
    day = plan(file_channel(tmp_path / "told.txt"), **DRY)
    day.live(MADE + timedelta(hours=17))  # to 22:00 on Monday
    told = [(to, text) for to, text in blocks(tmp_path / "told.txt") if text.startswith(("DRY AIR", "SUN"))]
    today = [one for one in day.rows("heat") if one[1] < at("2027-05-24 10:00")]
    assert sorted(person for person, _ in today) == ["ida", "near"]
    assert len(told) == len(day.rows("heat"))
    assert "Mist once more at 11:30" in told[0][1]
    # The north face has sun early and late; the cloth of 19:00 is for the evening's.
    cloth = re.search(r"SUN on 3 (\d\d):\d\d-\d\d:\d\d.* Cloth up and wet by (\d\d):", told[0][1])
    assert cloth is None or cloth[1] >= cloth[2], told[0][1]
    assert not any("yours now" in text and "11:30" in text for _, text in blocks(tmp_path / "told.txt")), "told twice"


def test_rain_on_a_fresh_coat_is_told_once_before_it_comes(plan: Any, tmp_path: Path) -> None:
    """Closed on Sunday at 19:00; rain on the north face from 08:00 on Monday: sheets are up by then."""
    day = plan(file_channel(tmp_path / "told.txt"), "2027-05-23 19:00", **RAIN)
    up = day.up("sheet")
    assert (up.until or up.end) <= RAIN["rain"][0][0]
    day.live(up.start)
    told = [(to, text) for to, text in blocks(tmp_path / "told.txt") if text.startswith("RAIN")]
    assert [to for to, _ in told] == ["ida@example.org"]
    assert told[0][1].startswith("RAIN 08:00, ")
    assert f"Sheets on 3 by {(up.until or up.end).astimezone(AMSTERDAM):%H:%M}" in told[0][1]
    day.said(RecordKind.COVER_UP, {"cover": "sheet"})
    day.live(up.end + timedelta(hours=3))
    assert sum(text.startswith("RAIN") for _, text in blocks(tmp_path / "told.txt")) == 1
