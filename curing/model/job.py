"""The job: sites, crews, people, walls and faces, as the job file tells them.

Everything is frozen and in SI; the unit in which a person wrote it is the
file's affair, the unit in which they read it is :attr:`Job.units`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from enum import StrEnum
from typing import Annotated, Any, Literal
from uuid import UUID

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    WithJsonSchema,
    field_validator,
    model_validator,
)

from curing.model.quantities import (
    AltitudeM,
    AngleDeg,
    AreaM2,
    DensityKgM3,
    DurationMin,
    HeightM,
    LengthMM,
    Percent,
    clip,
)
from curing.model.system import System
from curing.model.times import DateRange, Day, Hours, Moment, parse_date

JOB_FORMAT = 1
MOST_WALLS = 2000
"""Larger jobs are split, so that reading and planning end in time whatever a file holds."""

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


def _tuple(value: Any) -> Any:
    return tuple(value) if isinstance(value, list) else value


Week = Annotated[tuple[Weekday, ...], BeforeValidator(_tuple)]


def _uuid(value: Any) -> Any:
    if isinstance(value, str):
        try:
            return str(UUID(value))
        except ValueError:
            pass
    raise ValueError('not a uid; write one made by "uuidgen", as 8-4-4-4-12 hexadecimal digits')


Uid = Annotated[str, BeforeValidator(_uuid), WithJsonSchema({"type": "string", "format": "uuid"})]


class _File(BaseModel):
    model_config = ConfigDict(frozen=True, strict=True, extra="forbid")


class Role(StrEnum):
    """What a person may do or is told."""

    LEAD = "lead"
    ARCHITECT = "architect"
    MISTS = "mists"
    CLIENT = "client"


class Reach(StrEnum):
    """How high a person works."""

    GROUND = "ground"
    SCAFFOLD = "scaffold"


class Side(StrEnum):
    """Side of a wall."""

    OUT = "out"
    IN = "in"


def _choice(choices: type[StrEnum]) -> BeforeValidator:
    def read(value: Any) -> Any:
        return choices(value) if isinstance(value, str) and value in {c.value for c in choices} else value

    return BeforeValidator(read)


class Site(_File):
    """A place where walls stand."""

    id: ShortId
    was: ShortId | None = None
    name: Name
    latitude: Annotated[float, Field(ge=-90, le=90, examples=[52.1])]
    """[° north]"""
    longitude: Annotated[float, Field(ge=-180, le=180, examples=[5.2])]
    """[° east]"""
    altitude: AltitudeM = 0.0
    """[m above the sea]; for the weather at the site: no date of a plan depends on it."""
    time_zone: Annotated[str, Field(min_length=1, max_length=60, examples=["Europe/Amsterdam"])]

    @field_validator("latitude", "longitude", mode="before")
    @classmethod
    def _number(cls, value: Any) -> Any:
        return float(value) if isinstance(value, int) and not isinstance(value, bool) else value


Country = Annotated[
    str, Field(pattern="^[A-Z]{2}$", description="a country in two capital letters", examples=["NL", "GB"])
]


class Holidays(_File):
    """Public holidays by country and region, and days of one's own."""

    country: Country | None = None
    region: Annotated[str, Field(max_length=10)] | None = None
    days: Annotated[tuple[DateRange, ...], BeforeValidator(_tuple), Field(max_length=366)] = ()
    """Own days without coats, each a date or ``from..to``."""
    worked: Annotated[tuple[Day, ...], BeforeValidator(_tuple)] = ()
    """Public holidays on which this crew works all the same."""


class Person(_File):
    """Somebody who works, mists, decides, or only reads."""

    id: ShortId
    was: ShortId | None = None
    name: Name
    hours: Annotated[Mapping[str, Hours], Field(default_factory=dict)]
    """Hours on site: ``mon-fri``, ``sat``, ``sun``, ``holiday`` → span; a day not named is a day off."""
    also: Annotated[Mapping[str, Hours], Field(default_factory=dict)]
    """Single days with hours of their own, ``2027-05-23`` → span, whatever the weekday says; ``away`` wins."""
    away: Annotated[tuple[DateRange, ...], BeforeValidator(_tuple)] = ()
    reach: Annotated[Reach, _choice(Reach)] = Reach.GROUND
    longest_round: DurationMin | None = None
    """[min]; None: no limit but the hours (75 min on Sundays for who is not of a crew)."""
    roles: Annotated[tuple[Role, ...], BeforeValidator(lambda v: _roles(v))] = ()

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


class Crew(_File):
    """People who lay coats together, keeping one wet edge."""

    id: ShortId
    was: ShortId | None = None
    name: Name
    people: Annotated[tuple[str, ...], BeforeValidator(_tuple), Field(min_length=1)]
    working_week: Week | None = None
    """Where it differs from the job's."""


class Mix(_File):
    """What the panel was filled with."""

    dry_density: DensityKgM3
    straw: Percent
    """Share of straw in the dry mass [%]."""
    water: DensityKgM3 | None = None
    """Water at filling [kg in a cubic metre of panel]."""


class Panel(_File):
    """Straw-clay infill between two faces."""

    thickness: LengthMM
    filled: Day | None = None
    mix: Mix | None = None
    read: Annotated[tuple[Annotated[Side, _choice(Side)], ...], BeforeValidator(_tuple), Field(min_length=1)] = (
        Side.OUT,
        Side.IN,
    )
    """Sides from which the moisture meter reaches it; one where the other was closed long ago."""


class HoldMet(_File):
    """A hold point as the job file records it, until the record does."""

    met: Day | None = None
    refused: Day | None = None
    by: Annotated[str, Field(max_length=24)] = ""
    note: Annotated[str, Field(max_length=200)] = ""


def _hold(value: Any) -> Any:
    return {"met": value} if isinstance(value, str) else value


HoldEntries = Annotated[
    Mapping[str, Annotated[HoldMet, BeforeValidator(_hold, json_schema_input_type=HoldMet | Day)]],
    Field(default_factory=dict),
]
"""Hold point → when it was met, or refused; a date alone says met."""


def _rule_text(value: Any) -> Any:
    if isinstance(value, int | float) and not isinstance(value, bool):
        raise ValueError(f'{value:g} has no unit; write it with one, such as "14 d", "13 mm" or "1/2 in"')
    return value


OwnRules = Annotated[
    Mapping[str, Annotated[str, BeforeValidator(_rule_text), Field(max_length=60)]], Field(default_factory=dict)
]
"""Rule id → value with its unit, as written; read against the coat system's kinds."""


class Face(_File):
    """One side of a wall."""

    side: Annotated[Side, _choice(Side)]
    facing: AngleDeg | None = None
    """[° clockwise from north], outside faces."""
    area: AreaM2
    height: HeightM
    """Top of the face above the ground or floor a person stands on [m]."""
    exposure: Literal["sheltered", "normal", "exposed"] = "normal"
    """To wind and rain; for the weather at the face: no date of a plan depends on it."""
    gutter: bool = True
    """Roof edge and gutter above are there; false: hold ``roof-gutter`` can't be recorded as met."""
    scaffold: Name | None = None
    cloth: bool = True
    """Wet cloth can be hung before this face."""
    system: ShortId
    crew: ShortId | None = None
    """The crew that lays it; None: any."""
    start: Day | None = None
    """Earliest day for the first coat."""
    after: Annotated[tuple[FaceRef, ...], BeforeValidator(_tuple), Field(max_length=20)] = ()
    """Faces (``2-in``: its first coat) or coats (``2-in.base``) laid before this face begins."""
    rules: OwnRules
    holds: HoldEntries
    done: Annotated[Mapping[str, Moment], Field(default_factory=dict)]
    """Coat id → when it was laid, for a job already under way."""
    ended: Day | None = None
    """Nothing more is planned on this face from that day on."""


class Wall(_File):
    """A wall; walls stand in walking order."""

    id: WallId
    was: WallId | None = None
    name: Name
    site: ShortId | None = None
    """None where the job has one site."""
    panel: Panel | None = None
    rules: OwnRules
    holds: HoldEntries
    faces: Annotated[tuple[Face, ...], BeforeValidator(_tuple), Field(min_length=1, max_length=2)]


class Meter(_File):
    """A moisture meter with a probe for straw."""

    id: ShortId
    name: Name
    least: Percent
    """Lowest reading it shows [%]."""
    most: Percent
    """Highest reading it shows [%]."""
    basis: Literal["wet", "dry"] | None = None
    """Share of water in the whole mass, or in the dry mass; None: said with each reading."""

    @model_validator(mode="after")
    def _range(self) -> Meter:
        if self.least >= self.most:
            raise ValueError(f"least {self.least:g} % is not under most {self.most:g} %; give the meter's whole range")
        return self


class SeasonLine(_File):
    """Season of outside work, as dates, until the site's own years give it."""

    finish_by: Day
    """Last day to begin the coat that must cure before frost."""
    resumes: Day | None = None
    """First day of outside work in the next season; None: late faces are only warned about."""
    drying: Annotated[Mapping[str, float], Field(default_factory=dict)]
    """Month (``jan`` …) → season factor of panel drying; 1 where none is given."""

    @field_validator("drying", mode="before")
    @classmethod
    def _floats(cls, value: Any) -> Any:
        if isinstance(value, dict):
            whole = {k: float(v) for k, v in value.items() if isinstance(v, int) and not isinstance(v, bool)}
            return {**value, **whole}
        return value


def _meters_once(meters: tuple[Meter, ...]) -> tuple[Meter, ...]:
    ids = [meter.id for meter in meters]
    twice = next((one for one in ids if ids.count(one) > 1), None)
    if twice is not None:
        raise ValueError(f'two meters have the id "{twice}"; give each its own')
    return meters


class JobFile(_File):
    """The job file, one object."""

    curing: Annotated[int, Field(examples=[JOB_FORMAT])]
    uid: Uid
    name: Name
    units: Literal["metric", "us"] = "metric"
    working_week: Week = ("mon", "tue", "wed", "thu", "fri")
    holidays: Annotated[Holidays, Field(default_factory=Holidays)]
    season: SeasonLine | None = None
    sites: Annotated[tuple[Site, ...], BeforeValidator(_tuple), Field(min_length=1, max_length=50)]
    people: Annotated[tuple[Person, ...], BeforeValidator(_tuple), Field(min_length=1, max_length=500)]
    crews: Annotated[tuple[Crew, ...], BeforeValidator(_tuple), Field(min_length=1, max_length=100)]
    meters: Annotated[
        tuple[Meter, ...], BeforeValidator(_tuple), AfterValidator(_meters_once), Field(max_length=50)
    ] = ()
    """Moisture meters whose readings count."""
    at_hand: Annotated[Mapping[ShortId, Day], Field(default_factory=dict)]
    """Goods of a coat system, or things done ahead → since when all of it is there: nothing more is asked for."""
    busy: Annotated[tuple[str, ...], BeforeValidator(_tuple), Field(max_length=50)] = ()
    """Paths of other jobs' plan.json, whose hours are already given away."""
    rules: OwnRules
    holds: HoldEntries
    walls: Annotated[tuple[Wall, ...], BeforeValidator(_tuple), Field(min_length=1, max_length=MOST_WALLS)]


class BusySpan(BaseModel):
    """Time of a person that another job's plan has already taken; Unix seconds, half-open."""

    model_config = ConfigDict(frozen=True)

    person: str
    start: int
    end: int
    job: str


class Job(BaseModel):
    """A job ready to plan: the file, its coat systems, own rule values in SI, time given away.

    ``rule_values`` holds, per face id, the values of job, wall and face by rule id.
    ``holidays`` holds the non-working public and own days already worked out, day → name.
    """

    model_config = ConfigDict(frozen=True)

    file: JobFile
    systems: Mapping[str, System]
    rule_values: Mapping[str, Mapping[str, float]]
    holidays: Mapping[date, str]
    busy: tuple[BusySpan, ...] = ()
    only_walks: frozenset[tuple[str, date]] = frozenset()
    """(person, day) on which somebody is there for the rounds he took over, and lays no coat."""
    read_once: frozenset[str] = frozenset()
    """Holds that were met and are shut again: of their panels the meter has spoken, not the fill date."""
    digests: Mapping[str, str]
    """Name of each input → sha256 of its bytes."""

    def faces(self) -> Iterator[tuple[str, Wall, Face]]:
        """Yield (face id, wall, face) in walking order."""
        for wall in self.file.walls:
            for face in wall.faces:
                yield f"{wall.id}-{face.side.value}", wall, face

    def site_of(self, wall: Wall) -> Site:
        """Return the site of a wall."""
        if wall.site is None:
            return self.file.sites[0]
        return next(site for site in self.file.sites if site.id == wall.site)

    def crew_of(self, person: str) -> Crew | None:
        """Return the crew a person belongs to, if any."""
        return next((crew for crew in self.file.crews if person in crew.people), None)
