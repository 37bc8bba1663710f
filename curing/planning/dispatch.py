"""The day-by-day dispatcher: walks first, then the most urgent coats that fit into the crews' hours.

It goes through the days once. On each it places the rounds of the coats laid before, then
coats: first those that stand on this day in the parent plan, then by urgency (latest day
that the greatest wait or the season line leaves), then in walking order. A parallel
schedule of this kind wastes no day and takes one pass.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta

from curing.errors import PlanError, Problem
from curing.model.job import Crew
from curing.model.plan import Absence, Booking, Reason, Skipped, State
from curing.planning.coat_booking import coat_booking
from curing.planning.dispatch_weather import WeatheredDays
from curing.planning.expand import CoatWork, is_ended
from curing.planning.placing import Block, DayBoard
from curing.planning.standing import Draft, OffDays, Standing
from curing.planning.worktime import instant

DAY = timedelta(days=1)
STUCK = 800
"""[d] Where nothing is laid or tended for so long although work is open, the job can't be planned."""

Watch = Callable[[date, int, int], None]

AIM = 0.8
"""Plan to this share of a greatest wait, so that weather has room."""


class Dispatcher(WeatheredDays):
    """One run over the days; see :class:`~curing.planning.dispatch_state.DispatchState` for what it takes."""

    def run(self, watch: Watch | None = None) -> Draft:
        """Return coats, looks and rounds from the present day on.

        Parameters
        ----------
        watch
            Told now and then: the day reached, coats with a day, coats in all.

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
        # Today and tomorrow hold what stands there, though nothing waits; so does the day of a kept coat.
        told = max([max(self.first.values()) - DAY, *(self.past.kept[coat].day for coat in self.past.pinned)])
        while True:
            busy = self._day(day)
            if watch is not None and day.day == 1:
                watch(day, len(self.days), sum(len(s.work.coats) for s in self.faces.values()))
            left = self._awake or self._asleep or self._blocked
            if not left and day >= told and not any(self.tended.values()):
                return self.draft
            idle = 0 if busy or self._asleep or day < told else idle + 1
            if idle > STUCK:
                raise self._stuck()
            day += DAY

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
        self._weather_walks(board, laying)
        self.draft.rounds += [*board.rounds.values(), *board.unnamed]
        return busy or bool(booked)

    def _free(self, board: DayBoard) -> dict[str, float]:
        """Return the person-hours each crew has left today; crews that do not work are missing."""
        return {
            crew.id: self._left(crew, board)
            for crew in self.job.file.crews
            if self.worktime.off(crew.id, board.day) is None
        }

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
        foreseen = self.ahead.release(coat.id)
        if self._lay_today(standing, coat, board, free, crews):
            return True
        if foreseen is not None:
            self.ahead.put_off(foreseen, day)
        return False

    def _lay_today(
        self, standing: Standing, coat: CoatWork, board: DayBoard, free: dict[str, float], crews: list[Crew]
    ) -> bool:
        """Book a coat with the first crew that has a block for it, unless its walks or its look speak against it."""
        work, day, kept = standing.work, board.day, self.past.kept.get(coat.id)
        told = standing.keeps is not None and standing.keeps.day == day
        off = coat.id in self.past.floors and self.past.floors[coat.id].cause == "weather"
        cause = self.ahead.refuses(work, coat, standing.crews[0].id, day, alone=told)
        if cause is not None:
            standing.refused(*cause)
            return False
        if kept is not None:
            crews.sort(key=lambda crew: crew.id != kept.booking.crew)
        now = self.minute[work.site] if day == self.today[work.site] else 0
        at = max(now, kept.start if kept is not None and kept.day == day else 0)
        for crew in crews:
            people = [person for person, _ in self.worktime.present(crew.id, day)]
            block = board.block(people, work.site, coat.labour, at)
            if block is None and at > now:
                block = board.block(people, work.site, coat.labour, now)
            if block is None or not self._keeps_edge(coat, crew, block):
                continue
            fresh = off and (kept is None or kept.day != day)
            judged = off or not told
            against = (
                self._rained_off(coat, work, block, board, alone=fresh)
                if judged
                else self._blown_off(standing, coat, block, board)
            )
            if against:
                block = self._later(standing, coat, crew, block, board, alone=fresh)
                if block is None:
                    standing.refused("weather", "")
                    return False
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
        taken_off = floor is not None and floor.cause == "weather" and self._decision(coat.id, day) is None
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
            state=State.OFF if taken_off else State.CONDITIONAL if conditional else State.FIRM,
            holds=shut,
            absent=tuple(Absence(p, instant(zone, day, a), instant(zone, day, b)) for p, a, b in block.absent),
            ready=waiting.day if waiting.day > date.min else None,
            floor=floor.day if floor else None,
            floor_cause=floor.cause if floor else "",
            floor_was=floor.was if floor else None,
        )
        booking = replace(booking, reason=self._reason(standing, booking, day, skipped))
        if standing.keeps is not None and standing.keeps.day < day:
            self.draft.broke[coat.id] = standing.skipped(standing.keeps.day, day, off)
        self.draft.coats.append(booking)
        edge, hands = self._edge[crew.id]
        self._edge[crew.id] = (edge + coat.edge, hands | set(block.who))
        self._lay(standing, coat, day, done=False, conditional=conditional or taken_off)
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
        decision = self._decision(booking.id, day)
        if decision is not None:
            return decision
        if kept is not None and kept.day == day:
            old = kept.booking
            if old.ready == booking.ready and old.reason.rule == waiting.reason.rule:
                return replace(old.reason, values=waiting.reason.values)
        return replace(waiting.reason, skipped=skipped)

    def _stands(self, standing: Standing) -> bool:
        """Tell whether the walks of the next coat are promised already, by its place in the parent plan."""
        return standing.next is not None and standing.next.id in self.reserved

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
        crew = standing.crews[0]
        last = max(self.draft.boards)
        days = standing.skipped(last - STUCK * DAY, last, self._off_days(crew))
        cause = max(days, key=lambda one: one.days, default=Skipped("crew", 0)).cause
        why, do = _STUCK_WORDS[cause]
        return (
            f"{coat.id}: {coat.labour:.1f} person-hours fit on no day of {STUCK}: {why.format(crew=crew.name)} "
            f"(rule {coat.coat.id}.labour); {do}"
        )

    def _has_day(self, ref: str) -> bool:
        return ref in self.days if "." in ref else any(coat.rpartition(".")[0] == ref for coat in self.days)


_STUCK_WORDS = {
    "weekend": ("most days are not of the working week", "name more days in working_week"),
    "holiday": ("most days are holidays or own days off", "take some out of holidays"),
    "nobody": ("nobody of crew {crew} is there", "give its people hours, or end their away"),
    "walks": ("nobody has the minutes for its walks", "name more people who mist"),
    "look": ("nobody is there to look after closing", "give somebody who mists later hours"),
    "season": ("the season is over", "move season.finish_by or season.resumes"),
    "crew": ("crew {crew} has no such block, also for busy: plans", "more hours, another crew, or split the face"),
}


def _urgency(standing: Standing) -> tuple[bool, date, int]:
    """Faces that are open come before new ones, then the one that must be laid soonest."""
    return (not standing.laid, standing.due, standing.work.order)
