"""What calendars should hold, worked out from plan.json alone: the judge of the feeds knows no code of theirs."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from pathlib import Path
from typing import Any, NamedTuple

Json = Any


class Told(NamedTuple):
    """One event as a calendar program should show it; ``rings`` are the instants of its alarms."""

    start: datetime
    end: datetime
    uid: str
    title: str
    rings: tuple[datetime, ...]


class Written(NamedTuple):
    """What one pass of planning wrote out, and the instant at which it did."""

    plan: Json
    feeds: Mapping[str, bytes]
    now: datetime

    def told(self, feed: str) -> list[Told]:
        """Return what a feed should tell, by start."""
        return sorted(told(self.plan, feed, self.now))


def read_out(folder: Path, now: datetime) -> Written:
    """Read what was written into a folder."""
    feeds = {file.stem: file.read_bytes() for file in sorted((folder / "calendars").iterdir())}
    return Written(json.loads((folder / "plan.json").read_text(encoding="utf-8")), feeds, now)


def told(plan: Json, feed: str, now: datetime) -> Iterator[Told]:
    """Yield what a feed should tell, from 7 days before the day of ``now`` (UTC) to 60 days after it."""
    midnight = now.astimezone(UTC).replace(hour=0, minute=0, second=0, microsecond=0)
    for booking in everything(plan):
        start, end = span(booking)
        if end < midnight - timedelta(7) or start >= midnight + timedelta(61) or booking["state"] == "off":
            continue
        alarm = concerns(plan, booking, feed)
        if alarm is not None:
            rings = (start,) if alarm and booking["state"] == "firm" else ()
            yield Told(start, end, booking["uid"], title(plan, booking), rings)


def everything(plan: Json) -> list[Json]:
    return [*plan["bookings"], *plan["rounds"]]


def span(booking: Json) -> tuple[datetime, datetime]:
    """Return start and end in UTC."""
    return instant(booking["start"]["utc"]), instant(booking["end"]["utc"])


def instant(text: str) -> datetime:
    return datetime.fromisoformat(text).astimezone(UTC)


def concerns(plan: Json, booking: Json, feed: str) -> bool | None:
    """Return whether a booking may ring in a feed, or None where it is not in that feed.

    The site's feed has everything. A person's has what they do; the lead's also what nobody is
    named for; an architect's or client's also every coat, which does not ring.
    """
    if feed == "site":
        return True
    person = next(person for person in plan["people"] if person["id"] == feed)
    if feed in booking["who"] or ("lead" in person["roles"] and not booking["who"] and booking["state"] != "done"):
        return True
    watches = {"architect", "client"} & set(person["roles"])
    return False if watches and booking["kind"] == "coat" else None


# --- titles --------------------------------------------------------------------


def title(plan: Json, booking: Json) -> str:
    """Return the title: what to do, when in the day, at which wall; IF first where a hold is open.

    For jobs whose walls have short ids and names, and whose lead mists.
    """
    named = _round(plan, booking) if booking["kind"] == "round" else _task(plan, booking)
    if booking["state"] != "conditional":
        return named
    if booking["kind"] == "round" and not booking["who"] and len(plan["sites"]) > 1:
        return named.replace(" · ", " IF met · ")  # the walls tell two sites' walks apart, so they stand first
    return f"IF {named}"


def _round(plan: Json, booking: Json) -> str:
    walls = " ".join(dict.fromkeys(_face(plan, face)["wall"] for face in booking["faces"]))
    start, end = span(booking)
    minutes = (end - start) // timedelta(minutes=1)
    time = f"{minutes} min" if minutes < 120 else f"{minutes // 60} h {minutes % 60} min".removesuffix(" 0 min")
    cares = {"LOOK" if _dry(visit) else visit["care"].upper() for visit in booking["visits"]}
    verb = cares.pop() if len(cares) == 1 else "MIST"
    if not booking["who"] and booking["state"] != "done":
        return f"NOBODY {booking['slot']} {walls} · {verb} {time}"
    return f"{verb} {booking['slot']} {walls} · {time}"


def _dry(visit: Json) -> bool:
    """Return whether frost or cold holds the water of a visit back."""
    return (visit.get("weather") or {}).get("advice") in ("frost", "cold")


def _task(plan: Json, booking: Json) -> str:
    face = _face(plan, booking["faces"][0])
    where = f"{face['wall']} {face['side']}"
    if booking["kind"] == "reading":
        where = face["wall"]
    tail = face["wall_name"] if booking["who"] or booking["state"] == "done" else "nobody named"
    what = {
        "cover": _cover(booking, where),
        "look": f"{where} LOOK",
        "reading": f"{where} {booking['title']}",
        "test": f"{where} {booking['title']}",
        "coat": f"{where} {booking['title']} {_thickness(plan, booking)}".rstrip(),
    }
    return f"{what[booking['kind']]} · {tail}"


def _cover(booking: Json, where: str) -> str:
    """Return what is put up or down: which cover it is stands in the title, up or down at the end of the task."""
    what = {"FROST": "FROST", "SHEETS": "SHEET", "WINTER": "WINTER"}.get(booking["title"], "CLOTH")
    way = "up" if booking["task"].endswith("up") else "down"
    # The wall within the first 14 signs, also after IF.
    return f"{where} {what} {way}" if booking["state"] == "conditional" else f"{what} {where} {way}"


def _thickness(plan: Json, booking: Json) -> str:
    if booking["thickness"] is None:
        return ""
    if plan["units"] == "metric":
        return f"{booking['thickness']:g} mm"
    return f"{Fraction(round(booking['thickness'] / 25.4 * 16), 16)} in"


def _face(plan: Json, face: str) -> Json:
    return next(one for one in plan["faces"] if one["id"] == face)


# --- what stands in a file ------------------------------------------------------


def vevents(feed: bytes) -> dict[str, bytes]:
    """Return the bytes of each event of a feed by its UID, cut at the lines that RFC 5545 begins and ends it with."""
    found = {}
    for part in feed.split(b"BEGIN:VEVENT\r\n")[1:]:
        body = part.partition(b"END:VEVENT\r\n")[0]
        found[stamp(body, "UID")] = body
    return found


def stamp(event: bytes, name: str) -> str:
    """Return the value of a property of an event that stands there once and is short enough not to be folded."""
    (value,) = (line for line in event.split(b"\r\n") if line.startswith(f"{name}:".encode()))
    return value.decode().partition(":")[2]


def sequence(event: bytes) -> int:
    return int(stamp(event, "SEQUENCE"))


def modified(event: bytes) -> datetime:
    """Return LAST-MODIFIED, which DTSTAMP repeats."""
    assert stamp(event, "LAST-MODIFIED") == stamp(event, "DTSTAMP")
    return datetime.strptime(stamp(event, "LAST-MODIFIED"), "%Y%m%dT%H%M%S%z")


def uids(bookings: Iterable[Json]) -> set[str]:
    return {booking["uid"] for booking in bookings}
