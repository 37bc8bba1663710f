"""Everything recorded and decided about a job in a terminal, in the order in which it happened."""

from __future__ import annotations

from datetime import date, datetime
from zoneinfo import ZoneInfo

from curing.model.decisions import Decision, DecisionKind
from curing.model.record import RecordEntry
from curing.publish.event_title import plain
from curing.publish.record_parts import JobRecord, late
from curing.publish.record_text import about_text, day_text, entry_text, face_text, when_text
from curing.publish.terminal import joined
from curing.publish.terminal_layout import WIDTH, fit, table, width, wrap
from curing.publish.words import Words


def record_list(record: JobRecord, words: Words, last: int) -> list[str]:
    """Return the lines of ``curing record JOB``, newest last, none wider than 80 cells.

    Parameters
    ----------
    record
        Entries and decisions.
    words
        Language and units of the reader.
    last
        So many of them; 0: all.
    """
    here = record.called.zone
    year = record.now.astimezone(ZoneInfo(here)).year
    when = when_text(record.now, here, words)
    tail = f"  {when}  {words.count('record.list.head', len(record.entries))}"
    head = fit(plain(record.job), WIDTH - width(tail)) + tail
    rows: list[tuple[datetime, int, tuple[str, ...]]] = [
        (one.at, one.seq, _entry(one, record, words, year)) for one in record.entries
    ]
    rows += [(one.at, one.seq, _decision(one, record, words, year)) for one in record.decisions]
    rows.sort(key=lambda row: row[:2])
    if not rows:
        return joined([[head, *wrap(words.say("record.list.none"))]])
    shown = rows[-last:] if last else rows
    heads = tuple(words.say(f"record.head.{name}") for name in ("entry", "when", "who", "where", "said"))
    lines = table([heads, *(row[2] for row in shown)], (5, 15, 6, 5, 30), last=True)
    note = words.say("record.list.shown", number=len(shown), whole=len(rows)) if len(shown) < len(rows) else ""
    zones = {*record.called.zones.values(), here}
    notes = [note, words.say("record.list.zones") if len(zones) > 1 else ""]
    return joined([[head, *(line for text in notes if text for line in wrap(text))], lines])


def _entry(entry: RecordEntry, record: JobRecord, words: Words, year: int) -> tuple[str, ...]:
    called = record.called
    zone = called.zone_of(entry)
    text = entry_text(entry, called, words)
    if late(entry):
        text = words.say("record.list.late", text=text, when=when_text(entry.received, zone, words, year))
    by = record.corrected_by.get(entry.key)
    if by is not None:
        mark = words.say("record.number", number=by.seq)
        text = words.say("record.list.corrected", text=text, entry=mark)
    number, where = words.say("record.number", number=entry.seq), about_text(entry, called, words)
    return number, when_text(entry.at, zone, words, year), called.person(entry.by), where, text


def _decision(decision: Decision, record: JobRecord, words: Words, year: int) -> tuple[str, ...]:
    called, data = record.called, decision.data
    root = data.get("face")
    zone = called.zones.get(str(root).rpartition("-")[0], called.zone)
    where = face_text(str(root), called, words) if root else ""
    text = decision_text(decision, record, words, year)
    number = words.say("record.list.decision", number=decision.seq)
    return number, when_text(decision.at, zone, words, year), called.person(decision.by), where, text


def decision_text(decision: Decision, record: JobRecord, words: Words, year: int | None = None) -> str:
    """Return a decision in one sentence, without its face, person and time."""
    data, called = decision.data, record.called
    try:
        if decision.kind is DecisionKind.ASSIGN:
            first, last = (date.fromisoformat(str(data[name])) for name in ("first", "last"))
            days = day_text(first, words, year)
            if first != last:
                days = words.say("record.say.days", first=days, last=day_text(last, words, year))
            slot = f".{data['slot']}" if data.get("slot") else ""
            text = words.say(f"record.decision.assign{slot}", to=called.person(str(data["to"])), days=days)
        else:
            coat = called.coat(str(data["face"]), str(data["coat"]))
            day = day_text(date.fromisoformat(str(data["day"])), words, year)
            text = words.say(f"record.decision.{decision.kind}", coat=coat, day=day)
    except (KeyError, ValueError):  # of a version that says it in another way
        text = words.say("record.decision.plain", kind=decision.kind)
    why = plain(str(data.get("why", "")))
    return words.say("record.decision.why", text=text, why=why) if why else text
