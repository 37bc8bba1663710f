"""The long tables of the curing record: readings, weighings, and the days of tending."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from itertools import groupby

from curing.model.kinds import POUND
from curing.model.plan import Slot
from curing.publish.event_title import plain
from curing.publish.record_parts import FaceRecord, Mark, ReadingLine, Said, Tending, VisitCell
from curing.publish.record_pen import Pen, runs
from curing.publish.record_text import LIGHT, percent_text, weight_text
from curing.publish.terminal_layout import table, wrap

ANSWERED = (Said.MISTED, Said.AIRED, Said.DAMP, Said.RAIN, Said.COULD_NOT)


def reading_block(record: FaceRecord, pen: Pen) -> list[str]:
    """Return the readings of a panel, those of one day, person and meter under one line."""
    if not record.readings and not record.meter_checks:
        return []
    limit = record.limit
    head = pen.say("readings.plain") if limit is None else pen.say("readings", limit=pen.words.figure(limit, "percent"))
    heads = ("number", "time", "side", "height", "depth", "shown", "wet", "mark")
    rows: list[tuple[str, ...]] = [tuple(pen.say(f"head.{name}") for name in heads)]
    above: dict[int, str] = {}

    def group(line: ReadingLine) -> tuple[date, str, str]:
        return pen.local(line.entry.at), line.entry.by, line.probe.meter

    for (day, by, meter), lines in groupby(record.readings, key=group):
        above[len(rows)] = pen.say(
            "readings.of", day=pen.day(day), by=pen.called.person(by), meter=plain(meter)
        )  # fmt: skip
        rows += [_reading(line, limit, pen) for line in lines]
    made = table(rows, (5, 5, 4, 6, 6, 10, 9, 9), indent=2) if len(rows) > 1 else []
    lines_out = [head]
    for place, line in enumerate(made):
        if place in above:
            lines_out += wrap(above[place], "  ")
        lines_out.append(line)
    marks = {line.mark for line in record.readings}
    if any(line.probe.basis == "dry" for line in record.readings):
        lines_out += wrap(pen.say("basis.say"), "  ")
    if Mark.SHALLOW in marks:
        depth = pen.words.figure(record.depth, "length_mm")
        lines_out += wrap(pen.say("mark.shallow.say", depth=depth), "  ")
    if Mark.UNCHECKED in marks:
        lines_out += wrap(pen.say("mark.unchecked.say"), "  ")
    for entry in record.meter_checks:
        lines_out += wrap(f"{pen.text(entry)}, {pen.day(pen.local(entry.at))}", f"  {pen.number(entry.seq)} ", "      ")
    return lines_out


def _reading(line: ReadingLine, limit: float | None, pen: Pen) -> tuple[str, ...]:
    probe = line.probe
    depth = pen.words.figure(probe.depth, "length_mm")
    return (
        pen.number(line.entry.seq),
        pen.clock(line.entry.at),
        pen.words.say(f"title.side.{line.side}"),
        pen.say(f"say.band.{probe.band}"),
        pen.say("mid", depth=depth) if probe.mid else depth,
        pen.say(f"shown.{probe.basis}", value=percent_text(probe.value, pen.words, limit)),
        percent_text(probe.wet, pen.words, limit),
        pen.say(f"mark.{line.mark}"),
    )


def weighing_block(record: FaceRecord, pen: Pen) -> list[str]:
    """Return the weighings as a trend."""
    if not record.weighings:
        return []
    heads = ("number", "day", "what", "weight", "change", "by")
    rows: list[tuple[str, ...]] = [tuple(pen.say(f"head.{name}") for name in heads)]
    for line in record.weighings:
        entry = line.entry
        rows.append(
            (
                pen.number(entry.seq),
                pen.day(pen.local(entry.at)),
                pen.say(f"weighed.{line.weighing.of}"),
                weight_text(line.weighing.weight, pen.words),
                _change(line.change, line.weighing.weight, pen),
                pen.called.person(entry.by),
            )
        )
    return [
        pen.say("weighings"),
        *table(rows, (5, 10, 6, 8, 8, 6), indent=2),
        *wrap(pen.say("weighings.say"), "  "),
    ]


def _change(change: float | None, weight: float, pen: Pen) -> str:
    if change is None:
        return ""
    unit, number = ("lb", change / float(POUND)) if pen.words.units == "us" else ("kg", change)
    return pen.say(f"say.{unit}", number=f"{number:+.{3 if weight < LIGHT else 2}f}")


def tending_block(coat: str, tending: Tending, pen: Pen) -> list[str]:
    """Return the sums of a coat's visits, a table of its days, and what the table has no room for."""
    lines = [pen.say("tending", coat=plain(coat).upper())]
    if not tending.asked and not tending.extra:
        return [*lines, *wrap(" ".join([pen.say("tending.nothing"), *_ahead(tending, pen)]), "  ")]
    lines += wrap(" ".join(_sums(tending, pen)), "  ")
    lines += _days(tending, pen)
    for text in _below(tending, pen):
        lines += wrap(text, "  ", "    ")
    return lines


def _sums(tending: Tending, pen: Pen) -> Iterator[str]:
    counts = Counter(one.said for one in tending.asked)
    aired = any(one.said is Said.AIRED for one in (*tending.asked, *tending.extra))
    care = Said.AIRED if aired else Said.MISTED
    yield pen.say(
        "tending.sums",
        asked=len(tending.asked),
        cared=counts[care],
        care=pen.say(f"say.{care}"),
        damp=counts[Said.DAMP],
        rain=counts[Said.RAIN],
        failed=counts[Said.COULD_NOT],
        missed=counts[Said.MISSED],
        unsaid=counts[Said.UNSAID],
    )
    yield pen.words.count("record.tending.rules", tending.by_rule)
    yield from _ahead(tending, pen)
    people = Counter(one.by for one in tending.asked if one.said in ANSWERED)
    if people:
        shares = [pen.say("tending.share", name=name, number=number) for name, number in people.most_common()]
        yield pen.say("tending.who", people=", ".join(shares))


def _ahead(tending: Tending, pen: Pen) -> Iterator[str]:
    if tending.ahead and tending.ahead_to is not None:
        yield pen.words.count("record.tending.ahead", tending.ahead, day=pen.day(tending.ahead_to))


def _days(tending: Tending, pen: Pen) -> list[str]:
    if not tending.asked:
        return []
    slots = [slot for slot in Slot if any(one.slot is slot for one in tending.asked)]
    heads = ("day_number", "date", *(slot.value for slot in slots))
    rows: list[tuple[str, ...]] = [tuple(pen.say(f"head.{name}") for name in heads)]
    nothing = pen.words.say("terminal.nothing")
    by_day = sorted(tending.asked, key=lambda one: one.day)
    for day, cells in groupby(by_day, key=lambda one: one.day):
        found = {one.slot: one for one in cells}
        number = next(iter(found.values())).number
        row = [_cell(found[slot], pen) if slot in found else nothing for slot in slots]
        rows.append((str(number), pen.day(day), *row))
    return table(rows, (3, 10, *(9 for _ in slots)), indent=2)


def _cell(cell: VisitCell, pen: Pen) -> str:
    return pen.say(
        f"cell.{cell.said}",
        clock=pen.clock(cell.at) if cell.at is not None else "",
        star=pen.say("star") if cell.received is not None else "",
        entry=pen.number(cell.entry),
    )


def _below(tending: Tending, pen: Pen) -> Iterator[str]:
    late = [one for one in tending.asked if one.received is not None]
    failed = [one for one in tending.asked if one.said is Said.COULD_NOT]
    if failed:
        yield pen.say("tending.failed", listed="; ".join(_failed(one, pen) for one in failed))
    if late:
        yield pen.say("tending.late", listed=", ".join(_late(late, pen)))
    if tending.extra:
        yield pen.say("tending.extra", listed="; ".join(_extra(one, pen) for one in tending.extra))
    if tending.unasked:
        spans = [
            str(first) if first == last else pen.say("range", first=first, last=last)
            for first, last in runs(tending.unasked)
        ]
        yield pen.say("tending.unasked", days=", ".join(spans))


def tending_legend(tendings: Sequence[Tending], pen: Pen) -> list[str]:
    """Return what the words in the tables of days mean, those that stand there, once for all coats."""
    cells = [one for tending in tendings for one in tending.asked]
    texts = [pen.say(f"legend.{said}") for said in Said if any(one.said is said for one in cells)]
    if any(one.received is not None for one in cells):
        texts.append(pen.say("legend.star"))
    return ["", *wrap(pen.say("legend", words="; ".join(texts)))] if texts else []


def _failed(cell: VisitCell, pen: Pen) -> str:
    why = plain(cell.why) or pen.say("say.no_reason")
    return pen.say(
        "tending.failed_one",
        entry=pen.number(cell.entry),
        day=pen.day(cell.day),
        slot=pen.say(f"say.slot.{cell.slot}"),
        why=why,
        by=cell.by,
    )


def _late(cells: Iterable[VisitCell], pen: Pen) -> Iterator[str]:
    for one in cells:
        assert one.received is not None
        yield pen.say("tending.late_one", entry=pen.number(one.entry), when=pen.when(one.received))


def _extra(cell: VisitCell, pen: Pen) -> str:
    return pen.say(
        "tending.extra_one",
        entry=pen.number(cell.entry),
        day=pen.day(cell.day),
        slot=pen.say(f"say.slot.{cell.slot}"),
        what=_cell(cell, pen).removesuffix(f" {pen.number(cell.entry)}"),
        by=cell.by,
    )
