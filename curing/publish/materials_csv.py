"""Materials as a table for spreadsheets: RFC 4180, one fact a row, each with its unit, rule and source.

Columns stand as :data:`COLUMNS` has them; new ones come last. Text that a spreadsheet would take for
a formula begins with ``'``.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence
from datetime import date

from curing.model.plan import Plan, Supply, Walked
from curing.publish.amounts import converted
from curing.publish.words import Words

COLUMNS = (
    "row", "what", "amount", "unit", "packs", "pack", "system", "coat", "week", "by", "days_late", "if", "for_coat",
    "for_day", "rule", "source",
)  # fmt: skip
"""Names of the columns.

``row`` is ``coat`` (what the coats of one kind take), ``week`` (how much of it falls into an ISO week,
not rounded), ``rounds`` (hours and water of the rounds of a week), ``buy`` (for the whole job: ``packs`` of
``pack`` each, rounded up last), and ``order``, ``make`` or ``do`` (what must be done ``by`` a day). ``if`` is
``IF`` where that coat waits behind a hold; ``days_late`` is filled where the day is over, but not for
goods of which some is in the wall.
"""

_DANGER = ("=", "+", "-", "@", "\t", "\r", "\n")

Row = dict[str, str | float | int]


def materials_csv(plan: Plan, walked: Sequence[Walked], words: Words, today: date) -> str:
    """Return the table with its head, lines ended as RFC 4180 asks.

    Parameters
    ----------
    plan
        The plan with its materials and supplies.
    walked
        What its rounds take, week by week.
    words
        Units of the reader.
    today
        The present day, for what is late.
    """
    out = io.StringIO()
    writer = csv.DictWriter(out, COLUMNS, restval="", lineterminator="\r\n")
    writer.writeheader()
    for row in (*_coats(plan, words), *_rounds(walked, words), *_supplies(plan, words, today)):
        writer.writerow({name: safe(value) if isinstance(value, str) else value for name, value in row.items()})
    return out.getvalue()


def safe(text: str) -> str:
    """Return text that no spreadsheet takes for a formula.

    Examples
    --------
    >>> safe("=1+1"), safe("sharp sand")
    ("'=1+1", 'sharp sand')
    """
    return f"'{text}" if text.startswith(_DANGER) else text


def _amount(amount: float, unit: str, words: Words) -> Row:
    value, name = converted(amount, unit, words)
    return {"amount": round(value, 2), "unit": name}


def _coats(plan: Plan, words: Words) -> Iterator[Row]:
    for one in plan.materials:
        row: Row = {"what": one.what, "system": one.system, "coat": one.coat, "rule": one.rule, "source": one.source}
        yield {**row, "row": "coat", **_amount(one.amount, one.unit, words)}
        for week, amount in one.weeks.items():
            yield {**row, "row": "week", "week": week, **_amount(amount, one.unit, words)}


def _rounds(walked: Sequence[Walked], words: Words) -> Iterator[Row]:
    for one in walked:
        row: Row = {"row": "rounds", "week": one.week, "system": one.system, "coat": one.coat}
        yield {**row, "what": "rounds", "rule": "visit.rate", **_amount(one.hours, "h", words)}
        if one.water:
            yield {**row, "what": "misting", "rule": "visit.water", **_amount(one.water, "L", words)}


def _supplies(plan: Plan, words: Words, today: date) -> Iterator[Row]:
    for one in plan.supplies:
        if one.unit:
            row: Row = {"row": "buy", **_buy(one, words), **_amount(one.amount, one.unit, words)}
            yield {**row, "rule": one.pack_rule, "source": one.pack_source}
        for due in one.due:
            late = 0 if one.begun else (today - due.by).days
            row = {"row": due.act.value, "what": one.name, "system": " ".join(one.systems), "by": due.by.isoformat()}
            row |= {"days_late": late if late > 0 else "", "if": "IF" if due.conditional else ""}
            row |= {"for_coat": due.coat, "for_day": due.day.isoformat()}
            yield {**row, "rule": due.rule, "source": due.source}


def _buy(one: Supply, words: Words) -> Row:
    row: Row = {"what": one.name, "system": " ".join(one.systems)}
    if one.packs:
        row |= {"packs": one.packs, "pack": round(converted(one.pack, one.unit, words)[0], 2)}
    return row
