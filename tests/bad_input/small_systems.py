"""Two coat systems that hold just what the faults of these tests are about."""

from __future__ import annotations

_BASE = "thickness: {base}, one_pass: 20 mm, labour: 1 h/m2, wet_edge: 8 m2/d, twice_to: 3 d, once_to: 3 d"
_FINISH = (
    "thickness: 8 mm 6 mm 10 mm, one_pass: 20 mm, labour: 1 h/m2, wet_edge: 8 m2/d, least_wait: 10 d, "
    "least_wait_per_mm: 1 d/mm, greatest_wait: 28 d, twice_to: 14 d, once_to: 28 d"
)
_PAINT = "spread: 0.15 L/m2, labour: 0.15 h/m2, wet_edge: 40 m2/d"
_PANEL = "drying: 7 d/in, likely_late: 180 %, wettest: 20 %, lapse: 7 d 1 d 14 d"
_VISIT = "setup: 5 min, rate: 3 m2/min, water: 0.3 L/m2, ground_reach: 3 m"

_HEAD = """\
curing: 1
id: {id}
name: {id}
sides: {sides}
holds:
- {{id: panel-dry, text: Panel dry, lifts: Read it., scope: wall, reason: rot, source: "common practice, no source",
    task: {{kind: reading, title: READ, minutes: 20}}}}
- {{id: {sample}, text: Sample, lifts: See it., scope: job, reason: mix, source: "common practice, no source"}}
coats:
"""
_LIME_HOLDS = """\
- {id: roof-gutter, text: Gutter on, lifts: Look., scope: wall, reason: rain, source: "common practice, no source"}
- {id: base-firm, text: Base firm, lifts: Try it., scope: face, reason: cracks, source: "common practice, no source",
   judges: base, task: {kind: test, title: TEST, minutes: 10}}
coats:
"""
_COAT = "- {{id: {id}, name: {name}, title: {title}, work: {work}, care: {care}, holds: [{holds}]{visits}}}\n"
_VISITS = ', visits: [{id: look, text: Look., source: "common practice, no source"}]'


def _rules(group: str, rules: str) -> str:
    """Return rules written as ``name: value``, or ``name: value least most``, apart by commas."""
    text = ""
    for rule in rules.split(", "):
        name, _, value = rule.partition(": ")
        parts = value.split()
        keys = zip(("value", "least", "most"), zip(parts[::2], parts[1::2], strict=True), strict=False)
        said = ", ".join(f'{key}: "{number} {unit}"' for key, (number, unit) in keys)
        text += f'- {{id: {group}.{name}, {said}, reason: r, source: "common practice, no source"}}\n'
    return text


def _coat(id: str, name: str, work: str, holds: str = "", care: str = "mist") -> str:
    visits = _VISITS if work == "plaster" else ""
    return _COAT.format(id=id, name=name, title=id.upper(), work=work, care=care, holds=holds, visits=visits)


CLAY_LIME = (
    _HEAD.format(id="clay-lime", sides="[out, in]", sample="sample-panel").replace("coats:\n", _LIME_HOLDS)
    + _coat("base", "base coat", "plaster", "panel-dry, sample-panel, roof-gutter")
    + _coat("finish", "finish coat", "plaster", "base-firm")
    + _coat("paint", "coat of paint", "paint")
    + "rules:\n"
    + _rules("base", _BASE.format(base="13 mm 10 mm 20 mm"))
    + _rules("finish", _FINISH)
    + _rules("paint", _PAINT)
    + _rules("panel", _PANEL)
    + _rules("visit", _VISIT)
)

CLAY_INSIDE = (
    _HEAD.format(id="clay-inside", sides="[in]", sample="sample-clay")
    + _coat("base", "base coat", "plaster", "panel-dry, sample-clay", "air")
    + "rules:\n"
    + _rules("base", _BASE.format(base="12 mm"))
    + _rules("panel", _PANEL)
    + _rules("visit", "setup: 5 min, ground_reach: 20 m")
)

LIME_OUTSIDE = CLAY_LIME.replace("clay-lime", "lime-outside").replace("sides: [out, in]", "sides: [out]")
