"""What a plan says: bookings, rounds, holds, changes and what people were told.

A plan is data only. Instants are aware and in UTC; each booking names the time
zone of its site, so that local time can be written beside it. Texts are not
stored here: a :class:`Reason` holds a key and its values, and the catalogue
(:mod:`curing.publish.words`) makes the sentence.

The written form, ``plan.json``, is a contract: see :mod:`curing.publish.plan_json`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum

from curing.model.plan_faces import (
    LATER,
)
from curing.model.plan_faces import (
    CoatDates as CoatDates,
)
from curing.model.plan_faces import (
    Cure as Cure,
)
from curing.model.plan_faces import (
    FacePlan as FacePlan,
)
from curing.model.plan_faces import (
    Lost as Lost,
)
from curing.model.plan_faces import (
    Panel as Panel,
)
from curing.model.plan_faces import (
    PersonPlan as PersonPlan,
)
from curing.model.plan_faces import (
    Scaffold as Scaffold,
)
from curing.model.plan_faces import (
    Season as Season,
)
from curing.model.plan_faces import (
    SitePlan as SitePlan,
)
from curing.model.plan_supplies import (
    Act as Act,
)
from curing.model.plan_supplies import (
    Due as Due,
)
from curing.model.plan_supplies import (
    Material as Material,
)
from curing.model.plan_supplies import (
    Supply as Supply,
)
from curing.model.plan_supplies import (
    Walked as Walked,
)
from curing.model.plan_visits import Care as Care
from curing.model.plan_visits import Slot as Slot
from curing.model.plan_visits import Visit as Visit
from curing.model.visit_weather import Advice as Advice
from curing.model.visit_weather import VisitWeather as VisitWeather

PLAN_FORMAT = 1
"""Version of the written form; a newer one is refused with what to do."""

Value = str | int | float | bool | None
"""What a reason, a warning or a question may carry."""


class State(StrEnum):
    """State of a booking as stored; *unconfirmed* and *missed* are derived from time, never stored."""

    FIRM = "firm"
    CONDITIONAL = "conditional"
    OFF = "off"
    DONE = "done"


LIVE = (State.FIRM, State.CONDITIONAL)
"""States of what is to take place."""


class Kind(StrEnum):
    """What a booking is."""

    COAT = "coat"
    LOOK = "look"
    """Laying-day look, some hours after closing the coat; never counted as a visit."""
    READING = "reading"
    TEST = "test"
    COVER = "cover"
    """Cloth or sheets put up or taken down."""
    ROUND = "round"
    """One walk by one person: all visits of a slot of a day."""


class HoldState(StrEnum):
    """State of a hold point: shut until it is recorded as met."""

    MET = "met"
    UNMET = "unmet"
    LATER = "later"
    """Can't be judged yet: the coat it judges is not laid, or its least wait is not over."""
    REFUSED = "refused"


@dataclass(frozen=True, slots=True)
class Skipped:
    """Days that were looked at and could not be used: a cause, how many in a row, an example."""

    cause: str
    days: int
    detail: str = ""


@dataclass(frozen=True, slots=True)
class Reason:
    """Why something is when it is.

    Parameters
    ----------
    rule
        Id of the rule, ``coat.rule`` (``finish.least_wait``), or of the planner's own
        (``plan.keep``, ``plan.today``, ``job.start`` …).
    key
        Sentence in the catalogue.
    values
        What the sentence needs; plain values only.
    bound
        Id of the thing that bound the date: a booking, a hold, a crew, a person, a face.
    skipped
        Days between the earliest by rule and the booked one, in order.
    """

    rule: str
    key: str
    values: Mapping[str, Value] = field(default_factory=dict)
    bound: str = ""
    skipped: tuple[Skipped, ...] = ()


@dataclass(frozen=True, slots=True)
class Absence:
    """A crew member who is out on a round (or elsewhere) while the coat goes on."""

    person: str
    start: datetime
    end: datetime


@dataclass(frozen=True, slots=True)
class Booking:
    """One thing in somebody's calendar: a coat, a look, a reading, a test, a cover, or a round.

    ``id`` is ``face.task`` (``3-out.finish``), ``wall.task`` for what concerns both sides
    (``5.panel-dry``), or ``date.slot.person`` for a round. ``end`` is exclusive.
    """

    id: str
    uid: str
    kind: Kind
    site: str
    zone: str
    faces: tuple[str, ...]
    task: str
    who: tuple[str, ...]
    start: datetime
    end: datetime
    state: State
    reason: Reason
    crew: str = ""
    title: str = ""
    """Short name of the task in the calendar, from the coat system: ``FINISH``."""
    thickness: float | None = None
    """[mm]"""
    slot: Slot | None = None
    until: datetime | None = None
    """Last instant at which a round, look, reading or test still does its work."""
    holds: tuple[str, ...] = ()
    """Ids of the holds that are not met and keep this booking conditional."""
    visits: tuple[Visit, ...] = ()
    absent: tuple[Absence, ...] = ()
    notes: tuple[str, ...] = ()
    """Sentences of the coat system: before, while, after; in the order of the work."""
    cautions: tuple[str, ...] = ()
    """Keys of cautions that stand whole where the work is done."""
    ready: date | None = None
    """Earliest date by rule, without regard to crew or calendar (coats only)."""
    floor: date | None = None
    """Not before this date because a hold stayed unmet or nobody confirmed; lifted when answered."""
    floor_cause: str = ""
    """Why there is a floor: ``hold``, ``unconfirmed`` or ``could-not``."""
    floor_was: date | None = None
    """The day for which it was booked before."""
    labour: float = 0.0
    """[person-hours]"""
    pinned: bool = False
    """Stayed as it was because it is today or tomorrow, whatever else has changed."""
    limits: Mapping[str, float] = field(default_factory=dict)
    """Rule id → value in SI, of the rules that stop the work itself: ``finish.air_least``, ``finish.air_most``."""
    under: tuple[Reason, ...] = field(default=(), metadata=LATER)
    """What of the weather is kept off this coat: cloth or sheets go up first (keys ``under_…``)."""

    @property
    def looks_over(self) -> bool:
        """Whether a face is looked over because something went wrong: an inspection answers it, not a reading."""
        return self.kind is Kind.READING and self.reason.key.startswith("inspect_")


@dataclass(frozen=True, slots=True)
class Hold:
    """A hold point of one face, wall, or the whole job. A date never opens it."""

    id: str
    uid: str
    point: str
    """Id of the hold point in the coat system (``panel-dry``)."""
    text: str
    lifts: str
    """What lifts it, in one sentence."""
    faces: tuple[str, ...]
    before: tuple[str, ...]
    """Ids of the coats that wait behind it."""
    state: HoldState
    rule: str
    met: date | None = None
    by: str = ""
    note: str = ""
    opens: date | None = None
    """First day on which it can be judged."""
    lapses: date | None = None
    """Last day on which a pass still counts."""
    shut: str = ""
    """Why the record shut it, or would have if it was met: ``reading``, ``test``, ``rain``, ``set``, ``meter`` or
    ``withdrawn``; empty: it did not."""
    shut_by: str = ""
    """Who entered that."""
    shut_on: date | None = None
    """Local day of that entry."""


@dataclass(frozen=True, slots=True)
class Notice:
    """A warning, or something asked about. ``urgent`` ones head every list."""

    rule: str
    key: str
    values: Mapping[str, Value] = field(default_factory=dict)
    faces: tuple[str, ...] = ()
    urgent: bool = False


@dataclass(frozen=True, slots=True)
class Moment:
    """Where a booking stood or stands, for a change."""

    start: datetime
    end: datetime
    state: State
    who: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Change:
    """What is different from the parent plan, and why; ``drags`` are ids that moved with it."""

    id: str
    uid: str
    kind: Kind
    faces: tuple[str, ...]
    zone: str
    old: Moment | None
    new: Moment | None
    reason: Reason
    drags: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class EventMark:
    """What phones were told of one UID: digest of the event, SEQUENCE, LAST-MODIFIED."""

    digest: str
    sequence: int
    modified: datetime


@dataclass(frozen=True, slots=True)
class Gone:
    """Tombstone of a UID that left the plan, kept 60 days so that a return counts on."""

    at: datetime
    sequence: int


@dataclass(frozen=True, slots=True)
class Plan:
    """One revision, whole."""

    job: str
    """``uid:`` of the job."""
    name: str
    units: str
    revision: int
    parent: int | None
    as_of: datetime
    inputs: Mapping[str, str]
    """Digests: job file, each coat system, each busy plan."""
    versions: Mapping[str, str]
    sites: tuple[SitePlan, ...]
    people: tuple[PersonPlan, ...]
    faces: tuple[FacePlan, ...]
    bookings: tuple[Booking, ...]
    """Everything but rounds, by start."""
    rounds: tuple[Booking, ...]
    """By start."""
    holds: tuple[Hold, ...]
    scaffolds: tuple[Scaffold, ...] = ()
    materials: tuple[Material, ...] = ()
    supplies: tuple[Supply, ...] = ()
    """What is bought, made or done ahead for the whole job, by its first day."""
    warnings: tuple[Notice, ...] = ()
    questions: tuple[Notice, ...] = ()
    changes: tuple[Change, ...] = ()
    cautions: Mapping[str, str] = field(default_factory=dict)
    """Whole text of each caution key used."""
    events: Mapping[str, EventMark] = field(default_factory=dict)
    gone: Mapping[str, Gone] = field(default_factory=dict)

    def everything(self) -> tuple[Booking, ...]:
        """Bookings and rounds together, by start, then id."""
        return tuple(sorted((*self.bookings, *self.rounds), key=lambda b: (b.start, b.id)))
