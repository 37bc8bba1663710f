"""What is different from the parent plan, and why.

A face is told once: its first coat that moved carries the reason, what moved with it is
dragged. Rounds are told apart only where a person's duty changed for another cause.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import UTC, date, datetime

from curing.model.evidence import Cause, Evidence
from curing.model.plan import Booking, Change, Kind, Moment, Plan, Reason, Skipped, Slot, State, Value
from curing.planning.expand import FaceWork
from curing.planning.least_change import Past
from curing.planning.turns import takers
from curing.planning.worktime import local, zone_of


def moment(booking: Booking | None) -> Moment | None:
    """Return where a booking stands."""
    return None if booking is None else Moment(booking.start, booking.end, booking.state, booking.who)


def changes(
    parent: Plan | None,
    new: Iterable[Booking],
    works: Iterable[FaceWork],
    past: Past,
    broke: Mapping[str, tuple[Skipped, ...]],
    evidence: Evidence,
    as_of: datetime,
    covers: Mapping[str, Reason] | None = None,
) -> tuple[Change, ...]:
    """Return the changes, in the order of the new (or else the old) start.

    Parameters
    ----------
    covers
        Id of a cover against weather → why it appears, or is gone.
    """
    if parent is None:
        return ()
    before = {one.uid: one for one in past.told}
    after = {one.uid: one for one in new}
    moved = [
        (before.get(uid), after.get(uid))
        for uid in {**before, **after}
        if _differs(before.get(uid), after.get(uid), as_of)
    ]
    order = {work.id: work.order for work in works}
    causes = _Causes(parent, past, broke, evidence, {work.id for work in works}, covers or {})
    told: list[Change] = []
    by_face: dict[str, list[tuple[Booking | None, Booking | None]]] = {}
    rounds: list[tuple[Booking | None, Booking | None]] = []
    for pair in moved:
        one = pair[1] or pair[0]
        assert one is not None
        if one.kind is Kind.ROUND:
            rounds.append(pair)
        else:
            by_face.setdefault(one.faces[0] if one.faces else "", []).append(pair)
    apart: set[str] = set()
    for face in sorted(by_face, key=lambda f: (order.get(f, 10**6), f)):
        shifted = [pair for pair in by_face[face] if _same_day(*pair)]
        pairs = [pair for pair in by_face[face] if not _same_day(*pair)]
        # What keeps its day is dragged nowhere: it stands by itself.
        told += [_face_change([pair], causes) for pair in shifted]
        if pairs:
            told.append(_face_change(pairs, causes))
            if told[-1].kind is Kind.COAT:
                apart.add(face)
    explained = {face for change in told for face in change.faces}
    for pair in rounds:
        change = _round_change(pair, explained, apart, causes)
        if change is not None:
            told.append(change)
    return tuple(sorted(told, key=lambda c: ((c.new or c.old or _NEVER).start, c.id)))


_NEVER = Moment(datetime.max.replace(tzinfo=UTC), datetime.max.replace(tzinfo=UTC), State.OFF, ())


def _differs(old: Booking | None, new: Booking | None, as_of: datetime) -> bool:
    if old is None or new is None:
        gone = old or new
        assert gone is not None
        return gone.end > as_of or gone.kind is Kind.COAT
    if old.kind is Kind.ROUND and (new.end <= as_of or State.DONE in (old.state, new.state)):
        return False  # a tick moves nothing
    return moment(old) != moment(new) or _visits(old) != _visits(new)


def _visits(one: Booking) -> list[tuple[str, str]]:
    """Return the visits of a walk, each with what the weather makes of it."""
    return [(visit.id, visit.advice) for visit in one.visits]


class _Causes:
    """Finds why a booking differs: an answer, silence, an edit, or what bound the new day."""

    def __init__(
        self,
        parent: Plan,
        past: Past,
        broke: Mapping[str, tuple[Skipped, ...]],
        evidence: Evidence,
        faces: set[str],
        covers: Mapping[str, Reason],
    ) -> None:
        self._evidence = evidence
        self._holds = {hold.id: hold for hold in parent.holds}
        self._since = parent.as_of
        self._past, self._broke, self._faces, self._covers = past, broke, faces, covers

    def why(self, old: Booking | None, new: Booking | None) -> Reason:
        """Return the reason of a change."""
        one = new or old
        assert one is not None
        if one.id in self._covers and (old is None or new is None):
            return self._covers[one.id]
        if new is None:
            known = any(face in self._faces for face in one.faces)
            key = "no_longer_asked" if known else "face_gone"
            return Reason(f"change.{key}", key, {"face": " ".join(one.faces)}, one.id)
        if old is None:
            return Reason("change.new", "new", {}, one.id)
        if new.state is State.DONE:
            closed, values = self._evidence.done.get(new.id), {"day": _day(new).isoformat()}
            if closed is not None:
                return _caused("change.done", "done_said", values, closed.cause)
            return Reason("change.done", "done_on", values, one.id)
        undone = self._evidence.undone.get(new.id)
        if old.state is State.DONE and undone is not None:
            return _caused("change.undone", "undone_said", {"day": _day(old).isoformat()}, undone)
        if new.reason.rule == "plan.move" and _day(old) != _day(new):
            return new.reason
        shut_now = [h for h in new.holds if h not in old.holds and self._shut_by_record(h)]
        if shut_now:
            return self._of_hold("shut", shut_now[0])
        if new.id in self._past.floors and new.floor is not None and new.floor != old.floor:
            return new.reason
        answered = [h for h in old.holds if h not in new.holds]
        if answered:
            return self._of_hold("met", answered[0])
        shut = [h for h in new.holds if h not in old.holds]
        if shut:
            return self._of_hold("shut", shut[0])
        if new.id in self._broke:
            return Reason("change.no_room", "no_room", {}, new.id, self._broke[new.id][:3])
        if _day(old) == _day(new) and old.state == new.state:
            key = "hours" if old.who == new.who else "people"
            return Reason(f"change.{key}", key, {}, one.id)
        return new.reason

    def _shut_by_record(self, hold: str) -> bool:
        fact = self._evidence.holds.get(hold)
        return fact is not None and fact.met is None

    def _of_hold(self, became: str, hold: str) -> Reason:
        """Return why a hold is met or shut now, with the entry that says so where there is one."""
        values = {"hold": self._text(hold)}
        fact = self._evidence.holds.get(hold)
        unsaid = fact is None or (fact.met is not None) is not (became == "met")
        back = self._evidence.taken_back.get(hold)
        if back is not None and back.at >= self._since and (unsaid or fact is None or fact.cause.at < back.at):
            key = "hold_met_back" if became == "met" else "hold_shut_withdrawn"
            return _caused(f"change.hold_{became}", key, values, back)
        if unsaid or fact is None:
            return Reason(f"change.hold_{became}", f"hold_{became}", values, hold)
        why = fact.shut.value if fact.shut is not None else "refused"
        key = "hold_met_said" if became == "met" else f"hold_shut_{why}"
        return _caused(f"change.hold_{became}", key, values, fact.cause)

    def turn(self, day: date, slot: Slot | None) -> Reason | None:
        """Return why a walk is somebody else's: by decision, or passed on."""
        turns = takers(self._evidence.turns.get((day, slot), ())) if slot is not None else ()
        if not turns:
            return None
        key = "passed_on" if turns[-1].instead else "assigned"
        return _caused("change.turn", key, {"to": turns[-1].name}, turns[-1].cause)

    def _text(self, hold: str) -> str:
        known = self._holds.get(hold)
        return known.text if known is not None else hold


def _caused(rule: str, key: str, values: Mapping[str, str], cause: Cause) -> Reason:
    day = cause.day.isoformat() if cause.day is not None else ""
    said: dict[str, Value] = {**values, "by": cause.name, "said": day, "clock": cause.clock, "entry": cause.key}
    return Reason(rule, key, said, cause.key)


def _day(booking: Booking) -> date:
    return local(zone_of(booking.zone), booking.start)[0]


def _same_day(old: Booking | None, new: Booking | None) -> bool:
    """Tell whether something only got other hours: same day, same people, same state."""
    if old is None or new is None:
        return False
    return (_day(old), old.who, old.state) == (_day(new), new.who, new.state)


def _face_change(pairs: list[tuple[Booking | None, Booking | None]], causes: _Causes) -> Change:
    def key(pair: tuple[Booking | None, Booking | None]) -> tuple[bool, bool, datetime]:
        one = pair[1] or pair[0]
        assert one is not None
        return (_same_day(*pair), one.kind is not Kind.COAT, one.start)

    first, *rest = sorted(pairs, key=key)
    one = first[1] or first[0]
    assert one is not None
    faces = dict.fromkeys(face for pair in pairs for b in pair if b for face in b.faces)
    drags = tuple((new or old).id for old, new in rest if (new or old) is not None)  # type: ignore[union-attr]
    return Change(
        one.id, one.uid, one.kind, tuple(faces), one.zone, moment(first[0]), moment(first[1]), causes.why(*first), drags
    )


def _round_change(
    pair: tuple[Booking | None, Booking | None], explained: set[str], apart: set[str], causes: _Causes
) -> Change | None:
    """Return the change of a walk; None where it goes with what its faces tell, ``apart`` with coats on another day."""
    old, new = pair
    one = new or old
    assert one is not None
    turn = causes.turn(_day(one), one.slot)
    weather = _of_weather(old, new) if turn is None else None
    if weather is not None and not (weather[1].key == "weather_less" and apart.issuperset(weather[0])):
        return Change(one.id, one.uid, one.kind, weather[0], one.zone, moment(old), moment(new), weather[1])
    visits_old = {visit.face for visit in old.visits} if old else set()
    visits_new = {visit.face for visit in new.visits} if new else set()
    if old is not None and new is not None:
        touched = visits_old ^ visits_new
        if touched <= explained:
            return None
    elif turn is None and ((visits_old | visits_new) & explained or (visits_old | visits_new) <= explained):
        return None
    return Change(
        one.id,
        one.uid,
        one.kind,
        one.faces,
        one.zone,
        moment(old),
        moment(new),
        turn or Reason("change.people", "round", {"faces": len(one.faces)}, one.id),
    )


def _of_weather(old: Booking | None, new: Booking | None) -> tuple[tuple[str, ...], Reason] | None:
    """Return the faces and the reason of a change that weather alone made to a walk; None for any other."""
    before = {visit.id: visit for visit in old.visits} if old else {}
    after = {visit.id: visit for visit in new.visits} if new else {}
    if old is not None and new is not None and (old.who, _day(old), old.state) != (new.who, _day(new), new.state):
        return None
    come = [visit for id_, visit in after.items() if id_ not in before]
    gone = [visit for id_, visit in before.items() if id_ not in after]
    if not all(visit.added for visit in (*come, *gone)):
        return None
    said = [visit for id_, visit in after.items() if id_ in before and visit.advice != before[id_].advice]
    if water := [visit for visit in said if visit.dry is not before[visit.id].dry]:
        # Whether there is water on a face goes before all; what goes the other way stands on the page of the day.
        said = [visit for visit in water if visit.dry is water[0].dry]
    for key, visits in (("weather_more", come), ("weather_less", gone), ("weather_said", said)):
        if visits:
            first = visits[0]
            given = first.weather or before[first.id].weather
            assert given is not None
            if first.weather is None:
                key = "weather_unsaid"
            key = key if key in ("weather_less", "weather_unsaid") else f"{key}_{given.advice.value}"
            faces = tuple(dict.fromkeys(visit.face for visit in visits))
            values: dict[str, Value] = {"value": given.value, "limit": given.limit}
            if visits is said and water:
                values["water"] = "none" if first.dry else "again"
            return faces, Reason(given.rule or "visit.weather", key, values, first.id)
    return None
