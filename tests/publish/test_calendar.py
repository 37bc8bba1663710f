"""Calendar feeds: what phones show, for whom, and that nothing but the plan changes a byte."""

from __future__ import annotations

import re
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import icalendar
import pytest
import recurring_ical_events
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sample_plans import (
    AMSTERDAM,
    NOW,
    PEOPLE,
    any_plans,
    booking,
    crew_days,
    face,
    hold,
    plan,
    visit,
    walk,
)

from curing.errors import PlanError
from curing.model.plan import Absence, Care, Kind, PersonPlan, Plan, Reason, SitePlan, Slot, State
from curing.publish.calendar import feeds, folded, large_feeds
from curing.publish.calendar_words import CALENDAR, CAUTIONS
from curing.publish.event_text import EventTexts, caution, cautions
from curing.publish.event_title import Titles, cut, plain
from curing.publish.revisions import mark
from curing.publish.words import CATALOGUE, Words

METRIC, US = Words(), Words("us")
SLOW = settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
DAY = timedelta(days=1)


def made(one: Plan, words: Words = METRIC, now: datetime = NOW) -> dict[str, bytes]:
    return feeds(mark(one, None, words), words, now)


def titles(one: Plan, words: Words = METRIC) -> list[str]:
    texts = Titles(one, words)
    return [texts.title(b) for b in one.everything()]


def body(one: Plan, words: Words = METRIC) -> str:
    """The description of the first event of the site's feed, as a phone shows it."""
    return str(events(made(one, words)["site"])[0]["DESCRIPTION"])


def events(feed: bytes) -> list[Any]:
    return list(icalendar.Calendar.from_ical(feed).walk("VEVENT"))


def lines(feed: bytes) -> list[str]:
    """Content lines, unfolded as RFC 5545 section 3.1 says."""
    return feed.replace(b"\r\n ", b"").decode("utf-8").split("\r\n")[:-1]


def uids(feed: bytes) -> set[str]:
    return {str(one["UID"]) for one in events(feed)}


# -- titles ------------------------------------------------------------------------------


def test_titles_say_what_to_do_first() -> None:
    faces = [face("3", name="road side bay 3"), face("4", name="north gable"), face("5", "in", "yard side bay 1")]
    one = plan(
        [
            booking("3-out.finish", NOW, thickness=8.0),
            booking("4-out.paint-1", NOW + DAY, title="PAINT 1"),
            booking("5.panel-dry", NOW + 2 * DAY, kind=Kind.READING, title="READ both sides", faces=("5-in",)),
            booking("3-out.base-dry", NOW + 3 * DAY, kind=Kind.TEST, title="TEST base"),
            booking("3-out.finish.look", NOW + 4 * DAY, kind=Kind.LOOK),
            booking("3-out.finish.cloth-down", NOW + 5 * DAY, kind=Kind.COVER),
            booking("5-in.base", NOW + 6 * DAY, title="BASE", thickness=13.0, state=State.CONDITIONAL),
        ],
        faces=faces,
    )
    assert titles(one) == [
        "3 out FINISH 8 mm · road side bay 3",
        "4 out PAINT 1 · north gable",
        "5 READ both sides · yard side bay 1",
        "3 out TEST base · road side bay 3",
        "3 out LOOK · road side bay 3",
        "CLOTH 3 out down · road side bay 3",
        "IF 5 in BASE 13 mm · yard side bay 1",
    ]


def test_titles_in_inches() -> None:
    one = plan([booking("3-out.finish", NOW, thickness=8.0), booking("3-out.base", NOW + DAY, thickness=13.0)])
    assert [title.partition(" · ")[0] for title in titles(one, US)] == ["3 out FINISH 5/16 in", "3 out FINISH 1/2 in"]


def test_titles_of_rounds() -> None:
    walls = [f"{k}-out" for k in range(1, 10)]
    air, look = visit("1-out", care=Care.AIR), visit("1-out", care=Care.LOOK)
    hour = timedelta(hours=1)
    one = plan(
        rounds=[
            walk(["1-out", "2-out", "7-out"], NOW),
            walk(walls, NOW + hour, Slot.LATE, minutes=70),
            walk(["1-out"], NOW + 2 * hour, who="ana", minutes=9, visits=(air,)),
            walk(["1-out"], NOW + 3 * hour, Slot.MIDDAY, minutes=9, visits=(look,)),
            walk(["1-out", "2-out"], NOW + 4 * hour, who="ida", minutes=10, visits=(air, visit("2-out"))),
            walk(["1-out", "2-out"], NOW + 5 * hour, who=""),
            walk(["1-out"], NOW + 6 * hour, Slot.LATE, who="cas", minutes=130, state=State.CONDITIONAL),
        ]
    )
    assert titles(one) == [
        "MIST early 1 2 7 · 45 min",
        "MIST late 9 walls · 70 min",
        "AIR early 1 · 9 min",
        "LOOK midday 1 · 9 min",
        "MIST early 1 2 · 10 min",
        "MIST early 1 2 · nobody named",
        "IF MIST late 1 · 2 h 10 min",
    ]


def test_both_sides_of_a_wall_on_one_round_are_one_wall() -> None:
    assert titles(plan(rounds=[walk(["5-out", "5-in", "6-out"], NOW)])) == ["MIST early 5 6 · 45 min"]


def test_walls_stand_in_walking_order() -> None:
    """One site, E on day 5, N, S and W on day 20: early E S W, late N E."""
    rounds = [walk(["e-out", "s-out", "w-out"], NOW, minutes=27), walk(["n-out", "e-out"], NOW + DAY, Slot.LATE)]
    assert titles(plan(rounds=rounds)) == ["MIST early e s w · 27 min", "MIST late n e · 45 min"]


def test_nobody_stands_first_where_the_lead_walks_too() -> None:
    """Else the lead's own round and the one that nobody walks look alike on a watch."""
    lead = PersonPlan("mira", "mira", "Mira", ("lead", "mists"))
    rounds = [walk(["5-out"], NOW, who="mira"), walk(["5-in"], NOW, who="")]
    assert sorted(titles(plan(rounds=rounds, people=(lead,)))) == [
        "MIST early 5 · 45 min",
        "NOBODY early 5 · MIST 45 min",
    ]


def test_long_ids_leave_the_task_in_sight_of_a_watch() -> None:
    one = plan(
        [
            booking("road-nor-out.base", NOW, title="BASE", thickness=13.0, state=State.CONDITIONAL),
            booking("road-nor-out.base.look", NOW + DAY, kind=Kind.LOOK, state=State.CONDITIONAL),
            booking("road-nor-out.finish.cloth-down", NOW + 2 * DAY, kind=Kind.COVER),
        ]
    )
    assert titles(one) == [
        "road-nor out BASE 13 mm IF met · road s…",
        "road-nor out LOOK IF met · road side bay",
        "road-nor out CLOTH down · road side bay",
    ]


@SLOW
@given(crew_days(), st.sampled_from([METRIC, US]))
def test_forty_signs_and_fourteen_that_tell_apart(one: Plan, words: Words) -> None:
    texts = Titles(one, words)
    for person in one.people:
        seen: Counter[tuple[date, str]] = Counter()
        for b in one.everything():
            title = texts.title(b)
            assert 0 < len(title) <= 40
            if not b.who:
                assert "nobody named" in title or title.removeprefix("IF ").startswith("NOBODY ")
            if person.id in b.who or ("lead" in person.roles and not b.who):
                seen[b.start.astimezone(ZoneInfo(AMSTERDAM)).date(), title[:14]] += 1
        assert [twice for twice, count in seen.items() if count > 1] == []


@given(st.text(), st.integers(1, 60))
def test_what_is_cut_is_short_enough_and_begins_alike(text: str, most: int) -> None:
    short = cut(text, most)
    assert len(short) <= most
    assert text == short if len(text) <= most else text.startswith(short.removesuffix("…"))


def test_nothing_is_cut_through_a_joined_sign() -> None:
    assert cut("ab\N{COMBINING DIAERESIS}cd", 3) == "a…"
    assert cut("a\N{WOMAN}\N{ZERO WIDTH JOINER}\N{PERSONAL COMPUTER}bcd", 4) == "a…"


# -- descriptions ------------------------------------------------------------------------


def test_description_of_a_round() -> None:
    visits = (
        visit("2-out", cloth=True, sun_from="13:10", sun_to="20:30"),
        visit("1-out", day=20, times_a_day=1),
        visit("3-out", conditional=True, sun_from="05:30", sun_to="13:35"),
    )
    faces = [face("1", name="road side bay 1"), face("2", name="road side bay 2"), face("3", name="yard")]
    method = ("Fog the whole face until it darkens. Never run-off.",)
    notes = walk(["2-out", "1-out", "3-out"], NOW, visits=visits, notes=method, until=NOW + timedelta(hours=2))
    assert body(plan(rounds=[notes], faces=faces)) == "\n".join(
        [
            "2 out road side bay 2: mist, 9 min. Finish coat, day 5 of 28. Twice a day.",
            "Cloth hangs before it: wet the cloth too. Sun on it from 13:10 to 20:30.",
            "1 out road side bay 1: mist, 9 min. Finish coat, day 20 of 28. Once a day now.",
            "3 out yard: mist, 9 min. Finish coat, day 5 of 28. Twice a day.",
            "Sun on it from 05:30 to 13:35. Only if that coat is laid by then.",
            "",
            "Fog the whole face until it darkens. Never run-off.",
            "It does its work until Tue 9 June 08:45.",
            "",
            CALENDAR["caution.lime"],
            CALENDAR["caution.sockets"],
            "Local codes and the maker's data sheet come first.",
            "",
            "Changed Tue 9 June 06:45. The page may be newer.",
        ]
    )


def test_description_of_a_coat(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(CATALOGUE, "why.test_start", "The job file says not before {day}.")  # type: ignore[attr-defined]
    coat = booking(
        "5-in.base",
        NOW,
        240,
        state=State.CONDITIONAL,
        holds=("5.panel-dry",),
        who=("mira", "tom"),
        absent=(Absence("tom", NOW + timedelta(hours=2), NOW + timedelta(hours=3)),),
        limits={"base.air_least": 5.0, "base.air_most": 30.0, "base.one_pass": 20.0},
        notes=("Brush it down.", "Key it."),
        cautions=("paint",),
        reason=Reason("job.start", "test_start", {"day": "2026-06-09"}),
    )
    one = plan([coat], holds=(hold("5.panel-dry", "Panel dry on both sides."),))
    assert body(one).splitlines() == [
        "5 in road side bay",
        "IF met by Tue 9 June: Panel dry on both sides.",
        "Read both sides.",
        "Why this day: The job file says not before Tue 9 June.",
        "",
        "From 08:45 to 09:45 one of the 2 is out on a round and missing here.",
        "No laying below 5 °C or when it falls to that before it has set (rule base.air_least).",
        "No laying above 30 °C (rule base.air_most).",
        "No thicker than 20 mm in one pass (rule base.one_pass).",
        "",
        "Brush it down.",
        "Key it.",
        "",
        "Paint: goggles; cover glass and metal.",
        "Local codes and the maker's data sheet come first.",
        "",
        "Changed Tue 9 June 06:45. The page may be newer.",
    ]
    assert "No laying below 41 °F" in body(one, US)
    assert "No thicker than 13/16 in" in body(one, US)


@pytest.mark.parametrize("values", [{}, {"thickness": None}, {"thickness": "x", "filled": 1, "day": ""}, {"key": 1}])
def test_a_sentence_that_lacks_its_values_is_told_by_its_rule(values: dict[str, Any]) -> None:
    for key in ("panel", "wait"):
        reason = Reason("own.rule", key, {"number": 3, "days": 1, **values})
        assert "Why this day: rule own.rule" in body(plan([booking("3-out.finish", NOW, reason=reason)]))


def test_a_coat_behind_a_conditional_one_says_so() -> None:
    assert "IF the coat before it is laid by Tue 9 June." in body(
        plan([booking("5-in.finish", NOW, state=State.CONDITIONAL)])
    )


def test_no_event_names_a_person() -> None:
    people = tuple(replace(one, name=f"Somebody{k}") for k, one in enumerate(PEOPLE))
    coat = booking("3-out.finish", NOW, absent=(Absence("tom", NOW, NOW + timedelta(minutes=5)),), who=("mira", "tom"))
    feed = made(plan([coat], [walk(["3-out"], NOW)], people=people))["site"]
    assert b"Somebody" not in feed


@pytest.mark.parametrize("key", CAUTIONS)
def test_cautions_stand_whole_and_defer_to_code_and_maker(key: str) -> None:
    text = body(plan([booking("3-out.finish", NOW, cautions=(key,))]))
    assert CALENDAR[f"caution.{key}"] in text
    assert "Local codes and the maker's data sheet come first." in text


def test_a_caution_of_ones_own_system_stands_for_itself() -> None:
    one = plan([booking("3-out.finish", NOW, cautions=("hot", "odd"))], cautions={"hot": "Hot lime spits."})
    assert "Hot lime spits.\nodd\nLocal codes" in body(one)
    assert cautions(METRIC, ("dust", "lime", "dust")) == {k: caution(METRIC, k) for k in ("dust", "lime")}


# -- the feed ------------------------------------------------------------------------------


def test_the_head_is_as_calendars_need_it() -> None:
    head = made(plan([booking("3-out.finish", NOW)], name="Alder; Court, Süd"))["mira"].partition(b"BEGIN:VEVENT")[0]
    assert head.decode().split("\r\n")[:8] == [
        "BEGIN:VCALENDAR",
        "PRODID:-//curing//curing//EN",
        "VERSION:2.0",
        "NAME:Alder\\; Court\\, Süd · Mira",
        "X-WR-CALNAME:Alder\\; Court\\, Süd · Mira",
        "REFRESH-INTERVAL;VALUE=DURATION:PT1H",
        "X-PUBLISHED-TTL:PT1H",
        "BEGIN:VTIMEZONE",
    ]
    assert b"METHOD" not in head
    assert b"UID" not in head


def test_an_event_byte_for_byte() -> None:
    look = booking("3-out.finish.look", NOW.replace(hour=13, minute=0), 10, kind=Kind.LOOK)
    feed = made(plan([look]))["site"].decode()
    event = feed[feed.index("BEGIN:VEVENT") : feed.index("END:VCALENDAR")]
    assert event.split("\r\n") == [
        "BEGIN:VEVENT",
        f"UID:{look.uid}",
        "DTSTAMP:20260609T044500Z",
        "DTSTART;TZID=Europe/Amsterdam:20260609T150000",
        "DTEND;TZID=Europe/Amsterdam:20260609T151000",
        "SEQUENCE:3385725",
        "LAST-MODIFIED:20260609T044500Z",
        "SUMMARY:3 out LOOK · road side bay",
        "STATUS:CONFIRMED",
        "LOCATION:Alder Court",
        "DESCRIPTION:3 out road side bay\\nWhy this day: rule own.rule\\n\\nChanged Tue",
        "  9 June 06:45. The page may be newer.",
        "BEGIN:VALARM",
        "ACTION:DISPLAY",
        "TRIGGER:PT0S",
        "DESCRIPTION:3 out LOOK · road side bay",
        "END:VALARM",
        "END:VEVENT",
        "",
    ]


def test_what_is_conditional_is_tentative_and_rings_for_nobody() -> None:
    states = {State.FIRM: ("CONFIRMED", 1), State.CONDITIONAL: ("TENTATIVE", 0), State.DONE: ("CONFIRMED", 0)}
    for state, (status, alarms) in states.items():
        (event,) = events(made(plan([booking("3-out.finish", NOW, state=state)]))["mira"])
        assert event["STATUS"] == status
        assert len(event.walk("VALARM")) == alarms
    assert events(made(plan([booking("3-out.finish", NOW, state=State.OFF)]))["mira"]) == []


def test_who_gets_what() -> None:
    people = (*PEOPLE, PersonPlan("ida", "ida", "Ida", ("architect",)))
    coat, look = booking("3-out.finish", NOW), booking("3-out.finish.look", NOW, kind=Kind.LOOK, who=("ida",))
    own, nobodys = walk(["3-out"], NOW), walk(["3-out"], NOW + DAY, who="")
    unnamed = booking("3.panel-dry", NOW, kind=Kind.READING, who=(), faces=("3-out",))
    done = booking("4-out.finish", NOW - DAY, who=(), state=State.DONE)
    found = made(plan([coat, look, unnamed, done], [own, nobodys], people=people))
    everything = {one.uid for one in (coat, look, own, nobodys, unnamed, done)}
    assert {name: uids(feed) for name, feed in found.items()} == {
        "site": everything,
        "mira": {coat.uid, nobodys.uid, unnamed.uid},
        "tom": {own.uid},
        "ida": {coat.uid, look.uid, done.uid},
        "cas": {coat.uid, done.uid},
    }
    assert b"BEGIN:VALARM" not in found["cas"]
    rings = {str(one["UID"]): bool(one.walk("VALARM")) for one in events(found["ida"])}
    assert rings == {coat.uid: False, look.uid: True, done.uid: False}


def test_a_feed_without_events_is_still_a_calendar() -> None:
    feed = made(plan())["mira"]
    assert events(feed) == []
    assert b"BEGIN:VTIMEZONE\r\nTZID:Europe/Amsterdam\r\n" in feed


def test_a_person_called_site_is_refused() -> None:
    with pytest.raises(PlanError, match=r'person "site": .*give another id'):
        made(plan(people=(PersonPlan("site", "site", "S", ()),)))


def test_the_window_is_a_week_back_and_sixty_days_ahead() -> None:
    noon = NOW.replace(hour=12)
    days = (-8, -7, 0, 60, 61)
    one = plan([booking(f"{k}-out.finish", noon + d * DAY) for k, d in enumerate(days)])
    shown = uids(made(one)["site"])
    assert [b.uid in shown for b in one.bookings] == [False, True, True, True, False]


def test_bytes_stay_while_nothing_changes() -> None:
    one = mark(plan([booking(f"{k}-out.finish", NOW + k * DAY) for k in range(0, 100, 3)]), None, METRIC)
    morning = feeds(one, METRIC, NOW)
    assert feeds(one, METRIC, NOW + timedelta(hours=12)) == morning
    later = feeds(one, METRIC, NOW + 20 * DAY)["site"]
    assert later != morning["site"]
    # Each event's own bytes are those that phones have already.
    before, after = (dict(_split(feed)) for feed in (morning["site"], later))
    both = before.keys() & after.keys()
    assert len(both) > 10
    assert all(before[uid] == after[uid] for uid in both)


def test_all_feeds_share_the_bytes_of_an_event() -> None:
    found = made(plan([booking("3-out.finish", NOW)]))
    event = dict(_split(found["mira"])).popitem()[1]
    assert event in found["site"]
    alarm = re.search(rb"BEGIN:VALARM\r\n.*END:VALARM\r\n", event, re.S)
    assert alarm
    assert event.replace(alarm[0], b"") in found["cas"]


def _split(feed: bytes) -> Iterator[tuple[bytes, bytes]]:
    for part in feed.split(b"BEGIN:VEVENT\r\n")[1:]:
        event = b"BEGIN:VEVENT\r\n" + part.partition(b"END:VEVENT\r\n")[0] + b"END:VEVENT\r\n"
        yield event.splitlines()[1], event


def test_large_feeds_are_warned_about() -> None:
    many = feeds(plan([booking(f"{k}-out.finish", NOW) for k in range(1001)], people=()), METRIC, NOW)
    told = [METRIC.notice(one) for one in large_feeds(many)]
    assert told[0].startswith("Calendar site: 1001 events; some calendars take 1,000 at most.")
    long = made(plan([booking(f"{k}-out.finish", NOW, notes=("x" * 250,) * 40) for k in range(80)]))
    assert METRIC.notice(large_feeds(long)[0]).startswith("Calendar site: 8")
    assert large_feeds(made(plan([booking("3-out.finish", NOW)]))) == ()


def test_five_hundred_events_well_under_half_a_second() -> None:
    one = mark(plan([], [walk(["1-out", "2-out"], NOW + k * timedelta(hours=1)) for k in range(500)]), None, METRIC)
    spent = []
    for _ in range(3):
        begun = time.process_time()
        feed = feeds(one, METRIC, NOW)["site"]
        spent.append(time.process_time() - begun)
    assert feed.count(b"BEGIN:VEVENT") == 500
    assert min(spent) < 0.5


# -- time --------------------------------------------------------------------------------


def starts(feed: bytes, first: date, last: date) -> dict[str, datetime]:
    """UID → start in UTC, as a program that knows only the file reads it."""
    found = recurring_ical_events.of(icalendar.Calendar.from_ical(feed)).between(first, last)
    return {str(one["UID"]): one["DTSTART"].dt.astimezone(UTC) for one in found}


@pytest.mark.parametrize(
    ("zone", "instants", "clock"),
    [
        # Europe goes back on 31 October 2027: 07:30 is 05:30 UTC on the 30th, 06:30 UTC on the 31st.
        (AMSTERDAM, [datetime(2027, 10, 30, 5, 30, tzinfo=UTC), datetime(2027, 10, 31, 6, 30, tzinfo=UTC)], "073000"),
        # New York goes back on 7 November 2027.
        ("America/New_York", [datetime(2027, 11, 6, 11, tzinfo=UTC), datetime(2027, 11, 7, 12, tzinfo=UTC)], "070000"),
        ("Asia/Kolkata", [datetime(2027, 11, 6, 1, 30, tzinfo=UTC)], "070000"),
        ("Etc/UTC", [datetime(2027, 11, 6, 7, tzinfo=UTC)], "070000"),
    ],
)
def test_clocks_change_and_the_hour_on_the_wall_stays(zone: str, instants: list[datetime], clock: str) -> None:
    rounds = [walk(["1-out"], at, zone=zone) for at in instants]
    one = plan(rounds=rounds, sites=(SitePlan("alder", "Alder Court", zone, 52.1, 5.2),))
    feed = made(one, now=instants[0])["site"]
    assert [line for line in lines(feed) if line.startswith("DTSTART;")] == [
        f"DTSTART;TZID={zone}:{at.astimezone(ZoneInfo(zone)):%Y%m%d}T{clock}" for at in instants
    ]
    assert feed.count(f"\r\nTZID:{zone}\r\n".encode()) == 1
    assert starts(feed, date(2027, 10, 1), date(2027, 12, 1)) == {r.uid: r.start for r in rounds}


def test_two_sites_have_their_own_clocks_in_one_feed() -> None:
    sites = (
        SitePlan("alder", "Alder Court", AMSTERDAM, 52.1, 5.2),
        SitePlan("birch", "Birch Lane", "America/New_York", 42.0, -73.0),
    )
    here, there = booking("1-out.base", NOW), booking("2-out.base", NOW + DAY, site="birch", zone="America/New_York")
    feed = made(plan([here, there], sites=sites))["site"]
    assert starts(feed, date(2026, 6, 1), date(2026, 6, 20)) == {here.uid: here.start, there.uid: there.start}
    assert feed.count(b"BEGIN:VTIMEZONE") == 2
    assert [str(one["LOCATION"]) for one in events(feed)] == ["Alder Court", "Birch Lane"]


# -- text is data ------------------------------------------------------------------------

# RFC 5545 section 3.3.11: backslash, comma, semicolon and line end are escaped, the colon is not.
ESCAPED = {
    "Project XYZ, Final Review": "Project XYZ\\, Final Review",
    "a;b": "a\\;b",
    "C:\\walls": "C:\\\\walls",
    "at 10:30": "at 10:30",
}


@pytest.mark.parametrize("name", ESCAPED)
def test_text_is_escaped_as_the_standard_says(name: str) -> None:
    feed = made(plan([booking("3-out.finish", NOW, kind=Kind.LOOK)], faces=[face("3", name=name)]))["site"]
    assert f"SUMMARY:3 out LOOK · {ESCAPED[name]}" in lines(feed)


@given(st.text("ab\\,é\N{WOMAN}", max_size=400).filter(lambda line: not line.endswith("\\")))
def test_lines_are_folded_as_the_standard_says(line: str) -> None:
    """RFC 5545 section 3.1: at most 75 octets, a space at the start of each further line, removed to read."""
    parts = folded(line).removesuffix(b"\r\n").split(b"\r\n ")
    assert b"".join(parts).decode() == line
    assert all(len(part) + (k > 0) <= 75 for k, part in enumerate(parts))
    # No more lines than needed: each is full but for a sign of four octets or an escape.
    assert all(len(part) >= 70 for part in parts[:-1])
    for part in parts[:-1]:
        part.decode()
        assert (len(part) - len(part.rstrip(b"\\"))) % 2 == 0


NASTY = [
    "x\r\nATTENDEE:mailto:a@b.c",
    "x\nEND:VEVENT\nBEGIN:VEVENT",
    "x\rBEGIN:VALARM",
    "x\x00\x07\x1b[31m\x7f\x85",
    "x\u2028BEGIN:VEVENT\u2029",
    "\u202egnitsim\u202c \u2066x\u2069 \u200f",
    "\\n\\,\\;;,:\"'",
    "<b>&amp;{name}{0}%s",
    "\N{WOMAN}\N{ZERO WIDTH JOINER}\N{PERSONAL COMPUTER}" * 30,
    "é" * 10_000,
    "=HYPERLINK(1)",
    "half \ud800 a sign",
    "",
]
HEAD = {"PRODID", "VERSION", "NAME", "X-WR-CALNAME", "REFRESH-INTERVAL", "X-PUBLISHED-TTL"}
ZONE = {"TZID", "TZOFFSETFROM", "TZOFFSETTO", "TZNAME", "RRULE"}
EVENT = {
    "UID",
    "DTSTAMP",
    "DTSTART",
    "DTEND",
    "SEQUENCE",
    "LAST-MODIFIED",
    "SUMMARY",
    "STATUS",
    "LOCATION",
    "DESCRIPTION",
}
PROPERTIES = {"BEGIN", "END", *HEAD, *ZONE, *EVENT, "ACTION", "TRIGGER"}


def judge(feed: bytes, count: int) -> None:
    """Judge a feed by the grammar of RFC 5545, section 3.1, with nothing of the program's own."""
    assert feed.endswith(b"END:VCALENDAR\r\n")
    raw = feed.split(b"\r\n")
    assert max(len(line) for line in raw) <= 75
    assert not any(b"\r" in line or b"\n" in line for line in raw)
    for line in raw:
        line.decode("utf-8")  # no sign is cut in two
    found = lines(feed)
    assert {re.split("[:;]", line)[0] for line in found} <= PROPERTIES
    assert not any(ord(sign) < 0x20 or 0x7F <= ord(sign) < 0xA0 for line in found for sign in line)
    assert found.count("BEGIN:VEVENT") == found.count("END:VEVENT") == count
    assert not re.search("[\u202a-\u202e\u2066-\u2069]", feed.decode())
    assert len(events(feed)) == count


def everywhere(nasty: str) -> Plan:
    """A plan with the same text in every field that holds text of a person's."""
    first = face("3", name=nasty)
    named = replace(first, coats=(replace(first.coats[0], name=nasty),))
    coat = booking(
        "3-out.finish",
        NOW,
        title=nasty,
        notes=(nasty, nasty),
        cautions=(nasty, "lime"),
        state=State.CONDITIONAL,
        holds=("3.panel-dry",),
        limits={f"finish.{nasty}": 3.0},
        reason=Reason(nasty, nasty, {"day": nasty}),
    )
    round_ = walk(
        ["3-out"], NOW + DAY, visits=(visit("3-out", sun_from=nasty, sun_to=nasty, cloth=True),), notes=(nasty,)
    )
    return plan(
        [replace(coat, uid=f"u{nasty}")],
        [round_],
        [named],
        name=nasty,
        holds=(hold("3.panel-dry", nasty, nasty),),
        sites=(SitePlan("alder", nasty, AMSTERDAM, 52.1, 5.2),),
        people=(PersonPlan("mira", "mira", nasty, ("lead", nasty)), PersonPlan("tom", "tom", nasty, ())),
        cautions={nasty: nasty},
    )


@pytest.mark.parametrize("nasty", NASTY, ids=range(len(NASTY)))
def test_no_text_breaks_out_of_its_field(nasty: str) -> None:
    one = everywhere(nasty)
    found = made(one)
    judge(found["site"], 2)
    judge(found["mira"], 1)
    assert max(map(len, titles(one))) <= 40
    assert len(found["mira"]) < 40_000


@SLOW
@given(st.text() | st.text("\r\n\\,;: BEGIN:VEVENT\u202e\x00é\N{WOMAN}\u200d"))
def test_no_drawn_text_breaks_out_of_its_field(nasty: str) -> None:
    judge(made(everywhere(nasty))["site"], 2)


@settings(SLOW, max_examples=25)
@given(any_plans())
def test_any_plan_makes_sound_feeds(one: Plan) -> None:
    if any(person.id == "site" for person in one.people):
        return
    now = one.bookings[0].start if one.bookings else NOW
    marked = mark(one, None, METRIC)
    for feed in feeds(marked, METRIC, now).values():
        judge(feed, len(events(feed)))
    assert feeds(marked, METRIC, now) == feeds(marked, METRIC, now)


@settings(SLOW, max_examples=25)
@given(crew_days())
def test_a_phone_reads_back_what_was_planned(one: Plan) -> None:
    texts = {b.uid: EventTexts(one, METRIC).event(b) for b in one.everything()}
    feed = made(one)["site"]
    for event in events(feed):
        meant = texts[str(event["UID"])]
        if "\\" in meant.title + meant.body:
            continue  # this reader takes an escaped backslash before n for a line end (RFC 5545 3.3.11)
        assert str(event["SUMMARY"]) == meant.title == plain(meant.title)
        assert str(event["DESCRIPTION"]).startswith(meant.body)
        assert event["DTSTART"].dt.astimezone(UTC) == meant.start
        assert event["DTEND"].dt.astimezone(UTC) == meant.end
        assert bool(event.walk("VALARM")) == meant.rings
