"""Hours in which a walk does its work: before the sun reaches the sunny side and after it has left.

Early: from the person's start to 30 min before direct sun reaches a face that looks
to the equator. Late: from 30 min after it has left that face to 1 h before sunset
(common practice, no source). Minutes are local, after midnight; the five-minute grid
keeps the times of neighbouring days alike.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from curing.model.job import Site
from curing.physics.solar import Array
from curing.physics.sun_on_face import direct_sun, direct_sun_hours, sun_times
from curing.planning.worktime import GRID

CHUNK = 400
"""Days worked out at a time."""

EPOCH = date(1970, 1, 1)
FALLBACK = (8 * 60, 15 * 60, 16 * 60)
"""Early end, late start, late end where the sun does not rise or set (polar day and night)."""


@dataclass(frozen=True, slots=True)
class WalkHours:
    """Bounds of the two walks of one day at one site [min after local midnight]."""

    early_end: int
    late_start: int
    late_end: int


class SiteSun:
    """Sun over one site, worked out for hundreds of days at a time and kept.

    Parameters
    ----------
    site
        Latitude, longitude and time zone are used.
    """

    def __init__(self, site: Site) -> None:
        self._site = site
        self._zone = ZoneInfo(site.time_zone)
        self._walks: dict[date, WalkHours] = {}
        self._faces: dict[tuple[float, date], tuple[tuple[int, int], ...]] = {}
        self._hours: dict[tuple[float, date], float] = {}
        self._chunks: dict[date, tuple[list[date], Array]] = {}

    @property
    def sunny_side(self) -> float:
        """Azimuth of a face that looks to the equator [°]."""
        return 180.0 if self._site.latitude >= 0 else 0.0

    def walks(self, day: date) -> WalkHours:
        """Return the bounds of that day's walks."""
        if day not in self._walks:
            self._fill_walks(day)
        return self._walks[day]

    def on_face(self, azimuth: float | None, day: date) -> tuple[tuple[int, int], ...]:
        """Return the spans of direct sun on a face that day [local min]; none for an inside face."""
        if azimuth is None:
            return ()
        if (azimuth, day) not in self._faces:
            self._fill_face(azimuth, day)
        return self._faces[azimuth, day]

    def hours_on_face(self, azimuth: float | None, day: date) -> float:
        """Return the hours of direct sun on a face under a clear sky that day [h]."""
        if azimuth is None:
            return 0.0
        if (azimuth, day) not in self._hours:
            self._fill_face(azimuth, day)
        return self._hours[azimuth, day]

    def _starts(self, day: date) -> tuple[list[date], Array]:
        """Return the days of a chunk, and the instants of their local midnights by the offset at noon."""
        if day in self._chunks:
            return self._chunks[day]
        days = [day + timedelta(days=k) for k in range(CHUNK)]
        epoch = np.array([(d - EPOCH).days * 86400.0 for d in days])
        noons = (datetime(d.year, d.month, d.day, 12, tzinfo=self._zone) for d in days)
        offsets = np.array([(n.utcoffset() or timedelta()).total_seconds() for n in noons])
        self._chunks[day] = days, epoch - offsets  # the same for all faces, which are asked about one after another
        return self._chunks[day]

    def _fill_walks(self, day: date) -> None:
        days, starts = self._starts(day)
        _, sets = sun_times(starts, self._site.latitude, self._site.longitude)
        lit = direct_sun(starts, self._site.latitude, self._site.longitude, self.sunny_side)
        first = (lit[:, 0, 0] - starts) / 60.0
        last = (np.nanmax(np.nan_to_num(lit[:, :, 1], nan=-np.inf), axis=1) - starts) / 60.0
        sunset = (sets - starts) / 60.0
        for k, d in enumerate(days):
            known = np.isfinite(first[k]) and np.isfinite(last[k]) and np.isfinite(sunset[k])
            self._walks[d] = (
                WalkHours(_down(first[k] - 30), _up(last[k] + 30), _down(sunset[k] - 60))
                if known
                else WalkHours(*FALLBACK)
            )

    def _fill_face(self, azimuth: float, day: date) -> None:
        days, starts = self._starts(day)
        lit = direct_sun(starts, self._site.latitude, self._site.longitude, azimuth)
        minutes = (lit - starts[:, None, None]) / 60.0
        long = minutes[..., 1] - minutes[..., 0] >= GRID  # never where there is none
        first, last = (np.where(long, minutes[..., k] / GRID, 0.0) for k in (0, 1))
        spans = np.stack([np.ceil(first), np.floor(last)], axis=-1).astype(np.int64) * GRID
        hours = direct_sun_hours(lit).tolist()
        for d, both, there, sun in zip(days, spans.tolist(), long.tolist(), hours, strict=True):
            self._faces[azimuth, d] = tuple((a, b) for (a, b), lies in zip(both, there, strict=True) if lies)
            self._hours[azimuth, d] = sun


def _down(minute: float) -> int:
    return math.floor(minute / GRID) * GRID


def _up(minute: float) -> int:
    return math.ceil(minute / GRID) * GRID


def quadrant(azimuth: float | None) -> str:
    """Return the side of the compass a face looks to: N, E, S, W, or "" for an inside face.

    Examples
    --------
    >>> quadrant(20.0), quadrant(112.5), quadrant(None)
    ('N', 'E', '')
    """
    if azimuth is None:
        return ""
    return "NESW"[int(((azimuth + 45.0) % 360.0) // 90.0)]
