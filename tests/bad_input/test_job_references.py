"""Names that lead nowhere, ids that stand twice, and people who can't do what is asked of them."""

from __future__ import annotations

from pathlib import Path

import pytest
from faulty_job import Change, check

CREW_LINE = "    system: clay-lime\n    crew: render"

REFERENCES: dict[str, tuple[list[Change], list[str]]] = {
    "unknown zone": (
        [("zone: Europe/Amsterdam", "zone: §Europe/Amsterdm")],
        ['site "Alder Court"', 'unknown time zone "Europe/Amsterdm"', '"Europe/Amsterdam"'],
    ),
    "zone like none": ([("zone: Europe/Amsterdam", "zone: §here")], ['unknown time zone "here"', "Europe/"]),
    "zone of the system only": ([("zone: Europe/Amsterdam", "zone: §posixrules")], ['unknown time zone "posixrules"']),
    "unknown system": (
        [("system: clay-inside", "system: §clay-insde")],
        ['wall "road side", inside', 'unknown coat system "clay-insde"', '"clay-inside"'],
    ),
    "unknown site": (
        [("name: north gable", "name: north gable\n  site: §cuort")],
        ['wall "north gable"', 'unknown site "cuort"', 'did you mean "court"'],
    ),
    "unknown crew": (
        [("crew: render", "crew: §rendre")],
        ['wall "north gable", outside', 'unknown crew "rendre"', 'did you mean "render"'],
    ),
    "unknown person in a crew": (
        [("people: [wil, noor]", "people: [wil, §norr]")],
        ['crew "Render crew"', 'unknown person "norr"', 'did you mean "noor"'],
    ),
    "unknown person at a hold": ([("by: wil", "by: §will")], ['hold "sample-panel"', 'unknown person "will"', '"wil"']),
    "hold opened by one of the crew": (
        [("by: wil", "by: §noor")],
        ['hold "sample-panel": by', '"noor" is neither lead nor architect', '"by: wil"'],
    ),
    "hold refused by one of the crew": (
        [("{panel-dry: 2027-05-14}", "{panel-dry: {refused: 2027-05-14, by: §saar}}")],
        ['hold "panel-dry": by', '"saar" is neither lead nor architect'],
    ),
    "unknown face": (
        [("[1-out.base]", "[§3-out.base]")],
        ['wall "road side", inside', 'unknown face "3-out"', "did you mean"],
    ),
    "a side that is not there": ([("[1-out.base]", "[§2-in]")], ['unknown face "2-in"']),
    "unknown coat of a face": ([("[1-out.base]", "[§1-out.bsae]")], ['unknown coat of face "1-out" "bsae"', '"base"']),
    "face written wrongly": ([("[1-out.base]", "[§1 out]")], ['"1 out"', '"2-in"']),
    "unknown country": ([("country: NL", "country: §UK")], ["holidays", '"UK"', 'did you mean "GB"']),
    "country without holidays": ([("country: NL", "country: §XX")], ["holidays", '"XX"', "ISO 3166-1"]),
    "unknown region": ([("country: NL}", "country: DE, region: §BX}")], ["holidays", '"BX"', "BY"]),
    "region where there are none": (
        [("country: NL}", "country: FO, region: §N}")],
        ["region of FO", "take the region out"],
    ),
    "region without country": ([("{country: NL}", "{region: §BY}")], ["has no country"]),
    "unknown month": ([("drying: {may: 0.63}", "drying: {§mai: 0.63}")], ['unknown month "mai"', '"may"']),
    "unknown hold point": (
        [("{panel-dry: ", "{§panel-dri: ")],
        ['wall "road side": holds', 'unknown hold point "panel-dri"', '"panel-dry"'],
    ),
    "hold of another system": (
        [("start: 2027-05-31", "start: 2027-05-31\n    holds: {§sample-clay: 2027-05-14}")],
        ['wall "north gable", outside', 'unknown hold point "sample-clay"'],
    ),
    "unknown rule": ([("rules: {panel.lapse", "rules: {§panel.laps")], ['"panel.laps"', 'did you mean "panel.lapse"']),
    "rule of no system here": (
        [("rules: {panel.lapse", "rules: {§stipple.labour: 1 h/m2, panel.lapse")],
        ['"stipple.labour"', "none of the coat systems", "clay-lime"],
    ),
    "rule of another system": (
        [(CREW_LINE, CREW_LINE + "\n    rules: {§render.thickness: 13 mm}")],
        ['wall "north gable", outside', '"render.thickness"', "clay-lime"],
    ),
    "unknown coat done": (
        [("done: {base: 2027-05-18 15:00}", "done: {§bass: 2027-05-18 15:00}")],
        ['unknown coat "bass"', '"base"'],
    ),
    # twice
    "site id twice": (
        [
            (
                "people:\n- id: wil",
                "- {id: §court, name: B, latitude: 1, longitude: 1, time_zone: UTC}\npeople:\n- id: wil",
            ),
            ("name: road side", "site: court\n  name: road side"),
            ("name: north gable", "site: court\n  name: north gable"),
        ],
        ['site "court"', "stands twice, first in line 10"],
    ),
    "person id twice": (
        [("crews:", "- {id: §noor, name: Noor B}\ncrews:"), ("people: [wil, noor]", "people: [noor]")],
        ['person "noor"', "stands twice", "line 20"],
    ),
    "person ids alike": (
        [("crews:", "- {id: §Noor, name: Noor B}\ncrews:")],
        ['person "Noor"', '"noor" in line 20', "only by capital letters"],
    ),
    "person called like the site's calendar": (
        [("crews:", "- {id: §site, name: Sita}\ncrews:")],
        ['person "site"', "calendar of the whole site"],
    ),
    "the same in capitals": (
        [("crews:", "- {id: §Site, name: Sita}\ncrews:")],
        ['person "Site"', "calendar of the whole site"],
    ),
    "wall ids alike": (
        [('id: "1"', "id: n"), ("[1-out.base]", "[n-out.base]"), ('id: "2"', "id: §N")],
        ['wall "N"', '"n" in line 36', "only by capital letters"],
    ),
    "crew id twice": (
        [("rules: {", "- {id: §render, name: Two, people: [saar], working_week: [sat]}\nrules: {")],
        ['crew "render"', "stands twice", "line 29"],
    ),
    "wall id twice": ([('id: "2"', 'id: §"1"')], ['wall "1"', "stands twice, first in line 36"]),
    "side twice": (
        [
            (
                "side: in\n    area: 9 m2\n    height: 2.5 m\n    system: clay-inside\n    after: [1-out.base]",
                "side: §out\n    facing: E\n    area: 9 m2\n    height: 2.5 m\n    system: clay-lime",
            )
        ],
        ['wall "road side", outside', "this side stands twice", "line 44"],
    ),
    "wall called like a face": ([('id: "2"', "id: §1-out")], ['wall "1-out"', "a face has this id too"]),
    "was is living": ([("name: north gable", 'was: §"1"\n  name: north gable')], ['"was: 1"', "another wall"]),
    "was is itself": ([("name: north gable", 'was: §"2"\n  name: north gable')], ['"was: 2"', "its own id"]),
    "was of two": (
        [('- id: "1"', '- id: "1"\n  was: a'), ("name: north gable", "was: §a\n  name: north gable")],
        ['another wall says "was: a" too'],
    ),
    "two were the same person": ([("- id: wil", "- id: wil\n  was: noor")], ['person "Wil"', "another person"]),
    "person twice in a crew": ([("people: [wil, noor]", "people: [wil, noor, §wil]")], ['person "wil" stands twice']),
    "person in two crews": (
        [("rules: {", "- {id: two, name: Two, people: [§noor, saar], working_week: [sat]}\nrules: {")],
        ['crew "Two"', '"noor"', 'crew "Render crew"', "in one crew"],
    ),
    # people
    "day in two keys": (
        [("{sat-sun: 08:00-20:00, ", "{sat-sun: 08:00-20:00, §sun: 09:00-10:00, ")],
        ['person "Saar"', '"sun" and "sat-sun" both name sun'],
    ),
    "unknown day": ([("{sat-sun: 08:00", "{§sa-su: 08:00")], ['person "Saar"', '"sa-su" names no day', "mon-fri"]),
    "days turned round": ([("{sat-sun: 08:00", "{§sun-sat: 08:00")], ['person "Saar"', '"sun-sat" names no day']),
    "mists without hours": (
        [("roles: [mists]\n  hours: {sat-sun: 08:00-20:00, holiday: 08:00-20:00}", "roles: §[mists]")],
        ['person "Saar"', "mists, but has no hours"],
    ),
    "nobody leads": (
        [("people:\n", "§people:\n"), ("roles: [lead, mists]", "roles: [architect, mists]")],
        ["nobody leads", "roles: [lead]"],
    ),
    "crew without hours": (
        [("people: [wil, noor]", "people: §[saar]")],
        ['crew "Render crew"', "nobody has hours on its working days", '"Saar"'],
    ),
    "week without days": ([("people: [wil, noor]", "people: [wil, noor]\n  working_week: §[]")], ["no day is named"]),
    "weekday twice": (
        [("people: [wil, noor]", "people: [wil, noor]\n  working_week: [mon, §mon]")],
        ['"mon" stands twice'],
    ),
    # faces
    "outside without direction": (
        [("- side: out\n    facing: N", "- §side: out")],
        ['wall "north gable", outside', "no direction", "facing: SW"],
    ),
    "inside system outside": (
        [("system: clay-lime\n    crew", "system: §clay-inside\n    crew")],
        ['"clay-inside" is not for outside faces', '"clay-lime"'],
    ),
    "outside system inside": (
        [("system: clay-inside", "system: §lime-outside")],
        ['wall "road side", inside', '"lime-outside" is not for inside faces'],
    ),
    "scaffold at two sites": (
        [
            (
                "people:\n- id: wil",
                "- {id: b, name: B, latitude: 1, longitude: 1, time_zone: UTC}\npeople:\n- id: wil",
            ),
            ("name: road side", "site: court\n  name: road side"),
            ("name: north gable", "site: b\n  name: north gable"),
            ("facing: E", "facing: E\n    scaffold: tower"),
            ("facing: N", "facing: N\n    scaffold: §tower"),
        ],
        ['wall "north gable", outside', 'scaffold "tower" stands at site "court" already'],
    ),
    "wall without a site": (
        [
            ("people:\n- id: wil", "- {id: b, name: B, latitude: 1, longitude: 1, time_zone: UTC}\npeople:\n- id: wil"),
            ("name: road side", "site: court\n  name: road side"),
            ('- id: "2"', '- §id: "2"'),
        ],
        ['wall "north gable"', "no site, and the job has 2", '"site: court"'],
    ),
}


@pytest.mark.parametrize("name", REFERENCES)
def test_fault_is_told_where_it_stands(name: str, tmp_path: Path) -> None:
    changes, words = REFERENCES[name]
    check(tmp_path, changes, *words)
