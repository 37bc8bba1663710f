"""Sentences of the catalogue: covers that the weather asks for, and what is laid under them."""

from __future__ import annotations

from collections.abc import Mapping

COVERS: Mapping[str, str] = {
    # Why it goes up, and down.
    "why.cover_frost_up": (
        "frost {from} {from_at} to {to} {to_at}: {value}, could be {could}; "
        "it comes down at wind of {wind}, and none hangs on a mobile tower"
    ),
    "why.cover_sheet_up": (
        "rain on it {from} {from_at} to {to} {to_at}, {value}; "
        "sheets come down at wind of {wind}, and none hangs on a mobile tower"
    ),
    "why.cover_cloth_up": (
        "sun on it {from} {from_at} to {to_at} while it is fresh; "
        "cloth comes down at wind of {wind}, and none hangs on a mobile tower"
    ),
    "why.cover_demand_up": (
        "the air takes {value} on {from}, more than mists give; "
        "cloth comes down at wind of {wind}, and none hangs on a mobile tower"
    ),
    "why.cover_frost_down": "frost ends {to} {to_at}",
    "why.cover_sheet_down": "rain ends {to} {to_at}",
    "why.cover_cloth_down": "the sun is off it {to} {to_at}",
    "why.cover_wind_down": "wind of {wind} and more from {windy} {windy_at}: down before it, the face is then bare",
    "why.under_sun": "cloth up first: sun on it {from} {from_at} to {to_at} while it is fresh",
    "why.under_demand": "cloth up first: the air takes {value} from a bare face, {from}; {limit} is too much",
    "why.under_rain": "under sheets: rain on it {from} {from_at} to {to} {to_at}, {value}",
    # Why one is gone.
    "why.no_frost": "the newest forecast has no frost on {face}",
    "why.no_sheet": "the newest forecast has no rain on {face} while it must be dry",
    "why.no_cloth": "the newest forecast has no sun on {face} that asks for cloth",
    "why.cover_barred_tower": "nothing is hung on a mobile tower: {face}",
    "why.cover_barred_wind": "wind would take it down again before: {face} stays bare",
    # How it is done.
    "event.do.cover_frost_up.1": "Blankets or sheets over the whole face, past its edges, fixed at every side.",
    "event.do.cover_frost_up.2": "An air gap, so that nothing touches the coat; closed at the top and the sides.",
    "event.do.cover_frost_up.3": "From a fixed scaffold or the ground. Never on a mobile tower.",
    "event.do.cover_frost_down.1": "Off when it has thawed. Look for scaling, powder, a soft skin: tell the lead.",
    "event.do.cover_sheet_up.1": "Sheets past the edges of the face, water led off at the foot, away from the wall.",
    "event.do.cover_sheet_up.2": "An air gap, so that nothing touches the coat and it can dry.",
    "event.do.cover_sheet_up.3": "From a fixed scaffold or the ground. Never on a mobile tower.",
    "event.do.cover_sheet_down.1": "Take them off, and look at the coat: where rain ran in, tell the lead.",
    "event.do.cover_cloth_up.1": "Cloth 225-300 mm (9-12 in) off the face, past its edges; wet it.",
    "event.do.cover_cloth_up.2": "From a fixed scaffold or the ground. Never on a mobile tower.",
    "event.do.cover_demand_up.1": "Cloth 225-300 mm (9-12 in) off the face, past its edges; wet it each visit.",
    "event.do.cover_demand_up.2": "From a fixed scaffold or the ground. Never on a mobile tower.",
    "event.do.cover_wind_down.1": "Take it down before the wind; two people, from the top, nobody under it.",
    "event.do.cover_wind_down.2": "The face is bare then: look at it first thing after.",
    # Warnings.
    "note.cover_tower": (
        "{face} is to be covered by {by} {by_at}, but nothing is hung on a mobile tower: "
        "a fixed scaffold, or leave it bare and tell the lead"
    ),
    "note.frost_wind": "{face}: frost {from} {from_at}, and wind of {wind} takes a cover down before: tell the lead",
    "note.sheet_wind": "{face}: rain {from} {from_at}, and wind of {wind} takes sheets down before: tell the lead",
    "note.cloth_wind": "{face}: sun {from} {from_at}, and wind of {wind} takes cloth down before: mist it more often",
    "note.frost_now": "{face}: frost to {to} {to_at}, nobody is there to cover it: look at it after",
    "note.sheet_now": "{face}: rain on it to {to} {to_at}, nobody is there to put sheets up: look at it after",
    "note.cloth_now": "{face}: sun on it to {to} {to_at}, nobody is there to hang cloth: look at it after",
    "note.frost_nobody": "{face}: frost {from} {from_at}, nobody is free to cover it by {by} {by_at}: name one",
    "note.sheet_nobody": "{face}: rain {from} {from_at}, nobody is free to put sheets up by {by} {by_at}: name one",
    "note.cloth_nobody": "{face}: sun {from} {from_at}, nobody is free to hang cloth by {by} {by_at}: name one",
    "note.under_sheets": "{coat}: under sheets on its fixed scaffold it could be laid on {was} all the same",
    "note.cover_nobody_down": "{face}: nobody is free to take its cover down {by} {by_at}: name one",
}
