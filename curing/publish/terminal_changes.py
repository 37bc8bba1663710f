"""What moved in a revision, in a terminal: from, to, because, and what moved with it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from types import MappingProxyType

from curing.model.plan import Change, Kind, Moment, Plan, State
from curing.publish.event_title import plain
from curing.publish.terminal import header, joined
from curing.publish.terminal_layout import table, wrap
from curing.publish.terminal_moved import far, moved_line, near_to, shifted, told
from curing.publish.terminal_names import Names, local_day
from curing.publish.words import Words

LABELS = ("was", "now", "because", "drags")


def changes_page(
    plan: Plan,
    words: Words,
    revisions: Sequence[tuple[int, datetime, int]] = (),
    numbers: Mapping[str, str] = MappingProxyType({}),
) -> list[str]:
    """Return the lines of ``curing changes``, none wider than 80 cells.

    Parameters
    ----------
    plan
        The revision.
    words
        Language and units of the reader.
    revisions
        Number, instant and number of changes of all revisions, where they are asked for.
    numbers
        Key of an entry or a decision → its number in the record, to name what caused a change.
    """
    names = Names(plan, words, plan.as_of)
    blocks = [[header(names, words.say("terminal.revision", number=plan.revision))]]
    if revisions:
        return joined([*blocks, _all(revisions, names)])
    if plan.parent is None:
        return joined([*blocks, wrap(words.say("terminal.changes.first"))])
    if not plan.changes:
        return joined([*blocks, wrap(words.say("terminal.changes.none", parent=plan.parent))])
    listed = told(plan)
    moved = [one for one in listed if not shifted(one)]
    small = [one for one in listed if shifted(one)]
    blocks[0] += moved_line("terminal.moved", plan, words)
    unsure = any(at and at.state is State.CONDITIONAL for one in moved for at in (one.old, one.new))
    legend = [words.say("terminal.legend")] if unsure else []
    return joined([*blocks, *(list(_change(one, names, numbers)) for one in moved), _shifts(small, names), legend])


def _shifts(changes: Sequence[Change], names: Names) -> list[str]:
    """Return one line for each thing that stays on its day with its people."""
    if not changes:
        return []
    say = names.words.say
    cells = []
    near = [one for one in changes if not far(one, names.plan)]
    for one in near:
        assert one.old is not None
        assert one.new is not None
        local = names.local(one.new.start, one.zone)
        was = f"{names.local(one.old.start, one.zone):%H:%M}-{names.clock(one.old.end, one.zone)}"
        now = f"{local:%H:%M}-{names.clock(one.new.end, one.zone)}"
        cells.append((names.day(local.date()), now, say("terminal.changes.instead", was=was), _subject(one, names)))
    lines = [say("terminal.head.shifted"), *table(cells, (7, 11, 14, 30), indent=2, last=True)]
    later = len(changes) - len(near)
    if later:
        last = near_to(names.plan, changes[0].zone)
        lines += wrap(names.words.count("terminal.changes.later", later, day=names.day(last)), "  ", "  ")
    return lines


def _all(revisions: Sequence[tuple[int, datetime, int]], names: Names) -> list[str]:
    say, zone = names.words.say, names.zone(names.plan.sites[0].id)
    cells = [tuple(say(f"terminal.head.{name}") for name in ("revision", "as_of", "moved"))]
    for number, at, moved in revisions:
        local = at.astimezone(zone)
        when = say("terminal.day_time", day=names.long_day(local.date()), clock=f"{local:%H:%M}")
        cells.append((str(number), when, str(moved) if number > 1 else say("terminal.nothing")))
    return table(cells, (8, 20, 6))


def _change(change: Change, names: Names, numbers: Mapping[str, str]) -> Iterator[str]:
    say = names.words.say
    why, number = names.reason(change.reason), numbers.get(str(change.reason.values.get("entry", "")))
    yield from wrap(_subject(change, names), "", "  ")
    told = {
        "was": _moment(change.old, change, names) if change.old else say("terminal.changes.not_there"),
        "now": _moment(change.new, change, names) if change.new else say("terminal.changes.gone"),
        "because": say("terminal.changes.by_entry", why=why, number=number) if number else why,
        "drags": _drags(change, names),
    }
    cells = [(say(f"terminal.changes.{label}"), told[label]) for label in LABELS if told[label]]
    yield from table(cells, (8, 40), indent=2, last=True)


def _subject(change: Change, names: Names) -> str:
    say = names.words.say
    if change.kind is Kind.ROUND:
        slot = change.id.split(".")[1:2]
        known = slot and slot[0] in ("early", "midday", "late")
        walk = say(f"terminal.round.{slot[0]}") if known else plain(change.id)
        return say("terminal.changes.what", what=walk, wall=names.faces(change.faces))
    booking, face = names.bookings.get(change.id), names.titles.faces.get(change.id.partition(".")[0])
    wall = names.titles.subject(booking)[1] if booking else names.wall(face) if face else plain(names.plan.name)
    return say("terminal.changes.what", what=names.thing(change.id), wall=wall)


def _moment(at: Moment, change: Change, names: Names) -> str:
    say = names.words.say
    local = names.local(at.start, change.zone)
    values = {
        "day": names.long_day(local.date()),
        "start": f"{local:%H:%M}",
        "end": names.clock(at.end, change.zone),
        "who": names.who(at.who),
    }
    key = {State.CONDITIONAL: "if", State.OFF: "off", State.DONE: "done"}.get(at.state, "firm")
    return say(f"terminal.changes.{key}", **values)


def _drags(change: Change, names: Names) -> str:
    """Return what moved with it, each with its new day."""
    told = []
    for id_ in change.drags:
        booking = names.bookings.get(id_)
        if booking is None:
            told.append(names.words.say("terminal.changes.dragged_away", what=names.thing(id_)))
            continue
        face = "" if booking.faces == change.faces[:1] else names.titles.subject(booking)[0]
        what = " ".join(names.words.say("terminal.thing", subject=face, task=names.task(booking)).split())
        told.append(names.words.say("terminal.changes.dragged", what=what, day=names.day(local_day(booking))))
    return ", ".join(told)
