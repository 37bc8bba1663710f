"""What is wrong between the coats of a system, the goods they take, and what is done ahead of them."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import chain

from curing.errors import Problem
from curing.model.goods import CLOTH, PACKS, PARTS, VOLUMES, Ahead, Goods, Take, unit_of
from curing.model.kinds import KindName
from curing.model.system import CAUTIONS, RULES, Coat, Work
from curing.sources.system_checks import Draft
from curing.sources.validation import unknown
from curing.sources.yaml_nodes import Steps

_SIZES = {"bag": "25 kg", "tub": "20 kg", "tin": "15 L", "roll": "80 m2"}


def check_goods(draft: Draft) -> Iterator[Problem]:
    """Yield takes, goods and things ahead that lead nowhere or can't be counted."""
    for index, coat in draft.coats.items():
        yield from _takes(draft, index, coat)
    for index, goods in draft.goods.items():
        yield from _goods(draft, index, goods)
    for index, one in draft.ahead.items():
        yield from _ahead(draft, index, one)


def _rules(draft: Draft, group: str) -> list[str]:
    """Return the names of the rules of a coat or of goods, faulty ones too."""
    return [name for head, _, name in (rule.partition(".") for rule in draft.ids["rules"]) if head == group]


def _takes(draft: Draft, index: int, coat: Coat) -> Iterator[Problem]:
    seen: set[str] = set()
    for at, take in enumerate(coat.takes):
        steps: Steps = ("coats", index, "takes", at)
        thing = f'coat "{coat.id}": takes'
        if take.of not in draft.ids["goods"]:
            text = f"{thing}: {unknown('goods', take.of, filter(None, draft.ids['goods']))}"
            yield draft.problem((*steps, "of"), text if any(draft.ids["goods"]) else f'{text}; name it under "goods"')
        elif take.of in seen:
            yield draft.problem((*steps, "of"), f'{thing}: "{take.of}" stands twice; add the two up')
        seen.add(take.of)
    yield from _parts(draft, index, coat)


def _parts(draft: Draft, index: int, coat: Coat) -> Iterator[Problem]:
    """Yield a mix in parts that gives no volume: parts lie loose, and mortar is less than all of them."""
    parts = [take for take in coat.takes if take.amount.kind == PARTS]
    rule, given = f"{coat.id}.yield", "yield" in _rules(draft, coat.id)
    if parts and not sum(take.amount.value for take in parts):
        text = f'coat "{coat.id}": takes: all parts are 0; write how many of each'
        yield draft.problem(("coats", index, "takes"), text)
    if parts and not given and coat.work is Work.PLASTER:
        text = f'coat "{coat.id}": rule "{rule}" is missing, without which parts make no volume'
        yield draft.problem(("coats", index, "id"), f'{text}; add it under "rules", for instance "value: 70 %"')
    if given and not parts:
        text = f'rule "{rule}": nothing that "{coat.id}" takes is counted in parts; delete this rule'
        yield draft.problem(("rules", draft.ids["rules"].index(rule), "id"), text)


def _taken(draft: Draft, goods: str) -> Iterator[tuple[Coat, Steps, Take]]:
    for index, coat in draft.coats.items():
        for at, take in enumerate(coat.takes):
            if take.of == goods:
                yield coat, ("coats", index, "takes", at, "amount"), take


def _goods(draft: Draft, index: int, goods: Goods) -> Iterator[Problem]:
    steps: Steps = ("goods", index, "id")
    thing = f'goods "{goods.id}"'
    if goods.id in RULES and RULES[goods.id].group == "coat":
        yield draft.problem(steps, f"{thing}: the id is the name of a rule; give it another")
    yield from _cautions(draft, ("goods", index), thing, goods.cautions)
    taken = list(_taken(draft, goods.id))
    if not taken:
        if len(draft.coats) == len(draft.ids["coats"]):
            yield draft.problem(steps, f'{thing}: no coat takes it; name it in the "takes" of a coat or delete it')
        return
    for coat, where, take in taken:
        if goods.again and take.amount.kind != CLOTH:
            text = f'{thing}: it is used again, so it is counted in m2/m2; write for instance "1.3 m2/m2"'
            yield draft.problem(where, f'coat "{coat.id}": takes: {text}')
        elif goods.again and "cloth_to" not in _rules(draft, coat.id):
            text = f'rule "{coat.id}.cloth_to" is missing, without which nobody knows how long "{goods.id}" stands'
            yield draft.problem(where, f'coat "{coat.id}": takes: {text}; add it under "rules"')
    yield from _packs(draft, goods, thing, steps, {take.amount.kind for _, _, take in taken})


def _packs(draft: Draft, goods: Goods, thing: str, steps: Steps, kinds: set[KindName]) -> Iterator[Problem]:
    """Yield goods whose amounts can't be added up, or not be counted in the packs they come in."""
    rules = _rules(draft, goods.id)
    packs = [name for name in PACKS if name in rules]
    for other in packs[1:]:
        text = f'{thing} comes in a {packs[0]} already (rule "{goods.id}.{packs[0]}"); keep one of them'
        yield draft.problem(draft.rule_at(f"{goods.id}.{other}"), text)
    unit = unit_of(kinds, weighed="density" in rules)
    if unit is None and "density" not in rules:
        text = (
            f'{thing}: coats take it by volume and by weight; add rule "{goods.id}.density", for instance "500 kg/m3"'
        )
        yield draft.problem(steps, text)
    elif unit is None:
        yield draft.problem(steps, f"{thing}: it is counted as cloth in one coat and mixed in another; make two of it")
    elif packs and PACKS[packs[0]] != unit:
        rule = f"{goods.id}.{packs[0]}"
        fit = " or ".join(f'"{goods.id}.{name}: {_SIZES[name]}"' for name, one in PACKS.items() if one == unit)
        text = f'rule "{rule}": {thing} is counted in {unit}; write {fit}'
        if unit == "L" and PACKS[packs[0]] == "kg":
            text += f', or add rule "{goods.id}.density", for instance "500 kg/m3"'
        yield draft.problem(("rules", draft.ids["rules"].index(rule), "id"), text)
    if "density" in rules and not kinds.intersection(VOLUMES):
        rule = f"{goods.id}.density"
        text = f'rule "{rule}": no coat takes {thing} by volume, so it says nothing; delete this rule'
        yield draft.problem(("rules", draft.ids["rules"].index(rule), "id"), text)


def _ahead(draft: Draft, index: int, one: Ahead) -> Iterator[Problem]:
    thing = f'ahead "{one.id}"'
    coats, holds = ([name for name in draft.ids[part] if name] for part in ("coats", "holds"))
    if one.before not in coats:
        yield draft.problem(("ahead", index, "before"), f"{thing}: before: {unknown('coat', one.before, coats)}")
    if one.hold and one.hold not in holds:
        yield draft.problem(("ahead", index, "hold"), f"{thing}: hold: {unknown('hold point', one.hold, holds)}")
    if one.id in chain(coats, holds):
        return  # told already: an id stands once
    yield from _cautions(draft, ("ahead", index), thing, one.cautions)


def _cautions(draft: Draft, steps: Steps, thing: str, names: tuple[str, ...]) -> Iterator[Problem]:
    for at, name in enumerate(names):
        if name not in CAUTIONS:
            yield draft.problem((*steps, "cautions", at), f"{thing}: {unknown('caution', name, CAUTIONS)}")
