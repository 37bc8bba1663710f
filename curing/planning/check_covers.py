"""Whether each cover against weather has its up and its down, in that order, and nothing hangs on what rolls."""

from __future__ import annotations

import re
from collections.abc import Iterator

from curing.model.plan import Booking, Kind
from curing.planning.check_days import outside_hours
from curing.planning.check_view import Fault, View, at_work

_DATED = re.compile(r"(?P<stem>.+\.(frost|sheet|cloth)-\d{4}-\d\d-\d\d(-\d+)?)-(?P<way>up|down)")
_ROLLS = re.compile(r"\b(mobile|rolling|wheeled|castors?|towers?)\b", re.IGNORECASE)


def check_covers(view: View) -> Iterator[Fault]:
    """Yield covers without an up or a down, ups that come too late, and covers on a scaffold that rolls.

    up.end <= down.start; end <= until, by when it is to be done.
    """
    found: dict[str, dict[str, Booking]] = {}
    for one in view.live():
        if one.kind is Kind.COVER and (match := _DATED.fullmatch(one.id)):
            found.setdefault(match["stem"], {})[match["way"]] = one
    for pair in found.values():
        yield from _pair(view, pair.get("up"), pair.get("down"))


def _pair(view: View, up: Booking | None, down: Booking | None) -> Iterator[Fault]:
    now = view.plan.as_of
    if down is None:
        if up is not None and (up.who or up.start > now):  # what nobody put up needs no down
            yield Fault("plan.cover_down", up.id, "goes up and never comes down; book when it comes down")
        return
    if up is None and ".cloth-" in down.id:
        return  # hung by who lays the coat, as a step of it
    if up is None or up.end > down.start:
        text = "comes down and never went up" if up is None else f"comes down before it is up, at {up.end.isoformat()}"
        yield Fault("plan.cover_up", down.id, f"{text}; book both, the up first")
        return
    for one in (up, down):
        for person in one.who if one.start > now else ():
            yield from outside_hours(view, one, person, at_work(one, person))
        if one.until is not None and one.end > one.until:
            text = f"ends at {one.end.isoformat()}, but is to be done by {one.until.isoformat()}; book it sooner"
            yield Fault("plan.cover_late", one.id, text)
    if up.start > now and any(_ROLLS.search(view.faces[face][1].scaffold or "") for face in up.faces):
        yield Fault("plan.cover_tower", up.id, "hangs on a mobile tower, which wind takes over with it; take it out")
