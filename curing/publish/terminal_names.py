"""How faces, coats, people and days are called in a terminal: ``5 in``, ``finish``, ``12 Jun``."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date, datetime
from zoneinfo import ZoneInfo

from babel.dates import format_date

from curing.model.plan import Booking, CoatDates, FacePlan, Kind, Notice, Plan, Reason, State, Value
from curing.publish.event_text import why
from curing.publish.event_title import COVERS, Titles, plain
from curing.publish.words import Words

LONG_PAST, FAR_AHEAD = -150, 330
"""[d] Days before and after are written with their year."""

_THING = re.compile(r"[A-Za-z0-9-]+(?:\.[A-Za-z0-9.-]+)?")

_COVER = re.compile(r".+[.](?P<kind>frost|sheet|cloth|winter)-.*?(?P<way>up|down)")
"""Task in the id of a cover that is no longer in the plan."""

_DAY = re.compile(r"[0-9]{4}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])")


class Names:
    """Calls the things of a plan by the names that people use.

    Parameters
    ----------
    plan
        The plan.
    words
        Language and units of the reader.
    now
        The present instant.
    said
        Visit or coat → what was said of it.
    off, stops
        Coat → why it is called off, or must wait, whatever the plan says.
    """

    def __init__(
        self,
        plan: Plan,
        words: Words,
        now: datetime,
        said: Mapping[str, str] | None = None,
        off: Mapping[str, str] | None = None,
        stops: Mapping[str, str] | None = None,
    ) -> None:
        self.plan, self.words, self.now = plan, words, now
        self.said, self.off, self.stops = said or {}, off or {}, stops or {}
        self.titles = Titles(plan, words)
        self.zones = {site.id: site.zone for site in plan.sites}
        self.bookings = {booking.id: booking for booking in plan.bookings}
        self._coats = {c.booking: (face, c) for face in plan.faces for c in face.coats}
        self._people = {person.id: plain(person.name) for person in plan.people}

    def face(self, face_id: str) -> str:
        """Return ``5 in``."""
        return self.titles.face(face_id)

    def faces(self, ids: Iterable[str]) -> str:
        """Return ``1 out, 5 in``."""
        return ", ".join(self.face(one) for one in dict.fromkeys(ids))

    def wall(self, face: FacePlan) -> str:
        """Return the free name of a face's wall, on one line."""
        return plain(face.wall_name)

    def who(self, ids: Iterable[str]) -> str:
        """Return the names of people, or that there is nobody."""
        return ", ".join(self._people.get(one, plain(one)) for one in ids) or self.words.say("terminal.nobody")

    def task(self, booking: Booking) -> str:
        """Return what is done, short and without its wall: ``finish 8 mm``, ``read both sides``, ``early round``."""
        if booking.kind is Kind.ROUND:
            return self.words.say(f"terminal.round.{booking.slot}")
        if booking.kind is Kind.COVER:
            what = COVERS.get(booking.title, "cloth")
            return self.words.say(f"terminal.cover.{what}.{'up' if booking.task.endswith('up') else 'down'}")
        if booking.kind is Kind.LOOK:
            return self.words.say("terminal.look")
        title = self._small(booking.title)
        if booking.thickness is None:
            return title
        return self.words.say("terminal.coat", coat=title, thickness=self.words.figure(booking.thickness, "length_mm"))

    def coat(self, coat: CoatDates) -> str:
        """Return the short name of a coat: ``finish``."""
        return self.coat_of(coat.booking) or coat.coat

    def coat_of(self, id_: str) -> str:
        """Return the short name of a booked coat, or nothing."""
        booking = self.bookings.get(id_)
        return self._small(booking.title) if booking else ""

    def thing(self, id_: str) -> str:
        """Return what an id of a booking stands for: ``1-out.finish`` is ``1 out finish``."""
        if id_ in self._coats:
            face, coat = self._coats[id_]
            return self.words.say("terminal.thing", subject=self.face(face.id), task=self.coat(coat))
        booking = self.bookings.get(id_)
        if booking is not None:
            return self.words.say("terminal.thing", subject=self.titles.subject(booking)[0], task=self.task(booking))
        head, _, task = plain(id_).partition(".")
        subject = self.face(head) if head in self.titles.faces else head
        if gone := _COVER.fullmatch(task):
            task = self.words.say(f"terminal.cover.{gone['kind']}.{gone['way']}")
        return self.words.say("terminal.thing", subject=subject, task=task.replace(".", " ")).rstrip()

    def day(self, day: date) -> str:
        """Return ``12 Jun``, with its year where that is not plain."""
        form = "d MMM" if self._near(day) else "d MMM y"
        return format_date(day, form, locale=self.words.language)

    def long_day(self, day: date) -> str:
        """Return ``Sat 12 June``, with its year where that is not plain."""
        text = self.words.day(day)
        return text if self._near(day) else f"{text} {day.year}"

    def _near(self, day: date) -> bool:
        """Tell whether a day without its year can only be one day: not long past, not a year ahead."""
        return LONG_PAST <= (day - self.now.date()).days <= FAR_AHEAD

    def zone(self, site: str) -> ZoneInfo:
        """Return the time zone of a site."""
        return ZoneInfo(self.zones[site])

    def local(self, at: datetime, zone: str) -> datetime:
        """Return an instant in a zone's local time."""
        return at.astimezone(ZoneInfo(zone))

    def today(self, site: str) -> date:
        """Return the local day at a site."""
        return self.now.astimezone(self.zone(site)).date()

    def span(self, booking: Booking) -> str:
        """Return ``07:00-10:25``, local."""
        return f"{self.clock(booking.start, booking.zone)}-{self.clock(booking.end, booking.zone)}"

    def clock(self, at: datetime, zone: str) -> str:
        """Return local time of day."""
        return self.words.clock(at, zone)

    def reason(self, reason: Reason) -> str:
        """Return the whole sentence of a reason, its ids turned into names."""
        return plain(why(self.words, replace(reason, values=self._said(reason.values))))

    def why(self, booking: Booking) -> str:
        """Return why a booking is on its day; of a coat off its day also the day that is proposed."""
        text = self.reason(booking.reason)
        if booking.state is not State.OFF:
            return text
        return self.words.say("terminal.why_proposed", why=text, day=self.long_day(local_day(booking)))

    def notice(self, notice: Notice) -> str:
        """Return the sentence of a warning or a question, its ids turned into names."""
        try:
            return plain(self.words.notice(replace(notice, values=self._said(notice.values))))
        except (KeyError, ValueError):
            return self.words.say("event.unknown_why", rule=notice.rule)

    def spoken(self, values: Mapping[str, Value]) -> dict[str, Value]:
        """Return values with ids and days turned into names."""
        return self._said(values)

    def _said(self, values: Mapping[str, Value]) -> dict[str, Value]:
        return {key: self.named(value) if isinstance(value, str) else value for key, value in values.items()}

    def named(self, text: str) -> str:
        """Turn a value that is a day or made of ids alone into names, ``1-out 5-in`` into ``1 out, 5 in``."""
        if _DAY.fullmatch(text):
            return self.long_day(date.fromisoformat(text))
        parts = text.split(" ")
        if all(_THING.fullmatch(part) and self._known(part) for part in parts):
            return ", ".join(self.thing(part) for part in parts)
        return text

    def _known(self, id_: str) -> bool:
        return id_ in self._coats or id_ in self.titles.faces or id_ in self.bookings

    def _small(self, title: str) -> str:
        """Return a title as text: the calendar shouts ``PAINT 1``, a table need not."""
        return " ".join(w.lower() if w.isupper() and len(w) > 1 else w for w in plain(title).split())


def local_day(booking: Booking, at: datetime | None = None) -> date:
    """Return the local day on which a booking begins, or of another instant at its site."""
    return (at or booking.start).astimezone(ZoneInfo(booking.zone)).date()
