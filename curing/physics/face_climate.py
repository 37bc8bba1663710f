"""What each face goes through, hour by hour: sun, demand of the air, rain.

Arrays in, arrays out. The sun's path is followed once for the site and its light turned once for
each aspect that differs, however many faces share it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from curing.physics import driving_rain, psychrometrics, surface_balance, wall_climate
from curing.physics.bearing import towards, wind_vector, windward
from curing.physics.irradiance import SplitSun, SunPath, split, sun_on_face, sun_path
from curing.physics.shading import Eaves, Horizon, sky_view
from curing.physics.sky import cloud_from_radiation, radiation_from_cloud
from curing.physics.solar import Array


@dataclass(frozen=True, slots=True)
class Aspect:
    """How a face stands to sun, wind and rain.

    Parameters
    ----------
    azimuth
        To which it looks [deg]; None for an inside face.
    wind
        Wind at the face over that at 10 m [1].
    albedo
        Share of the sun that it throws back [1].
    rain
        Share of the free driving rain that meets it [1].
    sun
        Share of the sun that a cloth before it lets through [1].
    horizon, eaves
        What stands before it.
    """

    azimuth: float | None
    wind: float = wall_climate.ORDINARY
    albedo: float = wall_climate.ALBEDO
    rain: float = driving_rain.ORDINARY
    sun: float = 1.0
    horizon: Horizon = ()
    eaves: Eaves | None = None


@dataclass(frozen=True, slots=True, eq=False)
class FaceClimate:
    """Face x hour; NaN where the weather that it needs is not known.

    Parameters
    ----------
    sun
        On the face before any cloth [W/m2], mean of the hour.
    demand
        What the air would take from the face kept wet [kg/m2h = L/m2h], never negative.
    rain, worst_rain
        Rain that meets the face [L/m2], by the wind as told, and by the worst of it and 45 deg to either side.
    surface
        Temperature of the face kept wet [°C].
    radiation, cloud
        Of each hour as used: told, or worked out the one from the other [W/m2], [1].
    radiation_estimated, cloud_estimated
        In which hours they were worked out.
    """

    sun: Array
    demand: Array
    rain: Array
    worst_rain: Array
    surface: Array
    radiation: Array
    cloud: Array
    radiation_estimated: npt.NDArray[np.bool_]
    cloud_estimated: npt.NDArray[np.bool_]


def face_climate(
    start: float,
    temperature: npt.ArrayLike,
    humidity: npt.ArrayLike,
    wind: npt.ArrayLike,
    direction: npt.ArrayLike,
    rain: npt.ArrayLike,
    radiation: npt.ArrayLike,
    cloud: npt.ArrayLike,
    *,
    latitude: float,
    longitude: float,
    aspects: Sequence[Aspect],
) -> FaceClimate:
    """Work out what each face goes through.

    Parameters
    ----------
    start
        Start of the first hour [unix s].
    temperature, humidity, wind, direction, rain, radiation, cloud
        One value an hour [°C, %, m/s at 10 m, deg from which it blows, mm, W/m2 on the level, 0 to 1];
        NaN where not known. A direction that is not known counts as windward, for rain as the mean of
        all directions. Cloud that is not known is worked out from the day's radiation, radiation from
        cloud; while the sun is down radiation is nothing.
    latitude, longitude
        Of the site [deg], north and east positive.
    aspects
        The faces.

    Raises
    ------
    ValueError
        Series of different lengths, or a place that is not on the earth.

    Examples
    --------
    >>> hours = np.ones(24)
    >>> day = face_climate(1813708800.0, 20 * hours, 60 * hours, 3 * hours, 180 * hours, hours, np.nan * hours,
    ...                    0.2 * hours, latitude=52.0, longitude=0.0,
    ...                    aspects=[Aspect(0.0), Aspect(180.0), Aspect(None)])
    >>> day.demand.sum(axis=1).round(1).tolist(), day.rain.sum(axis=1).round(1).tolist()
    ([1.4, 2.6, 1.1], [0.0, 4.8, 0.0])
    """
    told = [temperature, humidity, wind, direction, rain, radiation, cloud]
    air, moist, blow, source, fell, level, cover = (np.asarray(x, dtype=np.float64) for x in told)
    if any(x.shape != air.shape or x.ndim != 1 for x in (air, moist, blow, source, fell, level, cover)):
        raise ValueError("weather series: lengths differ; each needs one value an hour")
    if not (-90.0 <= latitude <= 90.0 and -180.0 <= longitude <= 360.0):
        raise ValueError(f"place {latitude}, {longitude}: latitude lies within -90 to 90, longitude -180 to 360")
    path = sun_path(start, air.size, latitude, longitude)
    level, cover, level_estimated, cover_estimated = _filled(start, level, cover, path)
    site = _Site(path, split(level, path), air, moist, blow, cover)
    winds = _Wind(source, driving_rain.driving_rain(blow, fell))
    whole = np.zeros((5, len(aspects), air.size))
    for number, aspect in enumerate(aspects):
        out = whole[:, number]
        if aspect.azimuth is None:
            takes, out[4] = surface_balance.wet_surface(
                site.air, wall_climate.inside_glow(site.air), wall_climate.INSIDE
            )
            np.maximum(takes, 0.0, out=out[1])
            continue
        rain, worst, before = winds.met(aspect.azimuth % 360.0)
        site.balance(aspect, before, out)
        np.multiply(rain, aspect.rain, out=out[2])
        np.multiply(worst, aspect.rain, out=out[3])
    return FaceClimate(whole[0], whole[1], whole[2], whole[3], whole[4], level, cover, level_estimated, cover_estimated)


def _filled(
    start: float, radiation: Array, cloud: Array, path: SunPath
) -> tuple[Array, Array, npt.NDArray[np.bool_], npt.NDArray[np.bool_]]:
    """Radiation and cloud, each from the other where only that is told."""
    no_sun, no_cover = np.isnan(radiation), np.isnan(cloud)
    sun = np.where(no_sun & (path.up <= 0.0), 0.0, radiation)
    no_sun = np.isnan(sun)
    cover = np.where(no_cover, cloud_from_radiation(start, radiation, path.clear), cloud) if no_cover.any() else cloud
    sun = np.where(no_sun, radiation_from_cloud(path.clear, cloud), sun) if no_sun.any() else sun
    return sun, cover, no_sun & ~np.isnan(sun), no_cover & ~np.isnan(cover)


class _Site:
    """What all faces of a place share, and the sun, glow and rain of the aspects seen so far."""

    def __init__(self, path: SunPath, parts: SplitSun, air: Array, moist: Array, blow: Array, cover: Array) -> None:
        self.path, self.parts = path, parts
        self.celsius, self.wind, self.cover = air, blow, cover
        self.air = surface_balance.moist_air(air, moist)
        self.dew_point = psychrometrics.dew_point(air, moist)
        self._sun: dict[tuple[float, Horizon, Eaves | None], Array] = {}
        self._glow: dict[float, Array] = {}

    def sun(self, key: tuple[float, Horizon, Eaves | None], view: float) -> Array:
        """Sun on such a face."""
        if key not in self._sun:
            azimuth, horizon, eaves = key
            self._sun[key] = sun_on_face(self.path, self.parts, azimuth, horizon=horizon, eaves=eaves, view=view)
        return self._sun[key]

    def glow(self, view: float) -> Array:
        """Heat radiation that a face of such a view takes up."""
        if view not in self._glow:
            self._glow[view] = wall_climate.incoming_glow(self.celsius, self.dew_point, self.cover, view)
        return self._glow[view]

    def balance(self, aspect: Aspect, before: npt.NDArray[np.bool_], out: Array) -> None:
        """Write sun, demand and surface of an outside face, block by block."""
        key = ((aspect.azimuth or 0.0) % 360.0, aspect.horizon, aspect.eaves)
        view = sky_view(*key)
        out[0] = self.sun(key, view)
        glow, taken = self.glow(view), (1.0 - aspect.albedo) * aspect.sun
        for at in range(0, self.wind.size, surface_balance.BLOCK):
            hours = slice(at, at + surface_balance.BLOCK)
            gain = taken * out[0, hours] + glow[hours]
            heat = wall_climate.heat_transfer(self.wind[hours], before[hours], aspect.wind)
            takes = out[1, hours]
            surface_balance.solve_block(self.air.part(hours), gain, heat, takes, out[4, hours])
            np.maximum(takes, 0.0, out=takes)


class _Wind:
    """The wind's way to each azimuth, and the rain that it drives."""

    def __init__(self, source: Array, free_rain: Array) -> None:
        self.vector, self.free_rain = wind_vector(source), free_rain
        self._met: dict[float, tuple[Array, Array, npt.NDArray[np.bool_]]] = {}

    def met(self, azimuth: float) -> tuple[Array, Array, npt.NDArray[np.bool_]]:
        """Rain that meets a wall in the open, the worst of it, and whether it stands before the wind."""
        if azimuth not in self._met:
            ahead, aside = towards(self.vector, azimuth)
            self._met[azimuth] = (
                self.free_rain * driving_rain.squareness(ahead),
                self.free_rain * driving_rain.worst_squareness(ahead, aside),
                windward(ahead),
            )
        return self._met[azimuth]
