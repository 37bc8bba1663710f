"""What a plan takes: materials coat by coat, what is bought or made by when. Part of :mod:`curing.model.plan`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum


@dataclass(frozen=True, slots=True)
class Material:
    """An estimate: so much of something for one coat of one system."""

    system: str
    coat: str
    what: str
    """Name of the goods, or ``mortar``, ``paint``, ``labour``, ``misting``, ``rounds``."""
    amount: float
    unit: str
    """``kg``, ``L``, ``m2`` or ``h``."""
    rule: str
    """Id of the figure it follows from first of all."""
    goods: str = ""
    """Id of the goods; empty for what is no goods."""
    source: str = ""
    """Where that figure comes from."""
    weeks: Mapping[str, float] = field(default_factory=dict)
    """ISO week, ``2027-W18``, → how much of the amount falls into it; nothing for what is used again."""


class Act(StrEnum):
    """What must be done by a day."""

    ORDER = "order"
    MAKE = "make"
    DO = "do"


@dataclass(frozen=True, slots=True)
class Due:
    """Something to be done by a working day, so many days ahead of a coat."""

    act: Act
    by: date
    days: int
    """Days ahead that the rule asks for; ``by`` is a working day at least so many days ahead."""
    coat: str
    """Id of the coat that needs it first of all, ``1-out.base``."""
    day: date
    """Planned day of that coat."""
    rule: str
    source: str
    conditional: bool = False
    """That coat waits behind a hold: the date is only an IF."""


@dataclass(frozen=True, slots=True)
class Supply:
    """Something bought or made for the whole job, or done once ahead of a coat."""

    id: str
    """Id of the goods or of the thing ahead."""
    name: str
    systems: tuple[str, ...]
    amount: float = 0.0
    """For all coats not laid; 0 for what is only done."""
    unit: str = ""
    loose: float = 0.0
    """The same as it lies in the bucket [L], where its density is known; else 0."""
    packs: int = 0
    """Whole bags, tubs, tins or rolls, rounded up over the whole job; 0 where it comes loose."""
    pack: float = 0.0
    """What one of them holds."""
    pack_rule: str = ""
    """``lime.bag``"""
    pack_source: str = ""
    due: tuple[Due, ...] = ()
    """What must be done by when, in time order."""
    note: str = ""
    """Sentences of the coat system that go with it."""
    cautions: tuple[str, ...] = ()
    again: bool = False
    """Used again on the next face: the amount is the most that is needed at one time."""
    begun: bool = False
    """Some of it is in the wall: a coat that takes it was laid."""
    at_hand: date | None = None
    """Since when all of it is there, as the job file says."""


@dataclass(frozen=True, slots=True)
class Walked:
    """Rounds of one week for one coat of one system, from the present day on; worked out, not written."""

    week: str
    """ISO week, ``2027-W18``."""
    system: str
    coat: str
    hours: float
    """[person-hours]"""
    water: float
    """[L]"""
