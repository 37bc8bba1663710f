"""What stands after ``curing log JOB``, taken apart: what happened, where, and with which values.

``finished 3-out base``, ``misted early``, ``reading 5-out low=18.5 depth=100mm basis=wet meter=probe``:
first a word for what happened, then names, then ``name=value``.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from curing.errors import Problem, UsageError
from curing.model.kinds import KindName
from curing.model.quantities import clip, parse
from curing.model.record import RecordKind
from curing.model.times import parse_date
from curing.sources.decision_line import DECIDED
from curing.sources.said_text import LONGEST_REASON, said_text


@dataclass(frozen=True, slots=True)
class Line:
    """A line of a log, read but not yet looked up in the job.

    Parameters
    ----------
    what
        The word for what happened, as in :data:`WHATS`.
    names
        Faces, walls, coats, rounds, holds, tests, in the order written.
    values
        What was written as ``name=value``, read.
    """

    what: str
    names: tuple[str, ...]
    values: Mapping[str, Any] = field(default_factory=dict)

    @property
    def kind(self) -> RecordKind:
        """The kind of entry it makes."""
        return WHATS[self.what].kind


Reader = Callable[[str], Any]


def _quantity(kind: KindName) -> Reader:
    def read(text: str) -> float:
        return float(parse(text, kind))

    return read


def _percent(text: str) -> float:
    """A meter shows a bare number; its unit is plain."""
    bare = re.fullmatch(r"[-+−]?[\d.,]+", text.strip())
    return float(parse(f"{text.strip()} %" if bare else text, "percent"))


def _one_of(*choices: str) -> Reader:
    def read(text: str) -> str:
        if text not in choices:
            raise ValueError(f'"{clip(text)}" is none of {", ".join(choices)}')
        return text

    return read


def _depth(text: str) -> float | str:
    return "mid" if text in ("mid", "middle") else float(parse(text, "length_mm"))


def _text(text: str) -> str:
    return said_text(text)


def _why(text: str) -> str:
    return said_text(text, LONGEST_REASON)


@dataclass(frozen=True, slots=True)
class What:
    """One thing that may be logged: the kind it makes, how it is written, and which values it takes."""

    kind: RecordKind
    form: str
    values: Mapping[str, Reader] = field(default_factory=dict)
    needs: tuple[str, ...] = ()
    """Values without which it says nothing."""
    free: bool = False
    """Takes any other ``name=value`` as text."""


_BANDS: Mapping[str, Reader] = dict.fromkeys(("low", "middle", "top"), _percent)
WHATS: Mapping[str, What] = {
    "started": What(RecordKind.STARTED, "FACE... COAT"),
    "finished": What(RecordKind.FINISHED, "FACE... COAT, or WALL set"),
    "misted": What(RecordKind.MISTED, "[FACE...] [early|midday|late] [day=DATE]", {"day": parse_date}),
    "damp": What(RecordKind.DAMP, "[FACE...] [early|midday|late] [day=DATE]", {"day": parse_date}),
    "rain": What(RecordKind.RAIN_ON_IT, "FACE... [early|midday|late] [day=DATE]", {"day": parse_date}),
    "could-not": What(
        RecordKind.COULD_NOT,
        '[FACE...] early|midday|late|COAT why="..." [day=DATE]',
        {"why": _why, "day": parse_date},
        ("why",),
    ),
    "reading": What(
        RecordKind.READING,
        "SIDE low=18.5 middle=17 top=16 depth=100mm|mid basis=wet|dry meter=ID",
        {**_BANDS, "depth": _depth, "basis": _one_of("wet", "dry"), "meter": _text},
        ("depth",),
    ),
    "weighing": What(RecordKind.READING, "WALL WEIGHT [of=panel|block]", {"of": _one_of("panel", "block")}),
    "test": What(
        RecordKind.TEST,
        "FACE hollows|dusting|suction passed|failed, FACE water-drop SECONDS, or "
        "meter=ID read=6.5 dried=6.1 [basis=wet|dry] (dried: on the wet basis)",
        {"meter": _text, "read": _percent, "dried": _percent, "basis": _one_of("wet", "dry")},
    ),
    "met": What(RecordKind.HOLD_MET, "HOLD..., such as 5.panel-dry"),
    "refused": What(RecordKind.HOLD_REFUSED, "HOLD..., such as 5.panel-dry"),
    "batch": What(RecordKind.BATCH, '[FACE... COAT] [number=B12] lime="25 kg" sand=...', {"number": _text}, free=True),
    "cover-up": What(RecordKind.COVER_UP, "FACE... [cloth|sheet|frost|winter]"),
    "cover-down": What(RecordKind.COVER_DOWN, "FACE... [cloth|sheet|frost|winter]"),
    "inspection": What(RecordKind.INSPECTION, 'FACE... sound|unsound [found="..."]', {"found": _text}),
    "passed-on": What(
        RecordKind.PASSED_ON,
        "to=PERSON from=DATE [until=DATE] [early|midday|late]",
        {"to": _text, "from": parse_date, "until": parse_date},
        ("to", "from"),
    ),
    "note": What(RecordKind.NOTE, '[FACE...] "TEXT"'),
    "correct": What(RecordKind.CORRECTION, 'NUMBER withdrawn [why="..."], or NUMBER and the line as it should be'),
}
"""Word → what it logs. ``form`` is how the rest of the line is written."""

_VALUE = re.compile(r"([A-Za-z][A-Za-z-]*)=(.*)", re.DOTALL)


def read_line(what: str, words: Sequence[str]) -> Line:
    """Read a line of the log.

    Raises
    ------
    UsageError
        Everything that is wrong with it, each with the form it should have.

    Examples
    --------
    >>> read_line("reading", ["5-out", "low=18.5", "depth=4in", "basis=wet", "meter=probe"]).values["depth"]
    101.6
    """
    if what in DECIDED:
        raise UsageError(f"{what}: is decided, not logged; write curing {what} JOB")
    if what not in WHATS:
        near = difflib.get_close_matches(what, WHATS, n=1)
        hint = f'did you mean "{near[0]}"?' if near else f"say one of {', '.join(WHATS)}"
        raise UsageError(f'"{clip(what)}": nothing is logged by that word; {hint}')
    spec = WHATS[what]
    names: list[str] = []
    values: dict[str, Any] = {}
    problems: list[str] = []
    said: set[str] = set()
    # A correction holds a whole line: its values are read when that line is.
    if what == "correct":
        return Line(what, tuple(words))
    for word in words:
        found = None if what == "note" else _VALUE.fullmatch(word)
        if not found:
            names.append(word)
            continue
        name, text = found[1], found[2]
        if name in said:
            problems.append(f'"{name}": said twice; say it once')
        elif name not in spec.values and not spec.free:
            known = f"it takes {', '.join(spec.values)}" if spec.values else "it takes no values"
            problems.append(f'"{clip(name)}=": not a value of "{what}"; {known}')
        else:
            said.add(name)
            try:
                values[name] = spec.values.get(name, _text)(text)
            except ValueError as error:
                problems.append(f"{name}: {error}")
    problems += [f'"{name}=" is not said; write {what} {spec.form}' for name in spec.needs if name not in said]
    if problems:
        raise UsageError([Problem(None, f"{what}: {text}") for text in problems])
    return Line(what, tuple(names), values)
