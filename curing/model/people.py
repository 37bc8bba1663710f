"""The people of a job, their hours and crews, and the forms of names and ids. Part of :mod:`curing.model.job`."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, field_validator

from curing.model.quantities import DurationMin, clip
from curing.model.times import DateRange, Hours, Quiet, parse_date

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")

_ID = r"^[A-Za-z0-9]([A-Za-z0-9-]*[A-Za-z0-9])?$"
_ID_IN_WORDS = "an id of letters, digits and hyphens"

ShortId = Annotated[str, Field(pattern=_ID, max_length=24, description=_ID_IN_WORDS, examples=["mia"])]
WallId = Annotated[str, Field(pattern=_ID, max_length=8, description=_ID_IN_WORDS, examples=["3", "n-2"])]
"""At most 8 signs, so that the first 14 of a calendar title tell faces and tasks apart."""
FaceRef = Annotated[
    str,
    Field(
        pattern=r"^[A-Za-z0-9-]{1,8}-(out|in)(\.[A-Za-z0-9-]+)?$",
        description="a face (wall and side) or a coat of one",
        examples=["2-in", "2-in.base"],
    ),
]
Name = Annotated[str, Field(min_length=1, max_length=80, pattern=r"\S", description="a name", examples=["north gable"])]
Address = Annotated[
    str,
    Field(
        min_length=1,
        max_length=300,
        pattern=r"^[^\s\x00-\x1f\x7f](?:[^\x00-\x1f\x7f]*[^\s\x00-\x1f\x7f])?$",
        description="an address on a channel",
        examples=["mia@example.org", "+31 6 5550 1234"],
    ),
]
NOTICE_MIN = 30.0
"""[min] before a round, where a person says nothing else (common practice, no source)."""
MOST_NOTICE_MIN = 720
QUIET_HOURS = (21 * 60, 6 * 60)
"""[min after midnight] where a person says nothing else (common practice, no source)."""
Weekday = Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"]


def named_days(key: str) -> tuple[str, ...]:
    """Return the days that a key of somebody's hours names: weekdays, or ``holiday``.

    Raises
    ------
    ValueError
        The key names no day.

    Examples
    --------
    >>> named_days("mon-wed"), named_days("sat-sun"), named_days("holiday")
    (('mon', 'tue', 'wed'), ('sat', 'sun'), ('holiday',))
    """
    first, dash, last = key.partition("-")
    if key == "holiday":
        return (key,)
    if first in WEEKDAYS and not dash:
        return (first,)
    if first in WEEKDAYS and last in WEEKDAYS and WEEKDAYS.index(first) < WEEKDAYS.index(last):
        return WEEKDAYS[WEEKDAYS.index(first) : WEEKDAYS.index(last) + 1]
    days = ", ".join(WEEKDAYS)
    raise ValueError(f'"{clip(key)}" names no day; write {days}, a range such as mon-fri, or holiday')


def as_tuple(value: Any) -> Any:
    """Return a list of a file as a tuple, so that it stays as it is."""
    return tuple(value) if isinstance(value, list) else value


Week = Annotated[tuple[Weekday, ...], BeforeValidator(as_tuple)]


class FileModel(BaseModel):
    """Part of a file that people write: frozen, without lines it does not know."""

    model_config = ConfigDict(frozen=True, strict=True, extra="forbid")


class Role(StrEnum):
    """What a person may do or is told."""

    LEAD = "lead"
    ARCHITECT = "architect"
    MISTS = "mists"
    CLIENT = "client"


DECIDERS = (Role.LEAD, Role.ARCHITECT)
"""Who opens holds, keeps against a rule, and moves coats."""


class Reach(StrEnum):
    """How high a person works."""

    GROUND = "ground"
    SCAFFOLD = "scaffold"


def choice_of(choices: type[StrEnum]) -> BeforeValidator:
    """Return what reads one of some words."""

    def read(value: Any) -> Any:
        return choices(value) if isinstance(value, str) and value in {c.value for c in choices} else value

    return BeforeValidator(read)


class Person(FileModel):
    """Somebody who works, mists, decides, or only reads."""

    id: ShortId
    was: ShortId | None = None
    name: Name
    hours: Annotated[Mapping[str, Hours], Field(default_factory=dict)]
    """Hours on site: ``mon-fri``, ``sat``, ``sun``, ``holiday`` → span; a day not named is a day off."""
    also: Annotated[Mapping[str, Hours], Field(default_factory=dict)]
    """Single days with hours of their own, ``2027-05-23`` → span, whatever the weekday says; ``away`` wins."""
    away: Annotated[tuple[DateRange, ...], BeforeValidator(as_tuple)] = ()
    reach: Annotated[Reach, choice_of(Reach)] = Reach.GROUND
    longest_round: DurationMin | None = None
    """[min]; None: no limit but the hours (75 min on Sundays for who is not of a crew)."""
    roles: Annotated[tuple[Role, ...], BeforeValidator(lambda v: _roles(v))] = ()
    tell: Annotated[Mapping[ShortId, Address], Field(default_factory=dict, max_length=4)]
    """Channel → address at which the person is reminded; the first is tried first, the others where it fails."""
    quiet: Quiet = QUIET_HOURS
    """Hours of the day in which nothing rings [min after midnight]; across midnight where the end is the earlier."""
    notice: DurationMin = NOTICE_MIN
    """[min] So long before a round or task of one's own one is reminded."""

    @field_validator("notice")
    @classmethod
    def _notice(cls, value: float) -> float:
        if not 0 <= value <= MOST_NOTICE_MIN:
            raise ValueError(f"{value:g} min is not 0 to {MOST_NOTICE_MIN} min; a reminder goes out on the day itself")
        return value

    @field_validator("also")
    @classmethod
    def _single_days(cls, value: Mapping[str, Any]) -> Mapping[str, Any]:
        for day in value:
            parse_date(day)
        return value

    def hours_on(self, day: str) -> tuple[int, int] | None:
        """Return the span [minutes since midnight] of a weekday or ``holiday``, None for a day off.

        Examples
        --------
        >>> mia = Person.model_validate({"id": "mia", "name": "Mia", "hours": {"mon-fri": "07:00-15:30"}})
        >>> mia.hours_on("wed"), mia.hours_on("sat")
        ((420, 930), None)
        """
        return next((span for key, span in self.hours.items() if day in named_days(key)), None)


def _roles(value: Any) -> Any:
    if isinstance(value, list):
        return tuple(Role(v) if isinstance(v, str) and v in {r.value for r in Role} else v for v in value)
    return value


class Crew(FileModel):
    """People who lay coats together, keeping one wet edge."""

    id: ShortId
    was: ShortId | None = None
    name: Name
    people: Annotated[tuple[str, ...], BeforeValidator(as_tuple), Field(min_length=1)]
    working_week: Week | None = None
    """Where it differs from the job's."""
