"""Sentences of the catalogue: why a date is what it is, warnings, questions, changes.

``why.KEY`` belongs to a reason, ``skipped.CAUSE`` to days that could not be used,
``note.KEY`` to a warning or a question. Dates are written as days before they come here.
"""

from __future__ import annotations

from collections.abc import Mapping

from curing.model.kinds import KindName

FIGURES: Mapping[str, Mapping[str, KindName]] = {
    "why.panel": {"thickness": "length_mm"},
    "why.wait_mm": {"mm": "length_mm"},
    "note.light_panel": {"density": "density_kg_m3", "least": "density_kg_m3"},
}
"""Sentence -> its values that are figures in SI, each with its kind: they are written in the reader's units."""

REASONS: Mapping[str, str] = {
    # Why a coat stands on its day.
    "why.first": "first working day with a free crew",
    "why.start": "the job file lets this face begin on {day}",
    "why.panel": "the panel ({thickness}, filled {filled}) is estimated dry from {day}; the meter decides",
    "why.after": "comes after {other} of {day}",
    "why.wait.one": "{days} day after the {before} of {laid}",
    "why.wait.many": "{days} days after the {before} of {laid}",
    "why.wait_mm.one": "{days} day after the {before} of {laid} (by its thickness, {mm})",
    "why.wait_mm.many": "{days} days after the {before} of {laid} (by its thickness, {mm})",
    "why.dry.one": "{days} dry day after the last mist on {last}",
    "why.dry.many": "{days} dry days after the last mist on {last}",
    "why.tended": "the {before} is looked after to {last}",
    "why.hold": "not met on {was}: {hold}; put off by at least {days} days",
    "why.unconfirmed": "was booked for {was}, and nobody said that it was laid",
    "why.done": "laid on {day}",
    "why.done_by": "laid on {day}, {by} said",
    "why.could_not": "could not be laid on {was}: {why}",
    "why.kept": "kept on its day by {by}: {why}",
    "why.moved": "moved to this day by {by}: {why}",
    "why.look": "{first} to {last} hours after closing the coat: firm, pale, tightened back",
    "why.reading": "needed before the {coat} on {day}",
    "why.cloth_down": "cloth stands {days} days from laying on {laid}",
    "why.early": "two walks a day: before the sun is on the sunny side",
    "why.midday": "midday look: sun on a face without cloth",
    "why.late": "two walks a day: after the sun has left the sunny side",
    # Days that were looked at and not used.
    "skipped.weekend.one": "not on {number} day of a weekend",
    "skipped.weekend.many": "not on {number} days of weekends",
    "skipped.holiday.one": "not on {detail}",
    "skipped.holiday.many": "not on {detail} ({number} days)",
    "skipped.nobody.one": "nobody of the crew is there on {number} day",
    "skipped.nobody.many": "nobody of the crew is there on {number} days",
    "skipped.crew.one": "crew full on {number} day",
    "skipped.crew.many": "crew full on {number} days",
    "skipped.walks.one": "{number} day left out: its walks could not be taken",
    "skipped.walks.many": "{number} days left out: their walks could not be taken",
    "skipped.season.one": "{number} day out of season",
    "skipped.season.many": "{number} days out of season",
    "skipped.look.one": "{number} day left out: nobody there to look some hours after closing",
    "skipped.look.many": "{number} days left out: nobody there to look some hours after closing",
    # Changes.
    "why.hold_met": "met: {hold}",
    "why.hold_shut": "now waits for: {hold}",
    "why.hold_met_said": "met: {hold} ({by}, {said} {clock})",
    "why.hold_met_back": "what shut it was taken back: {hold} ({by}, {said} {clock})",
    "why.hold_shut_refused": "refused: {hold} ({by}, {said} {clock})",
    "why.hold_shut_reading": "a reading is too wet: {hold} ({by}, {said} {clock})",
    "why.hold_shut_test": "a test failed: {hold} ({by}, {said} {clock})",
    "why.hold_shut_rain": "rain on a bare panel, so it is read again: {hold} ({by}, {said} {clock})",
    "why.hold_shut_set": "set in its frame, so it is read again: {hold} ({by}, {said} {clock})",
    "why.hold_shut_meter": "its meter was found false, so it is read again: {hold} ({by}, {said} {clock})",
    "why.hold_shut_withdrawn": "what it rested on was taken back: {hold} ({by}, {said} {clock})",
    "why.done_said": "recorded as laid on {day} ({by}, {said} {clock})",
    "why.undone_said": "taken back that it was laid on {day} ({by}, {said} {clock})",
    "why.assigned": "given to {to} by {by}, {said} {clock}",
    "why.passed_on": "passed on to {to} by {by}, {said} {clock}",
    "why.no_room": "its day no longer fits",
    "why.people": "somebody else is named",
    "why.hours": "other hours on the same day",
    "why.round": "other faces or another person on this walk ({faces} faces)",
    "why.new": "new in the plan",
    "why.no_longer_asked": "no longer asked for on {face}",
    "why.face_gone": "{face} has ended or left the job file",
    "why.done_on": "recorded as laid on {day}",
    # Warnings.
    "note.check": "{where}: {text}",
    "note.unnamed_round.one": "{day}: nobody named for {visits} visit, {minutes} min ({faces})",
    "note.unnamed_round.many": "{day}: nobody named for {visits} visits, {minutes} min ({faces})",
    "note.stays": "{what} stays on {day} though it no longer fits: curing plan --today-too lets it move",
    "note.unnamed_look": "{day}: nobody is there for the laying-day look ({faces})",
    "note.too_late": "{face}: too late for this season: finish {finish}, line {line}; base was due by {base_by}",
    "note.filled_late": "{face}: base by {base_by}, panel estimated dry only later; it was to be filled by {fill_by}",
    "note.could_be_late": "{face}: base by {base_by} for the season line {line}; the panel could be later than that",
    "note.greatest_wait": "{coat}: {waited} days after the {before}, more than {most}: re-key, dust off, damp down",
    "note.young_for_paint": "{coat}: plaster only {age} days old; advice is {least} days, {from_day}",
    "note.light_panel": "wall {wall}: dry density {density}, under {least}: watch for mould",
    "note.bare": "{face}: {hours} h of sun a day and no cloth on the {coat}: midday looks, shade it if you can",
    "note.no_factors": "no season factors in the job file: panels are reckoned to dry as in warm, dry air",
    "note.kept_by": "{what} is kept on its day by {by}: {why}",
    "note.laid_unheld": "{coat} was laid on {day} though not recorded as met: {holds}",
    "note.laid_early": "{coat} was laid on {day}, {waited} days after the coat below; least {least}",
    "note.visits_missed.one": "{coat}: {visits} visit without a word, {first}; it counts as missed",
    "note.visits_missed.many": "{coat}: {visits} visits without a word, {first} to {last}; they count as missed",
    # Questions.
    "note.was_it_closed": "{coat} was begun on {day}: was it closed?",
    "note.hold_waiting": "{hold}: what was read and tested passes; it waits for the lead's or architect's word",
    "note.inspect.one": "{coat}: {visits} visit of its first days did not take place, {first}: look for cracks",
    "note.inspect.many": (
        "{coat}: {visits} visits of its first days did not take place, {first} to {last}: look for cracks"
    ),
    "note.visits_unsaid.one": "{coat}: was it misted? {visits} visit without a word, {last} {slot}",
    "note.visits_unsaid.many": "{coat}: was it misted? {visits} visits without a word, the last {last} {slot}",
    "note.was_it_laid": "{coat} was booked for {day}: was it laid?",
    "note.were_they_misted.one": "{coat}: was it misted on {first}, before this plan?",
    "note.were_they_misted.many": "{coat}: was it misted from {first} to {last}, {days} days before this plan?",
}
