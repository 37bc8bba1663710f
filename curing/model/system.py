"""A coat system: the rules of the trade as data, each with its value, unit, reason and source.

Rule ids are ``coat.rule``. The words before the point are the coats of the
system and the three groups ``panel`` (the infill), ``visit`` (how a visit is
walked) and ``weather`` (how weather is judged); the words after it are those of
:data:`RULES`.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Mapping
from enum import StrEnum
from functools import cached_property
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationInfo, field_validator, model_validator

from curing.model.goods import Ahead, Figure, Goods, Take, unit_of
from curing.model.goods import Id as Id
from curing.model.goods import Text as Text
from curing.model.kinds import KindName
from curing.model.plan import Care
from curing.model.quantities import parse
from curing.model.record_data import TrialName
from curing.model.rule_kinds import GROUPS as GROUPS
from curing.model.rule_kinds import RULES as RULES
from curing.model.rule_kinds import RuleKind as RuleKind

SYSTEM_FORMAT = 1


CAUTIONS = ("lime", "sockets", "height", "cloth", "dust", "paint")
"""Keys of the cautions a coat may carry; their whole texts stand in the catalogue of words."""


def read_value(rule_id: str, text: object) -> float:
    """Return what a file says for a rule, in SI; ValueError says what is wrong and what to write.

    Examples
    --------
    >>> read_value("finish.twice_to", "10 d"), read_value("base.thickness", "1/2 in")
    (10, 12.7)
    """
    rule = RULES[rule_id.partition(".")[2]]
    return parse(text, rule.kind, high=rule.high, zero=rule.zero)


class _File(BaseModel):
    model_config = ConfigDict(frozen=True, strict=True, extra="forbid")


class Rule(_File):
    """One rule: ``value`` is kept in SI [unit of its kind], ``written`` as it stood in the file."""

    id: Annotated[str, Field(pattern=r"^[A-Za-z0-9-]+\.[a-z_]+$")]
    value: float
    written: str = ""
    least: float | None = None
    most: float | None = None
    reason: Text
    source: Text

    @model_validator(mode="before")
    @classmethod
    def _keep(cls, data: Any) -> Any:
        return {**data, "written": str(data["value"])} if isinstance(data, dict) and "value" in data else data

    @field_validator("id")
    @classmethod
    def _known(cls, value: str) -> str:
        name = value.partition(".")[2]
        if name not in RULES:
            near = difflib.get_close_matches(name, RULES, n=1)
            hint = f'did you mean "{near[0]}"?' if near else f"use one of: {', '.join(sorted(RULES))}"
            raise ValueError(f'no rule is called "{name}"; {hint}')
        return value

    @field_validator("value", "least", "most", mode="before")
    @classmethod
    def _read(cls, value: Any, info: ValidationInfo) -> Any:
        # An id that is wrong is told of once: its value can't be read, and that is no second fault.
        return read_value(info.data["id"], value) if "id" in info.data else 0.0

    @model_validator(mode="after")
    def _inside(self) -> Rule:
        if self.least is not None and self.most is not None and self.least > self.most:
            raise ValueError("least is more than most; swap them")
        low = self.least is not None and self.value < self.least
        if low or (self.most is not None and self.value > self.most):
            raise ValueError(f"{self.written} lies outside its own least and most; correct one of them")
        return self

    @property
    def name(self) -> str:
        """The part after the point."""
        return self.id.partition(".")[2]

    @property
    def kind(self) -> KindName:
        """Kind of quantity of the value."""
        return RULES[self.name].kind

    def read(self, text: object) -> float:
        """Return another value for it, in SI; ValueError says what is wrong and what to write."""
        return read_value(self.id, text)


class Scope(StrEnum):
    """What one recording of a hold point answers for."""

    JOB = "job"
    WALL = "wall"
    FACE = "face"


class HoldTask(_File):
    """The reading or test that a hold point asks for, as a task in the calendar."""

    kind: Annotated[str, Field(pattern="^(reading|test)$")]
    title: Annotated[str, Field(min_length=1, max_length=16)]
    minutes: Annotated[int, Field(ge=1, le=240)]
    needs: tuple[TrialName, ...] = ()
    """Tests of the face that must be recorded as passed, besides the word of who decides."""

    @field_validator("needs", mode="before")
    @classmethod
    def _tuple(cls, value: Any) -> Any:
        return tuple(value) if isinstance(value, list) else value


class HoldPoint(_File):
    """What must be recorded as met before a coat."""

    id: Id
    text: Text
    lifts: Text
    scope: Scope
    judges: str = ""
    """Coat that must be laid, and its wait over, before this can be judged; empty: at once."""
    lapses: str = ""
    """Rule id with the days for which a pass counts; empty: it does not lapse."""
    task: HoldTask | None = None
    reason: Text
    source: Text

    @field_validator("scope", mode="before")
    @classmethod
    def _scope(cls, value: Any) -> Any:
        return Scope(value) if isinstance(value, str) and value in set(Scope) else value


class Work(StrEnum):
    """What a coat is made of, for the cautions that go with it."""

    PLASTER = "plaster"
    PAINT = "paint"


class Step(_File):
    """Something done before, while or after laying, on the same day."""

    id: Id
    text: Text
    where: Literal["any", "outside", "sunny"] = "any"
    """Faces it is for: all, outside ones, or those of them with more sun that day than ``cloth_sun``."""
    source: Text


class Coat(_File):
    """One coat of a system, in the order of laying."""

    id: Id
    name: Annotated[str, Field(min_length=1, max_length=30)]
    title: Annotated[str, Field(min_length=1, max_length=10)]
    work: Work
    care: Care = Care.MIST
    season: bool = False
    """This coat must be begun by the season line (outside faces)."""
    before: tuple[Step, ...] = ()
    after: tuple[Step, ...] = ()
    visits: tuple[Step, ...] = ()
    """What is done on a visit."""
    takes: tuple[Take, ...] = ()
    """What it takes: of its mix, and what stands before it."""
    holds: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()

    @field_validator("work", mode="before")
    @classmethod
    def _work(cls, value: Any) -> Any:
        return Work(value) if isinstance(value, str) and value in set(Work) else value

    @field_validator("care", mode="before")
    @classmethod
    def _care(cls, value: Any) -> Any:
        return Care(value) if isinstance(value, str) and value in set(Care) else value

    @field_validator("before", "after", "visits", "takes", "holds", "cautions", mode="before")
    @classmethod
    def _tuple(cls, value: Any) -> Any:
        return tuple(value) if isinstance(value, list) else value


class System(_File):
    """A whole coat system."""

    curing: int
    id: Id
    name: Text
    sides: tuple[str, ...]
    """Where it may go: ``out``, ``in``."""
    rules: tuple[Rule, ...]
    holds: tuple[HoldPoint, ...]
    coats: Annotated[tuple[Coat, ...], Field(min_length=1)]
    goods: tuple[Goods, ...] = ()
    """What is bought or made for it."""
    ahead: tuple[Ahead, ...] = ()
    """What is done once ahead of a coat."""

    @field_validator("sides", "rules", "holds", "coats", "goods", "ahead", mode="before")
    @classmethod
    def _tuple(cls, value: Any) -> Any:
        return tuple(value) if isinstance(value, list) else value

    @cached_property
    def values(self) -> Mapping[str, Rule | Figure]:
        """Everything a job file may give another value, by id: rules, then what coats take, then leads."""
        taken = [take.figure(coat.id) for coat in self.coats for take in coat.takes]
        leads = [one.figure() for one in self.ahead]
        every: tuple[Rule | Figure, ...] = (*self.rules, *taken, *leads)
        return {one.id: one for one in every}

    @cached_property
    def units(self) -> Mapping[str, str]:
        """Unit in which each of its goods is added up, by id: ``kg``, ``L`` or ``m2``."""
        weighed = {rule.id.partition(".")[0] for rule in self.rules if rule.name == "density"}
        kinds: dict[str, set[KindName]] = {}
        for take in (take for coat in self.coats for take in coat.takes):
            kinds.setdefault(take.of, set()).add(take.amount.kind)
        return {goods: unit_of(taken, weighed=goods in weighed) or "" for goods, taken in kinds.items()}

    def rule(self, rule_id: str) -> Rule | Figure | None:
        """Return the rule with that id, or what a coat takes or a lead under it, or None."""
        return self.values.get(rule_id)

    def hold(self, point: str) -> HoldPoint:
        """Return the hold point with that id; KeyError if there is none."""
        for hold in self.holds:
            if hold.id == point:
                return hold
        raise KeyError(point)

    def coat(self, coat_id: str) -> Coat | None:
        """Return the coat with that id, or None."""
        return next((coat for coat in self.coats if coat.id == coat_id), None)

    def before(self, coat_id: str) -> Iterator[Coat]:
        """Yield the coats laid before that one, nearest first."""
        ids = [coat.id for coat in self.coats]
        yield from reversed(self.coats[: ids.index(coat_id)])


class RuleBook:
    """The rules that hold for one face: those of its system, with the face's own values over them.

    Parameters
    ----------
    system
        The coat system.
    own
        Values of the job, the wall, or the face by rule id, in SI; later ones win.

    Examples
    --------
    ``book.value("finish.twice_to")`` is 14.0 unless the face says otherwise;
    a rule that the system does not hold gives the ``default``.
    """

    def __init__(self, system: System, own: Mapping[str, float] | None = None) -> None:
        self.system = system
        self._values: dict[str, float] = {rule.id: rule.value for rule in system.values.values()}
        self._values.update({k: v for k, v in (own or {}).items() if k in self._values})

    def value(self, rule_id: str, default: float = 0.0) -> float:
        """Return the value that holds, in SI."""
        return self._values.get(rule_id, default)

    def has(self, rule_id: str) -> bool:
        """Tell whether the system holds this rule at all."""
        return rule_id in self._values

    def items(self) -> tuple[tuple[str, float], ...]:
        """Return all values, by id: what a digest is made of."""
        return tuple(sorted(self._values.items()))
