"""Questions about people, crews and moisture meters, one after another."""

from __future__ import annotations

from dataclasses import replace

from curing.model.answers import CrewAnswers, JobAnswers, MeterAnswers, PersonAnswers, short_id
from curing.model.job import WEEKDAYS, Crew, Meter, Person, named_days
from curing.model.quantities import show
from curing.sources.job_references import SITE_CALENDAR
from curing.sources.typed_answers import read_choice, read_hours, read_list, read_yes, short_week
from curing.sources.validation import unknown
from curing.workflow.interview import Interview, Question, optional
from curing.workflow.new_questions import Asking, checked, named, split_id

ROLES = {"leads": "lead", "lays": "lays", "mists": "mists", "architect": "architect", "reads": "client"}
"""Word of the question → role of the job file; who lays belongs to a crew."""

PROPOSED_HOURS = "07:00-15:30"
GROUND_REACH = 3.0
"""[m] Where no coat system says how high a lance reaches (as the planner takes it)."""

Hours = tuple[tuple[str, str], ...]


def ask_people(asking: Asking, answers: JobAnswers) -> Interview[JobAnswers]:
    """Ask for people until there are no more, then for crews and meters."""
    layers: tuple[str, ...] = ()
    name = yield _person_question(asking, answers, layers)
    while name:
        person, lays = yield from _ask_person(asking, answers, name)
        answers = replace(answers, people=(*answers.people, person))
        layers += (person.id,) if lays else ()
        name = yield _person_question(asking, answers, layers)
    answers = yield from _ask_crews(asking, answers, layers)
    while (meter := (yield from _ask_meter(asking, answers))) is not None:
        answers = replace(answers, meters=(*answers.meters, meter))
    return answers


def _person_question(asking: Asking, answers: JobAnswers, layers: tuple[str, ...]) -> Question[str]:
    first = not answers.people
    read = named(Person, {one.id: one.name for one in answers.people}, [SITE_CALENDAR])
    return asking.question(
        "person.name" if first else "person.next",
        read if first else optional(read, ""),
        at=_at("people", len(answers.people)),
        why="person.name",
        default=None if first else "",
        effect=lambda text: _id_told(asking, answers, text),
        judge=lambda text: "" if text else _enough(answers, layers),
        section="people",
    )


def _at(section: str, number: int) -> str:
    return f"{section}.{number + 1}."


def _person_id(answers: JobAnswers, name: str) -> str:
    return short_id(name, [SITE_CALENDAR, *(person.id for person in answers.people)], stem="person")


def _id_told(asking: Asking, answers: JobAnswers, name: str) -> str:
    bare, own = split_id(name)
    if not name or own:
        return ""
    return asking.say(
        "new.effect.id" if answers.people else "new.effect.id.first", id=_person_id(answers, bare), name=bare
    )


def _enough(answers: JobAnswers, layers: tuple[str, ...]) -> str:
    """Return what is wrong with having no more people than these, or nothing."""
    if not any("lead" in person.roles for person in answers.people):
        return "nobody leads; decisions and holds are the lead's: add who does"
    if not layers:
        return "nobody lays coats; add who does"
    week = set(answers.working_week)
    hours = [key for person in answers.people if person.id in layers for key, _ in person.hours]
    if not any(week & set(named_days(key)) for key in hours):
        return f"nobody who lays coats is there on working days ({', '.join(answers.working_week)}); add who is"
    return ""


def _ask_person(asking: Asking, answers: JobAnswers, text: str) -> Interview[tuple[PersonAnswers, bool]]:
    at, first = _at("people", len(answers.people)), not answers.people
    name, own = split_id(text)
    roles: tuple[str, ...] = yield asking.question(
        "person.roles",
        _read_roles,
        at=at,
        default="leads, lays, mists" if first else "lays, mists",
        effect=lambda found: asking.say("new.effect.reads", name=name) if found == ("client",) else "",
        name=name,
        choices=", ".join(ROLES),
    )
    lays, mists = "lays" in roles, "mists" in roles
    person = PersonAnswers(own or _person_id(answers, name), name, tuple(role for role in roles if role != "lays"))
    if lays or mists:
        person = yield from _ask_hours(asking, answers, person, at, lays=lays)
    if mists:
        person = yield from _ask_reach(asking, person, at, lays=lays)
    return person, lays


def _read_roles(text: str) -> tuple[str, ...]:
    words = [
        {"lead": "leads", "client": "reads", "plasters": "lays"}.get(part.casefold(), part) for part in read_list(text)
    ]
    found = {ROLES[read_choice(word, tuple(ROLES), "word for what somebody does")] for word in words}
    if not found:
        raise ValueError(f"say what they do: {', '.join(ROLES)}")
    return tuple(role for role in ROLES.values() if role in found)


def _ask_hours(
    asking: Asking, answers: JobAnswers, person: PersonAnswers, at: str, *, lays: bool
) -> Interview[PersonAnswers]:
    name, week = person.name, tuple(short_week(answers.working_week))
    proposed = next((_typed(one.hours, week) for one in reversed(answers.people) if _typed(one.hours, week)), "")

    def with_hours(hours: Hours) -> PersonAnswers:
        return replace(person, hours=hours)

    def told(hours: Hours) -> str:
        spans = ", ".join(f"{days} {span}" for days, span in hours)
        return asking.say("new.effect.hours", hours=spans) if hours else ""

    def fault(hours: Hours) -> str:
        return asking.judge.fault(JobAnswers("x", people=(replace(person, roles=(), hours=hours),)))

    working: Hours = yield asking.question(
        "person.hours",
        optional(lambda text: read_hours(text, week), ()),
        at=at,
        default=(proposed or PROPOSED_HOURS) if lays else "",
        effect=told,
        judge=fault,
        name=name,
    )
    person = with_hours(working)
    if "mists" not in person.roles:
        return person
    there = {day for key, _ in working for day in named_days(key)}
    other = tuple(short_week(tuple(day for day in WEEKDAYS if day not in there and day not in answers.working_week)))
    other += ("holiday",) if "holiday" not in there else ()

    def rest(hours: Hours) -> str:
        return "" if hours else asking.say("new.effect.no_weekend" if working else "new.effect.no_hours", name=name)

    weekend: Hours = yield asking.question(
        "person.weekend",
        optional(lambda text: read_hours(text, other), ()),
        at=at,
        default="",
        effect=lambda hours: told(hours) or rest(hours),
        judge=lambda hours: asking.judge.fault(JobAnswers("x", people=(with_hours((*working, *hours)),))),
        name=name,
    )
    return with_hours((*working, *weekend))


def _typed(hours: Hours, week: tuple[str, ...]) -> str:
    """Return the hours of the working week as they would be typed."""
    spans = dict(hours)
    if all(key in spans for key in week) and len({spans[key] for key in week}) == 1:
        return spans[week[0]]
    return ", ".join(f"{key} {span}" for key, span in hours if key not in ("sat", "sun", "sat-sun", "holiday"))


def _ask_reach(asking: Asking, person: PersonAnswers, at: str, *, lays: bool) -> Interview[PersonAnswers]:
    name = person.name
    reach = show(GROUND_REACH, "length_m", asking.words.units)
    climbs: bool = yield asking.question(
        "person.scaffold",
        read_yes,
        at=at,
        default="yes" if lays else "no",
        effect=lambda yes: asking.say("new.effect.scaffold" if yes else "new.effect.ground", name=name, reach=reach),
        name=name,
    )
    longest = ""
    if not lays:
        read = optional(checked(Person, "longest_round"), "")
        longest = yield asking.question("person.longest", read, at=at, default="", name=name)
    return replace(person, reach="scaffold" if climbs else "ground", longest_round=longest)


def _ask_crews(asking: Asking, answers: JobAnswers, layers: tuple[str, ...]) -> Interview[JobAnswers]:
    left = layers
    while left:
        crew = yield from _ask_crew(asking, answers, left)
        answers = replace(answers, crews=(*answers.crews, crew))
        left = tuple(one for one in left if one not in crew.people)
    return answers


def _ask_crew(asking: Asking, answers: JobAnswers, left: tuple[str, ...]) -> Interview[CrewAnswers]:
    """Ask for a crew of people who are in none yet."""

    def fault(crew: CrewAnswers) -> str:
        return asking.judge.fault(replace(answers, crews=(*answers.crews, crew)))

    number, at = len(answers.crews), _at("crews", len(answers.crews))
    names = {person.id: person.name for person in answers.people if person.id in left}
    name: str = yield asking.question(
        "crew.name" if not number else "crew.next",
        checked(Crew, "name"),
        at=at,
        why="crew.name",
        default="Crew" if not number else f"Crew {number + 1}",
        section="crews",
        judge=lambda name: fault(CrewAnswers("x-crew", name, left)) if len(left) == 1 else "",
        names=", ".join(names.values()),
    )
    crew = CrewAnswers(short_id(name, [one.id for one in answers.crews], stem="crew"), name, left)
    if len(left) == 1:
        return crew
    members: tuple[str, ...] = yield asking.question(
        "crew.people",
        lambda text: _read_members(text, names),
        at=at,
        default=", ".join(names.values()),
        effect=lambda found: _wet_edge(asking, len(found)),
        judge=lambda found: fault(replace(crew, people=found)),
    )
    return replace(crew, people=members)


def _read_members(text: str, names: dict[str, str]) -> tuple[str, ...]:
    """Return the ids of people named by name or id; the whole text first, since names may hold commas."""
    if text.casefold() == ", ".join(names.values()).casefold():
        return tuple(names)
    by_name = {name.casefold(): one for one, name in names.items()} | {one.casefold(): one for one in names}
    found: list[str] = []
    for part in [part.strip() for part in text.split(",") if part.strip()]:
        if part.casefold() not in by_name:
            raise ValueError(unknown("person", part, names.values()).replace("write one of", "they are"))
        found.append(by_name[part.casefold()])
    if not found:
        raise ValueError("name at least one of them")
    return tuple(dict.fromkeys(found))


def _wet_edge(asking: Asking, people: int) -> str:
    book = next((asking.book(name) for name, one in asking.systems.items() if "out" in one.sides), None)
    if book is None:
        return ""
    edges = [book.value(f"{coat.id}.wet_edge") for coat in book.system.coats if book.has(f"{coat.id}.wet_edge")]
    if not edges:
        return ""
    return asking.say("new.effect.crew", area=show(people * min(edges), "area_m2", asking.words.units))


def _ask_meter(asking: Asking, answers: JobAnswers) -> Interview[MeterAnswers | None]:
    number, at = len(answers.meters), _at("meters", len(answers.meters))
    name: str = yield asking.question(
        "meter" if not number else "meter.next",
        optional(checked(Meter, "name"), ""),
        at=at,
        why="meter",
        default="",
        section="meters",
    )
    if not name:
        return None
    least: str = yield asking.question("meter.least", checked(Meter, "least"), at=at)
    meter = MeterAnswers(short_id(name, [one.id for one in answers.meters], stem="meter"), name, least, "100 %")
    most: str = yield asking.question(
        "meter.most",
        checked(Meter, "most"),
        at=at,
        judge=lambda text: asking.judge.fault(JobAnswers("x", meters=(replace(meter, most=text),))),
    )
    basis: str = yield asking.question(
        "meter.basis",
        optional(lambda text: read_choice(text, ("wet", "dry"), "basis"), ""),
        at=at,
        default="",
        effect=lambda _: asking.say("new.effect.meter"),
    )
    return replace(meter, most=most, basis=basis)
