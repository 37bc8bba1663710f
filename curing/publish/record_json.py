"""The record as JSON, for another program.

The written form is a contract, numbered by :data:`RECORD_FORMAT`; new keys may be added to it::

    curing_record   1
    job             {uid, name}
    as_of           the present instant
    face            null, or {id, root} where one face was asked for
    entries         by time, then number:
        number, key, kind
        at, received            instants, UTC
        local                   {at, zone}: the same instant on the clock of the wall
        late                    whether it came in more than an hour later
        by                      {id, root, name}; root: the first id the person ever had
        face, wall              {id, root} or null; id: as it is called today, null if it left the job
        data                    what belongs to the kind, as it is kept: faces, walls, people by roots
        corrects                number of the entry that this correction names, or null
        corrected_by            number of the correction that names it, or null: it holds
        text                    one sentence, in the language and units of the job
    decisions       by time, then number:
        number, key, kind, at, local, by, face, data, text

Instants are written ``2027-05-03T12:10:00Z``, local ones ``2027-05-03T14:10:00+02:00``.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

from curing.model.decisions import Decision
from curing.model.record import RecordEntry
from curing.publish.record_parts import JobRecord, late
from curing.publish.record_text import entry_text
from curing.publish.terminal_record_list import decision_text
from curing.publish.words import Words

RECORD_FORMAT = 1


def record_json(
    record: JobRecord,
    words: Words,
    people: Mapping[str, str],
    *,
    face: tuple[str, str] | None = None,
) -> str:
    """Return the record as JSON text.

    Parameters
    ----------
    record
        Entries and decisions, those of one face where one is asked for.
    words
        Language and units of ``text``.
    people
        Root of a person → id today.
    face
        (id, root) of the face.
    """
    one = _Writer(record, words, people)
    document = {
        "curing_record": RECORD_FORMAT,
        "job": {"uid": record.uid, "name": record.job},
        "as_of": _utc(record.now),
        "face": {"id": face[0], "root": face[1]} if face is not None else None,
        "entries": [one.entry(entry) for entry in record.entries],
        "decisions": [one.decision(decision) for decision in record.decisions],
    }
    return json.dumps(document, ensure_ascii=False, indent=2) + "\n"


class _Writer:
    def __init__(self, record: JobRecord, words: Words, people: Mapping[str, str]) -> None:
        self.record, self.words, self.people = record, words, people

    def entry(self, entry: RecordEntry) -> dict[str, Any]:
        called = self.record.called
        by, corrects = self.record.corrected_by.get(entry.key), entry.data.get("corrects")
        return {
            "number": entry.seq,
            "key": entry.key,
            "kind": entry.kind.value,
            "at": _utc(entry.at),
            "received": _utc(entry.received),
            "local": _local(entry.at, called.zone_of(entry)),
            "late": late(entry),
            "by": self._person(entry.by),
            "face": self._face(entry.face),
            "wall": self._wall(entry.wall),
            "data": _plain(entry.data),
            "corrects": called.numbers.get(corrects) if isinstance(corrects, str) else None,
            "corrected_by": by.seq if by is not None else None,
            "text": entry_text(entry, called, self.words),
        }

    def decision(self, decision: Decision) -> dict[str, Any]:
        called, root = self.record.called, decision.data.get("face")
        zone = called.zones.get(str(root).rpartition("-")[0], called.zone)
        return {
            "number": decision.seq,
            "key": decision.key,
            "kind": str(decision.kind),
            "at": _utc(decision.at),
            "local": _local(decision.at, zone),
            "by": self._person(decision.by),
            "face": self._face(root if isinstance(root, str) else None),
            "data": _plain(decision.data),
            "text": decision_text(decision, self.record, self.words),
        }

    def _person(self, root: str) -> dict[str, Any]:
        return {"id": self.people.get(root), "root": root, "name": self.record.called.people.get(root)}

    def _wall(self, root: str | None) -> dict[str, Any] | None:
        return {"id": self.record.called.walls.get(root), "root": root} if root is not None else None

    def _face(self, root: str | None) -> dict[str, Any] | None:
        if root is None:
            return None
        wall, _, side = root.rpartition("-")
        now = self.record.called.walls.get(wall)
        return {"id": f"{now}-{side}" if now is not None else None, "root": root}


def _utc(at: datetime) -> str:
    return at.astimezone(UTC).isoformat().replace("+00:00", "Z")


def _local(at: datetime, zone: str) -> dict[str, str]:
    return {"at": at.astimezone(ZoneInfo(zone)).isoformat(), "zone": zone}


def _plain(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {key: _plain(one) for key, one in value.items()}
    if isinstance(value, Sequence) and not isinstance(value, str):
        return [_plain(one) for one in value]
    return value
