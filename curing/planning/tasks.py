"""Small tasks round a coat: readings and tests before it, cloth down after it.

They are placed when the coats stand, in free time of people who are on site. A task of
the parent plan stays where it is while it still does its work there.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from curing.model.job import Job, Role
from curing.model.plan import Booking, HoldState, Kind, Reason, State, Value
from curing.model.system import Scope
from curing.planning.cloth import cloth_stands
from curing.planning.expand import FaceWork, HoldWork, Identity
from curing.planning.inspections import inspection
from curing.planning.least_change import Past
from curing.planning.placing import DayBoard
from curing.planning.readiness import Laid, hold_state
from curing.planning.windows import SiteSun
from curing.planning.worktime import EARLIEST, GRID, MIDNIGHT, Worktime, instant, local

DAY = timedelta(days=1)
LOOK_BACK = 5
"""[d] A reading or test is made on one of so many days before its coat."""
COVER_MINUTES = 10
"""[min] Cloth of one face taken down (common practice, no source)."""
BARE_SIDE = "READ bare side"
"""Title of a panel reading when the other side is coated already."""
INSPECT = "inspect"
"""What a look over a face is called among readings; its entry is an inspection, not a reading."""
INSPECTION_MINUTES = 15
"""[min] One face looked over and tapped (common practice, no source)."""
LATEST = 14
"""[d] A task of no hurry is put into one of the next so many days."""


@dataclass(slots=True)
class Tasks:
    """Places small tasks on the boards of the days."""

    job: Job
    worktime: Worktime
    identity: Identity
    past: Past
    boards: dict[date, DayBoard]
    suns: Mapping[str, SiteSun]
    today: Mapping[str, date]
    laid: Mapping[str, list[Laid]]
    """Face id → its coats with their days."""
    now: Mapping[str, tuple[date, int]]
    """Site → present local day and minute; nothing new is put before it."""

    def readings(self, works: Iterable[FaceWork], coats: Mapping[str, Booking]) -> list[Booking]:
        """Return a reading or test for each hold that is not met for its coat's day, once a hold.

        Parameters
        ----------
        works
            Faces in walking order.
        coats
            Coat id → booking.
        """
        served: dict[str, list[tuple[FaceWork, Laid, HoldWork, list[Laid]]]] = {}
        for work in works:
            for place, one in enumerate(self.laid[work.id]):
                if one.done:
                    continue
                before = self.laid[work.id][:place]
                for hold in one.coat.holds:
                    if hold.point.task is None or hold.point.scope is Scope.JOB:
                        continue
                    state = hold_state(hold, one.coat, one.day, self.today[work.site], before)
                    if state is not HoldState.MET:
                        served.setdefault(hold.id, []).append((work, one, hold, before))
        found = []
        for wanted in served.values():
            work, one, hold, before = min(wanted, key=lambda w: (w[1].day, coats[w[1].coat.id].start, w[0].order))
            found.append(self._reading(work, one, hold, coats[one.coat.id], before))
        return found

    def _reading(self, work: FaceWork, one: Laid, hold: HoldWork, coat: Booking, before: list[Laid]) -> Booking:
        task = hold.point.task
        assert task is not None
        whole_wall = hold.point.scope is Scope.WALL
        sides = [f"{work.wall.id}-{face.side.value}" for face in work.wall.faces] if whole_wall else [work.id]
        # No probe goes through a coat: once one side is laid, the other is read alone.
        faces = tuple(side for side in sides if side == work.id or not self._coated(side, one.day))
        zone = self.worktime.zone(work.site)
        after = before[-1].day + DAY if before else date.min
        first = max(self.today[work.site], one.day - LOOK_BACK * DAY, after)
        days = [one.day - k * DAY for k in range(1, LOOK_BACK + 1) if one.day - k * DAY >= first]
        start_of_coat = local(zone, coat.start)[1]
        place = self._kept(hold.id, work.site, days)
        place = place or self._first(self._people(coat.who), work.site, days, task.minutes, weekdays=coat.crew)
        place = place or self._first(self._people(coat.who), work.site, [one.day], task.minutes, high=start_of_coat)
        if place is None:
            place = ("", *self._unnamed(hold.id, work.site, one.day, start_of_coat, task.minutes))
        person, day, start = place
        length = -(-task.minutes // GRID) * GRID
        if person:
            self.board(day).take(person, (start, start + length), work.site)
        values: dict[str, Value] = {"coat": one.coat.coat.name, "day": one.day.isoformat()}
        root = "" if whole_wall else work.root
        return Booking(
            id=hold.id,
            uid=self.identity.uid("task", root or self.identity.wall_root(work.id), hold.point.id),
            kind=Kind(task.kind),
            site=work.site,
            zone=zone.key,
            faces=faces,
            task=hold.point.id,
            who=(person,) if person else (),
            start=instant(zone, day, start),
            end=instant(zone, day, start + length),
            state=State.FIRM,
            reason=Reason(f"hold.{hold.point.id}", "reading", values, one.coat.id),
            title=task.title if len(faces) == len(sides) else BARE_SIDE,
            until=coat.start if coat.start > instant(zone, day, start + length) else None,
            notes=(hold.point.text, hold.point.lifts),
            labour=round(task.minutes / 60.0, 2),
        )

    def _coated(self, face: str, day: date) -> bool:
        """Tell whether a face has its first coat before that day."""
        return any(one.day < day for one in self.laid.get(face, [])[:1])

    def _unnamed(self, task: str, site: str, day: date, before: int, minutes: int) -> tuple[date, int]:
        """Return where a task that nobody can take is shown: as told, or just before its coat, not in the past."""
        told = self.past.tasks.get(task)
        if told is not None and not told.who:
            there = local(self.worktime.zone(site), told.start)
            if self.today[site] <= there[0] <= day:
                return there
        start = max(EARLIEST, before - minutes) // GRID * GRID
        now = self.now[site]
        return max((day, start), (now[0], min(-(-now[1] // GRID) * GRID, MIDNIGHT - minutes - GRID)))

    def covers(self, works: Iterable[FaceWork]) -> list[Booking]:
        """Return "cloth down" for each sunny face, on the first working day after the last day with cloth."""
        found = []
        for work in works:
            if not work.outside:
                continue
            for place, one in enumerate(self.laid[work.id]):
                if not cloth_stands(work, one.coat, self.suns[work.site], one.day):
                    continue
                later = self.laid[work.id][place + 1].day if place + 1 < len(self.laid[work.id]) else date.max
                day = min(one.day + (one.coat.cloth_to + 1) * DAY, later)
                if day >= self.today[work.site]:
                    found.append(self._cover(work, one, day))
        return found

    def _cover(self, work: FaceWork, one: Laid, day: date) -> Booking:
        zone = self.worktime.zone(work.site)
        task = f"{one.coat.coat.id}.cloth-down"
        days = [day + k * DAY for k in range(LATEST)]
        crews = [crew for crew in self.job.file.crews if work.face.crew in (None, crew.id)]
        people = [person for crew in crews for person in crew.people]
        place = self._kept(f"{work.id}.{task}", work.site, days)
        place = place or self._first(people, work.site, days, COVER_MINUTES) or ("", day, 7 * 60)
        person, day, start = place
        if person:
            self.board(day).take(person, (start, start + COVER_MINUTES), work.site)
        values: dict[str, Value] = {"days": one.coat.cloth_to, "laid": one.day.isoformat()}
        return Booking(
            id=f"{work.id}.{task}",
            uid=self.identity.uid("cover", work.root, task),
            kind=Kind.COVER,
            site=work.site,
            zone=zone.key,
            faces=(work.id,),
            task=task,
            who=(person,) if person else (),
            start=instant(zone, day, start),
            end=instant(zone, day, start + COVER_MINUTES),
            state=State.CONDITIONAL if one.conditional else State.FIRM,
            reason=Reason(f"{one.coat.coat.id}.cloth_to", "cloth_down", values, one.coat.id),
            title="CLOTH",
            cautions=("cloth", "height") if not work.reachable else ("cloth",),
            labour=round(COVER_MINUTES / 60.0, 2),
        )

    def inspections(self, works: Iterable[FaceWork], wanted: Mapping[str, Reason]) -> list[Booking]:
        """Return a look over each face that something went wrong with, in the lead's free time at the next chance.

        Parameters
        ----------
        wanted
            Coat id → why its face is looked over.
        """
        return [
            self._inspection(work, one, wanted[one.coat.id])
            for work in works
            for one in self.laid[work.id]
            if one.coat.id in wanted
        ]

    def _inspection(self, work: FaceWork, one: Laid, reason: Reason) -> Booking:
        zone, name, today = self.worktime.zone(work.site), inspection(one.coat.id), self.today[work.site]
        days = [today + k * DAY for k in range(LATEST)]
        length = -(-INSPECTION_MINUTES // GRID) * GRID
        place = self._kept(name, work.site, days)
        place = place or self._first(self._people(()), work.site, days, INSPECTION_MINUTES)
        place = place or ("", *self._unnamed(name, work.site, today + DAY, EARLIEST + length, length))
        person, day, start = place
        if person:
            self.board(day).take(person, (start, start + length), work.site)
        return Booking(
            id=name,
            uid=self.identity.uid("task", work.root, f"{one.coat.coat.id}.inspect"),
            kind=Kind.READING,
            site=work.site,
            zone=zone.key,
            faces=(work.id,),
            task=INSPECT,
            who=(person,) if person else (),
            start=instant(zone, day, start),
            end=instant(zone, day, start + length),
            state=State.FIRM,
            reason=reason,
            title="LOOK OVER",
            cautions=() if work.reachable else ("height",),
            labour=round(INSPECTION_MINUTES / 60.0, 2),
        )

    # -- finding time ---------------------------------------------------------------------

    def place(
        self,
        task: str,
        site: str,
        days: list[date],
        people: Iterable[str],
        minutes: int,
        *,
        high: int = MIDNIGHT,
        weekdays: str = "",
    ) -> tuple[str, date, int] | None:
        """Return who takes a task, on which day and from which minute: as told, or else the first room for it.

        Parameters
        ----------
        task
            Its id, by which the parent plan knows it.
        days
            In the order in which they are wanted.
        people
            Whoever comes first is asked first.
        high
            By when it must be over.
        weekdays
            A crew on whose days alone it is done.
        """
        return self._kept(task, site, days) or self._first(people, site, days, minutes, high=high, weekdays=weekdays)

    def shown(self, task: str, site: str, day: date, before: int, minutes: int) -> tuple[str, date, int]:
        """Return where a task that nobody can take is shown: as told, or just before a minute of a day."""
        return ("", *self._unnamed(task, site, day, before, minutes))

    def board(self, day: date) -> DayBoard:
        """Return who is taken when on a day."""
        if day not in self.boards:
            self.boards[day] = DayBoard(day, self.worktime)
        return self.boards[day]

    def _people(self, crew: Iterable[str]) -> list[str]:
        leads = [person.id for person in self.job.file.people if Role.LEAD in person.roles]
        return list(dict.fromkeys([*crew, *leads]))

    def _kept(self, task: str, site: str, days: list[date]) -> tuple[str, date, int] | None:
        """Return the parent's place of a task if it still does its work and its person is free."""
        before = self.past.tasks.get(task)
        if before is None or not before.who or before.who[0] not in self.identity.people:
            return None
        zone = self.worktime.zone(site)
        day, start = local(zone, before.start)
        length = local(zone, before.end)[1] - start
        if day not in days:
            return None
        at = self.board(day).gap(before.who[0], site, length, (start, start + length))
        return (before.who[0], day, start) if at == start else None

    def _first(
        self,
        people: Iterable[str],
        site: str,
        days: list[date],
        minutes: int,
        *,
        high: int = MIDNIGHT,
        weekdays: str = "",
    ) -> tuple[str, date, int] | None:
        now = self.now.get(site)
        windows = [
            (day, now[1] if now is not None and day == now[0] else 0, high)
            for day in days
            if not weekdays or self.worktime.off(weekdays, day) is None
        ]
        return self.within(people, site, windows, minutes)

    def within(
        self,
        people: Iterable[str],
        site: str,
        windows: Iterable[tuple[date, int, int]],
        minutes: int,
        *,
        last: bool = False,
    ) -> tuple[str, date, int] | None:
        """Return who of some people is free for so long in the first window that has room, and when.

        Parameters
        ----------
        people
            Whoever comes first is asked first.
        windows
            Day, first and last minute, in the order in which they are wanted.
        last
            As late in the window as can be, else as early.
        """
        listed = list(people)
        for day, low, high in windows:
            for person in listed:
                at = self.board(day).gap(person, site, -(-minutes // GRID) * GRID, (low, high), last=last)
                if at is not None:
                    return person, day, at
        return None


def present(worktime: Worktime, job: Job, as_of: datetime) -> dict[str, tuple[date, int]]:
    """Return the present local day and minute of each site."""
    return {site.id: local(worktime.zone(site.id), as_of) for site in job.file.sites}
