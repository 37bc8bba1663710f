"""Answers as people type them, turned into what a job file says; ValueError says what to type."""

from __future__ import annotations

import re
from typing import Any

from curing.model.job import WEEKDAYS, named_days
from curing.model.quantities import clip
from curing.model.times import parse_date, parse_date_range, parse_span

_YES, _NO = ("yes", "y"), ("no", "n")
_DAY_NAMES = {"mo": "mon", "monday": "mon", "tues": "tue", "tuesday": "tue", "wednesday": "wed", "thur": "thu",
              "thurs": "thu", "thursday": "thu", "friday": "fri", "saturday": "sat", "sunday": "sun",
              "holidays": "holiday"}  # fmt: skip
_CLOCK = r"([0-9]{1,2})(?:[:.h]([0-9]{2}))? ?(am|pm|a\.m\.|p\.m\.)?"
_SPAN = re.compile(rf"{_CLOCK} ?(?:-|–|to) ?{_CLOCK}", re.I)
_NUMBER = r"[+-]?[0-9]+(?:\.[0-9]+)?"
_DEGREES = re.compile(
    rf"({_NUMBER}) ?°? ?(?:([0-9]+(?:\.[0-9]+)?) ?['′])? ?(?:([0-9]+(?:\.[0-9]+)?) ?[\"″])? ?([NSEW]?)", re.I
)


def read_yes(text: str) -> bool:
    """Return whether an answer says yes.

    Examples
    --------
    >>> read_yes("Y"), read_yes("no")
    (True, False)
    """
    word = text.strip().casefold()
    if word in _YES:
        return True
    if word in _NO:
        return False
    raise ValueError(f'"{clip(text)}" is neither yes nor no; type yes or no')


def read_choice(text: str, choices: tuple[str, ...], kind: str) -> str:
    """Return one of several words, from the whole of it or a beginning that only one has.

    Examples
    --------
    >>> read_choice("b", ("out", "in", "both"), "side")
    'both'
    """
    word = text.strip().casefold()
    found = [one for one in choices if one == word] or [one for one in choices if word and one.startswith(word)]
    if len(found) == 1:
        return found[0]
    raise ValueError(f'"{clip(text)}" is no {kind}; type {", ".join(choices[:-1])} or {choices[-1]}')


def read_list(text: str) -> list[str]:
    """Return the parts of an answer between commas, semicolons, "and" or "+"."""
    return [part.strip() for part in re.split(r"[,;+]|\band\b", text) if part.strip()]


def read_week(text: str) -> tuple[str, ...]:
    """Return working days in the order of the week.

    Examples
    --------
    >>> read_week("mon-thu, sat")
    ('mon', 'tue', 'wed', 'thu', 'sat')
    """
    days: set[str] = set()
    for part in read_list(text.replace(" to ", "-")):
        found = named_days(_days(part))
        if found == ("holiday",):
            raise ValueError("a holiday is no day of the week; type days such as mon-fri")
        days.update(found)
    if not days:
        raise ValueError("no day is named; type days such as mon-fri")
    return tuple(day for day in WEEKDAYS if day in days)


def short_week(days: tuple[str, ...]) -> list[str]:
    """Return days of a week in ranges.

    Examples
    --------
    >>> short_week(("mon", "tue", "wed", "sat"))
    ['mon-wed', 'sat']
    """
    ranges: list[list[str]] = []
    for day in days:
        if ranges and WEEKDAYS.index(day) == WEEKDAYS.index(ranges[-1][-1]) + 1:
            ranges[-1].append(day)
        else:
            ranges.append([day])
    return [one[0] if len(one) == 1 else f"{one[0]}-{one[-1]}" for one in ranges]


def _days(text: str) -> str:
    parts = [_DAY_NAMES.get(part.strip(), part.strip()) for part in text.casefold().replace("–", "-").split("-")]
    return "-".join(parts)


def read_hours(text: str, days: tuple[str, ...]) -> tuple[tuple[str, str], ...]:
    """Return somebody's hours: a span for given days, or spans that name theirs.

    Parameters
    ----------
    text
        ``07:00-15:30``, ``7am-3:30pm``, ``mon-thu 07:00-15:30, fri 07:00-12:00``.
    days
        Days that a bare span is for, as a job file names them.

    Examples
    --------
    >>> read_hours("7-15:30", ("mon-fri",)), read_hours("mon-thu 7am-3:30pm, fri 07:00-12:00", ("mon-fri",))
    ((('mon-fri', '07:00-15:30'),), (('mon-thu', '07:00-15:30'), ('fri', '07:00-12:00')))
    """
    found: list[tuple[str, str]] = []
    for part in [one for one in re.split(r"[,;]", text) if one.strip()]:
        match = re.search(r"(?<![A-Za-z0-9:.-])[0-9].*", part.strip())
        if not match:
            raise ValueError(f'"{clip(part.strip())}" is not a span of time; type start and end as 07:00-15:30')
        named = part.strip()[: match.start()].strip(" :")
        span = read_span(match[0])
        keys = (_days(named.replace(" to ", "-").replace(" ", "")),) if named else days
        for key in keys:
            twice = next((day for day in named_days(key) for other, _ in found if day in named_days(other)), None)
            if twice:
                raise ValueError(f"{twice} is named twice; name each day once")
            found.append((key, span))
    if not found:
        raise ValueError("no hours are named; type start and end as 07:00-15:30")
    return tuple(found)


def read_span(text: str) -> str:
    """Return a span of a day in 24 hours.

    Examples
    --------
    >>> read_span("7am - 3:30 pm"), read_span("8-20")
    ('07:00-15:30', '08:00-20:00')
    """
    match = _SPAN.fullmatch(text.strip())
    span = f"{_clock(*match.groups()[:3])}-{_clock(*match.groups()[3:])}" if match else text.strip()
    parse_span(span)
    return span


def _clock(hour: str, minute: str | None, half: str | None) -> str:
    number = int(hour)
    if half:
        if not 1 <= number <= 12:
            raise ValueError(f'"{hour}{half}" is not a time; type it as 07:30 or 7:30am')
        number = number % 12 + (12 if half.casefold().startswith("p") else 0)
    return f"{number:02}:{minute or '00'}"


def read_position(text: str) -> tuple[str, str]:
    """Return latitude and longitude as decimal degrees, from decimals or degrees, minutes and seconds.

    Examples
    --------
    >>> read_position("52.1, 5.2"), read_position("44.5 N 72.6 W"), read_position("52°06'N 5°12'E")
    (('52.1', '5.2'), ('44.5', '-72.6'), ('52.1', '5.2'))
    """
    plain = text.strip().replace("º", "°").replace("−", "-").replace("’", "'").replace("”", '"')
    found = re.sub(r"^(lat\w*|latitude)[: ]*|(?<=[, ])(lon\w*|longitude|lng)[: ]*", "", plain, flags=re.I)
    match = re.fullmatch(rf"{_DEGREES.pattern}(?: *[,;] *| +|(?<=[NS])){_DEGREES.pattern}", found, re.I)
    if not match:
        hint = "type latitude and longitude as maps show them: 52.1, 5.2 (south and west have a minus)"
        if re.fullmatch(r"[+-]?[0-9]+,[0-9]+[ ,;]+[+-]?[0-9]+,[0-9]+", found):
            hint = "write points for decimals: 52.1, 5.2"
        raise ValueError(f'"{clip(text)}" is no position; {hint}')
    parts = match.groups()
    return _angle(parts[:4], "NS", 90), _angle(parts[4:], "EW", 180)


def _angle(parts: tuple[Any, ...], letters: str, most: int) -> str:
    degrees, minutes, seconds, letter = parts
    part = float(minutes or 0) / 60 + float(seconds or 0) / 3600
    value = float(degrees) - part if degrees.startswith("-") else float(degrees) + part
    letter = letter.upper()
    if letter and (letter not in letters or value < 0):
        raise ValueError(f'"{degrees} {letter}" is no {"latitude" if most == 90 else "longitude"}; use '
                         f"{letters[0]} or {letters[1]}, or a minus, latitude first")  # fmt: skip
    if letter == letters[1]:
        value = -value
    if abs(value) > most:
        what = "latitude" if most == 90 else "longitude"
        raise ValueError(f"{value:g} is no {what}: it lies between -{most} and {most}; latitude comes first")
    text = f"{value:.6f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def read_days(text: str) -> tuple[str, ...]:
    """Return days off, each a date or ``from..to``.

    Examples
    --------
    >>> read_days("2027-07-26..2027-08-06, 2027-05-07")
    ('2027-07-26..2027-08-06', '2027-05-07')
    """
    days = tuple(re.sub(r" *\.\. *", "..", part) for part in re.split(r"[,;]", text.strip()) if part.strip())
    for day in days:
        parse_date_range(day)
    return tuple(day.strip() for day in days)


def read_dated_hours(text: str) -> tuple[tuple[str, str], ...]:
    """Return hours of single days: each a date and a span.

    Examples
    --------
    >>> read_dated_hours("2027-05-23 08:00-12:00, 2027-05-30 9-11")
    (('2027-05-23', '08:00-12:00'), ('2027-05-30', '09:00-11:00'))
    """
    found: dict[str, str] = {}
    for part in [one.strip() for one in re.split(r"[,;]", text) if one.strip()]:
        day, _, span = part.partition(" ")
        parse_date(day)
        if day in found:
            raise ValueError(f"{day} is named twice; name each day once")
        found[day] = read_span(span)
    if not found:
        raise ValueError("no hours are named; type a date with start and end as 2027-05-23 08:00-12:00")
    return tuple(found.items())


def read_reached(text: str) -> tuple[tuple[str, str], ...]:
    """Return by which channels somebody is reached, in order of choice: ``email mia@example.org, text +31 6 5550``.

    An address with an @ typed alone is for e-mail.

    Examples
    --------
    >>> read_reached("mia@example.org, text: +31 6 5550")
    (('email', 'mia@example.org'), ('text', '+31 6 5550'))
    """
    found: dict[str, str] = {}
    for part in (one.strip() for one in re.split(r"[,;]", text)):
        if not part:
            continue
        channel, _, address = part.partition(" ")
        channel, address = channel.rstrip(":").strip(), address.strip()
        if not address and "@" in channel:
            channel, address = "email", channel
        if not address:
            raise ValueError(
                f'"{clip(part)}" names no channel and address; type for instance email mia@example.org, text +31 6 5550'
            )
        if channel in found:
            raise ValueError(f'"{clip(channel)}" stands twice; one address for a channel')
        found[channel] = address
    return tuple(found.items())
