"""On which page of a link something is ticked, looked at or decided."""

from __future__ import annotations

from urllib.parse import quote

from curing.model.plan import Booking, Kind
from curing.publish.terminal_names import local_day

DECIDED = "moved"
"""Page of what moved and what is to be decided."""


def page_of(booking: Booking) -> str:
    """Return the page of a link on which a booking is ticked or looked at.

    Examples
    --------
    A round opens its day at that walk, everything else its wall: ``day/2027-05-24#early``, ``wall/3#3-out``.
    """
    if booking.kind is Kind.ROUND or not booking.faces:
        day = local_day(booking).isoformat()
        return f"day/{day}#{booking.slot}" if booking.slot else f"day/{day}"
    wall = booking.faces[0].rpartition("-")[0]
    return f"wall/{quote(wall)}#{booking.faces[0]}"
