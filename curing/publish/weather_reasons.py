"""What the weather has against work, as sentences a plasterer would say: by rule, figure and hours.

Advice and covers are what :mod:`curing.planning` hands over, by the shape of it alone.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Protocol
from zoneinfo import ZoneInfo

from babel.dates import format_date

from curing.model.kinds import KindName
from curing.model.weather_stops import Stop, Unknown
from curing.publish.words import Words

_INCH = 25.4


class Advice(Protocol):
    """Advice about a visit."""

    @property
    def advice(self) -> str:
        """What is done."""

    @property
    def cause(self) -> str:
        """Why."""

    @property
    def value(self) -> float:
        """What is held against the limit."""

    @property
    def limit(self) -> float:
        """The limit."""

    @property
    def kind(self) -> KindName:
        """Kind of quantity of both."""

    @property
    def start(self) -> datetime:
        """From when (UTC)."""

    @property
    def end(self) -> datetime:
        """To when (UTC), half-open."""

    @property
    def look(self) -> bool:
        """Whether the moved visit begins with a look."""


class Put(Protocol):
    """A cover with its up and down."""

    @property
    def kind(self) -> str:
        """What is put up."""

    @property
    def value(self) -> float:
        """Lowest air, rain on the face, sun, or what the air takes."""

    @property
    def unit(self) -> KindName:
        """Kind of quantity of the value."""

    @property
    def could(self) -> float | None:
        """How cold it could be [°C]."""

    @property
    def start(self) -> datetime:
        """From when it is needed (UTC)."""

    @property
    def end(self) -> datetime:
        """To when it is needed (UTC)."""

    @property
    def up_by(self) -> datetime:
        """By when it is up."""

    @property
    def down_at(self) -> datetime:
        """From when it may come down."""

    @property
    def wind_most(self) -> float:
        """Mean wind at which it comes down [m/s]."""

    @property
    def wind_down(self) -> datetime | None:
        """By when wind takes it down."""

    @property
    def barred(self) -> str | None:
        """Why nothing may be hung."""


class WeatherReasons:
    """Sentences about weather, by the clock of one site.

    Parameters
    ----------
    words
        Language and units.
    zone
        Of the site.
    """

    def __init__(self, words: Words, zone: ZoneInfo) -> None:
        self._words, self._zone = words, zone

    def stop(self, one: Stop) -> str:
        """Return why it can't be laid then: ``rain on it Wed 05:00 to Thu 14:00, 14 mm on this face``."""
        key = f"weather.stop.{one.what}"
        return self._words.say(
            key,
            span=self.span(one.start, one.end),
            value=self._amount(one.value, one),
            limit=self._limit(one),
            could=self._words.figure(one.value if one.could is None else one.could, "temperature_c"),
            rule=one.rule,
        )

    def missing(self, one: Unknown) -> str:
        """Return what is not known."""
        what = self._words.say(f"weather.about.{one.what}")
        return self._words.count(
            "weather.missing", one.hours, what=what, span=self.span(one.start, one.end), rule=one.rule
        )

    def advice(self, one: Advice) -> str:
        """Return what is done about a visit, and why."""
        said = {
            "span": self.span(one.start, one.end),
            "value": self._words.figure(one.value, one.kind),
            "limit": self._words.figure(one.limit, one.kind),
        }
        text = self._words.say(f"weather.advice.{one.advice}.{one.cause}", **said)
        return f"{text} {self._words.say('weather.advice.look')}" if one.look else text

    def cover(self, one: Put) -> str:
        """Return what to put up by when, and when it comes down."""
        value = self.rain(one.value) if one.kind == "sheet" else self._words.figure(one.value, one.unit)
        could = self._words.figure(one.value if one.could is None else one.could, "temperature_c")
        said = {
            "span": self.span(one.start, one.end),
            "value": value,
            "could": could,
            "up": self.moment(one.up_by),
            "down": self.moment(one.down_at),
            "wind": self._words.figure(one.wind_most, "speed_m_s"),
        }
        key = f"weather.cover.{one.kind}"
        if one.kind == "cloth" and one.unit == "volume_l_per_m2":
            key += ".demand"
        parts = [self._words.say(f"weather.barred.{one.barred}", **said)] if one.barred else []
        if one.wind_down is not None and not one.barred:
            parts.append(self._words.say("weather.cover.wind", before=self.moment(one.wind_down), **said))
        return " ".join([self._words.say(f"{key}.bare" if one.barred else key, **said), *parts])

    def span(self, start: datetime, end: datetime) -> str:
        """Return ``Wed 05:00 to 14:00``, or with both days where they differ."""
        first, last = start.astimezone(self._zone), end.astimezone(self._zone)
        if last - first >= timedelta(days=6):
            return self._words.say(
                "weather.days", first=self._words.day(first.date()), last=self._words.day(last.date())
            )
        same = first.date() == last.date()
        return self._words.say(
            "weather.span.day" if same else "weather.span.days",
            day=self._day(first),
            start=f"{first:%H:%M}",
            other=self._day(last),
            end=f"{last:%H:%M}",
        )

    def moment(self, at: datetime) -> str:
        """Return ``Fri 17:00``."""
        here = at.astimezone(self._zone)
        return self._words.say("weather.moment", day=self._day(here), time=f"{here:%H:%M}")

    def rain(self, millimetres: float) -> str:
        """Return rain as people give it: millimetres, or inches to the hundredth."""
        if self._words.units == "us":
            return f"{millimetres / _INCH:.2f} in"
        return f"{millimetres:.0f} mm" if millimetres >= 2.0 else f"{millimetres:.1f} mm"

    def _amount(self, value: float, one: Stop) -> str:
        if one.what in ("rain", "rain_before"):
            return self.rain(value)
        return self._words.figure(value, one.kind)

    def _limit(self, one: Stop) -> str:
        return self._words.figure(one.limit, one.kind)

    def _day(self, here: datetime) -> str:
        return format_date(here.date(), "EEE", locale=self._words.language)
