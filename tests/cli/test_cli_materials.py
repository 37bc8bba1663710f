"""The command: what to order by when, as a page, a table and JSON; nothing is saved by it."""

from __future__ import annotations

import csv
import io
import json
from collections import Counter

import pytest
from cli_court import Court, narrow


def rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline=""), strict=True))


@pytest.fixture
def bare(court: Court) -> Court:
    """Alder Court with nothing at hand yet."""
    text = court.job.read_text()
    start = text.index("\nat_hand:\n") + 1
    court.job.write_text(text[:start] + text[text.index("\n\n", start) + 1 :])
    return court


def test_the_page_of_alder_court(bare: Court) -> None:
    bare.say("plan")
    lines = bare.say("materials")
    assert "revision 1 of Fri 30 April" in lines[0]
    assert any(line.split()[-2:] == ["25", "kg"] and "hydrated lime" in line for line in lines)
    assert any("All of it in one batch, so that no joint in colour shows" in line for line in lines)
    assert any(line.startswith("! ") and "order hydrated lime" in line for line in lines)
    text = " ".join(" ".join(lines).split())
    assert "never water onto quicklime" in text
    assert "Another figure: rules:" in text


def test_without_a_plan_it_is_worked_out_and_nothing_is_saved(court: Court) -> None:
    lines = court.say("materials")
    assert "not saved" in lines[0]
    assert not court.state.exists()


def test_the_table_can_be_read_and_its_sums_are_those_of_the_page(bare: Court) -> None:
    result = bare.run("materials", "--csv", "-")
    assert result.exit_code == 0
    found = rows(result.stdout)
    kinds = Counter(row["row"] for row in found)
    assert set(kinds) == {"coat", "week", "rounds", "buy", "order", "make"}
    sand = [float(row["amount"]) for row in found if row["row"] == "coat" and row["what"] == "sharp sand"]
    (bought,) = [row for row in found if row["row"] == "buy" and row["what"] == "sharp sand"]
    assert sum(sand) == pytest.approx(float(bought["amount"]), abs=0.05)
    weeks = [float(row["amount"]) for row in found if row["row"] == "week" and row["what"] == "sharp sand"]
    assert sum(weeks) == pytest.approx(sum(sand), abs=0.1)
    assert any("sharp sand" in line and f"{sum(sand):.0f} kg" in line for line in bare.say("materials"))


def test_a_table_in_a_file(planned: Court) -> None:
    where = planned.job.parent / "materials.csv"
    lines = planned.say("materials", "--csv", str(where))
    assert any(line.startswith("written ") for line in lines)
    assert where.read_bytes() == planned.run("materials", "--csv", "-").stdout_bytes
    assert where.read_bytes().count(b"\r\n") == len(rows(where.read_text())) + 1


def test_a_table_that_cannot_be_written(planned: Court) -> None:
    result = planned.run("materials", "--csv", str(planned.job.parent / "no" / "materials.csv"))
    assert result.exit_code == 1
    assert "can't be written" in result.stderr
    assert result.stdout == ""


def test_json_holds_the_same(planned: Court) -> None:
    result = planned.run("materials", "--json")
    data = json.loads(result.stdout)
    assert data["format"] == 1
    assert data["revision"] == 1
    assert {one["id"] for one in data["supplies"]} >= {"lime", "putty", "silicate-paint", "hessian"}
    assert all(one["source"] for one in data["materials"])
    both = planned.run("materials", "--json", "--csv", "-")
    assert both.exit_code == 2


def test_a_figure_of_the_job_file_counts(court: Court) -> None:
    before = next(line for line in court.say("materials") if "bags of 25 kg" in line and "lime" in line)
    court.edit("\nwalls:\n", "\nrules: { base.lime: 2.66 parts, lime.bag: 20 kg }\nwalls:\n")
    after = next(line for line in court.say("materials") if "bags of 20 kg" in line and "hydrated" in line)
    assert before != after
    found = rows(court.run("materials", "--csv", "-").stdout)
    (lime,) = [row for row in found if row["row"] == "coat" and row["rule"] == "base.lime"]
    assert lime["source"] == "job file"


def test_what_is_there_is_not_ordered(bare: Court) -> None:
    bare.edit("\nwalls:\n", "\nat_hand: { lime: 2027-04-12, silicate-paint: 2027-05-20 }\nwalls:\n")
    lines = bare.say("materials")
    assert not any("order hydrated lime" in line or "order silicate paint" in line for line in lines)
    assert any("hydrated lime" in line and line.endswith("there since 12 Apr") for line in lines)
    assert any("silicate paint" in line and line.endswith("there from 20 May") for line in lines)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("at_hand: { lmie: 2027-04-12 }", 'at_hand: unknown goods "lmie"; did you mean "lime"?'),
        ("at_hand: { lime: yesterday }", "at_hand: lime"),
        ("rules: { base.lime: 3 }", "3 has no unit"),
        ("rules: { base.lime: 244 kg/m3 }", "is not a unit for a number of parts"),
        ("rules: { putty.aeg: 90 d }", 'did you mean "putty.age"?'),
    ],
)
def test_faults_of_the_job_file(bare: Court, line: str, said: str) -> None:
    bare.edit("\nwalls:\n", f"\n{line}\nwalls:\n")
    result = bare.run("materials")
    assert result.exit_code == 1
    assert said in " ".join(result.stderr.split())
    assert "court.yaml:" in result.stderr


def test_us_units_and_odd_names_keep_to_the_width(court: Court) -> None:
    court.edit("units: metric", "units: us")
    lines = court.say("materials")
    assert any("55.1 lb" in line for line in lines)  # what is printed on a bag of 25 kg
    assert any("yd3 loose" in line for line in lines)


def test_every_rule_of_a_system_is_printed_with_its_whole_source(court: Court) -> None:
    from cli_court import app
    from typer.testing import CliRunner

    lines = narrow(CliRunner().invoke(app, ["systems", "clay-lime"]).stdout)
    place = lines.index(next(line for line in lines if line.startswith("base.lime ")))
    assert lines[place].split()[1:3] == ["1.33", "parts"]
    assert lines[place + 1] == "    public guide to a lime-stabilised earth base coat"
    assert any(line.startswith("putty.age ") for line in lines)
    assert any(line.startswith("lay-sample.lead ") for line in lines)
