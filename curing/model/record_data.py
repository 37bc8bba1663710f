"""What belongs to each kind of entry of the record: its ``data``, in one typed form a kind.

The written form is a contract: entries are kept for good. Faces, walls and people stand in it by
their root (the first id they ever had), so that a renamed wall keeps its record.

| kind | data |
|---|---|
| started, finished | :class:`Work` |
| misted, damp, rain-on-it, could-not | :class:`Attendance` |
| reading | :class:`Probe` or :class:`Weighing` |
| test | :class:`Trial` or :class:`MeterCheck` |
| hold-met, hold-refused | :class:`Verdict` |
| batch | :class:`Batch` |
| cover-up, cover-down | :class:`Cover` |
| inspection | :class:`Inspection` |
| passed-on | :class:`PassedOn` |
| note | :class:`Text` or :class:`Handover` |
| correction | :class:`Correction` |
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from functools import lru_cache
from typing import Annotated, Any, Literal

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, ValidationError

from curing.model.record import RecordEntry, RecordKind

SET_IN_FRAME = "set"
"""Task of a wall: its panel is set in the frame. A pass of the panel lapses with it."""

Band = Literal["low", "middle", "top"]
"""Third of a face's height in which a probe was put; the bottom dries last."""

SlotName = Literal["early", "midday", "late"]
TrialName = Literal["hollows", "water-drop", "dusting", "suction"]
TRIALS: Mapping[TrialName, str] = {
    "hollows": "tap the face: none sounds hollow",
    "water-drop": "a drop of water is drunk in about a minute",
    "dusting": "no dust stays on the hand",
    "suction": "flicked water is drunk at once and evenly",
}
"""Test → what passes it (common practice, no source)."""

DROP_SECONDS = 60.0
"""[s] Longest a drop may stand before paint (common practice, no source)."""


class _Data(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)

    def written(self) -> dict[str, Any]:
        """Return the form in which it is kept: JSON, without what was not said."""
        return self.model_dump(mode="json", exclude_defaults=True)


class _WithNote(_Data):
    note: Annotated[str, Field(max_length=2000)] = ""


class Work(_WithNote):
    """A coat begun or closed (``task`` is the coat), or the panel set in its frame (``set``).

    Examples
    --------
    >>> Work(task="base").written()
    {'task': 'base'}
    """

    task: Annotated[str, Field(min_length=1)]
    wall: str = ""
    """Root of the wall, where the task is of a wall."""


class Attendance(_WithNote):
    """What was done, or not, on a visit; ``could-not`` may also be of a whole coat (no slot)."""

    coat: str = ""
    day: date | None = None
    """Local day of the visit or coat."""
    slot: SlotName | None = None
    why: Annotated[str, Field(max_length=500)] = ""


def to_wet(value: float, basis: Literal["wet", "dry"]) -> float:
    """Return moisture on the wet basis [%]: w = d / (1 + d).

    Examples
    --------
    >>> to_wet(25.0, "dry"), to_wet(20.0, "wet")
    (20.0, 20.0)
    """
    share = value / 100
    return value if basis == "wet" else round(100 * share / (1 + share), 6)


class Probe(_WithNote):
    """One reading of a moisture meter's probe.

    Parameters
    ----------
    value
        As the meter showed it [%].
    basis
        ``wet``: share of water in the whole mass; ``dry``: water over dry mass.
    depth
        [mm] from the surface.
    mid
        Whether it was put to mid-depth.
    """

    value: Annotated[float, Field(ge=0, le=100, allow_inf_nan=False)]
    basis: Literal["wet", "dry"]
    band: Band
    depth: Annotated[float, Field(gt=0, le=1000)]
    mid: bool = False
    meter: Annotated[str, Field(min_length=1)]

    @property
    def wet(self) -> float:
        """Moisture on the wet basis [%]: w = d / (1 + d).

        Examples
        --------
        >>> Probe(value=25, basis="dry", band="low", depth=100, meter="m").wet
        20.0
        """
        return to_wet(self.value, self.basis)


class Weighing(_WithNote):
    """A panel or a witness block weighed [kg]: a trend, never a gate."""

    weight: Annotated[float, Field(gt=0, le=20_000)]
    wall: str = ""
    """Root of the wall."""
    of: Literal["panel", "block"] = "panel"


class Trial(_WithNote):
    """A test by hand of a coat, passed or not; ``seconds`` [s] of the water drop."""

    test: TrialName
    passed: bool
    seconds: float | None = None
    coat: str = ""


class MeterCheck(_WithNote):
    """A meter compared with a sample that was weighed, dried and weighed again.

    ``read`` is as the meter showed it, on its own ``basis`` [%]; ``dried`` is what the sample held [% wet basis].
    """

    meter: Annotated[str, Field(min_length=1)]
    read: Annotated[float, Field(ge=0, le=100)]
    dried: Annotated[float, Field(ge=0, le=100)]
    basis: Literal["wet", "dry"] = "wet"

    @property
    def wet(self) -> float:
        """What the meter showed on the wet basis [%].

        Examples
        --------
        >>> MeterCheck(meter="m", read=25, dried=20, basis="dry").wet
        20.0
        """
        return to_wet(self.read, self.basis)


class Verdict(_WithNote):
    """A hold point met or refused. ``right`` is what allowed the person to say so, then."""

    hold: Annotated[str, Field(min_length=1)]
    """Id of the hold point in the coat system."""
    wall: str = ""
    """Root of the wall, for a hold of a wall; a hold of the job has neither wall nor face."""
    right: str = ""
    """``lead`` or ``architect``."""


class Batch(_WithNote):
    """What went into the mixer: each thing with its amount as written, and a number where there is one."""

    mix: Mapping[str, str] = Field(default_factory=dict)
    number: str = ""
    task: str = ""


class Cover(_WithNote):
    """Cloth, sheet, frost or winter cover put up or taken down."""

    cover: Literal["cloth", "sheet", "frost", "winter"] = "cloth"


class Inspection(_WithNote):
    """A look over a face after something went wrong."""

    sound: bool
    found: Annotated[str, Field(max_length=2000)] = ""


class PassedOn(_WithNote):
    """Rounds given to somebody else, from the first to the last day, both included."""

    to: Annotated[str, Field(min_length=1)]
    """Root of the person."""
    first: date
    last: date
    slot: SlotName | None = None
    """None: every round of those days."""


class Text(_Data):
    """A remark."""

    text: Annotated[str, Field(min_length=1, max_length=2000)]


KIT = ("sprayer", "water", "goggles", "gloves", "cards", "thermometer")
"""What who takes rounds over must have in hand (common practice, no source); kept in an entry by these words."""


class Handover(_Data):
    """Who is not of the crew signs to mist for some days: was walked round with, and has the whole kit.

    It gives nobody a round by itself: who decides gives the rounds.

    Parameters
    ----------
    first, last
        Days of the rounds, both included.
    walked
        Local day of the accompanied round.
    walked_with
        Root of the person who walked along.
    signed
        Name as it was typed.
    kit
        What was ticked, of :data:`KIT`.

    Examples
    --------
    >>> day = date(2027, 6, 1)
    >>> Handover(first=day, last=day, walked=day, walked_with="wil", signed="Saar", kit=("water",)).written()["kit"]
    ['water']
    """

    first: date
    last: date
    walked: date
    walked_with: Annotated[str, Field(min_length=1)]
    signed: Annotated[str, Field(min_length=1, max_length=80)]
    kit: Annotated[tuple[str, ...], Field(max_length=20)]


class Instead(_Data):
    """What should have been said."""

    kind: RecordKind
    at: AwareDatetime
    face: str | None = None
    data: Mapping[str, Any] = Field(default_factory=dict)


class Correction(_Data):
    """An earlier entry does not hold; ``instead``, where given, does. Both stay in the record."""

    corrects: Annotated[str, Field(min_length=1)]
    """Key of the entry."""
    why: Annotated[str, Field(max_length=500)] = ""
    instead: Instead | None = None
    right: str = ""
    """``lead`` or ``architect``, where the person who corrects is one."""


FORMS: Mapping[RecordKind, tuple[type[_Data], ...]] = {
    RecordKind.STARTED: (Work,),
    RecordKind.FINISHED: (Work,),
    RecordKind.BATCH: (Batch,),
    RecordKind.MISTED: (Attendance,),
    RecordKind.DAMP: (Attendance,),
    RecordKind.RAIN_ON_IT: (Attendance,),
    RecordKind.COULD_NOT: (Attendance,),
    RecordKind.READING: (Probe, Weighing),
    RecordKind.TEST: (Trial, MeterCheck),
    RecordKind.HOLD_MET: (Verdict,),
    RecordKind.HOLD_REFUSED: (Verdict,),
    RecordKind.COVER_UP: (Cover,),
    RecordKind.COVER_DOWN: (Cover,),
    RecordKind.INSPECTION: (Inspection,),
    RecordKind.PASSED_ON: (PassedOn,),
    RecordKind.NOTE: (Text, Handover),
    RecordKind.CORRECTION: (Correction,),
}
"""Kind → the forms its data may have; the first whose own key is there is meant."""

_OWN: Mapping[type[_Data], str] = {Weighing: "weight", MeterCheck: "dried", Handover: "signed"}


@lru_cache(maxsize=65_536)
def said(entry: RecordEntry) -> _Data:
    """Return the data of an entry in its typed form.

    Raises
    ------
    ValueError
        The data are not those of the kind; the message names the first fault.

    Examples
    --------
    >>> from datetime import datetime
    >>> at = datetime.fromisoformat("2027-05-03T12:50+00:00")
    >>> said(RecordEntry("k", at, at, "wil", RecordKind.FINISHED, "3-out", {"task": "base"}))
    Work(note='', task='base', wall='')
    """
    forms = FORMS[entry.kind]
    form = next((one for one in forms if one in _OWN and _OWN[one] in entry.data), forms[0])
    try:
        return form.model_validate(entry.data)
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(part) for part in first["loc"])
        raise ValueError(f"{entry.kind}: {where}: {first['msg']}") from None
