"""Sentences of the pages that set a job up. Part of the catalogue in :mod:`curing.publish.words`.

``setup.ask.THING.FIELD`` is the label of a field, ``setup.why.THING.FIELD`` the line under it, and
``setup.choice.FIELD.WORD`` what a word of the file is called on a page.
"""

from __future__ import annotations

from collections.abc import Mapping

_PAGES: Mapping[str, str] = {
    "setup.title": "Set the job up",
    "setup.intro": (
        "What is written here stands in {file}, which an editor can change too. Every change is judged whole before "
        "it is written, and the plan follows."
    ),
    "setup.all": "The whole job",
    "setup.broken": "This file can be mended only in an editor",
    "setup.broken.text": (
        "{file} can't be read as a job, so no form is shown. Until it is mended, the last valid plan stays. What is "
        "wrong:"
    ),
    "setup.broken.line": "line {line}: {text}",
    "setup.wrong.one": "{number} thing is wrong in the file. Until it is mended, the plan can't follow.",
    "setup.wrong.many": "{number} things are wrong in the file. Until they are mended, the plan can't follow.",
    "setup.wrong.more.one": "and {number} more",
    "setup.wrong.more.many": "and {number} more",
    "setup.wrong.here.one": "{number} thing is wrong here",
    "setup.wrong.here.many": "{number} things are wrong here",
    "setup.missing": "Nothing stands here, and it is needed.",
    "setup.missing.such": "Nothing stands here, and it is needed: {example}, say.",
    "setup.done.changed": "Changed. The plan follows in a few seconds.",
    "setup.done.added": "Added. The plan follows in a few seconds.",
    "setup.done.away": "Taken away. The plan follows in a few seconds.",
    "setup.done.ended": "Ended. Nothing more is planned there from today; what is recorded stays.",
    "setup.done.moved": "Moved. The plan follows in a few seconds.",
    "setup.done.same": "Nothing was different, so nothing was changed.",
    "setup.done.begun": "The job is begun. This is its own page: keep this link.",
    "setup.stale": (
        "This job was changed since the page was opened, by somebody else or in an editor. Nothing of yours is written "
        "yet: look at what stands here now, and send it again."
    ),
    "setup.stale.typed": "You had typed: {text}",
    "setup.stale.nothing": "You had left it empty.",
    "setup.lost": "Not changed, because work that is known would be lost by it:",
    "setup.gone": "This is no longer in the job: it was taken away, or renamed, since the page was opened.",
    "setup.no_such": "There is no such thing in this job; perhaps it was taken away. Open the page of the job again.",
    "setup.only": "only the lead or the architect sets the job up; ask one of them",
    "setup.keep": "Keep the change",
    "setup.keep_new": "Add",
    "setup.back": "Back, change nothing",
    "setup.unnamed": "without a name",
    "setup.nothing": "nothing yet",
    "setup.unit": "A number alone counts as {unit}.",
    # What is next
    "setup.next": "What is next",
    "setup.next.plan": "The plan is being made. Open this page again in a few seconds.",
    "setup.next.look": "Look again",
    "setup.next.planned": "The plan is there. First coat: {face}, {coat}, {day}, if nothing holds it.",
    "setup.next.planned.nothing": "The plan is there. No coat is left in it.",
    "setup.next.today": "See the day",
    "setup.next.job": "See the weeks",
    "setup.next.walls": "Add the other walls, in the order in which you walk round the house.",
    "setup.next.people": "Add who else works, mists or reads along: misting goes on at weekends.",
    "setup.next.meters": "Add the moisture meter. Without one no reading counts, and only readings open a panel.",
    "setup.next.holds": "Say what is true already, such as the roof edge: all else stays an IF in the plan.",
    "setup.next.links": "Give everybody their link.",
    # Sections
    "setup.section.job": "The job",
    "setup.section.sites": "Sites",
    "setup.section.people": "People",
    "setup.section.crews": "Crews",
    "setup.section.meters": "Moisture meters",
    "setup.section.walls": "Walls",
    "setup.section.holds": "Holds for the whole job",
    "setup.about.job": "Name, measures, days without coats, season.",
    "setup.about.sites": "Where walls stand: the sun comes from the position, the clock from the time zone.",
    "setup.about.people": "Who works, mists, decides or only reads along. Links are given on the page People.",
    "setup.about.crews": "Who lays coats together. A coat of a face is one block of one crew.",
    "setup.about.meters": "Only readings of these count.",
    "setup.about.walls": "In the order in which you walk round the house, each with its faces.",
    "setup.about.holds": (
        "What must be true before a coat. From now on record it on the wall's page, which keeps who and when; here "
        "stands what was so before."
    ),
    "setup.count.job.one": "{number} job",
    "setup.count.job.many": "{number} jobs",
    "setup.count.sites.one": "{number} site",
    "setup.count.sites.many": "{number} sites",
    "setup.count.people.one": "{number} person",
    "setup.count.people.many": "{number} people",
    "setup.count.crews.one": "{number} crew",
    "setup.count.crews.many": "{number} crews",
    "setup.count.meters.one": "{number} meter",
    "setup.count.meters.many": "{number} meters",
    "setup.count.walls.one": "{number} wall",
    "setup.count.walls.many": "{number} walls",
    "setup.count.holds.one": "{number} written here",
    "setup.count.holds.many": "{number} written here",
    "setup.add.sites": "Add a site",
    "setup.add.people": "Add a person",
    "setup.add.crews": "Add a crew",
    "setup.add.meters": "Add a meter",
    "setup.add.walls": "Add a wall",
    "setup.add.face": "Add the other side",
    "setup.order": "Change the order, add or take away",
    "setup.up": "Up",
    "setup.down": "Down",
    "setup.up.of": "Move {name} one place up",
    "setup.down.of": "Move {name} one place down",
    "setup.faces": "Sides to plaster",
    "setup.holds": "Holds",
    "setup.hold.met": "met {day}",
    "setup.hold.met.by": "met {day}, {name}",
    "setup.hold.refused": "refused {day}",
    "setup.hold.refused.by": "refused {day}, {name}",
    "setup.hold.none": "nothing written here",
    "setup.line.crew": "of crew {crew}",
    "setup.line.panel": "panel {thickness}",
    "setup.line.filled": "filled {day}",
    "setup.line.no_panel": "no panel given",
    "setup.line.high": "{height} high",
    "setup.line.range": "{least} to {most}",
    "setup.line.units.metric": "metric measures",
    "setup.line.units.us": "US measures",
    "setup.line.week": "coats on {days}",
    "setup.line.country": "holidays of {country}",
    "setup.line.no_country": "no public holidays",
    "setup.line.season": "season line {day}",
    "setup.line.no_season": "no season line",
    "setup.line.ended": "ended {day}",
    "setup.line.laid": "laid: {coats}",
    "setup.line.scaffold": "may climb",
    "setup.line.no_hours": "no hours",
    "setup.face.out": "Outside",
    "setup.face.in": "Inside",
    "setup.face.of": "{wall}, {side}",
    "setup.hold.of": "{hold}, {wall}",
    "setup.more.id": "Change the short id ({id})",
    "setup.more.id.none": "Give a short id",
    "setup.more.away": "Take away",
    "setup.new.sites": "A new site",
    "setup.new.people": "A new person",
    "setup.new.crews": "A new crew",
    "setup.new.meters": "A new meter",
    "setup.new.walls": "A new wall",
    "setup.new.face": "A new side of {name}",
    "setup.new.walls.first": "Its first side",
    "setup.new.walls.first.text": "A wall has one side or two. The other one is added afterwards.",
    "setup.thing.job": "The job as a whole",
    # Another id
    "setup.id.title": "Short id of {name}",
    "setup.id.text": (
        "It heads calendar events on small screens and names this in the file. What is recorded stays with it: the "
        "old id is kept in the file as well, and everything that names it follows."
    ),
    # Taken away
    "setup.away.title": "Take {name} away?",
    "setup.away.then": "What follows",
    "setup.away.file": "Its lines go out of {file}, with their comments. They do not come back by themselves.",
    "setup.away.plan": "The plan is made anew without it.",
    "setup.away.hold": "Whether it is met is asked again; the coats behind it become an IF.",
    "setup.away.crew": "{name} leaves the crew {crew}.",
    "setup.away.person": "The link of {name} opens nothing more. What was said in that name stays recorded.",
    "setup.away.own": "It is you: no page opens for you any more after this.",
    "setup.away.ended": (
        "It is not taken out, because plan or record know it: it is marked as ended today. Nothing more is planned "
        "there, and everything recorded stays. This is known of it:"
    ),
    "setup.away.ended.laid": (
        "It is not taken out, because work on it is laid: it is marked as ended today. Nothing more is planned there, "
        "and everything recorded stays."
    ),
    "setup.away.already": "It is ended already, because plan or record know it. There is nothing more to take away.",
    "setup.away.not": "It can't be taken away as things stand:",
    "setup.away.yes": "Take {name} away",
    "setup.away.end": "End {name} today",
    "setup.away.no": "No, leave it as it is",
}

_ASK: Mapping[str, str] = {
    "setup.ask.id.id": "Short id",
    "setup.why.id.id": "Letters, digits and hyphens; of a wall at most 8 signs.",
    "setup.ask.wall.place": "Where it stands in walking order",
    "setup.place.first": "first",
    "setup.place.after": "after {name}",
    # Job
    "setup.ask.job.name": "Name of the job",
    "setup.why.job.name": "It heads the plan and every calendar.",
    "setup.ask.job.units": "Measures",
    "setup.why.job.units": "How the plan writes them. Every reader may choose others on a page.",
    "setup.ask.job.working_week": "Days on which coats are laid",
    "setup.why.job.working_week": "Such as mon-fri, or mon-thu, sat. Misting knows no weekend.",
    "setup.ask.job.country": "Country, for its public holidays",
    "setup.why.job.country": "Two letters or the name. Empty: no public holidays.",
    "setup.ask.job.region": "Region with holidays of its own",
    "setup.why.job.region": "Its code, such as BY. Empty: the holidays of the whole country.",
    "setup.ask.job.days_off": "Other days without coats",
    "setup.why.job.days_off": "Days or spans with commas between: 2027-07-26..2027-08-06, 2027-05-07.",
    "setup.ask.job.worked": "Public holidays on which the crew works all the same",
    "setup.why.job.worked": "Days with commas between: 2027-05-06.",
    "setup.ask.job.finish_by": "Season line: last day to begin a finish outside",
    "setup.why.job.finish_by": (
        "Commonly six to eight weeks before hard frost is likely (common practice, no source). Local codes and the "
        "maker's data sheet come first. Empty: nothing is held back."
    ),
    "setup.ask.job.resumes": "First day of outside work in the next year",
    "setup.why.job.resumes": "What is too late for the line waits for this day.",
    # Site
    "setup.ask.site.name": "Name of the site",
    "setup.why.site.name": "It stands in calendar events, so that a phone shows where to go.",
    "setup.ask.site.latitude": "Latitude",
    "setup.why.site.latitude": "As a map shows it: 52.1. South of the equator it has a minus.",
    "setup.ask.site.longitude": "Longitude",
    "setup.why.site.longitude": "As a map shows it: 5.2. West of Greenwich it has a minus.",
    "setup.ask.site.altitude": "Height above the sea",
    "setup.ask.site.time_zone": "Time zone",
    "setup.why.site.time_zone": "Such as Europe/Amsterdam; a city does: Amsterdam.",
    # Person
    "setup.ask.person.name": "Name",
    "setup.ask.person.roles": "What he or she does",
    "setup.why.person.roles": "Lead and architect decide and open holds. Who lays coats also stands in a crew.",
    "setup.ask.person.hours": "Hours on site",
    "setup.why.person.hours": (
        "mon-thu 07:00-15:30, fri 07:00-12:00, say; also sat, sun, holiday. Hours alone are for mon-fri. A day that is "
        "not named is a day off."
    ),
    "setup.ask.person.also": "Single days with other hours",
    "setup.why.person.also": "A day and its hours, with commas between: 2027-05-23 08:00-12:00.",
    "setup.ask.person.away": "Days away",
    "setup.why.person.away": "Days or spans with commas between: 2027-06-14..2027-06-18.",
    "setup.ask.person.reach": "Works",
    "setup.why.person.reach": (
        "Who is not of a crew mists from the ground only: wet boards, a hose and height are how people fall."
    ),
    "setup.ask.person.longest_round": "Longest round at a time",
    "setup.why.person.longest_round": "Empty: no limit but the hours.",
    "setup.ask.person.tell": "Reminded by",
    "setup.why.person.tell": (
        "Channel and address, the first choice first: email mia@example.org, text +31 6 5550 1234. The channels are "
        "set up where the job is served. Empty: no reminders."
    ),
    "setup.ask.person.quiet": "Quiet hours",
    "setup.why.person.quiet": (
        "21:00-06:00, say, or none. In them only what can't wait rings: a round of one's own that begins then, and a "
        "missed misting of a coat's first three days."
    ),
    "setup.ask.person.notice": "Reminded so long before a round",
    # Crew
    "setup.ask.crew.name": "Name of the crew",
    "setup.ask.crew.people": "Who is in it",
    "setup.why.crew.people": "Everybody who lays coats is in one crew.",
    "setup.ask.crew.working_week": "Days on which it lays coats",
    "setup.why.crew.working_week": "Empty: those of the job. Such as mon-thu, sat.",
    # Meter
    "setup.ask.meter.name": "Name of the meter",
    "setup.why.meter.name": "As it is called on site: a name that tells it from others.",
    "setup.ask.meter.least": "Lowest reading it shows",
    "setup.why.meter.least": "From its manual or scale. A reading at the end of the range says nothing.",
    "setup.ask.meter.most": "Highest reading it shows",
    "setup.ask.meter.basis": "Its percent are of",
    "setup.why.meter.basis": "20 % of wet mass is 25 % of dry mass. Not known: it is asked for with each reading.",
    # Wall
    "setup.ask.wall.name": "Name of the wall",
    "setup.why.wall.name": "Such as north gable.",
    "setup.ask.wall.site": "Site",
    "setup.ask.wall.thickness": "Thickness of its straw-clay panel",
    "setup.why.wall.thickness": "Twice as thick dries about twice as long.",
    "setup.ask.wall.filled": "Day the panel was or will be filled",
    "setup.why.wall.filled": "The plan guesses from it when the panel is dry. Only a reading opens the base coat.",
    # Face
    "setup.ask.face.side": "Side",
    "setup.ask.face.facing": "It looks to",
    "setup.why.face.facing": "Outside only: N, SW, or degrees from true north. It gives the hours of sun.",
    "setup.ask.face.area": "Area",
    "setup.why.face.area": "Of the plaster, without openings. A crew lays it in one day with one wet edge.",
    "setup.ask.face.height": "Height of its top",
    "setup.why.face.height": "Above the ground, or inside above the floor: who reaches it with a mister?",
    "setup.ask.face.system": "Coats",
    "setup.why.face.system": "Which coats, with their waits and holds.",
    "setup.ask.face.exposure": "Wind and rain",
    "setup.ask.face.gutter": "Roof edge and gutter are on",
    "setup.why.face.gutter": "No coat is firm under an open roof edge: one night of rain washes a base off.",
    "setup.ask.face.scaffold": "Name of its scaffold",
    "setup.why.face.scaffold": "Faces with the same name share one. Empty: none.",
    "setup.ask.face.cloth": "Wet cloth can hang before it",
    "setup.ask.face.crew": "Crew that lays it",
    "setup.ask.face.start": "Not before this day",
    "setup.why.face.start": "For the first coat. It opens nothing: a wet panel waits for its reading.",
    "setup.ask.face.after": "Only after",
    "setup.why.face.after": "Sides or coats that are laid first, with commas between: 2-out, or 2-out.base.",
    "setup.ask.face.ended": "Ended",
    "setup.why.face.ended": "Nothing more is planned on it from this day on. Empty: it goes on.",
    # Hold
    "setup.ask.hold.met": "Met on",
    "setup.why.hold.met": "A day in the past or today. One of the two: met or refused.",
    "setup.ask.hold.refused": "Refused on",
    "setup.ask.hold.by": "By",
    "setup.why.hold.by": "Only lead and architect decide on holds.",
    "setup.ask.hold.note": "Note",
    "setup.why.hold.note": "What was seen or read.",
}

_CHOICES: Mapping[str, str] = {
    "setup.choice.units.metric": "metric",
    "setup.choice.units.us": "US",
    "setup.choice.roles.lead": "leads",
    "setup.choice.roles.architect": "architect",
    "setup.choice.roles.mists": "mists",
    "setup.choice.roles.client": "client, reads only",
    "setup.choice.reach.ground": "from the ground",
    "setup.choice.reach.scaffold": "may climb",
    "setup.choice.basis.wet": "the wet mass",
    "setup.choice.basis.dry": "the dry mass",
    "setup.choice.basis.": "not known",
    "setup.choice.side.out": "outside",
    "setup.choice.side.in": "inside",
    "setup.choice.exposure.sheltered": "sheltered",
    "setup.choice.exposure.normal": "normal",
    "setup.choice.exposure.exposed": "exposed",
    "setup.choice.gutter.yes": "yes",
    "setup.choice.gutter.no": "not yet",
    "setup.choice.cloth.yes": "yes",
    "setup.choice.cloth.no": "no",
    "setup.choice.crew.": "any crew",
    "setup.choice.site.": "the first site",
    "setup.choice.none": "choose",
    "setup.choice.by.": "nobody named",
    "setup.system": "{id}: {name} (outside and inside)",
    "setup.system.out": "{id}: {name} (outside)",
    "setup.system.in": "{id}: {name} (inside)",
}

_START: Mapping[str, str] = {
    "serve.start": "{file} is not there yet. This link begins that job, once:",
    "start.title": "A new job",
    "start.intro": (
        "This is all that a plan needs at first. It is written into {file} on the server. Everything can be changed "
        "afterwards, and more is added then: other walls, people, the meter, what is true already."
    ),
    "start.do": "Begin the job",
    "start.wrong.one": "{number} field needs another look. Nothing is written yet.",
    "start.wrong.many": "{number} fields need another look. Nothing is written yet.",
    "start.group.job": "The job",
    "start.group.site": "Where it stands",
    "start.group.people": "Who does it",
    "start.group.wall": "The first wall",
    "start.group.face": "One side of it",
    "start.used": "This job is begun",
    "start.used.text": (
        "This link began a job and opens nothing more. The lead has the link that it led to; whoever runs the server "
        "gets it again by starting the server anew."
    ),
    "start.unknown": "No such link",
    "start.unknown.text": (
        "This link begins no job. A server that was started again prints a new one; look there, and whether it came "
        "whole."
    ),
    "start.zone": (
        "Nothing was given. {zone} is the nearest to that position, where it is {clock} now: look whether that is "
        "right, and send it again."
    ),
    "start.foreign": "this form was not sent from one of our pages; open the page and send it from there",
    "setup.ask.new.name": "Name of the job",
    "setup.why.new.name": "It heads the plan and every calendar.",
    "setup.ask.new.units": "Measures",
    "setup.ask.new.country": "Country, for its public holidays",
    "setup.why.new.country": "Two letters or the name. Empty: no public holidays.",
    "setup.ask.new.site": "Name of the site",
    "setup.why.new.site": "Empty: as the job is called.",
    "setup.ask.new.latitude": "Latitude",
    "setup.why.new.latitude": "Touch the place in a map: the first number, such as 52.1. Both together may stand here.",
    "setup.ask.new.longitude": "Longitude",
    "setup.why.new.longitude": "The second number, such as 5.2. West of Greenwich it has a minus.",
    "setup.ask.new.time_zone": "Time zone",
    "setup.why.new.time_zone": "Such as Europe/Amsterdam; a city does. Empty: the nearest is proposed.",
    "setup.ask.new.lead": "Name of the lead",
    "setup.why.new.lead": "Who leads decides, opens holds, and gets the link to this job.",
    "setup.ask.new.hours": "Hours of the crew",
    "setup.why.new.hours": "Such as 07:00-15:30, or mon-thu 07:00-15:30, fri 07:00-12:00.",
    "setup.ask.new.others": "Others of the crew",
    "setup.why.new.others": "Their names with commas between; they lay and mist.",
    "setup.ask.new.wall": "Name of the wall",
    "setup.why.new.wall": "The one at which your walk round the house begins, such as north gable.",
    "setup.ask.new.thickness": "Thickness of its straw-clay panel",
    "setup.ask.new.filled": "Day the panel was or will be filled",
    "setup.why.new.filled": "The plan guesses from it when the panel is dry. Only a reading opens the base coat.",
    "setup.ask.new.side": "Side",
    "setup.ask.new.facing": "It looks to",
    "setup.why.new.facing": "Outside only: N, SW, or degrees from true north.",
    "setup.ask.new.area": "Area",
    "setup.why.new.area": "Of the plaster, without openings.",
    "setup.ask.new.height": "Height of its top",
    "setup.why.new.height": "Above the ground, or inside above the floor.",
    "setup.ask.new.system": "Coats",
}

SETUP: Mapping[str, str] = {**_PAGES, **_ASK, **_CHOICES, **_START}
