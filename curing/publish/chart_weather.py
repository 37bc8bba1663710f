"""The next 72 hours of a face as a chart: sun, what the air takes, rain on it, the air with frost; its table beside it.

As narrow as a phone, so that nothing of it has to be looked for. Where nothing is known nothing is drawn.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

import numpy as np

from curing.model.weather import HOUR, Series
from curing.model.weather_days import FaceSeries
from curing.publish.drawing import GROUND, Chart, drawn, line, num, rect, text
from curing.publish.layers import CLAY, FROST, HAIRLINE, INK, SOFT, STRAW, WATER
from curing.publish.terminal_layout import wrap
from curing.publish.weather_parts import FacePart, SitePart
from curing.publish.weather_said import WeatherSaid, zone_of
from curing.publish.words import Words

LEFT, EACH = 4.0, 4.5
"""[px] Where the first hour begins, and of an hour."""
HIGH, GAP, TOP = 40.0, 26.0, 22.0
"""[px] Of a strip, between two, and above the first."""
SIZE = 12.0
EVERY = 3
"""[h] Between two rows of the table."""
LETTERS = 50
"""Letters of the smallest type in a line."""


def face_chart(face: FacePart, site: SitePart, words: Words, now: datetime) -> Chart | None:
    """Return the chart of a face; None where nothing is known of it.

    Parameters
    ----------
    face, site
        The face and its site, from whose weather it is.
    words, now
        Language and units of the reader, the present instant.
    """
    if face.series is None or site.made is None:
        return None
    return _Drawer(face, face.series, site, words, now).chart()


class _Drawer:
    """Draws the chart of one face."""

    def __init__(self, face: FacePart, series: FaceSeries, site: SitePart, words: Words, now: datetime) -> None:
        self.face, self.series, self.site, self.now = face, series, site, now
        self.said = WeatherSaid(words, site.zone, now)
        self.words, self.say = words, words.say
        self.right = LEFT + EACH * len(series)
        self.frost = site.days[0].frost if site.days else 0.0

    def chart(self) -> Chart:
        title = self.say("sky.chart.title", face=f"{self.face.number} {self.face.name}")
        summary = self._summary()
        parts: list[str] = []
        y = TOP
        unit = self.said.water_unit()
        if self.face.outside:
            parts += self._bars(y, "sun", self.series.sun, STRAW, lambda value: f"{value:.0f}", "")
            y += HIGH + GAP
        parts += self._bars(y, "takes", self.series.takes, CLAY, self._fine, unit)
        y += HIGH + GAP
        if self.face.outside:
            parts += self._bars(y, "rain", self.series.rain, WATER, self._fine, unit)
            y += HIGH + GAP
        parts += self._air(y)
        y += HIGH * 1.5 + 22
        lines = wrap(self._source(), most=LETTERS)
        parts += [text(LEFT, y + 14 + 15 * n, one, size=SIZE, ink=SOFT) for n, one in enumerate(lines)]
        bottom = y + 8 + 15 * len(lines) + 4
        frame = [rect("ground", 0, 0, self.right + LEFT, bottom, fill=GROUND), *self._days(y)]
        svg = drawn("hours", self.right + LEFT, bottom, f"{title}. {summary}", [*frame, *parts])
        return Chart(title, summary, svg, self._head(), tuple(self._rows()))

    def _source(self) -> str:
        return f"{self.said.age_line(self.site)} {self.site.attribution or self.site.source}"

    def _fine(self, value: float) -> str:
        return f"{value:.2f}" if self.words.units == "metric" else self.said.water(value).partition(" ")[0]

    def _summary(self) -> str:
        series = self.series
        cold = series.temperature
        known = not np.isnan(cold).all()
        low = float(np.nanmin(cold)) if known else None
        could = float(np.nanmin(cold - series.margin)) if known else None
        sun = float(np.nansum(series.sun >= 60.0))
        return self.say(
            "sky.chart.summary",
            sun=f"{sun:.0f}",
            takes=self.said.water(float(np.nansum(series.takes))),
            rain=self.said.water(float(np.nansum(series.rain))),
            coldest=self.said.air(low),
            could=self.said.air(could),
            made=self.said.when(self.site.made) if self.site.made else "",
            age=self.said.age(self.site.age(self.now) or timedelta(0)),
        )

    def _x(self, hour: float) -> float:
        return LEFT + EACH * hour

    def _days(self, bottom: float) -> Iterator[str]:
        """Yield midnights as lines, with the day's name where there is room for it."""
        zone = zone_of(self.site.zone)
        for hour in range(len(self.series) + 1):
            local = (self.series.start + hour * HOUR).astimezone(zone)
            if local.hour == 0 or hour == 0:
                x = self._x(hour)
                if hour:
                    yield line("midnight", x, 4, x, bottom, ink=HAIRLINE, thick=1)
                left = 24 - local.hour if hour == 0 else len(self.series) - hour
                if left * EACH >= 84:
                    yield text(x + 3, 13, self.words.day(local.date()), size=SIZE, bold=True)
            elif local.hour == 12:
                x = self._x(hour)
                yield line("noon", x, TOP, x, bottom, ink=HAIRLINE, thick=1, dash="1 4")

    def _bars(self, y: float, key: str, values: Series, ink: str, shown: object, unit: str) -> Iterator[str]:
        assert callable(shown)
        known = not np.isnan(values).all()
        most = float(np.nanmax(values)) if known else 0.0
        label = self.say(f"sky.chart.{key}", unit=unit)
        scale = self.say("sky.chart.scale", low="0", high=shown(most)) if known else self.say("sky.unknown")
        yield text(LEFT, y + 12, f"{label}, {scale}", size=SIZE, halo=True)
        bottom = y + 16 + HIGH
        for hour, value in enumerate(values):
            if most > 0 and value > 0.005 * most:
                high = HIGH * float(value) / most
                yield rect(key, self._x(hour), bottom - high, EACH - 0.5, high, fill=ink)
        yield line("ground", LEFT, bottom, self.right, bottom, thick=1.5)

    def _air(self, y: float) -> Iterator[str]:
        air = self.series.temperature
        could = air - self.series.margin
        if np.isnan(air).all():
            yield text(LEFT, y + 12, self.say("sky.unknown"), size=SIZE)
            return
        low = min(float(np.nanmin(could)), self.frost - 1.0)
        high = max(float(np.nanmax(air)), self.frost + 1.0)
        label = self.say("sky.chart.air")
        scale = self.say("sky.chart.scale", low=self.said.air(round(low)), high=self.said.air(round(high)))
        yield text(LEFT, y + 12, f"{label}, {scale}", size=SIZE, halo=True)
        top, tall = y + 18, HIGH * 1.5

        def at(value: float) -> float:
            return top + tall * (high - value) / (high - low)

        yield line("frost", LEFT, at(self.frost), self.right, at(self.frost), ink=FROST, thick=1.5, dash="6 3")
        yield self._path("could", could, at, ink=FROST, dash="2 2")
        yield self._path("air", air, at, ink=INK, dash="")
        yield text(self.right - 2, at(self.frost) - 3, self.say("sky.chart.frost"), size=SIZE, anchor="end",
                   ink=FROST, bold=True, halo=True)  # fmt: skip

    def _path(self, kind: str, values: Series, at: object, *, ink: str, dash: str) -> str:
        """Return a line through what is known, broken at gaps."""
        assert callable(at)
        steps, pen = [], "M"
        for hour, value in enumerate(values):
            if np.isnan(value):
                pen = "M"
                continue
            steps.append(f"{pen}{num(self._x(hour + 0.5))} {num(at(float(value)))}")
            pen = "L"
        more = f' stroke-dasharray="{dash}"' if dash else ""
        return f'<path class="{kind}" d="{" ".join(steps)}" fill="none" stroke="{ink}" stroke-width="2"{more}/>'

    def _head(self) -> tuple[str, ...]:
        water, air = self.said.water_unit(), self.words.figure(10.0, "temperature_c").partition(" ")[2]
        names = (("time", ""), ("sun", "W/m2"), ("takes", water), ("rain", water), ("air", air), ("could", air))
        return tuple(self.say(f"sky.chart.head.{name}", unit=unit) for name, unit in names)

    def _rows(self) -> Iterator[tuple[str, ...]]:
        series, unknown = self.series, self.say("sky.unknown")

        def cell(value: float, shown: object) -> str:
            assert callable(shown)
            return unknown if np.isnan(value) else str(shown(value))

        for hour in range(0, len(series), EVERY):
            part = slice(hour, hour + EVERY)
            yield (
                self.said.when(series.start + hour * HOUR),
                cell(float(np.mean(series.sun[part])), lambda value: f"{value:.0f}"),
                cell(float(np.sum(series.takes[part])), self._fine),
                cell(float(np.sum(series.rain[part])), self._fine),
                cell(float(np.min(series.temperature[part])), self._bare_air),
                cell(float(np.min((series.temperature - series.margin)[part])), self._bare_air),
            )

    def _bare_air(self, value: float) -> str:
        return self.said.air(value).partition(" ")[0]
