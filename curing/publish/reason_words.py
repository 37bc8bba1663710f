"""Sentences of the catalogue: why a date is what it is, warnings, questions, changes.

``why.KEY`` belongs to a reason, ``skipped.CAUSE`` to days that could not be used,
``note.KEY`` to a warning or a question. Dates are written as days before they come here.
"""

from __future__ import annotations

from collections.abc import Mapping

from curing.model.kinds import KindName

WATER = ("more_extra", "said_extra", "said_shade", "said_look")
COLD = ("more_midday", "said_midday", "said_frost", "said_cold")
"""Changes that weather makes to visits, by what their figures are."""

FIGURES: Mapping[str, Mapping[str, KindName]] = {
    "why.panel": {"thickness": "length_mm"},
    "why.wait_mm": {"mm": "length_mm"},
    "note.light_panel": {"density": "density_kg_m3", "least": "density_kg_m3"},
    "why.off_rain": {"value": "volume_l_per_m2", "limit": "volume_l_per_m2"},
    "why.off_rain_before": {"value": "volume_l_per_m2", "limit": "volume_l_per_m2"},
    "why.off_cold": {"value": "temperature_c", "limit": "temperature_c"},
    "why.off_hot": {"value": "temperature_c", "limit": "temperature_c"},
    "why.off_falling": {"value": "temperature_c", "limit": "temperature_c"},
    "why.off_humid": {"value": "percent", "limit": "percent"},
    "why.off_frost_sure": {"value": "temperature_c", "limit": "temperature_c", "could": "temperature_c"},
    "why.off_frost": {"value": "temperature_c", "limit": "temperature_c"},
    "why.off_demand": {"value": "volume_l_per_m2", "limit": "volume_l_per_m2"},
    "why.off_sun": {"value": "irradiance_w_m2", "limit": "irradiance_w_m2"},
    **{f"why.weather_{one}": {"value": "volume_l_per_m2", "limit": "volume_l_per_m2"} for one in WATER},
    **{f"why.weather_{one}": {"value": "temperature_c", "limit": "temperature_c"} for one in COLD},
    "why.cover_frost_up": {"value": "temperature_c", "could": "temperature_c", "wind": "speed_m_s"},
    "why.cover_sheet_up": {"value": "volume_l_per_m2", "wind": "speed_m_s"},
    "why.cover_cloth_up": {"value": "irradiance_w_m2", "wind": "speed_m_s"},
    "why.cover_demand_up": {"value": "volume_l_per_m2", "wind": "speed_m_s"},
    "why.cover_wind_down": {"wind": "speed_m_s"},
    "why.under_sun": {"value": "irradiance_w_m2", "limit": "irradiance_w_m2"},
    "why.under_demand": {"value": "volume_l_per_m2", "limit": "volume_l_per_m2"},
    "why.under_rain": {"value": "volume_l_per_m2", "limit": "volume_l_per_m2"},
    "note.frost_wind": {"wind": "speed_m_s"},
    "note.sheet_wind": {"wind": "speed_m_s"},
    "note.cloth_wind": {"wind": "speed_m_s"},
    "against.rain": {"value": "volume_l_per_m2", "limit": "volume_l_per_m2"},
    "against.rain_before": {"value": "volume_l_per_m2", "limit": "volume_l_per_m2"},
    "against.cold": {"value": "temperature_c", "limit": "temperature_c"},
    "against.hot": {"value": "temperature_c", "limit": "temperature_c"},
    "against.falling": {"value": "temperature_c", "limit": "temperature_c"},
    "against.humid": {"value": "percent", "limit": "percent"},
    "against.frost_sure": {"value": "temperature_c", "limit": "temperature_c", "could": "temperature_c"},
    "against.frost": {"value": "temperature_c", "limit": "temperature_c"},
    "against.demand": {"value": "volume_l_per_m2", "limit": "volume_l_per_m2"},
    "against.sun": {"value": "irradiance_w_m2", "limit": "irradiance_w_m2"},
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
    # The cure of the coat below went on, because hours of it did not count.
    "why.dry_longer.one": (
        "{days} dry day after the last mist on {last}; the cure went on {more} d longer: {cold_h} h too "
        "cold, {dry_h} h dry"
    ),
    "why.dry_longer.many": (
        "{days} dry days after the last mist on {last}; the cure went on {more} d longer: {cold_h} h too "
        "cold, {dry_h} h dry"
    ),
    "why.tended_longer": (
        "the {before} is looked after to {last}, {more} d longer: {cold_h} h too cold, {dry_h} h dry"
    ),
    "why.inspect_missed": (
        "a visit of its first days did not take place, {first}: look for cracks and dusting, tap for a hollow sound; "
        "longer tending mends no crack"
    ),
    "why.inspect_frost": (
        "frost in its cure, {first} from {clock}: look for scaling and soft spots, tap for hollow ones"
    ),
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
    # Taken off its day by weather: another is proposed, and somebody decides.
    "why.off_weather": "off {was} by weather",
    "why.off_rain": "off {was}: rain on it {from} {from_at} to {to} {to_at}, {value}",
    "why.off_rain_before": "off {was}: face wet, rain on it {from} {from_at} to {to} {to_at}, {value}",
    "why.off_cold": "off {was}: down to {value}, {from} {from_at} to {to_at}; not laid below {limit}",
    "why.off_hot": "off {was}: up to {value}, {from} {from_at} to {to_at}; not laid above {limit}",
    "why.off_falling": "off {was}: air falling to {value}, {from} {from_at}; laid on falling air only from {limit} up",
    "why.off_humid": "off {was}: humidity up to {value}, {from} {from_at} to {to_at}; not above {limit}",
    "why.off_frost_sure": "off {was}: frost {from} {from_at} to {to} {to_at}: {value}, could be {could}",
    "why.off_frost": "off {was}: frost {from} {from_at} to {to} {to_at}: {value}",
    "why.off_demand": "off {was}: dries too fast {from}: the air takes {value}; bare faces are left from {limit} on",
    "why.off_sun": "off {was}: sun on it {from} {from_at} to {to_at} while it is fresh; cloth first",
    # The same within another sentence, as {why}.
    "against.weather": "the weather",
    "against.rain": "rain on it {from} {from_at} to {to} {to_at}, {value}",
    "against.rain.day": "rain on it {from} {from_at} to {to_at}, {value}",
    "against.rain_before": "face wet, rain on it {from} {from_at} to {to} {to_at}, {value}",
    "against.rain_before.day": "face wet, rain on it {from} {from_at} to {to_at}, {value}",
    "against.cold": "down to {value}, {from} {from_at} to {to_at}; not laid below {limit}",
    "against.hot": "up to {value}, {from} {from_at} to {to_at}; not laid above {limit}",
    "against.falling": "air falling to {value}, {from} {from_at}; laid on falling air only from {limit} up",
    "against.humid": "humidity up to {value}, {from} {from_at} to {to_at}; not above {limit}",
    "against.frost_sure": "frost {from} {from_at} to {to} {to_at}: {value}, could be {could}",
    "against.frost_sure.day": "frost {from} {from_at} to {to_at}: {value}, could be {could}",
    "against.frost": "frost {from} {from_at} to {to} {to_at}: {value}",
    "against.frost.day": "frost {from} {from_at} to {to_at}: {value}",
    "against.demand": "dries too fast {from}: the air takes {value}; bare faces are left from {limit} on",
    "against.sun": "sun on it {from} {from_at} to {to_at} while it is fresh; cloth first",
    # Days that were looked at and not used.
    "skipped.weekend.one": "not on {number} day of a weekend",
    "skipped.weekend.many": "not on {number} days of weekends",
    "skipped.holiday.one": "not on {detail}",
    "skipped.holiday.many": "not on {detail} ({number} days)",
    "skipped.nobody.one": "nobody of the crew is there on {number} day",
    "skipped.nobody.many": "nobody of the crew is there on {number} days",
    "skipped.weather.one": "the forecast is against {number} day",
    "skipped.weather.many": "the forecast is against {number} days",
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
    # What the weather makes of a walk.
    "why.weather_walk": "one more for the weather of that day; no planned visit is left out for it",
    "why.weather_more_extra": "one more at midday: the air takes {value} that day, {limit} or more asks for one",
    "why.weather_more_midday": (
        "mist before noon: the night falls to {value}, and no water is put on in the evening at {limit} or less"
    ),
    "why.weather_less": "the newest forecast no longer asks for the visit at midday",
    "why.weather_said_extra": "mist at midday: the air takes {value} that day, {limit} or more asks for it",
    "why.weather_said_shade": "cloth up first: the air takes {value} that day, {limit} or more asks for it",
    "why.weather_said_look": "look and feel first: the air takes only {value} that day, less than {limit}",
    "why.weather_said_midday": (
        "mist before noon: the night falls to {value}, and no water is put on in the evening at {limit} or less"
    ),
    "why.weather_said_frost": "no water in the evening: the night falls to {value}; {limit} or less asks for that",
    "why.weather_said_cold": "no water: {value} then, and none below {limit}",
    "why.weather_unsaid": "the newest forecast no longer asks for what was said of it",
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
    "note.season_years": (
        "season line {line} from {seasons} seasons of {site}'s own station; the job file's {was} is not used"
    ),
    "note.no_line_few": (
        "{site}: {seasons} whole seasons of its station, {least} make a season line; the job file's date holds"
    ),
    "note.no_line_few_at_all": (
        "{site}: {seasons} whole seasons of its station, {least} make a season line; there is none"
    ),
    "note.no_line_always": "{site}: frost is too rare at its station for a season line; the job file's date holds",
    "note.no_line_always_at_all": "{site}: frost is too rare at its station for a season line; there is none",
    "note.no_line_never": (
        "{site}: by its station frost may come after any day of the year, so it gives no season line; the job file's "
        "date holds"
    ),
    "note.no_line_never_at_all": (
        "{site}: by its station frost may come after any day of the year, so it gives no season line; lay outside "
        "under heated sheeting alone, or name a date"
    ),
    "note.kept_by": "{what} is kept on its day by {by}: {why}",
    "note.laid_unheld": "{coat} was laid on {day} though not recorded as met: {holds}",
    "note.laid_early": "{coat} was laid on {day}, {waited} days after the coat below; least {least}",
    "note.visits_missed.one": "{coat}: {visits} visit without a word, {first}; it counts as missed",
    "note.visits_missed.many": "{coat}: {visits} visits without a word, {first} to {last}; they count as missed",
    "note.weather_wanted": (
        "the forecast is against {coat} on {on}: {why}; two runs say so, and no other day is near; it stands"
    ),
    "note.weather_watched": "the forecast is against {coat} on {on}: {why}; one run says so, and it stands",
    "note.weather_kept": "{coat} stands on {on} by the word of {by}, though the forecast is against it: {why}",
    # Questions.
    "note.was_it_closed": "{coat} was begun on {day}: was it closed?",
    "note.hold_waiting": "{hold}: what was read and tested passes; it waits for the lead's or architect's word",
    "note.inspect.one": (
        "{coat}: {visits} visit of its first days did not take place, {first}: look for cracks, dusting, "
        "hollow spots; longer tending mends no crack"
    ),
    "note.inspect.many": (
        "{coat}: {visits} visits of its first days did not take place, {first} to {last}: look for cracks, dusting, "
        "hollow spots; longer tending mends no crack"
    ),
    "note.inspect_frost": ("{coat}: frost in its cure, {first} from {clock}: look for scaling, soft or hollow spots"),
    "note.visits_unsaid.one": "{coat}: was it misted? {visits} visit without a word, {last} {slot}",
    "note.visits_unsaid.many": "{coat}: was it misted? {visits} visits without a word, the last {last} {slot}",
    "note.weather_off": "{coat} is off {was}: {why}; {day} is proposed",
    "note.weather_proposed": (
        "the forecast is against {coat} on {on}: {why}; two runs say so, and {day} is proposed; "
        "without a word it stands"
    ),
    "note.was_it_laid": "{coat} was booked for {day}: was it laid?",
    "note.were_they_misted.one": "{coat}: was it misted on {first}, before this plan?",
    "note.were_they_misted.many": "{coat}: was it misted from {first} to {last}, {days} days before this plan?",
}
