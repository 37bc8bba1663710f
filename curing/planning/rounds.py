"""Rounds of one day: who walks which faces, from when, until when it still does its work."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

from curing.model.evidence import Turn
from curing.model.job import Job, Person, Reach, Role
from curing.model.plan import Booking, Care, Kind, Reason, Slot, State, Visit
from curing.planning.expand import FaceWork, Identity
from curing.planning.placing import DayBoard
from curing.planning.tending import Tended, Walker, in_order, share, visit, walks
from curing.planning.turns import holding
from curing.planning.windows import SiteSun
from curing.planning.worktime import GRID, MIDDAY, MIDNIGHT, NOON, Worktime, instant, local

NOBODY = "nobody"
UNNAMED_EARLY = 7 * 60
"""[min] An early round that nobody takes is shown from here."""

FAIR_DAYS = 14
"""[d] Minutes walked in so many days past decide whose turn it is."""

HALF_DAY = {Slot.EARLY: (0, NOON), Slot.MIDDAY: MIDDAY, Slot.LATE: (NOON, MIDNIGHT)}
"""An early walk begins before noon, a late one after it, so that two visits lie hours apart."""


@dataclass(slots=True)
class Rounds:
    """Makes the rounds of a day; remembers who walked how long, so that turns are shared.

    ``kept`` is (day, slot, face) → person in the parent plan; ``turns`` is (day, slot) → who takes it by
    decision, or because somebody passed it on.
    """

    job: Job
    works: Mapping[str, FaceWork]
    worktime: Worktime
    suns: Mapping[str, SiteSun]
    identity: Identity
    kept: Mapping[tuple[date, Slot, str], str] = field(default_factory=dict)
    turns: Mapping[tuple[date, Slot], tuple[Turn, ...]] = field(default_factory=dict)
    walked: dict[tuple[str, date], int] = field(default_factory=dict)

    def of_day(
        self,
        site: str,
        board: DayBoard,
        tended: Sequence[Tended],
        standing: Collection[str],
        laying: Collection[str],
    ) -> None:
        """Put the rounds of a site's day onto its board, and take the walkers' time.

        Parameters
        ----------
        board
            Who is taken when; changed.
        tended
            Coats looked after at this site.
        standing
            Ids of visits that stand already in rounds of today or tomorrow.
        laying
            Crews that may lay a coat today: others walk first.
        """
        sun = self.suns[site]
        crew_there = any(self.worktime.off(crew.id, board.day) is None for crew in self.job.file.crews)
        due = walks(tended, board.day, sun, midday=crew_there)
        self._even_out(site, board, due, laying)
        for slot in (Slot.EARLY, Slot.MIDDAY, Slot.LATE):
            visits = [visit(one, board.day, slot, sun, conditional=one.conditional) for one in due.get(slot, ())]
            visits = [one for one in visits if one.id not in standing and not _had_once(one, standing)]
            if visits:
                self._walk(site, board, slot, visits, laying)

    def _even_out(self, site: str, board: DayBoard, due: dict[Slot, list[Tended]], laying: Collection[str]) -> None:
        """Let faces visited once a day join the other walk where theirs has no room left."""
        southern = self.suns[site].sunny_side == 0.0
        for slot, other in ((Slot.EARLY, Slot.LATE), (Slot.LATE, Slot.EARLY)):
            if slot not in due or other not in due:
                continue
            over = _minutes(due[slot]) - self._all_room(site, board, slot, laying)
            room = self._all_room(site, board, other, laying) - _minutes(due[other])
            for one in [one for one in due[slot] if one.times(board.day) == 1]:
                if over <= 0 or one.coat.visit_minutes > room:
                    break
                due[slot].remove(one)
                due[other] = in_order([*due[other], one], other, southern)
                over -= one.coat.visit_minutes
                room -= one.coat.visit_minutes

    def _all_room(self, site: str, board: DayBoard, slot: Slot, laying: Collection[str]) -> int:
        return sum(walker.minutes for walker in self._walkers(site, board, slot, laying))

    def stand(self, booking: Booking, board: DayBoard) -> None:
        """Put a round kept from the parent plan onto its board."""
        person, zone = booking.who[0], self.worktime.zone(booking.site)
        assert booking.slot is not None
        board.rounds[person, booking.slot] = booking
        board.take(person, (local(zone, booking.start)[1], local(zone, booking.end)[1]), booking.site)
        self._count(person, board.day, booking.visits)

    def more_of_day(
        self, site: str, board: DayBoard, visits: list[Visit], span: tuple[int, int], laying: Collection[str]
    ) -> None:
        """Put a midday walk that the weather asks for onto a board whose work stands already.

        Parameters
        ----------
        visits
            In walking order; anybody who mists may take them, in free time.
        span
            Within which it is walked [min after local midnight].
        """
        self._walk(site, board, Slot.MIDDAY, visits, laying, span)

    def _count(self, person: str, day: date, visits: Iterable[Visit]) -> None:
        """Count minutes walked; those that weather adds shift nobody's turn, or a forecast would move other days."""
        minutes = sum(one.minutes for one in visits if not one.added)
        if minutes:
            self.walked[person, day] = self.walked.get((person, day), 0) + minutes

    def _walk(
        self,
        site: str,
        board: DayBoard,
        slot: Slot,
        visits: list[Visit],
        laying: Collection[str],
        span: tuple[int, int] | None = None,
    ) -> None:
        walkers = self._walkers(site, board, slot, laying, span)
        kept = {
            one.face: self.kept[board.day, slot, one.face] for one in visits if (board.day, slot, one.face) in self.kept
        }
        walkers, kept = self._by_turns(board.day, slot, [one.face for one in visits], walkers, kept)
        shares = share(visits, walkers, kept, lambda face: self.works[face].reachable)
        leftover = shares.pop("", [])
        for person, part in shares.items():
            start = self._start(person, site, board, slot, sum(one.minutes for one in part), span)
            if start is None:
                leftover += part
            elif (person, slot) in board.rounds:
                board.rounds[person, slot] = self._longer(board, board.rounds[person, slot], part)
            else:
                board.rounds[person, slot] = self._booking(site, board, slot, person, part, start, span)
        if leftover:
            order = {one.id: k for k, one in enumerate(visits)}
            leftover.sort(key=lambda one: order[one.id])
            self._nobody(site, board, slot, leftover, span)

    def _nobody(
        self, site: str, board: DayBoard, slot: Slot, visits: list[Visit], span: tuple[int, int] | None
    ) -> None:
        """Put what nobody takes onto the board: one round a part of the day and site."""
        for k, one in enumerate(board.unnamed):
            if span is not None and one.slot is slot and one.site == site:
                board.unnamed[k] = self._longer(board, one, visits)
                return
        start = self._unnamed(site, board, slot, visits) if span is None else span[0]
        board.unnamed.append(self._booking(site, board, slot, "", visits, start, span))

    def _by_turns(
        self, day: date, slot: Slot, faces: Sequence[str], walkers: list[Walker], kept: dict[str, str]
    ) -> tuple[list[Walker], dict[str, str]]:
        """Put first who takes this walk by decision; leave out who passed it on, unless it comes back to them."""
        excused: set[str] = set()
        first: list[str] = []
        for turn in holding(self.turns.get((day, slot), ())):
            given = [face for face in faces if not turn.instead or kept.get(face) in (None, turn.instead)]
            kept = kept | dict.fromkeys(given, turn.person)
            excused = (excused | ({turn.instead} - {""})) - {turn.person}
            first = [turn.person, *(one for one in first if one != turn.person)]
        there = [walker for walker in walkers if walker.person not in excused]
        there.sort(key=lambda walker: first.index(walker.person) if walker.person in first else len(first))
        return there, {face: person for face, person in kept.items() if person not in excused}

    def _walkers(
        self,
        site: str,
        board: DayBoard,
        slot: Slot,
        laying: Collection[str],
        span: tuple[int, int] | None = None,
    ) -> list[Walker]:
        found = []
        for order, person in enumerate(self.job.file.people):
            if Role.MISTS not in person.roles or (slot is Slot.MIDDAY and span is None and not self._lays(person)):
                continue
            room = self._room(person, site, board, slot, span)
            if room <= 0:
                continue
            crew = self.worktime.crew_of(person.id)
            turn = (crew is not None and crew.id in laying, self._lately(person.id, board.day), order)
            scaffold = person.reach is Reach.SCAFFOLD and crew is not None
            found.append((turn, Walker(person.id, room, scaffold)))
        return [walker for _, walker in sorted(found, key=lambda pair: pair[0])]

    def _lays(self, person: Person) -> bool:
        return self.worktime.crew_of(person.id) is not None

    def _lately(self, person: str, day: date) -> int:
        return sum(self.walked.get((person, day - timedelta(days=k)), 0) for k in range(1, FAIR_DAYS + 1))

    def _room(self, person: Person, site: str, board: DayBoard, slot: Slot, span: tuple[int, int] | None = None) -> int:
        """Return the minutes a person has for this walk; a round that stands can only grow at its end."""
        low, high = span or HALF_DAY[slot]
        standing, already = board.rounds.get((person.id, slot)), 0
        if standing is not None:
            if standing.site != site:
                return 0
            zone = self.worktime.zone(site)
            low = local(zone, standing.end)[1]
            already = low - local(zone, standing.start)[1]
            free = (b - low for a, b in board.free(person.id, site) if a <= low < b)
            high = low + next(free, 0)
        spans = board.free(person.id, site)
        longest = max((min(b, high) - max(a, low) for a, b in spans), default=0)
        limit = self.worktime.longest_round(person.id, board.day)
        return (longest if limit is None else min(longest, limit - already)) // GRID * GRID

    def _start(
        self,
        person: str,
        site: str,
        board: DayBoard,
        slot: Slot,
        minutes: int,
        span: tuple[int, int] | None = None,
    ) -> int | None:
        """Return when a walk begins.

        Inside its window if that holds it; else the first (early) or last (late) minutes of the
        person's hours that fit, a late one ended an hour before sunset if it can be.
        """
        hours = self.suns[site].walks(board.day)
        low, high = span or HALF_DAY[slot]
        standing = board.rounds.get((person, slot))
        if standing is not None:
            end = local(self.worktime.zone(site), standing.end)[1]
            return board.gap(person, site, minutes, (end, end + -(-minutes // GRID) * GRID))
        if slot is Slot.EARLY:
            windows = [((low, min(high, hours.early_end)), False), ((low, high), False)]
        elif slot is Slot.MIDDAY:
            windows = [((low, high), False)]
        else:
            windows = [
                ((max(low, hours.late_start), hours.late_end), False),
                ((low, hours.late_end), True),
                ((low, high), True),
            ]
        for window, last in windows:
            start = board.gap(person, site, minutes, window, last=last)
            if start is not None:
                return start
        return None

    def _unnamed(self, site: str, board: DayBoard, slot: Slot, visits: list[Visit]) -> int:
        minutes = sum(one.minutes for one in visits)
        if slot is Slot.EARLY:
            return UNNAMED_EARLY
        if slot is Slot.MIDDAY:
            return MIDDAY[0]
        hours = self.suns[site].walks(board.day)
        start = hours.late_start if hours.late_start + minutes <= hours.late_end else hours.late_end - minutes
        return max(NOON, min(start, MIDNIGHT - minutes - GRID) // GRID * GRID)

    def _longer(self, board: DayBoard, standing: Booking, more: list[Visit]) -> Booking:
        """Return a round that stands, with more visits at its end."""
        zone = self.worktime.zone(standing.site)
        visits = (*standing.visits, *more)
        start, end = local(zone, standing.start)[1], local(zone, standing.end)[1]
        minutes = sum(one.minutes for one in visits)
        longer = max(end, start + -(-minutes // GRID) * GRID)
        if longer > end and standing.who:
            board.take(standing.who[0], (end, longer), standing.site)
        until = instant(zone, board.day, longer)
        return replace(
            standing,
            visits=visits,
            faces=tuple(one.face for one in visits),
            end=until,
            until=max(standing.until or until, until),
            state=State.CONDITIONAL if all(one.conditional for one in visits) else State.FIRM,
            notes=_method(self.works, visits),
            cautions=_cautions(self.works, visits),
            labour=round(minutes / 60.0, 2),
        )

    def _booking(
        self,
        site: str,
        board: DayBoard,
        slot: Slot,
        person: str,
        visits: list[Visit],
        start: int,
        span: tuple[int, int] | None = None,
    ) -> Booking:
        zone = self.worktime.zone(site)
        day, minutes = board.day, sum(one.minutes for one in visits)
        length = -(-minutes // GRID) * GRID
        if person:
            board.take(person, (start, start + length), site)
            self._count(person, day, visits)
        hours = self.suns[site].walks(day)
        middle = MIDDAY[1] if span is None else span[1]
        until = {Slot.EARLY: hours.early_end, Slot.MIDDAY: middle, Slot.LATE: hours.late_end}[slot]
        why = slot.value if span is None else "weather_walk"
        root = self.identity.people.get(person, person)
        if not person:
            root = NOBODY if len(self.suns) == 1 else f"{NOBODY}-{site}"
        return Booking(
            id=f"{day.isoformat()}.{slot.value}.{person or root}",
            uid=self.identity.uid("round", day.isoformat(), slot.value, root),
            kind=Kind.ROUND,
            site=site,
            zone=zone.key,
            faces=tuple(one.face for one in visits),
            task="round",
            who=(person,) if person else (),
            start=instant(zone, day, start),
            end=instant(zone, day, start + length),
            state=State.CONDITIONAL if all(one.conditional for one in visits) else State.FIRM,
            reason=Reason("visit.walks", why, {"faces": len(visits), "minutes": minutes}),
            slot=slot,
            until=instant(zone, day, max(until, start + length)),
            visits=tuple(visits),
            notes=_method(self.works, visits),
            cautions=_cautions(self.works, visits),
            labour=round(minutes / 60.0, 2),
        )


def _had_once(one: Visit, standing: Collection[str]) -> bool:
    """Tell whether a face visited once that day has its visit in another walk that stands already."""
    day = one.id.rpartition(".")[0]
    return (
        one.times_a_day == 1
        and one.care is not Care.LOOK
        and any(f"{day}.{slot.value}" in standing for slot in (Slot.EARLY, Slot.LATE))
    )


def _minutes(faces: Sequence[Tended]) -> int:
    return sum(one.coat.visit_minutes for one in faces)


def _method(works: Mapping[str, FaceWork], visits: Sequence[Visit]) -> tuple[str, ...]:
    """Return how the visits are done, each sentence once."""
    texts: dict[str, None] = {}
    for one in visits:
        coat = works[one.face].system.coat(one.coat)
        there = {"any": True, "outside": works[one.face].outside, "sunny": one.cloth}
        for step in coat.visits if coat else ():
            if there[step.where]:
                texts[step.text] = None
    return tuple(texts)


def _cautions(works: Mapping[str, FaceWork], visits: Sequence[Visit]) -> tuple[str, ...]:
    keys: dict[str, None] = {}
    coats = [works[one.face].system.coat(one.coat) for one in visits]
    if any(coat is not None and coat.care is Care.MIST for coat in coats):
        keys |= dict.fromkeys(("lime", "sockets"))
    if any(not works[one.face].reachable for one in visits):
        keys["height"] = None
    if any(one.cloth for one in visits):
        keys["cloth"] = None
    return tuple(keys)
