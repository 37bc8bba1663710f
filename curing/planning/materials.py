"""What the coats still to be laid take, in all and week by week: estimates from the figures of their systems.

Mortar [L] is area [m²] × thickness [mm] × (1 + waste), since 1 mm on 1 m² is 1 L; paint is area × spread
× (1 + waste). What goes by the mix follows from that volume, what goes by the face from its area. Cloth is
used again: counted is the most that stands at one time. Bags are rounded up in :mod:`curing.planning.supplies`,
last, over the whole job.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta

from curing.model.goods import CLOTH, MORTAR, PARTS, VOLUMES, Goods, Take
from curing.model.plan import Material, Plan, Walked
from curing.model.system import RuleBook, System, Work
from curing.planning.cloth import cloth_stands
from curing.planning.expand import CoatWork, FaceWork
from curing.planning.readiness import Laid
from curing.planning.windows import SiteSun
from curing.planning.worktime import local, zone_of

DAY = timedelta(days=1)
JOB_FILE = "job file"
"""Source of a figure to which the job file gives another value."""


@dataclass(frozen=True, slots=True)
class Taking:
    """What one coat of one face takes of some goods."""

    work: FaceWork
    coat: CoatWork
    goods: Goods
    day: date
    amount: float
    """In ``unit``; waste is in it."""
    unit: str


@dataclass(slots=True)
class _Sum:
    """One row on its way: amount, weeks, sources."""

    amount: float = 0.0
    weeks: dict[str, float] = field(default_factory=dict)
    sources: dict[str, None] = field(default_factory=dict)


_Key = tuple[str, str, str, str, str, str]
"""System, coat, what, unit, rule, goods."""


def materials(
    works: Iterable[FaceWork], laid: Mapping[str, list[Laid]], suns: Mapping[str, SiteSun]
) -> tuple[Material, ...]:
    """Return estimates for all coats that have a day and are not done, coat by coat.

    Parameters
    ----------
    works, laid
        The faces, and by face their coats with days.
    suns
        By site: which faces are sunny, and so have cloth.
    """
    every = list(works)
    sums: dict[_Key, _Sum] = {}

    def add(work: FaceWork, coat: CoatWork, what: str, unit: str, rule: str, amount: float, day: date | None) -> None:
        row = sums.setdefault((work.system.id, coat.coat.id, what, unit, rule, ""), _Sum())
        _count(row, work.book, rule, amount, day)

    for work in every:
        for one in laid[work.id]:
            coat = one.coat
            if one.done:
                continue
            if coat.coat.work is not Work.PAINT:
                add(work, coat, "mortar", "L", f"{coat.coat.id}.thickness", litres(work, coat), one.day)
            elif not coat.coat.takes:  # what it takes is the paint itself
                add(work, coat, "paint", "L", f"{coat.coat.id}.spread", litres(work, coat), one.day)
            for taking in takings(work, coat, one.day):
                key = (work.system.id, coat.coat.id, taking.goods.name, taking.unit)
                row = sums.setdefault((*key, f"{coat.coat.id}.{taking.goods.id}", taking.goods.id), _Sum())
                _count(row, work.book, f"{coat.coat.id}.{taking.goods.id}", taking.amount, one.day)
            if coat.visits and coat.visit_water:
                add(work, coat, "misting", "L", "visit.water", coat.visits * coat.visit_water, None)
            add(work, coat, "labour", "h", f"{coat.coat.id}.labour", coat.labour, one.day)
    for cloth in hung(every, laid, suns):
        system, coat_id = cloth.work.system.id, cloth.first.coat.coat.id
        row = _Sum(cloth.most, {}, dict.fromkeys(cloth.sources))
        sums[(system, coat_id, cloth.goods.name, "m2", cloth.rule, cloth.goods.id)] = row
    order = {system.id: system for system in (work.system for work in every)}
    rows = sorted(sums.items(), key=lambda row: _place(order, *row[0]))
    return tuple(
        Material(
            system,
            coat,
            what,
            round(found.amount, 2),
            unit,
            rule,
            goods,
            "; ".join(found.sources),
            {week: round(amount, 2) for week, amount in sorted(found.weeks.items())},
        )
        for (system, coat, what, unit, rule, goods), found in rows
    )


def _place(
    systems: Mapping[str, System], system: str, coat: str, what: str, _: str, rule: str, goods: str
) -> tuple[int, ...]:
    """Sort rows as the system files have coats and goods, mortar before its parts, labour last."""
    coats = [one.id for one in systems[system].coats]
    after = {"misting": 1, "labour": 2}.get(what, 0) if not goods else 0
    takes = [take.of for take in systems[system].coats[coats.index(coat)].takes]
    return list(systems).index(system), coats.index(coat), after, takes.index(goods) + 1 if goods else 0


def _count(row: _Sum, book: RuleBook, rule: str, amount: float, day: date | None) -> None:
    row.amount += amount
    row.sources[source(book, rule)] = None
    if day is not None:
        row.weeks[week(day)] = row.weeks.get(week(day), 0.0) + amount


def source(book: RuleBook, rule: str) -> str:
    """Return where a figure comes from: its own source, or the job file that gives another value."""
    held = book.system.rule(rule)
    if held is None:
        return ""
    return held.source if book.value(rule) == held.value else JOB_FILE


def week(day: date) -> str:
    """Return the ISO week of a day.

    Examples
    --------
    >>> week(date(2027, 5, 3)), week(date(2027, 1, 3))
    ('2027-W18', '2026-W53')
    """
    year, number, _ = day.isocalendar()
    return f"{year}-W{number:02}"


def litres(work: FaceWork, coat: CoatWork) -> float:
    """Return how much is mixed for a coat [L], waste in it.

    Worked example: 10 m² at 13 mm with 10 % waste make 143 L.
    """
    waste = 1 + work.book.value(f"{coat.coat.id}.waste") / 100
    if coat.thickness:
        return work.face.area * coat.thickness * waste
    return work.face.area * work.book.value(f"{coat.coat.id}.spread") * waste


def takings(work: FaceWork, coat: CoatWork, day: date) -> Iterator[Taking]:
    """Yield what a coat takes of the goods of its system; what is used again is not in it."""
    book, goods = work.book, {one.id: one for one in work.system.goods}
    parts = sum(book.value(f"{coat.coat.id}.{take.of}") for take in coat.coat.takes if take.amount.kind == PARTS)
    for take in coat.coat.takes:
        if goods[take.of].again:
            continue
        amount = _amount(work, coat, take, parts)
        density = book.value(f"{take.of}.density")
        if density and take.amount.kind in VOLUMES:
            amount *= density / 1000  # L × kg/m3
        yield Taking(work, coat, goods[take.of], day, amount, work.system.units[take.of])


def _amount(work: FaceWork, coat: CoatWork, take: Take, parts: float) -> float:
    """Return an amount as it is counted: litres, kilograms or square metres."""
    figure, kind = work.book.value(f"{coat.coat.id}.{take.of}"), take.amount.kind
    if kind in MORTAR:
        mortar = litres(work, coat)
        if kind == PARTS:
            share = work.book.value(f"{coat.coat.id}.yield", 100.0) / 100
            return mortar / share * figure / parts if parts else 0.0
        return mortar / 1000 * figure
    waste = 1.0 if kind == CLOTH else 1 + work.book.value(f"{coat.coat.id}.waste") / 100
    return work.face.area * figure * waste


@dataclass(frozen=True, slots=True)
class Hung:
    """Goods used again: the most that stands at one time, and the first face that needs it."""

    goods: Goods
    most: float
    """[m²]"""
    work: FaceWork
    first: Laid
    systems: tuple[str, ...]
    sources: tuple[str, ...]
    begun: bool
    """Some of it has hung before a coat that is done."""

    @property
    def rule(self) -> str:
        """Id of the figure, ``finish.hessian``."""
        return f"{self.first.coat.coat.id}.{self.goods.id}"


_Span = tuple[date, date, float, FaceWork, Laid]
"""First and last day, amount [m²], and whose it is."""


def hung(works: Iterable[FaceWork], laid: Mapping[str, list[Laid]], suns: Mapping[str, SiteSun]) -> tuple[Hung, ...]:
    """Return what is used again, each with the most that stands at one time from now on.

    That is on a day on which some is hung, so only the days of coats still to be laid are
    looked at; cloth of coats that are done hangs on beside it.
    """
    found: dict[tuple[str, str], tuple[Goods, list[_Span]]] = {}
    for work in works:
        again = {one.id: one for one in work.system.goods if one.again}
        for one in laid[work.id]:
            for take in one.coat.coat.takes:
                if take.of in again and cloth_stands(work, one.coat, suns[work.site], one.day):
                    amount = work.face.area * work.book.value(f"{one.coat.coat.id}.{take.of}")
                    span = (one.day, one.day + one.coat.cloth_to * DAY, amount, work, one)
                    goods = again[take.of]
                    found.setdefault((goods.id, goods.name), (goods, []))[1].append(span)
    return tuple(_hung(goods, spans) for goods, spans in found.values() if any(not span[4].done for span in spans))


def _hung(goods: Goods, spans: list[_Span]) -> Hung:
    new = sorted((span for span in spans if not span[4].done), key=lambda span: (span[0], span[3].order))
    sources = dict.fromkeys(source(work.book, f"{one.coat.coat.id}.{goods.id}") for _, _, _, work, one in new)
    systems = dict.fromkeys(work.system.id for _, _, _, work, _ in new)
    most = max(_standing(spans, [span[0] for span in new]))
    return Hung(goods, most, new[0][3], new[0][4], tuple(systems), tuple(sources), len(new) < len(spans))


def _standing(spans: list[_Span], days: list[date]) -> Iterator[float]:
    """Yield how much stands on each of these days (in order), in one sweep."""
    ups = sorted((span[0], span[2]) for span in spans)
    downs = sorted((span[1], span[2]) for span in spans)
    up = down = 0
    stands = 0.0
    for day in days:
        while up < len(ups) and ups[up][0] <= day:
            stands += ups[up][1]
            up += 1
        while down < len(downs) and downs[down][0] < day:
            stands -= downs[down][1]
            down += 1
        yield stands


def walked(plan: Plan, today: date) -> tuple[Walked, ...]:
    """Return what the rounds of a plan take, week by week, from a day on; for coats that are done too."""
    systems = {face.id: face.system for face in plan.faces}
    sums: dict[tuple[str, str, str], tuple[float, float]] = {}
    for one in plan.rounds:
        day, _ = local(zone_of(one.zone), one.start)
        if day < today:
            continue
        for visit in one.visits:
            key = (week(day), systems.get(visit.face, ""), visit.coat)
            hours, water = sums.get(key, (0.0, 0.0))
            sums[key] = (hours + visit.minutes / 60, water + visit.water)
    return tuple(Walked(*key, round(hours, 2), round(water, 1)) for key, (hours, water) in sorted(sums.items()))
