"""The page of a wall: its cut, what holds it and what lifts that, readings, what comes, what was done."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from curing.model.evidence import Evidence
from curing.model.plan import LIVE, Booking, FacePlan, Hold, HoldState, Kind, Plan, State
from curing.model.record import RecordEntry, RecordKind
from curing.model.record_data import Trial, said
from curing.publish.cure_said import cure_lines
from curing.publish.cut import Side, cut
from curing.publish.event_title import plain
from curing.publish.layers import Layer, layers
from curing.publish.record_parts import FaceRecord, Mark, ReadingLine
from curing.publish.record_text import Called, about_text, entry_text, percent_text, trial_text
from curing.publish.terminal_faces import Faces
from curing.publish.terminal_names import Names, local_day
from curing.publish.visit_weather import shorts
from curing.publish.words import Words

MOST_AHEAD, MOST_HISTORY = 8, 40
READING_COUNTS = 7
"""[d] What was read longer ago is not drawn into the cut."""


@dataclass(frozen=True, slots=True)
class HoldBlock:
    """A hold point that keeps a coat of this wall from being laid.

    Parameters
    ----------
    measured
        What the record has of it, one line each.
    ask
        ``reading``, ``test`` or nothing: what it asks for besides a word.
    opens
        Whether a word alone is still wanted.
    """

    id: str
    face: str
    head: str
    text: str
    lifts: str
    rule: str
    measured: tuple[str, ...]
    ask: str
    state: str
    shut: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class FaceBlock:
    """One face of the wall."""

    id: str
    number: str
    now: str
    next: str
    when: str
    why: str
    layers: tuple[Layer, ...]
    season: str
    panel: str
    tests: tuple[str, ...]
    """Tests that a hold of it asks for and that have not passed."""
    cure: tuple[str, ...] = ()
    """How far its cure is, and why hours did not count."""


@dataclass(frozen=True, slots=True)
class Past:
    """One entry of the wall's history."""

    key: str
    number: int
    when: str
    about: str
    text: str
    who: str
    late: str
    withdrawn: bool
    may_withdraw: bool
    decision: bool = False


@dataclass(frozen=True, slots=True)
class Ahead:
    """One thing to come."""

    day: str
    what: str
    who: str
    conditional: bool


@dataclass(frozen=True, slots=True)
class WallPage:
    """The page of one wall."""

    wall: str
    name: str
    place: int
    of: int
    cut: str
    faces: tuple[FaceBlock, ...]
    holds: tuple[HoldBlock, ...]
    ahead: tuple[Ahead, ...]
    readings: tuple[tuple[str, ...], ...]
    limit: str
    history: tuple[Past, ...]
    more: int
    before: str
    after: str
    bare: bool
    """Whether a probe can still be put into its panel from some side."""


def wall_page(
    plan: Plan,
    evidence: Evidence,
    record: Sequence[FaceRecord],
    entries: Sequence[RecordEntry],
    called: Called,
    corrected: Sequence[str],
    words: Words,
    now: datetime,
    *,
    wall: str,
    person: str,
    decides: bool,
    asks: dict[str, tuple[str, ...]],
) -> WallPage:
    """Return what stands on a wall's page.

    Parameters
    ----------
    record
        Curing records of both its sides, ``out`` first.
    entries
        Everything recorded about the wall.
    corrected
        Keys of entries that a correction took back.
    wall
        Id of the wall today.
    person, decides
        Root of the reader, and whether he or she decides.
    asks
        Hold id → the tests it asks for that have not passed.
    """
    names = Names(plan, words, now)
    faces = [one for one in plan.faces if one.wall == wall]
    walls = list(dict.fromkeys(face.wall for face in sorted(plan.faces, key=lambda one: one.order)))
    place = walls.index(wall)
    drawn = layers(plan, evidence.done.keys())
    bookings = [one for one in plan.everything() if set(one.faces) & {face.id for face in faces}]
    past = list(_history(entries, called, corrected, words, person, decides=decides))
    zone = names.zone(faces[0].site)
    return WallPage(
        wall=wall,
        name=plain(faces[0].wall_name),
        place=place + 1,
        of=len(walls),
        cut=_cut(record, drawn, faces, words, now, zone),
        faces=tuple(_face(face, plan, evidence, names, drawn, asks) for face in faces),
        holds=tuple(_holds(plan, evidence, names, faces, record, asks, words)),
        ahead=tuple(_ahead(bookings, {face.id for face in faces}, names, evidence))[:MOST_AHEAD],
        readings=tuple(_readings(record, words, zone)),
        limit=_limit(record, words),
        history=tuple(past[:MOST_HISTORY]),
        more=max(0, len(past) - MOST_HISTORY),
        before=walls[place - 1] if place else "",
        after=walls[place + 1] if place + 1 < len(walls) else "",
        bare=any(not _laid(face, evidence) for face in faces) or len(faces) < 2,
    )


def _laid(face: FacePlan, evidence: Evidence) -> bool:
    return any(one.laid is not None or one.booking in evidence.done for one in face.coats)


def _cut(
    record: Sequence[FaceRecord],
    drawn: dict[str, tuple[Layer, ...]],
    faces: Sequence[FacePlan],
    words: Words,
    now: datetime,
    zone: ZoneInfo,
) -> str:
    sides: dict[str, Side | None] = {"out": None, "in": None}
    for face in faces:
        sides[face.side] = Side(drawn[face.id])
    if record:
        for side in sides:
            worst = _worst(record[0].readings, side, now)
            if worst is not None:
                there = sides[side] or Side()
                sides[side] = Side(there.layers, percent_text(worst, words))
    thickness = record[0].thickness if record else None
    shown = words.figure(thickness, "length_mm") if thickness is not None else ""
    return cut(sides["out"], sides["in"], shown, words)


def _worst(readings: Sequence[ReadingLine], side: str, now: datetime) -> float | None:
    """Return the wettest reading of a side's last days [% wet basis]; the last one where a place was read again."""
    last: dict[tuple[str, bool], ReadingLine] = {}
    for line in readings:
        if line.side == side and (now - line.entry.at).days < READING_COUNTS and line.mark is not Mark.SHALLOW:
            last[line.probe.band, line.probe.mid] = line
    return max((line.probe.wet for line in last.values()), default=None)


def _limit(record: Sequence[FaceRecord], words: Words) -> str:
    found = next((one.limit for one in record if one.limit is not None), None)
    return percent_text(found, words) if found is not None else ""


def _face(
    face: FacePlan,
    plan: Plan,
    evidence: Evidence,
    names: Names,
    drawn: dict[str, tuple[Layer, ...]],
    asks: dict[str, tuple[str, ...]],
) -> FaceBlock:
    row = Faces(plan, names, evidence.done.keys()).row(face)
    say = names.words.say
    season = panel = why = ""
    if row.booking is not None:
        why = names.why(row.booking)
        if face.season is not None:
            key = "page.wall.season" if face.season.spare >= 0 else "page.wall.season.late"
            season = say(key, line=names.day(face.season.line), days=abs(face.season.spare))
            if face.season.earliest is not None and face.season.latest is not None:
                spread = {"earliest": names.day(face.season.earliest), "latest": names.day(face.season.latest)}
                season += " " + say("page.wall.season.years", years=face.season.years, **spread)
    if face.panel is not None and not _laid(face, evidence):
        panel = say("page.wall.panel", ready=names.day(face.panel.ready), late=names.day(face.panel.likely_late))
    tests = {test for hold, found in asks.items() if hold.startswith(f"{face.id}.") for test in found}
    next_ = row.next[:1].upper() + row.next[1:]
    return FaceBlock(
        face.id, names.face(face.id), row.now, next_, row.when, why, drawn[face.id], season, panel,
        tuple(sorted(tests)), tuple(cure_lines(face, names)),
    )  # fmt: skip


def _holds(
    plan: Plan,
    evidence: Evidence,
    names: Names,
    faces: Sequence[FacePlan],
    record: Sequence[FaceRecord],
    asks: dict[str, tuple[str, ...]],
    words: Words,
) -> Iterator[HoldBlock]:
    """Yield the hold points that are shut now: by the plan, or by the record since."""
    ids = {face.id for face in faces}
    bookings = {one.id: one for one in plan.bookings}
    for hold in plan.holds:
        coats = [one for one in hold.before if one.partition(".")[0] in ids and one not in evidence.done]
        if not coats:
            continue
        state = _state(hold, evidence)
        lapses = state is HoldState.MET and hold.state is HoldState.UNMET and hold.lapses is not None
        if state in (HoldState.MET, HoldState.LATER) and not lapses:
            continue
        task = bookings.get(hold.id)
        kind = task.kind if task is not None else None
        ask = {Kind.READING: "reading", Kind.TEST: "test"}.get(kind, "") if kind is not None else ""
        ask = "test" if asks.get(hold.id) else ask
        what = ", ".join(names.thing(one) for one in coats)
        key = "page.hold.refused" if state is HoldState.REFUSED else "page.hold.head"
        key = "page.hold.lapses" if lapses else key
        counts = names.long_day(hold.lapses) if hold.lapses is not None else ""
        fact = evidence.holds.get(hold.id)
        shut = ""
        if fact is not None and fact.shut is not None:
            shut = words.say(f"terminal.stop.{fact.shut}")
        yield HoldBlock(
            id=hold.id,
            face=coats[0].partition(".")[0],
            head=words.say(key, what=what, day=counts),
            text=plain(hold.text),
            lifts=plain(hold.lifts),
            rule=plain(hold.rule),
            measured=tuple(_measured(hold, record, words)) if ask == "reading" else (),
            ask=ask,
            state="lapses" if lapses else state.value,
            shut=shut,
            note=plain(hold.note),
        )


def _state(hold: Hold, evidence: Evidence) -> HoldState:
    """Return the state of a hold by what was said since the plan was made."""
    fact = evidence.holds.get(hold.id)
    if fact is None:
        return hold.state
    if fact.shut is not None:
        return HoldState.UNMET
    return HoldState.REFUSED if fact.refused is not None and fact.met is None else HoldState.MET


def _measured(hold: Hold, record: Sequence[FaceRecord], words: Words) -> Iterator[str]:
    if not record:
        return
    now, readings = record[0].now, record[0].readings
    for side in ("out", "in"):
        worst = _worst(readings, side, now)
        if worst is not None:
            yield words.say(f"page.hold.read.{side}", value=percent_text(worst, words), limit=_limit(record, words))
        else:
            yield words.say(f"page.hold.unread.{side}")


def _ahead(bookings: Sequence[Booking], faces: Collection[str], names: Names, evidence: Evidence) -> Iterator[Ahead]:
    """Yield what comes at the wall: work one by one, walks as a span, and what the weather makes of them."""
    walks = [one for one in bookings if one.kind is Kind.ROUND and one.state in LIVE and one.start > names.now]
    dated: list[tuple[datetime, Ahead]] = []
    for one in bookings:
        if one.kind is Kind.ROUND or one.state not in LIVE or one.id in evidence.done or one.end < names.now:
            continue
        subject = names.titles.subject(one)[0]
        what = names.words.say("terminal.thing", subject=subject, task=names.task(one))
        ahead = Ahead(names.words.day(local_day(one)), what, names.who(one.who), one.state is State.CONDITIONAL)
        dated.append((one.start, ahead))
    for walk in walks:
        visits = [visit for visit in walk.visits if visit.face in faces and visit.weather is not None]
        if visits:
            what = names.words.say(
                "page.wall.weather", subject=names.faces(one.face for one in visits), walk=names.task(walk),
                text="; ".join(shorts(names.words, visits)),
            )  # fmt: skip
            dated.append((walk.start, Ahead(names.words.day(local_day(walk)), what, names.who(walk.who), False)))
    yield from (ahead for _, ahead in sorted(dated, key=lambda one: one[0]))
    if walks:
        text = names.words.say(
            "page.wall.walks",
            number=len(walks),
            first=names.day(local_day(walks[0])),
            last=names.day(local_day(walks[-1])),
        )
        yield Ahead(names.words.day(local_day(walks[0])), text, "", False)


def _readings(record: Sequence[FaceRecord], words: Words, zone: ZoneInfo) -> Iterator[tuple[str, ...]]:
    """Yield the readings of the panel, the newest first: when, side, where, value, what it counts for."""
    if not record:
        return
    for line in reversed(record[0].readings[-60:]):
        local = line.entry.at.astimezone(zone)
        band = words.say("page.reading.mid") if line.probe.mid else words.say(f"page.reading.{line.probe.band}")
        yield (
            words.say("terminal.day_time", day=words.day(local.date()), clock=f"{local:%H:%M}"),
            words.say(f"page.side.{line.side}"),
            words.say("page.reading.where", band=band, depth=words.figure(line.probe.depth, "length_mm")),
            percent_text(line.probe.wet, words),
            words.say(f"record.mark.{line.mark}"),
        )


def _history(
    entries: Sequence[RecordEntry],
    called: Called,
    corrected: Sequence[str],
    words: Words,
    person: str,
    *,
    decides: bool,
) -> Iterator[Past]:
    gone = set(corrected)
    for entry in sorted(entries, key=lambda one: (one.at, one.seq), reverse=True):
        local = entry.at.astimezone(ZoneInfo(called.zone_of(entry)))
        received = entry.received.astimezone(ZoneInfo(called.zone_of(entry)))
        late = (entry.received - entry.at).total_seconds() > 3600
        data = said(entry)
        text = trial_text(entry, data, called, words) if isinstance(data, Trial) else entry_text(entry, called, words)
        withdrawn = entry.key in gone
        yield Past(
            key=entry.key,
            number=entry.seq,
            when=words.say("terminal.day_time", day=words.day(local.date()), clock=f"{local:%H:%M}"),
            about=about_text(entry, called, words),
            text=plain(text),
            who=called.person(entry.by),
            late=words.say(
                "page.history.late",
                when=words.say("terminal.day_time", day=words.day(received.date()), clock=f"{received:%H:%M}"),
            )
            if late
            else "",
            withdrawn=withdrawn,
            may_withdraw=not withdrawn and entry.kind is not RecordKind.CORRECTION and (decides or entry.by == person),
        )
