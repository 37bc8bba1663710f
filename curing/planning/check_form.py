"""Whether each booking is whole: instants, ids, reason, and names that the job knows."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import datetime, timedelta
from itertools import pairwise

from curing.model.plan import Booking, Kind, Slot, State
from curing.planning.check_view import Fault, View


def check_form(view: View) -> tuple[list[Fault], frozenset[str]]:
    """Return faults of form, and the ids of bookings that can't be judged any further for them."""
    faults = [*_ids(view), *_order(view), *_holds(view)]
    malformed = set()
    for booking in (*view.plan.bookings, *view.plan.rounds):
        wrong = [*_instants(booking), *_names(view, booking)]
        if wrong:
            malformed.add(booking.id)
        faults += wrong
        if not booking.reason.rule or not booking.reason.key:
            faults.append(Fault("plan.reason", booking.id, "has no reason; say which rule gave it its time"))
    return faults, frozenset(malformed)


def _utc(at: datetime) -> bool:
    return at.utcoffset() == timedelta(0)


def _instants(booking: Booking) -> Iterator[Fault]:
    given = [booking.start, booking.end, *([booking.until] if booking.until else [])]
    given += [at for absence in booking.absent for at in (absence.start, absence.end)]
    naive = [at for at in given if not _utc(at)]
    if naive:
        yield Fault("plan.instant", booking.id, f"{naive[0].isoformat()} is not in UTC; write instants in UTC")
    elif booking.end <= booking.start:
        yield Fault("plan.instant", booking.id, f"ends at {booking.end.isoformat()}, not after it starts")
    elif booking.until and booking.until < booking.start:
        yield Fault("plan.instant", booking.id, f"is of no use after {booking.until.isoformat()}, before it starts")
    elif any(absence.end <= absence.start for absence in booking.absent):
        yield Fault("plan.instant", booking.id, "has an absence that does not end after it starts")


def _names(view: View, booking: Booking) -> Iterator[Fault]:
    """Yield what the job does not know, or knows to be elsewhere."""
    zones = {site.id: site.time_zone for site in view.job.file.sites}
    crews = {crew.id for crew in view.job.file.crews}
    over = _utc(booking.end) and booking.end <= view.plan.as_of  # who left the job may stand in its past
    named = [
        *(("site", booking.site) for _ in range(booking.site not in zones)),
        *(("face", face) for face in booking.faces if face not in view.faces),
        *(("face", visit.face) for visit in booking.visits if visit.face not in view.faces),
        *(("person", who) for who in booking.who if who not in view.people and not over),
        *(("person", absence.person) for absence in booking.absent if absence.person not in booking.who),
        *(("crew", booking.crew) for _ in range(bool(booking.crew) and booking.crew not in crews)),
    ]
    for what, name in named:
        yield Fault("plan.unknown", booking.id, f'names {what} "{name}", which is not there; name one of the job')
    if named:
        return
    if booking.zone != zones[booking.site]:
        yield Fault("plan.site", booking.id, f"has time zone {booking.zone}, its site {zones[booking.site]}")
    for face in dict.fromkeys((*booking.faces, *(visit.face for visit in booking.visits))):
        if view.site(face) != booking.site:
            text = f'is at site "{booking.site}", but face {face} at "{view.site(face)}"; book each site apart'
            yield Fault("plan.site", booking.id, text)
    if booking.kind is Kind.COAT:
        yield from _coat(view, booking)
    if booking.kind is Kind.ROUND and not isinstance(booking.slot, Slot):
        yield Fault("plan.unknown", booking.id, "is a round without early, midday or late; give its slot")


def _coat(view: View, booking: Booking) -> Iterator[Fault]:
    if len(booking.faces) != 1:
        yield Fault("plan.unknown", booking.id, f"is a coat of {len(booking.faces)} faces; book each face apart")
    elif view.book(booking.faces[0]).system.coat(booking.task) is None:
        text = f'is coat "{booking.task}", which the face\'s coat system does not have'
        yield Fault("plan.unknown", booking.id, text)
    elif not booking.crew and booking.state is not State.DONE:
        yield Fault("plan.unknown", booking.id, "is a coat without a crew; name the crew that lays it")


def _ids(view: View) -> Iterator[Fault]:
    # A hold may bear the id of the reading that is its task in the calendar, so both are counted apart.
    booked = [(b.id, b.uid) for b in (*view.plan.bookings, *view.plan.rounds)]
    for things in (booked, [(hold.id, hold.uid) for hold in view.plan.holds]):
        for place, what in enumerate(("id", "uid")):
            for name, count in Counter(thing[place] for thing in things).items():
                if count > 1:
                    where = next(thing[0] for thing in things if thing[place] == name)
                    text = f'{what} "{name}" stands {count} times; each thing has its own'
                    yield Fault("plan.twice", where, text)
    coats: dict[tuple[tuple[str, ...], str], set[str]] = {}
    for booking in view.plan.bookings:
        if booking.kind is Kind.COAT:
            coats.setdefault((booking.faces, booking.task), set()).add(booking.id)
    for (faces, task), ids in coats.items():
        if len(ids) > 1:
            yield Fault("plan.twice", ".".join((*faces, task)), f"is booked {len(ids)} times; a coat is laid once")


def _order(view: View) -> Iterator[Fault]:
    """Yield bookings listed before an earlier one, or in the list of the other kind."""
    for listed, rounds in ((view.plan.bookings, False), (view.plan.rounds, True)):
        for booking in listed:
            if (booking.kind is Kind.ROUND) is not rounds:
                yield Fault("plan.listed", booking.id, "stands among the other kind; list rounds apart")
        aware = [booking for booking in listed if _utc(booking.start)]
        for before, after in pairwise(aware):
            if after.start < before.start:
                yield Fault("plan.listed", after.id, f"is listed after {before.id}, which starts later")


def _holds(view: View) -> Iterator[Fault]:
    points = {hold.id for system in view.job.systems.values() for hold in system.holds}
    known = {hold.id for hold in view.plan.holds}
    for hold in view.plan.holds:
        unknown = [face for face in hold.faces if face not in view.faces]
        unknown += [hold.point] if hold.point not in points else []
        for name in unknown:
            yield Fault("plan.unknown", hold.id, f'names "{name}", which is not there; name one of the job')
    for booking in (*view.plan.bookings, *view.plan.rounds):
        for name in booking.holds:
            if name not in known:
                yield Fault("plan.unknown", booking.id, f'waits for hold "{name}", which the plan does not have')
