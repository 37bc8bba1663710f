"""What the weather has against work, as sentences a plasterer would say: by rule, figure and hours."""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from babel.dates import format_date

from curing.model.weather_stops import Stop, Unknown
from curing.publish.words import Words

_INCH = 25.4


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
