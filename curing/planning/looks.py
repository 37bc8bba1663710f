"""The laying-day look: some hours after closing a coat somebody sees whether it is firm.

It is not a visit and is not counted as one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from curing.model.job import Job, Role
from curing.model.plan import Booking, Kind, Reason
from curing.planning.expand import CoatWork, FaceWork, Identity
from curing.planning.placing import Block, DayBoard
from curing.planning.worktime import GRID, MIDNIGHT, Worktime, instant, local


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
        for candidate in self._people(work, laid.who):
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

    def seen(self, board: DayBoard, work: FaceWork, coat: CoatWork, block: Block) -> bool:
        """Tell whether somebody is there for the look after a block that is not yet on the board."""
        if coat.look is None:
            return True
        first, last, minutes = coat.look
        window = (block.end + first, min(block.end + last, MIDNIGHT))
        return any(
            board.gap(person, work.site, minutes, window) is not None for person in self._people(work, block.who)
        )

    def could_be_seen(self, day: date, work: FaceWork, coat: CoatWork, block: Block) -> bool:
        """Tell whether somebody would be there for the look if the coat were the first work of such a day."""
        if coat.look is None:
            return True
        first, last, minutes = coat.look
        hours = [span for person in block.who if (span := self.worktime.hours(person, day))]
        begin = min((start for start, _ in hours), default=block.start)
        closed = begin + block.end - block.start
        spans = (self.worktime.hours(person, day) for person in self._people(work, block.who))
        return any(
            min(span[1], closed + last) - max(span[0], closed + first) >= minutes for span in spans if span is not None
        )

    def _people(self, work: FaceWork, who: tuple[str, ...]) -> list[str]:
        misting = [p.id for p in self.job.file.people if Role.MISTS in p.roles and p.id not in who]
        ground = [p for p in misting if work.reachable or self.worktime.crew_of(p) is not None]
        return [*who, *ground]
