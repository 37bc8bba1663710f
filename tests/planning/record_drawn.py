"""Invented entries of any kind, by any people, for a small court: what people might say, right or wrong.

Each choice comes from a random source. A step says one thing, or a few that belong together.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime, timedelta
from random import Random
from typing import Any

from court import at, face, wall
from court_record import BANDS, Court, probe, recorded_job

from curing.model.record import RecordEntry, RecordKind

PEOPLE = ["ida", "bo", "near", "ines", "owner", "eve"]
FACES = ["1-out", "1-in", "2-out", "2-in", "9-out"]
COATS = ["base", "finish", "paint-1"]
SLOTS = ["early", "midday", "late"]
HOLDS = [("panel-dry", "1", None), ("panel-dry", "2", None), ("base-dry", "", "1-out"), ("base-dry", "", "2-out"),
         ("paint-tests", "", "1-out"), ("roof-gutter", "1", None)]  # fmt: skip
START = at(4, 26, "06:00")

Drawn = tuple[RecordKind | str, str | None, str, dict[str, Any], datetime]


def small_court() -> Court:
    """Return a court of two panels: one with coats on both sides, one outside alone; all but tests are met."""
    panel = {"thickness": "300 mm", "filled": "2026-05-01"}
    inside = {"side": "in", "area": "6 m2", "height": "2.7 m", "system": "clay-lime", "after": ["1-out.base"]}
    walls = [
        wall("1", face(start="2027-05-03", area="8 m2"), inside, panel=panel),
        wall("2", face(facing="E", start="2027-05-03", area="6 m2"), panel=panel),
    ]
    return Court(recorded_job(*walls), START)


def _when(rng: Random, now: datetime) -> datetime:
    """Mostly now or a while ago, at times long ago."""
    ago = rng.choice([0, 0, 0, 5, 60, 600, 3000, 12_000])
    return now - timedelta(minutes=ago)


def _reading(rng: Random, now: datetime) -> Drawn:
    value = rng.choice([12.0, 17.5, 20.0, 20.1, 26.0])
    deep = rng.choice([(100.0, False), (150.0, True), (150.0, False), (40.0, False), (260.0, False)])
    meter = rng.choice(["probe", "probe", "either"])
    basis = rng.choice(["wet", "wet", "dry"])
    data = probe(value, rng.choice(BANDS), deep[0], basis=basis, meter=meter, mid=deep[1])
    return RecordKind.READING, rng.choice(FACES), rng.choice(PEOPLE), data, _when(rng, now)


def _word(rng: Random, now: datetime) -> Drawn:
    hold, of_wall, of_face = rng.choice(HOLDS)
    kind = rng.choice([RecordKind.HOLD_MET, RecordKind.HOLD_MET, RecordKind.HOLD_MET, RecordKind.HOLD_REFUSED])
    data = {"hold": hold, **({"wall": of_wall} if of_wall else {})}
    return kind, of_face, rng.choice(["ida", "ida", *PEOPLE]), data, _when(rng, now)


def _coat(rng: Random, now: datetime) -> Drawn:
    kind = rng.choice([RecordKind.FINISHED, RecordKind.FINISHED, RecordKind.STARTED])
    if rng.random() < 0.15:
        return RecordKind.FINISHED, None, "bo", {"task": "set", "wall": rng.choice(["1", "2"])}, _when(rng, now)
    return kind, rng.choice(FACES), rng.choice(PEOPLE), {"task": rng.choice(["base", *COATS])}, _when(rng, now)


def _visit(rng: Random, now: datetime) -> Drawn:
    kind = rng.choice([RecordKind.MISTED, RecordKind.DAMP, RecordKind.RAIN_ON_IT, RecordKind.COULD_NOT])
    then = _when(rng, now)
    data: dict[str, Any] = {"coat": rng.choice(COATS), "day": (then + timedelta(hours=2)).date().isoformat()}
    data["slot"] = rng.choice(SLOTS)
    if kind is RecordKind.COULD_NOT:
        data["why"] = "scaffold locked"
        if rng.random() < 0.5:
            del data["slot"]
    return kind, rng.choice(FACES), rng.choice(PEOPLE), data, then


def _rain(rng: Random, now: datetime) -> Drawn:
    return RecordKind.RAIN_ON_IT, rng.choice(FACES), rng.choice(PEOPLE), {}, _when(rng, now)


def _trial(rng: Random, now: datetime) -> Drawn:
    name = rng.choice(["hollows", "hollows", "water-drop", "dusting", "suction"])
    data = {"test": name, "passed": rng.random() < 0.8, "coat": rng.choice(COATS)}
    return RecordKind.TEST, rng.choice(FACES), rng.choice(PEOPLE), data, _when(rng, now)


def _meter(rng: Random, now: datetime) -> Drawn:
    data = {"meter": rng.choice(["probe", "either"]), "read": rng.choice([12.4, 13.9, 18.0, 8.0]), "dried": 12.0}
    return RecordKind.TEST, None, rng.choice(PEOPLE), data, _when(rng, now)


def _other(rng: Random, now: datetime) -> Drawn:
    kind, of_face, data = rng.choice(
        [
            (RecordKind.NOTE, rng.choice([None, *FACES]), {"text": "scaffold goes on Friday"}),
            (RecordKind.BATCH, None, {"mix": {"lime": "25 kg"}, "number": "B12"}),
            (RecordKind.COVER_UP, rng.choice(FACES), {"cover": "sheet"}),
            (RecordKind.COVER_DOWN, rng.choice(FACES), {}),
            (RecordKind.INSPECTION, rng.choice(FACES), {"sound": True}),
            (RecordKind.READING, None, {"weight": 231.4, "wall": rng.choice(["1", "2"])}),
        ]
    )
    return kind, of_face, rng.choice(PEOPLE), data, _when(rng, now)


def _passed(rng: Random, now: datetime) -> Drawn:
    first = now.date() + timedelta(days=rng.randrange(0, 4))
    data: dict[str, Any] = {
        "to": rng.choice(["bo", "near", "ida"]),
        "first": first.isoformat(),
        "last": (first + timedelta(days=rng.randrange(0, 4))).isoformat(),
    }
    if rng.random() < 0.5:
        data["slot"] = rng.choice(SLOTS)
    return RecordKind.PASSED_ON, None, rng.choice(["bo", "near", "ida"]), data, now


SINGLE: list[Callable[[Random, datetime], Drawn]] = [
    _reading, _reading, _word, _word, _word, _coat, _coat, _visit, _rain, _trial, _meter, _other, _passed,
]  # fmt: skip


def drawn(rng: Random, court: Court, *, admitted: bool = True) -> list[RecordEntry]:
    """Say something; return the entries that went in.

    Parameters
    ----------
    admitted
        Whether only what admission lets in goes into the record.
    """
    choice = rng.random()
    if choice < 0.15:
        return _read_dry(rng, court, admitted=admitted)
    if choice < 0.35 and court.record:
        made = [_correction(rng, court)]
    elif choice < 0.45:
        made = _worked(rng, court)
    else:
        kind, of_face, by, data, when = rng.choice(SINGLE)(rng, court.now)
        made = [court.entry(kind, of_face, by, data, when)]
    return _enter(court, made, admitted=admitted)


def _enter(court: Court, made: list[RecordEntry], *, admitted: bool) -> list[RecordEntry]:
    taken = []
    for one in made:
        if not admitted or court.desk().faults(one) == []:
            court.record.append(one)
            taken.append(one)
    return taken


def _correction(rng: Random, court: Court) -> RecordEntry:
    target = rng.choice(court.record)
    data: dict[str, Any] = {"corrects": target.key}
    if rng.random() < 0.4:
        kind, of_face, _, new, when = rng.choice(SINGLE)(rng, court.now)
        if rng.random() < 0.5 and target.kind is not RecordKind.CORRECTION:
            kind, of_face, new = target.kind, target.face, dict(target.data)
        data["instead"] = {"kind": str(kind), "at": when.isoformat(), "face": of_face, "data": new}
    return court.entry(RecordKind.CORRECTION, target.face, rng.choice([target.by, "ida", "bo"]), data)


def _read_dry(rng: Random, court: Court, *, admitted: bool) -> list[RecordEntry]:
    """Check the meter, read a whole panel, and at times say that it is open."""
    of_wall, value = rng.choice(["1", "2"]), rng.choice([16.0, 18.0])
    then = court.now - timedelta(minutes=rng.choice([10, 300]))
    made = [court.entry(RecordKind.TEST, None, "bo", {"meter": "probe", "read": 12.4, "dried": 12.0}, then)]
    for side in ("out", "in"):
        for band in BANDS:
            made.append(court.entry(RecordKind.READING, f"{of_wall}-{side}", "bo", probe(value, band), then))
        deep = probe(value, "middle", 150.0, mid=True)
        made.append(court.entry(RecordKind.READING, f"{of_wall}-{side}", "bo", deep, then))
    if rng.random() < 0.7:
        made.append(court.entry(RecordKind.HOLD_MET, None, "ida", {"hold": "panel-dry", "wall": of_wall}))
    return _enter(court, made, admitted=admitted)


def _worked(rng: Random, court: Court) -> list[RecordEntry]:
    """Say that a coat was laid some time ago, and test it."""
    of_face, coat = rng.choice(["1-out", "1-in", "2-out"]), rng.choice(["base", "base", "finish"])
    then = court.now - timedelta(hours=rng.choice([1, 20]))
    made = [court.entry(RecordKind.FINISHED, of_face, "bo", {"task": coat}, then)]
    if rng.random() < 0.6:
        for name in ("hollows", "water-drop", "dusting"):
            data = {"test": name, "passed": True, "coat": coat}
            made.append(court.entry(RecordKind.TEST, of_face, "bo", data, then + timedelta(minutes=30)))
        hold = {"base": "base-dry", "finish": "paint-tests"}[coat]
        made.append(court.entry(RecordKind.HOLD_MET, of_face, "ida", {"hold": hold}))
    return made


def decided(rng: Random, court: Court) -> None:
    """Take a decision, if it may be taken."""
    from curing.planning.decision_rules import Bench, faults

    day: date = court.now.date() + timedelta(days=rng.randrange(0, 25))
    kind = rng.choice(["assign", "keep", "move"])
    if kind == "assign":
        slot = {"slot": rng.choice(SLOTS)} if rng.random() < 0.5 else {}
        one = court.decision(kind, "ida", to=rng.choice(["bo", "near"]), first=day, last=day, **slot)
    else:
        coats = [b for b in (court.plan.bookings if court.plan else ()) if b.kind == "coat"]
        if not coats:
            return
        booked = rng.choice(coats)
        day = booked.start.date() if kind == "keep" else day
        one = court.decision(kind, "ida", face=booked.faces[0], coat=booked.task, day=day, why="x")
    job = court.job()
    if faults(one, Bench(job, court.roots(job), court.plan, court.now)) == []:
        court.decisions.append(one)
