"""How far a cure is, in words: hours that count, and why others did not."""

from __future__ import annotations

from collections.abc import Mapping

CURE: Mapping[str, str] = {
    "cure.head": "CURES, IN HOURS THAT COUNT",
    "cure.face": "{face}: {text}",
    "cure.counted": "Cure of the {coat}: {counted} of {hours} h, to {until}",
    "cure.counted.lost": "Cure of the {coat}: {counted} of {hours} h, to {until}; {lost}",
    "cure.full": "Cure of the {coat}: {hours} h full on {full}",
    "cure.full.lost": "Cure of the {coat}: {hours} h full on {full}; {lost}",
    "cure.cold": "{hours} h too cold",
    "cure.dry": "{hours} h dry",
    "cure.unknown": "{hours} h of them not known, by the calendar",
    "cure.more.one": "Tending goes on for {number} day more, to {last}.",
    "cure.more.many": "Tending goes on for {number} days more, to {last}.",
    "cure.rests": "It rests in the cold since {since}, and goes on when it is warm; nothing that counted is lost.",
    "cure.expected": "Full about {day} as it goes now; half of such cures take longer.",
    "cure.spans": "Did not count of late: {spans}.",
    "cure.span.cold": "{start} - {end} too cold",
    "cure.span.dry": "{start} - {end} dry",
    "cure.inspect": "Frost in it, {when}: look for scaling, soft or hollow spots, and say what you found.",
    # A face looked over because something went wrong, in order. Common practice, no source, all of it.
    "event.do.inspect_missed.1": "Light along the face, from the side: look for cracks at the top, arris and openings.",
    "event.do.inspect_missed.2": "Rub it with a hand: dust on it means that it dried too soon.",
    "event.do.inspect_missed.3": "Tap it all over with a knuckle or handle: note what sounds hollow.",
    "event.do.inspect_missed.4": "Say what you found, sound or not: not sound is an answer too.",
    "event.do.inspect_frost.1": "When it has thawed: look for scaling, powder, and cracks like a net.",
    "event.do.inspect_frost.2": "Press it with a thumb, most at the foot and the top: a soft skin is noted.",
    "event.do.inspect_frost.3": "Tap it all over with a knuckle or handle: note what sounds hollow.",
    "event.do.inspect_frost.4": "Say what you found, sound or not: not sound is an answer too.",
}
