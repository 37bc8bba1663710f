"""Calendar programs read back exactly what plan.json says, on both sides of a change of the clock.

Real plans of the invented job Alder Court in several places, written out as a user would; what
each feed should hold is worked out from plan.json alone (:mod:`told_by_plan`).
"""

from __future__ import annotations

import functools
import tempfile
from collections.abc import Iterable
from contextlib import ExitStack
from datetime import UTC, datetime, time, timedelta
from pathlib import Path

import pytest
from clock_change_jobs import COURTS, Court, planned
from programs import (
    Stored,
    icaljs_events,
    khal_events,
    libical_problems,
    needs,
    recurring_events,
    served,
    thunderbird_calendars,
    vdirsyncer_items,
)
from told_by_plan import Told, Written, everything, read_out

pytestmark = pytest.mark.interop

FEEDS = ("site", "mira", "tom", "ana", "ida", "cas")

every_court = pytest.mark.parametrize("court", COURTS, ids=str)
a_few_courts = pytest.mark.parametrize("court", [*COURTS[:4], COURTS[5]], ids=str)
"""For a program that takes seconds, and has its own zones: it does not ask the file's VTIMEZONE."""


@functools.cache
def written(court: Court) -> Written:
    """Plan a court and keep what was written out."""
    with tempfile.TemporaryDirectory() as folder:
        plan = planned(Path(folder), court.text(), court.at()).plan
        return read_out(Path(folder) / "out", plan.as_of)


def shown(events: Iterable[tuple[datetime, datetime, str, str, Iterable[datetime]]]) -> list[Told]:
    return sorted(Told(start, end, uid, title, tuple(rings)) for start, end, uid, title, rings in events)


# --- the plan itself -------------------------------------------------------------


@every_court
def test_the_feeds_tell_of_both_clocks(court: Court) -> None:
    """Each feed has work before and after the change, and somebody walks on the day itself."""
    found = written(court)
    assert sorted(found.feeds) == sorted(FEEDS)
    change = datetime.combine(court.change, datetime.min.time(), tzinfo=UTC)
    for feed in FEEDS:
        told = found.told(feed)
        assert told[0].end < change - timedelta(days=1)
        assert told[-1].start > change + timedelta(days=2)
        assert any(one.rings for one in told) == (feed not in ("ida", "cas"))
    titles = [one.title for one in found.told("site")]
    for what in ("MIST early", "MIST late", "NOBODY", "FINISH", "LOOK", "READ", "TEST", "CLOTH", "PAINT", "IF "):
        assert any(what in title for title in titles), what
    days = [datetime.fromisoformat(walk["start"]["local"]).date() for walk in found.plan["rounds"] if walk["who"]]
    assert days.count(court.change) >= 2


@every_court
def test_plan_json_has_the_hours_of_the_law(court: Court) -> None:
    """Local times stand at the offset that the country's law gives for that day."""
    plan = written(court).plan
    days = set()
    for end in (booking[end] | booking for booking in everything(plan) for end in ("start", "end")):
        local = datetime.fromisoformat(end["local"])
        assert local == datetime.fromisoformat(end["utc"])
        if end["zone"] != court.places[0].zone:
            assert end["local"][-6:] == "-07:00"  # Arizona, all year
        else:
            assert end["local"][-6:] == (court.after if local.date() >= court.change else court.before)
            days.add(local.date())
    assert {court.change - timedelta(days=1), court.change, court.change + timedelta(days=1)} <= days
    assert {
        datetime.fromisoformat(walk["start"]["local"]).time()
        for walk in plan["rounds"]
        if walk["slot"] == "early" and walk["who"] == ["ana"]
    } == {time(6)}, "the same hour by the clock on the wall, before the change and after it"


def test_a_morning_in_new_zealand_is_today_there(tmp_path: Path) -> None:
    """06:30 on Wednesday in Auckland, Tuesday evening at Greenwich: what was met on that Wednesday is met."""
    court = next(court for court in COURTS if court.country == "NZ")
    text = court.text("3").replace("north gable\n", f"north gable\n    holds: {{ panel-dry: {court.day(0)} }}\n")
    morning = datetime.fromisoformat(f"{court.at(clock='06:30')}{court.before}").astimezone(UTC)
    plan = planned(tmp_path, text, morning.isoformat()).plan
    assert [hold.met for hold in plan.holds if hold.point == "panel-dry"] == [court.today]


# --- programs --------------------------------------------------------------------


@needs("libical")
@every_court
def test_libical_finds_nothing_wrong(court: Court) -> None:
    for name, feed in written(court).feeds.items():
        assert libical_problems(feed) == [], name


@needs("ical.js")
@every_court
def test_icaljs_shows_the_plan(court: Court) -> None:
    found = written(court)
    for name, feed in found.feeds.items():
        events = icaljs_events(feed)
        read = shown((e["start_utc"], e["end_utc"], e["uid"], e["summary"], e["alarms"]) for e in events)
        assert read == found.told(name), name


@every_court
def test_recurring_ical_events_shows_the_plan(court: Court) -> None:
    found = written(court)
    for name, feed in found.feeds.items():
        events = recurring_events(feed, found.now - timedelta(days=30), found.now + timedelta(days=100))
        read = shown((e["start_utc"], e["end_utc"], e["uid"], e["summary"], e["alarms"]) for e in events)
        assert read == found.told(name), name


@needs("khal")
@a_few_courts
def test_khal_shows_the_plan(court: Court) -> None:
    """Khal tells that something rings, not when."""
    found = written(court)
    for name, feed in found.feeds.items():
        events = khal_events(feed, court.today - timedelta(days=10), 80)
        read = sorted((e["start_utc"], e["end_utc"], e["uid"], e["title"], e["has_alarm"]) for e in events)
        assert read == [(*one[:4], bool(one.rings)) for one in found.told(name)], name


@needs("vdirsyncer")
@pytest.mark.parametrize("court", [COURTS[1], COURTS[5]], ids=str)
def test_vdirsyncer_keeps_one_item_for_each_event(court: Court) -> None:
    found = written(court)
    for name, feed in found.feeds.items():
        with served(feed) as there:
            items = vdirsyncer_items(there.url)
        assert len(items) == len(found.told(name)), name
        assert sum("BEGIN:VALARM" in item for item in items) == sum(len(one.rings) for one in found.told(name)), name


@functools.cache
def stored() -> dict[tuple[Court, str], list[Stored]]:
    """Let one Thunderbird subscribe to every feed of every court."""
    with ExitStack() as stack:
        feeds = {
            (court, name): stack.enter_context(served(body))
            for court in COURTS
            for name, body in written(court).feeds.items()
        }
        urls = {f"{court} {name}": feed.url for (court, name), feed in feeds.items()}
        events = {f"{court} {name}": feed.ics.count(b"BEGIN:VEVENT") for (court, name), feed in feeds.items()}
        found = thunderbird_calendars(
            urls, wait=120, arrived=lambda there: {name: len(there[name]) for name in urls} == events
        )
    return {(court, name): found[f"{court} {name}"] for court, name in feeds}


@needs("thunderbird")
class TestThunderbird:
    @every_court
    def test_stores_the_plan(self, court: Court) -> None:
        found = written(court)
        for name in found.feeds:
            events = stored()[court, name]
            read = shown((e["start_utc"], e["end_utc"], e["uid"], e["title"], e["alarms"]) for e in events)
            assert read == found.told(name), name

    def test_stores_the_stamps_of_the_plan(self) -> None:
        """SEQUENCE and LAST-MODIFIED are those that plan.json keeps for each UID."""
        for (court, name), events in stored().items():
            marks = written(court).plan["events"]
            for event in events:
                assert event["modified"]
                told = (event["sequence"], event["modified"].strftime("%Y-%m-%dT%H:%M:%SZ"))
                assert told == (marks[event["uid"]]["sequence"], marks[event["uid"]]["modified"]), name
