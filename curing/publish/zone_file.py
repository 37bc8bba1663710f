"""The clock changes of a zone, read from the package ``tzdata``, the only zone source.

A zone's file (TZif, RFC 9636) lists its past changes of the clock and ends in
a footer, a POSIX TZ string, that says which yearly rule holds from then on.
"""

from __future__ import annotations

import difflib
import re
import struct
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import lru_cache
from importlib.resources import files

EPOCH = datetime(1970, 1, 1)  # noqa: DTZ001 - a clock change is told in local time, which has no zone
"""Changes before it are not told: calendar programs count from here."""

_NAME = r"(<[^>]+>|[A-Za-z]+)"
_TIME = r"([+-]?\d+(?::\d+){0,2})"
_FOOTER = re.compile(rf"{_NAME}{_TIME}(?:{_NAME}{_TIME}?,([^,]+),([^,]+))?")
_DATE = re.compile(rf"M(\d+)\.(\d)\.(\d)(?:/{_TIME})?")


@dataclass(frozen=True)
class Offset:
    """What the clocks show for a time.

    Parameters
    ----------
    seconds
        Distance from UTC [s], positive east of Greenwich.
    is_dst
        Whether the zone calls it its daylight saving time.
    name
        Abbreviation, such as ``CEST``.

    Examples
    --------
    >>> print(Offset(-12_600, False, "NST"))
    -0330
    """

    seconds: int
    is_dst: bool
    name: str

    def __str__(self) -> str:
        minutes, seconds = divmod(abs(self.seconds), 60)
        text = f"{'-' if self.seconds < 0 else '+'}{minutes // 60:02d}{minutes % 60:02d}"
        return f"{text}{seconds:02d}" if seconds else text


@dataclass(frozen=True)
class Change:
    """The clocks change at ``local``, as told by the clock that is about to be wrong."""

    local: datetime
    before: Offset
    after: Offset


@dataclass(frozen=True)
class YearlyDate:
    """The POSIX date ``Mmonth.week.weekday/time``.

    Parameters
    ----------
    month
        1 to 12.
    week
        1 to 4, or 5 for the last in the month.
    weekday
        0 (Sunday) to 6.
    seconds
        Time after midnight [s]; may be negative, or longer than the day.

    Examples
    --------
    >>> print(YearlyDate(10, 5, 0, 10_800).in_year(2026))
    2026-10-25 03:00:00
    """

    month: int
    week: int
    weekday: int
    seconds: int

    def in_year(self, year: int) -> datetime:
        """Return the local time it falls on in a year."""
        if self.week == 5:
            day = EPOCH.replace(year=year + self.month // 12, month=self.month % 12 + 1) - timedelta(days=1)
            day -= timedelta(days=(day.isoweekday() - self.weekday) % 7)
        else:
            day = EPOCH.replace(year=year, month=self.month)
            day += timedelta(days=(self.weekday - day.isoweekday()) % 7 + 7 * (self.week - 1))
        return day + timedelta(seconds=self.seconds)


@dataclass(frozen=True)
class YearlyRule:
    """The two changes of every year: to daylight saving time and back to standard time."""

    standard: Offset
    daylight: Offset
    start: YearlyDate
    end: YearlyDate

    def in_year(self, year: int) -> list[Change]:
        """Return the changes of a year in order of time."""
        there = Change(self.start.in_year(year), self.standard, self.daylight)
        back = Change(self.end.in_year(year), self.daylight, self.standard)
        return sorted((there, back), key=lambda change: change.local)


@dataclass(frozen=True)
class Zone:
    """One zone: the changes its file lists, then a yearly rule or ``standard`` for good.

    Parameters
    ----------
    listed
        The changes of the clock up to ``listed_until``, in order of time.
    listed_until
        Local time of the last line of the list, from which on the rule holds.
        That line need not change the clock: Greenland's of October 2023 says
        no more than that its summer time begins the year after.
    standard
        What the clocks show outside daylight saving time from then on.
    rule
        The two changes of every year from then on, if there are any.
    """

    listed: tuple[Change, ...]
    listed_until: datetime
    standard: Offset
    rule: YearlyRule | None

    def by_rule(self, year: int) -> list[Change]:
        """Return the changes of a year as the footer alone tells them."""
        return self.rule.in_year(year) if self.rule else []

    def in_year(self, year: int) -> list[Change]:
        """Return the changes of a year, from 1970 on, in order of time."""
        listed = [change for change in self.listed if change.local.year == year]
        return listed + [change for change in self.by_rule(year) if change.local > self.listed_until]

    def regular_since(self) -> int:
        """Return the first year, 1970 or later, from which the footer alone tells every change."""
        year = max(self.listed_until.year, EPOCH.year - 1) + 1
        while year > EPOCH.year and self.in_year(year - 1) == self.by_rule(year - 1):
            year -= 1
        return year

    def at_start_of(self, year: int) -> Offset:
        """Return what the clocks show as a year begins."""
        years = range(year, max(year, self.regular_since()) + 1)
        return next((change.before for y in years for change in self.in_year(y)), self.standard)


@lru_cache(maxsize=64)
def read_zone(name: str) -> Zone:
    """Read one zone of the package ``tzdata``.

    Raises
    ------
    ValueError
        There is no zone of that name.

    Examples
    --------
    >>> read_zone("Asia/Kolkata").standard
    Offset(seconds=19800, is_dst=False, name='IST')
    """
    package = files("tzdata")
    names = package.joinpath("zones").read_text(encoding="utf-8").split()
    if name not in names:
        near = difflib.get_close_matches(name, names, n=1)
        hint = f'; did you mean "{near[0]}"?' if near else ""
        raise ValueError(f'unknown time zone "{name}"; it must be a name of the tz database{hint}')
    return parse_zone(package.joinpath("zoneinfo", *name.split("/")).read_bytes(), name)


def parse_zone(data: bytes, name: str) -> Zone:
    """Read a zone from the bytes of a TZif file of version 2 or later.

    Raises
    ------
    ValueError
        The footer is not in a form that the tz database has used.

    References
    ----------
    .. [1] RFC 9636, sections 3.2 and 3.3: the second data block and the footer.
    """
    standard, rule = _read_footer(data[:-1].rpartition(b"\n")[2].decode("ascii"), name)
    lines = list(_read_changes(data))
    changes = [line for line in lines if line.after != line.before and line.local >= EPOCH]
    return Zone(tuple(changes), lines[-1].local if lines else EPOCH, standard, rule)


def _read_changes(data: bytes) -> Iterator[Change]:
    header = struct.Struct(">20x6I")
    utc, wall, leaps, times, types, letters = header.unpack_from(data)
    # The first block holds the same changes cut to 32 bits; the second is whole.
    second = header.size + times * 5 + types * 6 + letters + leaps * 8 + wall + utc
    utc, wall, leaps, times, types, letters = header.unpack_from(data, second)
    place = second + header.size
    instants = struct.unpack_from(f">{times}q", data, place)
    place += times * 8
    kinds = struct.unpack_from(f"{times}B", data, place)
    place += times
    names = data[place + types * 6 : place + types * 6 + letters]
    offsets = []
    for seconds, is_dst, start in struct.iter_unpack(">i?B", data[place : place + types * 6]):
        offsets.append(Offset(seconds, is_dst, names[start:].split(b"\0")[0].decode("ascii")))
    before = offsets[0]
    for instant, kind in zip(instants, kinds, strict=True):
        after = offsets[kind]
        local = EPOCH + timedelta(seconds=instant + before.seconds)
        yield Change(local, before, after)
        before = after


def _read_footer(footer: str, zone: str) -> tuple[Offset, YearlyRule | None]:
    match = _FOOTER.fullmatch(footer)
    if not match:
        raise ValueError(f'time zone {zone}: cannot read the rule "{footer}" of the installed tzdata')
    name, west, dst_name, dst_west, start, end = match.groups()
    standard = Offset(-_seconds(west), False, name.strip("<>"))
    if not dst_name:
        return standard, None
    ahead = -_seconds(dst_west) if dst_west else standard.seconds + 3600
    daylight = Offset(ahead, True, dst_name.strip("<>"))
    return standard, YearlyRule(standard, daylight, _read_date(start, zone), _read_date(end, zone))


def _read_date(text: str, zone: str) -> YearlyDate:
    match = _DATE.fullmatch(text)
    if not match:
        raise ValueError(f'time zone {zone}: cannot read the date "{text}" of the installed tzdata')
    month, week, weekday, time = match.groups()
    return YearlyDate(int(month), int(week), int(weekday), _seconds(time or "2"))


def _seconds(time: str) -> int:
    sign = -1 if time.startswith("-") else 1
    parts = [int(part) for part in time.lstrip("+-").split(":")]
    return sign * sum(part * unit for part, unit in zip(parts, (3600, 60, 1), strict=False))
