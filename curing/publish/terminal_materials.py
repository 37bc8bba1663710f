"""Materials in a terminal: what to order and make by when, what to buy, what each coat takes, week by week."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from curing.model.plan import Due, Kind, Plan, State, Supply, Walked
from curing.publish.amounts import packs, said
from curing.publish.event_text import caution
from curing.publish.event_title import plain
from curing.publish.terminal import answer, header, job_name, joined, tail_of
from curing.publish.terminal_layout import WIDTH, table, width, wrap
from curing.publish.terminal_names import Names, local_day
from curing.publish.terminal_today import Standing
from curing.publish.words import Words

OWN = ("mortar", "paint", "labour", "misting")
"""What is no goods: its name is in the catalogue."""


def materials_page(
    plan: Plan, walked: Sequence[Walked], standing: Standing, names: Names, today: date, written: str = ""
) -> list[str]:
    """Return the lines of ``curing materials``, none wider than 80 cells.

    Parameters
    ----------
    plan
        The plan with its materials and supplies.
    walked
        What its rounds take, week by week.
    standing
        How far it can be relied on.
    names
        How things are called, in the language and units of the reader.
    today
        The present day: what is due before it is marked.
    written
        File that was written, to be told; empty for none.
    """
    say, job = names.words.say, job_name(standing.job)
    made = names.long_day(local_made(plan, names))
    state = say("terminal.revision.of", number=plan.revision, day=made) if standing.saved else ""
    told = [header(names, state or say("terminal.materials.now"))]
    if standing.broken:
        told += [*wrap(say("terminal.today.broken")), *answer(names, "check", job)]
    elif not standing.saved:
        told += answer(names, "plan", job)
    supplies = _due_block(plan, names, today)
    weeks = _weeks(plan, walked, names)
    nothing = "terminal.materials.old" if any(not c.laid for f in plan.faces for c in f.coats) else None
    nothing = nothing or "terminal.materials.none"
    blocks = [
        [*told, *(wrap(say("terminal.materials.estimates" if plan.supplies or plan.materials else nothing)))],
        supplies,
        _goods(plan, names, today),
        _coats(plan, names),
        weeks,
        _notes(plan, names),
        _cautions(plan, names),
        [*wrap(say("terminal.materials.figures")), *_written(written, names)],
    ]
    return joined(blocks)


def _written(path: str, names: Names) -> list[str]:
    line = names.words.say("terminal.written.csv", path="")
    return [line + tail_of(plain(path), WIDTH - width(line))] if path else []


def local_made(plan: Plan, names: Names) -> date:
    """Return the day of a plan at its first site."""
    return plan.as_of.astimezone(names.zone(plan.sites[0].id)).date()


def what(name: str, goods: str, words: Words) -> str:
    """Return what something is called: goods by their own name, the rest by the catalogue's."""
    return words.say(f"terminal.materials.what.{name}") if not goods and name in OWN else plain(name)


# -- by when --------------------------------------------------------------------------------


def _due_block(plan: Plan, names: Names, today: date) -> list[str]:
    say = names.words.say
    dues = sorted(
        ((due, supply) for supply in plan.supplies for due in supply.due if not (supply.begun and due.by < today)),
        key=lambda one: (one[0].by, one[0].day, one[1].name),
    )
    rows = [_due(due, supply, names, today) for due, supply in dues]
    if not rows:
        return []
    head = tuple(say(f"terminal.head.{name}") for name in ("by", "first_needed", "do"))
    lines = table([("  " + head[0], *head[1:]), *rows], (8, 18, 30), last=True)
    return [*lines, *_legend(dues, names, today)]


def _due(due: Due, supply: Supply, names: Names, today: date) -> tuple[str, str, str]:
    say = names.words.say
    day = names.day(due.by)
    day = say("terminal.about", day=day) if due.conditional else day
    late = due.by < today
    act = say(f"terminal.materials.{due.act}", what=plain(supply.name))
    coat = say("terminal.materials.for", coat=names.thing(due.coat), day=names.day(due.day))
    return (say("terminal.materials.late" if late else "terminal.materials.due", day=day), coat, act)


def _legend(dues: Sequence[tuple[Due, Supply]], names: Names, today: date) -> list[str]:
    say = names.words.say
    lines = []
    if any(due.by < today for due, _ in dues):
        lines += wrap(say("terminal.materials.legend.late"), "", "  ")
    if any(due.conditional for due, _ in dues):
        lines += wrap(say("terminal.legend"), "", "  ")
    return lines


# -- how much -------------------------------------------------------------------------------


def _goods(plan: Plan, names: Names, today: date) -> list[str]:
    words = names.words
    rows = [
        (plain(one.name), said(one.amount, one.unit, words), packs(one, words), _there(one, names, today))
        for one in plan.supplies
        if one.unit
    ]
    if not rows:
        return []
    head = tuple(words.say(f"terminal.head.{name}") for name in ("goods", "in_all", "packs", "there"))
    lines = table([head, *rows], (16, 8, 12, 8))
    begun = any(one.begun and one.at_hand is None for one in plan.supplies)
    return [*lines, *(wrap(words.say("terminal.materials.bought_begun"), "", "  ") if begun else [])]


def _there(one: Supply, names: Names, today: date) -> str:
    if one.at_hand is not None:
        key = "at_hand" if one.at_hand <= today else "coming"
        return names.words.say(f"terminal.materials.{key}", day=names.day(one.at_hand))
    said_of = ["begun"] * one.begun + ["again"] * one.again
    return ", ".join(names.words.say(f"terminal.materials.{key}") for key in said_of)


def _coats(plan: Plan, names: Names) -> list[str]:
    words = names.words
    rows: dict[tuple[str, str], list[str]] = {}
    for one in plan.materials:
        amount = said(one.amount, one.unit, words)
        text = words.say("terminal.materials.amount", what=what(one.what, one.goods, words), amount=amount)
        rows.setdefault((one.system, one.coat), []).append(text)
    if not rows:
        return []
    cells = [
        (words.say("terminal.materials.coat", system=plain(system), coat=plain(coat)), ", ".join(texts))
        for (system, coat), texts in rows.items()
    ]
    head = (words.say("terminal.head.coat_takes"), words.say("terminal.head.takes"))
    return table([head, *cells], (16, 40), last=True)


# -- week by week ---------------------------------------------------------------------------


def _weeks(plan: Plan, walked: Sequence[Walked], names: Names) -> list[str]:
    words = names.words
    laying: dict[str, float] = {}
    goods: dict[str, dict[tuple[str, str], float]] = {}
    for one in plan.materials:
        for week, amount in one.weeks.items():
            if one.what == "labour" and not one.goods:
                laying[week] = laying.get(week, 0.0) + amount
            elif one.goods:
                key = (plain(one.what), one.unit)
                goods.setdefault(week, {})[key] = goods.setdefault(week, {}).get(key, 0.0) + amount
    rounds: dict[str, float] = {}
    misting: dict[str, float] = {}
    for walk in walked:
        rounds[walk.week] = rounds.get(walk.week, 0.0) + walk.hours
        misting[walk.week] = misting.get(walk.week, 0.0) + walk.water
    unsure = _unsure(plan)
    rows = []
    for week in sorted({*laying, *goods, *rounds}):
        parts = [
            words.say("terminal.materials.amount", what=name, amount=said(amount, unit, words))
            for (name, unit), amount in goods.get(week, {}).items()
        ]
        day = names.day(monday(week))
        rows.append(
            (
                week.partition("-")[2],
                words.say("terminal.about", day=day) if week in unsure else day,
                _hours(laying.get(week), words),
                _hours(rounds.get(week), words),
                said(misting[week], "L", words) if misting.get(week) else "",
                ", ".join(parts),
            )
        )
    if not rows:
        return []
    hours, walks = (_hours(sum(one.values()), words) for one in (laying, rounds))
    water = sum(misting.values())
    rows.append((words.say("terminal.materials.all"), "", hours, walks, said(water, "L", words) if water else "", ""))
    head = tuple(words.say(f"terminal.head.{n}") for n in ("week", "monday", "laying", "rounds", "misting", "goods"))
    lines = table([head, *rows], (4, 7, 6, 6, 7, 30), last=True)
    return [*lines, *wrap(words.say("terminal.materials.weeks"), "", "  ")]


def monday(week: str) -> date:
    """Return the first day of an ISO week.

    Examples
    --------
    >>> monday("2027-W18")
    datetime.date(2027, 5, 3)
    """
    year, _, number = week.partition("-W")
    return date.fromisocalendar(int(year), int(number), 1)


def _hours(hours: float | None, words: Words) -> str:
    return said(hours, "h", words) if hours else ""


def _unsure(plan: Plan) -> set[str]:
    """Return the weeks in which some coat is laid only if its holds are met."""
    coats = (one for one in plan.bookings if one.kind is Kind.COAT and one.state is State.CONDITIONAL)
    days = (local_day(one).isocalendar() for one in coats)
    return {f"{day.year}-W{day.week:02}" for day in days}


# -- how ------------------------------------------------------------------------------------


def _notes(plan: Plan, names: Names) -> list[str]:
    say = names.words.say
    noted = [one for one in plan.supplies if one.note and one.at_hand is None]
    lines = [say("terminal.materials.notes")] if noted else []
    for one in noted:
        lines += wrap(say("terminal.materials.note", what=plain(one.name), note=plain(one.note)), "  ", "    ")
    return lines


def _cautions(plan: Plan, names: Names) -> list[str]:
    keys = dict.fromkeys(key for one in plan.supplies if one.at_hand is None or one.amount for key in one.cautions)
    if not keys:
        return []
    lines = [names.words.say("terminal.cautions")]
    for key in (*keys, "last"):
        lines += wrap(caution(names.words, key, plan.cautions.get(key, "")), "  ", "  ")
    return lines
