"""What reminders are about: bookings, visits and holds of the plan, looked up by the ids an occasion carries."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from curing.model.evidence import NOTHING_SAID, Evidence
from curing.model.plan import Booking, Hold, Kind, Notice, Plan, Slot
from curing.model.reminders import Occasion
from curing.publish.event_text import EventTexts
from curing.publish.event_title import Titles, cut, plain
from curing.publish.terminal_names import Names
from curing.publish.visit_weather import care_of
from curing.publish.words import Words

MOST_FACES = 12
"""More walls than that are counted, even where there is room."""
LONGEST_NAME = 60
"""Signs of a wall's name in a short text."""

_VISIT = re.compile(r"(?P<face>[^.]+)\.(?P<coat>[^.]+)\.(?P<day>\d{4}-\d\d-\d\d)\.(?P<slot>early|midday|late)")
_ROUND = re.compile(r"(?P<day>\d{4}-\d\d-\d\d)\.(?P<slot>early|midday|late)\..*", re.DOTALL)


@dataclass(frozen=True)
class Present:
    """The job as it stands, for the texts of its reminders.

    Parameters
    ----------
    plan
        What people were told.
    evidence
        What was recorded since, too.
    job
        The job's name.
    words
        Language and units of the reader.
    now
        The present instant.
    warnings, questions
        Of the hour; None: the plan's.
    """

    plan: Plan
    evidence: Evidence
    job: str
    words: Words
    now: datetime
    warnings: Sequence[Notice] | None = None
    questions: Sequence[Notice] | None = None


class About:
    """Looks up what occasions are about.

    Parameters
    ----------
    present
        The job as it stands.
    """

    def __init__(self, present: Present) -> None:
        warnings = present.plan.warnings if present.warnings is None else tuple(present.warnings)
        questions = present.plan.questions if present.questions is None else tuple(present.questions)
        self.plan = replace(present.plan, warnings=warnings, questions=questions)
        self.evidence, self.words, self.now = present.evidence or NOTHING_SAID, present.words, present.now
        self.job = plain(present.job)
        self.names = Names(self.plan, present.words, present.now)
        self.texts = EventTexts(self.plan, present.words)
        self.holds: Mapping[str, Hold] = {hold.id: hold for hold in self.plan.holds}
        self._bookings = {one.id: one for one in (*self.plan.bookings, *self.plan.rounds)}
        self._rounds = {visit.id: one for one in self.plan.rounds for visit in one.visits}

    @property
    def titles(self) -> Titles:
        """What makes titles of calendar events."""
        return self.names.titles

    def booking(self, id_: str) -> Booking | None:
        """Return a booking or a round by its id."""
        return self._bookings.get(id_)

    def bookings(self, occasions: Iterable[Occasion]) -> list[Booking]:
        """Return the bookings that occasions are about, each once; of a round the visits concerned alone."""
        found: dict[str, Booking] = {}
        visits: dict[str, set[str]] = {}
        for id_ in (one for occasion in occasions for one in occasion.about):
            if (walk := self._rounds.get(id_)) is not None:
                found.setdefault(walk.id, walk)
                visits.setdefault(walk.id, set()).add(id_)
            elif (booking := self._bookings.get(id_)) is not None:
                found.setdefault(booking.id, booking)
        return [narrowed(one, visits[id_]) if id_ in visits else one for id_, one in found.items()]

    def faces(self, occasions: Iterable[Occasion]) -> list[str]:
        """Return the faces concerned, each once, in the order in which they come."""
        return list(dict.fromkeys(face for one in occasions for face in one.faces))

    def wall(self, face_id: str) -> str:
        """Return a wall's number as titles call it."""
        face = self.titles.faces.get(face_id)
        return cut(plain(face.wall if face else face_id), LONGEST_NAME)

    def name(self, face_id: str) -> str:
        """Return a wall's free name."""
        face = self.titles.faces.get(face_id)
        return plain(face.wall_name) if face else ""

    def walls(self, faces: Iterable[str], key: str = "remind.walls") -> Iterator[str]:
        """Yield ways to call walls, longest first: ``walls 1 2 7``, ``3 walls``; bare numbers where key is empty."""
        numbers = list(dict.fromkeys(self.wall(face) for face in faces))
        listed = " ".join(numbers)
        if len(numbers) <= MOST_FACES:
            yield self.words.count(key, len(numbers), walls=listed) if key else listed
        yield self.words.count("title.walls", len(numbers))

    def slot(self, occasion: Occasion) -> str:
        """Return the part of the day an occasion is about."""
        said = occasion.values.get("slot")
        if isinstance(said, str) and said in {one.value for one in Slot}:
            return said
        parts = next((found for id_ in occasion.about if (found := _VISIT.fullmatch(id_))), None)
        return parts["slot"] if parts else Slot.EARLY.value

    def care(self, booking: Booking | None, occasion: Occasion) -> str:
        """Return what a round is called by: misting if anything is misted."""
        kinds = {care_of(one).value for one in booking.visits} if booking is not None else set()
        if not kinds:
            kinds = {one for one in ("mist", "air", "look") if occasion.values.get(one)}
        return kinds.pop() if len(kinds) == 1 else "mist"

    def day(self, text: object) -> str:
        """Return ``Tue 9 June`` of an ISO day or instant, or nothing."""
        try:
            return self.words.day(date.fromisoformat(str(text)[:10]))
        except ValueError:
            return ""

    def thing(self, id_: str) -> str:
        """Return what a booking is that may have left the plan: ``3 out finish 8 mm``, ``MIST early 1 2 7``."""
        booking, walk = self._bookings.get(id_), _ROUND.fullmatch(id_)
        if booking is not None and booking.kind is Kind.ROUND:
            ways = self.walls(booking.faces, "")
            cares = {one.care.value for one in booking.visits}
            care = cares.pop() if len(cares) == 1 else "mist"
            return self.words.say(f"title.{care}.{booking.slot}", walls=next(ways))
        if walk is not None:  # its id names who had it
            return self.words.say(f"terminal.round.{walk['slot']}")
        if booking is not None:
            subject = self.titles.subject(booking)[0]
            return self.words.say("terminal.thing", subject=subject, task=self.names.task(booking)).strip()
        head, _, task = plain(id_).partition(".")
        subject = self.names.face(head) if head in self.titles.faces else head
        task = task.replace(".", " ").replace("-", " ")
        return cut(self.words.say("terminal.thing", subject=subject, task=task).strip(), LONGEST_NAME)

    def named(self, faces: Iterable[str]) -> Iterator[str]:
        """Yield faces with their walls' names: ``3 out road side, bay 3``."""
        for face in faces:
            yield cut(
                self.words.say("remind.whole.face", face=self.names.face(face), name=self.name(face)).strip(), 300
            )


def narrowed(walk: Booking, visits: set[str]) -> Booking:
    """Return a round with some of its visits alone."""
    kept = tuple(one for one in walk.visits if one.id in visits)
    return replace(walk, visits=kept, faces=tuple(dict.fromkeys(one.face for one in kept)))
