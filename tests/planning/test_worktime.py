"""Hours of people and days of crews, against a calendar worked out by hand."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from importlib.resources import files
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curing.model.job import BusySpan, Job, JobFile
from curing.planning.worktime import EARLIEST, Cause, DayOff, Worktime, instant, local, zone_of

AMSTERDAM, DENVER = "Europe/Amsterdam", "America/Denver"
MON, SAT, SUN = date(2027, 5, 3), date(2027, 5, 8), date(2027, 5, 9)
ASCENSION, PENTECOST = date(2027, 5, 6), date(2027, 5, 16)
HOLIDAYS = {ASCENSION: "Ascension Day", PENTECOST: "Pentecost", date(2027, 5, 17): "Pentecost Monday"}


def job(*, busy: tuple[BusySpan, ...] = (), crews: list[dict] | None = None) -> Job:
    people = [
        {"id": "ida", "name": "Ida", "hours": {"mon-fri": "07:00-15:30", "sat": "08:00-12:00"}},
        {"id": "bo", "name": "Bo", "hours": {"tue-fri": "07:30-16:00"}, "away": ["2027-05-11..2027-05-14"]},
        {"id": "vera", "name": "Vera", "hours": {"mon-fri": "06:30-20:00", "sun": "08:00-19:00"}},
        {"id": "noor", "name": "Noor", "hours": {"mon": "07:00-09:00", "holiday": "10:00-11:00"}},
        {"id": "kai", "name": "Kai", "hours": {"mon-sun": "07:00-18:00"}, "longest_round": "40 min"},
    ]
    site = {"id": "yard", "name": "Yard", "latitude": 52.1, "longitude": 5.2, "time_zone": AMSTERDAM}
    face = {"side": "out", "area": "10 m2", "height": "2.6 m", "system": "clay-lime"}
    file = JobFile.model_validate(
        {
            "curing": 1,
            "uid": "0b8f0c52-6a3e-4c7e-9a53-0d6a3b1c2d10",
            "name": "Alder Court",
            "sites": [site],
            "people": people,
            "crews": crews or [{"id": "a", "name": "A", "people": ["ida", "bo"]}],
            "walls": [{"id": "1", "name": "north", "faces": [face]}],
        }
    )
    return Job(file=file, systems={}, rule_values={}, holidays=HOLIDAYS, busy=busy, digests={})


WORK = Worktime(job())


@pytest.mark.parametrize(
    ("person", "day", "hours"),
    [
        ("ida", MON, (420, 930)),
        ("ida", SAT, (480, 720)),
        ("ida", SUN, None),
        ("ida", ASCENSION, None),  # a Thursday, but a holiday, and neither holiday nor sun is named
        ("bo", MON, None),
        ("bo", date(2027, 5, 10), None),  # a Monday
        ("bo", date(2027, 5, 11), None),  # first day away
        ("bo", date(2027, 5, 14), None),  # last day away
        ("bo", date(2027, 5, 18), (450, 960)),
        ("vera", ASCENSION, (480, 1140)),  # a holiday has Sunday's hours
        ("vera", PENTECOST, (480, 1140)),
        ("noor", ASCENSION, (600, 660)),  # own hours on holidays
        ("noor", date(2027, 5, 17), (600, 660)),  # a holiday on a Monday
        ("noor", MON, (420, 540)),
        ("noor", SUN, None),
    ],
)
def test_hours_of_a_person(person: str, day: date, hours: tuple[int, int] | None):
    assert WORK.hours(person, day) == hours
    assert WORK.hours(person, day) == hours  # the second answer comes from memory


@pytest.mark.parametrize(
    ("day", "off"),
    [
        (MON, None),  # Ida alone
        (date(2027, 5, 4), None),
        (ASCENSION, DayOff(Cause.HOLIDAY, "Ascension Day")),
        (SAT, DayOff(Cause.WEEKEND)),  # Ida is there, but the job lays no coats on Saturdays
        (PENTECOST, DayOff(Cause.WEEKEND)),  # a Sunday first, then a holiday
        (date(2027, 5, 17), DayOff(Cause.HOLIDAY, "Pentecost Monday")),
    ],
)
def test_working_days_of_a_crew(day: date, off: DayOff | None):
    assert WORK.off("a", day) == off


def test_a_crew_has_its_own_week_and_may_be_absent_whole():
    crews = [
        {"id": "b", "name": "B", "people": ["bo"]},
        {"id": "s", "name": "S", "people": ["ida"], "working_week": ["fri", "sat"]},
    ]
    work = Worktime(job(crews=crews))
    assert work.off("b", MON) == DayOff(Cause.NOBODY, "b")
    assert work.off("b", date(2027, 5, 12)) == DayOff(Cause.NOBODY, "b")
    assert work.off("s", SAT) is None
    assert work.off("s", MON) == DayOff(Cause.WEEKEND)
    assert work.present("s", SAT) == (("ida", (480, 720)),)


@pytest.mark.parametrize(
    ("person", "day", "minutes"),
    [("vera", SUN, 75), ("vera", MON, None), ("ida", SUN, None), ("kai", SUN, 40), ("kai", MON, 40)],
)
def test_longest_round(person: str, day: date, minutes: int | None):
    assert WORK.longest_round(person, day) == minutes


def test_crew_of():
    assert WORK.crew_of("bo").id == "a"
    assert WORK.crew_of("vera") is None


def test_the_wall_clock_stays_when_clocks_change():
    """Worked by hand: 07:30 is 05:30 UTC on Saturday 30 October 2027 and 06:30 UTC on Sunday."""
    zone = WORK.zone("yard")
    assert instant(zone, date(2027, 10, 30), 450) == datetime(2027, 10, 30, 5, 30, tzinfo=UTC)
    assert instant(zone, date(2027, 10, 31), 450) == datetime(2027, 10, 31, 6, 30, tzinfo=UTC)
    assert instant(zone, date(2027, 10, 30), 1440) == datetime(2027, 10, 30, 22, 0, tzinfo=UTC)
    assert local(zone, datetime(2027, 10, 31, 6, 30, 59, tzinfo=UTC)) == (date(2027, 10, 31), 450)


@given(
    st.sampled_from([AMSTERDAM, DENVER, "Pacific/Chatham", "Australia/Lord_Howe", "America/St_Johns", "UTC"]),
    st.dates(date(2020, 1, 1), date(2036, 12, 31)),
    st.integers(EARLIEST, 21 * 60),
    st.integers(0, 120),
)
def test_minutes_of_a_day_add_up_after_four(name: str, day: date, minute: int, more: int):
    zone = zone_of(name)
    at = instant(zone, day, minute)
    assert local(zone, at) == (day, minute)
    assert at == datetime(day.year, day.month, day.day, minute // 60, minute % 60, tzinfo=ZoneInfo(name))
    assert instant(zone, day, minute + more) - at == timedelta(minutes=more)


def seconds(*parts: int) -> int:
    return int(datetime(*parts, tzinfo=UTC).timestamp())


def test_time_taken_by_other_jobs_falls_on_local_days():
    busy = (
        BusySpan(person="ida", start=seconds(2027, 5, 3, 9), end=seconds(2027, 5, 3, 10, 30), job="x"),
        BusySpan(person="ida", start=seconds(2027, 5, 3, 5), end=seconds(2027, 5, 3, 6), job="x"),
        BusySpan(person="ida", start=seconds(2027, 5, 4, 20), end=seconds(2027, 5, 5, 3), job="y"),
        BusySpan(person="bo", start=seconds(2027, 5, 3, 5), end=seconds(2027, 5, 3, 6, 0, 1), job="x"),
    )
    work = Worktime(job(busy=busy))
    zone = work.zone("yard")  # two hours ahead of UTC in May
    assert work.taken("ida", zone, MON) == ((420, 480), (660, 750))
    assert work.taken("ida", zone, date(2027, 5, 4)) == ((1320, 1440),)
    assert work.taken("ida", zone, date(2027, 5, 5)) == ((0, 300),)
    assert work.taken("bo", zone, MON) == ((420, 481),)  # a begun minute is taken
    assert work.taken("vera", zone, MON) == ()
    denver = zone_of(DENVER)  # six hours behind
    assert work.taken("ida", denver, date(2027, 5, 2)) == ((1380, 1440),)
    assert work.taken("ida", denver, MON) == ((180, 270),)


def test_a_span_that_ends_at_midnight_leaves_the_next_day_free():
    busy = (BusySpan(person="ida", start=seconds(2027, 5, 3, 20), end=seconds(2027, 5, 3, 22), job="x"),)
    work = Worktime(job(busy=busy))
    assert work.taken("ida", work.zone("yard"), MON) == ((1320, 1440),)
    assert work.taken("ida", work.zone("yard"), date(2027, 5, 4)) == ()


def test_zones_come_from_the_package_and_no_other_file():
    for name in ("Europe/Amsterdam", "America/Argentina/Buenos_Aires", "Etc/GMT+5"):
        with files("tzdata").joinpath("zoneinfo", *name.split("/")).open("rb") as data:
            packaged = ZoneInfo.from_file(data)
        for day in (date(2027, 1, 15), date(2027, 7, 15)):
            noon = datetime(day.year, day.month, day.day, 12)
            assert noon.replace(tzinfo=zone_of(name)).utcoffset() == noon.replace(tzinfo=packaged).utcoffset()


@pytest.mark.parametrize("name", ["Europe/Alder", "", "Europe", "../tzdata", "Europe//Amsterdam", "/etc/passwd"])
def test_a_zone_that_is_none_says_so(name: str):
    with pytest.raises(ValueError, match="not a time zone"):
        zone_of(name)
