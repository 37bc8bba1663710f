"""The sun in the sky: where it stands, and how squarely it meets a plane.

Arrays in, arrays out. Instants are unix seconds (UTC), azimuths run clockwise
from north, latitude is positive north, longitude positive east. All positions
are geometric, without refraction (0.02 deg at 40 deg of height, 0.5 deg on the
horizon). When the sun rises, and when it shines on a face, is told by
:mod:`curing.physics.sun_on_face`.

References
----------
.. [1] NOAA Solar Calculator, after J. Meeus, Astronomical Algorithms, 1991.
   Constants re-read in a public copy of the calculator's own script.
.. [2] NREL/TP-560-34302, Solar Position Algorithm for Solar Radiation
   Applications, revised January 2008; re-read in a public text copy of the report.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

DAY = 86_400.0
"""Length of a mean day [s]."""

SECONDS_A_RADIAN = DAY / (2.0 * np.pi)
"""Time in which the hour angle grows by one radian [s]."""

_J2000 = 946_728_000.0  # unix seconds of 2000-01-01 12:00 UTC
_CENTURY = 36_525.0 * DAY


def declination_and_equation_of_time(unix_seconds: npt.ArrayLike) -> tuple[Array, Array]:
    """Declination of the sun and equation of time.

    Parameters
    ----------
    unix_seconds
        Instants [s], any shape; years 1950 to 2050.

    Returns
    -------
    tuple
        Declination [rad], positive north, and equation of time, sun minus clock [s];
        good to 0.01 deg and 3 s.

    Notes
    -----
    The equations of [1]_ of this module.

    Examples
    --------
    >>> declination, equation = declination_and_equation_of_time(1813752000)  # 2027-06-23 12:00 UTC
    >>> round(float(np.degrees(declination)), 1), round(float(equation))
    (23.4, -132)
    """
    t = (np.asarray(unix_seconds, dtype=np.float64) - _J2000) / _CENTURY
    longitude = np.radians(280.46646 + t * (36000.76983 + 0.0003032 * t))  # mean longitude of the sun
    anomaly = np.radians(357.52911 + t * (35999.05029 - 0.0001537 * t))
    eccentricity = 0.016708634 - t * (0.000042037 + 0.0000001267 * t)
    node = np.radians(125.04 - 1934.136 * t)  # of the moon's path, for the nutation
    # Double and triple angles by their formulas: a sine costs more than all else here.
    sin_m = np.sin(anomaly)
    sin_2m = 2.0 * sin_m * np.cos(anomaly)
    sin_3m = sin_m * (3.0 - 4.0 * sin_m * sin_m)
    centre = sin_m * (1.914602 - t * (0.004817 + 0.000014 * t)) + sin_2m * (0.019993 - 0.000101 * t) + sin_3m * 0.000289
    apparent = longitude + np.radians(centre - 0.00569 - 0.00478 * np.sin(node))
    arcseconds = 21.448 - t * (46.8150 + t * (0.00059 - t * 0.001813))
    obliquity = np.radians(23.0 + (26.0 + arcseconds / 60.0) / 60.0 + 0.00256 * np.cos(node))
    declination = np.arcsin(np.sin(obliquity) * np.sin(apparent))

    y = np.tan(obliquity / 2.0) ** 2
    sin_l = np.sin(longitude)
    sin_2l, cos_2l = 2.0 * sin_l * np.cos(longitude), 1.0 - 2.0 * sin_l * sin_l
    equation = (
        y * sin_2l
        - 2.0 * eccentricity * sin_m
        + 4.0 * eccentricity * y * sin_m * cos_2l
        - y * y * sin_2l * cos_2l
        - 1.25 * eccentricity * eccentricity * sin_2m
    )
    return declination, equation * SECONDS_A_RADIAN


def direction(unix_seconds: npt.ArrayLike, latitude: float, longitude: float) -> tuple[Array, Array, Array]:
    """Unit vector from the site to the sun: east, north, up.

    Cheaper than angles: `up` is the cosine of the zenith angle, and
    ``east * sin(A) + north * cos(A)`` that of incidence on a wall facing azimuth A.
    Parameters as for :func:`position`.

    Examples
    --------
    >>> east, north, up = direction(1813752000, 52.0, 0.0)  # 2027-06-23, noon
    >>> round(float(east), 2), round(float(north), 2), round(float(up), 2)
    (0.01, -0.48, 0.88)
    """
    seconds = np.asarray(unix_seconds, dtype=np.float64)
    declination, equation = declination_and_equation_of_time(seconds)
    # Within its own day, so that the large number of seconds costs no digits.
    from_noon = np.mod(seconds, DAY) - DAY / 2.0 + equation
    return _vector(np.radians(latitude), declination, from_noon / SECONDS_A_RADIAN + np.radians(longitude))


def _vector(latitude: float, declination: Array, hour_angle: Array) -> tuple[Array, Array, Array]:
    cos_d, sin_d = np.cos(declination), np.sin(declination)
    to_meridian = cos_d * np.cos(hour_angle)
    east = -cos_d * np.sin(hour_angle)
    north = np.cos(latitude) * sin_d - np.sin(latitude) * to_meridian
    up = np.sin(latitude) * sin_d + np.cos(latitude) * to_meridian
    return east, north, up


def _angles(east: Array, north: Array, up: Array) -> tuple[Array, Array]:
    zenith = np.degrees(np.arctan2(np.hypot(east, north), up))  # arccos loses digits overhead
    azimuth = np.mod(np.degrees(np.arctan2(east, north)), 360.0)
    return zenith, np.where(azimuth == 360.0, 0.0, azimuth)  # mod makes 360 of -1e-15


def position(unix_seconds: npt.ArrayLike, latitude: float, longitude: float) -> tuple[Array, Array]:
    """Zenith angle and azimuth of the sun's centre.

    Parameters
    ----------
    unix_seconds
        Instants [s], any shape; years 1950 to 2050.
    latitude, longitude
        Of the site [deg]; -90 to 90, any. At a pole the azimuth is counted from the
        direction away from the meridian of `longitude` (north) or along it (south).

    Returns
    -------
    tuple
        Zenith angle [deg], 0 to 180, and azimuth [deg], 0 to below 360; shape of
        `unix_seconds`. Zenith within 0.02 deg of [2]_; azimuth too, save close to
        the zenith, where a small step of the sun is a large turn.

    Notes
    -----
    The equations of [1]_ of this module.

    Examples
    --------
    >>> zenith, azimuth = position([1066419030], 39.742476, -105.1786)  # 2003-10-17 12:30:30 -07:00
    >>> zenith.round(1).tolist(), azimuth.round(1).tolist()
    ([50.1], [194.3])
    """
    return _angles(*direction(unix_seconds, latitude, longitude))


def position_from_hour_angle(
    latitude: float, declination: npt.ArrayLike, hour_angle: npt.ArrayLike
) -> tuple[Array, Array]:
    """Zenith angle and azimuth [deg] in solar time, as in calculations by hand.

    Parameters
    ----------
    latitude, declination
        [deg], positive north.
    hour_angle
        [deg], 15 for each solar hour, negative before noon.

    Examples
    --------
    >>> zenith, azimuth = position_from_hour_angle(43.0, -14.0, -37.5)  # 9:30 by the sun
    >>> float(zenith.round(1)), float(azimuth.round(1))
    (66.5, 139.9)
    """
    declination_rad = np.radians(np.asarray(declination, dtype=np.float64))
    hour_angle_rad = np.radians(np.asarray(hour_angle, dtype=np.float64))
    return _angles(*_vector(np.radians(latitude), declination_rad, hour_angle_rad))


def cos_incidence(
    zenith: npt.ArrayLike, azimuth: npt.ArrayLike, face_azimuth: npt.ArrayLike, tilt: npt.ArrayLike = 90.0
) -> Array:
    """Cosine of the angle between the sun's beam and the outward normal of a plane.

    Negative where the sun stands behind the plane. Whether it is above the horizon
    is not asked.

    Parameters
    ----------
    zenith, azimuth
        Of the sun [deg].
    face_azimuth
        Direction in which the plane looks [deg].
    tilt
        Angle from level ground [deg]: 0 a floor, 90 a wall.

    Notes
    -----
    cos I = cos(tilt) cos(zenith) + sin(tilt) sin(zenith) cos(azimuth - face azimuth),
    Eq 47 of [2]_ of this module.

    Examples
    --------
    >>> float(cos_incidence(60.0, 180.0, 180.0).round(3))
    0.866
    """
    zenith_rad, tilt_rad = np.radians(zenith), np.radians(tilt)
    turned = np.radians(np.subtract(azimuth, face_azimuth))
    return np.asarray(np.cos(tilt_rad) * np.cos(zenith_rad) + np.sin(tilt_rad) * np.sin(zenith_rad) * np.cos(turned))
