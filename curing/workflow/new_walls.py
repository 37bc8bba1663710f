"""Questions about walls and faces in walking order, or the table that has them; then what is laid already."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from curing.model.answers import WALL_ID, FaceAnswers, JobAnswers, WallAnswers, short_id
from curing.model.job import Face, Panel, Wall
from curing.model.quantities import parse, show
from curing.model.times import parse_date, parse_date_time
from curing.planning.season import dry_from, drying_days
from curing.sources.typed_answers import read_choice, read_yes
from curing.sources.validation import unknown
from curing.workflow.interview import Interview, Question, optional, some_of
from curing.workflow.new_people import GROUND_REACH
from curing.workflow.new_questions import Asking, checked, facing_effect, named, split_id

PROPOSED = {"out": "clay-lime", "in": "clay-inside"}
Laid = tuple[tuple[str, str], ...]
"""(coat, when) from the first coat on."""

EXPOSURES = ("sheltered", "normal", "exposed")


def ask_start(asking: Asking) -> Interview[str]:
    """Ask from which day plaster goes on outside."""

    start: str = yield asking.question("start", optional(checked(Face, "start"), ""), default="")
    return start


def ask_walls(asking: Asking, answers: JobAnswers, start: str) -> Interview[JobAnswers]:
    """Ask for walls one by one until there are no more."""
    text: str = yield _wall_question(asking, answers)
    while text:
        name, own = split_id(text)
        wall = WallAnswers(own or _wall_id(answers, name), name, ())
        wall = yield from _ask_wall(asking, answers, wall, start)
        answers = replace(answers, walls=(*answers.walls, wall))
        text = yield _wall_question(asking, answers)
    return answers


def _wall_question(asking: Asking, answers: JobAnswers) -> Question[str]:
    number, taken = len(answers.walls), {wall.id: wall.name for wall in answers.walls}
    read = named(Wall, taken, [f"{one.casefold()}-{side}" for one in taken for side in ("out", "in")])
    return asking.question(
        "wall.next" if number else "wall.name",
        optional(read, "") if number else read,
        at=f"walls.{number + 1}.",
        why="wall.name",
        default="" if number else None,
        effect=lambda text: _id_told(asking, answers, text),
        section="walls",
        number=number + 1,
    )


def _wall_id(answers: JobAnswers, name: str) -> str:
    return short_id(name, [wall.id for wall in answers.walls], WALL_ID)


def _id_told(asking: Asking, answers: JobAnswers, text: str) -> str:
    name, own = split_id(text)
    if not text or own:
        return ""
    return asking.say(
        "new.effect.id" if answers.walls else "new.effect.id.first", id=_wall_id(answers, name), name=name
    )


def _ask_wall(asking: Asking, answers: JobAnswers, wall: WallAnswers, start: str) -> Interview[WallAnswers]:
    before = answers.walls[-1] if answers.walls else None
    at = f"walls.{len(answers.walls) + 1}."
    like = False
    if before is not None:
        like = yield asking.question(
            "wall.like",
            read_yes,
            at=at,
            default="no",
            effect=lambda yes: asking.say("new.effect.like", what=_said_of(before)) if yes else "",
            name=before.name,
        )
    thickness = before.thickness if like and before else ""
    if not like:
        thickness = yield asking.question(
            "wall.thickness",
            optional(checked(Panel, "thickness"), ""),
            at=at,
            default=before.thickness if before else "",
            effect=lambda text: "" if text else asking.say("new.effect.no_thickness"),
        )
    filled = ""
    if thickness:
        filled = yield asking.question(
            "wall.filled",
            optional(checked(Panel, "filled"), ""),
            at=at,
            default="",
            effect=lambda text: _dry(asking, text, thickness),
        )
    wall = replace(wall, thickness=thickness, filled=filled)
    sides = tuple(face.side for face in before.faces) if before else ("out",)
    if not like:
        proposed = "both" if len(sides) == 2 else sides[0]
        said: str = yield asking.question(
            "wall.sides", lambda text: read_choice(text, ("out", "in", "both"), "side"), at=at, default=proposed
        )
        sides = ("out", "in") if said == "both" else (said,)
    for side in sides:
        model = next((face for face in before.faces if face.side == side), None) if before else None
        face = yield from _ask_face(asking, answers, wall, _Side(at, side, model, like=like), start)
        wall = replace(wall, faces=(*wall.faces, face))
    return wall


def _said_of(wall: WallAnswers) -> str:
    """Return what a wall is like, without its name, areas and fill date."""
    parts = [wall.thickness]
    for face in wall.faces:
        parts.append(" ".join(filter(None, (face.side, face.facing, face.height, face.system, face.scaffold))))
    return "; ".join(filter(None, parts))


class _Side:
    """Which face is asked for, and the one of the wall before that it may be like."""

    def __init__(self, at: str, side: str, before: FaceAnswers | None, *, like: bool) -> None:
        self.at, self.side, self.before, self.like = f"{at}{side}.", side, before, like and before is not None

    def last(self, name: str) -> str:
        """Return what the wall before has, to be proposed."""
        value: str = getattr(self.before, name) if self.before else ""
        return value


def _ask_face(asking: Asking, answers: JobAnswers, wall: WallAnswers, one: _Side, start: str) -> Interview[FaceAnswers]:
    side, at, outside = one.side, one.at, one.side == "out"
    fitting = [name for name, system in asking.systems.items() if side in system.sides]
    usual = PROPOSED[side] if PROPOSED[side] in fitting else fitting[0]
    stand_in = FaceAnswers(side, "1 m2", "1 m", usual, facing="N" if outside else "")
    face = one.before if one.like and one.before else stand_in
    face = replace(face, start=start if outside else "", done=(), after=())

    def fault(candidate: FaceAnswers) -> str:
        return asking.judge.fault(
            replace(answers, walls=(*answers.walls, replace(wall, faces=(*wall.faces, candidate))))
        )

    if not one.like:
        if outside:
            facing: str = yield asking.question(
                "face.facing",
                checked(Face, "facing"),
                at=at,
                default=one.last("facing") or None,
                effect=lambda text: facing_effect(asking, answers, parse(text, "angle_deg"), usual),
            )
            face = replace(face, facing=_compass(facing))
        system: str = yield asking.question(
            f"face.system.{side}",
            lambda text: read_system(text, fitting),
            at=at,
            why="face.system",
            default=one.last("system") or usual,
            effect=lambda name: _coats(asking, name),
            systems=", ".join(fitting),
        )
        face = replace(face, system=system)
    area: str = yield asking.question(
        f"face.area.{side}",
        checked(Face, "area"),
        at=at,
        why="face.area",
        effect=lambda text: _work(asking, face.system, text),
        judge=lambda text: fault(replace(face, area=text)),
    )
    face = replace(face, area=area)
    if not one.like:
        height: str = yield asking.question(
            f"face.height.{side}",
            checked(Face, "height"),
            at=at,
            why="face.height",
            default=one.last("height") or None,
            effect=lambda text: _reach(asking, face.system, text),
        )
        face = replace(face, height=height)
        if outside:
            face = yield from _ask_outside(asking, face, one)
    if not outside and any(other.side == "out" for other in wall.faces):
        face = yield from _ask_after(asking, wall, face, one)
    return face


def _ask_outside(asking: Asking, face: FaceAnswers, one: _Side) -> Interview[FaceAnswers]:
    scaffold: str = yield asking.question(
        "face.scaffold", optional(checked(Face, "scaffold"), ""), at=one.at, default=one.last("scaffold")
    )
    gutter: bool = yield asking.question(
        "face.gutter",
        read_yes,
        at=one.at,
        default="no" if one.before and not one.before.gutter else "yes",
        effect=lambda yes: "" if yes else asking.say("new.effect.gutter"),
    )
    exposure: str = yield asking.question(
        "face.exposure",
        lambda text: read_choice(text, EXPOSURES, "exposure"),
        at=one.at,
        default=one.last("exposure") or "normal",
    )
    return replace(face, scaffold=scaffold, gutter=gutter, exposure="" if exposure == "normal" else exposure)


def _ask_after(asking: Asking, wall: WallAnswers, face: FaceAnswers, one: _Side) -> Interview[FaceAnswers]:
    waits = bool(one.before and one.before.after) if one.like else True
    if not one.like:
        waits = yield asking.question(
            "face.after",
            read_yes,
            at=one.at,
            default="no" if one.before and not one.before.after else "yes",
            effect=lambda yes: asking.say("new.effect.after") if yes else "",
        )
    out = next(other for other in wall.faces if other.side == "out")
    first = asking.systems[out.system].coats[0].id
    return replace(face, after=(f"{wall.id}-out.{first}",) if waits else ())


def _compass(text: str) -> str:
    """Return a direction in capitals where it is a point of the compass."""
    return text.upper() if text.isalpha() else text


def read_system(text: str, fitting: Sequence[str]) -> str:
    """Return one of some coat systems by its id."""
    name = text.strip().casefold().replace(" ", "-")
    if name not in fitting:
        raise ValueError(unknown("coat system", text, fitting))
    return name


# What an answer does.


def _dry(asking: Asking, text: str, thickness: str) -> str:
    book = asking.book(PROPOSED["out"])
    if not text or book is None:
        return ""
    filled, mm = parse_date(text), parse(thickness, "length_mm")
    days = [dry_from(filled, drying_days(book, mm, late=late), {}) for late in (False, True)]
    ready, late = (f"{asking.words.day(day)} {day.year}" for day in days)
    return asking.say("new.effect.filled", ready=ready, late=late)


def _coats(asking: Asking, name: str) -> str:
    book = asking.book(name)
    if book is None:
        return ""
    coats = []
    for coat in book.system.coats:
        rule = f"{coat.id}.thickness"
        thick = f" {show(book.value(rule), 'length_mm', asking.words.units)}" if book.has(rule) else ""
        coats.append(f"{coat.name}{thick}")
    return asking.say("new.effect.coats", coats=", ".join(coats))


def _work(asking: Asking, system: str, area: str) -> str:
    book = asking.book(system)
    if book is None:
        return ""
    coat = book.system.coats[0]
    hours = parse(area, "area_m2") * book.value(f"{coat.id}.labour")
    return asking.say("new.effect.area", coat=coat.name, hours=f"{hours:.0f}" if hours >= 2 else f"{hours:.1f}")


def _reach(asking: Asking, system: str, height: str) -> str:
    book = asking.book(system)
    reach = book.value("visit.ground_reach", GROUND_REACH) if book else GROUND_REACH
    if parse(height, "length_m") > reach + 1e-9:
        return asking.say("new.effect.high", reach=show(reach, "length_m", asking.words.units))
    return asking.say("new.effect.low")


def ask_done(asking: Asking, answers: JobAnswers, lead: tuple[str, ...]) -> Interview[JobAnswers]:
    """Ask which coats are laid already."""
    any_laid: bool = yield asking.question("done", read_yes, default="no", section="done", lead=lead)
    faces = [face_id for face_id, _, _ in answers.faces()]
    number = 0
    while any_laid:
        number += 1
        face_id: str = yield asking.question(
            "done.face" if number == 1 else "done.next",
            _reader_of_faces(faces, needed=number == 1),
            at=f"done.{number}.",
            why="done.face",
            default=None if number == 1 else "",
            example=faces[0],
            faces=some_of(faces),
        )
        if not face_id:
            break
        answers = yield from _ask_laid(asking, answers, face_id, f"done.{number}.")
    return answers


def _reader_of_faces(faces: Sequence[str], *, needed: bool) -> Callable[[str], str]:
    def read(text: str) -> str:
        asked = "-".join(text.casefold().replace("-", " ").split())
        found = [one for one in faces if one.casefold() == asked]
        if not found:
            raise ValueError(unknown("face", text, list(faces)[:12]))
        return found[0]

    return read if needed else optional(read, "")


def _ask_laid(asking: Asking, answers: JobAnswers, face_id: str, at: str) -> Interview[JobAnswers]:
    face = next(face for one, _, face in answers.faces() if one == face_id)
    coats = [coat.id for coat in asking.systems[face.system].coats]
    names = {coat.id: coat.name for coat in asking.systems[face.system].coats}
    last: str = yield asking.question(
        "done.coat", lambda text: read_choice(text, tuple(coats), "coat of it"), at=at, coats=", ".join(coats)
    )
    done: Laid = ()
    for coat in coats[: coats.index(last) + 1]:
        when: str = yield _laid_question(asking, answers, face_id, done, coat, names[coat], at)
        done = (*done, (coat, when))
    return with_done(answers, face_id, done)


def _laid_question(
    asking: Asking, answers: JobAnswers, face_id: str, done: Laid, coat: str, called: str, at: str
) -> Question[str]:
    def fault(text: str) -> str:
        return asking.judge.fault(only(with_done(answers, face_id, (*done, (coat, text))), face_id))

    return asking.question("done.when", _read_moment, at=f"{at}{coat}.", judge=fault, coat=called)


def _read_moment(text: str) -> str:
    parse_date_time(text)
    return text


def only(answers: JobAnswers, face_id: str) -> JobAnswers:
    """Return a job with the wall of one face and no other."""
    return replace(answers, walls=tuple(wall for one, wall, _ in answers.faces() if one == face_id))


def with_done(answers: JobAnswers, face_id: str, done: Laid) -> JobAnswers:
    """Return a job in which these coats of a face are laid."""
    walls = tuple(
        replace(
            wall,
            faces=tuple(
                replace(face, done=done) if f"{wall.id}-{face.side}" == face_id else face for face in wall.faces
            ),
        )
        for wall in answers.walls
    )
    return replace(answers, walls=walls)
