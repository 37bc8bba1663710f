"""The one catalogue of every sentence a person reads, and how dates and figures are written.

Sentences are whole, with named values; none is glued from fragments. Each has a
key and an English text, in three tables by where they are read
(:mod:`~curing.publish.calendar_words`, :mod:`~curing.publish.reason_words`,
:mod:`~curing.publish.terminal_words`); gettext translates the English text where
``locale/LANGUAGE/LC_MESSAGES/curing.mo`` has it.
"""

from __future__ import annotations

import gettext
import importlib.resources
import re
from collections.abc import Mapping
from datetime import date, datetime
from zoneinfo import ZoneInfo

from babel.dates import format_date

from curing.model.kinds import KindName
from curing.model.plan import Notice, Reason
from curing.model.quantities import Units, show
from curing.publish.calendar_words import CALENDAR
from curing.publish.chart_words import CHARTS
from curing.publish.cover_words import COVERS
from curing.publish.cure_words import CURE
from curing.publish.job_words import JOB_FILE
from curing.publish.material_words import MATERIALS
from curing.publish.new_words import NEW
from curing.publish.page_words import PAGES
from curing.publish.people_words import PEOPLE
from curing.publish.reason_words import FIGURES, REASONS
from curing.publish.record_words import RECORD
from curing.publish.reminder_words import REMINDERS
from curing.publish.season_words import SEASON
from curing.publish.sending_words import SENDING
from curing.publish.serve_words import SERVE
from curing.publish.setup_words import SETUP
from curing.publish.sky_words import SKY
from curing.publish.terminal_words import TERMINAL
from curing.publish.visit_words import VISITS
from curing.publish.weather_words import WEATHER
from curing.publish.winter_words import WINTER

_FACE = re.compile(r"(?P<wall>[A-Za-z0-9-]+)-(?P<side>out|in)(\.(?P<task>[A-Za-z0-9-]+))?")
"""A face, or a coat of one: ``2-out.base``."""

CATALOGUE: Mapping[str, str] = {
    **CALENDAR,
    **REASONS,
    **COVERS,
    **CURE,
    **TERMINAL,
    **JOB_FILE,
    **RECORD,
    **NEW,
    **MATERIALS,
    **PAGES,
    **SERVE,
    **PEOPLE,
    **CHARTS,
    **SETUP,
    **REMINDERS,
    **SENDING,
    **WEATHER,
    **VISITS,
    **WINTER,
    **SEASON,
    **SKY,
}


class Words:
    """Sentences in one language and one system of units.

    Parameters
    ----------
    units
        ``metric`` or ``us``.
    language
        An ISO 639 code; English where there is no translation.
    """

    def __init__(self, units: Units = "metric", language: str = "en") -> None:
        self.units = units
        self.language = language
        self._translation = _translation(language)

    def say(self, key: str, **values: object) -> str:
        """Return the sentence of a key; KeyError if the catalogue lacks the key or a value is missing."""
        return self._translation.gettext(CATALOGUE[key]).format(**values)

    def count(self, key: str, number: int, **values: object) -> str:
        """Return the sentence for a number: keys ``KEY.one`` and ``KEY.many``."""
        text = self._translation.ngettext(CATALOGUE[f"{key}.one"], CATALOGUE[f"{key}.many"], number)
        return text.format(number=number, **values)

    def reason(self, reason: Reason) -> str:
        """Return the whole sentence of a reason, with the days that could not be used."""
        text = self._keyed("why", reason.key, reason.values)
        for skipped in reason.skipped:
            key = f"skipped.{skipped.cause}"
            text += "; " + self.count(key, skipped.days, detail=skipped.detail)
        return text

    def notice(self, notice: Notice) -> str:
        """Return the sentence of a warning or a question; what the weather has against it stands in it as ``why``."""
        values = notice.values
        if isinstance(against := values.get("against"), str):
            values = {**values, "why": self.against(against, values)}
        return self._keyed("note", notice.key, values)

    def against(self, what: str, values: Mapping[str, object]) -> str:
        """Return what the weather has against something, as part of a sentence; a spell within a day names it once."""
        key = what if f"against.{what}" in CATALOGUE else "weather"
        short = f"{key}.day"
        one_day = values.get("from") == values.get("to") and f"against.{short}" in CATALOGUE
        return self._keyed("against", short if one_day else key, values, FIGURES.get(f"against.{key}", {}))

    def _keyed(
        self, group: str, key: str, values: Mapping[str, object], kinds: Mapping[str, KindName] | None = None
    ) -> str:
        kinds = FIGURES.get(f"{group}.{key}", {}) if kinds is None else kinds
        said = {k: self._figure(v, kinds[k]) if k in kinds else self._value(v) for k, v in values.items()}
        number = said.get("visits", said.get("days"))
        if f"{group}.{key}.one" in CATALOGUE and isinstance(number, int):
            return self.count(f"{group}.{key}", number, **said)
        return self.say(f"{group}.{key}", **said)

    def _figure(self, value: object, kind: KindName) -> str:
        """Figures travel in reasons in SI; ValueError for what is none."""
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise ValueError(f"no figure: {value!r}")
        return self.figure(value, kind)

    def _value(self, value: object) -> object:
        """Dates travel in reasons as ISO text, faces and coats by their ids; a person reads days and names."""
        if isinstance(value, str) and (named := _FACE.fullmatch(value)):
            face = self.say("title.face", wall=named["wall"], side=self.say(f"title.side.{named['side']}"))
            return self.say("title.task", face=face, task=named["task"]) if named["task"] else face
        if isinstance(value, str) and len(value) == 10 and value[4] == value[7] == "-":
            try:
                return self.day(date.fromisoformat(value))
            except ValueError:
                return value
        return value

    def day(self, day: date) -> str:
        """Return ``Tue 9 June``.

        Examples
        --------
        >>> Words().day(date(2026, 6, 9))
        'Tue 9 June'
        """
        name = format_date(day, "EEE", locale=self.language)
        month = format_date(day, "MMMM", locale=self.language)
        return f"{name} {day.day} {month if len(month) < 6 else month[:3]}"

    def clock(self, instant: datetime, zone: str) -> str:
        """Return local time of day, ``07:12``."""
        return f"{instant.astimezone(ZoneInfo(zone)):%H:%M}"

    def figure(self, value: float, kind: KindName) -> str:
        """Return a quantity with its unit, in the reader's units."""
        return show(value, kind, self.units)


def _translation(language: str) -> gettext.NullTranslations:
    folder = importlib.resources.files("curing.publish").joinpath("locale")
    return gettext.translation("curing", str(folder), languages=[language], fallback=True)
