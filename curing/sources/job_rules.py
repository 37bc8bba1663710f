"""Own values of rules, of the job, of a wall, of a face: what they are, and what they lead to."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches

from curing.errors import Place, Problem
from curing.model.quantities import clip, show
from curing.model.system import RuleBook, System, read_value
from curing.sources.job_draft import Draft, FaceEntry
from curing.sources.rule_checks import contradictions, read_own_rule
from curing.sources.yaml_nodes import Steps


@dataclass(frozen=True)
class Level:
    """The job, a wall, or a face: what it is called in messages, its own rules, and its faces."""

    label: str
    steps: Steps
    rules: Mapping[str, str]
    faces: list[FaceEntry]


@dataclass
class OwnValues:
    """Own values of every face.

    Attributes
    ----------
    values
        Face id → rule id → the value nearest to the face, in SI: face before wall before job.
    given
        Face id → rule id → the level that gives it.
    """

    values: dict[str, dict[str, float]] = field(default_factory=dict)
    given: dict[str, dict[str, Level]] = field(default_factory=dict)

    def book(self, face: FaceEntry, system: System) -> RuleBook:
        """Return the rules that hold for a face."""
        return RuleBook(system, self.values.get(face.id))


def read_rules(draft: Draft, problems: list[Problem]) -> OwnValues:
    """Return the own values of every face, and tell of what is wrong with them."""
    own = OwnValues({face.id: {} for face in draft.faces}, {face.id: {} for face in draft.faces})
    refused = [problem for level in levels(draft) for problem in _read(draft, level, own)]
    led_to: dict[Place | None, Problem] = {}
    for face in draft.faces:
        for problem in _contradictions(draft, face, own):
            led_to.setdefault(problem.place, problem)
    # That a coat is too thick for one pass says more than that it is outside its rule's own limits.
    problems += [*led_to.values(), *(problem for problem in refused if problem.place not in led_to)]
    return own


def levels(draft: Draft) -> Iterator[Level]:
    """Yield the job, then each wall, then each face."""
    yield Level("", (), draft.head.rules, draft.faces)
    for wall in draft.walls:
        yield Level(wall.label, wall.steps, wall.it.rules, draft.faces_of(wall))
    for face in draft.faces:
        yield Level(face.label, face.steps, face.it.rules, [face])


def _read(draft: Draft, level: Level, own: OwnValues) -> Iterator[Problem]:
    """Put the values of a level over those of wider ones; yield what no coat system takes."""
    systems = {face.it.system: system for face in level.faces if (system := draft.system_of(face))}
    for rule_id, text in level.rules.items():
        place = (*level.steps, "rules", rule_id)
        holding = {name: system for name, system in systems.items() if system.rule(rule_id)}
        if not holding and systems and all(draft.system_of(face) for face in level.faces):
            yield draft.problem(place, _say(level, _no_rule(rule_id, systems)), key=True)
        faults: dict[str, None] = {}
        for name, system in holding.items():
            try:
                value: float | None = read_own_rule(system, rule_id, text)
            except ValueError as error:
                faults[str(error)] = None
                value = _readable(rule_id, text) if rule_id.endswith(".thickness") else None
            if value is not None:
                for face in level.faces:
                    if face.it.system == name:
                        own.values[face.id][rule_id] = value
                        own.given[face.id][rule_id] = level
        if faults:
            yield draft.problem(place, _say(level, f"{rule_id}: {'; or '.join(faults)}"))


def _say(level: Level, fault: str) -> str:
    return f"{level.label}: rules: {fault}" if level.label else f"rules: {fault}"


def _readable(rule_id: str, text: str) -> float | None:
    try:
        return read_value(rule_id, text)
    except ValueError:
        return None


def _no_rule(rule_id: str, systems: Mapping[str, System]) -> str:
    if len(systems) == 1:
        try:
            read_own_rule(next(iter(systems.values())), rule_id, "")
        except ValueError as error:
            return str(error)
    ids = {rule_id for system in systems.values() for rule_id in system.values}
    near = get_close_matches(rule_id, sorted(ids), n=1, cutoff=0.8)
    said = f'"{clip(rule_id)}" is a rule of none of the coat systems used here ({", ".join(systems)})'
    return f'{said}; did you mean "{near[0]}"?' if near else f"{said}; correct it or delete the line"


def _contradictions(draft: Draft, face: FaceEntry, own: OwnValues) -> Iterator[Problem]:
    """Yield what can't be true of a face at the same time, at the own value that brings it about."""
    system = draft.system_of(face)
    if system is None or not own.values[face.id]:
        return
    values, units = dict(own.book(face, system).items()), draft.head.units
    names = {coat.id: coat.name for coat in system.coats}
    for found in contradictions(system.coats, values):
        coat_id = found.rules[0].partition(".")[0]
        rule_id = next((rule for rule in found.rules if rule in own.given[face.id]), None)
        if rule_id is None or coat_id in face.it.done:
            continue
        level = own.given[face.id][rule_id]
        text = found.text
        if found.rules[1] == f"{coat_id}.one_pass":
            laid, limit = (values[rule] for rule in found.rules)
            text = (
                f"{show(laid, 'length_mm', units, limits=[limit])} exceeds {show(limit, 'length_mm', units)} "
                f"in one pass (rule {found.rules[1]}); split it into two coats"
            )
        thing = ", ".join(filter(None, (level.label, names[coat_id])))
        yield draft.problem((*level.steps, "rules", rule_id), f"{thing}: {text}")
