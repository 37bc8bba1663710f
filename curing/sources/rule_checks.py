"""Whether the values of rules go together, and whether a value of one's own keeps within its rule.

Used for a coat system's own values, and again when a job, a wall or a face puts
values of its own over them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches

from curing.model.goods import Figure
from curing.model.quantities import clip, show
from curing.model.system import RULES, Coat, Rule, System

OWN_FILE = "or set that rule in your own system file and say why"

# Pairs of one coat of which the first may not be more than the second, in the words of the trade.
_NOT_MORE = (
    (
        "thickness",
        "one_pass",
        f"{{}} is more than one pass may be, {{}} (rule {{}}); split it into two coats, {OWN_FILE}",
    ),
    (
        "twice_to",
        "once_to",
        "the last day with two visits, {}, is after the last with one, {} (rule {}); lower it or raise that",
    ),
    (
        "look_from",
        "look_to",
        "the look begins at {} and ends before that, at {} (rule {}); swap them",
    ),
    (
        "air_least",
        "air_most",
        "the least air temperature, {}, is above the most, {} (rule {}); correct one of them",
    ),
)


@dataclass(frozen=True)
class Contradiction:
    """Two rules that can't both hold: their ids, the one at fault first, and what to do."""

    rules: tuple[str, ...]
    text: str


def contradictions(coats: Sequence[Coat], values: Mapping[str, float]) -> Iterator[Contradiction]:
    """Yield what can't be true at the same time among values of rules.

    Parameters
    ----------
    coats
        In the order of laying.
    values
        Rule id → value in SI: those of the system, or these with own ones over them.

    Examples
    --------
    >>> coat = Coat.model_validate({"id": "finish", "name": "finish", "title": "FINISH", "work": "plaster"})
    >>> print(next(contradictions([coat], {"finish.twice_to": 21, "finish.once_to": 14})).text)
    the last day with two visits, 21 d, is after the last with one, 14 d (rule finish.once_to); lower it or raise that
    """
    before: Coat | None = None
    for coat in coats:
        for first, second, text in _NOT_MORE:
            one, other = f"{coat.id}.{first}", f"{coat.id}.{second}"
            if one in values and other in values and values[one] > values[other]:
                kind = RULES[first].kind
                shown = (show(values[rule], kind, limits=[values[one], values[other]]) for rule in (one, other))
                yield Contradiction((one, other), text.format(*shown, other))
        if before:
            yield from _waits(coat, before, values)
        before = coat


def _waits(coat: Coat, before: Coat, values: Mapping[str, float]) -> Iterator[Contradiction]:
    """Yield a wait that ends before it may: least days, or days a millimetre, beyond the most days."""
    greatest = f"{coat.id}.greatest_wait"
    if greatest not in values:
        return
    most = f"the most, {show(values[greatest], 'days')} (rule {greatest})"
    plain, per_mm, thickness = f"{coat.id}.least_wait", f"{coat.id}.least_wait_per_mm", f"{before.id}.thickness"
    if values.get(plain, 0) > values[greatest]:
        days = show(values[plain], "days")
        yield Contradiction((plain, greatest), f"the least wait, {days}, is more than {most}; correct one of them")
    days_for = math.ceil(values.get(per_mm, 0) * values.get(thickness, 0) - 1e-9)
    if days_for > values[greatest]:
        text = f'{show(values[thickness], "length_mm")} of "{before.id}" ask for {days_for} d, more than {most}'
        yield Contradiction((per_mm, thickness, greatest), f"{text}; lay it thinner or raise the most")


def read_own_rule(system: System, rule_id: str, text: object) -> float:
    """Return a value that a job file puts over one of its coat system, in SI.

    Parameters
    ----------
    system
        The coat system of the face.
    rule_id
        ``coat.rule``, as written in the job file.
    text
        The value with its unit, as written.

    Raises
    ------
    ValueError
        The system holds no such rule, the value can't be read, or it lies
        outside the rule's least and most. The caller adds where and which rule.

    Examples
    --------
    >>> rule = {"id": "finish.twice_to", "value": "14 d", "least": "7 d", "most": "14 d"}
    >>> rule |= {"reason": "a thin coat dries fast", "source": "common practice, no source"}
    >>> coat = {"id": "finish", "name": "finish coat", "title": "FINISH", "work": "plaster"}
    >>> system = {"curing": 1, "id": "own", "name": "own", "sides": ["out"], "rules": [rule], "holds": []}
    >>> read_own_rule(System.model_validate({**system, "coats": [coat]}), "finish.twice_to", "10 d")
    10
    """
    rule = system.rule(rule_id)
    if rule is None:
        raise ValueError(_no_rule(system, rule_id))
    value = rule.read(text)
    if rule.least is not None and value < rule.least and not math.isclose(value, rule.least):
        raise ValueError(_outside(rule, text, value, rule.least, "less", "more"))
    if rule.most is not None and value > rule.most and not math.isclose(value, rule.most):
        raise ValueError(_outside(rule, text, value, rule.most, "more", "less"))
    return value


def _outside(rule: Rule | Figure, text: object, value: float, limit: float, wrong: str, right: str) -> str:
    said, plain, bound = clip(str(text).strip()), show(value, rule.kind, limits=[limit]), show(limit, rule.kind)
    shown = said if said == plain else f"{said} ({plain})"
    return f"{shown} is {wrong} than {bound} (rule {rule.id}, {rule.source}); choose {bound} or {right}, {OWN_FILE}"


def _no_rule(system: System, rule_id: str) -> str:
    said = f'"{clip(rule_id)}" is no rule of the coat system "{system.id}"'
    ids = list(system.values)
    near = get_close_matches(rule_id, ids, n=1, cutoff=0.8)
    if near:
        return f'{said}; did you mean "{near[0]}"?'
    group = rule_id.partition(".")[0]
    same = [one for one in ids if one.partition(".")[0] == group]
    if same:
        return f"{said}; use one of: {', '.join(same)}"
    groups = ", ".join(dict.fromkeys(one.partition(".")[0] for one in ids))
    return f"{said}; its rules begin with one of: {groups}"
