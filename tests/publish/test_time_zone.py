"""VTIMEZONE text against the tz database, the RFC's own example, and an independent reader."""

from __future__ import annotations

import io
import struct
import zoneinfo
from datetime import date, datetime, timedelta, tzinfo
from functools import cache
from importlib.resources import files

import pytest
from dateutil.tz import tzical
from hypothesis import given, settings
from hypothesis import strategies as st

from curing.publish.time_zone import vtimezone
from curing.publish.zone_file import parse_zone, read_zone

NAMES = files("tzdata").joinpath("zones").read_text().split()

# Each is awkward in its own way; what, stands beside it.
AWKWARD = [
    "Africa/Cairo",  # "last Thursday 24:00" may be in the next month
    "Africa/Casablanca",  # an hour back for Ramadan, by no yearly rule
    "America/Havana",  # its rule changes, and at midnight
    "America/Nuuk",  # changes on the evening before the last Sunday
    "America/Santiago",  # "first Saturday 24:00" is a Sunday; southern
    "America/St_Johns",  # half an hour off
    "America/Vancouver",  # gives up changing
    "Antarctica/Troll",  # two hours ahead in summer
    "Asia/Gaza",  # changes listed for decades
    "Asia/Jerusalem",  # "fourth Thursday 26:00" is a Friday
    "Asia/Kathmandu",  # never changes, quarter of an hour off
    "Australia/Lord_Howe",  # half an hour ahead in summer
    "Europe/Amsterdam",
    "Europe/Dublin",  # calls its winter time daylight saving
    "Pacific/Chatham",  # 45 minutes off, southern
]


@cache
def zone_of(name: str) -> zoneinfo.ZoneInfo:
    """Read a zone from the package tzdata, whatever the system holds."""
    with files("tzdata").joinpath("zoneinfo", *name.split("/")).open("rb") as file:
        return zoneinfo.ZoneInfo.from_file(file, key=name)


@cache
def as_read(text: str) -> tzinfo:
    """Return the zone that dateutil makes of a VTIMEZONE."""
    zone = tzical(io.StringIO(text)).get()
    assert zone is not None
    return zone


def is_told_once(zone: zoneinfo.ZoneInfo, local: datetime) -> bool:
    """Whether a local time is neither skipped nor repeated by a change of the clock."""
    here = local.replace(tzinfo=zone)
    return here.utcoffset() == here.replace(fold=1).utcoffset()


@pytest.mark.parametrize("name", AWKWARD)
@pytest.mark.parametrize(("first", "last"), [(2024, 2037), (2026, 2026), (2027, 2028), (2028, 2028)])
def test_morning_and_evening_of_every_week_and_around_every_change(name: str, first: int, last: int) -> None:
    zone, read = zone_of(name), as_read(vtimezone(name, date(first, 1, 1), date(last, 12, 31)))
    local = datetime(first, 1, 1, 7)
    while local.year <= last:
        soon = local + timedelta(days=7)
        changes = zone.utcoffset(local) != zone.utcoffset(soon)
        for hours in range(0, 7 * 24, 1 if changes else 24 * 7):
            for asked in (local + timedelta(hours=hours), local + timedelta(hours=hours + 12)):
                if is_told_once(zone, asked) and asked.year <= last:
                    assert read.utcoffset(asked) == zone.utcoffset(asked), asked
        local = soon


@pytest.mark.parametrize("name", [*AWKWARD, "America/Asuncion", "Australia/Sydney", "Pacific/Auckland"])
def test_the_first_days_of_any_year_are_told(name: str) -> None:
    """An observance is in force from the first day on: without one, some programs take UTC."""
    for year in range(1990, 2041):
        text = vtimezone(name, date(year, 1, 1), date(year, 1, 31))
        onsets = [line.removeprefix("DTSTART:") for line in text.split() if line.startswith("DTSTART:")]
        assert min(onsets) <= f"{year}0101T000000", year
        new_year = datetime(year, 1, 1, 7)
        assert as_read(text).utcoffset(new_year) == zone_of(name).utcoffset(new_year), year


@settings(max_examples=300, deadline=None)
@given(
    name=st.sampled_from(NAMES),
    local=st.datetimes(datetime(1990, 1, 1), datetime(2060, 12, 31)),
    before=st.integers(0, 900),
    after=st.integers(0, 900),
)
def test_any_time_in_any_window(name: str, local: datetime, before: int, after: int) -> None:
    zone = zone_of(name)
    local = local.replace(microsecond=0)
    text = vtimezone(name, local.date() - timedelta(days=before), local.date() + timedelta(days=after))
    if is_told_once(zone, local):
        assert as_read(text).utcoffset(local) == zone.utcoffset(local)


def test_every_zone_where_its_list_ends_and_its_rule_begins() -> None:
    """Greenland's list of 2023 ends in a line that changes no clock: its rule begins only after that."""
    asked = 0
    for name in NAMES:
        end = read_zone(name).listed_until.year
        for year in range(max(end - 1, 1990), end + 2):
            read, zone = as_read(vtimezone(name, date(year, 1, 1), date(year, 12, 31))), zone_of(name)
            for day in range(0, 365, 7):
                local = datetime(year, 1, 1, 7) + timedelta(days=day)
                if is_told_once(zone, local):
                    assert read.utcoffset(local) == zone.utcoffset(local), (name, local)
                    asked += 1
    assert asked > 10_000


def test_new_york_is_the_example_of_the_rfc() -> None:
    """RFC 5545, section 3.6.5: the rule of 2007, "shown with both a Standard and Daylight" observance."""
    text = vtimezone("America/New_York", date(2026, 10, 20), date(2026, 11, 20))
    observances = [set(part.split("\r\n")) for part in text.split("BEGIN:")]
    assert {
        "STANDARD",
        "DTSTART:20071104T020000",
        "RRULE:FREQ=YEARLY;BYMONTH=11;BYDAY=1SU",
        "TZOFFSETFROM:-0400",
        "TZOFFSETTO:-0500",
        "TZNAME:EST",
        "END:STANDARD",
    } < observances[3]
    assert {
        "DAYLIGHT",
        "DTSTART:20070311T020000",
        "RRULE:FREQ=YEARLY;BYMONTH=3;BYDAY=2SU",
        "TZOFFSETFROM:-0500",
        "TZOFFSETTO:-0400",
        "TZNAME:EDT",
        "END:DAYLIGHT",
    } < observances[2]


def test_a_zone_without_changes_has_one_observance() -> None:
    text = vtimezone("Asia/Kolkata", date(2026, 3, 1), date(2027, 3, 1))
    assert text.count("BEGIN:STANDARD") == 1
    assert "DAYLIGHT" not in text
    assert "RRULE" not in text
    assert "TZOFFSETFROM:+0530\r\nTZOFFSETTO:+0530\r\n" in text


def test_ireland_is_ahead_in_its_daylight_observance() -> None:
    text = vtimezone("Europe/Dublin", date(2026, 1, 1), date(2026, 12, 31))
    daylight = text[text.index("BEGIN:DAYLIGHT") : text.index("END:DAYLIGHT")]
    assert "BYMONTH=3" in daylight
    assert "TZOFFSETTO:+0100" in daylight


def test_every_zone_is_written_in_lines_that_any_program_reads() -> None:
    for name in NAMES:
        text = vtimezone(name, date(2026, 12, 1), date(2027, 2, 1))
        lines = text.split("\r\n")
        assert lines[:2] == ["BEGIN:VTIMEZONE", f"TZID:{name}"]
        assert lines[-2:] == ["END:VTIMEZONE", ""]
        assert "\n" not in "".join(lines)
        assert max(len(line.encode()) for line in lines) <= 75
        assert {line.partition(":")[0] for line in lines[:-1]} <= {
            *("BEGIN", "END", "TZID", "DTSTART", "TZOFFSETFROM", "TZOFFSETTO", "TZNAME", "RRULE"),
        }, name


@pytest.mark.parametrize("name", AWKWARD)
def test_a_window_that_slides_within_its_years_keeps_the_bytes(name: str) -> None:
    texts = {
        vtimezone(name, date(2026, 3, 1) + timedelta(days=d), date(2026, 5, 1) + timedelta(days=d))
        for d in range(0, 240, 7)
    }
    assert len(texts) == 1


@pytest.mark.parametrize("name", ["Europe/Amsterdam", "America/New_York", "Asia/Kolkata", "America/Santiago"])
def test_a_steady_zone_keeps_the_bytes_over_the_years(name: str) -> None:
    assert len({vtimezone(name, date(year, 1, 1), date(year + 1, 1, 1)) for year in range(2026, 2036)}) == 1


def test_a_file_with_the_old_first_block_reads_alike() -> None:
    """RFC 9636, section 3.2: readers of version 2 skip the first block, however long it is."""
    slim = files("tzdata").joinpath("zoneinfo", "Europe", "Amsterdam").read_bytes()
    header_length = 44
    assert slim[20:header_length] == struct.pack(">6I", 0, 0, 0, 0, 1, 1)
    second_block = slim[header_length + 6 + 1 :]
    utc, wall, leaps, times, types, letters = 2, 2, 1, 3, 2, 8
    counts = struct.pack(">6I", utc, wall, leaps, times, types, letters)
    first_block = bytes(times * 4 + times + types * 6 + letters + leaps * 8 + wall + utc)
    fat = slim[:20] + counts + first_block + second_block
    assert parse_zone(fat, "fat") == parse_zone(slim, "slim")
    assert parse_zone(slim, "slim").listed


def test_the_package_is_the_only_zone_source() -> None:
    """Dates are computed with the same zones as are published: importing curing drops the system's."""
    assert zoneinfo.TZPATH == ()


@pytest.mark.parametrize("footer", ["CET-1CEST,J60/2,J300/3", "", "CET"])
def test_a_footer_of_another_form_is_refused(footer: str) -> None:
    slim = files("tzdata").joinpath("zoneinfo", "Europe", "Amsterdam").read_bytes()
    known = b"CET-1CEST,M3.5.0,M10.5.0/3"
    with pytest.raises(ValueError, match="time zone Here: cannot read"):
        parse_zone(slim.replace(known, footer.encode()), "Here")


@pytest.mark.parametrize("name", ["Europe/Amsterdm", "", "../../etc/passwd", "tzdata.zi", "EUROPE/AMSTERDAM"])
def test_an_unknown_zone_is_refused(name: str) -> None:
    with pytest.raises(ValueError, match="unknown time zone"):
        vtimezone(name, date(2026, 1, 1), date(2026, 1, 2))


def test_a_misspelt_zone_gets_a_suggestion() -> None:
    with pytest.raises(ValueError, match='did you mean "Europe/Amsterdam"'):
        vtimezone("Europe/Amsterdm", date(2026, 1, 1), date(2026, 1, 2))


@pytest.mark.parametrize(
    ("first", "last"), [(date(2026, 2, 1), date(2026, 1, 1)), (date(1969, 12, 31), date(2026, 1, 1))]
)
def test_dates_out_of_order_or_before_1970_are_refused(first: date, last: date) -> None:
    with pytest.raises(ValueError, match="in order and not before 1970"):
        vtimezone("Europe/Amsterdam", first, last)
