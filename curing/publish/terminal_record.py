"""The curing record of a face in a terminal: what a builder hands to an owner or architect."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import date
from zoneinfo import ZoneInfo

from curing.model.decisions import Decision
from curing.model.kinds import COMPASS
from curing.model.record import RecordEntry
from curing.model.record_data import Attendance, said
from curing.publish.event_title import plain
from curing.publish.record_parts import CoatStory, FaceRecord, HoldStep, HoldStory, Said, Turned, late
from curing.publish.record_pen import Pen
from curing.publish.record_text import percent_text
from curing.publish.terminal import joined
from curing.publish.terminal_layout import WIDTH, fit, table, wrap
from curing.publish.terminal_record_tables import reading_block, tending_block, tending_legend, weighing_block
from curing.publish.words import Words


def record_page(record: FaceRecord, words: Words) -> list[str]:
    """Return the lines of ``curing record JOB FACE``, none wider than 80 cells.

    Parameters
    ----------
    record
        What was recorded of the face.
    words
        Language and units of the reader.
    """
    last = max((one.at for one in record.entries), default=record.now)
    laid = max((coat.laid for coat in record.coats if coat.laid is not None), default=last)
    year = max(last, laid).astimezone(ZoneInfo(record.zone)).year
    pen = Pen(words, record.called, record.zone, year)
    blocks = [
        _head(record, pen),
        *_holds(record, pen),
        _coats(record, pen),
        reading_block(record, pen),
        weighing_block(record, pen),
        *_tendings(record, pen),
        _others(record, pen),
        _corrections(record, pen),
        _open(record, pen),
        _claims(pen),
    ]
    return joined(blocks)


def _head(record: FaceRecord, pen: Pen) -> list[str]:
    side = pen.words.say(f"title.side.{record.side}")
    face = pen.words.say("title.face", wall=plain(record.wall), side=side)
    pen, year = replace(pen, year=0), pen.year  # the head is where the years stand
    cells = [
        ("job", plain(record.job)),
        ("face", _place(record, pen)),
        ("coats", f"{record.system}: {plain(record.system_name)}" if record.system else ""),
        ("panel", _panel(record, pen)),
        ("entries", _span(record, pen)),
    ]
    rows = [(pen.say(f"head.{name}"), text) for name, text in cells if text]
    return [
        fit(pen.say("head", face=face, wall=plain(record.wall_name)), WIDTH),
        *table(rows, (7, 40), indent=2, last=True),
        *wrap(pen.say("how", year=year), "  "),
    ]


def _place(record: FaceRecord, pen: Pen) -> str:
    if record.area is None or record.height is None:
        return pen.say(f"bare.{record.side}")
    area, height = pen.words.figure(record.area, "area_m2"), pen.words.figure(record.height, "length_m")
    if record.side == "in":
        return pen.say("inside", area=area, height=height)
    if record.facing is None:
        return pen.say("outside_plain", area=area, height=height)
    compass = COMPASS[round(record.facing / 22.5) % len(COMPASS)]
    facing = pen.say("facing", compass=compass, angle=pen.words.figure(record.facing, "angle_deg"))
    return pen.say("outside", facing=facing, area=area, height=height)


def _panel(record: FaceRecord, pen: Pen) -> str:
    if record.thickness is None:
        return ""
    thickness = pen.words.figure(record.thickness, "length_mm")
    if record.filled is None:
        return pen.say("panel_undated", thickness=thickness)
    return pen.say("panel", thickness=thickness, day=pen.day(record.filled))


def _span(record: FaceRecord, pen: Pen) -> str:
    now = pen.when(record.now)
    if not record.entries:
        return pen.say("entries.none", now=now)
    first, last = (pen.day(pen.local(one.at)) for one in (record.entries[0], record.entries[-1]))
    return pen.words.count("record.entries", len(record.entries), first=first, last=last, now=now)


# ----------------------------------------------------------------------------------- holds


def _holds(record: FaceRecord, pen: Pen) -> Iterator[list[str]]:
    names = {coat.id: coat.name for coat in record.coats}
    for coat in dict.fromkeys(story.coat for story in record.holds):
        head = pen.say("holds", coat=plain(names[coat]).upper()) if coat in names else pen.say("holds.panel")
        lines = [head]
        for story in record.holds:
            if story.coat == coat:
                lines += _hold(story, names.get(coat, ""), pen)
        yield lines


def _hold(story: HoldStory, coat: str, pen: Pen) -> Iterator[str]:
    yield from wrap(pen.say("hold", point=plain(story.point), text=plain(story.text)), "  ", "    ")
    steps = [_step(one, pen) for one in story.steps]
    for text in steps or ([] if story.laid_shut else [pen.say("hold.none")]):
        yield from wrap(text, "    ", "      ")
    if story.laid_shut is not None:
        yield from wrap(pen.say("hold.laid_shut", coat=plain(coat), day=pen.day(story.laid_shut)), "    ", "      ")


def _step(step: HoldStep, pen: Pen) -> str:
    values = {"by": pen.by(step.by), "entry": pen.after(step.entry), "mark": pen.mark(step.entry, step.by)}
    text = pen.say(f"hold.{step.what}", day=pen.day(step.day), **values)
    if not step.entry and step.what in (Turned.MET, Turned.REFUSED):
        text += pen.say("hold.in_file")
    if step.rests:
        text += pen.say("hold.on", entries=pen.numbers(step.rests))
    if step.worst is not None:
        text += pen.say("hold.worst", worst=percent_text(step.worst, pen.words))
    if step.counts_to is not None:
        text += pen.say("hold.counts", day=pen.day(step.counts_to))
    return text + (pen.say("hold.note", note=plain(step.note)) if step.note else "")


# ----------------------------------------------------------------------------------- coats


def _coats(record: FaceRecord, pen: Pen) -> list[str]:
    cells = []
    for coat in record.coats:
        for place, text in enumerate(_coat(coat, pen.local(record.now), pen)):
            cells.append(("" if place else plain(coat.name), text))
    return [pen.say("coats"), *table(cells, (10, 40), indent=2, last=True)] if cells else []


def _coat(coat: CoatStory, today: date, pen: Pen) -> Iterator[str]:
    yield _laid(coat, today, pen)
    if coat.received is not None:
        yield pen.say("coat.late", when=pen.when(coat.received))
    if coat.laid is not None and coat.thickness:
        yield pen.say("coat.planned", thickness=pen.words.figure(coat.thickness, "length_mm"))
    if coat.wait is not None:
        broken = coat.wait < coat.least or (coat.greatest is not None and coat.wait > coat.greatest)
        rule = pen.words.count("record.coat.least", coat.least)
        if coat.greatest is not None:
            rule = pen.say("coat.between", least=coat.least, most=coat.greatest)
        key = "record.coat.wait_broken" if broken else "record.coat.wait"
        yield pen.words.count(key, coat.wait, below=plain(coat.below), rule=rule)
    for entry in coat.batches:
        text = pen.text(entry)
        yield pen.say("coat.batch", batch=text, entry=pen.after(entry.seq))
    if coat.note:
        yield plain(coat.note)
    for entry in coat.failed:
        why = plain(str(entry.data.get("why", ""))) or pen.say("say.no_reason")
        data = said(entry)
        day = data.day if isinstance(data, Attendance) and data.day is not None else pen.local(entry.at)
        said_by = pen.mark(entry.seq, pen.called.person(entry.by))
        yield pen.say("coat.failed", day=pen.day(day), why=why, mark=said_by)
    for decision in coat.decisions:
        yield _decision(decision, pen)


def _laid(coat: CoatStory, today: date, pen: Pen) -> str:
    entries = pen.numbers(one for one in (coat.began_entry, coat.entry) if one)
    values = {"by": pen.by(coat.by), "entry": f" {entries}" if entries else pen.say("hold.in_file")}
    if coat.laid is not None:
        if coat.began is not None:
            same = pen.local(coat.began) == pen.local(coat.laid)
            until = pen.clock(coat.laid) if same else pen.when(coat.laid)
            when = pen.say("coat.from_to", began=pen.when(coat.began), laid=until)
        else:
            when = pen.when(coat.laid) if coat.clock else pen.day(pen.local(coat.laid))
        return pen.say("coat.laid", when=when, **values)
    if coat.began is not None:
        return pen.say("coat.begun", when=pen.when(coat.began), **values)
    if coat.booked is None:
        return pen.say("coat.not_booked")
    if coat.booked < today:
        return pen.say("coat.was_booked", day=pen.day(coat.booked))
    return pen.say("coat.booked_if" if coat.conditional else "coat.booked", day=pen.day(coat.booked))


def _decision(decision: Decision, pen: Pen) -> str:
    return pen.say(
        f"coat.{decision.kind}",
        day=pen.day(date.fromisoformat(str(decision.data["day"]))),
        by=pen.called.person(decision.by),
        why=plain(str(decision.data.get("why", ""))) or pen.say("coat.no_why"),
        number=decision.seq,
    )


# ------------------------------------------------------------------------- tending, the rest


def _tendings(record: FaceRecord, pen: Pen) -> Iterator[list[str]]:
    tended = [(coat.name, coat.tending) for coat in record.coats if coat.tending is not None]
    for place, (name, tending) in enumerate(tended):
        block = tending_block(name, tending, pen)
        yield block if place < len(tended) - 1 else [*block, *tending_legend([one for _, one in tended], pen)]


def _others(record: FaceRecord, pen: Pen) -> list[str]:
    if not record.others:
        return []
    cells = [
        (pen.number(one.seq), pen.when(one.at), pen.called.person(one.by), _late_too(one, pen)) for one in record.others
    ]
    return [pen.say("others"), *table(cells, (3, 16, 6, 30), indent=2, last=True)]


def _late_too(entry: RecordEntry, pen: Pen) -> str:
    text = pen.text(entry)
    return pen.say("list.late", text=text, when=pen.when(entry.received)) if late(entry) else text


def _corrections(record: FaceRecord, pen: Pen) -> list[str]:
    if not record.corrected:
        return []
    lines = [pen.say("corrections")]
    for entry, by in record.corrected:
        for one, key in ((entry, "corrected"), (by, "correction")):
            text = pen.say(key, text=pen.text(one), when=pen.when(one.at), by=pen.called.person(one.by))
            lines += wrap(text, f"  {pen.number(one.seq)} ", "      ")
    return lines


def _open(record: FaceRecord, pen: Pen) -> list[str]:
    texts = list(_open_texts(record, pen)) or [pen.say("open.nothing")]
    return [pen.say("open"), *(line for text in texts for line in wrap(text, "  ", "    "))]


def _open_texts(record: FaceRecord, pen: Pen) -> Iterable[str]:
    for point, text, state in record.shut:
        yield pen.say(f"open.{state}", point=plain(point), text=plain(text))
    sound = max((pen.local(one) for one in record.sound), default=date.min)
    for place, coat in enumerate(record.coats):
        if coat.laid is None and coat.began is not None:
            yield pen.say("open.begun", coat=plain(coat.name))
        over = any(one.laid is not None for one in record.coats[place + 1 :])
        for what, key in ((Said.UNSAID, "unsaid"), (Said.MISSED, "missed")):
            cells = [one for one in (coat.tending.asked if coat.tending else ()) if one.said is what]
            if what is Said.MISSED:  # what was looked at since, or lies under another coat, is no longer open
                cells = [one for one in cells if one.day > sound and not over]
            if cells:
                first, last = pen.day(cells[0].day), pen.day(cells[-1].day)
                name = plain(coat.name)
                yield pen.words.count(f"record.open.{key}", len(cells), coat=name, first=first, last=last)
    if record.unsound is not None:
        one = record.unsound
        yield pen.say("open.unsound", text=pen.text(one), when=pen.when(one.at), entry=pen.number(one.seq))


def _claims(pen: Pen) -> list[str]:
    texts = [pen.say(f"claims.{name}") for name in ("said", "strength", "days", "local")]
    return [pen.say("claims"), *(line for text in texts for line in wrap(text, "  ", "    "))]
