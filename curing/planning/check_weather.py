"""Whether what weather took off its day stays off until somebody decides, and looks so to everybody."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from curing.model.plan import LIVE, Booking, Kind, State
from curing.planning.check_view import Fault, View, proposed
from curing.planning.worktime import local

DECIDED = ("plan.move", "plan.keep")
"""Rules of coats that stand on their day because somebody said so."""


def check_weather(view: View) -> Iterator[Fault]:
    """Yield coats that are off for another cause than weather, off and yet on, or on again without a word.

    No answer never means yes: a coat off its day has a day proposed, after the old one, on which its crew works;
    what comes after it on its face is in doubt, and no calendar shows it.
    """
    for booking in view.bookings:
        if booking.kind is not Kind.COAT:
            continue
        if booking.state is State.OFF:
            yield from _off(view, booking)
        elif booking.floor_cause == "weather" and booking.state in LIVE and booking.reason.rule not in DECIDED:
            text = f"was off {booking.floor_was} by weather, and is {booking.state} on {view.day(booking)}"
            yield Fault("plan.off_unasked", booking.id, f"{text} though nobody decided; leave it off")
    for layings in view.layings.values():
        under = ""
        for laying in layings:
            if laying.booking is None:
                continue
            if under and laying.booking.state is State.FIRM:
                text = f"is firm on {laying.day}, but {under} under it is off its day"
                yield Fault("plan.off_under", laying.id, f"{text}; make it conditional")
            under = laying.id if proposed(laying.booking) else under


def _off(view: View, booking: Booking) -> Iterator[Fault]:
    if booking.uid in view.plan.events:
        yield Fault("plan.off_told", booking.id, "is off its day, but stands in calendars; take its event out")
    if not booking.floor_cause:
        return  # a coat that is not to be laid at all
    if not proposed(booking):
        text = f'is off because of "{booking.floor_cause}"; only weather takes work off its day'
        yield Fault("plan.off_cause", booking.id, f"{text}; give it a day")
        return
    day, today = view.day(booking), local(view.work.zone(booking.site), view.plan.as_of)[0]
    if booking.floor is None or booking.floor_was is None:
        yield Fault("plan.off_was", booking.id, "is off its day by weather; say from which, and from when on again")
    elif day <= booking.floor_was or day < booking.floor:
        text = f"was taken off {booking.floor_was} by weather, and {day} is proposed, not from {booking.floor} on"
        yield Fault("plan.off_day", booking.id, f"{text}; propose a later day")
    elif day < today + timedelta(2):
        text = f"is proposed for {day}, today or tomorrow; nothing is brought onto these"
        yield Fault("plan.off_day", booking.id, f"{text}; propose {today + timedelta(2)} or later")
    if booking.crew and (off := view.work.off(booking.crew, day)) is not None:
        text = f"is proposed for {day}, which is no working day of crew {booking.crew} ({off.cause})"
        yield Fault("plan.off_day", booking.id, f"{text}; propose one that is")
