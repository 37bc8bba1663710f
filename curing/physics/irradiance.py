"""Sun on an upright face: the radiation on the level, split and turned onto the face.

Arrays in, arrays out; hours in UTC; NaN stays NaN. The sun's path is averaged inside each hour, so
that the hours of sunrise and sunset of a face are right: one sun at mid-hour is wrong there by up
to some 400 W/m2.

References
----------
.. [1] D. Erbs, S. Klein, J. Duffie, Estimation of the diffuse radiation fraction, Solar Energy
   28 (1982) 293; as in a public solar library.
.. [2] J. Hay, J. Davies, Calculation of the solar radiation incident on an inclined surface, 1980;
   as in a public solar library.
.. [3] FAO Irrigation and Drainage Paper 56, Eq 23, for the distance of the sun. From memory,
   unverified.
.. [4] G. Kopp, J. Lean, A new, lower value of total solar irradiance, Geophysical Research Letters
   38 (2011) L01706: 1360.8 W/m2. From memory, unverified.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from curing.physics.shading import OPEN_VIEW, Eaves, Horizon, seen
from curing.physics.sky import clear_radiation
from curing.physics.solar import DAY, SECONDS_A_RADIAN, Array, declination_and_equation_of_time

SOLAR_CONSTANT = 1361.0
"""Sun outside the air at its mean distance [W/m2]; published, [4]_."""
GROUND_ALBEDO = 0.2
"""Share of the sun that the ground before a wall throws back [1]; common practice."""
STRONGEST_BEAM = 0.85
"""Most of the sun outside the air that a beam may bring [1]; assumption, for hours of a low sun."""
STEPS = 6
"""Times in an hour at which the sun is looked at; assumption: with 6 the year's sum is within 1 %."""
_BLOCK = 2048  # hours worked on at once: six times as many numbers stay in the core's own cache
_LOWEST, _FLATTEST, _RING = 0.01, 0.035, 0.0175  # cosines of a low sun: no beam; least to divide the beam, the ring by


@dataclass(frozen=True, slots=True, eq=False)
class SunPath:
    """The sun over one site, hour by hour, for all its faces.

    Parameters
    ----------
    up
        Mean of the positive cosine of its zenith angle in each hour.
    clear
        What a clear sky gives on the level [W/m2].
    outside
        Beam outside the air [W/m2].
    lit
        Numbers of the hours in which it may be up.
    east, north, height
        Unit vector to the sun at the ``STEPS`` times in each of these hours, shape (steps, lit);
        zero while the sun is down.
    """

    up: Array
    clear: Array
    outside: Array
    lit: npt.NDArray[np.intp]
    east: Array
    north: Array
    height: Array


def sun_path(start: float, hours: int, latitude: float, longitude: float) -> SunPath:
    """Follow the sun over a site.

    Parameters
    ----------
    start
        Start of the first hour [unix s].
    hours
        How many.
    latitude, longitude
        [deg], north and east positive.

    Examples
    --------
    >>> path = sun_path(1813708800.0, 24, 52.0, 0.0)  # 2027-06-23
    >>> path.lit.size, path.up.max().round(2).item()
    (18, 0.87)
    """
    middle = start + 3600.0 * (np.arange(hours) + 0.5)
    sin_d, cos_d, equation, outside = _by_day(start, hours)
    angle = (np.mod(middle, DAY) - DAY / 2.0 + equation) / SECONDS_A_RADIAN + np.radians(longitude)
    phi = np.radians(latitude)
    eastward, meridian = -cos_d * np.sin(angle), cos_d * np.cos(angle)
    along, lift = np.cos(phi) * sin_d, np.sin(phi) * sin_d
    # It rises or falls by less than this in half an hour: hours surely dark are left out from here.
    most = np.cos(phi) * np.sin(np.pi / 24.0)
    lit = np.flatnonzero(lift + np.cos(phi) * meridian > -most)
    eastward, meridian, along, lift = eastward[lit], meridian[lit], along[lit], lift[lit]
    # Within the hour the sky turns by a known angle: no sines but these.
    turns = ((np.arange(STEPS) + 0.5) / STEPS - 0.5) * 3600.0 / SECONDS_A_RADIAN
    c, s = np.cos(turns)[:, None], np.sin(turns)[:, None]
    to_meridian = meridian * c + eastward * s
    height = lift + np.cos(phi) * to_meridian
    above = height > 0.0
    height *= above
    east = (eastward * c - meridian * s) * above
    north = (along - np.sin(phi) * to_meridian) * above
    up, clear = np.zeros(hours), np.zeros(hours)
    up[lit] = height.mean(axis=0)
    clear[lit] = clear_radiation(height).mean(axis=0)
    return SunPath(up, clear, outside, lit, east, north, height)


def _by_day(start: float, hours: int) -> list[Array]:
    """Sine and cosine of the declination, equation of time, beam outside the air, at the middle of each hour.

    Worked out once a day and straight between: that is within 0.001 deg and 0.1 s.
    """
    days = -(-hours // 24)
    nodes = start + DAY * np.arange(days + 1)
    declination, equation = declination_and_equation_of_time(nodes)
    of_day = (np.arange(24) + 0.5) / 24.0
    daily = (np.sin(declination), np.cos(declination), equation, beam_outside(nodes))
    return [(x[:-1, None] + np.diff(x)[:, None] * of_day).ravel()[:hours] for x in daily]


def beam_outside(unix_seconds: npt.ArrayLike) -> Array:
    """Sun square to its beam outside the air [W/m2]; [3]_ and [4]_.

    Examples
    --------
    >>> beam_outside([1798977600.0, 1814702400.0]).round().tolist()  # 3 January, 4 July 2027
    [1406.0, 1316.0]
    """
    day = np.mod((np.asarray(unix_seconds, dtype=np.float64) - 946_684_800.0) / DAY, 365.25) + 1.0
    return np.asarray(SOLAR_CONSTANT * (1.0 + 0.033 * np.cos(2.0 * np.pi * day / 365.0)))


def diffuse_share(clearness: npt.ArrayLike) -> Array:
    """Share of the global radiation that comes from the sky, not the sun [1]; [1]_.

    Parameters
    ----------
    clearness
        Global radiation over that outside the air, both on the level [1].

    Examples
    --------
    >>> diffuse_share([0.1, 0.5, 0.9]).round(3).tolist()
    [0.991, 0.659, 0.165]
    """
    k = np.asarray(clearness, dtype=np.float64)
    middle = 0.9511 + k * (-0.1604 + k * (4.388 + k * (-16.638 + k * 12.336)))
    return np.asarray(np.where(k <= 0.22, 1.0 - 0.09 * k, np.where(k > 0.8, 0.165, middle)))


@dataclass(frozen=True, slots=True, eq=False)
class SplitSun:
    """Radiation on the level in its parts [W/m2], in the hours that a sun path calls lit.

    Parameters
    ----------
    level
        Global, on the level.
    beam
        Square to the sun; none where it stands too low to tell.
    diffuse
        From the sky, on the level.
    """

    level: Array
    beam: Array
    diffuse: Array


def split(radiation: npt.ArrayLike, path: SunPath) -> SplitSun:
    """Split global radiation of each hour [W/m2] into beam and diffuse.

    Examples
    --------
    >>> path = sun_path(1813708800.0, 24, 52.0, 0.0)
    >>> parts = split(0.9 * path.clear, path)
    >>> parts.beam.max().round(-1).item(), parts.diffuse.max().round(-1).item()
    (700.0, 190.0)
    """
    level = np.maximum(np.asarray(radiation, dtype=np.float64)[path.lit], 0.0)
    up, outside = path.up[path.lit], path.outside[path.lit]
    high = up > _LOWEST
    diffuse = np.where(high, level * diffuse_share(level / (outside * np.maximum(up, _LOWEST))), level)
    beam = np.minimum((level - diffuse) / np.maximum(up, _FLATTEST), STRONGEST_BEAM * outside)
    return SplitSun(level, np.where(high, beam, 0.0 * level), diffuse)


def sun_on_face(
    path: SunPath,
    parts: SplitSun,
    azimuth: float,
    *,
    horizon: Horizon = (),
    eaves: Eaves | None = None,
    view: float = OPEN_VIEW,
) -> Array:
    """Radiation on an upright face, mean of each hour [W/m2]; [2]_.

    Parameters
    ----------
    path, parts
        The sun over the site, and its radiation split.
    azimuth
        To which the face looks [deg].
    horizon, eaves
        What stands before the sun.
    view
        Share of the sky that the face sees, from :func:`curing.physics.shading.sky_view`.

    Notes
    -----
    beam c + diffuse ((1 - a) view + a c / u) + albedo level / 2, with c the mean positive cosine on
    the face, u that on the level, a = beam / beam outside: the share of the sky's light that comes
    from round the sun. Where the sun is down the face gets nothing.

    Examples
    --------
    >>> path = sun_path(1813708800.0, 24, 52.0, 0.0)
    >>> parts = split(0.9 * path.clear, path)
    >>> [sun_on_face(path, parts, a).sum().round(-2).item() for a in (0.0, 90.0, 180.0, 270.0)]
    [2100.0, 4600.0, 3700.0, 4600.0]
    """
    square = _square_to_beam(path, azimuth, horizon, eaves)
    ring = parts.beam / path.outside[path.lit]
    towards = square / np.maximum(path.up[path.lit], _RING)
    on_face = parts.beam * square
    on_face += parts.diffuse * ((1.0 - ring) * view + ring * towards)
    on_face += GROUND_ALBEDO / 2.0 * parts.level
    whole = np.zeros(path.up.shape)
    whole[path.lit] = on_face
    return whole


def beam_on_face(
    path: SunPath, parts: SplitSun, azimuth: float, *, horizon: Horizon = (), eaves: Eaves | None = None
) -> Array:
    """Direct sun on an upright face, without sky and ground, mean of each hour [W/m2]; as :func:`sun_on_face`.

    Examples
    --------
    >>> path = sun_path(1813708800.0, 24, 52.0, 0.0)
    >>> parts = split(0.9 * path.clear, path)
    >>> [int((beam_on_face(path, parts, a) > 30.0).sum()) for a in (0.0, 90.0, 180.0)]
    [6, 8, 8]
    """
    whole = np.zeros(path.up.shape)
    whole[path.lit] = parts.beam * _square_to_beam(path, azimuth, horizon, eaves)
    return whole


def _square_to_beam(path: SunPath, azimuth: float, horizon: Horizon, eaves: Eaves | None) -> Array:
    """Mean positive cosine between face and sun in each lit hour, of the sun that is seen."""
    facing = np.radians(azimuth)
    square = np.empty(path.lit.size)
    for at in range(0, square.size, _BLOCK):
        hours = slice(at, at + _BLOCK)
        cosine = path.east[:, hours] * np.sin(facing)
        cosine += path.north[:, hours] * np.cos(facing)
        cosine *= cosine > 0.0
        if horizon or eaves is not None:
            sun = path.east[:, hours], path.north[:, hours], path.height[:, hours]
            cosine *= seen(*sun, azimuth, horizon, eaves)
        np.mean(cosine, axis=0, out=square[hours])
    return square
