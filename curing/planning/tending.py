"""Which faces are visited on a day, in which walk, in what order, and who walks.

Two walks a day; cloth does the rest (common practice, no source). Early goes E, S, W, N,
so that faces are wetted before the sun is on them; late goes N, E, S, W. South of the
equator N and S change places. A face visited once a day joins a walk, it never opens one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from curing.model.plan import Care, Slot, Visit
from curing.planning.cloth import cloth_stands, sunny
from curing.planning.expand import CoatWork, FaceWork
from curing.planning.windows import SiteSun, quadrant

EARLY_ORDER = "ESWN"
LATE_ORDER = "NESW"
JOINS_LATE = "NE"
"""A face visited once a day joins the late walk on these sides, else the early one."""

BARE_SIDES = "EW"
"""Sides that get a midday look to the last day of two visits where no cloth can hang."""

BARE_FIRST_DAYS = 3
"""Any sunny face without cloth gets a midday look to this day."""


@dataclass(frozen=True, slots=True)
class Tended:
    """A coat that is looked after: laid on ``laid``, until the next coat or the last day."""

    work: FaceWork
    coat: CoatWork
    laid: date
    conditional: bool
    until: date | None = None
    """Day of the next coat: no visit from then on."""

    def day(self, on: date) -> int:
        """Return the day of the coat; the laying day is day 0."""
        return (on - self.laid).days

    def times(self, on: date) -> int:
        """Return the visits due that day."""
        if self.until is not None and on >= self.until:
            return 0
        return self.coat.times(self.day(on))


def side_order(slot: Slot, southern: bool) -> str:
    """Return the sides of the compass in the order of that walk.

    Examples
    --------
    >>> side_order(Slot.EARLY, False), side_order(Slot.LATE, True)
    ('ESWN', 'SENW')
    """
    order = LATE_ORDER if slot is Slot.LATE else EARLY_ORDER
    return order.translate(str.maketrans("NS", "SN")) if southern else order


def in_order(tended: Iterable[Tended], slot: Slot, southern: bool) -> list[Tended]:
    """Sort faces as that walk goes; inside faces last; the job file's order within a side."""
    order = side_order(slot, southern)

    def place(one: Tended) -> tuple[int, int]:
        side = quadrant(one.work.azimuth) if one.work.outside else ""
        return (order.index(side) if side else len(order), one.work.order)

    return sorted(tended, key=place)


def walks(tended: Sequence[Tended], on: date, sun: SiteSun, *, midday: bool) -> dict[Slot, list[Tended]]:
    """Return the faces of each walk of one site and day, in walking order.

    Parameters
    ----------
    tended
        Coats looked after at this site.
    on
        The day.
    sun
        Sun over the site; only its hemisphere and the sun on bare faces are asked.
    midday
        Whether somebody of a crew works that day: only then is there a midday look.

    Notes
    -----
    Worked example: E on day 5, N, S and W on day 20 give early E, S, W and late N, E:
    five visits, two walks.
    """
    southern = sun.sunny_side == 0.0
    late_sides = JOINS_LATE.translate(str.maketrans("NS", "SN")) if southern else JOINS_LATE
    twice = [one for one in tended if one.times(on) == 2]
    once = [one for one in tended if one.times(on) == 1]
    early, late = list(twice), list(twice)
    joins_late = [one for one in once if one.work.outside and quadrant(one.work.azimuth) in late_sides]
    joins_early = [one for one in once if one not in joins_late]
    if twice or not (joins_late and joins_early):
        early += joins_early
        late += joins_late
    elif sum(o.coat.visit_minutes for o in joins_late) > sum(o.coat.visit_minutes for o in joins_early):
        late += once
    else:
        early += once
    found = {Slot.EARLY: early, Slot.LATE: late}
    if midday:
        found[Slot.MIDDAY] = [one for one in tended if _bare(one, on, sun)]
    return {slot: in_order(faces, slot, southern) for slot, faces in found.items() if faces}


def _bare(one: Tended, on: date, sun: SiteSun) -> bool:
    if one.work.face.cloth or not one.work.outside or one.coat.coat.care is not Care.MIST:
        return False
    day = one.day(on)
    if not 1 <= day <= one.coat.twice_to or one.times(on) == 0:
        return False
    if not sunny(one.work, one.coat, sun, on):
        return False
    return quadrant(one.work.azimuth) in BARE_SIDES or day <= BARE_FIRST_DAYS


def visit(one: Tended, on: date, slot: Slot, sun: SiteSun, *, conditional: bool) -> Visit:
    """Return the visit of a face on a walk."""
    coat = one.coat
    care = Care.LOOK if slot is Slot.MIDDAY else coat.coat.care
    lit = sun.on_face(one.work.azimuth, on) if one.work.outside else ()
    longest = max(lit, key=lambda span: span[1] - span[0], default=None)
    cloth = one.day(on) <= coat.cloth_to and cloth_stands(one.work, coat, sun, one.laid)
    return Visit(
        id=f"{one.work.id}.{coat.coat.id}.{on.isoformat()}.{slot.value}",
        face=one.work.id,
        coat=coat.coat.id,
        care=care,
        day=one.day(on),
        last_day=coat.last_day,
        times_a_day=one.times(on),
        minutes=coat.visit_minutes if care is not Care.LOOK else 5,
        water=coat.visit_water if care is Care.MIST else 0.0,
        conditional=conditional,
        cloth=cloth,
        sun_from=_clock(longest[0]) if longest else "",
        sun_to=_clock(longest[1]) if longest else "",
    )


def _clock(minute: int) -> str:
    return f"{minute // 60:02d}:{minute % 60:02d}"


@dataclass(frozen=True, slots=True)
class Walker:
    """Somebody who may take a walk that day: how many minutes, and how high."""

    person: str
    minutes: int
    scaffold: bool


def share(
    visits: Sequence[Visit],
    walkers: Sequence[Walker],
    kept: Mapping[str, str],
    reachable: Callable[[str], bool],
) -> dict[str, list[Visit]]:
    """Share one walk among people; the key "" holds what nobody can take.

    Parameters
    ----------
    visits
        In walking order.
    walkers
        In order of preference.
    kept
        Face → person who had it in the parent plan: it stays with that person where possible.
    reachable
        Whether a face is misted from the ground.

    Notes
    -----
    Faces out of reach from the ground are given away first, since fewer people can take them.
    Each person's share stays in walking order.
    """
    room = {walker.person: walker.minutes for walker in walkers}
    shares: dict[str, set[str]] = {walker.person: set() for walker in walkers}
    nobody: set[str] = set()
    for one in sorted(visits, key=lambda v: (v.face not in kept, reachable(v.face))):
        fit = [
            walker.person
            for walker in walkers
            if room[walker.person] >= one.minutes and (walker.scaffold or reachable(one.face))
        ]
        if not fit:
            nobody.add(one.id)
            continue
        before = kept.get(one.face)
        already = [person for person in fit if shares[person]]
        person = before if before in fit else (already or fit)[0]
        room[person] -= one.minutes
        shares[person].add(one.id)
    found = {person: [v for v in visits if v.id in ids] for person, ids in shares.items() if ids}
    if nobody:
        found[""] = [v for v in visits if v.id in nobody]
    return found
