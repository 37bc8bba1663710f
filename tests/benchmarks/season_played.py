"""A season played day by day: a crew that does what its plan says, beside weather that really was.

The job is invented; its weather is that of a recorded year, told as the year 2027. Each evening and each morning a
forecast of nine days comes in (what came, or that with an error that grows), and a plan is made beside the plan before.
In between the crew lays what is firm, meets holds when the plan asks for it, ticks most visits, puts covers up and
down; what weather took off its day goes to the day that is proposed.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, timedelta
from functools import cache
from random import Random
from typing import Any

import numpy as np

from curing.model.decisions import Decision, DecisionKind
from curing.model.job import Job
from curing.model.plan import LIVE, Booking, Care, Kind, Plan, State, Visit
from curing.model.record import RecordEntry, RecordKind
from curing.model.visit_weather import Advice
from curing.model.weather import HOUR, VARIABLES, Weather, of
from curing.planning.expand import expand, identify
from curing.planning.weather_booked import cover_of, goes_up
from curing.planning.weather_notices import another_day
from curing.planning.weather_past import BACK, known
from curing.planning.weather_rulings import Ruling
from curing.planning.weather_site import FaceHours, site_weather
from curing.planning.weather_sky import Foreseen, sky_over
from curing.planning.worktime import Worktime
from curing.workflow.opening import Said, facts
from curing.workflow.planning import next_plan
from curing.workflow.weather_plan import CURE_BACK, NO_WEATHER, PlanWeather
from tests.benchmarks.cases import WORDS
from tests.benchmarks.station import LATITUDE, LONGITUDE, ZONE, Hours
from tests.jobs import read

DAY = timedelta(days=1)
YEAR = 2027
FACINGS = {"1": "N", "2": "E", "3": "S", "4": "W"}
OPENINGS = ("roof-gutter", "sills-flashings", "boxes-pipes", "gaps-packed", "mesh-beads", "sockets", "sample-panel")
TESTS = {"base-dry": ("base", ("hollows",)), "paint-tests": ("finish", ("water-drop", "dusting"))}
AHEAD = 9 * 24
TICKED = 0.9
WET = 0.3
"""Rain on a face in the three hours before a visit for which somebody ticks "rain on it" [L/m2]."""


@cache
def job_on(day: date, start: date, dry: tuple[date, ...]) -> Job:
    """Return the invented job as its file stands on a day; ``dry``: when each panel was read dry last."""
    crew = {"roles": ["lead", "mists"], "reach": "scaffold", "hours": {"mon-fri": "07:00-15:30"}}
    walls = [
        {
            "id": id_,
            "name": f"wall {id_}",
            "holds": {"panel-dry": str(read_dry)},
            "rules": {"panel.lapse": "14 d"},
            "faces": [
                {"side": "out", "facing": facing, "area": "11 m2", "height": "2.7 m", "system": "clay-lime",
                 "scaffold": f"scaffold {facing}", "start": str(start), "cloth": facing != "N"}
            ],
        }
        for (id_, facing), read_dry in zip(FACINGS.items(), dry, strict=True)
    ]  # fmt: skip
    data: dict[str, Any] = {
        "curing": 1,
        "uid": "5f0c9e1a-93d4-4d0c-8a55-3b1b7a0f2c77",
        "name": "A season",
        "holidays": {"country": "NL"},
        "season": {"finish_by": f"{YEAR}-09-22", "resumes": f"{YEAR + 1}-04-27"},
        "sites": [
            {"id": "yard", "name": "Yard", "latitude": LATITUDE, "longitude": LONGITUDE, "time_zone": ZONE.key}
        ],
        "people": [
            {"id": "ida", "name": "Ida", **crew},
            {"id": "bo", "name": "Bo", **crew, "roles": ["mists"]},
            {"id": "ton", "name": "Ton", **crew, "roles": ["mists"]},
            {"id": "near", "name": "Near", "roles": ["mists"], "reach": "scaffold",
             "hours": {"sat-sun": "08:00-20:00", "holiday": "08:00-20:00"}},
        ],
        "crews": [{"id": "render", "name": "Render", "people": ["ida", "bo", "ton"]}],
        "holds": dict.fromkeys(OPENINGS, f"{YEAR}-01-15"),
        "walls": walls,
    }  # fmt: skip
    return read(data, datetime(day.year, day.month, day.day, 12, tzinfo=ZONE))


def told_as(hours: Hours, year: int) -> Weather:
    """Return recorded hours from a year's first on, as if that year were :data:`YEAR`."""
    first = int((datetime(year, 1, 1, tzinfo=UTC).timestamp() - hours.start) // 3600)
    series = {name: getattr(hours, name, np.full(len(hours), np.nan))[first:] for name in VARIABLES}
    return of(series, datetime(YEAR, 1, 1, tzinfo=UTC), len(hours) - first, "station")


@dataclass(frozen=True)
class Step:
    """One time of planning."""

    now: datetime
    plan: Plan
    news: bool
    faults: tuple[str, ...]
    """What the independent check found, with which every plan is judged."""
    again: bool
    """Whether the same plan made again at once had news: it must not."""
    answered: bool = False
    """It was made because the lead decided, not because the time came."""


@dataclass
class Season:
    """One season, played from an evening before the first coat on.

    Parameters
    ----------
    year
        Of the recorded hours.
    start
        Earliest day of the first coats, in :data:`YEAR`.
    weather
        Whether plans are made under the weather; without it, coats are laid as they are booked.
    error
        How far forecasts go wrong: 0 not at all; 1 about as they do (1.5 K after a day, rain some hours off).
    """

    hours: Hours
    year: int
    start: date
    weather: bool = True
    error: float = 0.0
    longest: int = 200
    steps: list[Step] = field(default_factory=list)
    record: list[RecordEntry] = field(default_factory=list)
    decisions: list[Decision] = field(default_factory=list)
    laid: list[tuple[Booking, datetime, bool]] = field(default_factory=list)
    """Coats as laid, the instant of the plan they were laid by, and whether the lead had decided their day."""
    walked: list[tuple[Booking, Visit, bool]] = field(default_factory=list)
    """Visits that came due for coats that lie, and whether somebody ticked them."""
    done: list[Booking] = field(default_factory=list)
    """Covers and looks over a face as they were done."""
    unlaid: list[tuple[datetime, str]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.truth = told_as(self.hours, self.year)
        self._rng = Random(f"{self.year} {self.start} {self.error}")
        self._noise = np.random.default_rng([self.year, self.start.month, round(100 * self.error)])
        self._turn = itertools.count(1)
        self._dry = [self.start] * len(FACINGS)
        self._runs: list[Weather] = []
        self._faces: dict[str, FaceHours] | None = None

    # -- the job and its weather ------------------------------------------------------------

    def job(self, now: datetime) -> Job:
        """Return the job as the file stands; bare panels are read again each week."""
        today = now.astimezone(ZONE).date()
        based = {one.face for one in self.record if one.kind is RecordKind.FINISHED}
        for k, wall in enumerate(FACINGS):
            if f"{wall}-out" not in based and (today - self._dry[k]).days not in range(7):
                self._dry[k] = today
        return job_on(max(self._dry), self.start, tuple(self._dry))

    def faces(self) -> dict[str, FaceHours]:
        """Return what each face really went through."""
        if self._faces is None:
            job = job_on(self.start, self.start, (self.start,) * 4)
            faces = {face_id: face for face_id, _, face in job.faces()}
            self._faces = site_weather(job.file.sites[0], faces, self.truth)
        return self._faces

    def _forecast(self, now: datetime) -> Weather:
        """Return a run made an hour ago: nine days of what came, wrong by as much as is asked."""
        made = now.replace(minute=0) - HOUR
        first = self.truth.index(made)
        series = {name: getattr(self.truth, name)[first : first + AHEAD].copy() for name in VARIABLES}
        if self.error:
            lead = np.arange(len(series["rain"])) / 24.0
            drift = np.cumsum(self._noise.normal(0.0, 0.25, len(lead))) * np.clip(lead, 0.2, 5.0) ** 0.5
            series["temperature"] += self.error * drift
            late = round(self.error * float(self._noise.normal(0.0, 3.0)))
            series["rain"] = np.roll(series["rain"], late) * float(np.exp(self.error * self._noise.normal(0.0, 0.4)))
        return replace(of(series, made, len(series["rain"]), "file"), issued=made, fetched=made)

    def _under(self, now: datetime) -> PlanWeather:
        if not self.weather:
            return NO_WEATHER
        until = self.truth.index(now)
        back = self.truth.index(now - CURE_BACK - HOUR)
        span = slice(max(back, 0), until)
        measured = {name: getattr(self.truth, name)[span] for name in VARIABLES}
        station = of(measured, self.truth.start + span.start * HOUR, span.stop - span.start, "station")
        whole = known([], self._runs[0], now, station=station, back=CURE_BACK)
        told = (known([], run, now, station=station, back=BACK) for run in self._runs[:2])
        assert whole is not None
        return PlanWeather({"yard": tuple(one.weather for one in told if one is not None)}, {"yard": whole})

    # -- a season ----------------------------------------------------------------------------

    def play(self) -> Season:
        """Play until nothing is left to do; return itself."""
        now = datetime(self.start.year, self.start.month, self.start.day, 18, tzinfo=ZONE) - DAY
        plan: Plan | None = None
        for _ in range(2 * self.longest):
            if plan is not None:
                self._work(plan, self.steps[-1].now, now.astimezone(UTC))
            if self.weather:
                self._runs.insert(0, self._forecast(now.astimezone(UTC)))
                del self._runs[2:]
            plan = self._plan(plan, now.astimezone(UTC))
            if self._decide(plan, now.astimezone(UTC)):
                plan = self._plan(plan, now.astimezone(UTC), answered=True)
            if not any(one.state is not State.DONE and one.end > self.steps[-1].now for one in plan.everything()):
                break
            day = now.date() + (DAY if now.hour == 18 else timedelta())
            now = datetime(day.year, day.month, day.day, 6 if now.hour == 18 else 18, tzinfo=ZONE)
        return self

    def _plan(self, parent: Plan | None, now: datetime, *, answered: bool = False) -> Plan:
        job, said, under = self.job(now), Said(self.record, self.decisions), self._under(now)
        plan, news = next_plan(job, parent, now, WORDS, said, weather=under)
        again = next_plan(job, plan, now, WORDS, said, weather=under)[1] if news else False
        faults = tuple(f"{one.values['where']}: {one.values['text']}" for one in plan.warnings if one.key == "check")
        self.steps.append(Step(now, plan, news, faults, again, answered))
        return plan

    def _decide(self, plan: Plan, now: datetime) -> bool:
        """Let the lead answer: what is off goes to the day proposed; what was decided and rain threatens, further."""
        found = [
            (str(one.values["coat"]), str(one.values["day"])) for one in plan.questions if one.key == "weather_off"
        ]
        threatened = [str(one.values["coat"]) for one in plan.warnings if one.key == "weather_kept"]
        for coat in threatened:
            booking = next(one for one in plan.bookings if one.id == coat)
            if now < booking.start <= now + DAY and (other := self._another(booking, plan, now)) is not None:
                found.append((coat, other.isoformat()))
        for coat, day in found:
            face, _, name = coat.rpartition(".")
            data = {"face": face, "coat": name, "day": day, "why": "weather"}
            self.decisions.append(
                Decision(f"d{next(self._turn)}", now, "ida", DecisionKind.MOVE, data, len(self.decisions) + 1)
            )
        return bool(found)

    def _another(self, booking: Booking, plan: Plan, now: datetime) -> date | None:
        job, _ = facts(self.job(now), plan, Said(self.record, self.decisions))
        sky = sky_over(job, self._under(now).runs, now)
        for work in expand(job, identify(job, plan), plan):
            for coat in work.coats:
                if sky is not None and coat.id == booking.id:
                    stops = sky.refuses(work, coat, booking.start, booking.end)
                    return another_day(sky, work, coat, booking, Foreseen(Ruling.OFF, stops), Worktime(job))
        return None

    # -- what the crew does ------------------------------------------------------------------

    def _put(self, kind: RecordKind, at: datetime, by: str, face: str | None, data: dict[str, Any]) -> None:
        number = next(self._turn)
        self.record.append(RecordEntry(f"k{number}", at, at, by, kind, face, data, number))

    def _work(self, plan: Plan, since: datetime, until: datetime) -> None:
        """Do what a plan says between two instants."""
        for one in plan.everything():
            if not since < one.end <= until or one.state is State.DONE:
                continue
            if one.kind is Kind.COAT:
                if one.state is State.FIRM:
                    self._put(RecordKind.FINISHED, one.end, one.who[0], one.faces[0], {"task": one.task})
                    self.laid.append((one, since, one.reason.rule == "plan.move"))
                else:
                    self.unlaid.append((one.start, one.id))
            elif one.state in LIVE:
                self._small(one)

    def _small(self, one: Booking) -> None:
        by = one.who[0] if one.who else ""
        if one.kind is Kind.ROUND:
            for visit in one.visits:
                self._visit(one, visit, by)
        elif not by:
            return
        elif one.kind is Kind.COVER and (kind := cover_of(one.id)):
            way = RecordKind.COVER_UP if goes_up(one) else RecordKind.COVER_DOWN
            self._put(way, one.end, by, one.faces[0], {"cover": kind})
            self.done.append(one)
        elif one.id.endswith(".inspect"):
            self.done.append(one)
            self._put(RecordKind.INSPECTION, one.end, "ida", one.faces[0], {"sound": True})
        elif one.kind is Kind.TEST and one.task in TESTS:
            coat, tests = TESTS[one.task]
            for name in tests:
                self._put(RecordKind.TEST, one.end, by, one.faces[0], {"test": name, "passed": True, "coat": coat})
            self._put(RecordKind.HOLD_MET, one.end + timedelta(minutes=1), "ida", one.faces[0], {"hold": one.task})

    def _visit(self, walk: Booking, visit: Visit, by: str) -> None:
        if visit.care is Care.LOOK or f"{visit.face}.{visit.coat}" not in {one.id for one, _, _ in self.laid}:
            return
        said = bool(by) and self._rng.random() < TICKED
        self.walked.append((walk, visit, said))
        if not said:
            return
        face = self.faces()[visit.face]
        hour = face.index(walk.start)
        rained = float(np.nansum(face.rain_told[max(hour - 3, 0) : hour]))
        kind = RecordKind.MISTED
        if visit.dry:
            kind = RecordKind.DAMP
        elif rained >= WET:
            kind = RecordKind.RAIN_ON_IT
        elif visit.advice == Advice.LOOK.value and self._rng.random() < 0.5:
            kind = RecordKind.DAMP
        assert walk.slot is not None
        day = walk.start.astimezone(ZONE).date().isoformat()
        data = {"coat": visit.coat, "day": day, "slot": walk.slot.value}
        self._put(kind, walk.start + timedelta(minutes=5), by, visit.face, data)

    def pairs(self) -> Iterator[tuple[Step, Step]]:
        """Yield each plan after the one before it."""
        return itertools.pairwise(self.steps)
