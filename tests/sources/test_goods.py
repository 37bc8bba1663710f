"""What coats take, goods and things ahead in a coat system: read with units, and each fault told at its place."""

from __future__ import annotations

from pathlib import Path

import pytest
from test_systemfile import FILE, GOOD, at, faults

from curing.model.system import RuleBook, System
from curing.sources.systemfile import built_in_folder, load_systems, read_own_rule, read_system

TAKES = """\
    takes:
      - {of: sand, amount: 3 parts, reason: r, source: s}
      - {of: lime, amount: 1 part, least: 0.5 parts, most: 2 parts, reason: it binds, source: a guide}
      - {of: water, amount: 230 L/m3, reason: r, source: s}
      - {of: cloth, amount: 1.3 m2/m2, reason: r, source: s}
"""
GOODS = """\
goods:
  - {id: sand, name: sharp sand}
  - {id: lime, name: lime, order: Fresh and dry., cautions: [lime, dust]}
  - {id: water, name: water}
  - {id: cloth, name: hessian, again: true}
ahead:
  - id: try-sand
    text: Send a sample.
    before: base
    lead: 8 weeks
    hold: panel-dry
    cautions: [dust]
    reason: r
    source: s
rules:
  - {id: base.yield, value: 70 %, reason: r, source: s}
  - {id: base.cloth_to, value: 3 d, reason: r, source: s}
  - {id: base.cloth_sun, value: 2 h, reason: r, source: s}
  - {id: sand.density, value: 1600 kg/m3, reason: r, source: s}
  - {id: lime.density, value: 500 kg/m3, reason: r, source: s}
  - {id: lime.bag, value: 25 kg, least: 5 kg, most: 50 kg, reason: r, source: a merchant}
  - {id: lime.order, value: 14 d, reason: r, source: s}
  - {id: lime.age, value: 4 weeks, reason: r, source: s}
  - {id: cloth.roll, value: 80 m2, reason: r, source: s}
"""
WHOLE = GOOD.replace("    cautions: [lime, sockets]\n", "    cautions: [lime, sockets]\n" + TAKES, 1)
WHOLE = WHOLE.replace("rules:\n", GOODS, 1)


def system(text: str = WHOLE) -> System:
    return read_system(FILE, text)


def test_what_a_coat_takes_is_read_with_its_unit() -> None:
    takes = {take.of: take.amount for take in system().coats[0].takes}
    assert {of: (amount.value, amount.kind) for of, amount in takes.items()} == {
        "sand": (3, "parts"),
        "lime": (1, "parts"),
        "water": (230, "volume_l_per_m3"),
        "cloth": (1.3, "area_per_area"),
    }


def test_a_system_without_these_lists_is_read_as_before() -> None:
    plain = read_system(FILE, GOOD)
    assert plain.goods == plain.ahead == ()
    assert all(coat.takes == () for coat in plain.coats)


def test_every_figure_has_an_id_a_reason_and_a_source() -> None:
    values = system().values
    assert (values["base.lime"].value, values["base.lime"].source, values["base.lime"].reason) == (
        1,
        "a guide",
        "it binds",
    )
    assert (values["lime.bag"].value, values["lime.bag"].source) == (25, "a merchant")
    assert (values["lime.age"].value, values["try-sand.lead"].value) == (28, 56)


def test_goods_are_added_up_in_kilograms_where_their_weight_is_known() -> None:
    assert system().units == {"sand": "kg", "lime": "kg", "water": "L", "cloth": "m2"}


@pytest.mark.parametrize(
    ("rule", "text", "value"),
    [
        ("base.lime", "1 1/2 parts", 1.5),
        ("base.water", "0 L/m3", 0),
        ("base.water", "2 gal/ft3", 267.3611),  # 2 x 3.785411784 L in 0.3048^3 m3
        ("lime.bag", "50 lb", 22.6796),
        ("try-sand.lead", "30 d", 30),
        ("lime.age", "0 d", 0),
    ],
)
def test_a_job_gives_another_value(rule: str, text: str, value: float) -> None:
    own = read_own_rule(system(), rule, text)
    assert own == pytest.approx(value, rel=1e-5)
    assert RuleBook(system(), {rule: own}).value(rule) == own


@pytest.mark.parametrize(
    ("rule", "text", "said"),
    [
        ("base.lime", "3 parts", "3 parts is more than 2 parts (rule base.lime, a guide); choose 2 parts or less"),
        ("base.lime", "244 kg/m3", '"kg/m3" is not a unit for a number of parts'),
        ("base.lime", "1.5", '1.5 has no unit; write "1.5 parts"'),
        ("base.lme", "1 part", 'did you mean "base.lime"?'),
        ("lime.bag", "60 kg", "60 kg is more than 50 kg"),
    ],
)
def test_an_own_value_that_is_refused(rule: str, text: str, said: str) -> None:
    with pytest.raises(ValueError) as refused:
        read_own_rule(system(), rule, text)
    assert said in str(refused.value)


BROKEN = [
    # What is replaced, by what, where the fault is shown (from there on), what is said.
    ("of: sand, amount", "of: snad, amount", "snad, amount", 'unknown goods "snad"; did you mean "sand"?'),
    ("of: water, amount", "of: lime, amount", "lime, amount: 230", '"lime" stands twice; add the two up'),
    ("amount: 3 parts", "amount: 3", "3, reason: r, source: s}\n      - {of: lime", "3 has no unit; write"),
    ("amount: 3 parts", "amount: 3 buckets", "3 buckets", "is not counted in one of parts, kg/m3"),
    ("amount: 3 parts", "amount: -3 parts", "-3 parts", "less than 0"),
    ("amount: 1 part,", "amount: 3 parts,", "{of: lime", "3 parts lies outside its own least and most"),
    ("least: 0.5 parts", "least: 5 kg/m3", "{of: lime", '"5 kg/m3" is counted otherwise than "1 part"'),
    ("amount: 230 L/m3, reason: r, ", "amount: 230 L/m3, ", "{of: water", '"reason" is missing'),
    ("of: water, amount", "off: water, amount", "off: water", 'unknown key "off"; did you mean "of"?'),
    ("amount: 1.3 m2/m2", "amount: 1.3 L/m2", "1.3 L/m2", "it is used again, so it is counted in m2/m2"),
    ("  - {id: base.yield, value: 70 %, reason: r, source: s}\n", "", "base\n    name", 'rule "base.yield" is missing'),
    ("id: sand, name: sharp sand", "id: sand, names: sharp sand", "names", 'did you mean "name"?'),
    ("cautions: [lime, dust]", "cautions: [lime, dusty]", "dusty", 'unknown caution "dusty"'),
    ("- {id: water, name: water}", "- {id: waste, name: water}", "waste, name", "the id is the name of a rule"),
    ("  - {id: water, name", "  - {id: base, name", "base, name: water", 'its id is taken by the coat in line'),
    ("  - {id: lime.density, value: 500 kg/m3, reason: r, source: s}\n", "", "lime.bag, value", "is counted in L"),
    ("lime.order, value: 14 d", "lime.order, value: 14 kg", "14 kg", '"kg" is not a unit for a number of days'),
    ("id: lime.order", "id: lmie.order", "lmie.order", '"order" is a rule of goods; unknown goods "lmie"'),
    ("id: lime.order", "id: lime.tub", "14 d", "is not a unit for a mass"),
    ("id: cloth.roll, value: 80 m2", "id: cloth.bag, value: 80 kg", "cloth.bag", 'write "cloth.roll: 80 m2"'),
    ("before: base", "before: bsae", "bsae", 'before: unknown coat "bsae"; did you mean "base"?'),
    ("hold: panel-dry", "hold: panel-try", "panel-try", 'hold: unknown hold point "panel-try"'),
    ("lead: 8 weeks", "lead: 8", "8\n", "8 has no unit"),
    ("    cautions: [dust]\n", "    cautions: [dusk]\n", "dusk]", 'unknown caution "dusk"'),
    ("  - {id: cloth, name: hessian, again: true}\n",
     "  - {id: cloth, name: hessian, again: true}\n  - {id: hair, name: hair}\n", "hair, name", "no coat takes it"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "mark", "said"), BROKEN)
def test_each_fault_is_told_at_its_place(old: str, new: str, mark: str, said: str) -> None:
    assert WHOLE.count(old) == 1, old
    text = WHOLE.replace(old, new)
    place = at(text, mark if text.count(mark) == 1 else new)
    found = [one for one in faults(text) if said in one]
    assert found, faults(text)
    assert any(one.startswith(f"{place}:") for one in found), (place, found)


def test_all_faults_are_told_at_once() -> None:
    text = WHOLE.replace("amount: 3 parts", "amount: 3").replace("before: base", "before: bsae")
    text = text.replace("cautions: [lime, dust]", "cautions: [lime, dusty]")
    assert len(faults(text)) == 3


def test_weight_and_volume_go_together_only_with_a_density() -> None:
    finish = "    season: true\n    takes: [{of: lime, amount: 244 kg/m3, reason: r, source: s}]\n"
    both = WHOLE.replace("    season: true\n", finish)
    assert read_system(FILE, both).units["lime"] == "kg"
    without = both.replace("  - {id: lime.density, value: 500 kg/m3, reason: r, source: s}\n", "")
    assert any("by volume and by weight" in one for one in faults(without))


@pytest.mark.parametrize("path", sorted(built_in_folder().glob("*.yaml")), ids=lambda path: path.stem)
def test_what_is_built_in_says_where_it_comes_from(path: Path) -> None:
    built_in = read_system(path)
    takes = [take for coat in built_in.coats for take in coat.takes]
    assert takes
    for one in (*takes, *built_in.ahead):
        assert one.source.strip()
        assert one.reason.endswith(".")
        if "unverified" in one.source:
            assert one.source.endswith("from memory, unverified")
        if "no source" in one.source:
            assert one.source == "common practice, no source"
    for one in built_in.goods:
        assert all(not text or text.endswith(".") for text in (one.order, one.make)), one.id


def test_the_base_mix_is_the_published_one() -> None:
    """Guide to a lime-stabilised earth base coat: sand 8, clay 2, hydrated lime 1.33, chopped straw 4, water 3.6."""
    takes = {take.of: take.amount for take in load_systems(["clay-lime"])[0]["clay-lime"].coats[0].takes}
    assert {of: one.value for of, one in takes.items() if one.kind == "parts"} == {
        "sand": 8,
        "clay": 2,
        "lime": 1.33,
        "straw": 4,
    }
    # 15.33 parts make about 10 of mortar: 3.6 parts of water to these are 360 L in a cubic metre.
    assert takes["water"].value == pytest.approx(1000 * 3.6 / (15.33 * 0.65), rel=0.01)


def test_nobody_pours_water_on_quicklime() -> None:
    (putty,) = [one for one in load_systems(["clay-lime"])[0]["clay-lime"].goods if one.id == "putty"]
    assert "never water onto quicklime" in putty.make
    assert "goggles" in putty.make
    assert "lime" in putty.cautions
