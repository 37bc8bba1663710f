"""What moved, from where to where and why; and what is to be decided, with the answers it takes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from enum import StrEnum

from curing.model.evidence import Evidence
from curing.model.plan import LIVE, Booking, Change, Kind, Moment, Notice, Plan, State
from curing.publish.event_title import plain
from curing.publish.terminal_first import Need, needs
from curing.publish.terminal_moved import laid, shifted, told
from curing.publish.terminal_names import Names, local_day
from curing.publish.words import Words

RULER_MOST = 12
"""[d] A ruler of days is drawn for moves within so many days; longer ones stand as dates."""
ROOM = 7
"""[d] A longer move fills the width of a phone: its ruler has no days beside."""
AHEAD = timedelta(days=21)
"""Coats of so many days ahead may be kept or moved by a press."""


class Asks(StrEnum):
    """Which answers a thing to decide takes."""

    LAID = "laid"
    HOLD = "hold"
    ROUND = "round"
    INSPECT = "inspect"
    MOVE = "move"
    VISITS = "visits"
    WALL = "wall"
    NOTHING = "nothing"


ASKED = {
    "weather_off": Asks.MOVE,
    "weather_proposed": Asks.MOVE,
    "was_it_laid": Asks.LAID,
    "was_it_closed": Asks.LAID,
    "hold_waiting": Asks.HOLD,
    "unnamed_round": Asks.ROUND,
    "unnamed_look": Asks.WALL,
    "inspect": Asks.INSPECT,
    "inspect_frost": Asks.INSPECT,
    "visits_unsaid": Asks.VISITS,
    "were_they_misted": Asks.VISITS,
    "refused": Asks.WALL,
    "shut": Asks.WALL,
    "hold": Asks.WALL,
    "lapsed": Asks.WALL,
}
"""Kind of what needs a person → how it is answered on the page."""


@dataclass(frozen=True, slots=True)
class ToDecide:
    """One thing that waits for somebody."""

    asks: Asks
    text: str
    urgent: bool
    about: str = ""
    """Coat, hold, or face that the answer is about."""
    face: str = ""
    wall: str = ""
    day: str = ""
    slot: str = ""
    take: str = ""
    """Of a move: what takes the day that is proposed, ``Take Wed 12 May``."""
    old: str = ""
    """The day before it was taken off, or on which it still stands, where that is not over."""
    keep: str = ""
    """What keeps that day against the forecast."""
    stands: bool = False
    """Whether it still stands on its day."""


@dataclass(frozen=True, slots=True)
class RulerDay:
    """One day of a ruler."""

    name: str
    number: int
    state: str
    """``was``, ``now``, ``proposed`` or nothing."""


@dataclass(frozen=True, slots=True)
class Move:
    """One thing that moved."""

    id: str
    face: str
    wall: str
    number: str
    name: str
    what: str
    was: str
    now: str
    because: str
    drags: str
    ruler: tuple[RulerDay, ...]
    entry: str = ""
    may_decide: bool = False
    """Whether it is a coat that may still be kept or moved."""
    day: str = ""


@dataclass(frozen=True, slots=True)
class Revision:
    """What moved in one revision."""

    number: int
    when: str
    moves: tuple[Move, ...]
    small: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Movable:
    """A coat that stands within the next weeks, for a choice."""

    id: str
    text: str
    day: str


@dataclass(frozen=True, slots=True)
class MovedPage:
    """The page of what moved."""

    since: str
    decide: tuple[ToDecide, ...]
    revisions: tuple[Revision, ...]
    coats: tuple[Movable, ...]


def moved_page(
    plan: Plan,
    evidence: Evidence,
    notices: tuple[Sequence[Notice], Sequence[Notice]],
    revisions: Sequence[tuple[int, datetime, Sequence[Change]]],
    numbers: dict[str, int],
    words: Words,
    now: datetime,
    since: datetime,
) -> MovedPage:
    """Return what stands on the page.

    Parameters
    ----------
    notices
        Warnings and questions of the hour.
    revisions
        Revisions since ``since``, the newest first: number, instant, changes.
    numbers
        Key of an entry → its number.
    """
    present = replace(plan, warnings=tuple(notices[0]), questions=tuple(notices[1]))
    names = Names(present, words, now)
    listed = []
    for number, at, changes in revisions:
        one = _revision(number, at, changes, plan, names, numbers, evidence, now)
        if one.moves or one.small:
            listed.append(one)
    zone = names.zone(plan.sites[0].id)
    local = since.astimezone(zone)
    return MovedPage(
        since=words.say("terminal.day_time", day=words.day(local.date()), clock=f"{local:%H:%M}"),
        decide=tuple(_decide(present, names)),
        revisions=tuple(listed),
        coats=tuple(_movable(plan, names, evidence, now)),
    )


def to_decide(plan: Plan, notices: tuple[Sequence[Notice], Sequence[Notice]], words: Words, now: datetime) -> int:
    """Return how many things wait for somebody: the number beside the link."""
    present = replace(plan, warnings=tuple(notices[0]), questions=tuple(notices[1]))
    return sum(1 for need in needs(present, Names(present, words, now)) if need.mark != "-")


def _decide(present: Plan, names: Names) -> Iterator[ToDecide]:
    bookings = {one.id: one for one in present.bookings}
    for need in needs(present, names):
        if need.mark == "-":
            continue
        asks = ASKED.get(need.kind, Asks.NOTHING)
        coat, _, day = need.fill.partition(" ")
        if asks is Asks.MOVE and coat in bookings:
            yield _move_asked(need, bookings[coat], date.fromisoformat(day), names)
        else:
            yield _asked(need, asks)


def _move_asked(need: Need, booking: Booking, day: date, names: Names) -> ToDecide:
    """Return a coat for which another day is proposed, with the answers: that day, another, the old one."""
    face, say = need.faces[0], names.words.say
    stands = booking.state in LIVE
    old = local_day(booking) if stands else booking.floor_was
    over = old is None or old < names.today(booking.site)
    return ToDecide(
        Asks.MOVE,
        need.text,
        need.mark == "!",
        about=booking.id,
        face=face,
        wall=face.rpartition("-")[0],
        day=day.isoformat(),
        take=say("page.moved.take", day=names.long_day(day)),
        old="" if old is None or over else old.isoformat(),
        keep="" if old is None or over else say("page.moved.keep", day=names.long_day(old)),
        stands=stands,
    )


def _asked(need: Need, asks: Asks) -> ToDecide:
    face = need.faces[0] if need.faces else ""
    wall, about, day, slot = face.rpartition("-")[0], "", "", ""
    if asks is Asks.LAID:
        # finished FACE COAT --at "DAY 15:00"
        parts = need.fill.split(" ")
        if len(parts) >= 5:
            about, day = f"{parts[1]}.{parts[2]}", parts[4].strip('"')
        else:
            asks = Asks.WALL
    elif asks is Asks.HOLD:
        about = need.fill.split(" ")[0]
        head = about.partition(".")[0]
        wall = wall or head.rpartition("-")[0] or head
    elif asks is Asks.ROUND:
        day = need.fill
    elif asks is Asks.VISITS:
        parts = need.tail.split(" day=")
        slot, day = (parts[0], parts[1]) if len(parts) == 2 else ("", "")
        asks = asks if day else Asks.WALL
    if asks is Asks.WALL and not wall:
        asks = Asks.NOTHING
    return ToDecide(asks, need.text, need.mark == "!", about, face, wall, day, slot)


def _revision(
    number: int,
    at: datetime,
    changes: Sequence[Change],
    plan: Plan,
    names: Names,
    numbers: dict[str, int],
    evidence: Evidence,
    now: datetime,
) -> Revision:
    listed = told(replace(plan, changes=tuple(changes)))
    moves = [_move(one, names, numbers, evidence, now) for one in listed if not shifted(one) and not laid(one)]
    small = [_small(one, names) for one in listed if shifted(one) and one.new is not None and one.new.end > at]
    zone = names.zone(plan.sites[0].id)
    local = at.astimezone(zone)
    when = names.words.say("terminal.day_time", day=names.words.day(local.date()), clock=f"{local:%H:%M}")
    return Revision(number, when, tuple(moves), tuple(small[:12]))


def _move(change: Change, names: Names, numbers: dict[str, int], evidence: Evidence, now: datetime) -> Move:
    say = names.words.say
    face = change.faces[0] if change.faces else ""
    booking = names.bookings.get(change.id)
    plan_face = names.titles.faces.get(face)
    what = names.task(booking) if booking is not None else names.thing(change.id)
    if change.kind is Kind.ROUND:
        slot = change.id.split(".")[1:2]
        what = say(f"terminal.round.{slot[0]}") if slot and slot[0] in ("early", "midday", "late") else what
    number = numbers.get(str(change.reason.values.get("entry", "")), 0)
    walls = {names.titles.faces[one].wall for one in change.faces if one in names.titles.faces}
    number_text = names.faces(change.faces) if len(change.faces) < 4 else names.words.count("title.walls", len(walls))
    coat = booking is not None and booking.kind is Kind.COAT and booking.state in LIVE and booking.start > now
    return Move(
        id=change.id,
        face=face,
        wall=plan_face.wall if plan_face else "",
        number=number_text,
        name=names.wall(plan_face) if plan_face and change.kind is not Kind.ROUND else "",
        what=what[:1].upper() + what[1:],
        was=_moment(change.old, change, names) if change.old else say("page.moved.new"),
        now=_moment(change.new, change, names) if change.new else say("page.moved.gone"),
        because=names.reason(change.reason),
        drags=", ".join(dict.fromkeys(names.thing(one) for one in change.drags[:12])),
        ruler=tuple(_ruler(change, names)),
        entry=f"#{number}" if number else "",
        may_decide=coat and change.id not in evidence.done,
        day=local_day(booking).isoformat() if booking is not None else "",
    )


def _moment(at: Moment, change: Change, names: Names) -> str:
    local = names.local(at.start, change.zone)
    text = names.words.say("terminal.day_time", day=names.long_day(local.date()), clock=f"{local:%H:%M}")
    if at.state is State.CONDITIONAL:
        text = names.words.say("terminal.about", day=text)
    if at.state is State.OFF:
        text = names.words.say("terminal.no_day.proposed", day=names.long_day(local.date()))
    return f"{text} · {names.who(at.who)}" if change.kind is Kind.ROUND else text


def _ruler(change: Change, names: Names) -> Iterator[RulerDay]:
    """Yield the days round a move, where both ends lie near each other."""
    if change.old is None or change.new is None or change.kind is Kind.ROUND:
        return
    old, new = (names.local(at.start, change.zone).date() for at in (change.old, change.new))
    first, last = min(old, new), max(old, new)
    now = "proposed" if change.new.state is State.OFF else "now"
    if first == last or (last - first).days > RULER_MOST - 3:
        return
    beside = timedelta(1 if (last - first).days <= ROOM else 0)
    day = first - beside
    while day <= last + beside:
        text = names.words.day(day).split(" ")[0]
        yield RulerDay(text, day.day, "was" if day == old else now if day == new else "")
        day += timedelta(1)


def _small(change: Change, names: Names) -> str:
    assert change.old is not None
    assert change.new is not None
    booking = names.bookings.get(change.id)
    what = names.task(booking) if booking is not None else ""
    if change.kind is Kind.ROUND:
        slot = change.id.split(".")[1:2]
        what = names.words.say(f"terminal.round.{slot[0]}") if slot else change.id
    local = names.local(change.new.start, change.zone)
    return names.words.say(
        "page.moved.shift",
        day=names.words.day(local.date()),
        what=f"{names.faces(change.faces)} {what}".strip(),
        now=f"{local:%H:%M}-{names.clock(change.new.end, change.zone)}",
        was=f"{names.clock(change.old.start, change.zone)}-{names.clock(change.old.end, change.zone)}",
    )


def _movable(plan: Plan, names: Names, evidence: Evidence, now: datetime) -> Iterator[Movable]:
    for one in plan.bookings:
        if one.kind is not Kind.COAT or one.state not in (*LIVE, State.OFF) or one.id in evidence.done:
            continue
        if now <= one.end and one.start <= now + AHEAD:
            day = local_day(one)
            text = names.words.say("page.moved.coat", what=names.thing(one.id), day=names.words.day(day))
            yield Movable(one.id, plain(text), day.isoformat())
