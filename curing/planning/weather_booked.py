"""A cover in the calendar: one booking for its up, one for its down, and the ids that bind them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, tzinfo

from curing.model.plan import Booking, Kind, Reason, State, Value
from curing.planning.expand import CoatWork, FaceWork, Identity
from curing.planning.weather_protect import Cover, CoverKind
from curing.planning.worktime import instant, zone_of

UP_MINUTES, DOWN_MINUTES = 20, 10
"""[min] Blankets, sheets or cloth of one face put up, and taken down (assumption)."""
TITLES: Mapping[CoverKind, str] = {CoverKind.FROST: "FROST", CoverKind.SHEET: "SHEETS", CoverKind.CLOTH: "CLOTH"}
_ID = re.compile(r"(?P<stem>.+\.(?P<kind>frost|sheet|cloth)-\d{4}-\d\d-\d\d(-\d+)?)-(?P<way>up|down)")
_WINTER = re.compile(r".+\.winter-\d{4}-(up|down)")

Place = tuple[str, date, int]
"""Who (nobody: ""), on which local day, from which minute of it."""


@dataclass(frozen=True, slots=True)
class Pair:
    """A cover as people were told of it; what is over long ago may be missing."""

    stem: str
    """``3-out.finish.frost-2027-10-12``: its face, coat, kind and first day, whatever hours it has by now."""
    kind: CoverKind
    up: Booking | None
    down: Booking | None

    @property
    def coat(self) -> str:
        """Id of the coat that is covered."""
        return self.stem.rpartition(".")[0]


def stem_of(booking: Booking) -> str:
    """Return what the up and the down of a cover have in common; nothing for cloth by the coat system alone.

    The day and the kind stand in it, so that a cover keeps its name while a forecast shifts its hours.
    """
    found = _ID.fullmatch(booking.id) if booking.kind is Kind.COVER else None
    return found["stem"] if found else ""


def cover_of(task: str) -> str:
    """Return what is put up or taken down by the id of its booking: ``frost``, ``sheet``, ``cloth`` or ``winter``.

    Nothing for cloth by the coat system alone.

    Examples
    --------
    >>> cover_of("3-out.finish.frost-2027-10-12-up"), cover_of("3-out.base.winter-2027-down")
    ('frost', 'winter')
    >>> cover_of("3-out.cloth-down")
    ''
    """
    if _WINTER.fullmatch(task):
        return "winter"
    found = _ID.fullmatch(task)
    return found["kind"] if found else ""


def goes_up(booking: Booking) -> bool:
    """Tell whether a cover goes up then, or comes down."""
    return booking.id.endswith("-up")


def pairs(bookings: Iterable[Booking]) -> list[Pair]:
    """Return the covers among bookings, in the order of their first."""
    found: dict[str, Pair] = {}
    for one in bookings:
        match = _ID.fullmatch(one.id) if one.kind is Kind.COVER else None
        if match is not None:
            pair = found.get(match["stem"]) or Pair(match["stem"], CoverKind(match["kind"]), None, None)
            found[match["stem"]] = replace(pair, up=one) if match["way"] == "up" else replace(pair, down=one)
    return list(found.values())


@dataclass(frozen=True, slots=True)
class Written:
    """Writes the bookings of one cover of one face."""

    work: FaceWork
    coat: CoatWork
    cover: Cover
    stem: str
    zone: str
    identity: Identity

    def up(self, place: Place) -> Booking:
        """Return where it goes up."""
        key = "demand" if self.cover.unit == "volume_l_per_m2" and self.cover.kind is CoverKind.CLOTH else self.kind
        return self._booking("up", place, UP_MINUTES, f"cover_{key}_up", self.cover.up_by)

    def down(self, place: Place) -> Booking:
        """Return where it comes down: when its work is done, or before wind takes it."""
        wind = self.cover.wind_down
        key = f"cover_{self.kind}_down" if wind is None else "cover_wind_down"
        return self._booking("down", place, DOWN_MINUTES, key, wind)

    @property
    def kind(self) -> str:
        """What is put up."""
        return self.cover.kind.value

    def _booking(self, way: str, place: Place, minutes: int, key: str, until: datetime | None) -> Booking:
        person, day, start = place
        zone = zone_of(self.zone)
        end = instant(zone, day, start + minutes)
        task = f"{self.stem.removeprefix(f'{self.work.id}.')}-{way}"
        lime = ("lime",) if "lime" in self.coat.coat.cautions and way == "up" else ()
        return Booking(
            id=f"{self.stem}-{way}",
            uid=self.identity.uid("cover", self.work.root, task),
            kind=Kind.COVER,
            site=self.work.site,
            zone=self.zone,
            faces=(self.work.id,),
            task=task,
            who=(person,) if person else (),
            start=instant(zone, day, start),
            end=end,
            state=State.FIRM,
            reason=Reason(self.cover.rule, key, hours_said(self.cover, zone), self.coat.id),
            title=TITLES[self.cover.kind],
            until=until if until is not None and until >= end else None,
            cautions=("cloth", *lime, *(() if self.work.reachable else ("height",))),
            labour=round(minutes / 60.0, 2),
        )


def hours_said(cover: Cover, zone: tzinfo) -> dict[str, Value]:
    """Return what the sentence about a cover needs, as plain values."""
    first, last = cover.start.astimezone(zone), cover.end.astimezone(zone)
    said: dict[str, Value] = {
        "value": round(cover.value, 1),
        "limit": cover.limit,
        "could": round(cover.could, 1) if cover.could is not None else round(cover.value, 1),
        "wind": cover.wind_most,
        "from": first.date().isoformat(),
        "from_at": f"{first:%H:%M}",
        "to": last.date().isoformat(),
        "to_at": f"{last:%H:%M}",
    }
    if cover.windy:
        blows = cover.windy[0][0].astimezone(zone)
        said |= {"windy": blows.date().isoformat(), "windy_at": f"{blows:%H:%M}"}
    return said
