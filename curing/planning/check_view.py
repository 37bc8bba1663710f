"""What the check looks at: a job and a plan side by side, indexed once."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime
from functools import cached_property
from math import ceil

from curing.model.job import Face, Job, Wall
from curing.model.plan import LIVE as LIVE
from curing.model.plan import Absence, Booking, CoatDates, Kind, Plan, State
from curing.model.system import Coat, RuleBook
from curing.planning.worktime import Worktime, local

Span = tuple[datetime, datetime]
"""Half-open span of instants."""


@dataclass(frozen=True, order=True, slots=True)
class Fault:
    """Something in a plan that breaks a rule.

    Parameters
    ----------
    rule
        Id of the rule: ``coat.rule`` of a coat system, or the planner's own, ``plan.…``.
    where
        Id of the booking, hold, face or coat at fault.
    text
        What, with value and unit; the limit; what to do.

    Examples
    --------
    >>> print(Fault("plan.weekend", "3-out.base", "laid on 2027-05-01; choose a working day"))
    3-out.base: laid on 2027-05-01; choose a working day (rule plan.weekend)
    """

    rule: str
    where: str
    text: str

    def __str__(self) -> str:
        return f"{self.where}: {self.text} (rule {self.rule})"


@dataclass(frozen=True, slots=True)
class Laying:
    """When a coat is laid: as the job file records it, else as it is booked."""

    face: str
    coat: Coat
    day: date
    start: datetime
    end: datetime
    booking: Booking | None
    """Its booking, live or proposed; None where the coat is done."""

    @property
    def id(self) -> str:
        """Face and coat."""
        return f"{self.face}.{self.coat.id}"

    @property
    def done(self) -> bool:
        """Whether it is a fact."""
        return self.booking is None


class View:
    """A job and a plan, indexed; bookings at fault in their form are left out.

    Parameters
    ----------
    job, plan
        What is compared.
    malformed
        Ids of bookings and rounds that can't be judged further.
    kept
        Coats that keep their day against a rule by decision.
    """

    def __init__(
        self, job: Job, plan: Plan, malformed: frozenset[str] = frozenset(), kept: frozenset[str] = frozenset()
    ) -> None:
        self.kept = kept
        self.job = job
        self.plan = plan
        self.work = Worktime(job)
        self.faces: dict[str, tuple[Wall, Face]] = {id_: (wall, face) for id_, wall, face in job.faces()}
        self._sites = {id_: job.site_of(wall).id for id_, (wall, _) in self.faces.items()}
        self._todays = {site.id: local(self.work.zone(site.id), plan.as_of)[0] for site in job.file.sites}
        self.people = {person.id: person for person in job.file.people}
        sound = [booking for booking in (*plan.bookings, *plan.rounds) if booking.id not in malformed]
        self.bookings = [booking for booking in sound if booking.kind is not Kind.ROUND]
        self.rounds = [booking for booking in sound if booking.kind is Kind.ROUND]
        touched = {
            face
            for booking in (*plan.bookings, *plan.rounds)
            if booking.id in malformed
            for face in (*booking.faces, *(visit.face for visit in booking.visits))
        }
        self.judged = [face for face in self.faces if face not in touched]
        """Faces that no malformed booking touches: only their coats and visits can be compared."""
        self._books = {
            id_: RuleBook(job.systems[face.system], job.rule_values.get(id_)) for id_, (_, face) in self.faces.items()
        }

    def book(self, face: str) -> RuleBook:
        """Return the rules that hold for a face."""
        return self._books[face]

    def site(self, face: str) -> str:
        """Return the id of the site on which a face stands."""
        return self._sites[face]

    def day(self, booking: Booking) -> date:
        """Return the local day on which a booking begins."""
        return local(self.work.zone(booking.site), booking.start)[0]

    def today(self, face: str) -> date:
        """Return the local day of a face's site at the instant the plan was made."""
        return self._todays[self.site(face)]

    def live(self) -> Iterator[Booking]:
        """Yield all bookings and rounds that take place."""
        yield from (booking for booking in (*self.bookings, *self.rounds) if booking.state in LIVE)

    def coats(self) -> Iterator[Booking]:
        """Yield the coats that are booked and take place."""
        yield from (b for b in self.bookings if b.kind is Kind.COAT and b.state in LIVE)

    @cached_property
    def coats_of(self) -> dict[str, dict[str, Booking]]:
        """Coats of each face by coat, in any state; where there are two, one that takes place."""
        found: dict[str, dict[str, Booking]] = {}
        for booking in sorted(self.bookings, key=lambda b: b.state in LIVE):
            if booking.kind is Kind.COAT:
                found.setdefault(booking.faces[0], {})[booking.task] = booking
        return found

    @cached_property
    def layings(self) -> dict[str, list[Laying]]:
        """Coats laid or booked of each face judged, in the order of the coat system."""
        return {id_: list(self._layings(id_)) for id_ in self.judged}

    def _layings(self, face: str) -> Iterator[Laying]:
        booked = {task: b for task, b in self.coats_of.get(face, {}).items() if b.state in LIVE or proposed(b)}
        zone = self.work.zone(self.site(face))
        for coat in self.book(face).system.coats:
            if (done := self.faces[face][1].done.get(coat.id)) is not None:
                closed = done.replace(tzinfo=zone).astimezone(UTC)
                yield Laying(face, coat, done.date(), closed, closed, None)
            elif booking := booked.get(coat.id):
                yield Laying(face, coat, self.day(booking), booking.start, booking.end, booking)

    def tending(self, face: str, coat: Coat) -> tuple[int, int]:
        """Return last day with two visits, and last day with any, counted from the laying day; 0: none."""
        told = self._as_laid.get((face, coat.id))
        if told is not None:  # done: it keeps the rules of its revision
            more = told.cure.more_days if told.cure is not None else 0  # hours of the cure did not count
            return told.twice_to, max(told.twice_to, told.once_to) + more
        book = self.book(face)
        twice = int(book.value(f"{coat.id}.twice_to"))
        return twice, max(twice, int(book.value(f"{coat.id}.once_to")))

    @cached_property
    def _as_laid(self) -> dict[tuple[str, str], CoatDates]:
        """Dates of coats that are done, where the plan tells how long they are tended."""
        return {
            (face.id, coat.coat): coat
            for face in self.plan.faces
            for coat in face.coats
            if coat.laid is not None and (coat.twice_to or coat.once_to)
        }


def proposed(booking: Booking) -> bool:
    """Tell whether a coat was taken off its day by weather: it has no day, but the one proposed must fit its rules."""
    return booking.state is State.OFF and booking.floor_cause == "weather"


def least_wait(book: RuleBook, coat: Coat, before: Coat) -> tuple[int, str]:
    """Return the days that must lie between two coats, and the rule that asks for most of them.

    n >= max(least_wait, least_wait_per_mm * thickness of the coat before), in whole days.
    """
    plain = int(book.value(f"{coat.id}.least_wait"))
    thickness = book.value(f"{before.id}.thickness")
    grown = ceil(round(book.value(f"{coat.id}.least_wait_per_mm") * thickness, 6))
    return max((plain, f"{coat.id}.least_wait"), (grown, f"{coat.id}.least_wait_per_mm"))


def remaining(span: Span, cuts: Iterable[Absence]) -> list[Span]:
    """Return what is left of a span when absences are cut out, in order.

    Examples
    --------
    >>> at = [datetime(2027, 5, 3, hour, tzinfo=UTC) for hour in (6, 7, 8, 11)]
    >>> [(a.hour, b.hour) for a, b in remaining((at[0], at[3]), [Absence("ida", at[1], at[2])])]
    [(6, 7), (8, 11)]
    """
    left = []
    start, end = span
    for cut in sorted(cuts, key=lambda cut: cut.start):
        if cut.start > start:
            left.append((start, min(cut.start, end)))
        start = max(start, cut.end)
    if start < end:
        left.append((start, end))
    return [(a, b) for a, b in left if a < b]


def at_work(booking: Booking, person: str) -> list[Span]:
    """Return when a person works on a booking: its time but for absences."""
    cuts = (cut for cut in booking.absent if cut.person == person)
    return remaining((booking.start, booking.end), cuts)
