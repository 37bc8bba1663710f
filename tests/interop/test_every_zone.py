"""Every zone of the tz database is read alike by zoneinfo, libical and ical.js."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo, available_timezones

import pytest
from programs import icaljs_utc, libical_utc, needs

from curing.publish.time_zone import vtimezone

pytestmark = pytest.mark.interop

Reader = Callable[[bytes, list[tuple[str, datetime]]], list[datetime]]

READERS = [
    pytest.param(libical_utc, id="libical", marks=needs("libical")),
    pytest.param(icaljs_utc, id="ical.js", marks=needs("ical.js")),
]


def telling_days(zone: ZoneInfo, first: int, last: int) -> set[date]:
    """Return one day of each week, and every day within three of a change of the clock."""
    noon = datetime(first, 1, 1, 12, tzinfo=zone)
    days: set[date] = set()
    before = (noon - timedelta(days=1)).utcoffset()
    while noon.year <= last:
        if noon.weekday() == 0:
            days.add(noon.date())
        if noon.utcoffset() != before:
            days.update(noon.date() + timedelta(days=d) for d in range(-3, 4))
            before = noon.utcoffset()
        noon += timedelta(days=1)
    return {day for day in days if first <= day.year <= last}


def told_otherwise(reader: Reader, zones: list[str], first: int, last: int) -> dict[str, list[str]]:
    """Return, for each zone, the local times that a program reads otherwise than zoneinfo."""
    text = "".join(vtimezone(zone, date(first, 1, 1), date(last, 12, 31)) for zone in zones)
    ics = f"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//test//EN\r\n{text}END:VCALENDAR\r\n".encode()
    asked = [
        (zone, datetime(day.year, day.month, day.day, hour))
        for zone in zones
        for day in sorted(telling_days(ZoneInfo(zone), first, last))
        for hour in (7, 19)
    ]
    wrong: dict[str, list[str]] = {}
    for (zone, local), instant in zip(asked, reader(ics, asked), strict=True):
        expected = local.replace(tzinfo=ZoneInfo(zone)).astimezone(UTC)
        if instant != expected:
            wrong.setdefault(zone, []).append(f"{local} is {expected:%H:%M}Z, read as {instant:%H:%M}Z")
    return wrong


def test_there_are_all_zones() -> None:
    assert len(available_timezones()) > 550


@pytest.mark.parametrize("reader", READERS)
def test_every_zone_over_four_years(reader: Reader) -> None:
    assert told_otherwise(reader, sorted(available_timezones()), 2026, 2029) == {}


@pytest.mark.parametrize("reader", READERS)
@pytest.mark.parametrize("years", [(2026, 2026), (2026, 2027), (2027, 2027), (2028, 2029)], ids=str)
def test_zones_whose_text_depends_on_the_years(reader: Reader, years: tuple[int, int]) -> None:
    def text(zone: str, first: int, last: int) -> str:
        return vtimezone(zone, date(first, 1, 1), date(last, 12, 31))

    zones = [zone for zone in sorted(available_timezones()) if text(zone, 2026, 2026) != text(zone, 2029, 2029)]
    assert zones
    assert told_otherwise(reader, zones, *years) == {}


@pytest.mark.parametrize("reader", READERS)
def test_a_wrong_zone_would_be_seen(reader: Reader) -> None:
    """The proof can fail: Lisbon's rule under Amsterdam's name is an hour off, all year."""
    lisbon = vtimezone("Europe/Lisbon", date(2026, 1, 1), date(2026, 12, 31))
    ics = (
        "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//test//EN\r\n"
        f"{lisbon.replace('Europe/Lisbon', 'Europe/Amsterdam')}END:VCALENDAR\r\n"
    )
    seven = datetime(2026, 7, 1, 7)
    assert reader(ics.encode(), [("Europe/Amsterdam", seven)]) == [datetime(2026, 7, 1, 6, tzinfo=UTC)]
