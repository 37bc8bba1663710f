"""How far the cure of a face is, as a person reads it: what counted, why the rest did not, until when it is tended."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from curing.model.plan import CoatDates, Cure, FacePlan
from curing.publish.terminal_names import Names

NEWEST = 3
"""So many stretches are told by their hours; the sums tell of all."""


def cure_lines(face: FacePlan, names: Names) -> list[str]:
    """Return the lines on the last cure of a face; none where nothing is known of it, or a coat lies over it.

    Parameters
    ----------
    face
        A face of the plan.
    names
        How things are called, and the present instant.
    """
    laid = [coat for coat in face.coats if coat.laid is not None]
    if not laid or laid[-1].cure is None:
        return []
    return list(_lines(face, laid[-1], laid[-1].cure, names))


def _lines(face: FacePlan, coat: CoatDates, cure: Cure, names: Names) -> Iterator[str]:
    words = names.words

    def when(at: datetime) -> str:
        local = at.astimezone(names.zone(face.site))
        return words.say("terminal.day_time", day=names.long_day(local.date()), clock=f"{local:%H:%M}")

    told = {"unknown": cure.unknown, "cold": cure.cold, "dry": cure.dry}
    lost = ", ".join(words.say(f"cure.{why}", hours=round(hours)) for why, hours in told.items() if round(hours))
    key = "cure.full" if cure.full is not None else "cure.counted"
    yield words.say(
        f"{key}.lost" if lost else key,
        coat=names.coat(coat),
        counted=int(cure.counted + cure.unknown),
        hours=round(coat.hours),
        until=when(cure.until),
        full=when(cure.full or cure.until),
        lost=lost,
    )
    if cure.inspect is not None:
        yield words.say("cure.inspect", when=when(cure.inspect))
    if cure.more_days and coat.last_visit is not None and names.today(face.site) <= coat.last_visit:
        yield words.count("cure.more", cure.more_days, last=names.long_day(coat.last_visit))
    if cure.full is not None:
        return
    if cure.rests is not None:
        yield words.say("cure.rests", since=when(cure.rests))
    elif cure.expected is not None:
        yield words.say("cure.expected", day=names.long_day(cure.expected.astimezone(names.zone(face.site)).date()))
    refused = [one for one in cure.lost if one.why != "unknown"]  # those are taken to count
    spans = [words.say(f"cure.span.{one.why}", start=when(one.start), end=when(one.end)) for one in refused[-NEWEST:]]
    if spans:
        yield words.say("cure.spans", spans="; ".join(spans))
