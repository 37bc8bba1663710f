"""Weather on pages: three days at a wall's faces with their charts, and one line on the day's page."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from curing.model.weather_days import FaceDay, SiteDay
from curing.publish.chart_weather import face_chart
from curing.publish.drawing import Chart
from curing.publish.weather_parts import FacePart, SitePart, WeatherPart
from curing.publish.weather_said import WeatherSaid
from curing.publish.words import Words


@dataclass(frozen=True, slots=True)
class Task:
    """A coat of these days and whether the weather lets it be laid."""

    what: str
    answer: str
    """``yes``, ``no`` or ``not known``."""
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class FaceWeather:
    """The next days of one face."""

    face: str
    number: str
    rows: tuple[tuple[str, str], ...]
    tasks: tuple[Task, ...]
    chart: Chart | None


@dataclass(frozen=True, slots=True)
class WallWeather:
    """The next days at a wall.

    Parameters
    ----------
    age
        How old it is, and that it opens nothing: stands first.
    old
        What to do about old weather; empty: it is not old.
    trouble
        Why the last try to read it brought nothing.
    air
        The days of the site, each with its sentence: a phone has no room for a table.
    source
        What must stand beside it.
    """

    age: str
    old: str
    trouble: str
    air: tuple[tuple[str, str], ...]
    faces: tuple[FaceWeather, ...]
    source: tuple[str, ...]


def wall_weather(view: WeatherPart, words: Words) -> WallWeather | None:
    """Return the weather of a wall's page; None where none is kept."""
    site = next((one for one in view.sites if one.made is not None), None)
    if site is None:
        return None
    said = WeatherSaid(words, site.zone, view.now)
    say = words.say
    return WallWeather(
        age=said.age_line(site),
        old=say("sky.old") if site.is_old(view.now) else "",
        trouble=trouble(site, said),
        air=tuple((words.day(one.day), _air(one, said)) for one in site.days),
        faces=tuple(_face(face, site, said, words) for face in site.faces),
        source=tuple(_source(site, said)),
    )  # fmt: skip


def _air(one: SiteDay, said: WeatherSaid) -> str:
    if one.coldest is None or one.at is None or one.could is None:
        return said.say("sky.page.unknown")
    key = "sky.page.air.frost" if one.could < one.frost else "sky.page.air"
    return said.say(
        key, low=said.air(one.coldest), clock=said.clock(one.at), could=said.air(one.could),
        high=said.air(one.warmest), rain=said.level(one.rain), wind=said.wind(one.wind),
    )  # fmt: skip


def _row(one: FaceDay, said: WeatherSaid, *, outside: bool) -> str:
    takes = said.takes(one, unit=True)
    if not outside:
        return said.say("sky.page.row.inside", takes=takes)
    key = "sky.page.row" if one.rain is not None else "sky.page.row.dry"
    return said.say(
        key if not one.rain_unknown else "sky.page.row", sun=said.sun(one), rain=said.rain(one, unit=True), takes=takes
    )


def _face(face: FacePart, site: SitePart, said: WeatherSaid, words: Words) -> FaceWeather:
    rows = [(said.day_of(one), _row(one, said, outside=face.outside)) for one in face.days]
    tasks = []
    for task in face.tasks:
        what = said.say("sky.page.coat", task=task.task, when=said.span(task.start, task.end))
        tasks.append(Task(what, task.answer, tuple(said.answer(task))))
    return FaceWeather(face.face, face.number, tuple(rows), tuple(tasks), face_chart(face, site, words, said.now))


def _source(site: SitePart, said: WeatherSaid) -> Iterator[str]:
    yield (
        said.say("sky.from", attribution=site.attribution)
        if site.attribution
        else said.say("sky.from.file", source=site.source)
    )
    if site.notice:
        yield said.say("weather.open_meteo_notice")
    if site.estimated:
        what = ", ".join(said.say(f"sky.estimated.{one}") for one in site.estimated)
        yield said.say("sky.estimated", what=what)
    yield said.say("sky.legend")


def trouble(site: SitePart, said: WeatherSaid) -> str:
    """Return why the last try to read the weather brought nothing; empty where it went well."""
    if not site.trouble or site.tried is None:
        return ""
    return said.say("sky.page.trouble", when=said.when(site.tried), why=site.trouble)


@dataclass(frozen=True, slots=True)
class Line:
    """Weather on the day's page: one line with its age."""

    text: str
    old: bool


def weather_lines(view: WeatherPart, words: Words) -> tuple[Line, ...]:
    """Return one line for each site whose weather is kept; never without its age."""
    found = []
    for site in view.sites:
        age = site.age(view.now)
        if site.made is None or age is None:
            continue
        said = WeatherSaid(words, site.zone, view.now)
        old = site.is_old(view.now)
        values = {"when": said.when(site.made), "age": said.age(age)}
        text = words.say("sky.page.line.old", **values) if old else _fresh(site, said, values)
        if trouble_said := trouble(site, said) if not old else "":
            text = f"{text} {trouble_said}"
        found.append(Line(words.say("sky.page.line.site", site=site.name, text=text) if len(view.sites) > 1 else text,
                          old))  # fmt: skip
    return tuple(found)


def _fresh(site: SitePart, said: WeatherSaid, values: dict[str, str]) -> str:
    today = site.days[0] if site.days else None
    told = said.say("sky.unknown")
    if today is not None and today.coldest is not None:
        told = said.say(
            "sky.page.today", low=said.air(today.coldest), high=said.air(today.warmest),
            rain=said.level(today.rain), wind=said.wind(today.wind),
        )  # fmt: skip
    frost = next((one for one in site.days if one.could is not None and one.could < one.frost), None)
    if frost is not None and frost.at is not None:
        cold = said.say("sky.page.frost", when=said.when(frost.at), value=said.air(frost.coldest),
                        could=said.air(frost.could))  # fmt: skip
        told = f"{told} {cold}"
    return said.say("sky.page.line", **values, text=told, attribution=site.attribution or site.source)
