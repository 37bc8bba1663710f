"""Pieces of the weather as a person reads them: ages, days, amounts, why a coat may not be laid."""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from curing.model.kinds import KindName
from curing.model.weather_days import FaceDay, SiteDay
from curing.publish.weather_parts import SitePart, TaskPart
from curing.publish.weather_reasons import WeatherReasons
from curing.publish.words import Words

WATER: KindName = "volume_l_per_m2"
SMALL = 0.1
"""[L/m2] A difference smaller than this is not told."""


class WeatherSaid:
    """Says the weather in a reader's words and units.

    Parameters
    ----------
    words
        Language and units.
    zone
        Time zone of the site.
    now
        The present instant.
    """

    def __init__(self, words: Words, zone: str, now: datetime) -> None:
        self.words, self.zone, self.now = words, zone, now
        self.say = words.say
        self.reasons = WeatherReasons(words, zone_of(zone))

    def when(self, at: datetime) -> str:
        """Return ``Tue 9 June 06:40``, local, with its year where that is not this one's."""
        local = at.astimezone(zone_of(self.zone))
        day = self.words.day(local.date())
        day = day if local.year == self.now.astimezone(local.tzinfo).year else f"{day} {local.year}"
        return self.say("terminal.day_time", day=day, clock=f"{local:%H:%M}")

    def clock(self, at: datetime) -> str:
        """Return ``06:40``, local."""
        return self.words.clock(at, self.zone)

    def age(self, age: timedelta) -> str:
        """Return how old something is: ``25 min``, ``4 h``, ``3 days``.

        Examples
        --------
        >>> said = WeatherSaid(Words(), "UTC", datetime(2027, 5, 3))
        >>> [said.age(timedelta(minutes=one)) for one in (25, 240, 1800, 5000)]
        ['25 min', '4 h', '30 h', '3 days']
        """
        minutes = max(int(age.total_seconds() // 60), 0)
        if minutes < 120:
            return self.say("sky.minutes", number=minutes)
        if minutes < 72 * 60:
            return self.say("sky.hours", number=minutes // 60)
        return self.say("sky.days", number=minutes // 1440)

    def age_line(self, site: SitePart) -> str:
        """Return how old the weather is, and that it opens nothing: what stands first wherever it is shown."""
        age = site.age(self.now)
        if site.made is None or age is None:
            return self.say("sky.age.none")
        key = "sky.age.old" if site.is_old(self.now) else "sky.age"
        return self.say(key, when=self.when(site.made), age=self.age(age))

    def water(self, amount: float) -> str:
        """Return litres a square metre with their unit."""
        return self.words.figure(self._rounded(amount), WATER)

    def _rounded(self, amount: float) -> float:
        return round(amount, 1) if self.words.units == "metric" else amount

    def amount(self, amount: float) -> str:
        """Return litres a square metre without their unit, which a heading tells."""
        if self.words.units == "metric":
            return f"{amount:.1f}"
        return self.water(amount).partition(" ")[0]

    def water_unit(self) -> str:
        """Return the unit of :meth:`amount`."""
        return self.words.figure(1.0, WATER).partition(" ")[2]

    def air(self, value: float | None) -> str:
        """Return a temperature with its unit."""
        if value is None:
            return self.say("sky.unknown")
        return self.words.figure(round(value, 1) + 0.0, "temperature_c")

    # -- days ---------------------------------------------------------------------------------

    def day_of(self, one: FaceDay) -> str:
        """Return the day, or from which hour of it on."""
        return self.words.day(one.day) if one.whole else self.say("sky.from_hour", clock=self.clock(one.start))

    def sun(self, one: FaceDay) -> str:
        """Return the hours of sun."""
        return self.say("sky.unknown") if one.sun is None else self.say("sky.sun", hours=f"{one.sun:.0f}")

    def takes(self, one: FaceDay, *, unit: bool = False) -> str:
        """Return what the air takes, what is ordinary, and why it is more; with its unit where no heading tells it."""
        shown = self.water if unit else self.amount
        if one.takes is None:
            return self.say("sky.unknown")
        value = shown(one.takes)
        if one.ordinary is None:
            return self.say("sky.takes", value=value)
        plain = shown(one.ordinary)
        if not one.why or value == plain:
            return self.say("sky.takes.ordinary", value=value, ordinary=plain)
        why = ", ".join(self.say(f"sky.driver.{driver}") for driver in one.why)
        return self.say("sky.takes.why", value=value, ordinary=plain, why=why)

    def rain(self, one: FaceDay, *, unit: bool = False) -> str:
        """Return when rain meets the face, and how much; with its unit where no heading tells it."""
        shown = self.water if unit else self.amount
        if one.rain is None:
            return self.say("sky.unknown" if one.rain_unknown else "sky.no_rain")
        span = {"start": self.clock(one.rain.start), "end": self._end(one.rain.end)}
        amount, could = shown(one.rain.amount), shown(one.rain.could)
        if one.rain.amount < SMALL / 2:
            return self.say("sky.rain.only_could", **span, could=could)
        if one.rain.could - one.rain.amount < SMALL:
            return self.say("sky.rain", **span, amount=amount)
        return self.say("sky.rain.could", **span, amount=amount, could=could)

    def _end(self, at: datetime) -> str:
        """Return the clock at the end of something: midnight is 24:00."""
        clock = self.clock(at)
        return "24:00" if clock == "00:00" else clock

    def could(self, one: SiteDay) -> str:
        """Return how cold it could be, loud where that is frost."""
        if one.could is None:
            return self.say("sky.unknown")
        return self.say("sky.frost", value=self.air(one.could)) if one.could < one.frost else self.air(one.could)

    def coldest(self, one: SiteDay) -> str:
        """Return the lowest temperature and its hour."""
        if one.coldest is None or one.at is None:
            return self.say("sky.unknown")
        return self.say("sky.coldest", value=self.air(one.coldest), clock=self.clock(one.at))

    def level(self, amount: float | None) -> str:
        """Return rain on the level."""
        return self.say("sky.unknown") if amount is None else self.words.figure(round(amount, 1), "length_mm")

    def wind(self, speed: float | None) -> str:
        """Return a wind."""
        return self.say("sky.unknown") if speed is None else self.words.figure(speed, "speed_m_s")

    # -- coats --------------------------------------------------------------------------------

    def answer(self, task: TaskPart) -> list[str]:
        """Return whether a coat may be laid by the weather, one sentence each: first the answer, then each rule."""
        if task.answer == "yes":
            key = "sky.yes.cloth" if task.cloth else "sky.yes"
            lines = [self.say(f"{key}.until", until=self.when(task.until)) if task.until else self.say(key)]
        elif task.answer == "no":
            lines = [self.say("sky.no")]
        else:
            lines = [self.say("sky.not_known.old" if task.old else "sky.not_known")]
        lines += [self._by_rule(self.reasons.stop(one), one.rule) for one in task.stops]
        if task.answer != "no":
            lines += [self._by_rule(self.reasons.missing(one), one.rule) for one in task.missing]
        for key, against in (("sky.kept_off", task.kept_off), ("sky.warning", task.warnings)):
            lines += [self.say(key, text=self._by_rule(self.reasons.stop(one), one.rule)) for one in against]
        return [*lines, *([self.say("sky.coat.held")] if task.held else [])]

    def _by_rule(self, text: str, rule: str) -> str:
        return self.say("sky.rule", text=text[:1].upper() + text[1:], rule=rule)

    def span(self, start: datetime, end: datetime) -> str:
        """Return ``Wed 10 June 05:00-14:00``, or with both days."""
        first, last = (at.astimezone(zone_of(self.zone)) for at in (start, end))
        if (last - timedelta(minutes=1)).date() == first.date():
            return f"{self.when(start)}-{last:%H:%M}"
        return f"{self.when(start)} - {self.when(end)}"


def zone_of(name: str) -> ZoneInfo:
    """Return a time zone by its name."""
    return ZoneInfo(name)
