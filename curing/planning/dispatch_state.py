"""What the dispatcher knows while it goes through the days: faces, promises, what is tended."""

from __future__ import annotations

import heapq
from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime, timedelta

from curing.model.evidence import Evidence
from curing.model.job import Crew, Job
from curing.model.plan import HoldState, Reason, Value
from curing.planning.ahead import Ahead
from curing.planning.coat_booking import done_booking
from curing.planning.expand import CoatWork, FaceWork, Identity, is_ended
from curing.planning.least_change import Kept, Past
from curing.planning.looks import Looks
from curing.planning.readiness import Laid, hold_state, ready
from curing.planning.rounds import Rounds
from curing.planning.season_gate import SeasonGate
from curing.planning.standing import Draft, OffDays, Standing
from curing.planning.tending import Tended
from curing.planning.walk_room import WalkRoom
from curing.planning.weather_sky import Sky
from curing.planning.weather_visits import WeatherVisits
from curing.planning.windows import SiteSun
from curing.planning.worktime import Worktime, local

DAY = timedelta(days=1)


class DispatchState:
    """State of one run over the days.

    Parameters
    ----------
    job, works, identity, worktime, suns
        The job, expanded.
    past
        What the parent plan asks.
    as_of
        The present instant.
    evidence
        What was recorded and decided.
    has_parent
        Whether people were told a plan: then nothing new comes onto today or tomorrow.
    sky
        The last two forecasts; None: no day is left out for weather.
    """

    def __init__(
        self,
        job: Job,
        works: tuple[FaceWork, ...],
        identity: Identity,
        worktime: Worktime,
        suns: Mapping[str, SiteSun],
        past: Past,
        as_of: datetime,
        evidence: Evidence,
        *,
        has_parent: bool,
        sky: Sky | None = None,
    ) -> None:
        self.sky = sky
        self.job, self.identity, self.worktime, self.past = job, identity, worktime, past
        self.evidence = evidence
        self.suns = suns
        self.faces = {work.id: Standing(work, _crews(job, work)) for work in works}
        self.today = {site.id: local(worktime.zone(site.id), as_of)[0] for site in job.file.sites}
        self.minute = {site.id: local(worktime.zone(site.id), as_of)[1] for site in job.file.sites}
        self.first = {site.id: self._first_day(site.id, as_of, has_parent) for site in job.file.sites}
        by_id = {work.id: work for work in works}
        self.rounds = Rounds(job, by_id, worktime, suns, identity, past.walkers, evidence.turns)
        self.weather = WeatherVisits(sky, past.told, evidence, as_of)
        self.looks = Looks(job, by_id, worktime, identity)
        self.room = WalkRoom(job, worktime)
        self.gate = SeasonGate(job, worktime)
        self.ahead = Ahead(self.room, self.gate, worktime)
        self.factors = job.file.season.drying if job.file.season else {}
        self.days: dict[str, date] = {}
        """Coat id → its day, done or booked."""
        self.tended: dict[str, list[Tended]] = {site.id: [] for site in job.file.sites}
        self.reserved: set[str] = set()
        self.draft = Draft()
        self._off: dict[str, OffDays] = {}
        self._edge: dict[str, tuple[float, frozenset[str]]] = {}
        """Crew → people whose wet edge is taken today, and who works on coats."""
        self._asleep: list[tuple[date, int, str]] = []
        """Faces whose next coat has a day before which it is not looked at: (day, order, face)."""
        self._blocked: list[Standing] = []
        """Faces that wait for another face without a day."""
        self._awake: list[Standing] = []
        """Faces whose next coat may be laid, most urgent first."""

    def _first_day(self, site: str, as_of: datetime, has_parent: bool) -> date:
        """Return the first day on which something new may be booked."""
        today, minute = local(self.worktime.zone(site), as_of)
        if has_parent:
            return today + 2 * DAY
        present = (self.worktime.present(crew.id, today) for crew in self.job.file.crews)
        starts = [span[0] for people in present for _, span in people]
        return today if starts and minute <= min(starts) else today + DAY

    def _take_done(self, standing: Standing) -> None:
        work = standing.work
        for coat in work.coats:
            if coat.done is None:
                return
            crew = standing.crews[0]
            self.draft.coats.append(
                done_booking(
                    work,
                    coat,
                    crew.id,
                    crew.people,
                    self.past.coats.get(coat.id),
                    sun=self.suns[work.site],
                    zone=self.worktime.zone(work.site),
                    identity=self.identity,
                    closed=self.evidence.done.get(coat.id),
                )
            )
            self._lay(standing, coat, coat.done.date(), done=True, conditional=False)

    def _reserve(self, coat_id: str, kept: Kept, sign: int) -> None:
        """Promise (or free) the walks of a coat that stands in the parent plan, before others take them."""
        standing = self.faces[kept.booking.faces[0]]
        coat = next(one for one in standing.work.coats if one.id == coat_id)
        self.room.promise(standing.work, coat, kept.day, sign)
        (self.reserved.add if sign > 0 else self.reserved.discard)(coat_id)

    def _conditional(self, standing: Standing, coat: CoatWork, day: date) -> tuple[bool, tuple[str, ...]]:
        """Return whether a coat is conditional on that day, and the ids of its own shut holds."""
        today = self.today[standing.work.site]
        shut = tuple(
            hold.id
            for hold in coat.holds
            if hold_state(hold, coat, day, today, standing.laid) in (HoldState.UNMET, HoldState.REFUSED)
        )
        behind = standing.laid[-1].conditional if standing.laid else self._waits_on_if(standing)
        return bool(shut) or behind, shut

    def _waits_on_if(self, standing: Standing) -> bool:
        """Tell whether a face that this one waits for stands behind an open hold itself."""
        return any(
            one.conditional
            for ref in standing.work.face.after
            for one in self.faces[ref.partition(".")[0]].laid
            if one.coat.id == ref or ("." not in ref and one.coat.index == 0)
        )

    def _decision(self, coat: str, day: date) -> Reason | None:
        """Return the reason of a coat that is on its day by decision."""
        decided = self.past.decided.get(coat)
        if decided is None or decided.day != day:
            return None
        rule, key = ("plan.keep", "kept") if decided.kind == "keep" else ("plan.move", "moved")
        values: dict[str, Value] = {"by": decided.cause.name, "why": decided.why, "entry": decided.cause.key}
        return Reason(rule, key, values, decided.cause.key)

    def _look(self, standing: Standing) -> None:
        """Settle from which day the next coat of a face is looked at."""
        coat, work = standing.next, standing.work
        if coat is None or coat.id in self.past.pinned or is_ended(work, self.today[work.site]):
            return
        floor = self.past.floors.get(coat.id)
        standing.labour = coat.labour
        standing.waiting = ready(work, coat, standing.laid, self.days, self.factors, floor)
        if standing.waiting is None:
            self._blocked.append(standing)
            return
        standing.keeps = self._keeps(standing, coat)
        first = standing.keeps.day if standing.keeps else self.first[work.site]
        day = max(standing.waiting.day, first)
        if not is_ended(work, day):
            heapq.heappush(self._asleep, (day, work.order, work.id))

    def _keeps(self, standing: Standing, coat: CoatWork) -> Kept | None:
        """Return the parent's place of a coat if it is to stay there as far as its own rules go."""
        kept = self.past.kept.get(coat.id)
        if kept is None or coat.id in self.past.overdue or standing.waiting is None:
            return None
        if kept.day < standing.waiting.day:
            return None
        before, first = kept.booking.ready, self.first[standing.work.site]
        loosened = before is not None and standing.waiting.day < before and before > first
        return None if loosened and coat.id not in self.past.decided else kept

    def _lay(self, standing: Standing, coat: CoatWork, day: date, *, done: bool, conditional: bool) -> None:
        """Take a coat as laid: its walks are promised, the coat below is no longer visited."""
        work = standing.work
        site = self.tended[work.site]
        for k, one in enumerate(site):
            if one.work.id == work.id:
                site[k] = replace(one, until=min(day, one.until or day))
        if coat.last_day:
            site.append(Tended(work, coat, day, conditional, work.face.ended))
            self.room.promise(work, coat, day, since=self.today[work.site])
        standing.laid.append(Laid(coat, day, done, conditional))
        standing.waiting, standing.keeps, standing.causes = None, None, {}
        self.days[coat.id] = day


def _crews(job: Job, work: FaceWork) -> list[Crew]:
    return [crew for crew in job.file.crews if work.face.crew in (None, crew.id)]
