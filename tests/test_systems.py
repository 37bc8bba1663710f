"""The built-in coat systems: what the trade does, value by value, each with where it comes from."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from curing.model.plan import Care
from curing.model.system import RULES, Scope, System, Work
from curing.sources.rule_checks import contradictions
from curing.sources.systemfile import built_in_folder, find_systems, load_systems, read_own_rule

PRACTICE, MEMORY = "common practice, no source", "from memory, unverified"
IDS = ("clay-inside", "clay-lime", "hydraulic-lime")

# Rule: value in SI, least, most. The comment names what was published.
CLAY_LIME = {
    # producer's recommendations for NHL on cob: first coat 10-15 mm; to 20 mm in hollows: practice
    "base.thickness": (13, 10, 20),
    "base.one_pass": (20, None, 20),  # contractor's guide: 20 mm trowelled
    "base.labour": (1, None, None),  # practice: 8 m2 in a day of 8 h
    "base.wet_edge": (8, None, None),  # practice: 8 (6-10) m2 a mason and day
    "base.twice_to": (3, 2, 3),  # public-works specification, clause 10.10: 2 d; straw-bale guide: 3 d
    "base.once_to": (3, 2, 3),
    "base.air_least": (5, 5, None),  # NBS clause 497: stop at 5 °C falling
    "finish.thickness": (8, 6, 10),  # guide to two- and three-coat work: 5 smooth, 7-8 coarse
    "finish.one_pass": (20, None, 20),
    "finish.labour": (1, None, None),
    "finish.wet_edge": (8, None, None),
    "finish.least_wait": (10, 10, None),  # straw-bale guide: 10 d between coats of lime
    "finish.least_wait_per_mm": (1, 1, None),  # trade lexicon, Standzeit: 1 d/mm
    "finish.greatest_wait": (28, None, None),  # practice: re-key after about 4 weeks
    "finish.twice_to": (14, 7, 14),  # practice
    "finish.once_to": (28, 28, 60),  # practice
    "finish.hours": (672, 672, None),  # 28 d of 24 h
    "finish.look_from": (3, None, None),
    "finish.look_to": (6, None, None),
    "finish.look_minutes": (10, None, None),
    "finish.cloth_to": (14, 7, None),
    "finish.cloth_sun": (2, None, None),
    "finish.air_least": (8, 5, None),  # producer's recommendations: 8-30 °C
    "finish.air_most": (30, None, 35),
    "paint-1.least_wait": (1, 1, 120),  # practice; what the advice on young lime sets to 56 d
    "paint-1.dry_days": (7, 7, 14),  # practice
    "paint-1.warn_age": (56, 28, None),  # guide to painting new lime plaster: 4-8 weeks
    "paint-1.labour": (0.15, None, None),
    "paint-1.wet_edge": (40, None, None),
    "paint-1.air_least": (8, 5, None),
    "paint-1.air_most": (30, None, 30),
    "paint-1.spread": (0.15, 0.1, 0.3),  # practice: 0.12-0.20 L/m2
    "paint-2.least_wait": (1, 1, None),  # practice: 24 h between coats
    "paint-2.spread": (0.15, 0.1, 0.3),
    "panel.drying": (7 / 25.4, 3.5 / 25.4, None),  # an inch in a week
    "panel.likely_late": (180, 100, None),
    "panel.wettest": (20, None, 20),  # IRC Appendix AR 104.1.1, from memory
    "panel.lapse": (7, None, 14),  # practice
    "panel.least_density": (650, None, None),  # reference on Strohleichtlehm
    "visit.setup": (5, None, None),
    "visit.rate": (3, None, None),
    "visit.water": (0.3, None, 0.5),
    "visit.ground_reach": (3, None, 4),
}

# Producer's recommendations for NHL on cob: stipple 3-5, first 10-15, second 5-10, finish 3-5 mm;
# cured for 2-4, 4-7, 7-10 days; 72 h damp at least; 8-30 °C; paint after 2 d/mm.
HYDRAULIC = {
    "stipple.thickness": (4, 3, 5),
    "first.thickness": (12, 10, 15),
    "second.thickness": (8, 5, 10),
    "finish.thickness": (4, 3, 5),
    "first.least_wait": (3, 2, None),
    "second.least_wait": (7, 4, None),
    "finish.least_wait": (10, 7, None),
    "finish.twice_to": (3, 3, 7),
    "finish.once_to": (7, 7, 28),
    "finish.air_least": (8, 5, None),
    "finish.air_most": (30, None, 35),
    "paint-1.least_wait": (1, 1, 120),
    "paint-1.warn_age": (28, 28, None),
    "paint-1.warn_age_per_mm": (2, 1, None),
    "paint-2.least_wait": (1, 1, None),
}


@pytest.fixture(scope="module")
def systems() -> dict[str, System]:
    return load_systems(IDS)[0]


def test_these_three_are_built_in() -> None:
    assert tuple(sorted(find_systems())) == IDS


@pytest.mark.parametrize(("name", "table"), [("clay-lime", CLAY_LIME), ("hydraulic-lime", HYDRAULIC)])
def test_values_are_those_of_the_trade(systems: dict[str, System], name: str, table: dict) -> None:
    held = {rule.id: rule for rule in systems[name].rules}
    for rule_id, (value, least, most) in table.items():
        rule = held[rule_id]
        assert rule.value == pytest.approx(value), rule_id
        assert rule.least == (None if least is None else pytest.approx(least)), rule_id
        assert rule.most == (None if most is None else pytest.approx(most)), rule_id


def test_the_first_coat_waits_for_no_coat(systems: dict[str, System]) -> None:
    for system in systems.values():
        assert system.rule(f"{system.coats[0].id}.least_wait") is None


@pytest.mark.parametrize("name", IDS)
def test_every_rule_hold_and_step_says_where_it_comes_from(systems: dict[str, System], name: str) -> None:
    system = systems[name]
    steps = [step for coat in system.coats for step in (*coat.before, *coat.after, *coat.visits)]
    for part in (*system.rules, *system.holds, *steps):
        assert part.source.strip(), part.id
        if "unverified" in part.source:
            assert part.source.endswith(MEMORY), part.id
        if "no source" in part.source:
            assert part.source == PRACTICE, part.id
        assert "http" not in part.source
        assert "www" not in part.source
    for part in (*system.rules, *system.holds):
        assert part.reason.endswith("."), part.id
    for step in steps:
        assert step.text.endswith("."), step.id


@pytest.mark.parametrize("name", IDS)
def test_values_go_together(systems: dict[str, System], name: str) -> None:
    system = systems[name]
    assert list(contradictions(system.coats, {rule.id: rule.value for rule in system.rules})) == []


@pytest.mark.parametrize("name", IDS)
def test_a_value_of_its_own_may_be_chosen_for_every_rule(systems: dict[str, System], name: str) -> None:
    for rule in systems[name].rules:
        assert read_own_rule(systems[name], rule.id, rule.written) == pytest.approx(rule.value)


def test_visits_of_worked_example(systems: dict[str, System]) -> None:
    """Twice daily to day 14, then once to day 28: 42 visits, 12.6 L/m2."""
    rule = {r.id: r.value for r in systems["clay-lime"].rules}
    visits = 2 * rule["finish.twice_to"] + rule["finish.once_to"] - rule["finish.twice_to"]
    assert visits == 42
    assert visits * rule["visit.water"] == pytest.approx(12.6)
    assert rule["base.thickness"] * rule["finish.least_wait_per_mm"] == 13 > rule["finish.least_wait"]


def test_paint_on_hydraulic_lime(systems: dict[str, System]) -> None:
    """Published: 2 days a millimetre, so that 20 mm in all make 40 days."""
    per_mm = systems["hydraulic-lime"].rule("paint-1.warn_age_per_mm")
    assert per_mm is not None
    assert per_mm.value * 20 == 40


def test_panel_of_a_foot_dries_in_twelve_weeks_likely_late_in_twenty_one(systems: dict[str, System]) -> None:
    rule = {r.id: r.value for r in systems["clay-lime"].rules}
    days = 304.8 * rule["panel.drying"]
    assert days / 7 == pytest.approx(12)
    assert days / 7 * rule["panel.likely_late"] / 100 == pytest.approx(21.6)


def test_coats_sides_and_titles(systems: dict[str, System]) -> None:
    titles = {name: [coat.title for coat in system.coats] for name, system in systems.items()}
    assert titles["clay-lime"] == ["BASE", "FINISH", "PAINT 1", "PAINT 2"]
    assert titles["hydraulic-lime"] == ["STIPPLE", "FIRST", "SECOND", "FINISH", "PAINT 1", "PAINT 2"]
    assert titles["clay-inside"] == ["BASE", "FINISH"]
    assert systems["clay-lime"].sides == systems["hydraulic-lime"].sides == ("out", "in")
    assert systems["clay-inside"].sides == ("in",)
    season = {name: [coat.id for coat in system.coats if coat.season] for name, system in systems.items()}
    assert season == {"clay-lime": ["finish"], "hydraulic-lime": ["finish"], "clay-inside": []}


def test_clay_inside_is_aired_and_never_wetted(systems: dict[str, System]) -> None:
    system = systems["clay-inside"]
    assert {coat.care for coat in system.coats} == {Care.AIR}
    assert not any("lime" in coat.cautions for coat in system.coats)
    assert not {"roof-gutter", "sills-flashings"} & {hold.id for hold in system.holds}
    for coat in system.coats:
        assert any("drying log" in step.text for step in coat.visits)
        assert not any(re.search(r"\b([Mm]ist|[Ff]og)", step.text) for step in coat.visits)


def test_holds_before_the_first_coat_and_after(systems: dict[str, System]) -> None:
    system = systems["clay-lime"]
    holds = {coat.id: coat.holds for coat in system.coats}
    assert {"panel-dry", "sockets", "sample-panel", "roof-gutter", "sills-flashings"} <= set(holds["base"])
    assert holds["finish"] == ("base-dry",)
    assert holds["paint-1"] == ("paint-tests",)
    panel, base, paint = system.hold("panel-dry"), system.hold("base-dry"), system.hold("paint-tests")
    assert (panel.scope, panel.judges, panel.lapses) == (Scope.WALL, "", "panel.lapse")
    assert panel.task is not None
    assert (panel.task.kind, panel.task.title, panel.task.minutes) == ("reading", "READ both sides", 20)
    assert (base.scope, base.judges, base.task and base.task.title) == (Scope.FACE, "base", "TEST base")
    assert (paint.scope, paint.judges, paint.task and paint.task.title) == (Scope.FACE, "finish", "TEST paint")


def test_what_is_recorded_once_for_a_wall_or_job_means_the_same_in_every_system(systems: dict[str, System]) -> None:
    """Two systems may stand on the two sides of a wall: one recording must not open what it does not answer for."""
    shared: dict[str, object] = {}
    for system in systems.values():
        for hold in system.holds:
            if hold.scope is not Scope.FACE:
                assert shared.setdefault(hold.id, hold) == hold
    drying = [[rule for rule in system.rules if rule.id.startswith("panel.")] for system in systems.values()]
    assert drying[0] == drying[1] == drying[2]


def test_the_first_wetting_of_every_system_asks_for_covered_sockets(systems: dict[str, System]) -> None:
    for system in systems.values():
        assert "sockets" in system.coats[0].holds
        assert "sockets" in system.coats[0].cautions
        for coat in system.coats:
            lime = coat.work is Work.PLASTER and system.id != "clay-inside"
            assert ("lime" in coat.cautions) == lime
            assert ("paint" in coat.cautions) == (coat.work is Work.PAINT)


def test_sentences_of_a_visit_stand_as_the_crew_reads_them(systems: dict[str, System]) -> None:
    finish = systems["clay-lime"].coat("finish")
    assert finish is not None
    texts = [step.text for step in finish.visits]
    assert texts[:2] == [
        "Fog the whole face until it darkens. Never run-off.",
        'Dark: leave it, tick "still damp". Pale patches: mist.',
    ]


@pytest.mark.parametrize("name", IDS)
def test_inside_nobody_hears_of_cloth_sun_or_rain(systems: dict[str, System], name: str) -> None:
    weather = re.compile(r"\b(cloth|sun|sunny|shade|rain|dew and|sheet)\b", re.IGNORECASE)
    for coat in systems[name].coats:
        for step in (*coat.before, *coat.after, *coat.visits):
            assert (step.where == "any") == (not weather.search(step.text)), (coat.id, step.id)
            if "hang" in step.text.lower() and "or hang" not in step.text:
                assert step.where == "sunny", (coat.id, step.id)


@pytest.mark.parametrize("name", IDS)
def test_figures_of_steps_and_holds_stand_in_both_systems_of_units(systems: dict[str, System], name: str) -> None:
    """Every length and temperature in a sentence is followed by its like in inches or degrees Fahrenheit."""
    system = systems[name]
    steps = [step.text for coat in system.coats for step in (*coat.before, *coat.after, *coat.visits)]
    for text in (*steps, *(part for hold in system.holds for part in (hold.text, hold.lifts))):
        for figure in re.finditer(r"\d (mm|°C)", text):
            assert re.match(r" \([\d/-]+ (in|°F)\)", text[figure.end() :]), text


@pytest.mark.parametrize("name", IDS)
def test_a_coated_side_is_not_pierced_to_read_the_panel(systems: dict[str, System], name: str) -> None:
    panel = systems[name].hold("panel-dry")
    assert panel.lifts.endswith("Once one side is coated, read from the bare side only, deeper.")


def test_every_kind_of_rule_is_used_by_a_built_in_system(systems: dict[str, System]) -> None:
    used = {rule.name for system in systems.values() for rule in system.rules}
    assert used == set(RULES)


@pytest.mark.parametrize("path", sorted(built_in_folder().glob("*.yaml")), ids=lambda path: path.name)
def test_files_tell_how_to_copy_and_change_them(path: Path) -> None:
    head = path.read_text(encoding="utf-8").partition("\ncuring:")[0]
    assert all(line.startswith("#") or not line for line in head.splitlines())
    assert '"systems" beside your job file' in head
