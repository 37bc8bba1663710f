"""The weather of a site as its faces meet it: sun and demand of the air, rain by wind and roof, hour by hour.

The climate of all faces is worked out in one go; faces that stand alike share it. A face behind wet cloth is
an aspect of its own, since cloth keeps off sun and wind alike.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from curing.model.job import Face, Job, Site
from curing.model.weather import HOUR, Series, Weather
from curing.physics import driving_rain, wall_climate
from curing.physics.face_climate import Aspect, FaceClimate, face_climate
from curing.physics.irradiance import beam_on_face, split, sun_path

CLOTH_SUN, CLOTH_WIND = 0.35, 0.5
"""Share of sun and of wind that come through wet cloth [1]; assumption."""
WIND: Mapping[str, float] = {
    "sheltered": wall_climate.SHELTERED,
    "normal": wall_climate.ORDINARY,
    "exposed": wall_climate.EXPOSED,
}
RAIN: Mapping[str, float] = {
    "sheltered": driving_rain.SHELTERED,
    "normal": driving_rain.ORDINARY,
    "exposed": driving_rain.EXPOSED,
}
OLD = timedelta(hours=24)
"""Weather older than this releases no work (common practice, no source)."""


@dataclass(frozen=True, slots=True, eq=False)
class FaceHours:
    """What one face goes through, hour by hour; NaN where it is not known.

    Parameters
    ----------
    face
        Id of the face.
    outside
        Whether weather judges what is laid on it at all.
    start
        Start of the first hour: aware, UTC, on the hour.
    temperature, humidity, wind, cloud
        Of the site: [°C], [%], [m/s at 10 m], [1]; cloud as told or worked out.
    rain
        That counts against a fresh coat [L/m2]: by the worst of the wind as told and 45° to either side,
        since eddies and a wrong forecast make the lee wet; where no gutter is above yet all
        rain, as in the gauge or as the wind drives it, whichever is more.
    rain_told
        That meets the face by the wind as told [L/m2].
    sun, direct
        On the face before any cloth, in all, and straight from the sun alone [W/m2].
    demand, demand_cloth
        What the air would take from the face kept wet [L/m2 in the hour], bare and behind wet cloth.
    surface
        Temperature of the face kept wet [°C].
    source
        Who told the weather.
    told
        When that was: made, or else fetched; None: not said.
    estimated
        Which of ``radiation`` and ``cloud`` were worked out from the other in any hour.
    """

    face: str
    outside: bool
    start: datetime
    temperature: Series
    humidity: Series
    wind: Series
    cloud: Series
    rain: Series
    rain_told: Series
    sun: Series
    direct: Series
    demand: Series
    demand_cloth: Series
    surface: Series
    source: str
    told: datetime | None
    estimated: frozenset[str] = frozenset()

    def __len__(self) -> int:
        """Return how many hours there are."""
        return len(self.temperature)

    def index(self, at: datetime) -> int:
        """Return the number of the hour an instant lies in; it may lie outside."""
        return (at - self.start) // HOUR

    def at(self, hour: int) -> datetime:
        """Return when an hour starts."""
        return self.start + hour * HOUR

    def part(self, values: Series, first: int, last: int) -> Series:
        """Return the values of hours ``first`` to before ``last``, NaN outside what there is."""
        whole = np.full(max(last - first, 0), np.nan)
        low, high = max(first, 0), min(last, len(self))
        if low < high:
            whole[low - first : high - first] = values[low:high]
        return whole

    def age(self, now: datetime) -> timedelta | None:
        """Return how old the weather is; None where nobody said when it was told."""
        return None if self.told is None else now - self.told

    def is_old(self, now: datetime) -> bool:
        """Tell whether it releases nothing: older than 24 h, or nobody knows how old."""
        age = self.age(now)
        return age is None or age > OLD


def faces_of(job: Job, site: Site) -> dict[str, Face]:
    """Return the faces of a site by id, in walking order."""
    return {face_id: face for face_id, wall, face in job.faces() if job.site_of(wall).id == site.id}


def site_weather(site: Site, faces: Mapping[str, Face], weather: Weather) -> dict[str, FaceHours]:
    """Work out what the faces of a site go through.

    Parameters
    ----------
    site
        Its latitude and longitude are used.
    faces
        Face id → face: ``facing``, ``exposure``, ``gutter`` and ``cloth`` are used.
    weather
        Hours of that site.

    Returns
    -------
    dict
        Face id → its hours, in the order given; series of faces that stand alike are the same arrays.
    """
    aspects: dict[Aspect, int] = {}
    stands = {face_id: (aspect_of(face), aspect_of(face, cloth=True)) for face_id, face in faces.items()}
    for bare, clothed in stands.values():
        aspects.setdefault(bare, len(aspects))
        aspects.setdefault(clothed, len(aspects))
    climate = face_climate(
        weather.start.timestamp(),
        weather.temperature,
        weather.humidity,
        weather.wind,
        weather.direction,
        weather.rain,
        weather.radiation,
        weather.cloud,
        latitude=site.latitude,
        longitude=site.longitude,
        aspects=list(aspects),
    )
    direct = _direct(site, weather, climate, {bare.azimuth for bare, _ in stands.values()})
    rows = {face_id: (aspects[bare], aspects[clothed]) for face_id, (bare, clothed) in stands.items()}
    return {face_id: _view(face_id, face, weather, climate, direct, *rows[face_id]) for face_id, face in faces.items()}


def aspect_of(face: Face, *, cloth: bool = False) -> Aspect:
    """Return how a face stands to the weather; with cloth before it, if cloth can be hung there."""
    if face.facing is None:
        return Aspect(None)
    behind = cloth and face.cloth
    wind = WIND[face.exposure] * (CLOTH_WIND if behind else 1.0)
    return Aspect(face.facing, wind=wind, rain=RAIN[face.exposure], sun=CLOTH_SUN if behind else 1.0)


def _direct(
    site: Site, weather: Weather, climate: FaceClimate, azimuths: set[float | None]
) -> dict[float | None, Series]:
    """Direct sun for each azimuth; none on an inside face."""
    path = sun_path(weather.start.timestamp(), len(weather), site.latitude, site.longitude)
    parts = split(climate.radiation, path)
    return {
        azimuth: np.zeros(len(weather)) if azimuth is None else beam_on_face(path, parts, azimuth)
        for azimuth in azimuths
    }


def _view(
    face_id: str,
    face: Face,
    weather: Weather,
    climate: FaceClimate,
    direct: Mapping[float | None, Series],
    bare: int,
    clothed: int,
) -> FaceHours:
    outside = face.facing is not None
    told = climate.rain[bare]
    worst = climate.worst_rain[bare]
    counted = worst if face.gutter or not outside else np.fmax(worst, weather.rain)
    named = (("radiation", climate.radiation_estimated), ("cloud", climate.cloud_estimated))
    return FaceHours(
        face=face_id,
        outside=outside,
        start=weather.start,
        temperature=weather.temperature,
        humidity=weather.humidity,
        wind=weather.wind,
        cloud=climate.cloud,
        rain=counted,
        rain_told=told,
        sun=climate.sun[bare],
        direct=direct[face.facing],
        demand=climate.demand[bare],
        demand_cloth=climate.demand[clothed],
        surface=climate.surface[bare],
        source=weather.source,
        told=weather.issued or weather.fetched,
        estimated=weather.estimated | {name for name, hours in named if _any(hours)},
    )


def _any(hours: NDArray[np.bool_]) -> bool:
    return bool(hours.any())
