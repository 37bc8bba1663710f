"""The day-by-day dispatcher: walks first, then the most urgent coats that fit into the crews' hours.

It goes through the days once. On each it places the rounds of the coats laid before, then
coats: first those that stand on this day in the parent plan, then by urgency (latest day
that the greatest wait or the season line leaves), then in walking order. A parallel
schedule of this kind wastes no day and takes one pass.
"""

from __future__ import annotations

import heapq
from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime, timedelta

from curing.errors import PlanError, Problem
from curing.model.job import Crew, Job, Role
from curing.model.plan import Absence, Booking, HoldState, Reason, Skipped, State, Visit
from curing.planning.ahead import Ahead
from curing.planning.coat_booking import coat_booking, done_booking
from curing.planning.expand import CoatWork, FaceWork, Identity, is_ended
from curing.planning.least_change import Kept, Past
from curing.planning.looks import Looks
from curing.planning.placing import Block, DayBoard
from curing.planning.readiness import Laid, hold_state, ready
from curing.planning.rounds import Rounds
from curing.planning.season_gate import SeasonGate
from curing.planning.standing import Draft, OffDays, Standing
from curing.planning.tending import Tended
from curing.planning.walk_room import WalkRoom
from curing.planning.windows import SiteSun
from curing.planning.worktime import Worktime, instant, local

DAY = timedelta(days=1)
STUCK = 800
"""[d] Where nothing is laid or tended for so long although work is open, the job can't be planned."""

AIM = 0.8
"""Plan to this share of a greatest wait, so that weather has room."""


class Dispatcher:
    """One run over the days.

    Parameters
    ----------
    job, works, identity, worktime, suns
        The job, expanded.
    past
        What the parent plan asks.
    as_of
        The present instant.
    has_parent
        Whether people were told a plan: then nothing new comes onto today or tomorrow.
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
        *,
        has_parent: bool,
    ) -> None:
        self.job, self.identity, self.worktime, self.past = job, identity, worktime, past
        self.suns = suns
        self.faces = {work.id: Standing(work, _crews(job, work)) for work in works}
        self.today = {site.id: local(worktime.zone(site.id), as_of)[0] for site in job.file.sites}
        self.first = {site.id: self._first_day(site.id, as_of, has_parent) for site in job.file.sites}
        by_id = {work.id: work for work in works}
        self.rounds = Rounds(job, by_id, worktime, suns, identity, past.walkers)
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

    def run(self) -> Draft:
        """Return coats, looks and rounds from the present day on.

        Raises
        ------
        PlanError
            Some coat fits on no day.
        """
        for standing in self.faces.values():
            self._take_done(standing)
        for coat_id, kept in self.past.kept.items():
            self._reserve(coat_id, kept, +1)
        for standing in self.faces.values():
            self._look(standing)
        day, idle = min(self.today.values()), 0
        told = max(self.first.values()) - DAY  # today and tomorrow hold what stands there, though nothing waits
        while True:
            busy = self._day(day)
            left = self._awake or self._asleep or self._blocked
            if not left and day >= told and not any(self.tended.values()):
                return self.draft
            idle = 0 if busy or self._asleep else idle + 1
            if idle > STUCK:
                raise self._stuck()
            day += DAY

    # -- before the first day -------------------------------------------------------------

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
                )
            )
            self._lay(standing, coat, coat.done.date(), done=True, conditional=False)

    def _reserve(self, coat_id: str, kept: Kept, sign: int) -> None:
        """Promise (or free) the walks of a coat that stands in the parent plan, before others take them."""
        standing = self.faces[kept.booking.faces[0]]
        coat = next(one for one in standing.work.coats if one.id == coat_id)
        self.room.promise(standing.work, coat, kept.day, sign)
        (self.reserved.add if sign > 0 else self.reserved.discard)(coat_id)

    # -- one day --------------------------------------------------------------------------

    def _day(self, day: date) -> bool:
        """Place everything of one day; return whether anything was tended or laid."""
        board = DayBoard(day, self.worktime)
        self.draft.boards[day] = board
        self._stand_pinned(board)
        standing_visits = self._stand_rounds(board)
        self._stand_looks(board)
        candidates = self._candidates(day)
        laying = {crew.id for s in candidates[:8] for crew in s.crews}
        busy = False
        for site, tended in self.tended.items():
            if day < self.today[site]:
                continue
            self.tended[site] = tended = [t for t in tended if t.day(day) <= t.coat.last_day]
            self.rounds.of_day(site, board, tended, standing_visits, laying)
            busy = busy or bool(tended)
        self.draft.rounds += [*board.rounds.values(), *board.unnamed]
        free = self._free(board)
        self._edge = {crew.id: self._edge_taken(crew.id, day) for crew in self.job.file.crews}
        booked: set[Standing] = set()
        most = max(free.values(), default=0.0)
        for standing in candidates:
            if standing.labour <= most + 1e-6 and self._try(standing, board, free):
                booked.add(standing)
                most = max(free.values(), default=0.0)
        if booked:
            self._awake = [s for s in self._awake if s not in booked]
        return busy or bool(booked)

    def _free(self, board: DayBoard) -> dict[str, float]:
        """Return the person-hours each crew has left today; crews that do not work are missing."""
        return {
            crew.id: self._left(crew, board)
            for crew in self.job.file.crews
            if self.worktime.off(crew.id, board.day) is None
        }

    def _edge_taken(self, crew: str, day: date) -> tuple[float, frozenset[str]]:
        """Return the people whose wet edge is taken by coats that stand on this day, and who lays them."""
        edge, hands = 0.0, frozenset[str]()
        for coat_id in self.past.pinned:
            kept = self.past.kept[coat_id]
            if kept.day == day and kept.booking.crew == crew:
                coats = self.faces[kept.booking.faces[0]].work.coats
                edge += sum(coat.edge for coat in coats if coat.id == coat_id)
                hands |= set(kept.booking.who)
        return edge, hands

    def _keeps_edge(self, coat: CoatWork, crew: Crew, block: Block) -> bool:
        """Tell whether the people of a block keep its wet edge, beside the other coats of their day."""
        edge, hands = self._edge[crew.id]
        return coat.edge <= len(block.who) + 1e-6 and edge + coat.edge <= len(hands | set(block.who)) + 1e-6

    def _look_missed(self, standing: Standing, coat: CoatWork, block: Block, board: DayBoard) -> bool:
        """Tell whether nobody would see this coat some hours after closing, while another day may be better.

        It is no better where the coat takes so much of a day that nobody ever is there, or
        where the coat is due.
        """
        if coat.look is None or board.day >= standing.due or self.looks.seen(board, standing.work, coat, block):
            return False
        return self.looks.could_be_seen(board.day, standing.work, coat, block)

    def _left(self, crew: Crew, board: DayBoard) -> float:
        """Return the most person-hours the crew has left at any one site."""
        return max(
            sum(b - a for person in crew.people for a, b in board.free(person, site)) / 60.0 for site in self.tended
        )

    def _stand_pinned(self, board: DayBoard) -> None:
        """Put coats of today and tomorrow where people were told they are."""
        for coat_id in sorted(self.past.pinned):
            kept = self.past.kept[coat_id]
            if kept.day != board.day:
                continue
            standing = self.faces[kept.booking.faces[0]]
            coat = standing.next
            if coat is None or coat.id != coat_id:
                continue
            zone = self.worktime.zone(standing.work.site)
            end = local(zone, kept.booking.end)[1]
            absent = tuple(
                (one.person, local(zone, one.start)[1], local(zone, one.end)[1]) for one in kept.booking.absent
            )
            board.take_block(Block(kept.start, end, kept.booking.who, absent), standing.work.site)
            conditional, shut = self._conditional(standing, coat, board.day)
            booking = replace(
                kept.booking,
                state=State.CONDITIONAL if conditional else State.FIRM,
                holds=shut,
                pinned=self._against_rules(standing, coat, kept),
            )
            self.draft.coats.append(booking)
            if coat_id in self.reserved:
                self._reserve(coat_id, kept, -1)
            self._lay(standing, coat, board.day, done=False, conditional=conditional)
            self._look(standing)

    def _stand_looks(self, board: DayBoard) -> None:
        """Put the looks after coats that stand today or tomorrow: where people were told, if they still can."""
        for coat_id in sorted(self.past.pinned):
            booking = next((one for one in self.draft.coats if one.id == coat_id), None)
            if booking is None or self.past.kept[coat_id].day != board.day:
                continue
            look = self.past.tasks.get(f"{coat_id}.look")
            if look is not None and all(person in self.identity.people for person in look.who):
                zone = self.worktime.zone(look.site)
                for person in look.who:
                    board.take(person, (local(zone, look.start)[1], local(zone, look.end)[1]), look.site)
                self.draft.looks.append(replace(look, state=booking.state))
                continue
            standing = self.faces[booking.faces[0]]
            coat = next(one for one in standing.work.coats if one.id == coat_id)
            self.draft.looks += self.looks.after(board, standing.work, coat, booking)

    def _against_rules(self, standing: Standing, coat: CoatWork, kept: Kept) -> bool:
        """Tell whether a coat stands only because it is today or tomorrow, not because it fits."""
        waiting = ready(standing.work, coat, standing.laid, self.days, self.factors, None)
        hours = [self.worktime.hours(person, kept.day) for person in kept.booking.who]
        late = waiting is None or waiting.day > kept.day
        return late or None in hours or self.worktime.off(kept.booking.crew, kept.day) is not None

    def _stand_rounds(self, board: DayBoard) -> set[str]:
        """Put rounds of today and tomorrow where they are; return the ids of the visits in them."""
        visits: set[str] = set()
        due = {
            (one.work.id, one.coat.coat.id, one.day(board.day)): one
            for tended in self.tended.values()
            for one in tended
            if one.times(board.day)
        }
        for booking in self.past.rounds:
            zone = self.worktime.zone(booking.site)
            day, start = local(zone, booking.start)
            if day != board.day:
                continue
            stay = tuple(
                replace(one, conditional=due[one.face, one.coat, one.day].conditional)
                if (one.face, one.coat, one.day) in due
                else one
                for one in booking.visits
                if (one.face, one.coat, one.day) in due or self._may_be_laid(one)
            )
            if not stay:
                continue
            kept = replace(
                booking,
                visits=stay,
                faces=tuple(one.face for one in stay),
                state=State.CONDITIONAL if all(one.conditional for one in stay) else State.FIRM,
                pinned=self._outside_hours(booking.who[0], day, start, local(zone, booking.end)[1]),
            )
            self.rounds.stand(kept, board)
            visits |= {one.id for one in stay}
        return visits

    def _may_be_laid(self, one: Visit) -> bool:
        """Tell whether a visit goes on to a coat that is dated anew because nobody said that it was laid."""
        if f"{one.face}.{one.coat}" not in self.past.unsaid:
            return False
        return not is_ended(self.faces[one.face].work, self.first[self.faces[one.face].work.site])

    def _outside_hours(self, person: str, day: date, start: int, end: int) -> bool:
        """Tell whether a walk that stays no longer fits its person's hours or duties."""
        mists = any(one.id == person and Role.MISTS in one.roles for one in self.job.file.people)
        if not mists:
            return True
        hours, limit = self.worktime.hours(person, day), self.worktime.longest_round(person, day)
        return hours is None or start < hours[0] or end > hours[1] or (limit is not None and end - start > limit)

    # -- whose turn -----------------------------------------------------------------------

    def _candidates(self, day: date) -> list[Standing]:
        """Return the faces whose next coat may be laid today: those told for today first, then by urgency."""
        self._awake = [s for s in self._awake if not is_ended(s.work, day)]
        blocked, self._blocked = self._blocked, []
        for standing in blocked:
            self._look(standing)
        fresh = []
        while self._asleep and self._asleep[0][0] <= day:
            fresh.append(self.faces[heapq.heappop(self._asleep)[2]])
        told = [s for s in fresh if s.keeps is not None and s.keeps.day == day]
        if fresh:
            for standing in fresh:
                standing.due = self._due(standing, day)
            self._awake = sorted([*self._awake, *fresh], key=_urgency)
        told.sort(key=_urgency)
        return [*told, *(s for s in self._awake if s not in told)] if told else list(self._awake)

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
        return None if loosened else kept

    def _due(self, standing: Standing, day: date) -> date:
        """Return the latest day for a coat: greatest wait, season line worked back, or the day a pass lapses."""
        due, coat = date.max, standing.next
        if coat is None:
            return due
        if standing.laid and coat.greatest_wait is not None:
            due = standing.laid[-1].day + timedelta(days=int(coat.greatest_wait * AIM))
        line = self.gate.last_day(standing.work, coat, standing.crews[0].id, day)
        passes = [
            hold.entry.met + hold.lapse * DAY
            for hold in coat.holds
            if hold.lapse is not None and hold.entry is not None and hold.entry.met is not None
        ]
        return min([due, *([line] if line is not None else []), *(end for end in passes if end >= day)])

    # -- one coat -------------------------------------------------------------------------

    def _try(self, standing: Standing, board: DayBoard, free: dict[str, float]) -> bool:
        """Book the next coat of a face on this day if it fits; else remember why not."""
        coat, work, day = standing.next, standing.work, board.day
        if coat is None or standing.waiting is None:
            return False
        crews = [crew for crew in standing.crews if free.get(crew.id, 0.0) >= coat.labour - 1e-6]
        if not crews:
            return False
        closed = self.gate.closed_until(work, coat, standing.crews[0].id, day)
        if closed is not None:
            standing.refused("season", closed.isoformat())
            return False
        kept = self.past.kept.get(coat.id)
        if coat.id in self.reserved and kept is not None:
            self._reserve(coat.id, kept, -1)
        self.ahead.release(coat.id)
        told = standing.keeps is not None and standing.keeps.day == day
        cause = self.ahead.refuses(work, coat, standing.crews[0].id, day, alone=told)
        if cause is not None:
            standing.refused(*cause)
            return False
        if kept is not None:
            crews.sort(key=lambda crew: crew.id != kept.booking.crew)
        at = kept.start if kept is not None and kept.day == day else 0
        for crew in crews:
            people = [person for person, _ in self.worktime.present(crew.id, day)]
            block = board.block(people, work.site, coat.labour, at)
            if block is None and at:
                block = board.block(people, work.site, coat.labour)
            if block is None or not self._keeps_edge(coat, crew, block):
                continue
            if not told and self._look_missed(standing, coat, block, board):
                standing.refused("look", "")
                return False
            self._book(standing, coat, crew, block, board)
            free[crew.id] = self._left(crew, board)
            return True
        return False

    def _book(self, standing: Standing, coat: CoatWork, crew: Crew, block: Block, board: DayBoard) -> None:
        work, day = standing.work, board.day
        board.take_block(block, work.site)
        zone = self.worktime.zone(work.site)
        conditional, shut = self._conditional(standing, coat, day)
        floor = self.past.floors.get(coat.id)
        waiting = standing.waiting
        assert waiting is not None
        off = self._off_days(standing.crews[0])
        skipped = standing.skipped(max(waiting.day, self.first[work.site]), day, off)
        booking = coat_booking(
            work,
            coat,
            crew.id,
            block.who,
            instant(zone, day, block.start),
            instant(zone, day, block.end),
            sun=self.suns[work.site],
            zone=zone,
            identity=self.identity,
        )
        booking = replace(
            booking,
            state=State.CONDITIONAL if conditional else State.FIRM,
            holds=shut,
            absent=tuple(Absence(p, instant(zone, day, a), instant(zone, day, b)) for p, a, b in block.absent),
            ready=waiting.day if waiting.day > date.min else None,
            floor=floor.day if floor else None,
            floor_cause=floor.cause if floor else "",
        )
        booking = replace(booking, reason=self._reason(standing, booking, day, skipped))
        if standing.keeps is not None and standing.keeps.day < day:
            self.draft.broke[coat.id] = standing.skipped(standing.keeps.day, day, off)
        self.draft.coats.append(booking)
        edge, hands = self._edge[crew.id]
        self._edge[crew.id] = (edge + coat.edge, hands | set(block.who))
        self._lay(standing, coat, day, done=False, conditional=conditional)
        self.ahead.promise_next(work, coat, crew.id, day, kept=self._stands(standing))
        self._look(standing)
        self.draft.looks += self.looks.after(board, work, coat, booking)

    def _off_days(self, crew: Crew) -> OffDays:
        if crew.id not in self._off:
            self._off[crew.id] = OffDays(crew.id, self.worktime, min(self.today.values()))
        return self._off[crew.id]

    def _reason(self, standing: Standing, booking: Booking, day: date, skipped: tuple[Skipped, ...]) -> Reason:
        """Return why it is this day; a coat that kept its day keeps its reason while the rule is the same."""
        waiting, kept = standing.waiting, self.past.kept.get(booking.id)
        assert waiting is not None
        if kept is not None and kept.day == day:
            old = kept.booking
            if old.ready == booking.ready and old.reason.rule == waiting.reason.rule:
                return old.reason
        return replace(waiting.reason, skipped=skipped)

    def _stands(self, standing: Standing) -> bool:
        """Tell whether the walks of the next coat are promised already, by its place in the parent plan."""
        return standing.next is not None and standing.next.id in self.reserved

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

    # -- the end --------------------------------------------------------------------------

    def _stuck(self) -> PlanError:
        """Return the error that names each coat without a day and what binds it."""
        problems = [Problem(None, text) for text in map(self._why_stuck, [*self._awake, *self._blocked][:20]) if text]
        return PlanError(problems)

    def _why_stuck(self, standing: Standing) -> str:
        coat = standing.next
        if coat is None:
            return ""
        if standing.waiting is None:
            missing = ", ".join(ref for ref in standing.work.face.after if not self._has_day(ref))
            return (
                f"{coat.id}: waits for {missing}, which has no day because its face has ended or waits itself "
                "(rule job.after); take it out of after:, or let that face go on"
            )
        last = next(reversed(standing.causes.values()), Skipped("crew", 0, standing.crews[0].name))
        why = {"walks": "nobody has the minutes for its walks", "season": "the season is over"}.get(
            last.cause, f"crew {standing.crews[0].name} has no such block"
        )
        return (
            f"{coat.id}: {coat.labour:.1f} person-hours fit on no day of {STUCK}: {why} "
            f"(rule {coat.coat.id}.labour); give the crew more hours, another crew, or split the face"
        )

    def _has_day(self, ref: str) -> bool:
        return ref in self.days if "." in ref else any(coat.rpartition(".")[0] == ref for coat in self.days)


def _urgency(standing: Standing) -> tuple[bool, date, int]:
    """Faces that are open come before new ones, then the one that must be laid soonest."""
    return (not standing.laid, standing.due, standing.work.order)


def _crews(job: Job, work: FaceWork) -> list[Crew]:
    return [crew for crew in job.file.crews if work.face.crew in (None, crew.id)]
