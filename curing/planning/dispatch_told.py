"""Today and tomorrow: what people were told stays where it is."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from curing.model.job import Role
from curing.model.plan import Booking, Kind, State, Visit
from curing.planning.dispatch_state import DispatchState
from curing.planning.expand import CoatWork
from curing.planning.least_change import Kept
from curing.planning.placing import Block, DayBoard
from curing.planning.readiness import ready
from curing.planning.standing import Standing
from curing.planning.worktime import local

DAY = timedelta(days=1)


class ToldDays(DispatchState):
    """Puts coats, looks and rounds of today and tomorrow onto the boards of their days."""

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
                reason=self._decision(coat_id, board.day) or kept.booking.reason,
            )
            self.draft.coats.append(booking)
            if coat_id in self.reserved:
                self._reserve(coat_id, kept, -1)
            self._lay(standing, coat, board.day, done=False, conditional=conditional)
            self._look(standing)

    def _stand_looks(self, board: DayBoard) -> None:
        """Put the looks after coats that stand today or tomorrow: where people were told, if they still can.

        The look after a coat that was closed today stands as well: it is still to come.
        """
        for told in self.past.tasks.values():
            if told.kind is Kind.LOOK and self._closed_on(told, board.day):
                zone = self.worktime.zone(told.site)
                for person in told.who:
                    board.take(person, (local(zone, told.start)[1], local(zone, told.end)[1]), told.site)
                self.draft.looks.append(replace(told, state=State.FIRM))
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

    def _closed_on(self, look: Booking, day: date) -> bool:
        """Tell whether a look is of this day, after a coat that was closed on it, by somebody who is still here."""
        if local(self.worktime.zone(look.site), look.start)[0] != day or look.faces[0] not in self.faces:
            return False
        coats = self.faces[look.faces[0]].work.coats
        closed = next((one.done for one in coats if f"{one.id}.look" == look.id), None)
        here = all(person in self.identity.people for person in look.who)
        return here and closed is not None and closed.date() == day

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
        return self.faces[one.face].work.face.ended is None

    def _outside_hours(self, person: str, day: date, start: int, end: int) -> bool:
        """Tell whether a walk that stays no longer fits its person's hours or duties."""
        mists = any(one.id == person and Role.MISTS in one.roles for one in self.job.file.people)
        if not mists:
            return True
        hours, limit = self.worktime.hours(person, day), self.worktime.longest_round(person, day)
        return hours is None or start < hours[0] or end > hours[1] or (limit is not None and end - start > limit)

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
