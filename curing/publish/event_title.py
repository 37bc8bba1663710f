"""Titles of calendar events: what to do, when in the day, at which wall.

At most 40 signs, and the first 14 tell apart the events of one day in one person's
calendar, because a watch shows no more. No title names a person.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence

from curing.model.plan import LIVE, Booking, Care, FacePlan, Kind, Plan, State, Visit
from curing.publish.visit_weather import care_of
from curing.publish.words import CATALOGUE, Words

TITLE = 40
"""Most signs of a title."""

LONG_ID = 5
"""A wall's id with more signs leaves no room on a watch for IF or CLOTH before it."""

MOST_WALLS = 5
"""A round of more walls says how many, not which."""


COVERS = {"FROST": "frost", "SHEETS": "sheet", "WINTER": "winter"}
"""Title of a cover in the plan -> what is put up; all else is cloth."""

_BREAKS = re.compile("[\x00-\x20\x7f-\xa0\u2028\u2029]+")
_MARKS = re.compile("[\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069\ufeff\ud800-\udfff]")


class Titles:
    """Makes the titles of a plan's events, and how faces are called in them.

    Parameters
    ----------
    plan
        The plan.
    words
        Language and units of the readers.
    """

    def __init__(self, plan: Plan, words: Words) -> None:
        self._plan, self._words = plan, words
        self.faces = {face.id: face for face in plan.faces}
        leads = {person.id for person in plan.people if "lead" in person.roles}
        misting = {person.id for person in plan.people if "mists" in person.roles}
        walking = misting.union(*(walk.who for walk in plan.rounds))
        # A lead who walks has an own round beside one that nobody is named for.
        self._nobody_first = bool(leads & walking)

    def title(self, booking: Booking) -> str:
        """Return the title, at most 40 signs."""
        say = self._words.say
        heads, tail, whole = self._parts(booking)
        if booking.state is State.CONDITIONAL:
            key = "title.if" if self._short(booking) else "title.if_met"
            heads = [say(key, title=head) for head in heads]
        bare = len(say("title.named", title="", name=""))
        for head in heads:
            room = TITLE - len(head) - bare
            if len(tail) <= room or (room >= 2 and not whole):
                return say("title.named", title=head, name=cut(tail, room)) if tail else head
        if whole:
            return say("title.named", title=cut(heads[-1], TITLE - bare - len(tail)), name=tail)
        return cut(heads[-1], TITLE)

    def _parts(self, booking: Booking) -> tuple[list[str], str, bool]:
        """Return ways to begin a title, longest first, what follows, and whether that may not be cut."""
        if booking.kind is Kind.ROUND and booking.slot is not None:
            return self._round_parts(booking)
        say, task = self._words.say, plain(booking.title)
        face, name = self.subject(booking)
        if booking.kind is Kind.COVER:
            order = COVERS.get(booking.title, "cloth")
            if booking.state is State.CONDITIONAL or not self._short(booking):
                order = f"face_{order}"
            heads = [say(f"title.{order}.{'up' if booking.task.endswith('up') else 'down'}", face=face)]
        elif booking.kind is Kind.LOOK:
            heads = [say("title.look", face=face)]
        else:
            heads = [say("title.task", face=face, task=task) if face else task]
            if booking.thickness is not None:
                thickness = self._words.figure(booking.thickness, "length_mm")
                heads.insert(0, say("title.coat", face=face, task=task, thickness=thickness))
        if not booking.who and booking.state in LIVE:
            return heads, say("title.nobody"), True
        return heads, name, False

    def _round_parts(self, booking: Booking) -> tuple[list[str], str, bool]:
        say, slot, verb = self._words.say, booking.slot, _verb(booking.visits)
        walls = list(dict.fromkeys(self._wall(face) for face in booking.faces))
        time = self._words.figure(_minutes(booking), "duration_min")
        key, tail = f"title.{verb}.{slot}", time
        if not booking.who and booking.state in LIVE:
            tail = say("title.nobody")
            if self._nobody_first:
                key, tail = f"title.nobody.{slot}", say(f"title.{verb}.undone", time=time)
        ways = [" ".join(walls)] if len(walls) <= MOST_WALLS else []
        ways.append(self._words.count("title.walls", len(walls)))
        return [say(key, walls=way) for way in ways], tail, True

    def _short(self, booking: Booking) -> bool:
        if booking.kind is Kind.ROUND:
            return bool(booking.who) or len(self._plan.sites) == 1  # two sites' unnamed walks tell apart by walls
        face = self._about(booking)
        return face is None or len(face.wall) <= LONG_ID

    def _about(self, booking: Booking) -> FacePlan | None:
        """Return the face a booking is about, or one of the faces of its wall."""
        head = booking.id.partition(".")[0]
        if head in booking.faces:
            return self.faces.get(head)
        faces = [face for one in booking.faces if (face := self.faces.get(one))]
        same_wall = next((face for face in faces if face.wall == head), None)
        return same_wall or (faces[0] if len(faces) == 1 else None)

    def subject(self, booking: Booking) -> tuple[str, str]:
        """Return the face (``3 out``) or wall (``3``) a booking is about, and its name."""
        face = self._about(booking)
        if face is None:
            return "", plain(self._plan.name)
        whole_wall = booking.id.partition(".")[0] == face.wall
        return plain(face.wall) if whole_wall else self.face(face.id), plain(face.wall_name)

    def face(self, face_id: str) -> str:
        """Return a face as titles call it: ``3 out``."""
        face = self.faces.get(face_id)
        if face is None:
            return plain(face_id)
        key = f"title.side.{face.side}"
        side = self._words.say(key) if key in CATALOGUE else plain(face.side)
        return self._words.say("title.face", wall=plain(face.wall), side=side)

    def _wall(self, face_id: str) -> str:
        face = self.faces.get(face_id)
        return plain(face.wall if face else face_id)


def plain(text: str) -> str:
    r"""Return text on one line: no control characters, no marks that turn the reading direction.

    Examples
    --------
    >>> plain("north\r\ngable\x07")
    'north gable'
    """
    return _BREAKS.sub(" ", _MARKS.sub("", text)).strip()


def cut(text: str, most: int) -> str:
    """Return text of at most so many signs, ended with … where some are missing.

    An accent or a joined sign stays with the letter before it or goes with it.

    Examples
    --------
    >>> cut("road side bay 3", 10)
    'road side…'
    """
    if len(text) <= most:
        return text
    end = max(most - 1, 0)
    while end > 0 and (_joins(text[end]) or text[end - 1] == "\u200d"):
        end -= 1
    return text[:end].rstrip() + "…" if most > 0 else ""


def _joins(sign: str) -> bool:
    return unicodedata.category(sign) in ("Mn", "Mc", "Me", "Cf") or "\U0001f3fb" <= sign <= "\U0001f3ff"


def _verb(visits: Sequence[Visit]) -> str:
    """Return what a round is called by: misting if anything is misted."""
    cares = {care_of(one) for one in visits}
    return (cares.pop() if len(cares) == 1 else Care.MIST).value


def _minutes(booking: Booking) -> int:
    return round((booking.end - booking.start).total_seconds() / 60)
