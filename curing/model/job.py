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

from curing.model.people import (
    WEEKDAYS as WEEKDAYS,
)
from curing.model.people import (
    Crew as Crew,
)
from curing.model.people import (
    FaceRef,
    FileModel,
    Name,
    ShortId,
    WallId,
    Week,
    as_tuple,
    choice_of,
)
from curing.model.people import (
    Person as Person,
)
from curing.model.people import (
    Reach as Reach,
)
from curing.model.people import (
    Role as Role,
)
from curing.model.people import (
    Weekday as Weekday,
)
from curing.model.people import (
    named_days as named_days,
)
from curing.model.quantities import (
    AltitudeM,
    AngleDeg,
    AreaM2,
    DensityKgM3,
    HeightM,
    LengthMM,
    Percent,
)
from curing.model.season_source import SeasonSource
from curing.model.system import System
from curing.model.times import DateRange, Day, Moment

JOB_FORMAT = 1
MOST_WALLS = 2000
"""Larger jobs are split, so that reading and planning end in time whatever a file holds."""


def _uuid(value: Any) -> Any:
    if isinstance(value, str):
        try:
            return str(UUID(value))
        except ValueError:
            pass
    raise ValueError('not a uid; write one made by "uuidgen", as 8-4-4-4-12 hexadecimal digits')


Uid = Annotated[str, BeforeValidator(_uuid), WithJsonSchema({"type": "string", "format": "uuid"})]


class Side(StrEnum):
    """Side of a wall."""

    OUT = "out"
    IN = "in"


TablePath = Annotated[str, Field(min_length=1, max_length=1000, examples=["weather/2003-2026.csv.gz"])]


def _one_or_more(value: Any) -> Any:
    return (value,) if isinstance(value, str) else as_tuple(value)


class Site(FileModel):
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
    station: Annotated[
        tuple[TablePath, ...],
        BeforeValidator(_one_or_more, json_schema_input_type=tuple[TablePath, ...] | TablePath),
        Field(max_length=50),
    ] = ()
    """Paths of hourly tables of the site's own station, of several years; they count from the job file's folder."""
    station_map: TablePath | None = None
    """Path of a file that says what their columns mean; None: they are of a form that is known."""

    @field_validator("latitude", "longitude", mode="before")
    @classmethod
    def _number(cls, value: Any) -> Any:
        return float(value) if isinstance(value, int) and not isinstance(value, bool) else value


Country = Annotated[
    str, Field(pattern="^[A-Z]{2}$", description="a country in two capital letters", examples=["NL", "GB"])
]


class Holidays(FileModel):
    """Public holidays by country and region, and days of one's own."""

    country: Country | None = None
    region: Annotated[str, Field(max_length=10)] | None = None
    days: Annotated[tuple[DateRange, ...], BeforeValidator(as_tuple), Field(max_length=366)] = ()
    """Own days without coats, each a date or ``from..to``."""
    worked: Annotated[tuple[Day, ...], BeforeValidator(as_tuple)] = ()
    """Public holidays on which this crew works all the same."""


class Mix(FileModel):
    """What the panel was filled with."""

    dry_density: DensityKgM3
    straw: Percent
    """Share of straw in the dry mass [%]."""
    water: DensityKgM3 | None = None
    """Water at filling [kg in a cubic metre of panel]."""


class Panel(FileModel):
    """Straw-clay infill between two faces."""

    thickness: LengthMM
    filled: Day | None = None
    mix: Mix | None = None
    read: Annotated[tuple[Annotated[Side, choice_of(Side)], ...], BeforeValidator(as_tuple), Field(min_length=1)] = (
        Side.OUT,
        Side.IN,
    )
    """Sides from which the moisture meter reaches it; one where the other was closed long ago."""


class HoldMet(FileModel):
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


class Face(FileModel):
    """One side of a wall."""

    side: Annotated[Side, choice_of(Side)]
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
    after: Annotated[tuple[FaceRef, ...], BeforeValidator(as_tuple), Field(max_length=20)] = ()
    """Faces (``2-in``: its first coat) or coats (``2-in.base``) laid before this face begins."""
    rules: OwnRules
    holds: HoldEntries
    done: Annotated[Mapping[str, Moment], Field(default_factory=dict)]
    """Coat id → when it was laid, for a job already under way."""
    ended: Day | None = None
    """Nothing more is planned on this face from that day on."""


class Wall(FileModel):
    """A wall; walls stand in walking order."""

    id: WallId
    was: WallId | None = None
    name: Name
    site: ShortId | None = None
    """None where the job has one site."""
    panel: Panel | None = None
    rules: OwnRules
    holds: HoldEntries
    faces: Annotated[tuple[Face, ...], BeforeValidator(as_tuple), Field(min_length=1, max_length=2)]


class Meter(FileModel):
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


class SeasonLine(FileModel):
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


class JobFile(FileModel):
    """The job file, one object."""

    curing: Annotated[int, Field(examples=[JOB_FORMAT])]
    uid: Uid
    name: Name
    units: Literal["metric", "us"] = "metric"
    working_week: Week = ("mon", "tue", "wed", "thu", "fri")
    holidays: Annotated[Holidays, Field(default_factory=Holidays)]
    season: SeasonLine | None = None
    sites: Annotated[tuple[Site, ...], BeforeValidator(as_tuple), Field(min_length=1, max_length=50)]
    people: Annotated[tuple[Person, ...], BeforeValidator(as_tuple), Field(min_length=1, max_length=500)]
    crews: Annotated[tuple[Crew, ...], BeforeValidator(as_tuple), Field(min_length=1, max_length=100)]
    meters: Annotated[
        tuple[Meter, ...], BeforeValidator(as_tuple), AfterValidator(_meters_once), Field(max_length=50)
    ] = ()
    """Moisture meters whose readings count."""
    at_hand: Annotated[Mapping[ShortId, Day], Field(default_factory=dict)]
    """Goods of a coat system, or things done ahead → since when all of it is there: nothing more is asked for."""
    busy: Annotated[tuple[str, ...], BeforeValidator(as_tuple), Field(max_length=50)] = ()
    """Paths of other jobs' plan.json, whose hours are already given away."""
    rules: OwnRules
    holds: HoldEntries
    walls: Annotated[tuple[Wall, ...], BeforeValidator(as_tuple), Field(min_length=1, max_length=MOST_WALLS)]


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
    season_source: SeasonSource | None = None
    """What the season line rests on, where a site has a station; None: the job file's dates alone."""
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
