"""From answers to the text of a job file, with comments that say what each line does.

The same answers and uid give the same bytes. Whatever text an answer holds, it is one value in the
file and nothing else: what YAML would misread stands in quotes.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from curing.model.answers import FaceAnswers, JobAnswers, PersonAnswers, WallAnswers
from curing.model.file_text import number as number
from curing.model.file_text import scalar as scalar
from curing.model.job import JOB_FORMAT
from curing.model.kinds import COMPASS
from curing.publish.terminal_layout import width, wrap
from curing.publish.words import Words

WIDTH = 100
"""Signs of a line of comment."""

COMMENT_AT = 46
"""Column of a comment at the end of a line."""


def job_text(answers: JobAnswers, uid: str, words: Words) -> str:
    """Return a job file.

    Parameters
    ----------
    answers
        What to write, checked by whoever asked.
    uid
        The job's own, new for a new job.
    words
        Language of the comments.

    Examples
    --------
    >>> text = job_text(JobAnswers("Alder Court: the barn"), "3f6b0a52-8c1d-4e97-a4f0-6d2c9b7e1a35", Words())
    >>> next(line for line in text.splitlines() if line.startswith("name"))
    'name: "Alder Court: the barn"'
    """
    blocks = (_head(answers, words), _job(answers, uid, words), *_sections(answers, words))
    return "\n\n".join("\n".join(block) for block in blocks) + "\n"


def _list(items: Iterable[str]) -> str:
    return f"[{', '.join(scalar(item, flow=True) for item in items)}]"


def _pairs(items: Iterable[tuple[str, str]]) -> str:
    return f"{{ {', '.join(f'{scalar(key, flow=True)}: {scalar(value, flow=True)}' for key, value in items)} }}"


def _beside(line: str, comment: str) -> str:
    """Return a line with a comment at its end."""
    return f"{line}{' ' * max(1, COMMENT_AT - width(line))}# {comment}"


def _comment(text: str, indent: str = "") -> list[str]:
    return wrap(text, f"{indent}# ", f"{indent}# ", most=WIDTH)


def _visible(text: str) -> str:
    """Return text on one line, without signs that a job file may not hold even in a comment."""
    return " ".join("".join(sign if sign.isprintable() else " " for sign in text).split())


def _said(text: str, *, columns: bool = False, bullet: bool = False) -> list[str]:
    """Return a comment; one of two columns is broken under its second."""
    if bullet:
        return wrap(text, "#   - ", "#     ", most=WIDTH)
    if columns:
        name, gap, rest = re.split(r"(  +)", text, maxsplit=1)
        first = f"#   {name}{gap}"
        return wrap(rest, first, "#" + " " * (len(first) - 1), most=WIDTH)
    return wrap(text, "# ", "# ", most=WIDTH)


def _off(text: str, indent: str = "") -> str:
    """Return a line that shows what else may stand there, and holds without its ``#``."""
    return f"{indent}#{text}"


def _head(answers: JobAnswers, words: Words) -> list[str]:
    lines = _said(words.say("file.title", name=_visible(answers.name)))
    lines += ["#", *_said(words.say("file.how"))]
    for name in ("text", "lines", "lists", "comments", "units", "dates", "ids", "off", "faults"):
        lines += _said(words.say(f"file.how.{name}"), bullet=True)
    return lines


def _job(answers: JobAnswers, uid: str, words: Words) -> list[str]:
    say = words.say
    return [
        _beside(f"curing: {JOB_FORMAT}", say("file.line.curing")),
        _beside(f"uid: {uid}", say("file.line.uid")),
        f"name: {scalar(answers.name)}",
        _beside(f"units: {scalar(answers.units)}", say("file.line.units")),
        _beside(f"working_week: {_list(answers.working_week)}", say("file.line.week")),
    ]


def _sections(answers: JobAnswers, words: Words) -> Iterator[list[str]]:
    yield _holidays(answers, words)
    yield _season(answers, words)
    yield [*_said(words.say("file.sites")), "sites:", *_sites(answers, words)]
    yield _people(answers, words)
    yield [*_said(words.say("file.crews")), "crews:", *_crews(answers)]
    yield _meters(answers, words)
    example = "holds: { sample-panel: { met: 2027-04-12, by: ID } }"
    yield [*_said(words.say("file.holds")), _off(example)]
    yield _walls(answers, words)


def _holidays(answers: JobAnswers, words: Words) -> list[str]:
    say = words.say
    if not (answers.country or answers.days_off):
        example = "holidays: { country: NL, days: [2027-07-26..2027-08-06] }"
        return [*_said(say("file.holidays.none")), _off(example)]
    lines = [*_said(say("file.holidays")), "holidays:"]
    if answers.country:
        lines.append(f"  country: {scalar(answers.country)}")
    if answers.region:
        lines.append(_beside(f"  region: {scalar(answers.region)}", say("file.line.region")))
    if not answers.days_off:
        return [*lines, _off("days: [2027-07-26..2027-08-06]", "  ")]
    lines += ["  days:"]
    first, *rest = (f"    - {scalar(day)}" for day in answers.days_off)
    return [*lines, _beside(first, say("file.line.day_off")), *rest]


def _season(answers: JobAnswers, words: Words) -> list[str]:
    say = words.say
    if not answers.finish_by:
        example = "season: { finish_by: 2027-09-22, resumes: 2028-04-27 }"
        return [*_said(say("file.season.none")), _off(example)]
    lines = [*_said(say("file.season")), "season:"]
    lines.append(_beside(f"  finish_by: {scalar(answers.finish_by)}", say("file.line.finish_by")))
    if answers.resumes:
        lines.append(_beside(f"  resumes: {scalar(answers.resumes)}", say("file.line.resumes")))
    return [*lines, *_comment(say("file.season.drying"), "  ")]


def _sites(answers: JobAnswers, words: Words) -> Iterator[str]:
    for site in answers.sites:
        yield f"  - id: {scalar(site.id)}"
        yield f"    name: {scalar(site.name)}"
        yield _beside(f"    latitude: {number(site.latitude)}", words.say("file.line.latitude"))
        yield _beside(f"    longitude: {number(site.longitude)}", words.say("file.line.longitude"))
        yield f"    time_zone: {scalar(site.time_zone)}"


def _people(answers: JobAnswers, words: Words) -> list[str]:
    lines = _said(words.say("file.people"))
    for name in ("hours", "also", "away", "reach", "roles"):
        lines += _said(words.say(f"file.people.{name}"), columns=True)
    return [*lines, "people:", *(line for person in answers.people for line in _person(person, words))]


def _person(person: PersonAnswers, words: Words) -> Iterator[str]:
    yield f"  - id: {scalar(person.id)}"
    yield f"    name: {scalar(person.name)}"
    if person.roles:
        yield f"    roles: {_list(person.roles)}"
    if person.hours:
        yield f"    hours: {_pairs(person.hours)}"
    if person.also:
        yield f"    also: {_pairs(person.also)}"
    if person.away:
        yield f"    away: {_list(person.away)}"
    if person.reach:
        yield f"    reach: {scalar(person.reach)}"
    if person.longest_round:
        line = f"    longest_round: {scalar(person.longest_round)}"
        yield _beside(line, words.say("file.line.longest_round"))


def _crews(answers: JobAnswers) -> Iterator[str]:
    for crew in answers.crews:
        yield f"  - id: {scalar(crew.id)}"
        yield f"    name: {scalar(crew.name)}"
        yield f"    people: {_list(crew.people)}"


def _meters(answers: JobAnswers, words: Words) -> list[str]:
    lines = _said(words.say("file.meters"))
    for name in ("range", "basis"):
        lines += _said(words.say(f"file.meters.{name}"), columns=True)
    if not answers.meters:
        example = "meters: [{ id: m1, name: straw probe, least: 8 %, most: 40 %, basis: wet }]"
        return [*lines, _off(example)]
    lines.append("meters:")
    for meter in answers.meters:
        lines += [f"  - id: {scalar(meter.id)}", f"    name: {scalar(meter.name)}"]
        lines += [f"    least: {scalar(meter.least)}", f"    most: {scalar(meter.most)}"]
        lines += [f"    basis: {scalar(meter.basis)}"] if meter.basis else []
    return lines


def _walls(answers: JobAnswers, words: Words) -> list[str]:
    lines = _said(words.say("file.walls"))
    systems = ", ".join(dict.fromkeys(face.system for _, _, face in answers.faces()))
    for name in ("panel", "facing", "height", "system", "scaffold", "gutter", "exposure", "start", "after", "done"):
        lines += _said(words.say(f"file.walls.{name}", systems=systems), columns=True)
    blocks = ["\n".join(_wall(wall, words)) for wall in answers.walls]
    return [*lines, "walls:", "\n\n".join(blocks)]


def _wall(wall: WallAnswers, words: Words) -> Iterator[str]:
    if note := _visible(wall.note):
        yield from _comment(note, "  ")
    yield f"  - id: {scalar(wall.id)}"
    yield f"    name: {scalar(wall.name)}"
    if wall.site:
        yield f"    site: {scalar(wall.site)}"
    panel = [("thickness", wall.thickness)] * bool(wall.thickness) + [("filled", wall.filled)] * bool(wall.filled)
    if panel:
        yield f"    panel: {_pairs(panel)}"
    yield "    faces:"
    for face in wall.faces:
        yield from _face(face, words)


def _face(face: FaceAnswers, words: Words) -> Iterator[str]:
    yield f"      - side: {scalar(face.side)}"
    for name in ("facing", "area", "height", "exposure", "scaffold"):
        if value := getattr(face, name):
            yield f"        {name}: {value if value in COMPASS else scalar(value)}"
    if not face.gutter:
        yield "        gutter: false"
    yield f"        system: {scalar(face.system)}"
    if face.start:
        yield f"        start: {scalar(face.start)}"
    if face.after:
        yield _beside(f"        after: {_list(face.after)}", words.say("file.line.after"))
    if face.done:
        yield "        done:"
        for coat, when in face.done:
            yield f"          {scalar(coat)}: {scalar(when)}"
