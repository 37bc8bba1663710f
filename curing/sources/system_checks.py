"""What is wrong with a coat system although each of its parts is well formed.

A part that is itself at fault is left out, but its id still counts: nobody is
told that a coat does not exist because a comma is missing in it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from curing.errors import Problem
from curing.model.goods import Ahead, Goods
from curing.model.plan import Care
from curing.model.system import CAUTIONS, GROUPS, RULES, Coat, HoldPoint, Rule, Scope, Work
from curing.sources.rule_checks import contradictions
from curing.sources.validation import unknown
from curing.sources.yaml_nodes import Document, Steps

SIDES = ("out", "in")

_NEEDED = {
    Work.PLASTER: {"thickness": "13 mm", "labour": "1 h/m2", "wet_edge": "8 m2/d"},
    Work.PAINT: {"spread": "0.15 L/m2", "labour": "0.15 h/m2", "wet_edge": "40 m2/d"},
}
_AFTER_A_COAT = ("least_wait", "least_wait_per_mm", "greatest_wait", "dry_days", "warn_age", "warn_age_per_mm")

# A rule of a coat that says nothing unless the coat also has the others.
_TOGETHER = (
    ("look_from", {"look_to": "6 h", "look_minutes": "10 min"}),
    ("look_to", {"look_from": "3 h"}),
    ("look_minutes", {"look_from": "3 h"}),
    ("cloth_to", {"cloth_sun": "2 h"}),
    ("cloth_sun", {"cloth_to": "14 d"}),
    ("hours", {"once_to": "28 d"}),
    ("cure_least", {"hours": "672 h"}),
    ("damp_most", {"hours": "672 h"}),
    ("fresh_water", {"hours": "672 h"}),
)
_KINDS = (("rules", "rule"), ("coats", "coat"), ("holds", "hold point"), ("goods", "goods"), ("ahead", "ahead"))
_VISIT = {Care.MIST: {"setup": "5 min", "rate": "3 m2/min", "water": "0.3 L/m2"}, Care.AIR: {"setup": "5 min"}}


@dataclass(frozen=True)
class Draft:
    """A system as far as it could be read: parts without fault by their place in the list, and all ids.

    ``ids`` holds the ids of ``rules``, ``holds``, ``coats``, ``goods`` and ``ahead`` in
    the order of the file, faulty parts included, an empty one where there is none.
    """

    document: Document
    rules: Mapping[int, Rule]
    holds: Mapping[int, HoldPoint]
    coats: Mapping[int, Coat]
    goods: Mapping[int, Goods]
    ahead: Mapping[int, Ahead]
    ids: Mapping[str, list[str]]

    def problem(self, steps: Steps, text: str) -> Problem:
        """Return a problem of a part of the file, at its place."""
        return Problem(self.document.place(steps), text)

    def names(self, index: int, key: str) -> list[str]:
        """Return the names in a list of a coat, ``holds`` or ``cautions``, even if the coat has a fault."""
        coat = self.document.data["coats"][index]
        names = coat.get(key) if isinstance(coat, dict) else None
        return [name if isinstance(name, str) else "" for name in names] if isinstance(names, list) else []

    def rule_at(self, rule_id: str) -> Steps:
        """Return where a rule's value stands."""
        return ("rules", self.ids["rules"].index(rule_id), "value")


def check(draft: Draft) -> Iterator[Problem]:
    """Yield everything that is wrong between the parts of a coat system."""
    yield from _ids(draft)
    yield from _sides(draft)
    yield from _rule_groups(draft)
    for index in range(len(draft.ids["coats"])):
        yield from _references(draft, index)
    for index, coat in draft.coats.items():
        yield from _steps(draft, index, coat)
        yield from _needs(draft, index, coat)
    yield from _hold_points(draft)
    yield from _season(draft)
    coats = [coat for _, coat in sorted(draft.coats.items())]
    if len(coats) == len(draft.ids["coats"]):  # which coat lies before which is known only then
        for found in contradictions(coats, {rule.id: rule.value for rule in draft.rules.values()}):
            yield draft.problem(draft.rule_at(found.rules[0]), f'rule "{found.rules[0]}": {found.text}')


def _ids(draft: Draft) -> Iterator[Problem]:
    taken: dict[str, tuple[str, int]] = {}
    for part, one in _KINDS:
        for index, name in enumerate(draft.ids[part]):
            if not name:
                continue
            if name in taken:
                other, line = taken[name]
                text = f'{one} "{name}": its id is taken by the {other} in line {line}; give it one of its own'
                yield draft.problem((part, index, "id"), text)
            else:
                taken[name] = (one, draft.document.place((part, index, "id")).line)
            if part in ("coats", "goods", "ahead") and name in GROUPS:
                text = f'{one} "{name}": the id belongs to the rules of the {name}; call the {one} otherwise'
                yield draft.problem((part, index, "id"), text)


def _sides(draft: Draft) -> Iterator[Problem]:
    sides = draft.document.data.get("sides")
    if not isinstance(sides, list):
        return
    if not sides:
        yield draft.problem(("sides",), 'sides: none is given; write "[out, in]" or one of them')
    for index, side in enumerate(sides):
        if isinstance(side, str) and side not in SIDES:
            yield draft.problem(("sides", index), f"sides: {unknown('side', side, SIDES)}")
        elif side in sides[:index]:
            yield draft.problem(("sides", index), f'sides: "{side}" stands twice; keep one of them')


def _rule_groups(draft: Draft) -> Iterator[Problem]:
    coats = [name for name in draft.ids["coats"] if name]
    for index, rule in draft.rules.items():
        group, steps = rule.id.partition(".")[0], ("rules", index, "id")
        belongs = RULES[rule.name].group
        if belongs == "goods":
            goods = [name for name in draft.ids["goods"] if name]
            if group not in goods:
                text = f'"{rule.name}" is a rule of goods; {unknown("goods", group, goods)}'
                yield draft.problem(steps, f'rule "{rule.id}": {text}')
        elif belongs != "coat" and group != belongs:
            text = f'"{rule.name}" is a rule of the {belongs}; write "{belongs}.{rule.name}"'
            yield draft.problem(steps, f'rule "{rule.id}": {text}')
        elif belongs == "coat" and group in GROUPS:
            text = f'"{rule.name}" is a rule of a coat; write for instance "{(coats or ["base"])[0]}.{rule.name}"'
            yield draft.problem(steps, f'rule "{rule.id}": {text}')
        elif group not in (*coats, *GROUPS):
            yield draft.problem(steps, f'rule "{rule.id}": {unknown("coat", group, [*coats, *GROUPS])}')


def _references(draft: Draft, index: int) -> Iterator[Problem]:
    thing = f'coat "{draft.ids["coats"][index]}"' if draft.ids["coats"][index] else f"coat {index + 1}"
    for key, known, kind in (("holds", draft.ids["holds"], "hold point"), ("cautions", CAUTIONS, "caution")):
        names = draft.names(index, key)
        for at, name in enumerate(names):
            steps = ("coats", index, key, at)
            if name and name not in known:
                yield draft.problem(steps, f"{thing}: {unknown(kind, name, filter(None, known))}")
            elif name and name in names[:at]:
                yield draft.problem(steps, f'{thing}: {kind} "{name}" stands twice; keep one of them')


def _steps(draft: Draft, index: int, coat: Coat) -> Iterator[Problem]:
    seen: set[str] = set()
    for key in ("before", "after", "visits"):
        for at, step in enumerate(getattr(coat, key)):
            if step.id in seen:
                text = f'coat "{coat.id}": step "{step.id}" stands twice; give one of them another id'
                yield draft.problem(("coats", index, key, at, "id"), text)
            seen.add(step.id)


def _needs(draft: Draft, index: int, coat: Coat) -> Iterator[Problem]:
    """Yield rules that a coat must have, and rules that say nothing for it."""
    ids = draft.ids["rules"]
    at_coat: Steps = ("coats", index, "id")

    def missing(rule: str, example: str, why: str) -> Problem:
        what = f'coat "{coat.id}": rule "{rule}" is missing, {why}'
        return draft.problem(at_coat, f'{what}; add it under "rules", for instance "value: {example}"')

    def has(name: str) -> bool:
        return f"{coat.id}.{name}" in ids

    for name, example in _NEEDED[coat.work].items():
        if not has(name):
            yield missing(f"{coat.id}.{name}", example, f"without which {coat.work.value} can't be planned")
    for name, others in _TOGETHER:
        for other, example in others.items():
            if has(name) and not has(other) and not (name == "hours" and has("twice_to")):
                yield missing(f"{coat.id}.{other}", example, f'without which "{coat.id}.{name}" says nothing')
    if has("twice_to") or has("once_to"):
        for name, example in _VISIT.get(coat.care, {}).items():
            if f"visit.{name}" not in ids:
                yield missing(f"visit.{name}", example, "without which its visits have no size")
        if not coat.visits:
            text = f'coat "{coat.id}": it has visits, but not what is done on them; add steps under "visits"'
            yield draft.problem(at_coat, text)
    if index == 0:
        for name in filter(has, _AFTER_A_COAT):
            text = f'rule "{coat.id}.{name}": no coat lies before "{coat.id}"; delete this rule'
            yield draft.problem(("rules", ids.index(f"{coat.id}.{name}"), "id"), text)
    elif coat.work is Work.PLASTER and not has("least_wait") and not has("least_wait_per_mm"):
        yield missing(f"{coat.id}.least_wait", "10 d", "so nothing keeps it from going on too soon")
    before = draft.coats.get(index - 1)
    if before and has("least_wait_per_mm") and f"{before.id}.thickness" not in ids and before.work is Work.PAINT:
        rule = f"{coat.id}.least_wait_per_mm"
        text = f'rule "{rule}": "{before.id}" before it has no thickness; write a least_wait in days'
        yield draft.problem(("rules", ids.index(rule), "id"), text)


def _hold_points(draft: Draft) -> Iterator[Problem]:
    coats = draft.ids["coats"]
    asked = {name for index in range(len(coats)) for name in draft.names(index, "holds")}
    for index, hold in draft.holds.items():
        thing, steps = f'hold point "{hold.id}"', ("holds", index)
        if hold.id not in asked and coats:
            text = f'{thing}: no coat waits for it; name it in the "holds" of a coat or delete it'
            yield draft.problem((*steps, "id"), text)
        if hold.lapses:
            yield from _lapses(draft, hold, thing, (*steps, "lapses"))
        if hold.judges and hold.judges not in coats:
            known = filter(None, coats)
            yield draft.problem((*steps, "judges"), f"{thing}: judges: {unknown('coat', hold.judges, known)}")
        elif hold.judges:
            yield from _judges(draft, hold, thing, (*steps, "judges"))


def _lapses(draft: Draft, hold: HoldPoint, thing: str, steps: Steps) -> Iterator[Problem]:
    if hold.lapses not in draft.ids["rules"]:
        in_days = [r for r in draft.ids["rules"] if _in_days(r)]
        yield draft.problem(steps, f"{thing}: lapses: {unknown('rule', hold.lapses, in_days)}")
    elif not _in_days(hold.lapses):
        text = f'{thing}: lapses: "{hold.lapses}" is no number of days; name a rule that is, such as panel.lapse'
        yield draft.problem(steps, text)


def _in_days(rule_id: str) -> bool:
    name = rule_id.partition(".")[2]
    return name in RULES and RULES[name].kind == "days"


def _judges(draft: Draft, hold: HoldPoint, thing: str, steps: Steps) -> Iterator[Problem]:
    if hold.scope is not Scope.FACE:
        text = f'{thing}: it judges a coat, which lies on one face; write "scope: face", or leave "judges" out'
        yield draft.problem(steps, text)
    judged = draft.ids["coats"].index(hold.judges)
    for index, coat in enumerate(draft.ids["coats"]):
        if hold.id in draft.names(index, "holds") and judged >= index:
            after = f'"{hold.judges}", which is not laid before it'
            text = f'{thing}: coat "{coat}" waits for it, but it judges {after}; name an earlier coat'
            yield draft.problem(steps, text)


def _season(draft: Draft) -> Iterator[Problem]:
    marked = [(index, coat) for index, coat in draft.coats.items() if coat.season]
    for index, coat in marked[1:]:
        first = marked[0][1].id
        text = f'coat "{coat.id}": "{first}" is already the coat that the season line is for; keep one of them'
        yield draft.problem(("coats", index, "season"), text)


def ids_of(parts: Any) -> list[str]:
    """Return the ids in a list of a file, an empty one for a part that has none.

    Examples
    --------
    >>> ids_of([{"id": "base"}, {"name": "finish coat"}, 7])
    ['base', '', '']
    """
    if not isinstance(parts, list):
        return []
    found = [part.get("id") if isinstance(part, dict) else None for part in parts]
    return [name if isinstance(name, str) else "" for name in found]
