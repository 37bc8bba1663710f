"""No line is wider than a terminal of 80 columns, whatever stands in the files."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import jobs
import pytest
from cli_court import Court, narrow
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from curing.publish.terminal_layout import fit, table, wrap

NAMES = {
    "long": "the long wall beside the lane that leads to the mill and back to the yard again",
    "no spaces": "A" * 80,
    "markup": "[bold]road[/bold] {name} %s \\\\n <b>side</b>",
    "right to left": "جدار الشارع الشمالي قرب البوابة",
    "wide": "北の道に面した壁の一番目の区画と門",
    "accents": "e\u0301" * 40,
    "families": "👨‍👩‍👧‍👦🏠 " * 6,
}


def test_names(court: Court) -> None:
    text = court.job.read_text().replace("units: metric", "units: us")
    walls = [
        f"    name: {old}\n" for old in ("road side, bay 1", "road side, bay 2", "road side, bay 3", "north gable")
    ]
    walls += ["    name: yard side, bay 1\n", "    name: yard side, bay 2\n", "    name: south gable\n"]
    others = ["    name: Wil\n", "    name: Noor\n", "    name: Tijn\n", "    name: Saar\n", "name: Alder Court\n"]
    names = list(NAMES.values())
    for old, name in zip([*walls, *others], names + names[: len(others)], strict=True):
        assert old in text
        text = text.replace(old, old[: old.index("name:")] + 'name: "' + name.strip()[:80] + '"\n')
    court.job.write_text(text.replace("scaffold: road scaffold", f'scaffold: "{names[0][:80]}"'))
    assert any(line.startswith("1 out the long wall") for line in court.say("plan"))
    court.say("today", at="2027-05-06 06:00")
    court.edit("base.thickness: 15 mm", "base.thickness: 18 mm")
    court.say("plan")
    court.say("changes")


@pytest.mark.parametrize("seed", [3, 6])
def test_any_job(tmp_path: Path, seed: int) -> None:
    invented = jobs.invent(seed, 6, 2)
    court = Court(tmp_path / "job.yaml", tmp_path / "state")
    court.job.write_text(invented.text)
    for days in (0, 20):
        at = (invented.now + timedelta(days)).isoformat()
        for command in ("plan", "today", "changes"):
            narrow(court.run(command, at=at).stdout)
    faces = sum(len(wall["faces"]) for wall in invented.data["walls"])
    assert f"{faces} faces, " in court.say("plan", "--try", at=invented.now.isoformat())[-1]


signs = st.text(st.characters(blacklist_categories=("Cs", "Cc", "Zl", "Zp")), max_size=120)


@given(signs, st.integers(10, 80))
def test_broken_text_keeps_every_sign(text: str, most: int) -> None:
    lines = wrap(text, "- ", "  ", most=most)
    assert all(cell_len(line) <= most for line in lines)
    assert "".join("".join(lines)[2:].split()) == "".join(text.split())


@given(signs, st.integers(1, 80))
def test_cut_text_fits_and_says_that_it_is_cut(text: str, most: int) -> None:
    short = fit(text, most)
    assert cell_len(short) <= most
    assert short == text or short.endswith("…")


def test_columns_stand_under_each_other() -> None:
    lines = table([("北の壁", "base", "3 May"), ("road side, bay 1", "finish 8 mm", "12 Jun")], (4, 4, 6), most=30)
    assert all(cell_len(line) <= 30 for line in lines)
    starts = {cell_len(line[: line.index(word)]) for line, word in zip(lines, ("base", "finish"), strict=True)}
    assert len(starts) == 1
