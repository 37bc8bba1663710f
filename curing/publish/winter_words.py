"""A base coat over the winter: why it is covered, how, and what is done before the finish goes on."""

from __future__ import annotations

from collections.abc import Mapping

WINTER: Mapping[str, str] = {
    "title.winter.up": "WINTER {face} up",
    "title.winter.down": "WINTER {face} down",
    "title.face_winter.up": "{face} WINTER up",
    "title.face_winter.down": "{face} WINTER down",
    "terminal.cover.winter.up": "winter cover up",
    "terminal.cover.winter.down": "winter cover down",
    "why.winter_up": "the {coat} rests over winter: season line {line}, {over} from {resumes} on",
    "why.winter_down": "work goes on from {resumes}: air and light before the {over}",
    "why.after_winter": "the {coat} rested from {line} to {resumes}; it is made fit for the {over}",
    # What is done, in order. Common practice, no source, all of it.
    "event.do.winter_up.1": "Only when its tending is over and it is pale: a wet coat under sheets does not dry.",
    "event.do.winter_up.2": "Sheets on battens, 225-300 mm (9-12 in) off the face: never on it, never airtight.",
    "event.do.winter_up.3": "Leave a hand's width open at the top and at the foot for air: the clay dries on.",
    "event.do.winter_up.4": "Keep the foot clear of the ground: no snow, splash or leaves against the coat.",
    "event.do.winter_up.5": (
        "Only from a fixed scaffold whose owner said yes in writing, tied against wind; look after every storm."
    ),
    "event.do.winter_down.1": "Take it down on a still day, from the top; batten by batten, nobody under it.",
    "event.do.winter_down.2": "Damp, green or musty behind it: leave it open and call the lead, before anything else.",
    "event.do.after_winter.1": "Read the panel where a probe goes in, look at the coat: dry all through, or it waits.",
    "event.do.after_winter.2": "Look for frost: scaling, powder, a soft skin. Scrape off what frost has loosened.",
    "event.do.after_winter.3": "Sound it all over with a knuckle or handle: what is hollow is cut out and made good.",
    "event.do.after_winter.4": "Key it anew where the key is worn or weathered, then brush all dust off.",
    "event.do.after_winter.5": "Flick water on it: damp it down before the finish only if it drinks at once.",
    "event.limit.wind_most": "From {value} of wind (mean of an hour) it is not put up (rule {rule}).",
}
