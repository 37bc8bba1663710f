"""The plan written by hand goes through every step that a plan of the program goes through."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime, timedelta
from typing import Any

import icalendar
import pytest
import recurring_ical_events
import seven_walls

from curing.model.plan import Plan, State
from curing.publish.calendar import feeds
from curing.publish.plan_json import dump, load, text
from curing.publish.revisions import mark
from curing.publish.words import Words

METRIC, US = Words(), Words("us")


def told(words: Words = METRIC) -> Plan:
    return mark(seven_walls.told(), None, words)


def plan(words: Words = METRIC) -> Plan:
    return mark(seven_walls.plan(), told(words), words)


def shown(feed: bytes) -> dict[str, Any]:
    """Events by UID, as a program that knows only the file reads them."""
    found = recurring_ical_events.of(icalendar.Calendar.from_ical(feed)).between(date(2026, 6, 1), date(2026, 7, 1))
    return {str(one["UID"]): one for one in found}


@pytest.mark.parametrize("words", [METRIC, US], ids=["metric", "us"])
def test_it_comes_back_from_its_written_form(words: Words) -> None:
    made = plan(words)
    assert load(json.loads(text(dump(made, words)))) == made


@pytest.mark.parametrize("words", [METRIC, US], ids=["metric", "us"])
def test_phones_show_the_hours_of_the_plan(words: Words) -> None:
    made = plan(words)
    found = feeds(made, words, seven_walls.NOW)
    since = datetime(2026, 6, 2, tzinfo=UTC)
    there = {b.uid: b for b in made.everything() if b.end >= since}
    read = shown(found["site"])
    assert read.keys() == there.keys()
    for uid, one in read.items():
        assert one["DTSTART"].dt.astimezone(UTC) == there[uid].start
        assert one["DTEND"].dt.astimezone(UTC) == there[uid].end
    for person in made.people:
        mine = {uid for uid, b in there.items() if person.id in b.who}
        assert mine <= shown(found[person.id]).keys()


def test_the_moved_coat_and_what_it_drags_are_newer_and_nothing_else_is() -> None:
    before, after = told(), plan()
    raised = {b.id for b in after.everything() if after.events[b.uid] != before.events[b.uid]}
    assert raised == {"3-out.finish", "3-out.finish.look"}
    (change,) = after.changes
    assert after.events[change.uid].sequence == before.events[change.uid].sequence + 1
    was, now = (shown(feeds(one, METRIC, seven_walls.NOW)["tom"])[change.uid] for one in (before, after))
    assert change.old
    assert change.new
    assert was["DTSTART"].dt.astimezone(UTC) == change.old.start == datetime(2026, 6, 10, 5, 30, tzinfo=UTC)
    assert now["DTSTART"].dt.astimezone(UTC) == change.new.start == datetime(2026, 6, 12, 5, 30, tzinfo=UTC)
    assert now["SEQUENCE"] == was["SEQUENCE"] + 1


def test_what_is_held_rings_for_nobody() -> None:
    made = plan()
    read = shown(feeds(made, METRIC, seven_walls.NOW)["site"])
    held = {b.uid for b in made.everything() if b.state is State.CONDITIONAL}
    silent = {uid for uid, one in read.items() if not one.walk("VALARM")}
    done = {b.uid for b in made.bookings if b.state is State.DONE}
    assert [str(read[uid]["SUMMARY"]) for uid in held] == ["IF 5 out BASE 13 mm · yard side bay 1"]
    assert silent == (held | done) & read.keys()
    assert {uid for uid, one in read.items() if one["STATUS"] == "TENTATIVE"} == held


def test_tom_walks_paints_and_leaves_the_paint_for_the_late_walk() -> None:
    read = shown(feeds(plan(), METRIC, seven_walls.NOW)["tom"])
    tuesday = sorted(
        (f"{one['DTSTART'].dt:%H:%M}-{one['DTEND'].dt:%H:%M}", str(one["SUMMARY"]))
        for one in read.values()
        if one["DTSTART"].dt.date() == date(2026, 6, 16)
    )
    assert tuesday == [
        ("07:00-07:35", "MIST early 5 1 2 3 · 35 min"),
        ("15:40-17:00", "4 out PAINT 2 · north gable"),
        ("16:30-17:00", "MIST late 5 2 3 · 30 min"),
    ]
    paint = next(one for one in read.values() if "PAINT 2" in one["SUMMARY"])
    assert "From 16:30 to 17:00 one of the 2 is out on a round and missing here." in paint["DESCRIPTION"]


def test_the_sunday_nobody_takes_is_in_the_leads_calendar() -> None:
    found = feeds(plan(), METRIC, seven_walls.NOW)
    sunday = {
        name: sorted(str(e["SUMMARY"]) for e in shown(feed).values() if e["DTSTART"].dt.date() == date(2026, 6, 14))
        for name, feed in found.items()
    }
    both = ["MIST early 1 2 3 · nobody named", "MIST late 2 3 · nobody named"]
    assert sunday == {"site": both, "mira": both, "tom": [], "ana": [], "ida": [], "cas": []}


def test_the_first_signs_tell_a_day_apart_on_every_watch() -> None:
    for name, feed in feeds(plan(US), US, seven_walls.NOW).items():
        seen = [(e["DTSTART"].dt.date(), str(e["SUMMARY"])[:14]) for e in shown(feed).values()]
        assert len(seen) == len(set(seen)), name


def test_the_plan_holds_what_it_says_of_itself() -> None:
    """Worked out again from the days of laying: day 1 is the day after, twice to day 14 or 3, then once."""
    laid = {(b.faces[0], b.task): (b.end + timedelta(hours=2)).date() for b in seven_walls.plan().bookings if b.crew}
    visits: dict[tuple[str, str, date], int] = {}
    for walk in seven_walls.plan().rounds:
        for one in walk.visits:
            day = (walk.start + timedelta(hours=2)).date()
            assert one.day == (day - laid[one.face, one.coat]).days
            visits[one.face, one.coat, day] = visits.get((one.face, one.coat, day), 0) + 1
    asked: dict[tuple[str, str, date], int] = {}
    for (face, task), day in laid.items():
        for k in range(1, {"base": 4, "finish": 29}.get(task, 0)):
            if date(2026, 6, 9) <= day + timedelta(k) <= date(2026, 6, 17):
                asked[face, task, day + timedelta(k)] = 1 if task == "finish" and k > 14 else 2
    finished = {face for face, task in laid if task == "finish" and laid[face, task] < date(2026, 6, 9)}
    assert visits == {key: n for key, n in asked.items() if not (key[1] == "base" and key[0] in finished)}
