"""A decision as it stands in a written log: who takes rounds, which coat keeps its day, which one moves.

``assign noor 2027-05-15..2027-05-16 early``, ``keep 4-out.finish why="..."``,
``move 4-out.finish 2027-05-21 why="..."``: the words of ``curing assign``, ``keep`` and ``move``,
with ``why=`` for the reason.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from curing.errors import Problem, UsageError
from curing.model.decisions import DecisionKind
from curing.model.plan import Slot
from curing.model.quantities import clip
from curing.model.times import parse_date, parse_date_range

DECIDED: Mapping[str, str] = {
    "assign": 'PERSON DATE[..DATE] [early|midday|late] [why="..."]',
    "keep": 'COAT why="..."',
    "move": 'COAT DATE why="..."',
}
"""Word → how the rest of the line is written."""


@dataclass(frozen=True, slots=True)
class DecisionLine:
    """A decision, read but not yet looked up in the job.

    Parameters
    ----------
    kind
        What is decided.
    about
        A person who takes rounds, or a face or coat.
    days
        First and last day of the rounds; the day for a coat, twice; None: its own.
    slot
        Part of the day; None: every round.
    why
        Reason.
    """

    kind: DecisionKind
    about: str
    days: tuple[date, date] | None = None
    slot: str | None = None
    why: str = ""


def read_decision(what: str, words: Sequence[str]) -> DecisionLine:
    """Read a decision of a written log.

    Raises
    ------
    UsageError
        Everything that is wrong with it, each with the form it should have.

    Examples
    --------
    >>> read_decision("move", ["4-out.finish", "2027-05-21", "why=drier by then"]).days[0]
    datetime.date(2027, 5, 21)
    """
    names = [word for word in words if not word.startswith("why=")]
    reasons = [word.removeprefix("why=").strip() for word in words if word.startswith("why=")]
    kind, form = DecisionKind(what), f"write {what} {DECIDED[what]}"
    most = {DecisionKind.ASSIGN: 3, DecisionKind.KEEP: 1, DecisionKind.MOVE: 2}[kind]
    least = min(most, 2)
    if not least <= len(names) <= most:
        raise UsageError(
            f'{what}: "{clip(" ".join(names))}" is too {"short" if len(names) < least else "long"}; {form}'
        )
    problems: list[str] = []
    if len(reasons) > 1:
        problems.append('"why": said twice; say it once')
    if kind is not DecisionKind.ASSIGN and not any(reasons):
        problems.append(f'"why=" is not said; {form}')
    days: tuple[date, date] | None = None
    try:
        if kind is DecisionKind.ASSIGN:
            days = parse_date_range(names[1])
        elif kind is DecisionKind.MOVE:
            days = (parse_date(names[1]), parse_date(names[1]))
    except ValueError as error:
        problems.append(str(error))
    slot = names[2] if len(names) == 3 else None
    if slot is not None and slot not in tuple(Slot):
        problems.append(f'"{clip(slot)}" is no round; say early, midday or late, or leave it out for all')
    if problems:
        raise UsageError([Problem(None, f"{what}: {text}") for text in problems])
    return DecisionLine(kind, names[0], days, slot, "".join(reasons))
