"""One entry of the record in one plain sentence, and how what it names is called.

The record names faces, walls and people by their roots; a reader knows them by what they are called
today. What has left the job is called by its root.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from zoneinfo import ZoneInfo

from curing.model.kinds import POUND
from curing.model.quantities import show
from curing.model.record import RecordEntry, RecordKind
from curing.model.record_data import (
    SET_IN_FRAME,
    Attendance,
    Batch,
    Correction,
    Cover,
    Handover,
    Inspection,
    MeterCheck,
    PassedOn,
    Probe,
    Text,
    Trial,
    Verdict,
    Weighing,
    Work,
    said,
)
from curing.publish.event_title import plain
from curing.publish.words import Words

LIGHT = 30.0
"""[kg] What weighs less is told to a hundredth, so that a witness block still shows a trend."""


@dataclass(frozen=True)
class Called:
    """How things of a job are called today.

    Parameters
    ----------
    zone
        Time zone of the job's first site, for entries about the whole job.
    walls
        Root of a wall → its id today.
    zones
        Root of a wall → time zone of its site.
    people
        Root of a person → name.
    coats
        ``FACE.COAT``, the face by its root → name of the coat.
    numbers
        Key of an entry → its number in the record, for corrections.
    aired
        ``FACE.COAT`` of the coats that get air, not water.
    """

    zone: str
    walls: Mapping[str, str] = field(default_factory=dict)
    zones: Mapping[str, str] = field(default_factory=dict)
    people: Mapping[str, str] = field(default_factory=dict)
    coats: Mapping[str, str] = field(default_factory=dict)
    numbers: Mapping[str, int] = field(default_factory=dict)
    aired: frozenset[str] = frozenset()

    def wall(self, root: str) -> str:
        """Return the id of a wall today; the root of one that left the job."""
        return self.walls.get(root, root)

    def face(self, root: str) -> str:
        """Return the id of a face today; the root of one that left the job.

        Examples
        --------
        >>> Called("UTC", walls={"3": "gable"}).face("3-out")
        'gable-out'
        """
        wall, _, side = root.rpartition("-")
        return f"{self.wall(wall)}-{side}"

    def person(self, root: str) -> str:
        """Return the name of a person; the root of who left."""
        return plain(self.people.get(root, root))

    def coat(self, face_root: str | None, coat: str) -> str:
        """Return the name of a coat; its id where the face has none such today."""
        return plain(self.coats.get(f"{face_root}.{coat}", coat))

    def zone_of(self, entry: RecordEntry) -> str:
        """Return the time zone in which the times of an entry are told."""
        return self.zones.get(entry.wall or "", self.zone)


def about_text(entry: RecordEntry, called: Called, words: Words) -> str:
    """Return the face (``3 out``) or wall (``3``) that an entry is about; nothing for the whole job."""
    if entry.face is not None:
        return face_text(entry.face, called, words)
    wall = entry.wall
    return plain(called.wall(wall)) if wall is not None else ""


def face_text(root: str, called: Called, words: Words) -> str:
    """Return a face, named by its root, as it is called today: ``3 out``."""
    wall, _, side = called.face(root).rpartition("-")
    if side not in ("out", "in"):
        return plain(root)
    return words.say("title.face", wall=plain(wall), side=words.say(f"title.side.{side}"))


def when_text(at: datetime, zone: str, words: Words, near: int | None = None) -> str:
    """Return a local instant, ``Mon 3 May 14:10``, with its year where that is not ``near``."""
    local = at.astimezone(ZoneInfo(zone))
    return words.say("terminal.day_time", day=day_text(local.date(), words, near), clock=f"{local:%H:%M}")


def day_text(day: date, words: Words, near: int | None = None) -> str:
    """Return ``Mon 3 May``, with its year where that is not ``near``."""
    text = words.day(day)
    return text if near in (None, day.year) else words.say("record.say.day_year", day=text, year=day.year)


def entry_text(entry: RecordEntry, called: Called, words: Words) -> str:
    """Return what an entry says, in one sentence without its face, person and time.

    Parameters
    ----------
    entry
        Any entry; one whose data no form fits is told by its kind.
    called
        How things are called today.
    words
        Language and units of the reader.

    Returns
    -------
    text
        On one line, of any length: notes are told whole.

    Examples
    --------
    >>> from datetime import UTC
    >>> at = datetime(2027, 5, 3, 12, 10, tzinfo=UTC)
    >>> called = Called("Europe/Amsterdam", coats={"3-out.base": "base coat"})
    >>> entry_text(RecordEntry("k", at, at, "wil", RecordKind.FINISHED, "3-out", {"task": "base"}), called, Words())
    'base coat finished'
    """
    try:
        data = said(entry)
    except ValueError:
        return words.say("record.say.unreadable", kind=entry.kind)
    if isinstance(data, Correction):
        return _correction(entry, data, called, words)
    text = plain(_plain_text(entry, data, called, words))
    note = plain(getattr(data, "note", ""))
    return words.say("record.say.noted", text=text, note=note) if note else text


def _plain_text(entry: RecordEntry, data: object, called: Called, words: Words) -> str:
    if isinstance(data, Work):
        return _work(entry, data, called, words)
    if isinstance(data, Attendance):
        return _attendance(entry, data, called, words)
    if isinstance(data, Probe):
        return _probe(data, words)
    if isinstance(data, Weighing):
        return words.say(f"record.say.weighed.{data.of}", weight=weight_text(data.weight, words))
    if isinstance(data, MeterCheck):
        read, dried = percent_text(data.wet, words), percent_text(data.dried, words)
        return words.say("record.say.meter_check", meter=plain(data.meter), read=read, dried=dried)
    if isinstance(data, Trial):
        return trial_text(entry, data, called, words)
    if isinstance(data, Verdict):
        return words.say(f"record.say.{entry.kind}", hold=plain(data.hold))
    if isinstance(data, Batch):
        return batch_text(entry, data, called, words)
    if isinstance(data, Cover):
        return words.say(f"record.say.{entry.kind}.{data.cover}")
    if isinstance(data, Inspection):
        text = words.say("record.say.sound" if data.sound else "record.say.unsound")
        found = plain(data.found)
        return words.say("record.say.found", inspected=text, found=found) if found else text
    if isinstance(data, PassedOn):
        return _passed_on(entry, data, called, words)
    if isinstance(data, Handover):
        return _handover(entry, data, called, words)
    assert isinstance(data, Text)
    return words.say("record.say.note", text=plain(data.text))


def _work(entry: RecordEntry, data: Work, called: Called, words: Words) -> str:
    if data.task == SET_IN_FRAME:
        return words.say("record.say.set" if entry.kind is RecordKind.FINISHED else "record.say.set_started")
    return words.say(f"record.say.{entry.kind}", coat=called.coat(entry.face, data.task))


def _attendance(entry: RecordEntry, data: Attendance, called: Called, words: Words) -> str:
    why = plain(data.why) or words.say("record.say.no_reason")
    coat = called.coat(entry.face, data.coat) if data.coat else ""
    day = _other_day(entry, data.day, called, words)
    if data.slot is not None and coat:
        aired = entry.kind is RecordKind.MISTED and f"{entry.face}.{data.coat}" in called.aired
        what = words.say("record.say.aired" if aired else f"record.say.{entry.kind}", why=why)
        slot = words.say(f"record.say.slot.{data.slot}")
        return words.say(
            "record.say.visit_day" if day else "record.say.visit", slot=slot, coat=coat, day=day, what=what
        )
    if entry.kind is RecordKind.COULD_NOT:
        return words.say("record.say.not_laid_day" if day else "record.say.not_laid", coat=coat, day=day, why=why)
    if entry.kind is RecordKind.RAIN_ON_IT:
        return words.say("record.say.rain_coat" if coat else "record.say.rain", coat=coat)
    return words.say(f"record.say.loose.{entry.kind}")


def _other_day(entry: RecordEntry, day: date | None, called: Called, words: Words) -> str:
    """Return the day that an entry is about where it is not the day on which it happened."""
    local = entry.at.astimezone(ZoneInfo(called.zone_of(entry))).date()
    return "" if day is None or day == local else day_text(day, words, local.year)


def _probe(data: Probe, words: Words) -> str:
    wet = percent_text(data.wet, words)
    if data.basis == "dry":
        reading = words.say("record.say.dry", dry=percent_text(data.value, words), wet=wet)
    else:
        reading = words.say("record.say.wet", wet=wet)
    return words.say(
        "record.say.probe_mid" if data.mid else "record.say.probe",
        band=words.say(f"record.say.band.{data.band}"),
        depth=words.figure(data.depth, "length_mm"),
        reading=reading,
        meter=plain(data.meter),
    )


def percent_text(value: float, words: Words, limit: float | None = None) -> str:
    """Return a moisture with as many digits as it takes not to look like a limit, or the whole number beside it.

    Examples
    --------
    >>> percent_text(18.52, Words()), percent_text(20.04, Words()), percent_text(20.0, Words())
    ('18.5 %', '20.04 %', '20 %')
    """
    return show(value, "percent", words.units, limits=(round(value), *(() if limit is None else (limit,))))


def weight_text(weight: float, words: Words) -> str:
    """Return a weight [kg] to a tenth, under 30 kg to a hundredth, in the reader's units.

    Examples
    --------
    >>> weight_text(231.4, Words()), weight_text(231.4, Words("us")), weight_text(4.25, Words())
    ('231.4 kg', '510.1 lb', '4.25 kg')
    """
    unit, number = ("lb", weight / float(POUND)) if words.units == "us" else ("kg", weight)
    return words.say(f"record.say.{unit}", number=f"{number:.{2 if weight < LIGHT else 1}f}")


def trial_text(entry: RecordEntry, data: Trial, called: Called, words: Words) -> str:
    """Return a test and how it went: ``test water drop: 45 s, passed``."""
    key = f"record.say.test{'_coat' if data.coat else ''}{'' if data.seconds is None else '_seconds'}"
    return words.say(
        key,
        test=words.say(f"record.say.test.{data.test}"),
        coat=called.coat(entry.face, data.coat),
        seconds=f"{data.seconds or 0:g}",
        result=words.say("record.say.passed" if data.passed else "record.say.failed"),
    )


def batch_text(entry: RecordEntry, data: Batch, called: Called, words: Words) -> str:
    """Return a batch with its number, coat and mix, as far as they were said."""
    number = plain(data.number)
    text = words.say("record.say.batch_number", number=number) if number else words.say("record.say.batch")
    if data.task:
        text = words.say("record.say.batch_for", batch=text, coat=called.coat(entry.face, data.task))
    mix = mix_text(data, words)
    return words.say("record.say.batch_mix", batch=text, mix=mix) if mix else text


def mix_text(data: Batch, words: Words) -> str:
    """Return what went into the mixer: ``sand 8, clay 2``."""
    return ", ".join(
        words.say("record.say.part", what=plain(what), amount=plain(amount)) for what, amount in data.mix.items()
    )


def days_text(first: date, last: date, words: Words, near: int | None = None) -> str:
    """Return ``Tue 1 June to Tue 8 June``, or one day; each with its year where that is not ``near``."""
    days = day_text(first, words, near)
    return days if last == first else words.say("record.say.days", first=days, last=day_text(last, words, near))


def _handover(entry: RecordEntry, data: Handover, called: Called, words: Words) -> str:
    year = entry.at.astimezone(ZoneInfo(called.zone_of(entry))).year
    return words.count(
        "record.say.handover",
        len(data.kit),
        days=days_text(data.first, data.last, words, year),
        walked=day_text(data.walked, words, year),
        person=called.person(data.walked_with),
        name=plain(data.signed),
    )


def _passed_on(entry: RecordEntry, data: PassedOn, called: Called, words: Words) -> str:
    year = entry.at.astimezone(ZoneInfo(called.zone_of(entry))).year
    days = days_text(data.first, data.last, words, year)
    key = "record.say.passed_on" + (f".{data.slot}" if data.slot else "")
    return words.say(key, to=called.person(data.to), days=days)


def _correction(entry: RecordEntry, data: Correction, called: Called, words: Words) -> str:
    number = called.numbers.get(data.corrects)
    named = words.say("record.say.entry", number=number) if number else words.say("record.say.no_entry")
    if data.instead is None:
        text = words.say("record.say.withdrawn", entry=named)
    else:
        new = instead(entry, data)
        about = about_text(new, called, words) if new is not None and new.face != entry.face else ""
        said_now = (
            entry_text(new, called, words)
            if new is not None
            else words.say("record.say.unreadable", kind=data.instead.kind)
        )
        year = entry.at.astimezone(ZoneInfo(called.zone_of(entry))).year
        when = when_text(data.instead.at, called.zone_of(new or entry), words, year)
        key = "record.say.corrected_at" if about else "record.say.corrected"
        text = words.say(key, entry=named, about=about, instead=said_now, when=when)
    why = plain(data.why)
    return words.say("record.say.because", text=text, why=why) if why else text


def instead(entry: RecordEntry, data: Correction) -> RecordEntry | None:
    """Return the entry that a correction puts in place of another; None where it only withdraws."""
    new = data.instead
    if new is None or new.at.utcoffset() is None:
        return None
    return RecordEntry(entry.key, new.at, entry.received, entry.by, new.kind, new.face, dict(new.data), entry.seq)
