"""A new job at one look, before its file is written, and what to do when it is."""

from __future__ import annotations

from curing.model.answers import FaceAnswers, JobAnswers
from curing.model.job import WEEKDAYS, named_days
from curing.model.quantities import parse
from curing.model.times import parse_date
from curing.publish.terminal_layout import table, wrap
from curing.publish.words import Words

MOST_FACES = 12
"""Lines of the table of faces."""


def summary_page(answers: JobAnswers, words: Words) -> list[str]:
    """Return the lines of a summary."""
    say = words.say
    faces = list(answers.faces())
    site = answers.sites[0]
    area = sum(parse(face.area, "area_m2") for _, _, face in faces)
    lines = wrap(
        say(
            "new.summary.job",
            name=answers.name,
            units=answers.units,
            site=site.name,
            latitude=site.latitude,
            longitude=site.longitude,
            zone=site.time_zone,
        )
    )
    names = {person.id: person.name for person in answers.people}
    crews = ", ".join(
        say("new.summary.crew", name=crew.name, people=", ".join(names[one] for one in crew.people))
        for crew in answers.crews
    )
    people = words.count("new.people", len(answers.people))
    lines += wrap(say("new.summary.people", people=people, crews=crews))
    lines += wrap(_others(answers, words))
    line = parse_date(answers.finish_by) if answers.finish_by else None
    lines += [say("new.summary.season", day=f"{words.day(line)} {line.year}") if line else say("new.summary.no_season")]
    walls = words.count("new.walls", len(answers.walls))
    counted = words.count("new.effect.faces", len(faces))
    lines += [say("new.summary.walls", walls=walls, faces=counted, area=words.figure(area, "area_m2"))]
    return [*lines, "", *_faces(answers, words)]


def _others(answers: JobAnswers, words: Words) -> str:
    """Return who mists on days without coats."""
    rest = {day for day in WEEKDAYS if day not in answers.working_week} | {"holiday"}
    there = [
        person.name
        for person in answers.people
        if "mists" in person.roles and rest & {day for key, _ in person.hours for day in named_days(key)}
    ]
    return words.say("new.summary.mist", names=", ".join(there)) if there else words.say("new.summary.mist.nobody")


def _faces(answers: JobAnswers, words: Words) -> list[str]:
    say = words.say
    heads = ("id", "side", "name", "looks", "area", "height", "coats", "panel")
    rows = [tuple(say(f"new.head.{name}") for name in heads)]
    faces = list(answers.faces())
    rows += [
        (wall.id, face.side, wall.name, face.facing, face.area, face.height, _coats(face), wall.thickness)
        for _, wall, face in faces[:MOST_FACES]
    ]
    used = [k for k in range(len(heads)) if any(row[k] for row in rows[1:])]
    least = [8 if heads[k] == "name" else 6 for k in used]
    lines = table([[row[k] for k in used] for row in rows], least)
    if len(faces) > MOST_FACES:
        lines.append(words.count("new.summary.more", len(faces) - MOST_FACES))
    return lines


def _coats(face: FaceAnswers) -> str:
    return f"{face.system} ({face.done[-1][0]})" if face.done else face.system


def next_page(file: str, answers: JobAnswers, words: Words) -> list[str]:
    """Return what to do once the file is written."""
    lines = [words.say(f"new.next.{name}", file=file) for name in ("plan", "check", "edit")]
    return [words.say("new.written", file=file), "", *lines, *wrap(words.say("new.next.holds"))]
