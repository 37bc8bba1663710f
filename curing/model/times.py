"""Days, times and spans as a job file writes them: local, 24 hours, year first.

YAML 1.2 leaves ``07:30`` and ``2027-03-01`` as text; these functions alone read
them. Nothing may start before 04:00, because clocks change between 00:00 and
04:00 and such a time may not exist, or exist twice.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Annotated, Any

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, core_schema

from curing.model.quantities import clip

FIRST_YEAR, LAST_YEAR = 2000, 2100
MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
EARLIEST = 4 * 60  # minutes; no zone changes its clocks later in the day (common practice, no source)
_DATE, _TIME = r"[0-9]{4}-[0-9]{2}-[0-9]{2}", r"[0-9]{2}:[0-9]{2}"


def parse_date(text: object) -> date:
    """Return the day written ``2027-03-01``.

    Raises
    ------
    ValueError
        Another form, a day that does not exist, or a year outside 2000-2100.

    Examples
    --------
    >>> parse_date("2027-03-01")
    datetime.date(2027, 3, 1)
    """
    found = _text(text, "a date", "2027-03-01")
    if not re.fullmatch(_DATE, found):
        parts = re.fullmatch(r"([0-9]{4})[-/.]([0-9]{1,2})[-/.]([0-9]{1,2})", found)
        way = "{}-{:0>2}-{:0>2}".format(*parts.groups()) if parts else "2027-03-01"
        raise ValueError(f'"{clip(found)}" is not a date; write year, month and day as {way}')
    try:
        day = date.fromisoformat(found)
    except ValueError:
        raise ValueError(f'"{found}" is not a day of any calendar; correct the month or the day') from None
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise ValueError(f'"{found}" is outside {FIRST_YEAR} to {LAST_YEAR}; correct the year')
    return day


def parse_date_range(text: object) -> tuple[date, date]:
    """Return first and last day of ``2027-07-01..2027-07-14``; one date stands for itself.

    Raises
    ------
    ValueError
        Another form, or the last day before the first.

    Examples
    --------
    >>> first, last = parse_date_range("2027-07-01..2027-07-14")
    >>> (last - first).days
    13
    """
    found = _text(text, "a range of dates", "2027-07-01..2027-07-14")
    first, dots, last = (part.strip() for part in found.partition(".."))
    if not first or (dots and not last):
        raise ValueError(f'"{clip(found)}" has no end; write it as 2027-07-01..2027-07-14')
    days = parse_date(first), parse_date(last or first)
    if days[1] < days[0]:
        raise ValueError(f'"{found}" ends before it starts; write the earlier date first')
    return days


def parse_date_time(text: object) -> datetime:
    """Return the local time written ``2027-04-28 15:00``, without a zone: the site has it.

    A date alone stands for 15:00 of that day, when coats are commonly closed (assumption).

    Raises
    ------
    ValueError
        Another form, a day or time that does not exist, or a time before 04:00.

    Examples
    --------
    >>> parse_date_time("2027-04-28 14:10"), parse_date_time("2027-04-28")
    (datetime.datetime(2027, 4, 28, 14, 10), datetime.datetime(2027, 4, 28, 15, 0))
    """
    found = _text(text, "a date and time", "2027-04-28 15:00")
    if re.fullmatch(_DATE, found):
        return datetime.combine(parse_date(found), time(15))
    if not re.fullmatch(rf"{_DATE} {_TIME}", found):
        raise ValueError(f'"{clip(found)}" is not a date and time; write it as 2027-04-28 15:00')
    hour, minute = divmod(_not_at_night(_minutes(found[11:], most=24 * 60 - 1)), 60)
    return datetime.combine(parse_date(found[:10]), time(hour, minute))


def parse_time(text: object) -> int:
    """Return the minutes since midnight of ``07:30``.

    Raises
    ------
    ValueError
        Another form, or before 04:00.

    Examples
    --------
    >>> parse_time("07:30")
    450
    """
    return _not_at_night(_minutes(_text(text, "a time", "07:30"), most=24 * 60 - 1))


def parse_span(text: object) -> tuple[int, int]:
    """Return start and end of ``07:00-15:30`` in minutes since midnight, 04:00 to 24:00.

    Raises
    ------
    ValueError
        Another form, the end not after the start, or a start before 04:00.

    Examples
    --------
    >>> parse_span("07:00-15:30")
    (420, 930)
    """
    found = _text(text, "a span of time", "07:00-15:30")
    start, dash, end = (part.strip() for part in re.sub("[–—]", "-", found).partition("-"))
    if not (dash and start and end):
        raise ValueError(f'"{clip(found)}" is not a span of time; write start and end as 07:00-15:30')
    span = _minutes(start, most=24 * 60), _minutes(end, most=24 * 60)
    if span[1] <= span[0]:
        raise ValueError(f'"{found}" does not end after it starts; a span lies in one day, 04:00 to 24:00')
    _not_at_night(span[0])
    return span


def parse_quiet(text: object) -> tuple[int, int]:
    """Return start and end of ``21:00-06:00`` in minutes since midnight; ``none``: the same minute twice.

    Both lie at 04:00 or later, and the end may be the next morning.

    Raises
    ------
    ValueError
        Another form, no length, or a time before 04:00.

    Examples
    --------
    >>> parse_quiet("21:00-06:00"), parse_quiet("none")
    ((1260, 360), (0, 0))
    """
    found = _text(text, "quiet hours", "21:00-06:00")
    if found == "none":
        return (0, 0)
    start, dash, end = (part.strip() for part in re.sub("[–—]", "-", found).partition("-"))
    if not (dash and start and end):
        raise ValueError(f'"{clip(found)}" are no quiet hours; write them as 21:00-06:00, or none')
    span = parse_time(start), parse_time(end)
    if span[0] == span[1]:
        raise ValueError(f'"{found}" has no length; write quiet hours as 21:00-06:00, or none')
    return span


def _text(value: object, label: str, example: str) -> str:
    if isinstance(value, str):
        return value.strip()
    words = {bool: str(value).lower(), type(None): "nothing", list: "a list", dict: "a mapping"}
    shown = words.get(type(value)) or clip(f"{value:g}" if isinstance(value, float) else "this number")
    raise ValueError(f"{shown} is not {label}; write it as {example}")


def _minutes(text: str, *, most: int) -> int:
    parts = re.fullmatch(r"([0-9]{1,2}):([0-9]{2})", text)
    if not parts:
        raise ValueError(f'"{clip(text)}" is not a time; write hours and minutes as 07:30')
    if len(text) < 5:
        raise ValueError(f'"{text}" is not a time; write it as 0{text}')
    minutes = int(parts[1]) * 60 + int(parts[2])
    if int(parts[2]) > 59 or minutes > most:
        raise ValueError(f'"{text}" is not a time of day; the hours go from 00 to 23, the minutes to 59')
    return minutes


def _not_at_night(minutes: int) -> int:
    if minutes < EARLIEST:
        clock = "{:02}:{:02}".format(*divmod(minutes, 60))
        raise ValueError(f"{clock} is before 04:00, when clocks change; write 04:00 or later")
    return minutes


@dataclass(frozen=True)
class Written:
    """Mark of a pydantic field that is written in one form of text and kept as something else."""

    read: Callable[[object], Any]
    description: str
    pattern: str
    example: str

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_before_validator_function(self.read, handler(source))

    def __get_pydantic_json_schema__(self, _: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        return {
            "type": "string",
            "description": self.description,
            "pattern": f"^{self.pattern}$",
            "examples": [self.example],
        }


Day = Annotated[date, Written(parse_date, "a date", _DATE, "2027-03-01")]
DateRange = Annotated[
    tuple[date, date],
    Written(parse_date_range, "first and last day", rf"{_DATE}(\.\.{_DATE})?", "2027-07-01..2027-07-14"),
]
Moment = Annotated[datetime, Written(parse_date_time, "local date and time", f"{_DATE}( {_TIME})?", "2027-04-28 15:00")]
TimeOfDay = Annotated[int, Written(parse_time, "local time, 04:00 or later", _TIME, "07:30")]
Hours = Annotated[
    tuple[int, int], Written(parse_span, "start and end within one day", f"{_TIME}-{_TIME}", "07:00-15:30")
]
Quiet = Annotated[
    tuple[int, int],
    Written(parse_quiet, "quiet hours, over midnight or none", f"({_TIME}-{_TIME}|none)", "21:00-06:00"),
]
