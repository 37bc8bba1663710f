"""What no single line shows: names that lead nowhere, circles, contradictions, work that does not fit in a day."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from faulty_job import SOUND, Change, check, problems, read, spoil

FACE_2 = "    system: clay-lime\n    crew: render"

REFERENCES: dict[str, tuple[list[Change], list[str]]] = {
    "unknown zone": ([("zone: Europe/Amsterdam", "zone: §Europe/Amsterdm")],
                     ['site "Alder Court"', 'unknown time zone "Europe/Amsterdm"', '"Europe/Amsterdam"']),
    "zone like none": ([("zone: Europe/Amsterdam", "zone: §here")], ['unknown time zone "here"', "Europe/"]),
    "zone of the system only": ([("zone: Europe/Amsterdam", "zone: §posixrules")], ['unknown time zone "posixrules"']),
    "unknown system": ([("system: clay-inside", "system: §clay-insde")],
                       ['wall "road side", inside', 'unknown coat system "clay-insde"', '"clay-inside"']),
    "unknown site": ([("name: north gable", "name: north gable\n  site: §cuort")],
                     ['wall "north gable"', 'unknown site "cuort"', 'did you mean "court"']),
    "unknown crew": ([("crew: render", "crew: §rendre")],
                     ['wall "north gable", outside', 'unknown crew "rendre"', 'did you mean "render"']),
    "unknown person in a crew": ([("people: [wil, noor]", "people: [wil, §norr]")],
                                 ['crew "Render crew"', 'unknown person "norr"', 'did you mean "noor"']),
    "unknown person at a hold": ([("by: wil", "by: §will")], ['hold "sample-panel"', 'unknown person "will"', '"wil"']),
    "unknown face": ([("[1-out.base]", "[§3-out.base]")], ['wall "road side", inside', 'unknown face "3-out"', "did you mean"]),
    "a side that is not there": ([("[1-out.base]", "[§2-in]")], ['unknown face "2-in"']),
    "unknown coat of a face": ([("[1-out.base]", "[§1-out.bsae]")], ['unknown coat of face "1-out" "bsae"', '"base"']),
    "face written wrongly": ([("[1-out.base]", "[§1 out]")], ['"1 out"', '"2-in"']),
    "unknown country": ([("country: NL", "country: §UK")], ["holidays", '"UK"', 'did you mean "GB"']),
    "country without holidays": ([("country: NL", "country: §XX")], ["holidays", '"XX"', "ISO 3166-1"]),
    "unknown region": ([("country: NL}", "country: DE, region: §BX}")], ["holidays", '"BX"', "BY"]),
    "region where there are none": ([("country: NL}", "country: FO, region: §N}")], ["region of FO", "take the region out"]),
    "region without country": ([("{country: NL}", "{region: §BY}")], ["has no country"]),
    "unknown month": ([("drying: {may: 0.63}", "drying: {§mai: 0.63}")], ['unknown month "mai"', '"may"']),
    "unknown hold point": ([("{panel-dry: ", "{§panel-dri: ")],
                           ['wall "road side": holds', 'unknown hold point "panel-dri"', '"panel-dry"']),
    "hold of another system": ([("start: 2027-05-31", "start: 2027-05-31\n    holds: {§sample-clay: 2027-05-14}")],
                               ['wall "north gable", outside', 'unknown hold point "sample-clay"']),
    "unknown rule": ([("rules: {panel.lapse", "rules: {§panel.laps")], ['"panel.laps"', 'did you mean "panel.lapse"']),
    "rule of no system here": ([("rules: {panel.lapse", "rules: {§stipple.labour: 1 h/m2, panel.lapse")],
                               ['"stipple.labour"', "none of the coat systems", "clay-lime"]),
    "rule of another system": ([(FACE_2, FACE_2 + "\n    rules: {§render.thickness: 13 mm}")],
                               ['wall "north gable", outside', '"render.thickness"', "clay-lime"]),
    "unknown coat done": ([("done: {base: 2027-05-18 15:00}", "done: {§bass: 2027-05-18 15:00}")],
                          ['unknown coat "bass"', '"base"']),
    # twice
    "site id twice": ([("people:\n- id: wil", "- {id: §court, name: B, latitude: 1, longitude: 1, time_zone: UTC}\n"
                        "people:\n- id: wil"),
                       ("name: road side", "site: court\n  name: road side"),
                       ("name: north gable", "site: court\n  name: north gable")],
                      ['site "court"', "stands twice, first in line 10"]),
    "person id twice": ([("crews:", "- {id: §noor, name: Noor B}\ncrews:")], ['person "noor"', "stands twice", "line 20"]),
    "crew id twice": ([("rules: {", "- {id: §render, name: Two, people: [saar], working_week: [sat]}\nrules: {")],
                      ['crew "render"', "stands twice", "line 29"]),
    "wall id twice": ([('id: "2"', 'id: §"1"')], ['wall "1"', "stands twice, first in line 36"]),
    "side twice": ([("side: in\n    area: 9 m2\n    height: 2.5 m\n    system: clay-inside\n    after: [1-out.base]",
                     "side: §out\n    facing: E\n    area: 9 m2\n    height: 2.5 m\n    system: clay-lime")],
                   ['wall "road side", outside', "this side stands twice", "line 44"]),
    "wall called like a face": ([('id: "2"', 'id: §1-out')], ['wall "1-out"', "a face has this id too"]),
    "was is living": ([("name: north gable", 'was: §"1"\n  name: north gable')], ['"was: 1"', "another wall"]),
    "was is itself": ([("name: north gable", 'was: §"2"\n  name: north gable')], ['"was: 2"', "its own id"]),
    "was of two": ([('- id: "1"', '- id: "1"\n  was: a'), ("name: north gable", "was: §a\n  name: north gable")],
                   ['another wall says "was: a" too']),
    "two were the same person": ([("- id: wil", "- id: wil\n  was: noor")], ['person "Wil"', "another person"]),
    "person twice in a crew": ([("people: [wil, noor]", "people: [wil, noor, §wil]")], ['person "wil" stands twice']),
    "person in two crews": ([("rules: {", "- {id: two, name: Two, people: [§noor, saar], working_week: [sat]}\nrules: {")],
                            ['crew "Two"', '"noor"', 'crew "Render crew"', "in one crew"]),
    # people
    "day in two keys": ([("{sat-sun: 08:00-20:00, ", "{sat-sun: 08:00-20:00, §sun: 09:00-10:00, ")],
                        ['person "Saar"', '"sun" and "sat-sun" both name sun']),
    "unknown day": ([("{sat-sun: 08:00", "{§sa-su: 08:00")], ['person "Saar"', '"sa-su" names no day', "mon-fri"]),
    "days turned round": ([("{sat-sun: 08:00", "{§sun-sat: 08:00")], ['person "Saar"', '"sun-sat" names no day']),
    "mists without hours": ([("roles: [mists]\n  hours: {sat-sun: 08:00-20:00, holiday: 08:00-20:00}", "roles: §[mists]")],
                            ['person "Saar"', "mists, but has no hours"]),
    "nobody leads": ([("people:\n", "§people:\n"), ("roles: [lead, mists]", "roles: [mists]")], ["nobody leads", "roles: [lead]"]),
    "crew without hours": ([("people: [wil, noor]", "people: §[saar]")],
                           ['crew "Render crew"', "nobody has hours on its working days", '"Saar"']),
    "week without days": ([("people: [wil, noor]", "people: [wil, noor]\n  working_week: §[]")], ["no day is named"]),
    "weekday twice": ([("people: [wil, noor]", "people: [wil, noor]\n  working_week: [mon, §mon]")], ['"mon" stands twice']),
    # faces
    "outside without direction": ([("- side: out\n    facing: N", "- §side: out")],
                                  ['wall "north gable", outside', "no direction", "facing: SW"]),
    "inside system outside": ([("system: clay-lime\n    crew", "system: §clay-inside\n    crew")],
                              ['"clay-inside" is not for outside faces', '"clay-lime"']),
    "wall without a site": ([("people:\n- id: wil", "- {id: b, name: B, latitude: 1, longitude: 1, time_zone: UTC}\n"
                              "people:\n- id: wil"),
                             ("name: road side", "site: court\n  name: road side"),
                             ('- id: "2"', '- §id: "2"')],
                            ['wall "north gable"', "no site, and the job has 2", '"site: court"']),
}  # fmt: skip

ORDER: dict[str, tuple[list[Change], list[str]]] = {
    "after itself": ([("crew: render", "crew: render\n    after: [§2-out]")], ["is this face", "can't wait for itself"]),
    "after its own coat": ([("crew: render", "crew: render\n    after: [§2-out.finish]")], ["can't wait for itself"]),
    "circle of two": ([("facing: E", "facing: E\n    after: [§1-in]")],
                      ["a circle", "1-out waits for 1-in.base", "1-in waits for 1-out.base"]),
    "circle through a face's own coats": (
        [("[1-out.base]", "[1-out.finish]"), ("facing: E", "facing: E\n    after: [§2-out.paint]"),
         ("crew: render", "crew: render\n    after: [1-in.base]")],
        ["1-out waits for 2-out.paint", "2-out waits for 1-in.base", "1-in waits for 1-out.finish"]),
}  # fmt: skip

RULES: dict[str, tuple[list[Change], list[str]]] = {
    "beyond the rule": ([("{panel.lapse: 7 d}", "{panel.lapse: §21 d}")], ["rules", "panel.lapse", "21 d is more than 14 d"]),
    "too thick for a pass": ([("name: north gable", "name: north gable\n  rules: {finish.thickness: §25 mm}")],
                             ['wall "north gable", finish coat: 25 mm exceeds 20 mm in one pass '
                              "(rule finish.one_pass); split it into two coats"]),
    "too thick for its rule": ([("name: north gable", "name: north gable\n  rules: {finish.thickness: §12 mm}")],
                               ['wall "north gable"', "finish.thickness: 12 mm is more than 10 mm"]),
    "pass made thinner than the coat": ([("crew: render", "crew: render\n    rules: {base.one_pass: §12 mm}")],
                                        ['wall "north gable", outside, base coat: 13 mm exceeds 12 mm in one pass']),
    "wait longer than the longest": ([("crew: render", "crew: render\n    rules: {finish.least_wait_per_mm: §4 d/mm}")],
                                     ['wall "north gable", outside, finish coat', "52 d", "28 d (rule finish.greatest_wait)"]),
    "wet edge of a crew": ([("area: 12 m2", "area: §20 m2")],
                           ['wall "north gable", outside, base coat: 20 m2 exceeds 16 m2', "2 people", '"Render crew"',
                            "8 m2/d", "split it at a natural break (corner, downpipe, expansion joint)"]),
    "wet edge, just over": ([("area: 12 m2", "area: §16.01 m2")], ["16.01 m2 exceeds 16 m2"]),
    "more work than a day has": (
        [("{mon-fri: 07:00-15:30}\n- id: saar", "{mon-fri: 07:00-11:00}\n- id: saar"), ("area: 12 m2", "area: §15 m2")],
        ["15 h of work exceed the 12.5 h", '"Render crew"', "rule base.labour", "natural break"]),
    "water beyond the pores": ([("water: 270 kg/m3", "water: §800 kg/m3")],
                               ['wall "road side"', "800 kg/m3", "722 kg/m3", "rule panel.pores"]),
    "denser than its solid": ([("dry_density: 660 kg/m3", "dry_density: §2700 kg/m3")],
                              ["2700 kg/m3 leaves no pores", "panel.pores"]),
    "factor beyond all": ([("{may: 0.63}", "{may: §2.5}")], ["season", "may: 2.5", "0.05 and 2"]),
    "factor of zero": ([("{may: 0.63}", "{may: §0}")], ["season", "may: 0", "0.05 and 2"]),
}  # fmt: skip

DATES: dict[str, tuple[list[Change], list[str]]] = {
    "hold met tomorrow": ([("met: 2027-04-16", "met: §2027-05-21")], ['hold "sample-panel"', "2027-05-21, after today"]),
    "hold met tomorrow, short": ([("panel-dry: 2027-05-14", "panel-dry: §2027-05-21")], ['hold "panel-dry"', "after today"]),
    "met and refused": ([("{met: 2027-04-16,", "§{met: 2027-04-16, refused: 2027-04-17,")], ["met and refused at once"]),
    "neither": ([("{met: 2027-04-16, by: wil}", "§{by: wil}")], ['hold "sample-panel"', "neither met nor refused"]),
    "wall's hold at a face": ([("crew: render", "crew: render\n    holds: {§panel-dry: 2027-05-14}")],
                              ['hold "panel-dry"', "once for the whole wall", '"holds" of the wall']),
    "done tomorrow": ([("done: {base: 2027-05-18", "done: {base: §2027-05-21")], ["2027-05-21 15:00 is after today"]),
    "finish done, base not": ([("done: {base: ", "done: {§finish: ")], ['"finish" is done, but "base" is not']),
    "finish before base": ([("done: {base: 2027-05-18 15:00}", "done: {base: 2027-05-18 15:00, finish: §2027-05-17 15:00}")],
                           ['"finish": 2027-05-17 15:00 is not after "base" under it']),
    "done before filling": ([("done: {base: 2027-05-18", "done: {base: §2026-12-18")],
                            ["2026-12-18 is before the panel was filled (2027-01-04)"]),
    "start after the end": ([("start: 2027-05-31", "start: §2027-05-31\n    ended: 2027-05-30")], ["start 2027-05-31 is after its end"]),
    "season turned round": ([("resumes: 2028-04-27", "resumes: §2027-04-27")], ["resumes 2027-04-27 is not after finish_by"]),
    "newer form": ([("curing: 1", "curing: §2"), ("area: 10 m2", "surface: 10 m2")], ["form 2 is newer than 1", "install a newer"]),
}  # fmt: skip

ALL = {f"{group}: {name}": case
       for group, cases in (("reference", REFERENCES), ("order", ORDER), ("rule", RULES), ("date", DATES))
       for name, case in cases.items()}  # fmt: skip


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
        ("start: 2027-05-31", "start: §2027-02-30"),
    ]
    text, places = spoil(*changes)
    # A face with an impossible date is not sound, so its unknown crew is told once the date is right.
    del places[10]
    found = problems(tmp_path, text)
    assert [(p.place.line, p.place.column) for p in found if p.place] == places
    text = text.replace("2027-02-30", "2027-05-31")
    assert any('unknown crew "rendre"' in problem.text for problem in problems(tmp_path, text))


def test_what_refers_to_a_broken_thing_is_not_blamed(tmp_path: Path) -> None:
    check(tmp_path, [("id: noor\n  name: Noor\n  hours: {mon-fri", "id: noor\n  name: Noor\n  hours: {mon-fri: §7-15}\n  x: {mon-fri")], count=2)
    check(tmp_path, [("side: out\n    facing: E\n    area: 10 m2", "side: out\n    facing: E\n    area: §10")], "no unit")
    check(tmp_path, [("id: court\n  name: Alder Court\n  latitude: 52.1", "id: court\n  name: Alder Court\n  latitude: §north")])


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
