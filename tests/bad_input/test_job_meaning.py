"""What no single line shows: circles, contradictions, dates that can't be, work that does not fit in a day."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from faulty_job import SOUND, Change, check, problems, read, spoil

ORDER: dict[str, tuple[list[Change], list[str]]] = {
    "after itself": (
        [("crew: render", "crew: render\n    after: [§2-out]")],
        ["is this face", "can't wait for itself"],
    ),
    "after its own coat": ([("crew: render", "crew: render\n    after: [§2-out.finish]")], ["can't wait for itself"]),
    "circle of two": (
        [("facing: E", "facing: E\n    after: [§1-in]")],
        ["a circle", "1-out waits for 1-in.base", "1-in waits for 1-out.base"],
    ),
    "circle through a face's own coats": (
        [
            ("[1-out.base]", "[1-out.finish]"),
            ("facing: E", "facing: E\n    after: [§2-out.paint]"),
            ("crew: render", "crew: render\n    after: [1-in.base]"),
        ],
        ["1-out waits for 2-out.paint", "2-out waits for 1-in.base", "1-in waits for 1-out.finish"],
    ),
}

RULES: dict[str, tuple[list[Change], list[str]]] = {
    "beyond the rule": (
        [("{panel.lapse: 7 d}", "{panel.lapse: §21 d}")],
        ["rules", "panel.lapse", "21 d is more than 14 d"],
    ),
    "too thick for a pass": (
        [("name: north gable", "name: north gable\n  rules: {finish.thickness: §25 mm}")],
        [
            'wall "north gable", finish coat: 25 mm exceeds 20 mm in one pass '
            "(rule finish.one_pass); split it into two coats"
        ],
    ),
    "too thick for its rule": (
        [("name: north gable", "name: north gable\n  rules: {finish.thickness: §12 mm}")],
        ['wall "north gable"', "finish.thickness: 12 mm is more than 10 mm"],
    ),
    "pass made thinner than the coat": (
        [("crew: render", "crew: render\n    rules: {base.one_pass: §12 mm}")],
        ['wall "north gable", outside, base coat: 13 mm exceeds 12 mm in one pass'],
    ),
    "wait longer than the longest": (
        [("crew: render", "crew: render\n    rules: {finish.least_wait_per_mm: §4 d/mm}")],
        ['wall "north gable", outside, finish coat', "52 d", "28 d (rule finish.greatest_wait)"],
    ),
    "wet edge of a crew": (
        [("area: 12 m2", "area: §20 m2")],
        [
            'wall "north gable", outside, base coat: 20 m2 exceeds 16 m2',
            "2 people",
            '"Render crew"',
            "8 m2/d",
            "split it at a natural break (corner, downpipe, expansion joint)",
        ],
    ),
    "wet edge, just over": ([("area: 12 m2", "area: §16.01 m2")], ["16.01 m2 exceeds 16 m2"]),
    "more work than a day has": (
        [("{mon-fri: 07:00-15:30}\n- id: saar", "{mon-fri: 07:00-11:00}\n- id: saar"), ("area: 12 m2", "area: §15 m2")],
        ["15 h of work exceed the 12.5 h", '"Render crew"', "rule base.labour", "natural break"],
    ),
    "water beyond the pores": (
        [("water: 270 kg/m3", "water: §800 kg/m3")],
        ['wall "road side"', "800 kg/m3", "722 kg/m3", "rule panel.pores"],
    ),
    "denser than its solid": (
        [("dry_density: 660 kg/m3", "dry_density: §2700 kg/m3")],
        ["2700 kg/m3 leaves no pores", "panel.pores"],
    ),
    "factor beyond all": ([("{may: 0.63}", "{may: §2.5}")], ["season", "may: 2.5", "0.05 and 2"]),
    "factor of zero": ([("{may: 0.63}", "{may: §0}")], ["season", "may: 0", "0.05 and 2"]),
}

DATES: dict[str, tuple[list[Change], list[str]]] = {
    "hold met tomorrow": (
        [("met: 2027-04-16", "met: §2027-05-21")],
        ['hold "sample-panel"', "2027-05-21, after today"],
    ),
    "hold met tomorrow, short": (
        [("panel-dry: 2027-05-14", "panel-dry: §2027-05-21")],
        ['hold "panel-dry"', "after today"],
    ),
    "met and refused": (
        [("{met: 2027-04-16,", "§{met: 2027-04-16, refused: 2027-04-17,")],
        ["met and refused at once"],
    ),
    "neither": ([("{met: 2027-04-16, by: wil}", "§{by: wil}")], ['hold "sample-panel"', "neither met nor refused"]),
    "wall's hold at a face": (
        [("crew: render", "crew: render\n    holds: {§panel-dry: 2027-05-14}")],
        ['hold "panel-dry"', "once for the whole wall", '"holds" of the wall'],
    ),
    "reading for the whole job": (
        [("sample-panel: {met: 2027-04-16, by: wil}", "sample-panel: 2027-04-16\n  §panel-dry: 2027-05-14")],
        ['hold "panel-dry"', "can't answer for the whole job", "reading", "wall by wall", '"holds" of the wall'],
    ),
    "test for the whole job": (
        [("sample-panel: {met: 2027-04-16, by: wil}", "sample-panel: 2027-04-16\n  §base-firm: 2027-05-14")],
        ['hold "base-firm"', "test", "face by face", '"holds" of the face'],
    ),
    "no gutter, said of the job": (
        [
            ("sample-panel: {met: 2027-04-16, by: wil}", "sample-panel: 2027-04-16\n  §roof-gutter: 2027-05-14"),
            ("facing: N", "facing: N\n    gutter: false"),
        ],
        ['hold "roof-gutter"', 'wall "north gable", outside says "gutter: false"', "take that line out"],
    ),
    "no gutter, said of the wall": (
        [
            ("name: north gable", "name: north gable\n  holds: {§roof-gutter: {met: 2027-05-14, by: wil}}"),
            ("facing: N", "facing: N\n    gutter: false"),
        ],
        ['wall "north gable": hold "roof-gutter"', "refused: DATE"],
    ),
    "done tomorrow": ([("done: {base: 2027-05-18", "done: {base: §2027-05-21")], ["2027-05-21 15:00 is after today"]),
    "finish done, base not": ([("done: {base: ", "done: {§finish: ")], ['"finish" is done, but "base" is not']),
    "finish before base": (
        [("done: {base: 2027-05-18 15:00}", "done: {base: 2027-05-18 15:00, finish: §2027-05-17 15:00}")],
        ['"finish": 2027-05-17 15:00 is not after "base" under it'],
    ),
    "done before filling": (
        [("done: {base: 2027-05-18", "done: {base: §2026-12-18")],
        ["2026-12-18 is before the panel was filled (2027-01-04)"],
    ),
    "start after the end": (
        [("start: 2027-05-31", "start: §2027-05-31\n    ended: 2027-05-30")],
        ["start 2027-05-31 is after its end"],
    ),
    "season turned round": (
        [("resumes: 2028-04-27", "resumes: §2027-04-27")],
        ["resumes 2027-04-27 is not after finish_by"],
    ),
    "newer form": (
        [("curing: 1", "curing: §2"), ("area: 10 m2", "surface: 10 m2")],
        ["form 2 is newer than 1", "install a newer"],
    ),
}

ALL = {
    f"{group}: {name}": case
    for group, cases in (("order", ORDER), ("rule", RULES), ("date", DATES))
    for name, case in cases.items()
}


@pytest.mark.parametrize("name", ALL)
def test_fault_is_told_where_it_stands(name: str, tmp_path: Path) -> None:
    changes, words = ALL[name]
    check(tmp_path, changes, *words)


@pytest.mark.parametrize(
    "changes",
    [
        [("area: 12 m2", "area: 16 m2")],
        [("start: 2027-05-31", "start: 2027-05-31\n    ended: 2027-05-31")],
        [("water: 270 kg/m3", "water: 720 kg/m3")],
        [("{may: 0.63}", "{may: 2, jan: 0.05}")],
        [("met: 2027-04-16", "met: 2027-05-20")],
        [("{panel-dry: 2027-05-14}", "{panel-dry: {refused: 2027-05-20}}")],
        [("filled: 2027-01-04", "filled: 2027-05-18")],
        [("by: wil", "by: ines"), ("crews:", "- {id: ines, name: Ines, roles: [architect]}\ncrews:")],
        [
            ("sample-panel: {met: 2027-04-16, by: wil}", "sample-panel: 2027-04-16\n  roof-gutter: 2027-05-14"),
            ("name: north gable", "name: north gable\n  holds: {roof-gutter: {refused: 2027-05-14}}"),
            ("facing: N", "facing: N\n    gutter: false"),
        ],
        [
            ("name: north gable", "name: north gable\n  holds: {roof-gutter: 2027-05-14}"),
            ("facing: E", "facing: E\n    gutter: false"),
        ],
        [("after: [1-out.base]", "after: [1-out.base]\n    gutter: false")],
        [("- id: wil", "- id: wil\n  was: willem")],
        [("start: 2027-05-31", "rules: {finish.thickness: 10 mm}")],
        [("area: 12 m2", "area: 30 m2\n    ended: 2027-05-31"), ("    start: 2027-05-31\n", "")],
    ],
)
def test_at_the_limit_nothing_is_wrong(changes: list[Change], tmp_path: Path) -> None:
    read(tmp_path, spoil(*changes)[0])


def test_faults_of_one_file_come_all_at_once_in_its_order(tmp_path: Path) -> None:
    changes = [
        ("country: NL", "country: §UK"),
        ("resumes: 2028-04-27", "resumes: §2027-04-27"),
        ("Europe/Amsterdam", "§Europe/Amsterdm"),
        ("sat-sun: 08:00-20:00", "sat-sun: §20:00-08:00"),
        ("people: [wil, noor]", "people: [wil, §norr]"),
        ("panel.lapse: 7 d", "panel.lapse: §7"),
        ("met: 2027-04-16", "met: §2027-06-16"),
        ("thickness: 200 mm", "thickness: §200"),
        ("side: out\n    facing: E\n    area: 10 m2", "side: out\n    facing: E\n    area: §10"),
        ("system: clay-inside", "system: §clay-insid"),
        ("crew: render", "crew: §rendre"),
        ("{may: 0.63}", "{may: §6.3}"),
    ]
    text, places = spoil(*changes)
    found = problems(tmp_path, text)
    assert len(places) == 12
    assert [(p.place.line, p.place.column) for p in found if p.place] == places


def test_what_refers_to_a_broken_thing_is_not_blamed(tmp_path: Path) -> None:
    check(
        tmp_path,
        [
            (
                "id: noor\n  name: Noor\n  hours: {mon-fri",
                "id: noor\n  name: Noor\n  hours: {mon-fri: §7-15}\n  x: {mon-fri",
            )
        ],
        count=2,
    )
    check(
        tmp_path, [("side: out\n    facing: E\n    area: 10 m2", "side: out\n    facing: E\n    area: §10")], "no unit"
    )
    check(
        tmp_path,
        [("id: court\n  name: Alder Court\n  latitude: 52.1", "id: court\n  name: Alder Court\n  latitude: §north")],
    )


def test_in_a_us_job_limits_are_said_in_feet_and_inches(tmp_path: Path) -> None:
    us = ("name: Alder Court\nholidays", "name: Alder Court\nunits: us\nholidays")
    check(tmp_path, [us, ("area: 12 m2", "area: §215 ft2")], "215 ft2 exceeds 172 ft2")
    thick = ("name: north gable", "name: north gable\n  rules: {finish.thickness: §1 in}")
    check(tmp_path, [us, thick], "1 in exceeds 13/16 in in one pass")


def test_a_hundred_problems_are_enough(tmp_path: Path) -> None:
    walls = "".join(
        f'- id: "{n}"\n  name: n\n  faces:\n  - {{side: out, facing: N, area: 1, height: 1 m, system: clay-lime}}\n'
        for n in range(10, 200)
    )
    found = problems(tmp_path, SOUND + walls)
    assert len(found) == 101
    assert found[-1].text == "and 90 more"


def test_today_is_what_the_caller_says(tmp_path: Path) -> None:
    read(tmp_path, SOUND, today=date(2027, 5, 18))
    assert "after today (2027-05-17)" in problems(tmp_path, SOUND, today=date(2027, 5, 17))[0].text
