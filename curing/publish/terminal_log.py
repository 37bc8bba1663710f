"""What was logged or decided, in a terminal: each entry with its number, and what follows from it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from curing.model.decisions import Decision, DecisionKind
from curing.model.evidence import HoldNews, Shut
from curing.model.record import RecordEntry, RecordKind
from curing.publish.event_title import plain
from curing.publish.record_text import Called, about_text, entry_text, when_text
from curing.publish.terminal import job_name
from curing.publish.terminal_layout import table, wrap
from curing.publish.words import Words

MOVES = (
    RecordKind.FINISHED,
    RecordKind.HOLD_MET,
    RecordKind.HOLD_REFUSED,
    RecordKind.COULD_NOT,
    RecordKind.RAIN_ON_IT,
    RecordKind.PASSED_ON,
    RecordKind.CORRECTION,
)
"""Kinds after which the plan may move."""


@dataclass(frozen=True)
class Kept:
    """Entries with their numbers, and whether each stood there before."""

    entries: Sequence[RecordEntry]
    already: Sequence[bool]
    notes: Sequence[str] = ()
    decided_already: Sequence[bool] = ()
    """Of decisions of a written log, whether each was kept before."""
    holds: Sequence[HoldNews] = ()
    """What the entries did to holds."""


def log_page(kept: Kept, called: Called, words: Words, job: str, *, whole: bool = True) -> list[str]:
    """Return the lines of ``curing log``: number, wall, what, when, who; if not ``whole``, how many there are."""
    if whole:
        lines = table([_cells(one, there, called, words) for one, there in _pairs(kept)], (4, 2, 2, 30), last=True)
    else:
        new = sum(not already for already in kept.already)
        lines = wrap(words.count("terminal.log.file", new, already=len(kept.already) - new))
        if kept.decided_already:
            fresh = sum(not already for already in kept.decided_already)
            known = len(kept.decided_already) - fresh
            lines += wrap(words.count("terminal.log.file.decided", fresh, already=known))
    for mark, text in _holds(kept.holds, words, job_name(job)):
        lines += wrap(text, f"  {mark} ", "    ", whole=True)
    moved = any(entry.kind in MOVES for entry in kept.entries) or any(one.shut for one in kept.holds)
    moving = moved and not all(kept.already)
    if moving or not all(kept.decided_already):
        lines += wrap(words.say("terminal.log.follow", job=job_name(job)), "  > ", "    ", whole=True)
    return [*lines, *(line for note in kept.notes for line in wrap(plain(note), "", "  "))]


MOST_COATS = 4
"""Coats behind a hold that are named one by one."""


def _holds(found: Sequence[HoldNews], words: Words, job: str) -> Iterator[tuple[str, str]]:
    """Yield, each with its mark, what entries did to holds: which are shut, which pass, what others lack."""
    for why in dict.fromkeys(one.shut for one in found if one.shut is not None):
        yield "!", _shut([one for one in found if one.shut is why], why, words)
    passing = [plain(one.hold) for one in found if one.passes]
    if passing:
        named, fill = ", ".join(passing), " ".join(passing)
        yield ">", words.count("terminal.log.passes", len(passing), holds=named, fill=fill, job=job)
    for one in found:
        if one.meter and not one.wet:
            yield "-", words.say("terminal.log.unknown_meter", hold=plain(one.hold), meter=plain(one.meter), job=job)
        elif one.wet or one.missing:
            key = "terminal.log.too_wet" if one.wet else "terminal.log.lacks"
            where = _places(one.wet or one.missing, words)
            yield "!" if one.wet else "-", words.say(key, hold=plain(one.hold), where=where)
        elif one.tests:
            yield "-", words.say("terminal.log.lacks_tests", hold=plain(one.hold), tests=", ".join(one.tests))


def _shut(listed: Sequence[HoldNews], why: Shut, words: Words) -> str:
    coats = list(dict.fromkeys(coat for one in listed for coat in one.coats))
    named = [_coat(coat, words) for coat in coats[:MOST_COATS]]
    more = len(coats) - len(named)
    text = ", ".join(named) + (words.say("terminal.log.and_more", number=more) if more else "")
    until = words.say(f"terminal.log.until.{why}")
    holds = ", ".join(plain(one.hold) for one in listed[:MOST_COATS])
    return words.count("terminal.log.shut", len(listed), holds=holds, coats=text, until=until)


def _coat(coat: str, words: Words) -> str:
    """Return ``5 out base`` of ``5-out.base``, by today's id."""
    face, _, name = coat.partition(".")
    wall, _, side = face.rpartition("-")
    subject = words.say("title.face", wall=plain(wall), side=words.say(f"title.side.{side}"))
    return words.say("terminal.thing", subject=subject, task=plain(name))


def _places(places: Sequence[tuple[str, str]], words: Words) -> str:
    """Return ``out: low, middle; in: top``."""
    sides = dict.fromkeys(side for side, _ in places)
    named = ((side, [words.say(f"terminal.log.band.{band}") for at, band in places if at == side]) for side in sides)
    return "; ".join(f"{words.say(f'title.side.{side}')}: {', '.join(bands)}" for side, bands in named)


def _pairs(kept: Kept) -> list[tuple[RecordEntry, bool]]:
    return list(zip(kept.entries, kept.already, strict=True))


def _cells(entry: RecordEntry, already: bool, called: Called, words: Words) -> tuple[str, str, str, str]:
    said = words.say(
        "terminal.log.said",
        what=entry_text(entry, called, words),
        when=when_text(entry.at, called.zone_of(entry), words),
        who=called.person(entry.by),
    )
    kept = words.say("terminal.log.already" if already else "terminal.log.kept")
    return kept, str(entry.seq), about_text(entry, called, words), said


def decision_page(
    decision: Decision, already: bool, called: Called, words: Words, job: str, notes: Sequence[str] = ()
) -> list[str]:
    """Return the lines of ``curing assign``, ``keep`` and ``move``."""
    data = decision.data
    values = {"by": called.person(decision.by)}
    if decision.kind is DecisionKind.ASSIGN:
        first, last = (words.day(date.fromisoformat(str(data[name]))) for name in ("first", "last"))
        days = first if first == last else words.say("terminal.log.span", first=first, last=last)
        rounds = words.say(f"terminal.log.rounds.{data.get('slot', 'all')}")
        text = words.say("terminal.log.assign", to=called.person(str(data["to"])), rounds=rounds, days=days, **values)
    else:
        face = words.say("terminal.thing", subject=called.face(str(data["face"])), task=str(data["coat"]))
        day = words.day(date.fromisoformat(str(data["day"])))
        why = plain(str(data.get("why", "")))
        text = words.say(f"terminal.log.{decision.kind}", coat=plain(face), day=day, why=why, **values)
    key = "terminal.log.already" if already else "terminal.log.kept"
    lines = wrap(words.say("terminal.log.decided", kept=words.say(key), number=decision.seq, text=text), "", "  ")
    lines += wrap(words.say("terminal.log.follow", job=job_name(job)), "  > ", "    ", whole=True)
    return [*lines, *(line for note in notes for line in wrap(plain(note), "", "  "))]
