"""Phones follow the plan: what changed is taken, what left is gone, and nothing else changes a byte.

A story of the invented job Alder Court, planned again and again as its file is edited; after
some of its steps a Thunderbird with the same profile polls again. Two simpler subscribers
poll after every step: one takes an event only if LAST-MODIFIED is newer, one only if SEQUENCE
is greater, as some phones do.
"""

from __future__ import annotations

import copy
import functools
import shutil
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from datetime import date, datetime, timedelta
from pathlib import Path
from random import Random
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

import pytest
from clock_change_jobs import COURTS, planned
from job_edits import edited
from jobs import invent, today_of, write
from programs import Feed, Stored, needs, served, thunderbird_calendars
from told_by_plan import Json, Told, Written, everything, modified, read_out, sequence, span, stamp, uids, vevents

pytestmark = pytest.mark.interop

COURT = COURTS[1]
"""Amsterdam, with tending across the end of summer time in 2027."""


# --- a story ---------------------------------------------------------------------


class Step(NamedTuple):
    """One pass of planning: what it wrote out, and whether a revision was saved."""

    written: Written
    saved: bool


def after(text: str, old: str, new: str) -> str:
    """Return the job file after an edit that must find its place."""
    assert old in text
    return text.replace(old, new)


def edits() -> Iterator[tuple[str, str, str, bool]]:
    """Yield name of a step, job file, the instant of planning, and whether Thunderbird polls then."""
    day, at, text = COURT.day, COURT.at, COURT.text()
    yield "first", text, at(), True
    yield "same day", text, at(clock="20:00"), False
    text = after(
        text, f"done: {{ base: {day(-20)} 14:00 }}", f"done: {{ base: {day(-20)} 14:00, finish: {day(0)} 14:30 }}"
    )
    yield "laid", text, at(1), False
    text = after(text, "name: north gable\n", f"name: north gable\n    holds: {{ panel-dry: {day(1)} }}\n")
    yield "met", text, at(1, "06:30"), True
    text = after(text, "        facing: 84°\n", f"        facing: 84°\n        done: {{ base: {day(1)} 14:00 }}\n")
    yield "laid too", text, at(1, "20:00"), False
    hours = "    hours: { mon-fri: 07:00-15:30 }\n"
    text = after(text, hours, f"{hours}    away: [{day(14)}]\n")
    yield "away", text, at(2), True
    text = after(text, "        facing: 84°\n", f"        facing: 84°\n        ended: {day(3)}\n")
    yield "ended", text, at(2, "08:30"), True
    yield "next day", text, at(3), False
    yield "comment", f"{text}# Nothing that a calendar tells.\n", at(3, "06:00"), False
    yield "lost", text, at(3, "06:10"), True


@functools.cache
def story() -> dict[str, Step]:
    steps: dict[str, Step] = {}
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for step, text, as_of, _ in edits():
            if step == "lost":
                shutil.rmtree(folder / "state")
            made = planned(folder, text, as_of)
            now = datetime.fromisoformat(as_of).replace(tzinfo=ZoneInfo(COURT.places[0].zone))
            steps[step] = Step(read_out(folder / "out", now), made.saved)
    return steps


@functools.cache
def stored() -> dict[str, dict[str, list[Stored]]]:
    """Let one Thunderbird poll after the steps at which it does, and return what it has of every feed."""
    found: dict[str, dict[str, list[Stored]]] = {}
    feeds: dict[str, Feed] = {}
    with tempfile.TemporaryDirectory() as name, ExitStack() as stack:
        for step in POLLED:
            bodies = story()[step].written.feeds
            stamps = {feed: {(uid, sequence(event)) for uid, event in vevents(bodies[feed]).items()} for feed in bodies}
            for feed, body in bodies.items():
                if feed not in feeds:
                    feeds[feed] = stack.enter_context(served(body))
                feeds[feed].ics = body

            def arrived(there: dict[str, list[Stored]], stamps: dict[str, set[tuple[str, int]]] = stamps) -> bool:
                return {feed: {(e["uid"], e["sequence"]) for e in events} for feed, events in there.items()} == stamps

            urls = {feed: there.url for feed, there in feeds.items()}
            for _ in range(STARTS):
                found[step] = thunderbird_calendars(urls, 12, Path(name) / "profile", arrived=arrived)
                if arrived(found[step]):
                    break
    return found


STARTS = 6
"""On a busy machine Thunderbird may fetch a feed as it starts and not look at it: then it is started again."""

POLLED = [step for step, _, _, polls in edits() if polls]


def by_uid(step: str) -> dict[str, Json]:
    return {booking["uid"]: booking for booking in everything(story()[step].written.plan)}


def bookings(step: str, *ids: str) -> list[Json]:
    found = {booking["id"]: booking for booking in everything(story()[step].written.plan)}
    return [found[one] for one in ids]


def in_site(step: str) -> dict[str, bytes]:
    return vevents(story()[step].written.feeds["site"])


def in_thunderbird(step: str, feed: str = "site") -> dict[str, Stored]:
    return {event["uid"]: event for event in stored()[step][feed]}


def untouched(one: str, two: str, wall: str) -> set[str]:
    """Return the UIDs of both steps whose bookings have nothing to do with a wall."""
    before, now = by_uid(one), by_uid(two)
    return {
        uid
        for uid in in_site(one).keys() & in_site(two).keys()
        if not any(face.startswith(f"{wall}-") for face in (*before[uid]["faces"], *now[uid]["faces"]))
    }


# --- Thunderbird -----------------------------------------------------------------


@needs("thunderbird")
class TestThunderbird:
    @pytest.mark.parametrize("step", POLLED)
    def test_shows_the_plan_after_every_poll(self, step: str) -> None:
        """No double, nothing left behind, in the site's calendar and in everybody's."""
        found = story()[step].written
        assert sorted(found.feeds) == ["ana", "cas", "ida", "mira", "site", "tom"]
        for feed, events in stored()[step].items():
            read = [Told(e["start_utc"], e["end_utc"], e["uid"], e["title"], tuple(e["alarms"])) for e in events]
            assert sorted(read) == found.told(feed), feed

    def test_a_hold_met_gives_the_same_events_their_titles_and_alarms(self) -> None:
        before, now = in_thunderbird("first"), in_thunderbird("met")
        freed = [uid for uid in before.keys() & now.keys() if before[uid]["title"].startswith("IF ")]
        assert set(freed) >= uids(bookings("met", "3-out.base", "3-out.finish", "3-out.finish.look", "3-out.paint-1"))
        for uid in freed:
            assert now[uid]["title"] == before[uid]["title"].removeprefix("IF ")
            assert now[uid]["start_utc"] == before[uid]["start_utc"]
            assert (before[uid]["alarms"], now[uid]["alarms"]) == ([], [now[uid]["start_utc"]])
            assert now[uid]["sequence"] > before[uid]["sequence"]
            old, new = before[uid]["modified"], now[uid]["modified"]
            assert old
            assert new
            assert new > old
        assert not any(event["title"].startswith("IF ") for event in now.values())
        (reading,) = bookings("first", "3.panel-dry")
        assert reading["uid"] in before.keys() - now.keys()

    def test_a_coat_that_moves_is_the_same_event_on_another_day(self) -> None:
        coat, look = uids(bookings("away", "4-out.finish")), uids(bookings("away", "4-out.finish.look"))
        for (uid,) in (coat, look):
            for feed in ("site", "mira"):
                before, now = in_thunderbird("met", feed)[uid], in_thunderbird("away", feed)[uid]
                assert now["title"] == before["title"]
                assert before["start_utc"].date() == date.fromisoformat(COURT.day(14))
                assert now["start_utc"].date() == date.fromisoformat(COURT.day(15))
                assert now["alarms"] == [now["start_utc"]]
                assert now["sequence"] > before["sequence"]

    def test_a_face_that_ended_is_gone_at_the_next_poll(self) -> None:
        end = datetime.fromisoformat(COURT.day(3)).replace(tzinfo=ZoneInfo(COURT.places[0].zone))
        before, now = in_thunderbird("away"), in_thunderbird("ended")
        gone = [booking for booking in by_uid("away").values() if booking["faces"] == ["4-out"]]
        gone = [booking for booking in gone if span(booking)[0] >= end and booking["uid"] in before]
        assert {booking["task"] for booking in gone} >= {"finish", "finish.look", "base-dry", "paint-1", "round"}
        assert not uids(gone) & now.keys()
        left = [event for event in now.values() if event["start_utc"] >= end]
        assert left
        assert not any("4" in event["title"].partition("·")[0].split() for event in left)


# --- stamps and bytes ------------------------------------------------------------


def test_the_story_is_what_it_is_told_as() -> None:
    assert [name for name, step in story().items() if not step.saved] == ["same day", "next day"]


def test_a_hold_met_changes_no_other_event() -> None:
    others = untouched("laid", "met", "3")
    assert len(others) > 20
    for uid in others:
        assert in_site("met")[uid] == in_site("laid")[uid]
    before, now = by_uid("laid"), by_uid("met")
    for uid in in_site("met"):
        if before[uid]["state"] != now[uid]["state"]:
            assert (before[uid]["state"], now[uid]["state"]) == ("conditional", "firm")
            assert (stamp(in_site("laid")[uid], "STATUS"), stamp(in_site("met")[uid], "STATUS")) == (
                "TENTATIVE",
                "CONFIRMED",
            )


@pytest.mark.parametrize(
    ("one", "two"), [("laid", "met"), ("laid too", "away"), ("away", "ended"), ("same day", "laid")]
)
def test_what_changed_rises_and_nothing_else_changes(one: str, two: str) -> None:
    """Where plan.json says the same of an event and of its holds, its bytes are the same."""
    before, now = by_uid(one), by_uid(two)
    were = {hold["id"]: hold for hold in story()[one].written.plan["holds"]}
    are = {hold["id"]: hold for hold in story()[two].written.plan["holds"]}
    seen = Counter[bool]()
    for uid in in_site(one).keys() & in_site(two).keys():
        old, new = in_site(one)[uid], in_site(two)[uid]
        same = before[uid] == now[uid] and all(were.get(hold) == are.get(hold) for hold in now[uid]["holds"])
        seen[same] += 1
        if same:
            assert new == old, now[uid]["id"]
        if new != old:
            assert sequence(new) > sequence(old), now[uid]["id"]
            assert modified(new) > modified(old), now[uid]["id"]
    assert all(seen[same] for same in (True, False))


def test_everybody_is_told_the_same() -> None:
    """But for the alarm, which watchers do not have."""
    for name, step in story().items():
        site = {uid: event.partition(b"BEGIN:VALARM")[0] for uid, event in in_site(name).items()}
        for feed in step.written.feeds.values():
            for uid, event in vevents(feed).items():
                assert event.partition(b"BEGIN:VALARM")[0] == site[uid]


@pytest.mark.parametrize(("one", "two"), [("first", "same day"), ("ended", "next day"), ("next day", "comment")])
def test_nothing_changed_and_not_a_byte_of_any_calendar(one: str, two: str) -> None:
    assert story()[two].written.feeds == story()[one].written.feeds


def test_a_window_that_moves_changes_no_event(tmp_path: Path) -> None:
    """Twelve days of nothing but tending: the old days leave the feed, new ones enter, the rest is the same.

    Wall 4 begins late, so that it is misted on the days on which the feed ends.
    """
    text = after(COURT.text("14"), "        facing: 84°\n", f"        facing: 84°\n        start: {COURT.day(25)}\n")
    found = []
    for days in (0, 12):
        made = planned(tmp_path, text, COURT.at(days))
        assert made.saved == (days == 0)
        now = datetime.fromisoformat(COURT.at(days)).replace(tzinfo=ZoneInfo(COURT.places[0].zone))
        found.append(read_out(tmp_path / "out", now))
    before, now_there = (vevents(one.feeds["site"]) for one in found)
    assert all(now_there[uid] == before[uid] for uid in before.keys() & now_there.keys())
    assert before.keys() - now_there.keys()
    assert now_there.keys() - before.keys()
    for one, events in zip(found, (before, now_there), strict=True):
        assert events.keys() == {told.uid for told in one.told("site")}


def test_asked_twice_about_an_unconfirmed_coat_the_plan_is_the_same(tmp_path: Path) -> None:
    """The finish of the first day is not written down; the plan of the next morning is made twice."""
    planned(tmp_path, COURT.text(), COURT.at())
    found = []
    for _ in range(2):
        made = planned(tmp_path, COURT.text(), COURT.at(1))
        found.append(read_out(tmp_path / "out", made.plan.as_of).feeds)
    assert found[1] == found[0]


def test_a_lost_state_counts_on() -> None:
    """Planned again without a state, no event is older than phones have it."""
    before, now = in_site("comment"), in_site("lost")
    both = before.keys() & now.keys()
    assert len(both) > 50
    assert all(sequence(now[uid]) >= sequence(before[uid]) for uid in both)
    assert all(modified(now[uid]) >= modified(before[uid]) for uid in both)
    assert story()["lost"].written.plan["revision"] == 1


class Subscriber:
    """Keeps events as a phone does that takes one it knows only if a stamp of it has risen."""

    def __init__(self, rises: Callable[[bytes], Any]) -> None:
        self._rises = rises
        self.kept: dict[str, bytes] = {}

    def poll(self, feed: bytes) -> None:
        there = vevents(feed)
        for uid in self.kept.keys() - there.keys():
            del self.kept[uid]
        for uid, event in there.items():
            if uid not in self.kept or self._rises(event) > self._rises(self.kept[uid]):
                self.kept[uid] = event

    def shows(self, feed: bytes) -> bool:
        return self.kept == vevents(feed)


STAMPS = pytest.mark.parametrize("rises", [modified, sequence], ids=["LAST-MODIFIED", "SEQUENCE"])


@STAMPS
@pytest.mark.parametrize("feed", ["site", "mira", "ana", "cas"])
def test_who_takes_only_what_is_newer_misses_nothing(feed: str, rises: Callable[[bytes], Any]) -> None:
    subscriber = Subscriber(rises)
    for name, step in story().items():
        subscriber.poll(step.written.feeds[feed])
        assert subscriber.shows(step.written.feeds[feed]), name


# --- invented jobs ------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(6))
def test_subscribers_of_any_job_miss_nothing(seed: int, tmp_path: Path) -> None:
    """Four passes with edits between them, hours or days apart, once with the state lost."""
    rng = Random(seed)
    job = invent(seed, 3 + seed, 1 + seed % 2)
    data, now = job.data, job.now
    zone = ZoneInfo(data["sites"][0]["time_zone"])
    subscribers: dict[str, list[Subscriber]] = {}
    for step in range(4):
        if step == 3:
            shutil.rmtree(tmp_path / "state")
        made = planned(tmp_path, write(data), f"{now.astimezone(zone):%Y-%m-%d %H:%M}")
        for name, feed in read_out(tmp_path / "out", now).feeds.items():
            for one in subscribers.setdefault(name, [Subscriber(modified), Subscriber(sequence)]):
                one.poll(feed)
                assert one.shows(feed), (step, name)
        now += timedelta(hours=rng.choice([1, 24, 72]))
        data = edited(rng, copy.deepcopy(data), made.plan, today_of(data, now))


@pytest.mark.parametrize("seed", range(12))
def test_titles_fit_a_phone_and_their_first_signs_a_watch(seed: int, tmp_path: Path) -> None:
    """At most 40 signs; within the first 14 they tell apart what one person has on one day."""
    job = invent(seed, 2 + 2 * seed, 1 + seed % 3)
    for wall in job.data["walls"]:
        wall["name"] = f"yard side, bay {wall['id']} beside the barn"
    zone = ZoneInfo(job.data["sites"][0]["time_zone"])
    planned(tmp_path, job.text, f"{job.now.astimezone(zone):%Y-%m-%d %H:%M}")
    feeds = read_out(tmp_path / "out", job.now).feeds
    for name, feed in feeds.items():
        seen = Counter[tuple[str, str]]()
        for event in vevents(feed).values():
            title = stamp(event, "SUMMARY").replace("\\,", ",").replace("\\;", ";").replace("\\\\", "\\")
            assert 0 < len(title) <= 40
            day = next(line for line in event.split(b"\r\n") if line.startswith(b"DTSTART;")).rpartition(b":")[2][:8]
            seen[day.decode(), title[:14]] += 1
        if name not in ("site", "ines", "owners"):
            assert [twice for twice, count in seen.items() if count > 1] == [], name


def test_rounds_that_nobody_walks_at_two_sites_tell_apart_on_a_watch(tmp_path: Path) -> None:
    """A wall at each site waits for its reading, and nobody is there at weekends."""
    court = COURTS[5]
    text = after(court.text("34"), f"site: b\n    holds: {{ panel-dry: {court.day(-1)} }}", "site: a")
    planned(tmp_path, after(text, "mon-sun: 06:00-20:30", "mon-fri: 06:00-20:30"), court.at())
    found = read_out(tmp_path / "out", datetime.fromisoformat(f"{court.at()}-06:00"))
    unnamed = [one for one in found.told("mira") if "NOBODY" in one.title]
    assert any(" IF met" in one.title for one in unnamed)
    zone = ZoneInfo(court.places[0].zone)
    seen = Counter((one.start.astimezone(zone).date(), one.title[:14]) for one in unnamed)
    assert [twice for twice, count in seen.items() if count > 1] == []
