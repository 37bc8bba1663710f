"""The laying-day look: some hours after closing a coat somebody sees whether it is firm.

It is not a visit and is not counted as one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from curing.model.job import Job, Role
from curing.model.plan import Booking, Kind, Reason
from curing.planning.expand import CoatWork, FaceWork, Identity
from curing.planning.placing import GRID, DayBoard
from curing.planning.worktime import MIDNIGHT, Worktime, instant, local


@dataclass(slots=True)
class Looks:
    """Makes the look after a coat and takes the time of who goes."""

    job: Job
    works: Mapping[str, FaceWork]
    worktime: Worktime
    identity: Identity

    def after(self, board: DayBoard, work: FaceWork, coat: CoatWork, laid: Booking) -> list[Booking]:
        """Return the look after that coat: none where the system asks for none.

        The crew that laid it comes first, then who mists, in the job file's order; nobody
        is named where no one is there in those hours.
        """
        if coat.look is None:
            return []
        zone = self.worktime.zone(work.site)
        closed = local(zone, laid.end)[1]
        first, last, minutes = coat.look
        window = (closed + first, min(closed + last, MIDNIGHT))
        person, start = "", -(-min(window[0], MIDNIGHT - minutes) // GRID) * GRID
        for candidate in self._people(work, laid):
            at = board.gap(candidate, work.site, minutes, window)
            if at is not None:
                person, start = candidate, at
                break
        end = start + -(-minutes // GRID) * GRID
        if person:
            board.take(person, (start, end), work.site)
        values = {"first": first // 60, "last": last // 60}
        return [
            Booking(
                id=f"{coat.id}.look",
                uid=self.identity.uid("look", work.root, coat.coat.id),
                kind=Kind.LOOK,
                site=work.site,
                zone=zone.key,
                faces=(work.id,),
                task=f"{coat.coat.id}.look",
                who=(person,) if person else (),
                start=instant(zone, board.day, start),
                end=instant(zone, board.day, end),
                state=laid.state,
                reason=Reason(f"{coat.coat.id}.look_from", "look", values, coat.id),
                title="LOOK",
                until=instant(zone, board.day, max(window[1], end)),
                cautions=("lime",) if "lime" in coat.coat.cautions else (),
                labour=round(minutes / 60.0, 2),
            )
        ]

    def _people(self, work: FaceWork, laid: Booking) -> list[str]:
        misting = [p.id for p in self.job.file.people if Role.MISTS in p.roles and p.id not in laid.who]
        ground = [p for p in misting if work.reachable or self.worktime.crew_of(p) is not None]
        return [*laid.who, *ground]
