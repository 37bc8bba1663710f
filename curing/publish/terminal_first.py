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
    "check", "weather_off", "was_it_laid", "was_it_closed", "inspect", "inspect_frost", "hold_waiting",
    "refused", "shut", "hold", "lapsed", "weather_proposed",
    "unnamed_round", "too_late", "filled_late", "could_be_late", "visits_unsaid", "were_they_misted", "laid_unheld",
    "laid_early", "weather_wanted", "weather_watched", "weather_kept", "kept_by", "visits_missed",
    "order_late", "make_late", "do_late", "order_by", "make_by", "do_by",
    "unnamed_look", "greatest_wait", "bare", "light_panel", "young_for_paint", "no_factors",
    "season_years", "no_line_few", "no_line_few_at_all",
)  # fmt: skip
"""Kinds in the order in which they are told; others follow."""

TOGETHER = ("inspect", "inspect_frost", "hold_waiting", "refused", "shut", "hold", "lapsed", "visits_unsaid")
"""Kinds of which one command answers several."""

MOST_FILLED = 8
"""A command names no more things than that."""


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
    tail: str = ""
    """What follows it there."""
    task: str = ""
    """Of a hold: what it asks for, ``reading`` or ``test``; empty: somebody's word."""


@dataclass(frozen=True, slots=True)
class _Alike:
    """What holds have in common that are told in one sentence."""

    kind: str
    point: str
    lapses: date | None
    asks: str
    cause: str
    again: str


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
        block = list(_group(group, names, job, None if room is None else most))
        if room is not None and told and len(lines) + len(block) > room:
            break
        lines += block
        told += len(group)
    if told < len(found):
        lines += wrap(count("terminal.more", len(found) - told, job=job), "    ", "    ")
    return lines


def _group(group: Sequence[Need], names: Names, job: str, most: int | None) -> Iterator[str]:
    shown = group if most is None or len(group) <= most else group[: most - 1] if most > 1 else group[:1]
    for need in shown:
        yield from wrap(need.text, f"  {need.mark} ", "    ")
    rest = group[len(shown) :]
    if rest:
        about = ", ".join(dict.fromkeys(need.about for need in rest if need.about))
        key = "terminal.like" if len(rest) <= 8 and about else "terminal.like_many"
        yield from wrap(names.words.count(key, len(rest), about=about), "    ")
    plainly = f"terminal.answer.{group[0].kind}"
    key = f"{plainly}.{group[0].task}"
    key = key if key in CATALOGUE else plainly
    if key in CATALOGUE:
        yield from wrap(names.words.say(key, fill=_fill(group), job=job), "    > ")


def _fill(group: Sequence[Need]) -> str:
    """Return what the answer of a group is filled in with: everything that one command answers."""
    head = group[0]
    same = [need for need in group if (need.tail, need.task) == (head.tail, head.task)]
    fills = list(dict.fromkeys(need.fill for need in same)) if head.kind in TOGETHER else [head.fill]
    return " ".join(filter(None, (*fills[:MOST_FILLED], head.tail)))


def _noticed(notice: Notice, names: Names, mark: str) -> Need:
    day = notice.values.get("day")
    about = names.faces(notice.faces)
    if isinstance(day, str) and notice.key.startswith("unnamed"):
        about = names.day(date.fromisoformat(day))
    if "for_day" in notice.values:
        about = plain(str(notice.values["what"]))
    coat, fill = notice.values.get("coat"), notice.faces[0] if notice.faces else ""
    if notice.key.startswith("unnamed"):
        fill = str(day)
    if notice.key == "hold_waiting":
        return _waiting(notice, names, mark)
    if notice.key in ("was_it_laid", "was_it_closed") and isinstance(coat, str):
        face, _, name = coat.partition(".")
        fill = f'finished {face} {name} --at "{day} 15:00"'
    if notice.key.endswith(("_by", "_late")) and isinstance(notice.values.get("id"), str):
        fill = str(notice.values["id"])  # goods that are to be ordered, made or done
    if notice.key == "young_for_paint" and isinstance(coat, str):
        fill = f"{coat.partition('.')[2]}.least_wait: {notice.values.get('least')} d"
    if notice.key in ("weather_off", "weather_proposed"):
        fill = f"{coat} {day}"
    tail = ""
    if notice.key == "visits_unsaid":
        tail = f"{notice.values.get('slot')} day={notice.values.get('last')}".strip()
    return Need(notice.key, mark, names.notice(notice), about, notice.faces, fill, tail)


def _waiting(notice: Notice, names: Names, mark: str) -> Need:
    """Return that a hold only lacks the word of who decides, called as the plan's other lines call it."""
    hold = str(notice.values.get("hold"))
    head, _, point = plain(hold).partition(".")
    where = names.face(head) if head in names.titles.faces else head
    text = names.words.say("terminal.need.hold_waiting", where=where, point=point)
    return Need(notice.key, mark, text, where, notice.faces, plain(hold))


def _holds(plan: Plan, names: Names) -> Iterator[Need]:
    """Yield hold points that somebody refused, or that keep a coat of the next days, one a point."""
    kept: dict[str, list[Booking]] = {}
    for booking in plan.bookings:
        if booking.state is State.CONDITIONAL:
            for hold in booking.holds:
                kept.setdefault(hold, []).append(booking)
    said = {notice.values.get("hold") for notice in plan.questions if notice.key == "hold_waiting"}
    points: dict[_Alike, list[Booking]] = {}
    ids: dict[_Alike, list[str]] = {}
    for one in plan.holds:
        if one.state not in (HoldState.UNMET, HoldState.REFUSED) or one.id not in kept or one.id in said:
            continue
        booking = kept[one.id][0]
        kind = "refused" if one.state is HoldState.REFUSED else "lapsed" if one.met and one.lapses else "hold"
        if kind == "hold" and f"terminal.need.shut_by.{one.shut}" in CATALOGUE:
            kind = "shut"
        if kind in ("refused", "shut") or local_day(booking) <= names.today(booking.site) + timedelta(NEAR):
            task = names.bookings.get(one.id)
            asks = task.kind.value if task is not None else ""
            group = _Alike(kind, one.point, one.lapses, asks, *_shut(one, names, kind))
            points.setdefault(group, []).extend(kept[one.id])
            ids.setdefault(group, []).append(plain(one.id))
    for alike, bookings in points.items():
        kind, lapses = alike.kind, alike.lapses
        values = {
            "point": plain(alike.point),
            "cause": alike.cause,
            "again": alike.again,
            "coats": ", ".join(dict.fromkeys(names.thing(one.id) for one in bookings)),
            "day": names.long_day(min(local_day(one) for one in bookings)),
            "lapses": names.long_day(lapses) if lapses else "",
        }
        faces = tuple(dict.fromkeys(face for one in bookings for face in one.faces))
        text = names.words.count(f"terminal.need.{kind}", len(bookings), **values)
        fill = " ".join(ids[alike][:MOST_FILLED])
        yield Need(kind, "!", text, plain(alike.point), faces, fill, task=alike.asks)


def _shut(hold: Hold, names: Names, kind: str) -> tuple[str, str]:
    """Return by what and by whom a hold was shut, and what opens it again; nothing of one that was not."""
    if kind != "shut":
        return "", ""
    say = names.words.say
    cause = say(f"terminal.need.shut_by.{hold.shut}")
    if hold.shut_on is not None:
        who = names.who([hold.shut_by])
        cause = say("terminal.need.shut_cause", cause=cause, who=who, day=names.long_day(hold.shut_on))
    again = "again" if hold.shut == "withdrawn" else "try" if hold.shut == "test" else "read"
    return cause, say(f"terminal.need.shut_{again}")
