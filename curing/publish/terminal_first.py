"""What needs a person, before everything else: what, and the command or the edit that answers it.

Things of one kind stand together under one answer, so that a long list never drowns another.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from curing.model.plan import Booking, Hold, HoldState, Notice, Plan, State
from curing.publish.event_title import plain
from curing.publish.terminal_layout import wrap
from curing.publish.terminal_names import Names, local_day
from curing.publish.words import CATALOGUE

NEAR = 14
"""[d] A hold that keeps a coat within so many days is asked for."""

ROOM = 14
"""Lines that what needs a person may take at the top of a plan."""

KINDS = (
    "check", "was_it_laid", "refused", "hold", "lapsed", "unnamed_round", "too_late", "filled_late", "could_be_late",
    "were_they_misted", "unnamed_look", "greatest_wait", "bare", "light_panel", "young_for_paint", "no_factors",
)  # fmt: skip
"""Kinds in the order in which they are told; others follow."""


@dataclass(frozen=True, slots=True)
class Need:
    """One thing that needs a person; ``mark`` is ``!`` (now), ``?`` (asked) or ``-`` (good to know)."""

    kind: str
    mark: str
    text: str
    about: str
    """What it is about in short, for a list of many of one kind."""
    faces: tuple[str, ...]
    fill: str = ""
    """What the answer is to be filled in with."""
    scope: str = ""
    """Of a hold: where in the job file it is recorded, ``job``, ``wall`` or ``face``."""


def needs(plan: Plan, names: Names) -> list[Need]:
    """Return everything that needs a person: the pressing first, each kind together, in the plan's order."""
    found = [
        *(_noticed(notice, names, "!" if notice.urgent else "-") for notice in plan.warnings),
        *(_noticed(notice, names, "!" if notice.urgent else "?") for notice in plan.questions),
        *_holds(plan, names),
    ]
    order = {kind: place for place, kind in enumerate(KINDS)}
    return sorted(found, key=lambda need: ("!?-".index(need.mark), order.get(need.kind, len(order)), need.kind))


def pressing(found: Sequence[Need]) -> int:
    """Return how many faces need somebody now, or are asked about."""
    return len({face for need in found if need.mark != "-" for face in need.faces})


def first(
    found: Sequence[Need], names: Names, job: str, *, room: int | None = ROOM, head: str = "terminal.first"
) -> list[str]:
    """Return the block ``FIRST``, or one like it under another heading.

    Parameters
    ----------
    found
        What :func:`needs` gave.
    job
        The job file, as a command names it.
    room
        Lines that it may take; None tells everything.
    head
        Key of the heading.
    """
    if not found:
        return []
    say, count = names.words.say, names.words.count
    lines = [say(head)]
    told = 0
    for kind in dict.fromkeys((need.mark, need.kind) for need in found):
        group = [need for need in found if (need.mark, need.kind) == kind]
        most = 3 if kind[0] == "!" and kind[1] != "check" else 1
        block = list(_group(group, names, None if room is None else most))
        if room is not None and told and len(lines) + len(block) > room:
            break
        lines += block
        told += len(group)
    if told < len(found):
        lines += wrap(count("terminal.more", len(found) - told, job=job), "    ", "    ")
    return lines


def _group(group: Sequence[Need], names: Names, most: int | None) -> Iterator[str]:
    shown = group if most is None or len(group) <= most else group[: most - 1] if most > 1 else group[:1]
    for need in shown:
        yield from wrap(need.text, f"  {need.mark} ", "    ")
    rest = group[len(shown) :]
    if rest:
        about = ", ".join(dict.fromkeys(need.about for need in rest if need.about))
        key = "terminal.like" if len(rest) <= 8 and about else "terminal.like_many"
        yield from wrap(names.words.count(key, len(rest), about=about), "    ")
    key = ".".join(filter(None, ("terminal.answer", group[0].kind, group[0].scope)))
    if key in CATALOGUE:
        yield from wrap(names.words.say(key, fill=group[0].fill), "    > ")


def _noticed(notice: Notice, names: Names, mark: str) -> Need:
    day = notice.values.get("day")
    about = names.faces(notice.faces)
    if isinstance(day, str) and notice.key.startswith("unnamed"):
        about = names.day(date.fromisoformat(day))
    coat, fill = notice.values.get("coat"), ""
    if notice.key == "was_it_laid" and isinstance(coat, str):
        fill = f"{coat.partition('.')[2]}: {day}"
    if notice.key == "young_for_paint" and isinstance(coat, str):
        fill = f"{coat.partition('.')[2]}.least_wait: {notice.values.get('least')} d"
    return Need(notice.key, mark, names.notice(notice), about, notice.faces, fill)


def _holds(plan: Plan, names: Names) -> Iterator[Need]:
    """Yield hold points that somebody refused, or that keep a coat of the next days, one a point."""
    kept: dict[str, list[Booking]] = {}
    for booking in plan.bookings:
        if booking.state is State.CONDITIONAL:
            for hold in booking.holds:
                kept.setdefault(hold, []).append(booking)
    points: dict[tuple[str, str, date | None, str], list[Booking]] = {}
    for one in plan.holds:
        if one.state not in (HoldState.UNMET, HoldState.REFUSED) or one.id not in kept:
            continue
        booking = kept[one.id][0]
        kind = "refused" if one.state is HoldState.REFUSED else "lapsed" if one.met and one.lapses else "hold"
        if kind == "refused" or local_day(booking) <= names.today(booking.site) + timedelta(NEAR):
            points.setdefault((kind, one.point, one.lapses, _scope(one, names)), []).extend(kept[one.id])
    for (kind, point, lapses, scope), bookings in points.items():
        values = {
            "point": plain(point),
            "coats": ", ".join(dict.fromkeys(names.thing(one.id) for one in bookings)),
            "day": names.long_day(min(local_day(one) for one in bookings)),
            "lapses": names.long_day(lapses) if lapses else "",
        }
        faces = tuple(dict.fromkeys(face for one in bookings for face in one.faces))
        text = names.words.count(f"terminal.need.{kind}", len(bookings), **values)
        yield Need(kind, "!", text, plain(point), faces, plain(point), scope)


def _scope(hold: Hold, names: Names) -> str:
    """Return what one recording of a hold answers for: its id begins with the job, the wall or the face."""
    head = hold.id.partition(".")[0]
    return "face" if head in names.titles.faces else "job" if head == "job" else "wall"
