"""Questions about the job as a whole: its name, where it stands, days without coats, the season."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, time
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from pydantic import BaseModel

from curing.model.answers import JobAnswers, SiteAnswers, short_id
from curing.model.job import Holidays, JobFile, SeasonLine, Site
from curing.model.quantities import Units
from curing.model.system import RuleBook, System
from curing.model.times import parse_date
from curing.planning.windows import SiteSun, quadrant
from curing.publish.words import Words
from curing.sources.answer_checks import field_fault
from curing.sources.holiday_calendar import non_working
from curing.sources.places import nearest_zone, read_country, read_region, read_zone, regions
from curing.sources.typed_answers import read_choice, read_days, read_position, read_week, read_yes, short_week
from curing.workflow.interview import Interview, Question, optional, some_of
from curing.workflow.new_judge import Judge

T = TypeVar("T")

FAR_APART = 4.0
"""[h] A zone's clock and the sun of a place differ by less nearly everywhere on earth."""

MIDSUMMER = (6, 21)


@dataclass(frozen=True)
class Asking:
    """What every question needs: words, the rules of the job file, coat systems, the day.

    Attributes
    ----------
    table
        Wall schedule named on the command line, or nothing.
    interactive
        Whether somebody sits there: only then may columns of a table be asked about.
    """

    words: Words
    judge: Judge
    systems: Mapping[str, System]
    units: Units | None = None
    table: str = ""
    interactive: bool = True

    @property
    def today(self) -> date:
        """The present day."""
        return self.judge.today

    def say(self, key: str, **values: object) -> str:
        """Return a sentence of the catalogue."""
        return self.words.say(key, **values)

    def question(
        self,
        key: str,
        read: Callable[[str], T],
        *,
        at: str = "",
        why: str = "",
        default: str | None = None,
        effect: Callable[[T], str] | None = None,
        judge: Callable[[T], str] | None = None,
        section: str = "",
        lead: tuple[str, ...] = (),
        pause: bool = False,
        **values: object,
    ) -> Question[T]:
        """Return a question by the key of its words; ``at`` tells it from others of the same words."""
        return Question(
            key=f"{at}{key}",
            ask=self.say(f"new.ask.{key}", **values),
            why=self.say(f"new.why.{why or key}", **values),
            read=read,
            default=default,
            effect=effect,
            judge=judge,
            section=self.say(f"new.section.{section}", **values) if section else "",
            lead=lead,
            pause=pause,
        )

    def book(self, system: str) -> RuleBook | None:
        """Return the rules of a coat system."""
        return RuleBook(self.systems[system]) if system in self.systems else None


def checked(model: type[BaseModel], name: str) -> Callable[[str], str]:
    """Return a reader that takes what the job file's reader takes for a field."""

    def read(text: str) -> str:
        if fault := field_fault(model, name, text):
            raise ValueError(fault)
        return text

    return read


def named(model: type[BaseModel], taken: Mapping[str, str], reserved: Collection[str] = ()) -> Callable[[str], str]:
    """Return a reader of a name, with the id that somebody may give it, ``north gable = 4``.

    Parameters
    ----------
    model
        What is named.
    taken
        Id → name of those there are.
    reserved
        Ids that nothing may have.
    """
    ids = {one.casefold(): name for one, name in taken.items()}

    def read(text: str) -> str:
        name, own = split_id(text)
        if fault := field_fault(model, "name", name):
            raise ValueError(fault)
        if own and (fault := field_fault(model, "id", own)):
            raise ValueError(f"id: {fault}")
        if own.casefold() in ids:
            raise ValueError(f'the id "{own}" is that of "{ids[own.casefold()]}"; give another')
        if own.casefold() in reserved:
            raise ValueError(f'the id "{own}" is taken; give another')
        return text

    return read


def split_id(text: str) -> tuple[str, str]:
    """Return a name and the id that somebody gave it, ``north gable = 4``.

    Examples
    --------
    >>> split_id("north gable = 4"), split_id("north gable")
    (('north gable', '4'), ('north gable', ''))
    """
    name, equals, own = (part.strip() for part in text.rpartition("="))
    return (name, own) if equals and name and own else (text, "")


def ask_name(asking: Asking, proposed: str) -> Interview[str]:
    """Ask what the job is called."""
    name: str = yield asking.question("name", checked(JobFile, "name"), default=proposed or None, section="job")
    return name


def ask_job(asking: Asking, proposed: str) -> Interview[JobAnswers]:
    """Ask for everything that is true of the whole job."""
    name = yield from ask_name(asking, proposed)
    units: Any = asking.units
    if units is None:
        read = lambda text: read_choice(text, ("metric", "us"), "kind of measures")  # noqa: E731
        units = yield asking.question("units", read, default="metric")
    answers = JobAnswers(name=name, units=units)
    answers = yield from _ask_site(asking, answers)
    return (yield from _ask_season(asking, (yield from _ask_days(asking, answers))))


def _ask_site(asking: Asking, answers: JobAnswers) -> Interview[JobAnswers]:
    name = yield asking.question("site.name", checked(Site, "name"), default=answers.name, section="site")
    place: tuple[str, str] = yield asking.question("site.position", read_position)
    latitude, longitude = place
    near = nearest_zone(float(latitude), float(longitude))

    def told(code: str) -> str:
        if not code:
            return asking.say("new.effect.no_country")
        year = asking.today.year + (asking.today.month > 9)
        count = len(non_working(Holidays(country=code), [year]))
        return asking.words.count("new.effect.holidays", count, year=year)

    proposed = near.countries[0]
    try:
        read_country(proposed)
    except ValueError:
        proposed = ""
    country: str = yield asking.question("country", optional(read_country, ""), default=proposed, effect=told)
    region = ""
    if country and (known := regions(country)):
        read = optional(lambda text: read_region(country, text), "")
        region = yield asking.question("region", read, default="", regions=some_of(known, 8))
    at_hand = nearest_zone(float(latitude), float(longitude), country)
    zone: str = yield asking.question(
        "zone", read_zone, default=at_hand.name, effect=lambda _: _sun(asking, float(latitude))
    )
    apart = _hours_apart(zone, float(longitude), asking.today)
    if apart > FAR_APART:
        yield asking.question(
            "zone.sure", _only_yes, why="zone.sure", zone=zone, longitude=longitude, hours=round(apart)
        )
    site = SiteAnswers(short_id(name, (), stem="site"), name, latitude, longitude, zone)
    return replace(answers, sites=(site,), country=country, region=region)


def _only_yes(text: str) -> bool:
    if not read_yes(text):
        raise ValueError('type "back" until the position or the time zone is asked again, and correct it')
    return True


def _sun(asking: Asking, latitude: float) -> str:
    return asking.say("new.effect.sun" if latitude >= 0 else "new.effect.sun.south")


def _hours_apart(zone: str, longitude: float, day: date) -> float:
    """Return by how much a zone's clock and the mean sun differ [h]."""
    offset = datetime.combine(day, time(12), ZoneInfo(zone)).utcoffset()
    hours = (offset.total_seconds() / 3600 if offset else 0.0) - longitude / 15
    return abs((hours + 12) % 24 - 12)


def _ask_days(asking: Asking, answers: JobAnswers) -> Interview[JobAnswers]:
    def told(week: tuple[str, ...]) -> str:
        return asking.say("new.effect.week", days=", ".join(short_week(week)))

    week: tuple[str, ...] = yield asking.question("week", read_week, default="mon-fri", effect=told, section="days")
    days: tuple[str, ...] = yield asking.question("days_off", optional(read_days, ()), default="")
    return replace(answers, working_week=week, days_off=days)


def _ask_season(asking: Asking, answers: JobAnswers) -> Interview[JobAnswers]:
    words = asking.words

    def line(text: str) -> str:
        return (
            words.say("new.effect.finish_by", day=_day(words, text)) if text else words.say("new.effect.no_finish_by")
        )

    def spring(text: str) -> str:
        return words.say("new.effect.resumes", day=_day(words, text)) if text else words.say("new.effect.no_resumes")

    read = optional(checked(SeasonLine, "finish_by"), "")
    finish_by: str = yield asking.question("finish_by", read, default="", effect=line)
    resumes = ""
    if finish_by:
        resumes = yield asking.question(
            "resumes",
            optional(checked(SeasonLine, "resumes"), ""),
            default="",
            effect=spring,
            judge=lambda text: asking.judge.fault(replace(answers, finish_by=finish_by, resumes=text)) if text else "",
        )
    return replace(answers, finish_by=finish_by, resumes=resumes)


def _day(words: Words, text: str) -> str:
    day = parse_date(text)
    return f"{words.day(day)} {day.year}"


def facing_effect(asking: Asking, answers: JobAnswers, facing: float, system: str) -> str:
    """Return what a direction does: sun and cloth, or none of it."""
    site = Site.model_validate(
        {
            "id": "x",
            "name": "x",
            "latitude": float(answers.sites[0].latitude),
            "longitude": float(answers.sites[0].longitude),
            "time_zone": answers.sites[0].time_zone,
        }
    )
    sun = SiteSun(site)
    away = "N" if sun.sunny_side == 180.0 else "S"
    if quadrant(facing) == away:
        return asking.say("new.effect.away", side="north" if away == "N" else "south")
    month, day = MIDSUMMER
    hours = sun.hours_on_face(facing, date(asking.today.year, month, day))
    book = asking.book(system)
    most = max((book.value(f"{coat.id}.cloth_sun", 2.0) for coat in book.system.coats), default=2.0) if book else 2.0
    return asking.say("new.effect.cloth" if hours > most else "new.effect.little_sun", hours=round(hours))
