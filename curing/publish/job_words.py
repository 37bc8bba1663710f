"""Sentences of the catalogue: the comments of a job file that is written for somebody.

``file.line.*`` stand at the end of a line.
"""

from __future__ import annotations

from collections.abc import Mapping

JOB_FILE: Mapping[str, str] = {
    "file.title": "{name}: everything the plan goes by stands in this file.",
    "file.how": "HOW SUCH A FILE IS WRITTEN",
    "file.how.text": "It is plain text. Any text editor will do; save it as it is.",
    "file.how.lines": (
        'A line says "name: value". What belongs to a thing stands under it, indented by two spaces more. '
        "Use spaces only, no tabs."
    ),
    "file.how.lists": '"- " begins one of several: one wall, one person. Short lists stand in brackets: [mon, tue].',
    "file.how.comments": 'Everything after a "#" is for people only; the program does not read it.',
    "file.how.units": "Every measure has its unit: 13 mm, 10.4 m2, 75 min. Inches and feet work too: 1/2 in, 410 ft2.",
    "file.how.dates": "Dates are year-month-day, times of day have 24 hours: 2027-05-03, 07:00.",
    "file.how.ids": 'Ids are short and have no spaces. An id that is only a number stands in quotes: "1".',
    "file.how.off": 'A "#" with no space after it switches a line off: take the "#" away, fill in, and it counts.',
    "file.how.faults": "Whatever is wrong is told with its line, all of it at once.",
    "file.line.curing": "the form of this file; leave it as it is",
    "file.line.uid": "tells this job from every other; never change it",
    "file.line.units": "how the plan writes measures: metric or us",
    "file.line.week": "days on which coats are laid; misting knows no weekend",
    "file.holidays": "Days without coats. Public holidays come from the country; add your own days.",
    "file.holidays.none": "Days without coats: none yet. Public holidays come from the country.",
    "file.line.region": "its own holidays count too",
    "file.line.day_off": "a day, or first day..last day",
    "file.season": "The season of outside work: until the weather records of the site give it, as dates.",
    "file.season.none": "The season of outside work: no line is given, so nothing is held back because of frost.",
    "file.line.finish_by": "the last finish coat outside is begun by this day",
    "file.line.resumes": "outside work goes on from this day in the next year",
    "file.season.drying": (
        "How fast panels dry in each month, where you know it: drying: {{ jan: 0.3, feb: 0.35, ... }}; "
        "1 is warm and dry, 0.5 takes twice as long."
    ),
    "file.sites": "Where the walls stand. The sun comes from the position, the clock from the time zone.",
    "file.line.latitude": "degrees north",
    "file.line.longitude": "degrees east",
    "file.people": "Everybody who works, mists, decides or only wants to know.",
    "file.people.hours": 'hours   when somebody is there; a day not named is off; "holiday" is any public holiday',
    "file.people.also": "also    single days with hours of their own: {{ 2027-05-23: 08:00-12:00 }}",
    "file.people.away": "away    days when somebody is not there: [2027-06-14..2027-06-18]",
    "file.people.reach": "reach   scaffold: may climb; ground: mists only what can be reached from the ground",
    "file.people.roles": (
        "roles   lead (decides, opens holds), architect (the same), mists, client (only reads); "
        "who lays coats stands under crews"
    ),
    "file.line.longest_round": "longest walk at a time",
    "file.crews": (
        "Who lays coats together. A face is one block of work with one wet edge, so it must fit in one day."
    ),
    "file.meters": "Moisture meters whose readings count.",
    "file.meters.range": "least, most   lowest and highest reading it shows",
    "file.meters.basis": "basis         wet or dry: the share of water in the whole mass, or in the dry mass",
    "file.holds": (
        "What must be true before a coat, and was recorded. A line here holds for the whole job, a line under a wall "
        "for both its sides, a line under a face for that side. No line: not met yet. What there is: curing systems ID"
    ),
    "file.walls": "The walls, in the order in which you walk round the house, with their faces: out, in, or both.",
    "file.walls.panel": "panel     the straw-clay behind: the meter decides when it is dry, the plan only guesses",
    "file.walls.facing": "facing    where an outside face looks: N, SW, or degrees from north, 95°",
    "file.walls.height": "height    top of the face above the ground or floor",
    "file.walls.system": "system    the coats and their rules: {systems}; all of one: curing systems ID",
    "file.walls.scaffold": "scaffold  the one it is laid from; the plan tells from when to when each is needed",
    "file.walls.gutter": "gutter    false: the roof edge above is not on yet, so no coat before it is",
    "file.walls.exposure": "exposure  sheltered, normal or exposed to wind and rain",
    "file.walls.start": "start     earliest day for the first coat",
    "file.walls.after": "after     faces or coats that must be laid first: 2-out, or 2-out.base",
    "file.walls.done": "done      coats that are laid already, with the day",
    "file.line.after": "one side open to the air until the other has its base",
}
