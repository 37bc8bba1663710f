"""A planned job, lived through by the clock: real occasions, real texts, a recording channel."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from sending import MINUTE, Recorder, at

from curing import clock
from curing.errors import PlanError
from curing.model.people import Person
from curing.model.plan import Booking
from curing.model.record import RecordEntry, RecordKind
from curing.model.reminders import Kind, Message
from curing.remind.scene import Scenes
from curing.remind.sender import Sender
from curing.remind.trial import send_test
from curing.workflow.open_job import OpenJob
from curing.workflow.planning import plan_job

AMSTERDAM = ZoneInfo("Europe/Amsterdam")
YARD = """\
curing: 1
uid: 5f0c9e1a-93d4-4d0c-8a55-3b1b7a0f2c11
name: Alder Court
holidays: { country: NL }
sites:
  - { id: court, name: Alder Court, latitude: 52.1, longitude: 5.2, time_zone: Europe/Amsterdam }
people:
  - id: near
    name: Near
    roles: [mists]
    hours: { mon-sun: 07:00-21:00, holiday: 07:00-21:00 }
    tell: { email: near@example.org }
    quiet: 22:00-05:00
    notice: 45 min
  - { id: ida, name: Ida, roles: [lead], hours: { mon-fri: 07:00-15:30 }, tell: { email: ida@example.org } }
  - { id: bo, name: Bo, hours: { mon-fri: 07:00-15:30 } }
crews:
  - { id: render, name: Render, people: [ida, bo] }
holds: { roof-gutter: 2027-02-01, sills-flashings: 2027-02-01, boxes-pipes: 2027-02-01, gaps-packed: 2027-02-01,
         mesh-beads: 2027-02-01, sockets: 2027-02-01, sample-panel: 2027-02-01 }
walls:
  - id: "3"
    name: north gable
    holds: { panel-dry: 2027-05-19 }
    panel: { thickness: 200 mm, filled: 2027-01-08 }
    faces:
      - { side: out, facing: N, area: 10 m2, height: 2.7 m, system: clay-lime, done: { base: 2027-05-21 } }
"""
MORNING = at("2027-05-24 03:00")  # Monday, 05:00


@dataclass
class Day:
    """The yard on a day, with a clock of its own."""

    job: OpenJob
    now: datetime

    def __post_init__(self) -> None:
        self.channel = Recorder("email")
        self.scenes = Scenes(self.job, "https://walls.example.org", now=lambda: self.now)
        self.sender = Sender(
            self.job, {"email": self.channel}, self.scenes.compose, self.scenes.falls_due, now=lambda: self.now
        )

    def live(self, until: datetime, step: timedelta = 5 * MINUTE) -> list[tuple[datetime, str, Message]]:
        told = []
        while self.now < until:
            before = len(self.channel.sent)
            assert self.sender.wake()
            assert self.sender.settled(20)
            told += [(self.now, to, message) for to, message, _, _ in self.channel.sent[before:]]
            self.now += step
        return told

    def walk(self, slot: str, day: str = "2027-05-24") -> Booking:
        plan = self.job.sight().plan
        assert plan is not None
        (found,) = [
            one
            for one in plan.rounds
            if one.slot is not None and one.slot.value == slot and f"{one.start.astimezone(AMSTERDAM):%Y-%m-%d}" == day
        ]
        return found

    def tick(self, walk: Booking) -> None:
        for one in walk.visits:
            data = {"coat": one.coat, "day": f"{walk.start.astimezone(AMSTERDAM):%Y-%m-%d}", "slot": str(walk.slot)}
            self.job.store.append_record(
                RecordEntry(f"t{one.id}", self.now, self.now, "near", RecordKind.MISTED, one.face, data)
            )


@pytest.fixture
def day(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Day]:
    seconds = int((MORNING - clock.now()).total_seconds())
    monkeypatch.setenv("CURING_CLOCK_OFFSET_SECONDS", str(seconds))
    file = tmp_path / "court.yaml"
    file.write_text(YARD)
    plan_job(file, as_of="2027-05-24 05:00")
    with OpenJob(file) as job:
        yield Day(job, MORNING)


def of(told: list[tuple[datetime, str, Message]], kind: Kind) -> list[tuple[datetime, str]]:
    return [(now, to) for now, to, message in told if message.kind is kind]


def test_rounds_are_told_45_min_before_and_a_ticked_one_is_not(day: Day) -> None:
    early, late = day.walk("early"), day.walk("late")
    told = day.live(late.start - 2 * timedelta(hours=1))
    (when,) = [now for now, to in of(told, Kind.ROUND) if to == "near@example.org"]
    assert timedelta(0) <= when - (early.start - 45 * MINUTE) < 5 * MINUTE
    day.tick(early)
    day.tick(late)  # done before its time
    told = day.live(late.end)
    assert of(told, Kind.ROUND) == []
    assert of(told, Kind.MISSED) == []


def test_a_round_that_nobody_ticks_climbs_to_who_leads(day: Day) -> None:
    told = day.live(MORNING + timedelta(days=1))
    missed = of(told, Kind.MISSED)
    assert [to for _, to in missed].count("near@example.org") == 2  # early and late
    assert [to for _, to in missed].count("ida@example.org") == 2  # nobody else mists
    assert min(when for when, _ in missed) > day.walk("early").end
    rounds = [when for when, _ in of(told, Kind.ROUND)]
    assert len(rounds) == len(set(rounds)) >= 2


def test_a_message_has_the_link_of_its_person_and_no_other(day: Day) -> None:
    told = day.live(day.walk("early").start)
    (message,) = [message for _, _, message in told if message.kind is Kind.ROUND]
    token = day.job.token("near", day.job.links()["near"].generation)
    assert message.link == f"https://walls.example.org/s/{token}/day/2027-05-24#early"
    assert day.job.link(token) is not None


def test_who_had_the_link_withdrawn_gets_no_new_one(day: Day) -> None:
    day.job.give_link("near", MORNING)
    day.job.revoke_link("near", MORNING)
    told = day.live(day.walk("early").start)
    assert [message.link for _, _, message in told if message.kind is Kind.ROUND] == [""]
    assert all(link.revoked for link in day.job.links().values() if link.person == "near")


def test_an_overslept_day_is_told_in_one_message_with_what_was_over(day: Day) -> None:
    day.live(MORNING + 5 * MINUTE)
    walk = day.walk("early")
    day.now = at("2027-05-25 10:00")
    told = day.live(at("2027-05-25 10:10"))
    away = [message for _, to, message in told if message.kind is Kind.AWAY and to == "near@example.org"]
    assert len(away) == 1
    assert "05:00" in away[0].text
    assert f"{walk.start.astimezone(AMSTERDAM) - 45 * MINUTE:%H:%M}" in away[0].text


def test_a_trial_needs_a_plan_and_says_so(tmp_path: Path, day: Day) -> None:
    (near,) = [one for one in day.job.job.file.people if one.id == "near"]
    channels = {"email": day.channel}
    ((name, answer),) = send_test(day.job.sight(), near, channels, day.scenes.compose)
    assert (name, answer.said) == ("email", "taken")
    (tmp_path / "new").mkdir()
    (tmp_path / "new" / "court.yaml").write_text(YARD)
    with OpenJob(tmp_path / "new" / "court.yaml") as job:
        with pytest.raises(PlanError, match="no plan yet"):
            send_test(job.sight(), _same(near, job), channels, Scenes(job).compose)
        sender = Sender(job, channels, Scenes(job).compose, Scenes(job).falls_due, now=lambda: MORNING)
        assert sender.wake()  # nothing is planned, nothing is told, and somebody looked
        assert job.store.outbox_figures(MORNING).looked == MORNING


def _same(person: Person, job: OpenJob) -> Person:
    return next(one for one in job.job.file.people if one.id == person.id)
