"""Sentences of the catalogue: the questions of ``curing new``, why each is asked, and what an answer does.

``new.ask.KEY`` is the question, ``new.why.KEY`` what "?" says, ``new.effect.*`` the line after an answer.
"""

from __future__ import annotations

from collections.abc import Mapping

ASK: Mapping[str, str] = {
    "new.section.job": "THE JOB",
    "new.section.site": "THE SITE",
    "new.section.days": "DAYS WITHOUT COATS, AND THE SEASON",
    "new.section.people": "PEOPLE",
    "new.section.crews": "CREWS",
    "new.section.meters": "MOISTURE METERS",
    "new.section.walls": "WALLS, in the order in which you walk round the house",
    "new.section.table": "THE WALL TABLE {file}",
    "new.section.done": "WHAT IS LAID ALREADY",
    "new.section.write": "ALL TOGETHER",
    "new.ask.name": "Name of the job",
    "new.why.name": "It heads the plan and every calendar. Change it whenever you like.",
    "new.ask.units": "Measures in the plan: metric or us",
    "new.why.units": "How the plan writes measures. You may answer in either, with the unit: 13 mm or 1/2 in.",
    "new.ask.site.name": "Name of the site",
    "new.why.site.name": "It stands in calendar events, so that a phone shows where to go.",
    "new.ask.site.position": "Latitude, longitude (such as 52.1, 5.2)",
    "new.why.site.position": (
        "Where the house stands: sun on a face and the hours of a round come from it. Touch the place in a map on a "
        "phone and it shows two numbers. South of the equator and west of Greenwich they have a minus."
    ),
    "new.ask.country": "Country, for its public holidays",
    "new.why.country": "No coat is laid on a public holiday; misting goes on. Two letters or the name.",
    "new.ask.region": "Region with holidays of its own ({regions})",
    "new.why.region": "Some regions have holidays that the rest of the country has not.",
    "new.ask.zone": "Time zone",
    "new.why.zone": "The clock on the wall at the site. The nearest is proposed; a city does: Amsterdam.",
    "new.ask.zone.sure": "{zone} and longitude {longitude} are about {hours} h apart. Is that right",
    "new.why.zone.sure": 'Places west of Greenwich have a minus: -72.6. Type "no" to give the position again.',
    "new.ask.week": "Days on which coats are laid",
    "new.why.week": "Misting knows no weekend; this is for laying coats only. Such as mon-fri, or mon-thu, sat.",
    "new.ask.days_off": "Other days without coats",
    "new.why.days_off": "Building holidays, a festival: 2027-07-26..2027-08-06, with a comma between several.",
    "new.ask.finish_by": "Season line: last day to begin a finish outside",
    "new.why.finish_by": (
        "A finish must be kept damp and cure before the first hard frost, or frost breaks it. The line is the last day "
        "to begin one outside, commonly six to eight weeks before frost is likely (common practice, no source). Local "
        "codes and the maker's data sheet come first. Without it nothing is held back."
    ),
    "new.ask.resumes": "First day of outside work in the next year",
    "new.why.resumes": "What is too late for the line waits for this day. Without it late faces are only warned about.",
    "new.ask.start": "First day for plaster outside",
    "new.why.start": "No coat outside is planned before it. It opens nothing: a wet panel waits for its reading.",
    "new.ask.person.name": "Name of the first person, the one who leads",
    "new.why.person.name": "Whoever lays, mists, decides or only reads along gets a calendar. None when all are there.",
    "new.ask.person.next": "Next person",
    "new.ask.person.roles": "What does {name} do? {choices}",
    "new.why.person.roles": (
        "One or several, with commas. leads: decides and opens hold points. lays: lays coats with a crew. "
        "mists: walks rounds. architect: decides too. reads: only reads along."
    ),
    "new.ask.person.hours": "Hours on working days",
    "new.why.person.hours": (
        "From when to when, such as 07:00-15:30. Different days: mon-thu 07:00-15:30, fri 07:00-12:00. "
        'Or "none". A day that is not named is a day off.'
    ),
    "new.ask.person.weekend": "Hours on other days and holidays",
    "new.why.person.weekend": (
        "Fresh lime is misted on Saturdays, Sundays and holidays too. Rounds on days when nobody is there head "
        "every list until somebody takes them."
    ),
    "new.ask.person.scaffold": "May {name} climb the scaffold",
    "new.why.person.scaffold": (
        "Whoever is not of the crew mists from the ground only: wet boards, a hose and height are how people fall."
    ),
    "new.ask.person.longest": "Longest round of {name} at a time",
    "new.why.person.longest": "So that nobody is asked for more than they offered, such as 75 min.",
    "new.ask.crew.name": "Name of the crew",
    "new.why.crew.name": "Who lays coats together. Each coat of a face is one block of one crew, with one wet edge.",
    "new.ask.crew.next": "Name of the crew of the others ({names})",
    "new.ask.crew.people": "Who is in it",
    "new.why.crew.people": "Names with commas. Everybody who lays coats is in one crew.",
    "new.ask.meter": "Name of a moisture meter",
    "new.why.meter": (
        "Its readings decide when a panel is dry. Its range is asked for, because a reading at its end says nothing."
    ),
    "new.ask.meter.next": "Another meter",
    "new.ask.meter.least": "Lowest reading it shows",
    "new.why.meter.least": "In its manual or on its scale, in percent: 8 %.",
    "new.ask.meter.most": "Highest reading it shows",
    "new.why.meter.most": "In its manual or on its scale, in percent: 40 %.",
    "new.ask.meter.basis": "Its percent are of the wet or the dry mass",
    "new.why.meter.basis": "20 % of wet mass is 25 % of dry mass. Not known: it is asked for with each reading.",
    "new.ask.table": "A table with the walls (CSV), if there is one",
    "new.why.table": (
        "Its name, walls.csv, instead of typing them: a wall schedule that a spreadsheet saved as CSV. A line a "
        "face, or a line a wall. Columns by name: wall, name, side, facing, area (m2), height (m), thickness "
        "(mm), filled, system, scaffold, notes."
    ),
    "new.ask.table.again": "Mend the table, save it, and press Enter",
    "new.why.table.again": 'The table is read again then. "back" takes answers back, for instance who is in the crew.',
    "new.ask.table.column": "What is column {number}, {header}? A name from ? or skip",
    "new.why.table.column": "One of: {fields}. Or skip: it does not count. Its first cells: {cells}",
    "new.ask.table.side": "The table says no side for some lines. They are: out, in or both",
    "new.why.table.side": "out: the weather side. in: the room side. both: one line stands for both sides.",
    "new.ask.table.height": "Height of the faces that have none in the table",
    "new.ask.table.thickness": "Thickness of the panels that have none in the table",
    "new.ask.table.system-out": "Coats of outside faces that have none in the table",
    "new.ask.table.system-in": "Coats of inside faces that have none in the table",
    "new.ask.wall.name": "Wall {number}: its name",
    "new.why.wall.name": (
        'Such as "north gable" or "road side, bay 1"; none when all are there. Its short id, which heads calendar '
        "events on small screens, is "
        'made from it and shown. Another id: type "north gable = 4".'
    ),
    "new.ask.wall.next": "Wall {number}: its name",
    "new.ask.wall.like": "Like {name} in everything but area and fill date",
    "new.why.wall.like": "Sides, directions, heights, coats and scaffold are taken over. Type no to be asked for all.",
    "new.ask.wall.thickness": "Thickness of its straw-clay panel",
    "new.why.wall.thickness": "Twice as thick dries about twice as long. Such as 200 mm or 8 in.",
    "new.ask.wall.filled": "Day the panel was or will be filled",
    "new.why.wall.filled": "The plan guesses from it when the panel is dry. Only a reading opens the base coat.",
    "new.ask.wall.sides": "Sides to plaster: out, in or both",
    "new.why.wall.sides": "out: the weather side. in: the room side.",
    "new.ask.face.facing": "Outside: it looks to (N, SW, 84°)",
    "new.why.face.facing": (
        "N, NNE, NE and so on, or degrees from true north. It gives the hours of sun: when the crew lays in the shade, "
        "where cloth hangs, when the round must be over."
    ),
    "new.ask.face.system.out": "Outside: coats ({systems})",
    "new.ask.face.system.in": "Inside: coats ({systems})",
    "new.why.face.system": "Which coats, with their waits and holds. All of one: curing systems ID.",
    "new.ask.face.area.out": "Outside: area",
    "new.ask.face.area.in": "Inside: area",
    "new.why.face.area": (
        "Of the plaster, without openings: 10.8 m2 or 116 ft2. A crew lays it in one day with one wet edge; a larger "
        "one is split at a corner, a downpipe or an expansion joint."
    ),
    "new.ask.face.height.out": "Outside: height of its top above the ground",
    "new.ask.face.height.in": "Inside: height of its top above the floor",
    "new.why.face.height": "Tells who reaches it with a mister from the ground. 2.7 m or 9 ft.",
    "new.ask.face.scaffold": "Outside: name of its scaffold",
    "new.why.face.scaffold": "Faces with the same name share one; the plan tells from when to when it is needed.",
    "new.ask.face.gutter": "Outside: are roof edge and gutter on",
    "new.why.face.gutter": "No coat goes on under an open roof edge: one night of rain washes a base off.",
    "new.ask.face.exposure": "Outside: sheltered, normal or exposed to wind and rain",
    "new.why.face.exposure": "For the weather at the face. Normal is right for most.",
    "new.ask.face.after": "Inside only once the outside has its base",
    "new.why.face.after": "A panel closed on both sides dries slowly: one stays open until the other has its base.",
    "new.ask.done": "Is any coat laid already",
    "new.why.done": "Then the plan goes on from there. Laid coats keep their waits and their misting days.",
    "new.ask.done.face": "Which face, such as {example}",
    "new.ask.done.next": "Another face with a coat laid",
    "new.why.done.face": "Wall and side, as in the list above: {faces}",
    "new.ask.done.coat": "Last coat laid on it ({coats})",
    "new.why.done.coat": "Those under it are asked for too.",
    "new.ask.done.when": "When was the {coat} laid",
    "new.why.done.when": "2027-05-03, or 2027-05-03 14:30. A day alone stands for 15:00.",
    "new.ask.write": "Write {file}",
    "new.why.write": 'Nothing is written before you say yes. "back" changes the last answers; no leaves them kept.',
}

EFFECT: Mapping[str, str] = {
    "new.effect.file": "The job will stand in {file}.",
    "new.effect.sun": "The sun comes from the south. A north face needs no cloth.",
    "new.effect.sun.south": "The sun comes from the north. A south face needs no cloth.",
    "new.effect.holidays.one": "{number} public holiday without coats in {year}.",
    "new.effect.holidays.many": "{number} public holidays without coats in {year}.",
    "new.effect.no_country": "No public holidays: coats are laid on every working day.",
    "new.effect.week": "Coats on {days}; misting on all days.",
    "new.effect.finish_by": "A finish outside must begin by {day}, or it waits for spring.",
    "new.effect.no_finish_by": "Nothing is held back because of frost. Add the line when you know it.",
    "new.effect.resumes": "What is too late waits for {day}.",
    "new.effect.no_resumes": "Faces that are too late are warned about, not moved.",
    "new.effect.id": "Short id: {id}",
    "new.effect.id.first": 'Short id: {id}. For another: back, then "{name} = ID".',
    "new.effect.reads": "{name} gets a calendar and is asked for nothing.",
    "new.effect.hours": "{hours}",
    "new.effect.no_hours": "{name} takes no rounds and lays nothing.",
    "new.effect.no_weekend": "{name} takes no rounds on those days.",
    "new.effect.ground": "{name} mists from the ground, up to {reach}.",
    "new.effect.scaffold": "{name} takes rounds at all heights.",
    "new.effect.crew": "Together they keep about {area} wet-edged in a day; no face may be larger.",
    "new.effect.meter": "Readings of it count; curing tells when one is at the end of its range.",
    "new.effect.no_thickness": "No panel is given: the plan does not guess when it is dry.",
    "new.effect.like": "Taken over: {what}",
    "new.effect.filled": "In warm, dry air dry about {ready}, perhaps {late}; the meter decides.",
    "new.effect.cloth": "Up to {hours} h of sun in a day: wet cloth hangs here after the finish.",
    "new.effect.little_sun": "Little sun: no cloth needed, and shade for laying most of the day.",
    "new.effect.away": "A {side} face needs no cloth.",
    "new.effect.coats": "{coats}",
    "new.effect.area": "The {coat} is about {hours} h of work.",
    "new.effect.high": "Higher than {reach}: only people who may climb mist it.",
    "new.effect.low": "Within reach from the ground: everybody who mists can take it.",
    "new.effect.gutter": "No coat on it is firm until the roof edge is on.",
    "new.effect.after": "The inside waits for the outside base.",
    "new.effect.taken.one": "{number} wall with {faces} taken from the table.",
    "new.effect.taken.many": "{number} walls with {faces} taken from the table.",
    "new.effect.faces.one": "{number} face",
    "new.effect.faces.many": "{number} faces",
}

TABLE: Mapping[str, str] = {
    "new.table.windows_1252": "{file} is read as Windows-1252, not UTF-8: look at names with accents.",
    "new.table.title": 'line {line}, "{text}", stands above the header: taken as a title',
    "new.table.total": "line {line} is a total: left out",
    "new.table.same_wall": 'line {line} names no wall: taken as the other side of "{wall}" above it',
    "new.table.computed.one": "{number} area is width x height: openings are not taken off",
    "new.table.computed.many": "{number} areas are width x height: openings are not taken off",
    "new.table.ids.one": '{number} id is made from its name: "{name}" is {id}',
    "new.table.ids.many": '{number} ids are made from names: "{name}" is {id}',
    "new.table.more.one": "and {number} more such remark",
    "new.table.more.many": "and {number} more such remarks",
}

SAY: Mapping[str, str] = {
    "new.begin": "A new job, to be kept in {file}.",
    "new.begin.unnamed": "A new job. Its file is named after it.",
    "new.keys": (
        'Enter takes what stands in [ ]. "?" explains, "back" takes the last answer back. Ctrl-C leaves: your answers '
        "are kept, and the same command goes on from there."
    ),
    "new.resumed.one": "Going on where you left: {number} answer is kept from before.",
    "new.resumed.many": "Going on where you left: {number} answers are kept from before.",
    "new.resumed.afresh": "To begin anew, delete {kept}.",
    "new.unfit.one": "{number} kept answer no longer fits and is asked again.",
    "new.unfit.many": "{number} kept answers no longer fit and are asked again.",
    "new.taken_back": 'Taken back. (To answer with the word itself: "back" in quotes.)',
    "new.first": "This is the first question.",
    "new.wanted": 'An answer is needed here; "?" explains.',
    "new.none": "none",
    "new.left": "Nothing is written yet. {answers} kept in {kept}; go on with: {command}",
    "new.left.answers.one": "{number} answer is",
    "new.left.answers.many": "{number} answers are",
    "new.left.nothing": "Nothing is written and nothing is kept.",
    "new.ended": "the answers end before the question: {ask}",
    "new.summary.job": "{name}, {units} measures, {site} ({latitude}, {longitude}), {zone}",
    "new.summary.people": "{people} in all; laying: {crews}",
    "new.summary.crew": "{name} ({people})",
    "new.summary.mist": "misting on other days: {names}",
    "new.summary.mist.nobody": "misting on other days: nobody yet",
    "new.summary.season": "season line {day}",
    "new.summary.no_season": "no season line",
    "new.summary.walls": "{walls}, {faces}, {area} in all",
    "new.summary.more.one": "and {number} face more",
    "new.summary.more.many": "and {number} faces more",
    "new.head.id": "ID",
    "new.head.name": "WALL",
    "new.head.side": "SIDE",
    "new.head.looks": "LOOKS",
    "new.head.area": "AREA",
    "new.head.height": "HEIGHT",
    "new.head.coats": "COATS",
    "new.head.panel": "PANEL",
    "new.walls.one": "{number} wall",
    "new.walls.many": "{number} walls",
    "new.people.one": "{number} person",
    "new.people.many": "{number} people",
    "new.written": "Written: {file}",
    "new.next.plan": "Plan it:      curing plan {file}",
    "new.next.check": "Check it:     curing check {file}",
    "new.next.edit": "Change it:    in any text editor; its comments say what each line does",
    "new.next.holds": (
        "Every coat is an IF until what must be true before it is recorded: roof, sample panel, readings and so on. "
        "The plan names each, and says how to log it."
    ),
}

NEW: Mapping[str, str] = {**ASK, **EFFECT, **TABLE, **SAY}
