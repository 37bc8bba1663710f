"""A base coat that stands over a winter without its finish: covered at the season line, seen to before the finish.

It needs no forecast: the season line alone tells that a finish waits for spring while the coat under it is laid. The
coat is covered, with a gap for air, once its tending is over: the clay behind goes on drying, and frost that finds a
dry coat does little. In spring the cover comes down, and before the finish the coat is read, sounded, keyed and
brushed anew.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from curing.model.plan import Booking, Kind, Reason, State, Value
from curing.model.system import Work
from curing.planning.expand import FaceWork
from curing.planning.readiness import Laid
from curing.planning.season import winter_between
from curing.planning.tasks import LATEST, LOOK_BACK, Tasks
from curing.planning.worktime import EARLIEST, GRID, instant, local, zone_of

DAY = timedelta(days=1)
WEEK = 7
"""[d] It is covered in so many days up to the season line (common practice, no source)."""
LEAST_REST = 28
"""[d] A shorter time without the next coat is no rest: after about four weeks a coat is keyed and brushed anew
(common practice, no source); a coat system's ``greatest_wait`` stands in for it."""
UP_MINUTES, UP_RATE = 30, 3.0
"""[min] and [min/m2] for sheets with battens and feet, put up to stay (assumption)."""
DOWN_MINUTES, DOWN_RATE = 15, 1.0
"""[min] and [min/m2] to take them down and fold them (assumption)."""
LOOK_MINUTES, LOOK_RATE = 20, 4.0
"""[min] and [min/m2] to read a coat, sound it, key it anew and brush it (assumption)."""
COVER, AFTER = "WINTER", "{coat} after winter"
"""Titles of its tasks."""

Place = tuple[str, date, int]


@dataclass(frozen=True, slots=True)
class Rest:
    """A coat that rests over a winter.

    Parameters
    ----------
    work
        Its face.
    under
        The coat that rests.
    over
        The coat it waits for.
    line, resumes
        Season line before that winter, first day of work after it.
    """

    work: FaceWork
    under: Laid
    over: Laid
    line: date
    resumes: date

    @property
    def stem(self) -> str:
        """What its covers have in common: ``3-out.base.winter-2027``."""
        return f"{self.under.coat.id}.winter-{self.line.year}"


def resting(tasks: Tasks, works: Iterable[FaceWork]) -> Iterator[Rest]:
    """Yield the coats outside that rest over a winter, in walking order.

    Only where the season says when work resumes, and only plaster that waits for plaster: paint is not bound by it.
    """
    season = tasks.job.file.season
    if season is None or season.resumes is None:
        return
    for work in works:
        if not work.outside:
            continue
        for under, over in pairwise(tasks.laid[work.id]):
            both = (under.coat.coat.work, over.coat.coat.work)
            if over.done or both != (Work.PLASTER, Work.PLASTER):
                continue
            winter = winter_between(season, under.day, over.day)
            least = over.coat.greatest_wait or LEAST_REST
            # What is laid in the last weeks before work resumes has no winter before it.
            lies = winter is not None and (winter[1] - under.day).days >= LEAST_REST
            if winter is not None and lies and (over.day - under.day).days > least:
                yield Rest(work, under, over, *winter)


def winter_tasks(tasks: Tasks, works: Iterable[FaceWork], coats: Mapping[str, Booking]) -> list[Booking]:
    """Return what a rest over a winter asks for: cover up, cover down, and the coat seen to before the next.

    Parameters
    ----------
    tasks
        Finds room in the days.
    works
        Faces in walking order.
    coats
        Coat id → booking.
    """
    told = {one.id: one for one in tasks.past.history}
    found: list[Booking] = []
    for rest in resting(tasks, works):
        seen = told.get(f"{rest.under.coat.id}.after-winter")
        look = _look(tasks, rest, coats[rest.over.coat.id]) if not _lasts(seen, rest) else None
        up = _up(tasks, rest) if f"{rest.stem}-up" not in told else None
        down = None
        if f"{rest.stem}-down" not in told and (up is not None or f"{rest.stem}-up" in told):
            down = _down(tasks, rest, look)
        found += [one for one in (up, down, look) if one is not None]
    return found


def _lasts(seen: Booking | None, rest: Rest) -> bool:
    """Tell whether the coat was seen to lately enough before the next, which slid since."""
    return seen is not None and local(zone_of(seen.zone), seen.start)[0] > rest.over.day - LATEST * DAY


def _up(tasks: Tasks, rest: Rest) -> Booking | None:
    """Return the cover's up: in the week before the line, or as soon as the tending is over; None in spring."""
    task, today = f"{rest.stem}-up", tasks.today[rest.work.site]
    tended = rest.under.day + (rest.under.coat.last_day + 1) * DAY
    before = tasks.past.tasks.get(task)
    fresh = today if before is not None else today + DAY
    first = max(rest.line - (WEEK - 1) * DAY, tended, fresh)
    last = min(rest.resumes, rest.over.day) - DAY
    if first > last or (first > rest.line and (rest.resumes - first).days < LATEST):
        return None  # the rest is over, or nearly so
    days = [first + k * DAY for k in range(max((rest.line - first).days + 1, LATEST)) if first + k * DAY <= last]
    minutes = _minutes(rest, UP_MINUTES, UP_RATE)
    place = tasks.place(task, rest.work.site, days, _crew(tasks, rest.work), minutes)
    place = place or tasks.shown(task, rest.work.site, first, EARLIEST + minutes, minutes)
    return _cover(tasks, rest, "up", place, minutes, rest.line)


def _down(tasks: Tasks, rest: Rest, look: Booking | None) -> Booking:
    """Return the cover's down: when work resumes, and before the coat is looked at."""
    task, today = f"{rest.stem}-down", tasks.today[rest.work.site]
    zone = tasks.worktime.zone(rest.work.site)
    day, start = local(zone, look.start) if look is not None else (rest.over.day, EARLIEST)
    minutes = _minutes(rest, DOWN_MINUTES, DOWN_RATE)
    people = _crew(tasks, rest.work)
    after = [rest.resumes + k * DAY for k in range(max((day - rest.resumes).days, 0))]
    early = [min(rest.resumes, day) - k * DAY for k in range(1, LOOK_BACK + 1)]
    wanted = [one for one in [*after, *early] if today <= one < day]
    place = tasks.place(task, rest.work.site, wanted[:LATEST], people, minutes)
    place = place or tasks.place(task, rest.work.site, [day], people, minutes, high=start)
    place = place or tasks.shown(task, rest.work.site, max(min(rest.resumes, day), today), start, minutes)
    return _cover(tasks, rest, "down", place, minutes, rest.resumes)


def _look(tasks: Tasks, rest: Rest, coat: Booking) -> Booking:
    """Return the task that makes the coat fit for the next: in the days before it, like a reading."""
    task, today = f"{rest.under.coat.id}.after-winter", tasks.today[rest.work.site]
    zone, over = tasks.worktime.zone(rest.work.site), rest.over
    minutes = _minutes(rest, LOOK_MINUTES, LOOK_RATE)
    days = [over.day - k * DAY for k in range(1, LOOK_BACK + 1) if over.day - k * DAY >= today]
    start = local(zone, coat.start)[1]
    people = list(dict.fromkeys([*coat.who, *_crew(tasks, rest.work)]))
    place = tasks.place(task, rest.work.site, days, people, minutes, weekdays=coat.crew)
    place = place or tasks.place(task, rest.work.site, [over.day], people, minutes, high=start)
    place = place or tasks.shown(task, rest.work.site, over.day, start, minutes)
    name, values = rest.under.coat.coat, _values(rest)
    title = AFTER.format(coat=name.title or name.name)
    reason = Reason("season.resumes", "after_winter", values, over.coat.id)
    return _booking(tasks, rest, task, Kind.TEST, place, minutes, reason, title, coat)


def _cover(tasks: Tasks, rest: Rest, way: str, place: Place, minutes: int, day: date) -> Booking:
    rule = "season.finish_by" if way == "up" else "season.resumes"
    reason = Reason(rule, f"winter_{way}", {**_values(rest), "day": day.isoformat()}, rest.under.coat.id)
    task = f"{rest.stem}-{way}"
    return _booking(tasks, rest, task, Kind.COVER, place, minutes, reason, COVER, None)


def _booking(
    tasks: Tasks,
    rest: Rest,
    task: str,
    kind: Kind,
    place: Place,
    minutes: int,
    reason: Reason,
    title: str,
    before: Booking | None,
) -> Booking:
    person, day, start = place
    work, zone = rest.work, tasks.worktime.zone(rest.work.site)
    if person:
        tasks.board(day).take(person, (start, start + minutes), work.site)
    name = task.removeprefix(f"{work.id}.")
    end = instant(zone, day, start + minutes)
    covers = kind is Kind.COVER
    up = covers and name.endswith("-up")
    cautions = [*(["cloth"] if covers else ["dust", "lime"]), *([] if work.reachable else ["height"])]
    return Booking(
        id=task,
        uid=tasks.identity.uid("cover" if covers else "task", work.root, name),
        kind=kind,
        site=work.site,
        zone=zone.key,
        faces=(work.id,),
        task=name,
        who=(person,) if person else (),
        start=instant(zone, day, start),
        end=end,
        state=State.CONDITIONAL if rest.under.conditional else State.FIRM,
        reason=reason,
        title=title,
        until=before.start if before is not None and before.start > end else None,
        cautions=tuple(cautions),
        labour=round(minutes / 60.0, 2),
        limits={"weather.wind_most": work.book.value("weather.wind_most")} if up and _windy(work) else {},
    )


def _windy(work: FaceWork) -> bool:
    return work.book.has("weather.wind_most")


def _values(rest: Rest) -> dict[str, Value]:
    return {
        "coat": rest.under.coat.coat.name,
        "over": rest.over.coat.coat.name,
        "line": rest.line.isoformat(),
        "resumes": rest.resumes.isoformat(),
    }


def _minutes(rest: Rest, setup: int, rate: float) -> int:
    """Return how long a task at the face takes, in whole steps of the day [min]."""
    return -(-round(setup + rate * rest.work.face.area) // GRID) * GRID


def _crew(tasks: Tasks, work: FaceWork) -> list[str]:
    crews = [crew for crew in tasks.job.file.crews if work.face.crew in (None, crew.id)]
    return list(dict.fromkeys(person for crew in crews for person in crew.people))
