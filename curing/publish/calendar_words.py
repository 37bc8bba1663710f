"""Sentences of the catalogue: calendar titles, descriptions of events, and the cautions, whole.

A title says what to do first, then the part of the day, then the walls: a watch shows about
14 signs of it. ``{face}`` is a wall's id with its side, ``3 out``.
"""

from __future__ import annotations

from collections.abc import Mapping

CAUTIONS = ("lime", "sockets", "height", "cloth", "dust", "paint")
"""Keys of the cautions that stand whole where the work is done."""

CALENDAR: Mapping[str, str] = {
    # Titles: at most 40 signs, cut at the end of the wall's name.
    "title.face": "{wall} {side}",
    "title.side.out": "out",
    "title.side.in": "in",
    "title.walls.one": "{number} wall",
    "title.walls.many": "{number} walls",
    "title.mist.early": "MIST early {walls}",
    "title.mist.midday": "MIST midday {walls}",
    "title.mist.late": "MIST late {walls}",
    "title.air.early": "AIR early {walls}",
    "title.air.midday": "AIR midday {walls}",
    "title.air.late": "AIR late {walls}",
    "title.look.early": "LOOK early {walls}",
    "title.look.midday": "LOOK midday {walls}",
    "title.look.late": "LOOK late {walls}",
    "title.nobody.early": "NOBODY early {walls}",
    "title.nobody.midday": "NOBODY midday {walls}",
    "title.nobody.late": "NOBODY late {walls}",
    "title.mist.undone": "MIST {time}",
    "title.air.undone": "AIR {time}",
    "title.look.undone": "LOOK {time}",
    "title.task": "{face} {task}",
    "title.coat": "{face} {task} {thickness}",
    "title.look": "{face} LOOK",
    "title.cloth.down": "CLOTH {face} down",
    "title.cloth.up": "CLOTH {face} up",
    "title.frost.down": "FROST {face} down",
    "title.frost.up": "FROST {face} up",
    "title.sheet.down": "SHEET {face} down",
    "title.sheet.up": "SHEET {face} up",
    "title.face_cloth.down": "{face} CLOTH down",
    "title.face_cloth.up": "{face} CLOTH up",
    "title.face_frost.down": "{face} FROST down",
    "title.face_frost.up": "{face} FROST up",
    "title.face_sheet.down": "{face} SHEET down",
    "title.face_sheet.up": "{face} SHEET up",
    "title.if": "IF {title}",
    "title.if_met": "{title} IF met",
    "title.named": "{title} · {name}",
    "title.nobody": "nobody named",
    # Descriptions: one line a face, then how it is done, then the cautions.
    "event.done": "Done.",
    "event.if_met": "IF met by {day}: {text}",
    "event.if_laid": "IF the coat before it is laid by {day}.",
    "event.nobody": "Nobody is named for this. Name somebody, or nobody does it.",
    "event.visit.mist.once": "{face} {name}: mist, {minutes}. {coat}, day {day} of {last}. Once a day now.",
    "event.visit.mist.twice": "{face} {name}: mist, {minutes}. {coat}, day {day} of {last}. Twice a day.",
    "event.visit.air.once": "{face} {name}: air, {minutes}. {coat}, day {day} of {last}. Once a day now.",
    "event.visit.air.twice": "{face} {name}: air, {minutes}. {coat}, day {day} of {last}. Twice a day.",
    "event.visit.look.once": "{face} {name}: look, {minutes}. {coat}, day {day} of {last}.",
    "event.visit.look.twice": "{face} {name}: look, {minutes}. {coat}, day {day} of {last}.",
    "event.visit.cloth": "Cloth hangs before it: wet the cloth too.",
    "event.visit.cloth_sun": "Cloth hangs before it: wet the cloth too. Sun on it from {start} to {end}.",
    "event.visit.sun": "Sun on it from {start} to {end}.",
    "event.visit.if_laid": "Only if that coat is laid by then.",
    "event.method.dry": "Put no water on. Look for white frost and cracks; leave what is frozen alone, tell the lead.",
    "event.method.mist": "Fog the whole face until it darkens. Never run-off.",
    "event.method.air": "Open windows and doors wide, and write the drying log.",
    "event.method.look": "Look whether it dries pale, whether cloth hangs and stands off the face. Mist pale patches.",
    "event.why": "Why this day: {why}",
    "event.unknown_why": "rule {rule}",
    "event.until": "It does its work until {day} {clock}.",
    "event.until.up": "Up by {day} {clock}.",
    "event.until.down": "Down by {day} {clock}: then comes the wind.",
    "event.out": "From {start} to {end} one of the {number} is out on a round and missing here.",
    "event.limit.air_least": "No laying below {value} or when it falls to that before it has set (rule {rule}).",
    "event.limit.air_most": "No laying above {value} (rule {rule}).",
    "event.limit.one_pass": "No thicker than {value} in one pass (rule {rule}).",
    "event.limit.other": "Limit {value} (rule {rule}).",
    "event.tick": "Tick: {link}",
    "event.page": "Page: {link}",
    "event.changed": "Changed {day} {clock}. The page may be newer.",
    # Cautions, whole. The last line stands after them wherever they are printed.
    "caution.lime": (
        "Wet lime burns. Goggles and gloves. Wet boot, glove, knee: off at once. "
        "In the eye: water at once, then a doctor; see the safety sheet."
    ),
    "caution.sockets": (
        "Before the first wetting: circuits off, sockets and fittings covered, by a competent person, "
        "recorded once; a look each round."
    ),
    "caution.height": (
        "Height: whoever is not of the crew mists from the ground only; the crew from a fixed scaffold."
    ),
    "caution.cloth": "Cloth and sheets: never on a mobile tower; down in wind.",
    "caution.dust": "Dust (sanding, sweeping): mask.",
    "caution.paint": "Paint: goggles; cover glass and metal.",
    "caution.last": "Local codes and the maker's data sheet come first.",
    # A feed that some calendars will not take.
    "note.feed_events": (
        "Calendar {name}: {events} events; some calendars take 1,000 at most. "
        "Let people subscribe to their own calendar instead of the site's."
    ),
    "note.feed_size": (
        "Calendar {name}: {kilobytes} kB; some calendars take 700 kB at most. "
        "Let people subscribe to their own calendar instead of the site's."
    ),
}
