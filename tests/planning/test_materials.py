"""What a job takes: the trade's own sums to the bag, a job worked by hand, weeks, and days to order and make by."""

from __future__ import annotations

import math
from datetime import date, timedelta
from typing import Any

import pytest
from court import DAY, OPENINGS, at, face, job_file, planned, wall

from curing.model.plan import Act, Due, Material, Plan, Supply
from curing.planning.materials import walked, week
from curing.planning.supplies import ahead_of_need

NOW = at(4, 30)
HYDRAULIC = [*(hold for hold in OPENINGS if hold != "sample-panel"), "sample-lime"]


def row(plan: Plan, coat: str, what: str, system: str = "clay-lime") -> Material:
    (found,) = [one for one in plan.materials if (one.system, one.coat, one.what) == (system, coat, what)]
    return found


def supply(plan: Plan, id_: str) -> Supply:
    (found,) = [one for one in plan.supplies if one.id == id_]
    return found


def due(plan: Plan, id_: str, act: Act) -> Due:
    (found,) = [one for one in supply(plan, id_).due if one.act is act]
    return found


def one_wall(*, start: str = "2027-05-03", facing: str = "N", **more: Any) -> dict[str, Any]:
    """A face of 10 m2 to the north, whose base is laid on a Monday."""
    return job_file(wall("1", face(facing, start=start), dry="2027-04-30"), **more)


# ------------------------------------------------------------------------- the trade's own sums


@pytest.mark.parametrize(
    ("per_m3", "kilos", "bags", "bags_with_waste"),
    [("305 kg/m3", 228.75, 10, 11), ("244 kg/m3", 183.0, 8, 9), ("216 kg/m3", 162.0, 7, 8)],
)
@pytest.mark.parametrize("waste", [0, 10])
def test_hydraulic_lime_to_the_bag(per_m3: str, kilos: float, bags: int, bags_with_waste: int, waste: int) -> None:
    """Producer's data on NHL 3.5: 1:2, 1:2.5 and 1:3 take 305, 244 and 216 kg in a cubic metre; 50 m2 at 15 mm."""
    faces = [wall(str(k), face(system="hydraulic-lime")) for k in range(1, 6)]
    rules = {"first.thickness": "15 mm", "first.lime": per_m3, "first.waste": f"{waste} %", "lime.bag": "25 kg"}
    rules |= {f"{coat}.lime": "0 kg/m3" for coat in ("stipple", "second", "finish")}
    plan = planned(job_file(*faces, rules=rules, holds=dict.fromkeys(HYDRAULIC, "2027-02-01")), NOW)
    lime = row(plan, "first", "natural hydraulic lime", "hydraulic-lime")
    assert lime.amount == pytest.approx(kilos * (1 + waste / 100), abs=0.01)
    assert supply(plan, "lime").packs == (bags_with_waste if waste else bags)


def test_bags_are_rounded_up_last_over_the_whole_job() -> None:
    """Two faces of 10 m2 and one coat each take 10.2 kg: one bag of 25 kg, not two."""
    rules = {"base.lime": "1 part", "lime.bag": "25 kg"}
    plan = planned(job_file(*(wall(k, face()) for k in ("1", "2")), rules=rules), NOW)
    bags = supply(plan, "lime")
    assert bags.amount < 25
    assert bags.packs == 1
    assert planned(job_file(wall("1", face()), rules=rules), NOW).supplies  # one face alone takes a bag as well


def test_a_job_by_hand() -> None:
    """10 m2: base 13 mm and finish 8 mm with 10 % waste, mixed 8:2:1.33:4 (yield 65 %) and 1:3 (75 %)."""
    plan = planned(one_wall(), NOW)
    mortar = 10 * 13 * 1.1
    assert row(plan, "base", "mortar").amount == pytest.approx(mortar) == pytest.approx(143)
    loose = 143 / 0.65  # 220 L of loose parts
    for what, parts, density in (
        ("sharp sand", 8, 1.6), ("clay", 2, 1.1), ("hydrated lime", 1.33, 0.5), ("chopped straw", 4, 0.06)
    ):  # fmt: skip
        kilos = loose * parts / 15.33 * density
        assert row(plan, "base", what).amount == pytest.approx(kilos, abs=0.01), what
    assert row(plan, "base", "water for mixing").amount == pytest.approx(0.143 * 360, abs=0.01)
    loose = 10 * 8 * 1.1 / 0.75
    assert row(plan, "finish", "lime putty").amount == pytest.approx(loose / 4 * 1.35, abs=0.01)
    assert row(plan, "finish", "fine sand").amount == pytest.approx(loose * 3 / 4 * 1.6, abs=0.01)
    for coat in ("paint-1", "paint-2"):
        assert row(plan, coat, "silicate paint").amount == pytest.approx(10 * 0.15 * 1.1)
    assert row(plan, "base", "labour").amount == 10
    assert row(plan, "finish", "misting").amount == pytest.approx(42 * 3)  # 42 visits at 0.3 L/m2: 12.6 L/m2
    assert supply(plan, "silicate-paint").amount == pytest.approx(3.3)  # one batch for both coats
    assert supply(plan, "silicate-paint").packs == 1


def test_the_base_mix_is_as_heavy_as_plaster_is() -> None:
    """Dry plaster yields 1.6-1.7 kg a square metre and millimetre: the parts weigh that, within a tenth."""
    plan = planned(one_wall(rules={"base.waste": "0 %"}), NOW)
    dry = sum(row(plan, "base", what).amount for what in ("sharp sand", "clay", "hydrated lime", "chopped straw"))
    assert 1.6 * 0.9 <= dry / (10 * 13) <= 1.7 * 1.1


def test_the_sand_of_the_hydraulic_mix_is_twice_its_lime() -> None:
    """1:2 by volume with lime of 0.65 kg a litre: 305 kg are 469 L, and 938 L of sand go with them."""
    rules = {"first.waste": "0 %", "first.thickness": "10 mm"}
    holds = dict.fromkeys(HYDRAULIC, "2027-02-01")
    plan = planned(job_file(wall("1", face(system="hydraulic-lime")), rules=rules, holds=holds), NOW)
    lime = row(plan, "first", "natural hydraulic lime", "hydraulic-lime").amount / 0.65
    sand = row(plan, "first", "sharp sand", "hydraulic-lime").amount / 1.6
    assert sand / lime == pytest.approx(2, rel=0.01)


# ------------------------------------------------------------------------- what counts and what not


def test_waste_of_one_face_is_that_of_the_face() -> None:
    uneven = wall("2", face(rules={"base.waste": "15 %"}))
    plan = planned(job_file(wall("1", face()), uneven), NOW)
    mortar = row(plan, "base", "mortar")
    assert mortar.amount == pytest.approx(10 * 13 * (1.10 + 1.15))


def test_coats_that_are_done_are_left_out_and_their_goods_are_in_use() -> None:
    laid = wall("1", face(done={"base": "2027-04-20"}), dry="2027-04-15")
    plan = planned(job_file(laid, wall("2", face())), at(5, 3))
    assert row(plan, "base", "mortar").amount == pytest.approx(143)
    assert row(plan, "finish", "mortar").amount == pytest.approx(2 * 88)
    assert supply(plan, "lime").begun
    assert not supply(plan, "putty").begun


def test_a_job_that_is_done_takes_nothing() -> None:
    done = {"base": "2027-03-01", "finish": "2027-03-20", "paint-1": "2027-05-10", "paint-2": "2027-05-11"}
    plan = planned(job_file(wall("1", face(done=done))), at(5, 13))
    assert plan.materials == ()
    assert plan.supplies == ()


def test_every_figure_says_where_it_comes_from_and_an_own_one_that_it_is_the_job_files() -> None:
    plan = planned(one_wall(rules={"base.lime": "1.5 parts", "lime.bag": "20 kg", "putty.age": "90 d"}), NOW)
    assert all(one.source and one.rule for one in plan.materials)
    assert all(one.source for supply in plan.supplies for one in supply.due)
    assert row(plan, "base", "hydrated lime").source == "job file"
    assert supply(plan, "lime").pack_source == "job file"
    assert due(plan, "putty", Act.MAKE).source == "job file"
    assert row(plan, "base", "clay").source != "job file"


def test_cloth_is_used_again_so_the_most_at_one_time_counts() -> None:
    """South faces of 10 m2 whose finishes lie 3 weeks apart: cloth stands 14 days, so one is hung after the other."""
    walls = [wall("1", face("S", start="2027-05-03")), wall("2", face("S", start="2027-05-31"))]
    apart = planned(job_file(*walls, holds=dict.fromkeys([*OPENINGS], "2027-02-01")), NOW)
    finishes = [one.day for f in apart.faces for one in f.coats if one.coat == "finish"]
    assert abs((finishes[1] - finishes[0]).days) > 14
    assert supply(apart, "hessian").amount == pytest.approx(10 * 1.3)
    together = planned(job_file(*(wall(k, face("S")) for k in ("1", "2"))), NOW)
    assert supply(together, "hessian").amount == pytest.approx(2 * 10 * 1.3)


def test_no_cloth_for_a_face_without_sun() -> None:
    assert "hessian" not in [one.id for one in planned(one_wall(), NOW).supplies]


# ------------------------------------------------------------------------- week by week


def test_weeks_follow_the_days_of_coats_and_are_not_rounded_to_bags() -> None:
    plan = planned(one_wall(), NOW)
    days = {one.coat: one.day for one in plan.faces[0].coats}
    assert days["base"] == date(2027, 5, 3)
    lime = row(plan, "base", "hydrated lime")
    assert lime.weeks == {"2027-W18": lime.amount}
    assert row(plan, "finish", "labour").weeks == {week(days["finish"]): 10}


def test_weeks_add_up() -> None:
    plan = planned(job_file(*(wall(str(k), face()) for k in range(1, 8))), NOW)
    for one in plan.materials:
        if one.weeks:
            assert sum(one.weeks.values()) == pytest.approx(one.amount, abs=0.1), one.what
            assert len(one.weeks) > 1 or one.amount < 200


def test_rounds_of_a_week_are_those_of_the_plan_from_today_on() -> None:
    """Of the base 6 visits are asked for, twice on three days: 3 L and 9 min each, Tue to Thu of one week."""
    plan = planned(one_wall(), NOW)
    base = [one for one in walked(plan, date(2027, 5, 3)) if one.coat == "base"]
    assert [(one.week, one.water, one.hours) for one in base] == [("2027-W18", 18.0, 0.9)]
    later = [one for one in walked(plan, date(2027, 5, 6)) if one.coat == "base"]
    assert [one.water for one in later] == [6.0]


# ------------------------------------------------------------------------- by when


def test_an_order_is_counted_back_to_a_working_day() -> None:
    """Base on Mon 3 May. Lime 14 d ahead: Mon 19 April. Sand 7 d: Mon 26. Clay 3 d soaked: Fri 30 April."""
    plan = planned(one_wall(), NOW)
    assert due(plan, "lime", Act.ORDER).by == date(2027, 4, 19)
    assert due(plan, "sand", Act.ORDER).by == date(2027, 4, 26)
    assert due(plan, "clay", Act.MAKE).by == date(2027, 4, 30)
    assert due(plan, "clay", Act.ORDER).by == date(2027, 4, 16)  # 14 d before it is soaked


def test_not_on_a_weekend_or_a_holiday() -> None:
    """King's Day is Tue 27 April: 6 d before Mon 3 May, so the order goes out on Mon 26."""
    plan = planned(one_wall(rules={"sand.order": "6 d", "lime.order": "1 d"}), NOW)
    assert due(plan, "sand", Act.ORDER).by == date(2027, 4, 26)
    assert due(plan, "lime", Act.ORDER).by == date(2027, 4, 30)  # Sun 2 May: the Friday before


def test_putty_ripens_before_its_finish_and_its_lime_is_ordered_before_that() -> None:
    plan = planned(one_wall(), NOW)
    finish = next(one.day for one in plan.faces[0].coats if one.coat == "finish")
    made, ordered = due(plan, "putty", Act.MAKE), due(plan, "putty", Act.ORDER)
    assert (made.coat, made.day) == ("1-out.finish", finish)
    assert finish - made.by >= timedelta(28)
    assert finish - ordered.by >= timedelta(42)
    ripe = planned(one_wall(rules={"putty.age": "0 d"}), NOW)
    assert [one.act for one in supply(ripe, "putty").due] == [Act.ORDER]
    assert finish - due(ripe, "putty", Act.ORDER).by <= timedelta(17)


def test_the_first_coat_that_needs_it_counts() -> None:
    plan = planned(job_file(wall("1", face(start="2027-06-07")), wall("2", face(start="2027-05-10"))), NOW)
    assert due(plan, "lime", Act.ORDER).coat == "2-out.base"


def test_behind_an_unmet_hold_it_is_an_if() -> None:
    firm, open_ = planned(one_wall(), at(4, 30)), planned(job_file(wall("1", face(start="2027-05-03"))), at(4, 1))
    assert not due(firm, "lime", Act.ORDER).conditional
    assert due(open_, "lime", Act.ORDER).conditional


def test_samples_are_asked_for_until_their_hold_is_met() -> None:
    openings = [hold for hold in OPENINGS if hold != "sample-panel"]
    asked = planned(one_wall(holds=dict.fromkeys(openings, "2027-02-01")), NOW)
    day = due(asked, "lay-sample", Act.DO).day
    assert day - due(asked, "lay-sample", Act.DO).by >= timedelta(42)
    assert day - due(asked, "sand-sample", Act.DO).by >= timedelta(56)
    assert supply(asked, "lay-sample").unit == ""
    assert {"lay-sample", "sand-sample"}.isdisjoint(one.id for one in planned(one_wall(), NOW).supplies)


def test_what_is_there_is_not_asked_for() -> None:
    plan = planned(one_wall(at_hand={"putty": "2027-03-01", "lime": "2027-03-20"}), NOW)
    assert supply(plan, "putty").due == supply(plan, "lime").due == ()
    assert supply(plan, "putty").at_hand == date(2027, 3, 1)
    assert supply(plan, "putty").packs == math.ceil(supply(plan, "putty").amount / 20)


def test_two_systems_buy_their_sand_together() -> None:
    inside = {"side": "in", "area": "10 m2", "height": "2.5 m", "system": "clay-inside"}
    holds = dict.fromkeys([*OPENINGS, "sample-clay"], "2027-02-01")
    plan = planned(job_file(wall("1", face(), inside), holds=holds), NOW)
    sand = supply(plan, "sand")
    assert set(sand.systems) == {"clay-lime", "clay-inside"}
    rows = [one.amount for one in plan.materials if one.goods == "sand"]
    assert len(rows) == 2
    assert sand.amount == pytest.approx(sum(rows), abs=0.02)


# ------------------------------------------------------------------------- the head of the plan


def test_a_fortnight_before_it_is_due_it_heads_the_plan() -> None:
    plan = planned(one_wall(), NOW)
    by = due(plan, "lime", Act.ORDER).by
    assert "lime.order" not in [one.rule for one in ahead_of_need(plan, by - 15 * DAY)]
    (notice,) = [one for one in ahead_of_need(plan, by - 14 * DAY) if one.rule == "lime.order"]
    assert (notice.key, notice.urgent, notice.faces) == ("order_by", False, ("1-out",))
    assert notice.values["what"] == "hydrated lime"
    (late,) = [one for one in ahead_of_need(plan, by + 2 * DAY) if one.rule == "lime.order"]
    assert (late.key, late.values["days"]) == ("order_late", 2)


def test_what_is_in_use_or_there_heads_nothing() -> None:
    laid = wall("1", face(done={"base": "2027-04-20"}), dry="2027-04-15")
    told = [one.rule for one in ahead_of_need(planned(job_file(laid, wall("2", face())), at(5, 3)), date(2027, 5, 3))]
    assert "lime.order" not in told
    assert "putty.order" in told
    there = planned(one_wall(at_hand={"putty": "2027-03-01"}), NOW)
    assert not [one for one in ahead_of_need(there, date(2027, 5, 10)) if one.rule.startswith("putty")]
