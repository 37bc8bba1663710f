"""Days without coats, against the computus and the calendars of three countries."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import holidays
import pytest

from curing.model.job import Holidays
from curing.sources.holiday_calendar import non_working, unknown_country, unknown_region

EASTER = date(2027, 3, 28)  # Gregorian computus: golden number 14, epact 22, Sunday letter C


def days(years: list[int], **lines: Any) -> dict[date, str]:
    return dict(non_working(Holidays.model_validate(lines), years))


def test_the_netherlands_of_2027() -> None:
    found = days([2027], country="NL")
    moving = {EASTER, *(EASTER + timedelta(days=n) for n in (-2, 1, 39, 49, 50))}
    fixed = {date(2027, 1, 1), date(2027, 4, 27), date(2027, 12, 25), date(2027, 12, 26)}
    assert moving | fixed == set(found)
    assert EASTER + timedelta(days=39) == date(2027, 5, 6)
    assert found[date(2027, 5, 6)] == "Ascension Day"
    assert found[date(2027, 4, 27)] == "King's Day"


def test_names_are_english_where_the_country_has_them() -> None:
    assert days([2027], country="DE", region="BY")[date(2027, 1, 6)] == "Epiphany"
    assert days([2027], country="GB", region="SCT")[date(2027, 11, 30)].startswith("Saint Andrew's Day")


def test_a_region_has_days_that_the_country_has_not() -> None:
    assert date(2027, 1, 6) not in days([2027], country="DE")


def test_own_days_are_added_and_worked_days_taken_away() -> None:
    found = days(
        [2027], country="NL", days=["2026-12-24..2027-01-03", "2027-07-05"], worked=["2027-05-06", "2027-07-05"]
    )
    assert found[date(2027, 1, 2)] == "own day"
    assert found[date(2027, 1, 1)] == "New Year's Day"
    assert date(2026, 12, 24) not in found
    assert date(2027, 5, 6) not in found
    assert date(2027, 7, 5) not in found


def test_without_a_country_there_are_only_own_days() -> None:
    assert days([2027]) == {}
    assert days([2027], days=["2027-07-05"]) == {date(2027, 7, 5): "own day"}


def test_days_come_in_order_and_only_of_the_years_asked_for() -> None:
    found = list(days([2029, 2027], country="US", days=["2027-07-05"]))
    assert found == sorted(found)
    assert {day.year for day in found} == {2027, 2029}


@pytest.mark.parametrize(("code", "words"), [("UK", '"GB"'), ("XX", "ISO 3166-1"), ("ZZ", "own days")])
def test_unknown_countries_are_told(code: str, words: str) -> None:
    assert words in (unknown_country(code) or "")


@pytest.mark.parametrize(("country", "region"), [("NL", None), ("DE", "BY"), ("US", "CA")])
def test_known_ones_are_not(country: str, region: str | None) -> None:
    assert unknown_country(country) is None
    assert region is None or unknown_region(country, region) is None


def test_the_codes_known_are_those_of_the_library() -> None:
    listed = holidays.list_supported_countries(include_aliases=False)
    assert [code for code in listed if unknown_country(code) is not None] == []
    assert unknown_country("ZZ") is not None
