"""The record of one face for a client, made to be printed: what was done and when, without names of people."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from curing.model.people import Person, Role
from curing.model.plan import Slot
from curing.model.record_data import Inspection, Trial, said
from curing.publish.event_title import plain
from curing.publish.record_parts import CoatStory, FaceRecord, HoldStory, Said, Tending
from curing.publish.record_pen import Pen
from curing.publish.record_text import batch_text, percent_text, trial_text
from curing.publish.words import Words

SHORTEST = 3
"""Signs of a name that is looked for in free text."""


@dataclass(frozen=True, slots=True)
class Block:
    """A part of the record: lines, then a table."""

    title: str
    lines: tuple[str, ...] = ()
    head: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()


@dataclass(frozen=True, slots=True)
class ClientRecord:
    """The whole record of a face."""

    title: str
    facts: tuple[tuple[str, str], ...]
    blocks: tuple[Block, ...]
    claims: tuple[str, ...]


class Nameless:
    """Takes the names of a job's people out of free text.

    Parameters
    ----------
    people
        Everybody of the job. Who only reads is a firm or a family as often as not: only the whole name goes.

    Examples
    --------
    >>> wil = Person.model_validate({"id": "wil", "name": "Wil Smit", "roles": ["lead"]})
    >>> Nameless([wil], "(name)").text("Wil saw it; the will is there")
    '(name) saw it; the will is there'
    """

    def __init__(self, people: Iterable[Person], instead: str) -> None:
        names: set[str] = set()
        for one in people:
            names.add(one.name)
            first = re.split(r"[\s,]+", one.name.strip())[0]
            if one.roles != (Role.CLIENT,) and len(first) >= SHORTEST:
                names.add(first)
        listed = sorted((name for name in names if len(name) >= SHORTEST), key=lambda one: (-len(one), one))
        found = "|".join(re.escape(name) for name in listed)
        self._pattern = re.compile(rf"(?<!\w)(?:{found})(?!\w)") if found else None
        self._instead = instead

    def text(self, text: str) -> str:
        """Return a text on one line without names."""
        said = plain(text)
        return self._pattern.sub(self._instead, said) if self._pattern is not None else said


def client_record(record: FaceRecord, people: Sequence[Person], words: Words, digest: str = "") -> ClientRecord:
    """Return the record of a face without names of people.

    Parameters
    ----------
    record
        What was recorded of it.
    people
        Everybody of the job, whose names are taken out.
    digest
        Of the whole record of the job, or nothing.
    """
    return _Maker(record, Nameless(people, words.say("client.name")), words).made(digest)


class _Maker:
    def __init__(self, record: FaceRecord, nameless: Nameless, words: Words) -> None:
        self.record, self.clean, self.words = record, nameless.text, words
        self.pen = Pen(words, record.called, record.zone, record.now.year)

    def say(self, key: str, **values: object) -> str:
        return self.words.say(f"client.record.{key}", **values)

    def made(self, digest: str) -> ClientRecord:
        record = self.record
        side = self.words.say(f"title.side.{record.side}")
        face = self.words.say("title.face", wall=plain(record.wall), side=side)
        facts = [(self.say("wall"), f"{face} {plain(record.wall_name)}")]
        if record.system_name:
            facts.append((self.say("coats_of"), plain(record.system_name)))
        if record.thickness is not None and record.filled is not None:
            thickness = self.words.figure(record.thickness, "length_mm")
            panel = self.pen.say("panel", thickness=thickness, day=self.pen.day(record.filled))
            facts.append((self.say("panel"), panel))
        facts.append((self.say("seen"), self.pen.when(record.now)))
        blocks = [self._readings(), self._holds(), self._coats(), *self._tendings(), self._tests(), self._decided()]
        claims = [self.pen.say(f"claims.{name}") for name in ("said", "strength", "days", "local")]
        if digest:
            claims.append(self.say("digest", digest=digest))
        return ClientRecord(
            self.say("of", face=face), tuple(facts), tuple(one for one in blocks if one is not None), tuple(claims)
        )

    def _readings(self) -> Block | None:
        record, pen = self.record, self.pen
        if not record.readings:
            return None
        limit = record.limit
        title = self.say("readings")
        if limit is not None:
            title = self.say("readings.limit", limit=self.words.figure(limit, "percent"))
        heads = tuple(self.say(name) if name == "date" else _small(pen.say(f"head.{name}")) for name in _READING)
        rows = []
        for line in record.readings:
            depth = self.words.figure(line.probe.depth, "length_mm")
            rows.append(
                (
                    pen.day(pen.local(line.entry.at)),
                    self.words.say(f"title.side.{line.side}"),
                    pen.say(f"say.band.{line.probe.band}"),
                    pen.say("mid", depth=depth) if line.probe.mid else depth,
                    percent_text(line.probe.wet, self.words, limit),
                    pen.say(f"mark.{line.mark}").lower(),
                )
            )
        return Block(title, (), heads, tuple(rows))

    def _holds(self) -> Block | None:
        rows = [(plain(story.text), "; ".join(self._steps(story))) for story in self.record.holds]
        return Block(self.say("holds"), (), (), tuple(rows)) if rows else None

    def _steps(self, story: HoldStory) -> Iterator[str]:
        for step in story.steps:
            yield self.say(f"step.{step.what}", day=self.pen.day(step.day))
        if story.laid_shut is not None:
            yield self.say("laid_shut", day=self.pen.day(story.laid_shut))
        elif not story.steps:
            yield self.say("step.none")

    def _coats(self) -> Block | None:
        rows = [(plain(coat.name), "; ".join(self._coat(coat))) for coat in self.record.coats]
        return Block(self.say("coats"), (), (), tuple(rows)) if rows else None

    def _coat(self, coat: CoatStory) -> Iterator[str]:
        pen = self.pen
        if coat.laid is None:
            key = "coat.not_booked" if coat.booked is None else "coat.booked_if" if coat.conditional else "coat.booked"
            yield pen.say(key, day=pen.day(coat.booked) if coat.booked is not None else "")
            return
        yield self.say("laid", when=pen.when(coat.laid) if coat.clock else pen.day(pen.local(coat.laid)))
        if coat.thickness:
            yield pen.say("coat.planned", thickness=self.words.figure(coat.thickness, "length_mm"))
        if coat.wait is not None:
            broken = coat.wait < coat.least or (coat.greatest is not None and coat.wait > coat.greatest)
            rule = self.words.count("record.coat.least", coat.least)
            if coat.greatest is not None:
                rule = pen.say("coat.between", least=coat.least, most=coat.greatest)
            key = "client.record.wait_broken" if broken else "client.record.wait"
            yield self.words.count(key, coat.wait, below=plain(coat.below), rule=rule)
        for entry in coat.batches:
            yield self.clean(batch_text(entry, said(entry), self.record.called, self.words))  # type: ignore[arg-type]

    def _tendings(self) -> Iterator[Block]:
        for coat in self.record.coats:
            if coat.tending is not None and coat.tending.asked:
                yield self._tending(plain(coat.name), coat.tending)

    def _tending(self, coat: str, tending: Tending) -> Block:
        counts = Counter(one.said for one in tending.asked)
        care = Said.AIRED if counts[Said.AIRED] else Said.MISTED
        sums = self.say(
            "sums",
            asked=len(tending.asked),
            cared=counts[care],
            care=self.pen.say(f"say.{care}"),
            damp=counts[Said.DAMP],
            rain=counts[Said.RAIN],
            failed=counts[Said.COULD_NOT],
            missed=counts[Said.MISSED],
            unsaid=counts[Said.UNSAID],
        )
        slots = [slot for slot in Slot if any(one.slot is slot for one in tending.asked)]
        head = (self.say("day"), self.say("date"), *(self.pen.say(f"say.slot.{slot}") for slot in slots))
        rows = []
        by_day = sorted(tending.asked, key=lambda one: one.day)
        for day, cells in groupby(by_day, key=lambda one: one.day):
            found = {one.slot: one for one in cells}
            said_of = {
                slot: self.say(f"cell.{one.said}", clock=self.pen.clock(one.at) if one.at is not None else "")
                for slot, one in found.items()
            }
            number = str(next(iter(found.values())).number)
            rows.append((number, self.pen.day(day), *(said_of.get(slot, "") for slot in slots)))
        return Block(self.say("tending", coat=coat), (sums,), head, tuple(rows))

    def _tests(self) -> Block | None:
        lines = []
        for entry in self.record.entries:
            if entry.key in {one.key for one, _ in self.record.corrected}:
                continue
            data = said(entry)
            if isinstance(data, Trial):
                text = trial_text(entry, data, self.record.called, self.words)
            elif isinstance(data, Inspection):
                text = self.pen.say("say.sound" if data.sound else "say.unsound")
                text = self.pen.say("say.found", inspected=text, found=data.found) if data.found else text
            else:
                continue
            lines.append(self.say("said", text=self.clean(text), when=self.pen.when(entry.at)))
        return Block(self.say("tests"), tuple(lines)) if lines else None

    def _decided(self) -> Block | None:
        lines = []
        for coat in self.record.coats:
            for one in coat.decisions:
                day = self.pen.day(date.fromisoformat(str(one.data["day"])))
                why = self.clean(str(one.data.get("why", ""))) or self.pen.say("coat.no_why")
                lines.append(self.say(str(one.kind), coat=plain(coat.name), day=day, why=why))
        return Block(self.say("decided"), tuple(lines)) if lines else None


_READING = ("date", "side", "height", "depth", "wet", "mark")


def _small(head: str) -> str:
    """Return a heading of the terminal as text."""
    return head[:1] + head[1:].lower()
