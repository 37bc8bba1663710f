"""Reminders that one's own work of today or tomorrow is not what it was."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from curing.model.plan import LIVE, Change, Moment, State
from curing.model.plan import Kind as Booked
from curing.model.reminders import Kind, Occasion
from curing.planning.inspections import inspection
from curing.planning.reminding_quiet import before_work
from curing.planning.reminding_scene import DAY, View, stamp
from curing.planning.weather_booked import cover_of
from curing.planning.worktime import local, zone_of

WATER = ("no_water", "water", "one_more")
COVERS = ("frost", "sheet", "cloth")
SMALL = timedelta(minutes=15)
"""A start that moves by less is not told (common practice, no source)."""


@dataclass(frozen=True)
class _News:
    """A change as one person takes it."""

    change: Change
    what: str
    """``given``, ``taken``, ``off``, ``moved``, ``firm``, ``conditional``; of a walk whose reminder is out already:
    ``no_water``, ``water`` or ``one_more``."""
    until: datetime
    """End of what it is about today or tomorrow."""
    start: datetime


def material(change: Change) -> bool:
    """Tell whether a change is more than a few minutes or a face more or less in a walk.

    Another day, other people, called off or new, certain or in doubt, or a start that moves by a quarter of an hour.
    What is only recorded as done has not moved.
    """
    old, new = _standing(change.old), _standing(change.new)
    if change.new is not None and change.new.state is State.DONE:
        return False
    if old is None or new is None:
        return old is not new
    zone = zone_of(change.zone)
    return (
        local(zone, old.start)[0] != local(zone, new.start)[0]
        or set(old.who) != set(new.who)
        or old.state is not new.state
        or abs(new.start - old.start) >= SMALL
    )


def _standing(moment: Moment | None) -> Moment | None:
    """Return where something is to take place; None where it is not, or is over and done."""
    return moment if moment is not None and moment.state in LIVE else None


def changed(view: View) -> Iterator[Occasion]:
    """Yield, for each revision, what it changed in a person's work of that day and the next, at once.

    What a later revision changed once more is told of that one alone: nobody hears first what is not so any more.
    """
    again: set[tuple[str, str]] = set()
    for number, saved, changes in sorted(view.scene.moved, key=lambda one: -one[0]):
        if not view.after - 2 * DAY < saved <= view.to:
            continue
        told: dict[str, list[_News]] = {}
        handed = _handed(changes)
        for change in changes:
            for root, news in _news(view, change, saved, handed):
                if (change.id, root) not in again:
                    told.setdefault(root, []).append(news)
        again.update((one.change.id, root) for root, listed in told.items() for one in listed)
        for root, listed in told.items():
            own = {one.change.id for one in listed}
            heads = [one for one in listed if not _follows(one.change, own)]
            yield from _occasion(view, number, saved, root, heads)


def _follows(change: Change, told: set[str]) -> bool:
    """Tell whether something goes with its coat, which is told: the look after it."""
    return change.kind is Booked.LOOK and change.id.rpartition(".")[0] in told


def _occasion(view: View, number: int, saved: datetime, root: str, listed: list[_News]) -> Iterator[Occasion]:
    listed.sort(key=lambda one: (one.what != "no_water", one.start, one.change.id))
    what = [one.what for one in listed]
    first = listed[0].change
    zone = zone_of(first.zone)
    yield from view.occasion(
        Kind.CHANGED,
        f"changed|{number}|{root}",
        root,
        saved,
        max(one.until for one in listed),
        about=tuple(one.change.id for one in listed),
        faces=view.in_order(face for one in listed if one.what == what[0] for face in one.change.faces)
        if what[0] in WATER
        else view.in_order(face for one in listed for face in one.change.faces),
        values={
            "revision": number,
            "changes": len(listed),
            "given": what.count("given"),
            "taken": what.count("taken"),
            "off": what.count("off"),
            "moved": what.count("moved"),
            "state": what.count("firm") + what.count("conditional"),
            "what": what[0],
            "kind": first.kind.value,
            "task": "" if first.kind is Booked.ROUND else first.id.partition(".")[2],
            "was": stamp(zone, first.old.start) if first.old is not None else "",
            "now": stamp(zone, first.new.start) if first.new is not None else "",
        },
    )


def _news(
    view: View, change: Change, saved: datetime, handed: frozenset[tuple[str, ...]]
) -> Iterator[tuple[str, _News]]:
    """Yield (root of a person, what changed for that person): nothing for what lies elsewhere or is over."""
    zone = zone_of(change.zone)
    today = local(zone, saved)[0]
    both = [one for one in (_standing(change.old), _standing(change.new)) if one is not None]
    near = [one for one in both if local(zone, one.start)[0] in (today, today + DAY) and one.end > saved]
    if not near or (_standing(change.old) is None and _told_otherwise(change)):
        return
    if not material(change):
        yield from _water(view, change, saved)
        return
    until, start = max(one.end for one in near), min(one.start for one in near)
    old, new = _standing(change.old), _standing(change.new)
    had = {view.root(one) for one in old.who} if old is not None else set()
    has = {view.root(one) for one in new.who} if new is not None else set()
    for root in sorted(had | has):
        if root not in had:
            what = "given"
        elif root not in has:
            what = "taken" if has or _walk(change) in handed else "off"
        else:
            what = "moved" if both[0].state is both[1].state else both[1].state.value
        yield root, _News(change, what, until, start)


def _water(view: View, change: Change, saved: datetime) -> Iterator[tuple[str, _News]]:
    """Yield what weather changed about the water of a walk, for who was reminded of that walk already.

    Who was not reads it in the reminder, which is written when it goes out.
    """
    old, new, key = _standing(change.old), _standing(change.new), change.reason.key
    what = "one_more" if key.startswith("weather_more_") else ""
    if "water" in change.reason.values:
        what = "no_water" if change.reason.values["water"] == "none" else "water"
    if change.kind is not Booked.ROUND or old is None or new is None or not what:
        return
    zone = zone_of(change.zone)
    for root in sorted({view.root(one) for one in new.who}):
        person = view.people.get(root)
        if person is not None and before_work(person, zone, old.start)[0] <= saved:
            yield root, _News(change, what, new.end, new.start)


def _told_otherwise(change: Change) -> bool:
    """Tell whether something new has a reminder of its own that says why.

    Covers against weather with what comes and by when they are up, one more mist in dry air, a face to look over.
    """
    more = change.kind is Booked.ROUND and change.reason.key == "weather_more_extra"
    looks = change.kind is Booked.READING and change.id == inspection(change.id.removesuffix(".inspect"))
    return more or looks or cover_of(change.id) in COVERS


def _handed(changes: Sequence[Change]) -> frozenset[tuple[str, ...]]:
    """Return the walks that are one person's no more and another's now: two changes each."""
    gone = {_walk(one) for one in changes if _standing(one.new) is None}
    return frozenset(gone & {_walk(one) for one in changes if _standing(one.old) is None} - {()})


def _walk(change: Change) -> tuple[str, ...]:
    """Return what tells a walk, whoever takes it: its day, part of the day and faces; nothing for other things."""
    return (*change.id.split(".")[:2], *sorted(change.faces)) if change.kind is Booked.ROUND else ()


def count(changes: Iterable[Change]) -> int:
    """Return how many of some changes are more than small, a walk that was handed over once."""
    return len({_walk(one) or one.id for one in changes if material(one)})
