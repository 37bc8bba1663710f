"""Each program shows a small feed of timed visits as it was meant, across both changes of the clock."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from programs import (
    icaljs_events,
    khal_events,
    libical_problems,
    needs,
    recurring_events,
    served,
    thunderbird_events,
    vdirsyncer_items,
)

from curing.publish.time_zone import vtimezone

pytestmark = pytest.mark.interop

ALARM_BEFORE = timedelta(minutes=10)

# uid, zone, local start, what the clocks of the world show then. Amsterdam goes
# back on 25 October 2026 and ahead on 28 March 2027 (European summer time ends
# and starts on the last Sundays of these months); New York goes back on
# 1 November 2026 and ahead on 14 March 2027 (first and second Sunday).
VISITS = [
    ("ams-1", "Europe/Amsterdam", "20261024T070000", datetime(2026, 10, 24, 5, tzinfo=UTC)),
    ("ams-2", "Europe/Amsterdam", "20261025T070000", datetime(2026, 10, 25, 6, tzinfo=UTC)),
    ("nyc-1", "America/New_York", "20261031T070000", datetime(2026, 10, 31, 11, tzinfo=UTC)),
    ("nyc-2", "America/New_York", "20261101T070000", datetime(2026, 11, 1, 12, tzinfo=UTC)),
    ("nyc-3", "America/New_York", "20270313T190000", datetime(2027, 3, 14, 0, tzinfo=UTC)),
    ("nyc-4", "America/New_York", "20270314T190000", datetime(2027, 3, 14, 23, tzinfo=UTC)),
    ("ams-3", "Europe/Amsterdam", "20270327T190000", datetime(2027, 3, 27, 18, tzinfo=UTC)),
    ("ams-4", "Europe/Amsterdam", "20270328T190000", datetime(2027, 3, 28, 17, tzinfo=UTC)),
]
TITLE = "Mist two faces, Alder Court: süd, 10 m²"
MEANT = [(uid, TITLE, start, start + timedelta(minutes=45)) for uid, _, _, start in VISITS]


def event(uid: str, zone: str, local: str) -> str:
    end = f"{local[:-4]}4500"  # all begin on the hour and take 45 minutes
    title = TITLE.replace(",", "\\,")
    lines = [
        "BEGIN:VEVENT",
        f"UID:{uid}",
        "DTSTAMP:20261001T080000Z",
        f"DTSTART;TZID={zone}:{local}",
        f"DTEND;TZID={zone}:{end}",
        f"SUMMARY:{title}",
        "BEGIN:VALARM",
        "ACTION:DISPLAY",
        "TRIGGER:-PT10M",
        f"DESCRIPTION:{title}",
        "END:VALARM",
        "END:VEVENT",
    ]
    return "".join(f"{line}\r\n" for line in lines)


def calendar(visits: list[tuple[str, str, str, datetime]], extra: str = "") -> bytes:
    zones = dict.fromkeys(zone for _, zone, _, _ in visits)
    return (
        f"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//test//EN\r\n{extra}"
        + "".join(vtimezone(zone, date(2026, 10, 1), date(2027, 4, 1)) for zone in zones)
        + "".join(event(uid, zone, local) for uid, zone, local, _ in visits)
        + "END:VCALENDAR\r\n"
    ).encode()


SMALL = calendar(VISITS)


@needs("libical")
class TestLibical:
    def test_finds_nothing_wrong_with_the_feed(self) -> None:
        assert libical_problems(SMALL) == []

    @pytest.mark.parametrize(
        ("broken", "says"),
        [
            (SMALL.replace(b"UID:ams-1\r\n", b""), "UID"),
            (SMALL.replace(b"DTSTART;TZID=Europe/Amsterdam:20261024T070000\r\n", b""), "DTSTART"),
            (SMALL.replace(b":20261024T070000", b":24 October"), "DTSTART"),
            (SMALL.replace(b"DTSTAMP:20261001T080000Z\r\n", b""), "DTSTAMP"),
            (SMALL.replace(b"UID:ams-1\r\n", b"UID:ams-1\r\nUID:ams-9\r\n"), "UID"),
            (SMALL.replace(b"TRIGGER:-PT10M\r\n", b""), "TRIGGER"),
            (SMALL.replace(b"TZID:America/New_York\r\n", b""), "TZID"),
            (SMALL.replace(b"TZOFFSETTO:-0500\r\n", b""), "TZOFFSETTO"),
            (calendar(VISITS, "METHOD:PUBLISH\r\n"), "ORGANIZER"),
        ],
    )
    def test_names_what_is_broken(self, broken: bytes, says: str) -> None:
        problems = libical_problems(broken)
        assert any(says in problem for problem in problems), problems


@needs("ical.js")
def test_icaljs_shows_the_visits() -> None:
    events = icaljs_events(SMALL)
    assert [(e["uid"], e["summary"], e["start_utc"], e["end_utc"]) for e in events] == MEANT
    assert all(e["alarms"] == [e["start_utc"] - ALARM_BEFORE] for e in events)


@needs("khal")
def test_khal_shows_the_visits() -> None:
    events = khal_events(SMALL, date(2026, 10, 1), 200)
    assert [(e["uid"], e["title"], e["start_utc"], e["end_utc"]) for e in events] == MEANT
    assert all(e["has_alarm"] for e in events)


@needs("khal")
def test_khal_lists_the_days_asked_for_and_no_more() -> None:
    assert [e["uid"] for e in khal_events(SMALL, date(2026, 10, 31), 2)] == ["nyc-1", "nyc-2"]


@needs("vdirsyncer")
def test_vdirsyncer_keeps_one_item_for_each_visit() -> None:
    with served(SMALL) as feed:
        items = vdirsyncer_items(feed.url)
    assert len(items) == len(VISITS)
    kept = [local for _, _, local, _ in VISITS for item in items if f":{local}\r\n" in item]
    assert kept == [local for _, _, local, _ in VISITS]
    assert all("BEGIN:VALARM" in item and "BEGIN:VTIMEZONE" in item for item in items)


def test_recurring_ical_events_shows_the_visits() -> None:
    events = recurring_events(SMALL, datetime(2026, 10, 1, tzinfo=UTC), datetime(2027, 4, 1, tzinfo=UTC))
    assert sorted((e["start_utc"], e["uid"], e["summary"], e["end_utc"]) for e in events) == [
        (start, uid, title, end) for uid, title, start, end in MEANT
    ]
    assert all(e["alarms"] == [e["start_utc"] - ALARM_BEFORE] for e in events)


@needs("thunderbird")
class TestThunderbird:
    def test_stores_the_visits_with_their_alarms(self) -> None:
        with served(SMALL) as feed:
            events = thunderbird_events(feed.url, wait=60)
        assert [(e["uid"], e["title"], e["start_utc"], e["end_utc"]) for e in events] == MEANT
        assert all(e["alarms"] == [e["start_utc"] - ALARM_BEFORE] for e in events)

    def test_follows_the_feed_when_it_changes(self, tmp_path: Path) -> None:
        """One visit moves to another day and one is called off: no double, nothing left behind."""
        moved = ("ams-2", "Europe/Amsterdam", "20261027T070000", datetime(2026, 10, 27, 6, tzinfo=UTC))
        with served(SMALL) as feed:
            assert len(thunderbird_events(feed.url, 60, tmp_path / "profile")) == len(VISITS)
            feed.ics = calendar([VISITS[0], moved, *VISITS[3:]])
            events = thunderbird_events(feed.url, 20, tmp_path / "profile")
        expected = [(uid, start) for uid, _, _, start in [VISITS[0], moved, *VISITS[3:]]]
        assert [(e["uid"], e["start_utc"]) for e in events] == expected
