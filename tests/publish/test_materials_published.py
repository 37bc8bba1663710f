"""Materials for people: a table any spreadsheet reads, pages of 80 cells, metric and US."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len
from sample_plans import NOW, booking, plan

from curing.model.plan import Act, Due, Material, Notice, Plan, State, Supply, Walked
from curing.publish.amounts import packs, said
from curing.publish.materials_csv import COLUMNS, materials_csv, safe
from curing.publish.plan_json import dump, load
from curing.publish.terminal_first import first, needs
from curing.publish.terminal_materials import materials_page
from curing.publish.terminal_names import Names
from curing.publish.terminal_today import Standing
from curing.publish.words import Words

TODAY = NOW.date()
PRACTICE = "common practice, no source"
METRIC, US = Words("metric"), Words("us")


def sample(*, begun: bool = False, conditional: bool = False, days: int = 3) -> Plan:
    order = Due(
        Act.ORDER,
        TODAY + timedelta(days),
        14,
        "3-out.finish",
        TODAY + timedelta(20),
        "putty.order",
        PRACTICE,
        conditional,
    )
    putty = Supply(
        "putty", "lime putty", ("clay-lime",), 45.359237, "kg", 33.6, 3, 20.0, "putty.tub", PRACTICE, (order,),
        "Ask when it was slaked.", ("lime",), begun=begun,
    )  # fmt: skip
    taken = Material(
        "clay-lime", "finish", "lime putty", 45.359237, "kg", "finish.putty", "putty", "a, guide", {"2026-W26": 45.36}
    )
    labour = Material("clay-lime", "finish", "labour", 8.0, "h", "finish.labour", "", PRACTICE, {"2026-W26": 8.0})
    coat = booking("3-out.finish", NOW + timedelta(20), state=State.CONDITIONAL if conditional else State.FIRM)
    return plan([coat], materials=(taken, labour), supplies=(putty,))


WALKS = (Walked("2026-W27", "clay-lime", "finish", 0.75, 7.570823568),)


def read(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline=""), strict=True))


def page(made: Plan, words: Words = METRIC) -> list[str]:
    lines = materials_page(made, WALKS, Standing("job.yaml", True), Names(made, words, NOW), TODAY)
    assert all(cell_len(line) <= 80 and line == line.rstrip() for line in lines)
    return lines


def test_the_table_is_as_rfc_4180_asks() -> None:
    text = materials_csv(sample(), WALKS, METRIC, TODAY)
    assert text.endswith("\r\n")
    assert text.count("\r\n") == text.count("\n")
    assert '"a, guide"' in text  # a comma stands in quotes
    assert {len(row) for row in csv.reader(io.StringIO(text, newline=""))} == {len(COLUMNS)}
    assert tuple(read(text)[0]) == COLUMNS


def test_columns_stand_as_they_were_promised() -> None:
    assert COLUMNS[:16] == (
        "row", "what", "amount", "unit", "packs", "pack", "system", "coat", "week", "by", "days_late", "if",
        "for_coat", "for_day", "rule", "source",
    )  # fmt: skip


def test_each_row_is_one_fact_with_unit_rule_and_source() -> None:
    rows = read(materials_csv(sample(conditional=True), WALKS, METRIC, TODAY))
    by = {(row["row"], row["what"], row["week"]): row for row in rows}
    assert by["coat", "lime putty", ""]["amount"] == "45.36"
    assert by["week", "labour", "2026-W26"]["amount"] == "8.0"
    bought = by["buy", "lime putty", ""]
    assert (bought["packs"], bought["pack"], bought["unit"], bought["rule"]) == ("3", "20.0", "kg", "putty.tub")
    ordered = by["order", "lime putty", ""]
    assert (ordered["by"], ordered["if"], ordered["rule"], ordered["days_late"]) == (
        "2026-06-12",
        "IF",
        "putty.order",
        "",
    )
    assert all(row["source"] for row in rows if row["row"] != "rounds")
    assert by["rounds", "misting", "2026-W27"]["amount"] == "7.57"


def test_what_is_late_counts_its_days_unless_some_is_in_the_wall() -> None:
    late = read(materials_csv(sample(days=-2), WALKS, METRIC, TODAY))
    assert [row["days_late"] for row in late if row["row"] == "order"] == ["2"]
    begun = read(materials_csv(sample(days=-2, begun=True), WALKS, METRIC, TODAY))
    assert [row["days_late"] for row in begun if row["row"] == "order"] == [""]


def test_americans_read_pounds_and_gallons() -> None:
    rows = read(materials_csv(sample(), WALKS, US, TODAY))
    putty = next(row for row in rows if row["row"] == "coat" and row["what"] == "lime putty")
    assert (putty["amount"], putty["unit"]) == ("100.0", "lb")  # 45.359237 kg
    water = next(row for row in rows if row["what"] == "misting")
    assert (water["amount"], water["unit"]) == ("2.0", "gal")  # 7.570823568 L
    assert any("100 lb" in line for line in page(sample(), US))


@pytest.mark.parametrize("name", ["=HYPERLINK(1)", "+1", "-2 mortar", "@sand", "\t=1"])
def test_no_cell_is_taken_for_a_formula(name: str) -> None:
    made = sample()
    evil = replace(made, materials=(replace(made.materials[0], what=name, source=name),))
    cells = [cell for row in read(materials_csv(evil, WALKS, METRIC, TODAY)) for cell in row.values()]
    assert f"'{name}" in cells
    assert not [cell for cell in cells if cell.startswith(("=", "+", "-", "@", "\t"))]


@given(st.text(max_size=60))
def test_any_name_comes_back_from_the_table(name: str) -> None:
    made = sample()
    odd = replace(made, materials=(replace(made.materials[0], what=name),))
    rows = read(materials_csv(odd, WALKS, METRIC, TODAY))
    assert rows[0]["what"] == safe(name)


def test_the_page_says_what_to_order_by_when_and_how_many_tubs() -> None:
    lines = page(sample())
    assert any(
        line.split() == ["12", "Jun", "3", "out", "finish,", "29", "Jun", "order", "lime", "putty"] for line in lines
    )
    assert any("45 kg" in line and "3 tubs of 20 kg" in line for line in lines)
    assert any("Ask when it was slaked." in line for line in lines)
    assert any("Wet lime burns." in line for line in lines)


def test_an_if_and_a_day_that_is_over_are_marked() -> None:
    assert any(line.startswith("  12 Jun~  3 out finish, 29 Jun") for line in page(sample(conditional=True)))
    late = page(sample(days=-2))
    assert any(line.startswith("! 7 Jun") for line in late)
    assert any(line.startswith("! its day is over") for line in late)
    assert not any(line.startswith("!") for line in page(sample(days=-2, begun=True)))


def test_a_plan_without_amounts_says_so() -> None:
    bare = replace(sample(), materials=(), supplies=())
    assert any("saved without amounts" in line for line in page(bare))


def test_estimates_are_not_more_exact_than_they_are() -> None:
    assert said(1746.06, "kg", METRIC) == "1746 kg"
    assert said(14.0, "h", METRIC) == "14 h"
    assert said(4.25, "kg", METRIC) == "4.2 kg"
    loose = Supply("sand", "sand", (), 1600.0, "kg", 1000.0)
    assert packs(loose, METRIC) == "1 m3 loose"
    assert packs(loose, US) == "1.3 yd3 loose"  # a cubic yard is 0.7646 m3


def test_what_is_written_comes_back() -> None:
    made = sample(conditional=True)
    assert load(dump(made, METRIC)) == made


def test_a_plan_with_the_old_rows_is_still_read() -> None:
    written = json.loads(json.dumps(dump(sample(), METRIC)))
    del written["supplies"]
    old = {"system": "clay-lime", "coat": "base", "what": "water for misting", "amount": 3.0, "unit": "L"}
    written["materials"] = [{**old, "rule": "visit.water"}]
    found = load(written)
    assert found.supplies == ()
    assert found.materials == (Material("clay-lime", "base", "water for misting", 3.0, "L", "visit.water"),)
    assert any("water for misting 3 L" in line for line in page(found))


@pytest.mark.parametrize(
    ("key", "values", "said"),
    [
        ("order_by", {}, "order lime putty by Fri 12 June, for 3 out finish on Mon 29 June"),
        ("order_late", {"days": 2}, "order lime putty: due Fri 12 June, 2 days ago, for 3 out finish on Mon 29 June"),
        ("make_by", {}, "make ready lime putty by Fri 12 June, for 3 out finish on Mon 29 June"),
        (
            "make_late",
            {"days": 1},
            "make ready lime putty: due Fri 12 June, 1 day ago, for 3 out finish on Mon 29 June",
        ),
        ("do_by", {}, "by Fri 12 June, for 3 out finish on Mon 29 June: lime putty"),
    ],
)
def test_what_is_due_heads_a_plan_with_its_answer(key: str, values: dict[str, int], said: str) -> None:
    told = {"what": "lime putty", "id": "putty", "day": "2026-06-12", "coat": "3-out.finish", "for_day": "2026-06-29"}
    notice = Notice("putty.order", key, {**told, **values}, ("3-out",), urgent=True)
    made = replace(sample(), warnings=(notice,))
    names = Names(made, METRIC, NOW)
    (need,) = [one for one in needs(made, names) if one.kind == key]
    assert need.text == said
    lines = " ".join(" ".join(first([need], names, "job.yaml")).split())
    assert lines.endswith("> when it is there, at the head of the job file: at_hand: { putty: DATE }")
