"""What a person writes wrong in one place: units, numbers, dates, missing and unknown words."""

from __future__ import annotations

from pathlib import Path

import pytest
from faulty_job import Change, check

CASES: dict[str, tuple[list[Change], list[str]]] = {
    # measures
    "no unit": ([("area: 10 m2", "area: §10")], ['wall "road side", outside', "area", "10 has no unit", '"10 m2"']),
    "wrong unit": ([("area: 10 m2", "area: §10 kg")], ["area", '"kg" is not a unit', "m2"]),
    "not a number": ([("area: 10 m2", "area: §ten m2")], ["area", '"ten m2"', "10 m2"]),
    "decimal comma": ([("height: 2.7 m", "height: §2,7 m")], ["height", "comma", '"2.7 m"']),
    "zero area": ([("area: 10 m2", "area: §0 m2")], ["area", "nothing", "more than 0"]),
    "negative height": ([("height: 2.7 m", "height: §-2.7 m")], ["height", "less than 0"]),
    "huge area": ([("area: 10 m2", "area: §99999999 m2")], ["area", "more than 10000 m2"]),
    "metres for millimetres": ([("thickness: 200 mm", "thickness: §200 m")], ["panel", "thickness", "5000 mm"]),
    "NaN in text": ([("area: 10 m2", "area: §nan m2")], ["area", "nan m2"]),
    "half an empty value": ([("area: 10 m2", "§area:")], ["area", "nothing is not an area"]),
    "no unit on a duration": ([("longest_round: 75 min", "longest_round: §75")], ['person "Saar"', '"75 min"']),
    "own rule without unit": ([("panel.lapse: 7 d", "panel.lapse: §7")], ["rules", "panel.lapse", "7 has no unit"]),
    "straw beyond all": ([("straw: 15 %", "straw: §150 %")], ["mix", "straw", "100 %"]),
    "no direction": ([("facing: E", "facing: §eastwards")], ["facing", "eastwards", "275°"]),
    # numbers of the site
    "latitude beyond the pole": (
        [("latitude: 52.1", "latitude: §152.1")],
        ['site "Alder Court"', "latitude", "90 or less"],
    ),
    "latitude NaN": ([("latitude: 52.1", "latitude: §.nan")], [".nan", "finite"]),
    "longitude infinite": ([("longitude: 5.2", "longitude: §.inf")], [".inf", "finite"]),
    "longitude as text": ([("longitude: 5.2", "longitude: §5.2 E")], ["longitude", "not a number"]),
    "a number with 30 digits": ([("latitude: 52.1", f"latitude: §{'5' * 30}")], ["latitude", "90 or less"]),
    # dates and times
    "a day that never is": ([("start: 2027-05-31", "start: §2027-02-30")], ["start", "2027-02-30", "not a day"]),
    "day before month": ([("start: 2027-05-31", "start: §31-05-2027")], ["start", "year, month and day"]),
    "month without zero": ([("start: 2027-05-31", "start: §2027-5-3")], ["start", "2027-05-03"]),
    "year far away": ([("start: 2027-05-31", "start: §2207-05-31")], ["start", "2000 to 2100"]),
    "done without a date": ([("2027-05-18 15:00", "§15:00")], ["done", "base", "2027-04-28 15:00"]),
    "hours back to front": (
        [("mon-fri: 07:00-15:30}\n- id: noor", "mon-fri: §15:30-07:00}\n- id: noor")],
        ['person "Wil"', "hours", "does not end after it starts"],
    ),
    "hours at night": ([("sat-sun: 08:00-20:00", "sat-sun: §02:00-20:00")], ['person "Saar"', "before 04:00"]),
    "25 o'clock": ([("sat-sun: 08:00-20:00", "sat-sun: §08:00-25:00")], ['person "Saar"', "25:00"]),
    "own day turned round": (
        [("holidays: {country: NL}", "holidays: {days: [§2027-08-06..2027-07-26]}")],
        ["holidays", "ends before it starts"],
    ),
    # words
    "unknown key": ([("area: 10 m2", "area: 10 m2\n    §arae: 9 m2")], ['unknown key "arae"', 'did you mean "area"']),
    "unknown key of the job": ([("rules: {", "§rulez: {")], ['unknown key "rulez"', 'did you mean "rules"']),
    "key twice": ([("area: 10 m2", "area: 10 m2\n    §area: 9 m2")], ['"area" stands twice', "first in line"]),
    "unknown side": ([("side: in", "side: §inside")], ["side", '"inside"']),
    "unknown exposure": ([("facing: N", "facing: N\n    exposure: §windy")], ["exposure", '"windy"', "sheltered"]),
    "unknown role": ([("roles: [mists]", "roles: [§mist]")], ['person "Saar"', "roles", '"mist"', "mists"]),
    "unknown weekday": (
        [("people: [wil, noor]", "people: [wil, noor]\n  working_week: [mon, §tues]")],
        ['crew "Render crew"', '"tues"', '"tue"'],
    ),
    "yes for true": ([("facing: N", "facing: N\n    gutter: §yes")], ["gutter", "true or false"]),
    "unknown units": (
        [("name: Alder Court\nholidays", "name: Alder Court\nunits: §imperial\nholidays")],
        ["units", '"imperial"', '"us"'],
    ),
    "country in words": ([("country: NL", "country: §Netherlands")], ["country", '"Netherlands"', '"NL"']),
    "id with a space": ([('id: "2"', "id: §2 b")], ["id", '"2 b"', "letters, digits and hyphens"]),
    "id as a number": ([('id: "2"', "id: §2")], ["id", "in quotes", '"2"']),
    "id too long": ([('id: "2"', "id: §north-gable")], ["id", "at most 8"]),
    "blank name": ([("name: road side", 'name: §"  "')], ["name"]),
    "endless name": ([("name: road side", f"name: §{'x' * 81}")], ["name", "81 characters", "at most 80"]),
    "uid that is none": ([("uid: 3f6b0a52", "uid: §zf6b0a52")], ["uid", "uuidgen"]),
    "form that never was": ([("curing: 1", "curing: §0")], ["curing", 'write "curing: 1"']),
    "form as text": ([("curing: 1", 'curing: §"1"')], ["curing"]),
    # missing
    "no area": (
        [("- side: out\n    facing: E\n    area: 10 m2", "- §side: out\n    facing: E")],
        ['wall "road side", outside', '"area" is missing', 'add "area: 10 m2"'],
    ),
    "no name of a wall": ([('- id: "2"\n  name: north gable\n', '- §id: "2"\n')], ['wall "2"', '"name" is missing']),
    "no uid": ([("curing: 1\nuid: 3f6b0a52-8c1d-4e97-a4f0-6d2c9b7e1a35", "§curing: 1")], ['"uid" is missing']),
    "text for a list": ([("people: [wil, noor]", "people: §wil")], ['crew "Render crew"', "people", "list"]),
    "text for a wall": ([('- id: "2"', '- §the yard side\n- id: "2"')], ["wall 2", '"the yard side"', "key: value"]),
    # text
    "line break in a name": ([("name: road side", 'name: §"road\\nside"')], ["several lines"]),
    "carriage return in a name": ([("name: road side", 'name: §"road\\rside"')], ["several lines"]),
    "control character in a name": ([("name: road side", 'name: §"road\\u0007side"')], ["control character U+0007"]),
    "text turned round": ([("name: road side", 'name: §"road \u202eedis"')], ["U+202E", "order"]),
    "an anchor": ([("name: road side", "name: §&a road side")], ["&a", "write values out"]),
    "a tag": ([("name: road side", "name: §!!python/object:os.system x")], ["is a tag"]),
}


@pytest.mark.parametrize("name", CASES)
def test_fault_is_told_where_it_stands(name: str, tmp_path: Path) -> None:
    changes, words = CASES[name]
    check(tmp_path, changes, "alder-court.yaml", *words)
