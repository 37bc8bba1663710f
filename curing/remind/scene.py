"""From an open job to what its reminders are worked out and written from."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime

from curing import clock
from curing.errors import PlanError
from curing.model.reminders import Kind, Message, Occasion
from curing.planning.reminding import Scene, falls_due
from curing.publish.page_links import DECIDED, page_of
from curing.publish.reminder_text import compose
from curing.workflow.open_job import OpenJob
from curing.workflow.reminders import MOVED_DAYS, present_of, scene_of
from curing.workflow.sight import Sight

DECIDES = (Kind.HOLD, Kind.DECIDE, Kind.CHANGED, Kind.NOBODY)
"""Kinds whose answer is on the page of what moved; all others are answered on Today."""


class Scenes:
    """Scenes of an open job: what falls due, and the messages.

    Parameters
    ----------
    address
        Where the pages are served, ``https://walls.example.org``; empty: messages have no link.
    evening, morning
        Local minutes of the summary, and from which day-long matters are told.
    weather_read
        Tells when the weather was read last; None: no weather is used.
    """

    def __init__(
        self,
        job: OpenJob,
        address: str = "",
        *,
        evening: int = Scene.evening,
        morning: int = Scene.morning,
        weather_read: Callable[[], datetime | None] = lambda: None,
        now: Callable[[], datetime] = clock.now,
    ) -> None:
        self._job, self._address = job, address.rstrip("/")
        self._evening, self._morning, self._weather_read, self._now = evening, morning, weather_read, now
        self._last: tuple[Sight, datetime | None, Scene] | None = None

    def scene(self, sight: Sight) -> Scene | None:
        """Return the scene of a sight; None before the first plan."""
        last, read = self._last, self._weather_read()
        if last is not None and last[0] is sight and last[1] == read:
            return last[2]
        moved = self._job.changes_since(self._now() - MOVED_DAYS)
        made = scene_of(sight, moved, evening=self._evening, morning=self._morning, weather_read=read)
        if made is None:
            return None
        self._last = sight, read, made
        return made

    def falls_due(self, sight: Sight, after: datetime, to: datetime) -> tuple[Occasion, ...] | None:
        """Return what falls due; None before the first plan."""
        scene = self.scene(sight)
        return falls_due(scene, after, to) if scene is not None else None

    def compose(
        self, sight: Sight, person: str, occasions: Sequence[Occasion], key: str, over: Sequence[Occasion]
    ) -> Message:
        """Return the message that tells a person (root) occasions of one kind.

        Raises
        ------
        PlanError
            The job has no plan yet.
        """
        if sight.plan is None:
            raise PlanError(f"{self._job.job_file}: has no plan yet; a message tells what is planned; run curing plan")
        return compose(occasions, present_of(sight, self._now()), self.link(sight, person, occasions), key, over)

    def link(self, sight: Sight, person: str, occasions: Sequence[Occasion]) -> str:
        """Return the page that answers a reminder; empty without an address, and for who has no link.

        A link that was withdrawn is not given again by a reminder.
        """
        links = self._job.links()
        if not self._address or sight.roots.person_now(person) not in {one.id for one in sight.job.file.people}:
            return ""
        if (newest := links.get(person)) is not None and newest.revoked is not None:
            return ""
        token = self._job.give_link(person, self._now())
        return f"{self._address}/s/{token}/{_page(sight, occasions)}"


def _page(sight: Sight, occasions: Sequence[Occasion]) -> str:
    """Return the page that answers occasions of one kind, below the link."""
    kind, plan = occasions[0].kind, sight.plan
    if kind in DECIDES:
        return DECIDED
    about = {name for one in occasions for name in one.about}
    faces = {face for one in occasions for face in one.faces}
    if plan is None or kind not in (Kind.ROUND, Kind.TASK, Kind.UNSEEN) or (kind is not Kind.ROUND and len(faces) != 1):
        return ""  # Today has it
    # a round is named by its visits
    there = (one for one in plan.everything() if one.id in about or any(visit.id in about for visit in one.visits))
    booking = next(there, None)
    return page_of(booking) if booking is not None else ""
