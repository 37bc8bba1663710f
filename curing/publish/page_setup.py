"""A job file as pages that set it up: each thing of it in one line, with what is wrong, and forms to change it.

What comes in is the file's plain data, which may have faults: nothing here takes a value for what it should be.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from curing.model.people import WEEKDAYS
from curing.model.system import HoldPoint, System
from curing.publish.event_title import plain
from curing.publish.words import Words

Steps = tuple[str | int, ...]
Faults = Sequence[tuple[Steps, str]]
"""Steps to what each is about, and what is wrong."""

LISTS = ("sites", "people", "crews", "meters", "walls")
SECTIONS = ("job", "walls", "people", "crews", "meters", "sites", "holds")
"""In the order of the page."""
MOST_FAULTS = 6
"""Faults shown at one thing; one edit can cause the same fault in a hundred places."""

_LABEL = re.compile(
    r'(?:(?:site|person|crew|wall|meter|hold) "(?:[^"]*)"(?:, (?:outside|inside))?|holidays|season)(?:: |, )'
)
_LOST = re.compile(r": not in the job file, but ")
_MISSING = re.compile(r'"\w+" is missing; add "\w+: (?P<example>.*)"')


@dataclass(frozen=True, slots=True)
class Row:
    """One thing of the job.

    Parameters
    ----------
    path
        Of its page, under that of the set-up.
    number
        Of a wall: its short id.
    line
        What is there.
    rows
        Faces of a wall.
    place
        Its number in its list, from 0.
    first, last
        Whether it can't be moved up or down.
    """

    path: str
    title: str
    line: str
    problems: tuple[str, ...] = ()
    number: str = ""
    rows: tuple[Row, ...] = ()
    place: int = 0
    first: bool = False
    last: bool = False


@dataclass(frozen=True, slots=True)
class Section:
    """One kind of things of the job."""

    name: str
    count: str
    rows: tuple[Row, ...]
    problems: tuple[str, ...]
    wrong: int
    add: str = ""


def told(text: str, words: Words) -> str:
    """Return what is wrong as it is said beside the thing itself.

    Examples
    --------
    >>> told('wall "4", outside: "area" is missing; add "area: 10 m2"', Words())
    'Nothing stands here, and it is needed: 10 m2, say.'
    """
    short = _LABEL.sub("", text, count=1)
    missing = _MISSING.fullmatch(short)
    if not missing:
        return short
    such = missing["example"]
    return words.say("setup.missing.such", example=such) if such != "..." else words.say("setup.missing")


def known_of(text: str) -> str:
    """Return what plan or record know of a thing, out of the sentence that refuses to lose it.

    Examples
    --------
    >>> known_of('face "1-out": not in the job file, but the plan has it as done: base of 2027-05-03; put it back')
    'face "1-out": the plan has it as done: base of 2027-05-03'
    """
    return _LOST.sub(": ", text).partition("; put it back")[0]


def few(texts: Sequence[str], words: Words) -> tuple[str, ...]:
    """Return some texts, and how many more there are."""
    more = len(texts) - MOST_FAULTS
    if more <= 0:
        return tuple(texts)
    return (*texts[:MOST_FAULTS], words.count("setup.wrong.more", more))


# ------------------------------------------------------------------------------------ what is there


class Overview:
    """Makes rows of a job file's data.

    Parameters
    ----------
    data, faults
        What the file says, and what is wrong with it.
    systems
        Coat systems at hand: they name the holds.
    """

    def __init__(self, data: Mapping[str, Any], faults: Faults, systems: Mapping[str, System], words: Words) -> None:
        self._data, self._faults, self._systems, self._words = data, faults, systems, words
        self._people = {str(one.get("id", "")): name_of(one, words) for _, one in items(data, "people")}

    def sections(self, only: str = "") -> list[Section]:
        """Return all sections, or one."""
        return [self._section(name) for name in SECTIONS if only in ("", name)]

    def _section(self, name: str) -> Section:
        rows: tuple[Row, ...]
        if name == "job":
            rows = (self._job(),)
        elif name == "holds":
            rows = tuple(self.holds((), "holds"))
        else:
            last = len(self._data.get(name) or ()) - 1
            rows = tuple(self._row(name, number, one, last) for number, one in items(self._data, name))
        own = () if name == "job" else self._texts((name,), 1)
        wrong = sum(self._belongs(steps) == name for steps, _ in self._faults)
        number = sum(one["recorded"] for one in self._holds_at(())) if name == "holds" else len(rows)
        add = f"{name}/new" if name in LISTS else ""
        return Section(name, self._words.count(f"setup.count.{name}", number), rows, own, wrong, add)

    @staticmethod
    def _belongs(steps: Steps) -> str:
        first = str(steps[0]) if steps else ""
        return first if first in SECTIONS else "job"

    def _texts(self, steps: Steps, exactly: int = 0, *, but: Sequence[str] = ()) -> tuple[str, ...]:
        """Return what is wrong at steps, and inside unless that has a row of its own."""
        found = [
            told(text, self._words)
            for at, text in self._faults
            if at[: len(steps)] == steps
            and (not exactly or len(at) == exactly)
            and not set(at[len(steps) :]) & set(but)
        ]
        return few(list(dict.fromkeys(found)), self._words)

    def _job(self) -> Row:
        say, data = self._words.say, self._data
        holidays, season = mapping_of(data.get("holidays")), mapping_of(data.get("season"))
        week = data.get("working_week")
        units = "us" if data.get("units") == "us" else "metric"
        parts = [
            say(f"setup.line.units.{units}"),
            say("setup.line.week", days=_week(week)) if isinstance(week, list) else "",
            say("setup.line.country", country=_text(holidays.get("country")))
            if holidays.get("country")
            else say("setup.line.no_country"),
            say("setup.line.season", day=self.day(season.get("finish_by")))
            if season.get("finish_by")
            else say("setup.line.no_season"),
        ]
        texts = [told(text, self._words) for at, text in self._faults if self._belongs(at) == "job"]
        line = ", ".join(filter(None, parts))
        return Row("job", name_of(data, self._words), line, few(list(dict.fromkeys(texts)), self._words))

    def _row(self, section: str, number: int, one: Mapping[str, Any], last: int) -> Row:
        steps: Steps = (section, number)
        path = f"{section}/{number + 1}"
        wall = section == "walls"
        lines = {
            "sites": self._site, "people": self._person, "crews": self._crew, "meters": self._meter, "walls": self._wall
        }  # fmt: skip
        return Row(
            path,
            name_of(one, self._words),
            lines[section](one),
            self._texts(steps, but=("faces",) if wall else ()),
            number=_text(one.get("id")) if wall else "",
            rows=tuple(self.faces(number, one)) if wall else (),
            place=number,
            first=number == 0,
            last=number == last,
        )

    def _site(self, one: Mapping[str, Any]) -> str:
        place = [_text(one.get("latitude")), _text(one.get("longitude"))]
        return ", ".join(filter(None, [*place, _text(one.get("time_zone"))]))

    def _person(self, one: Mapping[str, Any]) -> str:
        say = self._words.say
        known = ("lead", "architect", "mists", "client")
        listed = one.get("roles")
        roles = listed if isinstance(listed, list) else []
        parts = [say(f"people.role.{role}") if role in known else _text(role) for role in roles]
        hours = mapping_of(one.get("hours"))
        parts += [f"{key} {_text(span)}" for key, span in hours.items()] or (
            [] if roles == ["client"] else [say("setup.line.no_hours")]
        )
        parts += [say("setup.line.scaffold")] if one.get("reach") == "scaffold" else []
        return ", ".join(parts)

    def _crew(self, one: Mapping[str, Any]) -> str:
        people = one.get("people")
        return ", ".join(self._people.get(_text(who), _text(who)) for who in people) if isinstance(people, list) else ""

    def _meter(self, one: Mapping[str, Any]) -> str:
        return self._words.say("setup.line.range", least=_text(one.get("least")), most=_text(one.get("most")))

    def _wall(self, one: Mapping[str, Any]) -> str:
        say, panel = self._words.say, mapping_of(one.get("panel"))
        if not panel:
            return say("setup.line.no_panel")
        parts = [say("setup.line.panel", thickness=_text(panel.get("thickness")))]
        parts += [say("setup.line.filled", day=self.day(panel["filled"]))] if panel.get("filled") else []
        return ", ".join(parts)

    def faces(self, number: int, wall: Mapping[str, Any]) -> Iterator[Row]:
        """Yield the faces of a wall."""
        for place, one in items(wall, "faces"):
            side = _text(one.get("side"))
            title = self._words.say(f"setup.face.{side}") if side in ("out", "in") else side
            path = f"walls/{number + 1}/faces/{side if side in ('out', 'in') else place + 1}"
            yield Row(path, title, self._face(one), self._texts(("walls", number, "faces", place)))

    def _face(self, one: Mapping[str, Any]) -> str:
        say, done = self._words.say, mapping_of(one.get("done"))
        parts = [_text(one.get("facing")), _text(one.get("area"))]
        parts += [say("setup.line.high", height=_text(one["height"]))] if one.get("height") else []
        parts += [_text(one.get("system")), _text(one.get("scaffold"))]
        parts += [say("setup.line.laid", coats=", ".join(map(str, done)))] if done else []
        parts += [say("setup.line.ended", day=self.day(one["ended"]))] if one.get("ended") else []
        return ", ".join(filter(None, parts))

    # -- holds

    def holds(self, steps: Steps, path: str) -> Iterator[Row]:
        """Yield the holds that may be written at a level of the job: itself, a wall, a face."""
        for one in self._holds_at(steps):
            at: Steps = (*steps, "holds", one["id"])
            yield Row(f"{path}/{one['id']}", one["text"], one["line"], self._texts(at))

    def _holds_at(self, steps: Steps) -> list[dict[str, Any]]:
        written = mapping_of(mapping_of(at(self._data, steps)).get("holds"))
        points = {point.id: point for point in self._points(steps)}
        level = {0: "job", 2: "wall"}.get(len(steps), "face")
        asked = [name for name, point in points.items() if name in written or _level_of(point) == level]
        names = [*asked, *(str(name) for name in written if name not in points)]
        return [
            {
                "id": name,
                "text": points[name].text if name in points else plain(name),
                "line": self._hold(written[name]) if name in written else self._words.say("setup.hold.none"),
                "recorded": name in written,
            }
            for name in names
        ]

    def _points(self, steps: Steps) -> Iterator[HoldPoint]:
        for name in systems_at(self._data, steps):
            if name in self._systems:
                yield from self._systems[name].holds

    def _hold(self, value: Any) -> str:
        entry = {"met": value} if isinstance(value, str) else mapping_of(value)
        word = "met" if entry.get("met") else "refused"
        day, who = self.day(entry.get(word)), _text(entry.get("by"))
        name = self._people.get(who, who)
        key = f"setup.hold.{word}.by" if who else f"setup.hold.{word}"
        line = self._words.say(key, day=day, name=name)
        return ": ".join(filter(None, [line, plain(_text(entry.get("note")))]))

    def day(self, value: Any) -> str:
        """Return a day as people read it, or what stands there."""
        try:
            day = date.fromisoformat(str(value))
        except ValueError:
            return _text(value)
        return f"{self._words.day(day)} {day.year}"


def _level_of(point: HoldPoint) -> str:
    """Return at which level a hold is offered: one that nobody goes to read or test is said once for the job."""
    return "job" if point.task is None else point.scope.value


def items(data: Mapping[str, Any], section: str) -> Iterator[tuple[int, Mapping[str, Any]]]:
    """Yield the things of a list in a file that may have faults."""
    found = data.get(section)
    for number, one in enumerate(found if isinstance(found, list) else ()):
        if isinstance(one, Mapping):
            yield number, one


def at(data: Any, steps: Steps) -> Any:
    """Return what stands at steps, or None."""
    for step in steps:
        inside = isinstance(data, Mapping) and step in data
        listed = isinstance(data, list) and isinstance(step, int) and 0 <= step < len(data)
        if not (inside or listed):
            return None
        data = data[step]
    return data


def systems_at(data: Mapping[str, Any], steps: Steps) -> list[str]:
    """Return the coat systems of the faces of the job, of a wall, or of a face."""
    if len(steps) == 4:
        faces = [mapping_of(at(data, steps))]
    elif len(steps) == 2:
        faces = [face for _, face in items(mapping_of(at(data, steps)), "faces")]
    else:
        faces = [face for _, wall in items(data, "walls") for _, face in items(wall, "faces")]
    return list(dict.fromkeys(_text(face.get("system")) for face in faces))


def name_of(one: Mapping[str, Any], words: Words) -> str:
    """Return what something is called, in one line."""
    return plain(_text(one.get("name"))) or _text(one.get("id")) or words.say("setup.unnamed")


def _week(days: Sequence[Any]) -> str:
    """Return days of a week as they are typed: ``mon-thu, sat``."""
    spans: list[list[str]] = []
    for day in map(_text, days):
        known = day in WEEKDAYS and spans and spans[-1][-1] in WEEKDAYS
        if known and WEEKDAYS.index(day) == WEEKDAYS.index(spans[-1][-1]) + 1:
            spans[-1].append(day)
        else:
            spans.append([day])
    return ", ".join(span[0] if len(span) == 1 else f"{span[0]}-{span[-1]}" for span in spans)


def mapping_of(value: Any) -> Mapping[str, Any]:
    """Return a mapping of a file that may have something else there: nothing then."""
    return value if isinstance(value, Mapping) else {}


def _text(value: Any) -> str:
    return "" if value is None else plain(str(value))
