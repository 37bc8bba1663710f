"""What is bought, made or done ahead for the whole job: how many bags, and by which working day.

An order is counted back from the coat that needs it, or from the day on which something is made of
it; both fall on a working day of that coat's crew. Nobody's order is thrown twice: goods of one
name, counted and packed alike, are one supply, whichever systems take them.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta

from curing.model.goods import PACKS, Ahead, Goods
from curing.model.plan import Act, Booking, Due, Notice, Plan, State, Supply, Value
from curing.planning.expand import FaceWork
from curing.planning.materials import hung, source, takings
from curing.planning.readiness import Laid
from curing.planning.windows import SiteSun
from curing.planning.worktime import Worktime

DAY = timedelta(days=1)
NEAR = 14
"""[d] What is due within so many days heads the plan."""
LOOK_BACK = 120
"""[d] A working day is looked for so far back; further, the day itself stands."""


@dataclass(frozen=True, slots=True)
class _Want:
    """Something to be done by a day, before it is moved to a working day."""

    by: date
    act: Act
    days: int
    coat: str
    day: date
    rule: str
    source: str

    @property
    def soonest(self) -> tuple[date, date, str]:
        return (self.by, self.day, self.coat)


@dataclass(slots=True)
class _Heap:
    """One supply on its way."""

    goods: Goods | Ahead
    unit: str = ""
    pack: float = 0.0
    pack_rule: str = ""
    pack_source: str = ""
    amount: float = 0.0
    loose: float = 0.0
    systems: dict[str, None] = field(default_factory=dict)
    wants: dict[Act, _Want] = field(default_factory=dict)
    begun: bool = False

    def want(self, one: _Want) -> None:
        """Keep what must be done first of all."""
        other = self.wants.get(one.act)
        if other is None or one.soonest < other.soonest:
            self.wants[one.act] = one


_Key = tuple[str, str, str, float]
"""Id, name, unit, size of a pack."""


def supplies(
    works: Iterable[FaceWork],
    laid: Mapping[str, list[Laid]],
    coats: Mapping[str, Booking],
    suns: Mapping[str, SiteSun],
    worktime: Worktime,
    at_hand: Mapping[str, date],
) -> tuple[Supply, ...]:
    """Return what is bought, made or done ahead, by its first day.

    Parameters
    ----------
    works, laid, suns
        As in :func:`curing.planning.materials.materials`.
    coats
        Bookings of coats, by id.
    worktime
        Working days of crews.
    at_hand
        Goods or things ahead → since when they are there: nothing more is asked for.
    """
    every = list(works)
    heaps: dict[_Key, _Heap] = {}
    for work in every:
        for one in laid[work.id]:
            _take(work, one, heaps)
    _cloth(every, laid, suns, heaps)
    for key, heap in _ahead(every, laid).items():
        heaps[key] = heap
    found = [_supply(heap, coats, worktime, at_hand) for heap in heaps.values() if heap.wants or heap.amount]
    return tuple(sorted(found, key=lambda one: (one.due[0].by if one.due else date.max, one.id, one.name)))


def _take(work: FaceWork, one: Laid, heaps: dict[_Key, _Heap]) -> None:
    for taking in takings(work, one.coat, one.day):
        heap = _heap(work, taking.goods, taking.unit, heaps)
        heap.begun = heap.begun or one.done
        if one.done:
            continue
        heap.systems[work.system.id] = None
        heap.amount += taking.amount
        density = work.book.value(f"{taking.goods.id}.density")
        heap.loose += taking.amount / density * 1000 if density else 0.0
        _wants(heap, work, taking.goods, one)


def _heap(work: FaceWork, goods: Goods, unit: str, heaps: dict[_Key, _Heap]) -> _Heap:
    rule = next((rule for name in PACKS if work.book.has(rule := f"{goods.id}.{name}")), "")
    pack = work.book.value(rule) if rule else 0.0
    key = (goods.id, goods.name, unit, pack)
    if key not in heaps:
        heaps[key] = _Heap(goods, unit, pack, rule, source(work.book, rule) if rule else "")
    return heaps[key]


def _wants(heap: _Heap, work: FaceWork, goods: Goods, one: Laid) -> None:
    """Count back from a coat: to making, if it must age, and from there to the order."""
    by, coat = one.day, one.coat.id
    for act, name in ((Act.MAKE, "age"), (Act.ORDER, "order")):
        rule = f"{goods.id}.{name}"
        days = math.ceil(work.book.value(rule))
        if not days:
            continue
        by -= days * DAY
        heap.want(_Want(by, act, days, coat, one.day, rule, source(work.book, rule)))


def _cloth(
    works: list[FaceWork], laid: Mapping[str, list[Laid]], suns: Mapping[str, SiteSun], heaps: dict[_Key, _Heap]
) -> None:
    """Add what is used again: the most that stands at one time, wanted for the first face that needs it."""
    for cloth in hung(works, laid, suns):
        heap = _heap(cloth.work, cloth.goods, "m2", heaps)
        heap.amount += cloth.most
        heap.systems.update(dict.fromkeys(cloth.systems))
        heap.begun = cloth.begun
        _wants(heap, cloth.work, cloth.goods, cloth.first)


def _ahead(works: list[FaceWork], laid: Mapping[str, list[Laid]]) -> dict[_Key, _Heap]:
    """Return what is done once ahead of a coat, unless its hold is met or such a coat is laid already."""
    heaps: dict[_Key, _Heap] = {}
    over: set[_Key] = set()
    for work in works:
        for thing in work.system.ahead:
            key = (thing.id, thing.text, "", 0.0)
            one = next((one for one in laid[work.id] if one.coat.coat.id == thing.before), None)
            if one is None or _is_met(work, thing):
                continue
            if one.done:
                over.add(key)
                continue
            heap = heaps.setdefault(key, _Heap(thing))
            heap.systems[work.system.id] = None
            rule = f"{thing.id}.lead"
            days = math.ceil(work.book.value(rule))
            want = _Want(one.day - days * DAY, Act.DO, days, one.coat.id, one.day, rule, source(work.book, rule))
            heap.want(want)
    return {key: heap for key, heap in heaps.items() if key not in over}


def _is_met(work: FaceWork, thing: Ahead) -> bool:
    holds = (hold for coat in work.coats for hold in coat.holds)
    return any(h.point.id == thing.hold and h.entry is not None and h.entry.met is not None for h in holds)


def _supply(heap: _Heap, coats: Mapping[str, Booking], worktime: Worktime, at_hand: Mapping[str, date]) -> Supply:
    goods, since = heap.goods, at_hand.get(heap.goods.id)
    wants = sorted(heap.wants.values(), key=lambda want: want.soonest) if since is None else []
    acts = {want.act for want in wants}
    notes = [goods.order, goods.make if Act.MAKE in acts else ""] if isinstance(goods, Goods) else []
    return Supply(
        id=goods.id,
        name=goods.name if isinstance(goods, Goods) else goods.text,
        systems=tuple(heap.systems),
        amount=round(heap.amount, 2),
        unit=heap.unit,
        loose=round(heap.loose, 1),
        packs=math.ceil(heap.amount / heap.pack - 1e-9) if heap.pack else 0,
        pack=heap.pack,
        pack_rule=heap.pack_rule,
        pack_source=heap.pack_source,
        due=tuple(_due(want, coats[want.coat], worktime) for want in wants),
        note=" ".join(filter(None, notes)),
        cautions=goods.cautions,
        again=isinstance(goods, Goods) and goods.again,
        begun=heap.begun,
        at_hand=since,
    )


def _due(want: _Want, coat: Booking, worktime: Worktime) -> Due:
    conditional = coat.state is State.CONDITIONAL
    by = working_day(want.by, coat.crew, worktime)
    return Due(want.act, by, want.days, want.coat, want.day, want.rule, want.source, conditional)


def working_day(day: date, crew: str, worktime: Worktime) -> date:
    """Return a day, or the last working day of a crew before it where it is none."""
    for back in range(LOOK_BACK):
        if worktime.off(crew, day - back * DAY) is None:
            return day - back * DAY
    return day


def ahead_of_need(plan: Plan, today: date) -> tuple[Notice, ...]:
    """Return what must be ordered, made or done within a fortnight, or is overdue, the soonest first.

    Goods of which some is in the wall already are not among them: whoever laid that coat had them.

    Examples
    --------
    ``Notice("putty.age", "make_by", {"what": "lime putty", "day": "2027-05-03", …}, ("1-out",))``
    """
    found = []
    for supply in plan.supplies:
        for due in supply.due:
            late = (today - due.by).days
            if supply.begun or late < -NEAR:
                continue
            values: dict[str, Value] = {"what": supply.name, "id": supply.id, "day": due.by.isoformat()}
            values |= {"coat": due.coat, "for_day": due.day.isoformat()}
            if late > 0:
                values["days"] = late
            key = f"{due.act}_by" if late <= 0 else f"{due.act}_late"
            found.append((due.by, Notice(due.rule, key, values, (due.coat.partition(".")[0],))))
    return tuple(notice for _, notice in sorted(found, key=lambda one: (one[0], one[1].rule)))
