"""What a coat takes, what is bought or made, and what is done ahead: the figures of a coat system.

A coat lists what it :class:`takes <Take>`, by name of one of the system's :class:`Goods`, with an
amount whose unit says how it is counted. How goods are packed, how heavy they lie in the bucket and
how long ahead they are ordered or made are rules of the system (``lime.bag``, ``putty.age``). What is
done once before a coat stands in the list of :class:`Ahead`. Every amount and lead is a :class:`Figure`
with an id, ``base.lime`` or ``sand-sample.lead``, under which a job file gives it another value.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import (
    BaseModel,
    ConfigDict,
    Field,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
    field_validator,
    model_validator,
)
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, core_schema

from curing.model.kinds import KINDS, KindName
from curing.model.quantities import Days, clip, parse, show

Id = Annotated[str, Field(pattern=r"^[A-Za-z0-9]([A-Za-z0-9-]{0,30}[A-Za-z0-9])?$")]
"""Short id: letters, digits, hyphens inside; at most 32 signs."""

Text = Annotated[str, Field(min_length=1, max_length=300)]

PARTS: KindName = "parts"
BY_WEIGHT: KindName = "density_kg_m3"
BY_VOLUME: KindName = "volume_l_per_m3"
CLOTH: KindName = "area_per_area"

COUNTED: Mapping[KindName, str] = {
    PARTS: "of the mix by loose volume",
    BY_WEIGHT: "in a cubic metre of mortar",
    BY_VOLUME: "in a cubic metre of mortar",
    "volume_l_per_m2": "for a square metre of face",
    "mass_kg_per_m2": "for a square metre of face",
    CLOTH: "for a square metre of face",
}
"""How an amount may be counted, by the unit it is written with."""

MORTAR = (PARTS, BY_WEIGHT, BY_VOLUME)
"""What goes by the volume of the coat and not by its area."""

VOLUMES = (PARTS, BY_VOLUME, "volume_l_per_m2")
"""What is measured by volume: it becomes a weight where the density is known."""

PACKS: Mapping[str, str] = {"bag": "kg", "tub": "kg", "tin": "L", "roll": "m2"}
"""Rules that say how goods are packed, and the unit in which such a pack is counted."""

_WAYS = '"8 parts", "244 kg/m3" or "0.15 L/m2"'


@dataclass(frozen=True, slots=True)
class Amount:
    """So much of something for a coat: ``value`` in the unit of its kind, ``written`` as it stood."""

    value: float
    kind: KindName
    written: str

    @classmethod
    def read(cls, text: object) -> Amount:
        """Return what a file says; the unit tells how it is counted.

        Raises
        ------
        ValueError
            No unit, or none in which an amount is counted.

        Examples
        --------
        >>> Amount.read("244 kg/m3")
        Amount(value=244.0, kind='density_kg_m3', written='244 kg/m3')
        >>> Amount.read("8")
        Traceback (most recent call last):
        ...
        ValueError: 8 has no unit; write "8 parts", "244 kg/m3" or "0.15 L/m2"
        """
        if isinstance(text, cls):
            return text
        if not isinstance(text, str) or not text.strip("+-0123456789./ "):
            shown = clip(str(text)) if isinstance(text, str | int | float) else "this"
            raise ValueError(f"{shown} has no unit; write {_WAYS}")
        refused = ""
        for kind in COUNTED:
            try:
                return cls(read_amount(text, kind), kind, text)
            except ValueError as error:
                if "is not a unit" not in str(error):
                    refused = refused or str(error)
        units = ", ".join(KINDS[kind].unit for kind in COUNTED)
        raise ValueError(refused or f'"{clip(text)}" is not counted in one of {units}; write {_WAYS}')

    @classmethod
    def __get_pydantic_core_schema__(cls, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(cls.read)

    @classmethod
    def __get_pydantic_json_schema__(cls, _: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        ways = "; ".join(f"{KINDS[kind].unit} {meaning}" for kind, meaning in COUNTED.items())
        return {"type": "string", "description": f"an amount with its unit: {ways}", "examples": ["8 parts"]}


def read_amount(text: object, kind: KindName) -> float:
    """Return an amount counted in one way; nothing at all is allowed.

    Examples
    --------
    >>> read_amount("1 1/2 parts", "parts"), read_amount("0 kg/m3", "density_kg_m3")
    (1.5, 0.0)
    """
    return parse(text, kind, low=0.0, zero=True)


@dataclass(frozen=True, slots=True)
class Figure:
    """A value with bounds, reason and source under an id, like a rule of the system."""

    id: str
    kind: KindName
    value: float
    written: str
    least: float | None
    most: float | None
    reason: str
    source: str

    def read(self, text: object) -> float:
        """Return another value of the same kind; ValueError says what is wrong and what to write."""
        return read_amount(text, self.kind)


def unit_of(kinds: Collection[KindName], *, weighed: bool) -> str | None:
    """Return the unit in which goods are added up, or None where their amounts don't go together.

    Parameters
    ----------
    kinds
        Kinds of the amounts that coats take.
    weighed
        Whether their weight in the bucket is known (rule ``density``).

    Examples
    --------
    >>> unit_of({"parts"}, weighed=True), unit_of({"volume_l_per_m2"}, weighed=False)
    ('kg', 'L')
    """
    if CLOTH in kinds:
        return "m2" if len(kinds) == 1 else None
    by_weight = {one for one in kinds if KINDS[one].unit.startswith("kg")}
    if by_weight and not weighed and len(by_weight) < len(kinds):
        return None
    return "kg" if weighed or by_weight else "L"


class _File(BaseModel):
    model_config = ConfigDict(frozen=True, strict=True, extra="forbid")


class Take(_File):
    """What a coat takes of some goods."""

    of: Id
    amount: Amount
    least: Amount | None = None
    most: Amount | None = None
    reason: Text
    source: Text

    @model_validator(mode="after")
    def _inside(self) -> Take:
        bounds = [one for one in (self.least, self.most) if one is not None]
        other = next((one for one in bounds if one.kind != self.amount.kind), None)
        if other is not None:
            raise ValueError(
                f'"{clip(other.written)}" is counted otherwise than "{clip(self.amount.written)}"; use one unit'
            )
        low = self.least is not None and self.amount.value < self.least.value
        if low or (self.most is not None and self.amount.value > self.most.value):
            raise ValueError(f"{clip(self.amount.written)} lies outside its own least and most; correct one of them")
        return self

    def figure(self, coat: str) -> Figure:
        """Return its amount as a figure, ``coat.goods``."""
        least, most = (one.value if one else None for one in (self.least, self.most))
        amount = self.amount
        return Figure(
            f"{coat}.{self.of}", amount.kind, amount.value, amount.written, least, most, self.reason, self.source
        )


class Goods(_File):
    """Something bought or made. Its numbers are rules: ``lime.bag``, ``lime.density``, ``putty.age``."""

    id: Id
    name: Annotated[str, Field(min_length=1, max_length=40)]
    again: bool = False
    """Used again on the next face, such as cloth: counted is the most that is needed at one time."""
    order: Annotated[str, Field(max_length=300)] = ""
    """Sentence that goes with the order: all in one batch."""
    make: Annotated[str, Field(max_length=300)] = ""
    """Sentence that goes with the making: lime into water, never water onto lime."""
    cautions: tuple[str, ...] = ()

    @field_validator("cautions", mode="before")
    @classmethod
    def _tuple(cls, value: Any) -> Any:
        return tuple(value) if isinstance(value, list) else value


class Ahead(_File):
    """Something done once, so many days before the first of the coats that need it."""

    id: Id
    text: Text
    before: Id
    """Coat that needs it."""
    lead: Days
    """Days before that coat."""
    hold: str = ""
    """Hold point that tells that it is done; empty: none does."""
    cautions: tuple[str, ...] = ()
    reason: Text
    source: Text

    @field_validator("cautions", mode="before")
    @classmethod
    def _tuple(cls, value: Any) -> Any:
        return tuple(value) if isinstance(value, list) else value

    def figure(self) -> Figure:
        """Return its lead as a figure, ``id.lead``."""
        lead = show(self.lead, "days")
        return Figure(f"{self.id}.lead", "days", self.lead, lead, None, None, self.reason, self.source)
