"""What the weather has to say while the days are gone through: where no coat goes, and walks that are added."""

from __future__ import annotations

from datetime import date, datetime

from curing.model.job import Crew
from curing.model.plan import State
from curing.planning.dispatch_told import ToldDays
from curing.planning.expand import CoatWork, FaceWork
from curing.planning.placing import Block, DayBoard, Span, without
from curing.planning.standing import Standing
from curing.planning.weather_rounds import step_out, weathered
from curing.planning.weather_rulings import Ruling, saw_it
from curing.planning.weather_visits import DAYS
from curing.planning.worktime import instant, local

HOUR = 60
"""[min]"""


class WeatheredDays(ToldDays):
    """Holds coats against the forecast, and lets it add visits to a day that is placed."""

    def _weather_walks(self, board: DayBoard, laying: set[str]) -> None:
        """Say what the weather makes of the visits of the next days; what it adds takes time that is left."""
        if self.weather.idle:
            return
        blocks = self._blocks(board.day)
        for site, tended in self.tended.items():
            if 0 <= (board.day - self.today[site]).days < DAYS:
                weathered(site, board, tended, self.rounds, self.weather, self.past.tasks, laying, blocks)
        step_out(board, self.draft.coats, {site: self.worktime.zone(site) for site in self.tended})

    def _blocks(self, day: date) -> dict[str, list[Span]]:
        """Return when each person lays coats on a day, in minutes."""
        found: dict[str, list[Span]] = {}
        for coat in self.draft.coats:
            zone = self.worktime.zone(coat.site)
            if coat.state is not State.DONE and local(zone, coat.start)[0] == day:
                for person in coat.who:
                    out = [(local(zone, a.start)[1], local(zone, a.end)[1]) for a in coat.absent if a.person == person]
                    spans = without([(local(zone, coat.start)[1], local(zone, coat.end)[1])], out)
                    found.setdefault(person, []).extend(spans)
        return found

    def _keeps_edge(self, coat: CoatWork, crew: Crew, block: Block) -> bool:
        """Tell whether the people of a block keep its wet edge, beside the other coats of their day."""
        edge, hands = self._edge[crew.id]
        return coat.edge <= len(block.who) + 1e-6 and edge + coat.edge <= len(hands | set(block.who)) + 1e-6

    def _rained_off(self, coat: CoatWork, work: FaceWork, block: Block, board: DayBoard, *, alone: bool) -> bool:
        """Tell whether the forecast is against a coat there that nobody was told of, or that is off its day.

        ``alone``: the newest run is enough, for a day that is proposed now.
        """
        span = self._span(work, block, board)
        if self.sky is None or self._shielded(coat, board.day, span[0]):
            return False
        return bool(self.sky.refuses(work, coat, *span, alone=alone))

    def _blown_off(self, standing: Standing, coat: CoatWork, block: Block, board: DayBoard) -> bool:
        """Tell whether the weather would take a coat off its day at hours that are not those it had on it.

        Else it went there now, and off when it is planned the next time.
        """
        kept = self.past.kept.get(coat.id)
        if self.sky is None or kept is None:
            return False
        span = self._span(standing.work, block, board)
        if span == (kept.booking.start, kept.booking.end) or self._shielded(coat, board.day, span[0]):
            return False
        return self.sky.told(standing.work, coat, *span).ruling is Ruling.OFF

    def _shielded(self, coat: CoatWork, day: date, start: datetime) -> bool:
        """Tell whether somebody decided on that day for a coat who had a forecast for it."""
        decided = self.past.decided.get(coat.id)
        return decided is not None and decided.day == day and saw_it(decided.cause.at, start)

    def _span(self, work: FaceWork, block: Block, board: DayBoard) -> tuple[datetime, datetime]:
        zone = self.worktime.zone(work.site)
        return instant(zone, board.day, block.start), instant(zone, board.day, block.end)

    def _later(
        self, standing: Standing, coat: CoatWork, crew: Crew, block: Block, board: DayBoard, *, alone: bool
    ) -> Block | None:
        """Return the first block later that day that the forecast is not against: cold and damp go with the morning."""
        people = [person for person, _ in self.worktime.present(crew.id, board.day)]
        later: Block | None = block
        while later is not None:
            at = (later.start // HOUR + 1) * HOUR
            later = board.block(people, standing.work.site, coat.labour, at)
            fits = later is not None and self._keeps_edge(coat, crew, later)
            if later is not None and fits and not self._rained_off(coat, standing.work, later, board, alone=alone):
                return later
        return None
