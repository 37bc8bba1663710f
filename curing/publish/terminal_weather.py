"""The weather of a job in a terminal: how old it is first, then each site and face, then what may be laid."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime

from curing.publish.event_title import plain
from curing.publish.terminal import joined, tail_of
from curing.publish.terminal_layout import WIDTH, fit, table, width, wrap
from curing.publish.terminal_years import season_lines
from curing.publish.weather_parts import SitePart, WeatherPart
from curing.publish.weather_said import WeatherSaid
from curing.publish.words import Words


def weather_page(view: WeatherPart, words: Words, written: Sequence[str] = ()) -> list[str]:
    """Return the lines of ``curing weather``, none wider than 80 cells.

    Parameters
    ----------
    view
        The weather of the job.
    words
        Language and units of the reader.
    written
        Files that were written.
    """
    oldest = min(view.sites, key=lambda one: one.made or _EVER)
    said = WeatherSaid(words, oldest.zone, view.now)
    head = [*wrap(said.age_line(oldest)), *_header(view, said, oldest)]
    blocks = [head]
    several = len(view.sites) > 1
    for site in view.sites:
        blocks += _site(site, view, words, several=several)
    if all(site.made is None for site in view.sites):
        blocks.append(wrap(words.say("sky.none.do")))
    blocks.append(
        [
            words.say("sky.written", path=tail_of(plain(path), WIDTH - width(words.say("sky.written", path=""))))
            for path in written
        ]
    )
    return joined(blocks)


_EVER = datetime(1, 1, 1, tzinfo=UTC)


def _header(view: WeatherPart, said: WeatherSaid, site: SitePart) -> list[str]:
    lines = [said.say("sky.header", job=fit(view.job, 50), when=said.when(view.now))]
    if site.made is not None and site.is_old(view.now):
        lines += wrap(said.say("sky.old"))
    return lines


def _site(site: SitePart, view: WeatherPart, words: Words, *, several: bool) -> Iterator[list[str]]:
    said = WeatherSaid(words, site.zone, view.now)
    yield _about(site, view, said, several=several)
    if site.season is not None:
        yield season_lines(site.season, words)
    if site.made is None:
        return
    yield _air(site, said)
    yield _faces(site, said)
    yield _coats(site, said)
    yield _cures(site, said)


def _about(site: SitePart, view: WeatherPart, said: WeatherSaid, *, several: bool) -> list[str]:
    say, name, age = said.say, site.name, site.age(view.now)
    lines: list[str] = []
    if several:
        if site.made is None or age is None:
            lines += wrap(say("sky.site_none", site=name))
        else:
            lines += wrap(say("sky.site_age", site=name, when=said.when(site.made), age=said.age(age)))
    if site.asked == "not_due":
        until = said.when(site.again) if site.again is not None else ""
        lines += wrap(say("sky.asked.not_due" if until else "sky.asked.not_due_yet", site=name, when=until))
    elif site.asked in ("new", "same"):
        lines += wrap(say(f"sky.asked.{site.asked}", site=name))
    if site.trouble:
        tried = said.when(site.tried) if site.tried is not None else "?"
        lines += wrap(say("sky.trouble", site=name, when=tried, why=site.trouble), "! ", "  ")
        if site.made is not None and age is not None:
            lines += wrap(say("sky.instead", site=name, when=said.when(site.made), age=said.age(age)), "  ")
        else:
            lines += wrap(say("sky.instead.none", site=name), "  ")
    station = [line for note in site.station_notes for line in wrap(say("sky.station", note=note))]
    if site.made is None:
        return [*lines, *station]
    key = "sky.from" if site.attribution else "sky.from.file"
    lines += wrap(say(key, attribution=site.attribution, source=site.source))
    if site.notice:
        lines += wrap(say("weather.open_meteo_notice"))
    if site.estimated:
        what = ", ".join(say(f"sky.estimated.{one}") for one in site.estimated)
        lines += wrap(say("sky.estimated", what=what))
    for note in site.notes:
        lines += wrap(note)
    if site.years is not None:
        lines += wrap(say("sky.years", first=site.years[0], last=site.years[1]))
    else:
        lines += wrap(say("sky.years.none"))
    return [*lines, *station]


def _air(site: SitePart, said: WeatherSaid) -> list[str]:
    heads = ("site", "coldest", "could", "warmest", "rain", "wind")
    rows = [tuple(said.say(f"sky.head.{one}") for one in heads)]
    rows += [
        (
            said.words.day(one.day),
            said.coldest(one),
            said.could(one),
            said.air(one.warmest),
            said.level(one.rain),
            said.wind(one.wind),
        )
        for one in site.days
    ]
    return [*table(rows, (10, 8, 8, 6, 6, 6)), *wrap(said.say("sky.legend.could"))]


def _faces(site: SitePart, said: WeatherSaid) -> list[str]:
    unit = said.water_unit()
    rows = [(
        said.say("sky.head.face"), said.say("sky.head.day"), said.say("sky.head.sun"),
        said.say("sky.head.takes", unit=unit), said.say("sky.head.rain_on", unit=unit),
    )]  # fmt: skip
    for face in site.faces:
        for number, one in enumerate(face.days):
            sun, rain = (said.sun(one), said.rain(one)) if face.outside else ("-", said.say("sky.inside"))
            rows.append((face.number if not number else "", said.day_of(one), sun, said.takes(one), rain))
    return [*table(rows, (5, 10, 4, 12, 12)), *wrap(said.say("sky.legend"))]


def _coats(site: SitePart, said: WeatherSaid) -> list[str]:
    tasks = [(face, task) for face in site.faces for task in face.tasks]
    if not tasks:
        return wrap(said.say("sky.coats.none"))
    lines = [said.say("sky.coats")]
    for face, task in sorted(tasks, key=lambda one: (one[1].start, one[0].face)):
        when = said.span(task.start, task.end)
        lines += wrap(said.say("sky.coat", face=face.number, task=task.task, when=when), "  ", "    ")
        for sentence in said.answer(task):
            lines += wrap(sentence, "    ")
    return lines


def _cures(site: SitePart, said: WeatherSaid) -> list[str]:
    """Return how far the cures are, by the plan; nothing where there is none."""
    lines = []
    for face in site.faces:
        for number, text in enumerate(face.cure):
            lines += wrap(said.say("cure.face", face=face.number, text=text) if number == 0 else text, "  ", "    ")
    return [said.say("cure.head"), *lines] if lines else []
