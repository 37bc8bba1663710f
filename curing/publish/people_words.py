"""Sentences of the pages about people, of rounds that change hands, and of the client's page."""

from __future__ import annotations

from collections.abc import Mapping

_PEOPLE: Mapping[str, str] = {
    "people.title": "People",
    "people.links": "Everybody and their links",
    "people.links.text": (
        "A link opens the pages of one person, without a password. Whoever has it can tick in that name: give it to "
        "that person alone."
    ),
    "people.role.lead": "lead",
    "people.role.architect": "architect",
    "people.role.mists": "mists",
    "people.role.client": "client, reads only",
    "people.role.none": "no role",
    "people.you": "you",
    "people.roles.change": "Change people and roles",
    "people.roles.text": "Roles stand in the job file. They hold from the next plan on; links stay as they are.",
    "people.today": "today {clock}",
    "people.link.none": "No link yet.",
    "people.link.made": "Link given {when}.",
    "people.link.withdrawn": "Link withdrawn {when}: it opens nothing.",
    "people.fetched.never": "No calendar has fetched it yet.",
    "people.fetched.stale": "Calendar last fetched {when}, {hours} h ago: it shows old dates.",
    "people.fetched.fresh": "Calendar last fetched {when}.",
    "people.do.give": "Give a link",
    "people.do.give_again": "Give a new link",
    "people.do.show": "Show link",
    "people.do.renew": "Renew",
    "people.do.withdraw": "Withdraw",
    "people.do.back": "Back to people",
    "people.do.no": "No, leave it as it is",
    # The page with a link
    "people.show.title": "{name}'s link",
    "people.show.text": (
        "Point {name}'s phone at the code, or send the link. It opens {name}'s pages; the page Your calendar there "
        "brings the visits into the phone's own calendar."
    ),
    "people.show.label": "Link",
    "people.show.qr": "QR code of the link",
    "people.show.copy": "Copy the link",
    "people.show.copied": "Copied.",
    "people.show.secret": "Not into groups, not onto the site board: whoever has it can tick in {name}'s name.",
    "people.show.secret_client": "Whoever has it sees the client's page, and can change nothing.",
    "people.show.lost": (
        "This link was made with another key, which this server no longer has, so it can't be shown. The phone that "
        "has it keeps it. Renew it to get one that can be shown."
    ),
    # Asked before something is taken away
    "people.renew.title": "Renew {name}'s link?",
    "people.renew.then": "What happens",
    "people.renew.old": "The link that {name} has opens nothing from now on, on any phone.",
    "people.renew.calendar": (
        "A calendar that used it keeps the events it has and gets no new ones: {name} deletes that calendar from the "
        "phone and adds the new one, or old dates stay beside the new."
    ),
    "people.renew.new": "You get a new link to give to {name}.",
    "people.renew.own": "It is your own link: this page goes on under the new one. Keep that.",
    "people.renew.yes": "Renew {name}'s link",
    "people.withdraw.title": "Withdraw {name}'s link?",
    "people.withdraw.old": "The link that {name} has opens nothing from now on, on any phone.",
    "people.withdraw.calendar": (
        "A calendar that used it keeps the events it has and gets no new ones: {name} deletes that calendar from the "
        "phone."
    ),
    "people.withdraw.rounds": (
        "{name} stays in the plan, with rounds: give those to somebody else, or take the role away in the job file."
    ),
    "people.withdraw.own": "It is your own link: no page opens for you any more after this.",
    "people.withdraw.last": (
        "It is the last link by which anybody decides. After this nobody can give links, give rounds or open a hold "
        "on these pages. Whoever runs the server starts it again: it then writes new links for lead and architect."
    ),
    "people.withdraw.told": "I know: nobody can decide after this",
    "people.withdraw.tick": "Not withdrawn: tick that you know what happens then, or leave the link as it is.",
    "people.withdraw.yes": "Withdraw {name}'s link",
    "people.changed": (
        "{name}'s link was changed since this page was drawn; nothing was done. Look at it anew on the page People."
    ),
    "people.no_link": "{name} has no link that opens anything; give one on the page People.",
    # Rounds
    "people.rounds": "Rounds to {day}",
    "people.rounds.none": "No rounds in these days.",
    "people.rounds.nobody.one": "{number} round has nobody",
    "people.rounds.nobody.many": "{number} rounds have nobody",
    "people.rounds.nobody.text": "Give each to somebody who mists, or change hours or roles in the job file.",
    "people.rounds.several": "Give rounds of several days",
    "people.rounds.several.text": (
        "Your word stands for all that was said before: who had these rounds loses them. Faces out of reach from the "
        "ground stay with the crew."
    ),
    "people.rounds.nobody_mists": "Nobody who mists is there on that day: look at roles and days away in the job file.",
    "people.round.early": "early round",
    "people.round.midday": "midday round",
    "people.round.late": "late round",
    "people.round.line": "{faces} · {minutes}",
    "people.round.at": "{title} {span}",
    "people.round.given": "Given to {name}; the plan follows in a few seconds.",
    "people.round.not_taken": (
        "Was given to {name}, who can't take it: no time that day, or out of reach. Give it to somebody else."
    ),
    "people.round.high": "{faces} only from the scaffold: the crew.",
    "people.round.if": "Only if the coat is laid by then.",
    "people.round.weather": "Weather: {text}.",
    "people.give.to": "Give it to",
    "people.give.choose": "choose",
    "people.give.first": "From",
    "people.give.last": "To",
    "people.give.slot": "Which rounds",
    "people.give.slot.all": "all",
    "people.give.do": "Give",
    "people.give.do_several": "Give these rounds",
    # Handovers
    "people.signed": "Signed to mist",
    "people.signed.one": "{name} signed to mist {days}.",
    "people.signed.more": "Walked one round with {person} on {walked}; the whole kit is in hand; signed “{signed}”.",
    "people.signed.give": "Give the rounds",
    "people.signed.given": "The rounds were given.",
    "people.signed.gone": "This handover was taken back, or is none of this job; look at the page People anew.",
}

_PASS_ON: Mapping[str, str] = {
    "pass_on.title": "Pass a round on",
    "pass_on.text": (
        "Ask first, then pass it on here: the round then stands in the other's calendar, and you see below whether it "
        "could be taken."
    ),
    "pass_on.own": "Your rounds to {day}",
    "pass_on.none": "You have no round in these days.",
    "pass_on.not_misting": (
        "You mist no rounds in this job. The lead or the architect gives rounds on the page People."
    ),
    "pass_on.alone": "Nobody else mists in this job: ask the lead.",
    "pass_on.this_round": "This round to",
    "pass_on.nobody_there": "Nobody else who mists is there then: ask the lead.",
    "pass_on.do": "Pass on",
    "pass_on.weekend": "This weekend",
    "pass_on.weekend.do": "Pass the weekend on",
    "pass_on.rounds.one": "{number} round",
    "pass_on.rounds.many": "{number} rounds",
    "pass_on.spell": "Several days",
    "pass_on.spell.do": "Pass these days on",
    "pass_on.passed": "Passed on",
    "pass_on.passed.by": "{name}, {when}: {text}",
    "pass_on.passed.you": "You, {when}: {text}",
    "pass_on.undo": "Take it back",
    "pass_on.take_over": "You are not of the crew: sign here before you mist alone",
}

_TAKE_OVER: Mapping[str, str] = {
    "take_over.title": "Take rounds over",
    "take_over.text": (
        "For who mists without being of the crew. Walk one round with somebody who has done it, get the kit, read this "
        "page, then sign. Signing gives you no round yet: the lead sees it and gives the rounds."
    ),
    "take_over.crew": "You are of the crew: nothing to sign. Pass rounds on, or ask the lead.",
    "take_over.not_misting": "You mist no rounds in this job. The lead adds the role in the job file first.",
    "take_over.signed": "You signed",
    "take_over.signed.waits": "To mist {days}. The lead has not given the rounds yet.",
    "take_over.signed.given": "To mist {days}. The rounds were given: see Today and your calendar.",
    "take_over.reach": "Which faces",
    "take_over.reach.near": "You mist, from the ground: {faces}.",
    "take_over.reach.none": "No face of this job can be misted from the ground: the crew does it.",
    "take_over.reach.high": (
        "Never these: their top is higher than {limit}, so only the crew mists them, from a scaffold."
    ),
    "take_over.reach.face": "{face}: top at {height}",
    "take_over.eye": "Wet or dry, by eye",
    "take_over.eye.dark": "Dark all over: still damp. Leave it, and tick Still damp.",
    "take_over.eye.pale": "Pale patches: it dries. Mist the whole face until it darkens, then stop. Never run-off.",
    "take_over.eye.hand": "Never feel it with a bare hand: fresh lime burns.",
    "take_over.eye.odd": "Cracks, a musty smell, dark straw, frost on it: no water. Phone the lead.",
    "take_over.call": "Whom to call",
    "take_over.call.lead": "The lead, {names}: the number is on the site board.",
    "take_over.call.eye": "Lime in the eye: water at once and keep rinsing, then the emergency number.",
    "take_over.care": "Take care",
    "take_over.sign": "Sign",
    "take_over.walked": "Walked together on",
    "take_over.walked_with": "With",
    "take_over.kit": "The kit is in hand",
    "take_over.kit.sprayer": "Sprayer with a fog nozzle",
    "take_over.kit.water": "Clean water at the wall",
    "take_over.kit.goggles": "Goggles that close",
    "take_over.kit.gloves": "Waterproof gloves",
    "take_over.kit.cards": "Wall cards, and a pen",
    "take_over.kit.thermometer": "Thermometer: no water near frost",
    "take_over.kit.source": "Common practice, no source. Tick each thing when you have it.",
    "take_over.first": "I mist from",
    "take_over.last": "to",
    "take_over.name": "Your name, in full",
    "take_over.do": "Sign",
    "take_over.undo": "Take it back",
    "take_over.open": "What who takes over reads and signs",
}

_CLIENT: Mapping[str, str] = {
    "client.title": "{job}: your walls",
    "client.for": "for the client and the architect",
    "client.foot": "This page is for reading only. Questions: the lead, number on the site board.",
    "client.count.one": "{done} of {number} wall has had all its days",
    "client.count.many": "{done} of {number} walls have had all their days",
    "client.count.drying.one": "{number} panel still drying",
    "client.count.drying.many": "{number} panels still drying",
    "client.count.both": "{walls}, {panels}.",
    "client.count.walls": "{walls}.",
    "client.dates.plaster": "Last plaster coat about {day}.",
    "client.dates.end": "Everything done about {day}.",
    "client.dates.move": "These dates move with the weather and with what the walls show.",
    "client.dates.none": "Every coat is laid.",
    "client.touch": "Please do not touch, hose or lean anything on",
    "client.touch.faces": "{faces}: kept damp, or freshly laid.",
    "client.touch.soon": "{faces}: a coat is laid there within {days} days, so keep a way free.",
    "client.touch.none": "No wall is kept damp now. Still lean nothing on fresh plaster.",
    "client.laid": "{coat} laid {day}.",
    "client.kept.mist.one": "Kept damp {times} of {number} time.",
    "client.kept.mist.many": "Kept damp {times} of {number} times.",
    "client.kept.air.one": "Aired {times} of {number} time.",
    "client.kept.air.many": "Aired {times} of {number} times.",
    "client.until.mist": "Kept damp until {day}.",
    "client.until.air": "Aired until {day}.",
    "client.days.one": "{number} day done.",
    "client.days.many": "{number} days done.",
    "client.all": "All coats laid.",
    "client.drying": "Panel still drying.",
    "client.drying.read": "Panel still drying, {reading} water when last read, {day}. Coats start at {limit}.",
    "client.drying.unread": "Panel still drying, not read yet. Coats start at {limit}.",
    "client.dry": "Panel read dry enough.",
    "client.begun": "{coat} is being laid.",
    "client.next": "Next: {coat}, {day}.",
    "client.next.about": "Next: {coat}, about {day}, if met by then: {points}",
    "client.next.about_plain": "Next: {coat}, about {day}.",
    "client.next.no_day": "Next: {coat}. It has no day yet.",
    "client.record": "Record",
    "client.record.of": "Record of {face}",
    "client.record.open": "What was done on it",
    "client.record.none": "Nothing is recorded of it yet.",
    "client.record.back": "Back to all walls",
    "client.record.wall": "Wall",
    "client.record.coats_of": "Coats",
    "client.record.panel": "Panel",
    "client.record.seen": "Seen",
    "client.record.readings": "Panel readings",
    "client.record.readings.limit": "Panel readings: {limit} or less passes, wet basis",
    "client.record.coats": "Coats",
    "client.record.holds": "Hold points",
    "client.record.tending": "Kept damp or aired: {coat}",
    "client.record.tests": "Tests and inspections",
    "client.record.decided": "Kept or moved by decision",
    "client.record.laid": "laid {when}",
    "client.record.wait.one": "{number} day after the {below}; the rules: {rule}",
    "client.record.wait.many": "{number} days after the {below}; the rules: {rule}",
    "client.record.wait_broken.one": "against the rules: {number} day after the {below}; the rules: {rule}",
    "client.record.wait_broken.many": "against the rules: {number} days after the {below}; the rules: {rule}",
    "client.record.sums": (
        "{asked} visits asked: {cared} {care}, {damp} still damp, {rain} rain, {failed} could not, {missed} missed, "
        "{unsaid} without a word."
    ),
    "client.record.day": "Day",
    "client.record.date": "Date",
    "client.record.cell.misted": "misted {clock}",
    "client.record.cell.aired": "aired {clock}",
    "client.record.cell.damp": "damp {clock}",
    "client.record.cell.rain": "rain {clock}",
    "client.record.cell.could-not": "could not",
    "client.record.cell.missed": "missed",
    "client.record.cell.unsaid": "no word",
    "client.record.step.met": "met {day}",
    "client.record.step.refused": "refused {day}",
    "client.record.step.lapsed": "lapsed {day}: its readings were too old from then on",
    "client.record.step.reading": "shut again {day}: a reading was too wet",
    "client.record.step.test": "shut again {day}: a test failed",
    "client.record.step.rain": "shut again {day}: rain on the bare panel",
    "client.record.step.set": "shut again {day}: the panel was set in its frame",
    "client.record.step.meter": "shut again {day}: its meter was found false",
    "client.record.step.withdrawn": "shut again {day}: what it rested on was taken back",
    "client.record.step.none": "not recorded as met",
    "client.record.laid_shut": "not recorded as met when the coat was laid, {day}",
    "client.record.keep": "{coat} kept on {day} against a rule: {why}",
    "client.record.move": "{coat} moved to {day}: {why}",
    "client.record.digest": "Checksum of the whole record of the job: {digest}",
    "client.record.said": "{text}, {when}",
    "client.name": "(name)",
}

PEOPLE: Mapping[str, str] = {**_PEOPLE, **_PASS_ON, **_TAKE_OVER, **_CLIENT}
"""Sentences about people, rounds that change hands, and the client's page."""
